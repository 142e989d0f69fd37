import dataclasses
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.errors import InvalidInput
from slowfire.materials.library import Portion, load_library
from slowfire.recipe.mixture import available_carbon, blend, settled_soft_volume

LIBRARY = load_library()
find = LIBRARY.find

portions = st.lists(
    st.builds(
        Portion.from_mass,
        st.sampled_from(LIBRARY.feedstocks),
        st.floats(0.01, 20.0),
        st.sampled_from(["loose", "dense", None]),
    ),
    min_size=1,
    max_size=5,
)


def of(word, kilograms, packing=None):
    return Portion.from_mass(find(word), kilograms, packing)


def test_one_material_is_itself():
    coffee = find("coffee")
    mix = blend([of("coffee", 0.45)])
    assert mix.moisture_content_wet_basis == pytest.approx(coffee.moisture_content_wet_basis)
    assert mix.c_to_n == pytest.approx(coffee.c_to_n)
    assert mix.volatile_solids == pytest.approx(coffee.volatile_solids)
    assert mix.bulk_density == pytest.approx(coffee.bulk_density)
    assert mix.volume == pytest.approx(0.001)


@given(portions, st.floats(0.0, 5.0))
def test_sums_and_bounds(parts, water):
    mix = blend(parts, added_water=water)
    assert mix.mass == pytest.approx(sum(p.mass for p in parts) + water)
    assert mix.dry_mass == pytest.approx(sum(p.mass * p.feedstock.dry_matter for p in parts))
    assert 0.0 < mix.moisture_content_wet_basis < 1.0
    assert 0.0 <= mix.settled_free_air_space <= mix.free_air_space + 1e-9 <= 1.0
    assert 0.0 < mix.settled_volume <= mix.volume * (1.0 + 1e-9)
    assert mix.volume <= (sum(p.litres for p in parts) + water) / 1000.0 * (1.0 + 1e-9)
    assert (mix.c_to_n is None) == (mix.nitrogen == 0.0)
    if mix.c_to_n is not None:
        assert mix.available_c_to_n <= mix.c_to_n * (1.0 + 1e-9)


@given(portions)
def test_order_and_splitting_change_nothing(parts):
    one = blend(parts)
    halves = [
        dataclasses.replace(p, mass=p.mass / 2, litres=p.litres / 2) for p in parts for _ in (0, 1)
    ]
    other = blend(reversed(halves))
    for field in ("mass", "dry_mass", "volume", "settled_volume", "free_air_space"):
        assert getattr(one, field) == pytest.approx(getattr(other, field), rel=1e-9, abs=1e-12)


@given(portions, st.floats(0.1, 10.0))
def test_intensive_values_do_not_depend_on_size(parts, factor):
    small = blend(parts)
    big = blend(
        dataclasses.replace(p, mass=p.mass * factor, litres=p.litres * factor) for p in parts
    )
    # a mix of minerals alone has no C:N, whatever its size
    assert (small.c_to_n is None) == (big.c_to_n is None)
    if small.c_to_n is not None:
        assert small.c_to_n == pytest.approx(big.c_to_n, rel=1e-9)
    for field in ("moisture_content_wet_basis", "bulk_density", "settled_free_air_space"):
        assert getattr(small, field) == pytest.approx(getattr(big, field), rel=1e-9, abs=1e-9)


def test_minerals_and_char_stay_out_of_c_to_n():
    plain = blend([of("peelings", 2.0)])
    for word in ("egg shells", "wood ash", "biochar"):
        mixed = blend([of("peelings", 2.0), of(word, 0.5)])
        assert mixed.c_to_n == pytest.approx(plain.c_to_n)
        assert mixed.mass == pytest.approx(2.5)
    assert blend([of("wood ash", 1.0)]).c_to_n is None


def test_without_nitrogen_there_is_no_ratio():
    bare = dataclasses.replace(find("paper"), nitrogen_content=0.0)
    mix = blend([Portion.from_mass(bare, 1.0)])
    assert mix.c_to_n is None
    assert mix.available_c_to_n is None


