"""Rules of heat and time of several countries, from one editable file."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from slowfire.errors import InvalidInput, UnknownName
from slowfire.hygiene.packaged import number_in, packaged_text, read_rows

FILE = "hygiene_rules.csv"
HOME_FILE = "home_scope.csv"
CONSECUTIVE = ("yes", "no", "soft", "not stated")
USES = ("default", "other", "index", "historic")
CAUTION = (
    "Not a legal pass; local codes decide, and for anything sold, shared or served ask the local "
    "authority first."
)
# How fast germs die with each kelvin in the time-temperature equations of 40 CFR 503.32.
_DECADES_PER_KELVIN = 0.14
_HEADINGS = (
    *("id", "jurisdiction", "use", "system", "lower_celsius", "upper_celsius", "hours"),
    *("consecutive", "runs", "turnings", "days_between_turnings", "inner_celsius", "inner_hours"),
    *("moisture", "lowest_moisture_percent", "particle_mm", "after_step", "note", "scope"),
    *("source", "confidence"),
)


@dataclass(frozen=True)
class Rule:
    """One rule of heat and time.

    Attributes
    ----------
    id, jurisdiction, use, system : str
        Name of the rule, whose it is, whether it is judged when that jurisdiction is chosen, and
        what it was written for.
    lower_celsius, upper_celsius : float
        Band that counts, its ends included; the upper end may be endless [degC].
    hours : float or None
        Time in the band, None where the rule is no run of hours [h].
    consecutive : str
        yes, no, soft (as unbroken as can be) or not stated.
    runs : int
        How many such runs, each before a turning of its own [-].
    turnings : int
        Turnings that must fall into the hot time [-].
    days_between_turnings : float
        Least time from one to the next [day].
    inner_celsius, inner_hours : float or None
        A hotter limit that must be held for some hours inside the run [degC], [h].
    moisture : str
        What it says of water.
    lowest_moisture : float or None
        Water by mass of the wet material below which time does not count [kg/kg].
    particle : float or None
        Largest piece [m].
    after_step, note, scope, source, confidence : str
        What must be tested after, how interruptions count, what it means for a home bin, where it
        stands, and how sure that is.
    """

    id: str
    jurisdiction: str
    use: str
    system: str
    lower_celsius: float
    upper_celsius: float
    hours: float | None
    consecutive: str
    runs: int
    turnings: int
    days_between_turnings: float
    inner_celsius: float | None
    inner_hours: float | None
    moisture: str
    lowest_moisture: float | None
    particle: float | None
    after_step: str
    note: str
    scope: str
    source: str
    confidence: str

    @property
    def needed_hours(self) -> float:
        """Hours the rule asks for [h].

        Raises
        ------
        InvalidInput
            If it is no run of hours.
        """
        if self.hours is None:
            raise InvalidInput(
                f"{self.id} is an index or a shape, no run of hours; choose another rule, or see "
                "time_temperature_index."
            )
        return self.hours

    @property
    def unbroken(self) -> bool:
        """Whether a dip below restarts the count; so too where the rule is silent and not turned.

        Turning cools, so a silent rule that asks for turnings can only mean hours added up.
        """
        return self.consecutive == "yes" or (
            self.consecutive == "not stated" and self.turnings == 0
        )

    @property
    def words(self) -> str:
        """The rule in a few words."""
        band = f"{self.lower_celsius:g} °C or more"
        if math.isfinite(self.upper_celsius):
            band = f"{self.lower_celsius:g} to {self.upper_celsius:g} °C"
        if self.hours is None:
            return f"{band}, {self.note or self.system}"
        manner = {
            "yes": "without a break",
            "no": "added up",
            "soft": "as unbroken as can be",
            "not stated": "without a break" if self.unbroken else "added up",
        }[self.consecutive]
        unit = "hour" if self.hours == 1.0 else "hours"
        text = f"{band} for {self.hours:g} {unit} {manner}"
        if self.runs > 1:
            text += f", {self.runs} times, each before a turning"
        elif self.turnings:
            text += f", with {self.turnings} turnings"
        if self.lowest_moisture is not None:
            text += f", at {100.0 * self.lowest_moisture:g} % water or more"
        return text

    @property
    def severity(self) -> float:
        """How much the rule asks for: its hours as hours at 55 degC, by z = 7.14 K [h]."""
        hours = self.needed_hours * self.runs
        return hours * math.pow(10.0, _DECADES_PER_KELVIN * (self.lower_celsius - 55.0))


@cache
def hygiene_rules() -> Mapping[str, Rule]:
    """Every rule by id.

    Returns
    -------
    mapping of str to Rule
        In the order of the file.

    Raises
    ------
    InvalidInput
        If the file cannot be read.

    Notes
    -----
    Values from memory say so in their `confidence`. The file is `data/hygiene_rules.csv`; edit it
    there. Exact: nothing is computed.

    Examples
    --------
    >>> hygiene_rules()["US_NOP_VESSEL"].words
    '55 to 77 °C for 72 hours without a break'
    """
    return read_rules(packaged_text(FILE))


def read_rules(text: str) -> dict[str, Rule]:
    """Read rules from text of the form of the packaged file.

    Parameters
    ----------
    text : str
        Comma-separated, with the headings of the packaged file.

    Returns
    -------
    dict of str to Rule

    Raises
    ------
    InvalidInput
        With the line and what is wrong with it.

    Notes
    -----
    Exact: temperatures stay in degC, hours in h.

    Examples
    --------
    >>> read_rules(packaged_text(FILE))["DE_BIOABFV_65"].consecutive
    'soft'
    """
    return {row["id"]: _rule(row) for row in read_rows(text, FILE, _HEADINGS)}


def _rule(row: dict[str, str]) -> Rule:
    where = f"{FILE}, line {row['line']}"

    def number(column: str, low: float, high: float) -> float | None:
        return number_in(row, column, FILE, low, high)

    lower = number("lower_celsius", 40.0, 80.0)
    upper = number("upper_celsius", 40.0, 100.0)
    moisture = number("lowest_moisture_percent", 0.0, 100.0)
    particle = number("particle_mm", 1.0, 1000.0)
    if lower is None:
        raise InvalidInput(f"{where}: {row['id']} needs a lower_celsius of 40 to 80.")
    if upper is not None and upper <= lower:
        raise InvalidInput(f"{where}: upper_celsius {upper:g} must be above {lower:g}.")
    for column, allowed in (("consecutive", CONSECUTIVE), ("use", USES)):
        if row[column] not in allowed:
            raise InvalidInput(
                f"{where}: {column} is {row[column]!r}; allowed is {', '.join(allowed)}."
            )
    hours = number("hours", 0.1, 10000.0)
    if hours is None and row["use"] != "index":
        raise InvalidInput(f"{where}: {row['id']} needs hours, or the use 'index'.")
    if not row["jurisdiction"]:
        raise InvalidInput(f"{where}: {row['id']} needs a jurisdiction, such as US.")
    return Rule(
        id=row["id"],
        jurisdiction=row["jurisdiction"],
        use=row["use"],
        system=row["system"],
        lower_celsius=lower,
        upper_celsius=math.inf if upper is None else upper,
        hours=hours,
        consecutive=row["consecutive"],
        runs=int(number("runs", 1, 20) or 1),
        turnings=int(number("turnings", 0, 50) or 0),
        days_between_turnings=number("days_between_turnings", 0.0, 60.0) or 0.0,
        inner_celsius=number("inner_celsius", lower, 80.0),
        inner_hours=number("inner_hours", 0.1, 10000.0),
        moisture=row["moisture"],
        lowest_moisture=None if moisture is None else moisture / 100.0,
        particle=None if particle is None else particle / 1000.0,
        after_step=row["after_step"],
        note=row["note"],
        scope=row["scope"],
        source=row["source"],
        confidence=row["confidence"],
    )


def find_rule(rule_id: str) -> Rule:
    """The rule of an id.

    Parameters
    ----------
    rule_id : str
        Such as US_NOP_VESSEL.

    Returns
    -------
    Rule

    Raises
    ------
    UnknownName
        If there is none; the message lists them.

    Notes
    -----
    Exact.

    Examples
    --------
    >>> find_rule("UK_PAS100").hours
    168.0
    """
    known = hygiene_rules()
    if rule_id not in known:
        raise UnknownName(f"There is no rule '{rule_id}'; known are {', '.join(known)}.")
    return known[rule_id]


@dataclass(frozen=True)
class Choice:
    """Rules of the chosen jurisdictions.

    Attributes
    ----------
    rules : tuple of (str, tuple of Rule)
        Jurisdictions in the order asked, each with its rules; any one of them will do.
    strictest : str
        The jurisdiction that asks for most.
    words : str
        All of it told.
    home : tuple of str
        What each says of compost made and used at home, with its source.
    """

    rules: tuple[tuple[str, tuple[Rule, ...]], ...]
    strictest: str
    words: str
    home: tuple[str, ...]


def choose_rules(jurisdictions: Iterable[str]) -> Choice:
    """Rules of one or several jurisdictions, and which of these asks for most.

    ::

        s = n h 10^[0.14 (T - 55)]

    with T the lower limit [degC], h the hours, n the number of runs and s the severity, hours at
    55 degC that kill alike. A jurisdiction with several ways asks for the least of them.

    Parameters
    ----------
    jurisdictions : iterable of str
        Among US, US-CA, UK, EU, DE, AU and CA, capitals or not.

    Returns
    -------
    Choice

    Raises
    ------
    InvalidInput
        If none is named or one has no rule; the message lists them.

    Notes
    -----
    Ours: the slope is that of the time-temperature equations (z = 7.14 K); at the same severity the
    rule with more turnings, then the one with a condition on water, is the stricter.

    References
    ----------
    usepa1993

    Examples
    --------
    >>> choose_rules(["US", "UK"]).strictest
    'UK'
    """
    known: dict[str, list[Rule]] = {}
    for rule in hygiene_rules().values():
        if rule.use == "default":
            known.setdefault(rule.jurisdiction, []).append(rule)
    chosen: dict[str, tuple[Rule, ...]] = {}
    for one in jurisdictions:
        name = str(one).strip().upper()
        if name not in known:
            raise InvalidInput(
                f"There are no rules of '{one}'; known are {', '.join(known)}. For another "
                "country ask the local authority, or pick one rule by its id."
            )
        chosen[name] = tuple(known[name])
    if not chosen:
        raise InvalidInput(f"Name at least one jurisdiction of {', '.join(known)}.")

    def demand(name: str) -> tuple[float, int, bool]:
        easiest = min(chosen[name], key=lambda rule: rule.severity)
        return easiest.severity, easiest.turnings, easiest.lowest_moisture is not None

    strictest = max(chosen, key=demand)
    told = [
        f"{name}: " + "; or ".join(rule.words for rule in rules) for name, rules in chosen.items()
    ]
    words = ". ".join(told) + "."
    if len(chosen) > 1:
        words += f" The stricter is {strictest}: judge by that one."
    home = tuple(
        f"{row['jurisdiction']}: {row['words']} ({row['source']}; {row['confidence']})"
        for row in read_rows(packaged_text(HOME_FILE), HOME_FILE, ("jurisdiction", "words"), None)
        if row["jurisdiction"] in chosen
    )
    return Choice(tuple(chosen.items()), strictest, words, home)
