"""From written entries to acts: every kind, guesses, and faults that name their entry."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest

from slowfire import records as r
from slowfire.column.positions import TUB_WATER
from slowfire.column.simulate import Column, constant_air
from slowfire.errors import InvalidInput, UnknownName
from slowfire.timeline import bin_timeline
from slowfire.timeline_vessel import changed_bin, vessel_of
from slowfire.vessel import inside_volume

BOX = r.Bin(
    "Box",
    "box",
    inside_width_cm=50,
    inside_depth_cm=50,
    inside_height_cm=96,
    wall=(r.WallLayer("foam", 60),),
    lid=(r.WallLayer("foam", 30),),
    vent_slot_length_cm=30,
    base_inlet_area_cm2=30,
)
SITE = r.Site("Yard", "UTC", (BOX, replace(BOX, name="Second")), measures={"tub": 10.0})
MORNING = datetime(2026, 3, 2, 9, tzinfo=UTC)


def entry(payload: r.Payload, hours: float = 0.0, bin_name: str = "Box") -> r.Entry:
    return r.Entry(uuid4(), bin_name, MORNING + timedelta(hours=hours), payload)


def load(
    amount: float = 1.0, unit: str = "tub", material: str = "peelings", **more: object
) -> r.Load:
    return r.Load((r.LoadItem(material, r.Amount(amount, unit), **more),))


def run(entries: list[r.Entry], until: float = 24.0) -> Column:
    line = bin_timeline(SITE, entries, "Box")
    column = Column(line.vessel, constant_air(12.0))
    for act in line.acts:
        column.run_to(max(act.hour, column.hour))
        act.apply(column)
    column.run_to(max(until, column.hour))
    return column


def test_hour_zero_is_midnight_before_the_first_entry():
    line = bin_timeline(SITE, [entry(load())], "box")
    assert line.start == datetime(2026, 3, 2, tzinfo=UTC)
    assert [act.hour for act in line.acts] == [9.0]


def test_rows_of_one_time_are_one_layer():
    column = run([entry(load()), entry(load(0.5, material="shredded paper", packing="loose"))])
    numbers = {layer.number for layer in column.section().layers}
    assert numbers == {0}


def test_own_measure_sets_the_mass():
    line = bin_timeline(SITE, [entry(load(2.0))], "Box")
    # 20 L of peelings at the table's 400 kg/m3
    assert line.acts[0].words == "load of 8.0 kg"


def test_held_back_share_stays_in_the_caddy():
    line = bin_timeline(SITE, [entry(load(2.0, held_back=50.0))], "Box")
    assert line.acts[0].words == "load of 4.0 kg"


def test_frozen_load_is_colder_and_wet_load_wetter():
    plain = run([entry(load())], 9.1).section().layers[0]
    frozen = run([entry(load(state="frozen"))], 9.1).section().layers[0]
    wet = run([entry(load(state="wet"))], 9.1).section().layers[0]
    assert frozen.temperature_centre_celsius < plain.temperature_centre_celsius - 5.0
    assert wet.moisture_content_wet_basis > plain.moisture_content_wet_basis + 0.01


@pytest.mark.parametrize(
    ("payload", "changed"),
    [
        (r.Stir(r.Length(10, "cm")), True),
        (r.Poke(), True),
        (r.Turn(), True),
        (r.Turn(r.Length(20, "cm")), True),
        (r.Vent("lid", "open"), True),
        (r.Vent("lid", width=r.Length(2, "mm")), True),
        (r.Vent("base", "shut"), True),
        (r.Cover("insulation", True), True),
        (r.Cover("roof", True), True),
        (r.Water(r.Amount(3, "litre")), True),
        (r.Warm(r.Amount(1, "litre"), r.Temperature(80, "C")), True),
        (r.DigOut(r.Amount(5, "litre")), True),
        (r.DigOut(r.Amount(2, "kg"), oversize_back=True), True),
        (r.DigOut(r.Amount(5, "litre"), weighed=r.Amount(2, "kg")), True),
        (r.Usual(), False),
        (r.Look(smell="earthy"), False),
        (r.Note("sunny"), False),
        (r.Worms(r.Amount(1, "litre"), to="heap"), False),
    ],
)
def test_acts_change_the_bin_and_looks_do_not(payload, changed):
    first = [
        entry(load(2.0)),
        entry(load(1.0, material="chips"), 0.0),
        entry(load(2.0, material="grass"), 48.0),
    ]
    plain = run(first, 120.0)
    acted = run([*first, entry(payload, 72.0)], 120.0)
    same = plain.section() == acted.section()
    assert same is not changed


def test_vent_words_have_widths():
    lines = bin_timeline(
        SITE,
        [entry(load()), entry(r.Vent("lid", "crack"), 1), entry(r.Vent("lid", "shut"), 2)],
        "Box",
    )
    assert [act.words for act in lines.acts[1:]] == ["vent 1.5 mm", "vent 0.0 mm"]


def test_dig_out_into_another_bin_is_a_load_there():
    moved = entry(r.DigOut(r.Amount(20, "litre"), to="Second"), 5.0)
    line = bin_timeline(SITE, [entry(load()), moved], "Second")
    assert line.acts[0].words == "20 L from another bin"
    assert any("half-finished" in sentence for sentence in line.assumptions)


def test_what_was_weighed_goes_by_its_weight():
    first = [entry(load(2.0)), entry(load(2.0, material="chips"), 0.0)]

    def wet_mass(dug):
        return run([*first, entry(dug, 72.0)], 72.1).ledger

    by_scales = r.DigOut(r.Amount(500, "litre"), weighed=r.Amount(3, "lb"))
    in_kilograms = r.DigOut(r.Amount(3 * 0.45359237, "kg"))
    assert wet_mass(by_scales) == pytest.approx(wet_mass(in_kilograms))


def test_a_volume_is_no_weight():
    dug = r.DigOut(r.Amount(5, "litre"), weighed=r.Amount(3, "litre"))
    with pytest.raises(InvalidInput, match="allowed is a weight, such as 12kg"):
        bin_timeline(SITE, [entry(load()), entry(dug, 24.0)], "Box")


def test_stocktake_starts_a_running_bin():
    line = bin_timeline(
        SITE,
        [
            entry(r.Stocktake(r.Length(40, "cm"), since=date(2025, 9, 1), feed=r.Amount(2, "tub"))),
            entry(load(), 24.0),
        ],
        "Box",
    )
    assert line.stocktake is not None
    assert line.stocktake.level_below_rim == pytest.approx(0.4)
    assert line.stocktake.days == 182.0
    assert line.stocktake.habit.load[0].litres == pytest.approx(10.0)


def test_a_bare_stocktake_says_what_it_assumes():
    line = bin_timeline(SITE, [entry(r.Stocktake(squeeze="drops"))], "Box")
    words = " ".join(line.assumptions)
    for part in ("half a year", "Half full", "a week"):
        assert part in words


def test_silence_is_not_nothing_fed():
    loads = [entry(load(), 84.0 * k) for k in range(5)]
    late = entry(load(), 84.0 * 4 + 24.0 * 30)
    line = bin_timeline(SITE, [*loads, late], "Box")
    assumed = [act for act in line.acts if act.words == "usual load, assumed"]
    assert len(assumed) == 8
    assert any("usual loads are assumed" in sentence for sentence in line.assumptions)


def test_a_written_absence_is_silence_without_feeding():
    loads = [entry(load(), 84.0 * k) for k in range(5)]
    last = MORNING + timedelta(hours=84.0 * 4)
    late = entry(load(), 84.0 * 4 + 24.0 * 30)
    away = entry(
        r.Calendar(
            "absence",
            starts=last.date(),
            ends=(last + timedelta(days=30)).date(),
        )
    )
    line = bin_timeline(SITE, [*loads, late, away], "Box")
    assert not [act for act in line.acts if "assumed" in act.words]


def test_a_changed_measure_counts_from_its_date():
    line = bin_timeline(
        SITE,
        [
            entry(load()),
            r.Entry(
                uuid4(),
                "",
                MORNING + timedelta(hours=1),
                r.Setting("measure", "tub", "litres", "20"),
            ),
            entry(load(), 2.0),
        ],
        "Box",
    )
    assert [act.words for act in line.acts] == ["load of 4.0 kg", "load of 8.0 kg"]


def test_faults_name_bin_kind_and_time():
    with pytest.raises(UnknownName, match=r"Box, load of 2026-03-02 09:00: .*moonrock"):
        bin_timeline(SITE, [entry(load(material="moonrock"))], "Box")
    with pytest.raises(InvalidInput, match=r"load of 2026-03-02 09:00: .*loose or dense"):
        bin_timeline(SITE, [entry(load(material="shredded paper"))], "Box")
    with pytest.raises(UnknownName, match="Box, Second"):
        bin_timeline(SITE, [entry(load())], "Cellar")
    with pytest.raises(InvalidInput, match="no entries"):
        bin_timeline(SITE, [entry(load())], "Second")


def test_vessel_of_a_described_bin():
    vessel, guesses = vessel_of(BOX)
    assert inside_volume(vessel) == pytest.approx(0.24)
    assert guesses == ()
    assert vessel.wall_resistance == pytest.approx(0.06 / 0.036)


def test_a_bin_told_in_few_words_is_completed_and_says_so():
    vessel, guesses = vessel_of(
        r.Bin("Plain", "cylinder", inside_diameter_cm=60, inside_height_cm=80)
    )
    assert len(guesses) == 4
    assert vessel.wall_resistance < 0.05


def test_an_open_heap_keeps_its_plan_area():
    vessel, _ = vessel_of(
        r.Bin("Heap", "heap", inside_width_cm=100, inside_depth_cm=100, inside_height_cm=90)
    )
    assert vessel.base_area == pytest.approx(1.0)
    assert vessel.lidded == 0.0


def test_a_bin_can_be_changed_from_a_date_on():
    changed = changed_bin(BOX, "wall", "wool 20 + timber 18")
    assert changed.wall == (r.WallLayer("wool", 20), r.WallLayer("timber", 18))
    assert changed_bin(BOX, "roofed", "yes").roofed is True
    assert changed_bin(BOX, "vent_slot_length_cm", "45").vent_slot_length_cm == 45.0
    with pytest.raises(InvalidInput, match="write material and thickness"):
        changed_bin(BOX, "wall", "thick")
    with pytest.raises(InvalidInput, match="allowed is yes or no"):
        changed_bin(BOX, "roofed", "maybe")
    with pytest.raises(InvalidInput, match="allowed is a number"):
        changed_bin(BOX, "inside_height_cm", "tall")


def test_hours_count_through_the_change_of_clocks():
    site = replace(SITE, timezone="Europe/Vienna")
    before = r.Entry(uuid4(), "Box", datetime(2026, 3, 28, 11, tzinfo=UTC), load())
    after = r.Entry(uuid4(), "Box", datetime(2026, 3, 29, 10, tzinfo=UTC), load())
    line = bin_timeline(site, [before, after], "Box")
    assert [act.hour for act in line.acts] == [12.0, 35.0]
    assert line.start + timedelta(hours=line.last_hour) == after.when


def test_who_draws_liquid_empties_the_tub_whatever_the_model_holds():
    """What is written is a reading; a surplus of the model must not stay for ever."""
    drain = entry(r.Drain(r.Amount(1, "litre")), 72.0)
    timeline = bin_timeline(SITE, [entry(load(2.0)), drain], "Box")
    (act,) = (one for one in timeline.acts if "drawn" in one.words)
    column = Column(timeline.vessel, constant_air(12.0))
    column.bin_state[TUB_WATER] = 30.0
    act.apply(column)
    assert column.bin_state[TUB_WATER] == 0.0
