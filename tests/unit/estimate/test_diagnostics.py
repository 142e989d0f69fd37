"""What is told of an ensemble: bands, slices, fit, what was learned, the reading to take next."""

import numpy as np
import pytest
from scipy.stats import norm

from slowfire.column.contents import Load
from slowfire.column.simulate import Column, constant_air
from slowfire.errors import InvalidInput
from slowfire.estimate.condition import Conditioned, Ensemble
from slowfire.estimate.diagnostics import (
    DISCREPANCY_KELVIN,
    Candidate,
    Expected,
    best_reading,
    candidate_values,
    error_spreads,
    expected_before,
    fit_of,
    is_surprising,
    narrowed_spread,
    reading_candidates,
)
from slowfire.estimate.glimpse import glimpse
from slowfire.estimate.learned import (
    factor_findings,
    heat_finding,
    heat_lost,
    is_learned,
    load_findings,
    thermometer_findings,
)
from slowfire.estimate.member import Gap
from slowfire.estimate.observe import fill_level
from slowfire.estimate.priors import unwritten_share
from slowfire.estimate.readings import Instrument, Place, lid_dial, probe
from slowfire.estimate.summary import band, cold_airless_share, slices
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, box

EVEN = norm.ppf((np.arange(60) + 0.5) / 60)


def bin_of(kilograms, celsius=30.0, fittings=None, air_celsius=10.0):
    column = Column(box(0.5, 0.5, 0.9, fittings), constant_air(air_celsius))
    food = load_library().find("food_waste_household_mixed")
    for mass in kilograms:
        column.load([Portion.from_mass(food, mass)], celsius)
        column.run_to(column.hour + 2.0)
    return column


def conditioned(observed, before, after=None, spread=None, aside=None):
    after = before if after is None else after
    members = before.shape[1]
    return Conditioned(
        Ensemble(100.0, (None,) * members, {}),
        tuple(observed),
        before,
        after,
        np.array([one.error_spread for one in observed]) if spread is None else spread,
        np.zeros(before.shape),
        np.zeros(len(observed), dtype=bool) if aside is None else aside,
        np.empty((members, 0, 6)),
        {},
    )


def readings(values, hours):
    tool = Instrument("long probe", 0.1)
    return [
        probe(hour, value, tool, Place(depth=0.2))
        for value, hour in zip(values, hours, strict=True)
    ]


# the summary


def test_band_leaves_out_members_that_have_nothing():
    values = np.column_stack([np.arange(101.0), np.full(101, np.nan)])
    values[0, 0] = np.nan
    low, mid, high = band(values)
    assert (low[0], mid[0], high[0]) == pytest.approx((5.95, 50.5, 95.05))
    assert np.isnan([low[1], mid[1], high[1]]).all()


def test_slices_keep_what_is_in_the_stack():
    columns = [bin_of([8.0, 6.0, 10.0]), bin_of([12.0, 9.0, 7.0])]
    cut = slices(columns, 0.03)
    assert cut.count >= 3
    assert np.diff(cut.edges) == pytest.approx(cut.edges[1])
    for column, centre, age in zip(columns, cut.centre_celsius, cut.age_days, strict=True):
        seen = glimpse(column)
        # even slices of one stack: their mean is the mean of the stack by thickness
        centres = seen.mean + 0.5 * seen.centre_minus_edge
        mean = float(centres @ seen.thickness / seen.thickness.sum())
        assert centre.mean() == pytest.approx(mean, abs=1e-9)
        assert (np.diff(age) <= 1e-12).all()
    water = [float(glimpse(one).water.sum()) for one in columns]
    dry = [float(glimpse(one).dry_mass.sum()) for one in columns]
    for member in (0, 1):
        whole = water[member] / (water[member] + dry[member])
        assert cut.moisture_content_wet_basis[member].min() <= whole
        assert cut.moisture_content_wet_basis[member].max() >= whole


def test_empty_bins_have_no_slices_and_one_empty_member_is_left_out():
    empty = Column(box(0.5, 0.5, 0.9), constant_air(10.0))
    assert slices([empty, empty, bin_of([5.0])]).count == 0
    cut = slices([empty, bin_of([5.0]), bin_of([5.0])])
    assert cut.count >= 1
    assert np.isnan(cut.centre_celsius[0]).all()
    assert np.isfinite(band(cut.centre_celsius)).all()


