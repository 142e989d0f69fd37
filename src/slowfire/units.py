"""Temperatures, volumes, masses and lengths in and out of the units people use."""

import math
from typing import Literal

from slowfire.errors import check_range

UnitSystem = Literal["metric", "us"]

LITRES_PER_US_GALLON = 3.785411784  # [L], exact
KILOGRAMS_PER_POUND = 0.45359237  # [kg], exact
KILOGRAMS_PER_OUNCE = 0.028349523125  # [kg], exact
METRES_PER_INCH = 0.0254  # [m], exact
METRES_PER_FOOT = 0.3048  # [m], exact
CUBIC_METRES_PER_CUBIC_YARD = (3.0 * METRES_PER_FOOT) ** 3  # [m^3], exact


def celsius_from_fahrenheit(temperature_fahrenheit: float) -> float:
    """Degrees Celsius from degrees Fahrenheit.

    C = (F - 32) / 1.8

    Parameters
    ----------
    temperature_fahrenheit : float
        Usual range -40 to 170 [degF].

    Returns
    -------
    float
        Temperature [degC].

    Notes
    -----
    Exact.

    Examples
    --------
    >>> celsius_from_fahrenheit(131.0)
    55.0
    """
    return (temperature_fahrenheit - 32.0) / 1.8


def fahrenheit_from_celsius(temperature_celsius: float) -> float:
    """Degrees Fahrenheit from degrees Celsius.

    F = 1.8 C + 32

    Parameters
    ----------
    temperature_celsius : float
        Usual range -40 to 80 [degC].

    Returns
    -------
    float
        Temperature [degF].

    Notes
    -----
    Exact.

    Examples
    --------
    >>> fahrenheit_from_celsius(55.0)
    131.0
    """
    return 1.8 * temperature_celsius + 32.0


def metres_from_feet(feet: float, inches: float = 0.0) -> float:
    """Metres from feet and inches.

    Parameters
    ----------
    feet : float
        Usual range 0 to 30 [foot].
    inches : float
        On top of the feet, usual range 0 to 12 [inch].

    Returns
    -------
    float
        Length [m].

    Raises
    ------
    InvalidInput
        If either is negative or not finite.

    Notes
    -----
    Exact, international foot and inch.

    Examples
    --------
    >>> metres_from_feet(4.0)
    1.2192
    """
    check_range("Length", feet, 0.0, 10_000.0, "ft")
    check_range("Length", inches, 0.0, 10_000.0, "in")
    return feet * METRES_PER_FOOT + inches * METRES_PER_INCH


def metres_from_inches(inches: float) -> float:
    """Metres from inches.

    Parameters
    ----------
    inches : float
        Usual range 0 to 120 [inch].

    Returns
    -------
    float
        Length [m].

    Raises
    ------
    InvalidInput
        If it is negative or not finite.

    Notes
    -----
    Exact, international inch.

    Examples
    --------
    >>> metres_from_inches(2.0)
    0.0508
    """
    return metres_from_feet(0.0, inches)


def pounds_per_cubic_yard(density: float) -> float:
    """Bulk density in pounds per cubic yard.

    Parameters
    ----------
    density : float
        Usual range 50 to 1000 [kg/m^3].

    Returns
    -------
    float
        Density [lb/yard^3].

    Notes
    -----
    Exact.

    Examples
    --------
    >>> round(pounds_per_cubic_yard(593.3))
    1000
    """
    return density / KILOGRAMS_PER_POUND * CUBIC_METRES_PER_CUBIC_YARD


def _rounded(value: float, digits: int) -> str:
    """Fixed notation with about so many significant digits, without trailing zeros."""
    if value == 0.0:
        return "0"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def format_temperature(temperature_celsius: float, system: UnitSystem = "metric") -> str:
    """Write a temperature to a whole degree with its unit.

    Parameters
    ----------
    temperature_celsius : float
        Usual range -40 to 80 [degC].
    system : str
        'metric' or 'us'.

    Returns
    -------
    str
        Such as '55 °C' or '131 °F'.

    Notes
    -----
    Ours: a whole degree is finer than most probes.

    Examples
    --------
    >>> format_temperature(55.2, "us")
    '131 °F'
    """
    if system == "us":
        return f"{round(fahrenheit_from_celsius(temperature_celsius))} °F"
    return f"{round(temperature_celsius)} °C"


def format_mass(mass: float, system: UnitSystem = "metric") -> str:
    """Write a mass to two digits, in grams or kilograms, ounces or pounds.

    Parameters
    ----------
    mass : float
        Usual range 0.001 to 1000 [kg].
    system : str
        'metric' or 'us'.

    Returns
    -------
    str
        Such as '350 g' or '2.1 kg'.

    Notes
    -----
    Ours: two digits, since nobody weighs food more finely.

    Examples
    --------
    >>> format_mass(0.3512), format_mass(2.125), format_mass(2.0, "us")
    ('350 g', '2.1 kg', '4.4 lb')
    """
    if system == "us":
        pounds = mass / KILOGRAMS_PER_POUND
        if abs(pounds) < 1.0:
            return f"{_two(mass / KILOGRAMS_PER_OUNCE)} oz"
        return f"{_two(pounds)} lb"
    if abs(mass) < 1.0:
        return f"{_two(1000.0 * mass)} g"
    return f"{_two(mass)} kg"


def format_volume(litres: float, system: UnitSystem = "metric") -> str:
    """Write a volume to two digits, in litres or US gallons.

    Parameters
    ----------
    litres : float
        Usual range 0.01 to 5000 [L].
    system : str
        'metric' or 'us'.

    Returns
    -------
    str
        Such as '2.5 L' or '0.66 US gal'.

    Notes
    -----
    Ours: two digits; US gallons under the US system, never imperial ones.

    Examples
    --------
    >>> format_volume(2.5), format_volume(2.5, "us")
    ('2.5 L', '0.66 US gal')
    """
    if system == "us":
        return f"{_two(litres / LITRES_PER_US_GALLON)} US gal"
    return f"{_two(litres)} L"


def format_length(length: float, system: UnitSystem = "metric") -> str:
    """Write a length in centimetres or metres, inches or feet.

    Parameters
    ----------
    length : float
        Usual range 0.001 to 10 [m].
    system : str
        'metric' or 'us'.

    Returns
    -------
    str
        Such as '83 cm' or '33 in'.

    Notes
    -----
    Ours: two digits below a metre or 48 inches, three above a metre.

    Examples
    --------
    >>> format_length(0.83), format_length(0.83, "us"), format_length(2.44, "us")
    ('83 cm', '33 in', '8 ft')
    """
    if system == "us":
        inches = length / METRES_PER_INCH
        return f"{_two(inches)} in" if abs(inches) < 48.0 else f"{_two(inches / 12.0)} ft"
    return f"{_two(100.0 * length)} cm" if abs(length) < 1.0 else f"{_rounded(length, 3)} m"


def _two(value: float) -> str:
    """Two significant digits, whole numbers above."""
    if abs(value) >= 100.0:
        step = 10.0 ** (math.floor(math.log10(abs(value))) - 1)
        return f"{round(value / step) * step:.0f}"
    return _rounded(value, 2)
