"""What is taken for possible before anything was read."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from slowfire.biology.kinetics import temperature_factor_haug
from slowfire.column.parameters import Parameters, default_parameters, priors
from slowfire.column.posterior import fitted_draws, fitted_spreads
from slowfire.column.rates import temperature_factor
from slowfire.errors import InvalidInput
from slowfire.estimate.priors import (
    BIN_WIDE,
    KINETIC,
    PER_LOAD_DRY,
    PER_LOAD_MASS,
    draw_normals,
    global_names,
    kinetic_unknowns,
    load_dry,
    load_mass,
    setting_of,
    unwritten_share,
)
from slowfire.vessel import Fittings, Vessel, box, heap

NORMAL = st.floats(-3.5, 3.5)
EVERYTHING = st.fixed_dictionaries(dict.fromkeys(global_names(), NORMAL))
BINS = (
    box(0.5, 0.5, 0.9, Fittings(wall=(("eps", 0.05),))),
    box(0.9, 0.9, 0.9, Fittings(wall=(("timber", 0.02),), side_open=0.3, wind_share=1.0)),
    heap(2.0, 1.0),
)
SHARES = ("side_open", "rain_share", "wind_share", "sun_share", "absorptance", "emissivity")
# A constant that the law of temperature raises has its own median only without that law.
RAISED = ("rate_rapid", "rate_slow", "rate_resistant", "rate_wood")
NO_LAW = {"law": -8.0}


def parameters_in_order(p: Parameters) -> None:
    """Finite, above 0 but for cardinal temperatures, and those in their order."""
    for name, value in p._asdict().items():
        assert math.isfinite(value), name
        if priors()[name].unit != "degC" and name != "haug_weight":
            assert value > 0.0 or priors()[name].low <= 0.0, name
    assert p.thermophile_minimum < p.thermophile_optimum < p.thermophile_maximum
    assert p.mesophile_minimum < p.mesophile_optimum < p.mesophile_maximum
    assert p.cold_minimum < p.cold_optimum < p.cold_maximum
    assert p.cold_optimum < p.mesophile_optimum < p.thermophile_optimum
    assert p.thermophile_maximum < 90.0
    assert 0.0 <= p.haug_weight <= 1.0
    assert p.hold_rapid < 15.0
    assert p.hold_slow < 15.0
    assert p.rate_resistant < p.rate_slow < p.rate_rapid
    assert 0.0 < p.acclimation_food < 1.0
    assert 0.0 < p.humus_yield < 1.0


@given(EVERYTHING, st.integers(0, 200))
def test_parameters_stay_physical(normals, member):
    parameters_in_order(setting_of(normals, member).parameters)


@given(EVERYTHING)
def test_factors_stay_physical(normals):
    factors = setting_of(normals, 0).factors
    assert set(factors) == {one.unknown.name for one in BIN_WIDE}
    for one in BIN_WIDE:
        value = factors[one.unknown.name]
        assert math.isfinite(value)
        if one.unknown.low > 0.0:
            assert value > 0.0, one.unknown.name
    assert 0.0 <= factors["warmth"] <= 1.0
    assert abs(factors["ambient_offset"]) < 8.0


@given(EVERYTHING, st.sampled_from(BINS))
def test_the_bin_of_a_member_is_a_bin(normals, described):
    ours = setting_of(normals, 0).vessel(described)
    assert isinstance(ours, Vessel)
    for name in SHARES:
        assert 0.0 <= getattr(ours, name) <= 1.0, name
    for name, value in ours._asdict().items():
        assert math.isfinite(value), name
        assert value >= 0.0, name
    # what a tape measures is not in doubt
    for name in ("base_area", "top_area", "base_perimeter", "top_perimeter", "height", "lidded"):
        assert getattr(ours, name) == getattr(described, name)
    for name in ("wall_resistance", "lid_resistance", "base_resistance"):
        if getattr(described, name) > 0.0:
            assert 0.1 < getattr(described, name) / getattr(ours, name) < 10.0


@pytest.mark.parametrize("one", BIN_WIDE, ids=lambda one: one.unknown.name)
def test_bin_wide_medians_and_quantiles_are_those_stated(one):
    u = one.unknown
    found = [setting_of({u.name: z}, 0).factors[u.name] for z in (-1.6449, 0.0, 1.6449)]
    assert found == pytest.approx([u.low, u.value, u.high], rel=1e-6, abs=1e-9)
    assert len(one.why) > 15


@pytest.mark.parametrize("name", KINETIC)
def test_constants_have_the_quantiles_that_the_fit_left(name):
    left = fitted_spreads().get(name)
    prior = priors()[name]
    low, high = (prior.low, prior.high) if left is None else (left.low, left.high)
    found = [
        getattr(setting_of(NO_LAW | {name: z}, 0).parameters, name) for z in (-1.6449, 0.0, 1.6449)
    ]
    expected = [min(low, prior.value), prior.value, max(high, prior.value)]
    assert found == pytest.approx(expected, rel=1e-4)


def test_what_no_reading_moves_comes_from_the_draws_of_the_fit():
    draws = fitted_draws()
    for member in (0, 5, len(draws) + 5):
        ours = setting_of(NO_LAW, member).parameters
        theirs = draws[member % len(draws)]
        assert ours.heat_per_oxygen == theirs.heat_per_oxygen
        assert ours.wall_friction == theirs.wall_friction
        assert ours.rate_wood == pytest.approx(theirs.rate_wood, rel=1e-9)


def test_the_law_of_temperature_passes_from_one_curve_to_the_other():
    shares = [setting_of({"law": z}, 0).parameters.haug_weight for z in (-3.0, 0.0, 1.0, 3.5)]
    assert shares == sorted(shares)
    assert shares[0] < 1e-6
    assert shares[-1] > 0.8


@pytest.mark.parametrize("normal", [-2.0, 0.0, 1.0, 3.0])
def test_rates_rise_to_meet_the_other_law_at_45_degrees(normal):
    plain, ours = (setting_of({"law": z}, 0).parameters for z in (-8.0, normal))
    own = temperature_factor(45.0, default_parameters())
    blended = own + ours.haug_weight * (float(temperature_factor_haug(45.0)) - own)
    rise = ours.rate_rapid / plain.rate_rapid
    assert rise * blended == pytest.approx(own, rel=0.06)


def test_the_spread_of_a_load_is_that_stated():
    for factor, spread in ((load_mass, PER_LOAD_MASS), (load_dry, PER_LOAD_DRY)):
        assert factor(0.0) == 1.0
        assert math.log(factor(1.0)) == pytest.approx(spread)
        assert factor(-1.3) * factor(1.3) == pytest.approx(1.0)


@pytest.mark.parametrize("chance", [0.03, 0.12, 0.25, 0.5, 0.8])
def test_the_mean_of_an_unwritten_share_is_its_chance(chance):
    mean, _ = quad(lambda z: unwritten_share(z, chance) * norm.pdf(z), -8.0, 8.0, limit=200)
    assert mean == pytest.approx(chance, abs=1e-6)


@given(st.floats(-4.0, 4.0), st.floats(0.0, 1.0))
def test_an_unwritten_share_is_a_share_and_grows(normal, chance):
    share = unwritten_share(normal, chance)
    assert 0.0 <= share <= 1.0
    assert unwritten_share(normal + 0.1, chance) >= share


def test_an_unwritten_share_is_mostly_nothing_or_all():
    evenly = norm.ppf(np.linspace(0.005, 0.995, 100))
    between = [0.1 < unwritten_share(z, 0.2) < 0.9 for z in evenly]
    assert np.mean(between) < 0.3


class TestDraws:
    """A Latin hypercube of normals."""

    def test_the_same_seed_gives_the_same_draws(self):
        one, two, other = (draw_normals(("a", "b"), 12, seed) for seed in (4, 4, 5))
        assert all((one[name] == two[name]).all() for name in ("a", "b"))
        assert (one["a"] != other["a"]).any()

    def test_draws_depend_on_seed_count_and_names_alone(self):
        before = draw_normals(("a", "b"), 12, 4)
        np.random.default_rng(7).normal(size=1000)
        np.random.seed(1)  # noqa: NPY002
        again = draw_normals(("other", "names"), 12, 4)
        assert (before["a"] == again["other"]).all()
        assert (before["b"] == again["names"]).all()

    def test_every_slice_of_each_unknown_is_filled_once(self):
        members = 40
        for drawn in draw_normals(("a", "b", "c"), members, 9).values():
            cells = np.floor(members * norm.cdf(drawn)).astype(int)
            assert sorted(cells) == list(range(members))

    def test_two_unknowns_are_not_bound_to_each_other(self):
        both = [draw_normals(("a", "b"), 40, seed) for seed in range(30)]
        found = [np.corrcoef(one["a"], one["b"])[0, 1] for one in both]
        assert abs(np.mean(found)) < 3.0 / np.sqrt(40 * 30)

    def test_no_names_no_draws(self):
        assert draw_normals((), 8, 1) == {}

    @pytest.mark.parametrize("members", [1, 0, -3])
    def test_fewer_than_two_members_are_refused(self, members):
        with pytest.raises(InvalidInput, match="2 or more"):
            draw_normals(("a",), members, 1)


def test_unknowns_have_names_of_their_own():
    names = global_names()
    assert len(names) == len(set(names))
    assert set(kinetic_unknowns()) == set(KINETIC) <= set(Parameters._fields)
