"""What an estimate asks its keeper about, and where in the stack readings were taken."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from slowfire import records as r
from slowfire.arrays import FloatArray
from slowfire.estimate.condition import Conditioned
from slowfire.estimate.diagnostics import Expected, Fit, expected_before
from slowfire.estimate.questions import ask
from slowfire.estimate.typed import Question, Typed, temperature_difference
from slowfire.services.checkpoints import REMEMBERED_HOURS, Kept, Record
from slowfire.timeline_observed import MONTHS, bin_typed
from slowfire.units import UnitSystem

NEAR_METRES, NEAR_HOURS = 0.15, 24.0 * 7.0  # a layer this near a reading is told from it
WARM = ("lid", "probe", "infrared", "air")


@dataclass(frozen=True)
class Asked:
    """One thing to ask the keeper, with answers to choose from."""

    when: str
    kind: str
    words: str
    choices: tuple[str, ...]


def day_words(record: Record, hour: float) -> str:
    """The day of an hour of the record in words, such as 4 March."""
    day = (record.timeline.start + timedelta(hours=hour)).astimezone(record.site.zone)
    return f"{day.day} {MONTHS[day.month - 1]}"


def near_reading(found: Conditioned, now: float, height: float) -> bool:
    """Tell whether a reading of the last week lies near a height.

    Parameters
    ----------
    found : Conditioned
        The estimate [-].
    now : float
        The present [h].
    height : float
        Above the floor [m].

    Returns
    -------
    bool
        Whether one that was used does; a dial in the lid reads no layer [-].
    """
    for k, one in enumerate(found.observed):
        if one.hour < now - NEAR_HOURS or found.aside[k] or one.kind not in WARM:
            continue
        tip = float(np.median(found.tips[k]))
        if not np.isnan(tip) and abs(tip - height) <= NEAR_METRES:
            return True
    return False


def _typed(record: Record) -> tuple[Typed, ...]:
    return bin_typed(record.site, record.bin_name, record.timeline, record.entries)


def questions_of(
    record: Record,
    kept: Kept,
    found: Conditioned,
    now: float,
    fill_high: Callable[[float], float],
    fit: Fit,
    ahead: Sequence[r.Entry],
    system: UnitSystem,
) -> tuple[Asked, ...]:
    """Everything worth asking about readings, looks and the estimate itself, by time.

    Parameters
    ----------
    record : Record
        Of the bin [-].
    kept : Kept
        The checkpoint the estimate began at [-].
    found : Conditioned
        The estimate [-].
    now : float
        The present [h].
    fill_high : callable
        Takes an hour, gives the height that few stacks exceed, endless if not known [m].
    fit : Fit
        How well it fits [-].
    ahead : sequence of Entry
        Entries dated after now, which are left out [-].
    system : str
        metric or us, for the words [-].

    Returns
    -------
    tuple of Asked
    """
    plan = record.plan
    first = len(plan.observed) - len(found.observed)
    expected = kept.expected.followed_by(expected_before(found, first), now - REMEMBERED_HOURS)
    typed, low, high = _with_bands(record, expected)
    fill = np.array([fill_high(one.hour) for one in typed])
    table = plan.air.table
    sun = found.ensemble.columns[0].vessel.sun_share
    shone = np.array([sun * table[min(int(one.hour), len(table) - 1), 4] for one in typed])
    asked = list(ask(typed, low, high, fill, shone, now, system))
    about = {typed[place].source for one in asked for place in one.about}
    for one, out in zip(found.observed, found.aside, strict=True):
        if out and one.source not in about:
            asked.append(
                Question(
                    one.hour,
                    "left-out",
                    f"Of {day_words(record, one.hour)}, '{one.words}' does not fit what else is "
                    "known and was left out. Is it right?",
                    ("yes, it is right", "no, leave it out", "not sure"),
                    (),
                )
            )
    if fit.words == "no longer fits":
        off = temperature_difference(fit.misfit_kelvin, system)
        asked.append(
            Question(
                now,
                "fit",
                f"The estimate no longer fits the last readings, which are off by about {off}. Has "
                "something happened that is not written: a load, water, a lid left open, much dug "
                "out?",
                ("yes, I will write it", "no, nothing", "the thermometer may be wrong"),
                (),
            )
        )
    rows = [_asked(record, one) for one in sorted(asked, key=lambda one: one.hour)]
    if ahead:
        rows.append(_future(record, ahead))
    return tuple(rows)


def _with_bands(record: Record, expected: Expected) -> tuple[list[Typed], FloatArray, FloatArray]:
    """Readings of the last weeks with what was expected of each, as they were typed."""
    observed = record.plan.observed
    bands = {}
    for place, low, high in zip(expected.places, expected.low, expected.high, strict=True):
        one = observed[int(place)]
        if one.kind in WARM and one.source >= 0:
            bands[one.source] = (one.value, float(low), float(high))
    typed = [one for one in _typed(record) if one.source in bands]
    # a known bias has been taken off what was read, and goes back onto what was expected
    bias = np.array([one.celsius - bands[one.source][0] for one in typed])
    low = np.array([bands[one.source][1] for one in typed]) + bias
    high = np.array([bands[one.source][2] for one in typed]) + bias
    return typed, low, high


def _asked(record: Record, one: Question) -> Asked:
    when = (record.timeline.start + timedelta(hours=one.hour)).astimezone(record.site.zone)
    return Asked(when.isoformat(timespec="minutes"), one.kind, one.words, one.choices)


def _future(record: Record, ahead: Sequence[r.Entry]) -> Asked:
    first = min(ahead, key=lambda one: one.when)
    when = first.when.astimezone(record.site.zone)
    if len(ahead) == 1:
        words = f"An entry ({first.kind}) is dated {when:%Y-%m-%d}, which is still to come."
    else:
        words = (
            f"{len(ahead)} entries are dated after now, the first ({first.kind}) {when:%Y-%m-%d}."
        )
    return Asked(
        when.isoformat(timespec="minutes"),
        "future",
        f"{words} Left out until then. Is the date right?",
        ("it was today", "another day", "it is planned"),
    )
