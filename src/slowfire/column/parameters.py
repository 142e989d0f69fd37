"""The parameter set of the process model: values with spread and source, kept as data."""

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import NamedTuple

from slowfire.errors import UnknownName, check_range


class Parameters(NamedTuple):
    """One value for every uncertain constant of the column, in the units of parameters.csv.

    A named tuple, so that the compiled kernel reads the fields by name.
    """

    rate_rapid: float
    rate_slow: float
    rate_resistant: float
    rate_wood: float
    thermophile_minimum: float
    thermophile_optimum: float
    thermophile_maximum: float
    mesophile_minimum: float
    mesophile_optimum: float
    mesophile_maximum: float
    mesophile_weight: float
    haug_weight: float
    oxygen_half_saturation: float
    acclimation_growth: float
    acclimation_decay: float
    acclimation_floor: float
    heat_per_oxygen: float
    ph_base: float
    ph_acid: float
    acid_half: float
    acid_production: float
    acid_burning: float
    nitrogen_half: float
    nitrogen_uptake: float
    ammonia_mobile: float
    nitrification_rate: float
    humus_density: float
    packed_density: float
    compressibility: float
    settling_time: float
    coarse_voids: float
    coarse_filling: float
    coarse_support: float
    wall_friction: float
    lateral_pressure_ratio: float
    particle_diameter: float
    permeability_cap: float
    channel_factor: float
    channel_time: float
    discharge_coefficient: float
    vent_wind_coefficient: float
    vent_exchange: float
    hold_rapid: float
    hold_slow: float
    hold_wood: float
    hold_ash: float
    drain_time: float
    ammonia_in_liquid: float
    potassium_in_liquid: float
    phosphorus_in_liquid: float
    vapour_enhancement: float
    conductivity_factor: float
    heat_capacity_solids: float
    head_exchange: float
    head_capacity: float
    lid_film: float
    bottle_conductance: float
    too_dry: float
    methane_share: float
    nitrous_oxide_share: float
    merge_added: float
    merge_old_added: float
    merge_old_age: float
    acclimation_food: float
    acclimation_garden: float
    acclimation_manure: float
    acclimation_old: float
    acid_fresh: float
    acid_per_day: float
    slump: float
    wood_piece_density: float
    humus_yield: float
    denitrification_rate: float
    water_diffusivity: float
    clod_radius: float
    cold_minimum: float
    cold_optimum: float
    cold_maximum: float
    cold_weight: float
    lignin_shield: float
    caddy_growth: float
    growth_ceiling: float


@dataclass(frozen=True)
class Prior:
    """Spread and source of one parameter."""

    value: float
    low: float
    high: float
    unit: str
    source: str
    note: str


@lru_cache(maxsize=1)
def priors() -> dict[str, Prior]:
    """Every parameter with its value, range, unit and source, in the order of the data file."""
    text = files("slowfire.column").joinpath("parameters.csv").read_text(encoding="utf-8")
    return {
        row["name"]: Prior(
            float(row["value"]),
            float(row["low"]),
            float(row["high"]),
            row["unit"],
            row["source"],
            row["note"],
        )
        for row in csv.DictReader(text.splitlines())
    }


def default_parameters(**changed: float) -> Parameters:
    """Build the default set, with some values changed by name.

    Parameters
    ----------
    **changed : float
        New values [mixed], each in the unit and inside the range that `parameters.csv` gives.

    Returns
    -------
    Parameters
        One value for every constant.

    Raises
    ------
    UnknownName
        If there is no parameter of that name.
    InvalidInput
        If a value lies outside its range.

    Notes
    -----
    `parameters.csv` names the source of each value, or that it was fitted; the choice among
    published values is our own. The ranges are for mixed kitchen and garden waste in small bins.

    Examples
    --------
    >>> default_parameters(rate_rapid=0.3).rate_rapid
    0.3
    """
    known = priors()
    for name, value in changed.items():
        if name not in known:
            raise UnknownName(f"There is no parameter '{name}'; known are {', '.join(known)}.")
        check_range(name, value, known[name].low, known[name].high, known[name].unit)
    values = {name: prior.value for name, prior in known.items()} | changed
    return Parameters(**{name: float(value) for name, value in values.items()})
