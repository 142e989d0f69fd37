"""Today from a stored estimate: words with units, own measures, what was written taken in."""

import json
import re
from dataclasses import asdict, replace
from datetime import datetime, timedelta
from uuid import UUID

import pytest

from slowfire import records as r
from slowfire.errors import UnknownName
from slowfire.services.example import fill_example
from slowfire.services.inside import InsideResult, Range
from slowfire.services.inside_series import InsideSeries
from slowfire.services.kept_results import result_of
from slowfire.services.today import TodayResult, given_advice, today
from slowfire.services.today_complaint import COMPLAINTS, complaint
from slowfire.services.today_report import today_report
from slowfire.services.today_scores import scores

COUNTER = iter(range(1, 10_000))


@pytest.fixture(scope="module")
def example(tmp_path_factory):
    """The shipped example: site, entries, estimate and series of its first bin."""
    with fill_example(tmp_path_factory.mktemp("example")) as store:
        name = store.site().bins[0].name
        return (
            store.site(),
            tuple(store.entries()),
            result_of(InsideResult, store.result("inside", name).payload),
            result_of(InsideSeries, store.result("series", name).payload),
        )


@pytest.fixture
def now(example):
    return datetime.fromisoformat(example[2].at) + timedelta(hours=2)


def about(mid, half=0.5):
    return Range(mid - half, mid, mid + half)


def changed(inside, celsius=45.0, moisture=62.0, oxygen=14.0, room=40.0, air=10.0, age=150.0):
    """The estimate of another bin: the same everywhere in it."""
    return replace(
        inside,
        hottest_celsius=about(celsius),
        air_celsius=about(air),
        fill_cm_below_rim=about(room),
        tub_litres=about(0.5, 0.1),
        cold_airless_probability=0.0,
        layers=tuple(
            replace(
                one,
                age_days=age,
                temperature_centre_celsius=about(celsius),
                moisture_percent=about(moisture),
                oxygen_percent=about(oxygen),
            )
            for one in inside.layers
        ),
        forecast=tuple(
            replace(
                one,
                hottest_celsius=about(celsius, 4.0),
                air_celsius=about(air),
                over_70_celsius_percent=0.0,
                cold_airless_percent=0.0,
            )
            for one in inside.forecast
        ),
    )


def entry(example, when, payload):
    return r.Entry(UUID(int=next(COUNTER)), example[2].bin, when, payload)


def seen(example, now, inside=None, extra=(), site=None):
    return today(site or example[0], (*example[1], *extra), inside or example[2], now)


def sentences(found: TodayResult):
    told = (found.headline, found.why, found.stop, found.reading, *found.cautions)
    return [one for one in told if one]


def test_the_stored_estimate_is_enough_and_says_the_same_each_time(example, now):
    found = seen(example, now)
    assert found == seen(example, now)
    assert found.bin == example[2].bin
    assert found.age == "2 hours old"
    assert found.look_on > now.date().isoformat()
    assert found.zones[-1].to_cm == pytest.approx(found.fill_cm, abs=0.5)
    assert json.dumps(asdict(found))


TROUBLES = {
    "hot and dry": {"celsius": 78.0, "moisture": 32.0},
    "too hot": {"celsius": 72.0},
    "airless": {"moisture": 80.0, "oxygen": 1.0, "celsius": 25.0},
    "full": {"room": 4.0},
    "overfull": {"room": 4.0, "age": 20.0},
    "frozen": {"celsius": -4.0, "air": -9.0},
    "too dry": {"moisture": 34.0},
    "draught": {"celsius": 15.0},
    "nothing": {},
}


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("name", TROUBLES)
def test_every_number_has_its_unit_and_no_sentence_is_broken(example, now, name, units):
    site = replace(example[0], units=units)
    found = seen(example, now, changed(example[2], **TROUBLES[name]), site=site)
    assert found.action == name
    for one in sentences(found):
        assert one.endswith((".", "!")), one
        assert "{" not in one
        assert "  " not in one
    said = " ".join((*sentences(found), found.expect, found.room, found.lid, found.air))
    degree, other = ("°F", "°C") if units == "us" else ("°C", "°F")
    assert degree in said
    assert other not in said
    # a number stands before a unit, a date, a count of something, or within a range
    number = r"(?<![\d.])\d+(?:\.\d+)?(?![\d.])"
    bare = re.findall(number + r"(?! ?(?:°|%|cm|in\b|mm|L\b|US|to \d|[A-Za-z]))", said)
    assert not [one for one in bare if f"{one} to" not in said and f"/{one}" not in said], bare


