"""Rows of the tables shipped with the materials."""

import csv
from importlib.resources import files


def packaged_rows(table: str) -> list[dict[str, str]]:
    """Read one shipped table.

    Parameters
    ----------
    table : str
        File name beside this module, such as feedstocks.csv.

    Returns
    -------
    list of dict
        One a row, by column heading.

    Notes
    -----
    Exact: cells stay text.

    Examples
    --------
    >>> packaged_rows("feedstocks.csv")[0]["id"]
    'fruit_veg_peelings_mixed'
    """
    text = files("slowfire.materials").joinpath(table).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))
