"""Everyday words brought to one form, so that case and plural do not matter."""

import re
from functools import lru_cache

_NOT_WORD = re.compile(r"[^a-z0-9]+")
_IRREGULAR = {
    "leaves": "leaf",
    "loaves": "loaf",
    "potatoes": "potato",
    "tomatoes": "tomato",
    "shelves": "shelf",
    "feet": "foot",
}


def _singular(token: str) -> str:
    if token in _IRREGULAR:
        return _IRREGULAR[token]
    if len(token) > 4 and token.endswith("ies"):
        return token[:-3] + "y"
    if token.endswith(("sses", "shes", "ches", "xes")):
        return token[:-2]
    if len(token) > 2 and token.endswith("s") and not token.endswith(("ss", "us", "is")):
        return token[:-1]
    return token


@lru_cache(maxsize=8192)
def plain_form(text: str) -> str:
    """Bring a name to lower case, single spaces and singular words.

    Parameters
    ----------
    text : str
        A name, word or id as typed.

    Returns
    -------
    str
        The form under which names are compared.

    Notes
    -----
    Ours, for English words alone.

    Examples
    --------
    >>> plain_form("  Oak  LEAVES ")
    'oak leaf'
    >>> plain_form("office_paper_shredded")
    'office paper shredded'
    """
    tokens = _NOT_WORD.sub(" ", text.casefold().replace("'", "")).split()
    return " ".join(_singular(token) for token in tokens)
