"""Today in words: reasons, how sure, room, tub, door, dry stuff and what was done last."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from slowfire import records as r
from slowfire.advise.actions import Decision
from slowfire.advise.condition import Condition, Spread
from slowfire.advise.rules import limit, share
from slowfire.advise.troubles import Action, Trouble
from slowfire.errors import SlowfireError
from slowfire.materials.library import Library
from slowfire.services.inside import InsideResult
from slowfire.services.inside_words import fit_words
from slowfire.services.mix_words import amount_words, material_words
from slowfire.services.today_dates import days_ago, short_day, span_words, weeks_words
from slowfire.services.today_kitchen import Words, short_name

# What would show it, by what an action rests on.
WOULD_TELL = {
    "temperature": "a reading would tell",
    "moisture": "a squeezed handful would tell",
    "level": "the level below the rim would tell",
    "tub": "a look into the tub would tell",
}
LOOK_AT = {
    "moisture": "Squeeze a handful from a hand's breadth down",
    "level": "See how far the surface is below the rim",
    "tub": "Look into the tub",
}
MAY_SHOW = {
    "too hot": "that it is too hot",
    "tub": "that the tub wants emptying",
    "airless": "that it is too wet and short of air",
    "full": "that it must be dug out",
    "overfull": "that there is no room for the next load",
    "too dry": "that it wants water",
    "wide vent": "that the vent should be closed to a crack",
    "hungry": "that it has gone cold for want of food",
    "soon full": "that a dig-out is due",
}


def why_words(decision: Decision, words: Words, done_when: str) -> str:
    """The reason in one or two sentences, and what else there is to know.

    Parameters
    ----------
    decision : Decision
        What is advised [-].
    words : Words
        How to write it [-].
    done_when : str
        When the thing that is waited for was done, in words [-].

    Returns
    -------
    str
    """
    told = words.filled(decision.action.why, decision.action)
    if decision.standing == "waiting":
        done = DONE_WORDS.get(decision.waits_for, "That was done")
        return f"{done} {done_when}: give it time before changing anything else. {told}"
    if decision.standing == "put off":
        other = next(one for one in decision.troubles if one.action.name == decision.waits_for)
        return f"Set aside until then: {words.filled(other.action.do, other.action)} {told}"
    ends = {
        "hot": f"After that it may come near {words.figure(limit('hot'))}.",
        "cold": "After that it may go cold.",
        "airless": "After that it may run short of air.",
        "room": "Then it is time to think of a dig-out.",
    }
    if decision.action.name == "nothing" and decision.ends in ends:
        return f"{told} {ends[decision.ends]}"
    return told


DONE_WORDS = {
    "tub": "The tub was emptied",
    "full": "It was dug out",
    "soon full": "It was dug out",
    "too dry": "It was watered",
    "hot and dry": "It was watered",
    "shut vent": "The vent was opened",
    "shut inlet": "The inlet was opened",
    "wide vent": "The vent was closed to a crack",
    "airless": "Dry stuff was mixed in",
    "hungry": "It got a good load",
    "frozen": "It was warmed",
}


def chance_words(decision: Decision) -> str:
    """How likely the reason is; nothing for what the keeper saw."""
    chance = decision.chance
    if chance is None or decision.action.rests_on == "look":
        return ""
    if chance >= 0.95:
        return "almost sure"
    return f"{100.0 * chance:.0f} chances in 100"


def sure_words(action: Action, read: frozenset[str]) -> str:
    """Whether an action rests on readings, and what would tell if not."""
    if action.rests_on == "look":
        return "from what you wrote"
    if action.rests_on in read:
        return "from readings"
    return f"from assumptions; {WOULD_TELL[action.rests_on]}"


def reading_words(decision: Decision, state: Condition, inside: InsideResult) -> str:
    """The one look that might change the decision, if there is one.

    Parameters
    ----------
    decision : Decision
        What is advised [-].
    state : Condition
        The bin [-].
    inside : InsideResult
        The estimate [-].

    Returns
    -------
    str
        Empty if none would.
    """
    if decision.standing in ("waiting", "put off"):
        return ""
    for one in decision.troubles:
        if one.action.name == decision.action.name:
            break
        if not _open(one) or one.action.rests_on in state.read:
            continue
        shows = MAY_SHOW.get(one.action.name)
        if shows is None:
            continue
        if one.action.rests_on in LOOK_AT:
            return f"{LOOK_AT[one.action.rests_on]}: it may show {shows}."
        if inside.next_reading is not None:
            best = inside.next_reading
            return f"Read {best.what}, {best.where}: it may show {shows}."
    return ""


def _open(one: Trouble) -> bool:
    """Whether it does not speak but may well be so."""
    return not one.speaks and one.chance >= share("hint_chance")


def room_words(state: Condition, words: Words) -> str:
    """Room left, in weeks if known, and as a length."""
    room = state.room_cm
    told = words.lengths(room)
    level = f"{told} of room below the rim"
    if state.weeks_of_room is None:
        return level
    return f"Room for {weeks_words(state.weeks_of_room)} ({told} below the rim)"


def tub_words(tub: Spread | None) -> str:
    """How full the tub is.

    Examples
    --------
    >>> [tub_words(Spread(x, x, x)) for x in (1.0, 33.0, 100.0)]
    ['tub empty or nearly so', 'tub about a third full', 'tub full']
    """
    if tub is None:
        return ""
    if tub.mid < 5.0:
        return "tub empty or nearly so"
    if tub.mid >= 95.0:
        return "tub full"
    steps = (
        (10.0, "a tenth"),
        (25.0, "a quarter"),
        (33.0, "a third"),
        (50.0, "half"),
        (67.0, "two thirds"),
        (75.0, "three quarters"),
        (90.0, "nine tenths"),
    )
    word = min(steps, key=lambda one: abs(one[0] - tub.mid))[1]
    return f"tub about {word} full"


def door_words(state: Condition) -> str:
    """Whether what lies at the door is ready, as far as age and warmth can tell.

    Parameters
    ----------
    state : Condition
        The bin [-].

    Returns
    -------
    str
        Empty for an empty bin.
    """
    if not state.slices:
        return ""
    base = state.slices[0]
    missing = limit("old_base") - base.age_days
    if missing > 0.0:
        return f"not ready, about {span_words(max(missing, 7.0))} more"
    if base.celsius.mid > state.air.mid + limit("ready_above_air"):
        return "old enough but still warm; better later"
    return "old enough to try; not shown to be free of germs or seeds"


def dry_stuff_words(
    stock_litres: Mapping[str, float],
    ratios: Mapping[str, float],
    wet_litres: float,
    library: Library,
) -> tuple[float | None, str]:
    """Loads of dry stuff left, by what is used most.

    Parameters
    ----------
    stock_litres, ratios : mapping of str to float
        As `mix_history.History` has them [-].
    wet_litres : float
        Of a usual load [litre].
    library : Library
        Of the site [-].

    Returns
    -------
    tuple of (float or None, str)
        Loads [-], and words; None and empty if no stock was ever written.
    """
    left = {
        name: stock_litres[name] / (ratio * wet_litres)
        for name, ratio in ratios.items()
        if name in stock_litres and ratio * wet_litres > 0.0
    }
    if not left:
        return None, ""
    name = min(left, key=lambda one: left[one])
    what = short_name(material_words(library.find(name)))
    loads = left[name]
    if loads < 0.75:
        return loads, f"{what}: used up, by what was written"
    count = round(loads)
    return loads, f"{what} for {count} more load{'' if count == 1 else 's'}"


def reminders(
    site: r.Site, library: Library, entries: Sequence[r.Entry], now: datetime
) -> tuple[str, ...]:
    """Last load, reading and job, a sentence each."""
    told: dict[str, str] = {}
    here = now.astimezone(site.zone)
    for one in reversed(entries):
        ago = days_ago(one.when.astimezone(site.zone), here)
        payload = one.payload
        if isinstance(payload, r.Load):
            _, _, items = r.joined_loads([each for each in entries if each.when == one.when])[-1]
            told.setdefault("load", f"Last load {ago}: {_items_words(library, items)}.")
        elif isinstance(payload, r.Reading):
            when = short_day(one.when.astimezone(site.zone), here)
            told.setdefault(
                "reading",
                f"Last reading: {payload.thermometer} {payload.temperature.value:g} "
                f"°{payload.temperature.unit}, {when}.",
            )
        elif not isinstance(payload, r.Advice | r.Note | r.Photo | r.Stock | r.Calendar):
            job = JOB_WORDS.get(one.kind)
            if job is not None:
                told.setdefault("job", f"Last job: {job} {ago}.")
        if len(told) == 3:
            break
    return tuple(told[name] for name in ("load", "reading", "job") if name in told)


JOB_WORDS = {
    "stir": "stirred",
    "poke": "poked air ways",
    "turn": "turned",
    "vent": "set the vent",
    "cover": "changed the cover",
    "water": "watered",
    "warm": "put a hot-water bottle in",
    "drain": "looked into the tub",
    "dig_out": "dug out",
    "worms": "moved worms",
}


def last_words(entries: Sequence[r.Entry], here: datetime) -> str:
    """When the last load went in, by the clock of the place."""
    loads = [one.when for one in entries if isinstance(one.payload, r.Load)]
    if not loads:
        return "No load was written down yet."
    return f"Last load {days_ago(loads[-1].astimezone(here.tzinfo), here)}."


def estimate_sure_words(inside: InsideResult) -> str:
    """How well the estimate fits, without its heading."""
    return fit_words(inside).removeprefix("how sure: ")


def _items_words(library: Library, items: Sequence[r.LoadItem]) -> str:
    told = []
    for item in items:
        try:
            name = short_name(material_words(library.find(item.material)))
        except SlowfireError:
            name = item.material
        told.append(f"{amount_words(item.amount.middle, item.amount.unit)} of {name}")
    return ", ".join(told)
