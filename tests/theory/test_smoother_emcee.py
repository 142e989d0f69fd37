"""The smoother on a small bin against emcee, which samples the same posterior by another road."""

import emcee
import numpy as np
import pytest

from slowfire.column.parameters import default_parameters
from slowfire.column.simulate import Column, constant_air
from slowfire.estimate.smoother import smooth
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, box

HOURS = (24.0, 60.0, 96.0)
ERROR = 1.0  # of a reading [K]
WALKERS, STEPS, BURNT = 16, 150, 50
MEMBERS, UPDATES = 200, 4


def predicted(unknowns):
    """Centre of the hottest layer of a small bin at three hours [degC].

    The unknowns are standard normal: how fast rapid matter goes (15 %), how thick the foam is
    (40 %).
    """
    rate = 0.35 * np.exp(0.15 * np.clip(unknowns[0], -3.5, 3.5))
    foam = 0.05 * np.exp(0.4 * np.clip(unknowns[1], -3.5, 3.5))
    column = Column(
        box(0.3, 0.3, 0.4, Fittings(wall=(("eps", float(foam)),), lid=(("eps", 0.03),))),
        constant_air(12.0),
        default_parameters(rate_rapid=float(rate)),
        1800.0,
        900.0,
    )
    library = load_library()
    food, chips = library.find("food_waste_household_mixed"), library.find("bark_chips_fine")
    column.load((Portion(food, 6.0, 14.0), Portion(chips, 1.5, 6.0)))
    told = []
    for hour in HOURS:
        column.run_to(hour)
        told.append(max(one.temperature_centre_celsius for one in column.section().layers))
    return np.array(told)


@pytest.fixture(scope="module")
def readings():
    return predicted(np.array([0.8, -0.7])) + np.array([0.6, -0.4, 0.3])


@pytest.fixture(scope="module")
def by_emcee(readings):
    def log_probability(x):
        if (np.abs(x) > 3.5).any():
            return -np.inf
        misfit = (predicted(x) - readings) / ERROR
        return -0.5 * float(x @ x + misfit @ misfit)

    np.random.seed(4)  # noqa: NPY002 - emcee draws from the global stream
    sampler = emcee.EnsembleSampler(WALKERS, 2, log_probability)
    start = np.random.default_rng(3).normal(0.0, 0.3, (WALKERS, 2))
    sampler.run_mcmc(start, STEPS)
    return sampler.get_chain(discard=BURNT, flat=True)


def test_mean_and_spread_agree(readings, by_emcee):
    draws = np.random.default_rng(9)
    prior = draws.normal(0.0, 1.0, (2, MEMBERS))

    def every(values):
        return np.array([predicted(one) for one in values.T]).T

    after = smooth(prior, every, readings, np.full(len(HOURS), ERROR), UPDATES, seed=5)
    mean, spread = by_emcee.mean(axis=0), by_emcee.std(axis=0)
    # the readings tell something of both, or agreeing would mean nothing
    assert (spread < 0.9).all()
    assert (np.abs(after.mean(axis=1) - mean) < 0.4 * spread).all()
    assert after.std(axis=1) == pytest.approx(spread, rel=0.35)
    told = every(after)
    by_chain = every(by_emcee[:: by_emcee.shape[0] // 200].T)
    assert np.median(told, axis=1) == pytest.approx(np.median(by_chain, axis=1), abs=ERROR)
