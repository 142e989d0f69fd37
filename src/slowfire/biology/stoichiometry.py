"""Complete oxidation of organic matter from its elemental formula."""

import re
from dataclasses import dataclass

from slowfire.errors import InvalidInput

ATOMIC_MASS = {"C": 12.011, "H": 1.008, "O": 15.999, "N": 14.007}
_TERM = re.compile(r"([A-Z])(\d*)")


@dataclass(frozen=True)
class Oxidation:
    """kg per kg of material oxidised; heat in J/kg; respiratory quotient molar."""

    oxygen: float
    carbon_dioxide: float
    water: float
    ammonia: float
    heat: float
    carbon: float
    respiratory_quotient: float


def parse_formula(formula: str) -> dict[str, float]:
    """Atoms per formula unit."""
    atoms = dict.fromkeys(ATOMIC_MASS, 0.0)
    if "".join(a + n for a, n in _TERM.findall(formula)) != formula or not formula:
        raise InvalidInput(f"'{formula}' is not a formula of C, H, O and N, such as C6H10O5.")
    for element, count in _TERM.findall(formula):
        if element not in atoms:
            raise InvalidInput(f"'{element}' in '{formula}' is not one of C, H, O, N.")
        atoms[element] += float(count or 1)
    return atoms


def oxidation(formula: str, heat_per_oxygen: float = 13.6e6) -> Oxidation:
    """Oxidise to CO2, water and NH3."""
    atoms = parse_formula(formula)
    c, h, o, n = atoms["C"], atoms["H"], atoms["O"], atoms["N"]
    mass = sum(ATOMIC_MASS[e] * k for e, k in atoms.items())
    oxygen_moles = c + (h - 3.0 * n) / 4.0 - o / 2.0
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
