"""What members predict for readings, levels, liquid and weight."""

import math
import pickle

import numpy as np
import pytest
from set_bins import even, filled, line, shaded_box, sunny

from slowfire.column.positions import TUB_WATER
from slowfire.column.simulate import Air, Column, constant_air
from slowfire.errors import InvalidInput
from slowfire.estimate.glimpse import glimpse
from slowfire.estimate.observe import (
    Observed,
    Unknown,
    fill_level,
    liquid_drained,
    member_predictions,
    weight_dug_out,
)
from slowfire.estimate.readings import (
    Instrument,
    Place,
    ice_water_check,
    infrared_surface,
    infrared_wall,
    lid_dial,
    off_centre_of,
    outside_air,
    probe,
)
from slowfire.estimate.thermometer import Stem, lagged_reading, stem_tip_temperature
from slowfire.vessel import box

WIRE = Instrument("wire", 0.1)  # no stem
AT_CENTRE = {"off_centre wire unsaid": 0.0, "off_centre wire centre": 0.0}


def test_a_glimpse_agrees_with_the_section():
    column = filled()
    column.run_to(60.0)
    seen, section = glimpse(column), column.section()
    assert seen.fill_height == section.fill_height
    assert seen.lid_celsius == section.lid_celsius
    for name, values in (
        ("thickness", seen.thickness),
        ("moisture_content_wet_basis", seen.moisture_content_wet_basis),
        ("oxygen", seen.oxygen),
        ("worms", seen.worms()),
        ("temperature_centre_celsius", seen.mean + 0.5 * seen.centre_minus_edge),
    ):
        assert values == pytest.approx([getattr(one, name) for one in section.layers])


def test_a_glimpse_is_a_copy_and_changes_nothing():
    column = filled()
    column.run_to(30.0)
    before = column.copy()
    seen = glimpse(column)
    mean = seen.mean.copy()
    assert (before.state == column.state).all()
    assert (before.bin_state == column.bin_state).all()
    column.run_to(60.0)
    assert (seen.mean == mean).all()


def test_weather_lies_between_the_hours_and_holds_at_the_end():
    table = np.array([[10.0, 0.5, 1.0, 0.0, 0.0], [14.0, 0.7, 3.0, 0.0, 200.0]])
    column = Column(box(0.5, 0.5, 0.9), Air(table))
    assert glimpse(column).air_celsius == 10.0
    column.run_to(0.25)
    assert glimpse(column).air_celsius == pytest.approx(11.0)
    assert glimpse(column).irradiance == pytest.approx(50.0)
    column.run_to(5.0)
    assert glimpse(column).air_celsius == 14.0


@pytest.mark.parametrize("share", [0.25, 0.5, 0.7])
def test_a_probe_on_a_straight_line_reads_the_line(share):
    seen = line(filled(), 20.0, 60.0)
    height = share * seen.fill_height
    by_height = probe(0.0, 40.0, WIRE, Place(height=height)).predict(seen, AT_CENTRE)
    depth = seen.fill_height - height
    by_depth = probe(0.0, 40.0, WIRE, Place(depth=depth)).predict(seen, AT_CENTRE)
    assert by_height == pytest.approx(20.0 + 40.0 * share)
    assert by_depth == pytest.approx(by_height)


def test_a_probe_near_surface_or_floor_reads_the_outermost_layer():
    seen = line(filled(), 20.0, 60.0)
    top = probe(0.0, 40.0, WIRE, Place(depth=0.0)).predict(seen, AT_CENTRE)
    floor = probe(0.0, 40.0, WIRE, Place(height=0.0)).predict(seen, AT_CENTRE)
    assert (floor, top) == pytest.approx((seen.mean[0], seen.mean[-1]))


def test_a_probe_reads_lower_the_farther_off_the_centre():
    seen = line(filled(), 40.0, 40.0, across=12.0)
    place = Place(height=0.5 * seen.fill_height)
    one = probe(0.0, 40.0, WIRE, place)
    read = [one.predict(seen, {"off_centre wire unsaid": x}) for x in (0.0, 0.5, 1.0)]
    assert read == pytest.approx([46.0, 43.0, 34.0])


def test_the_word_for_the_spot_sets_where_it_is_until_readings_tell():
    seen = line(filled(), 40.0, 40.0, across=12.0)
    height = 0.5 * seen.fill_height
    read = {
        spot: probe(0.0, 40.0, WIRE, Place(height=height, spot=spot)).predict(seen, {})
        for spot in ("centre", None, "edge", "corner")
    }
    assert read["centre"] > read[None] > read["edge"] > read["corner"]
    assert read["corner"] < 34.0
    with pytest.raises(InvalidInput, match="allowed is centre, edge"):
        off_centre_of("wire", "left")


