"""Heat of the column against closed forms (carslaw1959 for slab and cylinder)."""

import numpy as np
import pytest
from plain_columns import (
    PERFECT,
    dry_air,
    dust,
    measured,
    parameters,
    sealed,
    sealed_box,
    stack,
)
from scipy.linalg import expm

from slowfire.column.draft import AREA, BULK, DRY, HEAT, MOISTURE, SIDE, THICKNESS
from slowfire.column.drainage import settle_temperatures
from slowfire.column.heat_water import heat_vapour_step
from slowfire.column.positions import (
    CENTRE_MINUS_EDGE,
    FILL_HEIGHT,
    GAS_MOLES,
    HEAD_GAS_MOLES,
    HEAD_OXYGEN,
    HEAD_TEMPERATURE,
    L_HEAT_BASE,
    L_HEAT_BIOLOGY,
    L_HEAT_LID,
    L_HEAT_WALL,
    L_OXYGEN_USED,
    OXYGEN,
    TEMPERATURE,
    WATER,
)
from slowfire.column.simulate import Column, constant_air
from slowfire.constants import HEAT_CAPACITY_WATER, MOLAR_MASS_OXYGEN
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.physics.heat import conductivity_compost, outer_film_coefficient
from slowfire.vessel import Fittings, cylinder


def litres(word: str, volume: float) -> Portion:
    stuff = load_library().find(word)
    return Portion(stuff, volume * stuff.bulk_density / 1000.0, volume, "loose")


class TestLumpedCooling:
    """A well-mixed stack and its head-space: two linear equations, solved by matrix exponential."""

    OUTSIDE = 10.0
    START = 60.0

    def column(self, time_step: float) -> Column:
        vessel = sealed_box(wall_resistance=0.8, base_resistance=1.2, lid_resistance=0.6)
        # dust that conducts like copper is at one temperature throughout
        p = parameters(conductivity_factor=1e6, vapour_enhancement=0.0)
        column = Column(vessel, dry_air(self.OUTSIDE), p, time_step, time_step)
        rows = [dust(6.0, 0.01, self.START) for _ in range(12)]
        return sealed(stack(column, rows))

    def exact(self, column: Column, seconds: float) -> np.ndarray:
        vessel, p = column.vessel, column.parameters
        work = measured(column)
        film = outer_film_coefficient(0.0, self.OUTSIDE, vessel.emissivity)
        solids = p.heat_capacity_solids * 12 * 6.0
        head = p.head_capacity * vessel.top_area
        walls = work[SIDE, :12].sum() / (vessel.wall_resistance + 1.0 / film)
        base = vessel.base_area / vessel.base_resistance
        bare = (vessel.height - column.bin_state[FILL_HEIGHT]) * vessel.top_perimeter
        lid = vessel.top_area / (vessel.lid_resistance + 1.0 / film + 1.0 / p.lid_film)
        lid += bare / (vessel.wall_resistance + 1.0 / film + 1.0 / p.lid_film)
        top = p.head_exchange * vessel.top_area
        rates = np.array(
            [
                [-(walls + base + top) / solids, top / solids],
                [top / head, -(top + lid) / head],
            ]
        )
        start = np.array([self.START - self.OUTSIDE, 0.0])
        return self.OUTSIDE + expm(rates * seconds) @ start

    @pytest.mark.parametrize(("time_step", "tolerance"), [(900.0, 0.1), (60.0, 0.01)])
    def test_temperatures_after_two_days(self, time_step: float, tolerance: float):
        column = self.column(time_step)
        expected = self.exact(column, 48.0 * 3600.0)
        column.run_to(48.0)
        temperatures = column.state[:12, TEMPERATURE]
        assert np.ptp(temperatures) < 1e-3
        assert temperatures.mean() == pytest.approx(expected[0], abs=tolerance)
        assert column.bin_state[HEAD_TEMPERATURE] == pytest.approx(expected[1], abs=tolerance)
        assert expected[0] < 45.0

    def test_heat_through_each_border(self):
        """The integral of the exact solution times each conductance."""
        column = self.column(60.0)
        times = np.linspace(0.0, 48.0 * 3600.0, 4001)
        path = np.array([self.exact(column, t) for t in times]) - self.OUTSIDE
        film = outer_film_coefficient(0.0, self.OUTSIDE, column.vessel.emissivity)
        work = measured(column)
        vessel, p = column.vessel, column.parameters
        walls = work[SIDE, :12].sum() / (vessel.wall_resistance + 1.0 / film)
        bare = (vessel.height - column.bin_state[FILL_HEIGHT]) * vessel.top_perimeter
        lid = vessel.top_area / (vessel.lid_resistance + 1.0 / film + 1.0 / p.lid_film)
        lid += bare / (vessel.wall_resistance + 1.0 / film + 1.0 / p.lid_film)
        stack_integral = np.trapezoid(path[:, 0], times)
        head_integral = np.trapezoid(path[:, 1], times)
        column.run_to(48.0)
        base = vessel.base_area / vessel.base_resistance
        assert column.ledger[L_HEAT_WALL] == pytest.approx(walls * stack_integral, rel=1e-3)
        assert column.ledger[L_HEAT_BASE] == pytest.approx(base * stack_integral, rel=1e-3)
        assert column.ledger[L_HEAT_LID] == pytest.approx(lid * head_integral, rel=2e-3)


