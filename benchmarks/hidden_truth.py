"""The hidden truth of a bin: laws, walls and weather that differ from the model's, run by the hour.

Everything here is what nobody at the bin knows. The equations are those of the column, so a hidden
bin tests an estimate against wrong constants, another temperature law, leaks, wrong weights and
other weather, and not against physics that the column lacks.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.biology.kinetics import (
    acidity_ph,
    temperature_factor_haug,
    temperature_factor_rosso,
)
from slowfire.column.draft import DRY, MOISTURE, N_WORK, THICKNESS, geometry
from slowfire.column.parameters import Parameters, default_parameters, priors
from slowfire.column.positions import (
    ACIDS,
    CENTRE_MINUS_EDGE,
    HEAD_TEMPERATURE,
    L_MASS_DUG,
    N_AMMONIACAL,
    OXYGEN,
    TEMPERATURE,
    TUB_WATER,
    WATER,
)
from slowfire.column.simulate import Air, Column
from slowfire.constants import OXYGEN_IN_AIR
from slowfire.materials.feedstock import Portion
from slowfire.vessel import Vessel, inside_volume

# Standard deviation of the logarithm of what multiplies each constant. The ranges of
# parameters.csv would be too wide for all constants at once: most bins would be no bins.
RATE_SPREAD, PROPERTY_SPREAD = 0.28, 0.12
RATES = (
    "rate_rapid", "rate_slow", "rate_resistant", "rate_wood", "acclimation_growth",
    "acclimation_decay", "acclimation_food", "acclimation_garden", "caddy_growth",
    "acid_production", "acid_burning", "acid_half", "acid_fresh", "nitrification_rate",
    "oxygen_half_saturation", "particle_diameter", "permeability_cap", "vent_exchange",
    "clod_radius", "slump", "compressibility", "settling_time", "drain_time", "channel_time",
    "conductivity_factor", "mesophile_weight", "cold_weight", "lignin_shield", "humus_yield",
    "water_diffusivity",
)  # fmt: skip
PROPERTIES = (
    "head_exchange", "lid_film", "hold_rapid", "hold_slow", "hold_wood", "vapour_enhancement",
    "heat_capacity_solids", "packed_density", "humus_density", "wood_piece_density",
    "coarse_voids", "acclimation_old",
)  # fmt: skip
# How far the best and highest temperatures of the communities lie off, all alike in a bin [K].
CARDINAL_SPREAD = 1.5
CARDINALS = (
    "thermophile_optimum", "thermophile_maximum", "mesophile_optimum", "mesophile_maximum",
    "cold_optimum", "cold_maximum",
)  # fmt: skip
HANDBOOK_WEIGHT = (0.4, 0.8)  # of the handbook's curve in bins that follow it
SAME_RATE_CELSIUS = 45.0  # where both laws break food down alike
MOST_FACTOR = 2.5  # walls and joints lose up to this many times what their sheets say

REACH = 0.15  # depth at which a hand squeezes [m]
NOSE = 0.25  # depth from which a smell comes up [m]
BASE = 0.20  # height up to which a keeper looks through the door [m]
ROOM_TO_DIG = 0.10  # of the inside: less room than this after a load, and somebody digs out
DUG_SHARE = 0.22  # of the inside, dug out at a time


def hidden_parameters(draws: np.random.Generator, handbook: bool) -> Parameters:
    """Draw the constants of a hidden bin, independently of any fit.

    Parameters
    ----------
    draws : Generator
        Source of chance [-].
    handbook : bool
        Whether the handbook's temperature curve is blended in; rates are then scaled so that food
        breaks down as fast as by the model's own law at 45 degC [-].

    Returns
    -------
    Parameters
    """
    middle = default_parameters()
    values = middle._asdict()
    for names, spread in ((RATES, RATE_SPREAD), (PROPERTIES, PROPERTY_SPREAD)):
        for name in names:
            values[name] *= float(np.exp(draws.normal(0.0, spread)))
    off = float(draws.normal(0.0, CARDINAL_SPREAD))
    for name in CARDINALS:
        values[name] += off + float(draws.normal(0.0, 0.5))
    for name in ("acclimation_old", "coarse_voids", "slump"):
        values[name] = min(values[name], priors()[name].high)
    if handbook:
        weight = float(draws.uniform(*HANDBOOK_WEIGHT))
        own = _own_factor(SAME_RATE_CELSIUS, middle)
        blend = own + weight * (float(temperature_factor_haug(SAME_RATE_CELSIUS)) - own)
        values["haug_weight"] = weight
        for name in ("rate_rapid", "rate_slow", "rate_resistant", "rate_wood"):
            values[name] *= own / blend
    return Parameters(**values)


def _own_factor(celsius: float, p: Parameters) -> float:
    """The model's own temperature factor, the largest of its three communities."""
    hot = temperature_factor_rosso(
        celsius, p.thermophile_minimum, p.thermophile_optimum, p.thermophile_maximum
    )
    warm = temperature_factor_rosso(
        celsius, p.mesophile_minimum, p.mesophile_optimum, p.mesophile_maximum
    )
    cold = temperature_factor_rosso(celsius, p.cold_minimum, p.cold_optimum, p.cold_maximum)
    return float(max(hot, p.mesophile_weight * warm, p.cold_weight * cold))


