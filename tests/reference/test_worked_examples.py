"""Worked examples from teaching sheets and hand-outs, printed answers beside each."""

import pytest

from slowfire.materials.library import Feedstock, Portion, load_library
from slowfire.physics.gas_flow import effective_diffusivity_penman
from slowfire.recipe.bucket_tests import (
    bulk_density_bucket,
    free_air_space_bucket,
    moisture_content_by_drying,
)
from slowfire.recipe.mixture import blend
from slowfire.recipe.targets import mass_for_c_to_n, mass_for_moisture, one_of
from slowfire.units import KILOGRAMS_PER_POUND, LITRES_PER_US_GALLON, pounds_per_cubic_yard


def material(name: str, moisture: float, carbon: float, nitrogen: float) -> Feedstock:
    """A material whose contents [%] are those of the printed example."""
    entry = {
        "name": name,
        "like": "grass_clippings_fresh",
        "moisture_percent": moisture,
        "carbon_percent": carbon,
        "nitrogen_percent": nitrogen,
        "volatile_solids_percent": 100,
    }
    return load_library().with_own([entry]).find(name)


# Cornell school sheets on moisture and on C:N: grass 77 % water, 45 % C, 2.4 % N of dry matter;
# leaves 35 % water, 50 % C, 0.75 % N (the contents of the C:N sheet are from memory).
GRASS = material("sheet grass", 77, 45, 2.4)
LEAVES = material("sheet leaves", 35, 50, 0.75)


def test_moisture_of_a_dried_sample():
    # W1, Cornell school moisture sheet: 10 g wet grass, container 4 g, dry total 6.3 g -> 77 %
    assert moisture_content_by_drying(0.010, 0.0063, 0.004) == pytest.approx(0.77, abs=0.005)


def test_leaves_for_a_moisture_goal():
    # W2, same sheet, question 1: 10 kg grass, goal 60 % -> 6.8 kg leaves
    grass = blend([Portion.from_mass(GRASS, 10.0)])
    assert mass_for_moisture(grass, one_of(LEAVES), 0.60) == pytest.approx(6.8, abs=0.05)


def test_leaves_for_a_c_to_n_goal():
    # W3, Cornell school C/N sheet: 10 kg grass, goal 30:1 -> 3.5 kg leaves
    grass = blend([Portion.from_mass(GRASS, 10.0)])
    assert mass_for_c_to_n(grass, one_of(LEAVES), 30.0) == pytest.approx(3.5, abs=0.05)


def test_c_to_n_of_the_moisture_mix():
    # W4, same sheet: 10 kg grass and 6.8 kg leaves -> 37:1, 60 %
    mix = blend([Portion.from_mass(GRASS, 10.0), Portion.from_mass(LEAVES, 6.8)])
    assert mix.c_to_n == pytest.approx(37.0, abs=0.5)
    assert 100.0 * mix.moisture_content_wet_basis == pytest.approx(60.0, abs=0.5)


def test_three_way_c_to_n_from_percentages_as_is():
    # W5, hand-out "How to calculate the carbon-to-nitrogen ratio of your compost mix": hay 50 lb
    # (40 % C, 1 % N), kitchen scraps 10 lb (10, 1), coffee 2 lb (25, 1) -> C 21.5, N 0.62, 34.7:1
    parts = [("hay", 50, 40, 1), ("scraps", 10, 10, 1), ("coffee", 2, 25, 1)]
    mix = blend(
        Portion.from_mass(material(f"hand-out {n}", 0, c, nn), lb * KILOGRAMS_PER_POUND)
        for n, lb, c, nn in parts
    )
    assert mix.carbon / KILOGRAMS_PER_POUND == pytest.approx(21.5, abs=0.05)
    assert mix.nitrogen / KILOGRAMS_PER_POUND == pytest.approx(0.62, abs=0.005)
    assert mix.c_to_n == pytest.approx(34.7, abs=0.05)


def test_ratio_only_solve_holds_for_equal_nitrogen():
    # W6, home-composting C:N note: manure 5 lb at 25:1, corn stalks 60:1, goal 30:1, set up as
    # (5/T) 25 + (W/T) 60 = 30; the answer 0.833 lb is arithmetic on that set-up. Weighting ratios
    # by mass is right only where nitrogen is equal, so both are given 1 % here.
    manure, stalks = material("note manure", 0, 25, 1), material("note stalks", 0, 60, 1)
    base = blend([Portion.from_mass(manure, 5.0 * KILOGRAMS_PER_POUND)])
    pounds = mass_for_c_to_n(base, one_of(stalks), 30.0) / KILOGRAMS_PER_POUND
    assert pounds == pytest.approx(25.0 / 30.0, abs=0.0005)


