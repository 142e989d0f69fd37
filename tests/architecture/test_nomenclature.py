"""docs/nomenclature.md lists every public argument of the science packages, and nothing else."""

import re
from pathlib import Path

import pint
import pytest
from science_packages import (
    MIXED,
    SCIENCE_PACKAGES,
    arguments,
    entries,
    public_functions,
    sections,
)

TABLE = Path(__file__).parents[2] / "docs" / "nomenclature.md"
UNITS = pint.UnitRegistry()


def rows() -> dict[str, tuple[str, str, str]]:
    """Meaning, unit and place by name."""
    result: dict[str, tuple[str, str, str]] = {}
    for line in TABLE.read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if len(cells) == 4 and cells[0].startswith("`"):
            name = cells[0].strip("`")
            assert name not in result, f"{name} stands twice in the table"
            result[name] = (cells[1], cells[2], cells[3])
    return result


def used() -> dict[str, list[tuple[str, str | None]]]:
    """Module (without the package's own name) and unit of every use of every argument."""
    result: dict[str, list[tuple[str, str | None]]] = {}
    for dotted, function in public_functions():
        module = dotted.rsplit(".", 1)[0].removeprefix("slowfire.")
        documented = entries(sections(function).get("Parameters", ""))
        for name in arguments(function):
            unit = documented[name].unit if name in documented else None
            result.setdefault(name, []).append((module, unit))
    return result


ROWS = rows()
USED = used()


def test_packages_are_walked():
    modules = {module for uses in USED.values() for module, _ in uses}
    for package in SCIENCE_PACKAGES:
        name = package.removeprefix("slowfire.")
        assert any(module == name or module.startswith(name + ".") for module in modules), name


@pytest.mark.parametrize("name", sorted(USED))
def test_argument_is_listed(name):
    assert name in ROWS, f"{name} ({USED[name][0][0]}) is missing from docs/nomenclature.md"
    meaning, _, where = ROWS[name]
    assert len(meaning) > 3
    assert set(re.findall(r"`([^`]+)`", where)) == {module for module, _ in USED[name]}


@pytest.mark.parametrize("name", sorted(ROWS))
def test_row_is_in_use(name):
    assert name in USED, f"{name} is no longer an argument; take it off docs/nomenclature.md"


@pytest.mark.parametrize("name", sorted(set(ROWS) & set(USED)))
def test_unit_is_the_one_documented(name):
    listed = ROWS[name][1]
    for module, unit in USED[name]:
        if unit is None:
            assert listed == "text", f"{name} bears no unit in {module}"
            continue
        if MIXED in (unit, listed):
            assert unit == listed, f"{name} in {module}: [{unit}], listed as {listed}"
            continue
        as_listed, as_written = (
            UNITS.Quantity(1.0, "dimensionless" if text == "-" else text) for text in (listed, unit)
        )
        assert as_listed.dimensionality == as_written.dimensionality, f"{name} in {module}"
        assert as_listed.units == as_written.units or (
            as_listed.to_base_units().magnitude
            == pytest.approx(as_written.to_base_units().magnitude)
        ), f"{name} in {module}: [{unit}], listed as {listed}"
