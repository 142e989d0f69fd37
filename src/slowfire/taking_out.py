"""Taking out at the door: how much, so that the stack slumps and nothing is undercut."""

import itertools
from dataclasses import dataclass

from slowfire.biology.organisms import worm_suitability
from slowfire.errors import InvalidInput, check_range
from slowfire.physics.packing import overburden_janssen, wall_pressure_janssen

MOST_OF_STACK = 1.0 / 3.0  # of the fill at one time; ours: the hot part stays above the door [-]
TIGHT_PRESSURE = 2500.0  # of the bed on the base, from where it packs hard; ours [Pa]
BULGE_PRESSURE = 800.0  # on a thin wall, from where boards and plastic give; ours [Pa]
RETAINED = {6.0: 0.85, 10.0: 0.75, 13.0: 0.7, 25.0: 0.35, 40.0: 0.1}  # of chips, by mesh [mm]
GOOD_FOR_WORMS = 0.5  # of their best
WORM_TEMPERATURES = (10.0, 27.0)  # [degC]
STEPS = (
    "Set the tub aside and see that nothing hot is above the door.",
    "Loosen straps or bolts of the door; stand to the side, upwind.",
    "Damp it down if it is dry. Lift worms out by the handful, onto the side.",
    "Dig from the whole width, no higher than the top of the door.",
    "Shut the door, set the tub back, close the straps.",
    "Poke from the top with a rod until the stack has slumped everywhere.",
    "Wash your hands; write down how much it was.",
)
CAUTIONS = (
    "Gloves and boots; keep it damp and your face away, since dust can carry Legionella and mould. "
    "Who is over 50, smokes, or has weak lungs or immunity wears a mask.",
    "Never lean or climb into a bin, pit or tub: the air in there can kill.",
    "Rats about? Cover cuts and wash; with fever in the weeks after tell a doctor.",
    "Children: no forks, no dust, wash hands.",
)


@dataclass(frozen=True)
class DigAdvice:
    """How much to take out.

    Attributes
    ----------
    volume : float
        As it lies in the bin [m^3].
    height : float
        Of the slice taken from the base [m].
    limit : str
        What keeps it from being more.
    words : tuple of str
        Sentences.
    """

    volume: float
    height: float
    limit: str
    words: tuple[str, ...]


def dig_advice(
    fill_height: float,
    door_height: float,
    plan_area: float,
    ready_height: float,
) -> DigAdvice:
    """How much to dig out at the base so that the stack follows.

    h = min(h_ready, h_door, H / 3)

    Parameters
    ----------
    fill_height : float
        Of the stack above the floor, usual range 0.3 to 1.2 [m].
    door_height : float
        Top of the door above the floor, usual range 0.15 to 0.5 [m].
    plan_area : float
        Of the bin inside, usual range 0.1 to 1.5 [m^2].
    ready_height : float
        Up to where it is ready [m].

    Returns
    -------
    DigAdvice

    Raises
    ------
    InvalidInput
        If the door is higher than the fill, or a size is out of range.

    Notes
    -----
    Ours: what lies above the door must slide down by itself, so no more than the door's height is
    taken, from the whole width, and no more than a third of the stack, so that the hot part keeps
    its cover. That a stack slumps after a dig-out and is poked is common practice, no source.

    Examples
    --------
    >>> round(dig_advice(0.9, 0.3, 0.25, 0.5).volume, 3)
    0.075
    """
    check_range("Height of the stack", fill_height, 0.0, 5.0, "m")
    check_range("Height of the door", door_height, 0.02, 3.0, "m")
    check_range("Area of the bin", plan_area, 0.01, 100.0, "m2")
    check_range("Height that is ready", ready_height, 0.0, 5.0, "m")
    if door_height > fill_height:
        raise InvalidInput(
            f"The door reaches {100.0 * door_height:.0f} cm up and the stack "
            f"{100.0 * fill_height:.0f} cm; there is too little above it. Wait, or write the "
            "height of the door anew."
        )
    choices = {
        "what is ready": ready_height,
        "the height of the door": door_height,
        "a third of the stack": MOST_OF_STACK * fill_height,
    }
    limit = min(choices, key=lambda name: choices[name])
    height = choices[limit]
    words = []
    if height <= 0.01:
        words.append("Nothing at the door is ready; leave it.")
    elif limit != "what is ready":
        words.append(
            f"No more than {limit}, so that the stack slides down and what is hot stays covered."
        )
    return DigAdvice(height * plan_area, height, limit, tuple(words))


@dataclass(frozen=True)
class Stress:
    """What the stack presses on.

    Attributes
    ----------
    base, wall : float
        On the floor, and on the wall just above it [Pa].
    words : tuple of str
        Sentences, none if there is nothing to mind.
    """

    base: float
    wall: float
    words: tuple[str, ...]


