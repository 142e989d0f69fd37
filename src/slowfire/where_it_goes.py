"""Can I add it, and where does it go otherwise: bin, slow heap, leaf store, collection, nowhere."""

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slowfire.errors import InvalidInput, UnknownName, check_range
from slowfire.refusals import nearest

FILE = "where_it_goes.csv"
BIN, SLOW, LEAVES, COLLECTION, NOWHERE = (
    "bin", "slow heap", "leaf store", "collection", "nowhere",
)  # fmt: skip
WAIT = "slow heap wait"  # or keep it until the bin is warm
DESTINATIONS = (BIN, SLOW, LEAVES, COLLECTION, NOWHERE)
LIKELY = 0.8  # that the hottest layer is hot enough now
WORDS: Mapping[str, str] = {
    BIN: "Into this bin",
    SLOW: "Onto a slow heap",
    LEAVES: "Into the leaf store",
    COLLECTION: "To the collection of food or garden waste",
    NOWHERE: "Not into compost",
}


@dataclass(frozen=True)
class Place:
    """One row: a thing, where it goes and on what condition.

    Attributes
    ----------
    id, name : str
        Of the thing.
    words : tuple of str
        What else it is called.
    feedstocks : tuple of str
        Materials of the library that it stands for.
    destination : str
        See DESTINATIONS.
    hot_celsius : float or None
        What the hottest layer must have for it; None for any [degC].
    otherwise : str
        Where it goes if that is not so.
    why, how, source, confidence : str
        Reason, how to do it, where that is from, how sure it is.
    """

    id: str
    name: str
    words: tuple[str, ...]
    feedstocks: tuple[str, ...]
    destination: str
    hot_celsius: float | None
    otherwise: str
    why: str
    how: str
    source: str
    confidence: str


@dataclass(frozen=True)
class Answer:
    """Where a thing goes now.

    Attributes
    ----------
    name, destination : str
        What, and where to.
    words : str
        The same in words.
    reasons : tuple of str
        Why, on what condition, how.
    source, confidence : str
        Where that is from, and how sure.
    computed : bool
        Whether the estimate of the bin decided.
    """

    name: str
    destination: str
    words: str
    reasons: tuple[str, ...]
    source: str
    confidence: str
    computed: bool

    @property
    def origin(self) -> str:
        """Source and how sure it is, once where they are the same.

        Examples
        --------
        >>> usual = "common practice"
        >>> Answer("Tea", "bin", "", (), f"{usual}, no source", usual, False).origin
        'common practice, no source'
        """
        if self.source.startswith(self.confidence):
            return self.source
        return f"{self.source}; {self.confidence}"


@cache
def places() -> tuple[Place, ...]:
    """Every row of the table.

    Returns
    -------
    tuple of Place

    Raises
    ------
    InvalidInput
        With the line, if the table cannot be read.

    Notes
    -----
    Exact: the table as shipped.

    Examples
    --------
    >>> len(places()) > 90
    True
    """
    text = files("slowfire").joinpath("data", FILE).read_text(encoding="utf-8")
    return read_places(text)


def read_places(text: str) -> tuple[Place, ...]:
    """Read rows from text of the form of the packaged table.

    Parameters
    ----------
    text : str
        Comma-separated, headings first.

    Returns
    -------
    tuple of Place

    Raises
    ------
    InvalidInput
        With the line and what is wrong with it.

    Notes
    -----
    Exact: cells stay text.

    Examples
    --------
    >>> head = "id,name,words,feedstocks,destination,hot_celsius,otherwise,why,how,source,"
    >>> read_places(head + "confidence\\na,Thing,,,bin,,,So,,ours,ours")[0].destination
    'bin'
    """
    found: list[Place] = []
    known: set[str] = set()
    for line, raw in enumerate(csv.DictReader(text.splitlines()), start=2):
        where = f"{FILE}, line {line}"
        if None in raw or None in raw.values():
            raise InvalidInput(f"{where}: too many or too few cells; quote a text with a comma.")
        row = {key: cell.strip() for key, cell in raw.items()}
        hot = row["hot_celsius"]
        if row["destination"] not in DESTINATIONS:
            raise InvalidInput(f"{where}: allowed is {', '.join(DESTINATIONS)}.")
        if bool(hot) != bool(row["otherwise"]) or (hot and not hot.replace(".", "").isdigit()):
            raise InvalidInput(f"{where}: a temperature and what is done otherwise go together.")
        if not row["id"] or row["id"] in known or not row["why"] or not row["source"]:
            raise InvalidInput(f"{where}: an id of its own, a reason and a source are needed.")
        known.add(row["id"])
        found.append(
            Place(
                row["id"],
                row["name"],
                tuple(one.strip() for one in row["words"].split(";") if one.strip()),
                tuple(row["feedstocks"].split()),
                row["destination"],
                float(hot) if hot else None,
                row["otherwise"],
                row["why"],
                row["how"],
                row["source"],
                row["confidence"],
            )
        )
    return tuple(found)


