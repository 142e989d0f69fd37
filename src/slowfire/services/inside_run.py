"""An estimate run: to the last checkpoint, through the readings since, and fourteen days on."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from functools import cached_property
from pathlib import Path

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column.positions import L_LIQUID_OUT, L_WATER_IN, TUB_WATER
from slowfire.column.simulate import Column
from slowfire.estimate.condition import Conditioned, condition
from slowfire.estimate.discrepancy import (
    Leftover,
    corrected,
    corrected_hottest,
    leftovers,
    told_oxygen,
    told_water,
)
from slowfire.estimate.follow import run_ahead, usual_loads
from slowfire.estimate.glimpse import Glimpse, glimpse
from slowfire.estimate.member import WATCHED, Passage
from slowfire.estimate.plan import Event
from slowfire.journal import Journal
from slowfire.services.checkpoints import Gear, Kept, Record, Work, checkpoint
from slowfire.services.inside_record import coming_weather, last_hour, without_absences
from slowfire.units import UnitSystem
from slowfire.weather.forecast import ForecastAnswer

DAYS_AHEAD = 14
WATCHED_HOURS = 24.0 * 8.0  # a week, and the day before it whose mean the air is compared with
WATCH_STEP, AHEAD_STEP = 3.0, 6.0  # [h]
# Places of what is watched, as in `estimate.member.Passage`.
HOTTEST, LID, OXYGEN, AIR, HOT_HEIGHT, FILL = range(6)


@dataclass(frozen=True, eq=False)
class Estimate:
    """One estimate with the days ahead of it.

    Attributes
    ----------
    journal : Journal
        As read.
    record : Record
        Of the bin, up to the present.
    when : datetime
        The present.
    hour, end : float
        The same, and the last hour that counts, by the record [h].
    gear : Gear
        How much was computed.
    seed : int
        Of the draws.
    work : Work
        Runs what is still to be run.
    answer : ForecastAnswer or None
        A forecast of the weather.
    kept : Kept
        The checkpoint.
    found : Conditioned
        The ensemble at the present.
    days : tuple of float
        Hours of the coming midnights by the clock of the place [h].
    hours : ndarray, shape (hours,)
        Looked at, from a week before the present on [h].
    present : int
        Which of them is the present.
    watched : ndarray, shape (members, hours, values)
        As in `estimate.member.Passage` [mixed].
    coming : tuple of Event
        Loads that the days ahead assume.
    liquid_later : ndarray, shape (members, 3)
        At the last of the days ahead: liquid in the tub, and since the run began what left the
        base and what rained in or was poured on [kg].
    heights : tuple of float
        Above the floor, whose temperatures, then moisture, oxygen and air space, stand behind the
        other values watched [m].
    """

    journal: Journal
    record: Record
    when: datetime
    hour: float
    end: float
    gear: Gear
    seed: int
    work: Work
    answer: ForecastAnswer | None
    kept: Kept
    found: Conditioned
    days: tuple[float, ...]
    hours: FloatArray
    present: int
    watched: FloatArray
    coming: tuple[Event, ...]
    liquid_later: FloatArray
    heights: tuple[float, ...] = ()

    @property
    def system(self) -> UnitSystem:
        """How the site likes its text."""
        return "us" if self.journal.site.units == "us" else "metric"

    @cached_property
    def seen(self) -> tuple[Glimpse, ...]:
        """Every member at the present."""
        return tuple(glimpse(one) for one in self.found.ensemble.columns)

    @cached_property
    def _bed_left(self) -> Leftover:
        return leftovers(self.found, "probe")

    @cached_property
    def hottest(self) -> FloatArray:
        """Centre of the hottest layer, the model's own error included [degC]."""
        left = self._bed_left
        watched, count = self.watched, len(self.heights)
        return corrected_hottest(
            watched[:, :, HOTTEST], watched[:, :, HOT_HEIGHT],
            watched[:, :, WATCHED : WATCHED + count], self.heights, left, self.hours, self.seed,
        )  # fmt: skip

    @cached_property
    def lid(self) -> FloatArray:
        """Air under the lid, the model's own error included [degC]."""
        left, air = leftovers(self.found, "lid"), self.watched[:, :, LID]
        return corrected(air, left, self.hours, np.zeros(air.shape), self.seed)

    def water(self, shares: FloatArray) -> FloatArray:
        """Water contents of each member, the model's own error included [-]."""
        return told_water(shares, self.seed)

    def oxygen(self, shares: FloatArray) -> FloatArray:
        """Oxygen of each member by volume, the model's own error included [-]."""
        return told_oxygen(shares, self.seed)

    def fill_high(self, hour: float) -> float:
        """Height that few stacks exceed at an hour of the last week, endless before [m]."""
        place = int(np.searchsorted(self.hours, hour, side="right")) - 1
        if place < 0:
            return float("inf")
        return float(np.percentile(self.watched[:, place, FILL], 95.0))

    def at_heights(self, celsius: FloatArray, heights: FloatArray) -> FloatArray:
        """Temperatures of the bed now at heights of each member, with the same error [degC]."""
        now = np.full(heights.shape[1], self.hour)
        return corrected(celsius, self._bed_left, now, heights, self.seed)

    @cached_property
    def spots(self) -> FloatArray:
        """Where `heights` of the middle stack lie in each, shape (members, hours, heights) [m].

        The same share of its own fill: members stack to different heights, and what lies just
        under the surface of one lies amid another. NaN above the middle stack.
        """
        fills = self.watched[:, :, FILL]
        middle = np.median(fills, axis=0)
        shares = np.array(self.heights) / np.maximum(middle, 1e-9)[:, None]
        return fills[:, :, None] * np.where(shares <= 1.0, shares, np.nan)

    def profiles(self, kind: int) -> FloatArray:
        """Centre, water, oxygen or air space at `spots`, by place; NaN where there is nothing."""
        count = len(self.heights)
        first = WATCHED + kind * count
        return at_spots(self.watched[:, :, first : first + count], self.heights, self.spots)

    def centres(self) -> FloatArray:
        """Centre at `spots`, with the same error, shape (members, hours, heights) [degC]."""
        celsius = self.profiles(0)
        spots = np.nan_to_num(self.spots)
        told = [
            corrected(celsius[:, :, k], self._bed_left, self.hours, spots[:, :, k], self.seed)
            for k in range(len(self.heights))
        ]
        return np.stack(told, axis=2) if told else celsius