def test_a_probe_deeper_than_the_fill_is_taken_at_the_floor_and_flagged():
    seen = line(filled(), 20.0, 60.0)
    fill = seen.fill_height
    inside = probe(0.0, 40.0, WIRE, Place(depth=0.5 * fill))
    deep = probe(0.0, 40.0, WIRE, Place(depth=fill + 0.2))
    assert deep.predict(seen, AT_CENTRE) == pytest.approx(seen.mean[0])
    assert deep.beyond(seen) == pytest.approx(0.2)
    assert inside.beyond(seen) == 0.0
    assert deep.blur(seen) > inside.blur(seen)


def test_blur_is_the_gradient_times_the_spread_of_the_place():
    seen = line(filled(), 20.0, 60.0)
    slope = 40.0 / seen.fill_height
    for spread in (0.02, 0.05):
        place = Place(height=0.5 * seen.fill_height, spread=spread)
        assert probe(0.0, 40.0, WIRE, place).blur(seen) == pytest.approx(spread * slope)
    assert probe(0.0, 40.0, WIRE, Place(height=0.3)).blur(even(filled(), 40.0)) == 0.0


def test_a_metal_stem_reads_between_bed_and_air():
    column = filled(constant_air(5.0))
    seen = even(column, 50.0)
    steel = Instrument("steel", 0.5, stem=Stem())
    shallow = probe(0.0, 40.0, steel, Place(depth=0.04)).predict(seen, {})
    deep = probe(0.0, 40.0, steel, Place(depth=0.35)).predict(seen, {})
    assert 20.0 < shallow < 45.0
    assert deep == pytest.approx(50.0, abs=0.05)
    # from the base the stem runs along the section, where nothing is known of it
    assert probe(0.0, 40.0, steel, Place(height=0.3)).predict(seen, {}) == pytest.approx(50.0)


def test_a_stem_that_carries_nothing_reads_as_a_wire():
    seen = line(filled(), 20.0, 60.0)
    thin = Instrument("wire", 0.1, stem=Stem(0.0005, 0.05))
    place = Place(depth=0.5 * seen.fill_height)
    bare = probe(0.0, 40.0, WIRE, place).predict(seen, AT_CENTRE)
    assert probe(0.0, 40.0, thin, place).predict(seen, AT_CENTRE) == pytest.approx(bare, abs=0.2)


def test_a_probe_read_early_lags_behind_from_the_air():
    seen = even(filled(constant_air(10.0)), 50.0)
    place = Place(depth=0.3)
    early = probe(0.0, 40.0, WIRE, place, waited=60.0, time_constant=60.0).predict(seen, {})
    assert early == pytest.approx(50.0 - 40.0 * math.exp(-1.0))


def test_known_bias_is_taken_off_and_unknown_bias_is_predicted():
    column = filled()
    seen = even(column, 30.0)
    warm = Instrument("warm", 0.1, bias=1.5)
    for one in (
        lid_dial(0.0, 30.0, warm),
        outside_air(0.0, 30.0, warm),
        probe(0.0, 30.0, warm, Place(depth=0.2)),
        infrared_surface(0.0, 30.0, warm),
        infrared_wall(0.0, 30.0, warm, 0.2),
        ice_water_check(0.0, 30.0, warm),
    ):
        assert one.value == 28.5
        assert one.predict(seen, {"bias warm": 2.0}) - one.predict(seen, {}) == pytest.approx(2.0)


def test_readings_of_one_thermometer_share_the_unknown_of_its_bias():
    first = probe(0.0, 30.0, WIRE, Place(depth=0.2))
    second = probe(48.0, 35.0, WIRE, Place(depth=0.4, spot="edge"))
    names = [{one.name for one in observed.unknowns} for observed in (first, second)]
    assert names[0] & names[1] == {"bias wire"}


def test_a_coarser_scale_makes_a_wider_spread():
    spreads = [lid_dial(0.0, 20.0, Instrument("a", step)).error_spread for step in (0.1, 2.0, 5.0)]
    assert spreads == sorted(spreads)
    assert spreads[2] ** 2 - spreads[0] ** 2 == pytest.approx((25.0 - 0.01) / 12.0)


