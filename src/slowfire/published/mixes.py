"""Mixes as the sources describe them: by parts of volume, wetted evenly; and water of the core."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from slowfire.materials.feedstock import Packing, Portion
from slowfire.materials.library import load_library
from slowfire.published.trial import Trial, litres_of, water_to_reach


def by_volume(
    litres: float, parts: Mapping[str, float], packing: Mapping[str, Packing] | None = None
) -> list[Portion]:
    """A mix of parts by volume as they lie, the volumes of the parts adding up to `litres`."""
    total = sum(parts.values())
    packed = packing or {}
    return [
        litres_of(word, litres * part / total, packed.get(word, "loose"))
        for word, part in parts.items()
    ]


def with_moisture(portion: Portion, moisture_content: float) -> Portion:
    """The same dry matter and volume at another moisture content."""
    dry = portion.mass * portion.feedstock.dry_matter
    stuff = replace(portion.feedstock, moisture_content_wet_basis=moisture_content)
    return replace(portion, feedstock=stuff, mass=dry / (1.0 - moisture_content))


def wetted(portions: Sequence[Portion], moisture_content: float) -> list[Portion]:
    """The mix watered evenly, by dry matter, to a moisture content; a wetter mix stays as it is."""
    water = water_to_reach(portions, moisture_content)
    dry = sum(one.mass * one.feedstock.dry_matter for one in portions)
    moist = []
    for one in portions:
        own = one.mass * one.feedstock.dry_matter
        mass = one.mass + water * own / dry
        moist.append(with_moisture(one, 1.0 - own / mass))
    return moist


def dry_kilograms_of(word: str, dry: float, moisture_content: float) -> Portion:
    """A portion of a dry mass brought to a moisture content, with the volume of its dry matter."""
    stuff = load_library().find(word)
    portion = Portion.from_mass(stuff, dry / stuff.dry_matter)
    return with_moisture(portion, moisture_content)


def core_moisture(trial: Trial) -> float:
    """Water per wet mass of the middle third of the stack [-]."""
    layers = trial.column.section().layers
    height = sum(layer.thickness for layer in layers)
    middle = np.array([layer.base_height + 0.5 * layer.thickness for layer in layers]) / height
    dry = np.array([layer.dry_mass for layer in layers])
    water = np.array([layer.moisture_content_wet_basis for layer in layers])
    inside = np.abs(middle - 0.5) <= 1.0 / 6.0
    if not inside.any():
        return trial.moisture_content()
    wet = dry / (1.0 - water)
    return float(1.0 - dry[inside].sum() / wet[inside].sum())
