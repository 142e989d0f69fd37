"""Docstrings of the science packages say what each number is and where it comes from."""

import re
from importlib.resources import files

import pint
import pytest
from science_packages import (
    MIXED,
    arguments,
    entries,
    public_functions,
    sections,
    takes_numbers,
)

FUNCTIONS = [pytest.param(function, id=name) for name, function in public_functions()]
UNITS = pint.UnitRegistry()
# What the notes of a function without a reference must say.
OWN_WORK = re.compile(r"\b([Oo]ur own|[Oo]urs|[Ee]xact|common practice, no source)\b")
# Where the unit of each entry stands, for arrays whose entries differ in unit.
LISTS_OF_UNITS = ("`column.positions`", "`parameters.csv`")


def unit_is_stated(unit: str, description: str) -> bool:
    """Whether pint can read the unit or, for a mixed array, the text names the list of units."""
    if unit == MIXED:
        return any(place in description for place in LISTS_OF_UNITS)
    return unit_is_readable(unit)


def unit_is_readable(unit: str) -> bool:
    """Whether pint can read `unit`; [-] stands for a pure number."""
    if unit == "-":
        return True
    try:
        UNITS.parse_units(unit)
    except (pint.errors.PintError, AttributeError, TypeError, ValueError):
        return False
    return True


def bibliography() -> dict[str, str]:
    """Text of each entry of sources.bib by key."""
    text = (files("slowfire") / "sources.bib").read_text(encoding="utf-8")
    parts = re.split(r"^@\w+\{", text, flags=re.MULTILINE)[1:]
    keys = [part.split(",", 1)[0].strip() for part in parts]
    assert len(keys) == len(set(keys)), "a key stands twice in sources.bib"
    return dict(zip(keys, parts, strict=True))


def reference_keys(text: str) -> list[str]:
    return [key for key in re.split(r"[,\s]+", text) if key]


def test_reader_of_units():
    assert unit_is_readable("W/(m^2*K)")
    assert unit_is_readable("-")
    assert unit_is_readable("degC")
    assert not unit_is_readable("W each square metre")
    assert not unit_is_readable("flurbs")


def test_mixed_units_need_their_list():
    assert unit_is_stated("mixed", "A state [mixed], in the units of `column.positions`.")
    assert not unit_is_stated("mixed", "A state [mixed].")
    assert not unit_is_readable("mixed")


def test_reader_of_parameters():
    read = entries("width, height : float\n    Sides [m], usually 1.\nname : str\n    Any name.\n")
    assert read["height"].unit == "m"
    assert takes_numbers(read["width"].type_text)
    assert read["name"].unit is None
    assert not takes_numbers(read["name"].type_text)


def test_functions_are_found():
    assert len(FUNCTIONS) >= 70


@pytest.mark.parametrize("function", FUNCTIONS)
def test_summary_is_one_line(function):
    lead = sections(function)[""].splitlines()
    assert lead, "no docstring"
    assert lead[0].endswith(".")
    assert len(lead) == 1 or lead[1] == ""


@pytest.mark.parametrize("function", FUNCTIONS)
def test_every_argument_is_documented(function):
    documented = entries(sections(function).get("Parameters", ""))
    assert list(documented) == arguments(function)
    for name, entry in documented.items():
        assert entry.description, f"{name} has no description"


@pytest.mark.parametrize("function", FUNCTIONS)
def test_every_number_has_a_unit(function):
    for name, entry in entries(sections(function).get("Parameters", "")).items():
        if takes_numbers(entry.type_text):
            assert entry.unit is not None, f"{name} has no [unit]"
            assert unit_is_stated(entry.unit, entry.description), (
                f"{name}: pint cannot read [{entry.unit}]"
            )


@pytest.mark.parametrize("function", FUNCTIONS)
def test_returns_are_documented(function):
    text = sections(function).get("Returns", "")
    assert text, "no Returns section"
    type_text, _, description = text.partition("\n")
    if takes_numbers(type_text):
        unit = re.search(r"\[([^\[\]]+)\]", description)
        assert unit is not None, "the returned number has no [unit]"
        assert unit_is_stated(unit.group(1), description)


@pytest.mark.parametrize("function", FUNCTIONS)
def test_has_an_example(function):
    assert ">>> " in sections(function).get("Examples", "")


@pytest.mark.parametrize("function", FUNCTIONS)
def test_says_where_it_holds(function):
    assert sections(function).get("Notes", "")


@pytest.mark.parametrize("function", FUNCTIONS)
def test_references_are_in_the_bibliography(function):
    known = bibliography()
    body = sections(function)
    if "References" in body:
        keys = reference_keys(body["References"])
        assert keys, "empty References section"
        unknown = [key for key in keys if key not in known]
        assert not unknown, f"not in sources.bib: {unknown}"
    else:
        notes = body.get("Notes", "")
        assert OWN_WORK.search(notes), "no reference, and the notes do not say whose equation it is"


@pytest.mark.parametrize("key", sorted(bibliography()))
def test_bibliography_entry_is_complete(key):
    entry = bibliography()[key]
    assert re.fullmatch(r"[a-z]+\d{4,5}[a-z]?", key)
    for field in ("author", "title", "year"):
        assert re.search(rf"\b{field} = \{{", entry), f"{key} has no {field}"
    assert entry.count("{") + 1 == entry.count("}"), f"braces of {key} do not close"
