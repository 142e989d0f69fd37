"""One member of the ensemble at one hour, as arrays that observations read."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.biology.nitrogen import ammonia_in_gas
from slowfire.biology.organisms import worm_suitability
from slowfire.column.draft import (
    AIR_SPACE,
    BULK,
    DRY,
    MOISTURE,
    N_WORK,
    THICKNESS,
    VOLUME,
    geometry,
)
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ACIDS,
    CENTRE_MINUS_EDGE,
    COVER_RESISTANCE,
    FILL_HEIGHT,
    HEAD_TEMPERATURE,
    HOUR,
    N_AMMONIACAL,
    OXYGEN,
    TEMPERATURE,
    TUB_WATER,
    WATER,
)
from slowfire.column.simulate import Column
from slowfire.physics.heat import conductivity_compost
from slowfire.vessel import Vessel

LEAST_DRY = 1e-12  # [kg]


@dataclass(frozen=True, eq=False)
class Glimpse:
    """A bin at one moment; arrays have shape (layers,) with index 0 at the base.

    Attributes
    ----------
    hour : float
        Since the start of the run [h].
    vessel : Vessel
        As it stood.
    parameters : Parameters
        Of this member.
    thickness, middles : ndarray
        Of each layer, and the height of its middle above the floor [m].
    mean, centre_minus_edge : ndarray
        Temperature over the cross-section [degC] and across it [K].
    moisture_content_wet_basis, oxygen, free_air_space : ndarray
        Shares [-].
    bulk_density, volume : ndarray
        [kg/m^3] and [m^3].
    dry_mass, water, acids, ammoniacal : ndarray
        [kg], the last as nitrogen.
    fill_height : float
        Top of the stack above the floor, 0 for an empty bin [m].
    lid_celsius : float
        Air under the lid [degC].
    tub_litres : float
        Liquid in the tub [L].
    cover_resistance : float
        Of extra insulation [m^2*K/W].
    air_celsius, relative_humidity, wind_speed : float
        Outside; the wind in the open [degC, -, m/s].
    irradiance, wall_irradiance : float
        In the open, on the level and as the mean of upright walls [W/m^2].
    """

    hour: float
    vessel: Vessel
    parameters: Parameters
    thickness: FloatArray
    middles: FloatArray
    mean: FloatArray
    centre_minus_edge: FloatArray
    moisture_content_wet_basis: FloatArray
    oxygen: FloatArray
    free_air_space: FloatArray
    bulk_density: FloatArray
    volume: FloatArray
    dry_mass: FloatArray
    water: FloatArray
    acids: FloatArray
    ammoniacal: FloatArray
    fill_height: float
    lid_celsius: float
    tub_litres: float
    cover_resistance: float
    air_celsius: float
    relative_humidity: float
    wind_speed: float
    irradiance: float
    wall_irradiance: float

    @property
    def empty(self) -> bool:
        """Whether there is nothing in the bin."""
        return self.middles.size == 0

    def temperature(self, height: float, off_centre: float = 0.0) -> float:
        """Temperature at a height above the floor [m] and a share of the way to the wall [degC].

        Straight lines between the middles of layers; beyond them the outermost layer's own. The
        air under the lid in an empty bin.
        """
        if self.empty:
            return self.lid_celsius
        across = self.mean + (0.5 - off_centre * off_centre) * self.centre_minus_edge
        return float(np.interp(height, self.middles, across))

    def shares_between(self, low: float, high: float) -> FloatArray:
        """Share of each layer in what lies between two heights [m]; even if nothing does [-]."""
        base = self.middles - 0.5 * self.thickness
        inside = np.minimum(base + self.thickness, high) - np.maximum(base, low)
        inside = np.maximum(inside, 0.0)
        total = float(inside.sum())
        if total <= 0.0:
            return np.full(inside.shape, 1.0 / max(inside.size, 1))
        shares: FloatArray = inside / total
        return shares

    def down(self, heights: Sequence[float], values: FloatArray) -> list[float]:
        """What each layer has, at heights above the floor [m]; NaN above the stack."""
        if self.empty or not heights:
            return [float("nan")] * len(heights)
        at = np.asarray(heights, dtype=np.float64)
        found = np.interp(at, self.middles, values)
        found[at > self.fill_height] = np.nan
        return [float(one) for one in found]

    def near_surface(self, depth: float) -> FloatArray:
        """Share of each layer in the uppermost `depth` [m] of the stack [-]."""
        return self.shares_between(self.fill_height - depth, self.fill_height)

    @cached_property
    def conductivity(self) -> FloatArray:
        """Heat conductivity of each layer [W/(m*K)]."""
        plain = conductivity_compost(self.moisture_content_wet_basis, self.bulk_density)
        return np.asarray(self.parameters.conductivity_factor * plain, dtype=np.float64)

    @cached_property
    def surface_celsius(self) -> float:
        """The very surface: half the top layer and its film; the lid's air when empty [degC]."""
        if self.empty:
            return self.lid_celsius
        inner = 2.0 * float(self.conductivity[-1]) / max(float(self.thickness[-1]), 1e-6)
        outer = self.parameters.head_exchange
        return (inner * float(self.mean[-1]) + outer * self.lid_celsius) / (inner + outer)

    @cached_property
    def acid_per_dry_mass(self) -> FloatArray:
        """Organic acids by dry mass [kg/kg]."""
        acids: FloatArray = self.acids / np.maximum(self.dry_mass, LEAST_DRY)
        return acids

    @cached_property
    def ammonia_in_pores(self) -> FloatArray:
        """Nitrogen as ammonia in the pore gas [kg/m^3]."""
        p = self.parameters
        x = self.acid_per_dry_mass / p.acid_half
        ph = p.ph_base - (p.ph_base - p.ph_acid) * x / (1.0 + x)
        water = np.maximum(self.water, LEAST_DRY)
        full = ammonia_in_gas(self.ammoniacal, water, self.mean, ph)
        return np.asarray(p.ammonia_mobile * full, dtype=np.float64)

    def worms(self, off_centre: float = 0.0) -> FloatArray:
        """How well worms can live in each layer, centre to wall as in `temperature` [-]."""
        across = self.mean + (0.5 - off_centre * off_centre) * self.centre_minus_edge
        nitrogen = self.ammoniacal / np.maximum(self.dry_mass, LEAST_DRY)
        return np.asarray(
            worm_suitability(across, self.moisture_content_wet_basis, self.oxygen, nitrogen),
            dtype=np.float64,
        )


