"""Bins whose inside is known and hidden: what truly happens, and what a keeper writes of it.

`hidden_bin(seed)` draws a bin, its place, its feeding and a season of about 90 days after some
weeks of warming up, runs the truth, and writes the record as a keeper would. Run as
`python -m benchmarks.hidden_bins --bins 60` it prints what the hidden bins are like.

What differs from the model is drawn for each bin:

- constants: every rate and flow off by a factor, lognormal 28 %, properties 12 %, independently of
  the fit; best and highest temperatures of the communities by 1.5 K; two bins in five follow the
  handbook's temperature curve by 40 to 80 %;
- walls, lid and joints lose 1 to 2.5 times what their sheets say; some board walls let air in;
- true loads weigh what was written times a factor, lognormal 30 % (half of it the keeper's own and
  lasting), are wetter or drier, and one in ten was never written down;
- weather is a drawn year; the estimate knows the usual one, or a table with an error of 1 K;
- thermometers are off by 1 K, held 2.5 cm too deep or too high, and some break.
"""

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from datetime import time as clock
from functools import partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from benchmarks.hidden_record import (
    Thermometers,
    Written,
    draw_thermometers,
    look_hours,
    written_record,
)
from benchmarks.hidden_truth import TrueLoad, Truth, hidden_parameters, leaky, run_truth, truly
from benchmarks.hidden_weather import air_of, true_weather, weather_table
from benchmarks.scores import cold_and_airless, daily_mean
from slowfire import records as r
from slowfire.column.parameters import Parameters
from slowfire.column.simulate import Air
from slowfire.errors import InvalidInput
from slowfire.materials.feedstock import Portion, packing_named
from slowfire.materials.library import load_library
from slowfire.measures import Amount, Measures, default_measures
from slowfire.timeline import OPENING_WIDTHS
from slowfire.timeline_vessel import vessel_of
from slowfire.vessel import Vessel, inside_volume
from slowfire.weather import Ambient

TIERS = ("two_depths", "one_depth", "lid_only", "looks_only", "stocktake")
BIN = "Hidden bin"
SEASON_DAYS = 90
WARM_UP_DAYS = (45, 75)
FIRST_DAYS = (date(2022, 1, 1), 1095)  # a bin begins on one of so many days from then on
MISSED_SHARE = 0.10  # of loads, never written down
# Logarithms' standard deviations; together 0.30
KEEPER_MASS, LOAD_MASS, ITEM_MASS = 0.15, 0.20, 0.17
KEEPER_DRY, LOAD_DRY = 0.12, 0.08
FEEDINGS = {"usual": 0.44, "dry": 0.10, "wet": 0.28, "runs out": 0.18}
WINDS = {"sheltered": 0.5, "normal": 0.4, "windy": 0.1}
VENTS = {"shut": 0.15, "crack": 0.6, "wider": 0.25}
WET_VENTS = {"shut": 0.5, "crack": 0.5}
FOOD, PEELINGS = "food_waste_household_mixed", "fruit_veg_peelings_mixed"


class Place(NamedTuple):
    """A town of the shipped table and its clock."""

    town: str
    zone: str


# Cold, mild and hot; names as in the shipped table of towns.
PLACES = (
    Place("Tampere", "Europe/Helsinki"),
    Place("Bristol", "Europe/London"),
    Place("Valencia, Spain", "Europe/Madrid"),
)
VESSELS = ("foam", "timber", "plastic")


