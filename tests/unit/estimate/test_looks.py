"""Looks: inside the class that was named nothing pulls, outside the pull grows."""

import math
from itertools import pairwise

import numpy as np
import psychrolib
import pytest
from set_bins import even, filled, wetted

from slowfire.column.positions import (
    ACIDS,
    HEAD_TEMPERATURE,
    N_AMMONIACAL,
    OXYGEN,
    TEMPERATURE,
)
from slowfire.column.simulate import Column, constant_air
from slowfire.errors import InvalidInput
from slowfire.estimate.glimpse import glimpse
from slowfire.estimate.looks import (
    SQUEEZE_CLASSES,
    distance_outside,
    larvae,
    smell,
    squeeze,
    steam,
    usual,
    worms_at,
)
from slowfire.vessel import box

psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize(
    ("latent", "expected"), [(0.1, -0.3), (0.4, 0.0), (0.5, 0.0), (0.6, 0.0), (0.9, 0.3)]
)
def test_distance_is_nought_inside_and_signed_outside(latent, expected):
    assert distance_outside(latent, 0.4, 0.6) == pytest.approx(expected)
    assert distance_outside(latent, -math.inf, math.inf) == 0.0


def test_squeeze_classes_touch_and_cover_the_scale():
    ends = list(SQUEEZE_CLASSES.values())
    assert ends[0][0] == -math.inf
    assert ends[-1][1] == math.inf
    assert all(a[1] == b[0] for a, b in pairwise(ends))


@pytest.mark.parametrize(
    ("moisture", "feel"), [(0.35, "dry"), (0.56, "damp"), (0.69, "drops"), (0.80, "trickle")]
)
def test_each_feel_fits_its_own_moisture_only(moisture, feel):
    seen = wetted(filled(), moisture)
    order = list(SQUEEZE_CLASSES)
    for word in order:
        off = squeeze(0.0, word).predict(seen, {})
        # wetter than felt where the word stands for something drier
        assert np.sign(off) == np.sign(order.index(feel) - order.index(word))


def test_a_squeeze_feels_the_top_only():
    column = filled()
    wetted(column, 0.55)
    column.state[0, 11] *= 5.0
    assert squeeze(0.0, "damp").predict(glimpse(column), {}) == 0.0


def fresh(oxygen: float = 0.2) -> Column:
    """A bin without any smell."""
    column = filled()
    even(column, 25.0, oxygen)
    column.state[: column.layers, ACIDS] = 0.0
    column.state[: column.layers, N_AMMONIACAL] = 0.0
    return column


def test_no_smell_fits_a_bin_that_has_none():
    seen = glimpse(fresh())
    for nose in ("none", "earthy"):
        assert smell(0.0, nose).predict(seen, {}) == 0.0
    for nose in ("ammonia", "sour", "rotten-egg"):
        assert smell(0.0, nose).predict(seen, {}) < -1.0


@pytest.mark.parametrize("nose", ["ammonia", "sour", "rotten-egg"])
def test_each_smell_comes_from_its_own_cause(nose):
    column = fresh(oxygen=0.0005 if nose == "rotten-egg" else 0.2)
    dry = glimpse(column).dry_mass
    if nose == "ammonia":
        column.state[: column.layers, N_AMMONIACAL] = 0.01 * dry
        column.state[: column.layers, TEMPERATURE] = 55.0
    if nose == "sour":
        column.state[: column.layers, ACIDS] = 0.03 * dry
    seen = glimpse(column)
    for word in ("ammonia", "sour", "rotten-egg"):
        off = smell(0.0, word).predict(seen, {})
        assert (off == 0.0) == (word == nose)
    assert smell(0.0, "none").predict(seen, {}) > 0.3


def test_hot_sweet_matter_smells_more_of_ammonia_than_cold_or_sour():
    def latent(celsius: float, acids: float) -> float:
        column = fresh()
        dry = glimpse(column).dry_mass
        column.state[: column.layers, N_AMMONIACAL] = 0.001 * dry
        column.state[: column.layers, TEMPERATURE] = celsius
        column.state[: column.layers, ACIDS] = acids * dry
        return smell(0.0, "ammonia").predict(glimpse(column), {})

    assert latent(60.0, 0.0) > latent(20.0, 0.0)
    assert latent(60.0, 0.0) > latent(60.0, 0.02)


def test_a_pocket_without_air_is_smelled_and_a_thin_one_is_not():
    column = fresh()
    thickness = glimpse(column).thickness
    column.state[: column.layers, OXYGEN] = np.where(
        np.cumsum(thickness) < 0.05 * thickness.sum(), 0.0, 0.2
    )
    assert smell(0.0, "none").predict(glimpse(column), {}) == 0.0
    column.state[: column.layers, OXYGEN] = np.where(
        np.cumsum(thickness) < 0.3 * thickness.sum(), 0.0, 0.2
    )
    assert smell(0.0, "none").predict(glimpse(column), {}) > 0.5


