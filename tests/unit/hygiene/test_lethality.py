import numpy as np
import pytest

from slowfire.errors import InvalidInput, UnknownName
from slowfire.hygiene.index import time_temperature_index, time_temperature_index_history
from slowfire.hygiene.lethality import (
    find_organism,
    log_reduction,
    log_reduction_history,
    organisms,
    ramp_hours,
    read_organisms,
)
from slowfire.hygiene.packaged import packaged_text
from slowfire.hygiene.record import TemperatureRecord
from slowfire.hygiene.seeds import disease_answer, seed_answer, weed_seeds


def held(celsius, hours=10.0, every=1.0):
    times = np.arange(0.0, hours + every / 2, every)
    return TemperatureRecord("p", "centre", 0.4, times, np.full(times.size, float(celsius)))


def history_at(celsius, hours):
    found = np.zeros((2, 41, 3))
    found[0, : int(celsius) - 39, 0] = hours
    return found


class TestIndex:
    def test_nothing_below_50(self):
        assert time_temperature_index(held(49.9)).value == 0.0

    def test_dry_time_does_not_count(self):
        assert time_temperature_index(held(60), moisture_content_wet_basis=0.39).value == 0.0
        assert time_temperature_index(held(60), moisture_content_wet_basis=0.40).value > 0.7

    def test_gap_does_not_count(self):
        assert time_temperature_index(held(60, 60.0, 30.0)).value == 0.0

    def test_beside_never_instead(self):
        assert "never in its place" in time_temperature_index(held(70, 48.0)).words

    def test_history_and_record_agree(self):
        by_history = time_temperature_index_history(history_at(62, 10.0), np.array(0.0), edge=False)
        assert float(by_history) == pytest.approx(time_temperature_index(held(62)).value)

    def test_dry_hours_come_off_the_hottest(self):
        history = history_at(55, 10.0)
        history[0, : 70 - 39, 0] += 1.0
        wet = time_temperature_index_history(history, np.array(0.0), edge=False)
        dry = time_temperature_index_history(history, np.array(1.0), edge=False)
        assert float(wet) > 2.0
        assert float(dry) == pytest.approx(10.0 / 63.07, rel=1e-3)

    def test_no_history_no_index(self):
        found = time_temperature_index_history(np.zeros((2, 41, 3)), np.array(0.0), edge=True)
        assert float(found) == 0.0


class TestReduction:
    def test_capped_at_six(self):
        told = log_reduction(find_organism("salmonella"), held(65, 100.0))
        assert told.decades == 6.0
        assert "at least 6.0" in told.words

    def test_home_bins_take_the_hardened_germ(self):
        assert find_organism("salmonella").state == "hardened"
        assert find_organism("salmonella", 0.9).state == "fresh"
        assert find_organism("salmonella", 1.1).state == "hardened"

    @pytest.mark.parametrize("germ", ["ecoli_o157", "salmonella", "listeria"])
    def test_hardened_dies_more_slowly(self, germ):
        celsius = np.array([50.0, 53.0, 55.0, 58.0, 60.0, 65.0])
        fresh = organisms()[germ, "fresh"].decimal_time(celsius)
        assert (organisms()[germ, "hardened"].decimal_time(celsius) > fresh).all()

    def test_never_faster_than_the_hottest_measured(self):
        germ = find_organism("ecoli_o157")
        assert germ.decimal_time(np.array([75.0]))[0] == pytest.approx(0.090)
        assert np.isinf(germ.decimal_time(np.array([49.9]))[0])

    def test_colder_than_measured_by_z_or_not_at_all(self):
        """D of S. Senftenberg at 50 degC by z = 5 K; poliovirus has no z."""
        assert find_organism("salmonella_775w").decimal_time(np.array([50.0]))[0] == pytest.approx(
            13.33, abs=0.01
        )
        assert np.isinf(find_organism("poliovirus_1").decimal_time(np.array([54.0]))[0])

    def test_dryness_and_history(self):
        germ = find_organism("ecoli_o157")
        assert log_reduction(germ, held(55, 2.0), moisture_content_wet_basis=0.3).decades == 0.0
        found = log_reduction_history(germ, history_at(55, 2.0), np.array(0.0), edge=False)
        assert float(found) == pytest.approx(log_reduction(germ, held(55, 2.0)).decades)
        assert float(log_reduction_history(germ, history_at(55, 2), np.array(2.0), edge=False)) == 0

    def test_no_decimal_time_no_sum(self):
        with pytest.raises(InvalidInput, match="rule of heat"):
            log_reduction(find_organism("ascaris"), held(60))

    def test_unknown_germ(self):
        with pytest.raises(UnknownName, match="salmonella"):
            find_organism("plague")

    def test_ramp(self):
        record = TemperatureRecord("p", "centre", 0.4, np.arange(4.0), np.array([38, 40, 45, 51.0]))
        assert ramp_hours(record) == 2.0
        assert ramp_hours(held(60)) is None
        assert ramp_hours(held(45)) is None

    def test_spoilt_list(self):
        text = packaged_text("organisms.csv").replace("hardened,1.48", "hardened,0.48", 1)
        with pytest.raises(InvalidInput, match="more slowly"):
            read_organisms(text)
        with pytest.raises(InvalidInput, match="twice"):
            read_organisms(packaged_text("organisms.csv").replace(",fresh,", ",hardened,", 1))


class TestSeeds:
    def test_never_all_weed_seeds(self):
        for words in ("all", "all weed seeds"):
            answer = seed_answer(words, 70.0, 1000.0)
            assert answer.verdict == "not reliably"
            assert "never" in answer.words

    @pytest.mark.parametrize("kind", [k for k, one in weed_seeds().items() if not one.of_the_six])
    def test_others_are_never_promised(self, kind):
        assert seed_answer(kind, 75.0, 1000.0).verdict == "no"

    def test_too_short(self):
        assert seed_answer("tumble pigweed", 50.0, 100.0).verdict == "not reliably"
        assert seed_answer("tumble pigweed", 50.0, 113.0).verdict == "yes for these six"

    def test_hours_fall_with_heat(self):
        needed = [seed_answer("purslane", float(t), 1e4).needed_hours for t in range(50, 76)]
        assert needed == sorted(needed, reverse=True)

    def test_unknown_seed(self):
        with pytest.raises(UnknownName, match="purslane"):
            seed_answer("triffid", 50.0, 1.0)
        with pytest.raises(InvalidInput):
            seed_answer("purslane", 500.0, 1.0)


class TestDiseases:
    @pytest.mark.parametrize(
        "name", ["clubroot", "potato wart", "white rot", "Fusarium wilt", "charcoal rot"]
    )
    def test_refused_whatever_the_heat(self, name):
        answer = disease_answer(name, 80.0, 1000.0, 0.6)
        assert answer.verdict == "refused"
        assert "out of the bin" in answer.words

    def test_condition(self):
        assert disease_answer("potato cyst nematode", 50.0, 192.0).verdict == "condition met"
        told = disease_answer("potato cyst nematode", 50.0, 191.0)
        assert told.verdict == "condition not met"
        assert "never a promise" in told.words

    def test_no_figure_is_never_met(self):
        assert disease_answer("beet cyst nematode", 70.0, 500.0).verdict == "condition not met"

    def test_unknown(self):
        with pytest.raises(UnknownName, match="clubroot"):
            disease_answer("rust", 60.0, 10.0)
