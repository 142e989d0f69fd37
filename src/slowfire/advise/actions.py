"""The one thing to do next at a bin, from what an estimate says of it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from slowfire.advise.rules import limit

QUANTILES = (0.05, 0.5, 0.95)


@dataclass(frozen=True)
class Spread:
    """5th, 50th and 95th percentile of one quantity [mixed]."""

    low: float
    mid: float
    high: float

    def chance_above(self, number: float) -> float:
        """Probability of being above a number, by straight lines between the percentiles [-]."""
        points = (self.low, self.mid, self.high)
        below = 0.0
        if number >= self.high:
            width = max(self.high - self.mid, 1e-9)
            below = min(0.95 + 0.05 * (number - self.high) / width, 1.0)
        elif number <= self.low:
            width = max(self.mid - self.low, 1e-9)
            below = max(0.05 - 0.05 * (self.low - number) / width, 0.0)
        else:
            k = 0 if number < self.mid else 1
            part = (number - points[k]) / max(points[k + 1] - points[k], 1e-9)
            below = QUANTILES[k] + part * (QUANTILES[k + 1] - QUANTILES[k])
        return 1.0 - below


@dataclass(frozen=True)
class Slice:
    """A layer as advice sees it; height of its middle over that of the stack [-]."""

    place: float
    celsius: Spread
    moisture_percent: Spread
    oxygen_percent: Spread


@dataclass(frozen=True)
class Outlook:
    """One day ahead: its date, hottest layer [degC], and chances [percent]."""

    date: str
    hottest: Spread
    over_70_percent: float
    cold_airless_percent: float | None


@dataclass(frozen=True)
class Condition:
    """What advice rests on.

    Attributes
    ----------
    hottest, lid, air : Spread
        Now [degC].
    slices : tuple of Slice
        From the base up.
    room_cm : Spread
        From the surface to the rim [cm].
    tub_percent : Spread or None
        Of what the tub holds [percent]; None without a tub.
    cold_airless : float or None
        Chance of being cold and airless [-].
    vent : str
        Opening of the lid vent as last written: shut, crack, wider, open, or empty.
    days_since_load : float or None
        [day]; None if nothing was ever put in.
    from_readings : bool
        Whether a thermometer was read in the estimate's window.
    ahead : tuple of Outlook
        The days ahead.
    """

    hottest: Spread
    lid: Spread
    air: Spread
    slices: tuple[Slice, ...]
    room_cm: Spread
    tub_percent: Spread | None
    cold_airless: float | None
    vent: str
    days_since_load: float | None
    from_readings: bool
    ahead: tuple[Outlook, ...]


@dataclass(frozen=True)
class Action:
    """What to do, in data that words are made from.

    Attributes
    ----------
    name : str
        Of the rule that speaks.
    do : str
        In one sentence.
    why : str
        In one sentence, without numbers; they stand in `facts`.
    facts : tuple of tuple
        Name, number and unit of what it rests on.
    look_days : int
        After so many days somebody should look again [day].
    expect : str
        middle, hottest or moisture: what should be seen then.
    stop : str
        When to stop, empty if there is no need.
    cautions : tuple of str
        Said where the hazard is met.
    rule_names : tuple of str
        Thresholds it used.
    """

    name: str
    do: str
    why: str
    facts: tuple[tuple[str, float, str], ...]
    look_days: int
    expect: str = "hottest"
    stop: str = ""
    cautions: tuple[str, ...] = ()
    rule_names: tuple[str, ...] = ()


FIRE = (
    "Smell of burning or smoke: do not open or fork it, stand back, keep others away and call the "
    "fire service."
)
HOT_MATERIAL = "Hot material and steam scald: gloves, and keep children back."
DUST = "Digging raises dust and spores: keep it damp and stand upwind; with weak lungs wear a mask."
LIQUID = "The liquid is for soil only, never on what is eaten raw; dark and odourless is no proof."
GLOVES = "Gloves; cover cuts and wash your hands."


def _facts(*given: tuple[str, float, str]) -> tuple[tuple[str, float, str], ...]:
    return given


def _hot_slice(state: Condition) -> Slice | None:
    return max(state.slices, key=lambda one: one.celsius.mid) if state.slices else None


def _too_hot(state: Condition) -> Action | None:
    hot = _hot_slice(state)
    chance = limit("chance") / 100.0
    if hot is None or state.hottest.chance_above(limit("hot")) < chance:
        return None
    dry = hot.moisture_percent.chance_above(limit("dry_for_heat")) < chance
    if dry and state.hottest.chance_above(limit("very_hot")) >= chance:
        return Action(
            "hot and dry",
            "Pour 5 L of water slowly over the top, and put nothing in for three days.",
            "The middle is very hot and dry, and dry hot stuff can smoulder.",
            _facts(
                ("hottest layer", state.hottest.mid, "degC"),
                ("its water", hot.moisture_percent.mid, "%"),
            ),
            1,
            stop="Stop if you smell burning.",
            cautions=(FIRE, HOT_MATERIAL),
            rule_names=("very_hot", "dry_for_heat"),
        )
    return Action(
        "too hot",
        "Ease off: no fresh food or grass for three days.",
        "Above this heat the bacteria that do the work die back.",
        _facts(("hottest layer", state.hottest.mid, "degC")),
        2,
        cautions=(HOT_MATERIAL,),
        rule_names=("hot",),
    )


def _tub(state: Condition) -> Action | None:
    tub = state.tub_percent
    if tub is None or tub.chance_above(limit("tub_full")) < limit("chance") / 100.0:
        return None
    return Action(
        "tub",
        "Empty the tub, and write down how many litres came.",
        "It is nearly full, and liquid that stands shuts the air out at the base.",
        _facts(("tub", tub.mid, "% full")),
        7,
        expect="",
        cautions=(LIQUID, GLOVES),
        rule_names=("tub_full",),
    )


def _full(state: Condition) -> Action | None:
    room = state.room_cm
    if room.chance_above(limit("full")) > 1.0 - limit("sure_chance") / 100.0:
        return None
    return Action(
        "full",
        "Dig some out at the door before the next load, from the lowest hand's breadth.",
        "There is room for hardly one more load.",
        _facts(("room below the rim", max(room.mid, 0.0), "cm")),
        3,
        expect="",
        stop="Stop where it is still hot or smells of food.",
        cautions=(DUST, GLOVES),
        rule_names=("full", "sure_chance"),
    )


def _airless(state: Condition) -> Action | None:
    upper = [one for one in state.slices if one.place > 0.4]
    chance = limit("chance") / 100.0
    wet = [one for one in upper if one.moisture_percent.chance_above(limit("too_wet")) >= chance]
    short = [
        one
        for one in upper
        if 1.0 - one.oxygen_percent.chance_above(limit("little_oxygen")) >= chance
    ]
    stuck = state.cold_airless is not None and state.cold_airless >= chance
    if not (stuck or (wet and short)):
        return None
    worst = max(upper or state.slices, key=lambda one: one.moisture_percent.mid)
    facts = _facts(
        ("water near the top", worst.moisture_percent.mid, "%"),
        ("least oxygen", min(one.oxygen_percent.mid for one in state.slices), "%"),
    )
    if state.vent == "shut":
        return Action(
            "vent",
            "Open the lid vent by a crack of 1 to 2 mm.",
            "It is short of air, and the vent is shut.",
            facts,
            3,
            rule_names=("little_oxygen", "chance"),
        )
    return Action(
        "airless",
        "Mix half a caddy of shredded paper or card and two scoops of chips into the newest layer.",
        "It is too wet to let air through.",
        facts,
        3,
        stop="Stir only the newest layer; leave what lies below alone.",
        cautions=(GLOVES,),
        rule_names=("too_wet", "little_oxygen", "chance"),
    )


def _too_dry(state: Condition) -> Action | None:
    upper = [one for one in state.slices if one.place > 0.4]
    sure = limit("sure_chance") / 100.0
    dry = [
        one for one in upper if 1.0 - one.moisture_percent.chance_above(limit("too_dry")) >= sure
    ]
    if not dry or 2 * len(dry) < len(upper):
        return None
    driest = min(dry, key=lambda one: one.moisture_percent.mid)
    return Action(
        "too dry",
        "Pour 3 L of water slowly over the top, or leave out paper and card for the next loads.",
        "It is too dry for bacteria to work.",
        _facts(("water near the top", driest.moisture_percent.mid, "%")),
        4,
        expect="hottest",
        stop="Stop if liquid runs out at the base.",
        rule_names=("too_dry", "sure_chance"),
    )


def _cold(state: Condition) -> Action | None:
    chance = limit("chance") / 100.0
    above = limit("cold_above_air")
    if state.hottest.chance_above(state.air.mid + above) > 1.0 - limit("sure_chance") / 100.0:
        return None
    facts = _facts(
        ("hottest layer", state.hottest.mid, "degC"), ("air outside", state.air.mid, "degC")
    )
    if state.hottest.chance_above(limit("frozen")) < chance:
        return Action(
            "frozen",
            "Leave it shut, or start it with a hot-water bottle laid 15 cm under fresh food.",
            "It is frozen, and waits until there is enough food or it thaws.",
            facts,
            14,
            cautions=("Hot water scalds: close the bottle well.",),
            rule_names=("frozen", "cold_above_air"),
        )
    if state.vent in ("wider", "open"):
        return Action(
            "vent",
            "Close the lid vent to a crack of 1 to 2 mm.",
            "It is cool, and a wide vent lets its heat out.",
            facts,
            4,
            rule_names=("cold_above_air",),
        )
    if state.air.mid < limit("warm_air"):
        return Action(
            "cold",
            "Feed on as you do; a caddy of mown grass or a full house would warm it up.",
            "It has little food for its size, and cold months slow it.",
            facts,
            7,
            rule_names=("cold_above_air", "warm_air"),
        )
    return Action(
        "hungry",
        "Add a good load: a caddy of food with half a caddy of shredded paper, or some mown grass.",
        "It has little left to burn.",
        facts,
        4,
        rule_names=("cold_above_air",),
    )


def _soon_full(state: Condition) -> Action | None:
    room = state.room_cm
    if room.chance_above(limit("nearly_full")) > 1.0 - limit("sure_chance") / 100.0:
        return None
    return Action(
        "soon full",
        "Plan a dig-out within the next two weeks.",
        "There is room for two or three more loads.",
        _facts(("room below the rim", max(room.mid, 0.0), "cm")),
        7,
        expect="",
        rule_names=("nearly_full", "sure_chance"),
    )


# The first that speaks is the one; urgent and cheap before slow and laborious.
RULES: Sequence[Callable[[Condition], Action | None]] = (
    _too_hot,
    _tub,
    _airless,
    _full,
    _too_dry,
    _cold,
    _soon_full,
)


def next_action(state: Condition) -> Action:
    """Choose the one thing to do next.

    Parameters
    ----------
    state : Condition
        What an estimate says of the bin.

    Returns
    -------
    Action
        Mostly that there is nothing to do until some day.

    Notes
    -----
    Ours, from thresholds of `action_rules.csv`. Rules speak on probabilities, not on middle values
    alone.

    Examples
    --------
    >>> well = Spread(40.0, 48.0, 55.0)
    >>> fine = Spread(55.0, 62.0, 68.0)
    >>> air = Spread(12.0, 12.0, 12.0)
    >>> layer = Slice(0.5, well, fine, Spread(10.0, 14.0, 18.0))
    >>> state = Condition(
    ...     well, air, air, (layer,), Spread(30.0, 40.0, 50.0), None, 0.0, "crack", 1.0, True, ()
    ... )
    >>> next_action(state).name
    'nothing'
    """
    for rule in RULES:
        found = rule(state)
        if found is not None:
            return found
    return Action(
        "nothing",
        "Nothing to do.",
        _well(state),
        _facts(("hottest layer", state.hottest.mid, "degC")),
        days_of_rest(state),
    )


def _well(state: Condition) -> str:
    if not state.slices:
        return "It is empty."
    if state.hottest.mid >= limit("working_hot"):
        return "It is hot inside and has air."
    warm = state.hottest.mid - state.air.mid >= limit("working_warm")
    return "It is warm inside and has air." if warm else "It works slowly and has air."


def days_of_rest(state: Condition) -> int:
    """Days until the estimate itself would change its mind, 2 to 7 [day].

    Without a thermometer reading it is at most 4, since the estimate is wide.
    """
    most = 7 if state.from_readings else 4
    for number, day in enumerate(state.ahead[:most], start=1):
        turns = day.over_70_percent >= limit("chance")
        turns |= day.cold_airless_percent is not None and (
            day.cold_airless_percent >= limit("chance")
        )
        if turns:
            return max(number - 1, 2)
    return most
