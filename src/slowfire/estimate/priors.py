"""What an estimate does not know, how widely it may lie, and why.

Every unknown is a number that is normal with mean 0 and spread 1 before anything is read; the
transforms keep what is made of it physical.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import ndtr, ndtri

from slowfire.arrays import FloatArray
from slowfire.biology.kinetics import temperature_factor_haug
from slowfire.column.parameters import Parameters, default_parameters, priors
from slowfire.column.posterior import fitted_draws, fitted_spreads
from slowfire.column.rates import temperature_factor
from slowfire.errors import InvalidInput
from slowfire.estimate.observe import Unknown
from slowfire.vessel import Vessel


@dataclass(frozen=True)
class Reasoned:
    """An unknown and the reason for its spread."""

    unknown: Unknown
    why: str


# Factors on what the keeper describes, and what nobody describes. Ours where no source is named.
BIN_WIDE = (
    Reasoned(
        Unknown("wall_loss", 1.35, 0.9, 2.4, "-"),
        "heat lost through walls over what their sheets say: corners, screws, wet boards",
    ),
    Reasoned(
        Unknown("lid_loss", 1.35, 0.9, 2.4, "-"),
        "as for walls; a lid that does not lie flat loses most",
    ),
    Reasoned(
        Unknown("base_loss", 1.1, 0.6, 2.0, "-"),
        "damp soil or slab below takes more or less heat than dry ground",
    ),
    Reasoned(
        Unknown("joints", 1.5, 0.5, 4.0, "-"),
        "area of gaps at the lid over the usual one of such a lid",
    ),
    Reasoned(
        Unknown("side_gaps", 0.0003, 0.00003, 0.004, "-"),
        "share of the side that lets air in at joints of boards and panels",
    ),
    Reasoned(
        Unknown("opening", 1.0, 0.6, 1.7, "-"),
        "width of the lid vent over what was written: a crack is one to two millimetres",
    ),
    Reasoned(
        Unknown("inlet", 1.0, 0.5, 2.0, "-"),
        "free area at the base over what was described: worms, chips and mud close it",
    ),
    Reasoned(
        Unknown("shelter", 1.0, 0.6, 1.6, "-"),
        "wind at the bin over that of its class of shelter",
    ),
    Reasoned(
        Unknown("sunshine", 1.0, 0.6, 1.6, "-"),
        "sun at the bin over the share described",
    ),
    Reasoned(
        Unknown("ambient_offset", 0.0, -2.0, 2.0, "K"),
        "air at the bin less that of the place: yards are warmer, hollows colder",
    ),
    Reasoned(
        Unknown("rain_entry", 1.0, 0.4, 2.5, "-"),
        "rain that gets in over the share for such a lid",
    ),
    Reasoned(
        Unknown("wet_mass", 1.0, 0.74, 1.35, "-"),
        "what is put in over what is written, lasting: a caddy heaped or half full",
    ),
    Reasoned(
        Unknown("dryness", 1.0, 0.78, 1.28, "-"),
        "dry matter of a kilogram put in over that of the tables, lasting",
    ),
    Reasoned(
        Unknown("warmth", 0.4, 0.05, 0.8, "-"),
        "how far a load is still between the air outside and a kitchen",
    ),
    Reasoned(
        Unknown("law", 0.0, -1.6449, 1.6449, "-"),
        "which temperature law: the handbook's curve takes over as this grows",
    ),
    Reasoned(
        Unknown("cardinals", 0.0, -2.5, 2.5, "K"),
        "best and highest temperatures of all communities, together",
    ),
)

# Constants that readings can move; the rest keep what the fit drew for each member.
KINETIC = (
    "rate_rapid", "rate_slow", "mesophile_weight", "cold_weight", "acclimation_growth",
    "acclimation_food", "acid_production", "acid_burning", "acid_half", "humus_yield",
    "lignin_shield", "particle_diameter", "permeability_cap", "vent_exchange", "clod_radius",
    "slump", "hold_rapid", "hold_slow", "drain_time", "conductivity_factor", "head_exchange",
    "lid_film", "packed_density", "compressibility", "humus_density", "vapour_enhancement",
    "oxygen_half_saturation",
)  # fmt: skip
CARDINALS = (
    "thermophile_optimum", "thermophile_maximum", "mesophile_optimum", "mesophile_maximum",
    "cold_optimum", "cold_maximum",
)  # fmt: skip
LAW_STARTS, LAW_WIDTH = 0.25, 0.5  # about two members in five lean to the handbook's curve
LAW_MOST = 0.85
SAME_RATE_CELSIUS = 45.0  # where both laws break food down alike
PER_LOAD_MASS = 0.25  # standard deviation of the logarithm, load by load [-]
PER_LOAD_DRY = 0.10
PER_DIG = 0.3  # of litres dug out, on the logarithmic scale [-]
LOOSENED = 1.1  # a fork loosens by a quarter, and some measure before they dig [-]
# Layers joined sooner than in a single run: 0.3 K rms, and half the time.
COARSER = {"merge_added": 2.0, "merge_old_added": 8.0, "merge_old_age": 60.0}
MISSING = 0.12  # chance that a load went in unwritten in a gap of the usual length [-]
MISSING_EDGE = 0.3  # how sharply an unwritten load is there or not, in standard deviations [-]


@lru_cache(maxsize=1)
def kinetic_unknowns() -> dict[str, Unknown]:
    """The constants that readings can move, with the spread that the fit left them."""
    known = fitted_spreads()
    found = {}
    for name in KINETIC:
        prior = priors()[name]
        spread = known.get(name)
        low, high = (prior.low, prior.high) if spread is None else (spread.low, spread.high)
        value = prior.value
        found[name] = Unknown(name, value, min(low, value), max(high, value), prior.unit)
    return found


def global_names() -> tuple[str, ...]:
    """Name the unknowns that hold for the whole record, in their order.

    Returns
    -------
    tuple of str
        Those of BIN_WIDE, then the constants that readings can move.

    Notes
    -----
    Ours: which of them readings can move.

    Examples
    --------
    >>> global_names()[0], len(global_names()) == len(BIN_WIDE) + len(KINETIC)
    ('wall_loss', True)
    """
    return (*(one.unknown.name for one in BIN_WIDE), *KINETIC)


def draw_normals(names: tuple[str, ...], members: int, seed: int) -> dict[str, FloatArray]:
    """Draw standard normal numbers, spread evenly over each unknown.

    Parameters
    ----------
    names : tuple of str
        Of the unknowns.
    members : int
        2 or more [-].
    seed : int
        Of the draws [-].

    Returns
    -------
    dict of ndarray, shape (members,)
        By name [-].

    Raises
    ------
    InvalidInput
        If there are fewer than two members.

    Notes
    -----
    A Latin hypercube, so that few members fill the width of each unknown: exact in each by itself.
    Draws follow from seed, count and place in the list, not from the names.

    Examples
    --------
    >>> drawn = draw_normals(("a", "b"), 40, 1)["a"]
    >>> bool(abs(drawn.mean()) < 0.05), bool(abs(drawn.std() - 1.0) < 0.1)
    (True, True)
    """
    if members < 2:
        raise InvalidInput(f"Members is {members}; allowed is 2 or more.")
    if not names:
        return {}
    # a second of import that screens without an estimate need not pay
    from scipy.stats import qmc

    unit = qmc.LatinHypercube(len(names), rng=np.random.default_rng(seed)).random(members)
    drawn = ndtri(np.clip(unit, 1e-6, 1.0 - 1e-6))
    return {name: drawn[:, k].copy() for k, name in enumerate(names)}


@dataclass(frozen=True)
class Setting:
    """The unknowns of one member as numbers of their units.

    Attributes
    ----------
    parameters : Parameters
        Of this member.
    factors : mapping of str to float
        By the name of BIN_WIDE [mixed].
    """

    parameters: Parameters
    factors: Mapping[str, float]

    def vessel(self, described: Vessel) -> Vessel:
        """The bin as this member has it."""
        f = self.factors
        return described._replace(
            wall_resistance=described.wall_resistance / f["wall_loss"],
            lid_resistance=described.lid_resistance / f["lid_loss"],
            base_resistance=described.base_resistance / f["base_loss"],
            lid_leak_area=described.lid_leak_area * f["joints"],
            lid_exchange=described.lid_exchange * f["joints"],
            vent_slot_length=described.vent_slot_length * f["opening"],
            inlet_area=described.inlet_area * f["inlet"],
            side_open=_share(max(described.side_open, f["side_gaps"])),
            rain_share=_share(described.rain_share * f["rain_entry"]),
            wind_share=_share(described.wind_share * f["shelter"]),
            sun_share=_share(described.sun_share * f["sunshine"]),
        )


def _share(value: float) -> float:
    return min(max(value, 0.0), 1.0)


def setting_of(normals: Mapping[str, float], member: int) -> Setting:
    """Turn the numbers of one member into its parameters and factors.

    Parameters
    ----------
    normals : mapping of str to float
        Standard normal before anything is read, by name [-].
    member : int
        Which draw of the fit the other constants come from [-].

    Returns
    -------
    Setting

    Notes
    -----
    Ours. Lognormal where both ends of a range are above 0, otherwise normal by each half's width,
    and clipped to the range a constant may have at all. The handbook's curve comes in as a share
    that grows with `law`; rates rise with it, so that food breaks down as fast at 45 degC.

    Examples
    --------
    >>> round(setting_of({}, 0).factors["wall_loss"], 2)
    1.35
    """
    factors = {
        one.unknown.name: one.unknown.at(normals.get(one.unknown.name, 0.0)) for one in BIN_WIDE
    }
    factors["warmth"] = _share(factors["warmth"])
    drawn = fitted_draws()
    values = drawn[member % len(drawn)]._asdict()
    for name, unknown in kinetic_unknowns().items():
        values[name] = unknown.at(normals.get(name, 0.0))
    middle = default_parameters()
    for name in CARDINALS:
        values[name] = getattr(middle, name) + factors["cardinals"]
    share = LAW_MOST * float(ndtr((factors["law"] - LAW_STARTS) / LAW_WIDTH))
    for name in ("rate_rapid", "rate_slow", "rate_resistant", "rate_wood"):
        values[name] *= _rise(share)
    for name, value in values.items():
        prior = priors()[name]
        wide = 0.5 * (prior.high - prior.low)
        values[name] = min(max(value, _lowest(prior.low, wide)), prior.high + wide)
    values["haug_weight"] = share
    values |= COARSER
    return Setting(Parameters(**values), factors)


def _rise(share: float) -> float:
    """Factor on rates at which a share of the handbook's curve leaves that at 45 degC as it was."""
    own, theirs = _both_laws()
    return own / (own + share * (theirs - own))


