"""Looks: what was smelled, felt and seen, against what a member of the ensemble holds.

A look names a class. Each class is a range of a latent scale; a member inside it agrees, one
outside is as far off as it lies beyond the range.
"""

import math
from collections.abc import Callable
from functools import partial

import numpy as np

from slowfire.errors import InvalidInput
from slowfire.estimate.glimpse import Glimpse
from slowfire.estimate.observe import Observed, Unknowns
from slowfire.physics.moist_air import humidity_ratio, saturation_pressure_in_air

HAND_REACH = 0.12  # what a hand takes from under the surface [m]
NOSE_REACH = 0.20  # of the stack that gives its smell to the air under the lid [m]
LARVAE_REACH = 0.08  # larvae feed near the surface [m]
PRESSURE = 101325.0  # [Pa]

# Moisture, wet basis, where one squeeze class ends and the next begins; common practice, no
# source: a wrung-out sponge is 50 to 60 %, kitchen waste that drips when pressed 65 to 75 %.
SQUEEZE_CLASSES = {
    "dry": (-math.inf, 0.48),
    "damp": (0.48, 0.63),
    "drops": (0.63, 0.74),
    "trickle": (0.74, math.inf),
}
SQUEEZE_WIDTH = 0.05  # how sharply hands tell the classes apart [-]

# Ammonia is smelled from about 5 ppm on (1 to 50 reported; from memory); the pore gas reaches the
# nose thinned fiftyfold (ours). As nitrogen [kg/m^3].
AMMONIA_SMELLED = 5e-6 * 0.014007 / 0.0245 * 50.0
ACIDS_SMELLED = 0.012  # by dry mass, about pH 5.5; ours [kg/kg]
AIRLESS_OXYGEN = 0.01  # by volume, where sulphur compounds form; ours [-]
AIRLESS_SHARE = 0.15  # of the stack that is enough to be smelled; ours [-]
SMELL_WIDTH = 0.5  # noses differ by a factor of three [decades]
SMELL_FAINTEST = -1.5  # nothing fainter makes a difference [decades]
SMELL_STRONGEST = 2.0

WORMS_SEEN = 0.3  # suitability from which worms stay; ours [-]
WORMS_WIDTH = 0.25  # [-]
HEAT_WEIGHT = 1.0 / 30.0  # each kelvin over 35 C counts against them, so that heat has a slope
LARVAE_CEILING = 40.0  # fly larvae die at 38 to 50 C by kind [degC]
LARVAE_WIDTH = 4.0  # [K]
STEAM_SEEN = 0.5  # mist in the densest mixture of its breath with the air outside; ours [g/kg]
STEAM_WIDTH = 1.0  # [g/kg]

Latent = Callable[[Glimpse], float]


def distance_outside(latent: float, lowest: float, highest: float) -> float:
    """How far a value lies outside a range.

    ::

        d = max(x - b, 0) - max(a - x, 0)

    with x the value, a and b the ends of the range.

    Parameters
    ----------
    latent : float
        Value of a member on the scale of the look [-].
    lowest, highest : float
        Ends of the class that was named; endless at the ends of the scale [-].

    Returns
    -------
    float
        0 inside, negative below, positive above [-].

    Notes
    -----
    Ours. As an observation of 0 with a Gaussian error it makes the likelihood of a class flat
    inside and let it fall off softly outside, so that no member is drawn to the middle of a class.

    Examples
    --------
    >>> distance_outside(0.5, 0.4, 0.6), round(distance_outside(0.3, 0.4, 0.6), 6)
    (0.0, -0.1)
    """
    return max(latent - highest, 0.0) - max(lowest - latent, 0.0)


def _predict(seen: Glimpse, unknowns: Unknowns, latent: Latent, low: float, high: float) -> float:
    return distance_outside(latent(seen), low, high)


