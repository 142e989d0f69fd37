"""The liquid told from an estimate: words, dates, stock and advice, in both systems of units."""

import json
from dataclasses import asdict, replace
from datetime import UTC, datetime, timedelta
from importlib.resources import files
from uuid import uuid4

import pytest

from slowfire import records as r
from slowfire.errors import InvalidInput
from slowfire.refusals import RefusedField
from slowfire.services.allot import liquid_advice, yield_words
from slowfire.services.inside import InsideResult, InsideTub, Range
from slowfire.services.kept_results import result_of
from slowfire.services.liquid import liquid, spill_note
from slowfire.services.today import today

NOW = datetime(2026, 3, 14, 18, tzinfo=UTC)
DAY = timedelta(days=1)
SITE = r.Site(
    "Yard",
    "UTC",
    (
        r.Bin(
            "Timber bin", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90,
            tub_litres=6.0,
        ),
    ),
    (),
    {"bucket": 10.0},
)  # fmt: skip
NO_TUB = replace(SITE, bins=(replace(SITE.bins[0], tub_litres=0.0),))
ROWS = json.loads(
    (files("slowfire") / "data" / "example" / "results.json").read_text(encoding="utf-8")
)
KEPT = next(one for one in ROWS if one["kind"] == "inside" and one["bin"] == "Timber bin")
STRENGTH = Range(6.0, 9.0, 12.0)


def tub(**changes):
    known = InsideTub(
        liquid_percent=100.0,
        strength_ms_per_cm=STRENGTH,
        weekly_litres=Range(0.2, 0.5, 0.9),
        rain_litres=Range(0.0, 0.0, 0.0),
        thinned_ms_per_cm=STRENGTH,
        days_to_spill=(10.0, 20.0, 40.0),
        ahead_days=14.0,
    )
    return replace(known, **changes)


def inside(litres=(1.0, 2.0, 3.0), **changes):
    """The example's estimate with another tub."""
    kept = result_of(InsideResult, json.dumps(KEPT["payload"]))
    return replace(kept, at="2026-03-14T12:00+00:00", tub_litres=Range(*litres), tub=tub(**changes))


def drain(days_ago, litres, colour="dark", smell="none", conductivity=None, unit="litre"):
    payload = r.Drain(r.Amount(litres, unit), colour, smell, conductivity)
    return entry(payload, days_ago)


def use(days_ago, litres, what="liquid", bin_name="Timber bin"):
    return entry(r.Use(what, r.Amount(litres, "litre"), "pear", how="drench"), days_ago, bin_name)


def entry(payload, days_ago, bin_name="Timber bin"):
    return r.Entry(uuid4(), bin_name, NOW - days_ago * DAY, payload, NOW)


def told(found, entries=(), site=SITE, **more):
    return liquid(site, list(entries), "Timber bin", found, NOW, **more)


def text(made):
    return " ".join(made.words)


def test_litres_strength_flow_and_date_with_their_ranges():
    made = told(inside())
    assert made.litres == Range(1.0, 2.0, 3.0)
    assert "about 2.0 L (1.0 to 3.0)" in text(made)
    assert "it holds 6 L" in text(made)
    assert "about 9 mS/cm (6 to 12). An estimate; a meter is better" in text(made)
    assert "0.5 L (0.2 to 0.9) a week" in text(made)
    assert made.spill_dates == ("2026-03-24", "2026-04-03", "2026-04-23")
    assert "between 24 March and 23 April, likely about 3 April" in text(made)
    assert "ammonium" in " ".join(made.assumptions)


def test_no_tub_size_says_where_to_say_it():
    made = told(inside(days_to_spill=None), site=NO_TUB)
    assert made.tub_holds_litres is None
    assert made.spill_dates is None
    assert "No tub size is written" in text(made)
    assert "Set-up" in text(made)


