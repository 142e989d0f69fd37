"""What advice rests on: chances from an estimate, and what the keeper wrote."""

from dataclasses import dataclass, field

QUANTILES = (0.05, 0.5, 0.95)
UPPER_PART = 0.4  # share of the height from which the working part of a stack begins [-]


@dataclass(frozen=True)
class Spread:
    """5th, 50th and 95th percentile of one quantity [mixed]."""

    low: float
    mid: float
    high: float

    def chance_above(self, number: float) -> float:
        """Probability of being above a number, by straight lines between the percentiles [-].

        Beyond the outer two the line goes on until nothing is left.

        Examples
        --------
        >>> Spread(10.0, 20.0, 40.0).chance_above(30.0)
        0.275
        """
        points = (self.low, self.mid, self.high)
        if number >= self.high:
            width = max(self.high - self.mid, 1e-9)
            below = min(0.95 + 0.05 * (number - self.high) / width, 1.0)
        elif number <= self.low:
            width = max(self.mid - self.low, 1e-9)
            below = max(0.05 - 0.05 * (self.low - number) / width, 0.0)
        else:
            k = 0 if number < self.mid else 1
            part = (number - points[k]) / max(points[k + 1] - points[k], 1e-9)
            below = QUANTILES[k] + part * (QUANTILES[k + 1] - QUANTILES[k])
        return 1.0 - below

    def chance_below(self, number: float) -> float:
        """Probability of being at or below a number [-].

        Examples
        --------
        >>> Spread(10.0, 20.0, 40.0).chance_below(20.0)
        0.5
        """
        return 1.0 - self.chance_above(number)


@dataclass(frozen=True)
class Slice:
    """A layer as advice sees it; height of its middle over that of the stack [-], age [day]."""

    place: float
    celsius: Spread
    moisture_percent: Spread
    oxygen_percent: Spread
    age_days: float = 0.0


@dataclass(frozen=True)
class Outlook:
    """One day ahead: days from now, hottest layer and air [degC], and chances [percent]."""

    days: float
    hottest: Spread
    air: Spread
    over_70_percent: float
    cold_airless_percent: float | None


@dataclass(frozen=True)
class Looks:
    """What was last seen, smelled and felt, with the days since; None if not of late."""

    smell: str | None = None
    squeeze: str | None = None
    flies: str | None = None
    rodents: str | None = None
    fault: str | None = None
    bulge: bool | None = None
    days_ago: float = 0.0


@dataclass(frozen=True)
class Condition:
    """A bin as advice sees it.

    Attributes
    ----------
    hottest, lid, air : Spread
        Now [degC].
    slices : tuple of Slice
        From the base up.
    room_cm : Spread
        From the surface to the rim [cm].
    tub_percent : Spread or None
        Of what the tub holds [percent]; None without a tub.
    cold_airless : float or None
        Chance of having been cold and airless for a week [-].
    vent, base_inlet : str
        Openings as last written: shut, crack, wider, open, or empty.
    fed_percent_a_week : float or None
        Fresh wet food of a week over the volume of the stack [percent]; None if not known.
    weeks_of_room : Spread or None
        As it is fed [week]; None if not known.
    area_m2 : float
        Of the floor [m^2].
    read : frozenset of str
        Of temperature, moisture, level and tub: what was read in the last week.
    looks : Looks
        Of the last days.
    ahead : tuple of Outlook
        The days ahead.
    """

    hottest: Spread
    lid: Spread
    air: Spread
    slices: tuple[Slice, ...]
    room_cm: Spread
    tub_percent: Spread | None = None
    cold_airless: float | None = None
    vent: str = ""
    base_inlet: str = ""
    fed_percent_a_week: float | None = None
    weeks_of_room: Spread | None = None
    area_m2: float = 0.25
    read: frozenset[str] = frozenset()
    looks: Looks = field(default_factory=Looks)
    ahead: tuple[Outlook, ...] = ()

    @property
    def upper(self) -> tuple[Slice, ...]:
        """The working part of the stack, where food is young."""
        return tuple(one for one in self.slices if one.place > UPPER_PART)

    @property
    def hot_slice(self) -> Slice | None:
        """The layer that is hottest in the middle of the estimate."""
        return max(self.slices, key=lambda one: one.celsius.mid) if self.slices else None

    def chance_dry(self, percent: float) -> float:
        """Chance that half of the working part holds less water than that [-]."""
        chances = sorted(one.moisture_percent.chance_below(percent) for one in self.upper)
        return chances[(len(chances) - 1) // 2] if chances else 0.0

    def chance_wet(self, percent: float) -> float:
        """Chance that some layer of the working part holds more water than that [-]."""
        return max((one.moisture_percent.chance_above(percent) for one in self.upper), default=0.0)

    def chance_short_of_air(self, percent: float) -> float:
        """Chance that some layer of the working part holds less oxygen than that [-]."""
        return max((one.oxygen_percent.chance_below(percent) for one in self.upper), default=0.0)

    def chance_cool(self, kelvin: float) -> float:
        """Chance that the hottest layer is less than that above the air [-].

        The air is taken in the middle of the estimate.
        """
        return self.hottest.chance_below(self.air.mid + kelvin)
