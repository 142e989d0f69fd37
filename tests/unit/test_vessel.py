"""Shapes, walls and openings as numbers."""

import math

import pytest

from slowfire.column.draft import height_of_volume, volume_of_height
from slowfire.errors import InvalidInput, UnknownName
from slowfire.vessel import (
    Fittings,
    box,
    cylinder,
    find_wall_material,
    heap,
    inside_volume,
    slab_resistance,
    taper,
    wall_materials,
)


def test_volumes_of_the_shapes():
    assert inside_volume(box(0.5, 0.4, 0.9)) == pytest.approx(0.18)
    assert inside_volume(cylinder(0.5, 0.8)) == pytest.approx(math.pi / 4 * 0.25 * 0.8)
    # frustum formula h pi/12 (D^2 + D d + d^2)
    expected = 0.9 * math.pi / 12 * (0.6**2 + 0.6 * 0.4 + 0.4**2)
    assert inside_volume(taper(0.6, 0.4, 0.9)) == pytest.approx(expected)


@pytest.mark.parametrize("vessel", [box(0.5, 0.5, 0.9), taper(0.4, 0.7, 0.9), heap(1.2, 0.9)])
def test_height_and_volume_undo_one_another(vessel):
    for height in (0.0, 0.05, 0.4, vessel.height, vessel.height + 0.2):
        volume = volume_of_height(vessel, height)
        assert height_of_volume(vessel, volume) == pytest.approx(height, abs=1e-9)
    assert volume_of_height(vessel, vessel.height) == pytest.approx(inside_volume(vessel))


def test_slabs_add_up():
    total = slab_resistance([("timber", 0.02), ("wool", 0.06)])
    assert total == pytest.approx(0.02 / 0.125 + 0.06 / 0.039)
    assert slab_resistance([]) == 0.0


def test_every_wall_material_lies_in_its_range():
    for material in wall_materials().values():
        assert material.low <= material.conductivity <= material.high, material.name
        assert material.source


def test_everyday_words_for_walls():
    for word, name in (("Foam", "eps"), ("wood", "timber"), ("plastic", "plastic")):
        assert find_wall_material(word).name == name
    with pytest.raises(UnknownName, match=r"jelly.*eps"):
        find_wall_material("jelly")


def test_an_open_heap_takes_air_and_rain_from_everywhere():
    open_heap = heap(1.2, 1.0)
    assert open_heap.side_open == 1.0
    assert open_heap.rain_share == 1.0
    assert open_heap.lidded == 0.0
    assert heap(1.2, 1.0, roofed=True).rain_share == 0.0


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: box(-0.5, 0.5, 0.5), r"Width is -0.5 m; allowed is 0.05 to 5 m"),
        (lambda: box(0.5, math.nan, 0.5), "Depth is nan"),
        (lambda: cylinder(0.5, 9.0), r"Height is 9 m"),
        (lambda: box(0.5, 0.5, 0.5, Fittings(lid_fit="sealed")), "tight, usual or leaky"),
        (lambda: box(0.5, 0.5, 0.5, Fittings(wall=())), "at least one wall layer"),
        (lambda: box(0.5, 0.5, 0.5, Fittings(wall=(("eps", 5.0),))), "Thickness of eps is 5 m"),
        (lambda: box(0.5, 0.5, 0.5, Fittings(side_open=1.5)), "Open share"),
    ],
)
def test_senseless_vessels_are_refused(make, message):
    with pytest.raises(InvalidInput, match=message):
        make()
