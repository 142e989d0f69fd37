"""What an entry of each kind holds, as typed by the keeper."""

from dataclasses import dataclass, fields
from datetime import date
from typing import ClassVar

from slowfire.quantities import Amount, Length, Position, Temperature, length_up_to
from slowfire.quantities import temperature_between as between
from slowfire.refusals import RefusedField, free_text, name_text, nearest, number_in, one_of
from slowfire.site import ABOUT, SETTING_KEYS, SHELTERS

SMELLS = ("none", "earthy", "ammonia", "sour", "rotten-egg")
SQUEEZES = ("dry", "damp", "drops", "trickle")
COUNTS = ("none", "few", "many")
PACKINGS = ("loose", "dense")
STATES = ("fresh", "stale", "frozen", "wet", "dry")
SPOTS = ("centre", "edge", "corner", "door", "lid")
WORM_PLACES = ("top", "middle", "base", "edges", "everywhere")
RODENTS = ("none", "holes", "droppings", "gnawing", "seen")
FAULTS = ("none", "seal", "drain", "lid", "door", "strap")
OPENINGS = ("shut", "crack", "wider", "open")
VENTS = ("lid", "base")
COVERS = ("insulation", "roof", "sheet")
COLOURS = ("clear", "pale", "yellow", "brown", "dark", "black")
SIDES = ("base", "front", "back", "left", "right", "top", "all")
TESTS = ("water-fill", "bag", "flask", "cress", "radish", "pea", "ice-water")
GROWTHS = ("green", "pale", "yellow", "cupped", "stunted", "dead")
SWELLINGS = ("flat", "puffed", "burst")
USES = ("mulch", "dug-in", "drench", "potting", "seedlings", "sieved-back")
STORES = ("bin", "store")
CHANGES = ("bought", "gathered", "counted", "used")
PLANS = ("people", "visitors", "absence", "mowing", "leaf-fall", "pruning", "term")
REPEATS = ("none", "weekly", "fortnightly", "monthly", "yearly")
ANSWERS = ("given", "done", "not-done", "not-right", "postponed")

Words = tuple[str, ...]


@dataclass(frozen=True)
class Stocktake:
    """A start for a bin that is already running; every part may be left out.

    `level` is the surface below the rim, `feed` the usual feed of one week, `mostly` what mainly
    went in.
    """

    kind: ClassVar[str] = "stocktake"
    level: Length | None = None
    since: date | None = None
    feed: Amount | None = None
    dug: date | None = None
    squeeze: str | None = None
    worms: str | None = None
    mostly: Words = ()

    def __post_init__(self) -> None:
        _up_to("level", self.level, 3.0)
        _choice("squeeze", self.squeeze, SQUEEZES)
        _choice("worms", self.worms, COUNTS)
        mostly = tuple(name_text("mostly", one) for one in self.mostly)
        if any("+" in one for one in mostly):
            raise RefusedField("mostly", "a material in mostly holds a +; take it out of the name.")
        _set(self, "mostly", mostly)
        if self.since and self.dug and self.dug < self.since:
            raise RefusedField("dug", f"dug is {self.dug}, before since ({self.since}); swap them.")


@dataclass(frozen=True)
class LoadItem:
    """One material of a load: what, how much, how packed and in what state."""

    material: str
    amount: Amount
    packing: str | None = None
    state: str | None = None
    days: float | None = None
    held_back: float | None = None
    temperature: Temperature | None = None

    def __post_init__(self) -> None:
        _name(self, "material")
        _above_zero("amount", self.amount)
        _choice("packing", self.packing, PACKINGS)
        _choice("state", self.state, STATES)
        _number(self, "days", 0.0, 365.0, "days in the caddy")
        _number(self, "held_back", 0.0, 95.0, "%")
        if self.temperature is not None:
            between("temperature", self.temperature, -30.0, 100.0, "a load")


@dataclass(frozen=True)
class Load:
    """Materials put in together: a new layer on top."""

    kind: ClassVar[str] = "load"
    items: tuple[LoadItem, ...]

    def __post_init__(self) -> None:
        _set(self, "items", tuple(self.items))
        if not self.items:
            raise RefusedField("items", "a load has no material; name at least one.")
        if len(set(self.items)) < len(self.items):
            raise RefusedField("items", "a load names the same amount of one material twice.")


@dataclass(frozen=True)
class Reading:
    """A temperature read from a thermometer, at a depth or height if known."""

    kind: ClassVar[str] = "reading"
    thermometer: str
    temperature: Temperature
    position: Position | None = None
    spot: str | None = None

    def __post_init__(self) -> None:
        _name(self, "thermometer")
        between("temperature", self.temperature, -40.0, 85.0, "a bin reading")
        _choice("spot", self.spot, SPOTS)


