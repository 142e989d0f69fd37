"""Pictures of the weeks around now as SVG: depth by time, and core and lid with their ranges."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from html import escape

from slowfire.services.inside_series import InsideSeries

WIDTH, LEFT, RIGHT = 720.0, 46.0, 10.0
TOP, HEIGHT, FOOT = 14.0, 220.0, 34.0
STEPS = 7  # of the colour scale, one for ten degrees
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
HOURS_A_DAY = 24.0


def _hours(series: InsideSeries) -> list[float]:
    first = datetime.fromisoformat(series.times[0])
    return [(datetime.fromisoformat(one) - first).total_seconds() / 3600.0 for one in series.times]


def _across(hours: Sequence[float]) -> Callable[[float], float]:
    span = max(hours[-1], 1e-9)
    return lambda hour: LEFT + (WIDTH - LEFT - RIGHT) * hour / span


@dataclass(frozen=True)
class Quantity:
    """What a picture of height by time shows.

    Attributes
    ----------
    title, unit : str
        In words; empty where the site has its own.
    scale : str
        Begin of the classes of its colours.
    first, step : float
        Where the second colour begins, and how wide each is.
    """

    title: str
    unit: str
    scale: str
    first: float
    step: float


QUANTITIES = {
    "temperature": Quantity("Temperature in the centre", "", "tint", 10.0, 10.0),
    "moisture": Quantity("Water", "%", "wet", 30.0, 10.0),
    "oxygen": Quantity("Oxygen in the pores", "%", "airy", 3.0, 3.0),
    "air_space": Quantity("Air space", "%", "airy", 10.0, 10.0),
}


def rows_of(series: InsideSeries, what: str) -> tuple[tuple[float | None, ...], ...]:
    """Values of a quantity by height and time; none if they were not kept."""
    if what == "temperature":
        return series.centre
    found: tuple[tuple[float | None, ...], ...] = getattr(series, what)
    return found


def depth_time_picture(
    series: InsideSeries,
    as_shown: Callable[[float], str],
    what: str = "temperature",
    chosen: int | None = None,
) -> str:
    """A quantity by height and time, with readings on it.

    Parameters
    ----------
    series : InsideSeries
        As stored.
    as_shown : callable
        Writes a temperature in the unit of the site.
    what : str
        One of QUANTITIES.
    chosen : int or None
        Place of a time that is marked.

    Returns
    -------
    str
        An SVG element.
    """
    quantity = QUANTITIES[what]
    hours = _hours(series)
    x = _across(hours)
    rows = len(series.heights_cm)
    step = series.heights_cm[1] - series.heights_cm[0] if rows > 1 else 10.0
    rim = series.heights_cm[-1] + 0.5 * step if rows else 1.0

    def y(height: float) -> float:
        return TOP + HEIGHT * (1.0 - height / rim)

    paths: dict[int, list[str]] = {}
    for height, values in zip(series.heights_cm, rows_of(series, what), strict=True):
        top, tall = y(height + 0.5 * step), HEIGHT * step / rim
        begin = 0
        while begin < len(values):
            tint = _tint(values[begin], quantity)
            end = begin
            while end + 1 < len(values) and _tint(values[end + 1], quantity) == tint:
                end += 1
            if tint is not None:
                left = x(0.5 * (hours[begin] + hours[max(begin - 1, 0)]))
                right = x(0.5 * (hours[end] + hours[min(end + 1, len(hours) - 1)]))
                paths.setdefault(tint, []).append(
                    f"M{left:.0f} {top:.1f}H{right:.0f}v{tall:.1f}H{left:.0f}z"
                )
            begin = end + 1
    body = [
        f'<path class="cell {quantity.scale}-{tint}" d="{"".join(each)}"/>'
        for tint, each in paths.items()
    ]
    now = x(hours[series.present])
    body.append(
        f'<rect class="ahead" x="{now:.1f}" y="{TOP}" width="{WIDTH - RIGHT - now:.1f}" '
        f'height="{HEIGHT}"/>'
    )
    first = datetime.fromisoformat(series.times[0])
    if chosen is not None:
        body.append(f'<path class="chosen" d="M{x(hours[chosen]):.1f} {TOP}v{HEIGHT}"/>')
    for one in series.readings if what == "temperature" else ():
        if one.height_cm is None:
            continue
        hour = (datetime.fromisoformat(one.at) - first).total_seconds() / 3600.0
        body.append(
            f'<circle class="mark" cx="{x(hour):.1f}" cy="{y(one.height_cm):.1f}" r="4">'
            f"<title>{escape(as_shown(one.celsius))}</title></circle>"
        )
    ticks = [
        f'<text class="axis" x="{LEFT - 6}" y="{y(h) + 4:.1f}" text-anchor="end">{h:.0f}</text>'
        for h in range(0, int(rim) + 1, 20)
    ]
    title = f"{quantity.title} by height and time"
    return _svg(title, [*body, *ticks, *_days(series, x), _now(now)], "cm")


def band_picture(series: InsideSeries, as_shown: Callable[[float], str]) -> str:
    """Hottest layer and air under the lid, with their 90 % ranges, readings and loads.

    Parameters
    ----------
    series : InsideSeries
        As stored.
    as_shown : callable
        Writes a temperature in the unit of the site.

    Returns
    -------
    str
        An SVG element.
    """
    hours = _hours(series)
    x = _across(hours)
    lowest = min(0.0, min(series.lid_low), min(series.air))
    highest = max(max(series.hottest_high), 40.0)

    def y(celsius: float) -> float:
        return TOP + HEIGHT * (highest - celsius) / (highest - lowest)

    def line(values: Sequence[float]) -> str:
        return " ".join(f"{x(h):.1f},{y(v):.1f}" for h, v in zip(hours, values, strict=True))

    def area(low: Sequence[float], high: Sequence[float]) -> str:
        there = line(high)
        back = " ".join(reversed(line(low).split(" ")))
        return f"{there} {back}"

    body = [
        f'<polygon class="band core" points="{area(series.hottest_low, series.hottest_high)}"/>',
        f'<polygon class="band lid-band" points="{area(series.lid_low, series.lid_high)}"/>',
        f'<polyline class="line core" points="{line(series.hottest_mid)}"/>',
        f'<polyline class="line lid-line" points="{line(series.lid_mid)}"/>',
        f'<polyline class="line air-line" points="{line(series.air)}"/>',
    ]
    first = datetime.fromisoformat(series.times[0])

    def hour_of(text: str) -> float:
        return (datetime.fromisoformat(text) - first).total_seconds() / 3600.0

    for one in series.readings:
        kind = "mark lid-mark" if one.kind == "lid" else "mark"
        body.append(
            f'<circle class="{kind}" cx="{x(hour_of(one.at)):.1f}" cy="{y(one.celsius):.1f}" r="4">'
            f"<title>{escape(as_shown(one.celsius))}</title></circle>"
        )
    foot = TOP + HEIGHT
    body += [
        f'<path class="load" d="M{x(hour_of(one)):.1f} {foot:.1f}v-9"/>' for one in series.loads
    ]
    step = 10 if highest - lowest < 90 else 20
    ticks = [
        f'<text class="axis" x="{LEFT - 6}" y="{y(c) + 4:.1f}" text-anchor="end">'
        f"{escape(as_shown(c).split()[0])}</text>"
        for c in range(int(-(-lowest // step) * step), int(highest) + 1, step)
    ]
    unit = as_shown(0.0).split()[-1]
    title = "Hottest layer, air under the lid and air outside, with the range of nine in ten"
    now = x(hours[series.present])
    return _svg(title, [*body, *ticks, *_days(series, x), _now(now)], unit)


def scale_legend(as_shown: Callable[[float], str], what: str = "temperature") -> str:
    """The colour scale with its numbers."""
    quantity = QUANTITIES[what]

    def word(value: float) -> str:
        return as_shown(value).split()[0] if what == "temperature" else f"{value:.0f}"

    cells = []
    for k in range(STEPS):
        x = 4.0 + 46.0 * k
        begin = quantity.first + quantity.step * (k - 1)
        words = {0: "colder" if what == "temperature" else "less"}.get(k, word(begin))
        if k == STEPS - 1:
            unit = as_shown(0.0).split()[1] if what == "temperature" else quantity.unit
            words = f"{words} {unit} up"
        cells.append(
            f'<rect class="cell {quantity.scale}-{k}" x="{x:.0f}" y="2" width="44" height="12"/>'
            f'<text class="axis" x="{x:.0f}" y="28">{escape(words)}</text>'
        )
    title = f"Colours: {quantity.title.lower()}"
    return (
        f'<svg class="legend" viewBox="0 0 380 34" role="img" aria-label="{escape(title)}">'
        f"{''.join(cells)}</svg>"
    )


def profile_rows(
    series: InsideSeries, place: int, as_shown: Callable[[float], str]
) -> list[tuple[str, str, str, str, str]]:
    """Every height at one time, from the top: height, core, water, oxygen, air space."""

    def cell(what: str, k: int) -> str:
        rows = rows_of(series, what)
        value = rows[k][place] if rows else None
        if value is None:
            return "-"
        return as_shown(value) if what == "temperature" else f"{value:.0f} %"

    found = []
    for k in range(len(series.heights_cm) - 1, -1, -1):
        if series.centre[k][place] is not None:
            cells = [cell(what, k) for what in QUANTITIES]
            found.append((f"{series.heights_cm[k]:.0f}", *cells))
    return [(a, b, c, d, e) for a, b, c, d, e in found]


def table_rows(
    series: InsideSeries, as_shown: Callable[[float], str], every_hours: float = HOURS_A_DAY
) -> list[tuple[str, str, str, str]]:
    """The same numbers as a table: day, hottest layer, lid, outside."""
    rows = []
    last = -every_hours
    for k, hour in enumerate(_hours(series)):
        if hour - last < every_hours - 1e-6:
            continue
        last = hour
        when = datetime.fromisoformat(series.times[k])
        rows.append(
            (
                f"{when.day} {MONTHS[when.month - 1]} {when:%H:%M}",
                f"{as_shown(series.hottest_low[k]).split()[0]} to "
                f"{as_shown(series.hottest_high[k])}",
                f"{as_shown(series.lid_low[k]).split()[0]} to {as_shown(series.lid_high[k])}",
                as_shown(series.air[k]),
            )
        )
    return rows


def _tint(value: float | None, quantity: Quantity) -> int | None:
    if value is None:
        return None
    step = (value - quantity.first) // quantity.step + 1.0
    return int(min(max(step, 0.0), STEPS - 1))


def _days(series: InsideSeries, x: Callable[[float], float]) -> list[str]:
    first = datetime.fromisoformat(series.times[0])
    found, seen = [], set()
    foot = TOP + HEIGHT
    for text, hour in zip(series.times, _hours(series), strict=True):
        when = datetime.fromisoformat(text)
        day = when.date()
        if day in seen or (day - first.date()).days % 4 != 1:
            continue
        seen.add(day)
        found.append(
            f'<path class="tick" d="M{x(hour):.1f} {foot:.1f}v5"/>'
            f'<text class="axis" x="{x(hour):.1f}" y="{foot + 19:.1f}" text-anchor="middle">'
            f"{day.day} {MONTHS[day.month - 1]}</text>"
        )
    return found


def _now(x: float) -> str:
    # beside its line where the labels of the axis would lie under it
    near = x < LEFT + 30.0
    at, anchor = (x + 4.0, "start") if near else (x, "middle")
    return (
        f'<path class="now" d="M{x:.1f} {TOP}v{HEIGHT}"/>'
        f'<text class="axis" x="{at:.1f}" y="10" text-anchor="{anchor}">now</text>'
    )


def _svg(title: str, body: Sequence[str], unit: str) -> str:
    return (
        f'<svg class="picture" viewBox="0 0 {WIDTH:.0f} {TOP + HEIGHT + FOOT:.0f}" role="img" '
        f'aria-label="{escape(title)}"><title>{escape(title)}</title>'
        f"{''.join(body)}"
        f'<text class="axis" x="2" y="10">{escape(unit)}</text></svg>'
    )
