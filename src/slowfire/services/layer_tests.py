"""Tests that were done at home, from the journal, as verdicts."""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from slowfire import records as r
from slowfire.errors import SlowfireError
from slowfire.journal import Journal
from slowfire.kinds import Test
from slowfire.maturity.bin_tests import LEAST_FLASK_DAYS, air_space_trial, bag_trial, flask_trial
from slowfire.maturity.classes import FAIL, REFUSED
from slowfire.maturity.plant_tests import cress_trial, weedkiller_trial
from slowfire.maturity.trial import Trial
from slowfire.measures import Measures, default_measures

FRESH = timedelta(days=42)  # an older test says nothing of what lies at the door now
LEAVES_AFTER_DAYS = 14.0
POTS = 3  # of compost and of control each, as the instructions ask
COLOURS = {"green": "green", "pale": "weak", "stunted": "weak", "cupped": "weak"}
SMELLS = {"none": "earthy", "earthy": "earthy", "ammonia": "ammonia", "sour": "sour"}
HURT = ("cupped", "stunted", "dead")
ICE_WATER = "ice-water"  # of a thermometer, not of compost


@dataclass(frozen=True)
class DoneTest:
    """A test that was written down: which of `kinds.TESTS`, when, and what it came to."""

    which: str
    when: datetime
    trial: Trial


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
    done = done_tests(journal.site, journal.effective, bin_name, when)
    return tuple(one.trial for one in done)


def done_tests(
    site: r.Site, entries: Sequence[r.Entry], bin_name: str, when: datetime
) -> tuple[DoneTest, ...]:
    """The same with the day of each, from entries in force.

    Parameters
    ----------
    site : Site
        The place, with its measures [-].
    entries : sequence of Entry
        In force, by time [-].
    bin_name : str
        Which bin [-].
    when : datetime
        The present [-].

    Returns
    -------
    tuple of DoneTest
        The newest of each kind of the last six weeks. One whose numbers cannot be is refused, with
        what is wrong with them.
    """
    measures = default_measures().with_own(site.measures)
    found: dict[str, DoneTest] = {}
    for one in entries:
        mine = one.bin.casefold() == bin_name.casefold()
        if not mine or not isinstance(one.payload, Test) or one.when > when:
            continue
        if when - one.when > FRESH or one.payload.which == ICE_WATER:
            continue
        which = one.payload.which
        try:
            trial = judged(one.payload, measures)
        except SlowfireError as problem:
            trial = Trial(which, "condition", REFUSED, str(problem), "")
        if trial is not None:
            found[which] = DoneTest(which, one.when, trial)
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
        controls = POTS if test.control_growth in HURT else 0
        hurt = POTS if test.growth in HURT else 0
        known = 0.0 if test.days is None else test.days
        leaves = 3 if known >= LEAVES_AFTER_DAYS else 1
        found = weedkiller_trial(POTS, hurt, POTS, controls, known, leaves)
        return found if controls else _without_days(test, found)
    if test.which == "flask" and test.warmest is not None and test.surroundings is not None:
        found = flask_trial(
            test.warmest.temperature_celsius,
            test.surroundings.temperature_celsius,
            LEAST_FLASK_DAYS if test.days is None else test.days,
        )
        return found if found.verdict == REFUSED else _without_days(test, found)
    if test.which == "bag":
        smell = "earthy" if test.smell is None else SMELLS.get(test.smell, "putrid")
        if test.swelling in ("puffed", "burst"):
            smell = "putrid" if smell == "earthy" else smell
        found = bag_trial(smell, days)
        if test.smell is None and found.verdict != FAIL:
            return _unknown(found, "Nobody wrote what it smelled of: open a bag anew and smell.")
        return found
    if test.which == "water-fill" and test.sample is not None and test.water is not None:
        water = measures.named(test.water.unit).litres
        sample = measures.named(test.sample.unit).litres
        if water and sample:
            return air_space_trial(
                test.water.middle * water / 1000.0, test.sample.middle * sample / 1000.0
            )
    return None


def _without_days(test: Test, found: Trial) -> Trial:
    """A test that failed is believed at once; one that did not must have stood long enough."""
    if test.days is not None or found.verdict == FAIL:
        return found
    return _unknown(found, "Nobody wrote after how many days it was looked at; change the entry.")


def _unknown(found: Trial, words: str) -> Trial:
    return dataclasses.replace(found, verdict=REFUSED, words=words, decides=False)
