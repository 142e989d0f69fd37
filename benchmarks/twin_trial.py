"""One trial of an estimator: what it may see of a hidden bin, what it says, how that is scored.

An estimator is any callable `(site, entries, bin_name, weather_table, score_hours, seed)` that
returns an `EstimateSeries`. What it says of an hour may rest only on entries and weather up to that
hour; `looked_ahead` runs it again on half a season and tells how far that changes what it says.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, Protocol

import numpy as np

from benchmarks.hidden_bins import BIN, HiddenBin
from benchmarks.scores import (
    WEEK_HOURS,
    Peak,
    forecast_errors,
    inside_share,
    inside_shares_below_top,
    lid_at_its_word,
    peaks_met,
    reliability,
    root_mean_square,
    true_peaks,
)
from slowfire import records as r
from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput
from slowfire.weather import Ambient

SCORE_EVERY = 3.0  # [h]
FIRST_SCORED = 12.0  # of the season: the stock-take is taken in its first morning [h]
SCORED_HEIGHTS = (0.10, 0.25, 0.40, 0.55)  # above the floor [m]


@dataclass(frozen=True)
class Forecast:
    """What an estimate said of the days ahead, from what was known at its issue.

    Attributes
    ----------
    issued_hour : float
        By the record [h].
    hours : ndarray, shape (hours,)
        Later than the issue, a week or more of them, at least every six hours [h].
    hottest : ndarray, shape (members, hours)
        Centre of the hottest layer [degC].
    cold_airless_probability : float
        Stated probability of being cold and airless a week after the issue, as
        `scores.cold_and_airless` has it; NaN if none is stated [-].
    """

    issued_hour: float
    hours: FloatArray
    hottest: FloatArray
    cold_airless_probability: float = float("nan")


@dataclass(frozen=True)
class EstimateSeries:
    """What an estimator says of a season; every member as likely as the other.

    Attributes
    ----------
    hours : ndarray, shape (hours,)
        The hours asked for [h].
    hottest, lid : ndarray, shape (members, hours)
        Centre of the hottest layer, air under the lid [degC].
    heights : ndarray, shape (heights,)
        Above the floor, such as SCORED_HEIGHTS [m].
    layers : ndarray, shape (members, heights, hours)
        Temperature in the centre at those heights; NaN above the stack [degC].
    cold_airless_probability : ndarray, shape (hours,)
        Probability that the bin is cold and airless, as `scores.cold_and_airless` has it; NaN
        where none is stated [-].
    forecasts : sequence of Forecast
        One for each of `issue_hours`.
    looking_back : ndarray, shape (members, hours), or None
        Centre of the hottest layer as told some days later, with what was read until then [degC];
        NaN where nothing was told.
    lowest_oxygen : ndarray, shape (members, hours), or None
        The lowest of all layers, by volume [-].
    water : ndarray, shape (members, heights, hours), or None
        Water by mass at those heights, wet basis; NaN above the stack [-].
    """

    hours: FloatArray
    hottest: FloatArray
    lid: FloatArray
    heights: FloatArray
    layers: FloatArray
    cold_airless_probability: FloatArray
    forecasts: Sequence[Forecast] = ()
    looking_back: FloatArray | None = None
    lowest_oxygen: FloatArray | None = None
    water: FloatArray | None = None

    def __post_init__(self) -> None:
        members, hours = self.hottest.shape[0], self.hours.size
        shapes = {
            "hottest": (self.hottest, (members, hours)),
            "lid": (self.lid, (members, hours)),
            "layers": (self.layers, (members, self.heights.size, hours)),
            "cold_airless_probability": (self.cold_airless_probability, (hours,)),
        }
        for name, (values, shape) in shapes.items():
            if values.shape != shape:
                raise InvalidInput(f"{name} has shape {values.shape}; allowed is {shape}.")


class Estimator(Protocol):
    """What is scored."""

    def __call__(
        self,
        site: r.Site,
        entries: Sequence[r.Entry],
        bin_name: str,
        weather_table: Ambient | None,
        score_hours: FloatArray,
        seed: int,
    ) -> EstimateSeries:
        """Estimate a bin at hours of its record."""


def score_hours(hidden: HiddenBin, tier: str) -> FloatArray:
    """Hours of a tier's record at which it is scored: every three hours of the season [h]."""
    first, last = hidden.season
    return np.arange(first + FIRST_SCORED, last + 1e-9, SCORE_EVERY) - hidden.lead_hours(tier)


def issue_hours(scored: FloatArray) -> FloatArray:
    """When a forecast is issued: every week from the second on, while a week is left [h]."""
    return np.arange(scored[0] + WEEK_HOURS, scored[-1] - WEEK_HOURS + 1e-9, WEEK_HOURS)


def table_of(hidden: HiddenBin) -> Ambient | None:
    """The table of weather, until the season ends."""
    table = hidden.weather_table
    return None if table is None else cut(table, hidden.season[1])


def cut(table: Ambient, hour: float) -> Ambient:
    """A table of weather up to an hour of its own."""
    keep = table.hours <= hour + 1e-9
    names = (
        "hours",
        "temperature_celsius",
        "relative_humidity",
        "wind_speed",
        "rain_rate",
        "irradiance",
    )
    return replace(table, **{name: getattr(table, name)[keep] for name in names})


