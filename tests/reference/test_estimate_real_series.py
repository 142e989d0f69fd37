"""Real bins and heaps: early readings go into an estimate, which must allow for the later ones.

What a source leaves open is taken in the middle of the range that the published set-up of that
case gives it (`slowfire.published`). Pages were read for all five; temperatures as printed, degF
as degC to half a degree.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from slowfire.column.contents import Load
from slowfire.column.simulate import Column
from slowfire.estimate.condition import begin_ensemble, condition, in_turn
from slowfire.estimate.discrepancy import corrected, even_draws, leftovers
from slowfire.estimate.glimpse import glimpse
from slowfire.estimate.looks import squeeze
from slowfire.estimate.member import instrument_values
from slowfire.estimate.observe import Observed, fill_level, member_predictions
from slowfire.estimate.plan import Event, Plan
from slowfire.estimate.readings import Instrument, Place, lid_dial, outside_air, probe
from slowfire.materials.feedstock import Packing, Portion
from slowfire.published.checks import read_checks
from slowfire.published.heaps import CAGE
from slowfire.published.mixes import by_volume, wetted, with_moisture
from slowfire.published.set_ups import SET_UPS
from slowfire.published.trial import litres_of, plain_air
from slowfire.vessel import Fittings, box, cylinder, inside_volume

READING_STREAM = 15  # errors of later readings owe nothing to those of the model
MEMBERS = 24  # of each seed; the seeds are pooled, since two dozen tell a 90 % interval badly
DIAL, PROBE = Instrument("dial", 1.0), Instrument("probe", 1.0)


@dataclass(frozen=True)
class Series:
    """A record with its early readings, and what was read later.

    Attributes
    ----------
    plan : Plan
        With the early readings.
    end : float
        Hour of the last of them.
    later : dict of str to Observed
        By a word for the row.
    seeds : tuple of int
        Of the ensembles that are pooled.
    """

    plan: Plan
    end: float
    later: dict[str, Observed]
    seeds: tuple[int, ...] = (1, 2, 3, 4)


def core(hour: float, celsius: float, depth: float, spread: float = 0.08) -> Observed:
    """A probe in the middle of the bed; how deep is known to a hand's breadth."""
    return probe(hour, celsius, PROBE, Place(depth=depth, spot="centre", spread=spread))


def loaded(hour: float, portions: list[Portion], celsius: float | None = None) -> Event:
    """A load, with a temperature of its own or that of the air."""
    mass = 0.0 if celsius is None else sum(one.mass for one in portions)
    return Event(hour, lambda column: None, Load(tuple(portions), mass, celsius or 0.0))


def act(hour: float, do: Callable[[Column], None]) -> Event:
    return Event(hour, do)


def january_filling() -> Series:
    """Case 4, organic-gardening site, January 2013.

    An insulated bin of the 200 L class, filled for two weeks in frost with kitchen waste, browns
    and composted bark. Day 0: lid 8 degC, core 30 degC; then the airflow was reduced. Three days
    and a heavy snowfall later: lid 22 degC, core just under 60 degC.
    """
    given = SET_UPS["case-4"].middle()
    foam = (("eps", given["foam"]), ("plastic", 0.003))
    fittings = Fittings(
        wall=foam, lid=foam, base=(("eps", given["foam"]),), vent_slot_length=0.4,
        inlet_area=0.002, wind_share=0.4, sun_share=0.1,
    )  # fmt: skip
    air = plain_air(given["air"], 20.0, daily_swing=given["swing"], humidity=0.85, wind=1.5)
    food = given["food"]
    browns = 0.5 * given["browns"] * food
    load = [
        litres_of("food_waste_household_mixed", food),
        litres_of("office_paper_shredded", browns),
        litres_of("leaves_mixed_autumn", browns),
        litres_of("compost_oversize_bark", given["bark"] * food),
    ]
    events = [act(0.0, lambda column: column.set_vent(given["vent_first"]))]
    for k in range(7):
        events.append(loaded(48.0 * k, load, given["caddy"]))
        events.append(act(48.0 * k, lambda column: column.stir(0.15, 0.7)))
    day_0 = 24.0 * 14.5
    events.append(act(day_0, lambda column: column.set_vent(given["vent_then"])))
    # half-way down a stack of some 40 cm
    early = (lid_dial(day_0, 8.0, DIAL), core(day_0, 30.0, 0.2))
    plan = Plan(cylinder(0.55, 0.84, fittings), None, tuple(events), early, air)
    day_3 = day_0 + 72.0
    return Series(plan, day_0, {"lid": lid_dial(day_3, 22.0, DIAL), "core": core(day_3, 59.0, 0.2)})


