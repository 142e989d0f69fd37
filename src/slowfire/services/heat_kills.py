"""What the heat of a layer, or of a batch, is thought to have killed: germs, seeds, diseases."""

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput
from slowfire.hygiene.history import (
    DEGREE_LOW,
    DEGREES,
    LONGEST,
    ROUNDING,
    TOTAL,
    check_history,
)
from slowfire.hygiene.lethality import CAP, find_organism, log_reduction_history, organisms
from slowfire.hygiene.record import PLACES, TemperatureRecord, hot_time
from slowfire.hygiene.rules import CAUTION
from slowfire.hygiene.seeds import (
    LETHAL_CELSIUS,
    MET,
    NO,
    NOT_ALL,
    NOT_MET,
    NOT_RELIABLY,
    REFUSED,
    YES_SIX,
    PlantDisease,
    WeedSeed,
    disease_answer,
    plant_diseases,
    seed_answer,
    weed_seeds,
)
from slowfire.hygiene.verdict import FROM_ASSUMPTIONS, FROM_READINGS
from slowfire.services.inside import Range

NOT_SHOWN = "not shown"
NEVER = "never promised"
ALL_SEEDS = "all weed seeds"
WORST_SEED = {NO: 0, NOT_RELIABLY: 1, YES_SIX: 2}
WORST_DISEASE = {NEVER: 0, NOT_MET: 1, NOT_SHOWN: 2, MET: 3}
SHOWS = 0.05  # of a tenfold cut; less is written as none
COLDEST = -100.0  # below whatever a thermometer reads [degC]
STATEMENT = (
    "An estimate from the model and what was read. It is no proof and never stands instead of a "
    "rule of heat, which asks for a run of hours, as read, at core and edge."
)
CAUTIONS = (
    STATEMENT,
    "A tenfold cut leaves one germ in ten alive; the time for one is called D. No more than six "
    "are claimed, since some always outlast the sum, and some grow back in damp compost. Time "
    "below 50 °C or in stuff too dry counts nothing. Germs that warmed up slowly bear more heat; "
    "in a bin at home that is taken for granted.",
    CAUTION,
)
SEED_CAUTION = NOT_ALL
DISEASE_CAUTION = (
    "Nothing here is a promise: each condition is what removed a disease in one study, if all of "
    "the material had it. Keep diseased plants out of a home bin."
)


@dataclass(frozen=True)
class GermKill:
    """How far heat cut down one germ.

    Attributes
    ----------
    id, name, state : str
        Which; hardened by slow warming, or any.
    log_reduction : Range or None
        Tenfold cuts in simulation where it was coldest, at most 6 [-]; None if no time to kill it
        is printed for compost.
    log_reduction_centre : Range or None
        The same in the middle [-].
    log_reduction_read : float or None
        That readings alone show, at the coldest spot that was read [-]; None if none was.
    note, source : str
        What else is known, and from where.
    """

    id: str
    name: str
    state: str
    log_reduction: Range | None
    log_reduction_centre: Range | None
    log_reduction_read: float | None
    note: str
    source: str


@dataclass(frozen=True)
class KindAnswer:
    """Whether heat did away with one kind of seed or one plant disease.

    Attributes
    ----------
    id, name, answer : str
        Of a seed: yes for these six, not reliably or no. Of a disease: condition met, not shown,
        condition not met or never promised.
    why, source : str
        On what it rests.
    """

    id: str
    name: str
    answer: str
    why: str
    source: str