class TestSlab:
    """Insulated on all sides but the base, which is held at the air's temperature."""

    def column(self, layers: int) -> Column:
        vessel = sealed_box(wall_resistance=PERFECT, lid_resistance=PERFECT, base_resistance=1e-9)
        p = parameters(vapour_enhancement=0.0, head_exchange=1e-9, conductivity_factor=1.0)
        column = Column(vessel, dry_air(0.5), p, 300.0, 300.0)
        rows = [dust(120.0 / layers, 0.2 / layers, 40.5) for _ in range(layers)]
        return sealed(stack(column, rows))

    def exact(self, heights: np.ndarray, depth: float, diffusivity: float, seconds: float):
        total = np.zeros_like(heights)
        for k in range(200):
            wave = (k + 0.5) * np.pi
            decay = np.exp(-(wave**2) * diffusivity * seconds / depth**2)
            total += 2.0 / wave * np.sin(wave * heights / depth) * decay
        return 0.5 + 40.0 * total

    @pytest.mark.parametrize("hours", [12.0, 72.0])
    def test_profile_is_the_fourier_series(self, hours: float):
        n = 60
        column = self.column(n)
        column.run_to(hours)
        work = measured(column)
        thickness = work[THICKNESS, :n]
        heights = np.cumsum(thickness) - 0.5 * thickness
        volumes = thickness * work[AREA, :n]
        p = column.parameters
        capacity = p.heat_capacity_solids * work[DRY, :n].sum() / volumes.sum()
        conductivity = p.conductivity_factor * conductivity_compost(
            float(work[MOISTURE, 0]), float(work[BULK, :n].mean())
        )
        expected = self.exact(
            heights, float(thickness.sum()), conductivity / capacity, hours * 3600.0
        )
        assert np.abs(column.state[:n, TEMPERATURE] - expected).max() < 0.15
        assert expected[0] < 8.0
        assert expected[-1] > 20.0

    def test_more_layers_come_closer(self):
        errors = []
        for n in (8, 32):
            column = self.column(n)
            column.run_to(48.0)
            work = measured(column)
            thickness = work[THICKNESS, :n]
            heights = np.cumsum(thickness) - 0.5 * thickness
            capacity = column.parameters.heat_capacity_solids * 120.0 / work[AREA, 0]
            conductivity = conductivity_compost(0.0, float(work[BULK, :n].mean()))
            expected = self.exact(
                heights,
                float(thickness.sum()),
                conductivity * thickness.sum() / capacity,
                48.0 * 3600.0,
            )
            errors.append(np.abs(column.state[:n, TEMPERATURE] - expected).max())
        assert errors[1] < 0.4 * errors[0]


