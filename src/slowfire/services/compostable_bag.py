"""A bag or cup called compostable, asked of one bin as it is."""

from collections.abc import Mapping

from slowfire.maturity.compostables import CompostableAnswer, compostable_answer
from slowfire.services.inside import InsideResult
from slowfire.services.layers import LayersResult

# What may be printed on it, as a keeper finds it.
MARKS: Mapping[str, str] = {
    "home": "for home composting: NF T51-800, AS 5810, EN 17427",
    "EN 13432": "EN 13432, or for industrial plants only",
    "biodegradable": "only compostable or biodegradable, with no mark",
    "none": "nothing of the kind",
}
HOT_DEGREES = "55"


def bag_answer(
    marking: str, inside: InsideResult | None, layers: LayersResult | None
) -> CompostableAnswer:
    """Whether a bag or cup will rot in a bin, by its mark and by what is known of the bin.

    Parameters
    ----------
    marking : str
        One of `MARKS`, or what is printed on it [-].
    inside : InsideResult or None
        The last estimate, for how moist it is; None without one [-].
    layers : LayersResult or None
        Its layers, for how long it has been hot; None without them [-].

    Returns
    -------
    CompostableAnswer
    """
    return compostable_answer(marking, moisture_of(inside), hot_days_of(layers))


def moisture_of(inside: InsideResult | None) -> float | None:
    """Water of the whole stack by the estimate [kg/kg]; None without one.

    Parameters
    ----------
    inside : InsideResult or None
        The last estimate [-].

    Returns
    -------
    float or None
        Mean over the height, in the middle of what is thought.
    """
    if inside is None or not inside.layers:
        return None
    thick = sum(one.thickness_cm for one in inside.layers)
    wet = sum(one.thickness_cm * one.moisture_percent.mid for one in inside.layers)
    return min(max(wet / thick / 100.0, 0.0), 1.0) if thick > 0.0 else None


def hot_days_of(layers: LayersResult | None) -> float | None:
    """How long the layer that was hot for longest has been at 55 degC or more [day].

    Parameters
    ----------
    layers : LayersResult or None
        As last estimated [-].

    Returns
    -------
    float or None
        In the middle of what is thought; None without an estimate.
    """
    if layers is None:
        return None
    hours = [one.hot_hours[HOT_DEGREES].mid for one in layers.layers if one.hot_hours]
    return max(hours) / 24.0 if hours else None