def watered_pile() -> Series:
    """Case 7, blog, April 2012.

    A turned pile of manure and bedding at 140 degF (60 degC), "too dry" by feel, a fresh layer on
    top. One watering can; next day 152 degF (66.5 degC).
    """
    given = SET_UPS["case-7"].middle()
    fittings = Fittings(
        wall=(("timber", 0.02),), lid=None, base=(), lid_fit="leaky", inlet_area=0.0,
        side_open=given["gaps"], wind_share=0.5, sun_share=0.4,
    )  # fmt: skip
    air = plain_air(12.0, 9.0, daily_swing=10.0, wind=1.5, sun=150.0)
    # the wettest that feels too dry; the squeeze says so too
    manure = [
        with_moisture(litres_of(word, 450.0), 0.50)
        for word in ("horse_manure_straw", "horse_manure_shavings")
    ]
    read = 24.0 * given["age"]
    events = (
        loaded(0.0, manure, 12.0),
        loaded(0.0, [litres_of("horse_manure_straw", 100.0)], 12.0),
        act(read, lambda column: column.water(given["can"], given["reach"], 12.0)),
    )
    early = (core(read, 60.0, given["probe"]), squeeze(read, "dry"))
    plan = Plan(box(1.0, 1.0, 1.0, fittings), None, events, early, air)
    return Series(plan, read, {"next day": core(read + 24.0, 66.5, given["probe"])})


def tropical_cage(height: float, celsius: float) -> Series:
    """Case 11, homestead blog series, July 2019.

    Wire cages of 36 x 36 x 30 in, leaves, grass and shredded card, soaked when built. Day 2: 165
    degF (74 degC), and 125 degF (51.5 degC) in the second, which was 2 ft tall. Nothing was read
    before, so that what is possible beforehand must allow for it.
    """
    given = SET_UPS["case-11"].middle()
    vessel = box(0.914, 0.914, 0.762, CAGE)
    air = plain_air(given["air"], 5.0, daily_swing=8.0, humidity=0.75, wind=2.0, sun=230.0)
    parts = {
        "leaves_mixed_autumn": 1.0 - given["grass"] - given["card"],
        "grass_clippings_wilted": given["wilted"] * given["grass"],
        "grass_clippings_fresh": (1.0 - given["wilted"]) * given["grass"],
        "corrugated_cardboard": given["card"],
    }
    mix = wetted(by_volume(1000.0 * vessel.base_area * height, parts), given["moisture"])
    plan = Plan(vessel, None, (loaded(0.0, mix),), (), air)
    return Series(plan, 1.0, {"day 2": core(48.0, celsius, 0.3)})