def _look(
    hour: float,
    kind: str,
    words: str,
    latent: Latent,
    low: float,
    high: float,
    width: float,
) -> Observed:
    return Observed(
        hour,
        kind,
        kind,
        0.0,
        width,
        partial(_predict, latent=latent, low=low, high=high),
        words,
        robust_limit=5.0,
    )


def squeeze(hour: float, feel: str, words: str = "") -> Observed:
    """A handful from under the surface pressed in the hand.

    Its latent scale is the moisture content, wet basis, of the uppermost 12 cm.

    Parameters
    ----------
    hour : float
        Of the run [h].
    feel : str
        dry, damp, drops or trickle.
    words : str
        What was written, for people; made from the feel if empty.

    Returns
    -------
    Observed
        0 as felt, below 0 drier, above 0 wetter, in moisture content [-].

    Raises
    ------
    InvalidInput
        For another word.

    Notes
    -----
    Dry below 48 % water (common practice, no source), damp to 63, drops to 74, a trickle above;
    hands differ by 5 points. Paper feels drier and food wetter than that.

    Examples
    --------
    >>> squeeze(9.0, "drops").words
    'squeezed: drops'
    """
    if feel not in SQUEEZE_CLASSES:
        raise InvalidInput(f"Squeeze is '{feel}'; allowed is {', '.join(SQUEEZE_CLASSES)}.")
    low, high = SQUEEZE_CLASSES[feel]
    return _look(hour, "squeeze", words or f"squeezed: {feel}", _moisture, low, high, SQUEEZE_WIDTH)


def _moisture(seen: Glimpse) -> float:
    if seen.empty:
        return 0.5
    return float(np.dot(seen.near_surface(HAND_REACH), seen.moisture_content_wet_basis))


def smell(hour: float, nose: str, weight: float = 1.0, words: str = "") -> Observed:
    """A smell, or that there was none.

    ::

        s = lg(c / c_0), from -1.5 to 2

    with c of the uppermost 20 cm and c_0 where it is smelled: for ammonia the nitrogen in the pore
    gas [kg/m^3], for sour the organic acids by dry mass [kg/kg], for rotten egg 1 % oxygen over
    what the least aired 15 % of the stack has. A named smell has s of 0 or more; with none or
    earthy the strongest of the three is 0 or less.

    Parameters
    ----------
    hour : float
        Of the run [h].
    nose : str
        none, earthy, ammonia, sour or rotten-egg.
    weight : float
        1 for a smell that was written, below 1 where it is only implied [-], 0.1 to 1.
    words : str
        What was written, for people; made from the smell if empty.

    Returns
    -------
    Observed
        0 as smelled, else decades too faint (below 0) or too strong (above 0) [-].

    Raises
    ------
    InvalidInput
        For another word or a weight outside 0.1 to 1.

    Notes
    -----
    Ours, to half a decade. A nose gets used to a smell, and fresh fruit is sour by itself. The
    threshold of ammonia (5 ppm) is from memory; each weight divides the squared distance.

    Examples
    --------
    >>> smell(9.0, "ammonia").kind, smell(9.0, "none", weight=0.25).error_spread
    ('smell', 1.0)
    """
    if not 0.1 <= weight <= 1.0:
        raise InvalidInput(f"Weight of a smell is {weight:g}; allowed is 0.1 to 1.")
    named: dict[str, Latent] = {"ammonia": _ammonia, "sour": _sour, "rotten-egg": _airless}
    width = SMELL_WIDTH / math.sqrt(weight)
    said = words or ("no smell" if nose == "none" else f"smell: {nose}")
    if nose in named:
        return _look(hour, "smell", said, named[nose], 0.0, math.inf, width)
    if nose not in ("none", "earthy"):
        allowed = ", ".join(("none", "earthy", *named))
        raise InvalidInput(f"Smell is '{nose}'; allowed is {allowed}.")
    return _look(hour, "smell", said, _strongest, -math.inf, 0.0, width)


