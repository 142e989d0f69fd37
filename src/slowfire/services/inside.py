"""What is inside a bin: an ensemble of bins corrected by the readings of its journal."""

import math
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column.positions import VENT_OPENING
from slowfire.column.simulate import constant_air
from slowfire.estimate.condition import window_of
from slowfire.estimate.diagnostics import Fit, best_reading, fit_of, reading_candidates
from slowfire.estimate.learned import (
    Finding,
    factor_findings,
    heat_finding,
    heat_lost,
    load_findings,
    thermometer_findings,
)
from slowfire.estimate.priors import BIN_WIDE, draw_normals, setting_of
from slowfire.estimate.readings import Instrument
from slowfire.estimate.summary import band, cold_airless_share, slices
from slowfire.estimate.thermometer import Stem
from slowfire.journal import read_journal
from slowfire.services.checkpoints import (
    QUICK,
    THOROUGH,
    Gear,
    Work,
    default_checkpoint_folder,
)
from slowfire.services.inside_questions import Asked, day_words, near_reading, questions_of
from slowfire.services.inside_record import moment_of, record_of
from slowfire.services.inside_run import AIR, HOTTEST, OXYGEN, Estimate, estimated
from slowfire.services.inside_series import InsideSeries, inside_series
from slowfire.services.inside_tub import ENDLESS_DAYS, Tubs, dug_shares, tubs_of
from slowfire.services.weather_ahead import site_forecast
from slowfire.timeline_observed import BIAS_SPREADS

SEED = 1
THREADS = 2
ROWS = 16  # of a picture of depth by time
DECISION_HOURS = 72.0  # from now to when the hottest layer matters next
HOT_CELSIUS = 70.0  # from here on a keeper eases off
HEAT_SHOWS = 8.0  # of the hottest layer above the air, from which lost heat can be told [K]
FRESH_HOURS = 24.0  # an estimate this near to now follows a fetched forecast


@dataclass(frozen=True)
class Range:
    """5th, 50th and 95th percentile of the bins that may be the one looked at."""

    low: float
    mid: float
    high: float


@dataclass(frozen=True)
class InsideLayer:
    """A slice of the stack, base first; units in the names.

    `height_cm` is its lower face above the floor; `basis` says whether a reading of the last week
    lies within 15 cm.
    """

    height_cm: float
    thickness_cm: float
    age_days: float
    temperature_centre_celsius: Range
    temperature_edge_celsius: Range
    moisture_percent: Range
    oxygen_percent: Range
    basis: str


@dataclass(frozen=True)
class InsideFit:
    """How well the estimate fits what was read in its window."""

    readings_used: int
    readings_set_aside: int
    typical_misfit_kelvin: float | None
    words: str
    basis: str
    window_days: float


@dataclass(frozen=True)
class NextReading:
    """The reading that would tell most."""

    what: str
    where: str
    why: str
    narrows_percent: float


@dataclass(frozen=True)
class InsideDay:
    """One day ahead by the clock of the place: means of the day, and chances in percent."""

    date: str
    hottest_celsius: Range
    air_celsius: Range
    over_70_celsius_percent: float
    cold_airless_percent: float | None


@dataclass(frozen=True)
class InsideTub:
    """The liquid beside its litres; what comes is of the `ahead_days` after the estimate.

    `liquid_percent` of the bins hold any to speak of, and the strength is of those; it is null if
    they are too few. `days_to_spill` is low, mid and high, each null where that never comes, and
    null as a whole where nobody said what the tub holds.
    """

    liquid_percent: float
    strength_ms_per_cm: Range | None
    weekly_litres: Range
    rain_litres: Range
    thinned_ms_per_cm: Range | None
    days_to_spill: tuple[float | None, ...] | None
    ahead_days: float


@dataclass(frozen=True)
class InsideResult:
    """What is inside a bin at a time, shared by text, JSON and pages.

    `units`, metric or us, is how the site likes its text; the numbers are metric. Probabilities
    are null where a week has not been looked at yet. `tub` is null in a result kept by an older
    version, `dug_out_percent` of the wet mass that went in also before the first dig-out.
    """

    bin: str
    at: str
    units: str
    gear: str
    members: int
    hottest_celsius: Range
    lid_celsius: Range
    air_celsius: Range
    layers: tuple[InsideLayer, ...]
    fill_cm_below_rim: Range
    bin_height_cm: float
    tub_litres: Range
    cold_airless_probability: float | None
    fit: InsideFit
    learned: tuple[Finding, ...]
    questions: tuple[Asked, ...]
    next_reading: NextReading | None
    forecast: tuple[InsideDay, ...]
    assumptions: tuple[str, ...]
    tub: InsideTub | None = None
    dug_out_percent: Range | None = None


