"""A year of hourly weather that stands for every year, as the usual weather files hold it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput, JournalError
from slowfire.refusals import RefusedField, number_in, one_of
from slowfire.site import RAIN_CLASSES, SHELTERS
from slowfire.tables_text import Problems, read_number
from slowfire.weather.ambient import (
    DEW_POINT_DEPRESSION_KELVIN,
    HOURS_PER_YEAR,
    RAIN_MM_PER_YEAR,
    WIND_M_PER_S,
    Ambient,
    assumed_irradiance,
    clock,
    humidity_from_dew_point,
)

LARGEST_BYTES = 16_000_000
LONGEST_GAP_HOURS = 48
MOST_MISSING = 0.1  # share of hours; above it a quantity counts as not measured
DAYS_BEFORE_MONTH = np.array([0, 31, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335, 366])
MONTH_LENGTHS = np.diff(DAYS_BEFORE_MONTH)
SLOTS = 366 * 24
LEAP_DAY = slice(59 * 24, 60 * 24)
DAY_BEFORE_IT = slice(58 * 24, 59 * 24)
# Wind at 2 m over that at 10 m over short grass (Allen and others 1998, equation 47)
TWO_METRES = 0.748
WIND_HEIGHT_METRES = 10


@dataclass(frozen=True)
class Quantity:
    """One quantity of a weather file: its column there, its range and its missing codes."""

    name: str
    column: str
    low: float
    high: float
    unit: str
    missing_from: float = np.inf  # this and anything above means missing
    missing_below: float = -np.inf  # anything below means missing


@dataclass(frozen=True, eq=False)
class TypicalYear:
    """Hourly weather of one place over a year, on local standard time.

    Attributes
    ----------
    file, place : str
        Name of the file, and of the place as the file has it [-].
    latitude_degrees, longitude_degrees : float
        Place, north and east positive [degree].
    offset_hours : float
        Local standard time less universal time [h].
    years : tuple of int
        First and last year of the rows [-].
    values : mapping of str to ndarray, shape (8784,)
        By quantity, for each hour of a leap year, the hour 0 to 1 first: the state at the end of
        the hour, the sum or the mean over it; a quantity that was not measured is left out [mixed].
    notes : tuple of str
        What was filled in [-].
    """

    file: str
    place: str
    latitude_degrees: float
    longitude_degrees: float
    offset_hours: float
    years: tuple[int, int]
    values: dict[str, FloatArray]
    notes: tuple[str, ...] = ()

    def ambient(
        self,
        start: datetime,
        hours: float = HOURS_PER_YEAR,
        *,
        rain: str | None = None,
        wind: str | None = None,
    ) -> Ambient:
        """Return the weather from a start on; each year is the same.

        Parameters
        ----------
        start : datetime
            Time of hour 0, with its offset [-].
        hours : float
            How long, 1 or more [h].
        rain, wind : str or None
            Classes where the file has none; usual and normal if None [-].

        Returns
        -------
        Ambient
            Hourly values with the assumptions made [-].

        Raises
        ------
        InvalidInput
            If the start has no offset, or a value or class is not allowed.

        Notes
        -----
        Sun is the mean of the hour before and the hour after, which keeps its daily sum.
        """
        number_in("hours", hours, 1.0, 1e6, "h")
        if start.utcoffset() is None:
            raise RefusedField("start", f"start is {start} without an offset; add one.")
        standard = timezone(timedelta(hours=self.offset_hours))
        local = start.astimezone(standard)
        whole = local.replace(minute=0, second=0, microsecond=0)
        late = (local - whole).total_seconds() / 3600.0
        elapsed = np.arange(0.0, np.ceil(hours) + 1.0)
        ends = np.datetime64(whole.replace(tzinfo=None), "h") + np.arange(elapsed.size + 1)
        slots = _slots(ends)
        next_slots = _slots(ends + 1)

        def at(name: str) -> FloatArray:
            known = self.values[name][slots]
            if name == "irradiance_w_per_m2":
                known = 0.5 * (known + self.values[name][next_slots])
            return np.asarray((1.0 - late) * known[:-1] + late * known[1:])

        said = [
            f"Weather is the year of {self.file} ({self.place}, rows of {_span(self.years)}), "
            "the same every year, on local standard time.",
            *self.notes,
        ]
        temperature = at("temperature_celsius")
        if "relative_humidity_percent" in self.values:
            humidity = at("relative_humidity_percent") / 100.0
        elif "dew_point_celsius" in self.values:
            humidity = humidity_from_dew_point(temperature, at("dew_point_celsius"))
        else:
            means = np.convolve(np.pad(temperature, (12, 11), "edge"), np.ones(24) / 24, "valid")
            humidity = humidity_from_dew_point(temperature, means - DEW_POINT_DEPRESSION_KELVIN)
            said.append(
                "Humidity was not measured; the dew point is taken "
                f"{DEW_POINT_DEPRESSION_KELVIN:g} K below the day's mean."
            )
        if "wind_m_per_s" in self.values and wind is None:
            wind_speed = TWO_METRES * at("wind_m_per_s")
            said.append(
                f"Wind was measured {WIND_HEIGHT_METRES} m up, where the file keeps to its rule; "
                f"{TWO_METRES:.0%} of it is taken, as 2 m above open ground."
            )
        else:
            word = one_of("wind", wind or "normal", SHELTERS)
            wind_speed = np.full_like(elapsed, WIND_M_PER_S[word])
            said.append(f"Wind is {WIND_M_PER_S[word]:g} m/s ({word}).")
        if "rain_mm" in self.values and rain is None:
            rain_rate = at("rain_mm")
        else:
            word = one_of("rain", rain or "usual", RAIN_CLASSES)
            rain_rate = np.full_like(elapsed, RAIN_MM_PER_YEAR[word] / HOURS_PER_YEAR)
            why = "as stated" if rain else "not measured"
            said.append(f"Rain is {RAIN_MM_PER_YEAR[word]:g} mm a year ({word}, {why}).")
        if "irradiance_w_per_m2" in self.values:
            irradiance = at("irradiance_w_per_m2")
        else:
            day, hour = clock(local, elapsed)
            irradiance = assumed_irradiance(day, hour, self.latitude_degrees)
            said.append(
                f"Sun was not measured; a cloudy mean at {self.latitude_degrees:g} degrees is "
                "taken."
            )
        return Ambient(
            start, elapsed, temperature, humidity, wind_speed, rain_rate, irradiance, tuple(said)
        )


@dataclass
class YearRows:
    """Collects the rows of a weather file into the hours of a leap year."""

    file: str
    quantities: Sequence[Quantity]
    problems: Problems = field(init=False)
    values: dict[str, FloatArray] = field(init=False)
    lines: FloatArray = field(init=False)
    years: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.problems = Problems(self.file)
        self.values = {one.name: np.full(SLOTS, np.nan) for one in self.quantities}
        self.lines = np.zeros(SLOTS)

    def add(self, line: int, when: tuple[int, int, int, int], cells: dict[str, str]) -> None:
        """Take one row: year, month, day, hour 1 to 24 that ends it, and its cells by quantity."""
        year, month, day, hour = when
        if not (1 <= month <= 12 and 1 <= day <= MONTH_LENGTHS[month - 1] and 1 <= hour <= 24):
            self.problems.add(
                line,
                "time",
                f"read month {month}, day {day}, hour {hour}; allowed is a day of the year and "
                "an hour of 1 to 24, which names its end.",
            )
            return
        slot = int(DAYS_BEFORE_MONTH[month - 1] + day - 1) * 24 + hour - 1
        if self.lines[slot]:
            self.problems.add(
                line,
                "time",
                f"read {month}/{day} hour {hour}, which stands in line {self.lines[slot]:.0f} "
                "too; allowed is each hour once.",
            )
            return
        self.lines[slot] = line
        self.years.add(year)
        for one in self.quantities:
            text = cells.get(one.name, "")
            if not text:
                continue
            try:
                value = read_number(text, False)
                if value >= one.missing_from or value < one.missing_below:
                    continue
                self.values[one.name][slot] = number_in(
                    one.name, value, one.low, one.high, one.unit
                )
            except InvalidInput as problem:
                self.problems.add(line, one.column, f"read {text!r}; {problem}")

    def year(
        self, place: str, latitude_degrees: float, longitude_degrees: float, offset_hours: float
    ) -> TypicalYear:
        """Return the year made of the rows taken, or refuse it."""
        self.problems.stop()
        notes: list[str] = []
        if not np.any(self.lines[LEAP_DAY]):
            for values in (*self.values.values(), self.lines):
                values[LEAP_DAY] = values[DAY_BEFORE_IT]
            notes.append("29 February, which the file lacks, is like the day before.")
        kept: dict[str, FloatArray] = {}
        for one in self.quantities:
            values = self.values[one.name]
            known = np.isfinite(values)
            gap = _longest_gap(known)
            needed = one.name == "temperature_celsius"
            if one.name == "rain_mm":
                # a column of zeros is how files say that rain was not measured
                if known.mean() >= 1.0 - MOST_MISSING and np.nansum(values) > 0.0:
                    kept[one.name] = np.where(known, values, 0.0)
                continue
            if needed and gap[1] > LONGEST_GAP_HOURS:
                raise JournalError(
                    f"{self.file}, column {one.column}: nothing for {gap[1]} hours from "
                    f"{_slot_text(gap[0])} on; allowed is a gap up to {LONGEST_GAP_HOURS} hours "
                    "in a file of a whole year."
                )
            if gap[1] > LONGEST_GAP_HOURS or known.mean() < 1.0 - MOST_MISSING:
                continue
            if not np.all(known):
                at = np.arange(SLOTS)
                values = np.interp(at, at[known], values[known], period=SLOTS)
                notes.append(f"{one.name} was interpolated where it is missing.")
            kept[one.name] = values
        if "relative_humidity_percent" in kept:
            kept["relative_humidity_percent"] = np.minimum(kept["relative_humidity_percent"], 100.0)
        return TypicalYear(
            self.file,
            place,
            latitude_degrees,
            longitude_degrees,
            offset_hours,
            (min(self.years), max(self.years)),
            kept,
            tuple(notes),
        )


def read_lines(path: str | Path) -> list[str]:
    """Return the lines of a weather file, in UTF-8 or, as older files are, in Latin-1.

    Raises
    ------
    JournalError
        If it is missing, too large or cannot be read.
    """
    place = Path(path)
    try:
        with place.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except FileNotFoundError as problem:
        raise JournalError(
            f"there is no {place.name} in {place.parent}; check the folder and the name."
        ) from problem
    except OSError as problem:
        raise JournalError(f"{place} cannot be read ({problem.strerror}).") from problem
    if len(raw) > LARGEST_BYTES:
        raise JournalError(
            f"{place.name} is over {LARGEST_BYTES / 1e6:g} MB; allowed is one year of hours."
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    return text.splitlines()


def place_numbers(
    file: str, head: list[str], places: dict[str, int], limits: dict[str, float]
) -> dict[str, float]:
    """Return numbers at some cells of a file's first line, each inside plus or minus a limit."""
    problems = Problems(file)
    found: dict[str, float] = {}
    for name, limit in limits.items():
        at = places[name]
        text = head[at].strip() if at < len(head) else ""
        try:
            found[name] = number_in(name, read_number(text, False), -limit, limit)
        except InvalidInput as problem:
            problems.add(1, str(at + 1), f"read {text!r}; {problem}")
    problems.stop()
    return found


