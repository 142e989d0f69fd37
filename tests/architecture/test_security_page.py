"""Each row of docs/security.md names a test that exists."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ROWS = [
    line.split("|")[4].strip().strip("`")
    for line in (ROOT / "docs" / "security.md").read_text("utf-8").splitlines()
    if line.startswith("| V")
]


def test_there_are_rows():
    assert len(ROWS) > 30


@pytest.mark.parametrize("named", ROWS)
def test_the_test_of_a_row_exists(named):
    file, _, name = named.partition("::")
    tree = ast.parse((ROOT / file).read_text("utf-8"))
    functions = {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
    assert not name or name in functions