@dataclass(frozen=True)
class HiddenBin:
    """One hidden bin: what is known of it, and what is not.

    Attributes
    ----------
    seed : int
        From which all else follows.
    kinetics : str
        own, or handbook where that temperature curve is blended in.
    place, vessel, feeding, weather, fault : str
        Town; foam, timber or plastic; kind of feeding; usual or hourly, what is known of the
        weather; none, stuck or offset, what is wrong with a probe.
    week_kilograms : float
        Kitchen waste a week as written [kg].
    site : Site
        As the keeper describes it.
    start : datetime
        Hour 0 of `truth`: local midnight before the first load.
    season : tuple of float
        First and last hour of the season, by `truth` [h].
    truth : Truth
        What nobody sees.
    cold_airless : ndarray, shape (hours,)
        Whether the bin has been cold and airless for a week.
    records : mapping of str to tuple of Entry
        What is written, by tier.
    lid_readings : tuple of tuple of float
        Hour of `truth` and value of every lid reading of the season [h], [degC].
    weather_table : Ambient or None
        From `start` to the end of the season, where `weather` is hourly.
    parameters : Parameters
        The laws it follows.
    walls : Vessel
        As it is, with its leaks.
    loads : tuple of TrueLoad
        What truly went in, by hours of `truth`.
    """

    seed: int
    kinetics: str
    place: str
    vessel: str
    feeding: str
    weather: str
    fault: str
    week_kilograms: float
    site: r.Site
    start: datetime
    season: tuple[float, float]
    truth: Truth
    cold_airless: NDArray[np.bool_]
    records: dict[str, tuple[r.Entry, ...]]
    lid_readings: tuple[tuple[float, float], ...]
    weather_table: Ambient | None
    parameters: Parameters
    walls: Vessel
    loads: tuple[TrueLoad, ...]

    @property
    def bistable(self) -> bool:
        """Whether the bin is cold and airless at some time of the season."""
        first, last = (int(hour) for hour in self.season)
        return bool(self.cold_airless[first : last + 1].any())

    def lead_hours(self, tier: str) -> float:
        """Hours by which the record of a tier begins after `start`.

        A record counts its hours from local midnight before its first entry, which with a
        stock-take is the day the season begins.
        """
        first = min(entry.when for entry in self.records[tier]).astimezone(self.site.zone)
        midnight = first.replace(hour=0, minute=0, second=0, microsecond=0).astimezone(UTC)
        return (midnight - self.start).total_seconds() / 3600.0


@dataclass(frozen=True)
class Keeper:
    """How somebody feeds a bin; amounts are what is written."""

    feeding: str
    days_between: float
    caddy_litres: float
    caddies: float
    paper: float  # caddies of loose paper to a caddy of food
    chips: float  # scoops to a caddy of food
    foods: tuple[str, ...]
    paper_stuff: str
    chip_stuff: str
    grass: bool
    stirs: bool
    runs_out_day: float  # of the record; no dry stuff from then on
    vent: str
    warms: float  # share of the way from the air to a kitchen's 20 degC that loads arrive at


@dataclass(frozen=True)
class Planned:
    """A load as planned: when, what would be written, and whether it is."""

    when: datetime
    items: tuple[r.LoadItem, ...]
    written: bool


def _choice(draws: np.random.Generator, shares: dict[str, float]) -> str:
    words = list(shares)
    return words[int(draws.choice(len(words), p=list(shares.values())))]


def draw_bin(draws: np.random.Generator, kind: str) -> r.Bin:
    """Describe a bin of foam, timber or plastic, about 130 to 350 L, as its keeper would."""

    def cm(low: float, high: float) -> float:
        return float(round(draws.uniform(low, high)))

    def sheet(material: str, thickness: float) -> r.WallLayer:
        return r.WallLayer(material, thickness)

    place: dict[str, Any] = {
        "shelter": _choice(draws, WINDS),
        "sun_share_percent": float(5 * round(draws.uniform(2, 12))),
        "tub_litres": 8.0,
        "vent_slot_length_cm": cm(20, 45),
        "base_inlet_area_cm2": cm(15, 45),
    }
    if kind == "foam":
        width = cm(44, 56)
        thick = float(draws.choice([40.0, 50.0, 60.0]))
        return r.Bin(
            BIN,
            "box",
            inside_width_cm=width,
            inside_depth_cm=width,
            inside_height_cm=cm(66, 96),
            wall=(sheet("foam", thick),),
            lid=(sheet("foam", 30.0),),
            base=(sheet("plastic", 4.0),),
            stands_on="slab",
            **place,
        )
    if kind == "timber":
        boards = (sheet("timber", 18.0), sheet("wool", 60.0), sheet("timber", 18.0))
        plain = bool(draws.random() < 0.4)
        return r.Bin(
            BIN,
            "box",
            inside_width_cm=cm(50, 62),
            inside_depth_cm=cm(50, 62),
            inside_height_cm=cm(70, 92),
            wall=(sheet("timber", 28.0),) if plain else boards,
            lid=(sheet("timber", 22.0),) if plain else (sheet("timber", 18.0), sheet("wool", 40.0)),
            base=(sheet("timber", 24.0),),
            stands_on="slab",
            **place,
        )
    return r.Bin(
        BIN,
        "taper",
        bottom_diameter_cm=cm(62, 74),
        top_diameter_cm=cm(50, 60),
        inside_height_cm=cm(72, 90),
        wall=(sheet("plastic", 4.0),),
        lid=(sheet("plastic", 3.0),),
        base=(sheet("plastic", 4.0),),
        stands_on="soil",
        **place,
    )


