"""What a mix of portions is like: water, carbon to nitrogen, air space, now and settled."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from slowfire.constants import DENSITY_WATER
from slowfire.errors import InvalidInput, check_range
from slowfire.materials.feedstock import MAX_PORTION_MASS, Feedstock, Portion
from slowfire.physics.packing import free_air_space, mixed_volume

# Our rules, no source: voids between chips that fines can reach, and the share of the slow
# fraction that one hot batch uses.
FILLING_OF_VOIDS = 0.8
SLOW_SHARE_AVAILABLE = 0.5

# Soft stuff keeps its hand-pressed volume while its water is below this share of what it can hold,
# and has slumped to the limit at the other share; our rule, see `settled_soft_volume`.
SLUMP_STARTS = 0.6
SLUMP_ENDS = 1.2
SLUMPED_AIR_SPACE = 0.1


@dataclass(frozen=True)
class Blend:
    """A mix of portions, as poured in and after it has settled.

    Attributes
    ----------
    portions : tuple of Portion
        What went in, each with its own volume.
    added_water : float
        Water added beside the portions, usual range 0 to 20 [kg].
    mass : float
        All of it, wet [kg].
    dry_mass : float
        Without water [kg].
    moisture_content_wet_basis : float
        Water in the wet mass, usual range 0.4 to 0.85 [kg/kg].
    carbon : float
        Organic carbon; egg shell, wood ash and biochar left out [kg].
    nitrogen : float
        Total nitrogen; egg shell, wood ash and biochar left out [kg].
    c_to_n : float or None
        Mass of carbon over mass of nitrogen, usual range 10 to 60 [-]; None without nitrogen.
    available_c_to_n : float or None
        The same with the carbon one hot batch can use, usual range 8 to 30 [-].
    volatile_solids : float
        Share of the dry mass that is not ash, usual range 0.5 to 0.98 [kg/kg].
    volume : float
        As poured in, fines between the chips [m^3].
    bulk_density : float
        Wet mass over that volume, usual range 100 to 700 [kg/m^3].
    free_air_space : float
        Air in that volume, usual range 0.4 to 0.9 [m^3/m^3].
    settled_volume : float
        After the wet soft part has slumped [m^3].
    settled_free_air_space : float
        Air in the settled volume, usual range 0.1 to 0.7 [m^3/m^3].
    water_to_spare : float
        Water it can still hold; negative is what will drip [kg].
    """

    portions: tuple[Portion, ...]
    added_water: float
    mass: float
    dry_mass: float
    moisture_content_wet_basis: float
    carbon: float
    nitrogen: float
    c_to_n: float | None
    available_c_to_n: float | None
    volatile_solids: float
    volume: float
    bulk_density: float
    free_air_space: float
    settled_volume: float
    settled_free_air_space: float
    water_to_spare: float


def available_carbon(feedstock: Feedstock) -> float:
    """Carbon of a dry kilogram that one hot batch can use.

    The fast share and half of the slow share of the carbon; of lasting wood and bark the fast share
    alone, because chips are too big. The half is our rule.

    Parameters
    ----------
    feedstock : Feedstock
        The material.

    Returns
    -------
    float
        Carbon in dry matter [kg/kg].

    Notes
    -----
    Ours, and for one hot batch of weeks; over a year more of the carbon is used.

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> round(available_carbon(load_library().find("rice")), 3)
    0.427
    """
    share = feedstock.fast_fraction
    if not feedstock.bulking_wood:
        share += SLOW_SHARE_AVAILABLE * feedstock.slow_fraction
    return feedstock.carbon_content * share


def _piece_density(feedstock: Feedstock) -> float:
    """Density of a chip as added; by the solids formula where nobody measured it."""
    if feedstock.particle_density is not None:
        return feedstock.particle_density
    return 1.0 / _occupied_volume(1.0, feedstock.dry_matter, feedstock.volatile_solids)


def _occupied_volume(mass: float, dry_matter: float, volatile_solids: float) -> float:
    """Water and solids without pores [m^3]: what is not air in a cubic metre that holds `mass`."""
    return mass * (1.0 - float(free_air_space(1.0, dry_matter, volatile_solids)))


def settled_soft_volume(
    pressed_volume: float, occupied_volume: float, water: float, held_water: float
) -> float:
    """Volume of the limp soft part after some days.

    V = (1 - w) V_pressed + w V_limit, with w rising from 0 to 1 while water / held water goes from
    0.6 to 1.2, and V_limit = (solids + water) / 0.9.

    Wet tissue loses its strength, so the wetter the mix the nearer it comes to the limit that the
    column uses too; a dry mix keeps the volume it has when pressed by hand.

    Parameters
    ----------
    pressed_volume : float
        Limp part pressed by hand, usual range 0.001 to 0.1 [m^3].
    occupied_volume : float
        Solids and water of the limp part, usual range 0.001 to 0.1 [m^3].
    water : float
        Water in all that is not wood, usual range 0 to 100 [kg].
    held_water : float
        Water all that is not wood keeps after draining, usual range 0 to 100 [kg].

    Returns
    -------
    float
        Volume [m^3].

    Notes
    -----
    Ours. Peelings alone end at 950 kg/m3, just above what is printed for food waste (500 to 900).
    Straw, stalks and such are left out: wet or dry they settle to their hand-pressed volume.
    It holds for a layer of a few days; weight from above and decay press it further.

    References
    ----------
    rynk1992

    Examples
    --------
    >>> round(settled_soft_volume(0.004, 0.0027, 1.2, 1.0), 6)
    0.003
    >>> settled_soft_volume(0.004, 0.0027, 0.3, 1.0)
    0.004
    """
    limit = occupied_volume / (1.0 - SLUMPED_AIR_SPACE)
    wetness_unheld = math.inf if water > 0.0 else 0.0
    wetness = water / held_water if held_water > 0.0 else wetness_unheld
    slump = min(1.0, max(0.0, (wetness - SLUMP_STARTS) / (SLUMP_ENDS - SLUMP_STARTS)))
    # what is poured denser than the limit (a liquid, soil) stays as it is
    return min(pressed_volume, (1.0 - slump) * pressed_volume + slump * limit)


def blend(portions: Iterable[Portion], added_water: float = 0.0) -> Blend:
    """Work out what a mix is like.

    Contents are sums of masses, so C:N is mass of carbon over mass of nitrogen, never a mean of
    ratios. Volumes: the soft part fills voids between the bulking wood. Air space: the soft part by
    the solids formula, whose pores flatten or fill once wet; bulking wood by the density of whole
    chips, because air shut in wood feeds nothing and the formula would count it.

    Parameters
    ----------
    portions : iterable of Portion
        At least one.
    added_water : float
        Water added beside them, usual range 0 to 20 [kg].

    Returns
    -------
    Blend
        Sums, ratios, volumes and air space.

    Raises
    ------
    InvalidInput
        If there is no portion or the added water is outside 0 to 10000 kg.

    Notes
    -----
    `settled_free_air_space` is the one to judge by: everything is airy while it is loose.

    References
    ----------
    ginkel1999, rynk1992

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> find = load_library().find
    >>> mix = blend([Portion.from_mass(find("peelings"), 2.0),
    ...              Portion.from_mass(find("shredded paper"), 0.1)])
    >>> round(mix.moisture_content_wet_basis, 3), round(mix.c_to_n, 1)
    (0.812, 24.9)
    """
    items = tuple(portions)
    if not items:
        raise InvalidInput("A mix needs at least one material; add an amount such as '1 caddy'.")
    check_range("Added water", added_water, 0.0, MAX_PORTION_MASS, "kg")

    dry = [p.mass * p.feedstock.dry_matter for p in items]
    mass = math.fsum(p.mass for p in items) + added_water
    dry_mass = math.fsum(dry)
    counted = [(p.feedstock, d) for p, d in zip(items, dry, strict=True)]
    counted = [(f, d) for f, d in counted if f.counts_in_c_to_n]
    carbon = math.fsum(d * f.carbon_content for f, d in counted)
    nitrogen = math.fsum(d * f.nitrogen_content for f, d in counted)
    available = math.fsum(d * available_carbon(f) for f, d in counted)
    organic = math.fsum(d * p.feedstock.volatile_solids for p, d in zip(items, dry, strict=True))
    held = _held_water(list(items))

    soft = [p for p in items if not p.feedstock.bulking_wood]
    wood = [p for p in items if p.feedstock.bulking_wood]
    volume, settled_volume, occupied = _volumes(soft, wood, added_water)
    return Blend(
        portions=items,
        added_water=added_water,
        mass=mass,
        dry_mass=dry_mass,
        moisture_content_wet_basis=(mass - dry_mass) / mass,
        carbon=carbon,
        nitrogen=nitrogen,
        c_to_n=carbon / nitrogen if nitrogen > 0.0 else None,
        available_c_to_n=available / nitrogen if nitrogen > 0.0 else None,
        volatile_solids=organic / dry_mass,
        volume=volume,
        bulk_density=mass / volume,
        free_air_space=max(0.0, 1.0 - occupied / volume),
        settled_volume=settled_volume,
        settled_free_air_space=max(0.0, 1.0 - occupied / settled_volume),
        water_to_spare=held - (mass - dry_mass),
    )


def _pressed(portions: list[Portion]) -> float:
    """Volume pressed by hand, never above the volume it was poured in with [m^3]."""
    return math.fsum(
        min(p.litres / 1000.0, p.mass / p.feedstock.dense_bulk_density) for p in portions
    )


def _occupied(portions: list[Portion]) -> float:
    """Water and solids of several portions without pores [m^3]."""
    return math.fsum(
        _occupied_volume(p.mass, p.feedstock.dry_matter, p.feedstock.volatile_solids)
        for p in portions
    )


def _held_water(portions: list[Portion]) -> float:
    """Water several portions keep after draining [kg]."""
    return math.fsum(
        p.mass * p.feedstock.dry_matter * p.feedstock.water_holding_capacity for p in portions
    )


def _volumes(
    soft: list[Portion], wood: list[Portion], added_water: float
) -> tuple[float, float, float]:
    """Volume as poured, volume settled, and what water, solids and whole chips occupy [m^3]."""
    soft_volume = math.fsum(p.litres for p in soft) / 1000.0
    limp = [p for p in soft if p.feedstock.structure_role != "bulking"]
    springy = [p for p in soft if p.feedstock.structure_role == "bulking"]
    water_volume = added_water / DENSITY_WATER
    soft_water = math.fsum(p.mass * p.feedstock.moisture_content_wet_basis for p in soft)
    held, held_limp = _held_water(soft), _held_water(limp)
    limp_water_volume = water_volume * held_limp / held if held > 0.0 else 0.0
    soft_occupied = _occupied(soft)
    wood_volume = math.fsum(p.litres for p in wood) / 1000.0
    wood_occupied = math.fsum(p.mass / _piece_density(p.feedstock) for p in wood)
    voids = max(0.0, 1.0 - wood_occupied / wood_volume) if wood_volume > 0.0 else 0.0

    def with_wood(fines: float) -> float:
        return float(mixed_volume(fines, wood_volume, voids, FILLING_OF_VOIDS))

    occupied = soft_occupied + water_volume + wood_occupied
    settled = _pressed(springy) + settled_soft_volume(
        _pressed(limp), _occupied(limp) + limp_water_volume, soft_water + added_water, held
    )
    # water wets surfaces and fills pores; it needs room of its own only where there is none
    return max(with_wood(soft_volume), occupied), max(with_wood(settled), occupied), occupied