@dataclass(frozen=True)
class Look:
    """What was seen, smelled and felt; only what was noticed is filled in."""

    kind: ClassVar[str] = "look"
    level: Length | None = None
    smell: str | None = None
    squeeze: str | None = None
    flies: str | None = None
    larvae: str | None = None
    worms: str | None = None
    worms_at: str | None = None
    rodents: str | None = None
    steam: bool | None = None
    bulge: bool | None = None
    fault: str | None = None
    plastic: str | None = None

    def __post_init__(self) -> None:
        _up_to("level", self.level, 3.0)
        _choice("smell", self.smell, SMELLS)
        _choice("squeeze", self.squeeze, SQUEEZES)
        for name in ("flies", "larvae", "worms", "plastic"):
            _choice(name, getattr(self, name), COUNTS)
        _choice("worms_at", self.worms_at, WORM_PLACES)
        _choice("rodents", self.rodents, RODENTS)
        _choice("fault", self.fault, FAULTS)
        if all(getattr(self, one.name) is None for one in fields(self)):
            raise RefusedField(
                "smell",
                "a look says nothing; name what was seen, such as smell=earthy, or write usual.",
            )


@dataclass(frozen=True)
class Usual:
    """All as usual: no smell, no surprise."""

    kind: ClassVar[str] = "usual"


@dataclass(frozen=True)
class Stir:
    """Material mixed in place down to a depth (to the base if none is given)."""

    kind: ClassVar[str] = "stir"
    depth: Length | None = None
    tool: str | None = None

    def __post_init__(self) -> None:
        _up_to("depth", self.depth, 3.0)
        _name(self, "tool")


@dataclass(frozen=True)
class Poke:
    """Air holes made with a rod down to a depth (to the base if none is given)."""

    kind: ClassVar[str] = "poke"
    depth: Length | None = None
    tool: str | None = None

    def __post_init__(self) -> None:
        _up_to("depth", self.depth, 3.0)
        _name(self, "tool")


@dataclass(frozen=True)
class Turn:
    """The heap taken out or over and put back, down to a depth (all if none is given)."""

    kind: ClassVar[str] = "turn"
    depth: Length | None = None
    tool: str | None = None

    def __post_init__(self) -> None:
        _up_to("depth", self.depth, 3.0)
        _name(self, "tool")


@dataclass(frozen=True)
class Vent:
    """A vent set to a named opening or to a width; the lid vent unless base is named."""

    kind: ClassVar[str] = "vent"
    where: str = "lid"
    opening: str | None = None
    width: Length | None = None

    def __post_init__(self) -> None:
        one_of("where", self.where, VENTS)
        _choice("opening", self.opening, OPENINGS)
        _up_to("width", self.width, 0.3)
        if (self.opening is None) == (self.width is None):
            raise RefusedField(
                "opening",
                f"a vent needs one opening: {', '.join(OPENINGS)}, or a width such as 2 mm.",
            )


@dataclass(frozen=True)
class Cover:
    """Insulation, a roof or a sheet put on or taken off."""

    kind: ClassVar[str] = "cover"
    what: str
    on: bool

    def __post_init__(self) -> None:
        one_of("what", self.what, COVERS)


@dataclass(frozen=True)
class Move:
    """The bin moved to another place, with its shelter and share of sun there."""

    kind: ClassVar[str] = "move"
    place: str
    shelter: str | None = None
    sun: float | None = None

    def __post_init__(self) -> None:
        _name(self, "place")
        _choice("shelter", self.shelter, SHELTERS)
        _number(self, "sun", 0.0, 100.0, "%")


@dataclass(frozen=True)
class Water:
    """Water poured on, reaching a position if that is known."""

    kind: ClassVar[str] = "water"
    amount: Amount
    position: Position | None = None

    def __post_init__(self) -> None:
        _above_zero("amount", self.amount)


@dataclass(frozen=True)
class Warm:
    """A hot-water bottle put in: how much water, how hot and where."""

    kind: ClassVar[str] = "warm"
    amount: Amount
    temperature: Temperature
    position: Position | None = None

    def __post_init__(self) -> None:
        _above_zero("amount", self.amount)
        between("temperature", self.temperature, 20.0, 100.0, "a hot-water bottle")