@dataclass(frozen=True)
class HeatKills:
    """What heat is thought to have killed in a layer, or in the worst of several.

    Attributes
    ----------
    line, basis : str
        In one line; from readings if core and edge were read in every layer, else from
        assumptions.
    germs : tuple of GermKill
        In the order of the packaged list.
    weed_seeds, plant_diseases : tuple of KindAnswer
        In the order of the packaged lists.
    dry_hours : Range
        That were too dry for heat to count [h].
    spots, unread : tuple of str
        Where a probe was read often enough; which of centre and edge was not, in some layer.
    words : tuple of str
        What it rests on.
    """

    line: str
    basis: str
    germs: tuple[GermKill, ...]
    weed_seeds: tuple[KindAnswer, ...]
    plant_diseases: tuple[KindAnswer, ...]
    dry_hours: Range
    spots: tuple[str, ...]
    unread: tuple[str, ...]
    words: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Runs:
    """Longest unbroken hours at or above each degree where it was coldest; None as not all read."""

    low: FloatArray
    mid: FloatArray
    read: FloatArray | None
    spots: str
    unread: tuple[str, ...]


def heat_kills(
    histories: FloatArray,
    dry_hours: FloatArray,
    records: Sequence[TemperatureRecord] = (),
    *,
    since_hour: float,
    until_hour: float,
    longest_gap_hours: float,
) -> HeatKills:
    """Say what the heat of one layer is thought to have killed.

    Parameters
    ----------
    histories : ndarray, shape (members, 2, 41, 3)
        Of the layer in each member, hours by place, degree and measure [h].
    dry_hours : ndarray, shape (members,)
        Too dry for heat to count [h].
    records : sequence of TemperatureRecord
        Readings that were taken in its material [-].
    since_hour, until_hour : float
        Readings before and after count nothing [h].
    longest_gap_hours : float
        From one reading to the next over which heat may be believed [h].

    Returns
    -------
    HeatKills

    Raises
    ------
    InvalidInput
        If there is no member, or the arrays do not fit.

    Notes
    -----
    Ours, on the safe side. A germ counts where it was coldest, centre or edge. Seeds and diseases
    go by the longest run at each degree there, dry hours taken off. As with a rule of heat the
    model alone never says yes: centre and edge have to be read as well, and 95 in 100 of the
    simulated bins have to agree.
    """
    histories, dry_hours = check_history(histories, dry_hours)
    if histories.ndim != 4 or histories.shape[0] == 0:
        raise InvalidInput(
            f"The histories have the shape {histories.shape}; give those of one layer, "
            "(members, 2, 41, 3), of one member at least."
        )
    longest = np.maximum(histories[..., LONGEST] - dry_hours[:, None, None], 0.0).min(axis=1)
    low, mid = np.percentile(longest, [5.0, 50.0], axis=0)
    likely_dry = np.array(float(np.median(dry_hours)))
    shown = [
        (one, history)
        for one in records
        if (history := _as_history(one, since_hour, until_hour, longest_gap_hours)) is not None
    ]
    spots = tuple(dict.fromkeys(f"{one.position} ({one.place})" for one, _ in shown))
    unread = tuple(place for place in PLACES if all(one.place != place for one, _ in shown))
    read = None
    if not unread:
        read = np.min([history[..., LONGEST] for _, history in shown], axis=0)
        read = np.maximum(read - likely_dry, 0.0)
    runs = _Runs(low, mid, read, " and ".join(spots), unread)
    seeds = tuple(_seed(one, runs) for one in weed_seeds().values())
    return _told(
        tuple(
            _germ(name, histories, dry_hours, [one for _, one in shown], likely_dry)
            for name in dict.fromkeys(name for name, _ in organisms())
        ),
        (*seeds, _all_seeds(seeds)),
        tuple(_disease(one, runs) for one in plant_diseases().values()),
        _range(dry_hours),
        spots,
        unread,
        _read_words([unread], spots),
    )


def worst_kills(several: Sequence[HeatKills]) -> HeatKills | None:
    """What heat is thought to have killed in all of several layers.

    Parameters
    ----------
    several : sequence of HeatKills
        Of each layer [-].

    Returns
    -------
    HeatKills or None
        The least of each germ, the worst answer for each kind; None if there is no layer.
    """
    if not several:
        return None
    spots = tuple(dict.fromkeys(itertools.chain.from_iterable(one.spots for one in several)))
    unread = tuple(place for place in PLACES if any(place in one.unread for one in several))
    dry = [one.dry_hours for one in several]
    return _told(
        tuple(_least(same) for same in zip(*(one.germs for one in several), strict=True)),
        tuple(
            min(same, key=lambda one: WORST_SEED[one.answer])
            for same in zip(*(one.weed_seeds for one in several), strict=True)
        ),
        tuple(
            min(same, key=lambda one: WORST_DISEASE[one.answer])
            for same in zip(*(one.plant_diseases for one in several), strict=True)
        ),
        Range(max(d.low for d in dry), max(d.mid for d in dry), max(d.high for d in dry)),
        spots,
        unread,
        _read_words([one.unread for one in several], spots),
    )