def test_cold_and_airless_needs_a_week_of_both():
    hours = np.arange(0.0, 24.0 * 12, 3.0)
    flat = np.ones((2, hours.size))
    oxygen = np.vstack([0.001 * flat[0], 0.1 * flat[0]])
    share = cold_airless_share(hours, 14.0 * flat, 12.0 * flat, oxygen)
    assert np.isnan(share[hours < 167.0]).all()
    assert share[hours >= 168.0] == pytest.approx(0.5)
    warm = cold_airless_share(hours, 28.0 * flat, 12.0 * flat, 0.001 * flat)
    assert warm[-1] == 0.0
    # airless for half of the week only
    half = np.where(hours < 24.0 * 8, 0.1, 0.001) * flat
    assert cold_airless_share(hours, 14.0 * flat, 12.0 * flat, half)[-1] == 0.0


def test_cold_and_airless_compares_with_the_mean_of_a_day():
    hours = np.arange(0.0, 24.0 * 10, 1.0)
    # days swing by 20 K about 12 C: at dawn 20 C lies 18 K above the air, but 8 K above the day
    air = (12.0 - 10.0 * np.cos(2.0 * np.pi * (hours - 4.0) / 24.0))[None]
    share = cold_airless_share(hours, np.full_like(air, 20.0), air, np.full_like(air, 0.001))
    assert share[-1] == 1.0


def test_hours_that_do_not_fit_are_refused():
    with pytest.raises(InvalidInput, match="rising hours"):
        cold_airless_share(np.array([0.0, 0.0]), *(np.ones((1, 2)),) * 3)


# the fit


def test_surprise_is_as_rare_as_it_says():
    draws = np.random.default_rng(5)
    false = 0
    for _ in range(2000):
        # two readings of one visit, much alike
        shared = draws.normal(0.0, 3.0, 61)
        values = shared + draws.normal(0.0, 1.0, (2, 61))
        read = values[:, 60] + draws.normal(0.0, 2.0, 2)
        false += is_surprising(read, values[:, :60], np.full(2, 2.0))
    assert false <= 2000 * 0.02


def test_surprise_sees_readings_far_off():
    draws = np.random.default_rng(6)
    values = 30.0 + draws.normal(0.0, 2.0, (3, 60))
    assert is_surprising(np.full(3, 45.0), values, np.full(3, 2.0))
    assert not is_surprising(np.full(3, 31.0), values, np.full(3, 2.0))
    # far apart in a way that no member knows, though each by itself is likely
    alike = 30.0 + 5.0 * EVEN[None] * np.ones((2, 1))
    assert is_surprising(np.array([36.0, 24.0]), alike, np.ones(2))


def test_nothing_to_test_is_no_surprise():
    assert not is_surprising(np.empty(0), np.empty((0, 60)), np.empty(0))
    assert not is_surprising(np.zeros(5), np.ones((5, 4)), np.ones(5))
    with pytest.raises(InvalidInput, match="do not fit"):
        is_surprising(np.zeros(2), np.ones((3, 60)), np.ones(3))


def test_fit_says_so_when_it_fits_and_when_it_does_not():
    hours = np.array([10.0, 82.0, 154.0])
    near = 40.0 + EVEN[None] * np.ones((3, 1))
    good = fit_of(conditioned(readings([41.0, 39.5, 40.5], hours), near))
    assert (good.words, good.basis, good.used, good.aside) == ("fits", "from readings", 3, 0)
    assert good.misfit_kelvin == pytest.approx(np.sqrt((1.0 + 0.25 + 0.25) / 3.0), abs=0.05)
    gone = fit_of(conditioned(readings([52.0, 50.0, 51.0], hours), near))
    assert gone.words == "no longer fits"
    assert gone.surprising
    # surprised, but the update took it in
    after = near + np.array([11.5, 10.5, 11.0])[:, None]
    taken_in = fit_of(conditioned(readings([52.0, 50.0, 51.0], hours), near, after))
    assert taken_in.words == "fits loosely"