def leaf_walled() -> Series:
    """Case 28, winter-composting log, 3 January 2007.

    A home-made bin with a thick wall of leaves, a bucket of scraps with mulched leaves and grass
    every few days. The morning -18 degC; readings around 20 degC through much of the bin. One of
    them goes in, the others a hand's breadth above and below must be allowed for.
    """
    given = SET_UPS["case-28"].middle()
    leaves = given["leaves"] * 0.06 / given["conductivity"]
    fittings = Fittings(
        wall=(("timber", 0.012), ("straw", leaves)),
        lid=(("timber", 0.012), ("straw", 0.5 * leaves)),
        base=(("straw", 0.5 * leaves),), vent_slot_length=0.4, inlet_area=0.001, wind_share=0.4,
        sun_share=0.1,
    )  # fmt: skip
    vessel = box(given["side"], given["side"], 0.9, fittings)
    days, swing, year = 45.0, 9.0, given["year"]
    air = plain_air(
        year, days + 3.0, daily_swing=swing, yearly_swing=2.0 * (year + 18.0 - 0.25 * swing),
        start_day=365.0 + 3.0 - days, coldest_day=3.0, wind=2.0,
    )  # fmt: skip
    first = by_volume(
        400.0 * inside_volume(vessel), {"half_finished_compost": 1.0, "leaves_mixed_autumn": 1.0}
    )
    events = [act(0.0, lambda column: column.set_vent(0.005)), loaded(0.0, first, 12.0)]
    bucket = [
        litres_of("food_waste_household_mixed", given["bucket"]),
        litres_of("leaves_mixed_autumn", 0.75 * given["browns"] * given["bucket"]),
        litres_of("grass_clippings_wilted", 0.25 * given["browns"] * given["bucket"]),
    ]
    for hour in np.arange(0.0, 24.0 * days, 24.0 * given["every"]):
        events.append(loaded(float(hour), bucket, 15.0))
        events.append(act(float(hour), lambda column: column.stir(0.2, 0.5)))
    read = 24.0 * days + 8.0
    early = (core(read, 20.0, 0.2, 0.05), outside_air(read, -18.0, Instrument("yard", 1.0)))
    plan = Plan(vessel, None, tuple(events), early, air)
    later = {"10 cm": core(read + 0.1, 20.0, 0.1, 0.05), "30 cm": core(read + 0.1, 20.0, 0.3, 0.05)}
    return Series(plan, read, later, (1, 2))


def june_cage() -> Series:
    """V30, community-science logger notes, June 2016.

    A cage of wire: a year's garden and kitchen refuse with fresh hay, lawn clippings and green
    rye, cool rainy days. Near the centre 66 degC after 40 h, 69 degC on day 3, high all week;
    volume down to about 80 % in a week.
    """
    given = SET_UPS["V30"].middle()
    vessel = cylinder(given["size"], given["size"], CAGE)
    air = plain_air(
        given["air"], 9.0, daily_swing=8.0, humidity=0.85, wind=1.5, rain_per_year=1500.0, sun=150.0
    )
    fresh = 1.0 - given["old"] - given["kitchen"]
    parts = {
        "half_finished_compost": given["old"],
        "food_waste_household_mixed": given["kitchen"],
        "long_grass_strimmed": 0.5 * fresh,
        "grass_clippings_wilted": 0.5 * fresh,
    }
    litres, trodden = 1000.0 * inside_volume(vessel), given["trodden"]
    dense: dict[str, Packing] = dict.fromkeys(parts, "dense")
    mix = by_volume((1.0 - trodden) * litres, parts) + by_volume(trodden * litres, parts, dense)
    early = (core(40.0, 66.0, 0.5 * given["size"]),)
    events = (loaded(0.0, wetted(mix, given["moisture"])),)
    plan = Plan(vessel, None, events, early, air)
    # full at first, so that a fifth of the volume is a fifth of the height
    level = fill_level(168.0, 0.2 * given["size"])
    return Series(plan, 40.0, {"day 3": core(72.0, 69.0, 0.5 * given["size"]), "level": level})


CASES = {
    "case-4": january_filling,
    "case-7": watered_pile,
    "case-11 tall": lambda: tropical_cage(0.762, 74.0),
    "case-11 low": lambda: tropical_cage(0.61, 51.5),
    "case-28": leaf_walled,
    "V30": june_cage,
}