def test_amounts_come_in_the_keepers_own_measures_and_dry_stuff(example, now):
    found = seen(example, now, changed(example[2], moisture=80.0, oxygen=1.0, celsius=25.0))
    assert "three quarters of a caddy of shredded office paper" in found.headline
    assert "one scoop of conifer bark chips" in found.headline
    bucket = replace(example[0], measures={**example[0].measures, "bucket": 12.0})
    loads = [
        entry(
            example, now - timedelta(days=k, hours=1),
            r.Load((r.LoadItem("food", r.Amount(1.0, "bucket")),)),
        )
        for k in range(1, 13)
    ]  # fmt: skip
    told = seen(
        example, now, changed(example[2], moisture=80.0, oxygen=1.0, celsius=25.0), loads, bucket
    )
    # three quarters of a caddy of 6 L are 4.5 L, in buckets of 12 L about half of one
    assert "half a bucket" in told.headline


def test_the_tub_goes_by_what_came_from_it_before(example, now):
    # the estimate says full; the tub was empty at every look
    full = replace(example[2], tub_litres=about(12.0))
    assert seen(example, now, full).action != "tub"
    drains = [
        entry(example, now - timedelta(days=k), r.Drain(r.Amount(4.0, "litre")))
        for k in (80, 60, 40)
    ]
    # 4 L in 20 days, emptied 40 days ago: about 8 of 12 L
    others = tuple(one for one in example[1] if one.kind != "drain")
    found = today(example[0], (*others, *drains), example[2], now)
    assert found.tub_share == pytest.approx(8.0 / 12.0, rel=0.01)


def test_what_was_given_stands_and_what_was_done_waits(example, now):
    dry = changed(example[2], moisture=34.0)
    first = seen(example, now, dry)
    assert (first.action, first.standing) == ("too dry", "new")
    advice = given_advice(first)
    assert advice == r.Advice("too dry", "given")
    written = entry(example, now - timedelta(hours=20), advice)
    again = seen(example, now, dry, [written])
    assert (again.action, again.standing) == ("too dry", "given")
    assert given_advice(again) is None
    water = entry(example, now - timedelta(hours=2), r.Water(r.Amount(3.5, "litre")))
    waiting = seen(example, now, dry, [written, water])
    assert (waiting.action, waiting.standing) == ("nothing", "waiting")
    assert waiting.why.startswith("It was watered today")
    assert waiting.expect == "2 to 12 °C warmer than before at the same spot"
    put_off = entry(example, now - timedelta(hours=2), r.Advice("too dry", "postponed"))
    later = seen(example, now, dry, [put_off])
    assert later.why.startswith("Set aside until then: Pour")
    assert given_advice(seen(example, now, changed(example[2]))) is None


def test_what_was_seen_of_late_is_asked_after_until_all_is_as_usual(example, now):
    rats = entry(example, now - timedelta(hours=6), r.Look(rodents="droppings"))
    found = seen(example, now, changed(example[2]), [rats])
    assert found.action == "check rats or mice"
    assert found.action_sure == "from what you wrote"
    usual = entry(example, now - timedelta(hours=1), r.Usual())
    assert seen(example, now, changed(example[2]), [rats, usual]).action == "nothing"
    old = entry(example, now - timedelta(days=4), r.Look(rodents="droppings"))
    assert seen(example, now, changed(example[2]), [old]).action == "nothing"


