"""What may lie behind a complaint, likeliest first, and the one check that tells."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slowfire.advise.condition import Condition
from slowfire.advise.rules import CONFIDENCES, limit
from slowfire.advise.troubles import DUST, GLOVES, HOT_MATERIAL, LIQUID
from slowfire.errors import InvalidInput, UnknownName

FILE = "causes.csv"
SMELLS = ("ammonia", "sour", "rotten-egg")
COMPLAINTS = (
    "smells", "soggy", "dry", "cold", "flies", "rats or mice", "leaking", "bulging",
)  # fmt: skip
RAISED, LOWERED = 4.0, 0.8  # what a sure clue does to the weight of a cause
FRESH_DAYS, OLD_DAYS = 5.0, 112.0
FLIES_ABOVE, FLIES_BELOW = 10.0, 40.0  # where flies breed (chia2018, rounded) [degC]
HOT = 55.0  # from here on heat drives water off [degC]
RATS = (
    "Rats carry leptospirosis: wear gloves, cover cuts and wash. With a fever in the weeks after "
    "tell your doctor of the contact."
)
CAUTIONS: Mapping[str, str] = {
    "gloves": GLOVES,
    "liquid": LIQUID,
    "steam": HOT_MATERIAL,
    "rats": RATS,
    "dig": DUST,
}


@dataclass(frozen=True)
class Cause:
    """A row of the file.

    Attributes
    ----------
    complaint, words : str
        What is complained of, and the cause.
    weight : float
        How usual it is beside the others of the complaint [-].
    raised_by, lowered_by : tuple of str
        Clues for and against it.
    check, then : str
        What to look at, and what to do if it is so.
    caution : str
        Key of `CAUTIONS`, or empty.
    source, confidence : str
        Where it is from.
    """

    complaint: str
    words: str
    weight: float
    raised_by: tuple[str, ...]
    lowered_by: tuple[str, ...]
    check: str
    then: str
    caution: str
    source: str
    confidence: str


@dataclass(frozen=True)
class Likely:
    """A cause with its share of all that are thought of [-]."""

    cause: Cause
    share: float


@dataclass(frozen=True)
class Ranked:
    """Causes of a complaint, likeliest first; the check is that of the first."""

    complaint: str
    likely: tuple[Likely, ...]

    @property
    def check(self) -> str:
        """The one thing to look at."""
        return self.likely[0].cause.check

    @property
    def then(self) -> str:
        """What to do if it is so."""
        return self.likely[0].cause.then

    @property
    def caution(self) -> str:
        """What to mind on the way, empty if nothing."""
        return CAUTIONS.get(self.likely[0].cause.caution, "")


@cache
def causes() -> tuple[Cause, ...]:
    """Every cause in the order of the file.

    Returns
    -------
    tuple of Cause

    Raises
    ------
    InvalidInput
        If a row names a clue, caution, complaint or confidence that is not known.
    """
    text = files("slowfire.advise").joinpath(FILE).read_text(encoding="utf-8")
    return tuple(_cause(row, line) for line, row in enumerate(csv.DictReader(text.splitlines()), 2))


def _cause(row: Mapping[str, str], line: int) -> Cause:
    raised, lowered = (tuple(row[one].split()) for one in ("raised_by", "lowered_by"))
    unknown = [one for one in (*raised, *lowered) if one not in CLUES]
    known = (*COMPLAINTS, *SMELLS)
    if unknown or row["complaint"] not in known or row["confidence"] not in CONFIDENCES:
        raise InvalidInput(
            f"{FILE}, line {line}: complaint, clue or confidence is not known "
            f"({row['complaint']}; {' '.join(unknown)}; {row['confidence']}). Clues are "
            f"{', '.join(CLUES)}."
        )
    if row["caution"] and row["caution"] not in CAUTIONS:
        raise InvalidInput(f"{FILE}, line {line}: caution {row['caution']!r} is not known.")
    return Cause(
        row["complaint"], row["cause"], float(row["weight"]), raised, lowered, row["check"],
        row["then"], row["caution"], row["source"], row["confidence"],
    )  # fmt: skip


CLUES = (
    "wet", "dry", "airless", "cold_airless", "hot", "cold", "cold_top", "cold_out", "hungry",
    "much_food", "fresh_load", "no_load", "vent_shut", "vent_crack", "vent_open", "tub_full",
    "full", "old_stuff", "draught", "lid_read_only", "lid_fault", "drain_fault", "strap_fault",
)  # fmt: skip


def clues_of(
    state: Condition, days_since_load: float | None = None, probe_read: bool = False
) -> dict[str, float]:
    """How far each clue holds, 0 to 1.

    Parameters
    ----------
    state : Condition
        The bin [-].
    days_since_load : float or None
        Since the last load [day]; None if not known.
    probe_read : bool
        Whether a probe was read in the last week [-].

    Returns
    -------
    dict of str to float
        Chances [-].
    """
    wet, dry = state.chance_wet(limit("too_wet")), state.chance_dry(limit("too_dry"))
    airless = state.chance_short_of_air(limit("little_oxygen"))
    cold = state.chance_cool(limit("cold_above_air"))
    fed, looks = state.fed_percent_a_week, state.looks
    top = state.slices[-1] if state.slices else None
    tub = state.tub_percent
    feel = {"trickle": (1.0, 0.0), "drops": (0.5, 0.0), "damp": (0.0, 0.0), "dry": (0.0, 1.0)}
    if looks.squeeze in feel:
        # a hand in it knows more than a model
        wet, dry = feel[looks.squeeze]
    lukewarm = state.chance_cool(limit("lukewarm_above_air"))
    hungry = float(fed is not None and fed < limit("little_food"))
    found = {
        "wet": wet,
        "dry": dry,
        "airless": airless,
        "cold_airless": state.cold_airless or 0.0,
        "hot": state.hottest.chance_above(HOT),
        "cold": cold,
        "cold_top": 0.0
        if top is None
        else top.celsius.chance_below(FLIES_BELOW) - top.celsius.chance_below(FLIES_ABOVE),
        "cold_out": float(state.air.mid < limit("cold_air")),
        "hungry": hungry,
        "much_food": float(fed is not None and fed > 4.0 * limit("little_food")),
        "fresh_load": float(days_since_load is not None and days_since_load <= FRESH_DAYS),
        "no_load": float(days_since_load is not None and days_since_load > 2.0 * FRESH_DAYS),
        "vent_shut": float("shut" in (state.vent, state.base_inlet)),
        "vent_crack": float(state.vent == "crack"),
        "vent_open": float(state.vent in ("wider", "open")),
        "tub_full": 0.0 if tub is None else tub.chance_above(limit("tub_full")),
        "full": state.room_cm.chance_below(limit("full")),
        "old_stuff": float(bool(state.slices) and state.slices[-1].age_days > OLD_DAYS),
        "draught": lukewarm * (1.0 - hungry) * (1.0 - wet) * (1.0 - dry),
        "lid_read_only": float("temperature" in state.read and not probe_read),
        "lid_fault": float(looks.fault in ("seal", "lid", "door")),
        "drain_fault": float(looks.fault == "drain"),
        "strap_fault": float(looks.fault == "strap"),
    }
    return {name: min(max(found[name], 0.0), 1.0) for name in CLUES}


def ranked_causes(complaint: str, clues: Mapping[str, float]) -> Ranked:
    """Causes of a complaint, likeliest first.

    ::

        w_i = W_i prod(1 + 4 c) prod(1 - 0.8 c)

    over the clues c for and against a cause of weight W_i.

    Parameters
    ----------
    complaint : str
        One of `COMPLAINTS`, or a smell by its name [-].
    clues : mapping of str to float
        As `clues_of` gives them [-].

    Returns
    -------
    Ranked

    Raises
    ------
    UnknownName
        If nobody complains of that.

    Notes
    -----
    Ours; weights by how often keepers tell of a cause, common practice, no source.

    Examples
    --------
    >>> ranked_causes("cold", {"dry": 1.0, "cold": 1.0}).likely[0].cause.words
    'It is too dry to work'
    """
    wanted = complaint.strip().casefold()
    rows = [one for one in causes() if one.complaint in _meant(wanted)]
    if not rows:
        raise UnknownName(f"'{complaint}' is not known; say {', '.join((*COMPLAINTS, *SMELLS))}.")
    weights = []
    for one in rows:
        weight = one.weight
        for clue in one.raised_by:
            weight *= 1.0 + RAISED * clues.get(clue, 0.0)
        for clue in one.lowered_by:
            weight *= 1.0 - LOWERED * clues.get(clue, 0.0)
        weights.append(weight)
    total = sum(weights)
    ranked = sorted(zip(weights, rows, strict=True), key=lambda pair: -pair[0])
    return Ranked(wanted, tuple(Likely(row, weight / total) for weight, row in ranked))


def _meant(complaint: str) -> tuple[str, ...]:
    """Complaints in the file that are meant by a word."""
    return SMELLS if complaint == "smells" else (complaint,)
