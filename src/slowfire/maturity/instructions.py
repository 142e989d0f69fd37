"""How to do each test, in steps, and what to write down."""

from collections.abc import Mapping
from dataclasses import dataclass

from slowfire.errors import UnknownName

GLOVES = "Gloves on, sample damp and out of doors: dust from compost can make you ill. Wash hands."


@dataclass(frozen=True)
class Instructions:
    """One test told.

    Attributes
    ----------
    name, why : str
        Which test, and what it can tell.
    needs, steps, write_down : tuple of str
        Things, steps in order, and what to write down.
    days : str
        How long it takes.
    caution, source : str
    """

    name: str
    why: str
    needs: tuple[str, ...]
    steps: tuple[str, ...]
    write_down: tuple[str, ...]
    days: str
    caution: str
    source: str


_ALL = (
    Instructions(
        "squeeze",
        "Whether it is moist enough for the other tests; dry compost seems finished and is not.",
        ("gloves",),
        (
            "Dig a hand's depth in, take a handful.",
            "Squeeze it hard once, look between your fingers.",
            "Open the hand: does it crumble, hold, or smear?",
        ),
        ("dry (crumbles), damp (holds, a drop or none), drops, or trickle",),
        "a minute",
        GLOVES,
        "common practice, no source",
    ),
    Instructions(
        "air space",
        "How much air is left between the pieces.",
        ("a bucket of known litres", "a measuring jug", "water"),
        (
            "Fill the bucket with compost in thirds; after each, drop it ten times from a hand's "
            "height.",
            "Pour in water from the jug until it shines at the top; count the litres.",
            "Read at once: dry stuff soaks water up and makes it look airier.",
        ),
        ("litres of the bucket", "litres of water poured in"),
        "ten minutes",
        GLOVES,
        "community composting day logs; way of filling after Cooperband 2002",
    ),
    Instructions(
        "bag",
        "Whether there is still food in it that goes bad without air.",
        ("a bag that closes tight", "a warm spot out of the sun"),
        (
            "Do the squeeze; moisten or dry the sample until it is damp.",
            "Fill the bag with two handfuls, press the air out, close it.",
            "Leave it in the warm for three to seven days.",
            "Open it outdoors, away from your face, and smell.",
        ),
        ("days in the bag", "earthy, sour, ammonia or putrid"),
        "3 to 7 days",
        GLOVES,
        "UK community composting notes",
    ),
    Instructions(
        "flask",
        "How much heat is left in it.",
        ("a wide vacuum flask of 1.5 to 2 L, open at the top", "a thermometer that keeps its peak"),
        (
            "Bring the sample and the flask to a room of about 20 °C.",
            "Do the squeeze; moisten or dry the sample until it is damp.",
            "Fill the flask loosely, thermometer in the lower third; no lid or a loose one.",
            "Read flask and room once a day for five to ten days; the highest counts.",
        ),
        ("highest in the flask", "room at that time", "days", "squeeze"),
        "5 to 10 days",
        GLOVES,
        "Dewar self-heating test, from memory",
    ),
    Instructions(
        "cress",
        "Whether young plants bear it: cress or radish on the compost and on ordinary soil.",
        ("two bowls", "40 seeds of cress or radish", "ordinary garden or potting soil", "covers"),
        (
            "Fill one bowl with sieved compost, the other with soil; moisten both alike.",
            "Sow 20 seeds on each, press them on, cover loosely, set both on one light sill.",
            "Count what came up on day 3 to 5, and look at the colour; day 5 decides.",
            "Lift a few: white branched roots, or brown thin ones?",
        ),
        ("sown and sprouted in each", "day", "green, weak or yellow", "white or brown roots"),
        "3 to 5 days",
        GLOVES,
        "Swiss, German and Luxembourg garden guidance",
    ),
    Instructions(
        "extract",
        "Whether what dissolves from it keeps seed from sprouting.",
        ("two cups", "40 seeds of lettuce or radish", "paper towels", "distilled or rain water"),
        (
            "Stir two tablespoons of compost into a cup of water, let it stand for an hour, "
            "strain.",
            "Soak 20 seeds overnight in this extract and 20 in plain water.",
            "Lay each lot on its own damp towel, rolled, in one warm place.",
            "After three to five days count the seeds with a root, in each lot.",
        ),
        ("soaked and sprouted in water", "soaked and sprouted in the extract"),
        "4 to 6 days",
        GLOVES,
        "gardening mailing list, 28 Jan 1998",
    ),
    Instructions(
        "weedkiller",
        "Whether traces of weedkiller came in with manure, hay, straw or lawn clippings.",
        ("6 to 12 pots, a saucer under each", "pea or bean seed", "potting mix without compost"),
        (
            "Fill 3 to 6 pots with two parts compost and one part potting mix, and as many with "
            "potting mix alone.",
            "Sow three seeds in each; water each pot by its own saucer only, so that nothing "
            "drains from one to another.",
            "Grow for two to three weeks, until the plain pots have three sets of true leaves.",
            "Look at the newest leaves: cupped, twisted, fern-like, or stunted? Grass tells "
            "nothing.",
        ),
        ("pots of each", "pots of each with cupped plants", "days", "sets of true leaves"),
        "2 to 3 weeks",
        GLOVES,
        "extension bioassay protocol, Mar 2011",
    ),
)


def instructions() -> Mapping[str, Instructions]:
    """How to do every test, by name.

    Returns
    -------
    mapping of str to Instructions

    Notes
    -----
    Told in our own words; common practice, no source of one wording.

    Examples
    --------
    >>> list(instructions())
    ['squeeze', 'air space', 'bag', 'flask', 'cress', 'extract', 'weedkiller']
    """
    return {one.name: one for one in _ALL}


def how_to(test: str) -> Instructions:
    """How to do one test.

    Parameters
    ----------
    test : str
        Its name.

    Returns
    -------
    Instructions

    Raises
    ------
    UnknownName
        If there is none of that name; the message lists them.

    Notes
    -----
    Told in our own words; common practice, no source of one wording.

    Examples
    --------
    >>> how_to("bag").days
    '3 to 7 days'
    """
    known = instructions()
    if test not in known:
        raise UnknownName(f"There is no test '{test}'; known are {', '.join(known)}.")
    return known[test]
