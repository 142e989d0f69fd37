"""Formulas: books that close, input that is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.biology.stoichiometry import ATOMIC_MASS, oxidation, parse_formula
from slowfire.errors import InvalidInput


@given(st.integers(1, 60), st.integers(12, 120), st.integers(0, 60), st.integers(0, 4))
def test_mass_closes(c, h, o, n):
    if c + (h - 3.0 * n) / 4.0 - o / 2.0 <= 0.0:
        return
    formula = f"C{c}H{h}" + (f"O{o}" if o else "") + (f"N{n}" if n else "")
    result = oxidation(formula)
    assert result.carbon_dioxide + result.water + result.ammonia == pytest.approx(
        1.0 + result.oxygen, rel=1e-12
    )
    carbon_out = (
        result.carbon_dioxide * ATOMIC_MASS["C"] / (ATOMIC_MASS["C"] + 2.0 * ATOMIC_MASS["O"])
    )
    assert carbon_out == pytest.approx(result.carbon, rel=1e-12)


def test_heat_is_that_of_the_oxygen():
    result = oxidation("C16H27O8N", heat_per_oxygen=14.0e6)
    assert result.heat == pytest.approx(14.0e6 * result.oxygen)


def test_order_and_single_atoms():
    assert parse_formula("NC16O8H27") == parse_formula("C16H27O8N")
    assert parse_formula("CH4") == {"C": 1.0, "H": 4.0, "O": 0.0, "N": 0.0}


@pytest.mark.parametrize(
    ("formula", "complaint"),
    [
        ("", "not a formula"),
        ("c6h12o6", "not a formula"),
        ("C6 H12 O6", "not a formula"),
        ("C6H12O6.5", "not a formula"),
        ("C6H12S2", "'S'"),
        ("H2O", "no carbon"),
        ("CO2", "takes up no oxygen"),
        ("CHN4", "too little hydrogen"),
    ],
)
def test_bad_formula_is_refused_with_a_way_out(formula, complaint):
    with pytest.raises(InvalidInput, match=complaint) as raised:
        oxidation(formula)
    assert (
        "C6H10O5" in str(raised.value)
        or "C16H27O8N" in str(raised.value)
        or ("leave other elements out" in str(raised.value))
    )
