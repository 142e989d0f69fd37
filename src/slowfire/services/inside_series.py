"""The weeks around now as numbers for pictures: core and lid with ranges, and depth by time."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.estimate.summary import band
from slowfire.kinds import Reading
from slowfire.services.inside_run import AIR, FILL, Estimate

DIGITS = 1  # of a degree; pictures show no more


@dataclass(frozen=True)
class SeriesReading:
    """A thermometer reading in the span of the pictures; height is above the floor."""

    at: str
    kind: str
    celsius: float
    height_cm: float | None


@dataclass(frozen=True)
class InsideSeries:
    """Values by time, from a week before the present to two weeks after.

    Attributes
    ----------
    times : tuple of str
        ISO, with the offset of the place.
    present : int
        Place of the present among them [-].
    hottest_low, hottest_mid, hottest_high : tuple of float
        Centre of the hottest layer, 5th, 50th and 95th percentile [degC].
    lid_low, lid_mid, lid_high : tuple of float
        The same of the air under the lid [degC].
    air : tuple of float
        Outside [degC].
    fill_cm : tuple of float
        Surface above the floor [cm].
    heights_cm : tuple of float
        Of the rows of `centre` above the floor [cm].
    centre : tuple of tuple of float or None
        Temperature in the centre at each height and time [degC]; None above the stack. Each bin of
        the ensemble is read at the same share of its own fill.
    centre_spread : tuple of tuple of float or None
        Half the 90 % range of the same [K].
    moisture, oxygen, air_space : tuple of tuple of float or None
        At the same heights and times, in the middle of what is thought [percent].
    readings : tuple of SeriesReading
        Taken in that time.
    loads : tuple of str
        When something went in, ISO.
    """

    times: tuple[str, ...]
    present: int
    hottest_low: tuple[float, ...]
    hottest_mid: tuple[float, ...]
    hottest_high: tuple[float, ...]
    lid_low: tuple[float, ...]
    lid_mid: tuple[float, ...]
    lid_high: tuple[float, ...]
    air: tuple[float, ...]
    fill_cm: tuple[float, ...]
    heights_cm: tuple[float, ...]
    centre: tuple[tuple[float | None, ...], ...]
    centre_spread: tuple[tuple[float | None, ...], ...]
    readings: tuple[SeriesReading, ...]
    loads: tuple[str, ...]
    moisture: tuple[tuple[float | None, ...], ...] = ()
    oxygen: tuple[tuple[float | None, ...], ...] = ()
    air_space: tuple[tuple[float | None, ...], ...] = ()


def inside_series(made: Estimate) -> InsideSeries:
    """Put an estimate's time series into plain numbers.

    Parameters
    ----------
    made : Estimate
        Run with heights to look at [-].

    Returns
    -------
    InsideSeries
    """
    zone = made.journal.site.zone
    start = made.record.timeline.start

    def iso(hour: float) -> str:
        return (start + timedelta(hours=hour)).astimezone(zone).isoformat(timespec="minutes")

    hottest, lid = _bands(made.hottest), _bands(made.lid)
    watched = made.watched
    centres = made.centres()
    rows = [_medians(values) for values in np.moveaxis(centres, 2, 0)]
    spreads = [_spreads(values) for values in np.moveaxis(centres, 2, 0)]
    profiles = [
        tuple(_medians(100.0 * values) for values in np.moveaxis(made.profiles(kind), 2, 0))
        for kind in (1, 2, 3)
    ]
    first = float(made.hours[0])
    return InsideSeries(
        times=tuple(iso(float(hour)) for hour in made.hours),
        present=made.present,
        hottest_low=hottest[0],
        hottest_mid=hottest[1],
        hottest_high=hottest[2],
        lid_low=lid[0],
        lid_mid=lid[1],
        lid_high=lid[2],
        air=_rounded(np.median(watched[:, :, AIR], axis=0)),
        fill_cm=_rounded(100.0 * np.median(watched[:, :, FILL], axis=0)),
        heights_cm=tuple(round(100.0 * one, 1) for one in made.heights),
        centre=tuple(rows),
        centre_spread=tuple(spreads),
        readings=_readings(made, first),
        loads=tuple(
            iso(one.hour)
            for one in made.record.plan.events
            if one.load is not None and first <= one.hour <= made.hour
        ),
        moisture=profiles[0],
        oxygen=profiles[1],
        air_space=profiles[2],
    )


def _readings(made: Estimate, first: float) -> tuple[SeriesReading, ...]:
    zone = made.journal.site.zone
    observations = made.record.timeline.observations
    found = []
    for one in made.record.plan.observed:
        if one.source < 0 or not first <= one.hour <= made.hour:
            continue
        payload = observations[one.source].payload
        if not isinstance(payload, Reading) or one.kind not in ("lid", "probe"):
            continue
        height = None
        if one.tip_height is not None:
            tips = [one.tip_height(seen) for seen in made.seen]
            height = round(100.0 * float(np.median(tips)), 1)
        when = (made.record.timeline.start + timedelta(hours=one.hour)).astimezone(zone)
        celsius = payload.temperature.temperature_celsius
        at = when.isoformat(timespec="minutes")
        found.append(SeriesReading(at, one.kind, round(celsius, DIGITS), height))
    return tuple(found)


def _bands(values: FloatArray) -> tuple[tuple[float, ...], ...]:
    return tuple(_rounded(one) for one in np.array([band(each) for each in values.T]).T)


def _rounded(values: FloatArray) -> tuple[float, ...]:
    return tuple(round(float(one), DIGITS) for one in values)


def _medians(values: FloatArray) -> tuple[float | None, ...]:
    """Median of each column where half of the members or more reach so high."""
    return _told(values, [50.0], lambda ends: ends[0])


def _spreads(values: FloatArray) -> tuple[float | None, ...]:
    return _told(values, [5.0, 95.0], lambda ends: 0.5 * (ends[1] - ends[0]))


def _told(
    values: FloatArray, percents: list[float], made: Callable[[FloatArray], FloatArray]
) -> tuple[float | None, ...]:
    known = np.isfinite(values)
    counts = known.sum(axis=0)
    enough = 2 * counts >= values.shape[0]
    # NumPy's percentile that passes over gaps goes column by column and takes half a second here
    ordered = np.sort(np.where(known, values, np.inf), axis=0)
    ordered[~np.isfinite(ordered)] = 0.0
    places = np.outer(percents, np.maximum(counts - 1, 0)) / 100.0
    low = places.astype(np.int64)
    high = np.minimum(low + 1, np.maximum(counts - 1, 0))
    below, above = (np.take_along_axis(ordered, one, axis=0) for one in (low, high))
    shares = places - low
    found = np.where(enough, made(below + shares * (above - below)), np.nan)
    return tuple(None if math.isnan(one) else round(float(one), DIGITS) for one in found)