def test_all_as_usual_is_a_weak_word_against_a_stench():
    seen = glimpse(fresh(oxygen=0.0001))
    written, implied = smell(0.0, "none"), usual(0.0)
    assert implied.predict(seen, {}) == written.predict(seen, {}) > 0.0
    assert implied.error_spread == pytest.approx(2.0 * written.error_spread)


def thirds(base: float, middle: float, top: float):
    """Damp, airy matter of which each third has its own temperature."""
    column = filled()
    wetted(column, 0.7)
    even(column, 20.0, 0.2)
    column.state[: column.layers, N_AMMONIACAL] = 0.0
    seen = glimpse(column)
    zone = np.minimum((3.0 * seen.middles / seen.fill_height).astype(int), 2)
    column.state[: column.layers, TEMPERATURE] = np.array([base, middle, top])[zone]
    return glimpse(column)


def test_worms_fit_where_it_is_mild_and_not_where_it_is_hot():
    seen = thirds(22.0, 55.0, 30.0)
    assert worms_at(0.0, "base").predict(seen, {}) == 0.0
    assert worms_at(0.0, "somewhere").predict(seen, {}) == 0.0
    assert worms_at(0.0, "middle").predict(seen, {}) < -0.3
    assert worms_at(0.0, "everywhere").predict(seen, {}) < -0.3
    mild = thirds(22.0, 24.0, 20.0)
    assert worms_at(0.0, "everywhere").predict(mild, {}) == 0.0


def test_worms_in_heat_pull_the_harder_the_hotter():
    off = [worms_at(0.0, "middle").predict(thirds(20.0, t, 20.0), {}) for t in (40.0, 50.0, 60.0)]
    assert off[0] > off[1] > off[2]


def test_worms_along_cool_walls_of_a_hot_bin():
    column = filled()
    wetted(column, 0.7)
    even(column, 36.0, 0.2)
    column.state[: column.layers, N_AMMONIACAL] = 0.0
    column.state[: column.layers, 22] = 20.0
    seen = glimpse(column)
    assert worms_at(0.0, "edges").predict(seen, {}) == 0.0
    assert worms_at(0.0, "somewhere").predict(seen, {}) == 0.0
    assert worms_at(0.0, "middle").predict(seen, {}) < 0.0


def test_larvae_tell_that_the_top_is_not_hot():
    assert larvae(0.0).predict(even(filled(), 30.0), {}) == 0.0
    assert larvae(0.0).predict(even(filled(), 52.0), {}) == pytest.approx(12.0)


@pytest.mark.parametrize(("surface", "outside", "humidity"), [(38.0, 2.0, 0.9), (30.0, 18.0, 0.4)])
def test_mist_is_what_the_densest_mixture_holds_over_saturation(surface, outside, humidity):
    column = filled(constant_air(outside, humidity))
    even(column, surface)
    column.bin_state[HEAD_TEMPERATURE] = surface
    seen = glimpse(column)
    inner = psychrolib.GetHumRatioFromRelHum(surface, 1.0, 101325.0)
    outer = psychrolib.GetHumRatioFromRelHum(outside, humidity, 101325.0)
    grams = 1000.0 * max(
        a * inner
        + (1.0 - a) * outer
        - psychrolib.GetHumRatioFromRelHum(a * surface + (1.0 - a) * outside, 1.0, 101325.0)
        for a in np.linspace(0.05, 0.95, 91)
    )
    off = steam(0.0, True).predict(seen, {}) + steam(0.0, False).predict(seen, {})
    assert off == pytest.approx(min(max(grams, -3.0), 6.0) - 0.5, abs=0.1)


def test_steam_rises_from_a_warm_bin_on_a_cold_day_only():
    def mist(surface: float, outside: float) -> float:
        column = filled(constant_air(outside))
        even(column, surface)
        column.bin_state[HEAD_TEMPERATURE] = surface
        return steam(0.0, True).predict(glimpse(column), {})

    assert mist(40.0, 0.0) == 0.0
    assert mist(20.0, 20.0) < 0.0
    assert mist(12.0, 10.0) < 0.0


def test_an_empty_bin_predicts_finite_numbers():
    empty = glimpse(Column(box(0.5, 0.5, 0.9), constant_air(12.0)))
    looks = [squeeze(0.0, word) for word in SQUEEZE_CLASSES]
    looks += [smell(0.0, word) for word in ("none", "earthy", "ammonia", "sour", "rotten-egg")]
    looks += [worms_at(0.0, word) for word in ("top", "edges", "everywhere", "somewhere")]
    looks += [usual(0.0), larvae(0.0), steam(0.0, True), steam(0.0, False)]
    for one in looks:
        assert math.isfinite(one.predict(empty, {}))


@pytest.mark.parametrize(
    "make",
    [
        lambda: squeeze(0.0, "wet"),
        lambda: smell(0.0, "sweet"),
        lambda: smell(0.0, "none", weight=0.0),
        lambda: worms_at(0.0, "lid"),
    ],
)
def test_other_words_are_refused_with_those_allowed(make):
    with pytest.raises(InvalidInput, match="allowed is"):
        make()
