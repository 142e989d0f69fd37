"""Make the shipped world weather grid from the source distribution of the package pvcz.

    python tools/make_weather_grid.py [pvcz-0.3.0.tar.gz]

Without a path the package is downloaded with pip. The source holds, for every land cell of a
quarter degree, statistics of nine years (2010 to 2018) of three-hourly GLDAS-2.1 data: means and
extremes over the whole time, no months. The yearly and the daily swing are therefore
reconstructed here; `reconstructed` says how. Needs pandas.
"""

import hashlib
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

ROOT = Path(__file__).resolve().parent.parent
WRITTEN = ROOT / "src" / "slowfire" / "data" / "world_weather.npz"
VERSION = "0.3.0"
SHA256 = "810404cb1fd74f5021b0038a7283dde3ad4520a9a2c42441d3b6ee5a79a1cd30"
PICKLE = "PVCZ-2019_ver0p2_world_PV_climate_stressors_and_zones.pkl"
CELL_DEGREES = 0.5
BOLTZMANN = 8.617333e-5  # [eV/K]
ENERGIES = (0.1, 0.3, 0.5)  # [eV]
# Fitted once to the eleven places of tools/make_weather_spread.py and nine hourly years (pvlib
# and other samples); tests/reference compares with places that took no part
SQUARED_SUN = 1.3  # mean of the squared sun over that of a sky that is always equally clear
EXTREMES = 1.15  # daily swing over twelve hours at the mean pace of three-hourly values
NOISE_SHARE = 0.25  # of the variance of daily means that is weather, not season
RANGE_SLOPE, RANGE_OFFSET = 0.63, -13.9  # yearly swing from the range of nine years [-], [K]
# Yearly swing at which both estimates count alike: there 8 K^2 too much variance makes 3 K too
# much swing, the error of the second
EVEN_SWING = 8.0

# Lowest value and step of each quantity as written
SCALES = {
    "mean_celsius": (-27.0, 0.25),
    "yearly_swing_kelvin": (0.0, 0.25),
    "daily_swing_kelvin": (0.0, 0.125),
    "specific_humidity": (0.0, 1e-4),
    "irradiance": (50.0, 1.0),
    "wind_rms": (0.0, 0.1),
    "climate": (0.0, 1.0),
}

COLUMNS = (
    "T_ambient_mean", "T_ambient_min", "T_ambient_max", "T_velocity_rack", "T_velocity_roof",
    "specific_humidity_mean", "GHI_mean", "wind_speed_rms",
    *(f"T_equiv_{mount}_0p{round(10 * one)}eV" for mount in ("rack", "roof") for one in ENERGIES),
)  # fmt: skip


def source_archive(arguments: list[str], folder: Path) -> Path:
    """Path of the source distribution: as given, or downloaded; refused if it is another."""
    if arguments:
        found = Path(arguments[0])
    else:
        command = ["download", f"pvcz=={VERSION}", "--no-deps", "--no-binary", ":all:"]
        subprocess.run([sys.executable, "-m", "pip", *command, "-d", str(folder)], check=True)
        found = folder / f"pvcz-{VERSION}.tar.gz"
    digest = hashlib.sha256(found.read_bytes()).hexdigest()
    if digest != SHA256:
        raise SystemExit(f"{found} is not pvcz {VERSION} (its SHA-256 is {digest}).")
    return found


def read_source(archive: Path, folder: Path) -> pd.DataFrame:
    """The table of the source; a pickle, read only after the archive was checked."""
    with tarfile.open(archive) as packed:
        member = packed.getmember(f"pvcz-{VERSION}/pvcz/{PICKLE}")
        packed.extract(member, folder, filter="data")
    return pd.read_pickle(folder / member.name)


def by_cell(table: pd.DataFrame) -> pd.DataFrame:
    """Means over the land of each cell; the climate class that covers most of it."""
    latitude = table["lat"].to_numpy(dtype=np.float64)
    longitude = table["lon"].to_numpy(dtype=np.float64)
    keys = [
        np.floor((latitude + 90.0) / CELL_DEGREES).astype(int),
        np.floor((longitude + 180.0) / CELL_DEGREES).astype(int),
    ]
    cells = table[list(COLUMNS)].astype(np.float64).groupby(keys).mean()
    cells["climate"] = table["KG_zone"].groupby(keys).agg(lambda one: one.mode().iloc[0])
    cells.index.names = ["row", "column"]
    return cells.reset_index()


def sun_ratio(latitude: np.ndarray) -> np.ndarray:
    """Mean square of the sun's height over the square of its mean, over a year."""
    day = np.arange(1, 366)[None, :, None]
    hour = np.arange(0.0, 24.0, 0.5)[None, None, :]
    tilt = np.radians(23.45) * np.sin(2.0 * np.pi * (284 + day) / 365.0)
    place = np.radians(latitude)[:, None, None]
    height = np.sin(place) * np.sin(tilt) + np.cos(place) * np.cos(tilt) * np.cos(
        np.radians(15.0 * (hour - 12.0))
    )
    height = np.maximum(height, 0.0)
    return (height**2).mean(axis=(1, 2)) / height.mean(axis=(1, 2)) ** 2


