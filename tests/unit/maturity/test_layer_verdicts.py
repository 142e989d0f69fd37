import dataclasses

import numpy as np
import pytest

from slowfire.errors import InvalidInput
from slowfire.hygiene.rules import find_rule
from slowfire.hygiene.verdict import heat_verdict
from slowfire.maturity.bin_tests import bag_trial, flask_trial
from slowfire.maturity.chemistry import ammonium_class
from slowfire.maturity.layer_verdicts import layer_verdicts
from slowfire.maturity.plant_tests import cress_trial, extract_trial, weedkiller_trial
from slowfire.maturity.stability import oxygen_uptake_class
from slowfire.maturity.trial import measured_trial

ONE = np.ones(40)
AT_REST = (8.0 * ONE, 1.0 * ONE, 14.0 * ONE, 80.0 * ONE)
AT_WORK = (80.0 * ONE, 25.0 * ONE, 18.0 * ONE, 900.0 * ONE)
SEEDS_PASS = extract_trial(20, 19, 20, 19)
FLASK_PASS = flask_trial(26.0, 20.0, 7.0)


def test_model_alone_never_says_finished_or_fit():
    told = layer_verdicts(*AT_REST)
    assert told.finished.verdict == "not shown"
    assert told.finished.probability == 1.0
    assert told.fit_for_seedlings.verdict == "not shown"
    assert told.active.verdict == "not shown"
    assert told.sanitised.verdict == "not shown"


@pytest.mark.parametrize(
    ("excess", "words"),
    [
        (12.4, "most likely 12 °C (22 °F) warmer than the air"),
        (-3.0, "most likely 3 °C (5 °F) cooler than the air"),
        (0.4, "most likely as warm as the air"),
    ],
)
def test_how_warm_it_is_beside_the_air_is_said_on_both_sides(excess, words):
    oxygen, _, ratio, ammonium = AT_REST
    told = layer_verdicts(oxygen, np.full_like(oxygen, excess), ratio, ammonium)
    assert any(words in one for one in told.finished.reasons)


def test_at_work():
    told = layer_verdicts(*AT_WORK)
    assert told.active.verdict == "yes"
    assert told.finished.verdict == "no"
    assert told.fit_for_seedlings.verdict == "no"


def test_flask_shows_rest_but_seedlings_want_their_own_test():
    told = layer_verdicts(*AT_REST, trials=[FLASK_PASS])
    assert told.active.verdict == "no"
    assert told.finished.verdict == "yes"
    assert told.finished.basis == "from readings"
    assert told.fit_for_seedlings.verdict == "not shown"


def test_measured_values_count_as_tests():
    rest = measured_trial(oxygen_uptake_class(8.0))
    assert layer_verdicts(*AT_REST, trials=[rest]).finished.verdict == "yes"
    burning = measured_trial(ammonium_class(2000.0))
    assert layer_verdicts(*AT_REST, trials=[rest, burning]).finished.verdict == "no"
    # little ammonium is no test with plants
    little = measured_trial(ammonium_class(20.0))
    told = layer_verdicts(*AT_REST, trials=[little])
    assert told.finished.verdict == "not shown"
    assert told.fit_for_seedlings.verdict == "not shown"
    both = layer_verdicts(*AT_REST, trials=[rest, little])
    assert both.finished.verdict == "yes"
    assert both.fit_for_seedlings.verdict == "not shown"


def test_a_nose_alone_does_not_finish():
    told = layer_verdicts(*AT_REST, trials=[bag_trial("earthy", 5.0)])
    assert told.finished.verdict == "not shown"


def test_seedlings_by_a_plant_test_with_a_control():
    assert layer_verdicts(*AT_REST, trials=[SEEDS_PASS]).fit_for_seedlings.verdict == "yes"
    alone = cress_trial(20, 20, "green", 5.0)
    assert layer_verdicts(*AT_REST, trials=[alone]).fit_for_seedlings.verdict == "not shown"
    fair = extract_trial(20, 20, 20, 17)
    assert layer_verdicts(*AT_REST, trials=[fair]).fit_for_seedlings.verdict == "not shown"