def leaky(vessel: Vessel, draws: np.random.Generator, jointed: bool) -> Vessel:
    """The bin as it is, with leaky joints and walls that lose more than their sheets say.

    Parameters
    ----------
    vessel : Vessel
        As its keeper describes it.
    draws : Generator
        Source of chance [-].
    jointed : bool
        Whether boards let some air in at the sides [-].

    Returns
    -------
    Vessel
    """
    wall, lid, joints = np.exp(draws.uniform(0.0, np.log(MOST_FACTOR), 3))
    side = float(draws.uniform(0.0, 0.004)) if jointed else 0.0
    wind, sun = np.exp(draws.normal(0.0, 0.3, 2))
    return vessel._replace(
        wall_resistance=float(vessel.wall_resistance / wall),
        lid_resistance=float(vessel.lid_resistance / lid),
        lid_leak_area=float(vessel.lid_leak_area * joints),
        lid_exchange=float(vessel.lid_exchange * joints),
        side_open=side,
        wind_share=float(np.clip(vessel.wind_share * wind, 0.05, 1.0)),
        sun_share=float(np.clip(vessel.sun_share * sun, 0.0, 1.0)),
    )


@dataclass(frozen=True)
class TrueLoad:
    """What truly went in: hour, portions, temperature and age; whether the top was stirred."""

    hour: float
    portions: tuple[Portion, ...]
    temperature_celsius: float
    days_in_caddy: float
    stirred: bool


@dataclass(frozen=True)
class Dug:
    """What was truly dug out at the door."""

    hour: float
    litres: float
    kilograms: float


@dataclass(frozen=True)
class Drawn:
    """Liquid that was truly in the tub when it was emptied."""

    hour: float
    litres: float


@dataclass(frozen=True)
class Surface:
    """What hand, nose and eye would reach at an hour.

    Attributes
    ----------
    moisture : float
        Share of water in the top 15 cm, wet basis [-].
    ph : float
        Lowest of the top 25 cm [-].
    ammonia : float
        Ammoniacal nitrogen in the dry matter of the top 25 cm [kg/kg].
    oxygen : float
        Lowest of the top 25 cm, volume fraction [-].
    base_celsius, base_oxygen : float
        Mean and lowest of the bottom 20 cm, through the door [degC], [-].
    """

    moisture: float
    ph: float
    ammonia: float
    oxygen: float
    base_celsius: float
    base_oxygen: float


@dataclass(frozen=True)
class Truth:
    """What truly went on in a bin, hour by hour; sampled before the acts of the hour.

    Attributes
    ----------
    hours : ndarray, shape (hours,)
        Whole hours from 0 [h].
    hottest, hottest_height : ndarray, shape (hours,)
        Centre of the hottest layer [degC], and its middle above the floor [m].
    lid, air : ndarray, shape (hours,)
        Air under the lid and outside [degC].
    irradiance : ndarray, shape (hours,)
        Sun on the level in the open [W/m^2].
    fill_height, tub_litres : ndarray, shape (hours,)
        Top of the stack [m], liquid in the tub [L].
    lowest_oxygen : ndarray, shape (hours,)
        Of all layers, volume fraction [-].
    middles, centres, moistures : ndarray, shape (hours, layers)
        Middle of each layer above the floor [m], temperature of its centre [degC] and share of
        water [-]; NaN past the last layer.
    load_hours : tuple of float
        When something truly went in [h].
    dug : tuple of Dug
        What was dug out.
    drawn : tuple of Drawn
        Liquid drawn off.
    surfaces : mapping of int to Surface
        By hour, where somebody looks.
    edges : ndarray, shape (hours, layers), or None
        Temperature at the edge of each layer [degC].
    column : Column or None
        As it was at the end.
    kept : mapping of int to Column
        As it was at hours asked for.
    """

    hours: FloatArray
    hottest: FloatArray
    hottest_height: FloatArray
    lid: FloatArray
    air: FloatArray
    irradiance: FloatArray
    fill_height: FloatArray
    tub_litres: FloatArray
    lowest_oxygen: FloatArray
    middles: FloatArray
    centres: FloatArray
    moistures: FloatArray
    load_hours: tuple[float, ...]
    dug: tuple[Dug, ...]
    drawn: tuple[Drawn, ...]
    surfaces: Mapping[int, Surface]
    edges: FloatArray | None = None
    column: Column | None = None
    kept: Mapping[int, Column] = field(default_factory=dict)

    def temperature_at_height(self, hour: int, height: float) -> float:
        """Temperature in the centre at a height above the floor; NaN above the stack [degC]."""
        if not 0.0 <= height <= self.fill_height[hour]:
            return float("nan")
        known = np.isfinite(self.middles[hour])
        return float(np.interp(height, self.middles[hour, known], self.centres[hour, known]))

    def temperatures_at(self, hours: FloatArray, heights: Sequence[float]) -> FloatArray:
        """Temperatures in the centre, shape (heights, hours); NaN above the stack [degC]."""
        return np.array(
            [[self.temperature_at_height(int(h), height) for h in hours] for height in heights]
        )

    def moistures_at(self, hours: FloatArray, heights: Sequence[float]) -> FloatArray:
        """Shares of water, shape (heights, hours); NaN above the stack [-]."""
        fill = self.fill_height
        return np.array(
            [
                [self.moisture_at_depth(int(h), float(fill[int(h)]) - height) for h in hours]
                for height in heights
            ]
        )

    def moisture_at_depth(self, hour: int, depth: float) -> float:
        """Share of water at a depth below the surface; NaN below the floor [-]."""
        height = self.fill_height[hour] - depth
        if not 0.0 <= height <= self.fill_height[hour]:
            return float("nan")
        known = np.isfinite(self.middles[hour])
        return float(np.interp(height, self.middles[hour, known], self.moistures[hour, known]))