def test_ratio_only_answer_is_not_given_where_nitrogen_differs():
    # W6 again with the nitrogen such materials have (NRAES-54, from memory: cattle manure 2.4 %,
    # corn stalks 0.7 %): ratio averaging would still say 0.833 lb.
    manure, stalks = material("true manure", 0, 60, 2.4), material("true stalks", 0, 42, 0.7)
    base = blend([Portion.from_mass(manure, 5.0 * KILOGRAMS_PER_POUND)])
    pounds = mass_for_c_to_n(base, one_of(stalks), 30.0) / KILOGRAMS_PER_POUND
    assert pounds == pytest.approx((30 * 5 * 0.024 - 5 * 0.6) / (0.42 - 30 * 0.007), rel=1e-9)
    assert abs(pounds - 0.833) > 1.0


@pytest.mark.parametrize(
    ("parts", "printed_mean"),
    [
        # W7, gardening worksheet: 2 grass (20), 1 leaves (60) -> "33:1", a mean of ratios
        ([("grass", 2, 44.0, 2.2), ("leaves", 1, 48.0, 0.8)], 33.33),
        # W8, same: 2 grass (20), 1 pine needles (110), 1 manure (15) -> "41:1"
        (
            [
                ("grass", 2, 44.0, 2.2),
                ("needles", 1, 50.6, 0.46),
                ("manure", 1, 39.0, 2.6),
            ],
            41.25,
        ),
    ],
)
def test_ratios_are_never_averaged(parts, printed_mean):
    # The printed answers are the trap: with contents of those very ratios, C over N is far lower.
    mean = sum(k * c / n for _, k, c, n in parts) / sum(k for _, k, _, _ in parts)
    assert mean == pytest.approx(printed_mean, abs=0.01)
    mix = blend(
        Portion.from_mass(material(f"trap {name}", 0, c, n), float(k)) for name, k, c, n in parts
    )
    by_mass = sum(k * c for _, k, c, _ in parts) / sum(k * n for _, k, _, n in parts)
    assert mix.c_to_n == pytest.approx(by_mass, rel=1e-9)
    assert abs(mix.c_to_n - printed_mean) > 5.0


def test_bulk_density_of_a_bucket():
    # W9, Zabaleta supplement after Cooperband 2002: 20 L bucket, 1 kg empty, 10 kg filled in
    # thirds, tapped 5 times -> 0.45 kg/L
    kilograms_per_litre = bulk_density_bucket(10.0, 1.0, 0.020) / 1000.0
    assert kilograms_per_litre == pytest.approx(0.45, abs=0.005)


def test_bulk_density_of_a_five_gallon_bucket():
    # W10, WSU Puyallup: 5 US gal bucket, weight in lb times 40.4 gives lb/yd3
    pounds = 25.0
    density = bulk_density_bucket(pounds * KILOGRAMS_PER_POUND, 0.0, 5 * LITRES_PER_US_GALLON / 1e3)
    assert pounds_per_cubic_yard(density) / pounds == pytest.approx(40.4, abs=0.05)


@pytest.mark.parametrize(("gallons", "percent"), [(1.0, 20.0), (2.5, 50.0)])
def test_free_air_space_of_a_bucket(gallons, percent):
    # W11, school compost day log: 5 gal bucket, each gallon of water is 20 %
    gallon = LITRES_PER_US_GALLON / 1000.0
    assert 100.0 * free_air_space_bucket(gallons * gallon, 5.0 * gallon) == pytest.approx(percent)


def test_diffusion_falls_with_the_square_of_air_space():
    # W12, Cornell Science and Engineering, "Inadequate porosity": air space 0.5 to 0.4 cuts
    # diffusion by 36 % (16/25)
    ratio = effective_diffusivity_penman(0.4, 2e-5) / effective_diffusivity_penman(0.5, 2e-5)
    assert ratio == pytest.approx(16.0 / 25.0, rel=1e-12)
