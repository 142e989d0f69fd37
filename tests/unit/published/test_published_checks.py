"""The table of published checks: whole, unique, held out by the rule, and judged as told."""

import dataclasses
import hashlib

import calibrate
import numpy as np
import pytest

from slowfire.errors import InvalidInput, UnknownName
from slowfire.published.checks import LISTED_IDS, check_rows, known_misses, read_checks
from slowfire.published.set_ups import SET_UPS
from slowfire.published.verify import judge, set_up_named


def test_every_listed_set_up_has_a_row_and_a_script():
    assert {check.id for check in read_checks()} == set(LISTED_IDS)
    assert set(SET_UPS) == set(LISTED_IDS)


@pytest.mark.parametrize("gone", ["V1", "case-28", "L5"])
def test_a_listed_set_up_without_a_row_is_refused(gone):
    left = tuple(check for check in read_checks() if check.id != gone)
    with pytest.raises(InvalidInput, match=f"no row for {gone}"):
        check_rows(left)


def test_a_row_twice_and_a_value_outside_its_band_are_refused():
    checks = read_checks()
    with pytest.raises(InvalidInput, match="two rows"):
        check_rows((*checks, checks[0]))
    crooked = dataclasses.replace(checks[0], value=checks[0].high + 1.0)
    with pytest.raises(InvalidInput, match="outside its own band"):
        check_rows((crooked, *checks[1:]))


def test_whole_set_ups_are_held_out_in_the_order_of_their_hash_up_to_a_third():
    checks = read_checks()
    held = []
    rows = 0
    for name in sorted(LISTED_IDS, key=lambda one: hashlib.sha256(one.encode()).hexdigest()):
        more = sum(check.id == name for check in checks)
        if rows + more > len(checks) / 3.0:
            break
        held.append(name)
        rows += more
    assert {check.id for check in checks if check.held_out} == set(held)
    assert rows == sum(check.held_out for check in checks) >= 25


def test_calibration_refuses_held_out_rows():
    checks = read_checks()
    with pytest.raises(InvalidInput, match="Held-out rows must not be fitted"):
        calibrate.refuse_held_out(checks)
    calibrate.refuse_held_out([check for check in checks if not check.held_out])


def test_calibration_starts_from_the_parameters_there_are():
    names = calibrate.free_names()
    values = calibrate.to_values(names, np.zeros((len(names), 1)))[:, 0]
    known = calibrate.priors()
    for name, value in zip(names, values, strict=True):
        prior = known[name]
        # a value at the very end of its range is moved two per cent inside it
        assert value == pytest.approx(prior.value, abs=0.05 * (prior.high - prior.low)), name
    far = calibrate.to_values(names, np.full((len(names), 1), 9.0))[:, 0]
    assert all(value <= known[name].high for name, value in zip(names, far, strict=True))


def test_a_miss_is_counted_from_the_edge_of_its_band():
    check = next(one for one in read_checks() if one.value is not None)
    half = 0.5 * (check.high - check.low)
    found = np.array([[check.value, check.high, check.high + half, np.inf]])
    miss = calibrate.misses([check], found)[0]
    assert miss[0] == 0.0
    assert 0.0 < miss[1] <= calibrate.INSIDE * 2.0
    assert miss[2] == pytest.approx(1.0 + miss[1])
    assert miss[3] == pytest.approx(calibrate.FAR + miss[1])


class TestJudge:
    check = next(one for one in read_checks() if one.key == ("V1", "peak_temperature"))

    def test_the_median_decides(self):
        low, high = self.check.low, self.check.high
        passed = judge(self.check, np.array([low - 30.0, 0.5 * (low + high), high]))
        assert passed.passed
        assert passed.value == 0.5 * (low + high)
        assert passed.reason == ""
        assert passed.share_in_band == pytest.approx(2.0 / 3.0)
        missed = judge(self.check, np.array([high + 1.0, high + 2.0]))
        assert not missed.passed
        assert missed.reason.startswith("above the band")

    def test_never_is_above_any_band(self):
        never = judge(self.check, np.array([np.inf, np.inf, self.check.low]))
        assert not never.passed
        assert never.value == np.inf

    def test_no_number_is_refused(self):
        with pytest.raises(InvalidInput, match="no number"):
            judge(self.check, np.array([1.0, np.nan]))


def test_an_unknown_set_up_is_named_with_those_there_are():
    with pytest.raises(UnknownName, match="V30"):
        set_up_named("V99")


@pytest.mark.parametrize("name", LISTED_IDS)
def test_what_a_source_leaves_open_is_stated_with_a_range_and_a_reason(name):
    set_up = SET_UPS[name]
    for one in set_up.unknowns:
        assert one.low < one.high, one.name
        assert one.why
        assert one.unit
    draws = set_up.draws(8, 3)
    assert draws == set_up.draws(8, 3)
    for one in set_up.unknowns:
        values = sorted(draw[one.name] for draw in draws)
        assert one.low <= values[0] < values[-1] <= one.high


def test_reasons_belong_to_rows():
    keys = {check.key for check in read_checks()}
    assert set(known_misses()) <= keys
    for miss in known_misses().values():
        assert miss.reason
        assert miss.remedy
