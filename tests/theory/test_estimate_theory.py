"""The smoother on a real bin against the exact posterior, summed over a grid of its unknowns."""

import itertools

import numpy as np
import pytest
from scipy.stats import norm

from slowfire.column.contents import Load
from slowfire.column.simulate import Column, constant_air
from slowfire.estimate.member import Window, run_member
from slowfire.estimate.plan import Event, Plan
from slowfire.estimate.priors import draw_normals, setting_of
from slowfire.estimate.readings import Instrument, Place, probe
from slowfire.estimate.smoother import smooth
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, box

FOAM = Fittings(wall=(("eps", 0.05),), lid=(("eps", 0.05),), base=(("eps", 0.05),))
SPREAD = np.full(3, 2.5)  # [K]
ERRORS = np.array([1.5, -1.0, 0.5])  # of the three readings [K]
MEMBERS, UPDATES = 200, 4
TWO = ("rate_rapid", "wet_mass")
THREE = ("wall_loss", *TWO)


class OneLoad:
    """A foam bin filled once and read three times, as a function of a few unknowns."""

    def __init__(self, names: tuple[str, ...], hours: tuple[float, ...]):
        find = load_library().find
        load = Load(
            (
                Portion.from_mass(find("food waste"), 20.0),
                Portion.from_mass(find("shredded paper"), 3.0, "loose"),
                Portion.from_mass(find("half_finished_compost"), 20.0),
            )
        )
        wire = Instrument("wire", 0.1)
        place = Place(depth=0.15, spot="centre")
        readings = tuple(probe(hour, 0.0, wire, place) for hour in hours)
        event = Event(0.0, lambda column: None, load)
        self.names = names
        self.plan = Plan(
            box(0.5, 0.5, 0.9, FOAM), None, (event,), readings, constant_air(9.0), hours[-1]
        )
        self.window = Window(0.0, hours[-1], (event,), readings, strayed=0.0)
        self.start = Column(
            self.plan.vessel, self.plan.air, setting_of({}, 0).parameters, 3600.0, 1800.0
        )

    def __call__(self, unknowns: np.ndarray) -> np.ndarray:
        """What the probe shows, shape (3, members)."""
        shown = [
            run_member(
                self.plan, self.window, self.start, dict(zip(self.names, one, strict=True)), 0,
                self.window.end,
            ).predicted
            for one in unknowns.T
        ]  # fmt: skip
        return np.array(shown).T


def exact(
    bin_of: OneLoad, observed: np.ndarray, cells: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Mean, spread and correlation of the posterior, from every point of an even grid."""
    axis = np.linspace(-3.6, 3.6, cells)
    points = np.array(list(itertools.product(axis, repeat=len(bin_of.names)))).T
    predicted = bin_of(points)
    logarithm = norm.logpdf(points).sum(axis=0)
    logarithm += norm.logpdf(observed[:, None], predicted, SPREAD[:, None]).sum(axis=0)
    weight = np.exp(logarithm - logarithm.max())
    weight /= weight.sum()
    mean = points @ weight
    covariance = (weight * (points - mean[:, None])) @ (points - mean[:, None]).T
    spread = np.sqrt(np.diag(covariance))
    return mean, spread, covariance / np.outer(spread, spread)


def smoothed(bin_of: OneLoad, observed: np.ndarray, seed: int) -> np.ndarray:
    prior = np.array(list(draw_normals(bin_of.names, MEMBERS, seed).values()))
    return smooth(prior, bin_of, observed, SPREAD, UPDATES, seed)


def read(bin_of: OneLoad, truth: tuple[float, ...]) -> np.ndarray:
    return bin_of(np.array(truth)[:, None])[:, 0] + ERRORS


def agrees(
    members: np.ndarray, mean: np.ndarray, spread: np.ndarray, correlation: np.ndarray
) -> None:
    """The mean within 0.35 posterior standard deviations and the spread within 30 %."""
    assert (np.abs(members.mean(axis=1) - mean) < 0.35 * spread).all(), (mean, spread)
    assert members.std(axis=1) == pytest.approx(spread, rel=0.3)
    assert np.corrcoef(members) == pytest.approx(correlation, abs=0.35)


def test_two_unknowns_of_a_warming_bin():
    bin_of = OneLoad(TWO, (30.0, 60.0, 100.0))
    observed = read(bin_of, (-0.6, 0.5))
    mean, spread, correlation = exact(bin_of, observed, 21)
    # readings tell much, so that agreement means something
    assert spread.max() < 0.6
    agrees(smoothed(bin_of, observed, 1), mean, spread, correlation)


@pytest.mark.long
def test_the_grid_is_fine_enough():
    bin_of = OneLoad(TWO, (30.0, 60.0, 100.0))
    observed = read(bin_of, (-0.6, 0.5))
    fine, finer = (exact(bin_of, observed, cells) for cells in (21, 33))
    for one, other in zip(fine, finer, strict=True):
        assert one == pytest.approx(other, abs=0.02)


@pytest.mark.long
@pytest.mark.parametrize(
    ("hours", "truth"),
    [((30.0, 60.0, 100.0), (0.8, -0.6, 0.5)), ((60.0, 110.0, 160.0), (-0.8, 0.6, -0.5))],
)
def test_three_unknowns(hours, truth):
    bin_of = OneLoad(THREE, hours)
    observed = read(bin_of, truth)
    mean, spread, correlation = exact(bin_of, observed, 15)
    for seed in (1, 2):
        agrees(smoothed(bin_of, observed, seed), mean, spread, correlation)
