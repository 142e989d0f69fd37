"""The whole column against an independent integrator, and against its own shorter steps."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pytest

from slowfire.column import kernel
from slowfire.column.contents import load_contents
from slowfire.column.parameters import default_parameters
from slowfire.column.positions import (
    CENTRE_MINUS_EDGE,
    HEAD_TEMPERATURE,
    L_LIQUID_OUT,
    L_VAPOUR_OUT,
    LAST_EVENT_HOUR,
    N_LEDGER,
    SETTLED,
    SLUMPED,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    VENT_OPENING,
    WATER,
)
from slowfire.column.simulate import (
    DEFAULT_STEP,
    EVENT_HOURS,
    EVENT_STEP,
    Air,
    Column,
    constant_air,
)
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, Vessel, box

sundae = pytest.importorskip("sksundae.cvode", reason="scikit-sundae is not installed")

FOOD = "food_waste_household_mixed"
PAPER = "office_paper_shredded"
BARK = "bark_chips_fine"


def litres(word: str, volume: float) -> Portion:
    stuff = load_library().find(word)
    return Portion(stuff, volume * stuff.bulk_density / 1000.0, volume, "loose")


def foam_bin() -> Vessel:
    return box(
        0.5,
        0.5,
        0.96,
        Fittings(wall=(("eps", 0.06),), lid=(("eps", 0.03),), vent_slot_length=0.3),
    )


class TestAgainstCvode:
    """Heat, vapour and draft of ten layers; biology, settling and drainage at rest.

    The right-hand side is the change over a step of a hundredth of a second, so both
    integrators solve the same equations.
    """

    LAYERS = 10
    TINY = 1e-2  # [s]
    HOURS = 12.0

    def column(self, time_step: float) -> Column:
        still = {
            "rate_rapid": 0.0,
            "rate_slow": 0.0,
            "rate_resistant": 0.0,
            "rate_wood": 0.0,
            "nitrification_rate": 0.0,
            "denitrification_rate": 0.0,
            "drain_time": 1e9,
            "settling_time": 1e9,
            "channel_time": 1e9,
        }
        p = default_parameters()._replace(**still)
        column = Column(foam_bin(), constant_air(8.0, wind_speed=2.0), p, time_step, time_step)
        column.bin_state[VENT_OPENING] = 0.004
        portions = [litres(FOOD, 5.0), litres(PAPER, 10.0), litres(BARK, 5.0)]
        n = self.LAYERS
        for i in range(n):
            warm = 15.0 + 45.0 * np.sin(np.pi * (i + 0.5) / n) ** 2
            row = load_contents(portions, p, warm)
            row[SETTLED] = 1.0
            row[SLUMPED] = 1.0
            row[CENTRE_MINUS_EDGE] = 0.2 * (warm - 8.0)
            row[TEMPERATURE_BEFORE] = row[TEMPERATURE]
            column.state[i] = row
        column.layers = n
        column.bin_state[HEAD_TEMPERATURE] = 20.0
        return column

    def pack(self, column: Column) -> np.ndarray:
        rows = column.state[: self.LAYERS]
        return np.concatenate(
            [
                rows[:, TEMPERATURE],
                rows[:, WATER],
                rows[:, CENTRE_MINUS_EDGE],
                [column.bin_state[HEAD_TEMPERATURE]],
            ]
        )

    def unpack(self, y: np.ndarray, column: Column) -> None:
        n = self.LAYERS
        rows = column.state[:n]
        rows[:, TEMPERATURE] = rows[:, TEMPERATURE_BEFORE] = y[:n]
        rows[:, WATER] = y[n : 2 * n]
        rows[:, CENTRE_MINUS_EDGE] = y[2 * n : 3 * n]
        column.bin_state[HEAD_TEMPERATURE] = y[3 * n]

    def tiny_step(self, column: Column) -> None:
        kernel.advance(
            column.state,
            column.layers,
            column.bin_state,
            column.history,
            column.vessel,
            column.parameters,
            column.yields,
            column.air.table,
            self.TINY / 3600.0,
            self.TINY,
            np.zeros(N_LEDGER),
        )

    def reference(self) -> np.ndarray:
        column = self.column(900.0)
        start = self.pack(column)
        scratch = column.copy()

        def slope(_time: float, y: np.ndarray, out: np.ndarray) -> None:
            # the draft's substitution starts from the last flows: let it settle on these
            for _ in range(12):
                self.unpack(y, scratch)
                self.tiny_step(scratch)
            out[:] = (self.pack(scratch) - y) / self.TINY

        solver = sundae.CVODE(slope, rtol=1e-7, atol=1e-7, method="BDF")
        end = solver.solve(np.array([0.0, self.HOURS * 3600.0]), start)
        assert end.success
        return np.asarray(end.y[-1])

    @pytest.fixture(scope="class", name="exact")
    @classmethod
    def exact_end(cls) -> np.ndarray:
        return cls().reference()

    @pytest.mark.parametrize(
        ("time_step", "kelvin", "water"), [(225.0, 0.05, 2e-3), (900.0, 0.2, 5e-3)]
    )
    def test_twelve_hours(self, exact, time_step: float, kelvin: float, water: float):
        n = self.LAYERS
        column = self.column(time_step)
        start = self.pack(column)
        column.run_to(self.HOURS)
        got = self.pack(column)
        assert np.abs(start[:n] - exact[:n]).max() > 3.0, "something is meant to happen"
        assert np.abs(got[:n] - exact[:n]).max() < kelvin
        np.testing.assert_allclose(got[n : 2 * n], exact[n : 2 * n], rtol=water)
        assert np.abs(got[2 * n : 3 * n] - exact[2 * n : 3 * n]).max() < 2.0 * kelvin
        assert abs(got[3 * n] - exact[3 * n]) < 2.0 * kelvin


def nights(days: int, mean: float, swing: float, frost_week: bool) -> Air:
    """A daily wave of temperature and sun; with a week ten kelvin colder, if wanted."""
    hours = np.arange(days * 24 + 1)
    temperature = mean + swing * np.cos(2.0 * np.pi * (hours - 15) / 24.0)
    if frost_week:
        temperature[14 * 24 : 21 * 24] -= 10.0
    table = np.tile([0.0, 0.8, 1.5, 0.0, 0.0], (hours.size, 1))
    table[:, 0] = temperature
    table[:, 4] = np.maximum(200.0 * np.cos(2.0 * np.pi * (hours - 12) / 24.0), 0.0)
    return Air(table)


DAYS = 36


@dataclass(frozen=True)
class Run:
    """Hourly hottest layer of a bin, and whether the last event is long enough ago."""

    column: Column
    hottest: np.ndarray
    settled: np.ndarray


def five_weeks(air: Air, part: int) -> Run:
    """Two loads a week, stirred in; poked and watered every fortnight."""
    column = Column(foam_bin(), air, time_step=DEFAULT_STEP / part, event_step=EVENT_STEP / part)
    hottest, settled = [], []
    for hour in range(DAYS * 24):
        if hour % 84 == 0:
            column.load(
                [litres(FOOD, 6.0), litres(PAPER, 4.0), litres(BARK, 1.5)],
                temperature_celsius=12.0,
            )
            column.stir(0.12)
        if hour % (14 * 24) == 13 * 24:
            column.poke()
            column.water(3.0)
        column.run_to(hour + 1.0)
        hottest.append(column.section().hottest_celsius)
        settled.append(column.hour - column.bin_state[LAST_EVENT_HOUR] > EVENT_HOURS)
    return Run(column, np.array(hottest), np.array(settled))


@lru_cache(maxsize=8)
def coarse_and_fine(mean: float, swing: float, frost_week: bool) -> tuple[Run, Run]:
    """The default step and one eight times smaller."""
    air = nights(DAYS, mean, swing, frost_week)
    return five_weeks(air, 1), five_weeks(air, 8)


class TestDefaultStep:
    """The default step against one eight times smaller, over five weeks."""

    COLD = (8.0, 8.0, False)  # nights at the freezing point
    MILD = (14.0, 5.0, False)
    FROST = (4.0, 10.0, True)  # frozen each night, then a week of frost, then a new start

    @staticmethod
    def errors(weather: tuple[float, float, bool]) -> np.ndarray:
        coarse, fine = coarse_and_fine(*weather)
        assert fine.hottest.max() > 35.0, "the bin is meant to get hot"
        assert np.ptp(fine.hottest) > 15.0
        return (coarse.hottest - fine.hottest)[fine.settled]

    @pytest.mark.parametrize("weather", [COLD, MILD])
    def test_hottest_layer(self, weather):
        assert np.abs(self.errors(weather)).max() < 0.3

    @pytest.mark.parametrize("weather", [COLD, MILD, FROST])
    def test_hottest_layer_root_mean_square(self, weather):
        assert np.sqrt((self.errors(weather) ** 2).mean()) < 0.1

    def test_hottest_layer_in_a_new_start_after_frost(self):
        assert np.abs(self.errors(self.FROST)).max() < 0.3

    def test_a_new_start_after_frost_comes_within_half_an_hour(self):
        coarse, fine = coarse_and_fine(*self.FROST)
        hours = np.arange(fine.hottest.size)
        shifts = np.linspace(-0.5, 0.5, 21)
        shifted = np.array([np.interp(hours + d, hours, fine.hottest) for d in shifts])
        nearest = np.abs(shifted - coarse.hottest).min(axis=0)[fine.settled]
        assert nearest.max() < 0.1

    @pytest.mark.parametrize("weather", [COLD, MILD, FROST])
    def test_water_and_liquid(self, weather):
        coarse, fine = (run.column for run in coarse_and_fine(*weather))
        water = [bin_.state[: bin_.layers, WATER].sum() for bin_ in (coarse, fine)]
        assert water[0] == pytest.approx(water[1], rel=0.02)
        assert coarse.ledger[L_VAPOUR_OUT] == pytest.approx(fine.ledger[L_VAPOUR_OUT], rel=0.02)
        # liquid of less than a spoonful is counted in grams
        assert coarse.ledger[L_LIQUID_OUT] == pytest.approx(
            fine.ledger[L_LIQUID_OUT], rel=0.02, abs=2e-3
        )
