"""Plantings and nitrogen limits, from tables that may be edited, each row with its source."""

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slowfire.errors import InvalidInput, UnknownName
from slowfire.refusals import nearest

PLANTINGS, LIMITS = "plantings.csv", "nitrogen_limits.csv"
WAYS = ("mulch", "dug-in", "topdress", "potting", "seedlings")
NITROGEN, DRY_MATTER = "nitrogen", "dry_matter"


@dataclass(frozen=True)
class Planting:
    """What grows on a bed, and what it wants of compost.

    Attributes
    ----------
    id, name, kind : str
        Kind is woody, bed, vegetables, lawn or potting.
    nitrogen, phosphate, potash : float or None
        Taken off by a year's crop as N, P2O5 and K2O; None where nobody counts [kg/m^2].
    ways : tuple of str
        How compost may be used there.
    least_depth, most_depth : float or None
        Of a layer; None for pots [m].
    sieve : float or None
        Mesh to sieve by; None if none is needed [m].
    needs : str
        Verdict that it needs: empty, finished or seedlings.
    raw : bool
        Whether it is eaten raw and grows near the soil.
    source, confidence : str
        Where that comes from, and how sure it is.
    """

    id: str
    name: str
    kind: str
    nitrogen: float | None
    phosphate: float | None
    potash: float | None
    ways: tuple[str, ...]
    least_depth: float | None
    most_depth: float | None
    sieve: float | None
    needs: str
    raw: bool
    source: str
    confidence: str


@dataclass(frozen=True)
class Limit:
    """How much may be spread, by a rule of some place.

    Attributes
    ----------
    id, jurisdiction, name : str
        Whose rule.
    quantity : str
        nitrogen or dry_matter.
    amount : float
        In so many years [kg/m^2].
    years : float
        [year].
    use : str
        Way that it holds for, or any.
    note, source, confidence : str
        What it counts, where it comes from, how sure that is.
    """

    id: str
    jurisdiction: str
    name: str
    quantity: str
    amount: float
    years: float
    use: str
    note: str
    source: str
    confidence: str

    @property
    def yearly(self) -> float:
        """Amount for one year, spread evenly [kg/m^2]."""
        return self.amount / self.years


@cache
def plantings() -> Mapping[str, Planting]:
    """Every planting by its id.

    Returns
    -------
    mapping of str to Planting
        In the order of the table.

    Raises
    ------
    InvalidInput
        With the line, if the table cannot be read.

    Notes
    -----
    Exact: the table as shipped; 1 g/m2 is 10 kg/ha.

    Examples
    --------
    >>> plantings()["kale"].nitrogen
    0.014
    """
    found: dict[str, Planting] = {}
    for line, row in _rows(PLANTINGS):
        ways = tuple(row["ways"].split())
        if not set(ways) <= set(WAYS):
            raise InvalidInput(f"{PLANTINGS}, line {line}: allowed ways are {', '.join(WAYS)}.")
        found[row["id"]] = Planting(
            row["id"],
            row["name"],
            row["kind"],
            _number(row, "nitrogen_g_per_m2", line, 1e-3),
            _number(row, "p2o5_g_per_m2", line, 1e-3),
            _number(row, "k2o_g_per_m2", line, 1e-3),
            ways,
            _number(row, "least_mm", line, 1e-3),
            _number(row, "most_mm", line, 1e-3),
            _number(row, "sieve_mm", line, 1e-3),
            row["needs"],
            row["raw"] == "yes",
            row["source"],
            row["confidence"],
        )
    return found


def find_planting(word: str) -> Planting:
    """A planting by its id or name.

    Parameters
    ----------
    word : str
        Such as kale, or Kale and chard.

    Returns
    -------
    Planting

    Raises
    ------
    UnknownName
        If nothing is called so; the message lists what there is.

    Notes
    -----
    Exact: capital letters do not matter.

    Examples
    --------
    >>> find_planting("Trees and shrubs").id
    'trees_shrubs'
    """
    wanted = word.strip().casefold()
    for one in plantings().values():
        if wanted in (one.id, one.name.casefold()):
            return one
    names = [one.name for one in plantings().values()]
    raise UnknownName(
        f"There is no planting '{word}'; known are {', '.join(names)}.{nearest(word, names)}"
    )


@cache
def nitrogen_limits() -> Mapping[str, Limit]:
    """Every limit by its id.

    Returns
    -------
    mapping of str to Limit
        In the order of the table.

    Raises
    ------
    InvalidInput
        With the line, if the table cannot be read.

    Notes
    -----
    Exact: the table as shipped; limits are for farms, and a yardstick for gardens.

    Examples
    --------
    >>> round(nitrogen_limits()["UK_NVZ_FIELD"].amount, 6)
    0.025
    """
    found: dict[str, Limit] = {}
    for line, row in _rows(LIMITS):
        if row["quantity"] not in (NITROGEN, DRY_MATTER):
            raise InvalidInput(f"{LIMITS}, line {line}: quantity is nitrogen or dry_matter.")
        # nitrogen stands there in kg/ha, dry matter in t/ha
        scale = 1e-4 if row["quantity"] == NITROGEN else 0.1
        amount, years = _number(row, "limit", line, scale), _number(row, "years", line, 1.0)
        if not amount or not years:
            raise InvalidInput(f"{LIMITS}, line {line}: limit and years must be above 0.")
        found[row["id"]] = Limit(
            row["id"],
            row["jurisdiction"],
            row["name"],
            row["quantity"],
            amount,
            years,
            row["use"],
            row["note"],
            row["source"],
            row["confidence"],
        )
    return found


def limits_of(jurisdictions: Iterable[str]) -> tuple[Limit, ...]:
    """Limits of the places chosen, the strictest for a year first.

    Parameters
    ----------
    jurisdictions : iterable of str
        Codes such as UK or AT; none chosen gives none.

    Returns
    -------
    tuple of Limit

    Raises
    ------
    UnknownName
        If a code is not known; the message lists those that are.

    Notes
    -----
    Ours: where two places are chosen, both are told and the stricter one goes first.

    Examples
    --------
    >>> [one.id for one in limits_of(["at"])]
    ['AT_ARABLE', 'AT_GRASS']
    """
    every = nitrogen_limits().values()
    codes = sorted({one.jurisdiction for one in every})
    chosen = []
    for word in jurisdictions:
        code = word.strip().upper()
        if code not in codes:
            raise UnknownName(
                f"No limit is known for '{word}'; known are {', '.join(codes)}. Ask the local "
                "authority."
            )
        chosen += [one for one in every if one.jurisdiction == code]
    return tuple(sorted(dict.fromkeys(chosen), key=lambda one: (one.quantity, one.yearly)))


def _rows(file: str) -> list[tuple[int, dict[str, str]]]:
    text = files("slowfire").joinpath("data", file).read_text(encoding="utf-8")
    rows, known = [], set()
    for line, raw in enumerate(csv.DictReader(text.splitlines()), start=2):
        if None in raw or None in raw.values():
            raise InvalidInput(f"{file}, line {line}: put a text with a comma in quotes.")
        row = {key: cell.strip() for key, cell in raw.items()}
        if not row["id"] or row["id"] in known or not row["source"]:
            raise InvalidInput(f"{file}, line {line}: an id of its own and a source are needed.")
        known.add(row["id"])
        rows.append((line, row))
    return rows


def _number(row: Mapping[str, str], column: str, line: int, scale: float) -> float | None:
    if not row[column]:
        return None
    try:
        return float(row[column]) * scale
    except ValueError as problem:
        raise InvalidInput(
            f"Line {line}: {column} is '{row[column]}'; write a number."
        ) from problem
