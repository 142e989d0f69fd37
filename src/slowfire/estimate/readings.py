"""Thermometers: what each would show in a member of the ensemble."""

import math
from dataclasses import dataclass
from functools import partial

import numpy as np

from slowfire.errors import InvalidInput, check_range
from slowfire.estimate.glimpse import Glimpse
from slowfire.estimate.observe import NORMAL_95, Observed, Unknown, Unknowns
from slowfire.estimate.thermometer import (
    Stem,
    lagged_reading,
    stem_film,
    stem_length,
    stem_tip_temperature,
)
from slowfire.physics.heat import outer_film_coefficient, sol_air_temperature

# Errors of reading and of one spot against its layer: common practice, no source.
READING_NOISE = 0.5  # the moment, and the eye on the scale [K]
BED_PATCHINESS = 1.5  # one spot against the even bed of its depth [K]
LID_PATCHINESS = 1.0  # one spot of the air under the lid [K]
SURFACE_PATCHINESS = 2.0  # of a surface seen through the open lid, of a wall, of a yard [K]
STEM_AIR_FILM = 10.0  # on a stem in still air [W/(m^2*K)]
BED_EMISSIVITY = 0.95
SUN_ON_DIAL = "sun_on_dial"


@dataclass(frozen=True)
class Instrument:
    """A thermometer as it is read.

    Attributes
    ----------
    name : str
        As written.
    resolution : float
        Step of the scale as read, 1-5 for a dial, 0.1-1 for figures [K].
    bias : float
        Reading less truth as known, -15 to 15 [K].
    bias_spread : float
        Standard deviation of what is not known of it, 0-5 [K].
    stem : Stem or None
        None for a thin wire, which carries no heat.
    """

    name: str
    resolution: float = 1.0
    bias: float = 0.0
    bias_spread: float = 1.0
    stem: Stem | None = None

    def __post_init__(self) -> None:
        check_range(f"Resolution of {self.name}", self.resolution, 0.0, 10.0, "K")
        check_range(f"Bias of {self.name}", self.bias, -15.0, 15.0, "K")
        check_range(f"Spread of the bias of {self.name}", self.bias_spread, 0.0, 5.0, "K")

    @property
    def unknown_bias(self) -> Unknown:
        """What is not known of its bias [K]."""
        wide = NORMAL_95 * self.bias_spread
        return Unknown(f"bias {self.name}", 0.0, -wide, wide, "K")

    def spread(self, patchiness: float) -> float:
        """Of a reading but for its bias: step of the scale, reading, unevenness of the place."""
        return math.sqrt(self.resolution**2 / 12.0 + READING_NOISE**2 + patchiness**2)


def off_centre_of(name: str, spot: str | None) -> Unknown:
    """How far off the centre a thermometer was put, by the word written.

    Parameters
    ----------
    name : str
        Of the thermometer: its readings at one spot share the value.
    spot : str or None
        centre, edge, corner, door, lid, or None where nothing was said.

    Returns
    -------
    Unknown
        Distance from the centre by that to the wall [-].

    Raises
    ------
    InvalidInput
        For another word.

    Notes
    -----
    Ours: nobody measures it, and where nothing is said most put a probe roughly in the middle. A
    corner counts as beyond the wall of a round section. Near the lid's middle is near the centre.

    Examples
    --------
    >>> off_centre_of("long probe", "edge").value
    0.85
    """
    known = {
        None: (0.25, 0.0, 0.7),
        "centre": (0.15, 0.0, 0.4),
        "lid": (0.15, 0.0, 0.4),
        "edge": (0.85, 0.7, 1.0),
        "door": (0.85, 0.7, 1.0),
        "corner": (1.1, 0.9, 1.25),
    }
    if spot not in known:
        raise InvalidInput(f"Spot is '{spot}'; allowed is centre, edge, corner, door or lid.")
    return Unknown(f"off_centre {name} {spot or 'unsaid'}", *known[spot], "-")


