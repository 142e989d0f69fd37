"""The command that holds the model against published measurements."""

import json
from functools import partial

import pytest

from slowfire.published.checks import read_checks
from slowfire.services import verify_model as service
from slowfire.services.verify_words import check_lines, figure, tally_lines


@pytest.fixture(name="run")
def run_command(slowfire):
    return partial(slowfire, "verify-model")


def test_json_holds_the_band_ours_and_the_verdict(run):
    code, out, err = run("--only", "V24,v23", "--members", "4", "--json")
    assert (code, err) == (0, "")
    told = json.loads(out)
    assert [(one["id"], one["quantity"]) for one in told["checks"]] == [
        ("V23", "peak_temperature"),
        ("V23", "day_of_peak"),
        ("V24", "peak_temperature"),
    ]
    for one in told["checks"]:
        assert {"id", "quantity", "unit", "low", "high", "value", "held_out", "passed"} <= set(one)
        assert one["passed"] == (one["low"] <= one["value"] <= one["high"])
        assert one["interval_low"] <= one["value"] <= one["interval_high"]
        # a reason belongs to a miss
        assert bool(one["reason"]) != one["passed"]
    assert told["held_out"]["rows"] == 1
    assert told["in_calibration"]["rows"] == 2


def test_text_names_the_source_and_the_tally(run):
    code, out, err = run("--only", "V24", "--members", "2")
    assert (code, err) == (0, "")
    assert "V24: Cornell composting physics pages" in out
    assert "band 29 to 41, ours" in out
    assert "held out" in out
    assert "Held out: " in out
    assert all(len(line) <= 72 for line in out.splitlines())


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--only", "V99"), "no set-up 'V99'; use one of V1, V2"),
        (("--members", "0"), "Members is 0; allowed is 1 to 1000"),
        (("--members", "many"), "'--members'"),
    ],
)
def test_bad_input_is_told(run, arguments, words):
    code, out, err = run(*arguments)
    assert code == 2
    assert out == ""
    assert words in " ".join(err.split())


def test_too_few_passes_end_with_one(run, monkeypatch):
    def broken(*_arguments, **_words):
        rows = tuple(
            service.CheckRow(
                check.id,
                check.quantity,
                check.unit,
                check.meaning,
                check.value,
                check.low,
                check.high,
                float("inf"),
                check.low,
                float("inf"),
                0.0,
                check.held_out,
                False,
                "above the band: nothing.",
                check.source,
                check.basis,
            )
            for check in read_checks()
        )
        none = service.Tally(0, 10, 0.75)
        return service.VerifyResult(rows, none, none, 1, True)

    monkeypatch.setattr(service, "verify_model", broken)
    code, out, _ = run()
    assert code == 1
    assert "ours never" in out
    assert "0 of 10 pass; at least 75 % are promised" in " ".join(out.split())


def test_a_listed_set_up_without_a_row_fails_the_command(run, monkeypatch):
    from slowfire.published import checks

    table = checks._table("published_checks.csv")
    monkeypatch.setattr(checks, "_table", lambda _name: [r for r in table if r["id"] != "V5"])
    checks.read_checks.cache_clear()
    try:
        code, _, err = run("--only", "V24", "--members", "1")
    finally:
        checks.read_checks.cache_clear()
    assert code == 2
    assert "no row for V5" in err


def test_part_of_the_table_promises_nothing():
    part = service.VerifyResult((), service.Tally(0, 2, 0.75), service.Tally(0, 0, 0.5), 3, False)
    assert part.promise_kept
    assert tally_lines(part)[0] == "In calibration: 0 of 2 pass."
    assert check_lines(part) == []


def test_figures_are_short():
    assert [figure(v) for v in (1234.4, 12.345, float("inf"), -0.0012)] == [
        "1234",
        "12.3",
        "never",
        "-0.0012",
    ]