def tenths(value: Range | float | None) -> str:
    """Tenfold cuts in words.

    Parameters
    ----------
    value : Range, float or None
        How many, up to 6 [-].

    Returns
    -------
    str

    Examples
    --------
    >>> tenths(Range(0.0, 0.0, 0.01)), tenths(Range(0.2, 1.0, 6.0)), tenths(6.0)
    ('none', '0.2 to 6 or more, likely 1.0', '6 or more')
    >>> tenths(None)
    'not known'
    """
    if value is None:
        return "not known"
    if isinstance(value, float):
        return "none" if value < SHOWS else "6 or more" if value > CAP - SHOWS else f"{value:.1f}"
    if value.high < SHOWS or value.low > CAP - SHOWS:
        return tenths(value.high)
    return f"{tenths(value.low)} to {tenths(value.high)}, likely {tenths(value.mid)}"


def sources_of(found: HeatKills) -> tuple[str, ...]:
    """Where every figure comes from, with the kinds that share a source in one line.

    Parameters
    ----------
    found : HeatKills
        What heat killed [-].

    Returns
    -------
    tuple of str
    """
    names: dict[str, list[str]] = {}
    kinds: tuple[GermKill | KindAnswer, ...] = (
        *found.germs,
        *found.weed_seeds,
        *found.plant_diseases,
    )
    for one in kinds:
        names.setdefault(one.source, []).append(one.name)
    lines = [(", ".join(several), source) for source, several in names.items()]
    return tuple(f"{told[:1].upper()}{told[1:]}: {source}" for told, source in lines)


def _told(
    germs: tuple[GermKill, ...],
    seeds: tuple[KindAnswer, ...],
    diseases: tuple[KindAnswer, ...],
    dry: Range,
    spots: tuple[str, ...],
    unread: tuple[str, ...],
    words: tuple[str, ...],
) -> HeatKills:
    if dry.mid >= 1.0:
        words = (
            *words,
            f"In simulation {dry.mid:.0f} hours were too dry for heat to count; they are taken off "
            "the hottest.",
        )
    basis = FROM_ASSUMPTIONS if unread else FROM_READINGS
    return HeatKills(_line(germs), basis, germs, seeds, diseases, dry, spots, unread, words)


def _line(germs: Iterable[GermKill]) -> str:
    known = [(one.log_reduction, one.name) for one in germs if one.log_reduction is not None]
    if not known or all(cuts.high < SHOWS for cuts, _ in known):
        return "Where it was coldest, in simulation, heat killed nothing that counts"
    least, hardest = min(known, key=lambda one: one[0].mid)
    most, softest = max(known, key=lambda one: one[0].mid)
    if tenths(least.mid) == tenths(most.mid) != "none":
        return (
            f"Where it was coldest, in simulation, heat likely made {tenths(most.mid)} tenfold "
            "cuts of every germ whose time is known"
        )
    if most.mid < SHOWS:
        return "Where it was coldest, in simulation, heat most likely killed nothing that counts"
    return (
        f"Where it was coldest, in simulation, heat likely made {tenths(least.mid)} ({hardest}) to "
        f"{tenths(most.mid)} ({softest}) tenfold cuts"
    )


