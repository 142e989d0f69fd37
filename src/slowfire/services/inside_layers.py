"""Slices of an estimate joined to a few, for tables that a phone can show."""

from collections.abc import Callable, Sequence

from slowfire.services.inside import InsideLayer, Range


def joined_layers(layers: Sequence[InsideLayer], most: int) -> tuple[InsideLayer, ...]:
    """Join neighbouring slices until there are no more than so many.

    Parameters
    ----------
    layers : sequence of InsideLayer
        Base first [-].
    most : int
        1 or more [-].

    Returns
    -------
    tuple of InsideLayer
        Base first; ranges are means by thickness.
    """
    each = -(-len(layers) // max(most, 1)) if layers else 1
    groups = [layers[k : k + each] for k in range(0, len(layers), each)]
    return tuple(_joined(group) for group in groups)


def _joined(group: Sequence[InsideLayer]) -> InsideLayer:
    total = sum(one.thickness_cm for one in group)

    def mean(of: Callable[[InsideLayer], float]) -> float:
        return sum(of(one) * one.thickness_cm for one in group) / total

    def span(of: Callable[[InsideLayer], Range]) -> Range:
        return Range(
            mean(lambda one: of(one).low),
            mean(lambda one: of(one).mid),
            mean(lambda one: of(one).high),
        )

    read = any(one.basis == "from readings" for one in group)
    return InsideLayer(
        height_cm=group[0].height_cm,
        thickness_cm=total,
        age_days=mean(lambda one: one.age_days),
        temperature_centre_celsius=span(lambda one: one.temperature_centre_celsius),
        temperature_edge_celsius=span(lambda one: one.temperature_edge_celsius),
        moisture_percent=span(lambda one: one.moisture_percent),
        oxygen_percent=span(lambda one: one.oxygen_percent),
        basis="from readings" if read else "from assumptions",
    )