def lid_dial(
    hour: float, reading_celsius: float, instrument: Instrument, words: str = ""
) -> Observed:
    """A thermometer in the lid: the air under it, and part of the sun on the lid.

    ::

        R = T_h + s G f + b

    with T_h the air under the lid [degC], G the irradiance on the level [W/m^2], f the share of
    the sun that reaches the bin [-], s the warming of the dial by the sun [K*m^2/W] and b its bias
    [K]; s and b are unknowns.

    Parameters
    ----------
    hour : float
        Of the run [h].
    reading_celsius : float
        As shown [degC], -40 to 85.
    instrument : Instrument
        The thermometer.
    words : str
        What was written, for people; made from name and value if empty.

    Returns
    -------
    Observed
        On the scale of degC, less the known bias.

    Notes
    -----
    Ours, and the range of s too: 0.002 to 0.03 K*m^2/W, so 0.5 to 8 K in full sun on a bin that a
    quarter of it reaches. A sound plate of absorptance 0.6 in still air would get 0.04.

    Examples
    --------
    >>> lid_dial(9.0, 21.0, Instrument("lid dial", 2.0)).unknowns[0].name
    'sun_on_dial'
    """
    sun = Unknown(SUN_ON_DIAL, 0.008, 0.002, 0.03, "K*m^2/W")
    bias = instrument.unknown_bias
    return Observed(
        hour,
        "lid",
        instrument.name,
        reading_celsius - instrument.bias,
        instrument.spread(LID_PATCHINESS),
        partial(_read_lid, sun=sun, bias=bias),
        words or f"{instrument.name} {reading_celsius:g} °C",
        (sun, bias),
    )


def _read_lid(seen: Glimpse, unknowns: Unknowns, sun: Unknown, bias: Unknown) -> float:
    on_lid = seen.irradiance * seen.vessel.sun_share
    return seen.lid_celsius + sun.among(unknowns) * on_lid + bias.among(unknowns)


def outside_air(
    hour: float, reading_celsius: float, instrument: Instrument, words: str = ""
) -> Observed:
    """A thermometer in the air outside: it tells of the weather of a member, not of its bin.

    ::

        R = T_out + b

    with T_out the outside air and R the reading [degC], and b the bias [K], an unknown.

    Parameters
    ----------
    hour : float
        Of the run [h].
    reading_celsius : float
        As shown [degC], -40 to 50.
    instrument : Instrument
        The thermometer.
    words : str
        What was written, for people; made from name and value if empty.

    Returns
    -------
    Observed
        On the scale of degC, less the known bias.

    Notes
    -----
    Ours: a thermometer in a yard strays from the place's air by 2 K for sun, walls and paving.

    Examples
    --------
    >>> outside_air(9.0, 12.5, Instrument("yard", 0.5)).value
    12.5
    """
    bias = instrument.unknown_bias
    return Observed(
        hour,
        "air",
        instrument.name,
        reading_celsius - instrument.bias,
        instrument.spread(SURFACE_PATCHINESS),
        partial(_read_air, bias=bias),
        words or f"{instrument.name} {reading_celsius:g} °C",
        (bias,),
    )


def _read_air(seen: Glimpse, unknowns: Unknowns, bias: Unknown) -> float:
    return seen.air_celsius + bias.among(unknowns)


def ice_water_check(
    hour: float, reading_celsius: float, instrument: Instrument, words: str = ""
) -> Observed:
    """A thermometer held into ice water, which tells its bias.

    ::

        R = 0 + b

    with R the reading [degC] and b the bias [K], an unknown.

    Parameters
    ----------
    hour : float
        Of the run [h]; the bias counts for readings at any time.
    reading_celsius : float
        As shown in ice water [degC], -15 to 15.
    instrument : Instrument
        The thermometer.
    words : str
        What was written, for people; made from name and value if empty.

    Returns
    -------
    Observed
        On the scale of degC, less the known bias.

    Notes
    -----
    Melting ice is 0 degC, exact for clean water; stirring and waiting leave about half a kelvin
    (common practice, no source). The bias may differ in the heat.

    Examples
    --------
    >>> check = ice_water_check(0.0, 1.5, Instrument("long probe", 0.1))
    >>> check.value, check.kind
    (1.5, 'ice-water')
    """
    bias = instrument.unknown_bias
    return Observed(
        hour,
        "ice-water",
        instrument.name,
        reading_celsius - instrument.bias,
        instrument.spread(0.0),
        partial(_read_ice, bias=bias),
        words or f"{instrument.name} {reading_celsius:g} °C in ice water",
        (bias,),
    )