@lru_cache(maxsize=1)
def _both_laws() -> tuple[float, float]:
    """The model's own factor and the handbook's where both break food down alike."""
    own = float(temperature_factor(SAME_RATE_CELSIUS, default_parameters()))
    return own, float(temperature_factor_haug(SAME_RATE_CELSIUS))


def _lowest(low: float, wide: float) -> float:
    return low - wide if low < 0.0 else max(low - wide, 0.5 * low)


def load_mass(normal: float) -> float:
    """Turn the number of a member into its factor on the mass of one load.

    ::

        f = exp(s z)

    with z the number and s = PER_LOAD_MASS [-].

    Parameters
    ----------
    normal : float
        Standard normal before anything is read [-].

    Returns
    -------
    float
        What went in over what was written, beside what lasts [-].

    Notes
    -----
    Ours: litres are guessed and a caddy is heaped or not.

    Examples
    --------
    >>> load_mass(0.0)
    1.0
    """
    return float(np.exp(PER_LOAD_MASS * normal))


def load_dry(normal: float) -> float:
    """Turn the number of a member into its factor on the dry matter of one load.

    ::

        f = exp(s z)

    with z the number and s = PER_LOAD_DRY [-].

    Parameters
    ----------
    normal : float
        Standard normal before anything is read [-].

    Returns
    -------
    float
        Dry matter in a kilogram over that of the tables, beside what lasts [-].

    Notes
    -----
    Ours: melon one day, bread the next.

    Examples
    --------
    >>> load_dry(0.0)
    1.0
    """
    return float(np.exp(PER_LOAD_DRY * normal))