@dataclass(frozen=True)
class Drain:
    """Liquid taken from the tub; 0 litres says that it was empty."""

    kind: ClassVar[str] = "drain"
    amount: Amount
    colour: str | None = None
    smell: str | None = None
    conductivity: float | None = None

    def __post_init__(self) -> None:
        _choice("colour", self.colour, COLOURS)
        _choice("smell", self.smell, SMELLS)
        _number(self, "conductivity", 0.0, 100.0, "mS/cm")


@dataclass(frozen=True)
class DigOut:
    """Compost taken out, from which side and to where; `oversize_back` if chips went back in.

    `weighed` is what the amount weighed, wet, where somebody had scales.
    """

    kind: ClassVar[str] = "dig_out"
    amount: Amount
    to: str | None = None
    side: str | None = None
    sieve: Length | None = None
    oversize_back: bool | None = None
    weighed: Amount | None = None

    def __post_init__(self) -> None:
        _above_zero("amount", self.amount)
        if self.weighed is not None:
            _above_zero("weighed", self.weighed)
        _name(self, "to")
        _choice("side", self.side, SIDES)
        _up_to("sieve", self.sieve, 0.1)


@dataclass(frozen=True)
class Worms:
    """Worms moved from one place to another."""

    kind: ClassVar[str] = "worms"
    amount: Amount
    source: str | None = None
    to: str | None = None

    def __post_init__(self) -> None:
        _above_zero("amount", self.amount)
        _name(self, "source")
        _name(self, "to")


# What each test cannot be judged without.
TEST_NEEDS = {
    "water-fill": ("sample", "water"),
    "bag": ("swelling", "days"),
    "flask": ("warmest", "surroundings"),
    "cress": ("sown", "sprouted", "control_sprouted"),
    "radish": ("sown", "sprouted", "control_sprouted"),
    "pea": ("growth", "control_growth"),
    "ice-water": ("thermometer", "shown"),
}


@dataclass(frozen=True)
class Test:
    """A home test with its numbers and, for plants, its control.

    Water-fill: litres of `sample` and of `water` it took. Bag: `swelling` after `days`. Flask:
    `warmest` inside against `surroundings`. Plants: seeds `sown` (in compost and in control each),
    `sprouted`, `control_sprouted`, `growth`, `control_growth`. Ice water: what the
    `thermometer` has `shown` at 0 C.
    """

    __test__: ClassVar[bool] = False
    kind: ClassVar[str] = "test"
    which: str
    days: float | None = None
    sown: float | None = None
    sprouted: float | None = None
    control_sprouted: float | None = None
    growth: str | None = None
    control_growth: str | None = None
    swelling: str | None = None
    smell: str | None = None
    sample: Amount | None = None
    water: Amount | None = None
    warmest: Temperature | None = None
    surroundings: Temperature | None = None
    thermometer: str | None = None
    shown: Temperature | None = None

    def __post_init__(self) -> None:
        one_of("which", self.which, TESTS)
        _number(self, "days", 0.0, 365.0, "days")
        _number(self, "sown", 1.0, 1000.0, "seeds")
        for name in ("sprouted", "control_sprouted"):
            _number(self, name, 0.0, self.sown or 1000.0, "seeds")
        _choice("growth", self.growth, GROWTHS)
        _choice("control_growth", self.control_growth, GROWTHS)
        _choice("swelling", self.swelling, SWELLINGS)
        _choice("smell", self.smell, SMELLS)
        for name in ("warmest", "surroundings"):
            if (typed := getattr(self, name)) is not None:
                between(name, typed, -10.0, 85.0, f"{name} of a test")
        _name(self, "thermometer")
        if self.shown is not None:
            between("shown", self.shown, -15.0, 15.0, "a thermometer in ice water")
        missing = [name for name in TEST_NEEDS[self.which] if getattr(self, name) is None]
        if missing:
            raise RefusedField(
                missing[0],
                f"a {self.which} test needs {', '.join(TEST_NEEDS[self.which])}; "
                f"{', '.join(missing)} missing.",
            )


@dataclass(frozen=True)
class Use:
    """A batch or the liquid used on a bed; `dilution` is litres of water to one of liquid."""

    kind: ClassVar[str] = "use"
    what: str
    amount: Amount
    bed: str
    how: str | None = None
    dilution: float | None = None

    def __post_init__(self) -> None:
        _name(self, "what")
        _above_zero("amount", self.amount)
        _name(self, "bed")
        _choice("how", self.how, USES)
        _number(self, "dilution", 0.0, 200.0, "litres of water to one")


