"""Replay a written journal: what is inside one bin, in simulation, at a given time."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from slowfire.column.compiled import is_compiled
from slowfire.column.ledger import books
from slowfire.column.parameters import Parameters, default_parameters
from slowfire.column.section import Section
from slowfire.column.simulate import Air, Column
from slowfire.column.stocktake import spin_up, with_weather
from slowfire.errors import InvalidInput
from slowfire.journal import Journal, read_journal
from slowfire.records import Reading
from slowfire.site import Site
from slowfire.timeline import Observation, Timeline, bin_timeline
from slowfire.weather import Ambient, site_sun_on_walls, site_weather

LONGEST_HOURS = 24.0 * 366.0 * 10.0  # a replay spans at most ten years [h]
EVENING = 23  # hour of the day a replay stops at unless told otherwise [h]
LOOK_BACK_HOURS = 24.0 * 8.0  # readings of the last days are shown beside the section [h]


@dataclass(frozen=True)
class LayerRow:
    """One layer as shown, base first; units in the names."""

    age_days: float
    height_cm: float
    thickness_cm: float
    temperature_centre_celsius: float
    temperature_edge_celsius: float
    moisture_percent: float
    oxygen_percent: float
    free_air_space_percent: float
    bulk_density_kg_per_m3: float
    acidity_ph: float
    worms_percent: float


@dataclass(frozen=True)
class ReadingRow:
    """A reading that was written down, beside what the simulation had there."""

    when: str
    thermometer: str
    read_celsius: float
    simulated_celsius: float | None


@dataclass(frozen=True)
class ReplayResult:
    """What is inside a bin at a time, shared by text and JSON.

    `height_cm` of a layer is its lower face above the floor; `units`, metric or us, is how the
    site likes its text. Everything is in simulation: no reading has been used to correct it.
    """

    bin: str
    at: str
    units: str
    layers: tuple[LayerRow, ...]
    lid_celsius: float
    hottest_celsius: float
    liquid_litres_total: float
    tub_litres: float
    tub_over_litres: float
    fill_cm_below_rim: float
    bin_height_cm: float
    air_celsius: float
    draft_litres_per_minute: float
    balance_error_relative: float
    readings: tuple[ReadingRow, ...]
    assumptions: tuple[str, ...]


@dataclass(frozen=True)
class Replayed:
    """A bin brought to a time, with the timeline it came by."""

    column: Column
    before: Column
    timeline: Timeline
    at: datetime
    readings: tuple[ReadingRow, ...]
    assumptions: tuple[str, ...]


def parse_at(text: str, journal: Journal) -> datetime:
    """Read a date or a time in the site's zone; a date alone means noon.

    Parameters
    ----------
    text : str
        Such as 2026-03-12, 2026-03-12 18:30 or with an offset [-].
    journal : Journal
        Whose zone counts [-].

    Returns
    -------
    datetime
        With its offset [-].

    Raises
    ------
    InvalidInput
        If it is no date.
    """
    try:
        found = datetime.fromisoformat(text.strip())
    except ValueError as problem:
        raise InvalidInput(
            f"'{text}' is not a date; write it as 2026-03-12 or 2026-03-12 18:30."
        ) from problem
    if len(text.strip()) <= 10:
        found = datetime.combine(found.date(), time(12, 0))
    if found.tzinfo is None:
        found = found.replace(tzinfo=journal.site.zone)
    return found


def _evening(timeline: Timeline, journal: Journal) -> datetime:
    """Late on the day of the last entry, when a bin just opened has settled again."""
    last = (timeline.start + timedelta(hours=timeline.last_hour)).astimezone(journal.site.zone)
    return max(last, last.replace(hour=EVENING, minute=0, second=0, microsecond=0))


def _hourly(
    ambient: Ambient, site: Site, start: datetime, hours: float
) -> tuple[Air, tuple[str, ...]]:
    """Weather by the hour from `start`; outside a file's span its nearest value holds."""
    shift = 0.0
    if ambient.start is not None:
        shift = (start - ambient.start).total_seconds() / 3600.0
    wanted = np.arange(int(np.ceil(hours)) + 2, dtype=np.float64) + shift
    first, last = float(ambient.hours[0]), float(ambient.hours[-1])
    notes: list[str] = []
    if wanted[0] < first - 0.5 or wanted[-1] > last + 48.0:
        notes.append(
            "The weather file does not cover the whole time; its first or last hour stands in."
        )
    held = np.clip(wanted, first, last)
    walls = np.interp(held, ambient.hours, site_sun_on_walls(site, ambient, start))
    columns = [*(np.asarray(one, dtype=np.float64) for one in ambient.at(held)), walls]
    table = np.column_stack(columns)
    return Air(table), tuple(notes)


