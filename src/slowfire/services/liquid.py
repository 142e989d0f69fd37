"""The liquid: what is in the tub, how strong, when it runs over, what was drawn, how to thin it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from slowfire import records as r
from slowfire.liquid import Dilution, dilute
from slowfire.refusals import RefusedField
from slowfire.services.inside import InsideResult, InsideTub, Range
from slowfire.services.inside_tub import LEAST_LITRES
from slowfire.services.liquid_stock import (
    KEPT_DAYS,
    Drawn,
    day_told,
    drawn_liquid,
    emptied_since,
    last_measured,
)
from slowfire.units import LITRES_PER_US_GALLON as GALLON
from slowfire.units import UnitSystem, format_volume

WEEKS_AHEAD = 8  # further off no day is told: flow and weather change too much; ours
NOTED_DAYS = 14.0  # a day of running over this near is worth a word on Today; ours
SURE_PERCENT = 50.0
ASSUMPTIONS = (
    "Strength is reckoned from the potassium and nitrogen that the water took along, in "
    "simulation; all that nitrogen counts as ammonium, other salts as half as much again.",
    "What comes is the mean of the two weeks ahead, with their weather and feeding as before.",
    "What was used counts in litres before thinning, the oldest first; what was drawn more than "
    f"{KEPT_DAYS:.0f} days ago is taken as gone.",
)


@dataclass(frozen=True)
class LiquidResult:
    """What is known of the liquid of a bin.

    Attributes
    ----------
    bin : str
        Which.
    at : str or None
        Of the estimate, ISO; None if there is none, or the tub was emptied since.
    tub_holds_litres : float or None
        As written in Set-up [L].
    litres : Range or None
        In the tub [L].
    tub : InsideTub or None
        The rest of the estimate; None if there is none, or an older one.
    spill_dates : tuple of str or None
        When the tub runs over: early, likely, late, ISO; each None if that lies beyond the weeks
        looked at.
    weeks_ahead : int
        How far a day of running over is told [week].
    measured_ms_per_cm : float or None
        Last strength that was written down [mS/cm].
    words : tuple of str
        Sentences, in the units of the site.
    advice : Dilution or None
        For what is in the tub; None if that is too little.
    drawn : tuple of Drawn
        Not used yet, newest first.
    assumptions : tuple of str
        What this rests on.
    """

    bin: str
    at: str | None
    tub_holds_litres: float | None
    litres: Range | None
    tub: InsideTub | None
    spill_dates: tuple[str | None, ...] | None
    weeks_ahead: int
    measured_ms_per_cm: float | None
    words: tuple[str, ...]
    advice: Dilution | None
    drawn: tuple[Drawn, ...]
    assumptions: tuple[str, ...]


def liquid(
    site: r.Site,
    entries: Sequence[r.Entry],
    bin_name: str,
    inside: InsideResult | None,
    now: datetime,
    *,
    conductivity_ms_per_cm: float | None = None,
    target_ms_per_cm: float | None = None,
    seedlings: bool = False,
) -> LiquidResult:
    """Tell what is known of the liquid of a bin, from an estimate that was made before.

    Parameters
    ----------
    site : Site
        The place [-].
    entries : sequence of Entry
        In force [-].
    bin_name : str
        Which bin [-].
    inside : InsideResult or None
        Its last estimate [-].
    now : datetime
        The present [-].
    conductivity_ms_per_cm : float or None
        Of what is in the tub, by a meter, 0 to 100 [mS/cm].
    target_ms_per_cm : float or None
        Wanted after thinning, 0.2 to 4; None for what is usual [mS/cm].
    seedlings : bool
        Whether it is for seedlings [-].

    Returns
    -------
    LiquidResult

    Raises
    ------
    SlowfireError
        If the bin is not known or a strength is out of range.
    """
    check_strengths(conductivity_ms_per_cm, target_ms_per_cm)
    record = site.bin_named(bin_name)
    name = record.name.casefold()
    own = sorted(
        (one for one in entries if one.bin.casefold() in ("", name) and one.when <= now),
        key=lambda one: one.when,
    )
    holds = record.tub_litres or None
    read = last_measured(own, now)
    measured: tuple[str, ...] = ()
    if read is not None:
        measured = (f"Last measured: {read[1]:g} mS/cm on {day_told(read[0], site)}.",)
    drawn = drawn_liquid(site, own, now, target_ms_per_cm=target_ms_per_cm, seedlings=seedlings)
    gone = None if inside is None else emptied_since(own, datetime.fromisoformat(inside.at))
    if inside is None or gone is not None:
        known = (
            "There is no estimate of this bin yet, so nothing is known of its tub."
            if gone is None
            else f"The tub was emptied on {day_told(gone, site)}, after the last estimate; the "
            "next one tells what has come since."
        )
        words = (known, *measured, *(() if holds else (_NO_SIZE,)))
        return LiquidResult(
            record.name, None, holds, None, None, None, WEEKS_AHEAD,
            None if read is None else read[1], words, None, drawn, (),
        )  # fmt: skip
    tub, told = inside.tub, _Words(site, inside)
    dates = None
    if holds and tub is not None and tub.days_to_spill is not None:
        dates = tuple(told.day(one) for one in tub.days_to_spill)
    return LiquidResult(
        bin=record.name,
        at=inside.at,
        tub_holds_litres=holds,
        litres=inside.tub_litres,
        tub=tub,
        spill_dates=None
        if dates is None
        else tuple(None if one is None else one.isoformat() for one in dates),
        weeks_ahead=WEEKS_AHEAD,
        measured_ms_per_cm=None if read is None else read[1],
        words=(
            told.level(holds),
            *told.strength(),
            *measured,
            *told.coming(),
            *told.rain(),
            told.spill(holds, dates),
        ),
        advice=_advice(inside, told.system, conductivity_ms_per_cm, target_ms_per_cm, seedlings),
        drawn=drawn,
        assumptions=() if tub is None else ASSUMPTIONS,
    )


def check_strengths(conductivity_ms_per_cm: float | None, target_ms_per_cm: float | None) -> None:
    """Refuse a strength that cannot be.

    Parameters
    ----------
    conductivity_ms_per_cm, target_ms_per_cm : float or None
        Read by a meter, 0 to 100, and wanted after thinning, 0.2 to 4 [mS/cm].

    Raises
    ------
    RefusedField
        With the field, ec or target.
    """
    for field, value, low, high in (
        ("ec", conductivity_ms_per_cm, 0.0, 100.0),
        ("target", target_ms_per_cm, 0.2, 4.0),
    ):
        if value is not None and not low <= value <= high:
            raise RefusedField(
                field, f"{value:g} mS/cm is out of range; allowed is {low:g} to {high:g} mS/cm."
            )


def spill_note(site: r.Site, own: Sequence[r.Entry], inside: InsideResult) -> str:
    """When the tub likely runs over, in a few words; empty if not within two weeks.

    Parameters
    ----------
    site : Site
        The place [-].
    own : sequence of Entry
        Of the bin, in force, by time [-].
    inside : InsideResult
        The last estimate [-].

    Returns
    -------
    str
    """
    days = None if inside.tub is None else inside.tub.days_to_spill
    at = datetime.fromisoformat(inside.at)
    if days is None or days[1] is None or emptied_since(own, at) is not None:
        return ""
    if not 0.0 < days[1] <= NOTED_DAYS:
        return ""
    return f"may run over about {day_told(at + timedelta(days=days[1]), site)}"


def _advice(
    inside: InsideResult,
    system: UnitSystem,
    measured: float | None,
    target: float | None,
    seedlings: bool,
) -> Dilution | None:
    if inside.tub_litres.mid < LEAST_LITRES:
        return None
    known = measured
    if known is None and inside.tub is not None and inside.tub.strength_ms_per_cm is not None:
        # the strong end, for too strong is what harms
        known = inside.tub.strength_ms_per_cm.high
    return dilute(
        inside.tub_litres.mid / 1000.0,
        known,
        seedlings=seedlings,
        target_ms_per_cm=target,
        estimated=measured is None,
        system=system,
    )


_NO_SIZE = (
    "No tub size is written, so no day of running over can be told: say in Set-up what it holds "
    "(under vent, air, rain and sun)."
)


class _Words:
    """An estimate of the liquid in sentences."""

    def __init__(self, site: r.Site, inside: InsideResult) -> None:
        self.site, self.inside, self.tub = site, inside, inside.tub
        self.system: UnitSystem = "us" if site.units == "us" else "metric"
        self.at = datetime.fromisoformat(inside.at)

    def number(self, litres: float) -> str:
        """A volume as finely as an estimate can tell, without its unit."""
        value, least = (litres, 0.05) if self.system == "metric" else (litres / GALLON, 0.005)
        if value < least:
            return "0"
        digits = 0 if value >= 9.95 else 1 if value >= 0.95 or self.system == "metric" else 2
        return f"{value:.{digits}f}"

    def volume(self, litres: float) -> str:
        return f"{self.number(litres)} {'L' if self.system == 'metric' else 'US gal'}"

    def span(self, litres: Range) -> str:
        ends = f"{self.number(litres.low)} to {self.number(litres.high)}"
        return f"{self.volume(litres.mid)} ({ends})"

    def level(self, holds: float | None) -> str:
        litres = self.inside.tub_litres
        since = f"by the estimate of {day_told(self.at, self.site)}"
        of = f"; it holds {format_volume(holds, self.system)}" if holds else ""
        if litres.high < LEAST_LITRES:
            return f"In the tub: nothing to speak of, {since}{of}."
        if litres.mid < LEAST_LITRES:
            return (
                f"In the tub: most likely nothing, perhaps up to {self.volume(litres.high)}, "
                f"{since}{of}."
            )
        return f"In the tub: about {self.span(litres)}, {since}{of}."

    def strength(self) -> tuple[str, ...]:
        if self.tub is None:
            return ("How strong it is, the next estimate tells.",)
        found = self.tub.strength_ms_per_cm
        if found is None:
            return ("There is too little to tell how strong it is.",)
        surely = self.tub.liquid_percent >= SURE_PERCENT
        return (
            f"{'Strength' if surely else 'Its strength, if there is any'}: about {found.mid:.0f} "
            f"mS/cm ({found.low:.0f} to {found.high:.0f}). An estimate; a meter is better.",
        )

    def coming(self) -> tuple[str, ...]:
        if self.tub is None:
            return ()
        if not self.inside.layers:
            return ("The bin is empty, so nothing runs down.",)
        weekly = self.tub.weekly_litres
        if weekly.high < LEAST_LITRES:
            return ("Nothing to speak of comes in the two weeks ahead.",)
        if weekly.mid < LEAST_LITRES:
            return (
                "Most likely nothing comes in the two weeks ahead, perhaps up to "
                f"{self.volume(weekly.high)} a week.",
            )
        return (f"In the two weeks ahead about {self.span(weekly)} a week comes down.",)

    def rain(self) -> tuple[str, ...]:
        if self.tub is None or self.tub.rain_litres.high < LEAST_LITRES:
            return ()
        fallen, thin = self.tub.rain_litres, self.tub.thinned_ms_per_cm
        words = f"Rain may bring in {self.span(fallen)} in the two weeks ahead."
        if thin is None:
            return (words,)
        return (
            f"{words} If all of it ran down to the tub, what is there now would be thinned to "
            f"about {thin.mid:.0f} mS/cm ({thin.low:.0f} to {thin.high:.0f}).",
        )

    def day(self, days: float | None) -> date | None:
        """The day so long after the estimate; None beyond the weeks looked at."""
        if days is None or days > 7.0 * WEEKS_AHEAD:
            return None
        return (self.at + timedelta(days=days)).astimezone(self.site.zone).date()

    def spill(self, holds: float | None, dates: tuple[date | None, ...] | None) -> str:
        if holds is None:
            return _NO_SIZE
        days = None if self.tub is None else self.tub.days_to_spill
        if dates is None or days is None:
            return "When it runs over, the next estimate tells."
        full = [one == 0.0 for one in days]
        early, likely, late = (None if one is None else f"{one.day} {one:%B}" for one in dates)
        if full[2]:
            return "The tub is full by the estimate: empty it."
        if full[1]:
            return "The tub is most likely full already: empty it."
        if early is None:
            return f"At this flow the tub does not run over within {WEEKS_AHEAD} weeks."
        if full[0]:
            rest = f"it does not run over within {WEEKS_AHEAD} weeks"
            if likely is not None:
                rest = f"it runs over about {likely}"
            return f"The tub may be full already, but most likely {rest}: look into it."
        if likely is None:
            return (
                "At this flow the tub most likely does not run over within "
                f"{WEEKS_AHEAD} weeks; perhaps as early as {early}."
            )
        if late is None:
            return (
                f"At this flow the tub runs over most likely about {likely}, perhaps as early as "
                f"{early}, perhaps not within {WEEKS_AHEAD} weeks."
            )
        return f"At this flow the tub runs over between {early} and {late}, likely about {likely}."
