"""Readings that do not fit come back as plain questions, those that fit as none."""

from dataclasses import replace

import numpy as np
import pytest

from slowfire.errors import InvalidInput
from slowfire.estimate.questions import (
    ask,
    far_off,
    in_the_future,
    sun_on_lid,
    too_deep,
    unit_mix_ups,
)
from slowfire.estimate.series_questions import drifting, stuck, two_probes, two_values
from slowfire.estimate.typed import Typed
from slowfire.units import celsius_from_fahrenheit, fahrenheit_from_celsius

NOW = 24.0 * 60


def typed(value: float = 50.0, hour: float = 100.0, **more: object) -> Typed:
    base = Typed(hour, f"{1 + int(hour // 24)} March", "long probe", "probe", value, "C", depth=0.3)
    return replace(base, **more)


def bands(readings: list[Typed], low: float = 45.0, high: float = 55.0):
    return np.full(len(readings), low), np.full(len(readings), high)


def asked(readings: list[Typed], low: float = 45.0, high: float = 55.0, **more: object):
    fill = np.full(len(readings), more.pop("fill", 0.7))
    sun = np.full(len(readings), more.pop("sun", 0.0))
    return ask(readings, *bands(readings, low, high), fill, sun, NOW, **more)


def test_a_bin_in_good_order_raises_no_question():
    draws = np.random.default_rng(3)
    readings = []
    for k in range(20):
        hour = 72.0 * k
        readings.append(typed(round(50.0 + draws.normal(0.0, 2.5)), hour))
        dial = typed(round(22.0 + draws.normal(0.0, 2.5)), hour + 0.02, thermometer="dial")
        readings.append(replace(dial, kind="lid", depth=None))
    low = np.array([45.0 if one.kind == "probe" else 17.0 for one in readings])
    found = ask(readings, low, low + 10.0, np.full(40, 0.7), np.full(40, 300.0), 2000.0)
    assert found == ()


def test_a_reading_dated_ahead_is_asked_about():
    readings = [typed(hour=NOW + 0.4), typed(hour=NOW + 30.0)]
    found = in_the_future(readings, NOW)
    assert [one.about for one in found] == [(1,)]
    assert "still to come" in found[0].words


@pytest.mark.parametrize(
    ("depth", "height", "expected"),
    [(0.65, None, 0), (0.74, None, 0), (0.9, None, 1), (None, 0.5, 0), (None, 0.95, 1)],
)
def test_deeper_than_the_fill(depth, height, expected):
    one = typed(depth=depth, height=height)
    found = too_deep([one], np.array([0.7]))
    assert len(found) == expected
    if found:
        assert "70 cm" in found[0].words


def test_depths_are_said_in_the_readers_units():
    found = too_deep([typed(depth=0.9)], np.array([0.7]), "us")
    assert "35 in" in found[0].words
    assert "28 in" in found[0].words


def test_two_values_at_one_minute_must_differ_and_share_their_place():
    first = typed(50.0)
    assert two_values([first, typed(50.5)]) == ()
    assert two_values([first, typed(58.0, hour=102.0)]) == ()
    assert two_values([first, typed(58.0, depth=0.5)]) == ()
    assert two_values([first, typed(58.0, thermometer="dial")]) == ()
    (found,) = two_values([first, typed(58.0)])
    assert found.about == (0, 1)
    assert "50 °C" in found.words
    assert "58 °C" in found.words
    # the same temperature in two units is one value
    assert two_values([first, typed(122.0, unit="F")]) == ()


@pytest.mark.parametrize("truth", [8.0, 13.0, 20.0, 26.0])
def test_fahrenheit_typed_as_celsius_is_recognised(truth):
    number = round(fahrenheit_from_celsius(truth))
    (found,) = unit_mix_ups([typed(float(number))], *bands([typed()], truth - 3, truth + 3))
    assert f"{number} °F" in found.words
    assert found.choices[0] == f"it was {number} °F"


@pytest.mark.parametrize("truth", [30.0, 45.0, 62.0])
def test_celsius_typed_as_fahrenheit_is_recognised(truth):
    one = typed(truth, unit="F")
    assert one.celsius == pytest.approx(celsius_from_fahrenheit(truth))
    (found,) = unit_mix_ups([one], *bands([one], truth - 4, truth + 4))
    assert f"it was {truth:g} °C" in found.choices[0]


def test_no_mix_up_where_the_other_unit_does_not_fit_either_or_the_value_does():
    assert unit_mix_ups([typed(50.0)], *bands([typed()])) == ()
    assert unit_mix_ups([typed(80.0)], *bands([typed()])) == ()
    # 58 C lies near the band, so its Fahrenheit value (14 C) is not looked for
    assert unit_mix_ups([typed(58.0)], *bands([typed()], 10.0, 55.0)) == ()


def test_sun_on_the_lid_needs_sun_a_lid_and_a_high_value():
    dial = typed(42.0, thermometer="dial", kind="lid", depth=None)
    args = bands([dial], 18.0, 26.0)
    (found,) = sun_on_lid([dial], *args, np.array([400.0]))
    assert "Was the sun on it?" in found.words
    assert sun_on_lid([dial], *args, np.array([50.0])) == ()
    assert sun_on_lid([replace(dial, value=28.0)], *args, np.array([400.0])) == ()
    assert sun_on_lid([replace(dial, value=5.0)], *args, np.array([400.0])) == ()
    assert sun_on_lid([typed(70.0)], *bands([typed()]), np.array([400.0])) == ()


