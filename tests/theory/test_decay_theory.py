"""Breakdown at held conditions against exponential decay."""

import numpy as np
import pytest
from plain_columns import parameters

from slowfire.biology.kinetics import (
    moisture_factor_haug,
    temperature_factor_rosso,
)
from slowfire.column.contents import pool_yields
from slowfire.column.draft import (
    AIR_SPACE,
    DRY,
    MOISTURE,
    N_WORK,
)
from slowfire.column.positions import (
    ACCLIMATION,
    N_NITRATE,
    N_RAPID,
    N_STATE,
    OXYGEN,
    RAPID,
    RESISTANT,
    SLOW,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    WATER,
    WOOD,
)
from slowfire.column.rates import acclimated, advance_pools, potential_rates

DAY = 86400.0
AIR = 0.2095


def run(pool: int, days: float, time_step: float, nitrogen: float = 0.0, **changed: float):
    """Advance one layer of the finest crumb at 50 C, 60 % water; return mass left and totals."""
    p = parameters(
        **{"nitrification_rate": 0.0, "humus_yield": 0.0, "clod_radius": 1e-12, **changed}
    )
    state = np.zeros((1, N_STATE))
    row = state[0]
    row[pool] = 1.0
    row[N_RAPID + pool] = nitrogen
    work = np.zeros((N_WORK, 3))
    totals = np.zeros(10)
    yields = pool_yields()
    term = AIR / (AIR + p.oxygen_half_saturation)
    for _ in range(round(days * DAY / time_step)):
        row[TEMPERATURE] = row[TEMPERATURE_BEFORE] = 50.0
        row[OXYGEN] = AIR
        row[WATER] = 1.5
        row[ACCLIMATION] = 1.0
        # nitrate within reach, so that hunger for nitrogen holds nothing back
        row[N_NITRATE] = 100.0
        work[MOISTURE, 0] = 0.6
        work[AIR_SPACE, 0] = 0.5
        work[DRY, 0] = row[:5].sum()
        potential_rates(state, 1, p, yields[0], time_step, work)
        advance_pools(
            state,
            1,
            p,
            yields,
            time_step,
            np.array([term]),
            work,
            totals,
        )
    return row, totals, p, term


def rate(p, term: float, largest: float) -> float:
    """First-order rate at those conditions, from the factors' own formulas [1/day]."""
    warmth = temperature_factor_rosso(
        50.0, p.thermophile_minimum, p.thermophile_optimum, p.thermophile_maximum
    )
    return float(largest * warmth * moisture_factor_haug(0.6) * term)


@pytest.mark.parametrize(("pool", "name"), [(RESISTANT, "rate_resistant"), (WOOD, "rate_wood")])
@pytest.mark.parametrize("per_day", [0.02, 0.3])
def test_pool_decays_exponentially(pool: int, name: str, per_day: float):
    row, _, p, term = run(pool, 10.0, 900.0, **{name: per_day})
    k = rate(p, term, per_day)
    exact = np.exp(-k * 10.0)
    # a forward step of dt falls behind by k^2 t dt / 2
    behind = 0.5 * k * k * 10.0 * 900.0 / DAY
    assert row[pool] == pytest.approx(exact, rel=1.1 * behind + 1e-9)
    assert exact < 0.9


def test_error_is_of_first_order_in_the_step():
    errors = []
    for time_step in (7200.0, 3600.0, 1800.0):
        row, _, p, term = run(WOOD, 10.0, time_step, rate_wood=1.0)
        errors.append(abs(row[WOOD] - np.exp(-rate(p, term, 1.0) * 10.0)))
    assert errors[0] / errors[1] == pytest.approx(2.0, rel=0.1)
    assert errors[1] / errors[2] == pytest.approx(2.0, rel=0.1)


def test_heat_and_oxygen_follow_what_was_burnt():
    row, totals, p, _ = run(WOOD, 10.0, 900.0, rate_wood=0.3)
    burnt = 1.0 - row[WOOD]
    assert burnt > 0.1
    oxygen, carbon_dioxide, water = pool_yields()[:, 3]
    assert totals[0] == pytest.approx(oxygen * burnt, rel=1e-9)
    assert totals[1] == pytest.approx(carbon_dioxide * burnt, rel=1e-9)
    assert totals[2] == pytest.approx(water * burnt, rel=1e-9)
    assert totals[3] == pytest.approx(p.heat_per_oxygen * oxygen * burnt, rel=1e-9)
    # what is burnt and the oxygen it takes become gas and water, element by element
    assert burnt + totals[0] == pytest.approx(totals[1] + totals[2], rel=2e-3)


def test_humus_is_the_stated_share_of_what_is_eaten():
    row, totals, _, _ = run(
        SLOW, 5.0, 900.0, nitrogen=0.05, humus_yield=0.2, nitrogen_uptake=0.0, rate_resistant=0.0
    )
    eaten = 1.0 - row[SLOW]
    assert eaten > 0.03
    assert row[RESISTANT] == pytest.approx(0.2 * eaten, rel=1e-9)
    assert totals[4 + RESISTANT] == pytest.approx(-0.2 * eaten, rel=1e-9)
    assert row[RAPID] == 0.0


class TestAcclimation:
    @staticmethod
    def numerically(start: float, favour: float, days: float, p) -> float:
        value, steps = start, 200_000
        growth = p.acclimation_growth * favour
        fading = p.acclimation_decay * max(1.0 - 4.0 * favour, 0.0)
        step = days / steps
        for _ in range(steps):
            middle = value + 0.5 * step * ((growth - fading) * value - growth * value**2)
            value += step * ((growth - fading) * middle - growth * middle**2)
        return value

    @pytest.mark.parametrize("favour", [0.0, 0.01, 0.1, 0.24, 0.9])
    def test_closed_form_is_the_logistic_with_fading(self, favour: float):
        p = parameters(acclimation_floor=0.0)
        expected = self.numerically(0.05, favour, 3.0, p)
        assert acclimated(0.05, favour, 3.0, p) == pytest.approx(expected, rel=1e-6)

    def test_two_halves_of_a_step_are_the_whole(self):
        p = parameters()
        half = acclimated(acclimated(0.1, 0.3, 0.5, p), 0.3, 0.5, p)
        assert acclimated(0.1, 0.3, 1.0, p) == pytest.approx(half, rel=1e-12)
