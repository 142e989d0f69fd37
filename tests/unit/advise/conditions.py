"""Made-up bins for tests of advice."""

from dataclasses import replace

from slowfire.advise.condition import Condition, Outlook, Slice, Spread


def near(mid, half=0.01):
    return Spread(mid - half, mid, mid + half)


def layers(celsius=45.0, moisture=62.0, oxygen=14.0, age=150.0):
    return tuple(
        Slice(place, near(celsius), near(moisture), near(oxygen), age) for place in (0.2, 0.5, 0.8)
    )


def days(celsius=45.0, air=12.0, over=0.0, airless=0.0, count=14):
    return tuple(
        Outlook(float(k), near(celsius), near(air), over, airless) for k in range(1, count + 1)
    )


WELL = Condition(
    hottest=near(45.0),
    lid=near(20.0),
    air=near(12.0),
    slices=layers(),
    room_cm=near(40.0),
    tub_percent=near(20.0),
    cold_airless=0.02,
    vent="crack",
    fed_percent_a_week=8.0,
    weeks_of_room=Spread(8.0, 10.0, 14.0),
    area_m2=0.36,
    read=frozenset({"temperature"}),
    ahead=days(),
)


def bin_like(**changes):
    return replace(WELL, **changes)


def cool(celsius, **changes):
    """A bin that is so warm now and stays so."""
    air = changes.get("air", WELL.air).mid
    return bin_like(
        hottest=near(celsius), ahead=days(celsius, air), slices=layers(celsius), **changes
    )
