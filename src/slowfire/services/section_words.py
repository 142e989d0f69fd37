"""The section of a bin as text: bands from the lid down to the door, in words and numbers."""

from collections.abc import Sequence
from dataclasses import dataclass

from slowfire.services.replay import LayerRow, ReplayResult
from slowfire.units import (
    UnitSystem,
    fahrenheit_from_celsius,
    format_length,
    format_temperature,
    format_volume,
)

CM_PER_INCH = 2.54

BANDS = 9  # about as many as fit a phone
THINNEST_CM = 3.0
WORMS_PERCENT = 40.0  # from here on worms are named


@dataclass(frozen=True)
class Band:
    """Neighbouring layers taken together, by thickness; units in the names."""

    from_cm: float
    to_cm: float
    youngest_days: float
    oldest_days: float
    temperature_centre_celsius: float
    temperature_edge_celsius: float
    moisture_percent: float
    oxygen_percent: float
    free_air_space_percent: float
    worms_percent: float


def bands(layers: Sequence[LayerRow]) -> list[Band]:
    """Take layers together into at most nine bands.

    Parameters
    ----------
    layers : sequence of LayerRow
        Base first [-].

    Returns
    -------
    list of Band
        Base first; empty without layers.
    """
    if not layers:
        return []
    height = layers[-1].height_cm + layers[-1].thickness_cm
    wanted = max(height / BANDS, THINNEST_CM)
    found: list[Band] = []
    group: list[LayerRow] = []
    thick = 0.0
    for layer in layers:
        group.append(layer)
        thick += layer.thickness_cm
        if thick >= wanted - 1e-9:
            found.append(_band(group))
            group, thick = [], 0.0
    if group:
        found.append(_band(group))
    return found


def _band(group: Sequence[LayerRow]) -> Band:
    total = sum(layer.thickness_cm for layer in group)

    def mean(name: str) -> float:
        weighted = sum(getattr(layer, name) * layer.thickness_cm for layer in group)
        return float(weighted / total)

    return Band(
        from_cm=group[0].height_cm,
        to_cm=group[-1].height_cm + group[-1].thickness_cm,
        youngest_days=min(layer.age_days for layer in group),
        oldest_days=max(layer.age_days for layer in group),
        temperature_centre_celsius=mean("temperature_centre_celsius"),
        temperature_edge_celsius=mean("temperature_edge_celsius"),
        moisture_percent=mean("moisture_percent"),
        oxygen_percent=mean("oxygen_percent"),
        free_air_space_percent=mean("free_air_space_percent"),
        worms_percent=mean("worms_percent"),
    )


def band_words(band: Band) -> str:
    """Say what a band is like: how warm, what is wrong, whether worms can live there."""
    celsius = band.temperature_centre_celsius
    if celsius >= 45.0:
        words = ["HOT"]
    elif celsius >= 30.0:
        words = ["warm"]
    elif celsius >= 15.0:
        words = ["mild"]
    elif celsius > 0.5:
        words = ["cold"]
    else:
        words = ["frozen"]
    if band.oxygen_percent < 3.0:
        words.append("airless")
    if band.moisture_percent < 40.0:
        words.append("dry")
    elif band.moisture_percent > 78.0:
        words.append("soggy")
    if band.worms_percent >= WORMS_PERCENT:
        words.append("worm zone")
    return ", ".join(words)


def _age(days: float) -> str:
    if days < 1.0:
        return "new"
    if days < 60.0:
        return f"{days:.0f} d"
    return f"{days / 30.4:.0f} mo"


def unit_system(result: ReplayResult) -> UnitSystem:
    """How the site likes its text."""
    return "us" if result.units == "us" else "metric"


def summary_lines(result: ReplayResult) -> list[str]:
    """Say in two lines how hot, how full and how wet the bin is.

    Parameters
    ----------
    result : ReplayResult
        What a replay found [-].

    Returns
    -------
    list of str
    """
    system = unit_system(result)
    below = format_length(result.fill_cm_below_rim / 100.0, system)
    level = f"filled to {below} below the rim"
    if result.fill_cm_below_rim < 0.0:
        level = f"heaped {format_length(-result.fill_cm_below_rim / 100.0, system)} over the rim"
    tub = f"tub {format_volume(result.tub_litres, system)}"
    if result.tub_over_litres > 0.05:
        tub += f" and {format_volume(result.tub_over_litres, system)} run over since it was emptied"
    return [
        f"  hottest {format_temperature(result.hottest_celsius, system)}, "
        f"outside {format_temperature(result.air_celsius, system)}",
        f"  {level}, {tub}, liquid so far {format_volume(result.liquid_litres_total, system)}",
    ]


def reading_sentences(result: ReplayResult) -> list[str]:
    """Put each reading of the last days beside what the simulation had there.

    Parameters
    ----------
    result : ReplayResult
        What a replay found [-].

    Returns
    -------
    list of str
    """
    system = unit_system(result)
    found = []
    for reading in result.readings:
        there = "nothing there"
        if reading.simulated_celsius is not None:
            there = format_temperature(reading.simulated_celsius, system)
        read = format_temperature(reading.read_celsius, system)
        found.append(f"{reading.when} {reading.thermometer}: read {read}, simulated {there}.")
    return found


def section_lines(result: ReplayResult) -> list[str]:
    """Draw the section from the lid down, one line a band, at most 72 columns wide.

    Parameters
    ----------
    result : ReplayResult
        What a replay found [-].

    Returns
    -------
    list of str
    """
    system = unit_system(result)
    lid = format_temperature(result.lid_celsius, system)
    lines = [f"  lid dial {lid} (air under the lid)"]
    if not result.layers:
        return [*lines, "  nothing in the bin", "  door"]
    long, degree = ("in", "°F") if system == "us" else ("cm", "°C")
    lines += [
        "    height    age core edge water oxygen  air",
        f"      ({long})        ({degree}) ({degree})   (%)    (%)  (%)",
    ]

    def warmth(celsius: float) -> float:
        return fahrenheit_from_celsius(celsius) if system == "us" else celsius

    scale = CM_PER_INCH if system == "us" else 1.0
    for band in reversed(bands(result.layers)):
        lines.append(
            f"  |{band.from_cm / scale:3.0f}-{band.to_cm / scale:3.0f} {_age(band.oldest_days):>6}"
            f"{warmth(band.temperature_centre_celsius):5.0f}"
            f"{warmth(band.temperature_edge_celsius):5.0f}"
            f"{band.moisture_percent:6.0f}{band.oxygen_percent:7.0f}"
            f"{band.free_air_space_percent:5.0f}| {band_words(band)}"
        )
    return [*lines, "  door"]
