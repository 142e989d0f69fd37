"""The part of a journal that an estimate rests on: up to when, from what, under which weather."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from slowfire import records as r
from slowfire.arrays import FloatArray
from slowfire.column.simulate import Air
from slowfire.errors import InvalidInput
from slowfire.estimate.plan import Event, Plan
from slowfire.journal import Journal
from slowfire.services.checkpoints import Record
from slowfire.services.estimate_plan import EARLIER_HOURS, plan_of, weather_to_come
from slowfire.services.replay import EVENING, LONGEST_HOURS, parse_at
from slowfire.timeline import bin_timeline
from slowfire.weather import Ambient, read_typical_year, site_weather
from slowfire.weather.ahead import draw_members
from slowfire.weather.forecast import Forecast
from slowfire.weather.usual import usual_weather

DAY = timedelta(days=1)
# Drawn weather depends on its length, so it is made for the longest record and then cut.
MADE_HOURS = LONGEST_HOURS + 24.0 * 14.0


def own_entries(entries: Sequence[r.Entry], name: str) -> list[r.Entry]:
    """Entries of a bin, and dig-outs of others that go into it, by time."""
    folded = name.casefold()
    return [
        one
        for one in entries
        if one.bin.casefold() == folded
        or (isinstance(one.payload, r.DigOut) and (one.payload.to or "").casefold() == folded)
    ]


def moment_of(
    journal: Journal, name: str, at: str | None, now: datetime
) -> tuple[datetime, list[r.Entry], list[r.Entry]]:
    """Say for when an estimate is, and from which entries it is made.

    Parameters
    ----------
    journal : Journal
        As read [-].
    name : str
        Of the bin [-].
    at : str or None
        Date or time; 23:00 on the day of the last entry, but not after now, unless given [-].
    now : datetime
        The present, with its offset [-].

    Returns
    -------
    tuple of (datetime, list of Entry, list of Entry)
        When, the entries in force by then, and entries of the bin that are dated after now [-].

    Raises
    ------
    InvalidInput
        If the time lies outside the record or ahead of it, or nothing had gone in by then.

    Notes
    -----
    A record that lies after now as a whole is one of another clock: its end is its present.
    """
    zone = journal.site.zone
    entries = journal.effective
    own = own_entries(entries, name)
    if not own:
        raise InvalidInput(
            f"The journal has no entries for '{name}'; write a stock-take (how full it is, since "
            "when) or a load."
        )
    past = [one for one in own if one.when <= now]
    ahead = [one for one in own if one.when > now] if past else []
    known = past or own
    first, last = min(one.when for one in known), max(one.when for one in known)
    latest = last + DAY
    evening = last.astimezone(zone).replace(hour=EVENING, minute=0, second=0, microsecond=0)
    when = max(last, evening.astimezone(UTC))
    if past:
        latest, when = min(latest, now), min(when, now)
    if at is not None:
        when = parse_at(at, journal)
        today = when.astimezone(zone).date() == now.astimezone(zone).date()
        if past and today and len(at.strip()) <= 10:
            when = min(when, now)
        _check_moment(when, first, latest, now, journal)
    in_force = [one for one in entries if one.when <= when]
    fed = own_entries(in_force, name)
    if not any(_brings(one, name) for one in fed):
        raise InvalidInput(
            f"Nothing is written to have gone into {name} by "
            f"{when.astimezone(zone):%Y-%m-%d %H:%M}, so readings have nothing to stand on. Write "
            "a stock-take (how full it is, since when, what mostly went in) or a load."
        )
    return when, in_force, ahead


def _check_moment(
    when: datetime, first: datetime, latest: datetime, now: datetime, journal: Journal
) -> None:
    zone = journal.site.zone
    shown = f"{when.astimezone(zone):%Y-%m-%d %H:%M}"
    begin, end = (f"{one.astimezone(zone):%Y-%m-%d %H:%M}" for one in (first, latest))
    if when > latest:
        why = "is still to come" if when > now else "is more than a day after the last entry"
        raise InvalidInput(
            f"{shown} {why}: that is a forecast, not what is inside. Allowed is {begin} to {end}; "
            "leave out --at and read the days ahead, or write what has happened since."
        )
    if when < first:
        raise InvalidInput(
            f"{shown} lies before the first entry of the bin; allowed is {begin} to {end}."
        )
    if (when - first).total_seconds() > 3600.0 * LONGEST_HOURS:
        raise InvalidInput(
            f"{shown} lies more than ten years after the first entry ({begin}); allowed is up to "
            "ten. Begin a new journal with a stock-take."
        )


def ever_fed(entries: Iterable[r.Entry], name: str) -> bool:
    """Whether anything is written to have gone into a bin, so that there is an inside."""
    return any(_brings(one, name) for one in own_entries(r.effective_entries(entries), name))


def _brings(entry: r.Entry, name: str) -> bool:
    payload = entry.payload
    if isinstance(payload, r.DigOut):
        return (payload.to or "").casefold() == name.casefold()
    return isinstance(payload, r.Load | r.Stocktake)


def record_of(
    journal: Journal, name: str, entries: Sequence[r.Entry], when: datetime
) -> tuple[Record, tuple[str, ...]]:
    """Gather what an estimate of one bin is made from, with what was assumed.

    Parameters
    ----------
    journal : Journal
        As read [-].
    name : str
        Of the bin [-].
    entries : sequence of Entry
        In force by then [-].
    when : datetime
        Of the estimate [-].

    Returns
    -------
    tuple of (Record, tuple of str)

    Raises
    ------
    SlowfireError
        If anything written cannot be used; the message says what and why.
    """
    timeline = bin_timeline(journal.site, entries, name, fill_silence=False)
    hours = (when - timeline.start).total_seconds() / 3600.0
    site = weather_site(journal.site)
    table, typical = _table(journal, timeline.start, MADE_HOURS)
    plan, _ = plan_of(site, entries, name, table, MADE_HOURS, timeline)
    plan = replace(plan, air=Air(plan.air.table[: int(hours) + 72]))
    if typical:
        # a year that stands for all years was not measured in this one
        plan = replace(plan, measured_until=-1.0)
    weather = site_weather(journal.site, timeline.start, 25.0, journal.weather_file)
    return (
        Record(journal.site, name, entries, timeline, plan),
        (*timeline.assumptions, *weather.assumptions),
    )


def weather_site(site: r.Site) -> r.Site:
    """The site with the weather that is usual there, where it names a file of what was measured."""
    if site.weather is None or site.weather.kind != "file":
        return site
    if None in (site.latitude_degrees, site.longitude_degrees) and site.weather.town is None:
        return replace(site, weather=None)
    return replace(site, weather=replace(site.weather, kind="grid", file=None))


def _table(journal: Journal, start: datetime, hours: float) -> tuple[Ambient | None, bool]:
    """Weather from the journal's file, and whether it is that of a typical year."""
    file = journal.weather_file
    if file is None:
        return None, False
    typical = read_typical_year(file)
    if typical is None:
        return site_weather(journal.site, start, 25.0, file), False
    early = start - timedelta(hours=EARLIER_HOURS)
    return site_weather(journal.site, early, hours + EARLIER_HOURS + 48.0, file), True


