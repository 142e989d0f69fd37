"""Air space, overburden and measured packing."""

import pytest

from slowfire.physics.packing import free_air_space, overburden_pressure, solids_specific_volume


# Formula of ginkel1999 and richard2004 (from memory), dry matter 0.40, volatile solids 0.85.
# Wet bulk density [kg/m^3], free air space as printed; tolerance half of the last digit.
@pytest.mark.parametrize(
    ("bulk_density", "printed"),
    [
        (300.0, 0.749),
        (400.0, 0.665),
        (500.0, 0.582),
        (600.0, 0.498),
        (700.0, 0.414),
        (800.0, 0.331),
    ],
)
def test_free_air_space(bulk_density, printed):
    assert free_air_space(bulk_density, 0.40, 0.85) == pytest.approx(printed, abs=0.0005)


def test_overburden():
    """Worked: 500 kg/m^3 over 1 m weigh 4.9 kPa at the base."""
    assert overburden_pressure(500.0, 1.0) / 1000.0 == pytest.approx(4.9, abs=0.05)


@pytest.mark.xfail(
    strict=True, reason="haug1993 counts closed pores as solid; the air-space formula does not"
)
def test_particle_density_haug():
    """haug1993 (from memory): 1/G = V/1.0 + (1 - V)/2.5, in water volumes, volatile share 0.85."""
    expected = 0.85 / 1000.0 + 0.15 / 2500.0
    assert solids_specific_volume(0.85) == pytest.approx(expected, rel=0.05)