def test_a_vent_is_read_as_last_written(example, now):
    cool = changed(example[2], celsius=22.0)
    wide = entry(example, now - timedelta(hours=3), r.Vent(width=r.Length(3, "cm")))
    assert seen(example, now, cool, [wide]).action == "wide vent"
    crack = entry(example, now - timedelta(hours=1), r.Vent(opening="crack"))
    assert seen(example, now, cool, [wide, crack]).vent == "vent: crack"


def test_one_look_is_asked_for_only_where_it_might_change_the_action(example, now):
    unsure = replace(changed(example[2]), fill_cm_below_rim=Range(-5.0, 14.0, 50.0))
    found = seen(example, now, unsure)
    assert found.reading.startswith("See how far the surface is below the rim")
    level = entry(example, now - timedelta(hours=1), r.Look(level=r.Length(14, "cm")))
    assert "surface" not in seen(example, now, unsure, [level]).reading
    assert seen(example, now, changed(example[2])).reading == ""


@pytest.mark.parametrize(
    ("age", "celsius", "words"),
    [
        (30.0, 30.0, "not ready, about 3 months more"),
        (108.0, 30.0, "not ready, about 7 days more"),
        (113.0, 30.0, "old enough but still warm; better later"),
        (113.0, 12.0, "old enough to try; not shown to be free of germs or seeds"),
    ],
)
def test_the_door_is_told_by_age_and_warmth_and_never_called_clean(
    example, now, age, celsius, words
):
    assert seen(example, now, changed(example[2], age=age, celsius=celsius)).door == words


def test_dry_stuff_left_falls_with_each_load(example, now):
    before = seen(example, now)
    assert before.dry_stuff_loads is not None
    paper = r.LoadItem("office_paper_shredded", r.Amount(2.0, "caddy"), "loose")
    food = r.LoadItem("food_waste_household_mixed", r.Amount(1.5, "caddy"))
    load = entry(example, now - timedelta(minutes=5), r.Load((food, paper)))
    after = seen(example, now, extra=[load])
    assert after.dry_stuff_loads < before.dry_stuff_loads
    assert "shredded office paper" in after.dry_stuff
    gone = entry(
        example, now - timedelta(minutes=2),
        r.Stock("office_paper_shredded", r.Amount(0.0, "sack"), change="counted"),
    )  # fmt: skip
    assert "used up" in seen(example, now, extra=[gone]).dry_stuff


def test_room_is_told_in_weeks_by_the_usual_loads(example, now):
    short = seen(example, now, changed(example[2], room=20.0))
    long = seen(example, now, changed(example[2], room=40.0))
    assert long.weeks_of_room == pytest.approx(2.0 * short.weeks_of_room)
    # about 25 to 60 L a week go in, 35 % of it stays; 20 cm of 0.36 m2 are 72 L
    assert 72.0 / (0.35 * 60.0) < short.weeks_of_room < 72.0 / (0.35 * 25.0)
    without = today(example[0], (), changed(example[2]), now)
    assert without.weeks_of_room is None
    assert without.last == "No load was written down yet."


def test_an_old_estimate_says_its_age_and_looks_ahead(example, now):
    found = seen(example, now + timedelta(days=9), changed(example[2]))
    assert found.age == "9 days old"
    assert found.look_on > (now + timedelta(days=9)).date().isoformat()


def test_entries_that_correct_others_do_no_harm(example, now):
    wrong = entry(example, now - timedelta(hours=3), r.Look(rodents="seen"))
    right = replace(
        entry(example, now - timedelta(hours=3), r.Look(smell="earthy")), corrects=wrong.id
    )
    everything = (*example[1], wrong, right)
    in_force = r.effective_entries(everything)
    whole = today(example[0], everything, changed(example[2]), now)
    assert whole == today(example[0], in_force, changed(example[2]), now)
    assert whole.action == "nothing"


def test_a_bin_that_is_gone_is_refused(example, now):
    with pytest.raises(UnknownName):
        seen(example, now, replace(example[2], bin="Nowhere"))


