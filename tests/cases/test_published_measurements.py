"""The model against published measurements, as the command runs it."""

import pytest

from slowfire.services.verify_model import verify_model


@pytest.fixture(scope="module", name="result")
def whole_table():
    return verify_model()


@pytest.fixture(name="ours")
def rows_by_key(result):
    return {(row.id, row.quantity): row for row in result.checks}


def test_enough_rows_pass_in_calibration_and_held_out(result):
    assert result.in_calibration.rows + result.held_out.rows == len(result.checks) == 81
    assert result.in_calibration.kept, result.in_calibration
    assert result.held_out.kept, result.held_out


def test_every_miss_says_why_and_what_would_mend_it(result):
    for row in result.checks:
        if not row.passed:
            assert "no reason is written down" not in row.reason, f"{row.id} {row.quantity}"


def test_size_and_insulation_alone_make_the_series(ours):
    """Bottle, indoor vessel, foam-jacketed can: the same mix and parameters, another vessel."""
    bottle = ours["V24", "peak_temperature"].value
    vessel = ours["V23", "peak_temperature"].value
    can = ours["V22", "peak_temperature"].value
    assert bottle < vessel < can


def test_a_ten_litre_bin_never_gets_to_55(ours):
    assert ours["V2", "peak_temperature"].interval_high < 55.0