def draw_keeper(
    draws: np.random.Generator, inside_litres: float, warm_up_days: float
) -> tuple[Keeper, float]:
    """Draw how a bin is fed, and the kitchen waste of a week as written [kg]."""
    feeding = _choice(draws, FEEDINGS)
    # nobody feeds a small bin like a large one
    most = min(15.0, 0.06 * inside_litres)
    week = float(np.exp(draws.uniform(np.log(4.0), np.log(most))))
    days = float(draws.choice([2.0, 3.0, 3.5, 4.0]))
    caddy = float(draws.choice([5.0, 6.0, 7.0]))
    foods = (FOOD, PEELINGS)[:: 1 if draws.random() < 0.65 else -1]
    if feeding == "wet":
        foods = (PEELINGS, "watery_fruit_veg")
    density = load_library().find(foods[0]).bulk_density
    paper, chips = {
        "usual": (draws.uniform(0.3, 0.7), draws.uniform(0.5, 1.5)),
        "runs out": (draws.uniform(0.4, 0.8), draws.uniform(0.5, 1.5)),
        "dry": (draws.uniform(0.9, 1.3), draws.uniform(1.0, 2.0)),
        "wet": (draws.uniform(0.0, 0.12), 0.0),
    }[feeding]
    keeper = Keeper(
        feeding=feeding,
        days_between=days,
        caddy_litres=caddy,
        caddies=week * days / 7.0 / (density * caddy / 1000.0),
        paper=float(paper),
        chips=float(chips),
        foods=tuple(foods),
        paper_stuff=str(draws.choice(["office_paper_shredded", "corrugated_cardboard"])),
        chip_stuff=str(draws.choice(["bark_chips_fine", "prunings_chipped_woody"])),
        grass=bool(draws.random() < 0.35),
        stirs=bool(draws.random() < (0.3 if feeding == "wet" else 0.7)),
        runs_out_day=warm_up_days + float(draws.uniform(5.0, 40.0)),
        vent=_choice(draws, WET_VENTS if feeding == "wet" else VENTS),
        warms=float(draws.uniform(0.2, 0.8)),
    )
    return keeper, week


def _half(number: float) -> float:
    """Amounts are written in halves."""
    return max(round(2.0 * number) / 2.0, 0.5)


def plan_loads(
    draws: np.random.Generator, keeper: Keeper, site: r.Site, first: date, days: int
) -> list[Planned]:
    """Every load from the first day on, the first with old compost below it."""
    planned: list[Planned] = []
    day = 0.0
    while day < days:
        when = datetime.combine(
            first + timedelta(days=int(day)),
            clock(int(draws.integers(17, 20)), int(draws.integers(20, 55))),
            site.zone,
        )
        caddies = _half(keeper.caddies * float(np.exp(draws.normal(0.0, 0.2))))
        food = keeper.foods[0 if draws.random() < 0.75 else 1]
        items = [r.LoadItem(food, r.Amount(caddies, "caddy"))]
        dry = not (keeper.feeding == "runs out" and day >= keeper.runs_out_day)
        if dry and keeper.paper * caddies >= 0.25:
            paper = r.Amount(_half(keeper.paper * caddies), "caddy")
            items.append(r.LoadItem(keeper.paper_stuff, paper, "loose"))
        if dry and keeper.chips * caddies >= 0.25:
            chips = r.Amount(_half(keeper.chips * caddies), "scoop")
            items.append(r.LoadItem(keeper.chip_stuff, chips))
        if draws.random() < 0.2:
            items.append(r.LoadItem("coffee_grounds", r.Amount(1.0, "scoop")))
        if draws.random() < 0.1:
            items.append(r.LoadItem("bread_stale", r.Amount(1.0, "scoop")))
        if keeper.grass and 4 <= when.month <= 9 and draws.random() < 0.2:
            items.append(r.LoadItem("grass_clippings_fresh", r.Amount(1.0, "caddy")))
        if day == 0.0:
            items.insert(0, r.LoadItem("half_finished_compost", r.Amount(1.0, "sack")))
        written = bool(draws.random() >= MISSED_SHARE) or day == 0.0
        planned.append(Planned(when, tuple(items), written))
        day += keeper.days_between + float(draws.choice([-1.0, 0.0, 0.0, 1.0]))
    return planned