def inside(
    path: str | Path,
    bin_name: str,
    at: str | None = None,
    *,
    thorough: bool = False,
    progress: Callable[[float], None] | None = None,
    now: datetime | None = None,
    cache_folder: Path | None = None,
    keep: bool = True,
    gear: Gear | None = None,
    seed: int = SEED,
) -> InsideResult:
    """Estimate what is inside one bin of a journal, from all that was written by then.

    Parameters
    ----------
    path : str or Path
        The journal's folder [-].
    bin_name : str
        Which bin [-].
    at : str or None
        Date or time; 23:00 on the day of the last entry, but not after now, unless given [-].
    thorough : bool
        Whether to take more bins and longer windows [-].
    progress : callable or None
        Called with the share done, 0 to 1 [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].
    cache_folder : Path or None
        Where ensembles are kept; the user's own cache folder if None [-].
    keep : bool
        Whether to use and write kept ensembles at all; results are the same [-].
    gear : Gear or None
        How much is computed, in place of what `thorough` says [-].
    seed : int
        Of the draws; the same journal and seed give the same numbers [-].

    Returns
    -------
    InsideResult

    Raises
    ------
    SlowfireError
        If anything written cannot be used, or the time lies outside the record or ahead of it;
        the message says what and what to do.
    """
    return inside_and_series(
        path,
        bin_name,
        at,
        thorough=thorough,
        progress=progress,
        now=now,
        cache_folder=cache_folder,
        keep=keep,
        gear=gear,
        seed=seed,
        rows=0,
    )[0]


def inside_and_series(
    path: str | Path,
    bin_name: str,
    at: str | None = None,
    *,
    thorough: bool = False,
    progress: Callable[[float], None] | None = None,
    now: datetime | None = None,
    cache_folder: Path | None = None,
    keep: bool = True,
    gear: Gear | None = None,
    seed: int = SEED,
    rows: int = ROWS,
) -> tuple[InsideResult, InsideSeries]:
    """Estimate what is inside one bin, with the weeks around now for pictures.

    Parameters
    ----------
    path, bin_name, at, thorough, progress, now, cache_folder, keep, gear, seed
        As in `inside`.
    rows : int
        Heights of the picture of depth by time [-].

    Returns
    -------
    tuple of (InsideResult, InsideSeries)

    Raises
    ------
    SlowfireError
        As `inside`.
    """
    return _estimated(
        path,
        bin_name,
        at,
        thorough=thorough,
        progress=progress,
        now=now,
        cache_folder=cache_folder,
        keep=keep,
        gear=gear,
        seed=seed,
        rows=rows,
    )[1:]


def inside_estimate(
    path: str | Path,
    bin_name: str,
    at: str | None = None,
    *,
    thorough: bool = False,
    progress: Callable[[float], None] | None = None,
    now: datetime | None = None,
) -> Estimate:
    """The estimate itself, for what else is told from it.

    Parameters
    ----------
    path, bin_name, at, thorough, progress, now
        As in `inside`.

    Returns
    -------
    Estimate

    Raises
    ------
    SlowfireError
        As `inside`.
    """
    return _estimated(path, bin_name, at, thorough=thorough, progress=progress, now=now, rows=0)[0]


def inside_everything(
    path: str | Path,
    bin_name: str,
    at: str | None = None,
    *,
    thorough: bool = False,
    progress: Callable[[float], None] | None = None,
    now: datetime | None = None,
) -> tuple[Estimate, InsideResult, InsideSeries]:
    """The estimate with what `inside_and_series` tells of it.

    Parameters
    ----------
    path, bin_name, at, thorough, progress, now
        As in `inside`.

    Returns
    -------
    tuple of (Estimate, InsideResult, InsideSeries)

    Raises
    ------
    SlowfireError
        As `inside`.
    """
    return _estimated(path, bin_name, at, thorough=thorough, progress=progress, now=now)


def _estimated(
    path: str | Path,
    bin_name: str,
    at: str | None,
    *,
    thorough: bool,
    progress: Callable[[float], None] | None,
    now: datetime | None,
    cache_folder: Path | None = None,
    keep: bool = True,
    gear: Gear | None = None,
    seed: int = SEED,
    rows: int = ROWS,
) -> tuple[Estimate, InsideResult, InsideSeries]:
    journal = read_journal(path)
    now = datetime.now(UTC) if now is None else now
    name = journal.site.bin_named(bin_name).name
    when, entries, ahead = moment_of(journal, name, at, now)
    record, assumed = record_of(journal, name, entries, when)
    chosen = gear or (THOROUGH if thorough else QUICK)
    folder = (cache_folder or default_checkpoint_folder()) if keep else None
    answer = None
    if abs(now - when) <= timedelta(hours=FRESH_HOURS):
        answer = site_forecast(journal.site, now)
    rim = record.plan.vessel.height
    heights = tuple(rim * (k + 0.5) / rows for k in range(rows))
    with ThreadPoolExecutor(THREADS) as pool:
        work = Work(pool, progress)
        made = estimated(journal, record, when, chosen, seed, work, folder, answer, heights)
        fit = fit_of(made.found)
        asked = questions_of(
            record, made.kept, made.found, made.hour, made.fill_high, fit, ahead, made.system
        )
        return made, _result(made, asked, fit, assumed), inside_series(made)