def predicted(series: Series, seed: int) -> dict[str, np.ndarray]:
    """What members would read later, with the errors of the model and of the reading."""
    start = begin_ensemble(series.plan, MEMBERS, seed, in_turn)
    shown = {}
    for hour in sorted({one.hour for one in series.later.values()}):
        rows = {row: one for row, one in series.later.items() if one.hour == hour}
        conditioned = condition(series.plan, start, series.end, seed, until=hour)
        found = conditioned.ensemble
        members = []
        for member, column in enumerate(found.columns):
            own = {name: float(values[member]) for name, values in found.normals.items()}
            observed = tuple(rows.values())
            members.append(
                member_predictions(observed, column, instrument_values(observed, own))[0]
            )
        for row, values in zip(rows, np.array(members).T, strict=True):
            one = rows[row]
            told = values
            if one.kind in ("probe", "lid"):
                # the model's own error as slowfire tells it, carried from the readings before
                seen = [glimpse(column) for column in found.columns]
                heights = np.array(
                    [one.tip_height(each) if one.tip_height else 0.0 for each in seen]
                )
                left = leftovers(conditioned, one.kind)
                at = np.array([hour])
                told = corrected(values[:, None], left, at, heights[:, None], seed)[:, 0]
            shown[row] = told + one.error_spread * even_draws(MEMBERS, seed, READING_STREAM)
    return shown


@cache
def intervals(case: str, blind: bool = False) -> dict[str, tuple[float, float]]:
    """5th and 95th percentile of each later reading, with or without the early ones."""
    series = CASES[case]()
    if blind:
        series = replace(series, plan=replace(series.plan, observed=()))
    found = [predicted(series, seed) for seed in series.seeds]
    return {
        row: tuple(np.percentile(np.concatenate([one[row] for one in found]), [5.0, 95.0]))
        for row in series.later
    }


def missed(why: str) -> pytest.MarkDecorator:
    return pytest.mark.xfail(reason=why, strict=True)


@pytest.mark.parametrize(
    ("case", "row"),
    [
        ("case-4", "lid"),
        pytest.param(
            "case-4", "core",
            marks=missed(
                "The bin woke up between day 14 and 17; ours do so before or not at all, and those "
                "that are hot by day 17 were warmer on day 14 than was read."
            ),
        ),
        ("case-7", "next day"),
        pytest.param(
            "case-11 tall", "day 2",
            marks=missed(
                "15 cm of height make 22 K in the source and 3 K here: the loss through the sides "
                "of a cage hardly hangs on its height. Its tall pile may have held more grass."
            ),
        ),
        ("case-11 low", "day 2"),
        ("case-28", "10 cm"),
        ("case-28", "30 cm"),
        ("V30", "day 3"),
        ("V30", "level"),
    ],
)  # fmt: skip
def test_the_interval_holds_what_was_read_later(case, row):
    low, high = intervals(case)[row]
    value = CASES[case]().later[row].value
    assert low <= value <= high, (low, value, high)


def test_the_first_reading_of_a_hot_heap_narrows_the_third_day():
    (low, high), (lowest, highest) = intervals("V30")["day 3"], intervals("V30", True)["day 3"]
    assert high - low < 0.75 * (highest - lowest)
    assert low > lowest + 5.0


def test_numbers_are_those_of_the_published_checks():
    printed = {one.key: one.value for one in read_checks()}
    filling = january_filling()
    start = filling.plan.observed[1].value
    assert start == printed["case-4", "core_day_0"]
    assert filling.later["core"].value - start == printed["case-4", "core_rise_3_days"]
    pile = watered_pile()
    rise = pile.later["next day"].value - pile.plan.observed[0].value
    assert rise == printed["case-7", "rise_after_watering"]
    for name, key in (("tall", "tall_day_2"), ("low", "low_day_2")):
        assert CASES[f"case-11 {name}"]().later["day 2"].value == printed["case-11", key]
    bin_of_leaves = leaf_walled()
    outside = bin_of_leaves.plan.air.temperature_celsius(bin_of_leaves.end)
    assert outside == pytest.approx(-18.0, abs=0.2)
    excess = bin_of_leaves.later["10 cm"].value + 18.0
    assert excess == printed["case-28", "excess"]
    cage = june_cage()
    assert cage.later["day 3"].value == printed["V30", "peak_temperature"]
    left = 1.0 - cage.later["level"].value / cage.plan.vessel.height
    assert left == pytest.approx(printed["V30", "volume_left"])