def true_loads(
    draws: np.random.Generator,
    planned: list[Planned],
    keeper: Keeper,
    site: r.Site,
    hour: Callable[[datetime], float],
    air: Air,
) -> list[TrueLoad]:
    """What truly went in at each planned load."""
    library = load_library()
    measures: Measures = default_measures().with_own(site.measures)
    lasting: dict[str, tuple[float, float]] = {}
    found = []
    for one in planned:
        load_mass = draws.normal(0.0, LOAD_MASS)
        load_dry = draws.normal(0.0, LOAD_DRY)
        portions: list[Portion] = []
        for item in one.items:
            stuff = library.find(item.material)
            own_mass, own_dry = lasting.setdefault(
                stuff.group, (draws.normal(0.0, KEEPER_MASS), draws.normal(0.0, KEEPER_DRY))
            )
            written = measures.to_portion(
                stuff, Amount(item.amount.middle, item.amount.unit), packing_named(item.packing)
            )
            mass = np.exp(own_mass + load_mass + draws.normal(0.0, ITEM_MASS))
            dry = np.exp(own_dry + load_dry)
            portions.append(truly(written, float(mass), float(dry)))
        when = hour(one.when)
        outside = air.temperature_celsius(when)
        arrives = outside + keeper.warms * (20.0 - outside)
        days = float(draws.uniform(1.0, 5.0))
        found.append(TrueLoad(when, tuple(portions), max(arrives, 1.0), days, keeper.stirs))
    return found