def _result(
    made: Estimate, questions: tuple[Asked, ...], fit: Fit, assumed: Sequence[str]
) -> InsideResult:
    """Everything put together."""
    now = made.watched[:, made.present]
    watched = made.watched
    cold = cold_airless_share(
        made.hours, made.hottest, watched[:, :, AIR], made.oxygen(watched[:, :, OXYGEN])
    )
    rim = made.seen[0].vessel.height
    site = made.journal.site
    # what is more than the tub holds has run over
    holds = site.bin_named(made.record.bin_name).tub_litres or math.inf
    tubs = np.array([min(one.tub_litres, holds) for one in made.seen])
    dug = dug_shares(made)
    return InsideResult(
        bin=made.record.bin_name,
        at=made.when.astimezone(site.zone).isoformat(timespec="minutes"),
        units=site.units,
        gear=made.gear.name,
        members=made.gear.members,
        hottest_celsius=_range(made.hottest[:, made.present]),
        lid_celsius=_range(made.lid[:, made.present]),
        air_celsius=_range(now[:, AIR]),
        layers=_layers(made),
        fill_cm_below_rim=_range(np.array([100.0 * (rim - one.fill_height) for one in made.seen])),
        bin_height_cm=100.0 * rim,
        tub_litres=_range(tubs),
        cold_airless_probability=_known(float(cold[made.present])),
        fit=InsideFit(
            fit.used,
            fit.aside,
            _known(fit.misfit_kelvin),
            fit.words,
            fit.basis,
            (made.end - made.kept.ensemble.hour) / 24.0,
        ),
        learned=_learned(made),
        questions=questions,
        next_reading=_next_reading(made),
        forecast=_forecast(made, cold),
        assumptions=_assumptions(made, assumed),
        tub=_tub(tubs_of(made, 0.0 if math.isinf(holds) else holds)),
        dug_out_percent=None if dug is None else _range(100.0 * dug),
    )


def _tub(found: Tubs) -> InsideTub:
    days = None
    if found.days is not None:
        days = tuple(float(one) if one < ENDLESS_DAYS / 2.0 else None for one in band(found.days))
    return InsideTub(
        liquid_percent=100.0 * found.liquid_share,
        strength_ms_per_cm=None if found.strength is None else _range(found.strength),
        weekly_litres=_range(found.weekly),
        rain_litres=_range(found.rain),
        thinned_ms_per_cm=None if found.thinned is None else _range(found.thinned),
        days_to_spill=days,
        ahead_days=found.ahead_days,
    )


def _layers(made: Estimate) -> tuple[InsideLayer, ...]:
    cut = slices(made.found.ensemble.columns)
    fills = np.array([one.fill_height for one in made.seen])
    middles = np.outer(fills, (np.arange(cut.count) + 0.5) / max(cut.count, 1))
    centre = made.at_heights(cut.centre_celsius, middles)
    edge = made.at_heights(cut.edge_celsius, middles)
    water = made.water(cut.moisture_content_wet_basis)
    oxygen = made.oxygen(cut.oxygen)
    rows = []
    for k in range(cut.count):
        low, high = float(cut.edges[k]), float(cut.edges[k + 1])
        near = near_reading(made.found, made.hour, 0.5 * (low + high))
        rows.append(
            InsideLayer(
                height_cm=100.0 * low,
                thickness_cm=100.0 * (high - low),
                age_days=float(band(cut.age_days[:, k])[1]),
                temperature_centre_celsius=_range(centre[:, k]),
                temperature_edge_celsius=_range(edge[:, k]),
                moisture_percent=_range(100.0 * water[:, k]),
                oxygen_percent=_range(100.0 * oxygen[:, k]),
                basis="from readings" if near else "from assumptions",
            )
        )
    return tuple(rows)