def _read_words(several: Sequence[Sequence[str]], spots: tuple[str, ...]) -> tuple[str, ...]:
    """What was read and what was not; several holds which of centre and edge each layer lacks."""
    if not spots:
        return (
            "No probe was read in it, or too seldom to show heat: these figures are of the model "
            "alone.",
        )
    words = [f"Read at {' and '.join(spots)}."]
    for lacking in dict.fromkeys(tuple(one) for one in several if one):
        layers = "" if len(several) == 1 else f" in {_count(several, lacking)} layers"
        alone = ": there they are of the model alone" if len(lacking) == len(PLACES) else ""
        words.append(f"Nobody read the {_places(lacking)}{layers}{alone}.")
    return tuple(words)


def _count(several: Sequence[Sequence[str]], lacking: tuple[str, ...]) -> str:
    return f"{sum(tuple(one) == lacking for one in several)} of the {len(several)}"


def _as_history(
    record: TemperatureRecord, since: float, until: float, longest_gap: float
) -> FloatArray | None:
    """Hours that readings show at or above each degree; None if they were too seldom for any.

    ::

        shape (41, 3), as one place of a simulated layer
    """
    covered = hot_time(
        record, COLDEST, longest_gap_hours=longest_gap, since_hour=since, until_hour=until
    )
    if covered.total_hours <= 0.0:
        return None
    found = np.zeros((DEGREES, 3))
    for k in range(DEGREES):
        if DEGREE_LOW + k > record.hottest:
            break
        hot = hot_time(
            record,
            float(DEGREE_LOW + k),
            longest_gap_hours=longest_gap,
            since_hour=since,
            until_hour=until,
        )
        found[k, TOTAL], found[k, LONGEST] = hot.total_hours, hot.longest_hours
    return found


def _germ(
    name: str,
    histories: FloatArray,
    dry_hours: FloatArray,
    shown: Sequence[FloatArray],
    likely_dry: FloatArray,
) -> GermKill:
    # what warmed fast at the tip may only have been pushed in there: hardened, whatever was read
    germ = find_organism(name)
    coldest = centre = None
    read = None
    if germ.decimal_hours:
        middle, edge = (
            log_reduction_history(germ, histories, dry_hours, edge=edge) for edge in (False, True)
        )
        coldest, centre = _range(np.minimum(middle, edge)), _range(middle)
        read = min(
            (
                float(
                    log_reduction_history(germ, np.stack([one, one]), likely_dry, edge=False).item()
                )
                for one in shown
            ),
            default=None,
        )
    note = germ.condition[:1].upper() + germ.condition[1:]
    return GermKill(
        germ.id,
        germ.name,
        germ.state,
        coldest,
        centre,
        read,
        note,
        f"{germ.source}; {germ.confidence}",
    )


def _least(same: Sequence[GermKill]) -> GermKill:
    """Of one germ the fewest cuts, at each end of the range."""
    first = same[0]
    read = [one.log_reduction_read for one in same if one.log_reduction_read is not None]
    return GermKill(
        first.id,
        first.name,
        first.state,
        _lowest([one.log_reduction for one in same]),
        _lowest([one.log_reduction_centre for one in same]),
        min(read, default=None),
        first.note,
        first.source,
    )


def _lowest(several: Sequence[Range | None]) -> Range | None:
    known = [one for one in several if one is not None]
    if not known:
        return None
    return Range(*(min(getattr(one, end) for one in known) for end in ("low", "mid", "high")))


def _whole(hours: FloatArray) -> list[tuple[float, float]]:
    """Degrees with the whole hours at or above each, hottest first; those with none left out."""
    told = np.floor(hours + ROUNDING)
    return [(float(DEGREE_LOW + k), float(told[k])) for k in range(DEGREES)[::-1] if told[k] >= 1.0]


