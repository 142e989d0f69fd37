"""The bin as numbers: shape, walls, vents, and what rain, wind and sun reach of it."""

import csv
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import NamedTuple

from slowfire.errors import InvalidInput, UnknownName, check_range


class Vessel(NamedTuple):
    """A container of compost, or an open heap, in SI units.

    A named tuple, so that the compiled kernel reads the fields by name. Make one with
    `box`, `cylinder`, `taper` or `heap`, which check their arguments.
    """

    base_area: float  # inside [m^2]
    top_area: float  # at the rim [m^2]
    base_perimeter: float  # [m]
    top_perimeter: float  # [m]
    height: float  # floor to rim [m]
    wall_resistance: float  # slabs only, no films [m^2*K/W]
    lid_resistance: float  # [m^2*K/W]
    base_resistance: float  # to the ground or the air below [m^2*K/W]
    vent_slot_length: float  # of the lid vent [m]
    inlet_area: float  # free opening at the base [m^2]
    lid_leak_area: float  # joints of the lid that pass a net flow [m^2]
    lid_exchange: float  # two-way leak of the lid per plan area [kg/(s*m^2)]
    side_open: float  # share of the side that lets air in, 0-1 [-]
    rain_share: float  # of the rain falling on the plan area that gets in [-]
    wind_share: float  # of the wind that reaches the bin [-]
    sun_share: float  # of the sun in the open that reaches walls and lid [-]
    absorptance: float  # of walls and lid [-]
    emissivity: float  # [-]
    tub_rain_area: float  # open area of the tub that catches rain [m^2]
    lidded: float  # 1 with a lid and a head-space, 0 for an open top


@dataclass(frozen=True)
class WallMaterial:
    """Conductivity [W/(m*K)] with its published range, and how the surface takes the sun."""

    name: str
    words: tuple[str, ...]
    conductivity: float
    low: float
    high: float
    absorptance: float
    emissivity: float
    source: str


@lru_cache(maxsize=1)
def wall_materials() -> dict[str, WallMaterial]:
    """Every wall material by name, from the packaged table."""
    text = files("slowfire").joinpath("vessel_materials.csv").read_text(encoding="utf-8")
    return {
        row["name"]: WallMaterial(
            row["name"],
            tuple(row["words"].split(";")),
            float(row["conductivity_w_per_m_k"]),
            float(row["low"]),
            float(row["high"]),
            float(row["absorptance"]),
            float(row["emissivity"]),
            row["source"],
        )
        for row in csv.DictReader(text.splitlines())
    }


def find_wall_material(word: str) -> WallMaterial:
    """Look a wall material up by name or everyday word.

    Parameters
    ----------
    word : str
        Such as "foam", "timber", "wool", "plastic"; capitals and spaces around it do not count.

    Returns
    -------
    WallMaterial
        Conductivity, its range and source, and how the surface takes the sun.

    Raises
    ------
    UnknownName
        If nobody calls a wall that; the message lists the names.

    Notes
    -----
    The words are our own. The source of each conductivity stands in `vessel_materials.csv`. It
    holds for dry walls; a soaked one insulates less (common practice, no source).

    Examples
    --------
    >>> find_wall_material("foam").conductivity
    0.036
    """
    wanted = word.strip().lower()
    for material in wall_materials().values():
        if wanted == material.name or wanted in material.words:
            return material
    names = ", ".join(wall_materials())
    raise UnknownName(f"'{word}' is not a known wall material; use one of {names}.")


def slab_resistance(slabs: Sequence[tuple[str, float]]) -> float:
    """Sum the thermal resistance of slabs from inside to outside.

    ::

        R = sum(d_j / lambda_j)

    with d_j the thickness of a slab [m] and lambda_j its conductivity [W/(m*K)].

    Parameters
    ----------
    slabs : sequence of (str, float)
        Material word and thickness [m], 0-1, usually 0.002 to 0.1.

    Returns
    -------
    float
        Resistance without films [m^2*K/W].

    Raises
    ------
    UnknownName, InvalidInput
        For an unknown material or a thickness outside 0-1 m.

    Notes
    -----
    Holds for flat, whole slabs. Corners, screws and gaps, which pass more heat, are left out, and
    so are the films of air on either side.

    Examples
    --------
    >>> round(slab_resistance([("foam", 0.036), ("timber", 0.0125)]), 6)
    1.1

    References
    ----------
    iso6946
    """
    total = 0.0
    for word, thickness in slabs:
        check_range(f"Thickness of {word}", thickness, 0.0, 1.0, "m")
        total += thickness / find_wall_material(word).conductivity
    return total


