"""Did it work? What was done on advice, judged by what came after."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from slowfire import records as r
from slowfire.advise.actions import ACT_OF
from slowfire.advise.condition import Spread
from slowfire.advise.rules import is_action, look_days
from slowfire.advise.scoring import Evidence, Score, score
from slowfire.services.inside import InsideResult
from slowfire.services.inside_series import InsideSeries
from slowfire.services.today_dates import short_day
from slowfire.services.today_state import Measuring, in_force, spread
from slowfire.units import UnitSystem, format_length, format_volume
from slowfire.units import fahrenheit_from_celsius as to_fahrenheit

LOOKED_BACK = timedelta(days=90)
DAY = timedelta(days=1)
NEAR = timedelta(hours=12)  # between a time and the nearest of a series


@dataclass(frozen=True)
class ScoreLine:
    """One piece of advice that was done, the verdict, and why."""

    action: str
    done_at: str
    day: str
    verdict: str
    reason: str


def scores(
    site: r.Site,
    entries: Sequence[r.Entry],
    bin_name: str,
    now: datetime,
    inside: InsideResult | None = None,
    series: InsideSeries | None = None,
) -> tuple[ScoreLine, ...]:
    """Judge what was done on advice in the last three months, newest first.

    Parameters
    ----------
    site : Site
        The place [-].
    entries : sequence of Entry
        Everything written [-].
    bin_name : str
        Which bin [-].
    now : datetime
        The present [-].
    inside : InsideResult or None
        The last estimate [-].
    series : InsideSeries or None
        The weeks around it; only what lies before its present counts [-].

    Returns
    -------
    tuple of ScoreLine

    Notes
    -----
    Of advice that was given but never answered, the matching job in the journal counts as done.
    """
    name = site.bin_named(bin_name).name
    own = [one for one in in_force(entries) if one.bin == name and one.when <= now]
    system: UnitSystem = "us" if site.units == "us" else "metric"
    measuring = Measuring.of(site)
    lines = []
    for what, when in _done(own, now):
        seen = _evidence(measuring, own, what, when, now, inside, series)
        found = score(what, seen)
        here = when.astimezone(site.zone)
        lines.append(
            ScoreLine(
                what,
                here.isoformat(timespec="minutes"),
                short_day(here, now.astimezone(site.zone)),
                found.verdict,
                _reason(found, system),
            )
        )
    return tuple(lines)


def _done(own: Sequence[r.Entry], now: datetime) -> list[tuple[str, datetime]]:
    found: list[tuple[str, datetime]] = []
    given: dict[str, datetime] = {}
    for one in own:
        if now - one.when > LOOKED_BACK:
            continue
        if isinstance(one.payload, r.Advice) and is_action(one.payload.what):
            if one.payload.answer == "done":
                found.append((one.payload.what, one.when))
                given.pop(one.payload.what, None)
            elif one.payload.answer == "given":
                given.setdefault(one.payload.what, one.when)
            else:
                given.pop(one.payload.what, None)
        for what in [name for name in given if ACT_OF.get(name) == one.kind]:
            found.append((what, one.when))
            del given[what]
    # a job and the answer to it within a day are one
    kept: list[tuple[str, datetime]] = []
    for what, when in sorted(found, key=lambda pair: pair[1]):
        if not any(what == other and when - before < DAY for other, before in kept):
            kept.append((what, when))
    return kept[::-1]


def _evidence(
    measuring: Measuring,
    own: Sequence[r.Entry],
    what: str,
    when: datetime,
    now: datetime,
    inside: InsideResult | None,
    series: InsideSeries | None,
) -> Evidence:
    wanted = look_days(what)
    until = min(when + timedelta(days=wanted), now)
    after = [one for one in own if when < one.when <= when + timedelta(days=2.0 * wanted)]
    looks = [one.payload for one in after if isinstance(one.payload, r.Look)]
    dug = [one for one in after if isinstance(one.payload, r.DigOut)]
    known = inside is not None and datetime.fromisoformat(inside.at) > when
    last = until
    if series is not None:
        last = min(until, datetime.fromisoformat(series.times[series.present]))
    return Evidence(
        days=(now - when).total_seconds() / 86400.0,
        wanted_days=wanted,
        before=_hottest(series, when),
        after=_hottest(series, last) if last - when >= 0.5 * DAY else None,
        same_spot=_same_spot(own, when, wanted),
        smell=next((one.smell for one in reversed(looks) if one.smell), None),
        squeeze=next((one.squeeze for one in reversed(looks) if one.squeeze), None),
        drained=next(
            (
                measuring.litres(one.payload.amount)
                for one in own
                if isinstance(one.payload, r.Drain) and abs(one.when - when) <= DAY
            ),
            None,
        ),
        dug=1.0 if dug else None,
        room_cm=spread(inside.fill_cm_below_rim) if inside is not None and known else None,
    )


def _hottest(series: InsideSeries | None, when: datetime) -> Spread | None:
    """The hottest layer at a time that the series covers up to its present."""
    if series is None:
        return None
    times = [datetime.fromisoformat(one) for one in series.times[: series.present + 1]]
    k = min(bisect_left(times, when), len(times) - 1)
    if k > 0 and abs(times[k - 1] - when) < abs(times[k] - when):
        k -= 1
    if abs(times[k] - when) > NEAR:
        return None
    return Spread(series.hottest_low[k], series.hottest_mid[k], series.hottest_high[k])


def _same_spot(own: Sequence[r.Entry], when: datetime, wanted: float) -> float | None:
    """Change of one thermometer in one place, from two days before to the look [K]."""
    before: dict[object, float] = {}
    found: dict[object, float] = {}
    for one in own:
        payload = one.payload
        if not isinstance(payload, r.Reading):
            continue
        spot = (payload.thermometer.casefold(), str(payload.position), payload.spot)
        celsius = payload.temperature.temperature_celsius
        if when - 2 * DAY <= one.when <= when:
            before[spot] = celsius
        elif when + 0.5 * DAY <= one.when <= when + timedelta(days=1.5 * wanted):
            found[spot] = celsius
    changes = [found[spot] - before[spot] for spot in found if spot in before]
    return max(changes, key=abs) if changes else None


def _reason(found: Score, system: UnitSystem) -> str:
    told = {}
    for name, (number, unit) in found.numbers.items():
        if unit == "K":
            told[name] = f"{1.8 * number:.0f} °F" if system == "us" else f"{number:.0f} °C"
        elif unit == "degC":
            warm = f"{to_fahrenheit(number):.0f} °F" if system == "us" else f"{number:.0f} °C"
            told[name] = warm
        elif unit == "cm":
            told[name] = format_length(number / 100.0, system)
        else:
            told[name] = format_volume(number, system)
    return found.reason.format(**told)
