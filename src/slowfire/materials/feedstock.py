"""One material as numbers, and a portion of it."""

import math
from dataclasses import dataclass
from typing import Literal

from slowfire.errors import InvalidInput, check_range

Packing = Literal["loose", "dense"]
PACKINGS: tuple[str, ...] = ("loose", "dense")
STRUCTURE_ROLES = ("bulking", "absorbent", "wet", "neutral")

# Fast, slow and resistant shares are printed with two digits, so three of them may miss 1 by this.
FRACTION_SUM_TOLERANCE = 0.011
MAX_PORTION_MASS = 10_000.0  # [kg]
MAX_PORTION_LITRES = 20_000.0  # [L]

_SHARES = (
    "moisture_content_wet_basis",
    "carbon_content",
    "nitrogen_content",
    "volatile_solids",
    "lignin_content",
    "fast_fraction",
    "slow_fraction",
    "resistant_fraction",
    "phosphorus_content",
    "potassium_content",
)


def packing_named(word: str | None) -> Packing | None:
    """Return the packing a word stands for, None for any other.

    Examples
    --------
    >>> packing_named("Loose"), packing_named("heaped"), packing_named(None)
    ('loose', None, None)
    """
    plain = word.strip().casefold() if word else ""
    return "loose" if plain == "loose" else "dense" if plain == "dense" else None


@dataclass(frozen=True)
class Feedstock:
    """One material that can go into the bin, with contents as mass fractions.

    Attributes
    ----------
    id : str
        Short name for files, such as `office_paper_shredded`.
    name : str
        Name for people.
    group : str
        kitchen, garden, paper, animal, mineral, inoculum or own.
    words : tuple of str
        Everyday words for it.
    moisture_content_wet_basis : float
        Water in the mass as added, usual range 0.01 to 0.94 [kg/kg].
    carbon_content : float
        Organic carbon in dry matter, carbonate left out, usual range 0.02 to 0.76 [kg/kg].
    nitrogen_content : float
        Total nitrogen in dry matter, usual range 0.0005 to 0.15 [kg/kg].
    volatile_solids : float
        Share of dry matter that is not ash, usual range 0.05 to 0.997 [kg/kg].
    lignin_content : float
        Lignin in dry matter, usual range 0 to 0.44 [kg/kg].
    fast_fraction : float
        Share of volatile solids that is sugar, starch, protein, fat, pectin [-].
    slow_fraction : float
        Share of volatile solids that is cellulose, hemicellulose, keratin [-].
    resistant_fraction : float
        Share of volatile solids that is lignin, cutin, tannin, char, humus [-].
    bulk_density : float
        Mass as added per volume, tipped in loosely, usual range 20 to 1150 [kg/m^3].
    dense_bulk_density : float
        The same pressed by hand, usual range 40 to 1350 [kg/m^3].
    particle_density : float or None
        One piece as added, with its water and inner pores, 150 to 2100 [kg/m^3]; None if unknown.
    phosphorus_content : float
        Elemental phosphorus in dry matter, usual range 0.0001 to 0.08 [kg/kg].
    potassium_content : float
        Elemental potassium in dry matter, usual range 0.0002 to 0.075 [kg/kg].
    water_holding_capacity : float
        Water kept after draining per dry matter, usual range 0 to 5 [kg/kg].
    structure_role : str
        bulking, absorbent, wet or neutral.
    bulking_wood : bool
        Lasting wood or bark that bears load and can be sieved back.
    particle_size : float
        Typical piece, usual range 0.0005 to 0.2 [m].
    source : str
        Where the figures come from.
    source_kind : str
        found, memory, estimate or own; describes the nitrogen value.
    cautions : str
        What to watch with it.
    counts_in_c_to_n : bool
        False for egg shell, wood ash and biochar, whose carbon feeds nothing.
    packing_matters : bool
        True where loose and dense differ so much that the user must be asked.
    preferred_words : tuple of str
        The words of `words` that mean this material before any other.

    Raises
    ------
    InvalidInput
        If a content is outside its range, or contents contradict one another.
    """

    id: str
    name: str
    group: str
    words: tuple[str, ...]
    moisture_content_wet_basis: float
    carbon_content: float
    nitrogen_content: float
    volatile_solids: float
    lignin_content: float
    fast_fraction: float
    slow_fraction: float
    resistant_fraction: float
    bulk_density: float
    dense_bulk_density: float
    particle_density: float | None
    phosphorus_content: float
    potassium_content: float
    water_holding_capacity: float
    structure_role: str
    bulking_wood: bool
    particle_size: float
    source: str
    source_kind: str
    cautions: str
    counts_in_c_to_n: bool = True
    packing_matters: bool = False
    preferred_words: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for field in _SHARES:
            check_range(self._label(field), getattr(self, field), 0.0, 1.0, "kg/kg")
        check_range(
            self._label("moisture_content_wet_basis"),
            self.moisture_content_wet_basis,
            0.0,
            0.99,
            "kg/kg",
        )
        check_range(self._label("bulk_density"), self.bulk_density, 5.0, 3000.0, "kg/m3")
        check_range(
            self._label("dense_bulk_density"),
            self.dense_bulk_density,
            self.bulk_density,
            3000.0,
            "kg/m3",
        )
        if self.particle_density is not None:
            check_range(
                self._label("particle_density"),
                self.particle_density,
                self.dense_bulk_density,
                5000.0,
                "kg/m3",
            )
        check_range(
            self._label("water_holding_capacity"), self.water_holding_capacity, 0.0, 30.0, "kg/kg"
        )
        check_range(self._label("particle_size"), self.particle_size, 0.0, 1.0, "m")
        self._check_contents()
        if self.structure_role not in STRUCTURE_ROLES:
            raise InvalidInput(
                f"{self._label('structure_role')} is '{self.structure_role}'; "
                f"allowed is one of {', '.join(STRUCTURE_ROLES)}."
            )

    def _label(self, field: str) -> str:
        return f"{field.replace('_', ' ')} of {self.name}"

    def _check_contents(self) -> None:
        total = self.fast_fraction + self.slow_fraction + self.resistant_fraction
        if not abs(total - 1.0) <= FRACTION_SUM_TOLERANCE:
            raise InvalidInput(
                f"The fast, slow and resistant fractions of {self.name} add up to {total:.3f}; "
                f"allowed is 1 within {FRACTION_SUM_TOLERANCE:g}."
            )
        check_range(
            self._label("nitrogen_content"),
            self.nitrogen_content,
            0.0,
            self.carbon_content,
            "kg/kg",
        )
        # all that is not ash contains the carbon; a small excess is rounding of the two columns
        check_range(
            self._label("carbon_content"),
            self.carbon_content,
            0.0,
            self.volatile_solids + 0.005,
            "kg/kg",
        )
        check_range(
            self._label("lignin_content"),
            self.lignin_content,
            0.0,
            self.volatile_solids + 0.005,
            "kg/kg",
        )

    @property
    def dry_matter(self) -> float:
        """Share of the mass as added that is not water [kg/kg]."""
        return 1.0 - self.moisture_content_wet_basis

    @property
    def c_to_n(self) -> float | None:
        """Mass of carbon over mass of nitrogen [-]; None without nitrogen."""
        if self.nitrogen_content <= 0.0:
            return None
        return self.carbon_content / self.nitrogen_content

    def density(self, packing: Packing | None) -> float:
        """Mass as added per volume for a way of filling.

        Parameters
        ----------
        packing : str or None
            'loose' or 'dense'; None counts as loose.

        Returns
        -------
        float
            Bulk density [kg/m^3].
        """
        return self.dense_bulk_density if packing == "dense" else self.bulk_density