def _start_column(
    timeline: Timeline,
    air: Air,
    seasonal_air: Callable[[float], Air],
    parameters: Parameters,
) -> Column:
    begun = timeline.stocktake
    if begun is None:
        return Column(timeline.vessel, air, parameters)
    before = seasonal_air(begun.days * 24.0)
    column = spin_up(
        timeline.vessel,
        before,
        parameters,
        begun.habit,
        begun.level_below_rim,
        begun.days,
        begun.old_material,
    )
    return with_weather(column, air)


def replay_bin(
    journal: Journal,
    bin_name: str,
    at: datetime | None = None,
    progress: Callable[[float], None] | None = None,
    parameters: Parameters | None = None,
    watch: Callable[[float, Column], None] | None = None,
) -> Replayed:
    """Run one bin of a journal up to a time.

    Parameters
    ----------
    journal : Journal
        As read [-].
    bin_name : str
        Which bin [-].
    at : datetime or None
        When to stop; 23:00 on the day of the last entry unless given [-].
    progress : callable or None
        Called with the share done, 0 to 1 [-].
    parameters : Parameters or None
        The shipped set unless given [-].
    watch : callable or None
        Called with hour and bin at every observation, before the acts of that hour [-].

    Returns
    -------
    Replayed

    Raises
    ------
    InvalidInput
        If `at` lies before the record begins or more than ten years after.
    """
    timeline = bin_timeline(journal.site, journal.effective, bin_name)
    if at is None:
        at = _evening(timeline, journal)
    end = (at - timeline.start).total_seconds() / 3600.0
    if not 0.0 <= end <= LONGEST_HOURS:
        zone = journal.site.zone
        first = timeline.start.astimezone(zone).date()
        last = (timeline.start + timedelta(hours=LONGEST_HOURS)).astimezone(zone).date()
        raise InvalidInput(
            f"{at.date()} lies outside the record of '{bin_name}'; allowed is {first} to {last}."
        )
    ambient = site_weather(journal.site, timeline.start, end + 25.0, journal.weather_file)
    air, notes = _hourly(ambient, journal.site, timeline.start, end + 24.0)

    def earlier(hours: float) -> Air:
        begin = timeline.start - timedelta(hours=hours)
        file = journal.weather_file
        if file is not None and ambient.start != timeline.start:
            # a file of its own time says nothing of the time before it
            return _hourly(ambient, journal.site, begin, hours)[0]
        made = site_weather(journal.site, begin, hours + 25.0, file)
        return _hourly(made, journal.site, begin, hours)[0]

    if progress is not None:
        progress(0.0)
    column = _start_column(timeline, air, earlier, parameters or default_parameters())
    before = column.copy()
    readings: list[ReadingRow] = []
    todo: list[tuple[float, int, Any]] = [(act.hour, 1, act) for act in timeline.acts]
    todo += [(seen.hour, 0, seen) for seen in timeline.observations]
    todo.sort(key=lambda one: (one[0], one[1]))
    for hour, _, item in todo:
        if hour > end + 1e-9:
            break
        column.run_to(max(hour, column.hour))
        if isinstance(item, Observation):
            if watch is not None:
                watch(hour, column)
            if isinstance(item.payload, Reading) and hour >= end - LOOK_BACK_HOURS:
                readings.append(_compared(journal, item, timeline, column))
        else:
            item.apply(column)
        if progress is not None and end > 0.0:
            progress(hour / end)
    column.run_to(max(end, column.hour))
    return Replayed(
        column,
        before,
        timeline,
        at,
        tuple(readings),
        (*timeline.assumptions, *ambient.assumptions, *notes),
    )


def _compared(
    journal: Journal, seen: Observation, timeline: Timeline, column: Column
) -> ReadingRow:
    reading = seen.payload
    if not isinstance(reading, Reading):
        raise InvalidInput("Only a reading can be compared with a temperature.")
    thermometer = journal.site.thermometer_named(reading.thermometer)
    section = column.section()
    simulated: float | None = None
    words = thermometer.name
    if thermometer.kind == "lid":
        simulated = section.lid_celsius
    elif thermometer.kind == "air":
        simulated = column.air.temperature_celsius(seen.hour)
    elif thermometer.kind == "probe":
        depth = None
        if reading.position is not None:
            depth = reading.position.distance.metres
            if reading.position.origin == "base":
                depth = section.fill_height - depth
        elif thermometer.depth_cm is not None:
            depth = thermometer.depth_cm / 100.0
        if depth is not None:
            words = f"{thermometer.name} {depth * 100:.0f} cm down"
            simulated = temperature_at(section, depth, reading.spot or "centre")
    local = (timeline.start + timedelta(hours=seen.hour)).astimezone(journal.site.zone)
    return ReadingRow(
        local.strftime("%Y-%m-%d %H:%M"),
        words,
        reading.temperature.temperature_celsius - thermometer.bias_kelvin,
        simulated,
    )