def _of_seed(kind: WeedSeed, hours: FloatArray) -> tuple[str, str]:
    """The best that any degree says of a seed, and why."""
    best: tuple[int, float, str, str] | None = None
    for celsius, held in _whole(hours):
        answer = seed_answer(kind.id, celsius, held)
        near = 0.0 if answer.needed_hours is None else held / answer.needed_hours
        if best is None or (WORST_SEED[answer.verdict], near) > best[:2]:
            why = f"{held:.0f} hours at {celsius:g} °C"
            if answer.needed_hours is not None:
                needed = math.ceil(answer.needed_hours)
                why += f"; in the laboratory {needed} killed about all"
            elif answer.verdict == NO:
                why += ", which leave it unharmed"
            else:
                why += f" may kill some, slowly; below {LETHAL_CELSIUS:g} °C do not count on it"
            best = (WORST_SEED[answer.verdict], near, answer.verdict, why)
    if best is None:
        return NO, f"not one hour at {DEGREE_LOW} °C"
    return best[2], best[3]


def _seed(kind: WeedSeed, runs: _Runs) -> KindAnswer:
    source = f"{kind.source}; {kind.confidence}"
    if not kind.of_the_six:
        note = kind.note[:1].upper() + kind.note[1:]
        return KindAnswer(kind.id, kind.name, NO, f"Do not count on heat. {note}.", source)
    low, _ = _of_seed(kind, runs.low)
    mid, why = _of_seed(kind, runs.mid)
    read, seen = (None, "") if runs.read is None else _of_seed(kind, runs.read)
    in_model = f"n simulation, where coldest: {why}."
    as_read = f"As read at {runs.spots}: {seen}."
    if low == YES_SIX and read == YES_SIX:
        answer, told = YES_SIX, as_read
    elif mid == NO and read in (None, NO):
        answer, told = NO, f"I{in_model}"
    else:
        answer = NOT_RELIABLY
        if read is None:
            told = f"I{in_model} Nobody read the {_places(runs.unread)}."
        elif read != YES_SIX:
            told = as_read
        elif mid != YES_SIX:
            told = f"{as_read} But i{in_model}"
        else:
            told = f"{as_read} But fewer than 95 in 100 of the simulated bins got there."
    return KindAnswer(kind.id, kind.name, answer, told, source)


def _all_seeds(kinds: Sequence[KindAnswer]) -> KindAnswer:
    """Of every weed at once: never promised, and a plain no where not even the six would die."""
    answer = NO if all(one.answer == NO for one in kinds) else NOT_RELIABLY
    return KindAnswer("all", ALL_SEEDS, answer, "Never to be promised, whatever the heat.", "ours")


def _disease(one: PlantDisease, runs: _Runs) -> KindAnswer:
    source = f"{one.source}; {one.confidence}"
    note = one.note[:1].upper() + one.note[1:]
    if one.refused or one.condition_celsius is None or one.condition_hours is None:
        answer = disease_answer(one.id, float(DEGREE_LOW), 0.0).verdict
        told = (
            f"Keep such plants out, whatever the heat: {one.note}." if one.refused else f"{note}."
        )
        return KindAnswer(one.id, one.name, NEVER if answer == REFUSED else answer, told, source)
    place = int(np.ceil(one.condition_celsius)) - DEGREE_LOW
    held = [
        None if hours is None else float(np.floor(hours[place] + ROUNDING))
        for hours in (runs.low, runs.mid, runs.read)
    ]
    # no rows ask for water yet: one that does is not met, as nobody measured it meanwhile
    low, mid, read = (
        hours is not None and disease_answer(one.id, one.condition_celsius, hours).verdict == MET
        for hours in held
    )
    answer = MET if low and read else NOT_SHOWN if mid or read else NOT_MET
    told = (
        f"{held[1]:.0f} of {one.condition_hours:g} hours without a break at "
        f"{one.condition_celsius:g} °C or more where coldest, in simulation"
    )
    if held[2] is None:
        told += f"; nobody read the {_places(runs.unread)}"
    else:
        told += f", and {held[2]:.0f} as read"
    return KindAnswer(one.id, one.name, answer, f"{told}. {note}.", source)


def _places(unread: Sequence[str]) -> str:
    return " and ".join("core" if place == "centre" else "edge" for place in unread)


def _range(values: FloatArray) -> Range:
    low, mid, high = np.percentile(np.asarray(values, dtype=np.float64), [5.0, 50.0, 95.0])
    return Range(float(low), float(mid), float(high))
