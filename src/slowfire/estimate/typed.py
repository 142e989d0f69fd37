"""Readings as typed, what is asked about them, and how both are worded."""

from dataclasses import dataclass

from slowfire.errors import InvalidInput
from slowfire.units import UnitSystem, celsius_from_fahrenheit, fahrenheit_from_celsius


@dataclass(frozen=True)
class Typed:
    """A reading as typed, with what is needed to ask about it.

    Attributes
    ----------
    hour : float
        Of the run [h].
    day : str
        The day in words, such as 4 March.
    thermometer : str
        Its name.
    kind : str
        lid, probe, infrared or air.
    value : float
        Number typed, in its unit.
    unit : str
        C or F.
    depth, height : float or None
        Below the surface or above the floor [m].
    spot : str or None
        Where across the section, if it was said.
    source : int
        Place among the observations it was made from, -1 if it came otherwise.
    """

    hour: float
    day: str
    thermometer: str
    kind: str
    value: float
    unit: str
    depth: float | None = None
    height: float | None = None
    spot: str | None = None
    source: int = -1

    def __post_init__(self) -> None:
        if self.unit not in ("C", "F"):
            raise InvalidInput(f"A reading is in '{self.unit}'; allowed is C or F.")

    @property
    def celsius(self) -> float:
        """The same in degrees Celsius."""
        return self.value if self.unit == "C" else celsius_from_fahrenheit(self.value)

    @property
    def otherwise_celsius(self) -> float:
        """What it would be had the number been in the other unit [degC]."""
        return celsius_from_fahrenheit(self.value) if self.unit == "C" else self.value

    @property
    def shown(self) -> str:
        """The number typed with its unit."""
        return f"{self.value:g} °{self.unit}"


@dataclass(frozen=True)
class Question:
    """One thing to ask the keeper.

    Attributes
    ----------
    hour : float
        Of the reading it is about, the last one where it is about several [h].
    kind : str
        future, too-deep, two-values, unit, sun, far-off, stuck, drift or two-probes.
    words : str
        The question.
    choices : tuple of str
        Answers to choose from, the likeliest first.
    about : tuple of int
        Places of the readings in question, in the order they were given.
    """

    hour: float
    kind: str
    words: str
    choices: tuple[str, ...]
    about: tuple[int, ...]


def temperature_range(low: float, high: float, system: UnitSystem = "metric") -> str:
    """Two temperatures to a whole degree, with one unit.

    Parameters
    ----------
    low, high : float
        Ends of the range [degC], usually -10 to 75.
    system : str
        metric or us.

    Returns
    -------
    str
        Such as '10 to 16 °C'; one number if both round to the same.

    Notes
    -----
    Ours: a whole degree is finer than an estimate.

    Examples
    --------
    >>> temperature_range(10.0, 15.0), temperature_range(10.0, 15.0, "us")
    ('10 to 15 °C', '50 to 59 °F')
    """
    unit = "°C"
    if system == "us":
        low, high = fahrenheit_from_celsius(low), fahrenheit_from_celsius(high)
        unit = "°F"
    return f"{low:.0f} {unit}" if round(low) == round(high) else f"{low:.0f} to {high:.0f} {unit}"


def temperature_difference(kelvin: float, system: UnitSystem = "metric") -> str:
    """A difference of two temperatures to a whole degree.

    Parameters
    ----------
    kelvin : float
        Difference [K], usually 0 to 40.
    system : str
        metric or us.

    Returns
    -------
    str
        Such as '9 °C' or '16 °F'.

    Notes
    -----
    Exact: a degree Fahrenheit is 5/9 K, and no zero is shifted.

    Examples
    --------
    >>> temperature_difference(10.0), temperature_difference(10.0, "us")
    ('10 °C', '18 °F')
    """
    return f"{1.8 * kelvin:.0f} °F" if system == "us" else f"{kelvin:.0f} °C"
