"""The estimate of a written bin: the same with and without what is kept, and honest refusals."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pvlib
import pytest

from slowfire.errors import InvalidInput, SlowfireError, UnknownName
from slowfire.estimate.diagnostics import Fit
from slowfire.estimate.discrepancy import OXYGEN_LOGITS, WATER_LOGITS
from slowfire.journal import read_journal
from slowfire.services.checkpoints import (
    MOST_FILES,
    QUICK,
    THOROUGH,
    Gear,
    Work,
    bin_folder,
    keys,
    read_kept,
    remove_oldest,
    stations,
)
from slowfire.services.inside import Range, inside
from slowfire.services.inside_questions import questions_of
from slowfire.services.inside_record import last_hour, moment_of, record_of
from slowfire.services.inside_run import estimated
from slowfire.services.inside_words import (
    forecast_sentences,
    grouped,
    heading,
    question_sentences,
    reading_sentences,
    section_lines,
    summary_lines,
)

STATION = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
SMALL = Gear("small", 14, 2, 72.0)
NOW = datetime(2026, 4, 2, 12, 0, tzinfo=UTC)
HEADING = "when,bin,kind,item,amount,unit,at,value,note\n"
SITE = """\
name = "Back yard"
timezone = "Europe/Vienna"
units = "{units}"
latitude_degrees = 48.0
longitude_degrees = 16.0

[measures_litres]
caddy = 7.0

[[bins]]
name = "Box"
shape = "box"
inside_width_cm = 50.0
inside_depth_cm = 50.0
inside_height_cm = 90.0
wall = [{{material = "foam", thickness_mm = 40.0}}]
lid = [{{material = "foam", thickness_mm = 30.0}}]
base = [{{material = "plastic", thickness_mm = 4.0}}]
vent_slot_length_cm = 30.0
tub_litres = 6.0

[[thermometers]]
name = "long probe"
kind = "probe"
depth_cm = 20.0

[[thermometers]]
name = "short probe"
kind = "probe"
depth_cm = 20.0

[[thermometers]]
name = "lid dial"
kind = "lid"

