"""Not right: what may lie behind a complaint, and the one check that tells."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from slowfire import records as r
from slowfire.advise.causes import COMPLAINTS, SMELLS, clues_of, ranked_causes
from slowfire.advise.condition import Condition, Spread
from slowfire.advise.troubles import Fact
from slowfire.biology.organisms import fly_larvae_survive
from slowfire.services.inside import InsideResult
from slowfire.services.today_kitchen import Kitchen, Words
from slowfire.services.today_state import Measuring, condition_of, in_force, own_entries
from slowfire.services.today_words import room_words, tub_words
from slowfire.units import UnitSystem

__all__ = ["COMPLAINTS", "SMELLS", "CauseLine", "ComplaintResult", "complaint"]

MOST_CAUSES = 4
WEEK_DAYS = 7.0
LIVES = 0.5  # suitability from which larvae are said to live there; ours
BEST_FOR_LARVAE = 30.0  # [degC]


@dataclass(frozen=True)
class CauseLine:
    """A likely cause, how likely beside the others, what to do if it is so, and its source."""

    words: str
    percent: float
    then: str
    source: str
    confidence: str


@dataclass(frozen=True)
class ComplaintResult:
    """Likely causes of a complaint, likeliest first, with one check.

    Attributes
    ----------
    bin, complaint : str
        What is complained of, and where.
    estimate : str
        What the estimate says of it, empty if nothing.
    check, then, caution : str
        One thing to look at, what to do if it is so, and what to mind; caution may be empty.
    causes : tuple of CauseLine
        At most four.
    ask : str
        What to say first if the complaint is not plain enough; else empty.
    """

    bin: str
    complaint: str
    estimate: str
    check: str
    then: str
    caution: str
    causes: tuple[CauseLine, ...]
    ask: str


def complaint(
    site: r.Site,
    entries: Sequence[r.Entry],
    inside: InsideResult | None,
    now: datetime,
    what: str,
    bin_name: str | None = None,
) -> ComplaintResult:
    """Rank what may lie behind a complaint.

    Parameters
    ----------
    site : Site
        The place [-].
    entries : sequence of Entry
        Everything written [-].
    inside : InsideResult or None
        The last estimate; without one, causes stand by how usual they are [-].
    now : datetime
        The present [-].
    what : str
        One of `COMPLAINTS`, or one of `SMELLS` [-].
    bin_name : str or None
        Which bin; that of the estimate unless given [-].

    Returns
    -------
    ComplaintResult

    Raises
    ------
    UnknownName
        If the complaint or the bin is not known.
    """
    name = bin_name or (inside.bin if inside is not None else site.bins[0].name)
    bin_record = site.bin_named(name)
    measuring = Measuring.of(site)
    own = own_entries(in_force(entries), bin_record.name, now)
    clues: dict[str, float] = {}
    word = what.strip().casefold()
    told = ""
    if inside is not None:
        state = condition_of(measuring, bin_record, own, inside, now)
        clues = clues_of(state, _days_since_load(own, now), _probe_read(site, own, now))
        if word == "smells" and state.looks.smell in SMELLS:
            word = state.looks.smell
        told = _estimate_words(word, state, "us" if site.units == "us" else "metric")
    ranked = ranked_causes(word, clues)
    return ComplaintResult(
        bin=bin_record.name,
        complaint=word,
        estimate=told,
        check=ranked.check,
        then=ranked.then,
        caution=ranked.caution,
        causes=tuple(
            CauseLine(
                one.cause.words,
                100.0 * one.share,
                one.cause.then,
                one.cause.source,
                one.cause.confidence,
            )
            for one in ranked.likely[:MOST_CAUSES]
        ),
        ask="Does it sting like ammonia, smell sour, or smell of rotten eggs?"
        if word == "smells"
        else "",
    )


def _days_since_load(own: Sequence[r.Entry], now: datetime) -> float | None:
    loads = [one.when for one in own if isinstance(one.payload, r.Load)]
    return None if not loads else (now - loads[-1]).total_seconds() / 86400.0


def _probe_read(site: r.Site, own: Sequence[r.Entry], now: datetime) -> bool:
    return any(
        isinstance(one.payload, r.Reading)
        and site.thermometer_named(one.payload.thermometer).kind == "probe"
        and (now - one.when).total_seconds() <= 86400.0 * WEEK_DAYS
        for one in own
    )


def _estimate_words(word: str, state: Condition, system: UnitSystem) -> str:
    """What the estimate says of the thing complained of."""
    if not state.slices:
        return ""
    now = datetime.min
    words = Words(system, Kitchen(), now, now)
    if word in ("cold", "flies"):
        told = (
            f"By the estimate the hottest layer is at {words.span(state.hottest)} with "
            f"{words.figure(state.air.mid)} outside."
        )
        if word == "flies":
            told += f" {_larvae_words(state.slices[-1].celsius, words)}"
        return told
    if word in ("soggy", "dry"):
        top = words.fact(Fact(state.slices[-1].moisture_percent, "%"))
        return f"By the estimate the newest layer holds {top} water; 60 to 75 % runs well."
    if word in (*SMELLS, "smells"):
        least = min((one.oxygen_percent for one in state.slices), key=lambda one: one.mid)
        there = words.fact(Fact(least, "%"))
        return f"By the estimate the least airy layer holds {there} oxygen; fresh air has 21 %."
    if word == "bulging":
        return f"By the estimate: {room_words(state, words)}."
    if word == "leaking" and state.tub_percent is not None:
        return f"By the estimate: {tub_words(state.tub_percent)}."
    return ""


def _larvae_words(top: Spread, words: Words) -> str:
    """Whether larvae can live in the newest layer, where food lies, at what it may have."""
    there = f"The middle of the newest layer is at {words.span(top)}"
    share = fly_larvae_survive(np.array([top.low, top.mid, top.high]))
    lives = np.asarray(share) >= LIVES
    if lives.all():
        return f"{there}: larvae of soldier flies can live there."
    if lives.any() or top.low < BEST_FOR_LARVAE < top.high:
        return f"{there}: in part of that range larvae of soldier flies can live."
    if top.mid > BEST_FOR_LARVAE:
        edges = "they may still live at its cooler edges"
        return f"{there}: too hot for larvae of soldier flies, and of most others; {edges}."
    return f"{there}: too cold for larvae to grow, though they may sit it out."