def test_refused_test_decides_nothing():
    refused = extract_trial(20, 10, 20, 20)
    told = layer_verdicts(*AT_REST, trials=[refused])
    assert told.fit_for_seedlings.verdict == "not shown"
    assert told.finished.verdict == "not shown"


def test_passed_seeds_do_not_outweigh_a_layer_at_work():
    told = layer_verdicts(*AT_WORK, trials=[SEEDS_PASS])
    assert told.finished.verdict == "no"
    assert told.fit_for_seedlings.verdict == "no"


def test_failed_test_outweighs_the_model():
    failed = extract_trial(20, 19, 20, 11)
    told = layer_verdicts(*AT_REST, trials=[failed, FLASK_PASS])
    assert told.finished.verdict == "no"
    assert told.fit_for_seedlings.verdict == "no"
    assert layer_verdicts(*AT_REST, trials=[bag_trial("putrid", 4.0)]).active.verdict == "yes"


def test_weedkiller_keeps_seedlings_out_though_all_else_passed():
    for cupped, verdict in ((4, "no"), (1, "not shown"), (0, "yes")):
        peas = weedkiller_trial(4, cupped, 4, 0, 20.0, 3)
        told = layer_verdicts(*AT_REST, trials=[SEEDS_PASS, FLASK_PASS, peas])
        assert told.fit_for_seedlings.verdict == verdict
        assert told.finished.verdict == "yes"


def test_cool_is_needed_and_no_proof():
    """At the temperature of the air for want of water, while food is left."""
    told = layer_verdicts(80.0 * ONE, 1.0 * ONE, 18.0 * ONE, 900.0 * ONE, trials=[])
    assert told.finished.verdict == "no"
    warm = layer_verdicts(8.0 * ONE, 6.0 * ONE, 14.0 * ONE, 80.0 * ONE, trials=[SEEDS_PASS])
    assert warm.finished.verdict == "no"


def test_verdicts_are_kept_apart():
    """Heat does not finish, rest does not sanitise."""
    rule = find_rule("US_NOP_VESSEL")
    cold = heat_verdict(
        rule,
        np.zeros((40, 2, 41, 3)),
        np.zeros(40),
        layer_base=0.1,
        layer_top=0.2,
        since_hour=0.0,
    )
    told = layer_verdicts(*AT_REST, heat=cold, trials=[SEEDS_PASS, FLASK_PASS])
    assert told.sanitised.verdict == "no"
    assert told.finished.verdict == "yes"
    assert cold.caution in told.sanitised.reasons
    hot = dataclasses.replace(cold, verdict="yes", basis="from readings")
    assert layer_verdicts(*AT_WORK, heat=hot).sanitised.verdict == "yes"
    assert layer_verdicts(*AT_WORK, heat=hot).finished.verdict == "no"


def test_half_of_the_members_is_not_shown():
    mixed = np.where(np.arange(40) < 20, 80.0, 8.0)
    told = layer_verdicts(mixed, *AT_REST[1:])
    assert told.active.verdict == "not shown"
    assert told.active.probability == 0.5


def test_basis_follows_the_thermometer():
    assert layer_verdicts(*AT_WORK).active.basis == "from assumptions"
    assert layer_verdicts(*AT_WORK, temperature_read=True).active.basis == "from readings"


@pytest.mark.parametrize(
    "arrays",
    [
        (ONE, ONE, ONE, np.ones(3)),
        (np.array([]),) * 4,
        (np.full(4, np.nan), np.ones(4), np.ones(4), np.ones(4)),
    ],
)
def test_bad_arrays_are_refused(arrays):
    with pytest.raises(InvalidInput):
        layer_verdicts(*arrays)
