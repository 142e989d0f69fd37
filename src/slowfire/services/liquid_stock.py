"""Liquid that was drawn and not used up, by what was written down, with its age."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from slowfire import records as r
from slowfire.liquid import Dilution, dilute
from slowfire.measures import default_measures
from slowfire.services.amounts import litres_of
from slowfire.services.inside_tub import LEAST_LITRES
from slowfire.units import UnitSystem, format_volume

KEPT_DAYS = 14.0  # what was drawn earlier is taken as gone; ours
MEASURED_DAYS = 60.0  # a strength read so long ago is still told; ours
LIQUID = "liquid"  # by this name it is used
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


@dataclass(frozen=True)
class Drawn:
    """Liquid that was drawn and not used up.

    Attributes
    ----------
    on : str
        When it was drawn, ISO.
    litres : float
        Left of it [L].
    hours_old : float
        Since it was drawn [h].
    colour, smell : str or None
        As written down.
    conductivity_ms_per_cm : float or None
        If it was measured [mS/cm].
    words : str
        The same in words, in the units of the site.
    advice : Dilution
        How to thin it, or why not.
    """

    on: str
    litres: float
    hours_old: float
    colour: str | None
    smell: str | None
    conductivity_ms_per_cm: float | None
    words: str
    advice: Dilution


@dataclass
class _Batch:
    when: datetime
    payload: r.Drain
    litres: float


def drawn_liquid(
    site: r.Site,
    own: Sequence[r.Entry],
    now: datetime,
    *,
    target_ms_per_cm: float | None = None,
    seedlings: bool = False,
) -> tuple[Drawn, ...]:
    """What was drawn of late and not used, newest first.

    Parameters
    ----------
    site : Site
        The place [-].
    own : sequence of Entry
        Of the bin or of no bin, in force, up to now, by time [-].
    now : datetime
        The present [-].
    target_ms_per_cm : float or None
        Wanted after thinning; None for what is usual [mS/cm].
    seedlings : bool
        Whether it is for seedlings [-].

    Returns
    -------
    tuple of Drawn

    Notes
    -----
    Ours: a use counts in litres before thinning and takes the oldest first. A use that names no
    bin counts against each, so that no more is told than there is.
    """
    measures = default_measures().with_own(site.measures)
    batches: list[_Batch] = []
    for one in own:
        if isinstance(one.payload, r.Drain):
            batches.append(_Batch(one.when, one.payload, litres_of(measures, one.payload.amount)))
        elif isinstance(one.payload, r.Use) and one.payload.what.strip().casefold() == LIQUID:
            used = litres_of(measures, one.payload.amount)
            for batch in batches:
                part = min(batch.litres, used)
                batch.litres -= part
                used -= part
    return tuple(
        _told(one, site, now, target_ms_per_cm, seedlings)
        for one in reversed(batches)
        if one.litres >= LEAST_LITRES and (now - one.when) / DAY <= KEPT_DAYS
    )


def _told(
    batch: _Batch, site: r.Site, now: datetime, target: float | None, seedlings: bool
) -> Drawn:
    system: UnitSystem = "us" if site.units == "us" else "metric"
    seen, hours = batch.payload, max((now - batch.when) / HOUR, 0.0)
    advice = dilute(
        batch.litres / 1000.0,
        seen.conductivity,
        seen.colour,
        seen.smell,
        seedlings=seedlings,
        hours_old=hours,
        target_ms_per_cm=target,
        system=system,
    )
    looks = [one for one in (seen.colour, seen.smell) if one is not None and one != "none"]
    if seen.conductivity is not None:
        looks.append(f"{seen.conductivity:g} mS/cm by a meter")
    words = f"{format_volume(batch.litres, system)} drawn on {day_told(batch.when, site)}"
    words += f", {_age(hours)} old" + (f" ({', '.join(looks)})" if looks else "")
    on = batch.when.astimezone(site.zone).isoformat(timespec="minutes")
    return Drawn(on, batch.litres, hours, seen.colour, seen.smell, seen.conductivity, words, advice)


def _age(hours: float) -> str:
    if hours < 36.0:
        whole = max(round(hours), 1)
        return "an hour" if whole == 1 else f"{whole} hours"
    return f"{hours / 24.0:.0f} days"


def day_told(when: datetime, site: r.Site) -> str:
    """A day by the clock of the place, such as 14 March."""
    here = when.astimezone(site.zone)
    return f"{here.day} {here:%B}"


def last_measured(own: Sequence[r.Entry], now: datetime) -> tuple[datetime, float] | None:
    """The last strength that was written down in the last weeks, and when [mS/cm].

    Parameters
    ----------
    own : sequence of Entry
        Of the bin, in force, up to now, by time [-].
    now : datetime
        The present [-].

    Returns
    -------
    tuple of (datetime, float) or None
    """
    for one in reversed(own):
        if (now - one.when) / DAY > MEASURED_DAYS:
            break
        if isinstance(one.payload, r.Drain) and one.payload.conductivity is not None:
            return one.when, one.payload.conductivity
    return None


def emptied_since(own: Sequence[r.Entry], at: datetime) -> datetime | None:
    """When the tub was emptied after a time, last; None if it was not.

    Parameters
    ----------
    own : sequence of Entry
        Of the bin, in force, by time [-].
    at : datetime
        Of an estimate, which is told to the minute [-].

    Returns
    -------
    datetime or None
    """
    after = at + timedelta(minutes=1)
    return next(
        (
            one.when
            for one in reversed(own)
            if isinstance(one.payload, r.Drain) and one.when >= after
        ),
        None,
    )
