"""Measure how weather differs from year to year and day to day; write the few numbers.

    python tools/make_weather_spread.py

Reads the daily records (lowest and highest temperature) that the package aquacrop ships with its
examples and writes src/slowfire/data/weather_spread.csv. Needs aquacrop and pandas.
"""

import csv
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pandas as pd

ROOT = Path(__file__).resolve().parent.parent
WRITTEN = ROOT / "src" / "slowfire" / "data" / "weather_spread.csv"
PLACES = {
    "brussels": "Brussels",
    "cambridge": "Cambridge, England",
    "champion": "Champion, Nebraska",
    "cordoba": "Cordoba, Argentina",
    "hyderabad": "Hyderabad, India",
    "lincolnshire": "Lincolnshire, England",
    "norfolk": "Norfolk, England",
    "north_yorks": "North Yorkshire, England",
    "northumberland": "Northumberland, England",
    "suffolk": "Suffolk, England",
    "tunis": "Tunis",
}
COLUMNS = (
    "place", "first_year", "years", "mean_celsius", "yearly_swing_kelvin", "daily_swing_kelvin",
    "yearly_spread_kelvin", "monthly_spread_kelvin", "day_to_day_kelvin", "day_to_day_memory",
)  # fmt: skip


def records(name: str) -> pd.DataFrame:
    """Whole years of one place, with the mean of each day."""
    spec = find_spec("aquacrop")
    if spec is None or spec.origin is None:
        raise SystemExit("aquacrop is not installed; pip install aquacrop.")
    path = Path(spec.origin).parent / "data" / f"{name}_climate.txt"
    table = pd.read_csv(path, sep=r"\s+")
    table.columns = ["day", "month", "year", "low", "high", "rain", "evaporation"]
    days = table.groupby("year")["day"].transform("size")
    table = table[days >= 365].reset_index(drop=True)
    return table.assign(mean=0.5 * (table["low"] + table["high"]))


def measured(name: str) -> tuple[object, ...]:
    """Spread about a yearly curve of two harmonics and a trend, which are taken out."""
    table = records(name)
    when = pd.to_datetime(table[["year", "month", "day"]])
    angle = 2.0 * np.pi * when.dt.day_of_year.to_numpy() / 365.25
    year = table["year"].to_numpy(dtype=np.float64)
    shape = np.column_stack(
        [np.ones_like(angle), np.cos(angle), np.sin(angle), np.cos(2 * angle), np.sin(2 * angle)]
    )
    columns = np.column_stack([shape, year - year.mean()])
    mean = table["mean"].to_numpy()
    found = np.linalg.lstsq(columns, mean, rcond=None)[0]
    left = pd.Series(mean - columns @ found)
    by_year = left.groupby(table["year"]).mean()
    by_month = left.groupby([table["year"], table["month"]]).mean()
    values = left.to_numpy()
    numbers = (
        mean.mean(),
        2.0 * np.hypot(found[1], found[2]),
        (table["high"] - table["low"]).mean(),
        by_year.std(),
        by_month.std(),
        left.std(),
        np.corrcoef(values[1:], values[:-1])[0, 1],
    )
    return (
        PLACES[name],
        int(table["year"].iloc[0]),
        table["year"].nunique(),
        *(round(float(one), 3) for one in numbers),
    )


def main() -> None:
    """One row for each place."""
    with WRITTEN.open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(COLUMNS)
        rows.writerows(measured(name) for name in PLACES)


if __name__ == "__main__":
    main()
