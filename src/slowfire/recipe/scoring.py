"""How well mixes would do, many at once: settled air, water, C:N, over the spread of materials."""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray, FloatOrArray
from slowfire.constants import DENSITY_WATER
from slowfire.errors import InvalidInput, UnknownName
from slowfire.materials.feedstock import Feedstock, Portion
from slowfire.materials.spreads import Spread
from slowfire.physics.packing import mixed_volume, solids_specific_volume
from slowfire.recipe.mixture import (
    FILLING_OF_VOIDS,
    SLUMP_ENDS,
    SLUMP_STARTS,
    SLUMPED_AIR_SPACE,
)

# Soft limits. Air space and water after rynk1992 widened to what well-run bins of kitchen waste
# show (60 to 75 % water, C:N in the teens to thirties); the weights are ours.
AIR_WANTED = 0.35  # settled free air space [-]
AIR_SCALE = 0.10
WET_MILD = 0.70  # from here water costs a little [kg/kg]
WET_HARD = 0.75  # and from here it costs in earnest [kg/kg]
WET_SCALE = 0.05
MILD_WEIGHT = 0.1
HARD_WEIGHT = 0.3
DRY_LIMIT = 0.55  # [kg/kg]
DRY_SCALE = 0.10
DRIP_WEIGHT = 0.1
DRIP_SCALE = 0.1
MOST_DRIP = 2.0  # beyond this more dripping is no worse
LOWEST_RATIO = 15.0
HIGHEST_RATIO = 40.0
RATIO_WEIGHT = 0.25
WORST_SHARE = 0.10  # of the score that is the worst corner, the rest is the mean
# Printed ranges span single samples; a mixed caddy lies nearer the middle. Our rule.
SHARE_OF_SPREAD = 0.5
# Weights of low, middle and high in the mean, those of a three-point rule for a bell curve.
_LEVEL_WEIGHTS = {-1: 1.0 / 6.0, 0: 2.0 / 3.0, 1: 1.0 / 6.0}
LEVELS = tuple(itertools.product((-1, 0, 1), repeat=3))
MIDDLE = LEVELS.index((0, 0, 0))

SpreadOf = Callable[[Feedstock, str], Spread]


def is_dry_stuff(feedstock: Feedstock) -> bool:
    """Whether a material is dry stuff: what soaks up water or holds a mix open.

    At most 60 % water, not from the kitchen, and either bulking or absorbent with C:N from 20, or
    neutral with C:N from 30.

    Parameters
    ----------
    feedstock : Feedstock
        The material.

    Returns
    -------
    bool
        True for paper, card, chips, leaves, straw, sawdust and such.

    Notes
    -----
    Ours. Coffee, bread and egg shells count as kitchen waste, ash as neither.

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> [is_dry_stuff(load_library().find(w)) for w in ("paper", "leaves", "coffee", "grass")]
    [True, True, False, False]
    """
    if feedstock.group in ("kitchen", "mineral") or feedstock.moisture_content_wet_basis > 0.6:
        return False
    lowest = 20.0 if feedstock.structure_role in ("bulking", "absorbent") else 30.0
    ratio = feedstock.c_to_n
    return feedstock.structure_role != "wet" and (ratio is None or ratio >= lowest)


@dataclass(frozen=True)
class Ingredient:
    """A material as it is measured out, for many amounts at once.

    Attributes
    ----------
    feedstock : Feedstock
        The material.
    kilograms_per_litre : float
        Mass as added per litre as added, usual range 0.02 to 1.2 [kg/L].
    weighed : bool
        True if the mass was weighed, so that no spread of density applies to it.
    packing : str or None
        'loose', 'dense' or None.
    """

    feedstock: Feedstock
    kilograms_per_litre: float
    weighed: bool = False
    packing: str | None = None

    @classmethod
    def of(cls, portion: Portion, weighed: bool = False) -> "Ingredient":
        """The ingredient a portion is an amount of.

        Parameters
        ----------
        portion : Portion
            An amount.
        weighed : bool
            Whether its mass was weighed.

        Returns
        -------
        Ingredient
            With the density of that portion.
        """
        return cls(portion.feedstock, portion.mass / portion.litres, weighed, portion.packing)