def _read_ice(seen: Glimpse, unknowns: Unknowns, bias: Unknown) -> float:
    return bias.among(unknowns)


@dataclass(frozen=True)
class Place:
    """Where the tip of a probe was: one of depth and height, and how well that is known.

    Attributes
    ----------
    depth : float or None
        Below the surface [m].
    height : float or None
        Above the floor [m].
    spot : str or None
        centre, edge, corner, door, lid, or None if not said.
    spread : float
        Standard deviation of depth or height [m].
    """

    depth: float | None = None
    height: float | None = None
    spot: str | None = None
    spread: float = 0.03

    def __post_init__(self) -> None:
        if (self.depth is None) == (self.height is None):
            raise InvalidInput("Give a probe's depth below the surface or its height, not both.")
        for name, value in (("Depth", self.depth), ("Height", self.height)):
            if value is not None:
                check_range(f"{name} of the probe", value, 0.0, 5.0, "m")
        check_range("Spread of the probe's place", self.spread, 0.001, 1.0, "m")

    def wanted(self, fill_height: float) -> float:
        """Height of the tip above the floor as written, below 0 where it is too deep [m]."""
        return fill_height - self.depth if self.depth is not None else float(self.height or 0.0)


def probe(
    hour: float,
    reading_celsius: float,
    instrument: Instrument,
    place: Place,
    waited: float | None = None,
    time_constant: float = 60.0,
    words: str = "",
) -> Observed:
    """A probe in the bed: at its depth, off the centre, with its stem and its lag.

    ::

        R = lag[stem[T_m(z) + (1/2 - x^2) delta(z)]] + b

    with z the height of the tip [m], T_m and delta on straight lines between the middles of
    layers, x how far off the centre it is [-] and b its bias [K]; x and b are unknowns. Stem and
    lag are `stem_tip_temperature` and `lagged_reading`.

    Parameters
    ----------
    hour : float
        Of the run [h].
    reading_celsius : float
        As shown [degC], -40 to 85.
    instrument : Instrument
        The thermometer; its stem counts where the depth is from the surface.
    place : Place
        Where the tip was.
    waited : float or None
        Time since it was put in [s]; None if it had settled.
    time_constant : float
        Time in which the difference falls to 37 % [s], usually 20 to 120.
    words : str
        What was written, for people; made from name and value if empty.

    Returns
    -------
    Observed
        On the scale of degC, less the known bias.

    Notes
    -----
    A tip deeper than the fill is taken at the floor; `beyond` says by how much, and `blur` grows
    by what the bed changes over that way. `blur` is half of what the bed changes over plus and
    minus the spread of the place. The head of the stem stands in the outside air. Reading, spot
    and patchiness: common practice, no source.

    Examples
    --------
    >>> probe(9.0, 51.0, Instrument("long probe"), Place(depth=0.3)).kind
    'probe'

    References
    ----------
    carslaw1959, incropera2007
    """
    bias = instrument.unknown_bias
    off = off_centre_of(instrument.name, place.spot)
    return Observed(
        hour,
        "probe",
        instrument.name,
        reading_celsius - instrument.bias,
        instrument.spread(BED_PATCHINESS),
        partial(
            _read_probe,
            place=place,
            stem=instrument.stem,
            lag=None if waited is None else (waited, time_constant),
            off=off,
            bias=bias,
        ),
        words or f"{instrument.name} {reading_celsius:g} °C",
        (off, bias),
        partial(_blur_of_place, place=place, off_centre=off.value),
        partial(_below_floor, place=place),
        partial(_tip_height, place=place),
    )