def dug_amount(normal: float) -> float:
    """Turn the number of a member into its factor on what was dug out.

    ::

        f = exp(s z) / a

    with z the number, s = PER_DIG and a = LOOSENED how much looser it lies once dug [-].

    Parameters
    ----------
    normal : float
        Standard normal before anything is read [-].

    Returns
    -------
    float
        Litres as they lay over what was written [-].

    Notes
    -----
    Ours: barrows and buckets are guessed, and a fork loosens what it lifts.

    Examples
    --------
    >>> round(dug_amount(0.0), 2)
    0.91
    """
    return float(np.exp(PER_DIG * normal) / LOOSENED)


def unwritten_share(normal: float, chance: float) -> float:
    """How much of a usual load went in unwritten: mostly nothing or all [-].

    ::

        s = Phi[(z - Phi^-1(1 - p) (1 + w^2)^(1/2)) / w]

    with z the number of the member, p the chance and w a narrow edge, which lets an ensemble move
    from one to the other.

    Parameters
    ----------
    normal : float
        Standard normal before anything is read [-].
    chance : float
        That one went in, 0.01 to 0.99 [-].

    Returns
    -------
    float
        Share of a usual load, 0 to 1 [-].

    Notes
    -----
    Ours. The mean over the prior is p, exact for a standard normal number.

    Examples
    --------
    >>> round(unwritten_share(-2.0, 0.1), 3), round(unwritten_share(3.0, 0.1), 3)
    (0.0, 1.0)
    """
    edge = float(ndtri(1.0 - min(max(chance, 0.01), 0.99)))
    # the soft edge would let the mean stray from the chance
    edge *= float(np.sqrt(1.0 + MISSING_EDGE**2))
    return float(ndtr((normal - edge) / MISSING_EDGE))
