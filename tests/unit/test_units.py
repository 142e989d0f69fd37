import math

import pytest

from slowfire import units
from slowfire.errors import InvalidInput


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 37.0, 71.5])
def test_fahrenheit_round_trip(celsius):
    there = units.fahrenheit_from_celsius(celsius)
    assert units.celsius_from_fahrenheit(there) == pytest.approx(celsius, abs=1e-12)


def test_exact_definitions():
    # international yard and pound of 1959; the US gallon is 231 cubic inches by law
    assert pytest.approx(231 * 0.254**3) == units.LITRES_PER_US_GALLON
    assert pytest.approx(0.45359237) == units.KILOGRAMS_PER_POUND
    assert pytest.approx(units.KILOGRAMS_PER_POUND / 16) == units.KILOGRAMS_PER_OUNCE
    assert pytest.approx((36 * 0.0254) ** 3) == units.CUBIC_METRES_PER_CUBIC_YARD
    assert units.metres_from_feet(1.0) == pytest.approx(12 * units.metres_from_inches(1.0))


@pytest.mark.parametrize("value", [-1.0, math.nan, math.inf])
def test_lengths_refuse_what_is_no_length(value):
    with pytest.raises(InvalidInput, match="Length"):
        units.metres_from_feet(value)
    with pytest.raises(InvalidInput, match="Length"):
        units.metres_from_inches(value)


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (units.format_temperature(55.0), "55 °C"),
        (units.format_temperature(-0.6, "us"), "31 °F"),
        (units.format_mass(0.35), "350 g"),
        (units.format_mass(0.0054), "5.4 g"),
        (units.format_mass(2.0), "2 kg"),
        (units.format_mass(123.0), "120 kg"),
        (units.format_mass(0.2, "us"), "7.1 oz"),
        (units.format_mass(10.0, "us"), "22 lb"),
        (units.format_volume(0.0), "0 L"),
        (units.format_volume(418.0), "420 L"),
        (units.format_volume(10.0, "us"), "2.6 US gal"),
        (units.format_length(0.05), "5 cm"),
        (units.format_length(1.234), "1.23 m"),
        (units.format_length(0.0508, "us"), "2 in"),
    ],
)
def test_written_to_two_digits_with_the_unit(written, expected):
    assert written == expected


def test_a_temperature_just_below_nought_has_no_minus():
    assert units.format_temperature(-0.3) == "0 °C"
    assert units.format_temperature(-17.9, "us") == "0 °F"
