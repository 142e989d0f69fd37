"""Troubles of a bin: for each the action against it, and how likely an estimate makes it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from slowfire.advise.condition import Condition, Spread
from slowfire.advise.rules import limit, look_days, share

FIRE = (
    "If it smells of burning or smokes: do not open or fork it. Stand back, keep others away and "
    "call the fire service."
)
HOT_MATERIAL = "Hot material and steam scald: wear gloves, and keep children back."
DUST = (
    "Digging raises dust and spores: damp it first, stand upwind, and wash your hands. With weak "
    "lungs or weak immunity wear a mask, or let somebody else do it."
)
LIQUID = "The liquid is for soil only, never on what is eaten raw; dark and odourless is no proof."
GLOVES = "Wear gloves, cover cuts and wash your hands."


@dataclass(frozen=True)
class Fact:
    """A number behind a sentence, with its unit: degC, %, cm, L, week or day."""

    value: Spread
    unit: str


@dataclass(frozen=True)
class Amount:
    """How much of what: water, dry, coarse, food or dig; in L, caddy or scoop."""

    role: str
    number: float
    unit: str


@dataclass(frozen=True)
class Expectation:
    """What should be seen at the next look.

    `what` is hottest (degC, between low and high), warmer (K, by low to high), airy (smell and
    squeeze), liquid (L a week, at most high), room (cm, at least low), or empty.
    """

    what: str = ""
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Action:
    """What to do, in data that words are made from.

    Attributes
    ----------
    name : str
        Under which answers are written in the journal.
    do, why : str
        Sentences with names of amounts and facts in braces.
    facts : mapping of str to Fact
        Numbers behind the reason.
    amounts : mapping of str to Amount
        Of what is to be done.
    look_days : float
        After so many days somebody should look again [day].
    expect : Expectation
        What should be seen then.
    stop : str
        When to stop, empty if there is no need.
    cautions : tuple of str
        Said where the hazard is met.
    rests_on : str
        temperature, moisture, level or tub: what would have to be read to be surer.
    rule_names : tuple of str
        Thresholds it used.
    """

    name: str
    do: str
    why: str
    facts: Mapping[str, Fact]
    look_days: float
    amounts: Mapping[str, Amount]
    expect: Expectation
    stop: str = ""
    cautions: tuple[str, ...] = ()
    rests_on: str = "temperature"
    rule_names: tuple[str, ...] = ()


@dataclass(frozen=True)
class Trouble:
    """An action that a rule holds ready, how likely its reason is, and how likely it must be."""

    action: Action
    chance: float
    needed: float

    @property
    def speaks(self) -> bool:
        """Whether the reason is likely enough."""
        return self.chance >= self.needed

    @property
    def holds(self) -> bool:
        """Whether it is likely enough for an action that was given before to stand."""
        return self.chance >= self.needed - share("release_drop")


Rule = Callable[[Condition], Trouble | None]


def _too_hot(state: Condition) -> Trouble | None:
    hot = state.hot_slice
    if hot is None:
        return None
    return Trouble(
        Action(
            "too hot",
            "Ease off: no fresh food or grass until {look}.",
            "The hottest layer is at {hottest}. From {hot} on most of what does the work dies "
            "back.",
            {"hottest": celsius_fact(state.hottest), "hot": celsius_fact(limit("hot"))},
            look_days("too hot"),
            {},
            Expectation("hottest", None, limit("hot")),
            cautions=(HOT_MATERIAL,),
            rule_names=("hot",),
        ),
        state.hottest.chance_above(limit("hot")),
        share("chance"),
    )


def _hot_and_dry(state: Condition) -> Trouble | None:
    hot = state.hot_slice
    if hot is None:
        return None
    chance = min(
        state.hottest.chance_above(limit("very_hot")),
        hot.moisture_percent.chance_below(limit("dry_for_heat")),
    )
    litres = _dose(state, "heat_water_dose")
    return Trouble(
        Action(
            "hot and dry",
            "Pour {water} of water slowly over the top, from the rim inwards, and put nothing in "
            "until {look}.",
            "The hottest layer is at {hottest} and holds {water_there} water. Dry stuff that "
            "hot may go on heating by itself; at home that is rare.",
            {
                "hottest": celsius_fact(state.hottest),
                "water_there": Fact(hot.moisture_percent, "%"),
            },
            look_days("hot and dry"),
            {"water": Amount("water", litres, "L")},
            Expectation("hottest", None, limit("very_hot")),
            stop="Stop if you smell burning or see smoke.",
            cautions=(FIRE, HOT_MATERIAL),
            rule_names=("very_hot", "dry_for_heat", "heat_water_dose"),
        ),
        chance,
        share("chance"),
    )


def _tub(state: Condition) -> Trouble | None:
    tub = state.tub_percent
    if tub is None:
        return None
    return Trouble(
        Action(
            "tub",
            "Empty the tub, and write down how much came.",
            "It is about {tub} full, and liquid that stands at the base shuts the air out.",
            {"tub": Fact(Spread(tub.mid, tub.mid, tub.mid), "%")},
            look_days("tub"),
            {},
            Expectation("liquid", None, limit("normal_liquid")),
            cautions=(LIQUID, GLOVES),
            rests_on="tub",
            rule_names=("tub_full", "normal_liquid"),
        ),
        tub.chance_above(limit("tub_full")),
        share("chance"),
    )


def _shut(state: Condition) -> Trouble | None:
    """A vent that is shut though the bin is short of air."""
    if "shut" not in (state.vent, state.base_inlet):
        return None
    at_lid = state.vent == "shut"
    where = "lid vent" if at_lid else "inlet at the base"
    name = "shut vent" if at_lid else "shut inlet"
    return Trouble(
        Action(
            name,
            f"Open the {where} by a crack of {{crack}}.",
            f"The {where} is shut, and air in the upper half is down to {{oxygen}} oxygen; fresh "
            "air has 21 %.",
            {"oxygen": Fact(_least_oxygen(state), "%")},
            look_days(name),
            {"crack": Amount("crack", 2.0, "mm")},
            Expectation("airy"),
            stop="Shut it again if it cools by more than 10 °C (18 °F) in a day.",
            rests_on="moisture",
            rule_names=("airy",),
        ),
        max(state.chance_short_of_air(limit("airy")), state.cold_airless or 0.0),
        share("chance"),
    )


def _airless(state: Condition) -> Trouble | None:
    if not state.upper:
        return None
    wet, short = state.chance_wet(limit("too_wet")), state.chance_short_of_air(
        limit("little_oxygen")
    )  # fmt: skip
    stuck = state.cold_airless or 0.0
    worst = max(state.upper, key=lambda one: one.moisture_percent.mid)
    return Trouble(
        Action(
            "airless",
            "Mix {dry} and {coarse} into the newest hand's breadth.",
            "It is too wet to let air through. The wettest of the upper part holds {water} water, "
            "where 60 to 75 % runs well; the least airy holds {oxygen} oxygen, where fresh air has "
            "21 %.",
            {
                "water": Fact(worst.moisture_percent, "%"),
                "oxygen": Fact(_least_oxygen(state), "%"),
            },
            look_days("airless"),
            {
                "dry": Amount("dry", limit("dry_stuff_dose"), "caddy"),
                "coarse": Amount("coarse", limit("coarse_dose"), "scoop"),
            },
            Expectation("airy"),
            stop="Stir only the newest layer; leave what lies below alone.",
            cautions=(GLOVES,),
            rests_on="moisture",
            rule_names=("too_wet", "little_oxygen", "dry_stuff_dose", "coarse_dose"),
        ),
        max(stuck, min(wet, short)),
        share("chance"),
    )


def _full(state: Condition) -> Trouble | None:
    if not state.slices:
        return None
    chance = state.room_cm.chance_below(limit("full"))
    young = state.slices[0].age_days < limit("young_base")
    room = {"room": Fact(_not_below(state.room_cm, 0.0), "cm")}
    base = {"age": plain_fact(state.slices[0].age_days, "day")}
    if young:
        return Trouble(
            Action(
                "overfull",
                "Hold the next load back in the caddy on a floor of dry paper, lid shut.",
                "There is room for hardly one load ({room} below the rim), and what lies at the "
                "door is only {age} old: too young to dig out.",
                room | base,
                look_days("overfull"),
                {},
                Expectation("room", limit("full"), None),
                rests_on="level",
                rule_names=("full", "young_base", "sure_chance"),
            ),
            chance,
            share("sure_chance"),
        )
    do = "Dig {dig} out at the door before the next load."
    if not _level_known(state):
        do = (
            "See how far the surface is below the rim. With less than {little}, dig {dig} out at "
            "the door before the next load."
        )
        room["little"] = plain_fact(limit("full"), "cm")
    return Trouble(
        Action(
            "full",
            do,
            "There is room for hardly one load: {room} below the rim. What lies at the door is "
            "about {age} old.",
            room | base,
            look_days("full"),
            {"dig": Amount("dig", 10.0 * state.area_m2 * limit("dug_depth"), "L")},
            Expectation("room", limit("nearly_full"), None),
            stop="Stop where it is still hot or smells of food.",
            cautions=(DUST, GLOVES),
            rests_on="level",
            rule_names=(
                "full",
                "known_level",
                "dug_depth",
                "young_base",
                "nearly_full",
                "sure_chance",
            ),
        ),
        chance,
        share("sure_chance"),
    )


def _wide(state: Condition) -> Trouble | None:
    """A vent that is wide open though the bin is cool or dry."""
    if state.vent not in ("wider", "open") or not state.slices:
        return None
    cool = state.chance_cool(limit("cool_above_air"))
    dry = state.chance_dry(limit("too_dry"))
    why = "The hottest layer is only at {hottest} with {air} outside, and a wide vent lets its heat"
    facts = {"hottest": celsius_fact(state.hottest), "air": celsius_fact(state.air.mid)}
    if dry > cool:
        why, facts = (
            "Much of its upper part holds only {water} water, and a wide vent lets more",
            {"water": Fact(_dry_water(state), "%")},
        )
    return Trouble(
        Action(
            "wide vent",
            "Close the lid vent to a crack of {crack}.",
            f"{why} out.",
            facts,
            look_days("wide vent"),
            {"crack": Amount("crack", 2.0, "mm")},
            Expectation("hottest"),
            stop="Open it again if it begins to smell.",
            rests_on="moisture" if dry > cool else "temperature",
            rule_names=("cool_above_air", "too_dry"),
        ),
        max(cool, dry),
        share("chance"),
    )


def _too_dry(state: Condition) -> Trouble | None:
    if not state.upper:
        return None
    far = _dry_water(state).mid < limit("very_dry")
    more = " It will take several such doses, some days apart." if far else ""
    return Trouble(
        Action(
            "too dry",
            "Pour {water} of water slowly over the top.",
            "Much of its upper part holds only {water_there} water; below {too_dry} all work slows "
            f"down, heat or no heat.{more}",
            {
                "water_there": Fact(_dry_water(state), "%"),
                "too_dry": plain_fact(limit("too_dry"), "%"),
            },
            look_days("too dry"),
            {"water": Amount("water", _dose(state, "water_dose"), "L")},
            Expectation("warmer", limit("watered_rise_least"), limit("watered_rise_most")),
            stop="Stop if liquid runs out at the base.",
            rests_on="moisture",
            rule_names=(
                "too_dry", "very_dry", "water_dose", "watered_rise_least", "watered_rise_most",
                "sure_chance",
            ),
        ),
        state.chance_dry(limit("too_dry")),
        share("sure_chance"),
    )  # fmt: skip


def _frozen(state: Condition) -> Trouble | None:
    if not state.slices:
        return None
    return Trouble(
        Action(
            "frozen",
            "Leave it shut, and save the food up in the caddy or the freezer.",
            "The hottest layer is at {hottest} with {air} outside: frozen, and none the worse for "
            "it. A batch put in at once in milder weather starts it again; bit by bit it would "
            "only freeze.",
            {"hottest": celsius_fact(state.hottest), "air": celsius_fact(state.air.mid)},
            _days_until_mild(state),
            {},
            Expectation("hottest"),
            rule_names=("frozen", "cold_air", "sure_chance"),
        ),
        state.hottest.chance_below(limit("frozen")),
        share("sure_chance"),
    )


def _cold(state: Condition) -> Trouble | None:
    """Cool through and through: too little food, too cold outside, or a draught."""
    if not state.slices:
        return None
    now = state.chance_cool(limit("cold_above_air"))
    facts = {"hottest": celsius_fact(state.hottest), "air": celsius_fact(state.air.mid)}
    fed = state.fed_percent_a_week
    if fed is None or fed < limit("little_food"):
        soon = _chance_going_cold(state)
        lead = "The hottest layer is at {hottest} with {air} outside"
        if soon > now:
            lead += ", and likely to go cold within days"
        told = ""
        if fed is not None:
            told = ": food of a week is {fed} of what lies there ({little_food} keeps a bin warm)"
            facts["fed"] = plain_fact(fed, "%")
            facts["little_food"] = plain_fact(limit("little_food"), "%")
        return Trouble(
            Action(
                "hungry",
                "Save the food up, then put {food} in at one time with {dry}.",
                f"{lead}. It has little to burn{told}.",
                facts,
                look_days("hungry"),
                {
                    "food": Amount("food", limit("batch"), "caddy"),
                    "dry": Amount("dry", 0.5 * limit("batch"), "caddy"),
                },
                Expectation("warmer", limit("fed_rise_least"), None),
                stop="Hold half of it back if a squeezed handful of what lies there drips.",
                rule_names=(
                    "cold_above_air", "little_food", "batch", "fed_rise_least", "sure_chance",
                ),
            ),
            max(now, soon),
            share("sure_chance"),
        )  # fmt: skip
    if state.air.mid < limit("cold_air"):
        return Trouble(
            Action(
                "cold",
                "Feed on in batches, open it seldom, and keep the lid snug.",
                "The hottest layer is at {hottest} with {air} outside: fed well enough, but the "
                "cold takes what it makes. Slow is no harm.",
                facts,
                look_days("cold"),
                {},
                Expectation("hottest"),
                rule_names=("cold_above_air", "cold_air", "little_food", "sure_chance"),
            ),
            now,
            share("sure_chance"),
        )
    return Trouble(
        Action(
            "draught",
            "Feel round the lid and down the joints on a cold evening, and stop gaps with a strip "
            "of foam or cloth. Leave vent and inlet open.",
            "The hottest layer is only at {hottest} with {air} outside, though it is fed enough "
            "and neither wet nor dry: then heat mostly leaks.",
            facts,
            look_days("draught"),
            {},
            Expectation("warmer", limit("watered_rise_least"), None),
            stop="Do not make it airtight.",
            rule_names=("cold_above_air", "little_food", "sure_chance", "watered_rise_least"),
        ),
        now,
        share("sure_chance"),
    )


def _soon_full(state: Condition) -> Trouble | None:
    if not state.slices or state.slices[0].age_days < limit("young_base"):
        return None
    if not _level_known(state):
        return None
    weeks = state.weeks_of_room
    by_level = state.room_cm.chance_below(limit("nearly_full"))
    by_weeks = 0.0 if weeks is None else weeks.chance_below(limit("few_weeks"))
    facts = {"room": Fact(_not_below(state.room_cm, 0.0), "cm")}
    why = "Room is left for two or three loads: {room} below the rim."
    if weeks is not None:
        facts["weeks"] = Fact(weeks, "week")
        why = "Room left as you feed it: {weeks}. The surface is {room} below the rim."
    return Trouble(
        Action(
            "soon full",
            "Plan a dig-out within the next two weeks.",
            why,
            facts,
            look_days("soon full"),
            {},
            Expectation("room", limit("full"), None),
            rests_on="level",
            rule_names=("nearly_full", "few_weeks", "known_level", "young_base", "sure_chance"),
        ),
        max(by_level, by_weeks),
        share("sure_chance"),
    )


# The first that speaks is the one; dangers first, then what is cheap before what is work.
RULES: Sequence[Rule] = (
    _hot_and_dry,
    _too_hot,
    _tub,
    _frozen,
    _shut,
    _airless,
    _full,
    _wide,
    _too_dry,
    _cold,
    _soon_full,
)


def troubles_of(state: Condition) -> tuple[Trouble, ...]:
    """What every rule says of a bin, by precedence.

    Parameters
    ----------
    state : Condition
        The bin [-].

    Returns
    -------
    tuple of Trouble
        Those too that do not speak.
    """
    found = (rule(state) for rule in RULES)
    return tuple(one for one in found if one is not None)


def celsius_fact(value: Spread | float) -> Fact:
    """A temperature as a fact, with its spread if there is one."""
    return Fact(value, "degC") if isinstance(value, Spread) else plain_fact(value, "degC")


def plain_fact(value: float, unit: str) -> Fact:
    """A number without spread as a fact."""
    return Fact(Spread(value, value, value), unit)


def _level_known(state: Condition) -> bool:
    """Whether the room below the rim is known well enough to plan by."""
    return state.room_cm.high - state.room_cm.low <= limit("known_level")


def _not_below(value: Spread, least: float) -> Spread:
    return Spread(max(value.low, least), max(value.mid, least), max(value.high, least))


def _least_oxygen(state: Condition) -> Spread:
    return min((one.oxygen_percent for one in state.upper), key=lambda one: one.mid)


def _dry_water(state: Condition) -> Spread:
    """Water that half of the working part does not exceed."""
    ranked = sorted((one.moisture_percent for one in state.upper), key=lambda one: one.mid)
    return ranked[(len(ranked) - 1) // 2]


def _dose(state: Condition, rule: str) -> float:
    """Litres of water for a floor, in halves."""
    return max(round(2.0 * limit(rule) * state.area_m2) / 2.0, 0.5)


def _chance_going_cold(state: Condition) -> float:
    chances = [
        day.hottest.chance_below(day.air.mid + limit("cold_above_air"))
        for day in state.ahead
        if day.days <= limit("rest_assumed")
    ]
    return max(chances, default=0.0)


def _days_until_mild(state: Condition) -> float:
    """Days until the air is likelier mild than not, from three on."""
    for day in state.ahead:
        if day.air.mid >= limit("cold_air") and day.days >= 3.0:
            return day.days
    return look_days("frozen")