def test_the_sun_warms_a_lid_dial_by_its_share_that_reaches_the_bin():
    dial = lid_dial(0.0, 30.0, Instrument("dial", 2.0))
    for share in (0.0, 0.25, 1.0):
        column = Column(shaded_box(sun_share=share), sunny(15.0, 800.0, 400.0))
        read = dial.predict(glimpse(column), {"sun_on_dial": 0.01})
        assert read == pytest.approx(15.0 + 0.01 * 800.0 * share)
    dark = Column(shaded_box(sun_share=1.0), sunny(15.0, 0.0, 0.0))
    assert dial.predict(glimpse(dark), {"sun_on_dial": 0.03}) == 15.0


def test_an_infrared_thermometer_reads_a_surface_between_top_layer_and_head_space():
    column = filled(constant_air(10.0))
    seen = even(column, 40.0)
    read = infrared_surface(0.0, 30.0, WIRE).predict(seen, {})
    assert seen.lid_celsius < read < 40.0
    same = even(filled(constant_air(40.0)), 40.0)
    assert infrared_surface(0.0, 30.0, WIRE).predict(same, {}) == pytest.approx(40.0)


def test_the_wall_outside_is_a_chain_of_resistances():
    vessel = shaded_box()._replace(emissivity=1.0, wind_share=1.0)
    column = filled(sunny(10.0, 0.0, 0.0, wind=1.5), vessel)
    seen = even(column, 50.0)
    film = 4.0 + 4.0 * 1.5 + 4.0 * 5.670374419e-8 * 283.15**3
    flux = 40.0 / (vessel.wall_resistance + 1.0 / film)
    read = infrared_wall(0.0, 12.0, WIRE, 0.3).predict(seen, {})
    assert read == pytest.approx(10.0 + flux / film)


def test_a_sunlit_wall_is_warmer_and_bare_metal_mirrors_the_air():
    def read(walls: float, emissivity: float) -> float:
        vessel = shaded_box(sun_share=1.0)._replace(emissivity=emissivity)
        seen = even(filled(sunny(10.0, 0.0, walls), vessel), 50.0)
        return infrared_wall(0.0, 12.0, WIRE, 0.3).predict(seen, {})

    assert read(300.0, 0.9) > read(0.0, 0.9) + 5.0
    assert abs(read(300.0, 0.1) - 10.0) < abs(read(300.0, 0.9) - 10.0)


def test_level_is_the_rim_less_the_stack():
    column = filled()
    section = column.section()
    one = fill_level(0.0, 0.4)
    assert one.predict(glimpse(column), {}) == pytest.approx(section.fill_below_rim)
    empty = Column(box(0.5, 0.5, 0.9), constant_air(12.0))
    assert one.predict(glimpse(empty), {}) == 0.9


@pytest.mark.parametrize("there", [0.0, 0.3, 5.0])
def test_liquid_agrees_with_a_tub_that_held_it(there):
    column = filled()
    column.bin_state[TUB_WATER] = there
    one = liquid_drained(0.0, there)
    assert one.predict(glimpse(column), {}) == pytest.approx(one.value)


def test_a_tub_that_runs_over_gives_what_it_holds():
    column = filled()
    column.bin_state[TUB_WATER] = 30.0
    one = liquid_drained(0.0, 10.0, tub_litres=10.0)
    assert one.predict(glimpse(column), {}) == pytest.approx(one.value)


def test_an_empty_tub_says_more_against_litres_than_a_guess_does():
    column = filled()
    column.bin_state[TUB_WATER] = 2.0
    seen = glimpse(column)
    off = [
        (one.predict(seen, {}) - one.value) / one.error_spread
        for one in (liquid_drained(0.0, 0.0), liquid_drained(0.0, 1.5, litres_spread=0.5))
    ]
    assert off[0] > 5.0
    assert abs(off[1]) < 1.0


def test_weight_is_density_of_what_lies_at_the_base():
    column = filled()
    column.run_to(24.0)
    dug = column.copy().dig_out(litres=20.0)
    weighed = float(dug[:5].sum() + dug[11])
    one = weight_dug_out(0.0, weighed, 20.0, loosening=1.0)
    assert one.predict(glimpse(column), {}) == pytest.approx(one.value, abs=0.05)
    looser = weight_dug_out(0.0, weighed, 25.0, loosening=1.25)
    assert looser.predict(glimpse(column), {}) == pytest.approx(one.predict(glimpse(column), {}))


def test_more_litres_than_there_are_take_the_mean_density():
    seen = glimpse(filled())
    mass = float((seen.bulk_density * seen.volume).sum())
    litres = 1000.0 * float(seen.volume.sum())
    one = weight_dug_out(0.0, 10.0, 3.0 * litres, loosening=1.0)
    assert one.predict(seen, {}) == pytest.approx(math.log(3.0 * mass))


