"""Did it work? What was advised, held against what was seen afterwards."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from slowfire.advise.condition import Spread
from slowfire.advise.rules import limit, share

WORKED, DID_NOT, CANNOT_TELL, TOO_EARLY = "worked", "did not", "can't tell", "too early"
FOUL = ("ammonia", "sour", "rotten-egg")


@dataclass(frozen=True)
class Evidence:
    """What was known when something was done and at the look after it.

    Attributes
    ----------
    days : float
        From then to the last that is known [day].
    wanted_days : float
        After which the action was to be judged [day].
    before, after : Spread or None
        Hottest layer then, and at the look [degC].
    same_spot : float or None
        Change of a thermometer read before and after at one spot [K].
    smell, squeeze : str or None
        Last written between them.
    drained : float or None
        From the tub when it was emptied [L].
    dug : float or None
        Dug out since [L].
    room_cm : Spread or None
        Now, below the rim [cm].
    """

    days: float
    wanted_days: float
    before: Spread | None = None
    after: Spread | None = None
    same_spot: float | None = None
    smell: str | None = None
    squeeze: str | None = None
    drained: float | None = None
    dug: float | None = None
    room_cm: Spread | None = None


@dataclass(frozen=True)
class Score:
    """The verdict, and why, with the numbers in braces named in `numbers` by unit."""

    verdict: str
    reason: str
    numbers: Mapping[str, tuple[float, str]]


def score(name: str, seen: Evidence) -> Score:
    """Judge an action that was done.

    Parameters
    ----------
    name : str
        Of the action [-].
    seen : Evidence
        What is known [-].

    Returns
    -------
    Score

    Notes
    -----
    Ours. A reading at one spot goes before the estimate; an estimate counts only if its bands
    before and after leave little doubt.

    Examples
    --------
    >>> score("tub", Evidence(1.0, 7.0, drained=3.0)).verdict
    'worked'
    >>> score("too dry", Evidence(3.0, 3.0, same_spot=6.5)).verdict
    'worked'
    >>> score("hungry", Evidence(1.0, 4.0)).verdict
    'too early'
    """
    judge = JUDGES.get(name)
    if judge is None:
        return Score(CANNOT_TELL, "Nothing was to be seen by which to judge it.", {})
    early = seen.days < 0.8 * seen.wanted_days
    found = judge(seen)
    if early and found.verdict in (DID_NOT, CANNOT_TELL):
        return Score(TOO_EARLY, "It needs more days before it can be judged.", {})
    return found


def _warmed(least: float) -> Callable[[Evidence], Score]:
    def judge(seen: Evidence) -> Score:
        if seen.same_spot is not None:
            numbers = {"change": (seen.same_spot, "K")}
            if seen.same_spot >= least:
                return Score(WORKED, "The same thermometer reads {change} more.", numbers)
            return Score(DID_NOT, "The same thermometer changed by only {change}.", numbers)
        if seen.before is None or seen.after is None:
            return Score(CANNOT_TELL, "Nothing was read before and after.", {})
        change, doubt = _change(seen.before, seen.after)
        numbers = {"change": (change, "K")}
        if change - doubt >= least:
            return Score(WORKED, "The hottest layer is {change} warmer by the estimate.", numbers)
        if change + doubt < least:
            return Score(DID_NOT, "The hottest layer changed by {change} by the estimate.", numbers)
        return Score(
            CANNOT_TELL, "It changed by {change}, but the estimate is too wide to tell.", numbers
        )

    return judge


def _change(before: Spread, after: Spread) -> tuple[float, float]:
    """Change of the middle, and how far it may be off."""
    doubt = 0.25 * ((before.high - before.low) + (after.high - after.low))
    return after.mid - before.mid, doubt


def _cooled(to: str) -> Callable[[Evidence], Score]:
    def judge(seen: Evidence) -> Score:
        if seen.after is None:
            return Score(CANNOT_TELL, "Nothing is known of the days after.", {})
        numbers = {"now": (seen.after.mid, "degC")}
        chance = seen.after.chance_below(limit(to))
        if chance >= share("sure_chance"):
            return Score(WORKED, "The hottest layer is at {now}.", numbers)
        if chance <= 1.0 - share("sure_chance"):
            return Score(DID_NOT, "The hottest layer is still at {now}.", numbers)
        return Score(CANNOT_TELL, "The hottest layer is near the limit, at {now}.", numbers)

    return judge


def _aired(seen: Evidence) -> Score:
    if seen.smell in FOUL or seen.squeeze == "trickle":
        what = f"it smelled of {seen.smell}" if seen.smell in FOUL else "a handful still ran"
        return Score(DID_NOT, f"Afterwards {what}.", {})
    if seen.smell in ("none", "earthy") and seen.squeeze != "drops":
        return Score(WORKED, "No foul smell afterwards.", {})
    if seen.squeeze == "damp":
        return Score(WORKED, "A squeezed handful was damp and no more.", {})
    warmed = _warmed(limit("watered_rise_least"))(seen)
    if warmed.verdict == WORKED:
        return warmed
    return Score(CANNOT_TELL, "Nobody wrote how it smelled or felt afterwards.", {})


def _wetted(seen: Evidence) -> Score:
    if seen.squeeze == "dry":
        return Score(DID_NOT, "A squeezed handful was still dry.", {})
    if seen.squeeze in ("damp", "drops"):
        return Score(WORKED, "A squeezed handful was damp again.", {})
    return _warmed(limit("watered_rise_least"))(seen)


def _emptied(seen: Evidence) -> Score:
    if seen.drained is None:
        return Score(CANNOT_TELL, "Nobody wrote how much came.", {})
    numbers = {"litres": (seen.drained, "L")}
    if seen.drained > 0.0:
        return Score(WORKED, "{litres} came out.", numbers)
    return Score(DID_NOT, "It was empty: the estimate was wrong there.", numbers)


def _dug(seen: Evidence) -> Score:
    if seen.room_cm is None:
        return Score(CANNOT_TELL, "Nobody wrote the level.", {})
    numbers = {"room": (max(seen.room_cm.mid, 0.0), "cm")}
    chance = seen.room_cm.chance_above(limit("full"))
    if chance >= share("sure_chance"):
        return Score(WORKED, "There is {room} of room again.", numbers)
    if seen.dug is None and chance <= 1.0 - share("sure_chance"):
        return Score(DID_NOT, "There is only {room} of room.", numbers)
    return Score(CANNOT_TELL, "How much room there is now was not read.", numbers)


JUDGES: Mapping[str, Callable[[Evidence], Score]] = {
    "hot and dry": _cooled("very_hot"),
    "too hot": _cooled("hot"),
    "tub": _emptied,
    "shut vent": _aired,
    "shut inlet": _aired,
    "airless": _aired,
    "full": _dug,
    "overfull": _dug,
    "soon full": _dug,
    "wide vent": _warmed(limit("watered_rise_least")),
    "too dry": _wetted,
    "hungry": _warmed(limit("fed_rise_least")),
    "draught": _warmed(limit("watered_rise_least")),
    "frozen": _warmed(limit("watered_rise_least")),
}