def _learned(made: Estimate) -> tuple[Finding, ...]:
    unknowns = made.found.ensemble.normals
    plan, record = made.record.plan, made.record
    window = window_of(plan, made.kept.ensemble, made.end, made.hour)
    findings = [
        *_heat(made),
        *factor_findings(unknowns, made.system),
        *thermometer_findings(plan.observed, unknowns, made.system),
        *load_findings(window.gaps, made.found.local, partial(day_words, record)),
    ]
    # a vent that is shut has no width to be told
    shut = float(made.found.ensemble.columns[0].bin_state[VENT_OPENING]) <= 0.0
    return tuple(one for one in findings if not (shut and one.unknown == "opening"))


def _heat(made: Estimate) -> list[Finding]:
    """Heat lost on a still night, by each member, as described, and as might have been."""
    first = max(int(made.hour) - 24, 0)
    day = made.record.plan.air.table[first : int(made.hour) + 1].mean(axis=0)
    if float(np.median(made.watched[:, made.present, HOTTEST])) < day[0] + HEAT_SHOWS:
        return []
    night = constant_air(float(day[0]), float(day[1]), float(day[2]))
    ensemble = made.found.ensemble
    names = tuple(one.unknown.name for one in BIN_WIDE)
    drawn = draw_normals(names, ensemble.members, made.seed + 2)

    def losing(unknowns: Mapping[str, FloatArray] | None) -> list[Callable[[], float]]:
        calls: list[Callable[[], float]] = []
        for member, column in enumerate(ensemble.columns):
            vessel = column.vessel
            if unknowns is not None:
                own = {key: float(values[member]) for key, values in unknowns.items()}
                vessel = setting_of(own, member).vessel(vessel)
            calls.append(partial(heat_lost, column, vessel, night))
        return calls

    lost, should, prior = (
        np.array(made.work.run_many(losing(one))) for one in (ensemble.normals, None, drawn)
    )
    found = heat_finding(lost, should, prior)
    return [] if found is None else [found]


def _next_reading(made: Estimate) -> NextReading | None:
    fill = float(np.median([one.fill_height for one in made.seen]))
    if fill <= 0.0:
        return None
    decision = min(made.hour + DECISION_HOURS, float(made.hours[-1]))
    later = int(np.searchsorted(made.hours, decision))
    tools: dict[str, Instrument] = {}
    for one in made.journal.site.thermometers:
        if one.kind in ("lid", "probe"):
            stem = Stem() if one.kind == "probe" else None
            spread = BIAS_SPREADS[one.kind]
            tools.setdefault(one.kind, Instrument(one.name, 1.0, one.bias_kelvin, spread, stem))
    lidded = made.seen[0].vessel.lidded > 0.0
    best = best_reading(
        reading_candidates(
            made.hour,
            fill,
            tools.get("probe"),
            tools.get("lid") if lidded else None,
            made.system,
        ),
        made.seen,
        made.found.ensemble.normals,
        made.watched[:, made.present, HOTTEST],
        made.watched[:, later, HOTTEST],
        made.system,
    )
    if best is None:
        return None
    return NextReading(best.what, best.where, best.why, best.narrows_percent)


def _forecast(made: Estimate, cold: FloatArray) -> tuple[InsideDay, ...]:
    zone, hours = made.journal.site.zone, made.hours
    rows = []
    for begin, end in zip(made.days[:-1], made.days[1:], strict=True):
        inside = (hours >= begin - 1e-6) & (hours <= end + 1e-6)
        hot = made.hottest[:, inside].max(axis=1) >= HOT_CELSIUS
        day = (made.record.timeline.start + timedelta(hours=begin)).astimezone(zone).date()
        rows.append(
            InsideDay(
                day.isoformat(),
                _range(_mean(hours[inside], made.hottest[:, inside])),
                _range(_mean(hours[inside], made.watched[:, inside, AIR])),
                100.0 * float(hot.mean()),
                _known(100.0 * float(cold[inside][-1])),
            )
        )
    return tuple(rows)


def _assumptions(made: Estimate, assumed: Sequence[str]) -> tuple[str, ...]:
    begin = day_words(made.record, made.kept.ensemble.hour)
    said = [
        f"The estimate is of {made.gear.members} bins in simulation that differ in what nobody "
        f"wrote down, moved towards what was read; from {begin} on all readings together.",
        "The days ahead assume that you feed on as in the last weeks."
        if made.coming
        else "The days ahead assume that nothing goes in.",
    ]
    if made.answer is not None:
        said += made.answer.assumptions
    return (*said, *assumed)


def _mean(hours: FloatArray, values: FloatArray) -> FloatArray:
    """Mean along time, by straight lines between the hours."""
    return np.asarray(np.trapezoid(values, hours, axis=1) / (hours[-1] - hours[0]))


def _range(values: FloatArray) -> Range:
    return Range(*(float(one) for one in band(values)))


def _known(value: float) -> float | None:
    return None if math.isnan(value) else float(value)
