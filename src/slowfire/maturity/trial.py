"""What a test that somebody did oneself came to."""

from dataclasses import dataclass

from slowfire.maturity.classes import MaturityClass


@dataclass(frozen=True)
class Trial:
    """One test and its verdict.

    Attributes
    ----------
    name, group : str
        Which test; stability, plants, condition or weedkiller.
    verdict : str
        pass, marginal, fail or refused (it cannot be judged).
    words : str
        What it means and what to do.
    source : str
    percent : float or None
        Compost by control, where plants were counted.
    decides : bool
        Whether it was done well enough to count for a yes: with a control where one is needed.
    retest_weeks : tuple of (float, float) or None
        When to do it again.
    """

    name: str
    group: str
    verdict: str
    words: str
    source: str
    percent: float | None = None
    decides: bool = False
    retest_weeks: tuple[float, float] | None = None


def measured_trial(found: MaturityClass) -> Trial:
    """A value from a laboratory, or measured oneself, as a test among others.

    Parameters
    ----------
    found : MaturityClass
        Class of the value, see `stability` and `chemistry`.

    Returns
    -------
    Trial
        Named after its scale.

    Notes
    -----
    Exact: verdict and words are those of the class.

    Examples
    --------
    >>> from slowfire.maturity.stability import oxygen_uptake_class
    >>> measured_trial(oxygen_uptake_class(8.0)).name
    'oxygen uptake'
    """
    return Trial(
        found.scale.replace("_", " "),
        found.group,
        found.verdict,
        f"{found.words}.",
        f"{found.source} ({found.confidence})",
        decides=True,
    )
