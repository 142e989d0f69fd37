"""What a load brings to the column: portions of material turned into pools, nitrogen, water."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.biology.stoichiometry import Oxidation, oxidation
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ACCLIMATION,
    ACIDS,
    ADDED_SOFT,
    ADDED_WOOD,
    ASH,
    LOOSE_SOFT,
    LOOSE_WOOD,
    N_AMMONIACAL,
    N_NITRATE,
    N_RAPID,
    N_STATE,
    N_WOOD,
    PHOSPHORUS,
    POTASSIUM,
    RAPID,
    RESISTANT,
    TEMPERATURE,
    WATER,
    WOOD,
)
from slowfire.errors import InvalidInput, check_range
from slowfire.materials.feedstock import Feedstock, Portion

# Formulas without their nitrogen, which is followed by itself and leaves as ammonia (haug1993):
# food waste C16H27O8N, cellulose, lignin with humus, and wood C295H420O186N.
POOL_FORMULAS = ("C16H24O8", "C6H10O5", "C10H12O4", "C295H417O186")
# How strongly each pool is favoured when a material's nitrogen is shared out: protein is rapid.
NITROGEN_WEIGHT = (1.0, 0.3, 0.3)
WOOD_CARRIES = 0.3  # community on chips that come out of a heap, by that in its crumb
MOST_NITROGEN = 0.16  # of a pool's mass, as in protein
INDOORS = 20.0  # where waste waits before it is carried out [degC]
COLDEST_LOAD = 2.0  # what is carried out is seldom frozen [degC]
LEAST_WATER = 0.05  # of its wet mass, in a load taken to be drier than the tables say [kg/kg]
# What grows with the dry matter of a load.
DRY_BOUND = (
    *range(RAPID, ASH + 1),
    *range(N_RAPID, N_WOOD + 1),
    N_AMMONIACAL,
    N_NITRATE,
    PHOSPHORUS,
    POTASSIUM,
    ACIDS,
    ADDED_SOFT,
    ADDED_WOOD,
)


@lru_cache(maxsize=1)
def _pools() -> tuple[Oxidation, ...]:
    return tuple(oxidation(formula) for formula in POOL_FORMULAS)


def pool_oxidation() -> tuple[Oxidation, ...]:
    """Oxidation of rapid, slow, resistant and wood matter, nitrogen apart.

    Returns
    -------
    tuple of Oxidation
        One for each pool.

    Notes
    -----
    Holds for burning to the end: no methane, no organic acids left. The formula of lignin stands
    for humus too.

    Examples
    --------
    >>> rapid, slow, resistant, wood = pool_oxidation()
    >>> round(slow.oxygen, 3)
    1.184

    References
    ----------
    haug1993
    """
    return _pools()


def pool_yields() -> FloatArray:
    """Oxygen used, carbon dioxide and water made by each pool.

    Returns
    -------
    ndarray, shape (3, 4)
        Rows oxygen, carbon dioxide, water; columns rapid, slow, resistant, wood [kg/kg].

    Notes
    -----
    The same as `pool_oxidation`, as an array for the compiled kernel. Each column closes: a
    kilogram and its oxygen weigh as much as the carbon dioxide and the water.

    Examples
    --------
    >>> oxygen, carbon_dioxide, water = pool_yields()
    >>> bool(abs(1.0 + oxygen - carbon_dioxide - water).max() < 1e-9)
    True

    References
    ----------
    haug1993
    """
    pools = pool_oxidation()
    return np.array(
        [
            [o.oxygen for o in pools],
            [o.carbon_dioxide for o in pools],
            [o.water for o in pools],
        ]
    )


def _share_nitrogen(nitrogen: float, masses: FloatArray) -> FloatArray:
    """Nitrogen of the three soft pools; none holds more than protein does, if that is possible."""
    room = MOST_NITROGEN * masses
    if nitrogen >= room.sum():
        return masses * nitrogen / masses.sum() if masses.sum() > 0.0 else masses
    weights = masses * np.array(NITROGEN_WEIGHT)
    shared = np.zeros(3)
    left = nitrogen
    for _ in range(3):
        open_pools = room - shared > 1e-15
        total = (weights * open_pools).sum()
        if left <= 0.0 or total <= 0.0:
            break
        gift = np.minimum(left * weights * open_pools / total, room - shared)
        shared += gift
        left -= float(gift.sum())
    return shared


def _start(feedstock: Feedstock, parameters: Parameters, days_in_caddy: float) -> float:
    fresh = {
        "garden": parameters.acclimation_garden,
        "animal": parameters.acclimation_manure,
        "inoculum": parameters.acclimation_old,
    }.get(feedstock.group, parameters.acclimation_food)
    if feedstock.group != "kitchen":
        return fresh
    # indoors it teems within days: a logistic
    rise = float(np.exp(parameters.caddy_growth * min(days_in_caddy, 10.0)))
    return fresh * rise / (1.0 + fresh * (rise - 1.0))


def open_shares(feedstock: Feedstock, lignin_shield: float) -> tuple[float, float, float]:
    """Shares of rapid, slow and resistant matter that microbes find.

    ::

        r = f exp(-(c L)^2),   s = slow + f - r

    with f the fast fraction, L the lignin in volatile solids and c the shield [-].

    Parameters
    ----------
    feedstock : Feedstock
        A soft material.
    lignin_shield : float
        How strongly lignin hides sugar and protein [-], 0 to 16; 8 hides two thirds at 13 % lignin.

    Returns
    -------
    tuple of float
        Rapid, slow, resistant [-]; they add up to what the feedstock's fractions do.

    Notes
    -----
    Sugars and proteins in lignified cell walls and with tannins rot no faster than cellulose.
    Litter models let lignin slow decay by an exponential; the square is ours, since a few per cent
    of it, as in grass and peelings, shut nothing in.

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> leaves = load_library().find("leaves_mixed_autumn")
    >>> [round(share, 2) for share in open_shares(leaves, 5.0)]
    [0.1, 0.67, 0.23]

    References
    ----------
    parton1987
    """
    lignin = feedstock.lignin_content / max(feedstock.volatile_solids, 1e-9)
    rapid = feedstock.fast_fraction * float(np.exp(-((lignin_shield * lignin) ** 2)))
    slow = feedstock.slow_fraction + feedstock.fast_fraction - rapid
    return rapid, slow, feedstock.resistant_fraction


def load_contents(
    portions: Sequence[Portion],
    parameters: Parameters,
    temperature_celsius: float,
    days_in_caddy: float = 2.0,
) -> FloatArray:
    """Turn portions of material into the state row of a new layer.

    Parameters
    ----------
    portions : sequence of Portion
        Materials with their wet mass and volume, at least one.
    parameters : Parameters
        The parameter set; starts of acclimation and acids come from it.
    temperature_celsius : float
        Temperature of the load, -30 to 90 [degC].
    days_in_caddy : float
        Age of kitchen waste when added, 0-60 [day], usually 1 to 4.

    Returns
    -------
    ndarray, shape (N_STATE,)
        Masses and properties [mixed], in the order and the units of `column.positions`.

    Raises
    ------
    InvalidInput
        If there are no portions or a value is outside its range.

    Notes
    -----
    Masses add up exactly. Our own rules, no source: nitrogen goes to the rapid pool three times as
    readily as to the others and no pool holds more than protein does; a fifth of the nitrogen of
    manure, a hundredth of that of other soft stuff, is ammoniacal; only kitchen waste comes with
    acids, which gather for ten days.

    Examples
    --------
    >>> from slowfire.column.parameters import default_parameters
    >>> from slowfire.materials.library import load_library
    >>> peelings = Portion.from_mass(load_library().find("peelings"), 2.0)
    >>> row = load_contents([peelings], default_parameters(), 12.0)
    >>> [round(float(row[place]), 3) for place in (WATER, TEMPERATURE, WOOD)]
    [1.7, 12.0, 0.0]
    """
    if not portions:
        raise InvalidInput("A load needs at least one material.")
    check_range("Temperature of the load", temperature_celsius, -30.0, 90.0, "C")
    check_range("Days in the caddy", days_in_caddy, 0.0, 60.0, "days")
    row = np.zeros(N_STATE)
    acclimation = 0.0
    weight = 0.0
    for portion in portions:
        stuff = portion.feedstock
        dry = portion.mass * (1.0 - stuff.moisture_content_wet_basis)
        organic = dry * stuff.volatile_solids
        nitrogen = dry * stuff.nitrogen_content
        row[WATER] += portion.mass - dry
        row[ASH] += dry - organic
        row[PHOSPHORUS] += dry * stuff.phosphorus_content
        row[POTASSIUM] += dry * stuff.potassium_content
        volume = portion.litres / 1000.0
        if stuff.bulking_wood:
            row[WOOD] += organic
            row[N_WOOD] += min(nitrogen, MOST_NITROGEN * organic)
            row[ADDED_WOOD] += organic
            row[LOOSE_WOOD] += volume
            row[ADDED_SOFT] += dry - organic
            if stuff.group == "inoculum":
                acclimation += WOOD_CARRIES * organic * parameters.acclimation_old
                weight += WOOD_CARRIES * organic
        else:
            shares = np.array(open_shares(stuff, parameters.lignin_shield))
            masses = organic * shares / shares.sum() if shares.sum() > 0.0 else organic * shares
            mineral = 0.2 if stuff.group == "animal" else 0.01
            row[RAPID : RESISTANT + 1] += masses
            bound = _share_nitrogen(nitrogen * (1.0 - mineral), masses)
            row[N_RAPID : N_RAPID + 3] += bound
            row[N_AMMONIACAL] += nitrogen * mineral
            row[ADDED_SOFT] += dry
            row[LOOSE_SOFT] += volume
            if stuff.group == "kitchen":
                sour = parameters.acid_fresh + parameters.acid_per_day * min(days_in_caddy, 10.0)
                row[ACIDS] += masses[0] * sour
            acclimation += organic * _start(stuff, parameters, days_in_caddy)
            weight += organic
    row[ACCLIMATION] = acclimation / weight if weight > 0.0 else parameters.acclimation_food
    row[TEMPERATURE] = temperature_celsius
    return row


@dataclass(frozen=True)
class Load:
    """What goes in at the top at one time, as its keeper wrote it.

    Attributes
    ----------
    portions : tuple of Portion
        Materials with their wet mass and volume.
    known_mass : float
        Of what has a temperature of its own [kg].
    known_celsius : float
        Mean temperature of that [degC].
    extra_water : float
        Rain or rinsing water in it, below 0 in stuff gone dry [kg].
    days_in_caddy : float
        Age of kitchen waste when added [day].
    """

    portions: tuple[Portion, ...]
    known_mass: float = 0.0
    known_celsius: float = 0.0
    extra_water: float = 0.0
    days_in_caddy: float = 2.0

    @property
    def mass(self) -> float:
        """Wet mass as written [kg]."""
        return sum(one.mass for one in self.portions)

    def row(
        self,
        parameters: Parameters,
        air_celsius: float,
        mass_factor: float = 1.0,
        dry_factor: float = 1.0,
        warmth: float = 0.0,
    ) -> FloatArray:
        """State row of the new layer.

        Parameters
        ----------
        parameters : Parameters
            The parameter set.
        air_celsius : float
            Air outside [degC].
        mass_factor : float
            What was truly put in over what was written [-], above 0.
        dry_factor : float
            Dry matter in a kilogram of it over what the tables say [-], above 0.
        warmth : float
            How far it has stayed between the air outside, 0, and a kitchen, 1 [-].

        Returns
        -------
        ndarray, shape (N_STATE,)
            In the order and the units of `column.positions` [mixed].
        """
        outside = max(air_celsius, COLDEST_LOAD)
        carried = outside + warmth * max(INDOORS - outside, 0.0)
        total = self.mass
        mean = (self.known_mass * self.known_celsius + (total - self.known_mass) * carried) / total
        portions = self.portions
        if mass_factor != 1.0:
            portions = tuple(
                replace(one, mass=mass_factor * one.mass, litres=mass_factor * one.litres)
                for one in portions
            )
        row = load_contents(portions, parameters, mean, self.days_in_caddy)
        row[WATER] = max(row[WATER] + mass_factor * self.extra_water, 0.0)
        if dry_factor != 1.0:
            dry = float(row[RAPID : ASH + 1].sum())
            wet = dry + float(row[WATER])
            # chips and paper hardly vary: what is dry already can't get much drier
            factor = min(dry_factor, (1.0 - LEAST_WATER) * wet / dry)
            for place in DRY_BOUND:
                row[place] *= factor
            row[WATER] = wet - factor * dry
        return row


def layer_carbon(row: FloatArray) -> float:
    """Carbon held by a layer from the formulas of its pools.

    ::

        C = sum(c_j (m_j - 17.031 / 14.007 N_j))

    with m_j the mass of a pool and N_j its nitrogen [kg], which counts as ammonia, and c_j the
    carbon in a kilogram of the pool without nitrogen [kg/kg].

    Parameters
    ----------
    row : ndarray, shape (N_STATE,)
        State of a layer [mixed], in the order and the units of `column.positions`.

    Returns
    -------
    float
        Carbon [kg].

    Notes
    -----
    Holds for organic carbon; that of ash, such as in egg shell, is left out. It follows from the
    pools, so it can differ from the carbon content measured on the feedstock.

    Examples
    --------
    >>> row = np.zeros(N_STATE)
    >>> row[RAPID] = 1.0
    >>> round(layer_carbon(row), 3)
    0.558

    References
    ----------
    haug1993
    """
    per_nitrogen = 17.031 / 14.007
    return float(
        sum(
            pool.carbon * (row[RAPID + k] - per_nitrogen * row[N_RAPID + k])
            for k, pool in enumerate(pool_oxidation())
        )
    )
