"""Hidden bins: what is written fits what is so, and differs from it by as much as is said."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from benchmarks import hidden_bins, hidden_record, hidden_truth
from slowfire import records as r
from slowfire.biology.kinetics import temperature_factor_haug
from slowfire.column.parameters import default_parameters
from slowfire.errors import InvalidInput
from slowfire.journal import Journal, read_journal, write_journal
from slowfire.timeline import bin_timeline
from slowfire.vessel import box


@pytest.fixture(scope="module")
def hidden() -> hidden_bins.HiddenBin:
    """An hourly table, an offset probe, a wet bin over the change of clocks."""
    return hidden_bins.hidden_bin(19)


def readings(hidden, tier, name):
    found = []
    for entry in hidden.records[tier]:
        if isinstance(entry.payload, r.Reading) and entry.payload.thermometer == name:
            hour = (entry.when - hidden.start).total_seconds() / 3600.0
            found.append((hour, entry.payload))
    return found


def test_the_same_seed_gives_the_same_bin(hidden):
    again = hidden_bins.hidden_bin(19)
    assert again.records == hidden.records
    assert np.array_equal(again.truth.hottest, hidden.truth.hottest)
    assert again.parameters == hidden.parameters


def test_a_seed_below_zero_is_refused():
    with pytest.raises(InvalidInput, match="0 or more"):
        hidden_bins.hidden_bin(-1)


def test_places_walls_laws_and_weather_go_round():
    seen = {(seed % 3, seed // 3 % 3) for seed in range(9)}
    assert len(seen) == 9
    assert {one.town for one in hidden_bins.PLACES} == {"Tampere", "Bristol", "Valencia, Spain"}


@pytest.mark.parametrize("tier", hidden_bins.TIERS)
def test_record_is_a_journal_that_reads_back_and_starts_where_it_says(hidden, tier, tmp_path):
    journal = Journal(hidden.site, hidden.records[tier])
    write_journal(journal, tmp_path)
    assert list(read_journal(tmp_path).effective) == list(journal.effective)
    timeline = bin_timeline(hidden.site, hidden.records[tier], hidden_bins.BIN)
    assert timeline.start - hidden.start == timedelta(hours=hidden.lead_hours(tier))
    assert (timeline.stocktake is not None) == (tier == "stocktake")


def test_tiers_hold_what_they_should(hidden):
    kinds = {tier: {entry.kind for entry in entries} for tier, entries in hidden.records.items()}
    assert "reading" not in kinds["looks_only"] | kinds["stocktake"]
    assert "look" in kinds["looks_only"]
    named = {
        tier: {
            entry.payload.thermometer
            for entry in hidden.records[tier]
            if isinstance(entry.payload, r.Reading)
        }
        for tier in ("two_depths", "one_depth", "lid_only")
    }
    assert len(named["two_depths"]) == 3
    assert len(named["one_depth"]) == len(named["lid_only"]) == 1
    first = min(entry.when for entry in hidden.records["stocktake"])
    assert (first - hidden.start).total_seconds() / 3600.0 == hidden.season[0] + 8.0


def test_nothing_measured_is_written_outside_the_season(hidden):
    for entry in hidden.records["two_depths"]:
        hour = (entry.when - hidden.start).total_seconds() / 3600.0
        assert hour <= hidden.season[1]
        if entry.kind == "reading":
            assert hour > hidden.season[0]


def test_some_loads_were_never_written(hidden):
    written = sum(entry.kind == "load" for entry in hidden.records["two_depths"])
    assert 0 < len(hidden.truth.load_hours) - written < 0.3 * len(hidden.truth.load_hours)


def test_truth_agrees_with_itself(hidden):
    truth = hidden.truth
    later = truth.hours > 24.0
    assert np.allclose(truth.hottest[later], np.nanmax(truth.centres[later], axis=1))
    hour = int(hidden.season[0]) + 100
    known = np.isfinite(truth.middles[hour])
    assert (np.diff(truth.middles[hour, known]) > 0.0).all()
    middle = float(truth.middles[hour, known][3])
    assert truth.temperature_at_height(hour, middle) == pytest.approx(truth.centres[hour, 3])
    assert np.isnan(truth.temperature_at_height(hour, float(truth.fill_height[hour]) + 0.01))
    assert np.isnan(truth.moisture_at_depth(hour, 3.0))


def a_truth(hours: int) -> hidden_truth.Truth:
    """A made-up bin, 0.5 m full, 20 degC at the floor and 60 K a metre warmer upwards."""
    series = {
        name: np.full(hours + 1, value)
        for name, value in {
            "hottest": 50.0, "hottest_height": 0.5, "lid": 25.0, "air": 10.0, "irradiance": 0.0,
            "fill_height": 0.5, "tub_litres": 0.0, "lowest_oxygen": 0.1,
        }.items()
    }  # fmt: skip
    middles = np.linspace(0.0, 0.5, 11)
    rows = np.ones((hours + 1, 1))
    return hidden_truth.Truth(
        hours=np.arange(hours + 1.0),
        **series,
        middles=rows * middles,
        centres=rows * (20.0 + 60.0 * middles),
        moistures=rows * 0.7,
        load_hours=(),
        dug=(),
        drawn=(),
        surfaces={},
    )


def known_of(hidden, days: int) -> hidden_record.Written:
    return hidden_record.Written(
        bin=hidden_bins.BIN,
        site=hidden.site,
        first=hidden.start.date(),
        start=hidden.start,
        season=(0.0, 24.0 * days),
        planned=(),
        vent="crack",
        stirs=False,
        week=r.Amount(1.0, "caddy"),
        mostly=(),
    )


def read_made_up(hidden, own: hidden_record.Thermometers, days: int = 400) -> list[np.ndarray]:
    """Dial, short and long probe in the made-up bin, hours and values."""
    known = known_of(hidden, days)
    rows = hidden_record._readings(
        hidden_record._Pen(0, known), known, a_truth(24 * days), own, np.random.default_rng(1)
    )
    return [
        np.array(
            [
                (
                    (entry.when - hidden.start).total_seconds() / 3600.0,
                    entry.payload.temperature.temperature_celsius,
                )
                for entry in row
            ]
        )
        for row in rows
    ]


PLAIN = hidden_record.Thermometers(
    (0.1, 0.3), (2.0, 0.0, -1.5), (0.1, 0.1, 0.1), 0.0, "none", 0, 100.0
)


def test_thermometers_read_the_depth_they_sit_at_and_their_bias(hidden):
    lid, upper, lower = read_made_up(hidden, PLAIN)
    assert np.mean(lid[:, 1]) == pytest.approx(25.0 + 2.0, abs=0.2)
    # 0.1 and 0.3 m below 0.5 m, 60 K a metre
    assert np.mean(upper[:, 1]) == pytest.approx(44.0, abs=0.6)
    assert np.mean(lower[:, 1]) == pytest.approx(32.0 - 1.5, abs=0.6)
    # 2.5 cm of depth and 0.5 K of noise
    assert np.std(lower[:, 1]) == pytest.approx(np.hypot(60.0 * 0.025, 0.5), rel=0.2)


def test_a_broken_probe_jumps_or_sticks(hidden):
    for fault in ("offset", "stuck"):
        _, upper, lower = read_made_up(hidden, replace(PLAIN, fault=fault, faulty=1))
        late = lower[:, 0] >= 2400.0
        if fault == "offset":
            assert np.mean(lower[late, 1]) == pytest.approx(30.5 + 15.0, abs=0.8)
        else:
            assert np.ptp(lower[late, 1]) == 0.0
        assert np.mean(lower[~late, 1]) == pytest.approx(30.5, abs=1.0)
        assert np.std(upper[:, 1]) > 0.5


def test_a_probe_longer_than_the_stack_is_not_read(hidden):
    _, upper, lower = read_made_up(hidden, replace(PLAIN, depths=(0.1, 0.6)), 60)
    assert lower.size == 0
    assert upper.size > 0


def test_readings_of_a_hidden_bin_are_near_its_truth(hidden):
    truth = hidden.truth
    values = readings(hidden, "one_depth", hidden_record.UPPER)
    assert len(values) > 20
    errors = []
    for hour, reading in values:
        depth = reading.position.distance.metres
        height = float(truth.fill_height[int(hour)]) - depth
        true = truth.temperature_at_height(int(hour), height)
        errors.append(reading.temperature.temperature_celsius - true)
    assert abs(np.median(errors)) < 4.0
    dial = np.array(hidden.lid_readings)
    assert abs(np.median(dial[:, 1] - truth.lid[dial[:, 0].astype(int)])) < 8.0


def test_the_table_of_weather_is_off_by_a_kelvin(hidden):
    table = hidden.weather_table
    assert table is not None
    true = hidden.truth.air
    error = table.temperature_celsius[: true.size] - true
    assert np.sqrt(np.mean(error**2)) == pytest.approx(1.0, abs=0.15)


def test_constants_are_spread_as_said():
    drawn = [hidden_truth.hidden_parameters(np.random.default_rng(k), False) for k in range(400)]
    middle = default_parameters()
    rates = np.log([one.rate_rapid / middle.rate_rapid for one in drawn])
    assert np.mean(rates) == pytest.approx(0.0, abs=0.05)
    assert np.std(rates) == pytest.approx(0.28, abs=0.04)
    optimum = np.array([one.thermophile_optimum for one in drawn]) - middle.thermophile_optimum
    assert np.std(optimum) == pytest.approx(np.hypot(1.5, 0.5), abs=0.2)
    assert all(one.haug_weight == 0.0 for one in drawn)


def test_the_handbook_law_has_the_rates_of_the_other_where_they_meet():
    middle = default_parameters()
    own = hidden_truth.hidden_parameters(np.random.default_rng(3), False)
    other = hidden_truth.hidden_parameters(np.random.default_rng(3), True)
    low, high = hidden_truth.HANDBOOK_WEIGHT
    assert low <= other.haug_weight <= high
    meet = hidden_truth.SAME_RATE_CELSIUS
    factor = hidden_truth._own_factor(meet, middle)
    blend = factor + other.haug_weight * (float(temperature_factor_haug(meet)) - factor)
    assert other.rate_rapid * blend == pytest.approx(own.rate_rapid * factor)


def test_walls_and_joints_lose_one_to_two_and_a_half_times_as_much():
    sound = box(0.5, 0.5, 0.9)
    ratios = []
    for k in range(300):
        leaky = hidden_truth.leaky(sound, np.random.default_rng(k), False)
        ratios.append(
            (
                sound.wall_resistance / leaky.wall_resistance,
                leaky.lid_leak_area / sound.lid_leak_area,
            )
        )
        assert leaky.side_open == 0.0
    assert 1.0 <= np.min(ratios) < 1.1
    assert 2.3 < np.max(ratios) <= 2.5


def test_true_loads_weigh_thirty_per_cent_more_or_less(hidden):
    library = hidden_bins.load_library()
    food = library.find(hidden_bins.FOOD)
    amount = hidden_bins.Amount(1.0, "caddy")
    measures = hidden_bins.default_measures().with_own(hidden.site.measures)
    written = measures.to_portion(food, amount).mass
    air = hidden_bins.Air(np.full((9000, 6), 5.0))
    ratios = []
    for k in range(60):
        keeper, _ = hidden_bins.draw_keeper(np.random.default_rng(k), 240.0, 60.0)
        item = r.LoadItem(hidden_bins.FOOD, r.Amount(1.0, "caddy"))
        plan = [
            hidden_bins.Planned(hidden.start + timedelta(days=day), (item,), True)
            for day in range(20)
        ]
        loads = hidden_bins.true_loads(
            np.random.default_rng(1000 + k),
            plan,
            keeper,
            hidden.site,
            lambda when: (when - hidden.start).total_seconds() / 3600.0,
            air,
        )
        ratios += [np.log(one.portions[0].mass / written) for one in loads]
    assert np.std(ratios) == pytest.approx(0.30, abs=0.04)


def test_looks_name_what_is_there():
    draws = np.random.default_rng(2)
    plain = hidden_truth.Surface(0.6, 7.8, 0.001, 0.15, 18.0, 0.15)

    def most(surface, kind):
        words = [kind(surface, draws) for _ in range(400)]
        return max(set(words), key=words.count)

    assert most(replace(plain, ph=4.5), hidden_record._smell) == "sour"
    assert most(replace(plain, ph=8.5, ammonia=0.01), hidden_record._smell) == "ammonia"
    assert most(replace(plain, oxygen=0.0, moisture=0.85), hidden_record._smell) != "earthy"
    assert most(plain, hidden_record._smell) == "earthy"
    assert most(plain, hidden_record._worms) == "many"
    assert most(replace(plain, base_celsius=45.0), hidden_record._worms) == "none"
    felt = [
        [hidden_record._squeeze(water, draws) for _ in range(40)]
        for water in (0.40, 0.58, 0.70, 0.85)
    ]
    assert [max(set(one), key=one.count) for one in felt] == ["dry", "damp", "drops", "trickle"]