@dataclass(frozen=True)
class MixArrays:
    """What many mixes are like, at every corner of the materials' spread.

    Attributes
    ----------
    moisture_content_wet_basis : ndarray, shape (corners, mixes)
        Water in the wet mass [kg/kg].
    c_to_n : ndarray, shape (corners, mixes)
        Mass of carbon over mass of nitrogen; infinite without nitrogen [-].
    settled_free_air_space : ndarray, shape (corners, mixes)
        Air in the settled volume [m^3/m^3].
    wetness : ndarray, shape (corners, mixes)
        Water by what the solids can hold; above 1 it drips [kg/kg].
    """

    moisture_content_wet_basis: FloatArray
    c_to_n: FloatArray
    settled_free_air_space: FloatArray
    wetness: FloatArray


def corner_weights() -> FloatArray:
    """Weights of the corners in a mean, in the order of `LEVELS`.

    Returns
    -------
    ndarray, shape (corners,)
        They add up to 1 [-].

    Notes
    -----
    Ours: 1/6, 2/3, 1/6 for low, middle, high of each of water, nitrogen and density.

    Examples
    --------
    >>> round(float(corner_weights().sum()), 12)
    1.0
    """
    return np.array([np.prod([_LEVEL_WEIGHTS[level] for level in levels]) for levels in LEVELS])


def _at_levels(
    ingredient: Ingredient, quantity: str, spread_of: SpreadOf
) -> tuple[float, float, float]:
    """Low, middle and high of a quantity, drawn in to the share of the spread that counts."""
    middle = float(getattr(ingredient.feedstock, quantity))
    try:
        spread = spread_of(ingredient.feedstock, quantity)
    except (InvalidInput, UnknownName):
        return middle, middle, middle
    low = middle - SHARE_OF_SPREAD * max(0.0, middle - spread.low)
    high = middle + SHARE_OF_SPREAD * max(0.0, spread.high - middle)
    return low, middle, high


def _density_factors(ingredient: Ingredient, spread_of: SpreadOf) -> tuple[float, float, float]:
    """Mass by that of the table at a light, middle and heavy filling; 1 for what was weighed."""
    if ingredient.weighed:
        return 1.0, 1.0, 1.0
    low, middle, high = _at_levels(ingredient, "bulk_density", spread_of)
    if ingredient.packing is not None and ingredient.feedstock.packing_matters:
        # loose or dense was said, which leaves about half of what a range over both would allow
        low, high = (low * middle) ** 0.5, (high * middle) ** 0.5
    factors = low / middle, 1.0, high / middle
    # heavy food with fluffy paper is what goes wrong, so dry stuff runs the other way
    return factors[::-1] if is_dry_stuff(ingredient.feedstock) else factors


@dataclass(frozen=True)
class MixTable:
    """What each litre of each ingredient brings, at every corner; mixes are then sums.

    Attributes
    ----------
    ingredients : tuple of Ingredient
        Columns, in this order.
    spread_of : Callable
        Low and high of a quantity of a feedstock.
    """

    ingredients: tuple[Ingredient, ...]
    spread_of: SpreadOf

    def evaluate(
        self, litres: FloatArray, added_water: float = 0.0, corners: bool = True
    ) -> MixArrays:
        """Work out many mixes, by the rules of `mixture.blend`.

        Parameters
        ----------
        litres : ndarray, shape (mixes, ingredients)
            Volume of each as added, usual range 0 to 100 [L].
        added_water : float
            Water in every mix beside them, usual range 0 to 20 [kg].
        corners : bool
            False for the middle of the spread alone.

        Returns
        -------
        MixArrays
            At every corner, or at the middle.
        """
        levels = LEVELS if corners else ((0, 0, 0),)
        amounts = litres.T
        per = _PerLitre(self.ingredients, levels, self.spread_of)

        def total(values: FloatArray, where: FloatArray | None = None) -> FloatArray:
            chosen = values if where is None else values * where
            result: FloatArray = chosen @ amounts
            return result

        mass = total(per.mass) + added_water
        dry = total(per.dry)
        carbon = total(per.carbon)
        nitrogen = total(per.nitrogen)
        water_volume = added_water / DENSITY_WATER
        soft = 1.0 - per.wood
        limp = soft * (1.0 - per.springy)
        soft_water = total(per.mass - per.dry, soft) + added_water
        held, held_limp = total(per.held, soft), total(per.held, limp)
        with np.errstate(divide="ignore", invalid="ignore"):
            limp_water = np.where(held > 0.0, water_volume * held_limp / held, 0.0)
            wetness = np.where(
                held > 0.0, soft_water / held, np.where(soft_water > 0.0, np.inf, 0.0)
            )
            ratio = np.where(nitrogen > 0.0, carbon / nitrogen, np.inf)
        slump = np.clip((wetness - SLUMP_STARTS) / (SLUMP_ENDS - SLUMP_STARTS), 0.0, 1.0)
        pressed = total(per.pressed, limp)
        limit = (total(per.occupied, limp) + limp_water) / (1.0 - SLUMPED_AIR_SPACE)
        limp_volume = np.minimum(pressed, (1.0 - slump) * pressed + slump * limit)
        settled_soft = total(per.pressed, soft * per.springy) + limp_volume
        wood_volume = total(per.litre, per.wood)
        wood_occupied = total(per.chips, per.wood)
        with np.errstate(divide="ignore", invalid="ignore"):
            voids = np.where(
                wood_volume > 0.0, np.maximum(0.0, 1.0 - wood_occupied / wood_volume), 0.0
            )
        occupied = total(per.occupied, soft) + water_volume + wood_occupied
        settled = np.maximum(
            mixed_volume(settled_soft, wood_volume, voids, FILLING_OF_VOIDS), occupied
        )
        return MixArrays(
            (mass - dry) / mass,
            ratio,
            np.maximum(0.0, 1.0 - occupied / settled),
            (mass - dry) / np.maximum(total(per.held), 1e-9),
        )