def stress(
    bulk_density: float,
    fill_height: float,
    hydraulic_radius: float,
    wall_friction: float = 0.4,
    pressure_ratio: float = 0.4,
) -> Stress:
    """Pressure at the base of a stack, with what it means for digging and for the walls.

    Parameters
    ----------
    bulk_density : float
        Wet, usual range 300 to 900 [kg/m^3].
    fill_height : float
        Usual range 0.3 to 1.5 [m].
    hydraulic_radius : float
        Plan area over perimeter, usual range 0.08 to 0.3 [m].
    wall_friction : float
        Coefficient, usual range 0.2 to 0.7 [-].
    pressure_ratio : float
        Sideways over downward, usual range 0.3 to 0.6 [-].

    Returns
    -------
    Stress

    Raises
    ------
    InvalidInput
        If a number is out of range.

    Notes
    -----
    Walls bear a part of the weight (Janssen). From what pressure a bed packs hard and a wall bulges
    is ours.

    References
    ----------
    janssen1895

    Examples
    --------
    >>> stress(500.0, 0.8, 0.12).base < 500.0 * 9.81 * 0.8
    True
    """
    down = float(
        overburden_janssen(
            fill_height, bulk_density, hydraulic_radius, wall_friction, pressure_ratio
        )
    )
    side = float(
        wall_pressure_janssen(
            fill_height, bulk_density, hydraulic_radius, wall_friction, pressure_ratio
        )
    )
    words = []
    if down > TIGHT_PRESSURE:
        words.append("The base is packed hard: loosen it with a fork before you dig.")
    if side > BULGE_PRESSURE:
        words.append(
            "It presses hard on the walls: look for a bulge, keep straps on while the door is open."
        )
    return Stress(down, side, tuple(words))


def oversize(wood_volume: float, mesh: float) -> float:
    """Chips that stay on a sieve, to go back in as dry stuff.

    V = r(mesh) V_w

    Parameters
    ----------
    wood_volume : float
        Chips in what was dug out [m^3].
    mesh : float
        Of the sieve, 0.006 to 0.04 [m].

    Returns
    -------
    float
        [m^3].

    Raises
    ------
    InvalidInput
        If the mesh is outside 6 to 40 mm or the volume negative.

    Notes
    -----
    Shares that stay on are ours, between the meshes on straight lines: chips of 5 to 40 mm.

    Examples
    --------
    >>> round(oversize(0.01, 0.013), 4)
    0.007
    """
    check_range("Chips", wood_volume, 0.0, 100.0, "m3")
    check_range("Mesh", 1000.0 * mesh, 6.0, 40.0, "mm")
    points = sorted(RETAINED.items())
    width = 1000.0 * mesh
    for (low, kept), (high, less) in itertools.pairwise(points):
        if width <= high:
            part = (width - low) / (high - low)
            return wood_volume * (kept + part * (less - kept))
    return wood_volume * points[-1][1]


def receiving_heap(
    temperature_celsius: float, moisture_content_wet_basis: float, oxygen: float = 0.15
) -> str:
    """Whether worms may move to another heap.

    Parameters
    ----------
    temperature_celsius : float
        Of that heap, usual range 0 to 40 [degC].
    moisture_content_wet_basis : float
        Usual range 0.4 to 0.85 [-].
    oxygen : float
        Volume fraction in its pores, usual range 0.05 to 0.2 [-].

    Returns
    -------
    str
        A sentence.

    Raises
    ------
    InvalidInput
        If a number is out of range.

    Notes
    -----
    By the same suitability as in the bin; see `biology.organisms`. Ours beyond that.

    Examples
    --------
    >>> receiving_heap(18.0, 0.75)
    'Cool and moist enough: worms may move there.'
    """
    check_range("Temperature of the heap", temperature_celsius, -30.0, 90.0, "C")
    check_range("Moisture of the heap", moisture_content_wet_basis, 0.0, 0.99)
    check_range("Oxygen", oxygen, 0.0, 0.21)
    live = float(worm_suitability(temperature_celsius, moisture_content_wet_basis, oxygen, 0.0))
    if live >= GOOD_FOR_WORMS:
        return "Cool and moist enough: worms may move there."
    if temperature_celsius > WORM_TEMPERATURES[1]:
        return "Too warm there for worms yet: leave them here, or wait until it has cooled."
    if temperature_celsius < WORM_TEMPERATURES[0]:
        return "Too cold there for worms now: put them deep in, or keep them here."
    return "Too dry, wet or airless there for worms: see to that first."