class TestCylinder:
    """Evenly heated, cooled at its wall: a parabola over the radius."""

    POWER = 400.0  # [W/m^3]

    def test_centre_minus_edge_and_mean(self):
        vessel = cylinder(0.6, 1.0, Fittings(sun_share=0.0))._replace(
            lid_resistance=PERFECT,
            base_resistance=PERFECT,
            wall_resistance=0.5,
            lid_leak_area=0.0,
            lid_exchange=0.0,
        )
        p = parameters(vapour_enhancement=0.0, head_exchange=1e-9, conductivity_factor=1.0)
        column = Column(vessel, dry_air(10.0), p)
        n = 5
        stack(column, [dust(20.0, 0.04, 10.0) for _ in range(n)])
        work = measured(column)
        work[HEAT, :n] = self.POWER * work[AREA, :n] * work[THICKNESS, :n]
        for _ in range(4000):
            heat_vapour_step(
                column.state,
                n,
                column.bin_state,
                vessel,
                p,
                10.0,
                0.0,
                0.0,
                0.0,
                0.0,
                0.0,
                3600.0,
                work,
                column.ledger,
            )
            settle_temperatures(column.state, n, p, work)
        conductivity = conductivity_compost(0.0, work[BULK, :n])
        film = outer_film_coefficient(0.0, 10.0, vessel.emissivity)
        edge = 10.0 + self.POWER * 0.3 / 2.0 * (0.5 + 1.0 / film)
        parabola = self.POWER * 0.3**2 / (4.0 * conductivity)
        np.testing.assert_allclose(column.state[:n, CENTRE_MINUS_EDGE], parabola, rtol=2e-3)
        np.testing.assert_allclose(column.state[:n, TEMPERATURE], edge + 0.5 * parabola, rtol=2e-3)


class TestAdiabaticHeating:
    """Nothing gets in or out: the oxygen in the pores burns and warms the stack."""

    def test_rise_is_heat_over_capacity(self):
        vessel = sealed_box(
            wall_resistance=PERFECT, lid_resistance=PERFECT, base_resistance=PERFECT
        )
        p = parameters(head_capacity=1e-3, acclimation_floor=1.0, nitrification_rate=0.0)
        column = sealed(Column(vessel, constant_air(30.0), p))
        column.bin_state[HEAD_TEMPERATURE] = 30.0
        column.load(
            [litres("food_waste_household_mixed", 25.0), litres("bark_chips_fine", 100.0)],
            temperature_celsius=30.0,
        )
        n = column.layers
        column.run_to(0.25)
        gas = (column.state[:n, GAS_MOLES] * column.state[:n, OXYGEN]).sum()
        gas += column.bin_state[HEAD_GAS_MOLES] * column.bin_state[HEAD_OXYGEN]
        start = column.copy()
        column.run_to(480.0)
        used = column.ledger[L_OXYGEN_USED] - start.ledger[L_OXYGEN_USED]
        assert used == pytest.approx(gas * MOLAR_MASS_OXYGEN, rel=0.05)
        heat = p.heat_per_oxygen * used
        dry = start.state[:n, :5].sum()
        capacity = p.heat_capacity_solids * dry + HEAT_CAPACITY_WATER * start.state[:n, WATER].sum()

        def mean(bin_: Column) -> float:
            rows = bin_.state[:n]
            weights = p.heat_capacity_solids * rows[:, :5].sum(axis=1)
            weights += HEAT_CAPACITY_WATER * rows[:, WATER]
            return float((weights * rows[:, TEMPERATURE]).sum() / weights.sum())

        rise = mean(column) - mean(start)
        assert rise > 1.0
        assert rise == pytest.approx(heat / capacity, rel=0.02)
        booked = column.ledger[L_HEAT_BIOLOGY] - start.ledger[L_HEAT_BIOLOGY]
        assert booked == pytest.approx(heat, rel=0.02)