[weather]
kind = "{weather}"
"""
SEASONAL = 'seasonal"\nmean_celsius = 10.0\nyearly_swing_kelvin = 18.0\ndaily_swing_kelvin = 8.0\n#'


def load_rows(day, month=3):
    when = f"2026-{month:02d}-{day:02d} 18:00+01:00"
    return (
        f"{when},Box,load,food_waste_household_mixed,1.5,caddy,,,\n"
        f"{when},Box,load,office_paper_shredded,0.75,caddy,,packing=loose,\n"
    )


def reading_row(day, celsius, name="long probe", place="20 cm below surface"):
    return f"2026-03-{day:02d} 17:30+01:00,Box,reading,{name},{celsius},C,{place},,\n"


ROWS = tuple(load_rows(day) for day in (1, 4, 7, 10, 13, 16, 19, 22, 25, 28)) + tuple(
    reading_row(day, celsius)
    for day, celsius in ((6, 33), (11, 38), (15, 41), (20, 43), (24, 42), (29, 44))
)


def write(folder, rows=ROWS, units="metric", weather=SEASONAL):
    folder.mkdir(exist_ok=True)
    site = SITE.format(units=units, weather=weather)
    (folder / "site.toml").write_text(site, encoding="utf-8")
    (folder / "entries.csv").write_text(HEADING + "".join(rows), encoding="utf-8")
    return folder


def estimate(folder, cache=None, **options):
    options = {"gear": SMALL, "now": NOW, **options}
    if cache is None:
        return inside(folder, "Box", keep=False, **options)
    return inside(folder, "Box", cache_folder=cache, **options)


def made_estimate(folder):
    journal = read_journal(folder)
    when, entries, _ = moment_of(journal, "Box", None, NOW)
    made = record_of(journal, "Box", entries, when)[0]
    with ThreadPoolExecutor(2) as pool:
        return estimated(journal, made, when, SMALL, 1, Work(pool), None, None)


def record(folder, at=None):
    journal = read_journal(folder)
    when, entries, _ = moment_of(journal, "Box", at, NOW)
    return record_of(journal, "Box", entries, when)[0]


@pytest.fixture(scope="module")
def box(tmp_path_factory):
    return write(tmp_path_factory.mktemp("journals") / "box")


@pytest.fixture(scope="module")
def found(box):
    return estimate(box)


def ranges(value):
    if isinstance(value, Range):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from ranges(one)
    elif hasattr(value, "__dataclass_fields__"):
        for name in value.__dataclass_fields__:
            yield from ranges(getattr(value, name))


# what is told


def test_every_range_is_in_order_and_in_bounds(found):
    told = list(ranges(found))
    assert len(told) > 40
    assert all(one.low <= one.mid <= one.high for one in told)
    for layer in found.layers:
        assert layer.moisture_percent.low >= 0.0
        assert layer.moisture_percent.high <= 100.0
        assert layer.oxygen_percent.low >= 0.0
        assert layer.oxygen_percent.high <= 21.0
        assert layer.age_days >= 0.0


def odds(percent, most):
    share = np.clip(percent / most, 1e-9, 1.0 - 1e-9)
    return np.log(share / (1.0 - share))


def test_water_and_oxygen_are_told_no_narrower_than_the_model_is_good(found):
    """An ensemble may agree on what nobody has measured; fourteen reach 2.7 deviations wide."""
    for layer in found.layers:
        water, oxygen = layer.moisture_percent, layer.oxygen_percent
        assert odds(water.high, 100.0) - odds(water.low, 100.0) > 2.3 * WATER_LOGITS
        assert odds(oxygen.high, 20.95) - odds(oxygen.low, 20.95) > 2.3 * OXYGEN_LOGITS


def test_slices_fill_the_middle_stack(found):
    assert found.layers[0].height_cm == 0.0
    for lower, upper in pairwise(found.layers):
        assert upper.height_cm == pytest.approx(lower.height_cm + lower.thickness_cm)
        assert upper.age_days <= lower.age_days + 1e-9
    top = found.layers[-1]
    surface = found.bin_height_cm - found.fill_cm_below_rim.mid
    assert top.height_cm + top.thickness_cm == pytest.approx(surface, abs=1e-6)
    assert 4.0 < top.thickness_cm < 6.5


def test_default_time_is_the_evening_of_the_last_entry(found):
    assert found.at == "2026-03-29T23:00+02:00"
    assert [one.date for one in found.forecast] == [
        (datetime(2026, 3, 30) + timedelta(days=k)).date().isoformat() for k in range(14)
    ]


def test_the_days_ahead_go_on_from_today(found):
    first = found.forecast[0]
    assert abs(first.hottest_celsius.mid - found.hottest_celsius.mid) < 12.0
    for day in found.forecast:
        assert 0.0 <= day.over_70_celsius_percent <= 100.0
        # days of this climate stray by 3 K and more
        assert day.air_celsius.high - day.air_celsius.low > 4.0


def test_only_layers_near_a_reading_rest_on_it(found):
    # the probe of 29 March lay 20 cm under the surface, which has not moved since
    surface = found.bin_height_cm - found.fill_cm_below_rim.mid
    tip = surface - 20.0
    for layer in found.layers:
        middle = layer.height_cm + 0.5 * layer.thickness_cm
        if abs(middle - tip) < 10.0:
            assert layer.basis == "from readings"
        if abs(middle - tip) > 22.0:
            assert layer.basis == "from assumptions"
    assert {layer.basis for layer in found.layers} == {"from readings", "from assumptions"}


def test_without_readings_everything_is_assumed_and_wide(tmp_path, found):
    bare = estimate(write(tmp_path / "bare", [row for row in ROWS if "reading" not in row]))
    assert {layer.basis for layer in bare.layers} == {"from assumptions"}
    assert bare.fit.basis == "from assumptions"
    assert bare.fit.typical_misfit_kelvin is None
    assert found.fit.basis == "from readings"
    width = bare.hottest_celsius.high - bare.hottest_celsius.low
    assert width > found.hottest_celsius.high - found.hottest_celsius.low


def test_readings_pull_the_estimate(tmp_path):
    loads = [row for row in ROWS if "load" in row]
    hottest = []
    for number, warmer in enumerate((-8, 8)):
        read = [reading_row(day, 40 + warmer) for day in (15, 18, 20, 23, 25, 27, 29)]
        told = estimate(write(tmp_path / f"at {number}", (*loads, *read)))
        assert told.fit.readings_set_aside == 0
        hottest.append(told.hottest_celsius.mid)
    assert hottest[1] > hottest[0] + 5.0


def test_a_reading_far_off_is_left_out_and_asked_about(tmp_path):
    asked = estimate(write(tmp_path / "odd", (*ROWS, reading_row(27, -35))))
    assert asked.fit.readings_set_aside == 1
    assert [one.kind for one in asked.questions if "-35 °C" in one.words]


def test_two_probes_apart_for_weeks_are_asked_about(tmp_path):
    apart = tuple(
        reading_row(day, celsius - 7, "short probe")
        for day, celsius in ((6, 33), (11, 38), (15, 41), (20, 43), (24, 42), (29, 44))
    )
    asked = estimate(write(tmp_path / "apart", (*ROWS, *apart)))
    # most of these readings lie before the window, and are remembered
    assert asked.fit.window_days < 11.0
    (question,) = [one for one in asked.questions if one.kind == "two-probes"]
    assert "the long probe reads about 7 °C higher than the short probe" in question.words


def test_an_estimate_that_no_longer_fits_asks_what_happened(box):
    made = made_estimate(box)
    fit = Fit(4, 0, 6.2, "no longer fits", "from readings", True)

    def asked(fit):
        return questions_of(
            made.record, made.kept, made.found, made.hour, made.fill_high, fit, (), "metric"
        )

    (question,) = [one for one in asked(fit) if one.kind == "fit"]
    assert "off by about 6 °C" in question.words
    assert "fit" not in [one.kind for one in asked(replace(fit, words="fits"))]


def test_fill_is_known_for_the_last_week_only(box):
    made = made_estimate(box)
    seen = [one.fill_height for one in made.seen]
    assert made.fill_high(made.hour) == pytest.approx(np.percentile(seen, 95.0), abs=1e-9)
    assert made.fill_high(made.hour - 300.0) == np.inf


def test_a_probe_deeper_than_the_stack_is_asked_about(tmp_path):
    deep = reading_row(29, 30, place="85 cm below surface")
    asked = estimate(write(tmp_path / "deep", (*ROWS[:-1], deep)))
    assert "too-deep" in [one.kind for one in asked.questions]


def test_progress_rises_to_the_end(box):
    shares = []
    estimate(box, progress=shares.append)
    assert shares == sorted(shares)
    assert 0.0 <= shares[0] < 0.2
    assert len(set(shares)) > 50
    assert shares[-1] == pytest.approx(1.0)


def test_an_absence_ahead_keeps_loads_out(tmp_path):
    away = "2026-03-29 20:00+02:00,,calendar,absence,,,,starts=2026-03-30 ends=2026-04-20,\n"
    quiet = estimate(write(tmp_path / "away", (*ROWS, away)))
    assert "The days ahead assume that nothing goes in." in quiet.assumptions


def test_cold_airless_is_unknown_in_the_first_week(tmp_path, found):
    young = estimate(write(tmp_path / "young", ROWS[:2]))
    assert young.cold_airless_probability is None
    assert young.forecast[0].cold_airless_percent is None
    assert young.forecast[-1].cold_airless_percent is not None
    assert found.cold_airless_probability is not None


def test_a_bin_dug_empty_is_empty(tmp_path):
    dug = "2026-03-29 20:00+02:00,Box,dig_out,,5000,litre,,,\n"
    empty = estimate(write(tmp_path / "empty", (*ROWS, dug)))
    assert empty.layers == ()
    assert empty.fill_cm_below_rim.mid == pytest.approx(90.0)
    assert empty.next_reading is None
    assert "  nothing in the bin" in section_lines(empty)


def test_a_stocktake_starts_a_bin(tmp_path):
    rows = (
        "2026-03-20 09:00+01:00,Box,stocktake,,30,cm,,since=2026-02-18 feed=2caddy,\n",
        load_rows(24),
        reading_row(29, 30),
    )
    begun = estimate(write(tmp_path / "begun", rows))
    assert begun.fill_cm_below_rim.mid == pytest.approx(30.0, abs=12.0)
    assert max(layer.age_days for layer in begun.layers) > 20.0


# the same numbers, with and without what is kept


def test_kept_ensembles_change_nothing(box, found, tmp_path):
    cold = estimate(box, tmp_path)
    assert asdict(cold) == asdict(found)
    files = sorted(tmp_path.rglob("*.npz"))
    assert 2 <= len(files) <= MOST_FILES
    whole, less = [], []
    estimate(box, progress=whole.append)
    warm = estimate(box, tmp_path, progress=less.append)
    assert asdict(warm) == asdict(found)
    assert len(less) < 0.7 * len(whole)
    # one that is broken is passed over for the one before it
    files[-1].write_bytes(files[-1].read_bytes()[:5000])
    files[-2].write_bytes(b"no archive")
    assert asdict(estimate(box, tmp_path)) == asdict(found)


def test_what_is_read_back_is_what_was_written(box, tmp_path):
    estimate(box, tmp_path)
    made = record(box)
    hours = stations(24.0 * 28.0, SMALL)
    names = keys(made, hours, SMALL, 1)
    folder = tmp_path / bin_folder(made, SMALL)
    at = len(hours) - 1
    path = folder / f"{hours[at]:07.0f}-{names[at]}.npz"
    kept = read_kept(path, names[at], made.plan)
    assert kept is not None
    assert kept.ensemble.hour == hours[at]
    assert kept.ensemble.members == SMALL.members
    assert all(one.hour == hours[at] for one in kept.ensemble.columns)
    assert read_kept(path, "another", made.plan) is None
    assert read_kept(folder / "none.npz", names[at], made.plan) is None


def test_an_array_of_another_shape_is_not_believed(box, tmp_path):
    estimate(box, tmp_path)
    path = sorted(tmp_path.rglob("*.npz"))[-1]
    with np.load(path) as read:
        arrays = {name: read[name] for name in read.files}
    key = str(arrays["key"])
    plan = record(box).plan
    for name, wrong in (
        ("state", arrays["state"][:, :, :5]),
        ("ledger", arrays["ledger"][:3]),
        ("normals", arrays["normals"] * np.nan),
        ("state", np.zeros((2, 400, 32))),
    ):
        np.savez_compressed(path, **{**arrays, name: wrong})
        assert read_kept(path, key, plan) is None
    np.savez_compressed(path, **arrays)
    assert read_kept(path, key, plan) is not None


def test_keys_hold_until_something_before_them_changes(tmp_path):
    hours = [0.0, 168.0, 336.0, 504.0]

    def named(folder, rows, **options):
        return keys(record(write(tmp_path / folder, rows, **options)), hours, SMALL, 1)

    plain = named("plain", ROWS)
    assert named("same", ROWS) == plain
    # written after the last checkpoint
    assert named("later", (*ROWS, load_rows(29))) == plain
    # a load between the second and the third, told late
    late = named("late", (*ROWS, load_rows(12)))
    assert [a == b for a, b in zip(late, plain, strict=True)] == [True, True, False, False]
    edited = tuple(row.replace(",38,", ",39,") for row in ROWS)
    assert named("edited", edited)[:2] == plain[:2]
    assert named("edited", edited)[2] != plain[2]
    deleted = tuple(row for row in ROWS if "2026-03-20" not in row)
    assert named("deleted", deleted)[:3] == plain[:3]
    assert named("deleted", deleted)[3] != plain[3]
    # an absence told later, about a time before
    away = "2026-03-29 20:00+02:00,,calendar,absence,,,,starts=2026-03-09 ends=2026-03-10,\n"
    told = named("away", (*ROWS, away))
    assert [a == b for a, b in zip(told, plain, strict=True)] == [True, True, False, False]
    # notes change nothing that is computed, and neither does another bin
    note = "2026-03-05 20:00+01:00,Box,note,,,,,,windy\n"
    assert named("note", (*ROWS, note))[0] == plain[0]
    other = {"weather": SEASONAL.replace("10.0", "11.0")}
    assert named("warmer", ROWS, **other)[0] != plain[0]
    made = record(write(tmp_path / "plain"))
    assert keys(made, hours, replace(SMALL, members=9), 1) != plain
    assert keys(made, hours, SMALL, 2) != plain


def test_only_the_files_used_last_are_kept(tmp_path):
    for k in range(MOST_FILES + 4):
        (tmp_path / f"{k}.npz").write_bytes(b"")
        # equal times are told apart by name
    remove_oldest(tmp_path)
    assert len(list(tmp_path.glob("*.npz"))) == MOST_FILES
    remove_oldest(tmp_path / "nowhere")


@pytest.mark.parametrize("gear", [QUICK, THOROUGH, SMALL])
def test_windows_are_long_enough_and_no_longer(gear):
    for end in range(0, 9000, 37):
        last = stations(float(end), gear)[-1]
        assert end - last >= min(end, gear.lag_hours)
        assert end - last < gear.lag_hours + 168.0
    assert THOROUGH.lag_hours + 168.0 == 24.0 * 28.0
    assert QUICK.lag_hours + 168.0 == 24.0 * 17.0


def test_another_seed_tells_nearly_the_same(box, found):
    other = estimate(box, seed=2)
    assert other != found
    assert abs(other.hottest_celsius.mid - found.hottest_celsius.mid) < 12.0


def test_an_estimate_is_the_same_all_day_until_something_is_written():
    assert last_hour([3.0, 30.0], 40.0) == 30.0
    assert last_hour([3.0, 30.0], 47.9) == 30.0
    assert last_hour([3.0, 30.0], 49.0) == 48.0
    assert last_hour([3.0, 60.0], 49.0) == 48.0


# what cannot be told


@pytest.mark.parametrize(
    ("at", "message"),
    [
        ("2026-02-01", "before the first entry"),
        ("2026-03-31", "more than a day after the last entry: that is a forecast"),
        ("2026-05-01", "is still to come: that is a forecast"),
        ("soon", "is not a date"),
    ],
)
def test_other_times_are_refused_kindly(box, at, message):
    with pytest.raises(InvalidInput, match=message):
        estimate(box, at=at)


def test_today_counts_until_now(tmp_path):
    rows = (*ROWS, "2026-04-02 08:00+02:00,Box,usual,,,,,,\n")
    folder = write(tmp_path / "today", rows)
    assert estimate(folder).at == "2026-04-02T14:00+02:00"
    # noon of today by the site's clock lies before now, the evening after it
    assert estimate(folder, at="2026-04-02").at == "2026-04-02T12:00+02:00"


def test_readings_alone_are_refused(tmp_path):
    folder = write(tmp_path / "readings", [row for row in ROWS if "load" not in row])
    with pytest.raises(InvalidInput, match="Write a stock-take"):
        estimate(folder)


def test_unknown_bins_and_empty_journals_say_what_there_is(box, tmp_path):
    with pytest.raises(UnknownName, match="Box"):
        inside(box, "Cellar", now=NOW)
    with pytest.raises(InvalidInput, match="no entries"):
        estimate(write(tmp_path / "none", ()))
    with pytest.raises(SlowfireError, match="there is no folder"):
        estimate(tmp_path / "nowhere")


def test_entries_of_the_future_are_left_out_and_asked_about(tmp_path, found):
    rows = (*ROWS, reading_row(29, 60).replace("2026", "2027"))
    asked = estimate(write(tmp_path / "future", rows))
    assert asked.hottest_celsius == found.hottest_celsius
    assert [one.kind for one in asked.questions][-1] == "future"
    assert "2027-03-29" in asked.questions[-1].words


def test_a_record_of_another_clock_ends_with_its_last_entry(box, found):
    assert estimate(box, now=datetime(2020, 1, 1, tzinfo=UTC)).at == found.at


# weather from a file


def test_measured_weather_is_used_as_far_as_it_goes(tmp_path, found):
    folder = write(tmp_path / "file", weather='file"\nfile = "weather.csv')
    start = datetime(2026, 2, 28, 23, tzinfo=UTC)
    lines = ["when,temperature_celsius\n"]
    lines += [f"{start + timedelta(hours=k):%Y-%m-%d %H:%M}+00:00,-8.0\n" for k in range(24 * 33)]
    (folder / "weather.csv").write_text("".join(lines), encoding="utf-8")
    frost = estimate(folder)
    assert frost.air_celsius.mid == pytest.approx(-8.0, abs=2.5)
    assert frost.lid_celsius.mid < found.lid_celsius.mid


def test_a_typical_year_is_usual_but_not_measured(tmp_path):
    folder = write(tmp_path / "typical", weather='file"\nfile = "year.csv')
    (folder / "year.csv").write_bytes(STATION.read_bytes())
    told = estimate(folder)
    assert told.air_celsius.high - told.air_celsius.low > 2.0
    assert record(folder).plan.measured_until < 0.0
    assert told.forecast[-1].air_celsius.high - told.forecast[-1].air_celsius.low > 4.0


# the text


def test_text_fits_a_phone_and_follows_the_units(found):
    american = replace(found, units="us")
    for result, here, there in ((found, "°C", "°F"), (american, "°F", "°C")):
        lines = [heading(result), *summary_lines(result), *section_lines(result)]
        assert max(len(line) for line in lines) <= 72
        text = "\n".join([*lines, *forecast_sentences(result)])
        assert here in text
        assert there not in text
    assert any(" cm" in line for line in summary_lines(found))
    assert not any(" cm" in line for line in summary_lines(american))


def test_nothing_is_minus_nought(found):
    frost = replace(found, air_celsius=Range(-0.4, -0.3, -0.2), hottest_celsius=Range(-0.4, 0, 0.4))
    assert summary_lines(frost)[0] == "  hottest 0 °C (0 to 0), outside 0 °C"


def test_level_is_told_in_words(found):
    for mid, words in ((0.3, "filled to the rim"), (-12.0, "heaped 12 cm over"), (30.0, "30 cm b")):
        shown = summary_lines(replace(found, fill_cm_below_rim=Range(mid - 1, mid, mid + 1)))
        assert words in shown[1]


def test_drawing_shows_every_slice_once(found):
    rows = grouped(found.layers)
    assert sum(len(row) for row in rows) == len(found.layers)
    assert len(rows) <= 9
    marked = [line for line in section_lines(found) if "*" in line]
    assert len(marked) >= 2


def test_sentences_say_what_to_do(found):
    assert len(forecast_sentences(found)) == 4
    assert forecast_sentences(found)[0].startswith("Mon 30 Mar: hottest ")
    none = replace(found, next_reading=None)
    assert reading_sentences(none) == ["No reading is needed now: none would tell much more."]
    assert len(question_sentences(found)) == len(found.questions)


def test_what_was_weighed_at_the_door_is_read_and_leaves_by_its_weight(tmp_path):
    told = {}
    for words in ("", "weighed=4kg", "weighed=12kg"):
        dug = f"2026-03-30 10:00+02:00,Box,dig_out,,12,litre,base,{words},\n"
        told[words] = estimate(write(tmp_path / f"box {words}", (*ROWS, dug)))
    plain, light, heavy = told.values()
    assert light.fit.readings_used == heavy.fit.readings_used == plain.fit.readings_used + 1
    tops = [
        max(each.height_cm + each.thickness_cm for each in one.layers) for one in (light, heavy)
    ]
    assert tops[0] > tops[1] + 2.0