def test_what_was_set_aside_is_counted_and_does_not_spoil_the_fit():
    hours = np.array([10.0, 82.0, 154.0])
    near = 40.0 + EVEN[None] * np.ones((3, 1))
    aside = np.array([False, True, False])
    fit = fit_of(conditioned(readings([41.0, 5.0, 40.5], hours), near, aside=aside))
    assert (fit.words, fit.used, fit.aside) == ("fits", 2, 1)


def test_looks_alone_and_nothing_are_called_so():
    level = conditioned([fill_level(9.0, 0.3)], np.full((1, 60), 0.3))
    assert fit_of(level).basis == "from looks"
    nothing = conditioned([], np.empty((0, 60)))
    assert fit_of(nothing).basis == "from assumptions"
    assert np.isnan(fit_of(nothing).misfit_kelvin)


def test_only_the_last_visits_can_surprise():
    # three bad visits long ago, three good ones since: the window as a whole is loose
    hours = np.array([10.0, 50.0, 90.0, 200.0, 250.0, 300.0])
    near = 40.0 + 0.5 * EVEN[None] * np.ones((6, 1))
    fit = fit_of(conditioned(readings([47.0, 47.0, 47.0, 40.0, 40.5, 39.5], hours), near))
    assert not fit.surprising


def test_error_spread_is_that_before_an_outlier_was_weighed_down():
    observed = readings([40.0, 60.0], [10.0, 50.0])
    found = conditioned(observed, np.full((2, 60), 40.0), spread=np.array([3.0, 12.0]))
    assert error_spreads(found).tolist() == [3.0, 3.0]


def test_what_was_expected_holds_readings_drawn_from_it():
    draws = np.random.default_rng(8)
    inside = 0
    for _ in range(400):
        truth = draws.normal(40.0, 5.0)
        members = draws.normal(40.0, 5.0, (1, 60))
        observed = readings([truth + draws.normal(0.0, 3.0)], [10.0])
        found = conditioned(observed, members, spread=np.array([3.0]))
        expected = expected_before(found, 7)
        assert expected.places.tolist() == [7]
        inside += bool(expected.low[0] <= observed[0].value <= expected.high[0])
    assert inside / 400 == pytest.approx(0.9, abs=0.05)


def test_expected_readings_are_remembered_for_some_weeks():
    old = Expected(np.array([0, 1]), np.array([10.0, 400.0]), np.zeros(2), np.ones(2))
    new = Expected(np.array([2]), np.array([900.0]), np.zeros(1), np.ones(1))
    both = old.followed_by(new, 100.0)
    assert both.places.tolist() == [1, 2]
    again = Expected.of_arrays(both.arrays())
    assert again.hours.tolist() == both.hours.tolist()


# what was learned


def test_prior_teaches_nothing():
    assert not is_learned(EVEN)
    names = ("wet_mass", "dryness", "opening", "ambient_offset", "rate_rapid")
    assert factor_findings(dict.fromkeys(names, EVEN)) == ()


@pytest.mark.parametrize(
    ("name", "moved", "start"),
    [
        ("wet_mass", 1.6, "What goes in weighs about 1.3 times"),
        ("wet_mass", -1.6, "What goes in weighs about 0.7 times"),
        ("dryness", -1.6, "What goes in is wetter"),
        ("opening", -2.0, "The lid vent lets through as if it were 0.5 times"),
        ("inlet", -1.6, "The opening at the base is about 0.5 times"),
        ("ambient_offset", 1.5, "The air at the bin is about 2 °C (1 to 2) warmer"),
        ("rain_entry", 1.6, "About 2.4 times"),
    ],
)
def test_what_has_moved_is_told_with_a_check(name, moved, start):
    told = factor_findings({name: moved + 0.2 * EVEN})
    assert len(told) == 1
    assert told[0].words.startswith(start)
    assert told[0].words.endswith((".", "?"))
    assert told[0].low <= told[0].mid <= told[0].high


def test_what_was_learned_but_makes_no_difference_is_not_told():
    # narrowed to as written
    assert is_learned(0.3 * EVEN)
    assert factor_findings({"wet_mass": 0.3 * EVEN}) == ()