def hidden_bin(seed: int, keep_days: Sequence[float] = ()) -> HiddenBin:
    """Draw a hidden bin, run its truth and write its record.

    Parameters
    ----------
    seed : int
        0 or more; places, walls, laws and what is known of the weather go round by it, the rest
        is drawn [-].
    keep_days : sequence of float
        Days of the season at which the whole bin is kept [d].

    Returns
    -------
    HiddenBin

    Raises
    ------
    InvalidInput
        If the seed is below 0.
    """
    if seed < 0:
        raise InvalidInput(f"Seed is {seed}; allowed is 0 or more.")
    streams = [np.random.default_rng([seed, stream]) for stream in range(9)]
    place = PLACES[seed % 3]
    kind = VESSELS[seed // 3 % 3]
    handbook = seed % 5 in (1, 3)
    known = "hourly" if seed % 2 else "usual"

    record = draw_bin(streams[0], kind)
    vessel, _ = vessel_of(record)
    warm_up = int(streams[1].integers(*WARM_UP_DAYS, endpoint=True))
    first = FIRST_DAYS[0] + timedelta(days=int(streams[1].integers(FIRST_DAYS[1])))
    keeper, week = draw_keeper(streams[1], 1000.0 * inside_volume(vessel), warm_up)
    thermometers: Thermometers = draw_thermometers(streams[2])
    site = r.Site(
        "Hidden yard",
        place.zone,
        (record,),
        thermometers=thermometers.declared(),
        measures={"caddy": keeper.caddy_litres, "scoop": 1.5, "sack": 40.0},
        weather=r.WeatherSetting("grid", town=place.town),
    )

    def at(day: int) -> datetime:
        local = datetime.combine(first + timedelta(days=day), clock(0), site.zone)
        return local.astimezone(UTC)

    start = at(0)

    def hour(when: datetime) -> float:
        return (when.astimezone(UTC) - start).total_seconds() / 3600.0

    days = warm_up + SEASON_DAYS
    season = (hour(at(warm_up)), hour(at(days)))
    hours = int(season[1])
    true, usual = true_weather(streams[3], place.town, start, hours + 2.0)
    air = air_of(site, true, start)
    planned = plan_loads(streams[4], keeper, site, first, days)
    width = OPENING_WIDTHS[keeper.vent] * float(np.exp(streams[5].normal(0.0, 0.3)))
    parameters = hidden_parameters(streams[6], handbook)
    boards = kind == "timber" and bool(streams[6].random() < 0.5)
    walls = leaky(vessel, streams[6], boards)
    loads = true_loads(streams[5], planned, keeper, site, hour, air)
    truth = run_truth(
        walls,
        air,
        parameters,
        loads,
        [(9.0, width)],
        [hour(at(day)) + 10.5 for day in range(14, days, 14)],
        look_hours(season),
        hours,
        [int(season[0] + 24.0 * day) for day in keep_days],
    )
    written = written_record(
        Written(
            bin=BIN,
            site=site,
            first=first,
            start=start,
            season=season,
            planned=tuple((one.when, one.items) for one in planned if one.written),
            vent=keeper.vent,
            stirs=keeper.stirs,
            week=r.Amount(_half(7.0 / keeper.days_between * keeper.caddies), "caddy"),
            mostly=keeper.foods[:1],
        ),
        truth,
        thermometers,
        streams[7],
        seed,
    )
    return HiddenBin(
        seed=seed,
        kinetics="handbook" if handbook else "own",
        place=place.town,
        vessel=kind,
        feeding=keeper.feeding,
        weather=known,
        fault=thermometers.fault,
        week_kilograms=week,
        site=site,
        start=start,
        season=season,
        truth=truth,
        cold_airless=cold_and_airless(
            truth.hours, truth.hottest, daily_mean(truth.air), truth.lowest_oxygen
        ),
        records=written.records,
        lid_readings=written.lid_readings,
        weather_table=weather_table(streams[8], true, usual) if known == "hourly" else None,
        parameters=parameters,
        walls=walls,
        loads=tuple(loads),
    )


def described(hidden: HiddenBin) -> str:
    """One line on what a hidden bin was like over its season."""
    first, last = (int(one) for one in hidden.season)
    span = slice(first, last + 1)
    truth = hidden.truth
    wet = [one.moisture for hour, one in truth.surfaces.items() if hour >= first]
    warm = [one.base_celsius for hour, one in truth.surfaces.items() if hour >= first]
    share = truth.hottest_height[span] / np.maximum(truth.fill_height[span], 1e-9)
    low, middle, high = np.percentile(truth.hottest[span], [5, 50, 95])
    return (
        f"{hidden.seed:4d} {hidden.place[:8]:8s} {hidden.vessel:7s} {hidden.kinetics:8s} "
        f"{hidden.feeding:8s} {hidden.weather:6s} {hidden.fault:6s} {hidden.week_kilograms:5.1f} "
        f"{np.mean(truth.air[span]):6.1f} | {low:5.1f} {middle:5.1f} {high:5.1f} "
        f"{np.median(share):5.2f} | {np.median(truth.lid[span]):5.1f} "
        f"{np.median(warm):5.1f} | {np.median(truth.fill_height[span]):5.2f} "
        f"{100 * np.median(wet):4.0f} "
        f"{100 * np.median(truth.lowest_oxygen[span]):5.1f} "
        f"{100 * np.mean(hidden.cold_airless[span]):4.0f} | {len(truth.dug):2d} "
        f"{len(hidden.records['two_depths']):4d}"
    )


HEADING = (
    "seed place    walls   kinetics feeding  known  fault  kg/wk    air | hottest 5/50/95 %  at  |"
    "   lid  base |  fill  wet  O2 %  c+a % | dug entries"
)


def main() -> None:
    """Print what hidden bins are like."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--bins", type=int, default=60)
    chosen = parser.parse_args()
    print(HEADING)
    middles, highs, shares, bistable = [], [], [], 0
    for seed in range(chosen.bins):
        hidden = hidden_bin(seed)
        print(described(hidden), flush=True)
        span = slice(int(hidden.season[0]), int(hidden.season[1]) + 1)
        hottest = hidden.truth.hottest[span]
        middles.append(float(np.median(hottest)))
        highs.append(float(np.percentile(hottest, 95)))
        shares.append(float(np.mean((hottest >= 35.0) & (hottest <= 68.0))))
        bistable += hidden.bistable
    percent = partial(np.percentile, q=[0, 10, 25, 50, 75, 90, 100])
    for words, values in (("median", middles), ("95th percentile", highs)):
        row = " ".join(f"{one:.1f}" for one in percent(values))
        print(f"hottest, {words} of a season, 0 10 25 50 75 90 100 % of bins: {row} C")
    print(f"share of hours with the hottest at 35 to 68 C: {np.mean(shares):.2f}")
    print(f"cold and airless at some time: {bistable} of {chosen.bins} bins")


if __name__ == "__main__":
    main()