def temperature_at(section: Section, depth: float, spot: str = "centre") -> float | None:
    """Temperature at a depth below the surface, at the centre or the edge.

    Parameters
    ----------
    section : Section
        The bin from base to lid [-].
    depth : float
        Below the surface [m].
    spot : str
        centre, or anything else for the edge [-].

    Returns
    -------
    float or None
        None outside the stack [degC].
    """
    height = section.fill_height - depth
    for layer in section.layers:
        if layer.base_height <= height <= layer.base_height + layer.thickness + 1e-9:
            if spot == "centre":
                return layer.temperature_centre_celsius
            return layer.temperature_edge_celsius
    return None


def result_of(
    replayed: Replayed, bin_name: str, units: str = "metric", tub_holds_litres: float = 0.0
) -> ReplayResult:
    """Gather what a replay found.

    Parameters
    ----------
    replayed : Replayed
        A bin brought to a time [-].
    bin_name : str
        Its name as asked for [-].
    units : str
        metric or us, for text made from it [-].
    tub_holds_litres : float
        Size of the tub; 0 if nobody said [L].

    Returns
    -------
    ReplayResult
    """
    column = replayed.column
    section = column.section()
    tub = min(section.tub_litres, tub_holds_litres or math.inf)
    rows = tuple(
        LayerRow(
            age_days=layer.age_days,
            height_cm=100.0 * layer.base_height,
            thickness_cm=100.0 * layer.thickness,
            temperature_centre_celsius=layer.temperature_centre_celsius,
            temperature_edge_celsius=layer.temperature_edge_celsius,
            moisture_percent=100.0 * layer.moisture_content_wet_basis,
            oxygen_percent=100.0 * layer.oxygen,
            free_air_space_percent=100.0 * layer.free_air_space,
            bulk_density_kg_per_m3=layer.bulk_density,
            acidity_ph=layer.acidity_ph,
            worms_percent=100.0 * layer.worms,
        )
        for layer in section.layers
    )
    return ReplayResult(
        bin=bin_name,
        at=replayed.at.isoformat(timespec="minutes"),
        units=units,
        layers=rows,
        lid_celsius=section.lid_celsius,
        hottest_celsius=section.hottest_celsius,
        liquid_litres_total=column.liquid_litres(),
        tub_litres=tub,
        tub_over_litres=section.tub_litres - tub,
        fill_cm_below_rim=100.0 * section.fill_below_rim,
        bin_height_cm=100.0 * section.rim_height,
        air_celsius=column.air.temperature_celsius(column.hour),
        draft_litres_per_minute=section.draft / 1.2 * 60000.0,
        balance_error_relative=books(replayed.before, column).balance_error_relative,
        readings=replayed.readings,
        assumptions=replayed.assumptions,
    )


def replay(
    path: str | Path,
    bin_name: str,
    at: str | None = None,
    progress: Callable[[float], None] | None = None,
) -> ReplayResult:
    """Read a journal folder and say what is inside one of its bins.

    Parameters
    ----------
    path : str or Path
        The journal's folder [-].
    bin_name : str
        Which bin [-].
    at : str or None
        Date or time; 23:00 on the day of the last entry unless given [-].
    progress : callable or None
        Called with the share done, 0 to 1 [-].

    Returns
    -------
    ReplayResult

    Raises
    ------
    SlowfireError
        If anything written cannot be read or used; the message says where and what to do.
    """
    journal, replayed = replay_at(path, bin_name, at, progress)
    record = journal.site.bin_named(bin_name)
    return result_of(replayed, record.name, journal.site.units, record.tub_litres)


def must_compile() -> bool:
    """Whether the first replay will take half a minute longer, to compile the model."""
    return not is_compiled()


def replay_at(
    path: str | Path,
    bin_name: str,
    at: str | None = None,
    progress: Callable[[float], None] | None = None,
) -> tuple[Journal, Replayed]:
    """Read a journal and bring one of its bins to a time, to try things on.

    Parameters
    ----------
    path : str or Path
        The journal's folder [-].
    bin_name : str
        Which bin [-].
    at : str or None
        Date or time; 23:00 on the day of the last entry unless given [-].
    progress : callable or None
        Called with the share done, 0 to 1 [-].

    Returns
    -------
    tuple of (Journal, Replayed)

    Raises
    ------
    SlowfireError
        As `replay`.
    """
    journal = read_journal(path)
    when = None if at is None else parse_at(at, journal)
    name = journal.site.bin_named(bin_name).name
    return journal, replay_bin(journal, name, when, progress)
