"""Fit the least known parameters of the column to what keepers of bins expect.

Bands of common practice only; published measurements are for a later, stricter fit. Each
parameter stays inside its range and is drawn to its present value; the result is written with the
commit to benchmarks/results/calibration.json and changes nothing by itself.
"""

import csv
import json
import subprocess
import sys
from functools import lru_cache
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

from slowfire.column.parameters import default_parameters, priors
from slowfire.column.simulate import Column, constant_air
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, box

ROOT = Path(__file__).resolve().parent.parent
TARGETS = Path(__file__).with_name("calibration_targets.csv")
RESULTS = ROOT / "benchmarks" / "results" / "calibration.json"
FREE = ("particle_diameter", "vent_exchange", "humus_yield", "slump", "rate_rapid")
AIR = 12.0
WEEKS = 20
PRIOR_WEIGHT = 0.3


def portion(word: str, litres: float) -> Portion:
    stuff = load_library().find(word)
    return Portion(stuff, litres * stuff.bulk_density / 1000.0, litres, "loose")


def season(values: tuple[float, ...], week: float, paper: float, chips: float) -> dict[str, float]:
    """Feed a 240 L foam bin for some months and read what it settles to."""
    parameters = default_parameters(**dict(zip(FREE, values, strict=True)))
    vessel = box(
        0.5,
        0.5,
        0.96,
        Fittings(wall=(("eps", 0.06),), lid=(("eps", 0.03),), vent_slot_length=0.3),
    )
    column = Column(vessel, constant_air(AIR), parameters)
    litres = week / 2.0 / 0.425
    hot, lid, wet = [], [], []
    for k in range(2 * WEEKS):
        load = [portion("food_waste_household_mixed", litres)]
        if paper:
            load.append(portion("office_paper_shredded", paper * litres))
        if chips:
            load.append(portion("bark_chips_fine", chips * litres))
        if column.room_litres() < 2.0 * litres:
            column.dig_out(litres=60.0)
        column.load(load, temperature_celsius=15.0)
        column.stir(0.12)
        column.run_to(column.hour + 84.0)
        if k >= WEEKS:
            section = column.section()
            hot.append(section.hottest_celsius)
            lid.append((section.lid_celsius - AIR) / (section.hottest_celsius - AIR))
            wet.append(np.mean([one.moisture_content_wet_basis for one in section.layers]))
    return {
        "hottest_celsius": float(np.median(hot)),
        "lid_share": float(np.median(lid)),
        "moisture_percent": 100.0 * float(np.median(wet)),
    }


@lru_cache(maxsize=4096)
def cached(values: tuple[float, ...], week: float, paper: float, chips: float) -> dict[str, float]:
    return season(values, week, paper, chips)


def main() -> None:
    rows = list(csv.DictReader(TARGETS.read_text(encoding="utf-8").splitlines()))
    known = priors()
    low = np.array([known[name].low for name in FREE])
    high = np.array([known[name].high for name in FREE])
    start = np.array([known[name].value for name in FREE])
    runs = 0

    def found(x: np.ndarray) -> list[float]:
        values = tuple(float(v) for v in low + x * (high - low))
        return [
            cached(values, float(row["week_kilograms"]), float(row["paper"]), float(row["chips"]))[
                row["quantity"]
            ]
            for row in rows
        ]

    first = (start - low) / (high - low)

    def residuals(x: np.ndarray) -> np.ndarray:
        nonlocal runs
        runs += 1
        print(f"trial {runs}: {np.round(low + x * (high - low), 5)}", flush=True)
        misses = []
        for row, value in zip(rows, found(x), strict=True):
            bottom, top = float(row["low"]), float(row["high"])
            half = 0.5 * (top - bottom)
            # inside the band only a light pull to its middle, outside the distance to it
            outside = max(value - top, bottom - value, 0.0)
            misses.append(outside / half * 3.0 + 0.1 * (value - bottom - half) / half)
        return np.concatenate([misses, PRIOR_WEIGHT * (x - first)])

    fit = least_squares(
        residuals, first, bounds=(0.0, 1.0), diff_step=0.05, max_nfev=int(sys.argv[1])
    )
    values = low + fit.x * (high - low)
    commit = subprocess.run(
        ["git", "rev-parse", "HEAD"], capture_output=True, text=True, cwd=ROOT, check=True
    ).stdout.strip()
    result = {
        "commit": commit,
        "parameters": {n: float(v) for n, v in zip(FREE, values, strict=True)},
        "before": {n: float(v) for n, v in zip(FREE, start, strict=True)},
        "targets": [
            {
                "id": row["id"],
                "low": float(row["low"]),
                "high": float(row["high"]),
                "before": before,
                "after": after,
                "passed": float(row["low"]) <= after <= float(row["high"]),
            }
            for row, before, after in zip(rows, found(first), found(fit.x), strict=True)
        ],
    }
    RESULTS.parent.mkdir(parents=True, exist_ok=True)
    RESULTS.write_text(json.dumps(result, indent=1) + "\n", encoding="utf-8")
    for one in result["targets"]:
        print(one)


if __name__ == "__main__":
    main()