def test_a_tub_that_is_full_already():
    assert "full by the estimate: empty it" in text(
        told(inside((6.0, 6.0, 6.0), days_to_spill=(0.0, 0.0, 0.0)))
    )
    assert "most likely full already" in text(
        told(inside((2.0, 6.0, 6.0), days_to_spill=(0.0, 0.0, None)))
    )
    perhaps = text(told(inside((0.0, 1.0, 6.0), days_to_spill=(0.0, None, None))))
    assert "may be full already, but most likely it does not run over within 8 weeks" in perhaps
    assert "most likely it runs over about 3 April" in text(
        told(inside((0.0, 1.0, 6.0), days_to_spill=(0.0, 20.0, None)))
    )


def test_a_dry_week_never_spills():
    made = told(
        inside(
            (0.0, 0.0, 0.01),
            liquid_percent=0.0,
            strength_ms_per_cm=None,
            thinned_ms_per_cm=None,
            weekly_litres=Range(0.0, 0.0, 0.0),
            days_to_spill=(None, None, None),
        )
    )
    assert made.spill_dates == (None, None, None)
    assert "nothing to speak of, by the estimate" in text(made)
    assert "too little to tell how strong" in text(made)
    assert "does not run over within 8 weeks" in text(made)
    assert made.advice is None


def test_far_off_days_are_not_told():
    made = told(inside(days_to_spill=(30.0, 300.0, None)))
    assert made.spill_dates == ("2026-04-13", None, None)
    assert "most likely does not run over within 8 weeks; perhaps as early as 13 April" in text(
        made
    )
    some = told(inside(days_to_spill=(10.0, 20.0, 300.0)))
    assert "perhaps not within 8 weeks" in text(some)


def test_rain_that_enters_thins_it_and_a_roof_says_nothing():
    wet = told(inside(rain_litres=Range(0.5, 2.0, 4.0), thinned_ms_per_cm=Range(3.0, 4.5, 6.0)))
    assert "Rain may bring in 2.0 L (0.5 to 4.0)" in text(wet)
    assert "thinned to about 4 mS/cm (3 to 6)" in text(wet)
    assert "Rain" not in text(told(inside()))


def test_an_empty_bin_lets_nothing_run_down():
    assert "The bin is empty" in text(told(replace(inside(), layers=())))


def test_before_the_first_estimate_and_after_an_older_version():
    none = told(None)
    assert none.at is None
    assert "no estimate of this bin yet" in text(none)
    old = told(replace(inside(), tub=None))
    assert old.tub is None
    assert text(old).count("next estimate tells") == 2
    assert old.advice.parts == pytest.approx(10.0)


def test_a_tub_emptied_after_the_estimate_is_not_told_as_full():
    made = told(inside(), [drain(0.05, 2.0)])
    assert made.litres is None
    assert "emptied on 14 March, after the last estimate" in text(made)
    assert told(inside(), [drain(1.0, 2.0)]).litres is not None


def test_drawn_and_not_used_with_its_age_oldest_used_first():
    entries = [drain(9.0, 2.0), drain(0.5, 1.5, conductivity=3.0), use(0.2, 2.5)]
    made = told(inside(), entries)
    assert [round(one.litres, 3) for one in made.drawn] == [1.0]
    first = told(inside(), entries[:2]).drawn
    assert [(one.litres, round(one.hours_old)) for one in first] == [(1.5, 12), (2.0, 216)]
    assert first[0].advice.parts == pytest.approx(2.0)
    assert "3 mS/cm by a meter" in first[0].words
    assert not first[1].advice.allowed
    assert "9 days old" in first[1].words


def test_what_does_not_count_as_liquid_left():
    assert told(inside(), [drain(20.0, 3.0)]).drawn == ()
    assert told(inside(), [drain(1.0, 0.0)]).drawn == ()
    used = [drain(0.5, 1.0), use(0.4, 5.0), drain(0.3, 2.0), use(0.2, 1.0, "compost")]
    assert [one.litres for one in told(inside(), used).drawn] == [2.0]
    assert told(inside(), [drain(0.5, 1.0), use(0.4, 1.0, bin_name="")]).drawn == ()
    assert told(inside(), [use(0.6, 1.0), drain(0.5, 1.0)]).drawn[0].litres == 1.0
    odd = told(inside(), [drain(0.5, 0.2, unit="bucket")]).drawn
    assert odd[0].litres == pytest.approx(2.0)


