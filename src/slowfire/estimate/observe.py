"""What a member of the ensemble would have shown where its keeper measured."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column.simulate import Column
from slowfire.errors import InvalidInput, check_range
from slowfire.estimate.glimpse import Glimpse, glimpse

Unknowns = Mapping[str, float]
Predict = Callable[[Glimpse, Unknowns], float]
Blur = Callable[[Glimpse], float]

# Common practice, no source.
LEVEL_SPREAD = 0.04  # a heap is not flat [m]
IMPLIED = ("reach", "room")  # kinds that follow from a reading
UNDOUBTED = 1e3  # limit of what follows from a reading at all [-]
LIQUID_SCALE = 0.2  # about what cannot be poured out of a tub [L]
LIQUID_SPREAD = 0.4  # of litres guessed, on the logarithmic scale [-]
WEIGHT_SPREAD = 0.2  # of litres on a fork or in a barrow, on the logarithmic scale [-]
NORMAL_95 = 1.6449  # 95th percentile of the normal distribution


@dataclass(frozen=True)
class Unknown:
    """Something about a measurement that the readings themselves must tell.

    Attributes
    ----------
    name : str
        Under which members carry their value.
    value : float
        Taken where a member carries none; the median [unit].
    low, high : float
        5th and 95th percentile [unit].
    unit : str
        Of all three.
    """

    name: str
    value: float
    low: float
    high: float
    unit: str

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise InvalidInput(
                f"{self.name} is {self.value:g} {self.unit}; allowed is {self.low:g} to "
                f"{self.high:g}, its own range."
            )

    def at(self, normal: float) -> float:
        """Value at so many standard deviations from the median, by each half's own width.

        On a logarithmic scale where all three are above 0, which keeps it above 0.
        """
        end = self.high if normal > 0.0 else self.low
        share = abs(normal) / NORMAL_95
        if self.low > 0.0:
            return float(self.value * (end / self.value) ** share)
        return self.value + (end - self.value) * share

    def among(self, unknowns: Unknowns) -> float:
        """Value a member carries, else the median."""
        return unknowns.get(self.name, self.value)


@dataclass(frozen=True)
class Observed:
    """One thing measured or seen, and how a member of the ensemble predicts it.

    Attributes
    ----------
    hour : float
        Of the run [h].
    kind : str
        lid, probe, infrared, air, level, liquid, weight, ice-water or the name of a look.
    group : str
        Thermometer or kind of look: observations of a group share their faults.
    value : float
        On a scale on which errors are about Gaussian; its unit goes with the kind.
    error_spread : float
        Standard deviation of what is wrong with it beside `blur`, above 0, on that scale.
    predict : callable
        Takes a Glimpse and the unknowns of a member, gives its prediction on that scale.
    words : str
        What was written, for people.
    unknowns : tuple of Unknown
        What `predict` looks for among the unknowns of a member.
    blur : callable or None
        Takes a Glimpse, gives a further spread that depends on the bin, as where the place of the
        reading is known to a few centimetres only.
    beyond : callable or None
        Takes a Glimpse, gives how far below the floor the place lies, 0 if it is inside [m].
    tip_height : callable or None
        Takes a Glimpse, gives the height above the floor of what it tells of [m]; None for what has
        no place in the bed.
    robust_limit : float
        Standard deviations from the ensemble beyond which it is set aside [-].
    source : int
        Place among the observations it was made from, -1 if it came otherwise.
    """

    hour: float
    kind: str
    group: str
    value: float
    error_spread: float
    predict: Predict
    words: str
    unknowns: tuple[Unknown, ...] = ()
    blur: Blur | None = None
    beyond: Blur | None = None
    tip_height: Blur | None = None
    robust_limit: float = 4.0
    source: int = -1

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and math.isfinite(self.error_spread)):
            raise InvalidInput(f"'{self.words}' holds a value that is not a number; leave it out.")
        check_range(f"Error spread of '{self.words}'", self.error_spread, 1e-6, 1e6)


def fill_level(
    hour: float, level_below_rim: float, spread: float = LEVEL_SPREAD, words: str = ""
) -> Observed:
    """The surface below the rim.

    ::

        R = H - h

    with H the height of the rim and h the top of the stack above the floor [m].

    Parameters
    ----------
    hour : float
        Of the run [h].
    level_below_rim : float
        From the rim down to the surface [m], 0 to 3.
    spread : float
        Standard deviation of how it was judged [m], 0.02 to 0.1.
    words : str
        What was written, for people; made from the value if empty.

    Returns
    -------
    Observed
        On the scale of m.

    Notes
    -----
    Ours: one height stands for a surface that is never flat, hence the spread (common practice, no
    source). It sees how loads settle and rot, not how warm they are.

    Examples
    --------
    >>> fill_level(9.0, 0.35).words
    'surface 35 cm below the rim'
    """
    check_range("Level below the rim", level_below_rim, 0.0, 3.0, "m")
    return Observed(
        hour,
        "level",
        "level",
        level_below_rim,
        spread,
        _read_level,
        words or f"surface {100.0 * level_below_rim:.0f} cm below the rim",
    )


def _read_level(seen: Glimpse, unknowns: Unknowns) -> float:
    return seen.vessel.height - seen.fill_height


def pushed_in(hour: float, depth: float, words: str = "") -> Observed:
    """A probe went in so deep: the stack is no lower than that.

    ::

        R = min(h, d)

    with h the top of the stack above the floor and d the depth [m].

    Parameters
    ----------
    hour : float
        Of the run [h].
    depth : float
        Of the tip below the surface [m], 0 to 3.
    words : str
        What was written, for people; made from the value if empty.

    Returns
    -------
    Observed
        On the scale of m. It tells nothing of stacks that are high enough.

    Notes
    -----
    Ours. Whoever writes a depth has felt no floor before it.

    Examples
    --------
    >>> pushed_in(9.0, 0.35).words
    'a probe went 35 cm in'
    """
    check_range("Depth below the surface", depth, 0.0, 3.0, "m")
    return Observed(
        hour,
        "reach",
        "reach",
        depth,
        LEVEL_SPREAD,
        partial(_read_reach, depth=depth),
        words or f"a probe went {100.0 * depth:.0f} cm in",
        robust_limit=UNDOUBTED,
    )


def _read_reach(seen: Glimpse, unknowns: Unknowns, depth: float) -> float:
    return min(seen.fill_height, depth)


def lid_closed(hour: float, rim: float) -> Observed:
    """A lid that closes: the stack is no higher than the rim.

    ::

        R = max(h - H, 0)

    with h the top of the stack above the floor and H the height of the rim [m].

    Parameters
    ----------
    hour : float
        Of the run [h].
    rim : float
        Height of the rim above the floor [m], 0.1 to 5.

    Returns
    -------
    Observed
        On the scale of m. It tells nothing of stacks that are low enough.

    Notes
    -----
    Ours. Nobody reads a thermometer over a heap that lifts the lid.

    Examples
    --------
    >>> lid_closed(9.0, 0.9).words
    'the lid closes'
    """
    check_range("Height of the rim", rim, 0.05, 10.0, "m")
    read = partial(_read_room, rim=rim)
    return Observed(
        hour, "room", "room", 0.0, LEVEL_SPREAD, read, "the lid closes", robust_limit=UNDOUBTED
    )


def _read_room(seen: Glimpse, unknowns: Unknowns, rim: float) -> float:
    return max(seen.fill_height - rim, 0.0)


def liquid_drained(
    hour: float,
    litres: float,
    litres_spread: float = 0.0,
    tub_litres: float = math.inf,
    words: str = "",
) -> Observed:
    """Liquid drawn off a tub that was then empty; 0 says that it was empty before.

    ::

        R = ln(1 + min(V, V_t) / V_0)

    with V the liquid in the tub, V_t what it holds and V_0 = 0.2 L about what cannot be poured
    out.

    Parameters
    ----------
    hour : float
        Of the run [h].
    litres : float
        Drawn off [L], 0 to 1000.
    litres_spread : float
        Standard deviation of a guess beside the usual one [L]; a third of a range's width.
    tub_litres : float
        What the tub holds before it runs over [L]; endless if not known.
    words : str
        What was written, for people; made from the value if empty.

    Returns
    -------
    Observed
        On that logarithmic scale [-], where 0.4 is a third of much and 0.1 L of nothing.

    Notes
    -----
    Ours. Holds where the tub is drawn empty each time, before the liquid of this hour is drawn in
    the run; what is left standing in a member's tub counts again next time.

    Examples
    --------
    >>> round(liquid_drained(9.0, 0.0).value, 2), round(liquid_drained(9.0, 1.5).value, 2)
    (0.0, 2.14)
    """
    check_range("Liquid drawn off", litres, 0.0, 1000.0, "L")
    check_range("Spread of the liquid", litres_spread, 0.0, 1000.0, "L")
    guess = litres_spread / (LIQUID_SCALE + litres)
    return Observed(
        hour,
        "liquid",
        "liquid",
        math.log1p(min(litres, tub_litres) / LIQUID_SCALE),
        math.hypot(LIQUID_SPREAD, guess),
        partial(_read_liquid, tub_litres=tub_litres),
        words or f"{litres:g} L of liquid drawn",
        robust_limit=5.0,
    )


def _read_liquid(seen: Glimpse, unknowns: Unknowns, tub_litres: float) -> float:
    return math.log1p(min(max(seen.tub_litres, 0.0), tub_litres) / LIQUID_SCALE)


def weight_dug_out(
    hour: float, mass: float, litres: float, loosening: float = 1.25, words: str = ""
) -> Observed:
    """Weight of litres dug out at the door.

    ::

        R = ln(rho V / a)

    with rho the wet bulk density of the lowest V/a of the stack [kg/m^3], V the litres as dug
    [m^3] and a how much looser they lie than before [-].

    Parameters
    ----------
    hour : float
        Of the run [h].
    mass : float
        Wet, as weighed [kg], above 0 to 5000.
    litres : float
        Volume as dug [L], above 0 to 5000.
    loosening : float
        Volume on the fork by volume in the bin [-], 1 (as it lies) to 1.6.
    words : str
        What was written, for people; made from the values if empty.

    Returns
    -------
    Observed
        On the scale of the logarithm of kg [-], so that its error is a share.

    Notes
    -----
    Ours. A fork loosens what it lifts by about a quarter (common practice, no source). More litres
    than there are take the density of the whole stack.

    Examples
    --------
    >>> weight_dug_out(9.0, 21.0, 35.0).words
    '21 kg for 35 L dug out'
    """
    check_range("Weight dug out", mass, 1e-3, 5000.0, "kg")
    check_range("Litres dug out", litres, 1e-3, 5000.0, "L")
    check_range("Loosening", loosening, 1.0, 2.0)
    return Observed(
        hour,
        "weight",
        "weight",
        math.log(mass),
        WEIGHT_SPREAD,
        partial(_read_weight, volume=litres / 1000.0 / loosening),
        words or f"{mass:g} kg for {litres:g} L dug out",
    )


def _read_weight(seen: Glimpse, unknowns: Unknowns, volume: float) -> float:
    if seen.empty:
        return math.log(1e-3)
    below = np.cumsum(seen.volume) - seen.volume
    share = np.clip((volume - below) / np.maximum(seen.volume, 1e-12), 0.0, 1.0)
    taken = share * seen.volume
    density = float((taken * seen.bulk_density).sum() / taken.sum())
    return math.log(max(density * volume, 1e-3))


def member_predictions(
    observed: Sequence[Observed], column: Column, unknowns: Unknowns
) -> tuple[FloatArray, FloatArray]:
    """What one member predicts for the observations of one hour, and how blurred they are there.

    Parameters
    ----------
    observed : sequence of Observed
        All of one hour [-].
    column : Column
        The member, brought to that hour.
    unknowns : mapping of str to float
        Its unknowns by name; those it does not carry have their median [-].

    Returns
    -------
    tuple of ndarray, shapes (observations,) and (observations,)
        Predictions and further spreads, each on the scale of its observation [-].

    Notes
    -----
    Exact. One glimpse serves them all.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> empty = Column(box(0.5, 0.5, 0.9), constant_air(12.0))
    >>> predicted, blurs = member_predictions([fill_level(0.0, 0.35)], empty, {})
    >>> predicted, blurs
    (array([0.9]), array([0.]))
    """
    seen = glimpse(column)
    predicted = np.array([one.predict(seen, unknowns) for one in observed], dtype=np.float64)
    blurs = np.array(
        [0.0 if one.blur is None else one.blur(seen) for one in observed], dtype=np.float64
    )
    return predicted, blurs