def find_places(word: str) -> tuple[Place, ...]:
    """Rows that a word may mean, the likeliest first.

    Parameters
    ----------
    word : str
        Such as orange peel or a material of the library.

    Returns
    -------
    tuple of Place
        At most five.

    Raises
    ------
    UnknownName
        If nothing fits; the message names what comes near.

    Notes
    -----
    Ours: whole names before parts of names; capital letters and endings of plurals do not matter.

    Examples
    --------
    >>> [one.id for one in find_places("Orange Peels")]
    ['citrus']
    """
    wanted = _plain(word)
    if not wanted:
        raise UnknownName("Write what it is, such as orange peel.")
    whole, part, each = [], [], []
    tokens = set(wanted.split())
    for one in places():
        names = [_plain(name) for name in (one.name, *one.words, one.id.replace("_", " "))]
        if wanted in names or word.strip() in one.feedstocks:
            whole.append(one)
        elif any(wanted in name for name in names):
            part.append(one)
        elif tokens and any(
            tokens <= set(name.split()) or set(name.split()) <= tokens for name in names
        ):
            each.append(one)
    found = tuple(dict.fromkeys((*whole, *part, *each)))[:5]
    if not found:
        names = [name for one in places() for name in (one.name, *one.words)]
        raise UnknownName(
            f"'{word}' is not in the list. When in doubt leave it out, or ask the local waste "
            f"service.{nearest(word, names)}"
        )
    return found


def where_it_goes(
    place: Place,
    hottest_celsius: float | None = None,
    hot_probability: float | None = None,
) -> Answer:
    """Where a thing goes, with the bin as it is.

    Parameters
    ----------
    place : Place
        See `find_places`.
    hottest_celsius : float or None
        Middle of what the estimate says of the hottest layer, usual range 10 to 70 [degC]; None
        without an estimate.
    hot_probability : float or None
        That the hottest layer is as hot as the thing needs [-]; None without an estimate.

    Returns
    -------
    Answer

    Raises
    ------
    InvalidInput
        If the temperature or probability is out of range.

    Notes
    -----
    Ours: what needs heat goes in if four chances in five say that the heat is there now; that it
    was there long enough to kill anything is another question, see `hygiene`.

    Examples
    --------
    >>> bread = find_places("bread")[0]
    >>> where_it_goes(bread, 60.0, 0.97).destination, where_it_goes(bread, 20.0, 0.0).destination
    ('bin', 'slow heap')
    """
    reasons = [place.why]
    destination = place.destination
    computed = False
    if place.hot_celsius is not None:
        wants = f"the hottest layer at {place.hot_celsius:.0f} °C or more"
        if hot_probability is None:
            reasons.append(f"Only with {wants}; no estimate says whether it is so. Measure first.")
            destination = _otherwise(place)
        else:
            check_range("Probability", hot_probability, 0.0, 1.0)
            if hottest_celsius is not None:
                check_range("Hottest layer", hottest_celsius, -60.0, 120.0, "C")
            computed = True
            told = f"{100.0 * hot_probability:.0f} chances in 100"
            if hot_probability >= LIKELY:
                reasons.append(f"It needs {wants}: {told} that it is so now, in simulation.")
            else:
                destination = _otherwise(place)
                again = " Keep it until the bin is warm." if place.otherwise == WAIT else ""
                reasons.append(f"It needs {wants}: only {told} that it is so now.{again}")
    if place.how:
        reasons.append(place.how)
    return Answer(
        place.name,
        destination,
        f"{WORDS[destination]}.",
        tuple(reasons),
        place.source,
        place.confidence,
        computed,
    )


def _otherwise(place: Place) -> str:
    return SLOW if place.otherwise == WAIT else place.otherwise


def _plain(word: str) -> str:
    tokens = re.sub(r"[^\w\s]", " ", word.casefold()).split()
    return " ".join(_singular(one) for one in tokens)


def _singular(word: str) -> str:
    if len(word) < 4 or word.endswith("ss"):
        return word
    if word.endswith("ies"):
        return f"{word[:-3]}y"
    return re.sub(r"(?<=[sxh])es$|s$", "", word)
