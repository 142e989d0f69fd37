"""Today at a bin: one action, the section, and what is known of how full and how sure."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from slowfire import records as r
from slowfire.advise.actions import ACT_OF, Decision, Planner, next_action
from slowfire.journal.text import Journal
from slowfire.recipe.scoring import is_dry_stuff
from slowfire.services.inside import InsideResult
from slowfire.services.liquid import spill_note
from slowfire.services.mix_history import read_history
from slowfire.services.today_dates import age_words, days_ago, full_day
from slowfire.services.today_kitchen import Words, kitchen_of
from slowfire.services.today_state import (
    Measuring,
    acts_of,
    condition_of,
    in_force,
    own_entries,
    said_of,
)
from slowfire.services.today_words import (
    chance_words,
    door_words,
    dry_stuff_words,
    estimate_sure_words,
    last_words,
    reading_words,
    reminders,
    room_words,
    sure_words,
    tub_words,
    why_words,
)
from slowfire.services.today_zones import Mark, Zone, marks_of, zones_of
from slowfire.units import UnitSystem

__all__ = ["Mark", "TodayResult", "Zone", "given_advice", "today"]


@dataclass(frozen=True)
class TodayResult:
    """What the first screen shows; temperatures in the site's own unit.

    Attributes
    ----------
    bin : str
        Its name.
    at : str
        Of the estimate, ISO.
    unit : str
        °C or °F.
    headline, why, facts : str
        What to do, the reason, and how likely it is.
    look_again, expect, stop : str
        When, what should be seen then, and when to stop; empty where there is nothing to say.
    action : str
        Name of the action, under which an answer is written.
    cautions : tuple of str
        Where a hazard is met.
    lid, vent, air : str
        In words.
    zones : tuple of Zone
        Base first.
    marks : tuple of Mark
        Last reading of each thermometer.
    bin_height_cm, fill_cm : float
        Of the inside [cm].
    room, tub, sure, last : str
        In words; empty where unknown.
    tub_share : float or None
        Liquid over what the tub holds [-].
    questions : tuple of str
        What the estimate would like to know.
    look_on : str
        Date of the next look, ISO.
    action_sure : str
        Whether the action rests on readings.
    standing : str
        new, given, waiting or put off.
    chance_percent : float or None
        That its reason is so; None for nothing to do.
    reading : str
        The one look that might change the action; mostly empty.
    door : str
        Whether what lies at the door is ready.
    dry_stuff : str
        What is left of it in loads.
    dry_stuff_loads, weeks_of_room : float or None
        The same as numbers, in the middle of what is thought.
    reminders : tuple of str
        Last load, reading and job.
    age, age_hours : str, float
        Of the estimate.
    rules : tuple of str
        Thresholds behind the action.
    tub_spills : str
        When the tub likely runs over, if that is near and nothing drawn tells better.
    """

    bin: str
    at: str
    unit: str
    headline: str
    why: str
    facts: str
    look_again: str
    expect: str
    stop: str
    action: str
    cautions: tuple[str, ...]
    lid: str
    vent: str
    air: str
    zones: tuple[Zone, ...]
    marks: tuple[Mark, ...]
    bin_height_cm: float
    fill_cm: float
    room: str
    tub: str
    sure: str
    last: str
    tub_share: float | None
    questions: tuple[str, ...]
    look_on: str = ""
    action_sure: str = ""
    standing: str = "new"
    chance_percent: float | None = None
    reading: str = ""
    door: str = ""
    dry_stuff: str = ""
    dry_stuff_loads: float | None = None
    weeks_of_room: float | None = None
    reminders: tuple[str, ...] = ()
    age: str = ""
    age_hours: float = 0.0
    rules: tuple[str, ...] = ()
    tub_spills: str = ""


def today(
    site: r.Site,
    entries: Sequence[r.Entry],
    inside: InsideResult,
    now: datetime,
    planner: Planner = next_action,
) -> TodayResult:
    """Say what to do at a bin, from an estimate that was made before.

    Parameters
    ----------
    site : Site
        The place [-].
    entries : sequence of Entry
        Everything written [-].
    inside : InsideResult
        The last estimate [-].
    now : datetime
        The present [-].
    planner : callable
        Chooses the action; `advise.actions.next_action` unless given [-].

    Returns
    -------
    TodayResult
        The same for the same arguments.

    Raises
    ------
    UnknownName
        If the estimate is of a bin that the site no longer has.
    """
    bin_record = site.bin_named(inside.bin)
    measuring, standing = Measuring.of(site), in_force(entries)
    own = own_entries(standing, bin_record.name, now)
    state = condition_of(measuring, bin_record, own, inside, now)
    decision = planner(state, said_of(own, now), acts_of(own, now))
    system: UnitSystem = "us" if site.units == "us" else "metric"
    here, at = now.astimezone(site.zone), datetime.fromisoformat(inside.at).astimezone(site.zone)
    look = _look(decision, here, at)
    words = Words(system, kitchen_of(measuring, own), look, here)
    fill = max(inside.bin_height_cm - inside.fill_cm_below_rim.mid, 0.0)
    loads_left, dry_stuff = _dry_stuff(site, measuring, standing, own, bin_record.name, now)
    hours = max((now - at).total_seconds() / 3600.0, 0.0)
    action = decision.action
    return TodayResult(
        bin=bin_record.name,
        at=inside.at,
        unit=words.degree,
        headline=words.filled(action.do, action),
        why=why_words(decision, words, _done_when(decision, own, here, site)),
        facts=chance_words(decision),
        look_again=full_day(look),
        expect=words.expected(
            action.expect, inside, state, "before" if decision.standing == "waiting" else "now"
        ),
        stop=action.stop,
        action=action.name,
        cautions=action.cautions,
        lid=f"{words.span(inside.lid_celsius)} in the air under the lid",
        vent=f"vent: {state.vent}" if state.vent else "vent: never written down",
        air=f"{words.figure(inside.air_celsius.mid)} outside",
        zones=zones_of(measuring.library, inside, own, site.zone, system),
        marks=marks_of(site, own, inside, system, now),
        bin_height_cm=inside.bin_height_cm,
        fill_cm=fill,
        room=room_words(state, words),
        tub=tub_words(state.tub_percent),
        sure=estimate_sure_words(inside),
        last=last_words(own, here),
        tub_share=None if state.tub_percent is None else state.tub_percent.mid / 100.0,
        questions=tuple(one.words for one in inside.questions),
        look_on=look.date().isoformat(),
        action_sure=sure_words(action, state.read),
        standing=decision.standing,
        chance_percent=None if decision.chance is None else 100.0 * decision.chance,
        reading=reading_words(decision, state, inside),
        door=door_words(state),
        dry_stuff=dry_stuff,
        dry_stuff_loads=loads_left,
        weeks_of_room=None if state.weeks_of_room is None else state.weeks_of_room.mid,
        reminders=reminders(site, measuring.library, own, now),
        age=age_words(hours) if hours >= 1.0 else "just made",
        age_hours=hours,
        rules=action.rule_names,
        tub_spills="" if "tub" in state.read else spill_note(site, own, inside),
    )


def given_advice(seen: TodayResult) -> r.Advice | None:
    """What to write down when an action is shown for the first time, so that it can stand.

    Parameters
    ----------
    seen : TodayResult
        What is shown [-].

    Returns
    -------
    Advice or None
        None if there is nothing to do, or it was given before and still stands.
    """
    if seen.action == "nothing" or seen.standing != "new":
        return None
    return r.Advice(seen.action, "given")


def _look(decision: Decision, now: datetime, at: datetime) -> datetime:
    """When to look again: from now for an action, from the estimate for the days ahead."""
    days = timedelta(days=decision.action.look_days)
    resting = decision.action.name == "nothing" and decision.standing == "new"
    look = at + days if resting else now + days
    return max(look, now + timedelta(days=1.0)) if resting else look


def _done_when(decision: Decision, own: Sequence[r.Entry], here: datetime, site: r.Site) -> str:
    """When the thing that is waited for was done."""
    for one in reversed(own):
        answered = isinstance(one.payload, r.Advice) and one.payload.answer == "done"
        named = isinstance(one.payload, r.Advice) and one.payload.what == decision.waits_for
        if (answered and named) or one.kind == ACT_OF.get(decision.waits_for):
            return days_ago(one.when.astimezone(site.zone), here)
    return ""


def _dry_stuff(
    site: r.Site,
    measuring: Measuring,
    standing: Sequence[r.Entry],
    own: Sequence[r.Entry],
    name: str,
    now: datetime,
) -> tuple[float | None, str]:
    kept = [one for one in standing if isinstance(one.payload, r.Load | r.Stock)]
    if not any(isinstance(one.payload, r.Stock) for one in kept):
        return None, ""
    # what is in force may correct entries that are left out here
    alone = tuple(one if one.corrects is None else replace(one, corrects=None) for one in kept)
    library = measuring.library
    history = read_history(Journal(site, alone), name, library, measuring.measures, now)
    wet = 0.0
    for _, _, items in reversed(r.joined_loads(own)):
        usual = measuring.portions(items)
        wet = sum(one.litres for one in usual if not is_dry_stuff(one.feedstock))
        if wet > 0.0:
            break
    return dry_stuff_words(history.stock_litres, history.ratios, wet, library)