class _PerLitre:
    """What a litre of each ingredient brings, shape (corners, ingredients); volumes in m^3."""

    def __init__(
        self,
        ingredients: Sequence[Ingredient],
        levels: Sequence[tuple[int, ...]],
        spread_of: SpreadOf,
    ) -> None:
        stuff = [one.feedstock for one in ingredients]

        def column(values: Sequence[float]) -> FloatArray:
            return np.asarray(values, dtype=float)[np.newaxis, :]

        def at(triples: Sequence[tuple[float, float, float]], which: int) -> FloatArray:
            return np.array([[t[level[which] + 1] for t in triples] for level in levels])

        moisture = at(
            [_at_levels(i, "moisture_content_wet_basis", spread_of) for i in ingredients], 0
        )
        nitrogen = at([_at_levels(i, "nitrogen_content", spread_of) for i in ingredients], 1)
        factor = at([_density_factors(i, spread_of) for i in ingredients], 2)
        counted = column([1.0 if f.counts_in_c_to_n else 0.0 for f in stuff])
        solids = column([float(solids_specific_volume(f.volatile_solids)) for f in stuff])
        self.mass = column([i.kilograms_per_litre for i in ingredients]) * factor
        self.dry = self.mass * (1.0 - moisture)
        self.carbon = self.dry * counted * column([f.carbon_content for f in stuff])
        self.nitrogen = self.dry * counted * nitrogen
        self.held = self.dry * column([f.water_holding_capacity for f in stuff])
        self.occupied = (self.mass - self.dry) / DENSITY_WATER + self.dry * solids
        self.litre = np.full_like(self.mass, 0.001)
        dense = column([f.dense_bulk_density for f in stuff])
        self.pressed = np.minimum(0.001, self.mass / dense)
        self.wood = column([1.0 if f.bulking_wood else 0.0 for f in stuff])
        self.springy = column([1.0 if f.structure_role == "bulking" else 0.0 for f in stuff])
        known = column([f.particle_density or 0.0 for f in stuff])
        self.chips = np.where(known > 0.0, self.mass / np.maximum(known, 1.0), self.occupied)


def air_penalty(free_air_space: FloatOrArray) -> FloatOrArray:
    """Cost of too little air in the settled mix.

    p = 0.5 ((0.35 - a) / 0.10)^2 below 0.35

    Parameters
    ----------
    free_air_space : float or ndarray, shape (corners, mixes)
        Air in the settled volume [m^3/m^3].

    Returns
    -------
    float or ndarray, shape (corners, mixes)
        0 where there is enough [-].

    Notes
    -----
    Ours: 35 % is what books ask for, 30 % costs an eighth.

    References
    ----------
    rynk1992

    Examples
    --------
    >>> round(float(air_penalty(0.25)), 2)
    0.5
    """
    cost: FloatOrArray = 0.5 * (np.maximum(0.0, AIR_WANTED - free_air_space) / AIR_SCALE) ** 2
    return cost


