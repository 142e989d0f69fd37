"""Flow through beds and openings against `fluids` (its packed_bed module) and worked values."""

import math

import pytest
from fluids.packed_bed import Carman, Ergun

from slowfire.physics.gas_flow import (
    effective_diffusivity_millington,
    effective_diffusivity_penman,
    orifice_flow,
    permeability_kozeny_carman,
    pressure_gradient_ergun,
    velocity_darcy,
)

NO_CAP = math.inf
HOUR = 3600.0


# Range applied to compost in richard2004: 0.001 to 0.05 m/s.
@pytest.mark.parametrize("velocity", [0.001, 0.01, 0.05])
@pytest.mark.parametrize("voidage", [0.1, 0.3, 0.5, 0.7])
@pytest.mark.parametrize("diameter", [0.0005, 0.002, 0.01])
def test_ergun(velocity, voidage, diameter):
    """ergun1952 as coded independently; same equation, so to rounding."""
    expected = Ergun(dp=diameter, voidage=voidage, vs=velocity, rho=1.05, mu=1.95e-5, L=1.0)
    ours = pressure_gradient_ergun(velocity, voidage, diameter, 1.05, 1.95e-5)
    assert ours == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("voidage", [0.1, 0.3, 0.5, 0.7])
@pytest.mark.parametrize("diameter", [0.0005, 0.002, 0.01])
def test_kozeny_carman(voidage, diameter):
    """carman1937 has 180 + 2.871 (Re/(1-e))^0.9; in very slow flow only the 180 is left."""
    velocity, viscosity = 1e-10, 1.95e-5
    drop = Carman(dp=diameter, voidage=voidage, vs=velocity, rho=1.05, mu=viscosity, L=1.0)
    expected = viscosity * velocity / drop
    ours = permeability_kozeny_carman(voidage, diameter, NO_CAP)
    assert ours == pytest.approx(expected, rel=1e-4)


# Darcy at 2.3 Pa/m with a viscosity of 1.95e-5 Pa*s, printed in m^3/(m^2*h).
@pytest.mark.parametrize(
    ("permeability", "printed", "tolerance"),
    [(1e-10, 0.042, 0.0005), (1e-9, 0.42, 0.005), (1e-8, 4.2, 0.05), (1e-7, 42.0, 0.5)],
)
def test_velocity_at_a_usual_draft(permeability, printed, tolerance):
    velocity = velocity_darcy(2.3, permeability, 1.95e-5)
    assert velocity * HOUR == pytest.approx(printed, abs=tolerance)


# The same over a bed of 0.2 m^2, printed in m^3/h.
@pytest.mark.parametrize(
    ("permeability", "printed", "tolerance"),
    [(1e-8, 0.85, 0.005), (1e-9, 0.085, 0.0005), (1e-10, 0.0085, 0.00005)],
)
def test_flow_through_a_small_bed(permeability, printed, tolerance):
    flow = 0.2 * velocity_darcy(2.3, permeability, 1.95e-5) * HOUR
    assert flow == pytest.approx(printed, abs=tolerance)


# A vent at 1 Pa with a discharge coefficient of 0.6, printed as "about" in m^3/h. The density is
# not printed; 1.2 kg/m^3 is the usual round figure for air at 20 degC.
@pytest.mark.parametrize(
    ("area_cm2", "printed", "tolerance"), [(10.0, 2.8, 0.05), (1.0, 0.28, 0.005)]
)
def test_flow_through_a_vent(area_cm2, printed, tolerance):
    flow = orifice_flow(1.0, area_cm2 * 1e-4, 0.6, 1.2) / 1.2 * HOUR
    assert flow == pytest.approx(printed, abs=tolerance)


def test_square_law_of_effective_diffusivity():
    """papendick1981: the square of the air-filled share."""
    assert effective_diffusivity_penman(0.30, 1.0) == pytest.approx(0.09, rel=1e-12)


def test_dry_limit_of_millington():
    """millington1961: with no water in the pores D_eff/D is phi^(4/3)."""
    assert effective_diffusivity_millington(0.5, 0.5, 1.0) == pytest.approx(0.5 ** (4.0 / 3.0))
