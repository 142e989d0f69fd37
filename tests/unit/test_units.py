import math

import pytest

from slowfire import units
from slowfire.errors import InvalidInput


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("45 C", 45.0),
        ("45C", 45.0),
        ("45 °C", 45.0),
        ("45 degrees C", 45.0),
        ("45 deg Celsius", 45.0),
        ("-5.5 c", -5.5),
        ("\u22125 C", -5.0),
        ("113 F", 45.0),
        ("131°F", 55.0),
        ("32 Fahrenheit", 0.0),
        ("318.15 K", 45.0),
    ],
)
def test_temperature_with_its_unit(text, celsius):
    assert units.parse_temperature_celsius(text) == pytest.approx(celsius)


def test_bare_degrees_are_refused_with_both_ways_to_say_it():
    for text in ("45", "45 °", "45 degrees"):
        with pytest.raises(InvalidInput, match="45 C or 45 F"):
            units.parse_temperature_celsius(text)


@pytest.mark.parametrize("text", ["", "warm", "C", "4 5 C", "nan C"])
def test_what_is_no_temperature_is_refused(text):
    with pytest.raises(InvalidInput, match="number and its unit"):
        units.parse_temperature_celsius(text)


def test_unknown_unit_is_refused():
    with pytest.raises(InvalidInput, match="allowed is C, F, K"):
        units.parse_temperature_celsius("45 R")


@pytest.mark.parametrize("text", ["131 C", "400 F", "-100 C", "45 K"])
def test_senseless_temperature_is_refused_with_the_range(text):
    with pytest.raises(InvalidInput, match="-60 to 120 C"):
        units.parse_temperature_celsius(text)


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 37.0, 71.5])
def test_fahrenheit_round_trip(celsius):
    there = units.fahrenheit_from_celsius(celsius)
    assert units.celsius_from_fahrenheit(there) == pytest.approx(celsius, abs=1e-12)


def test_exact_definitions():
    # international yard and pound of 1959; gallons by their legal definitions (231 in3; 4.54609 L)
    assert pytest.approx(231 * 0.254**3) == units.LITRES_PER_US_GALLON
    assert pytest.approx(units.KILOGRAMS_PER_POUND / 16) == units.KILOGRAMS_PER_OUNCE
    assert (
        pytest.approx(27 * units.CUBIC_METRES_PER_CUBIC_FOOT) == units.CUBIC_METRES_PER_CUBIC_YARD
    )
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