def estimate_tier(
    estimator: Estimator, hidden: HiddenBin, tier: str, until: float | None = None
) -> EstimateSeries:
    """Let an estimator see one tier of a hidden bin, the whole season or up to an hour of it.

    Parameters
    ----------
    estimator : callable
        What is scored.
    hidden : HiddenBin
        Of which it sees the site, the record and, where there is one, the table of weather.
    tier : str
        One of TIERS.
    until : float or None
        Hour of the record after which nothing is shown or asked; None for the whole [h].

    Returns
    -------
    EstimateSeries
    """
    lead = hidden.lead_hours(tier)
    entries = hidden.records[tier]
    table = table_of(hidden)
    hours = score_hours(hidden, tier)
    if until is not None:
        entries = tuple(
            one
            for one in entries
            if (one.when - hidden.start).total_seconds() / 3600.0 - lead <= until
        )
        table = None if table is None else cut(table, until + lead)
        hours = hours[hours <= until]
    return estimator(hidden.site, entries, BIN, table, hours, hidden.seed)


def looked_ahead(
    estimator: Estimator, hidden: HiddenBin, tier: str, whole: EstimateSeries
) -> float:
    """Largest change of a median, now or ahead, when the rest of a season is not shown [K].

    An estimate that keeps to what is known at each hour, and draws the same chance for the same
    seed, changes by nothing.
    """
    middle = float(whole.hours[whole.hours.size // 2])
    half = estimate_tier(estimator, hidden, tier, until=middle)
    same = whole.hours <= middle
    pairs = [(whole.hottest[:, same], half.hottest)]
    issued = {one.issued_hour: one for one in whole.forecasts}
    for one in half.forecasts:
        other = issued.get(one.issued_hour)
        if other is not None:
            pairs.append((other.hottest, one.hottest))
    return max(float(np.max(np.abs(np.median(a, axis=0) - np.median(b, axis=0)))) for a, b in pairs)


def _water(series: EstimateSeries, hidden: HiddenBin, hours: FloatArray) -> list[dict[str, float]]:
    """Water at heights of the stack, in points of its share."""
    if series.water is None:
        return []
    found = []
    for k, height in enumerate(series.heights):
        true = hidden.truth.moistures_at(hours, [float(height)])[0]
        error, inside = inside_shares_below_top(true, series.water[:, k])
        found.append({"height": float(height), "error": 100.0 * error, "inside": inside})
    return found


def _looking_back(
    series: EstimateSeries,
    hottest: FloatArray,
    peaks: Sequence[Peak],
    hours: FloatArray,
) -> dict[str, float]:
    """What an estimate says some days later of the hours scored."""
    if series.looking_back is None:
        nothing = float("nan")
        return {"hottest_error": nothing, "hottest_inside": nothing, "peaks_met": nothing}
    told = series.looking_back
    middle = np.median(told, axis=0)
    return {
        "hottest_error": root_mean_square(middle - hottest),
        "hottest_inside": inside_share(hottest, told),
        "peaks_met": peaks_met(peaks, hours, middle),
    }


def scores_of(hidden: HiddenBin, tier: str, series: EstimateSeries) -> dict[str, Any]:
    """Every score of one row; plain numbers, for JSON.

    Parameters
    ----------
    hidden : HiddenBin
        With its truth.
    tier : str
        One of TIERS.
    series : EstimateSeries
        What was estimated of it.

    Returns
    -------
    dict
        Scores by name.

    Raises
    ------
    InvalidInput
        If hours are not those asked for.
    """
    lead = hidden.lead_hours(tier)
    if not np.array_equal(series.hours, score_hours(hidden, tier)):
        raise InvalidInput("An estimate holds other hours than those asked for.")
    truth = hidden.truth
    hours = series.hours + lead
    index = np.rint(hours).astype(np.int64)
    hottest = truth.hottest[index]
    median = np.median(series.hottest, axis=0)
    begin, end = hidden.season
    season = (truth.hours >= begin) & (truth.hours <= end)
    peaks = true_peaks(truth.hours[season], truth.hottest[season], truth.load_hours, begin, end)
    readings = np.array(hidden.lid_readings)
    word, later = lid_at_its_word(readings[:, 0], readings[:, 1], hours, hottest)
    issues, going, went = [], [], []
    for one in series.forecasts:
        now = float(np.interp(one.issued_hour, series.hours, median))
        issues.append((one.issued_hour + lead, one.hours + lead, one.hottest, now))
        week_later = round(one.issued_hour + lead + WEEK_HOURS)
        if week_later < truth.hours.size:
            going.append(one.cold_airless_probability)
            went.append(bool(hidden.cold_airless[week_later]))
    ahead = forecast_errors(issues, truth.hours, truth.hottest)
    layers = []
    for k, height in enumerate(series.heights):
        true = truth.temperatures_at(hours, [float(height)])[0]
        error, inside = inside_shares_below_top(true, series.layers[:, k])
        layers.append({"height": float(height), "error": error, "inside": inside})
    return {
        "hottest_error": root_mean_square(median - hottest),
        "hottest_bias": float(np.mean(median - hottest)),
        "hottest_inside": inside_share(hottest, series.hottest),
        "hottest_width": float(np.mean(np.ptp(np.percentile(series.hottest, [5, 95], 0), 0))),
        "lid_error": root_mean_square(np.median(series.lid, axis=0) - truth.lid[index]),
        "lid_inside": inside_share(truth.lid[index], series.lid),
        "back": _looking_back(series, hottest, peaks, hours),
        "layers": layers,
        "water": _water(series, hidden, hours),
        "oxygen_inside": float("nan")
        if series.lowest_oxygen is None
        else inside_share(truth.lowest_oxygen[index], series.lowest_oxygen),
        "lid_word_error": word,
        "lid_word_estimate_error": root_mean_square((median - hottest)[later]),
        "peaks": len(peaks),
        "peaks_met": peaks_met(peaks, hours, median),
        "forecast": asdict(ahead),
        "cold_airless": asdict(
            reliability(series.cold_airless_probability, hidden.cold_airless[index])
        ),
        "going_cold_airless": asdict(
            reliability(np.array(going, dtype=np.float64), np.array(went, dtype=np.bool_))
        ),
    }