def test_a_measured_strength_is_told_and_rules_its_own_batch():
    made = told(inside(), [drain(20.0, 1.0, conductivity=4.5)])
    assert made.measured_ms_per_cm == 4.5
    assert "Last measured: 4.5 mS/cm on 22 February" in text(made)
    assert told(inside(), [drain(90.0, 1.0, conductivity=4.5)]).measured_ms_per_cm is None


def test_advice_takes_the_strong_end_and_a_meter_and_a_target():
    assert told(inside()).advice.parts == pytest.approx(10.0)
    assert told(inside(), target_ms_per_cm=0.5).advice.parts == pytest.approx(24.0)
    assert told(inside(), conductivity_ms_per_cm=6.0).advice.parts == pytest.approx(4.0)
    assert told(inside(), seedlings=True).advice.parts == pytest.approx(20.0)
    assert any("soil only" in one for one in told(inside()).advice.reasons)
    asked = liquid_advice(2.0, estimated_ms_per_cm=30.0, target_ms_per_cm=1.0)
    assert asked.parts == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"target_ms_per_cm": 9.0}, "target"),
        ({"target_ms_per_cm": 0.0}, "target"),
        ({"conductivity_ms_per_cm": -1.0}, "ec"),
    ],
)
def test_strengths_that_cannot_be_are_refused_with_their_field(more, field):
    with pytest.raises(RefusedField, match="allowed is") as refused:
        told(inside(), **more)
    assert refused.value.field == field


def test_us_gallons_everywhere_and_json_stays_metric():
    site = replace(SITE, units="us")
    made = told(inside(rain_litres=Range(0.5, 2.0, 4.0)), [drain(0.5, 2.0)], site)
    said = [*made.words, made.advice.words, made.drawn[0].words, made.drawn[0].advice.words]
    assert sum("US gal" in one for one in said) == 6
    assert not any(" L " in one or " L." in one for one in said)
    assert made.litres.mid == 2.0
    assert "0.53 US gal (0.26 to 0.79)" in text(made)


def test_the_yield_is_told_once_something_was_dug():
    assert yield_words(None) == ""
    assert yield_words(inside()) == ""
    dug = replace(inside(), dug_out_percent=Range(20.0, 24.0, 30.0))
    assert "24 % of what went in by weight (20 to 30)" in yield_words(dug)


def test_older_kept_results_load_and_broken_ones_do_not():
    payload = asdict(inside())
    del payload["tub"], payload["dug_out_percent"]
    assert result_of(InsideResult, json.dumps(payload)).tub is None
    assert result_of(InsideResult, json.dumps(asdict(inside()))) == inside()
    del payload["tub_litres"]
    with pytest.raises(InvalidInput):
        result_of(InsideResult, json.dumps(payload))


def test_today_names_the_day_only_when_it_is_near_and_nothing_drawn_tells_better():
    near = inside((3.0, 4.0, 5.0), days_to_spill=(2.0, 6.0, 12.0))
    load = entry(r.Load((r.LoadItem("food_waste_household_mixed", r.Amount(2, "litre")),)), 30.0)
    assert spill_note(SITE, [], near) == "may run over about 20 March"
    assert today(SITE, [load], near, NOW).tub_spills == "may run over about 20 March"
    assert spill_note(SITE, [], inside()) == ""
    assert spill_note(SITE, [], inside(days_to_spill=(0.0, 0.0, 1.0))) == ""
    assert spill_note(SITE, [drain(0.05, 1.0)], near) == ""
    drawn = [load, drain(9.0, 1.0), drain(3.0, 0.5)]
    assert today(SITE, drawn, near, NOW).tub_spills == ""