def _tip_height(seen: Glimpse, place: Place) -> float:
    return min(max(place.wanted(seen.fill_height), 0.0), seen.fill_height)


def _read_probe(
    seen: Glimpse,
    unknowns: Unknowns,
    place: Place,
    stem: Stem | None,
    lag: tuple[float, float] | None,
    off: Unknown,
    bias: Unknown,
) -> float:
    height = _tip_height(seen, place)
    x = min(max(off.among(unknowns), 0.0), 1.3)
    immersion = seen.fill_height - height
    if stem is not None and place.depth is not None and immersion > 0.001:
        reading = _stem_in_bed(seen, stem, immersion, x)
    else:
        reading = seen.temperature(height, x)
    if lag is not None:
        reading = float(lagged_reading(seen.air_celsius, reading, *lag))
    return reading + bias.among(unknowns)


def _stem_in_bed(seen: Glimpse, stem: Stem, immersion: float, off_centre: float) -> float:
    tip = seen.fill_height - immersion
    passed = seen.middles[(seen.middles > tip + 1e-9) & (seen.middles < seen.fill_height - 1e-9)]
    depths = np.empty(passed.size + 2)
    depths[0] = 0.0
    depths[1:-1] = seen.fill_height - passed[::-1]
    depths[-1] = immersion
    across = seen.mean + (0.5 - off_centre * off_centre) * seen.centre_minus_edge
    bed = np.interp(seen.fill_height - depths, seen.middles, across)
    conductivity = float(np.dot(seen.near_surface(immersion), seen.conductivity))
    film = stem_film(conductivity, stem.diameter, immersion)
    inside = stem_length(stem.diameter, stem.conductivity, film)
    outside = stem_length(stem.diameter, stem.conductivity, STEM_AIR_FILM)
    # two fins that meet at the surface pass heat in the ratio of their lengths
    entry = (inside * seen.air_celsius + outside * float(bed[0])) / (inside + outside)
    return stem_tip_temperature(depths, bed, entry, inside)


def _below_floor(seen: Glimpse, place: Place) -> float:
    return max(-place.wanted(seen.fill_height), 0.0)


def _blur_of_place(seen: Glimpse, place: Place, off_centre: float) -> float:
    wanted = place.wanted(seen.fill_height)
    height = min(max(wanted, 0.0), seen.fill_height)
    above = seen.temperature(min(height + place.spread, seen.fill_height), off_centre)
    below = seen.temperature(max(height - place.spread, 0.0), off_centre)
    too_far = max(wanted - seen.fill_height, -wanted, 0.0)
    if too_far <= 0.0:
        return 0.5 * abs(above - below)
    back = height + too_far if wanted < 0.0 else height - too_far
    change = seen.temperature(back, off_centre) - seen.temperature(height, off_centre)
    return 0.5 * abs(above - below) + abs(change)


def infrared_surface(
    hour: float, reading_celsius: float, instrument: Instrument, words: str = ""
) -> Observed:
    """An infrared thermometer pointed at the surface through the open lid.

    ::

        T_s = (T_1 / R_1 + T_h h) / (1 / R_1 + h),   R_1 = d / (2 k)
        R = eps T_s + (1 - eps) T_out + b

    with T_1, d and k the top layer's temperature [degC], thickness [m] and conductivity
    [W/(m*K)], T_h the air under the lid [degC], h `head_exchange` [W/(m^2*K)], T_out the outside
    air, which the surface mirrors [degC], eps = 0.95 and b the bias [K], an unknown.

    Parameters
    ----------
    hour : float
        Of the run [h].
    reading_celsius : float
        As shown [degC], -40 to 85.
    instrument : Instrument
        The thermometer.
    words : str
        What was written, for people; made from name and value if empty.

    Returns
    -------
    Observed
        On the scale of degC, less the known bias.

    Notes
    -----
    Ours. Radiation is taken as linear in temperature, within 1 K up to 40 K above the air. The
    emissivity of damp stuff is common practice, no source. A surface left open cools by drying,
    which is left out.

    Examples
    --------
    >>> infrared_surface(9.0, 24.0, Instrument("spot", 0.1)).kind
    'infrared'
    """
    bias = instrument.unknown_bias
    return Observed(
        hour,
        "infrared",
        f"{instrument.name} at the surface",
        reading_celsius - instrument.bias,
        instrument.spread(SURFACE_PATCHINESS),
        partial(_read_surface, bias=bias),
        words or f"{instrument.name} {reading_celsius:g} °C at the surface",
        (bias,),
    )


