"""Rows of the tables of rules, organisms and seeds shipped with the package."""

import csv
from collections.abc import Sequence
from importlib.resources import files

from slowfire.errors import InvalidInput

CONFIDENCES = (
    "found",
    "found second-hand",
    "partly from memory",
    "from memory",
    "common practice",
    "ours",
)


def packaged_text(file: str) -> str:
    """Text of one shipped table.

    Parameters
    ----------
    file : str
        Its name, such as hygiene_rules.csv.

    Returns
    -------
    str

    Notes
    -----
    Exact: the text as it is shipped.

    Examples
    --------
    >>> packaged_text("hygiene_rules.csv").startswith("id,jurisdiction")
    True
    """
    return files("slowfire").joinpath("data", file).read_text(encoding="utf-8")


def read_rows(
    text: str, file: str, headings: Sequence[str], unique: str | None = "id"
) -> list[dict[str, str]]:
    """Rows of a table, each checked for its headings, its length, its source and its name.

    Parameters
    ----------
    text : str
        Comma-separated, headings first.
    file : str
        Name that messages give it.
    headings : sequence of str
        Columns it must have.
    unique : str or None
        Column whose cells must differ; None if none must.

    Returns
    -------
    list of dict
        Stripped cells by heading, with the line under `line`.

    Raises
    ------
    InvalidInput
        With the line and what is wrong with it.

    Notes
    -----
    Exact: cells stay text.

    Examples
    --------
    >>> told = "id,source,confidence\\na,ours,ours"
    >>> read_rows(told, "list.csv", ("id", "source", "confidence"))[0]["id"]
    'a'
    """
    reader = csv.DictReader(text.splitlines())
    missing = [one for one in headings if one not in (reader.fieldnames or ())]
    if missing:
        raise InvalidInput(f"{file}, line 1: the column {missing[0]} is missing; put it back.")
    rows: list[dict[str, str]] = []
    known: set[str] = set()
    for line, raw in enumerate(reader, start=2):
        if None in raw or None in raw.values():
            raise InvalidInput(
                f"{file}, line {line}: too many or too few cells; put a text with a comma in "
                "quotes."
            )
        row = {key: cell.strip() for key, cell in raw.items()}
        if unique is not None:
            name = row[unique]
            if not name or name in known:
                raise InvalidInput(
                    f"{file}, line {line}: the {unique} {name!r} is missing or stands twice."
                )
            known.add(name)
        if not row["source"] or row["confidence"] not in CONFIDENCES:
            raise InvalidInput(
                f"{file}, line {line}: a source and a confidence are needed; confidence is one of "
                f"{', '.join(CONFIDENCES)}."
            )
        rows.append(row | {"line": str(line)})
    return rows


def number_in(
    cells: dict[str, str], column: str, file: str, smallest: float, largest: float
) -> float | None:
    """Number in a cell, None if it is empty.

    Parameters
    ----------
    cells : dict
        One of `read_rows`.
    column : str
        Its heading.
    file : str
        Name that messages give the table.
    smallest, largest : float
        Range allowed, in the unit of the column [-].

    Returns
    -------
    float or None
        In the unit of the column [-].

    Raises
    ------
    InvalidInput
        If it is no number in that range.

    Notes
    -----
    Exact.

    Examples
    --------
    >>> number_in({"hours": "72", "line": "2"}, "hours", "list.csv", 0.0, 1000.0)
    72.0
    """
    cell = cells[column]
    if not cell:
        return None
    where = f"{file}, line {cells['line']}"
    try:
        number = float(cell)
    except ValueError as problem:
        raise InvalidInput(
            f"{where}: {column} is {cell!r}; write a number such as {smallest:g}, or leave it "
            "empty."
        ) from problem
    if not smallest <= number <= largest:
        raise InvalidInput(
            f"{where}: {column} is {number:g}; allowed is {smallest:g} to {largest:g}."
        )
    return number