def test_thirty_kelvin_off_is_asked_about_unless_others_say_the_same():
    lone = [typed(50.0, 0.0), typed(20.0, 48.0), typed(51.0, 96.0)]
    assert [one.about for one in far_off(lone, *bands(lone))] == [(1,)]
    cold = [typed(20.0, 0.0), typed(21.0, 48.0), typed(20.0, 96.0)]
    assert far_off(cold, *bands(cold)) == ()


def test_a_stuck_thermometer_shows_one_value_while_the_bin_warms():
    readings = [typed(30.0, 48.0 * k) for k in range(6)]
    middle = np.linspace(20.0, 50.0, 6)
    (found,) = stuck(readings, middle - 4.0, middle + 4.0)
    assert found.about == tuple(range(6))
    assert "from 1 March to 11 March" in found.words
    still = np.full(6, 30.0)
    assert stuck(readings, still - 4.0, still + 4.0) == ()
    moving = [typed(30.0 + k, 48.0 * k) for k in range(6)]
    assert stuck(moving, middle - 4.0, middle + 4.0) == ()


def test_a_step_is_found_where_it_happens():
    values = [50.0, 51.0, 49.0, 50.0, 66.0, 65.0, 64.0, 66.0]
    readings = [typed(v, 48.0 * k) for k, v in enumerate(values)]
    (found,) = drifting(readings, *bands(readings))
    assert found.about == (4, 5, 6, 7)
    assert "higher" in found.words
    assert "15 °C" in found.words
    (in_fahrenheit,) = drifting(readings, *bands(readings), "us")
    assert "27 °F" in in_fahrenheit.words


def test_a_steady_drift_is_found_and_scatter_is_not():
    slow = [typed(50.0 - 2.5 * k, 48.0 * k) for k in range(10)]
    (found,) = drifting(slow, *bands(slow))
    assert "lower" in found.words
    draws = np.random.default_rng(9)
    noisy = [typed(50.0 + 6.0 * draws.normal(), 48.0 * k) for k in range(10)]
    assert drifting(noisy, *bands(noisy)) == ()
    few = slow[:4]
    assert drifting(few, *bands(few)) == ()


def test_a_bin_that_went_its_own_way_moves_both_thermometers():
    values = [50.0, 51.0, 49.0, 50.0, 66.0, 65.0, 64.0, 66.0]
    probe = [typed(v, 48.0 * k) for k, v in enumerate(values)]
    other = [replace(one, thermometer="dial", kind="lid", depth=None) for one in probe]
    readings = probe + other
    assert drifting(readings, *bands(readings)) == ()


def pairs(*apart: float, depth: float = 0.3) -> list[Typed]:
    readings = []
    for k, kelvin in enumerate(apart):
        readings.append(typed(50.0, 48.0 * k))
        readings.append(typed(50.0 - kelvin, 48.0 * k + 0.1, thermometer="short", depth=depth))
    return readings


def test_two_probes_that_keep_disagreeing():
    (found,) = two_probes(pairs(5.0, 6.0, 5.5))
    assert found.about == tuple(range(6))
    assert "long probe reads about 6 °C higher than the short" in found.words
    (turned,) = two_probes(pairs(-5.0, -6.0, -5.0))
    assert "short reads about 5 °C higher than the long probe" in turned.words


def test_two_probes_that_agree_or_waver_or_stand_apart():
    assert two_probes(pairs(1.0, 2.0, 1.5)) == ()
    assert two_probes(pairs(5.0, 6.0)) == ()
    assert two_probes(pairs(5.0, -6.0, 5.0, 4.0)) == ()
    assert two_probes(pairs(5.0, 6.0, 5.0, depth=0.5)) == ()


def test_the_plainest_cause_is_asked_and_each_reading_once():
    readings = [
        typed(50.0, 24.0),
        typed(80.0, NOW + 48.0),
        typed(20.0, 48.0, depth=0.95),
        typed(13.0, 72.0, thermometer="short"),
    ]
    low = np.array([45.0, 45.0, 45.0, 50.0])
    found = ask(readings, low, low + 10.0, np.full(4, 0.7), np.zeros(4), NOW)
    assert [(one.kind, one.about) for one in found] == [
        ("too-deep", (2,)),
        ("far-off", (3,)),
        ("future", (1,)),
    ]
    for one in found:
        assert one.words.endswith("?")
        assert len(one.choices) >= 2


def test_a_wrong_value_does_not_hide_that_two_probes_disagree():
    readings = pairs(5.0, 6.0, 5.5, 5.0)
    readings[1] = replace(readings[1], value=5.0)
    kinds = {one.kind for one in asked(readings)}
    assert kinds == {"far-off", "two-probes"}


def test_mix_up_comes_before_far_off():
    assert [one.kind for one in asked([typed(55.0)], 10.0, 16.0)] == ["unit"]
    dial = typed(44.0, thermometer="dial", kind="lid", depth=None)
    assert [one.kind for one in asked([dial], 18.0, 26.0, sun=500.0)] == ["sun"]
    assert [one.kind for one in asked([dial], 18.0, 26.0)] == ["far-off"]


def test_every_temperature_in_words_has_its_unit():
    for system, unit in (("metric", "°C"), ("us", "°F")):
        (found,) = asked([typed(20.0)], system=system)
        assert unit in found.words
        assert "20 °C" in found.words


@pytest.mark.parametrize(
    "make",
    [
        lambda: asked([typed()], 55.0, 45.0),
        lambda: ask([typed()], np.ones(2), np.ones(2), np.ones(2), np.ones(2), NOW),
        lambda: ask([typed()], np.ones(1), np.ones(1), np.ones(2), np.ones(1), NOW),
        lambda: typed(unit="K"),
    ],
)
def test_bands_that_do_not_fit_are_refused(make):
    with pytest.raises(InvalidInput):
        make()