SERIES = ("hottest", "hottest_height", "lid", "fill_height", "tub_litres", "lowest_oxygen")


def _measured(column: Column) -> FloatArray:
    """What the column works out of its layers at the start of a step."""
    work = np.zeros((N_WORK, column.layers + 2))
    around = column.bin_state.copy()
    geometry(column.state, column.layers, around, column.vessel, column.parameters, work)
    return work


def _sample(column: Column) -> tuple[list[float], tuple[FloatArray, ...]]:
    """Values of SERIES, and middle, centre, moisture and edge of every layer."""
    n = column.layers
    head = float(column.bin_state[HEAD_TEMPERATURE])
    tub = float(column.bin_state[TUB_WATER])
    if n == 0:
        nothing = np.empty(0)
        return [head, 0.0, head, 0.0, tub, OXYGEN_IN_AIR], (nothing,) * 4
    state = column.state[:n]
    work = _measured(column)
    tops = work[THICKNESS, :n].cumsum()
    middles = tops - 0.5 * work[THICKNESS, :n]
    centres = state[:, TEMPERATURE] + 0.5 * state[:, CENTRE_MINUS_EDGE]
    hot = int(centres.argmax())
    values = [
        float(centres[hot]),
        float(middles[hot]),
        head,
        float(tops[-1]),
        tub,
        float(state[:, OXYGEN].min()),
    ]
    edges = state[:, TEMPERATURE] - 0.5 * state[:, CENTRE_MINUS_EDGE]
    return values, (middles, centres, work[MOISTURE, :n], edges)


def _surface(column: Column) -> Surface:
    n = column.layers
    state, p = column.state[:n], column.parameters
    work = _measured(column)
    thickness, dry = work[THICKNESS, :n], work[DRY, :n]
    tops = thickness.cumsum()
    centres = state[:, TEMPERATURE] + 0.5 * state[:, CENTRE_MINUS_EDGE]
    hand = tops > tops[-1] - REACH
    nose = tops > tops[-1] - NOSE
    low = tops - thickness < BASE
    acids = float((state[nose, ACIDS] / dry[nose]).max())
    water = float(state[hand, WATER].sum())
    return Surface(
        moisture=water / (water + float(dry[hand].sum())),
        ph=float(acidity_ph(acids, p.ph_base, p.ph_acid, p.acid_half)),
        ammonia=float(state[nose, N_AMMONIACAL].sum() / dry[nose].sum()),
        oxygen=float(state[nose, OXYGEN].min()),
        base_celsius=float(np.average(centres[low], weights=thickness[low])),
        base_oxygen=float(state[low, OXYGEN].min()),
    )


def make_room(column: Column, portions: Sequence[Portion]) -> Dug | None:
    """Dig out at the door where little room would be left above the portions to come.

    Parameters
    ----------
    column : Column
        It is changed.
    portions : sequence of Portion
        What is to go in.

    Returns
    -------
    Dug or None
        What was dug out; None where there is room.
    """
    inside = 1000.0 * inside_volume(column.vessel)
    # fresh stuff slumps to half its loose volume within a day
    coming = 0.5 * sum(one.litres for one in portions)
    if column.room_litres() - coming > ROOM_TO_DIG * inside:
        return None
    before = float(column.ledger[L_MASS_DUG])
    column.dig_out(litres=DUG_SHARE * inside)
    column.poke()
    return Dug(column.hour, DUG_SHARE * inside, float(column.ledger[L_MASS_DUG]) - before)


