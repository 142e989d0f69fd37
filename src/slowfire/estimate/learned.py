"""What readings have taught of a bin, its food and its thermometers, in words with a check each."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column.positions import L_HEAT_BASE, L_HEAT_GAS, L_HEAT_LID, L_HEAT_WALL
from slowfire.column.simulate import Air, Column
from slowfire.estimate.member import Gap
from slowfire.estimate.observe import Observed, Unknown
from slowfire.estimate.priors import BIN_WIDE, kinetic_unknowns, unwritten_share
from slowfire.estimate.summary import band
from slowfire.estimate.typed import temperature_difference
from slowfire.units import UnitSystem
from slowfire.vessel import Vessel

# Ours, set so that what chance makes of sixty members is not told.
MOVED = 1.0  # prior standard deviations
NARROWED = 0.7  # of the prior spread
HEAT_MATTERS = 1.25  # times the heat it should lose
BIAS_MATTERS = 1.5  # [K]
LIKELY = 0.6  # chance from which an unwritten load is named
HEAT_HOURS = 6.0


@dataclass(frozen=True)
class Finding:
    """Something that readings have taught.

    Attributes
    ----------
    unknown : str
        The name of an unknown, or heat_loss, thermometer or unwritten_load.
    low, mid, high : float
        5th, 50th and 95th percentile, in `unit`.
    unit : str
        - for a factor or a share, K for a difference.
    words : str
        What it means and what to check.
    """

    unknown: str
    low: float
    mid: float
    high: float
    unit: str
    words: str


@dataclass(frozen=True)
class _Telling:
    """From which values on an unknown is told, and how; {range} stands for its value."""

    lower: float
    lower_words: str
    higher: float
    higher_words: str


_TELLINGS = {
    "wet_mass": _Telling(
        0.85,
        "What goes in weighs about {range} what is written: are the caddies full?",
        1.18,
        "What goes in weighs about {range} what is written: weigh one full caddy.",
    ),
    "dryness": _Telling(
        0.88,
        "What goes in is wetter than the tables say, with about {range} their dry matter: does "
        "liquid stand in the caddy?",
        1.14,
        "What goes in is drier than the tables say, with about {range} their dry matter: squeeze a "
        "handful from under the surface.",
    ),
    "opening": _Telling(
        0.75,
        "The lid vent lets through as if it were {range} as wide as written: is it nearly shut, or "
        "matted over?",
        1.35,
        "The lid vent lets through as if it were {range} as wide as written: measure its gap.",
    ),
    "inlet": _Telling(
        0.7,
        "The opening at the base is about {range} as free as described: clear it of mud and chips.",
        1.45,
        "The opening at the base is about {range} as free as described: does its door shut?",
    ),
    "rain_entry": _Telling(
        0.0, "", 1.6, "About {range} the rain gets in that such a lid lets in: look after rain."
    ),
    "sunshine": _Telling(
        0.75,
        "About {range} the sun described reaches the bin: is it in the shade?",
        1.35,
        "About {range} the sun described reaches the bin: is it in the sun longer?",
    ),
    "ambient_offset": _Telling(
        -1.0,
        "The air at the bin is about {range} colder than that of the place: hang a thermometer in "
        "the shade beside it.",
        1.0,
        "The air at the bin is about {range} warmer than that of the place: hang a thermometer in "
        "the shade beside it.",
    ),
    "acclimation_growth": _Telling(
        0.8,
        "It starts late, its microbes growing about {range} as fast as usual: a scoop of warm old "
        "stuff with a load helps.",
        np.inf,
        "",
    ),
    "rate_rapid": _Telling(
        0.8,
        "Food burns about {range} as fast as usual: expect lower warmth that lasts longer.",
        1.25,
        "Food burns about {range} as fast as usual: expect more heat, and sooner over.",
    ),
}


def is_learned(unknowns: FloatArray) -> bool:
    """Whether readings have moved an unknown by a standard deviation or narrowed it by a third.

    Parameters
    ----------
    unknowns : ndarray, shape (members,)
        Values of one unknown that had mean 0 and spread 1 before [-].

    Returns
    -------
    bool

    Notes
    -----
    Ours.

    Examples
    --------
    >>> prior = np.linspace(-1.7, 1.7, 60)
    >>> is_learned(prior), is_learned(prior + 1.2), is_learned(0.5 * prior)
    (False, True, True)
    """
    return bool(abs(unknowns.mean()) >= MOVED or unknowns.std() < NARROWED)


def _times(low: float, mid: float, high: float) -> str:
    """A factor with its range: two digits are finer than an estimate."""
    return f"{mid:.1f} times ({low:.1f} to {high:.1f})"


def heat_lost(column: Column, vessel: Vessel, air: Air, hours: float = HEAT_HOURS) -> float:
    """Heat a bin would lose in the coming hours, were it this vessel.

    ::

        Q = (H_wall + H_lid + H_base + H_gas) / t

    with H what leaves through walls, lid and base and with gas and vapour in the time t [J].

    Parameters
    ----------
    column : Column
        A bin as it stands; it stays as it is.
    vessel : Vessel
        Walls, lid, joints and openings to try.
    air : Air
        Weather to try it in, best a still night.
    hours : float
        How long [h], 1 to 24.

    Returns
    -------
    float
        Mean heat flow out, negative if heat comes in [W].

    Notes
    -----
    Exact: the books of the model itself, so draft, leaks and vapour count as they do there.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> empty = Column(box(0.5, 0.5, 0.9), constant_air(12.0))
    >>> abs(heat_lost(empty, empty.vessel, constant_air(12.0))) < 0.1
    True
    """
    trial = column.copy()
    trial.vessel, trial.air = vessel, air
    places = [L_HEAT_WALL, L_HEAT_LID, L_HEAT_BASE, L_HEAT_GAS]
    before = float(trial.ledger[places].sum())
    trial.run_to(column.hour + hours)
    return (float(trial.ledger[places].sum()) - before) / (3600.0 * hours)


def heat_finding(lost: FloatArray, should: FloatArray, prior: FloatArray) -> Finding | None:
    """Say how much more or less heat a bin loses than it should, if readings have told that.

    ::

        f = Q / Q_d

    with Q the heat a member loses and Q_d what the bin as described would lose in its place [W].

    Parameters
    ----------
    lost : ndarray, shape (members,)
        By each member now [W].
    should : ndarray, shape (members,)
        By the bin as described, with the inside of each member [W].
    prior : ndarray, shape (members,)
        By bins as they might have been before anything was read, with the same insides [W].

    Returns
    -------
    Finding or None
        None if nothing was learned, it makes no difference, or too little heat is lost to tell.

    Notes
    -----
    Ours: told from a quarter more or a fifth less, if the logarithm of the factor has moved by a
    standard deviation of what was to be expected or narrowed by a third.

    Examples
    --------
    >>> one = np.linspace(0.9, 1.1, 40)
    >>> heat_finding(36.0 * one, 20.0 * np.ones(40), 26.0 * one**5).mid.__round__(1)
    1.8
    """
    if not (lost.min() > 0.0 and should.min() > 0.0 and prior.min() > 0.0):
        return None
    factor, expected = np.log(lost / should), np.log(prior / should)
    if not is_learned((factor - expected.mean()) / max(float(expected.std()), 1e-9)):
        return None
    low, mid, high = (float(one) for one in band(np.exp(factor)))
    if 1.0 / HEAT_MATTERS < mid < HEAT_MATTERS:
        return None
    words = (
        f"The bin loses about {_times(low, mid, high)} the heat it should, walls, leaks and lid "
        "together"
    )
    check = "feel along the lid seal for warm air." if mid > 1.0 else "its walls are better."
    return Finding("heat_loss", low, mid, high, "-", f"{words}: {check}")


def factor_findings(
    unknowns: Mapping[str, FloatArray], system: UnitSystem = "metric"
) -> tuple[Finding, ...]:
    """Say which of the unknowns of the whole record readings have told, where it matters.

    Parameters
    ----------
    unknowns : mapping of str to ndarray, shape (members,)
        By name; each had mean 0 and spread 1 before anything was read [-].
    system : str
        metric or us, for the words.

    Returns
    -------
    tuple of Finding
        In the order of the unknowns; what heat is lost by is told by `heat_finding` instead.

    Notes
    -----
    Ours: from which value on it matters stands beside the words.

    Examples
    --------
    >>> told = factor_findings({"wet_mass": 0.3 * np.linspace(-1.0, 1.0, 40) + 1.6})
    >>> told[0].words
    'What goes in weighs about 1.3 times (1.3 to 1.4) what is written: weigh one full caddy.'
    """
    known: dict[str, tuple[Unknown, float]] = {
        one.unknown.name: (one.unknown, 1.0) for one in BIN_WIDE
    }
    # a constant is told against its usual value
    known |= {name: (one, one.value) for name, one in kinetic_unknowns().items()}
    found = []
    for name, telling in _TELLINGS.items():
        if name not in unknowns or not is_learned(unknowns[name]):
            continue
        unknown, usual = known[name]
        values = np.array([unknown.at(float(one)) for one in unknowns[name]]) / usual
        low, mid, high = (float(one) for one in band(values))
        if telling.lower < mid < telling.higher:
            continue
        words = telling.higher_words if mid >= telling.higher else telling.lower_words
        shown = _times(low, mid, high)
        if unknown.unit == "K":
            shown = _difference(low, mid, high, system)
        if words:
            found.append(
                Finding(
                    name,
                    low,
                    mid,
                    high,
                    unknown.unit if unknown.unit == "K" else "-",
                    words.format(range=shown),
                )
            )
    return tuple(found)


def _difference(low: float, mid: float, high: float, system: UnitSystem) -> str:
    """A difference of temperatures with its range; its sign is told in words."""
    if mid < 0.0:
        low, mid, high = -high, -mid, -low
    per = 1.8 if system == "us" else 1.0
    return f"{temperature_difference(mid, system)} ({per * low:.0f} to {per * high:.0f})"


def thermometer_findings(
    observed: Sequence[Observed],
    unknowns: Mapping[str, FloatArray],
    system: UnitSystem = "metric",
) -> tuple[Finding, ...]:
    """Say which thermometers read too high or too low.

    Parameters
    ----------
    observed : sequence of Observed
        Everything read, which names its unknowns [-].
    unknowns : mapping of str to ndarray, shape (members,)
        By name; each had mean 0 and spread 1 before anything was read [-].
    system : str
        metric or us, for the words.

    Returns
    -------
    tuple of Finding
        One for each thermometer that is 1.5 K off or more, as far as readings have told.

    Notes
    -----
    Ours. A thermometer whose error grows with heat may be right in ice water.

    Examples
    --------
    >>> from slowfire.estimate.readings import Instrument, Place, probe
    >>> seen = probe(5.0, 50.0, Instrument("long probe", 1.0, 0.0, 2.0), Place(depth=0.3))
    >>> moved = 0.4 * np.linspace(-1.0, 1.0, 40) + 1.5
    >>> thermometer_findings([seen], {"bias long probe": moved})[0].words[:48]
    'The long probe reads about 3 °C (2 to 4) too hig'
    """
    known = {
        one.name: one for seen in observed for one in seen.unknowns if one.name.startswith("bias ")
    }
    found = []
    for name, unknown in known.items():
        if name not in unknowns or not is_learned(unknowns[name]):
            continue
        values = np.array([unknown.at(float(one)) for one in unknowns[name]])
        low, mid, high = (float(one) for one in band(values))
        if abs(mid) < BIAS_MATTERS:
            continue
        way = "high" if mid > 0.0 else "low"
        words = (
            f"The {name.removeprefix('bias ')} reads about "
            f"{_difference(low, mid, high, system)} too {way}: hold it into ice water, where it "
            "should read 0 °C (32 °F)."
        )
        found.append(Finding("thermometer", low, mid, high, "K", words))
    return tuple(found)


def load_findings(
    gaps: Sequence[Gap], unknowns: Mapping[str, FloatArray], day: Callable[[float], str]
) -> tuple[Finding, ...]:
    """Say when a load probably went in that was not written.

    Parameters
    ----------
    gaps : sequence of Gap
        Where one may have.
    unknowns : mapping of str to ndarray, shape (members,)
        Of the window, by name [-].
    day : callable
        Takes an hour of the run, gives the day in words.

    Returns
    -------
    tuple of Finding
        Shares of a usual load; only where at least three in five members have one.

    Notes
    -----
    Ours. Where the chance before anything was read was a half, three in five tells little by
    itself; with the question it costs nothing.

    Examples
    --------
    >>> from slowfire.column.contents import Load
    >>> gap = Gap(60.0, Load(()), 0.12)
    >>> load_findings([gap], {gap.name: np.full(9, 2.0)}, lambda hour: "4 May")[0].words[:56]
    'A load probably went in about 4 May that is not written '
    """
    found = []
    for gap in gaps:
        if gap.name not in unknowns:
            continue
        share = np.array([unwritten_share(float(one), gap.chance) for one in unknowns[gap.name]])
        chance = float(share.mean())
        if chance < LIKELY or chance < gap.chance + 0.1:
            continue
        low, mid, high = (float(one) for one in band(share))
        words = (
            f"A load probably went in about {day(gap.hour)} that is not written "
            f"({chance:.0%}): write it, or write an absence."
        )
        found.append(Finding("unwritten_load", low, mid, high, "-", words))
    return tuple(found)