def glimpse(column: Column) -> Glimpse:
    """Read what observations need from a bin, without changing it.

    Parameters
    ----------
    column : Column
        A member of the ensemble, at the hour of an observation.

    Returns
    -------
    Glimpse
        Copies, so that the bin may go on.

    Notes
    -----
    Exact: the same geometry as `column.section.look`, kept as arrays. Weather lies
    between the hours of the table on straight lines; outside the table its end holds.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> seen = glimpse(Column(box(0.5, 0.5, 0.9), constant_air(12.0)))
    >>> seen.empty, seen.temperature(0.3), seen.fill_height
    (True, 12.0, 0.0)
    """
    layers = column.layers
    around = column.bin_state.copy()
    work = np.zeros((N_WORK, layers + 2))
    geometry(column.state, layers, around, column.vessel, column.parameters, work)
    # one copy, so that the bin may go on; `work` is our own already
    rows = column.state[:layers].copy()
    thickness = work[THICKNESS, :layers]
    table = column.air.table
    hour = float(around[HOUR])
    place = min(max(hour, 0.0), table.shape[0] - 1.0)
    below = int(place)
    above = min(below + 1, table.shape[0] - 1)
    weather = table[below] + (place - below) * (table[above] - table[below])
    return Glimpse(
        hour=hour,
        vessel=column.vessel,
        parameters=column.parameters,
        thickness=thickness,
        middles=np.cumsum(thickness) - 0.5 * thickness,
        mean=rows[:, TEMPERATURE],
        centre_minus_edge=rows[:, CENTRE_MINUS_EDGE],
        moisture_content_wet_basis=work[MOISTURE, :layers],
        oxygen=rows[:, OXYGEN],
        free_air_space=work[AIR_SPACE, :layers],
        bulk_density=work[BULK, :layers],
        volume=work[VOLUME, :layers],
        dry_mass=work[DRY, :layers],
        water=rows[:, WATER],
        acids=rows[:, ACIDS],
        ammoniacal=rows[:, N_AMMONIACAL],
        fill_height=float(around[FILL_HEIGHT]) if layers else 0.0,
        lid_celsius=float(around[HEAD_TEMPERATURE]),
        tub_litres=float(around[TUB_WATER]),
        cover_resistance=float(around[COVER_RESISTANCE]),
        air_celsius=float(weather[0]),
        relative_humidity=float(weather[1]),
        wind_speed=float(weather[2]),
        irradiance=float(weather[4]),
        wall_irradiance=float(weather[5]),
    )
