"""A user's own materials, given as what they resemble and what differs."""

import difflib
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from slowfire.errors import InvalidInput
from slowfire.materials.feedstock import Feedstock, pressed_density
from slowfire.materials.spreads import Spread

# key a user writes -> field of Feedstock and how many of its unit make one of the field's
_NUMBERS = {
    "moisture_percent": ("moisture_content_wet_basis", 100.0),
    "carbon_percent": ("carbon_content", 100.0),
    "nitrogen_percent": ("nitrogen_content", 100.0),
    "volatile_solids_percent": ("volatile_solids", 100.0),
    "lignin_percent": ("lignin_content", 100.0),
    "fast_percent": ("fast_fraction", 100.0),
    "slow_percent": ("slow_fraction", 100.0),
    "resistant_percent": ("resistant_fraction", 100.0),
    "bulk_density_kg_per_m3": ("bulk_density", 1.0),
    "dense_bulk_density_kg_per_m3": ("dense_bulk_density", 1.0),
    "particle_density_kg_per_m3": ("particle_density", 1.0),
    "phosphorus_percent": ("phosphorus_content", 100.0),
    "potassium_percent": ("potassium_content", 100.0),
    "water_holding_kg_per_kg": ("water_holding_capacity", 1.0),
    "particle_size_mm": ("particle_size", 1000.0),
}
_TEXTS = {
    "structure_role": "structure_role",
    "cautions": "cautions",
    "source": "source",
    "group": "group",
}
_NOT_IN_ID = re.compile(r"[^a-z0-9]+")
_SWITCHES = ("bulking_wood", "packing_matters", "counts_in_c_to_n")
OWN_KEYS = (
    "name",
    "like",
    "id",
    "words",
    "c_to_n",
    *_NUMBERS,
    *_TEXTS,
    *_SWITCHES,
)


def _number_or_range(name: str, key: str, value: object) -> tuple[float, float, float]:
    """Middle, low and high of a number or a pair of numbers."""

    def is_number(x: object) -> bool:
        return isinstance(x, int | float) and not isinstance(x, bool)

    if is_number(value):
        number = float(value)  # type: ignore[arg-type]
        return number, number, number
    if isinstance(value, list | tuple) and len(value) == 2 and all(map(is_number, value)):
        low, high = float(value[0]), float(value[1])
        if low <= high:
            return (low + high) / 2.0, low, high
    raise InvalidInput(
        f"{key} of {name} is {value!r}; write one number, or two as [low, high] for a guess."
    )


def _text(name: str, key: str, value: object) -> str:
    if isinstance(value, str) and value.strip():
        return value.strip()
    raise InvalidInput(f"{key} of {name} is {value!r}; write some text in quotes.")


def own_feedstock(
    entry: Mapping[str, object], find: Callable[[str], Feedstock]
) -> tuple[Feedstock, dict[tuple[str, str], Spread]]:
    """Make a material of the user's from a similar one and what differs.

    Parameters
    ----------
    entry : Mapping
        `name` and `like` (a known material), and any of `OWN_KEYS`: contents in percent (water of
        the mass as added, the rest of dry matter, fast, slow and resistant of volatile solids),
        densities in kg/m3; a number, or [low, high] for a guess.
    find : Callable
        Looks up the similar material.

    Returns
    -------
    tuple
        The feedstock, and the spreads the user gave, by id and quantity.

    Raises
    ------
    InvalidInput
        If a key is unknown, a value is of the wrong kind, or contents contradict one another.
    UnknownName
        If the similar material is unknown.
    """
    name = _text("an own material", "name", entry.get("name"))
    for key in entry:
        if key not in OWN_KEYS:
            near = difflib.get_close_matches(str(key), OWN_KEYS, n=1)
            hint = f" Did you mean {near[0]}?" if near else ""
            raise InvalidInput(
                f"'{key}' of {name} is not known.{hint} Allowed is {', '.join(OWN_KEYS)}."
            )
    if "like" not in entry:
        raise InvalidInput(
            f'{name} needs like = "a similar material", for what you do not state yourself.'
        )
    model = find(_text(name, "like", entry["like"]))
    given_id = _text(name, "id", entry.get("id", name))
    own_id = _NOT_IN_ID.sub("_", given_id.casefold()).strip("_")
    if not own_id:
        raise InvalidInput(f"id of {name} is '{given_id}'; it needs a letter or a digit.")

    changes: dict[str, Any] = {
        "id": own_id,
        "name": name,
        "group": "own",
        "words": (name,),
        "preferred_words": (name,),
        "source": f"yours; what you did not state is as {model.id}",
        "source_kind": "own" if {"nitrogen_percent", "c_to_n"} & set(entry) else model.source_kind,
    }
    spreads: dict[tuple[str, str], Spread] = {}

    def note_range(field: str, low: float, high: float) -> None:
        if low < high:
            spreads[own_id, field] = Spread(low, high, "own", "the range you gave")

    for key, (field, scale) in _NUMBERS.items():
        if key in entry:
            middle, low, high = _number_or_range(name, key, entry[key])
            changes[field] = middle / scale
            note_range(field, low / scale, high / scale)
    for key, field in _TEXTS.items():
        if key in entry:
            changes[field] = _text(name, key, entry[key])
    for key in _SWITCHES:
        if key in entry:
            if not isinstance(entry[key], bool):
                raise InvalidInput(f"{key} of {name} is {entry[key]!r}; write true or false.")
            changes[key] = entry[key]
    if "words" in entry:
        words = entry["words"]
        if not isinstance(words, list | tuple) or not all(isinstance(w, str) for w in words):
            raise InvalidInput(f"words of {name} is {words!r}; write a list of words in quotes.")
        changes["words"] = changes["preferred_words"] = (name, *words)
    if "c_to_n" in entry:
        if "nitrogen_percent" in entry:
            raise InvalidInput(
                f"{name} has both nitrogen_percent and c_to_n; give one, the other follows from it."
            )
        ratio, low, high = _number_or_range(name, "c_to_n", entry["c_to_n"])
        if not 1.0 <= low <= high <= 5000.0:
            raise InvalidInput(f"c_to_n of {name} is {ratio:g}; allowed is 1 to 5000.")
        changes["nitrogen_content"] = changes.get("carbon_content", model.carbon_content) / ratio
        note_range("c_to_n", low, high)
    if "bulk_density" in changes and "dense_bulk_density" not in changes:
        loose = changes["bulk_density"]
        piece = changes.get("particle_density", model.particle_density)
        wood = changes.get("bulking_wood", model.bulking_wood)
        changes["dense_bulk_density"] = pressed_density(loose, piece, wood)
    return replace(model, **changes), spreads
