import math

import pytest

from slowfire.build.box import inside_volume
from slowfire.errors import InvalidInput
from slowfire.garden import layer_volume
from slowfire.recipe.bucket_tests import (
    bulk_density_bucket,
    free_air_space_bucket,
    moisture_content_by_drying,
)


@pytest.mark.parametrize(
    "sizes",
    [
        {"wall": 0.5, "lid": 0.0, "base": 0.0},
        {"wall": 0.1, "lid": 0.6, "base": 0.4},
        {"wall": -0.1, "lid": 0.0, "base": 0.0},
        {"wall": math.nan, "lid": 0.0, "base": 0.0},
    ],
)
def test_box_without_room_is_refused(sizes):
    with pytest.raises(InvalidInput):
        inside_volume(1.0, 1.0, 1.0, **sizes)


def test_box_without_walls_is_its_outside():
    assert inside_volume(0.5, 0.6, 0.7, wall=0.0, lid=0.0, base=0.0) == pytest.approx(0.21)


@pytest.mark.parametrize(("area", "depth"), [(-1.0, 0.05), (1.0, -0.05), (1.0, math.nan), (1.0, 9)])
def test_bed_refuses_what_is_no_layer(area, depth):
    with pytest.raises(InvalidInput):
        layer_volume(area, depth)


def test_swapped_bucket_weights_are_refused():
    with pytest.raises(InvalidInput, match="swapped"):
        bulk_density_bucket(1.0, 10.0, 0.02)
    with pytest.raises(InvalidInput, match="Volume"):
        bulk_density_bucket(10.0, 1.0, 0.0)


def test_more_water_than_bucket_is_refused():
    with pytest.raises(InvalidInput, match=r"allowed is 0 to 0\.02"):
        free_air_space_bucket(0.03, 0.02)


def test_dried_sample_may_not_gain():
    with pytest.raises(InvalidInput, match="container"):
        moisture_content_by_drying(0.010, 0.02, 0.004)
    with pytest.raises(InvalidInput, match="container"):
        moisture_content_by_drying(0.010, 0.001, 0.004)
