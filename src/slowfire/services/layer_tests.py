"""Tests that were done at home, from the journal, as verdicts."""

from datetime import datetime, timedelta

from slowfire.errors import SlowfireError
from slowfire.journal import Journal
from slowfire.kinds import Test
from slowfire.maturity.bin_tests import air_space_trial, bag_trial, flask_trial
from slowfire.maturity.plant_tests import cress_trial, weedkiller_trial
from slowfire.maturity.trial import Trial
from slowfire.measures import Measures, default_measures

FRESH = timedelta(days=42)  # an older test says nothing of what lies at the door now
LEAVES_AFTER_DAYS = 14.0
POTS = 3  # of compost and of control each, as the instructions ask
COLOURS = {"green": "green", "pale": "weak", "stunted": "weak", "cupped": "weak"}
SMELLS = {"none": "earthy", "earthy": "earthy", "ammonia": "ammonia", "sour": "sour"}
HURT = ("cupped", "stunted", "dead")


def trials_of(journal: Journal, bin_name: str, when: datetime) -> tuple[Trial, ...]:
    """Tests of a bin's finished end in the last six weeks, each judged.

    Parameters
    ----------
    journal : Journal
        As read [-].
    bin_name : str
        Which bin [-].
    when : datetime
        The present [-].

    Returns
    -------
    tuple of Trial
        The newest of each kind.
    """
    measures = default_measures().with_own(journal.site.measures)
    found: dict[str, Trial] = {}
    for one in journal.effective:
        mine = one.bin.casefold() == bin_name.casefold()
        if not mine or not isinstance(one.payload, Test) or one.when > when:
            continue
        if when - one.when > FRESH:
            continue
        try:
            trial = judged(one.payload, measures)
        except SlowfireError:
            continue
        if trial is not None:
            found[one.payload.which] = trial
    return tuple(found.values())


def judged(test: Test, measures: Measures) -> Trial | None:
    """The verdict of one test; None for one that says nothing of compost.

    Parameters
    ----------
    test : Test
        As written down [-].
    measures : Measures
        With those of the site [-].

    Returns
    -------
    Trial or None

    Raises
    ------
    SlowfireError
        If its numbers cannot be.
    """
    days = 5.0 if test.days is None else test.days
    if test.which in ("cress", "radish"):
        sown = int(test.sown or 0)
        return cress_trial(
            sown,
            int(test.sprouted or 0),
            COLOURS.get(test.growth or "green", "yellow"),
            days,
            sown_control=sown,
            sprouted_control=int(test.control_sprouted or 0),
            colour_control=COLOURS.get(test.control_growth or "green", "yellow"),
        )
    if test.which == "pea":
        return weedkiller_trial(
            POTS,
            POTS if test.growth in HURT else 0,
            POTS,
            POTS if test.control_growth in HURT else 0,
            20.0 if test.days is None else test.days,
            3 if test.days is None or test.days >= LEAVES_AFTER_DAYS else 1,
        )
    if test.which == "flask" and test.warmest is not None and test.surroundings is not None:
        return flask_trial(
            test.warmest.temperature_celsius,
            test.surroundings.temperature_celsius,
            7.0 if test.days is None else test.days,
        )
    if test.which == "bag":
        smell = "earthy" if test.smell is None else SMELLS.get(test.smell, "putrid")
        if test.swelling in ("puffed", "burst"):
            smell = "putrid" if smell == "earthy" else smell
        return bag_trial(smell, days)
    if test.which == "water-fill" and test.sample is not None and test.water is not None:
        water = measures.named(test.water.unit).litres
        sample = measures.named(test.sample.unit).litres
        if water and sample:
            return air_space_trial(
                test.water.middle * water / 1000.0, test.sample.middle * sample / 1000.0
            )
    return None