@dataclass(frozen=True)
class Portion:
    """An amount of one feedstock as it goes in.

    Attributes
    ----------
    feedstock : Feedstock
        The material.
    mass : float
        Mass as added, above 0 to 10000 [kg].
    litres : float
        Volume as added, above 0 to 20000 [L].
    packing : str or None
        'loose', 'dense', or None where it was not asked.

    Raises
    ------
    InvalidInput
        If the mass, volume or packing is outside its range.
    """

    feedstock: Feedstock
    mass: float
    litres: float
    packing: Packing | None = None

    def __post_init__(self) -> None:
        _check_positive(f"Mass of {self.feedstock.name}", self.mass, MAX_PORTION_MASS, "kg")
        _check_positive(f"Volume of {self.feedstock.name}", self.litres, MAX_PORTION_LITRES, "L")
        if self.packing is not None and self.packing not in PACKINGS:
            raise InvalidInput(
                f"Packing of {self.feedstock.name} is '{self.packing}'; say loose or dense."
            )

    @classmethod
    def from_mass(
        cls, feedstock: Feedstock, mass: float, packing: Packing | None = None
    ) -> "Portion":
        """Portion of a weighed mass, its volume from the density of that packing.

        Parameters
        ----------
        feedstock : Feedstock
            The material.
        mass : float
            Mass as added, above 0 to 10000 [kg].
        packing : str or None
            'loose', 'dense' or None, which counts as loose.

        Returns
        -------
        Portion
            With mass and volume.

        Raises
        ------
        InvalidInput
            If the mass is outside its range.
        """
        return cls(feedstock, mass, 1000.0 * mass / feedstock.density(packing), packing)


def _check_positive(name: str, value: float, high: float, unit: str) -> None:
    if not (math.isfinite(value) and 0.0 < value <= high):
        raise InvalidInput(f"{name} is {value:g} {unit}; allowed is above 0 to {high:g} {unit}.")


def pressed_density(
    bulk_density: float, particle_density: float | None, bulking_wood: bool
) -> float:
    """Density pressed by hand where nobody measured it.

    Loose density times 1.2 for bulking wood, else 2 below 100, 1.6 below 200, 1.4 below 600 and
    1.15 above; never above 0.95 of the density of one piece.

    Parameters
    ----------
    bulk_density : float
        Tipped in loosely, usual range 20 to 1150 [kg/m^3].
    particle_density : float or None
        One piece as added, usual range 150 to 2100 [kg/m^3].
    bulking_wood : bool
        Whether it is lasting wood or bark.

    Returns
    -------
    float
        Bulk density pressed by hand [kg/m^3].

    Notes
    -----
    Ours: the factors are the rounded ratios of pressed to loose in our household measures, and
    within a third of each of them.

    Examples
    --------
    >>> pressed_density(50.0, 250.0, False)
    100.0
    """
    if bulking_wood:
        factor = 1.2
    elif bulk_density < 100.0:
        factor = 2.0
    elif bulk_density < 200.0:
        factor = 1.6
    elif bulk_density < 600.0:
        factor = 1.4
    else:
        factor = 1.15
    pressed = factor * bulk_density
    if particle_density is not None:
        pressed = max(bulk_density, min(pressed, 0.95 * particle_density))
    return pressed
