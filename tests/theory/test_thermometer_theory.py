"""Thermometers against closed forms and solvers of their equations."""

import math

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.linalg import solve_banded

from slowfire.estimate.thermometer import (
    lagged_reading,
    stem_film,
    stem_length,
    stem_tip_temperature,
    temperature_across,
)


@pytest.mark.parametrize("length", [0.03, 0.1, 0.4, 1.5])
@pytest.mark.parametrize("slope", [-80.0, 0.0, 120.0])
def test_fin_in_a_straight_bed_has_its_closed_form(length, slope):
    fin, surface, entry = 0.028, 30.0, 8.0
    depths = np.array([0.0, 0.3 * length, length])
    tip = stem_tip_temperature(depths, surface + slope * depths, entry, fin)
    # a + b z + A cosh(z/l) + B sinh(z/l) with theta(0) = entry and no heat through the tip
    exact = (
        surface
        + slope * length
        + (entry - surface) / math.cosh(length / fin)
        - slope * fin * math.tanh(length / fin)
    )
    assert tip == pytest.approx(exact, abs=1e-9)


def test_fin_in_a_bent_bed_agrees_with_finite_differences():
    fin, entry, length, pieces = 0.03, 5.0, 0.25, 4000
    knots = np.linspace(0.0, length, 11)
    bed = 20.0 + 35.0 * np.sin(9.0 * knots) ** 2
    step = length / pieces
    mesh = np.linspace(step, length, pieces)
    # (theta_below - 2 theta + theta_above)/step^2 = (theta - T_b)/l^2, mirrored at the tip
    bands = np.zeros((3, pieces))
    bands[0, 1:] = bands[2, :-1] = 1.0
    bands[1] = -2.0 - (step / fin) ** 2
    bands[2, -2] = 2.0
    right = -((step / fin) ** 2) * np.interp(mesh, knots, bed)
    right[0] -= entry
    theta = solve_banded((1, 1), bands, right)
    tip = stem_tip_temperature(knots, bed, entry, fin)
    assert tip == pytest.approx(float(theta[-1]), abs=1e-3)


def test_a_long_stem_in_a_straight_bed_reads_one_length_further_up():
    depths = np.array([0.0, 0.6])
    tip = stem_tip_temperature(depths, 20.0 + 50.0 * depths, 10.0, 0.03)
    assert tip == pytest.approx(20.0 + 50.0 * 0.57, abs=1e-6)


def test_fin_length_balances_conduction_and_film():
    # k A theta'' = h U theta for theta = exp(-z/l)
    k, d, h = 15.0, 0.004, 22.0
    area, girth = math.pi * d * d / 4.0, math.pi * d
    assert k * area / stem_length(d, k, h) ** 2 == pytest.approx(h * girth)


def test_film_on_a_stem_is_that_of_a_line_source():
    # heat from a rod in an endless bed between its own radius and 2 L: q = 2 pi k dT / ln(r2/r1)
    k, d, length = 0.3, 0.005, 0.4
    watts = quad(lambda r: 1.0 / (2.0 * math.pi * k * r), d / 2.0, 2.0 * length)[0]
    assert stem_film(k, d, length) * math.pi * d == pytest.approx(1.0 / watts)


def test_the_parabola_keeps_the_mean_of_a_round_section():
    mean = quad(lambda x: temperature_across(41.0, 13.0, x) * 2.0 * x, 0.0, 1.0)[0]
    assert mean == pytest.approx(41.0)
    assert temperature_across(41.0, 13.0, 0.0) - temperature_across(41.0, 13.0, 1.0) == 13.0


def test_the_parabola_is_the_steady_section_with_even_heat():
    # (1/r) d/dr (r dT/dr) is the same everywhere
    step = 1e-3
    curvature = []
    for x in (0.2, 0.5, 0.9):
        out, here, back = (temperature_across(40.0, 12.0, x + k * step) for k in (1, 0, -1))
        curvature.append((out - 2 * here + back) / step**2 + (out - back) / (2 * step * x))
    assert curvature == pytest.approx([curvature[0]] * 3, rel=1e-5)


def test_lag_solves_its_equation():
    found = solve_ivp(lambda _, y: (52.0 - y) / 45.0, (0.0, 100.0), [11.0], rtol=1e-9)
    assert lagged_reading(11.0, 52.0, 100.0, 45.0) == pytest.approx(float(found.y[0, -1]), rel=1e-6)
    assert lagged_reading(11.0, 52.0, 0.0, 45.0) == 11.0