def at_spots(profiles: FloatArray, heights: Sequence[float], spots: FloatArray) -> FloatArray:
    """Read profiles at spots, on straight lines between their heights.

    Parameters
    ----------
    profiles : ndarray, shape (members, hours, heights)
        Values at evenly spaced heights; NaN above each stack [mixed].
    heights : sequence of float
        Rising, evenly spaced [m].
    spots : ndarray, shape (members, hours, spots)
        NaN where nothing is asked [m].

    Returns
    -------
    ndarray, shape (members, hours, spots)
        In the unit of the profiles; below the first height and from the last in the stack on up
        the value there, NaN where a stack has none.
    """
    if len(heights) < 2:
        return np.where(np.isfinite(spots), profiles[:, :, : spots.shape[2]], np.nan)
    last = np.isfinite(profiles).sum(axis=2, keepdims=True) - 1
    places = (np.nan_to_num(spots) - heights[0]) / (heights[1] - heights[0])
    places = np.clip(places, 0.0, np.maximum(last, 0))
    below = places.astype(np.int64)
    above = np.minimum(below + 1, np.maximum(last, 0))
    low, high = (np.take_along_axis(profiles, one, axis=2) for one in (below, above))
    found = low + (places - below) * (high - low)
    return np.where(np.isfinite(spots) & (last >= 0), found, np.nan)


def estimated(
    journal: Journal,
    record: Record,
    when: datetime,
    gear: Gear,
    seed: int,
    work: Work,
    folder: Path | None,
    answer: ForecastAnswer | None,
    heights: tuple[float, ...] = (),
) -> Estimate:
    """Run an estimate and the days ahead.

    Parameters
    ----------
    journal : Journal
        As read [-].
    record : Record
        Of the bin, up to the present [-].
    when : datetime
        The present [-].
    gear : Gear
        How much is computed [-].
    seed : int
        Of the draws [-].
    work : Work
        Runs calls in threads [-].
    folder : Path or None
        Where ensembles are kept; none are if None [-].
    answer : ForecastAnswer or None
        A forecast of the weather [-].
    heights : tuple of float
        Above the floor, to look at too [m].

    Returns
    -------
    Estimate
    """
    start, plan = record.timeline.start, record.plan

    def hours_until(moment: datetime) -> float:
        return (moment - start).total_seconds() / 3600.0

    hour = hours_until(when)
    zone = journal.site.zone
    today = when.astimezone(zone).date()
    days = tuple(
        hours_until(datetime.combine(today + timedelta(days=k), time(0), zone))
        for k in range(1, DAYS_AHEAD + 2)
    )
    end = last_hour([hours_until(one.when) for one in record.entries], hour)
    ahead_days = (days[-1] - hour) / 24.0
    runs = gear.updates + 1
    kept = checkpoint(
        record,
        end,
        gear,
        seed,
        work,
        folder,
        lambda begin: gear.members * (runs * (end - begin) / 24.0 + ahead_days),
    )
    begin = kept.ensemble.hour
    watch = np.arange(max(begin, hour - WATCHED_HOURS), hour - 0.5, WATCH_STEP)
    watch = np.append(watch, hour)
    work.days = (end - begin) / 24.0
    found = condition(
        plan,
        kept.ensemble,
        end,
        seed,
        work.run_many,
        until=hour,
        updates=gear.updates,
        watch_hours=watch.tolist(),
        heights=heights,
        profiles=True,
    )
    soon = np.arange(days[0] - AHEAD_STEP, hour + 0.5, -AHEAD_STEP)
    later = np.unique(np.concatenate([soon, np.arange(days[0], days[-1], AHEAD_STEP), days]))
    tables = coming_weather(
        journal,
        record,
        hour,
        days[-1] - hour + 2.0,
        gear.members,
        seed,
        None if answer is None else answer.forecast,
    )
    coming = without_absences(usual_loads(plan, hour, days[-1]), plan)
    work.days = ahead_days
    passages: Sequence[Passage] = run_ahead(
        plan,
        found.ensemble,
        tables,
        days[-1],
        seed,
        work.run_many,
        later.tolist(),
        heights,
        coming=coming,
        profiles=True,
    )
    work.days = 0.0
    ahead = np.array([one.watched for one in passages])
    return Estimate(
        journal=journal,
        record=record,
        when=when,
        hour=hour,
        end=end,
        gear=gear,
        seed=seed,
        work=work,
        answer=answer,
        kept=kept,
        found=found,
        days=days,
        hours=np.concatenate([watch, later]),
        present=watch.size - 1,
        watched=np.concatenate([found.watched, ahead], axis=1),
        coming=coming,
        liquid_later=np.array([liquid_books(one.column) for one in passages]),
        heights=heights,
    )


def liquid_books(column: Column) -> tuple[float, float, float]:
    """Liquid in the tub, what left the base, and what rained in or was poured on [kg]."""
    books = column.ledger
    return (
        float(column.bin_state[TUB_WATER]),
        float(books[L_LIQUID_OUT]),
        float(books[L_WATER_IN]),
    )
