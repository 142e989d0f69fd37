"""Four verdicts on a layer, kept apart: active, sanitised, finished, fit for seedlings."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput, check_range
from slowfire.hygiene.verdict import (
    FROM_ASSUMPTIONS,
    FROM_READINGS,
    NO,
    NOT_SHOWN,
    UNLIKELY,
    YES,
    HeatVerdict,
)
from slowfire.maturity.classes import FAIL, MARGINAL, PASS
from slowfire.maturity.trial import Trial

ACTIVE_OXYGEN = 25.0  # [mmol/(kg*hour)], European limit
REST_KELVIN = 5.0  # cooled down: no warmer than this above the air [K]
WARM_KELVIN = 8.0  # Canada's limit for warming up again [K]
MATURE_C_TO_N = 25.0
MATURE_AMMONIUM = 500.0  # [mg/kg dry]
# Tests of stability strong enough for a yes; a nose alone is not.
STRONG_TESTS = ("flask", "oxygen uptake", "carbon dioxide", "self heating")
# Of rest the model alone speaks; heat, with readings of its own, is backed from less.
LIKELY = 0.95
LEANING = 0.5  # a passed test is believed where the model leans its way [-]


@dataclass(frozen=True)
class Finding:
    """One verdict.

    Attributes
    ----------
    verdict : str
        yes, no or not shown.
    probability : float or None
        That it is so, by the model [-]; None if nothing speaks to it.
    basis : str
        from readings or from assumptions.
    reasons : tuple of str
        Sentences.
    """

    verdict: str
    probability: float | None
    basis: str
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class LayerVerdicts:
    """Four verdicts on one layer.

    Attributes
    ----------
    active : Finding
        Whether it still works and warms.
    sanitised : Finding
        Whether heat met the rule.
    finished : Finding
        Whether it may be dug in without harm to plants that stand there.
    fit_for_seedlings : Finding
        Whether seed may be sown in a mix with it.
    """

    active: Finding
    sanitised: Finding
    finished: Finding
    fit_for_seedlings: Finding


def layer_verdicts(
    oxygen_uptake_mmol_per_kg_hour: FloatArray,
    excess_kelvin: FloatArray,
    c_to_n: FloatArray,
    ammonium_mg_per_kg_dry: FloatArray,
    heat: HeatVerdict | None = None,
    trials: Sequence[Trial] = (),
    *,
    temperature_read: bool = False,
    likely: float = LIKELY,
    unlikely: float = UNLIKELY,
) -> LayerVerdicts:
    """Whether a layer is active, sanitised, finished and fit for seedlings.

    ::

        p_active   = P(OUR > 25 or dT > 8)
        p_finished = P(OUR <= 25 and dT <= 5 and C:N <= 25 and NH4 <= 500)

    with P the share of the members, OUR the oxygen uptake [mmol/(kg*hour)], dT the excess over the
    air [K] and NH4 the ammoniacal nitrogen [mg/kg].

    Parameters
    ----------
    oxygen_uptake_mmol_per_kg_hour : ndarray, shape (members,)
        Oxygen taken up for each kilogram of organic matter [mmol/(kg*hour)], as it would be warm
        and moist; usually 2 to 150.
    excess_kelvin : ndarray, shape (members,)
        Temperature of the layer less that of the air [K], usually -5 to 50.
    c_to_n : ndarray, shape (members,)
        Mass of carbon over mass of nitrogen [-], usually 8 to 40.
    ammonium_mg_per_kg_dry : ndarray, shape (members,)
        Nitrogen as ammonium for each kilogram of dry matter [mg/kg], usually 10 to 3000.
    heat : HeatVerdict or None
        See `hygiene.verdict`; None if no rule was chosen.
    trials : sequence of Trial
        Tests done on this very layer, see `bin_tests`, `plant_tests` and `trial.measured_trial`.
    temperature_read : bool
        Whether a thermometer stood in the layer.
    likely, unlikely : float
        Probabilities from which the model backs a yes, and below which it says no [-].

    Returns
    -------
    LayerVerdicts

    Raises
    ------
    InvalidInput
        If there is no member, the arrays differ in length or hold no numbers.

    Notes
    -----
    Ours. A model alone never says finished or fit for seedlings: finished needs a passed test that
    shows rest (a flask or measured respiration) or a passed plant test with a control, and no
    failed one; fit for seedlings needs the plant test, no trace of weedkiller, and a layer that is
    not active. Being within 5 K of the air is needed and proves nothing: a cold or dry bin is so
    too.

    References
    ----------
    eu2019, ccme2005, ccqc2001

    Examples
    --------
    >>> four = np.ones(4)
    >>> told = layer_verdicts(60.0 * four, 20.0 * four, 18.0 * four, 300.0 * four)
    >>> told.active.verdict, told.finished.verdict, told.sanitised.verdict
    ('yes', 'no', 'not shown')
    """
    check_range("Probability that backs a yes", likely, 0.5, 1.0)
    check_range("Probability below which it is no", unlikely, 0.0, 0.5)
    given = (oxygen_uptake_mmol_per_kg_hour, excess_kelvin, c_to_n, ammonium_mg_per_kg_dry)
    oxygen, excess, ratio, ammonium = (np.atleast_1d(np.asarray(one, float)) for one in given)
    if len({one.shape for one in (oxygen, excess, ratio, ammonium)}) != 1 or oxygen.ndim != 1:
        raise InvalidInput("The four arrays differ in length; give one number for each member.")
    if oxygen.size == 0 or not all(
        np.isfinite(one).all() for one in (oxygen, excess, ratio, ammonium)
    ):
        raise InvalidInput("There are no members, or one holds no number; leave empty bins out.")
    basis = FROM_READINGS if temperature_read else FROM_ASSUMPTIONS
    told_excess = _against_the_air(float(np.median(excess)))
    active = _active(oxygen, excess, trials, basis, likely, unlikely)
    finished = _finished(
        {
            f"it takes up {ACTIVE_OXYGEN:g} mmol oxygen a kg and hour or less": oxygen
            <= ACTIVE_OXYGEN,
            f"it is no more than {_degrees(REST_KELVIN)} warmer than the air (needed, and no "
            "proof)": excess <= REST_KELVIN,
            f"its C:N is {MATURE_C_TO_N:g} or less": ratio <= MATURE_C_TO_N,
            f"it holds {MATURE_AMMONIUM:g} mg/kg ammonium or less": ammonium <= MATURE_AMMONIUM,
        },
        active,
        trials,
        basis,
        likely,
        unlikely,
        told_excess,
    )
    return LayerVerdicts(active, _sanitised(heat), finished, _seedlings(active, finished, trials))


def _degrees(kelvin: float) -> str:
    """A difference of temperatures on both scales."""
    return f"{kelvin:.0f} °C ({1.8 * kelvin:.0f} °F)"


def _against_the_air(excess: float) -> str:
    """How warm it most likely is, beside the air."""
    if abs(excess) < 0.5:
        return "it is most likely as warm as the air"
    side = "warmer" if excess > 0.0 else "cooler"
    return f"it is most likely {_degrees(abs(excess))} {side} than the air"


def _said(trials: Sequence[Trial]) -> tuple[str, ...]:
    return tuple(f"Test '{one.name}': {one.words}" for one in trials)


def _active(
    oxygen: FloatArray,
    excess: FloatArray,
    trials: Sequence[Trial],
    basis: str,
    likely: float,
    unlikely: float,
) -> Finding:
    chance = float(((oxygen > ACTIVE_OXYGEN) | (excess > WARM_KELVIN)).mean())
    rest = [one for one in trials if one.group == "stability"]
    failed = [one for one in rest if one.verdict == FAIL]
    told = (
        f"{100.0 * chance:.0f} in 100 that it takes up more than {ACTIVE_OXYGEN:g} mmol oxygen a "
        f"kg and hour or is more than {_degrees(WARM_KELVIN)} warmer than the air.",
    )
    if failed:
        return Finding(YES, chance, FROM_READINGS, (*_said(failed), *told))
    if chance >= likely:
        return Finding(YES, chance, basis, told)
    shown = [one for one in rest if one.verdict == PASS and one.decides]
    if chance < unlikely and shown:
        return Finding(NO, chance, FROM_READINGS, (*_said(shown), *told))
    if chance < unlikely:
        # the model alone: at rest, or only cold or dry
        return Finding(
            NOT_SHOWN, chance, basis, (*told, "A bag or flask test would show that it rests.")
        )
    return Finding(NOT_SHOWN, chance, basis, told)


def _sanitised(heat: HeatVerdict | None) -> Finding:
    if heat is None:
        return Finding(NOT_SHOWN, None, FROM_ASSUMPTIONS, ("No rule was chosen.",))
    reasons = (*heat.reasons, heat.advice, heat.caution)
    return Finding(heat.verdict, heat.probability, heat.basis, reasons)


def _finished(
    conditions: dict[str, np.ndarray],
    active: Finding,
    trials: Sequence[Trial],
    basis: str,
    likely: float,
    unlikely: float,
    told_excess: str,
) -> Finding:
    chance = float(np.logical_and.reduce(list(conditions.values())).mean())
    told = [
        f"{100.0 * float(held.mean()):.0f} in 100 that {name}." for name, held in conditions.items()
    ]
    told.append(f"By the model {told_excess}.")
    counted = [one for one in trials if one.group in ("stability", "plants")]
    failed = [one for one in counted if one.verdict == FAIL]
    if failed:
        return Finding(NO, chance, FROM_READINGS, (*_said(failed), *told))
    if active.verdict == YES or chance < unlikely:
        reason = ("It is still active.",) if active.verdict == YES else ()
        return Finding(NO, chance, active.basis if reason else basis, (*reason, *told))
    passed = [
        one
        for one in counted
        if one.decides
        and one.verdict in (PASS, MARGINAL)
        and (
            one.percent is not None
            if one.group == "plants"
            else one.name in STRONG_TESTS and one.verdict == PASS
        )
    ]
    if passed and chance >= LEANING:
        return Finding(YES, chance, FROM_READINGS, (*_said(passed), *told))
    told.append(
        "The tests and the model do not agree; do one more."
        if passed
        else "A flask test, or cress with a control, would show it."
    )
    verdict = "Probably finished. " if chance >= likely else ""
    return Finding(NOT_SHOWN, chance, basis, (verdict + told[0], *told[1:]))


def _seedlings(active: Finding, finished: Finding, trials: Sequence[Trial]) -> Finding:
    plants = [one for one in trials if one.group == "plants"]
    poison = [one for one in trials if one.group == "weedkiller"]
    bad = [one for one in (*plants, *poison) if one.verdict == FAIL]
    suspect = [one for one in poison if one.verdict == MARGINAL]
    if bad:
        return Finding(NO, None, FROM_READINGS, _said(bad))
    if finished.verdict == NO or active.verdict == YES:
        return Finding(
            NO, None, finished.basis, ("It is not finished: seedlings would suffer in it.",)
        )
    passed = [
        one for one in plants if one.verdict == PASS and one.decides and one.percent is not None
    ]
    if suspect:
        return Finding(NOT_SHOWN, None, FROM_READINGS, _said(suspect))
    if not passed:
        told = "No plant test with a control was passed; cress or an extract would show it."
        return Finding(NOT_SHOWN, None, FROM_ASSUMPTIONS, (*_said(plants), told))
    if finished.verdict != YES:
        told = "The plant test was passed, but it is not shown to be finished."
        return Finding(NOT_SHOWN, None, FROM_READINGS, (*_said(passed), told))
    mix = "Mix it with other soil all the same: a fifth of the volume is safe."
    return Finding(YES, None, FROM_READINGS, (*_said(passed), mix))
