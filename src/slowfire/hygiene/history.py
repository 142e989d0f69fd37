"""A rule held against the hours of heat that a simulated layer has been through.

A history is an array whose last three axes are place (centre, edge), degree (40 to 80 degC, hours
at or above each) and measure (all hours added up, longest unbroken run, present run), in hours.
"""

import math
from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput, check_range
from slowfire.hygiene.rules import Rule

DEGREE_LOW = 40
DEGREES = 41
CENTRE, EDGE = 0, 1
TOTAL, LONGEST, PRESENT = 0, 1, 2
HISTORY_SHAPE = (2, DEGREES, 3)
ROUNDING = 0.01  # histories are kept in single precision, step by step [h]
DRY_LIMIT = 0.40  # below this moisture the histories count hours as too dry [kg/kg]


def check_history(history: FloatArray, dry_hours: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Heat histories and dry hours as arrays of floats, once they fit each other.

    Parameters
    ----------
    history : ndarray, shape (..., 2, 41, 3)
        Hours by place, degree and measure [h].
    dry_hours : ndarray, shape (...,)
        Hours too dry for heat to count [h].

    Returns
    -------
    tuple of ndarray

    Raises
    ------
    InvalidInput
        If the shapes differ, or an hour is negative or no number.

    Notes
    -----
    Exact.

    Examples
    --------
    >>> check_history(np.zeros((5, 2, 41, 3)), np.zeros(5))[0].shape
    (5, 2, 41, 3)
    """
    history = np.asarray(history, dtype=np.float64)
    dry_hours = np.asarray(dry_hours, dtype=np.float64)
    if history.shape[-3:] != HISTORY_SHAPE or history.shape[:-3] != dry_hours.shape:
        raise InvalidInput(
            f"The heat history has the shape {history.shape} and the dry hours {dry_hours.shape}; "
            "allowed is (..., 2, 41, 3) with dry hours of the same leading axes."
        )
    if not (np.isfinite(history).all() and np.isfinite(dry_hours).all()):
        raise InvalidInput("A heat history holds what is no number; give hours from 0 up.")
    if (history < 0.0).any() or (dry_hours < 0.0).any():
        raise InvalidInput("A heat history holds negative hours; give hours from 0 up.")
    return history, dry_hours


def share_hotter(
    limit_celsius: float, centre_celsius: FloatArray, edge_celsius: FloatArray
) -> FloatArray:
    """Share of the area of a cross-section that is hotter than a limit.

    ::

        s = (T_c - T_limit) / (T_c - T_e), clipped to 0..1

    with T_c the temperature at the centre and T_e that at the edge.

    Parameters
    ----------
    limit_celsius : float
        The limit [degC], usually 40 to 70.
    centre_celsius : ndarray, shape (...,)
        At the centre [degC].
    edge_celsius : ndarray, shape (...,)
        At the edge [degC].

    Returns
    -------
    ndarray, shape (...,)
        Share of the area [-].

    Notes
    -----
    Exact for a round section whose temperature falls off as a parabola: a share s of the area, from
    the centre out, ends where the temperature is T_c - s (T_c - T_e).

    Examples
    --------
    >>> float(share_hotter(55.0, np.array(65.0), np.array(45.0)))
    0.5
    """
    centre, edge = np.broadcast_arrays(
        np.asarray(centre_celsius, dtype=np.float64), np.asarray(edge_celsius, dtype=np.float64)
    )
    return _share(centre, edge, limit_celsius)


def _share(centre: FloatArray, edge: FloatArray, limit: float) -> FloatArray:
    """From the centre out: where a value falling by area from centre to edge crosses a limit."""
    fall = centre - edge
    flat = np.abs(fall) < 1e-12
    inside = (centre - limit) / np.where(flat, 1.0, fall)
    # an edge hotter than the centre: the share lies outside the crossing
    share = np.where(fall < 0.0, 1.0 - inside, inside)
    level = np.where(centre >= limit - ROUNDING, 1.0, 0.0)
    return np.asarray(np.clip(np.where(flat, level, share), 0.0, 1.0))


def counted_hours(
    rule: Rule,
    history: FloatArray,
    dry_hours: FloatArray,
    hours_since_mixed: float | None = None,
) -> FloatArray:
    """Hours of a heat history that count by a rule, at centre and edge.

    ::

        h = max(H - H_above - D, 0)

    with H the hours at or above the lower limit, added up or in the longest run as the rule counts,
    H_above those above its upper limit and D the hours too dry for heat to count.

    Parameters
    ----------
    rule : Rule
        A run of hours, see `rules`.
    history : ndarray, shape (..., 2, 41, 3)
        Hours by place, degree and measure [h].
    dry_hours : ndarray, shape (...,)
        Hours too dry for heat to count [h].
    hours_since_mixed : float or None
        Since material from outside was mixed in [h]: only the present run counts, and no longer
        than that. None if nothing was.

    Returns
    -------
    ndarray, shape (..., 2)
        At centre and edge [h].

    Raises
    ------
    InvalidInput
        If the rule is no run of hours, or the arrays do not fit.

    Notes
    -----
    Ours, on the safe side: a limit between two whole degrees is raised to the next one, and dry or
    too hot hours are taken off the very run that counts. Where a soft rule is judged, or several
    runs are asked for, a history can only show hours added up: it may hold too much, never too
    little.

    Examples
    --------
    >>> from slowfire.hygiene.rules import find_rule
    >>> history = np.zeros((2, 41, 3))
    >>> history[0, :16] = 80.0
    >>> counted_hours(find_rule("US_NOP_VESSEL"), history, np.array(2.0)).tolist()
    [78.0, 0.0]
    """
    needed = rule.needed_hours
    history, dry_hours = check_history(history, dry_hours)
    low = math.ceil(rule.lower_celsius) - DEGREE_LOW
    measure = LONGEST if rule.unbroken else TOTAL
    hours = history[..., low, measure]
    if hours_since_mixed is not None:
        check_range("Hours since it was mixed", hours_since_mixed, 0.0, 1e6, "h")
        hours = np.minimum(history[..., low, PRESENT], hours_since_mixed)
    if rule.upper_celsius < DEGREE_LOW + DEGREES - 1:
        above = math.floor(rule.upper_celsius) + 1 - DEGREE_LOW
        hours = hours - history[..., above, TOTAL]
    hours = np.maximum(hours - dry_hours[..., None], 0.0)
    if rule.inner_celsius is not None and rule.inner_hours is not None:
        inner = history[..., math.ceil(rule.inner_celsius) - DEGREE_LOW, TOTAL]
        short = np.maximum(inner - dry_hours[..., None], 0.0) < rule.inner_hours - ROUNDING
        hours = np.where(short, np.minimum(hours, needed - 2.0 * ROUNDING), hours)
    return hours


def share_qualified(hours: FloatArray, needed_hours: float) -> FloatArray:
    """Share of the area of a cross-section that was hot for long enough.

    ::

        s = (h_c - h) / (h_c - h_e), clipped to 0..1

    with h_c the hours at the centre, h_e those at the edge and h those needed.

    Parameters
    ----------
    hours : ndarray, shape (..., 2)
        Hours that count at centre and edge, see `counted_hours` [h].
    needed_hours : float
        Hours that a rule asks for [h].

    Returns
    -------
    ndarray, shape (...,)
        Share of the area, from the centre out [-].

    Notes
    -----
    Ours: between centre and edge the hours are taken to fall evenly with the area, as a parabola of
    temperature does at any one time (see `share_hotter`). Hours do not fall quite so, the more the
    shorter it was hot; the share is a picture, no proof. It is 1 if the edge has the hours, 0 if
    the centre has not.

    Examples
    --------
    >>> share_qualified(np.array([[100.0, 44.0], [71.9, 0.0], [80.0, 72.0]]), 72.0).tolist()
    [0.5, 0.0, 1.0]
    """
    hours = np.asarray(hours, dtype=np.float64)
    return _share(hours[..., CENTRE], hours[..., EDGE], needed_hours)


@dataclass(frozen=True, eq=False)
class EnsembleHeat:
    """A rule over the layers of an ensemble.

    Attributes
    ----------
    centre, edge : ndarray, shape (...,)
        Share of the members in which it was met there [-].
    share : ndarray, shape (...,)
        Mean share of the cross-section that was hot for long enough [-].
    whole : ndarray, shape (...,)
        Share of the members in which it was met at both [-].
    centre_hours, edge_hours : ndarray, shape (...,)
        Hours that count in the middle of the ensemble [h].
    """

    centre: FloatArray
    edge: FloatArray
    share: FloatArray
    whole: FloatArray
    centre_hours: FloatArray
    edge_hours: FloatArray


def ensemble_heat(
    rule: Rule,
    histories: FloatArray,
    dry_hours: FloatArray,
    *,
    turnings: int = 0,
    hours_since_mixed: float | None = None,
) -> EnsembleHeat:
    """Probability in an ensemble that a rule was met, at centre and edge of each layer.

    ::

        p = (members with h >= h_rule and n >= n_rule) / members

    Parameters
    ----------
    rule : Rule
        A run of hours, see `rules`.
    histories : ndarray, shape (members, ..., 2, 41, 3)
        Hours by place, degree and measure [h].
    dry_hours : ndarray, shape (members, ...)
        Hours too dry for heat to count [h].
    turnings : int
        Turnings while it was hot [-].
    hours_since_mixed : float or None
        Since material from outside was mixed in [h]; None if nothing was.

    Returns
    -------
    EnsembleHeat

    Raises
    ------
    InvalidInput
        If there is no member, the rule is no run of hours, or the arrays do not fit.

    Notes
    -----
    Ours. Where a rule asks for several runs each before a turning, the members that have all of
    these hours added up are counted: an upper bound. A model never proves; see `verdict`.

    Examples
    --------
    >>> from slowfire.hygiene.rules import find_rule
    >>> histories = np.zeros((4, 2, 41, 3))
    >>> histories[:3, 0, :16] = 80.0
    >>> float(ensemble_heat(find_rule("US_NOP_VESSEL"), histories, np.zeros(4)).centre)
    0.75
    """
    histories, dry_hours = check_history(histories, dry_hours)
    if histories.ndim < 4 or histories.shape[0] == 0:
        raise InvalidInput("There are no members; give the histories of at least one bin.")
    hours = counted_hours(rule, histories, dry_hours, hours_since_mixed)
    met = hours >= rule.needed_hours - ROUNDING
    if rule.runs > 1:
        low = math.ceil(rule.lower_celsius) - DEGREE_LOW
        total = histories[..., low, TOTAL]
        if hours_since_mixed is not None:
            total = np.minimum(total, hours_since_mixed)
        met &= total >= rule.runs * rule.needed_hours - ROUNDING
    met &= turnings >= max(rule.turnings, rule.runs if rule.runs > 1 else 0)
    share = share_qualified(hours, rule.needed_hours)
    chance = met.mean(axis=0)
    return EnsembleHeat(
        chance[..., CENTRE],
        chance[..., EDGE],
        share.mean(axis=0),
        met.all(axis=-1).mean(axis=0),
        np.median(hours[..., CENTRE], axis=0),
        np.median(hours[..., EDGE], axis=0),
    )