def _read_surface(seen: Glimpse, unknowns: Unknowns, bias: Unknown) -> float:
    surface = seen.surface_celsius
    mirrored = (1.0 - BED_EMISSIVITY) * seen.air_celsius
    return BED_EMISSIVITY * surface + mirrored + bias.among(unknowns)


def infrared_wall(
    hour: float, reading_celsius: float, instrument: Instrument, height: float, words: str = ""
) -> Observed:
    """An infrared thermometer pointed at the outside of the wall.

    ::

        T_w = T_a + (T_e - T_a) R_o / (R_w + R_c + R_o),   R_o = 1 / h
        R = eps T_w + (1 - eps) T_out + b

    with T_e the edge of the bed at that height and T_a the sol-air temperature [degC], R_w, R_c
    and R_o the resistances of wall, cover and outer film [m^2*K/W], T_out the outside air [degC],
    eps the emissivity of the wall [-] and b the bias [K], an unknown.

    Parameters
    ----------
    hour : float
        Of the run [h].
    reading_celsius : float
        As shown [degC], -40 to 85.
    instrument : Instrument
        The thermometer.
    height : float
        Where it was pointed, above the floor [m].
    words : str
        What was written, for people; made from name and value if empty.

    Returns
    -------
    Observed
        On the scale of degC, less the known bias.

    Raises
    ------
    InvalidInput
        If the height is outside 0 to 5 m.

    Notes
    -----
    Steady heat through the wall, with the films of the column. Radiation is taken as linear in
    temperature. A well insulated wall tells of the weather more than of the bin.

    Examples
    --------
    >>> infrared_wall(9.0, 14.0, Instrument("spot", 0.1), 0.4).kind
    'infrared'

    References
    ----------
    iso6946, ashrae2017
    """
    check_range("Height of the spot on the wall", height, 0.0, 5.0, "m")
    bias = instrument.unknown_bias
    return Observed(
        hour,
        "infrared",
        f"{instrument.name} at the wall",
        reading_celsius - instrument.bias,
        instrument.spread(SURFACE_PATCHINESS),
        partial(_read_wall, height=height, bias=bias),
        words or f"{instrument.name} {reading_celsius:g} °C at the wall",
        (bias,),
    )


def _read_wall(seen: Glimpse, unknowns: Unknowns, height: float, bias: Unknown) -> float:
    vessel = seen.vessel
    wind = seen.wind_speed * vessel.wind_share
    film = float(outer_film_coefficient(wind, seen.air_celsius, vessel.emissivity))
    sun = seen.wall_irradiance * vessel.sun_share
    around = float(sol_air_temperature(seen.air_celsius, sun, vessel.absorptance, film))
    above = height > seen.fill_height
    edge = seen.lid_celsius if above else seen.temperature(height, 1.0)
    resistance = vessel.wall_resistance + seen.cover_resistance + 1.0 / film
    if above:
        resistance += 1.0 / seen.parameters.lid_film
    wall = around + (edge - around) / film / resistance
    mirrored = (1.0 - vessel.emissivity) * seen.air_celsius
    return vessel.emissivity * wall + mirrored + bias.among(unknowns)
