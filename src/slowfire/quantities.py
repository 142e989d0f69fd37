"""What a person measured, as typed: number and unit are kept, SI is a property."""

from dataclasses import dataclass

from slowfire.refusals import RefusedField, name_text, number_in, one_of

METRES_PER_UNIT = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "ft": 0.3048}
LENGTH_WORDS = {"inch": "in", "inches": "in", "foot": "ft", "feet": "ft", "metre": "m"}
CELSIUS_WORDS = ("c", "°c", "ºc", "degc", "deg c", "celsius")
FAHRENHEIT_WORDS = ("f", "°f", "ºf", "degf", "deg f", "fahrenheit")
POSITION_ORIGINS = ("surface", "base")
LARGEST_AMOUNT = 1_000_000.0


def to_celsius(fahrenheit: float) -> float:
    """Convert degrees Fahrenheit.

    Examples
    --------
    >>> to_celsius(131.0)
    55.0
    """
    return (fahrenheit - 32.0) * 5.0 / 9.0


@dataclass(frozen=True)
class Amount:
    """How much, in whatever measure was used; a guess may be a range.

    Parameters
    ----------
    number : float
        Number typed, or the low end of a range; 0 to 1000000 [-].
    unit : str
        Word of the measure as typed: scoop, caddy, litre, kg [-].
    number_to : float or None
        High end of a range, above `number` [-].

    Raises
    ------
    InvalidInput
        If a number is negative or not finite, or the unit is missing.

    Examples
    --------
    >>> Amount(2, "scoop", 3).middle
    2.5
    """

    number: float
    unit: str
    number_to: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "number", number_in("amount", self.number, 0.0, LARGEST_AMOUNT))
        if not isinstance(self.unit, str) or not self.unit.strip():
            raise RefusedField(
                "unit",
                f"{self.number:g} has no unit; allowed is any measure, "
                "such as scoop, caddy, litre or kg.",
            )
        unit = name_text("unit", self.unit)
        if not unit[0].isalpha():
            raise RefusedField("unit", f"unit is {unit!r}; a measure starts with a letter.")
        object.__setattr__(self, "unit", unit)
        if self.number_to is not None:
            high = number_in("amount", self.number_to, 0.0, LARGEST_AMOUNT)
            if high <= self.number:
                raise RefusedField(
                    "amount",
                    f"the range {self.number:g} to {high:g} does not rise; "
                    "write the smaller number first.",
                )
            object.__setattr__(self, "number_to", high)

    @property
    def middle(self) -> float:
        """The number, or the middle of the range [-]."""
        return self.number if self.number_to is None else 0.5 * (self.number + self.number_to)


@dataclass(frozen=True)
class Temperature:
    """A temperature as typed; without a unit it is refused.

    Parameters
    ----------
    value : float
        Number typed, -300 to 2000 [-].
    unit : str
        C or F; degC, Celsius and the like are understood [-].

    Raises
    ------
    InvalidInput
        If the unit is missing or the value is no number.

    Examples
    --------
    >>> Temperature(131, "F").temperature_celsius
    55.0
    """

    value: float
    unit: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "value", number_in("temperature", self.value, -300.0, 2000.0))
        word = str(self.unit).strip().casefold()
        if word in CELSIUS_WORDS:
            unit = "C"
        elif word in FAHRENHEIT_WORDS:
            unit = "F"
        elif word in ("", "°", "deg", "degree", "degrees"):
            raise RefusedField(
                "unit",
                f"a temperature of {self.value:g} has no unit; allowed is C or F: "
                f"write {self.value:g} C or {self.value:g} F.",
            )
        else:
            raise RefusedField("unit", f"temperature unit is {self.unit!r}; allowed is C or F.")
        object.__setattr__(self, "unit", unit)

    @property
    def temperature_celsius(self) -> float:
        """The same in degrees Celsius [degC]."""
        return self.value if self.unit == "C" else to_celsius(self.value)

    def __str__(self) -> str:
        return f"{self.value:g} {self.unit}"


@dataclass(frozen=True)
class Length:
    """A depth, width or opening as typed.

    Parameters
    ----------
    value : float
        Number typed, 0 to 10000 [-].
    unit : str
        mm, cm, m, in or ft [-].

    Raises
    ------
    InvalidInput
        If the unit is missing or unknown, or the value negative.

    Examples
    --------
    >>> Length(10, "in").metres
    0.254
    """

    value: float
    unit: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "value", number_in("length", self.value, 0.0, 10_000.0))
        word = str(self.unit).strip().casefold()
        if not word:
            raise RefusedField(
                "unit",
                f"a length of {self.value:g} has no unit; allowed is {', '.join(METRES_PER_UNIT)}.",
            )
        object.__setattr__(
            self, "unit", one_of("unit", LENGTH_WORDS.get(word, word), METRES_PER_UNIT)
        )

    @property
    def metres(self) -> float:
        """The same in metres [m]."""
        return self.value * METRES_PER_UNIT[self.unit]

    def __str__(self) -> str:
        return f"{self.value:g} {self.unit}"


@dataclass(frozen=True)
class Position:
    """A height in the bin, counted from the surface of the heap or from the base.

    Parameters
    ----------
    distance : Length
        Distance from the origin, up to 3 m [-].
    origin : str
        surface (counted down) or base (counted up) [-].

    Raises
    ------
    InvalidInput
        If the distance is over 3 m or the origin another word.
    """

    distance: Length
    origin: str = "surface"

    def __post_init__(self) -> None:
        one_of("origin", self.origin, POSITION_ORIGINS)
        length_up_to("distance", self.distance, 3.0)


def length_up_to(field: str, length: Length, metres: float) -> None:
    """Refuse a length above `metres` [m]."""
    if length.metres > metres:
        raise RefusedField(
            field,
            f"{field} is {length}; allowed is 0 to {metres:g} m. "
            "Is the unit right (cm, mm, m, in, ft)?",
        )


def temperature_between(
    field: str, temperature: Temperature, low: float, high: float, what: str
) -> None:
    """Refuse a temperature outside [low, high] in C, asking whether the unit was mistaken."""
    if low <= temperature.temperature_celsius <= high:
        return
    if temperature.unit == "C":
        in_celsius = to_celsius(temperature.value)
        allowed = f"{low:g} to {high:g} C"
        question = (
            f" Was it {temperature.value:g} F ({in_celsius:.0f} C)? Then write F as its unit."
        )
        likely = low <= in_celsius <= high
    else:
        allowed = f"{low * 1.8 + 32:g} to {high * 1.8 + 32:g} F"
        question = f" Was it {temperature.value:g} C? Then write C as its unit."
        likely = low <= temperature.value <= high
    advice = question if likely else " Read the thermometer again."
    raise RefusedField(field, f"{what} of {temperature}; allowed is {allowed}.{advice}")