def whole_number(text: str) -> int | None:
    """Return a whole number, None if it is none."""
    match = re.fullmatch(r"\s*(\d{1,6})(?:\.0*)?\s*", text)
    return int(match[1]) if match else None


def _slots(ends: np.ndarray) -> np.ndarray:
    """Return the hour of a leap year that ends at these local times."""
    begins = ends - 1
    days = begins.astype("datetime64[D]")
    months = begins.astype("datetime64[M]")
    month = months.astype(int) % 12
    day = (days - months.astype("datetime64[D]")).astype(int)
    hour = (begins - days.astype("datetime64[h]")).astype(int)
    return np.asarray((DAYS_BEFORE_MONTH[month] + day) * 24 + hour)


def _longest_gap(known: np.ndarray) -> tuple[int, int]:
    """Return where the longest gap begins and how many hours it has, round the turn of the year."""
    if np.all(known):
        return 0, 0
    if not np.any(known):
        return 0, SLOTS
    first = int(np.argmax(known))
    at = np.flatnonzero(np.roll(known, -first))
    ends = np.append(at, SLOTS)
    lengths = np.diff(ends) - 1
    longest = int(np.argmax(lengths))
    return (int(at[longest]) + 1 + first) % SLOTS, int(lengths[longest])


def _slot_text(slot: int) -> str:
    day, hour = divmod(slot, 24)
    month = int(np.searchsorted(DAYS_BEFORE_MONTH, day, side="right"))
    return f"{month}/{day - DAYS_BEFORE_MONTH[month - 1] + 1}, hour {hour + 1}"


def _span(years: tuple[int, int]) -> str:
    return f"{years[0]}" if years[0] == years[1] else f"{years[0]} to {years[1]}"