@dataclass(frozen=True)
class Stock:
    """Dry stuff at hand: bought, gathered, used or counted, at the bin or in store."""

    kind: ClassVar[str] = "stock"
    material: str
    amount: Amount
    where: str | None = None
    change: str = "gathered"

    def __post_init__(self) -> None:
        _name(self, "material")
        _choice("where", self.where, STORES)
        one_of("change", self.change, CHANGES)
        if self.change != "counted":
            _above_zero("amount", self.amount)


@dataclass(frozen=True)
class Calendar:
    """What is to come: people, visitors, absence, mowing, leaf fall, terms."""

    kind: ClassVar[str] = "calendar"
    what: str
    amount: Amount | None = None
    starts: date | None = None
    ends: date | None = None
    repeat: str = "none"

    def __post_init__(self) -> None:
        one_of("what", self.what, PLANS)
        one_of("repeat", self.repeat, REPEATS)
        if self.starts and self.ends and self.ends < self.starts:
            raise RefusedField("ends", f"ends is {self.ends}, before {self.starts}; swap the two.")
        if self.what in ("absence", "visitors") and not (self.starts and self.ends):
            raise RefusedField("starts", f"{self.what} needs starts=... and ends=... as dates.")
        if self.what in ("people", "visitors") and self.amount is None:
            raise RefusedField("amount", f"{self.what} needs how many, such as 3 people.")


@dataclass(frozen=True)
class Advice:
    """Advice given, or the keeper's answer to it."""

    kind: ClassVar[str] = "advice"
    what: str
    answer: str

    def __post_init__(self) -> None:
        _name(self, "what")
        one_of("answer", self.answer, ANSWERS)


@dataclass(frozen=True)
class Photo:
    """A photo file named by the SHA-256 of its content."""

    kind: ClassVar[str] = "photo"
    sha256: str

    def __post_init__(self) -> None:
        digits = str(self.sha256).lower()
        if len(digits) != 64 or set(digits) - set("0123456789abcdef"):
            raise RefusedField(
                "sha256", f"photo is {self.sha256!r}; allowed is a SHA-256 of 64 hex digits."
            )
        _set(self, "sha256", digits)


@dataclass(frozen=True)
class Note:
    """Free text."""

    kind: ClassVar[str] = "note"
    text: str

    def __post_init__(self) -> None:
        _set(self, "text", free_text("text", self.text))
        if not self.text:
            raise RefusedField("text", "a note is empty; write its text.")


@dataclass(frozen=True)
class Setting:
    """A change of bin, thermometer, measure, material or place from its date on.

    `name` is the thing changed, `key` its property (as in site.toml), `to` the new value as text.
    """

    kind: ClassVar[str] = "setting"
    about: str
    name: str
    key: str
    to: str

    def __post_init__(self) -> None:
        one_of("about", self.about, ABOUT)
        for one in ("name", "key", "to"):
            _name(self, one)
        allowed = SETTING_KEYS[self.about]
        if allowed and self.key not in allowed:
            raise RefusedField(
                "key",
                f"a setting of a {self.about} changes {self.key!r}; allowed is "
                f"{', '.join(allowed)}.{nearest(self.key, allowed)}",
            )


Payload = (
    Stocktake | Load | Reading | Look | Usual | Stir | Poke | Turn | Vent | Cover | Move | Water
    | Warm | Drain | DigOut | Worms | Test | Use | Stock | Calendar | Advice | Photo | Note
    | Setting
)  # fmt: skip
PAYLOADS: tuple[type[Payload], ...] = (
    Stocktake, Load, Reading, Look, Usual, Stir, Poke, Turn, Vent, Cover, Move, Water, Warm, Drain,
    DigOut, Worms, Test, Use, Stock, Calendar, Advice, Photo, Note, Setting,
)  # fmt: skip


def _choice(field: str, value: str | None, allowed: Words) -> None:
    if value is not None:
        one_of(field, value, allowed)


def _up_to(field: str, length: Length | None, metres: float) -> None:
    if length is not None:
        length_up_to(field, length, metres)


def _above_zero(field: str, amount: Amount) -> None:
    if amount.middle <= 0.0:
        raise RefusedField(
            field, f"{field} is 0 {amount.unit}; allowed is above 0: leave the entry out instead."
        )


def _name(record: object, field: str) -> None:
    """Store a name with single spaces; one that was not given stays None."""
    if (value := getattr(record, field)) is not None:
        _set(record, field, name_text(field, value))


def _number(record: object, field: str, low: float, high: float, unit: str) -> None:
    if (value := getattr(record, field)) is not None:
        _set(record, field, number_in(field, value, low, high, unit))


def _set(record: object, name: str, value: object) -> None:
    """Store a normalised value in a frozen record under construction."""
    object.__setattr__(record, name, value)