def water_penalty(moisture_content_wet_basis: FloatOrArray) -> FloatOrArray:
    """Cost of a mix that is too wet or too dry.

    Nothing from 55 to 70 % water, a little up to 75 %, then with the square of the excess.

    Parameters
    ----------
    moisture_content_wet_basis : float or ndarray, shape (corners, mixes)
        Water in the wet mass [kg/kg].

    Returns
    -------
    float or ndarray, shape (corners, mixes)
        0 where it is right [-].

    Notes
    -----
    Ours: well-run bins of kitchen waste sit at 60 to 75 %.

    Examples
    --------
    >>> [round(float(water_penalty(m)), 2) for m in (0.45, 0.6, 0.75, 0.85)]
    [0.5, 0.0, 0.1, 1.5]
    """
    moisture = moisture_content_wet_basis
    mild = MILD_WEIGHT * np.maximum(0.0, moisture - WET_MILD) / (WET_HARD - WET_MILD)
    hard = HARD_WEIGHT * (np.maximum(0.0, moisture - WET_HARD) / WET_SCALE) ** 2
    dry = 0.5 * (np.maximum(0.0, DRY_LIMIT - moisture) / DRY_SCALE) ** 2
    cost: FloatOrArray = mild + hard + dry
    return cost


def ratio_penalty(c_to_n: FloatOrArray) -> FloatOrArray:
    """Cost of a C:N outside 15 to 40.

    p = 0.25 (ln(15/r) / ln 1.5)^2 below, the same with r/40 above, at most 1.

    Parameters
    ----------
    c_to_n : float or ndarray, shape (corners, mixes)
        Mass of carbon over mass of nitrogen [-].

    Returns
    -------
    float or ndarray, shape (corners, mixes)
        0 inside 15 to 40 [-].

    Notes
    -----
    Ours, and mild: carbon in chips and bark ties up little nitrogen.

    Examples
    --------
    >>> [round(float(ratio_penalty(r)), 2) for r in (10.0, 30.0, 60.0)]
    [0.25, 0.0, 0.25]
    """
    safe = np.clip(c_to_n, 1.0, 1e6)
    low = np.maximum(0.0, np.log(LOWEST_RATIO / safe))
    high = np.maximum(0.0, np.log(safe / HIGHEST_RATIO))
    cost: FloatOrArray = np.minimum(1.0, RATIO_WEIGHT * ((low + high) / np.log(1.5)) ** 2)
    return cost


def drip_penalty(wetness: FloatOrArray) -> FloatOrArray:
    """Cost of more water than the solids can hold.

    p = 0.1 ((w - 1) / 0.1)^2 above 1, at most 2

    Parameters
    ----------
    wetness : float or ndarray, shape (corners, mixes)
        Water by what the solids can hold [kg/kg].

    Returns
    -------
    float or ndarray, shape (corners, mixes)
        0 where nothing drips [-].

    Notes
    -----
    Ours: chips hold a mix open and soak up little, so water alone does not tell.

    Examples
    --------
    >>> [round(float(drip_penalty(w)), 2) for w in (0.9, 1.1, 1.2)]
    [0.0, 0.1, 0.4]
    """
    excess = np.maximum(0.0, wetness - 1.0) / DRIP_SCALE
    cost: FloatOrArray = np.minimum(MOST_DRIP, DRIP_WEIGHT * excess**2)
    return cost


def robust_penalty(mixes: MixArrays) -> FloatArray:
    """Cost of each mix over the corners: mostly the mean, partly the worst.

    p = 0.9 mean + 0.1 worst

    Parameters
    ----------
    mixes : MixArrays
        At every corner.

    Returns
    -------
    ndarray, shape (mixes,)
        Cost [-].

    Notes
    -----
    Ours.

    Examples
    --------
    >>> import numpy as np
    >>> right = np.full((27, 1), 0.6)
    >>> float(robust_penalty(MixArrays(right, 50.0 * right, right, right))[0])
    0.0
    """
    cost = np.asarray(
        air_penalty(mixes.settled_free_air_space)
        + water_penalty(mixes.moisture_content_wet_basis)
        + ratio_penalty(mixes.c_to_n)
        + drip_penalty(mixes.wetness)
    )
    mean = corner_weights() @ cost
    result: FloatArray = (1.0 - WORST_SHARE) * mean + WORST_SHARE * cost.max(axis=0)
    return result