def _decades(ratio: float) -> float:
    faint = 10.0**SMELL_FAINTEST
    return min(math.log10(max(ratio, faint)), SMELL_STRONGEST)


def _ammonia(seen: Glimpse) -> float:
    if seen.empty:
        return SMELL_FAINTEST
    there = float(np.dot(seen.near_surface(NOSE_REACH), seen.ammonia_in_pores))
    return _decades(there / AMMONIA_SMELLED)


def _sour(seen: Glimpse) -> float:
    if seen.empty:
        return SMELL_FAINTEST
    shares = seen.near_surface(NOSE_REACH)
    dry = float(np.dot(shares, seen.dry_mass / np.maximum(seen.thickness, 1e-9)))
    acids = float(np.dot(shares, seen.acids / np.maximum(seen.thickness, 1e-9)))
    return _decades(acids / max(dry, 1e-12) / ACIDS_SMELLED)


def _airless(seen: Glimpse) -> float:
    if seen.empty:
        return SMELL_FAINTEST
    order = np.argsort(seen.oxygen)
    share = np.cumsum(seen.thickness[order]) / seen.thickness.sum()
    least = float(np.interp(AIRLESS_SHARE, share, seen.oxygen[order]))
    return _decades(AIRLESS_OXYGEN / max(least, 1e-6))


def _strongest(seen: Glimpse) -> float:
    return max(_ammonia(seen), _sour(seen), _airless(seen))


def usual(hour: float, words: str = "") -> Observed:
    """That all was as usual: nothing smelled.

    Parameters
    ----------
    hour : float
        Of the run [h].
    words : str
        What was written, for people.

    Returns
    -------
    Observed
        As `smell` with none, at a quarter of its weight.

    Notes
    -----
    Ours: who writes it has not looked for anything, but would have noticed a stench.

    Examples
    --------
    >>> usual(9.0).error_spread
    1.0
    """
    return smell(hour, "none", 0.25, words or "all as usual")


def worms_at(hour: float, zone: str, words: str = "") -> Observed:
    """Worms seen in one part of the bin.

    ::

        s = mean[f - max(t - 35, 0) / 30]

    over the zone, with f `worm_suitability` and t the temperature [degC].

    Parameters
    ----------
    hour : float
        Of the run [h].
    zone : str
        top, middle or base (thirds of the stack), edges (along the wall), everywhere (the
        poorest of the thirds) or somewhere (the best of all).
    words : str
        What was written, for people; made from the zone if empty.

    Returns
    -------
    Observed
        0 where worms can live, below 0 by how much they cannot [-].

    Raises
    ------
    InvalidInput
        For another word.

    Notes
    -----
    Ours: worms stay from a suitability of 0.3. That none were seen tells nothing, as they may
    never have come. The slope with heat is there because a suitability of 0 says not how far off.

    Examples
    --------
    >>> worms_at(9.0, "base").words
    'worms at the base'

    References
    ----------
    kaplan1980, edwards1988
    """
    zones = ("top", "middle", "base", "edges", "everywhere", "somewhere")
    if zone not in zones:
        raise InvalidInput(f"Place of worms is '{zone}'; allowed is {', '.join(zones)}.")
    where = {"edges": "along the walls", "everywhere": "everywhere", "somewhere": "seen"}
    said = words or f"worms {where.get(zone, f'at the {zone}')}"
    return _look(hour, "worms", said, partial(_worms, zone=zone), WORMS_SEEN, math.inf, WORMS_WIDTH)


def _worms(seen: Glimpse, zone: str) -> float:
    if seen.empty:
        return 0.0
    if zone == "edges":
        return float(np.dot(seen.near_surface(seen.fill_height), _comfort(seen, 1.0)))
    third = seen.fill_height / 3.0
    comfort = _comfort(seen, 0.0)
    means = {
        name: float(np.dot(seen.shares_between(k * third, (k + 1) * third), comfort))
        for k, name in enumerate(("base", "middle", "top"))
    }
    if zone == "everywhere":
        return min(means.values())
    if zone == "somewhere":
        along_the_wall = float(np.dot(seen.near_surface(seen.fill_height), _comfort(seen, 1.0)))
        return max(*means.values(), along_the_wall)
    return means[zone]