@dataclass(frozen=True)
class Fittings:
    """Walls, lid, openings and place of a vessel; every default is what a home bin usually has.

    Lengths in m, areas in m^2.
    """

    wall: tuple[tuple[str, float], ...] = (("eps", 0.05),)
    lid: tuple[tuple[str, float], ...] | None = (("eps", 0.05),)
    base: tuple[tuple[str, float], ...] = (("timber", 0.02),)
    vent_slot_length: float = 0.5
    inlet_area: float = 0.003
    lid_fit: str = "usual"
    side_open: float = 0.0
    roofed: bool = False
    wind_share: float = 0.4
    sun_share: float = 0.25
    tub_rain_area: float = 0.0


# Net-flow area per rim length [m] and two-way exchange [kg/(s*m^2)]: prior, common practice.
LID_FITS = {"tight": (3.0e-6, 1.0e-5), "usual": (1.0e-5, 5.0e-5), "leaky": (2.0e-4, 1.0e-3)}
_GROUND_RESISTANCE = 0.3  # soil or air film below the floor [m^2*K/W]


def _vessel(
    base_area: float,
    top_area: float,
    base_perimeter: float,
    top_perimeter: float,
    height: float,
    fittings: Fittings,
) -> Vessel:
    if fittings.lid_fit not in LID_FITS:
        raise InvalidInput(f"Lid fit '{fittings.lid_fit}' is unknown; say tight, usual or leaky.")
    check_range("Open share of the side", fittings.side_open, 0.0, 1.0)
    check_range("Vent slot length", fittings.vent_slot_length, 0.0, 10.0, "m")
    check_range("Base inlet area", fittings.inlet_area, 0.0, 1.0, "m2")
    check_range("Wind share", fittings.wind_share, 0.0, 1.0)
    check_range("Sun share", fittings.sun_share, 0.0, 1.0)
    if not fittings.wall:
        raise InvalidInput("A vessel needs at least one wall layer; use 'wire' for an open heap.")
    leak, exchange = LID_FITS[fittings.lid_fit]
    outer = find_wall_material(fittings.wall[-1][0])
    lidded = fittings.lid is not None
    return Vessel(
        base_area=base_area,
        top_area=top_area,
        base_perimeter=base_perimeter,
        top_perimeter=top_perimeter,
        height=height,
        wall_resistance=slab_resistance(fittings.wall),
        lid_resistance=slab_resistance(fittings.lid) if fittings.lid is not None else 0.0,
        base_resistance=slab_resistance(fittings.base) + _GROUND_RESISTANCE,
        vent_slot_length=fittings.vent_slot_length,
        inlet_area=fittings.inlet_area,
        lid_leak_area=leak * top_perimeter if lidded else top_area,
        lid_exchange=exchange if lidded else 0.02,
        side_open=fittings.side_open,
        rain_share=0.0 if fittings.roofed else (0.02 if lidded else 1.0),
        wind_share=fittings.wind_share,
        sun_share=fittings.sun_share,
        absorptance=outer.absorptance,
        emissivity=outer.emissivity,
        tub_rain_area=fittings.tub_rain_area,
        lidded=1.0 if lidded else 0.0,
    )


def box(width: float, depth: float, height: float, fittings: Fittings | None = None) -> Vessel:
    """Make a rectangular bin from its inside measures.

    Parameters
    ----------
    width, depth, height : float
        Inside [m], 0.05-5.
    fittings : Fittings, optional
        Walls, lid, openings, place; what a home bin usually has if left out.

    Returns
    -------
    Vessel
        The bin in numbers.

    Raises
    ------
    InvalidInput
        If a measure is outside its range, or a fitting is.

    Notes
    -----
    Exact for upright walls and square corners. How much rain, wind and sun reach the bin and how
    tightly its lid closes are common practice, no source.

    Examples
    --------
    >>> round(box(0.6, 0.5, 0.8).base_area, 3)
    0.3
    """
    for name, value in (("Width", width), ("Depth", depth), ("Height", height)):
        check_range(name, value, 0.05, 5.0, "m")
    area = width * depth
    perimeter = 2.0 * (width + depth)
    return _vessel(area, area, perimeter, perimeter, height, fittings or Fittings())


