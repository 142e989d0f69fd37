"""How a bin is cut up, in layers, loads or steps, must not matter much."""

import numpy as np
import pytest
from plain_bins import BARK, FOOD, PAPER, feed, foam_bin, litres

from slowfire.column.positions import L_HEAT_BIOLOGY, L_VAPOUR_OUT, WATER
from slowfire.column.simulate import Column, constant_air
from slowfire.materials.feedstock import Portion


def mixed(volume: float) -> list[Portion]:
    return [litres(FOOD, volume), litres(PAPER, 0.6 * volume), litres(BARK, 0.15 * volume)]


class TestSplitLoads:
    def bins(self) -> tuple[Column, Column]:
        whole = Column(foam_bin(), constant_air(10.0))
        halves = Column(foam_bin(), constant_air(10.0))
        for _ in range(5):
            # 25 L on a quarter of a square metre: several layers either way
            whole.load(mixed(25.0), temperature_celsius=12.0)
            for _ in range(2):
                halves.load(mixed(12.5), temperature_celsius=12.0)
            whole.run_to(whole.hour + 96.0)
            halves.run_to(halves.hour + 96.0)
        return whole, halves

    def test_two_halves_are_one_load(self):
        whole, halves = self.bins()
        assert halves.section().hottest_celsius == pytest.approx(
            whole.section().hottest_celsius, abs=0.3
        )
        assert halves.state[: halves.layers, WATER].sum() == pytest.approx(
            whole.state[: whole.layers, WATER].sum(), rel=5e-3
        )
        for entry in (L_HEAT_BIOLOGY, L_VAPOUR_OUT):
            assert halves.ledger[entry] == pytest.approx(whole.ledger[entry], rel=1e-2)


@pytest.fixture(name="errors", scope="module")
def step_errors() -> dict[int, dict[str, float]]:
    """Against a step 32 times smaller than the longest, after ten days."""
    ends = {}
    for part in (1, 2, 4, 32):
        column = Column(
            foam_bin(), constant_air(5.0), time_step=1800.0 / part, event_step=1800.0 / part
        )
        for _ in range(5):
            feed(column, 8.0)
            column.stir(0.12)
            column.run_to(column.hour + 48.0)
        ends[part] = column
    fine = ends.pop(32)
    return {
        part: {
            "hottest": abs(column.section().hottest_celsius - fine.section().hottest_celsius),
            "water": abs(
                column.state[: column.layers, WATER].sum() - fine.state[: fine.layers, WATER].sum()
            ),
            "heat": abs(column.ledger[L_HEAT_BIOLOGY] - fine.ledger[L_HEAT_BIOLOGY]),
        }
        for part, column in ends.items()
    }


class TestShorterSteps:
    @pytest.mark.parametrize("quantity", ["hottest", "water", "heat"])
    def test_halving_the_step_shrinks_the_error(self, errors, quantity):
        sizes = np.array([errors[part][quantity] for part in (1, 2, 4)])
        assert sizes[1] < 0.7 * sizes[0]
        assert sizes[2] < 0.7 * sizes[1]

    def test_a_copy_runs_on_as_the_original(self):
        column = Column(foam_bin(), constant_air(5.0))
        feed(column, 8.0)
        column.run_to(30.0)
        twin = column.copy()
        column.run_to(80.0)
        twin.run_to(80.0)
        np.testing.assert_array_equal(column.state, twin.state)
        np.testing.assert_array_equal(column.ledger, twin.ledger)

    def test_looking_in_changes_nothing(self):
        column = Column(foam_bin(), constant_air(5.0))
        feed(column, 8.0)
        column.run_to(30.0)
        twin = column.copy()
        column.section()
        column.room_litres()
        column.run_to(60.0)
        twin.run_to(60.0)
        np.testing.assert_array_equal(column.state, twin.state)