def test_another_planner_may_take_over(example, now):
    from slowfire.advise.actions import next_action

    asked = []

    def planner(state, said, acts):
        asked.append((state.area_m2, dict(acts)))
        return next_action(replace(state, tub_percent=None))

    today(example[0], example[1], example[2], now, planner)
    assert asked[0][0] == pytest.approx(0.36)
    assert "load" in asked[0][1]


@pytest.mark.parametrize("what", COMPLAINTS)
def test_a_complaint_gets_one_check_and_what_the_estimate_says(example, now, what):
    found = complaint(example[0], example[1], example[2], now, what)
    assert found.check
    assert 2 <= len(found.causes) <= 4
    assert found.causes[0].percent >= found.causes[-1].percent
    assert all(one.source for one in found.causes)
    assert bool(found.ask) == (what == "smells")
    without = complaint(example[0], example[1], None, now, what, example[2].bin)
    assert without.estimate == ""


def test_a_smell_written_of_late_says_which(example, now):
    sour = entry(example, now - timedelta(hours=3), r.Look(smell="sour"))
    found = complaint(example[0], (*example[1], sour), example[2], now, "smells")
    assert (found.complaint, found.ask) == ("sour", "")


def test_what_was_done_on_advice_is_judged_by_what_came_after(example, now):
    site, entries, inside, series = example
    name = inside.bin

    def judged(*extra):
        return scores(site, (*entries, *extra), name, now, inside, series)

    assert judged() == ()
    ago = [now - timedelta(days=one) for one in (6.0, 5.5, 3.0)]

    def read(k, celsius):
        reading = r.Reading(
            "long probe", r.Temperature(celsius, "C"), r.Position(r.Length(30, "cm"), "surface")
        )
        return entry(example, ago[k], reading)

    done = entry(example, ago[1], r.Advice("too dry", "done"))
    warm = judged(read(0, 40.0), done, read(2, 47.0))
    assert [(one.action, one.verdict) for one in warm] == [("too dry", "worked")]
    assert "7 °C" in warm[0].reason
    assert judged(read(0, 40.0), done, read(2, 40.5))[0].verdict == "did not"
    # without a reading the wide estimate cannot tell
    assert judged(done)[0].verdict == "can't tell"
    # given and done without an answer, and answered twice within a day, count once
    given_first = entry(example, ago[0], r.Advice("too dry", "given"))
    water = entry(example, ago[1], r.Water(r.Amount(3.0, "litre")))
    assert len(judged(given_first, water, done)) == 1
    late = entry(example, now - timedelta(hours=5), r.Advice("hungry", "done"))
    assert judged(late)[0].verdict == "too early"


def test_a_report_takes_an_estimate_that_is_there(example, now, tmp_path):
    from slowfire.services.example import FOLDER

    assert FOLDER[-1] == "example"
    with fill_example(tmp_path) as store:
        site = store.site()
    report = today_report(
        tmp_path, site.bins[0].name, "2026-03-14", "cold", now=now, made=(example[2], example[3])
    )
    assert report.day == "Saturday 14 March 2026"
    assert report.complaint is not None
    assert report.today.bin == site.bins[0].name


@pytest.mark.parametrize(
    ("ages", "words"),
    [
        ((1.0, 1.0), "Friday's food"),
        ((3.0, 1.0), "food of Wed to Fri"),
        ((20.0, 1.0), "22 Feb to Friday's food"),
        ((12.0, 8.0), "2 to 6 Mar"),
        ((70.0, 40.0), "Jan to Feb"),
        ((500.0, 40.0), "Oct 2024 to Feb 2026"),
    ],
)
def test_zones_say_when_their_stuff_went_in(example, now, ages, words):
    plain = changed(example[2])
    count = len(plain.layers)
    layers = tuple(
        replace(one, age_days=ages[0] + (ages[1] - ages[0]) * k / max(count - 1, 1))
        for k, one in enumerate(plain.layers)
    )
    found = seen(example, now, replace(plain, layers=layers))
    assert [one.what.removesuffix(", worms here") for one in found.zones] == [words]
