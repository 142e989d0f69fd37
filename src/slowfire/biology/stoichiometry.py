"""Complete oxidation of organic matter from its elemental formula."""

import re
from dataclasses import dataclass

from slowfire.errors import InvalidInput

ATOMIC_MASS = {"C": 12.011, "H": 1.008, "O": 15.999, "N": 14.007}  # [g/mol]
_TERM = re.compile(r"([A-Z])(\d*)")


@dataclass(frozen=True)
class Oxidation:
    """What one kilogram of material takes up and gives off when it is fully oxidised.

    Attributes
    ----------
    oxygen, carbon_dioxide, water, ammonia : float
        Masses for each kilogram of material [kg/kg].
    heat : float
        Heat for each kilogram of material [J/kg].
    carbon : float
        Carbon in the material by mass [kg/kg].
    respiratory_quotient : float
        Moles of carbon dioxide for each mole of oxygen [-].
    """

    oxygen: float
    carbon_dioxide: float
    water: float
    ammonia: float
    heat: float
    carbon: float
    respiratory_quotient: float


def parse_formula(formula: str) -> dict[str, float]:
    """Read an elemental formula of carbon, hydrogen, oxygen and nitrogen.

    Parameters
    ----------
    formula : str
        Elements in any order, each with a whole number or none for one, such as C16H27O8N.

    Returns
    -------
    dict of str to float
        Atoms for each formula unit [-], all four elements present.

    Raises
    ------
    InvalidInput
        If the text is no such formula, names another element or holds no carbon.

    Notes
    -----
    Our own reader. Sulphur, phosphorus and ash are left out of the formulas used here.

    Examples
    --------
    >>> parse_formula("C6H10O5")
    {'C': 6.0, 'H': 10.0, 'O': 5.0, 'N': 0.0}
    """
    atoms = dict.fromkeys(ATOMIC_MASS, 0.0)
    if "".join(a + n for a, n in _TERM.findall(formula)) != formula or not formula:
        raise InvalidInput(f"'{formula}' is not a formula of C, H, O and N; write it like C6H10O5.")
    for element, count in _TERM.findall(formula):
        if element not in atoms:
            raise InvalidInput(
                f"'{element}' in '{formula}' is not one of C, H, O, N; leave other elements out."
            )
        atoms[element] += float(count or 1)
    if atoms["C"] == 0.0:
        raise InvalidInput(f"'{formula}' holds no carbon; write it like C6H10O5.")
    return atoms


def oxidation(formula: str, heat_per_oxygen: float = 13.6e6) -> Oxidation:
    """Oxidise a material fully to carbon dioxide, water and ammonia.

    ::

        C_c H_h O_o N_n + [c + (h - 3 n)/4 - o/2] O2 -> c CO2 + (h - 3 n)/2 H2O + n NH3

    with c, h, o and n the atoms in the formula [-]; the heat is that of the oxygen used.

    Parameters
    ----------
    formula : str
        Elements in any order, each with a whole number or none for one, such as C16H27O8N.
    heat_per_oxygen : float
        Heat for each kilogram of oxygen used [J/kg], usually 13.6e6 to 14.4e6.

    Returns
    -------
    Oxidation
        Masses for each kilogram of material [kg/kg] and heat [J/kg].

    Raises
    ------
    InvalidInput
        If the formula cannot be read, or if it needs no oxygen to burn.

    Notes
    -----
    Nitrogen leaves as ammonia, as in the source. The heat per oxygen holds within 5 % for
    sugars, proteins, fats and mixtures of them, but not for very oxidised acids.

    References
    ----------
    haug1993, cooney1969

    Examples
    --------
    >>> glucose = oxidation("C6H12O6")
    >>> round(glucose.oxygen, 2), round(glucose.heat / 1e6, 1)
    (1.07, 14.5)
    """
    atoms = parse_formula(formula)
    c, h, o, n = atoms["C"], atoms["H"], atoms["O"], atoms["N"]
    mass = sum(ATOMIC_MASS[e] * k for e, k in atoms.items())
    oxygen_moles = c + (h - 3.0 * n) / 4.0 - o / 2.0
    if oxygen_moles <= 0.0 or h < 3.0 * n:
        raise InvalidInput(
            f"'{formula}' takes up no oxygen or has too little hydrogen for its nitrogen; "
            "check the numbers against a formula such as C16H27O8N."
        )
    oxygen = oxygen_moles * 2.0 * ATOMIC_MASS["O"] / mass
    return Oxidation(
        oxygen=oxygen,
        carbon_dioxide=c * (ATOMIC_MASS["C"] + 2.0 * ATOMIC_MASS["O"]) / mass,
        water=(h - 3.0 * n) / 2.0 * (2.0 * ATOMIC_MASS["H"] + ATOMIC_MASS["O"]) / mass,
        ammonia=n * (ATOMIC_MASS["N"] + 3.0 * ATOMIC_MASS["H"]) / mass,
        heat=oxygen * heat_per_oxygen,
        carbon=c * ATOMIC_MASS["C"] / mass,
        respiratory_quotient=c / oxygen_moles,
    )
