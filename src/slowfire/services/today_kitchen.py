"""Numbers in the units of the site, amounts in the keeper's own measures."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from slowfire import records as r
from slowfire.advise.condition import Condition, Spread
from slowfire.advise.troubles import Action, Amount, Expectation, Fact
from slowfire.errors import SlowfireError
from slowfire.recipe.scoring import is_dry_stuff
from slowfire.services.inside import InsideResult, Range
from slowfire.services.mix_words import amount_words, material_words
from slowfire.services.today_dates import near_day, span_words, weeks_words
from slowfire.services.today_state import Measuring
from slowfire.units import (
    LITRES_PER_US_GALLON,
    METRES_PER_INCH,
    UnitSystem,
    fahrenheit_from_celsius,
    format_volume,
)

LOADS_LOOKED_AT = 12
PLAIN_UNITS = ("litre", "l", "ml", "kilogram", "kg", "gram", "g")
HAND_CM, HALF_HAND_CM = 8.0, 5.0
LAYERED_KELVIN = 5.0  # from here on it is said where it is hottest
MOST_MEASURES = 12
NARROW_KELVIN = 1.5  # a narrower range is told as one number
QUARTS = 4.0  # to a gallon


@dataclass(frozen=True)
class Kitchen:
    """What a keeper measures with and has at hand.

    Attributes
    ----------
    measure, scoop : str
        For food and paper, and for chips.
    per_caddy, per_scoop : float
        How many of those make a caddy or a scoop of the site [-].
    measure_litres : float
        Of the first [L]; 0 if not known.
    dry, coarse : str
        Names of dry stuff that soaks up water, and that holds a heap open.
    """

    measure: str = "caddy"
    scoop: str = "scoop"
    per_caddy: float = 1.0
    per_scoop: float = 1.0
    measure_litres: float = 0.0
    dry: str = "shredded paper or torn card"
    coarse: str = "chips"


def kitchen_of(measuring: Measuring, entries: Sequence[r.Entry]) -> Kitchen:
    """Measures and dry stuff of a keeper's last loads.

    Parameters
    ----------
    measuring : Measuring
        Of the site [-].
    entries : sequence of Entry
        Of the bin, in force, by time [-].

    Returns
    -------
    Kitchen
    """
    library, measures = measuring.library, measuring.measures
    food_units: Counter[str] = Counter()
    dry_stuff: Counter[str] = Counter()
    coarse_stuff: Counter[str] = Counter()
    coarse_units: Counter[str] = Counter()
    loads = [one.payload for one in entries if isinstance(one.payload, r.Load)]
    for load in loads[-LOADS_LOOKED_AT:]:
        for item in load.items:
            try:
                stuff = library.find(item.material)
                measure = measures.named(item.amount.unit, stuff)
            except SlowfireError:
                continue
            own = measure.litres is not None and measure.name not in PLAIN_UNITS
            if not is_dry_stuff(stuff):
                food_units[measure.name] += own
            elif stuff.structure_role == "bulking":
                coarse_stuff[stuff.id] += 1
                coarse_units[measure.name] += own
            else:
                dry_stuff[stuff.id] += 1

    def name_of(counted: Counter[str], otherwise: str) -> str:
        if not counted:
            return otherwise
        return short_name(material_words(library.find(counted.most_common(1)[0][0])))

    def unit_of(counted: Counter[str], otherwise: str) -> tuple[str, float]:
        chosen = next((one for one, count in counted.most_common(1) if count), otherwise)
        size = measures.named(chosen).litres or 1.0
        return chosen, (measures.named(otherwise).litres or size) / size

    caddy, per_caddy = unit_of(food_units, "caddy")
    scoop, per_scoop = unit_of(coarse_units, "scoop")
    plain = Kitchen()
    return Kitchen(
        caddy,
        scoop,
        per_caddy,
        per_scoop,
        measures.named(caddy).litres or 0.0,
        name_of(dry_stuff, plain.dry),
        name_of(coarse_stuff, plain.coarse),
    )


class Words:
    """Writes numbers in the units of a site, and amounts as a keeper measures them.

    Parameters
    ----------
    system : str
        metric or us.
    kitchen : Kitchen
        Measures and dry stuff of the keeper.
    look : datetime
        When to look again, by the clock of the place.
    now : datetime
        The present, likewise.
    """

    def __init__(self, system: UnitSystem, kitchen: Kitchen, look: datetime, now: datetime) -> None:
        self.system = system
        self.kitchen = kitchen
        self.look = look
        self.now = now
        self.degree = "°F" if system == "us" else "°C"

    def whole(self, celsius: float) -> int:
        """A whole degree in the unit of the site."""
        return round(fahrenheit_from_celsius(celsius) if self.system == "us" else celsius)

    def figure(self, celsius: float) -> str:
        """A temperature with its unit."""
        return f"{self.whole(celsius)} {self.degree}"

    def span(self, value: Spread | Range) -> str:
        """A range of temperature with its unit."""
        if value.high - value.low < NARROW_KELVIN:
            return self.figure(value.mid)
        return f"{self.whole(value.low)} to {self.whole(value.high)} {self.degree}"

    def warming(self, kelvin: float) -> int:
        """A difference of temperature in the unit of the site."""
        return round(1.8 * kelvin if self.system == "us" else kelvin)

    def length(self, centimetres: float) -> str:
        """A length to a whole centimetre or inch."""
        if self.system == "us":
            return f"{centimetres / 100.0 / METRES_PER_INCH:.0f} in"
        return f"{centimetres:.0f} cm"

    def lengths(self, value: Spread) -> str:
        """A range of length, not below nothing."""
        return joined(*(self.length(max(one, 0.0)) for one in (value.low, value.high)))

    def volume(self, litres: float) -> str:
        """A volume as one would pour it: litres, quarts below two gallons, gallons."""
        if self.system != "us":
            return format_volume(litres, self.system)
        gallons = litres / LITRES_PER_US_GALLON
        if gallons < 2.0:
            return f"{max(round(QUARTS * gallons), 1)} US qt"
        return f"{gallons:.0f} US gal"

    def fact(self, fact: Fact) -> str:
        """A number of a reason with its unit."""
        value = fact.value
        if fact.unit == "degC":
            return self.span(value)
        if fact.unit == "K":
            return f"{self.warming(value.mid)} {self.degree}"
        if fact.unit == "cm":
            return self.lengths(value)
        if fact.unit == "week":
            return weeks_words(value)
        if fact.unit == "day":
            return span_words(value.mid)
        if fact.unit == "L":
            return self.volume(value.mid)
        low, mid, high = (f"{max(one, 0.0):.0f} %" for one in (value.low, value.mid, value.high))
        return mid if low == high else f"about {mid} ({joined(low, high)})"

    def amount(self, amount: Amount) -> str:
        """How much of what, as the keeper measures."""
        kitchen = self.kitchen
        if amount.role == "crack":
            return "1/16 in" if self.system == "us" else "1 to 2 mm"
        if amount.role == "coarse":
            number = _quarters(amount.number * kitchen.per_scoop)
            return f"{amount_words(number, kitchen.scoop)} of {kitchen.coarse}"
        if amount.role in ("dry", "food"):
            number = _quarters(amount.number * kitchen.per_caddy)
            what = kitchen.dry if amount.role == "dry" else "food"
            return f"{amount_words(number, kitchen.measure)} of {what}"
        litres = self.volume(amount.number)
        if amount.role == "dig" and kitchen.measure_litres > 0.0:
            number = round(amount.number / kitchen.measure_litres)
            if 1 <= number <= MOST_MEASURES:
                return f"about {amount_words(number, kitchen.measure)} ({litres})"
        return litres

    def depth(self, centimetres: float) -> str:
        """How far down something lies, to a hand's breadth."""
        if centimetres < HAND_CM:
            return "near the top"
        rounded = HALF_HAND_CM * round(centimetres / HALF_HAND_CM)
        return f"about {self.length(rounded)} down"

    def filled(self, text: str, action: Action) -> str:
        """A sentence of an action with its numbers in it."""
        values = {name: self.fact(one) for name, one in action.facts.items()}
        values |= {name: self.amount(one) for name, one in action.amounts.items()}
        return text.format(look=near_day(self.look, self.now), **values)

    def expected(
        self, expect: Expectation, inside: InsideResult, state: Condition, since: str = "now"
    ) -> str:
        """What should be seen at the next look, warmer than at some time if that is asked."""
        if expect.what == "hottest":
            hot = state.hot_slice
            where = ""
            layered = max((one.celsius.mid for one in state.slices), default=0.0) - min(
                (one.celsius.mid for one in state.slices), default=0.0
            )
            if hot is not None and layered > LAYERED_KELVIN:
                total = sum(one.thickness_cm for one in inside.layers)
                where = f", {self.depth((1.0 - hot.place) * total)}"
            if expect.high is not None:
                return f"the hottest layer below {self.figure(expect.high)}{where}"
            day = next(
                (one for one in inside.forecast if one.date == self.look.date().isoformat()), None
            )
            if day is None:
                return ""
            return f"the hottest layer at {self.span(day.hottest_celsius)}{where}"
        if expect.what == "warmer":
            least = self.warming(expect.low or 0.0)
            if expect.high is None:
                return f"at least {least} {self.degree} warmer than {since} at the same spot"
            most = self.warming(expect.high)
            return f"{least} to {most} {self.degree} warmer than {since} at the same spot"
        if expect.what == "airy":
            return "no foul smell, and a squeezed handful gives a few drops at most"
        if expect.what == "liquid":
            return f"less than {self.volume(expect.high or 0.0)} of new liquid"
        if expect.what == "room":
            room = self.length(expect.low or 0.0)
            return f"at least {room} of room below the rim"
        return ""


def short_name(name: str) -> str:
    """A name without what stands in brackets."""
    return name.partition(" (")[0]


def joined(low: str, high: str) -> str:
    """Two numbers with one unit as a range, or as one if they read alike."""
    if low == high:
        return high
    first, _, unit = low.rpartition(" ")
    return f"{first} to {high}" if high.endswith(f" {unit}") else f"{low} to {high}"


def _quarters(number: float) -> float:
    return max(round(4.0 * number) / 4.0, 0.25)
