"""Ratios and ages that go with finished compost, and the rule that joins tests of two groups."""

from collections.abc import Sequence
from dataclasses import dataclass

from slowfire.errors import check_range
from slowfire.maturity.classes import FAIL, PASS, REFUSED, MaturityClass, scales
from slowfire.maturity.trial import Trial


def c_to_n_class(c_to_n: float) -> MaturityClass:
    """Class of the ratio of carbon to nitrogen.

    Parameters
    ----------
    c_to_n : float
        Mass of carbon over mass of nitrogen [-], usually 8 to 40.

    Returns
    -------
    MaturityClass

    Raises
    ------
    InvalidInput
        If it is out of range; food cannot have 2.

    Notes
    -----
    A low ratio is needed and proves nothing: raw grass has one as well.

    References
    ----------
    ccqc2001

    Examples
    --------
    >>> c_to_n_class(12.0).verdict, c_to_n_class(35.0).name
    ('pass', 'ties up nitrogen')
    """
    check_range("C:N", c_to_n, 4.0, 1000.0)
    return scales()["c_to_n"].class_of(c_to_n)


def ammonium_class(ammonium_mg_per_kg_dry: float) -> MaturityClass:
    """Class of the ammonium content.

    Parameters
    ----------
    ammonium_mg_per_kg_dry : float
        Nitrogen as ammonium for each kilogram of dry matter [mg/kg], usually 10 to 3000.

    Returns
    -------
    MaturityClass

    Raises
    ------
    InvalidInput
        If it is out of range.

    Notes
    -----
    Limits from memory.

    References
    ----------
    ccqc2001

    Examples
    --------
    >>> ammonium_class(500.0).name
    'mature'
    """
    check_range("Ammonium", ammonium_mg_per_kg_dry, 0.0, 50000.0, "mg/kg")
    return scales()["ammonium"].class_of(ammonium_mg_per_kg_dry)


def ammonium_to_nitrate_class(ammonium_to_nitrate: float) -> MaturityClass:
    """Class of the ratio of ammonium to nitrate.

    Parameters
    ----------
    ammonium_to_nitrate : float
        Nitrogen as ammonium over nitrogen as nitrate [-], usually 0.1 to 20.

    Returns
    -------
    MaturityClass

    Raises
    ------
    InvalidInput
        If it is out of range.

    Notes
    -----
    Limits from memory. With next to no mineral nitrogen the ratio says little.

    References
    ----------
    ccqc2001, tmecc2002

    Examples
    --------
    >>> ammonium_to_nitrate_class(0.4).name, ammonium_to_nitrate_class(4.0).verdict
    ('very mature', 'fail')
    """
    check_range("Ammonium to nitrate", ammonium_to_nitrate, 0.0, 10000.0)
    return scales()["ammonium_to_nitrate"].class_of(ammonium_to_nitrate)


def curing_class(days: float) -> MaturityClass:
    """Whether it has cured for as long as is usual.

    Parameters
    ----------
    days : float
        Since the last heat went out of it and nothing raw was added [day], usually 0 to 365.

    Returns
    -------
    MaturityClass

    Raises
    ------
    InvalidInput
        If it is out of range.

    Notes
    -----
    Three weeks at least (Canada, from memory); two to six months at home (common practice, no
    source). Curing has begun when a cool heap does not warm up again after turning. Age proves
    nothing.

    References
    ----------
    ccme2005

    Examples
    --------
    >>> curing_class(10.0).verdict, curing_class(90.0).verdict
    ('fail', 'pass')
    """
    check_range("Days of curing", days, 0.0, 3650.0, "days")
    return scales()["curing"].class_of(days)


@dataclass(frozen=True)
class GroupRule:
    """Outcome of the rule that joins tests of two groups.

    Attributes
    ----------
    mature : bool
    words : str
        What passed and what is wanting.
    source, confidence : str
    """

    mature: bool
    words: str
    source: str = "CCQC Compost Maturity Index 2001"
    confidence: str = "from memory"


def mature_by_groups(c_to_n: float | None, results: Sequence[MaturityClass | Trial]) -> GroupRule:
    """Call compost mature by its C:N and one passed test of each of two groups.

    ::

        mature = (C:N <= 25) and (a stability test passed) and (a plant test passed)

    Parameters
    ----------
    c_to_n : float or None
        Mass of carbon over mass of nitrogen [-], usually 8 to 40; None if not known.
    results : sequence of MaturityClass or Trial
        Tests of the groups stability (oxygen, carbon dioxide, warm-up) and plants (ammonium, its
        ratio to nitrate, germination with a control).

    Returns
    -------
    GroupRule

    Raises
    ------
    InvalidInput
        If the C:N is out of range.

    Notes
    -----
    The rule of California's quality council, from memory; ours: one failed test of either group
    is enough to say no, whatever else passed, and a plant test without a control is none.

    References
    ----------
    ccqc2001

    Examples
    --------
    >>> mature_by_groups(14.0, [ammonium_class(60.0)]).mature
    False
    """
    counted = [
        one
        for one in results
        if one.verdict != REFUSED and (not isinstance(one, Trial) or one.decides)
    ]
    failed = [one for one in results if one.verdict == FAIL]
    wanting = []
    if c_to_n is None:
        wanting.append("the C:N")
    elif c_to_n_class(c_to_n).verdict != PASS:
        wanting.append(f"a C:N of 25 or less (it is {c_to_n:.0f})")
    for group, name in (("stability", "a test of stability"), ("plants", "a test with plants")):
        if not any(one.group == group and one.verdict == PASS for one in counted):
            wanting.append(f"{name} that passed")
    if failed:
        told = "; ".join(one.words for one in failed)
        return GroupRule(False, f"Not mature: a test failed ({told}).")
    if wanting:
        return GroupRule(False, f"Not shown to be mature: wanting is {' and '.join(wanting)}.")
    return GroupRule(True, "Mature: C:N, a test of stability and a test with plants all passed.")