def cylinder(diameter: float, height: float, fittings: Fittings | None = None) -> Vessel:
    """Make a round bin from its inside measures.

    Parameters
    ----------
    diameter, height : float
        Inside [m], 0.05-5.
    fittings : Fittings, optional
        Walls, lid, openings, place; what a home bin usually has if left out.

    Returns
    -------
    Vessel
        The bin in numbers.

    Raises
    ------
    InvalidInput
        If a measure is outside its range, or a fitting is.

    Notes
    -----
    Exact for upright walls. Fittings as in `box`.

    Examples
    --------
    >>> round(cylinder(0.5, 0.8).base_area, 4)
    0.1963
    """
    return taper(diameter, diameter, height, fittings)


def taper(
    base_diameter: float, top_diameter: float, height: float, fittings: Fittings | None = None
) -> Vessel:
    """Make a round bin that is wider at one end.

    Parameters
    ----------
    base_diameter, top_diameter, height : float
        Inside [m], 0.05-5.
    fittings : Fittings, optional
        Walls, lid, openings, place; what a home bin usually has if left out.

    Returns
    -------
    Vessel
        The bin in numbers.

    Raises
    ------
    InvalidInput
        If a measure is outside its range, or a fitting is.

    Notes
    -----
    Exact for a straight slope from floor to rim. Fittings as in `box`.

    Examples
    --------
    >>> bin_wider_at_the_top = taper(0.5, 0.6, 0.9)
    >>> round(bin_wider_at_the_top.top_area / bin_wider_at_the_top.base_area, 6)
    1.44
    """
    for name, value in (
        ("Base diameter", base_diameter),
        ("Top diameter", top_diameter),
        ("Height", height),
    ):
        check_range(name, value, 0.05, 5.0, "m")
    return _vessel(
        math.pi / 4.0 * base_diameter**2,
        math.pi / 4.0 * top_diameter**2,
        math.pi * base_diameter,
        math.pi * top_diameter,
        height,
        fittings or Fittings(),
    )


def heap(base_diameter: float, height: float, roofed: bool = False) -> Vessel:
    """Make an open heap: no walls, air from all sides, rain from above.

    The heap is a taper to half the base diameter, flat on top.

    Parameters
    ----------
    base_diameter, height : float
        Outside [m], 0.05-5.
    roofed : bool
        Whether a cover keeps the rain off.

    Returns
    -------
    Vessel
        The heap in numbers.

    Raises
    ------
    InvalidInput
        If a measure is outside its range.

    Notes
    -----
    The shape is our own choice: it holds 1.75 times a pointed cone of the same base and height. The
    shares of wind and sun that reach a heap are common practice, no source.

    Examples
    --------
    >>> heap(1.5, 1.0).rain_share, heap(1.5, 1.0, roofed=True).rain_share
    (1.0, 0.0)
    """
    return taper(
        base_diameter,
        0.5 * base_diameter,
        height,
        Fittings(
            wall=(("wire", 0.001),),
            lid=None,
            base=(),
            vent_slot_length=0.0,
            inlet_area=0.0,
            side_open=1.0,
            roofed=roofed,
            wind_share=0.6,
            sun_share=0.8,
        ),
    )


def inside_volume(vessel: Vessel) -> float:
    """Volume from floor to rim.

    ::

        V = h / 3 (A_1 + A_2 + sqrt(A_1 A_2))

    with h the height [m], A_1 the area of the floor and A_2 that at the rim [m^2].

    Parameters
    ----------
    vessel : Vessel
        Any vessel.

    Returns
    -------
    float
        Volume [m^3].

    Notes
    -----
    Exact for upright walls and for walls with a straight slope.

    Examples
    --------
    >>> round(inside_volume(box(0.5, 0.5, 1.0)), 6)
    0.25
    """
    a, b = vessel.base_area, vessel.top_area
    return vessel.height / 3.0 * (a + b + math.sqrt(a * b))
