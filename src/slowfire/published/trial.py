"""What set-ups of published measurements share: unknowns, plain weather, a bin that is logged."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.stats import qmc

from slowfire.arrays import FloatArray
from slowfire.column.contents import layer_carbon
from slowfire.column.draft import N_WORK, THICKNESS, geometry
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ASH,
    CENTRE_MINUS_EDGE,
    HEAD_TEMPERATURE,
    HEAD_TEMPERATURE_BEFORE,
    LAST_EVENT_HOUR,
    N_AMMONIACAL,
    N_NITRATE,
    N_RAPID,
    PHOSPHORUS,
    POTASSIUM,
    RAPID,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    WATER,
    WOOD,
)
from slowfire.column.simulate import Air, Column
from slowfire.errors import InvalidInput
from slowfire.materials.feedstock import Packing, Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Vessel

YEAR_HOURS = 8766.0


@dataclass(frozen=True)
class Unknown:
    """Something the source does not state: what we assume, evenly between two limits, and why."""

    name: str
    low: float
    high: float
    unit: str
    why: str


@dataclass(frozen=True)
class SetUp:
    """A published experiment as a script.

    Attributes
    ----------
    id : str
        As in the table of checks.
    what : str
        The set-up in a sentence.
    unknowns : tuple of Unknown
        What the source leaves open.
    run : callable
        Takes the parameters and a value for each unknown; returns the quantities by name.
    """

    id: str
    what: str
    unknowns: tuple[Unknown, ...]
    run: Callable[[Parameters, Mapping[str, float]], dict[str, float]]

    def draws(self, members: int, seed: int = 1) -> list[dict[str, float]]:
        """Values of the unknowns for each member, spread evenly over their ranges.

        Parameters
        ----------
        members : int
            1 or more [-].
        seed : int
            The same seed gives the same draws [-].

        Returns
        -------
        list of dict
            One for each member.
        """
        if members < 1:
            raise InvalidInput(f"Members is {members}; allowed is 1 or more.")
        if not self.unknowns:
            return [{} for _ in range(members)]
        unit = qmc.LatinHypercube(len(self.unknowns), rng=seed).random(members)
        return [self.at(row) for row in unit]

    def at(self, shares: Sequence[float] | FloatArray) -> dict[str, float]:
        """Values of the unknowns at shares 0-1 of their ranges, in their order."""
        return {
            one.name: one.low + float(share) * (one.high - one.low)
            for one, share in zip(self.unknowns, shares, strict=True)
        }

    def middle(self) -> dict[str, float]:
        """Every unknown in the middle of its range."""
        return self.at([0.5] * len(self.unknowns))


def litres_of(word: str, litres: float, packing: Packing = "loose") -> Portion:
    """A portion by volume as it lies."""
    stuff = load_library().find(word)
    density = stuff.bulk_density if packing == "loose" else stuff.dense_bulk_density
    return Portion(stuff, litres * density / 1000.0, litres, packing)


def kilograms_of(word: str, kilograms: float) -> Portion:
    """A portion by wet mass, tipped in loosely."""
    return Portion.from_mass(load_library().find(word), kilograms)


def water_to_reach(portions: Sequence[Portion], moisture_content: float) -> float:
    """Water to add so that a mix reaches a moisture content, 0 if it is wetter already [kg]."""
    mass = sum(one.mass for one in portions)
    dry = sum(one.mass * (1.0 - one.feedstock.moisture_content_wet_basis) for one in portions)
    return max(dry / (1.0 - moisture_content) - mass, 0.0)


def plain_air(
    mean: float,
    days: float,
    *,
    daily_swing: float = 0.0,
    yearly_swing: float = 0.0,
    start_day: float = 1.0,
    coldest_day: float = 15.0,
    humidity: float = 0.75,
    wind: float = 1.0,
    rain_per_year: float = 0.0,
    sun: float = 0.0,
) -> Air:
    """Weather of sines: a year and a day, both swings from lowest to highest.

    `sun` is the mean over day and night [W/m^2]; it falls as a half-sine from 6 to 18 h.
    """
    hours = np.arange(int(np.ceil(days * 24.0)) + 2, dtype=np.float64)
    year = -np.cos(2.0 * np.pi * (start_day - coldest_day + hours / 24.0) / 365.25)
    day = -np.cos(2.0 * np.pi * (hours - 4.0) / 24.0)
    table = np.empty((hours.size, 5))
    table[:, 0] = mean + 0.5 * yearly_swing * year + 0.5 * daily_swing * day
    table[:, 1] = humidity
    table[:, 2] = wind
    table[:, 3] = rain_per_year / YEAR_HOURS
    table[:, 4] = np.pi * sun * np.maximum(np.sin(np.pi * (hours % 24.0 - 6.0) / 12.0), 0.0)
    return Air(table)


@dataclass
class Trial:
    """A bin that is run and logged.

    Attributes
    ----------
    core_share : float
        Height of the logged core as a share of the stack, 0.5 in the middle [-].
    every : float
        Hours between two lines of the log [h].
    """

    column: Column
    core_share: float = 0.5
    every: float = 1.0
    hours: list[float] = field(default_factory=list)
    core: list[float] = field(default_factory=list)
    hottest: list[float] = field(default_factory=list)
    mean: list[float] = field(default_factory=list)
    lid: list[float] = field(default_factory=list)

    @classmethod
    def start(
        cls,
        vessel: Vessel,
        air: Air,
        parameters: Parameters,
        *,
        core_share: float = 0.5,
        every: float = 1.0,
    ) -> "Trial":
        """An empty bin at hour 0."""
        return cls(Column(vessel, air, parameters), core_share, every)

    def run_days(self, days: float, hold_celsius: float | None = None) -> None:
        """Let days pass and log; `hold_celsius` keeps every layer at one temperature."""
        end = self.column.hour + 24.0 * days
        while self.column.hour < end - 1e-6:
            self.column.run_to(min(self.column.hour + self.every, end))
            if hold_celsius is not None:
                self.hold(hold_celsius)
            self.note()

    def hold(self, celsius: float) -> None:
        """Set every layer and the head-space to one temperature, as a controlled reactor does."""
        column = self.column
        rows = column.state[: column.layers]
        rows[:, TEMPERATURE] = rows[:, TEMPERATURE_BEFORE] = celsius
        rows[:, CENTRE_MINUS_EDGE] = 0.0
        column.bin_state[HEAD_TEMPERATURE] = celsius
        column.bin_state[HEAD_TEMPERATURE_BEFORE] = celsius

    def note(self) -> None:
        """Write one line of the log."""
        column = self.column
        n = column.layers
        self.hours.append(column.hour)
        self.lid.append(float(column.bin_state[HEAD_TEMPERATURE]))
        if n == 0:
            for series in (self.core, self.hottest, self.mean):
                series.append(self.lid[-1])
            return
        rows = column.state[:n]
        centre = rows[:, TEMPERATURE] + 0.5 * rows[:, CENTRE_MINUS_EDGE]
        work = np.zeros((N_WORK, n + 2))
        geometry(column.state, n, column.bin_state, column.vessel, column.parameters, work)
        thickness = work[THICKNESS, :n]
        middle = np.cumsum(thickness) - 0.5 * thickness
        self.core.append(float(np.interp(self.core_share * thickness.sum(), middle, centre)))
        self.hottest.append(float(centre.max()))
        self.mean.append(float(np.average(rows[:, TEMPERATURE], weights=rows[:, WATER] + 1e-9)))

    def settle(self) -> None:
        """Forget the last event, so that the long step holds."""
        self.column.bin_state[LAST_EVENT_HOUR] = -1e9

    # What can be read off the log.

    def series(self, which: str = "core") -> tuple[FloatArray, FloatArray]:
        """Days since the start and one of core, hottest, mean, lid [degC]."""
        return np.array(self.hours) / 24.0, np.array(getattr(self, which))

    def peak(self, which: str = "core") -> float:
        """Warmest of the log [degC]."""
        return float(self.series(which)[1].max())

    def day_of_peak(self, which: str = "core", since: float = 0.0) -> float:
        """Day of the warmest line, counted from day `since` [day]."""
        days, values = self.series(which)
        return float(days[int(np.argmax(values))]) - since

    def days_above(self, celsius: float, which: str = "core") -> float:
        """Days at or above a temperature, all together [day]."""
        return float((self.series(which)[1] >= celsius).sum()) * self.every / 24.0

    def first_day_above(self, celsius: float, which: str = "core") -> float:
        """First day at or above a temperature; infinite if never [day]."""
        days, values = self.series(which)
        found = np.flatnonzero(values >= celsius)
        return float(days[found[0]]) if found.size else float("inf")

    def last_day_above(self, celsius: float, which: str = "core") -> float:
        """Last day at or above a temperature; 0 if never [day]."""
        days, values = self.series(which)
        found = np.flatnonzero(values >= celsius)
        return float(days[found[-1]]) if found.size else 0.0

    def at_day(self, day: float, which: str = "core") -> float:
        """Temperature at a day of the run [degC]."""
        days, values = self.series(which)
        return float(np.interp(day, days, values))

    # What can be weighed.

    def dry_mass(self) -> float:
        """Dry mass in the bin [kg]."""
        return float(self.column.state[: self.column.layers, RAPID : ASH + 1].sum())

    def organic_mass(self) -> float:
        """Volatile solids in the bin, bulking wood too [kg]."""
        return float(self.column.state[: self.column.layers, RAPID : WOOD + 1].sum())

    def water_mass(self) -> float:
        """Water in the bin [kg]."""
        return float(self.column.state[: self.column.layers, WATER].sum())

    def moisture_content(self) -> float:
        """Water per wet mass of the whole bin [-]."""
        water = self.water_mass()
        return water / (water + self.dry_mass())

    def carbon(self) -> float:
        """Organic carbon in the bin [kg]."""
        return sum(layer_carbon(row) for row in self.column.state[: self.column.layers])

    def nitrogen(self) -> float:
        """Nitrogen in the bin, organic, ammoniacal and nitrate [kg]."""
        rows = self.column.state[: self.column.layers]
        return float(
            rows[:, N_RAPID : N_RAPID + 4].sum()
            + rows[:, N_AMMONIACAL].sum()
            + rows[:, N_NITRATE].sum()
        )

    def phosphorus(self) -> float:
        """[kg]."""
        return float(self.column.state[: self.column.layers, PHOSPHORUS].sum())

    def potassium(self) -> float:
        """[kg]."""
        return float(self.column.state[: self.column.layers, POTASSIUM].sum())

    def height(self) -> float:
        """Height of the stack [m]."""
        return self.column.section().fill_height
