"""Draft of warm, wet gas against cold air.

Worked values: outside air at 75 % humidity, inside saturated, ordinary air apart from vapour;
printed in Pa for each metre of height, tolerance half of the last digit.
"""

import pytest
from CoolProp.HumidAirProp import HAPropsSI

from slowfire.constants import (
    CARBON_DIOXIDE_IN_AIR,
    GRAVITY,
    OXYGEN_IN_AIR,
    STANDARD_PRESSURE,
    ZERO_CELSIUS,
)
from slowfire.physics.gas_flow import draft_pressure
from slowfire.physics.moist_air import gas_density, saturation_pressure

INSIDE = (30.0, 45.0, 55.0, 65.0)
TABLE = {
    0.0: (1.41, 2.16, 2.72, 3.38),
    10.0: (0.95, 1.69, 2.26, 2.91),
    20.0: (0.49, 1.24, 1.80, 2.46),
}
MAGNUS = (
    "the printed value fits a Magnus formula (17.62, 243.12) that is up to 0.4 % above the vapour "
    "pressure of pure water; ours is up to 0.3 % lower, as is the real gas"
)
MISSED = {(10.0, 55.0), (0.0, 65.0), (10.0, 65.0), (20.0, 65.0)}
ROWS = [
    pytest.param(
        outside,
        inside,
        printed,
        marks=[pytest.mark.xfail(strict=True, reason=MAGNUS)]
        if (outside, inside) in MISSED
        else [],
    )
    for outside, row in TABLE.items()
    for inside, printed in zip(INSIDE, row, strict=True)
]


def density(celsius, humidity, burnt=0.0):
    """Density with the share `burnt` of carbon dioxide in place of as much oxygen."""
    return gas_density(
        celsius,
        humidity * saturation_pressure(celsius),
        OXYGEN_IN_AIR - burnt,
        CARBON_DIOXIDE_IN_AIR + burnt,
        STANDARD_PRESSURE,
    )


@pytest.mark.parametrize(("outside", "inside", "printed"), ROWS)
def test_draft_per_metre(outside, inside, printed):
    value = draft_pressure(density(outside, 0.75), density(inside, 1.0), 1.0)
    assert value == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize("inside", INSIDE)
@pytest.mark.parametrize("outside", [0.01, 10.0, 20.0])
def test_draft_of_the_real_gas(outside, inside):
    """The whole table again with densities from CoolProp (bell2014), to 1 %."""
    real = [
        1.0 / HAPropsSI("Vha", "T", t + ZERO_CELSIUS, "P", STANDARD_PRESSURE, "R", humidity)
        for t, humidity in ((outside, 0.75), (inside, 1.0))
    ]
    value = draft_pressure(density(outside, 0.75), density(inside, 1.0), 1.0)
    assert value == pytest.approx((real[0] - real[1]) * GRAVITY, rel=0.01)


# Carbon dioxide in place of oxygen makes exit gas heavier, printed in whole per cent ("about").
@pytest.mark.parametrize(("burnt", "printed_percent"), [(0.05, 2), (0.15, 6)])
def test_carbon_dioxide_weighs_the_gas(burnt, printed_percent):
    rise = density(55.0, 1.0, burnt) / density(55.0, 1.0) - 1.0
    assert 100.0 * rise == pytest.approx(printed_percent, abs=0.5)


def test_difference_between_10_and_55_degrees():
    """Worked: 0.23 kg/m^3."""
    assert density(10.0, 0.75) - density(55.0, 1.0) == pytest.approx(0.23, abs=0.005)


# The same in per cent of that difference, printed "about 9 % and 27 %".
@pytest.mark.xfail(
    strict=True,
    reason="ours gives 8.2 and 24.5: the printed values scale the whole gas by the dry part's "
    "rise in molar mass, although 15 % of the gas at 55 degC is vapour",
)
@pytest.mark.parametrize(("burnt", "printed_percent"), [(0.05, 9), (0.15, 27)])
def test_carbon_dioxide_cuts_the_draft(burnt, printed_percent):
    plain = density(10.0, 0.75) - density(55.0, 1.0)
    cut = (density(55.0, 1.0, burnt) - density(55.0, 1.0)) / plain
    assert 100.0 * cut == pytest.approx(printed_percent, abs=0.5)
