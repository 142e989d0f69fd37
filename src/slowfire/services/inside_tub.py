"""The liquid of every member: how much, how strong, what comes, when the tub runs over."""

from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column.positions import (
    L_MASS_DUG,
    L_MASS_LOADED,
    TUB_NITROGEN,
    TUB_POTASSIUM,
    TUB_WATER,
)
from slowfire.garden.nutrients import yield_share
from slowfire.liquid import conductivity_of, days_to_spill, thinned_by_rain
from slowfire.services.inside_run import Estimate, liquid_books

LEAST_LITRES = 0.05  # less is a film on the floor of the tub; ours
LEAST_TUB_LITRES = 0.1
LEAST_SHARE = 0.1  # of the members, that must hold liquid for its strength to be told; ours
ENDLESS_DAYS = 1000.0
MOST = 10.0  # that the functions of the liquid take [m^3]


@dataclass(frozen=True, eq=False)
class Tubs:
    """The tub of every member; each array has shape (members,).

    Attributes
    ----------
    liquid_share : float
        Of the members, that hold liquid to speak of [-].
    strength : ndarray or None
        Conductivity, NaN where there is none; None if too few have any [mS/cm].
    weekly : ndarray
        That comes in the days ahead, rain and all [L/week].
    rain : ndarray
        That falls into bin and tub in the days ahead [L].
    thinned : ndarray or None
        Conductivity of what is there now, if all that rain ran down to it [mS/cm].
    days : ndarray or None
        Until it runs over at that flow; None without a size [day].
    ahead_days : float
        How many days ahead those are [day].
    """

    liquid_share: float
    strength: FloatArray | None
    weekly: FloatArray
    rain: FloatArray
    thinned: FloatArray | None
    days: FloatArray | None
    ahead_days: float


def tubs_of(made: Estimate, tub_litres: float) -> Tubs:
    """Gather what an estimate knows of the liquid.

    Parameters
    ----------
    made : Estimate
        Run with its days ahead [-].
    tub_litres : float
        What the tub holds; 0 if nobody said [L].

    Returns
    -------
    Tubs

    Notes
    -----
    Ours: all nitrogen in the liquid counts as ammonium. A tub that has run over is as strong as
    all that came since it was emptied. The flow is the mean of the days ahead, whose weather
    differs by member.
    """
    columns = made.found.ensemble.columns
    now = np.array([liquid_books(one) for one in columns])
    ahead = max((made.days[-1] - made.hour) / 24.0, 1e-9)
    more = np.maximum(made.liquid_later - now, 0.0)
    came, drained, fell = more.T
    # what came to the tub and not from the base fell into it
    rain = fell + np.maximum(came - drained, 0.0)
    state = np.array([one.bin_state for one in columns])
    held = state[:, TUB_WATER]
    wet = held >= LEAST_LITRES
    strength = thinned = None
    if wet.mean() >= LEAST_SHARE:
        strength, thinned = np.full(held.size, np.nan), np.full(held.size, np.nan)
        for k in np.flatnonzero(wet):
            volume = min(held[k] / 1000.0, MOST)
            strength[k] = conductivity_of(
                volume, float(state[k, TUB_POTASSIUM]), float(state[k, TUB_NITROGEN])
            )
            thinned[k] = thinned_by_rain(
                float(strength[k]), volume, min(float(rain[k]) / 1000.0, MOST)
            )
    days = None
    if tub_litres >= LEAST_TUB_LITRES:
        holds = tub_litres / 1000.0
        days = np.array(
            [
                days_to_spill(min(float(one) / 1000.0, holds), holds, float(flow) / 1000.0 / ahead)
                for one, flow in zip(held, came, strict=True)
            ]
        )
        days = np.minimum(days, ENDLESS_DAYS)
    return Tubs(float(wet.mean()), strength, 7.0 * came / ahead, rain, thinned, days, ahead)


def dug_shares(made: Estimate) -> FloatArray | None:
    """What was dug out over what went in, by wet mass, of each member [-].

    Parameters
    ----------
    made : Estimate
        See `inside_run` [-].

    Returns
    -------
    ndarray, shape (members,), or None
        None before the first dig-out, and where nobody knows what went in: the record begins with
        a stock-take.
    """
    books = np.array(
        [one.ledger[[L_MASS_LOADED, L_MASS_DUG]] for one in made.found.ensemble.columns]
    )
    if made.record.plan.begin is not None or float(np.median(books[:, 1])) <= 0.0:
        return None
    return np.array([yield_share(float(put), float(dug)) for put, dug in books])
