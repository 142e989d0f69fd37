"""What a load would do in this bin over the next two weeks."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from slowfire.errors import check_range
from slowfire.materials.feedstock import Feedstock, Portion
from slowfire.materials.library import load_library
from slowfire.recipe.mixture import Blend, blend
from slowfire.recipe.scoring import water_penalty

if TYPE_CHECKING:
    from slowfire.column.section import LayerView
    from slowfire.column.simulate import Air, Column

OUTCOME_DAYS = 14.0
STIR_DEPTH = 0.15  # [m]
TOP_DEPTH = 0.20  # what is looked at below the surface [m]
SAMPLES_A_DAY = 2
LEAST_OXYGEN = 0.10  # on average in the top layers [m^3/m^3]
OXYGEN_SCALE = 0.05
WARM_ENOUGH = 35.0  # [degC]
WARMTH_SCALE = 20.0  # [K]
WARMTH_WEIGHT = 0.3
TOO_HOT = 70.0  # ease off from here [degC]
HEAT_SCALE = 5.0  # [K]
LIQUID_A_WEEK = 1.0  # more than this means overload [L]
LIQUID_WEIGHT = 0.2


@dataclass(frozen=True)
class Outcome:
    """The top of the bin over the days after a load.

    Attributes
    ----------
    days : float
        Length of the run [day].
    mean_oxygen : float
        Average over the top layers and the days, by volume [m^3/m^3].
    hottest_celsius : float
        Hottest the centre of a top layer became [degC].
    moisture_content_wet_basis : float
        Water in the top layers at the end [kg/kg].
    liquid_litres : float
        Liquid that left the base meanwhile [L].
    """

    days: float
    mean_oxygen: float
    hottest_celsius: float
    moisture_content_wet_basis: float
    liquid_litres: float


def run_outcome(
    column: "Column",
    portions: Sequence[Portion],
    days: float = OUTCOME_DAYS,
    water_litres: float = 0.0,
) -> Outcome:
    """Load a copy of the bin, stir the load in and let time pass.

    Parameters
    ----------
    column : Column
        The bin as it is; it is not changed.
    portions : sequence of Portion
        What goes in; empty for nothing at all.
    days : float
        Length of the run, 1 to 60 [day].
    water_litres : float
        Water poured on with the load, usual range 0 to 10 [L].

    Returns
    -------
    Outcome
        Of the layers within 0.2 m of the surface, averaged by dry mass.

    Raises
    ------
    InvalidInput
        If the days are out of range.

    Notes
    -----
    Ours. One load, stirred 0.15 m deep; nothing else is fed meanwhile. Where the weather of the bin
    ends before the run does, its last week goes on.
    """
    check_range("Days of the run", days, 1.0, 60.0, "days")
    twin = column.copy()
    twin.air = _weather_ahead(twin.air, twin.hour + 24.0 * days)
    start, liquid = twin.hour, twin.liquid_litres()
    if portions:
        twin.load(portions)
        twin.stir(STIR_DEPTH)
    if water_litres > 0.0:
        twin.water(water_litres, STIR_DEPTH)
    oxygen = 0.0
    hottest = -273.15
    moisture = 0.0
    samples = round(days * SAMPLES_A_DAY)
    for sample in range(1, samples + 1):
        twin.run_to(start + 24.0 * days * sample / samples)
        section = twin.section()
        floor = section.fill_height - TOP_DEPTH
        top = [one for one in section.layers if one.base_height + one.thickness > floor]
        dry = sum(one.dry_mass for one in top)
        if dry <= 0.0:
            continue
        oxygen += sum(one.dry_mass * one.oxygen for one in top) / dry / samples
        hottest = max(hottest, *(one.temperature_centre_celsius for one in top))
        wet = sum(one.dry_mass / (1.0 - one.moisture_content_wet_basis) for one in top)
        moisture = 1.0 - dry / wet
    return Outcome(days, oxygen, hottest, moisture, twin.liquid_litres() - liquid)


def _weather_ahead(air: "Air", until: float) -> "Air":
    """Weather that reaches an hour, by repeating its last week; constant weather stays as it is."""
    table = air.table
    missing = math.ceil(until) + 1 - len(table)
    if missing <= 0 or len(table) < 24:
        return air
    week = table[-24 * max(1, min(7, len(table) // 24)) :]
    ahead = np.resize(week, (missing, table.shape[1]))
    return replace(air, table=np.concatenate([table, ahead]))


def outcome_penalty(outcome: Outcome) -> float:
    """Cost of an outcome: airless, cold or too hot, wet or dry, dripping.

    Parameters
    ----------
    outcome : Outcome
        Of a run.

    Returns
    -------
    float
        0 for an airy, warm, moist and drained top [-].

    Notes
    -----
    Ours. Warmth counts little, since the weather has its share in it.

    Examples
    --------
    >>> outcome_penalty(Outcome(14.0, 0.15, 50.0, 0.65, 0.5))
    0.0
    >>> round(outcome_penalty(Outcome(14.0, 0.05, 50.0, 0.65, 0.5)), 2)
    0.5
    """
    airless = 0.5 * (max(0.0, LEAST_OXYGEN - outcome.mean_oxygen) / OXYGEN_SCALE) ** 2
    cold = WARMTH_WEIGHT * (max(0.0, WARM_ENOUGH - outcome.hottest_celsius) / WARMTH_SCALE)
    hot = (max(0.0, outcome.hottest_celsius - TOO_HOT) / HEAT_SCALE) ** 2
    weekly = 7.0 * outcome.liquid_litres / outcome.days
    dripping = LIQUID_WEIGHT * max(0.0, weekly - LIQUID_A_WEEK)
    wetness = float(water_penalty(outcome.moisture_content_wet_basis))
    return airless + cold + hot + dripping + wetness


def top_layer(column: "Column", depth: float = STIR_DEPTH) -> Blend | None:
    """The top of a bin as a mix that a load is stirred into.

    Parameters
    ----------
    column : Column
        The bin.
    depth : float
        How deep the stirring goes, 0.01 to 1 [m].

    Returns
    -------
    Blend or None
        With the water, air space and C:N of those layers; None for an empty bin.

    Notes
    -----
    Ours. Ash is that of half-finished compost; the water it has is what it can hold, or more.
    """
    check_range("Depth", depth, 0.01, 1.0, "m")
    section = column.section()
    floor = section.fill_height - depth
    portions = []
    for one in section.layers:
        inside = one.base_height + one.thickness - max(one.base_height, floor)
        if inside <= 0.0 or one.dry_mass <= 0.0:
            continue
        share = min(1.0, inside / one.thickness)
        mass = share * one.dry_mass / (1.0 - one.moisture_content_wet_basis)
        portions.append(
            Portion(_as_feedstock(one), mass, min(1000.0 * mass / one.bulk_density, 20_000.0))
        )
    return blend(portions) if portions else None


def _as_feedstock(layer: "LayerView") -> Feedstock:
    """A layer as a material of its own, for sums: it keeps its volume and the water it holds."""
    model = load_library().find("half_finished_compost")
    density = min(max(layer.bulk_density, 5.0), 2900.0)
    carbon = model.carbon_content
    ratio = max(layer.c_to_n, 2.0)
    moisture = min(layer.moisture_content_wet_basis, 0.98)
    return replace(
        model,
        id=f"layer_{layer.number}",
        name="the top of the bin",
        moisture_content_wet_basis=moisture,
        nitrogen_content=carbon / ratio if math.isfinite(ratio) else 0.0,
        bulk_density=density,
        dense_bulk_density=density,
        particle_density=None,
        water_holding_capacity=min(
            max(model.water_holding_capacity, moisture / (1.0 - moisture)), 30.0
        ),
        # it has settled already, and what has not dripped is held
        structure_role="bulking",
    )