def test_fines_fill_voids_between_chips():
    fines, chips = of("coffee", 2.0), of("wood chips", 3.0)
    mix = blend([fines, chips])
    loose = (fines.litres + chips.litres) / 1000.0
    assert mix.volume < loose
    assert mix.volume > chips.litres / 1000.0
    assert blend([fines]).volume == pytest.approx(fines.litres / 1000.0)
    assert blend([chips]).volume == pytest.approx(chips.litres / 1000.0)


def test_air_inside_wood_is_not_counted():
    # chips of 250 kg/m3 made of pieces of 850: 1 - 250/850, whatever the solids formula would say
    assert blend([of("wood chips", 1.0)]).free_air_space == pytest.approx(1.0 - 250.0 / 850.0)


def test_chips_without_a_piece_density_fall_back_to_the_solids_formula():
    unknown = dataclasses.replace(find("wood chips"), particle_density=None)
    mix = blend([Portion.from_mass(unknown, 1.0)])
    dry = 0.55 * (0.97 / 1600 + 0.03 / 2500)
    assert mix.free_air_space == pytest.approx(1.0 - 250.0 * (0.45 / 1000 + dry))


def test_wet_food_alone_slumps_and_paper_holds_it_open():
    airspace = [
        blend([of("peelings", 2.0), of("paper", kilograms)]).settled_free_air_space
        for kilograms in (0.01, 0.1, 0.2, 0.4)
    ]
    assert airspace == sorted(airspace)
    assert airspace[0] < 0.2 < airspace[2]
    loose = blend([of("peelings", 2.0)])
    assert loose.free_air_space > 0.5
    assert loose.settled_free_air_space == pytest.approx(0.1, abs=0.01)


def test_straw_keeps_its_pressed_volume_when_wet():
    wet = blend([of("straw", 1.0)], added_water=2.0)
    assert wet.settled_volume == pytest.approx(1.0 / 100.0)


def test_settled_volume_never_exceeds_the_pressed_one():
    assert settled_soft_volume(0.001, 0.002, 5.0, 1.0) == 0.001
    assert settled_soft_volume(0.0, 0.0, 0.0, 0.0) == 0.0
    assert settled_soft_volume(0.01, 0.0045, 5.0, 0.0) == pytest.approx(0.005)


def test_water_to_spare():
    # 2 kg of peelings: 1.7 kg water, 0.3 kg dry matter that keeps 4.5 kg/kg -> 0.35 kg drips
    assert blend([of("peelings", 2.0)]).water_to_spare == pytest.approx(-0.35)
    # 0.1 kg paper more keeps 0.094 x 3.0 and brings 0.006
    mixed = blend([of("peelings", 2.0), of("paper", 0.1)])
    assert mixed.water_to_spare == pytest.approx(-0.35 + 0.282 - 0.006)
    wetted = blend([of("paper", 0.1)], added_water=0.2)
    assert wetted.water_to_spare == pytest.approx(0.282 - 0.006 - 0.2)
    assert wetted.moisture_content_wet_basis == pytest.approx(0.206 / 0.3)


def test_available_carbon_of_wood_is_its_fast_share_alone():
    chips = find("wood chips")
    assert available_carbon(chips) == pytest.approx(0.49 * 0.14)
    straw = find("straw")
    assert available_carbon(straw) == pytest.approx(0.455 * (0.14 + 0.5 * 0.74))


def test_empty_mix_and_senseless_water_are_refused():
    with pytest.raises(InvalidInput, match="at least one"):
        blend([])
    for water in (-1.0, float("nan"), 1e9):
        with pytest.raises(InvalidInput, match="Added water"):
            blend([of("paper", 1.0)], added_water=water)


def test_import_is_light():
    code = (
        "import sys, slowfire.recipe.mixture, slowfire.recipe.targets, slowfire.measures;"
        "print([m for m in ('numba', 'scipy', 'sqlalchemy') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == "[]"
