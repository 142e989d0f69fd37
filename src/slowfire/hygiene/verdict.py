"""Whether a layer is sanitised: yes by readings and model together, else no or not shown."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput, check_range
from slowfire.hygiene.history import DEGREE_LOW, TOTAL, ensemble_heat
from slowfire.hygiene.judge import Judgement, judge_record
from slowfire.hygiene.record import LONGEST_GAP_HOURS, PLACES, SAME_HOUR, TemperatureRecord
from slowfire.hygiene.rules import CAUTION, Rule

KILLING_CELSIUS = 50  # nothing that was measured dies of less [degC]
REACH = 0.10  # a thermometer so far above or below a layer still speaks for it; ours [m]
# Those who compost for sale judge by readings alone; here the model must not speak against them.
LIKELY = 0.5
UNLIKELY = 0.05
YES, NO, NOT_SHOWN = "yes", "no", "not shown"
FROM_READINGS, FROM_ASSUMPTIONS = "from readings", "from assumptions"
UNSANITISED_ADVICE = (
    "Treat it as not sanitised: let it cure for longer, keep it off salad and whatever is eaten "
    "raw, and wash your hands."
)
SANITISED_ADVICE = (
    "Good for what lay there, until raw material touches it: keep it and its tools apart from that."
)


@dataclass(frozen=True)
class SpotVerdict:
    """Centre or edge of a layer.

    Attributes
    ----------
    place, verdict : str
        Where; yes, no or not shown.
    probability : float
        That heat there met the rule, by the model and turnings apart [-].
    judgements : tuple of Judgement
        Of the thermometers near it.
    """

    place: str
    verdict: str
    probability: float
    judgements: tuple[Judgement, ...]


@dataclass(frozen=True)
class HeatVerdict:
    """Whether a layer is sanitised by a rule.

    Attributes
    ----------
    verdict : str
        yes, no or not shown.
    probability : float or None
        That the whole cross-section met it, by the model; None without a model [-].
    basis : str
        from readings, if a thermometer stood near; else from assumptions.
    rule_id : str
        The rule.
    spot : str
        Which spots the verdict rests on.
    hours : float
        Hours that count at the worst spot: as read, else in the middle of the ensemble [h].
    longest_gap_hours : float or None
        Longest time without a reading; None if nothing was read [h].
    share : float
        Of the cross-section that was hot for long enough, by the model [-].
    spots : tuple of SpotVerdict
        Centre and edge.
    reasons : tuple of str
        Sentences.
    advice, caution : str
        What to do with it; what it is not.
    """

    verdict: str
    probability: float | None
    basis: str
    rule_id: str
    spot: str
    hours: float
    longest_gap_hours: float | None
    share: float
    spots: tuple[SpotVerdict, ...]
    reasons: tuple[str, ...]
    advice: str
    caution: str = CAUTION


def heat_verdict(
    rule: Rule,
    histories: FloatArray,
    dry_hours: FloatArray,
    records: Sequence[TemperatureRecord] = (),
    *,
    layer_base: float,
    layer_top: float,
    since_hour: float,
    reach: float = REACH,
    turning_hours: Sequence[float] = (),
    moisture_content_wet_basis: float | None = None,
    longest_gap_hours: float = LONGEST_GAP_HOURS,
    until_hour: float | None = None,
    hours_since_mixed: float | None = None,
    likely: float = LIKELY,
    unlikely: float = UNLIKELY,
) -> HeatVerdict:
    """Whether one layer met a rule, by its readings and by an ensemble together.

    ::

        yes         at centre and edge: all near thermometers that were read often enough for
                    the rule met it, and p >= likely
        no          at either: p < unlikely, and no near reading met it
        not shown   otherwise

    with p the share of the members in which the heat of that spot met the rule. A rule that asks
    for more turnings than were written down is not shown at best.

    Parameters
    ----------
    rule : Rule
        A run of hours, see `rules`.
    histories : ndarray, shape (members, 2, 41, 3)
        Of this layer in each member, hours by place, degree and measure [h].
    dry_hours : ndarray, shape (members,)
        Hours too dry for heat to count [h].
    records : sequence of TemperatureRecord
        Readings of all thermometers of the bin.
    layer_base, layer_top : float
        From where to where the layer lies above the floor [m], 0 to 3.
    since_hour : float
        When the layer was loaded; readings before it are of something else [h].
    reach : float
        A thermometer so far above or below the layer still speaks for it [m], 0 to 0.5.
    turning_hours : sequence of float
        When it was turned [h].
    moisture_content_wet_basis : float or None
        Lowest measured water by mass of the wet material [kg/kg], 0 to 1; None if not known.
    longest_gap_hours : float
        Longest time from one reading to the next over which heat may be believed [h], 0.1 to 168.
    until_hour : float or None
        End of the time looked at, such as the dig-out [h].
    hours_since_mixed : float or None
        Since material from outside was mixed in [h]; the proof starts over then. None if
        nothing was.
    likely, unlikely : float
        Probabilities from which the model backs a yes, and below which it says no [-].

    Returns
    -------
    HeatVerdict
        With the spots, the gaps and the reasons.

    Raises
    ------
    InvalidInput
        If the rule is no run of hours, the arrays do not fit, or a number is out of range.

    Notes
    -----
    Ours. A model alone never says yes: the edge must have been read as well as the centre, since
    edges are where germs are left. With only one of the two the spot is named and the rest is not
    shown. A thermometer speaks for what lies around it now; a layer that sank past it meanwhile
    needs a later `since_hour`.

    Examples
    --------
    >>> from slowfire.hygiene.rules import find_rule
    >>> cold = np.zeros((20, 2, 41, 3))
    >>> rule = find_rule("US_NOP_VESSEL")
    >>> there = {"layer_base": 0.3, "layer_top": 0.4, "since_hour": 0.0}
    >>> heat_verdict(rule, cold, np.zeros(20), **there).verdict
    'no'
    """
    check_range("Base of the layer", layer_base, 0.0, 5.0, "m")
    check_range("Top of the layer", layer_top, layer_base, 5.0, "m")
    check_range("Reach", reach, 0.0, 0.5, "m")
    check_range("Probability that backs a yes", likely, 0.5, 1.0)
    check_range("Probability below which it is no", unlikely, 0.0, 0.5)
    histories = np.asarray(histories, dtype=np.float64)
    if histories.ndim != 4:
        raise InvalidInput(
            f"The histories have the shape {histories.shape}; give those of one layer, "
            "(members, 2, 41, 3)."
        )
    if hours_since_mixed is not None:
        if until_hour is None:
            raise InvalidInput("With hours_since_mixed give until_hour too: mixed before when?")
        since_hour = max(since_hour, until_hour - hours_since_mixed)
    turns = [hour for hour in turning_hours if hour >= since_hour]
    model = ensemble_heat(
        rule,
        histories,
        dry_hours,
        turnings=len(turns),
        hours_since_mixed=hours_since_mixed,
    )
    near = [one for one in records if layer_base - reach <= one.height <= layer_top + reach]
    judged = [
        judge_record(
            rule,
            one,
            turning_hours=turns,
            moisture_content_wet_basis=moisture_content_wet_basis,
            longest_gap_hours=longest_gap_hours,
            since_hour=since_hour,
            until_hour=until_hour,
        )
        for one in near
    ]
    wanted = max(rule.turnings, rule.runs if rule.runs > 1 else 0)
    heat = ensemble_heat(
        rule, histories, dry_hours, turnings=wanted, hours_since_mixed=hours_since_mixed
    )
    chances = (float(heat.centre), float(heat.edge))
    spots = tuple(
        _spot(place, chance, tuple(one for one in judged if one.place == place), likely, unlikely)
        for place, chance in zip(PLACES, chances, strict=True)
    )
    found = {one.verdict for one in spots}
    verdict = YES if found == {YES} else NO if NO in found else NOT_SHOWN
    reasons = [f"Judged by {rule.id}: {rule.words}.", *_spoken(spots)]
    if wanted > len(turns):
        reasons.append(f"Turned {len(turns)} of the {wanted} times it asks for, as written down.")
    warm = histories[..., KILLING_CELSIUS - DEGREE_LOW, TOTAL].max(axis=-1)
    if np.median(warm) == 0.0:
        reasons.append(f"By the model it was never {KILLING_CELSIUS} °C: no heat kill.")
    for one in judged:
        reasons += one.reasons
    if not judged:
        reasons.append(
            f"No thermometer stood within {100.0 * reach:.0f} cm of this layer: by the model alone."
        )
    reasons.append(f"What the rule is for a bin at home: {rule.scope}.")
    if rule.confidence != "found":
        reasons.append(
            f"How the rule is known: {rule.confidence}; look it up before you rely on it."
        )
    if hours_since_mixed is not None:
        reasons.append(
            f"Material from outside was mixed in {hours_since_mixed:.0f} hours ago; the count "
            "starts there."
        )
    read = [one.hours for one in judged]
    return HeatVerdict(
        verdict,
        float(model.whole),
        FROM_READINGS if judged else FROM_ASSUMPTIONS,
        rule.id,
        _named(judged),
        min(read) if read else float(min(model.centre_hours, model.edge_hours)),
        max((one.longest_gap_hours for one in judged), default=None),
        float(model.share),
        spots,
        tuple(reasons),
        SANITISED_ADVICE if verdict == YES else UNSANITISED_ADVICE,
    )


def _spot(
    place: str, chance: float, judged: tuple[Judgement, ...], likely: float, unlikely: float
) -> SpotVerdict:
    speaking = _speaking(judged)
    shown = bool(speaking) and all(one.met for one in speaking)
    if shown and chance >= likely:
        verdict = YES
    elif chance < unlikely and not any(one.met for one in judged):
        verdict = NO
    else:
        verdict = NOT_SHOWN
    return SpotVerdict(place, verdict, chance, judged)


def _speaking(judged: Sequence[Judgement]) -> list[Judgement]:
    """Thermometers read often enough to show the rule; one read twice a week refutes nothing."""
    return [one for one in judged if one.covered_hours >= one.needed_hours - SAME_HOUR]


def _named(judged: list[Judgement]) -> str:
    if not judged:
        return "no thermometer near"
    return ", ".join(f"{one.position} ({one.place})" for one in judged)


def _spoken(spots: tuple[SpotVerdict, ...]) -> list[str]:
    told = []
    for spot in spots:
        name = "core" if spot.place == "centre" else "edge"
        met = [one.met for one in _speaking(spot.judgements)]
        chance = f"{100.0 * spot.probability:.0f} in 100 by the model"
        if spot.verdict == YES:
            told.append(f"The {name} met the rule as read, and {chance}.")
        elif spot.verdict == NO:
            told.append(f"The {name} was not hot for long enough: {chance}.")
        elif not spot.judgements:
            told.append(f"The {name} is unknown: it was not read ({chance}).")
        elif not met:
            told.append(f"The {name} was read too seldom to show it ({chance}).")
        elif all(met):
            told.append(
                f"The {name} met the rule as read, but the model does not bear it: {chance}."
            )
        else:
            told.append(f"The readings at the {name} do not show it ({chance}).")
    return told
