"""Classes of maturity tests, from one editable file."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from slowfire.errors import InvalidInput
from slowfire.hygiene.packaged import number_in, packaged_text, read_rows

FILE = "maturity_classes.csv"
PASS, MARGINAL, FAIL, REFUSED = "pass", "marginal", "fail", "refused"
_HEADINGS = ("scale", "unit", "group", "class", "up_to", "end_included", "verdict", "words")


@dataclass(frozen=True)
class MaturityClass:
    """Where a measured value falls.

    Attributes
    ----------
    scale, unit, group : str
        What was measured, its unit, and the group of tests it belongs to: stability, plants, ratio,
        condition or age.
    name : str
        The class.
    verdict : str
        pass, marginal or fail.
    words, source, confidence : str
    """

    scale: str
    unit: str
    group: str
    name: str
    verdict: str
    words: str
    source: str
    confidence: str


@dataclass(frozen=True)
class Scale:
    """All classes of one test, lowest first.

    Attributes
    ----------
    name : str
    ends : tuple of (float, bool)
        Upper end of each class in the unit of the scale, and whether it still belongs to it.
    classes : tuple of MaturityClass
    """

    name: str
    ends: tuple[tuple[float, bool], ...]
    classes: tuple[MaturityClass, ...]

    def class_of(self, value: float) -> MaturityClass:
        """The class of a value in the unit of the scale."""
        for (end, included), found in zip(self.ends, self.classes, strict=True):
            if value < end or (included and value <= end):
                return found
        return self.classes[-1]


@cache
def scales() -> Mapping[str, Scale]:
    """Every scale by name.

    Returns
    -------
    mapping of str to Scale

    Raises
    ------
    InvalidInput
        If the file cannot be read.

    Notes
    -----
    Values from memory say so in their `confidence`. The file is `data/maturity_classes.csv`.
    Exact: nothing is computed.

    Examples
    --------
    >>> scales()["c_to_n"].class_of(25.0).verdict
    'pass'
    """
    return read_scales(packaged_text(FILE))


def read_scales(text: str) -> dict[str, Scale]:
    """Read classes from text of the form of the packaged file.

    Parameters
    ----------
    text : str
        Comma-separated, with the headings of the packaged file.

    Returns
    -------
    dict of str to Scale

    Raises
    ------
    InvalidInput
        With the line and what is wrong with it.

    Notes
    -----
    Exact.

    Examples
    --------
    >>> [one.name for one in read_scales(packaged_text(FILE))["growth"].classes]
    ['poor', 'fair', 'good']
    """
    ends: dict[str, list[tuple[float, bool]]] = {}
    classes: dict[str, list[MaturityClass]] = {}
    for row in read_rows(text, FILE, _HEADINGS, unique=None):
        where = f"{FILE}, line {row['line']}"
        name = row["scale"]
        end = number_in(row, "up_to", FILE, 0.0, 1e6)
        known = ends.setdefault(name, [])
        if known and known[-1][0] >= (math.inf if end is None else end):
            raise InvalidInput(f"{where}: the classes of {name} must rise and the last be open.")
        if row["verdict"] not in (PASS, MARGINAL, FAIL):
            raise InvalidInput(f"{where}: the verdict is one of {PASS}, {MARGINAL}, {FAIL}.")
        known.append((math.inf if end is None else end, row["end_included"] == "yes"))
        classes.setdefault(name, []).append(
            MaturityClass(
                scale=name,
                unit=row["unit"],
                group=row["group"],
                name=row["class"],
                verdict=row["verdict"],
                words=row["words"],
                source=row["source"],
                confidence=row["confidence"],
            )
        )
    for name, known in ends.items():
        if known[-1][0] != math.inf:
            raise InvalidInput(f"{FILE}: the last class of {name} needs an empty up_to.")
    return {name: Scale(name, tuple(ends[name]), tuple(classes[name])) for name in ends}