def reconstructed(cells: pd.DataFrame, latitude: np.ndarray) -> dict[str, np.ndarray]:
    """Yearly and daily swing of the air from what the source holds.

    The source gives the same things for two panels that the sun warms by c1 G and c2 G above the
    air (one on a rack, one close to a roof): the temperature weighted by exp(-E/kT) for several E,
    and the mean pace of change. For E towards 0 the weighted temperature is the mean, which gives
    c1 and c2, and its slope with E is the variance over 2kT^2. Air is a panel with c = 0, so that

        pace(air) = pace1 - (pace2 - pace1) c1/(c2 - c1)
        variance(air) = (c2 (v1 - c1^2 S) - c1 (v2 - c2^2 S))/(c2 - c1)

    with S the variance of the sun. The daily swing D is twelve hours at the pace of the air; what
    remains of the variance after D^2/8 is season, Y^2/8, and weather. Where that rest is small it
    is uncertain, and a second estimate, from the range between the extremes, takes its place.
    """
    mean = cells["T_ambient_mean"].to_numpy()
    sun = cells["GHI_mean"].to_numpy() * 1000.0 / 24.0
    spread_of_sun = (SQUARED_SUN * sun_ratio(latitude) - 1.0) * sun**2
    warming, variance, pace = [], [], []
    for mount in ("rack", "roof"):
        weighted = np.array([cells[f"T_equiv_{mount}_0p{round(10 * e)}eV"] for e in ENERGIES])
        _, slope, limit = np.polyfit(ENERGIES, weighted, 2)
        warming.append((limit - mean) / sun)
        variance.append(2.0 * BOLTZMANN * (limit + 273.15) ** 2 * slope)
        pace.append(cells[f"T_velocity_{mount}"].to_numpy())
    (c1, c2), (v1, v2) = warming, variance
    pace_of_air = pace[0] - (pace[1] - pace[0]) * c1 / (c2 - c1)
    daily = np.maximum(12.0 * EXTREMES * pace_of_air, 1.0)
    of_air = (c2 * (v1 - c1**2 * spread_of_sun) - c1 * (v2 - c2**2 * spread_of_sun)) / (c2 - c1)
    slow = np.maximum(of_air - daily**2 / 8.0, 0.0)
    from_variance = np.sqrt(8.0 * (1.0 - NOISE_SHARE) * slow)
    extremes = (cells["T_ambient_max"] - cells["T_ambient_min"]).to_numpy()
    from_range = np.maximum(RANGE_SLOPE * extremes + RANGE_OFFSET, 0.0)
    weight = from_variance**2 / (from_variance**2 + EVEN_SWING**2)
    return {
        "daily": daily,
        "yearly": np.maximum(weight * from_variance + (1.0 - weight) * from_range, 0.5),
        "from_variance": from_variance,
        "from_range": from_range,
    }


def stepped(name: str, values: np.ndarray, lowest: float, size: float) -> np.ndarray:
    """Whole steps above the lowest value, each as its difference from the cell before.

    Differences between neighbours are small, which packs well; they wrap round at 256.
    """
    steps = np.rint((values - lowest) / size)
    if steps.min() < 0 or steps.max() > 255:
        raise SystemExit(f"{name}: {values.min()} to {values.max()} does not fit into 256 steps.")
    return np.diff(steps.astype(np.uint8), prepend=np.uint8(0))


def main() -> None:
    """Read, average, reconstruct, write."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        cells = by_cell(read_source(source_archive(sys.argv[1:], folder), folder))
    latitude = (cells["row"].to_numpy() + 0.5) * CELL_DEGREES - 90.0
    swing = reconstructed(cells, latitude)
    climates, climate = np.unique(cells["climate"].to_numpy(dtype=str), return_inverse=True)

    rows, columns = round(180.0 / CELL_DEGREES), round(360.0 / CELL_DEGREES)
    land = np.zeros((rows, columns), dtype=bool)
    land[cells["row"], cells["column"]] = True
    np.savez_compressed(
        WRITTEN,
        cell_degrees=np.array(CELL_DEGREES),
        land=np.packbits(land, axis=1),
        # first the lowest value of the steps, then their size
        scales=np.array(list(SCALES.values())),
        quantities=np.array(list(SCALES)),
        steps=np.stack(
            [
                stepped(name, values, *SCALES[name])
                for name, values in (
                    ("mean_celsius", cells["T_ambient_mean"].to_numpy()),
                    ("yearly_swing_kelvin", swing["yearly"]),
                    ("daily_swing_kelvin", swing["daily"]),
                    ("specific_humidity", cells["specific_humidity_mean"].to_numpy() / 1000.0),
                    ("irradiance", cells["GHI_mean"].to_numpy() * 1000.0 / 24.0),
                    ("wind_rms", cells["wind_speed_rms"].to_numpy()),
                    ("climate", climate.astype(np.float64)),
                )
            ]
        ),
        climates=climates,
    )
    print(f"{len(cells)} cells, {WRITTEN.stat().st_size} bytes")
    for one, values in swing.items():
        print(f"{one}: {np.percentile(values, [0, 5, 50, 95, 100]).round(1)}")


if __name__ == "__main__":
    main()
