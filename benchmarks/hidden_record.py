"""What a keeper writes of a hidden bin: loads and jobs as taken to be, readings, looks."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import NAMESPACE_OID, UUID, uuid5

import numpy as np

from benchmarks.hidden_truth import Surface, Truth
from slowfire import records as r

LID, UPPER, LOWER = "lid dial", "short probe", "long probe"
BIAS_KELVIN = 1.0  # standard deviation of what a thermometer is off by
NOISE_KELVIN = 0.5
DEPTH_ERROR = 0.025  # standard deviation of how deep a probe truly sits [m]
FAULT_SHARE = 0.2  # of bins with a probe that breaks
FAULTS = {"stuck": 0.5, "offset": 0.5}
OFFSET_KELVIN = 15.0
MOST_SUN = 0.015  # a dial in the sun reads too high by up to so much of it [K/(W/m^2)]
LOWEST_READ, HIGHEST_READ = -40.0, 85.0
SECONDS = 3600.0

# What hand, nose and eye make of the truth: common practice, no source.
SQUEEZE_LIMITS = (0.50, 0.65, 0.76)  # share of water from which it is damp, drips, trickles
SQUEEZE_ERROR = 0.04
SOUR_PH, SOUR_ERROR = 5.6, 0.3
AMMONIA_LIMIT, AMMONIA_PH = 0.004, 7.8  # ammoniacal nitrogen in dry matter [kg/kg]
ROTTEN_OXYGEN, ROTTEN_WATER = 0.01, 0.68
STEAM_KELVIN = 18.0  # a surface so much warmer than the air steams when opened
WORM_RANGE, WORM_OXYGEN = (10.0, 29.0), 0.04


@dataclass(frozen=True)
class Thermometers:
    """The thermometers of a bin and what is wrong with them.

    Attributes
    ----------
    depths : tuple of float
        Of the two probes below the surface [m].
    biases : tuple of float
        Of lid dial and the two probes [K].
    steps : tuple of float
        Smallest division of each [K].
    sun : float
        Of the dial [K/(W/m^2)].
    fault : str
        none, stuck or offset.
    faulty : int
        Which probe, 0 or 1.
    fault_day : float
        Day of the season from which on.
    """

    depths: tuple[float, float]
    biases: tuple[float, float, float]
    steps: tuple[float, float, float]
    sun: float
    fault: str
    faulty: int
    fault_day: float

    def declared(self) -> tuple[r.Thermometer, ...]:
        """As the site names them; nobody knows a bias."""
        return (
            r.Thermometer(LID, "lid"),
            r.Thermometer(UPPER, "probe", depth_cm=100.0 * self.depths[0]),
            r.Thermometer(LOWER, "probe", depth_cm=100.0 * self.depths[1]),
        )


def draw_thermometers(draws: np.random.Generator) -> Thermometers:
    """Draw two probes and a dial, and what is wrong with them."""
    depths = (float(draws.choice([0.10, 0.15, 0.20])), float(draws.choice([0.25, 0.30, 0.40])))
    lid, upper, lower = (float(one) for one in draws.normal(0.0, BIAS_KELVIN, 3))
    steps = (float(draws.choice([1.0, 2.0])), *(float(draws.choice([0.1, 0.5, 1.0])),) * 2)
    broken = draws.random() < FAULT_SHARE
    kind = str(draws.choice(list(FAULTS), p=list(FAULTS.values())))
    return Thermometers(
        depths,
        (lid, upper, lower),
        (steps[0], steps[1], steps[2]),
        float(draws.uniform(0.0, MOST_SUN)),
        kind if broken else "none",
        int(draws.integers(2)),
        float(draws.uniform(15.0, 60.0)),
    )


@dataclass(frozen=True)
class Written:
    """What is written of a bin whatever is measured: habit and loads as taken to be."""

    bin: str
    site: r.Site
    first: date
    start: datetime
    season: tuple[float, float]
    planned: tuple[tuple[datetime, tuple[r.LoadItem, ...]], ...]
    vent: str
    stirs: bool
    week: r.Amount
    mostly: tuple[str, ...]

    def when(self, hour: float) -> datetime:
        """The time of an hour of the truth, to the minute."""
        return self.start + timedelta(minutes=round(60.0 * hour))


@dataclass(frozen=True)
class WrittenRecord:
    """Entries by tier, and the lid readings of the season."""

    records: dict[str, tuple[r.Entry, ...]]
    lid_readings: tuple[tuple[float, float], ...]


class _Pen:
    """Writes entries of one bin with ids that follow from seed and order."""

    def __init__(self, seed: int, known: Written) -> None:
        self.seed = seed
        self.known = known
        self.count = 0

    def entry(self, when: datetime, payload: r.Payload) -> r.Entry:
        self.count += 1
        return r.Entry(self._id(), self.known.bin, when, payload)

    def _id(self) -> UUID:
        return uuid5(NAMESPACE_OID, f"hidden-bin:{self.seed}:{self.count}")


def written_record(
    known: Written, truth: Truth, thermometers: Thermometers, draws: np.random.Generator, seed: int
) -> WrittenRecord:
    """Write the record of each tier.

    Every tier but the stock-take holds all loads and jobs from the first, empty day on; readings
    and looks begin with the season. The stock-take begins with the season and holds what is fed
    from then on, but nothing measured. Two depths come with the lid dial, one depth and the dial
    stand alone.

    Parameters
    ----------
    known : Written
        What is written whatever is measured.
    truth : Truth
        What is there to be seen.
    thermometers : Thermometers
        What they read.
    draws : Generator
        Source of chance [-].
    seed : int
        Of the entries' ids [-].

    Returns
    -------
    WrittenRecord
    """
    pen = _Pen(seed, known)
    jobs = _jobs(pen, known, truth, draws)
    lid, upper, lower = _readings(pen, known, truth, thermometers, draws)
    looks = _looks(pen, known, truth, draws)
    begin = known.when(known.season[0])
    later = [one for one in jobs if one.when >= begin]
    vent = pen.entry(begin + timedelta(hours=8, minutes=5), r.Vent("lid", known.vent))
    taken = pen.entry(begin + timedelta(hours=8), _stocktake(known, truth, draws))
    own = [
        (taken, vent, *later),
        (*jobs, *lid, *upper, *lower),
        (*jobs, *upper),
        (*jobs, *lid),
        (*jobs, *looks),
    ]
    names = ("stocktake", "two_depths", "one_depth", "lid_only", "looks_only")
    records = {
        name: tuple(sorted(entries, key=lambda one: one.when))
        for name, entries in zip(names, own, strict=True)
    }
    values = []
    for entry in lid:
        if isinstance(entry.payload, r.Reading):
            hour = (entry.when - known.start).total_seconds() / SECONDS
            values.append((hour, entry.payload.temperature.temperature_celsius))
    return WrittenRecord(records, tuple(values))


def _jobs(pen: _Pen, known: Written, truth: Truth, draws: np.random.Generator) -> list[r.Entry]:
    entries = [pen.entry(known.when(9.0), r.Vent("lid", known.vent))]
    for when, items in known.planned:
        entries.append(pen.entry(when, r.Load(items)))
        if known.stirs:
            entries.append(
                pen.entry(when + timedelta(minutes=2), r.Stir(r.Length(12, "cm"), "hand fork"))
            )
    for dug in truth.dug:
        litres = 5.0 * max(round(dug.litres * float(np.exp(draws.normal(0.0, 0.2))) / 5.0), 1)
        entries.append(
            pen.entry(known.when(dug.hour), r.DigOut(r.Amount(litres, "litre"), side="front"))
        )
        entries.append(pen.entry(known.when(dug.hour + 0.05), r.Poke(tool="rod")))
    for drawn in truth.drawn:
        litres = round(2.0 * drawn.litres * float(np.exp(draws.normal(0.0, 0.15)))) / 2.0
        entries.append(pen.entry(known.when(drawn.hour), r.Drain(r.Amount(litres, "litre"))))
    return entries


def _reading_hours(known: Written) -> list[float]:
    """Twice a week at six in the evening, from the second day of the season on."""
    hour = known.season[0] + 24.0 + 18.0
    found, k = [], 0
    while hour < known.season[1]:
        found.append(hour)
        hour += 24.0 * (3 if k % 2 else 4)
        k += 1
    return found


def _shown(value: float, step: float) -> r.Temperature:
    read = float(np.clip(round(value / step) * step, LOWEST_READ, HIGHEST_READ))
    return r.Temperature(round(read, 1), "C")


def _readings(
    pen: _Pen, known: Written, truth: Truth, own: Thermometers, draws: np.random.Generator
) -> tuple[list[r.Entry], list[r.Entry], list[r.Entry]]:
    """Lid dial, short and long probe; a probe longer than the stack is deep is left out."""
    sun_share = known.site.bins[0].sun_share_percent / 100.0
    lid: list[r.Entry] = []
    probes: tuple[list[r.Entry], list[r.Entry]] = ([], [])
    stuck: float | None = None
    for hour in _reading_hours(known):
        i = int(hour)
        dial = truth.lid[i] + own.biases[0] + own.sun * sun_share * truth.irradiance[i]
        dial += draws.normal(0.0, NOISE_KELVIN)
        lid.append(pen.entry(known.when(hour), r.Reading(LID, _shown(float(dial), own.steps[0]))))
        for k, name in enumerate((UPPER, LOWER)):
            off, noise = draws.normal(0.0, DEPTH_ERROR), draws.normal(0.0, NOISE_KELVIN)
            if own.depths[k] > truth.fill_height[i]:
                continue
            height = truth.fill_height[i] - own.depths[k] - off
            height = float(np.clip(height, 0.0, truth.fill_height[i]))
            value = truth.temperature_at_height(i, height) + own.biases[k + 1] + float(noise)
            broken = own.fault != "none" and own.faulty == k
            if broken and hour >= known.season[0] + 24.0 * own.fault_day:
                if own.fault == "offset":
                    value += OFFSET_KELVIN
                else:
                    stuck = value if stuck is None else stuck
                    value = stuck
            where = r.Position(r.Length(100.0 * own.depths[k], "cm"), "surface")
            reading = r.Reading(name, _shown(value, own.steps[k + 1]), where, "centre")
            probes[k].append(pen.entry(known.when(hour + (k + 1) / 60.0), reading))
    return lid, probes[0], probes[1]


def look_hours(season: tuple[float, float]) -> list[int]:
    """The first morning of a season at eight, and once a week at nine from the second day on."""
    return [int(season[0]) + 8, *range(int(season[0]) + 33, int(season[1]), 168)]


def _squeeze(moisture: float, draws: np.random.Generator) -> str:
    felt = moisture + float(draws.normal(0.0, SQUEEZE_ERROR))
    words = ("dry", "damp", "drops", "trickle")
    return words[int(np.searchsorted(SQUEEZE_LIMITS, felt))]


def _smell(seen: Surface, draws: np.random.Generator) -> str:
    if draws.random() < 0.1:
        return "none"
    if seen.oxygen < ROTTEN_OXYGEN and seen.moisture > ROTTEN_WATER:
        return "rotten-egg" if draws.random() < 0.5 else "sour"
    if seen.ph + draws.normal(0.0, SOUR_ERROR) < SOUR_PH:
        return "sour"
    if seen.ammonia > AMMONIA_LIMIT and seen.ph > AMMONIA_PH:
        return "ammonia"
    return "earthy" if draws.random() < 0.6 else "none"


def _worms(seen: Surface, draws: np.random.Generator) -> str:
    low, high = WORM_RANGE
    if not (low <= seen.base_celsius <= high and seen.base_oxygen > WORM_OXYGEN):
        return "none"
    return "many" if draws.random() < 0.6 else "few"


def _level(known: Written, truth: Truth, hour: int, draws: np.random.Generator) -> r.Length:
    """Surface below the rim as a keeper measures it, to the centimetre."""
    height = (known.site.bins[0].inside_height_cm or 0.0) / 100.0
    below = height - truth.fill_height[hour] + float(draws.normal(0.0, 0.02))
    return r.Length(max(round(100.0 * below), 0), "cm")


def _looks(pen: _Pen, known: Written, truth: Truth, draws: np.random.Generator) -> list[r.Entry]:
    entries = []
    for hour in look_hours(known.season)[1:]:
        seen = truth.surfaces[hour]
        near = truth.temperature_at_height(hour, float(truth.fill_height[hour]) - 0.05)
        worms = _worms(seen, draws)
        look = r.Look(
            level=_level(known, truth, hour, draws),
            smell=_smell(seen, draws),
            squeeze=_squeeze(seen.moisture, draws),
            steam=bool(near > truth.air[hour] + STEAM_KELVIN),
            worms=worms,
            worms_at=None if worms == "none" else "base",
        )
        entries.append(pen.entry(known.when(hour), look))
    return entries


def _stocktake(known: Written, truth: Truth, draws: np.random.Generator) -> r.Stocktake:
    hour = look_hours(known.season)[0]
    seen = truth.surfaces[hour]
    before = [dug.hour for dug in truth.dug if dug.hour < known.season[0]]
    dug = None
    if before:
        dug = known.when(before[-1]).astimezone(known.site.zone).date()
    return r.Stocktake(
        level=_level(known, truth, hour, draws),
        since=known.first,
        feed=known.week,
        dug=dug,
        squeeze=_squeeze(seen.moisture, draws),
        worms=_worms(seen, draws),
        mostly=known.mostly,
    )
