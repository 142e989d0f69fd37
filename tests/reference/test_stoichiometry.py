"""Full oxidation of haug1993's empirical formulas (from memory).

Products worked out by hand, nitrogen leaving as ammonia, heat at 13.6 MJ per kg of oxygen. Units
as printed: kg and MJ for each kg of material; tolerance half of the last digit printed.
"""

import pytest

from slowfire.biology.stoichiometry import oxidation

# name: formula, O2, CO2, water, NH3, heat, CO2/O2 by moles
TABLE = {
    "glucose": ("C6H12O6", 1.07, 1.47, 0.60, 0.0, 14.5, 1.00),
    "starch, cellulose": ("C6H10O5", 1.18, 1.63, 0.56, 0.0, 16.1, 1.00),
    "protein": ("C16H24O5N4", 1.50, 2.00, 0.31, 0.193, 20.4, 0.97),
    "fat, oil": ("C50H90O6", 2.82, 2.80, 1.03, 0.0, 38.4, 0.72),
    "food waste": ("C16H27O8N", 1.59, 1.95, 0.60, 0.047, 21.7, 0.89),
    "food waste, other formula": ("C18H26O10N", 1.44, 1.90, 0.50, 0.041, 19.6, 0.96),
    "grass": ("C23H38O17N", 1.24, 1.69, 0.52, 0.028, 16.8, 0.99),
    "garden waste": ("C27H38O16N", 1.40, 1.88, 0.50, 0.027, 19.1, 0.97),
    "paper": ("C266H434O210N", 1.23, 1.67, 0.55, 0.002, 16.7, 0.99),
    "wood": ("C295H420O186N", 1.41, 1.87, 0.54, 0.002, 19.2, 0.96),
}
COLUMNS = {
    "oxygen": (1, 0.005),
    "carbon_dioxide": (2, 0.005),
    "water": (3, 0.005),
    "ammonia": (4, 0.0005),
    "heat": (5, 0.05),
    "respiratory_quotient": (6, 0.005),
}


@pytest.mark.parametrize("column", list(COLUMNS))
@pytest.mark.parametrize("material", list(TABLE))
def test_products_of_full_oxidation(material, column):
    row = TABLE[material]
    index, tolerance = COLUMNS[column]
    value = getattr(oxidation(row[0], heat_per_oxygen=13.6e6), column)
    if column == "heat":
        value /= 1e6
    assert value == pytest.approx(row[index], abs=tolerance)


def test_heat_per_oxygen_of_cooney():
    """cooney1969 (from memory): 460 kJ for each mole of oxygen, 14.4 MJ/kg."""
    glucose = oxidation("C6H12O6", heat_per_oxygen=0.460e6 / 0.031998)
    # heat of combustion of glucose, CRC Handbook (from memory): 2.80 MJ/mol, 0.18016 kg/mol;
    # the rule of 460 kJ/mol O2 is an average over many substrates, good to 5 %
    assert glucose.heat / 1e6 == pytest.approx(2.80 / 0.18016, rel=0.05)


def test_heat_of_degraded_matter_in_the_reviewed_range():
    """mason2006 (from memory): 17.8 to 24.7 MJ per kg of volatile solids lost, food mixtures."""
    for formula in ("C16H27O8N", "C18H26O10N", "C27H38O16N"):
        for heat_per_oxygen in (13.6e6, 14.4e6):
            assert 17.8 <= oxidation(formula, heat_per_oxygen).heat / 1e6 <= 24.7
