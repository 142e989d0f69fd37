"""Rate factors against values worked out from the published formulas and against findings.

Formulas from memory unless said otherwise; tolerance half of the last digit printed.
"""

import pytest

from slowfire.biology.kinetics import (
    acid_factor_sundberg,
    degradable_share_chandler,
    free_air_space_factor_haug,
    moisture_factor_haug,
    oxygen_factor_monod,
    oxygen_half_saturation_richard,
    temperature_factor_haug,
    temperature_factor_rosso,
)

HAUG_PRINTED_TOP = 17.93  # largest value of Haug's bracket, printed beside its table


# haug1993, k_T over the coefficient k_20. Our factor is that bracket over its own top.
@pytest.mark.parametrize(
    ("celsius", "printed"),
    [
        (5.0, 0.38),
        (10.0, 0.53),
        (20.0, 1.00),
        (30.0, 1.89),
        (40.0, 3.57),
        (50.0, 6.65),
        (55.0, 8.98),
        (60.0, 11.89),
        (65.0, 15.15),
        (70.0, 17.70),
        (75.0, 16.17),
        (78.0, 9.82),
        (80.0, 1.02),
    ],
)
def test_temperature_haug(celsius, printed):
    bracket = temperature_factor_haug(celsius) * HAUG_PRINTED_TOP
    assert bracket == pytest.approx(printed, abs=0.005)


def test_temperature_haug_top():
    """haug1993: largest at 71.6 degC; 0 above about 80 degC."""
    assert temperature_factor_haug(71.6) == pytest.approx(1.0, abs=1e-4)
    assert temperature_factor_haug(71.1) < temperature_factor_haug(71.6)
    assert temperature_factor_haug(72.1) < temperature_factor_haug(71.6)
    assert temperature_factor_haug(81.0) == 0.0


# rosso1993 with 5, 58.6, 71.6 degC, values used for compost after richardwalker2006.
@pytest.mark.parametrize(
    ("celsius", "printed"),
    [
        (10.0, 0.014),
        (20.0, 0.123),
        (30.0, 0.326),
        (40.0, 0.597),
        (45.0, 0.741),
        (50.0, 0.874),
        (55.0, 0.972),
        (58.6, 1.0),
        (60.0, 0.995),
        (65.0, 0.852),
        (68.0, 0.610),
        (70.0, 0.330),
    ],
)
def test_temperature_rosso(celsius, printed):
    factor = temperature_factor_rosso(celsius, 5.0, 58.6, 71.6)
    assert factor == pytest.approx(printed, abs=0.0005)


def test_rise_from_20_to_58_degrees():
    """Worked out from both formulas: Haug 11.0 times, Rosso 8.1 times from 20 to 58.6 degC."""
    haug = temperature_factor_haug(58.6) / temperature_factor_haug(20.0)
    rosso = temperature_factor_rosso(58.6, 5.0, 58.6, 71.6) / temperature_factor_rosso(
        20.0, 5.0, 58.6, 71.6
    )
    assert haug == pytest.approx(11.0, abs=0.05)
    assert rosso == pytest.approx(8.1, abs=0.05)


def test_rosso_keeps_the_order_found_in_reactors():
    """sundberg2005 (found): household waste rots faster at 55 than at 40 or 67 degC."""
    at = {t: temperature_factor_rosso(t, 5.0, 58.6, 71.6) for t in (40.0, 55.0, 67.0)}
    assert at[55.0] > at[40.0]
    assert at[55.0] > at[67.0]


@pytest.mark.xfail(strict=True, reason="Haug's curve is largest at 72 degC; kept as an option")
def test_haug_keeps_the_order_found_in_reactors():
    """sundberg2005 (found): household waste rots faster at 55 than at 67 degC."""
    assert temperature_factor_haug(55.0) > temperature_factor_haug(67.0)


