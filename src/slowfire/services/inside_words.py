"""The estimate of a bin as text: the stack with its bands, what was learned, what to do next."""

from collections.abc import Sequence
from datetime import date, datetime
from itertools import groupby

from slowfire.services.inside import InsideDay, InsideLayer, InsideResult, Range
from slowfire.services.section_words import BANDS, CM_PER_INCH, Band, band_words
from slowfire.units import (
    UnitSystem,
    fahrenheit_from_celsius,
    format_length,
    format_volume,
)

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
READ_MARK = "*"
LEVEL_CM = 1.0  # nearer to the rim a stack counts as level with it
LIKELY_PERCENT = 10.0  # from here on a chance is named
SURE_PERCENT = 95.0
LOOK_AGAIN_DAYS = (0, 2, 6, 13)  # days ahead that are told, by their place


def unit_system(result: InsideResult) -> UnitSystem:
    """How the site likes its text."""
    return "us" if result.units == "us" else "metric"


def warmth_words(celsius: Range, system: UnitSystem) -> str:
    """A temperature with its range, such as '51 °C (44 to 58)'."""
    low, mid, high = (_degrees(one, system) for one in (celsius.low, celsius.mid, celsius.high))
    return f"{mid} {_unit(system)} ({low} to {high})"


def _degrees(celsius: float, system: UnitSystem) -> int:
    """A whole degree, so that nothing is shown as minus nought."""
    return round(fahrenheit_from_celsius(celsius) if system == "us" else celsius)


def _warmth(celsius: float, system: UnitSystem) -> str:
    return f"{_degrees(celsius, system)} {_unit(system)}"


def _unit(system: UnitSystem) -> str:
    return "°F" if system == "us" else "°C"


def summary_lines(result: InsideResult) -> list[str]:
    """Say how hot, how full and how wet the bin is, and how sure that is.

    Parameters
    ----------
    result : InsideResult
        What an estimate found [-].

    Returns
    -------
    list of str
    """
    system = unit_system(result)
    below = result.fill_cm_below_rim
    if abs(below.mid) < LEVEL_CM:
        level = "filled to the rim"
    elif below.mid < 0.0:
        level = f"heaped {format_length(-below.mid / 100.0, system)} over the rim"
    else:
        level = f"filled to {format_length(below.mid / 100.0, system)} below the rim"
    lines = [
        f"  hottest {warmth_words(result.hottest_celsius, system)}, "
        f"outside {_warmth(result.air_celsius.mid, system)}",
        f"  {level}, tub {format_volume(max(result.tub_litres.mid, 0.0), system)}",
        f"  {fit_words(result)}",
    ]
    cold = result.cold_airless_probability
    if cold is not None and 100.0 * cold >= LIKELY_PERCENT:
        lines.append(f"  cold and airless for a week: {_chance(100.0 * cold)}")
    return lines


def fit_words(result: InsideResult) -> str:
    """How sure: what the estimate rests on, and how well it fits that."""
    fit, system = result.fit, unit_system(result)
    if fit.typical_misfit_kelvin is None:
        return (
            f"how sure: {fit.basis}, wide" if fit.readings_used == 0 else f"how sure: {fit.basis}"
        )
    per = 1.8 if system == "us" else 1.0
    off = f"{per * fit.typical_misfit_kelvin:.1f} {_unit(system)}"
    aside = f", {fit.readings_set_aside} left out" if fit.readings_set_aside else ""
    return f"{fit.words}: off by {off}; {fit.readings_used} readings and looks{aside}"


def _chance(percent: float) -> str:
    if percent >= SURE_PERCENT:
        return "almost surely"
    return f"{percent:.0f} in 100"


def section_lines(result: InsideResult) -> list[str]:
    """Draw the stack from the lid down, one line a band, at most 72 columns wide.

    Parameters
    ----------
    result : InsideResult
        What an estimate found [-].

    Returns
    -------
    list of str
    """
    system = unit_system(result)
    lines = [f"  lid dial {warmth_words(result.lid_celsius, system)} (air under the lid)"]
    if not result.layers:
        return [*lines, "  nothing in the bin", "  door"]
    long = "in" if system == "us" else "cm"
    unit = _unit(system)
    lines += [
        "    height    age      core  edge     water  oxygen",
        f"      ({long})           ({unit})  ({unit})       (%)     (%)",
    ]
    scale = CM_PER_INCH if system == "us" else 1.0
    for group in reversed(grouped(result.layers)):
        band = _band(group)
        mark = READ_MARK if any(one.basis == "from readings" for one in group) else " "
        core = _span(_over(group, "temperature_centre_celsius"), system)
        edge = _degrees(band.temperature_edge_celsius, system)
        water = _share(_over(group, "moisture_percent"))
        lines.append(
            f"  |{band.from_cm / scale:3.0f}-{band.to_cm / scale:3.0f} "
            f"{_age(band.oldest_days):>6}{mark}{core:>9}{edge:>6}{water:>10}"
            f"{band.oxygen_percent:8.0f}| {band_words(band)}"
        )
    lines.append("  door")
    if any(one.basis == "from readings" for one in result.layers):
        lines.append(f"  {READ_MARK} a reading of the last week lies near; the rest is assumed")
    return lines


