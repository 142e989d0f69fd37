"""U-values, films, conductivity of the bed."""

import pytest

from slowfire.physics.heat import (
    conductivity_compost,
    outer_film_coefficient,
    specific_heat_compost,
    thermal_transmittance,
    wall_resistance,
)

INNER_FILM = 0.13  # [m^2*K/W], iso6946, horizontal
OUTER_FILM = 0.04  # [m^2*K/W], iso6946, from memory

# Worked with both films; thickness [mm], conductivity [W/(m*K)], U [W/(m^2*K)] as printed. For
# softwood iso10456 gives 0.12 to 0.13 (from memory); the printed values belong to 0.13.
WALLS = [
    ("foam", 20, 0.037, 1.41),
    ("foam", 30, 0.037, 1.02),
    ("foam", 50, 0.037, 0.66),
    ("foam", 80, 0.037, 0.43),
    ("foam", 100, 0.037, 0.35),
    ("softwood", 20, 0.13, 3.09),
    ("softwood", 30, 0.13, 2.50),
    ("straw", 50, 0.06, 1.00),
    ("straw", 100, 0.06, 0.54),
]


@pytest.mark.parametrize(("material", "thickness_mm", "conductivity", "printed"), WALLS)
def test_wall(material, thickness_mm, conductivity, printed):
    resistance = wall_resistance(thickness_mm / 1000.0, conductivity)
    value = thermal_transmittance(INNER_FILM, OUTER_FILM, resistance)
    assert value == pytest.approx(printed, abs=0.005)


def test_outer_film_of_the_standard():
    """iso6946 (from memory): 0.04 m^2*K/W stands for 4 m/s of wind at about 10 degC, emissivity 0.9."""  # noqa: E501
    assert 1.0 / outer_film_coefficient(4.0, 10.0, 0.9) == pytest.approx(0.04, abs=0.005)


def test_radiative_part_of_the_outer_film():
    """iso6946 annex (from memory): about 5 W/(m^2*K) by radiation."""
    radiative = outer_film_coefficient(0.0, 10.0, 0.9) - 4.0
    assert radiative == pytest.approx(5.0, abs=0.5)


def test_conductivity_default():
    """Common practice, no source: 0.30 to 0.40 W/(m*K) at 60 % water and 500 kg/m^3."""
    assert 0.30 <= conductivity_compost(0.60, 500.0) <= 0.40


# ahn2009 abstract (found): ranges of conductivity [W/(m*K)] at 80 % of the water-holding
# capacity. Dry density [kg/m^3] and capacity [kg/kg] for each material from the loose bulk
# densities of rynk1992 and the capacities of adhikari2008 (from memory).
@pytest.mark.parametrize(
    ("material", "dry_density", "capacity", "low", "high"),
    [
        ("sawdust", 150.0, 3.0, 0.12, 0.81),
        ("manure, fresh", 180.0, 4.0, 0.12, 0.81),
        ("litter", 200.0, 2.5, 0.12, 0.81),
        ("silage", 170.0, 2.6, 0.09, 0.47),
        ("straw, loose", 35.0, 3.0, 0.03, 0.30),
        ("straw, packed", 70.0, 3.0, 0.03, 0.30),
        ("shavings", 80.0, 2.5, 0.03, 0.30),
    ],
)
def test_conductivity_in_measured_ranges(material, dry_density, capacity, low, high):
    water = 0.8 * capacity
    value = conductivity_compost(water / (1.0 + water), dry_density * (1.0 + water))
    assert low <= value <= high


def test_dry_straw_bale():
    """From memory: a dry bale of about 100 kg/m^3 conducts 0.05 to 0.08 W/(m*K)."""
    assert 0.05 <= conductivity_compost(0.10, 100.0) <= 0.08


def test_specific_heat_haug():
    """haug1993 (from memory): c = 4.19 MC + 1.05 (1 - MC) kJ/(kg*K)."""
    expected = 4.19 * 0.6 + 1.05 * 0.4
    assert specific_heat_compost(0.6, 1050.0) / 1000.0 == pytest.approx(expected, abs=0.005)
