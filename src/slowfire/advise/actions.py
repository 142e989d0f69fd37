"""The one thing to do next at a bin: which trouble speaks first, and what stands already."""

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from slowfire.advise.condition import Condition
from slowfire.advise.noticed import DANGERS, noticed, noticed_trouble
from slowfire.advise.rules import is_action, limit, look_days, share
from slowfire.advise.troubles import (
    Action,
    Expectation,
    Trouble,
    celsius_fact,
    plain_fact,
    troubles_of,
)

# What in the journal counts as having done an action, if nobody pressed "done".
ACT_OF: Mapping[str, str] = {
    "tub": "drain",
    "full": "dig_out",
    "soon full": "dig_out",
    "too dry": "water",
    "hot and dry": "water",
    "shut vent": "vent",
    "shut inlet": "vent",
    "wide vent": "vent",
    "frozen": "warm",
}
# These speak however lately another action was given or done.
URGENT = ("hot and dry", "too hot")
EXPLAINS = (*URGENT, "tub", "frozen", "shut vent", "shut inlet", "airless", "full", "overfull")
GIVEN = ("given", "not-done")
PRESSING = tuple(f"check {one}" for one in DANGERS)
CHORES = ("tub", "full", "overfull")  # they change nothing that another action waits for


@dataclass(frozen=True)
class Said:
    """An advice entry: the action, the answer, and days since."""

    name: str
    answer: str
    days_ago: float


@dataclass(frozen=True)
class Decision:
    """The action, and why it is this one now.

    Attributes
    ----------
    action : Action
        What to do; named nothing if there is nothing.
    standing : str
        new, given (it stands), waiting (another was done, and needs time) or put off.
    waits_for : str
        Name of the action that was done or put off, else empty.
    chance : float or None
        That its reason is so [-]; None for nothing to do.
    ends : str
        What ends the rest, for nothing to do: time, hot, cold, airless, room, tub or look.
    troubles : tuple of Trouble
        What every rule says, by precedence.
    """

    action: Action
    standing: str
    waits_for: str
    chance: float | None
    ends: str
    troubles: tuple[Trouble, ...]


Planner = Callable[[Condition, Sequence[Said], Mapping[str, float]], Decision]


def next_action(
    state: Condition, said: Sequence[Said] = (), acts: Mapping[str, float] | None = None
) -> Decision:
    """Choose the one thing to do next.

    Parameters
    ----------
    state : Condition
        What an estimate says of the bin [-].
    said : sequence of Said
        Advice entries of the bin, in any order [-].
    acts : mapping of str to float, optional
        Kind of what was done to the days since it was last done [day].

    Returns
    -------
    Decision
        Mostly that there is nothing to do until some day.

    Notes
    -----
    Ours, from thresholds of `action_rules.csv`. An action that was given stands for two days unless
    it is done or its reason becomes unlikely; what was done is given its time before another thing
    is changed. Only heat, rats, a bulge, a leak, a full tub and a full bin speak before that.

    Examples
    --------
    >>> from slowfire.advise.condition import Slice, Spread
    >>> well, air = Spread(40.0, 48.0, 55.0), Spread(12.0, 12.0, 12.0)
    >>> layer = Slice(0.5, well, Spread(55.0, 62.0, 68.0), Spread(10.0, 14.0, 18.0))
    >>> state = Condition(well, air, air, (layer,), Spread(30.0, 40.0, 50.0))
    >>> next_action(state).action.name
    'nothing'
    """
    troubles = everything_of(state)
    words = _newest_words(said, acts or {})
    away = _away(words)
    open_ones = [one for one in troubles if one.speaks and one.action.name not in away]
    at_once = [one for one in open_ones if one.action.name in (*URGENT, *PRESSING)]
    if at_once:
        return _decided(at_once[0], words, troubles)
    for one in troubles:
        last = words.get(one.action.name)
        stands = last is not None and last.answer in GIVEN and one.action.name not in away
        if stands and last is not None and last.days_ago <= limit("stands_days") and one.holds:
            return _decided(one, words, troubles)
    done = [one for one in words.values() if one.answer == "done" and one.name in away]
    waiting = [one for one in done if _needs_quiet(one.name)]
    if waiting:
        chores = [one for one in open_ones if one.action.name in CHORES]
        if chores:
            return _decided(chores[0], words, troubles)
        name = min(waiting, key=lambda one: away[one.name]).name
        return _resting(state, troubles, "waiting", name, away[name])
    if open_ones:
        return _decided(open_ones[0], words, troubles)
    put_off = next((one.action.name for one in troubles if one.speaks), "")
    if put_off:
        standing = "waiting" if words[put_off].answer == "done" else "put off"
        return _resting(state, troubles, standing, put_off, away[put_off])
    return _resting(state, troubles, "new", "", None)


def everything_of(state: Condition) -> tuple[Trouble, ...]:
    """What every rule says, with what was noticed, by precedence.

    Parameters
    ----------
    state : Condition
        The bin [-].

    Returns
    -------
    tuple of Trouble
        Rats, a bulge or a leak come after heat; a smell or flies after what explains them.
    """
    troubles, extra = troubles_of(state), noticed_trouble(state)
    if extra is None:
        return troubles
    before = URGENT if noticed(state) in DANGERS else EXPLAINS
    place = sum(one.action.name in before for one in troubles)
    return (*troubles[:place], extra, *troubles[place:])