def test_an_empty_bin_predicts_finite_numbers():
    empty = glimpse(Column(box(0.5, 0.5, 0.9), constant_air(12.0)))
    for one in (
        lid_dial(0.0, 12.0, WIRE),
        probe(0.0, 12.0, Instrument("steel", stem=Stem()), Place(depth=0.3)),
        infrared_surface(0.0, 12.0, WIRE),
        infrared_wall(0.0, 12.0, WIRE, 0.3),
        fill_level(0.0, 0.4),
        liquid_drained(0.0, 0.0),
        weight_dug_out(0.0, 10.0, 20.0),
    ):
        assert math.isfinite(one.predict(empty, {}))
        assert one.blur is None or math.isfinite(one.blur(empty))


def test_predictions_of_a_member_come_in_order_with_their_blur():
    column = filled()
    line(column, 20.0, 60.0)
    observed = [fill_level(0.0, 0.4), probe(0.0, 40.0, WIRE, Place(height=0.3))]
    predicted, blurs = member_predictions(observed, column, AT_CENTRE)
    seen = glimpse(column)
    assert predicted == pytest.approx([one.predict(seen, AT_CENTRE) for one in observed])
    assert blurs == pytest.approx([0.0, observed[1].blur(seen)])


def test_observations_can_be_sent_to_another_process():
    column = filled()
    one = probe(0.0, 40.0, Instrument("steel", stem=Stem()), Place(depth=0.2))
    again = pickle.loads(pickle.dumps(one))
    seen = glimpse(column)
    assert (again.value, again.unknowns, again.words) == (one.value, one.unknowns, one.words)
    for read in ("blur", "beyond"):
        assert getattr(again, read)(seen) == getattr(one, read)(seen)
    assert again.predict(seen, {}) == one.predict(seen, {})


def test_an_unknown_keeps_its_percentiles():
    even_sided = Unknown("a", 0.0, -2.0, 2.0, "K")
    skewed = Unknown("b", 0.01, 0.002, 0.03, "K*m^2/W")
    for one in (even_sided, skewed):
        assert one.at(-1.6449) == pytest.approx(one.low)
        assert one.at(0.0) == one.value
        assert one.at(1.6449) == pytest.approx(one.high)
    assert skewed.at(-6.0) > 0.0
    assert skewed.among({"b": 0.02}) == 0.02
    with pytest.raises(InvalidInput, match="allowed is"):
        Unknown("c", 3.0, 0.0, 2.0, "K")


@pytest.mark.parametrize(
    "make",
    [
        lambda: Place(),
        lambda: Place(depth=0.2, height=0.3),
        lambda: Place(depth=-0.1),
        lambda: Place(depth=0.2, spread=0.0),
        lambda: Instrument("a", -1.0),
        lambda: Instrument("a", 1.0, bias=40.0),
        lambda: Stem(1.0),
        lambda: fill_level(0.0, -0.1),
        lambda: fill_level(0.0, 0.1, spread=0.0),
        lambda: liquid_drained(0.0, -1.0),
        lambda: weight_dug_out(0.0, 0.0, 10.0),
        lambda: weight_dug_out(0.0, 10.0, 10.0, loosening=0.5),
        lambda: infrared_wall(0.0, 10.0, WIRE, -1.0),
        lambda: lid_dial(0.0, math.nan, WIRE),
        lambda: Observed(0.0, "lid", "lid", 1.0, 0.0, lambda g, u: 0.0, "dial"),
        lambda: stem_tip_temperature(np.array([0.1, 0.2]), np.array([1.0, 2.0]), 0.0, 0.03),
        lambda: stem_tip_temperature(np.array([0.0]), np.array([1.0]), 0.0, 0.03),
        lambda: lagged_reading(10.0, 50.0, -1.0, 60.0),
    ],
)
def test_senseless_values_are_refused(make):
    with pytest.raises(InvalidInput):
        make()


def test_down_the_bed_is_what_one_height_has_and_nothing_above_the_stack():
    bed = line(filled(), 20.0, 50.0, across=4.0)
    heights = [0.0, 0.05, 0.3, bed.fill_height, bed.fill_height + 0.01, 2.0]
    centres = bed.mean + 0.5 * bed.centre_minus_edge
    found = bed.down(heights, centres)
    assert found[:4] == pytest.approx([bed.temperature(one) for one in heights[:4]])
    assert np.isnan(found[4:]).all()
    assert bed.down((), centres) == []