def feed(column: Column, load: TrueLoad) -> None:
    """Put a load in, and stir the top where its keeper does."""
    column.load(load.portions, load.temperature_celsius, load.days_in_caddy)
    if load.stirred:
        column.stir(0.12)


def run_truth(
    vessel: Vessel,
    air: Air,
    parameters: Parameters,
    loads: Sequence[TrueLoad],
    vents: Sequence[tuple[float, float]],
    drains: Sequence[float],
    look_hours: Collection[int],
    hours: int,
    keep_hours: Collection[int] = (),
) -> Truth:
    """Run a hidden bin; whoever feeds it digs out at the door when it gets full.

    Parameters
    ----------
    vessel : Vessel
        As it is, with its leaks.
    air : Air
        As it was.
    parameters : Parameters
        The laws it follows.
    loads : sequence of TrueLoad
        In order of time, none on a whole hour.
    vents : sequence of tuple of float
        Hour and opening of the lid vent [h], [m].
    drains : sequence of float
        Hours at which the tub is emptied [h].
    look_hours : collection of int
        Whole hours, after the first load, at which somebody may look [h].
    hours : int
        How long [h].
    keep_hours : collection of int
        Whole hours at which the whole bin is kept [h].

    Returns
    -------
    Truth
    """
    column = Column(vessel, air, parameters)
    dug: list[Dug] = []
    drawn: list[Drawn] = []
    surfaces: dict[int, Surface] = {}
    kept: dict[int, Column] = {}

    todo: list[tuple[float, int, object]] = []
    for load in loads:
        todo.append((load.hour - 0.25, 0, load))
        todo.append((load.hour, 1, load))
    todo += [(hour, 2, opening) for hour, opening in vents]
    todo += [(hour, 3, None) for hour in drains]
    todo.sort(key=lambda one: (one[0], one[1]))

    series = np.full((hours + 1, len(SERIES)), np.nan)
    profiles: list[tuple[FloatArray, ...]] = []
    place = 0
    for hour in range(hours + 1):
        column.run_to(float(hour))
        series[hour], profile = _sample(column)
        profiles.append(profile)
        if hour in look_hours:
            surfaces[hour] = _surface(column)
        if hour in keep_hours:
            kept[hour] = column.copy()
        while place < len(todo) and todo[place][0] < hour + 1.0:
            when, kind, what = todo[place]
            column.run_to(max(when, column.hour))
            if kind == 0 and isinstance(what, TrueLoad):
                one = make_room(column, what.portions)
                dug += [] if one is None else [one]
            elif kind == 1 and isinstance(what, TrueLoad):
                feed(column, what)
            elif kind == 2 and isinstance(what, float):
                column.set_vent(what)
            elif kind == 3:
                drawn.append(Drawn(column.hour, column.drain_tub(1000.0)))
            place += 1
    most = max(one[0].size for one in profiles)
    stacked = np.full((4, hours + 1, most), np.nan)
    for hour, profile in enumerate(profiles):
        for kind, values in enumerate(profile):
            stacked[kind, hour, : values.size] = values
    return Truth(
        hours=np.arange(hours + 1, dtype=np.float64),
        air=air.table[: hours + 1, 0],
        irradiance=air.table[: hours + 1, 4],
        middles=stacked[0],
        centres=stacked[1],
        moistures=stacked[2],
        edges=stacked[3],
        column=column,
        kept=kept,
        load_hours=tuple(load.hour for load in loads),
        dug=tuple(dug),
        drawn=tuple(drawn),
        surfaces=surfaces,
        **{name: series[:, i] for i, name in enumerate(SERIES)},
    )


def truly(
    portion: Portion, mass_factor: float, dry_factor: float, wettest: float = 0.95
) -> Portion:
    """What a portion really was: mass and volume off, and another share of water.

    Parameters
    ----------
    portion : Portion
        As its keeper took it to be.
    mass_factor : float
        True over assumed mass [-].
    dry_factor : float
        True over assumed share of dry matter [-].
    wettest : float
        Highest moisture content, wet basis [-].

    Returns
    -------
    Portion
    """
    stuff = portion.feedstock
    moisture = float(np.clip(1.0 - stuff.dry_matter * dry_factor, 0.02, wettest))
    return replace(
        portion,
        feedstock=replace(stuff, moisture_content_wet_basis=moisture),
        mass=portion.mass * mass_factor,
        litres=portion.litres * mass_factor,
    )
