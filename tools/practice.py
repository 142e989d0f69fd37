"""What keepers of a foam-walled bin expect of it, as rows beside the published checks."""

import csv
from functools import cache
from pathlib import Path

import numpy as np

from slowfire.column.parameters import Parameters
from slowfire.column.simulate import Column, constant_air
from slowfire.published.checks import PublishedCheck
from slowfire.published.trial import litres_of
from slowfire.vessel import Fittings, box

TARGETS = Path(__file__).with_name("calibration_targets.csv")
AIR = 12.0
WEEKS = 16


def season(parameters: Parameters, week: float, paper: float, chips: float) -> dict[str, float]:
    """Feed a 240 L foam bin in 12 degC for some months and read what it settles to."""
    vessel = box(
        0.5,
        0.5,
        0.96,
        Fittings(wall=(("eps", 0.06),), lid=(("eps", 0.03),), vent_slot_length=0.3),
    )
    column = Column(vessel, constant_air(AIR), parameters)
    litres = week / 2.0 / 0.425
    read: dict[str, list[float]] = {name: [] for name in ("hot", "lid", "wet", "base", "oxygen")}
    for k in range(2 * WEEKS):
        load = [litres_of("food_waste_household_mixed", litres)]
        if paper:
            load.append(litres_of("office_paper_shredded", paper * litres))
        if chips:
            load.append(litres_of("bark_chips_fine", chips * litres))
        if column.room_litres() < 2.0 * litres:
            column.dig_out(litres=60.0)
        column.load(load, temperature_celsius=15.0)
        column.stir(0.12)
        column.run_to(column.hour + 84.0)
        if k >= WEEKS:
            section = column.section()
            low = [one for one in section.layers if one.base_height < 0.12]
            read["hot"].append(section.hottest_celsius)
            read["lid"].append((section.lid_celsius - AIR) / (section.hottest_celsius - AIR))
            read["wet"].append(
                float(np.mean([one.moisture_content_wet_basis for one in section.layers]))
            )
            read["base"].append(float(np.mean([one.temperature_centre_celsius for one in low])))
            read["oxygen"].append(float(np.mean([one.oxygen for one in low])))
    middle = {name: float(np.median(values)) for name, values in read.items()}
    return {
        "hottest_celsius": middle["hot"],
        "lid_share": middle["lid"],
        "moisture_percent": 100.0 * middle["wet"],
        "base_celsius": middle["base"],
        "base_oxygen_percent": 100.0 * middle["oxygen"],
    }


@cache
def rows() -> tuple[tuple[PublishedCheck, tuple[float, float, float]], ...]:
    """Every band of common practice with the week, paper and chips it belongs to."""
    with TARGETS.open(encoding="utf-8", newline="") as file:
        return tuple(
            (
                PublishedCheck(
                    f"practice-{row['id']}",
                    row["quantity"],
                    row["quantity"].rsplit("_", 1)[-1],
                    None,
                    float(row["low"]),
                    float(row["high"]),
                    False,
                    row["source"],
                    "common practice",
                    row["quantity"].replace("_", " "),
                ),
                (float(row["week_kilograms"]), float(row["paper"]), float(row["chips"])),
            )
            for row in csv.DictReader(file)
        )
