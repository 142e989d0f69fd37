"""A bin as its keeper describes it, turned into a vessel in numbers."""

import math
from dataclasses import fields, replace
from typing import Any

from slowfire.errors import InvalidInput
from slowfire.site import Bin, WallLayer
from slowfire.vessel import Fittings, Vessel, box, heap, taper

WIND_SHARES = {"sheltered": 0.2, "normal": 0.4, "windy": 0.8}
PLASTIC_WALL = (("plastic", 0.004),)
USUAL_SLOT = 0.3  # [m]
USUAL_INLET = 0.003  # [m^2]


def _slabs(sheets: tuple[WallLayer, ...]) -> tuple[tuple[str, float], ...]:
    return tuple((sheet.material, sheet.thickness_mm / 1000.0) for sheet in sheets)


def vessel_of(record: Bin) -> tuple[Vessel, tuple[str, ...]]:
    """Turn a described bin into a vessel, with the guesses made on the way.

    Parameters
    ----------
    record : Bin
        As written in the journal [-].

    Returns
    -------
    tuple of (Vessel, tuple of str)
        The vessel, and one sentence for each guess.

    Raises
    ------
    InvalidInput
        If a size is out of range.
    """
    guesses: list[str] = []
    if record.shape == "heap":
        width = (record.inside_width_cm or 0.0) / 100.0
        depth = (record.inside_depth_cm or 0.0) / 100.0
        diameter = math.sqrt(4.0 / math.pi * width * depth)
        vessel = heap(diameter, (record.inside_height_cm or 0.0) / 100.0, record.roofed)
        return vessel._replace(wind_share=WIND_SHARES[record.shelter]), ()
    wall = _slabs(record.wall)
    if not wall:
        wall = PLASTIC_WALL
        guesses.append(f"{record.name} names no wall; 4 mm plastic is assumed.")
    lid = _slabs(record.lid)
    if not lid:
        lid = wall
        guesses.append(f"{record.name} names no lid; a lid like the wall is assumed.")
    slot = record.vent_slot_length_cm / 100.0
    if slot <= 0.0:
        slot = USUAL_SLOT
        guesses.append(f"{record.name} names no vent; a slot of 30 cm is assumed.")
    inlet = record.base_inlet_area_cm2 / 1e4
    if inlet <= 0.0:
        inlet = USUAL_INLET
        guesses.append(f"{record.name} names no air inlet; 30 cm2 at the base is assumed.")
    fittings = Fittings(
        wall=wall,
        lid=lid,
        base=_slabs(record.base),
        vent_slot_length=slot,
        inlet_area=inlet,
        lid_fit=record.lid_leak,
        side_open=record.open_share_percent / 100.0 if record.slatted else 0.0,
        roofed=record.roofed,
        wind_share=WIND_SHARES[record.shelter],
        sun_share=record.sun_share_percent / 100.0,
    )
    height = (record.inside_height_cm or 0.0) / 100.0
    if record.shape == "box":
        width = (record.inside_width_cm or 0.0) / 100.0
        depth = (record.inside_depth_cm or 0.0) / 100.0
        return box(width, depth, height, fittings), tuple(guesses)
    if record.shape == "cylinder":
        diameter = (record.inside_diameter_cm or 0.0) / 100.0
        return taper(diameter, diameter, height, fittings), tuple(guesses)
    bottom = (record.bottom_diameter_cm or 0.0) / 100.0
    top = (record.top_diameter_cm or 0.0) / 100.0
    return taper(bottom, top, height, fittings), tuple(guesses)


def changed_bin(record: Bin, key: str, text: str) -> Bin:
    """Change one property of a described bin from its text.

    Parameters
    ----------
    record : Bin
        As it was [-].
    key : str
        Name of the property, as in site.toml [-].
    text : str
        New value as written; a wall is written as `foam 60` or `wool 20 + timber 18`, in mm [-].

    Returns
    -------
    Bin

    Raises
    ------
    InvalidInput
        If the value cannot be read or is out of range.
    """
    known = {one.name for one in fields(Bin)}
    if key not in known:
        raise InvalidInput(f"a bin has no '{key}'; allowed is {', '.join(sorted(known))}.")
    value: object = text.strip()
    if key in ("wall", "lid", "base"):
        value = tuple(_sheet(part, key) for part in text.split("+"))
    elif key in ("slatted", "roofed"):
        word = text.strip().casefold()
        if word not in ("yes", "no", "true", "false"):
            raise InvalidInput(f"{key} is '{text}'; allowed is yes or no.")
        value = word in ("yes", "true")
    elif key not in ("name", "shape", "stands_on", "lid_leak", "shelter"):
        try:
            value = float(text.split()[0].replace(",", "."))
        except (ValueError, IndexError) as problem:
            raise InvalidInput(f"{key} is '{text}'; allowed is a number.") from problem
    values: dict[str, Any] = {key: value}
    return replace(record, **values)


def _sheet(text: str, key: str) -> WallLayer:
    words = text.split()
    try:
        return WallLayer(" ".join(words[:-1]), float(words[-1].removesuffix("mm")))
    except (ValueError, IndexError) as problem:
        raise InvalidInput(
            f"{key} is '{text.strip()}'; write material and thickness in mm, such as foam 60."
        ) from problem