def test_differences_follow_the_units():
    told = factor_findings({"ambient_offset": -1.5 + 0.2 * EVEN}, "us")
    assert "3 °F (3 to 4) colder" in told[0].words
    assert told[0].unit == "K"
    assert told[0].mid < 0.0


def test_a_thermometer_that_reads_high_is_named():
    tool = Instrument("long probe", 1.0, 0.0, 2.0)
    observed = [probe(9.0, 50.0, tool, Place(depth=0.2)), lid_dial(9.0, 20.0, Instrument("dial"))]
    unknowns = {"bias long probe": 1.5 + 0.3 * EVEN, "bias dial": EVEN}
    told = thermometer_findings(observed, unknowns)
    assert [one.mid for one in told] == [pytest.approx(3.0, abs=0.1)]
    assert told[0].words.startswith("The long probe reads about 3 °C (2 to 4) too high")
    low = thermometer_findings(observed, {"bias long probe": -1.5 + 0.3 * EVEN})
    assert "too low" in low[0].words


def test_an_unwritten_load_is_named_where_most_members_have_it():
    gap = Gap(60.0, Load(()), 0.12)

    def told(normals):
        return load_findings([gap], {gap.name: normals}, lambda hour: f"hour {hour:.0f}")

    assert told(EVEN) == ()
    found = told(2.0 + 0.3 * EVEN)
    share = np.mean([unwritten_share(float(one), 0.12) for one in 2.0 + 0.3 * EVEN])
    assert f"about hour 60 that is not written ({share:.0%})" in found[0].words
    assert load_findings([gap], {}, str) == ()


def test_heat_lost_follows_the_walls():
    closed = Fittings(lid_fit="tight", vent_slot_length=0.0, inlet_area=0.0)
    column = bin_of([12.0, 12.0], celsius=50.0, fittings=closed)
    night = constant_air(10.0)
    described = column.vessel
    thin = described._replace(
        wall_resistance=0.5 * described.wall_resistance,
        lid_resistance=0.5 * described.lid_resistance,
        base_resistance=0.5 * described.base_resistance,
    )
    before = column.state.copy()
    as_described = heat_lost(column, described, night)
    more = heat_lost(column, thin, night)
    # films and the bed stand in series with the slabs, so twice the loss is not reached
    assert 1.2 < more / as_described < 2.0
    leaky = described._replace(lid_exchange=20.0 * described.lid_exchange)
    assert heat_lost(column, leaky, night) > 1.03 * as_described
    assert (column.state == before).all()
    assert column.vessel == described


def test_heat_lost_is_about_area_by_resistance():
    """A warm, nearly closed bin against U A dT by hand: slabs and films of its five sides."""
    fittings = Fittings(lid_fit="tight", vent_slot_length=0.0, inlet_area=0.0)
    column = bin_of([30.0, 30.0, 30.0], celsius=40.0, fittings=fittings)
    column.set_vent(0.0)
    seen, vessel = glimpse(column), column.vessel
    mean_edge = float((seen.mean - 0.5 * seen.centre_minus_edge) @ seen.thickness)
    mean_edge /= float(seen.thickness.sum())
    side = vessel.base_perimeter * seen.fill_height
    # outer film 5 to 12 W/(m^2 K) in still air, by the handbook: hence a wide band
    low, high = (
        side * (mean_edge - 10.0) / (vessel.wall_resistance + film) for film in (0.2, 0.08)
    )
    base = vessel.base_area * (float(seen.mean[0]) - 10.0) / vessel.base_resistance
    lost = heat_lost(column, vessel, constant_air(10.0), 1.0)
    assert 0.8 * low < lost < 1.3 * (high + base) + 0.3 * high


def test_heat_is_told_only_if_learned_and_if_it_matters():
    should = np.full(60, 20.0)
    prior = should * 1.35 * np.exp(0.3 * EVEN)
    assert heat_finding(prior, should, prior) is None
    tight = heat_finding(should * 1.02 * np.exp(0.05 * EVEN), should, prior)
    assert tight is None
    leaky = heat_finding(should * 1.8 * np.exp(0.1 * EVEN), should, prior)
    assert leaky.words.startswith(
        "The bin loses about 1.8 times (1.5 to 2.1) the heat it should, walls, leaks and lid "
    )
    assert heat_finding(-prior, should, prior) is None