def coming_weather(
    journal: Journal,
    record: Record,
    issued: float,
    hours: float,
    members: int,
    seed: int,
    forecast: Forecast | None,
) -> FloatArray:
    """Weather of each member from the whole hour before the present on.

    Parameters
    ----------
    journal : Journal
        As read [-].
    record : Record
        Of the bin [-].
    issued, hours : float
        The present by the record, and how long [h].
    members, seed : int
        Of the ensemble [-].
    forecast : Forecast or None
        A fetched one [-].

    Returns
    -------
    ndarray, shape (members, hours, 6)
        As `column.simulate.Air` takes it [mixed].
    """
    start, file = record.timeline.start, journal.weather_file
    site = weather_site(journal.site)
    if file is not None and read_typical_year(file) is not None:
        first, now = start + timedelta(hours=int(issued)), start + timedelta(hours=issued)
        usual = usual_weather(journal.site, first, hours + 3.0, now, file)
        return draw_members(usual, members, seed, now, forecast).tables
    table = None if file is None else site_weather(site, start, 25.0, file)
    return weather_to_come(site, table, start, issued, hours, members, seed, forecast)


def without_absences(events: Sequence[Event], plan: Plan) -> tuple[Event, ...]:
    """Loads to come, but those while nobody is there."""
    return tuple(
        one for one in events if not any(low <= one.hour <= high for low, high in plan.absences)
    )


def last_hour(hours: Sequence[float], when: float) -> float:
    """The last hour that counts: of the last thing written by then, or the midnight after it.

    So an estimate draws the same chance all day until something is written.
    """
    known = [one for one in hours if one <= when]
    midnight = 24.0 * (when // 24.0)
    return max([midnight, *known])
