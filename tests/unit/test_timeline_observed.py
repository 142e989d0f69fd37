"""From written readings and looks to observations: every kind, thermometers, faults."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from slowfire import records as r
from slowfire.column.positions import CENTRE_MINUS_EDGE, TEMPERATURE
from slowfire.column.simulate import Column, constant_air
from slowfire.errors import InvalidInput, UnknownName
from slowfire.estimate.glimpse import glimpse
from slowfire.estimate.observe import Observed, lid_closed, liquid_drained, pushed_in
from slowfire.timeline import bin_timeline
from slowfire.timeline_observed import bin_implied, bin_observed, bin_typed

BOX = r.Bin(
    "Box",
    "box",
    inside_width_cm=50,
    inside_depth_cm=50,
    inside_height_cm=96,
    wall=(r.WallLayer("foam", 60),),
    lid=(r.WallLayer("foam", 30),),
    tub_litres=8,
)
THERMOMETERS = (
    r.Thermometer("dial", "lid"),
    r.Thermometer("Long probe", "probe", depth_cm=30, bias_kelvin=-0.5),
    r.Thermometer("fork", "probe"),
    r.Thermometer("gun", "infrared"),
    r.Thermometer("yard", "air"),
)
SITE = r.Site(
    "Yard",
    "Europe/Vienna",
    (BOX, replace(BOX, name="Second", tub_litres=0)),
    THERMOMETERS,
    measures={"blue jug": 2.0},
)
MORNING = datetime(2026, 3, 2, 9, tzinfo=UTC)


def entry(payload: r.Payload, hours: float = 0.0, bin_name: str = "Box") -> r.Entry:
    return r.Entry(uuid4(), bin_name, MORNING + timedelta(hours=hours), payload)


FIRST = entry(r.Load((r.LoadItem("peelings", r.Amount(180, "litre")),)))


def observed(*entries: r.Entry, bin_name: str = "Box") -> tuple[Observed, ...]:
    every = [FIRST, *entries] if bin_name == "Box" else list(entries)
    return bin_observed(SITE, bin_name, bin_timeline(SITE, every, bin_name), every)


def reading(thermometer: str, value: float, unit: str = "C", **more: object) -> r.Reading:
    return r.Reading(thermometer, r.Temperature(value, unit), **more)


def below(value: float, origin: str = "surface") -> r.Position:
    return r.Position(r.Length(value, "cm"), origin)


def warm_bin(celsius: float = 50.0, across: float = 10.0) -> Column:
    """The same bin with one temperature throughout, so that what is read depends on the kind."""
    line = bin_timeline(SITE, [FIRST], "Box")
    column = Column(line.vessel, constant_air(10.0))
    line.acts[0].apply(column)
    column.state[: column.layers, TEMPERATURE] = celsius
    column.state[: column.layers, CENTRE_MINUS_EDGE] = across
    return column


@pytest.mark.parametrize(
    ("payload", "kinds"),
    [
        (reading("dial", 20), ["lid"]),
        (reading("lid", 20), ["lid"]),
        (reading("Long probe", 50), ["probe"]),
        (reading("probe", 50), ["probe"]),
        (reading("fork", 50, spot="lid"), ["lid"]),
        (reading("gun", 30), ["infrared"]),
        (reading("yard", 12), ["air"]),
        (r.Look(smell="sour"), ["smell"]),
        (r.Look(smell="none", squeeze="damp", steam=False), ["smell", "squeeze", "steam"]),
        (r.Look(level=r.Length(30, "cm")), ["level"]),
        (r.Look(worms="many", worms_at="base"), ["worms"]),
        (r.Look(worms_at="edges"), ["worms"]),
        (r.Look(worms="none"), []),
        (r.Look(worms="none", worms_at="base"), []),
        (r.Look(larvae="few"), ["larvae"]),
        (r.Look(larvae="none", flies="many", rodents="none", plastic="few"), []),
        (r.Usual(), ["smell"]),
        (r.Drain(r.Amount(1, "blue jug")), ["liquid"]),
        (r.DigOut(r.Amount(10, "litre")), []),
        (r.DigOut(r.Amount(10, "kg")), []),
        (r.DigOut(r.Amount(10, "litre"), weighed=r.Amount(6, "kg")), ["weight"]),
    ],
)
def test_each_entry_becomes_what_it_tells(payload, kinds):
    found = observed(entry(payload, 26.0))
    assert [one.kind for one in found] == kinds
    # local midnight before the first entry, an hour east of Greenwich
    assert all(one.hour == 36.0 for one in found)
    assert all(one.source == 0 for one in found)


def test_celsius_and_known_bias():
    (probe,) = observed(entry(reading("long probe", 131, "F"), 24.0))
    assert probe.value == pytest.approx(55.5)
    assert probe.words == "Long probe 131 °F, 30 cm below the surface"
    assert probe.group == "Long probe"


def test_position_comes_before_the_usual_depth_and_the_spot_counts():
    entries = [
        entry(reading("long probe", 50), 24.0),
        entry(reading("long probe", 50, position=below(2.0)), 25.0),
        entry(reading("long probe", 50, position=below(20.0, "base"), spot="edge"), 26.0),
        entry(reading("long probe", 50, spot="door"), 27.0),
    ]
    usual, shallow, edge, door = observed(*entries)
    seen = glimpse(warm_bin())
    # two centimetres of a metal stem read much of the air
    assert shallow.predict(seen, {}) < usual.predict(seen, {}) - 5.0
    assert edge.predict(seen, {}) == pytest.approx(50.0 + (0.5 - 0.85**2) * 10.0)
    assert edge.words.endswith("20 cm above the base")
    assert "door" in door.words


def test_a_depth_not_said_is_taken_wide_and_said():
    (fork,) = observed(entry(reading("fork", 50), 24.0))
    (probe,) = observed(entry(reading("long probe", 50), 24.0))
    column = warm_bin()
    column.state[: column.layers, TEMPERATURE] = [20.0 + 2.0 * k for k in range(column.layers)]
    seen = glimpse(column)
    assert fork.blur(seen) > 2.0 * probe.blur(seen)
    assert "not said" in fork.words


def test_an_infrared_reading_at_a_height_is_of_the_wall():
    surface, wall, door = observed(
        entry(reading("gun", 25), 24.0),
        entry(reading("gun", 14, position=below(40.0, "base")), 25.0),
        entry(reading("gun", 14, spot="door"), 26.0),
    )
    seen = glimpse(warm_bin())
    assert surface.predict(seen, {}) > wall.predict(seen, {}) + 5.0
    assert wall.group == door.group != surface.group


def test_the_scale_is_told_from_what_was_typed():
    def spread(*values: float, name: str = "long probe", unit: str = "C") -> float:
        entries = [entry(reading(name, v, unit), 24.0 + k) for k, v in enumerate(values)]
        return observed(*entries)[0].error_spread

    tenths, halves, whole = spread(50.3, 51.0), spread(50.5, 51.0), spread(50.0, 51.0)
    fives = spread(50.0, 45.0, 55.0, 50.0)
    assert tenths < halves < whole < fives
    assert spread(50.0, 45.0) == whole
    assert spread(122.0, 121.0, unit="F") < whole
    assert spread(20.0, name="dial") > spread(20.5, name="dial")


def test_a_thermometer_set_anew_counts_from_its_day():
    def change(key: str, to: str, hours: float) -> r.Entry:
        return entry(r.Setting("thermometer", "long probe", key, to), hours)

    found = observed(
        entry(reading("long probe", 50), 24.0),
        change("bias_kelvin", "2 K", 30.0),
        change("depth_cm", "60", 30.0),
        entry(reading("long probe", 50), 48.0),
    )
    assert [one.value for one in found] == [50.5, 48.0]
    assert "60 cm" in found[1].words
    with pytest.raises(InvalidInput, match="setting of 2026-03-03"):
        observed(entry(reading("long probe", 50), 24.0), change("depth_cm", "deep", 26.0))


def test_ice_water_tells_the_bias_of_a_thermometer_in_use():
    test = r.Test("ice-water", thermometer="long probe", shown=r.Temperature(1.0, "C"))
    found = observed(entry(reading("long probe", 50), 24.0), entry(test, 30.0))
    assert [one.kind for one in found] == ["probe", "ice-water"]
    assert found[1].value == 1.5
    assert found[1].source == -1
    assert {one.name for one in found[1].unknowns} == {"bias Long probe"}
    # one never used at this bin tells nothing of it
    assert observed(entry(test, 30.0)) == ()


def test_litres_drawn_are_in_the_measures_that_held_then():
    found = observed(
        entry(r.Drain(r.Amount(1, "blue jug")), 24.0),
        entry(r.Setting("measure", "blue jug", "litres", "3"), 30.0),
        entry(r.Drain(r.Amount(1, "blue jug", 2)), 48.0),
        entry(r.Drain(r.Amount(0, "litre")), 72.0),
    )
    expected = [liquid_drained(0.0, litres).value for litres in (2.0, 4.5, 0.0)]
    assert [one.value for one in found] == pytest.approx(expected)
    assert found[1].error_spread > found[0].error_spread
    assert found[2].words == "tub empty"


def test_what_a_tub_holds_limits_what_a_member_gives():
    column = warm_bin()
    column.bin_state[12] = 50.0
    seen = glimpse(column)
    (full,) = observed(entry(r.Drain(r.Amount(8, "litre")), 24.0))
    assert full.predict(seen, {}) == pytest.approx(full.value)
    (more,) = observed(entry(r.Drain(r.Amount(20, "litre")), 24.0))
    assert more.predict(seen, {}) == pytest.approx(more.value)
    load = entry(FIRST.payload, 0.0, "Second")
    (endless,) = observed(
        load, entry(r.Drain(r.Amount(8, "litre")), 24.0, "Second"), bin_name="Second"
    )
    assert endless.predict(seen, {}) > endless.value


def test_a_stock_take_tells_level_feel_and_worms():
    start = entry(r.Stocktake(r.Length(40, "cm"), squeeze="drops", worms="few"))
    every = [start, entry(reading("dial", 20), 24.0)]
    found = bin_observed(SITE, "Box", bin_timeline(SITE, every, "Box"), every)
    assert [one.kind for one in found] == ["level", "squeeze", "worms", "lid"]
    assert [one.source for one in found] == [-1, -1, -1, 0]
    bare = entry(r.Stocktake(worms="none"))
    assert bin_observed(SITE, "Box", bin_timeline(SITE, [bare], "Box"), [bare]) == ()


def test_only_the_bin_asked_for_is_seen():
    other = entry(reading("dial", 30), 24.0, "Second")
    mine = entry(reading("dial", 20), 24.0)
    found = observed(mine, other)
    assert [one.value for one in found] == [20.0]


def test_readings_as_typed_go_with_their_observations():
    every = [
        FIRST,
        entry(r.Look(smell="none"), 20.0),
        entry(reading("long probe", 131, "F", position=below(20.0)), 24.0),
        entry(reading("dial", 21), 15.5),
    ]
    line = bin_timeline(SITE, every, "Box")
    typed = bin_typed(SITE, "Box", line, every)
    found = bin_observed(SITE, "Box", line, every)
    assert [one.thermometer for one in typed] == ["dial", "Long probe"]
    by_source = {one.source: one for one in found}
    for one in typed:
        assert by_source[one.source].hour == one.hour
        assert by_source[one.source].group == one.thermometer
    probe = typed[1]
    assert (probe.value, probe.unit, probe.depth, probe.height) == (131.0, "F", 0.2, None)
    assert typed[0].depth is None
    # half past midnight in Vienna is the next day there
    assert [one.day for one in typed] == ["3 March", "3 March"]


def test_faults_name_their_time():
    with pytest.raises(UnknownName, match="Box, reading of 2026-03-03 10:00"):
        observed(entry(reading("no such thing", 20), 24.0))
    # the timeline itself reads the measure first, so it is given a site that knows it
    line = bin_timeline(SITE, [FIRST, entry(r.Drain(r.Amount(1, "blue jug")), 24.0)], "Box")
    with pytest.raises(UnknownName, match="Box, drain of 2026-03-03 10:00"):
        bin_observed(replace(SITE, measures={}), "Box", line, [])
    with pytest.raises(UnknownName, match="Third"):
        bin_observed(SITE, "Third", line)


def implied(*entries: r.Entry) -> list[tuple[str, float]]:
    every = [FIRST, *entries]
    found = bin_implied(SITE, "Box", bin_timeline(SITE, every, "Box"), every)
    return sorted((one.kind, round(one.value, 6)) for one in found)


def test_a_probe_tells_how_high_the_stack_is_and_the_lid_how_low():
    probe = entry(reading("long probe", 50, position=below(35)), 26.0)
    dial = entry(reading("dial", 15), 26.0)
    assert implied(probe, dial) == [("reach", 0.35), ("room", 0.0)]


def test_a_depth_not_said_or_from_the_base_tells_nothing_of_the_surface():
    assert implied(entry(reading("fork", 50), 26.0)) == [("room", 0.0)]
    from_base = entry(reading("long probe", 50, position=below(20, "base")), 26.0)
    assert implied(from_base) == [("room", 0.0)]


def test_a_stack_too_low_for_the_probe_is_told_and_one_high_enough_is_not():
    seen = glimpse(warm_bin())
    assert pushed_in(36.0, 0.2).predict(seen, {}) == 0.2
    assert pushed_in(36.0, 3.0).predict(seen, {}) == pytest.approx(seen.fill_height)


def test_a_stack_that_lifts_the_lid_is_told():
    seen = glimpse(warm_bin())
    assert lid_closed(36.0, 5.0).predict(seen, {}) == 0.0
    assert lid_closed(36.0, 0.1).predict(seen, {}) == pytest.approx(seen.fill_height - 0.1)