# the next reading


def test_narrowing_is_that_of_two_gaussians():
    draws = np.random.default_rng(3)
    x = draws.normal(50.0, 8.0, 4000)
    y = 0.5 * x + draws.normal(0.0, 3.0, 4000)
    before, after = narrowed_spread(x, y, 2.0)
    # exact: var(x | y) = var x - cov^2 / (var y + R)
    exact = 64.0 - 32.0**2 / (16.0 + 9.0 + 4.0)
    assert before == pytest.approx(np.sqrt(64.0 + DISCREPANCY_KELVIN**2), rel=0.05)
    assert after == pytest.approx(np.sqrt(exact + DISCREPANCY_KELVIN**2), rel=0.05)


def test_chance_correlations_narrow_nothing_on_average():
    draws = np.random.default_rng(4)
    falls = []
    for _ in range(400):
        x, y = draws.normal(0.0, 8.0, (2, 60))
        before, after = narrowed_spread(x, y, 0.1)
        falls.append(1.0 - after / before)
    assert np.mean(falls) < 0.02


def test_narrowing_needs_members():
    with pytest.raises(InvalidInput, match="allowed is 4 or more"):
        narrowed_spread(np.zeros(3), np.zeros(3), 1.0)
    assert narrowed_spread(np.zeros(9), np.zeros(9), 1.0) == (
        pytest.approx(DISCREPANCY_KELVIN),
        pytest.approx(DISCREPANCY_KELVIN),
    )


def test_candidates_keep_off_the_floor_and_follow_what_there_is():
    low = reading_candidates(9.0, 0.22, None, None)
    assert [one.where for one in low if one.what == "a probe"] == [
        "15 cm below the surface, in the middle"
    ]
    full = reading_candidates(9.0, 0.7, Instrument("thin probe"), Instrument("dial"), "us")
    assert [one.what for one in full].count("the thin probe") == 4
    assert "the dial" in [one.what for one in full]
    assert full[0].where.startswith("5.9 in")


def test_best_reading_is_where_members_differ():
    # warm above, or warm below: a probe in the heart of it tells, the level does not
    columns = [bin_of([10.0] * 4, celsius=20.0 + 0.7 * k) for k in range(20)]
    seen = [glimpse(one) for one in columns]
    hottest = np.array([one.mean.max() for one in seen])
    candidates = reading_candidates(8.0, seen[0].fill_height, None, None)
    best = best_reading(candidates, seen, {}, hottest, hottest)
    assert best is not None
    assert best.what == "a probe"
    assert best.narrows_percent > 15.0
    assert best.why.startswith("would narrow the hottest layer from ±")
    level = Candidate("the level", "", fill_level(8.0, 0.3))
    assert best_reading([level], seen, {}, hottest, hottest) is None


def test_no_reading_is_advised_where_all_agree():
    seen = [glimpse(bin_of([10.0, 10.0]))] * 8
    same = np.full(8, 30.0)
    assert best_reading(reading_candidates(8.0, 0.3, None, None), seen, {}, same, same) is None


def test_a_reading_of_unknown_bias_is_less_sure():
    seen = [glimpse(bin_of([10.0, 10.0]))] * 5
    tool = Instrument("long probe", 1.0, 0.0, 2.0)
    candidate = Candidate("", "", probe(8.0, 20.0, tool, Place(depth=0.1)))
    values, unsure = candidate_values(candidate, seen, {})
    known = {"bias long probe": np.array([-1.0, -0.5, 0.0, 0.5, 1.0])}
    biased, sure = candidate_values(candidate, seen, known)
    assert unsure**2 - sure**2 == pytest.approx(4.0, rel=1e-6)
    assert np.ptp(values) == 0.0
    # half a standard deviation of a bias of 2 K, each
    assert np.diff(biased) == pytest.approx(1.0, rel=0.02)


def test_handful_is_told_by_its_moisture():
    seen = [glimpse(bin_of([10.0, 10.0]))] * 4
    handful = Candidate("a squeezed handful", "", None)
    values, spread = candidate_values(handful, seen, {})
    assert 0.5 < values[0] < 0.9
    assert 0.03 < spread < 0.1