def _comfort(seen: Glimpse, off_centre: float) -> np.ndarray:
    across = seen.mean + (0.5 - off_centre * off_centre) * seen.centre_minus_edge
    return seen.worms(off_centre) - HEAT_WEIGHT * np.maximum(across - 35.0, 0.0)


def larvae(hour: float, words: str = "") -> Observed:
    """Fly larvae seen near the surface.

    Its latent scale is the temperature of the uppermost 8 cm at the wall, the coolest place they
    would go to.

    Parameters
    ----------
    hour : float
        Of the run [h].
    words : str
        What was written, for people.

    Returns
    -------
    Observed
        0 below 40 degC, else how far above [K].

    Notes
    -----
    Larvae of house and fruit flies die at 38 to 50 degC, those of soldier flies at 44. That none
    were seen tells nothing.

    Examples
    --------
    >>> larvae(9.0).error_spread
    4.0

    References
    ----------
    chia2018
    """
    said = words or "larvae seen"
    return _look(hour, "larvae", said, _top_edge, -math.inf, LARVAE_CEILING, LARVAE_WIDTH)


def _top_edge(seen: Glimpse) -> float:
    if seen.empty:
        return seen.lid_celsius
    edge = seen.mean - 0.5 * seen.centre_minus_edge
    return float(np.dot(seen.near_surface(LARVAE_REACH), edge))


def steam(hour: float, seen_steam: bool, words: str = "") -> Observed:
    """Whether steam rose when the lid was opened.

    ::

        m = max over a of { a W_s + (1 - a) W_o - W_sat[a T_s + (1 - a) T_o] }

    with W_s the humidity ratio of air saturated at the surface of the stack T_s, W_o and T_o those
    of the air outside, W_sat that at saturation, and a the share of the breath of the stack in a
    mixture of both, 0 to 1.

    Parameters
    ----------
    hour : float
        Of the run [h].
    seen_steam : bool
        Whether any was seen.
    words : str
        What was written, for people.

    Returns
    -------
    Observed
        0 as seen, else too little (below 0) or too much (above 0) mist, in g/kg, from -3 to 6 [-].

    Notes
    -----
    Mixing along a straight line is exact at one pressure to within 1 %; that half a gram of mist
    in a kilogram of air is seen is ours. Dust and backlight make steam out of less.

    Examples
    --------
    >>> steam(9.0, True).words, steam(9.0, False).words
    ('steam rose', 'no steam')

    References
    ----------
    buck1996, ashrae2017
    """
    said = words or ("steam rose" if seen_steam else "no steam")
    low, high = (STEAM_SEEN, math.inf) if seen_steam else (-math.inf, STEAM_SEEN)
    return _look(hour, "steam", said, _mist, low, high, STEAM_WIDTH)


_BREATH = np.linspace(0.05, 0.95, 10)


def _mist(seen: Glimpse) -> float:
    surface = min(seen.surface_celsius, 80.0)
    vapour = float(saturation_pressure_in_air(surface))
    outside = seen.relative_humidity * float(saturation_pressure_in_air(seen.air_celsius))
    inner = float(humidity_ratio(vapour, PRESSURE))
    outer = float(humidity_ratio(outside, PRESSURE))
    mixed = _BREATH * inner + (1.0 - _BREATH) * outer
    warmth = _BREATH * surface + (1.0 - _BREATH) * seen.air_celsius
    full = humidity_ratio(saturation_pressure_in_air(warmth), PRESSURE)
    return float(np.clip(1000.0 * np.max(mixed - full), -3.0, 6.0))