def test_rate_from_oxygen_uptake():
    """Worked: 5 g O2/(kg VS h) at 55 degC, 0.7 degradable, 1.4 kg O2/kg: 0.12 then 0.0136 1/d."""
    hot = 0.005 * 24.0 / (0.7 * 1.4)
    assert hot == pytest.approx(0.12, abs=0.005)
    at_20 = hot * temperature_factor_haug(20.0) / temperature_factor_haug(55.0)
    assert at_20 == pytest.approx(0.0136, abs=0.00005)


# haug1993
@pytest.mark.parametrize(
    ("moisture", "printed"),
    [(0.2, 0.029), (0.3, 0.147), (0.4, 0.503), (0.5, 0.856), (0.6, 0.972), (0.7, 0.995)],
)
def test_moisture_haug(moisture, printed):
    assert moisture_factor_haug(moisture) == pytest.approx(printed, abs=0.0005)


# haug1993
@pytest.mark.parametrize(
    ("air_space", "printed"),
    [
        (0.05, 0.090),
        (0.10, 0.245),
        (0.15, 0.514),
        (0.20, 0.776),
        (0.25, 0.919),
        (0.30, 0.974),
        (0.40, 0.997),
    ],
)
def test_free_air_space_haug(air_space, printed):
    assert free_air_space_factor_haug(air_space) == pytest.approx(printed, abs=0.0005)


# haug1993, half-saturation 2 % by volume
@pytest.mark.parametrize(
    ("percent", "printed"),
    [(1.0, 0.333), (2.0, 0.500), (5.0, 0.714), (10.0, 0.833), (15.0, 0.882), (20.9, 0.913)],
)
def test_oxygen_haug(percent, printed):
    assert oxygen_factor_monod(percent / 100.0, 0.02) == pytest.approx(printed, abs=0.0005)


def test_half_saturation_richard():
    """richard2006 regression (from memory): 1.76 % by volume at 35 degC and 60 % moisture."""
    percent = 100.0 * oxygen_half_saturation_richard(35.0, 0.60)
    # the regression gives 1.755, half of the last digit away to the last bit
    assert percent == pytest.approx(1.76, abs=0.005 + 1e-9)


def test_half_saturation_richard_measured_top():
    """richard2006 abstract (found): the largest half-saturation measured was 1.74 %."""
    largest = max(
        100.0 * oxygen_half_saturation_richard(t, m) for t in (35.0, 45.0, 55.0, 65.0)
        for m in (0.36, 0.45, 0.60)
    )  # fmt: skip
    assert largest == pytest.approx(1.74, abs=0.05)


@pytest.mark.xfail(
    strict=True,
    reason="the lowest half-saturation measured, -0.67 %, has no meaning; ours ends 0.2",
)
def test_half_saturation_richard_measured_bottom():
    """richard2006 abstract (found): the smallest half-saturation measured was -0.67 %."""
    assert 100.0 * oxygen_half_saturation_richard(65.0, 0.36) == pytest.approx(-0.67, abs=0.5)


def test_acid_rule_sundberg():
    """sundberg2005 (found): above 40 degC and below pH 6 severely inhibited; not either alone."""
    assert acid_factor_sundberg(46.0, 5.0) < 0.2
    assert acid_factor_sundberg(46.0, 7.0) == 1.0
    assert acid_factor_sundberg(36.0, 5.0) == 1.0


# chandler1980 with lignin in per cent of volatile solids as collected in textbooks (from memory)
@pytest.mark.parametrize(
    ("material", "lignin", "printed"),
    [
        ("food", 0.4, 0.82),
        ("office paper", 0.4, 0.82),
        ("garden waste", 4.1, 0.72),
        ("corrugated card", 12.9, 0.47),
        ("newsprint", 21.9, 0.22),
        ("coffee grounds, low", 20.0, 0.27),
        ("coffee grounds, high", 25.0, 0.13),
    ],
)
def test_degradable_share_chandler(material, lignin, printed):
    assert degradable_share_chandler(lignin) == pytest.approx(printed, abs=0.005 + 1e-9)
