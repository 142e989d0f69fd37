"""A rule judged over readings, spot by spot."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput
from slowfire.hygiene.record import (
    LONGEST_GAP_HOURS,
    PLACES,
    SAME_HOUR,
    HotTime,
    Spell,
    TemperatureRecord,
    hot_time,
    joined_spells,
)
from slowfire.hygiene.rules import CAUTION, Rule

SHOWN_IN_DAYS = 96.0  # from so many hours on a time is told in days [h]


@dataclass(frozen=True)
class Judgement:
    """What the readings of one spot say about a rule.

    Attributes
    ----------
    position, place : str
        The spot.
    rule_id : str
        The rule.
    met : bool
        Whether all that the rule asks of heat, turning and water is shown.
    hours : float
        Best counted hours: longest run or sum, as the rule counts [h].
    needed_hours : float
        [h]
    turnings : int
        Counted turnings [-].
    moisture_met : bool or None
        None if the rule asks for water that nobody measured.
    longest_gap_hours : float
        Longest time without a reading [h].
    covered_hours : float
        Time between readings that are near enough to one another to be believed [h].
    hot : HotTime
        The stretches behind it.
    reasons : tuple of str
        Sentences.
    caution : str
    """

    position: str
    place: str
    rule_id: str
    met: bool
    hours: float
    needed_hours: float
    turnings: int
    moisture_met: bool | None
    longest_gap_hours: float
    covered_hours: float
    hot: HotTime
    reasons: tuple[str, ...]
    caution: str = CAUTION


def judge_record(
    rule: Rule,
    record: TemperatureRecord,
    *,
    turning_hours: Sequence[float] = (),
    moisture_content_wet_basis: float | None = None,
    longest_gap_hours: float = LONGEST_GAP_HOURS,
    since_hour: float = -np.inf,
    until_hour: float | None = None,
) -> Judgement:
    """Judge a rule by the readings of one spot.

    ::

        met = (h >= h_rule) and (n >= n_rule) and (MC >= MC_rule)

    with h the longest unbroken run, or the hours added up, as the rule counts; n the turnings that
    fall into the hot time, far enough apart; MC the moisture content.

    Parameters
    ----------
    rule : Rule
        A run of hours, see `rules`.
    record : TemperatureRecord
        Readings of one spot.
    turning_hours : sequence of float
        When it was turned [h].
    moisture_content_wet_basis : float or None
        Lowest water by mass of the wet material meanwhile [kg/kg], 0 to 1; None if not known.
    longest_gap_hours : float
        Longest time from one reading to the next over which heat may be believed [h], 0.1 to 168.
    since_hour : float
        When the material came to lie there, or was last mixed with other from outside; nothing
        before it counts [h].
    until_hour : float or None
        End of the time looked at, the last reading if None [h].

    Returns
    -------
    Judgement
        For this spot alone.

    Raises
    ------
    InvalidInput
        If the rule is no run of hours, or the moisture or a gap is out of range.

    Notes
    -----
    A dip below the limit restarts an unbroken run (plain reading of the 72 h rules). A soft rule
    adds hours up within one hot phase, see `record.joined_spells`. A rule that does not say whether
    hours add up is read as unbroken unless it asks for turnings. Germ counts, sizes of pieces and
    curing that a rule asks for besides are told and not judged. Ours.

    Examples
    --------
    >>> from slowfire.hygiene.rules import find_rule
    >>> rule = find_rule("US_NOP_VESSEL")
    >>> days = TemperatureRecord("probe", "centre", 0.4, [0, 24, 48, 72], [56, 60, 61, 55])
    >>> judge_record(rule, days).met
    True
    """
    needed = rule.needed_hours
    if moisture_content_wet_basis is not None and not 0.0 <= moisture_content_wet_basis <= 1.0:
        raise InvalidInput(
            f"The moisture is {moisture_content_wet_basis:g}; allowed is 0 to 1, a share of "
            "the wet material."
        )
    hot_above = partial(
        hot_time,
        record,
        upper_celsius=rule.upper_celsius,
        longest_gap_hours=longest_gap_hours,
        since_hour=since_hour,
        until_hour=until_hour,
    )
    hot = hot_above(rule.lower_celsius)
    inner = None if rule.inner_celsius is None else hot_above(rule.inner_celsius)
    candidates = _candidates(rule, hot)
    turns = np.sort(np.asarray(turning_hours, dtype=np.float64))
    best = max(candidates, key=lambda one: one[1], default=((0.0, 0.0), 0.0))
    hours = best[1]
    long_enough = [one for one in candidates if one[1] >= needed - SAME_HOUR]
    reasons = [_told_hours(rule, record, hot, hours)]

    counted = 0
    heat_met = bool(long_enough)
    if rule.runs > 1:
        counted = _turns_after_runs(hot.spells, needed, turns)
        heat_met = counted >= rule.runs
        reasons.append(
            f"{counted} of {rule.runs} turnings came after {needed:g} hot hours of their own."
        )
    elif rule.turnings:
        counted = max(
            (_turns_inside(span, turns, rule.days_between_turnings) for span, _ in long_enough),
            default=0,
        )
        reasons.append(f"{counted} of {rule.turnings} turnings fell into the hot time.")
    turned = rule.runs > 1 or counted >= rule.turnings

    inner_met = True
    if inner is not None and rule.inner_hours is not None:
        inside = max((_overlap(inner.spells, one[0]) for one in long_enough), default=0.0)
        inner_met = inside >= rule.inner_hours - SAME_HOUR
        reasons.append(
            f"{inside:.1f} of {rule.inner_hours:g} hours inside the run at "
            f"{rule.inner_celsius:g} °C or more."
        )
    moisture_met = _moisture_met(rule, moisture_content_wet_basis)
    reasons += _told_moisture(rule, moisture_met, moisture_content_wet_basis)
    reasons += _told_gaps(record, hot, longest_gap_hours)
    if rule.after_step:
        reasons.append(f"The rule also asks for, not judged here: {rule.after_step}.")
    return Judgement(
        record.position,
        record.place,
        rule.id,
        heat_met and turned and inner_met and moisture_met is True,
        hours,
        needed,
        counted,
        moisture_met,
        hot.longest_gap_hours,
        _covered_hours(record, longest_gap_hours, since_hour, until_hour),
        hot,
        tuple(reasons),
    )


def _covered_hours(
    record: TemperatureRecord, longest_gap: float, since: float, until: float | None
) -> float:
    hours = np.asarray(record.hours, dtype=np.float64)
    last = np.inf if until is None else until
    between = np.diff(hours[(hours >= since) & (hours <= last)])
    return float(between[between <= longest_gap + SAME_HOUR].sum())


def _candidates(rule: Rule, hot: HotTime) -> list[tuple[Spell, float]]:
    """Stretches with the hours that count in each."""
    if rule.unbroken:
        return [(spell, spell[1] - spell[0]) for spell in hot.spells]
    if rule.consecutive == "soft":
        return list(joined_spells(hot.spells))
    if not hot.spells:
        return []
    return [((hot.spells[0][0], hot.spells[-1][1]), hot.total_hours)]


def _turns_inside(spell: Spell, turns: FloatArray, days_between: float) -> int:
    """Turnings within a stretch, each far enough from the one counted before."""
    counted, last = 0, -np.inf
    for hour in turns:
        inside = spell[0] - SAME_HOUR <= hour <= spell[1] + SAME_HOUR
        if inside and hour - last >= 24.0 * days_between - SAME_HOUR:
            counted, last = counted + 1, float(hour)
    return counted


def _turns_after_runs(spells: tuple[Spell, ...], needed: float, turns: FloatArray) -> int:
    """Turnings before each of which, since the one before, lies a run of its own."""
    counted, last = 0, -np.inf
    for hour in turns:
        runs = [min(stop, hour) - max(start, last) for start, stop in spells if start < hour]
        if max(runs, default=0.0) >= needed - SAME_HOUR:
            counted += 1
        last = float(hour)
    return counted


def _overlap(spells: tuple[Spell, ...], span: Spell) -> float:
    return sum(max(min(b, span[1]) - max(a, span[0]), 0.0) for a, b in spells)


def _moisture_met(rule: Rule, moisture: float | None) -> bool | None:
    if rule.lowest_moisture is None:
        return True
    return None if moisture is None else moisture >= rule.lowest_moisture


def _told_hours(rule: Rule, record: TemperatureRecord, hot: HotTime, hours: float) -> str:
    manner = "without a break" if rule.unbroken else "added up"
    if not np.isfinite(hot.hottest_celsius):
        return f"{record.position}: no reading in the time that counts."
    text = (
        f"{record.position} ({record.place}): {hours:.1f} hours of the {rule.needed_hours:g} hours "
        f"{manner} at {rule.lower_celsius:g} °C or more; hottest {hot.hottest_celsius:.0f} °C."
    )
    if hot.hottest_celsius > rule.upper_celsius:
        text += f" Time above {rule.upper_celsius:g} °C is outside the rule and does not count."
    return text


def _told_moisture(rule: Rule, met: bool | None, moisture: float | None) -> list[str]:
    if rule.lowest_moisture is None:
        return []
    need = f"{100.0 * rule.lowest_moisture:g} % water or more"
    if met is None or moisture is None:
        return [f"The rule asks for {need}, and the water was not measured."]
    return [f"The rule asks for {need}; it was {100.0 * moisture:.0f} %."]


def gap_words(longest_gap_hours: float) -> str:
    """Say a time without readings, from four days on in days.

    Parameters
    ----------
    longest_gap_hours : float
        So long, 0 or more [h].

    Returns
    -------
    str
        Such as 30.4 hours.

    Notes
    -----
    Ours.

    Examples
    --------
    >>> gap_words(30.4), gap_words(1368.0)
    ('30.4 hours', '57 days')
    """
    if longest_gap_hours < SHOWN_IN_DAYS:
        return f"{longest_gap_hours:.1f} hours"
    return f"{longest_gap_hours / 24.0:.0f} days"


def _told_gaps(record: TemperatureRecord, hot: HotTime, allowed: float) -> list[str]:
    told = [f"Longest time without a reading: {gap_words(hot.longest_gap_hours)}."]
    if hot.unmeasured_hours > 0.0:
        told.append(
            f"{gap_words(hot.unmeasured_hours)} lie in gaps longer than {allowed:g} hours; they "
            "do not count as hot."
        )
    return told


@dataclass(frozen=True)
class SpotsJudged:
    """A rule over several spots.

    Attributes
    ----------
    judgements : tuple of Judgement
        One for each spot.
    everywhere : bool
        Whether each of them met it and both centre and edge were read.
    words : str
        Which met it, which did not, and what is unknown.
    caution : str
    """

    judgements: tuple[Judgement, ...]
    everywhere: bool
    words: str
    caution: str = CAUTION


def judge_spots(
    rule: Rule,
    records: Sequence[TemperatureRecord],
    *,
    turning_hours: Sequence[float] = (),
    moisture_content_wet_basis: float | None = None,
    longest_gap_hours: float = LONGEST_GAP_HOURS,
    since_hour: float = -np.inf,
    until_hour: float | None = None,
) -> SpotsJudged:
    """Judge a rule at every spot that was read, and say what was not.

    Parameters
    ----------
    rule : Rule
        A run of hours, see `rules`.
    records : sequence of TemperatureRecord
        One for each spot, at least one.
    turning_hours : sequence of float
        When it was turned [h].
    moisture_content_wet_basis : float or None
        Lowest water by mass of the wet material meanwhile [kg/kg], 0 to 1; None if not known.
    longest_gap_hours : float
        Longest time from one reading to the next over which heat may be believed [h], 0.1 to 168.
    since_hour : float
        When the material came to lie there, or was last mixed with other from outside [h].
    until_hour : float or None
        End of the time looked at, the last reading of each spot if None [h].

    Returns
    -------
    SpotsJudged

    Raises
    ------
    InvalidInput
        If there is no record, or see `judge_record`.

    Notes
    -----
    Ours. Proof is for each zone on its own: tests of plants place organisms at edge, core and base.
    What is moved in from outside afterwards starts over.

    Examples
    --------
    >>> from slowfire.hygiene.rules import find_rule
    >>> days = TemperatureRecord("probe", "centre", 0.4, [0, 24, 48, 72], [56, 60, 61, 55])
    >>> judge_spots(find_rule("US_NOP_VESSEL"), [days]).words
    'The core met it for 3.0 days, edges unknown.'
    """
    if not records:
        raise InvalidInput("There are no readings; give the record of at least one spot.")
    judged = tuple(
        judge_record(
            rule,
            one,
            turning_hours=turning_hours,
            moisture_content_wet_basis=moisture_content_wet_basis,
            longest_gap_hours=longest_gap_hours,
            since_hour=since_hour,
            until_hour=until_hour,
        )
        for one in records
    )
    told = [_told_place(place, [one for one in judged if one.place == place]) for place in PLACES]
    text = ", ".join(told)
    words = text[0].upper() + text[1:] + "."
    read = {one.place for one in judged}
    everywhere = all(one.met for one in judged) and read == set(PLACES)
    if any(one.met for one in judged) and not everywhere:
        cold = [one.position for one in judged if not one.met]
        if cold:
            words += (
                f" Only what lay where it was hot is done; move what lay at {', '.join(cold)} to "
                "the middle and count again from there."
            )
    return SpotsJudged(judged, everywhere, words)


def _told_place(place: str, judged: list[Judgement]) -> str:
    name = "the core" if place == "centre" else "edges"
    if not judged:
        return f"{name} unknown"
    if all(one.met for one in judged):
        days = min(one.hours for one in judged) / 24.0
        return f"{name} met it for {days:.1f} days"
    met = sum(one.met for one in judged)
    return f"{name} met it at {met} of {len(judged)} spots"
