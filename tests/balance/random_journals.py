"""Random bins, weather and journals: every act there is, in any order."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

from slowfire.column.simulate import Air, Column, constant_air
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, Vessel, box, cylinder, heap, taper

LIBRARY = load_library()
MATERIALS = sorted(LIBRARY.feedstocks, key=lambda stuff: stuff.id)


@dataclass(frozen=True)
class Act:
    """One thing done to the bin, and the hours that pass after it."""

    word: str
    values: tuple[float, ...]
    hours: float


@dataclass(frozen=True)
class Journal:
    """A bin, its weather and what is done to it."""

    vessel: Vessel
    air: Air
    acts: tuple[Act, ...]


def portion(index: int, volume: float) -> Portion:
    """Some litres of a material, loosely tipped."""
    stuff = MATERIALS[index % len(MATERIALS)]
    return Portion(stuff, volume * stuff.bulk_density / 1000.0, volume, "loose")


def _load(column: Column, values: tuple[float, ...]) -> None:
    first, second, volume, temperature = values
    column.load(
        [portion(int(first), volume), portion(int(second), 0.4 * volume)],
        temperature_celsius=temperature,
        days_in_caddy=2.0,
    )


DOING: dict[str, Callable[[Column, tuple[float, ...]], object]] = {
    "load": _load,
    "stir": lambda column, v: column.stir(v[0], v[1]),
    "poke": lambda column, v: column.poke(),
    "turn": lambda column, v: column.turn(),
    "water": lambda column, v: column.water(v[0], v[1], v[2]),
    "vent": lambda column, v: column.set_vent(v[0]),
    "inlet": lambda column, v: column.set_inlet(v[0]),
    "cover": lambda column, v: column.set_cover(v[0], v[1] > 0.5),
    "bottle": lambda column, v: column.place_bottle(v[0], v[1], v[2]),
    "dig litres": lambda column, v: column.dig_out(litres=v[0]),
    "dig kilograms": lambda column, v: column.dig_out(kilograms=v[0]),
    "dig all": lambda column, v: column.dig_out(kilograms=1e5),
    "drain": lambda column, v: column.drain_tub(v[0]),
    "blow": lambda column, v: column.set_forced_air(v[0]),
    "open": lambda column, v: column.open_lid(),
}


def _number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def _values(*ranges: tuple[float, float]) -> st.SearchStrategy[tuple[float, ...]]:
    return st.tuples(*(_number(low, high) for low, high in ranges))


RANGES: dict[str, tuple[tuple[float, float], ...]] = {
    "load": ((0, 400), (0, 400), (0.1, 60.0), (-20.0, 60.0)),
    "stir": ((0.0, 1.0), (0.0, 1.0)),
    "poke": (),
    "turn": (),
    "water": ((0.0, 20.0), (0.0, 1.0), (0.0, 60.0)),
    "vent": ((0.0, 0.05),),
    "inlet": ((0.0, 1.0),),
    "cover": ((0.0, 2.0), (0.0, 1.0)),
    "bottle": ((0.0, 5.0), (5.0, 95.0), (0.0, 0.6)),
    "dig litres": ((0.0, 60.0),),
    "dig kilograms": ((0.0, 40.0),),
    "dig all": (),
    "drain": ((0.0, 20.0),),
    "blow": ((0.0, 0.003),),
    "open": (),
}

# a load comes as often as all the rest, so that bins fill
HOURS = st.one_of(st.sampled_from([0.0, 0.25, 1.0, 24.0, 72.0]), _number(0.0, 48.0))
ONE_ACT = st.one_of(
    st.builds(Act, st.just("load"), _values(*RANGES["load"]), HOURS),
    st.sampled_from(sorted(RANGES)).flatmap(
        lambda word: st.builds(Act, st.just(word), _values(*RANGES[word]), HOURS)
    ),
)


@st.composite
def fittings(draw: st.DrawFn) -> Fittings:
    """Walls and openings from a fridge to a wire cage."""
    return Fittings(
        wall=((draw(st.sampled_from(["eps", "timber", "wire"])), draw(_number(0.001, 0.1))),),
        lid=draw(st.sampled_from([None, (("eps", 0.03),), (("timber", 0.02),)])),
        base=draw(st.sampled_from([(), (("timber", 0.02),)])),
        vent_slot_length=draw(_number(0.0, 1.0)),
        inlet_area=draw(_number(0.0, 0.01)),
        lid_fit=draw(st.sampled_from(["tight", "usual", "leaky"])),
        side_open=draw(st.sampled_from([0.0, 0.05, 0.3, 1.0])),
        wind_share=draw(_number(0.0, 1.0)),
        sun_share=draw(_number(0.0, 0.5)),
        tub_rain_area=draw(st.sampled_from([0.0, 0.1])),
    )


VESSELS = st.one_of(
    st.builds(box, _number(0.25, 1.2), _number(0.25, 1.2), _number(0.3, 1.5), fittings()),
    st.builds(cylinder, _number(0.3, 1.2), _number(0.3, 1.5), fittings()),
    st.builds(taper, _number(0.5, 1.0), _number(0.3, 0.8), _number(0.4, 1.3), fittings()),
    st.builds(heap, _number(0.6, 2.0), _number(0.4, 1.3), st.booleans()),
)


def weather_table(
    mean: float, swing: float, humidity: float, wind: float, rain: float, seed: int
) -> Air:
    """Ninety days of hourly weather with a daily wave, showers and sun."""
    draws = np.random.default_rng(seed)
    hours = np.arange(90 * 24)
    wave = np.cos(2.0 * np.pi * (hours - 15) / 24.0)
    drift = np.repeat(draws.normal(0.0, 3.0, 90), 24)
    table = np.column_stack(
        [
            np.clip(mean + swing * wave + drift, -45.0, 50.0),
            np.clip(humidity - 0.2 * wave, 0.05, 1.0),
            wind * draws.random(hours.size) * 2.0,
            rain * (draws.random(hours.size) < 0.08) * draws.random(hours.size),
            600.0 * np.maximum(wave, 0.0),
        ]
    )
    return Air(table)


WEATHERS = st.one_of(
    st.builds(constant_air, st.sampled_from([-20.0, 0.0, 12.0, 40.0])),
    st.builds(
        weather_table,
        _number(-18.0, 32.0),
        _number(0.0, 10.0),
        _number(0.2, 1.0),
        _number(0.0, 6.0),
        st.sampled_from([0.0, 20.0]),
        st.integers(0, 1000),
    ),
)

JOURNALS = st.builds(
    Journal, VESSELS, WEATHERS, st.lists(ONE_ACT, min_size=1, max_size=12).map(tuple)
)


def play(
    journal: Journal, watch: Callable[[Column], None] | None = None, **settings: float
) -> Column:
    """Run a journal from an empty bin, looking in after every act and every pause."""
    column = Column(journal.vessel, journal.air, **settings)
    for act in journal.acts:
        DOING[act.word](column, act.values)
        if watch is not None:
            watch(column)
        column.run_to(column.hour + act.hours)
        if watch is not None:
            watch(column)
    return column
