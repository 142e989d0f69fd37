"""Amounts as they were written, in litres."""

from slowfire import records as r
from slowfire.errors import SlowfireError
from slowfire.measures import Measures, default_measures


def litres_of(measures: Measures, amount: r.Amount) -> float:
    """Volume of an amount; 0 where it was weighed, or its measure is known no more [L].

    Parameters
    ----------
    measures : Measures
        Of the place [-].
    amount : Amount
        As written [-].

    Returns
    -------
    float
    """
    try:
        return amount.middle * (measures.named(amount.unit).litres or 0.0)
    except SlowfireError:
        return 0.0


def barrow_litres(site: r.Site) -> float:
    """Volume of one barrow, as the place or else the usual kitchen and yard measures have it [L].

    Parameters
    ----------
    site : Site
        The place [-].

    Returns
    -------
    float
    """
    return litres_of(default_measures().with_own(site.measures), r.Amount(1.0, "barrow"))