def _decided(one: Trouble, words: Mapping[str, Said], troubles: tuple[Trouble, ...]) -> Decision:
    last = words.get(one.action.name)
    given = last is not None and last.answer in GIVEN and last.days_ago <= limit("stands_days")
    return Decision(one.action, "given" if given else "new", "", one.chance, "", troubles)


def _resting(
    state: Condition,
    troubles: tuple[Trouble, ...],
    standing: str,
    waits_for: str,
    left: float | None,
) -> Decision:
    """Nothing to do; what was done keeps its cautions and what should be seen after it."""
    days, ends = rest(state)
    if left is not None:
        days, ends = max(min(left, days), 0.5), "look"
    kept = next((one.action for one in troubles if one.action.name == waits_for), None)
    waiting = kept is not None and standing == "waiting"
    facts = {
        "hottest": celsius_fact(state.hottest),
        "above": plain_fact(state.hottest.mid - state.air.mid, "K"),
        "air": celsius_fact(state.air.mid),
    }
    action = Action(
        "nothing",
        "Nothing to do until {look}.",
        _well(state),
        facts,
        days,
        {},
        kept.expect if kept is not None and waiting else Expectation("hottest"),
        cautions=kept.cautions if kept is not None and waiting and kept.name in URGENT else (),
    )
    return Decision(action, standing, waits_for, None, ends, troubles)


def _needs_quiet(name: str) -> bool:
    """Whether nothing else should be changed until it can be judged."""
    return not (name in CHORES or name == "soon full" or name.startswith("check "))


def _newest_words(said: Sequence[Said], acts: Mapping[str, float]) -> dict[str, Said]:
    """The newest word on each action that a rule knows, with what the journal shows as done.

    Of an action that was given again while it stood, the first time counts.
    """
    known = sorted((one for one in said if is_action(one.name)), key=lambda one: one.days_ago)
    found = {}
    for name in dict.fromkeys(one.name for one in known):
        own = [one for one in known if one.name == name]
        run = list(itertools.takewhile(lambda one: one.answer in GIVEN, own))
        first = own[0] if not run else run[-1]
        for one in reversed(run):
            # said again after its two days were over: it stands anew
            if first.days_ago - one.days_ago > limit("stands_days"):
                first = one
        act = acts.get(ACT_OF.get(name, ""))
        if run and act is not None and act <= first.days_ago:
            first = Said(name, "done", act)
        found[name] = first
    return found


def _away(words: Mapping[str, Said]) -> dict[str, float]:
    """Names that stay away for now, because done, put off or not right, with the days left."""
    left = {}
    for name, one in words.items():
        if one.answer == "done":
            left[name] = look_days(name) - one.days_ago
        elif one.answer == "postponed":
            left[name] = limit("postponed_days") - one.days_ago
        elif one.answer == "not-right":
            left[name] = limit("declined_days") - one.days_ago
    return {name: days for name, days in left.items() if days > 0.0}


def _well(state: Condition) -> str:
    if not state.slices:
        return "It is empty."
    above = state.hottest.mid - state.air.mid
    wide = state.hottest.high - state.hottest.low > limit("wide_band")
    if wide and 0.1 < state.chance_cool(limit("cool_above_air")) < 0.9:
        return (
            "How warm it is inside is not well known: the hottest layer is somewhere from "
            "{hottest} with {air} outside. Nothing speaks for changing anything."
        )
    if state.hottest.mid >= limit("working_hot"):
        how = "It is hot inside"
    elif above >= limit("cool_above_air"):
        how = "It is warm inside"
    elif above >= limit("cold_above_air"):
        how = "It works slowly"
    else:
        how = "It rests"
    return f"{how}: the hottest layer is at {{hottest}} with {{air}} outside."


def rest(state: Condition) -> tuple[float, str]:
    """How long the bin can be left alone, and what ends that.

    Until the days ahead would change the decision; at most a week if a thermometer was read, four
    days if not, at least two.

    Parameters
    ----------
    state : Condition
        The bin [-].

    Returns
    -------
    tuple of (float, str)
        Days [day], and time, hot, airless, cold, tub or room.

    Notes
    -----
    Ours.
    """
    least = limit("rest_least")
    most = limit("rest_most") if "temperature" in state.read else limit("rest_assumed")
    found = [(most, "time")]
    for day in state.ahead:
        if day.over_70_percent >= limit("chance"):
            found.append((day.days - 1.0, "hot"))
        if day.cold_airless_percent is not None and day.cold_airless_percent >= limit("chance"):
            found.append((day.days - 1.0, "airless"))
        if day.hottest.chance_below(day.air.mid + limit("cold_above_air")) >= share("sure_chance"):
            found.append((day.days - 1.0, "cold"))
    if state.weeks_of_room is not None:
        weeks = state.weeks_of_room.mid - limit("few_weeks")
        if weeks > 0.0:
            found.append((7.0 * weeks, "room"))
    days, ends = min(found, key=lambda one: max(one[0], least))
    return max(days, least), ends