def grouped(layers: Sequence[InsideLayer]) -> list[list[InsideLayer]]:
    """Take neighbouring slices together, evenly, so that at most nine rows are left.

    Parameters
    ----------
    layers : sequence of InsideLayer
        Base first [-].

    Returns
    -------
    list of list of InsideLayer
        Base first [-].
    """
    each = -(-len(layers) // BANDS)
    return [
        [layer for _, layer in group]
        for _, group in groupby(enumerate(layers), key=lambda one: one[0] // each)
    ]


def _over(group: Sequence[InsideLayer], name: str) -> Range:
    total = sum(one.thickness_cm for one in group)

    def mean(end: str) -> float:
        weighted = sum(getattr(getattr(one, name), end) * one.thickness_cm for one in group)
        return float(weighted / total)

    return Range(mean("low"), mean("mid"), mean("high"))


def _band(group: Sequence[InsideLayer]) -> Band:
    core = _over(group, "temperature_centre_celsius").mid
    return Band(
        from_cm=group[0].height_cm,
        to_cm=group[-1].height_cm + group[-1].thickness_cm,
        youngest_days=min(one.age_days for one in group),
        oldest_days=max(one.age_days for one in group),
        temperature_centre_celsius=core,
        temperature_edge_celsius=_over(group, "temperature_edge_celsius").mid,
        moisture_percent=_over(group, "moisture_percent").mid,
        oxygen_percent=_over(group, "oxygen_percent").mid,
        free_air_space_percent=0.0,
        worms_percent=0.0,
    )


def _span(celsius: Range, system: UnitSystem) -> str:
    return f"{_degrees(celsius.low, system)} to {_degrees(celsius.high, system)}"


def _age(days: float) -> str:
    if days < 1.0:
        return "new"
    return f"{days:.0f} d" if days < 60.0 else f"{days / 30.4:.0f} mo"


def _share(percent: Range) -> str:
    return f"{percent.low:.0f} to {percent.high:.0f}"


def learned_sentences(result: InsideResult) -> list[str]:
    """What readings have taught, a sentence each."""
    return [one.words for one in result.learned]


def question_sentences(result: InsideResult) -> list[str]:
    """What the keeper is asked, a sentence each with the answers to choose from."""
    return [f"{one.words} ({' / '.join(one.choices)})" for one in result.questions]


def reading_sentences(result: InsideResult) -> list[str]:
    """The next reading, and what it would narrow."""
    best = result.next_reading
    if best is None:
        return ["No reading is needed now: none would tell much more."]
    return [f"{best.what[0].upper()}{best.what[1:]}, {best.where}: it {best.why}."]


def forecast_sentences(result: InsideResult) -> list[str]:
    """Say in three or four lines what the days ahead may bring.

    Parameters
    ----------
    result : InsideResult
        What an estimate found [-].

    Returns
    -------
    list of str
    """
    system, days = unit_system(result), result.forecast
    if not days:
        return []
    told = [days[place] for place in LOOK_AGAIN_DAYS if place < len(days)]
    lines = [
        f"{_day(one)}: hottest {warmth_words(one.hottest_celsius, system)}, outside "
        f"{_warmth(one.air_celsius.mid, system)}."
        for one in told[:3]
    ]
    last = told[-1]
    words = f"{_day(last)}: {warmth_words(last.hottest_celsius, system)}"
    hot = max(days, key=lambda one: one.over_70_celsius_percent)
    if hot.over_70_celsius_percent >= LIKELY_PERCENT:
        words += (
            f"; over {_warmth(70.0, system)} on {_day(hot)}: "
            f"{_chance(hot.over_70_celsius_percent)}, ease off then"
        )
    cold = last.cold_airless_percent
    if cold is not None and cold >= LIKELY_PERCENT:
        words += f"; cold and airless by then: {_chance(cold)}"
    return [*lines, f"{words}."]


def _day(one: InsideDay) -> str:
    day = date.fromisoformat(one.date)
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]}"


def heading(result: InsideResult) -> str:
    """Bin and time in one line."""
    when = datetime.fromisoformat(result.at)
    day = f"{WEEKDAYS[when.weekday()]} {when:%Y-%m-%d %H:%M}"
    return f"{result.bin}, {day}, estimated"
