"""One value that a device measured."""

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TypeGuard

from slowfire.quantities import CELSIUS_WORDS, FAHRENHEIT_WORDS, to_celsius
from slowfire.refusals import RefusedField, name_text, number_in, one_of

TEMPERATURE = "temperature"
# What may be measured, and the units each may come in; only temperatures become readings.
UNITS: dict[str, tuple[str, ...]] = {
    TEMPERATURE: ("C", "F", "K"),
    "relative_humidity": ("%",),
    "battery": ("V",),
}
KELVIN_WORDS = ("k", "kelvin")
PERCENT_WORDS = ("%", "percent", "pct", "rh", "%rh", "% rh")
VOLT_WORDS = ("v", "volt", "volts")
ZERO_CELSIUS = 273.15  # [K]
LARGEST = 1e6
LAST_SECOND = 4_102_444_800  # of the year 2099
DIGITS = re.compile(r"\d{1,15}(\.\d{0,9})?", re.ASCII)
FIRST_CHANNEL = "1"


@dataclass(frozen=True)
class Measurement:
    """One value as a device sent it.

    Parameters
    ----------
    device : str
        Name of the device, or the number burnt into it [-].
    channel : str
        Which of its probes; "1" if it has only one [-].
    when : datetime
        When it was measured, aware; kept in UTC to the millisecond [-].
    value : float
        Number sent, -1000000 to 1000000 [-].
    quantity : str
        temperature, relative_humidity or battery [-].
    unit : str
        C, F or K; %; V [-].

    Raises
    ------
    InvalidInput
        If the time has no offset, the value is no number, or the unit does not belong to the
        quantity.

    Examples
    --------
    >>> one = Measurement("north", "1", datetime(2026, 3, 2, 9, tzinfo=UTC), 131.0, unit="°F")
    >>> one.unit, one.si
    ('F', 55.0)
    """

    device: str
    channel: str
    when: datetime
    value: float
    quantity: str = TEMPERATURE
    unit: str = "C"

    def __post_init__(self) -> None:
        object.__setattr__(self, "device", name_text("device", self.device))
        object.__setattr__(self, "channel", name_text("channel", self.channel))
        if self.when.tzinfo is None or self.when.utcoffset() is None:
            raise RefusedField(
                "when", f"when is {self.when.isoformat(' ')} without an offset; add one, or Z."
            )
        if not 1970 <= self.when.year < 2100:
            raise RefusedField("when", f"when is in {self.when.year}; allowed is 1970 to 2099.")
        exact = self.when.astimezone(UTC)
        whole = exact.microsecond // 1000 * 1000
        object.__setattr__(self, "when", exact.replace(microsecond=whole))
        object.__setattr__(self, "value", number_in("value", self.value, -LARGEST, LARGEST))
        object.__setattr__(self, "unit", unit_of(self.quantity, self.unit))

    @property
    def si(self) -> float:
        """The value in C, percent or volt, whatever the unit it came in [-]."""
        if self.unit == "F":
            return to_celsius(self.value)
        if self.unit == "K":
            return self.value - ZERO_CELSIUS
        return self.value

    @property
    def milliseconds(self) -> int:
        """The time since the beginning of 1970 [ms]."""
        return milliseconds(self.when)


def milliseconds(when: datetime) -> int:
    """The time since the beginning of 1970 [ms].

    Examples
    --------
    >>> milliseconds(datetime(1970, 1, 1, 0, 1, tzinfo=UTC))
    60000
    """
    seconds = when.astimezone(UTC).replace(microsecond=0).timestamp()
    return round(seconds) * 1000 + when.microsecond // 1000


def moment(since_1970: int) -> datetime:
    """The time so many milliseconds after the beginning of 1970, in UTC.

    Examples
    --------
    >>> moment(60000).isoformat()
    '1970-01-01T00:01:00+00:00'
    """
    seconds, thousandths = divmod(since_1970, 1000)
    return datetime.fromtimestamp(seconds, UTC).replace(microsecond=thousandths * 1000)


def unit_of(quantity: str, word: str) -> str:
    """The unit that a word stands for.

    Raises
    ------
    InvalidInput
        If no such thing is measured, or the unit does not belong to it.

    Examples
    --------
    >>> unit_of("temperature", "degF"), unit_of("relative_humidity", "percent")
    ('F', '%')
    """
    one_of("quantity", quantity, UNITS)
    plain = word.strip().casefold()
    for unit, words in (
        ("C", CELSIUS_WORDS),
        ("F", FAHRENHEIT_WORDS),
        ("K", KELVIN_WORDS),
        ("%", PERCENT_WORDS),
        ("V", VOLT_WORDS),
    ):
        if plain in words and unit in UNITS[quantity]:
            return unit
    raise RefusedField(
        "unit", f"unit of {quantity} is {word!r}; allowed is {', '.join(UNITS[quantity])}."
    )


def number_of(value: object) -> float:
    """A number sent as such or as its text.

    Raises
    ------
    InvalidInput
        If it is neither, or not finite.

    Examples
    --------
    >>> number_of(" 21.5 ")
    21.5
    """
    shown = str(value)[:40]
    if isinstance(value, str):
        try:
            value = float(value.strip())
        except ValueError as problem:
            raise RefusedField(
                "value", f"value is {shown!r}; allowed is a number such as 21.5."
            ) from problem
    # compared first: a whole number of any length can be sent
    if not _is_number(value) or isinstance(value, str) or not -LARGEST <= value <= LARGEST:
        raise RefusedField(
            "value",
            f"value is {shown!r}; allowed is a number of {-LARGEST:.0f} to {LARGEST:.0f}.",
        )
    return float(value)


def time_of(value: object) -> datetime:
    """A time sent as text with its offset, or as seconds or milliseconds since 1970.

    Raises
    ------
    InvalidInput
        If it is neither, or has no offset.

    Examples
    --------
    >>> time_of("2026-03-02T10:00+01:00").isoformat()
    '2026-03-02T09:00:00+00:00'
    >>> time_of(1772442000) == time_of("2026-03-02T09:00:00Z")
    True
    """
    allowed = "allowed is 2026-03-12T18:30:00+01:00, or seconds since 1970."
    shown = str(value)[:40]
    digits = isinstance(value, str) and DIGITS.fullmatch(value.strip())
    if isinstance(value, str) and not digits:
        try:
            when = datetime.fromisoformat(value.strip())
        except ValueError as problem:
            raise RefusedField("when", f"when is {shown!r}; {allowed}") from problem
    else:
        number = float(value) if isinstance(value, str) else value
        if not _is_number(number) or isinstance(number, str) or not 0 <= number < LAST_SECOND * 1e3:
            raise RefusedField("when", f"when is {shown!r}; {allowed}")
        # a number too large for seconds counts milliseconds
        when = moment(round(number if number >= LAST_SECOND else number * 1000.0))
    if when.tzinfo is None or not 1970 <= when.year < 2100:
        raise RefusedField("when", f"when is {shown!r}, without an offset or not of now; {allowed}")
    return when.astimezone(UTC)


def _is_number(value: object) -> TypeGuard[str | int | float]:
    return isinstance(value, str | int | float) and not isinstance(value, bool)
