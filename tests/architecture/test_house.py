"""Rules of the house that a reader would otherwise have to remember."""

import ast
import csv
import re
import subprocess
import sys
from pathlib import Path

import pytest

from slowfire.column.parameters import Parameters, priors

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "slowfire"
MODULES = sorted(PACKAGE.rglob("*.py"))
BANNED_NAMES = {"utils", "helpers", "common", "base", "misc"}
PLAIN_SOURCES = ("fit", "common practice", "numerics")


def named(path: Path) -> str:
    return str(path.relative_to(PACKAGE))


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_module_is_short_and_clean(path):
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 600
    assert path.stem not in BANNED_NAMES
    for node in ast.walk(ast.parse(text)):
        assert not isinstance(node, ast.Assert), "input is checked with errors, not assert"
        if isinstance(node, ast.ExceptHandler):
            caught = getattr(node.type, "id", None)
            assert node.type is not None
            assert caught not in ("Exception", "BaseException")
        if isinstance(node, ast.Call):
            assert getattr(node.func, "id", None) != "print"
        if isinstance(node, ast.ClassDef):
            assert not node.name.endswith(("Manager", "Handler", "Factory"))
    assert not re.search(r"TODO|FIXME|XXX|NotImplementedError", text)


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_comments_take_two_lines_at_most(path):
    run = 0
    for line in path.read_text(encoding="utf-8").splitlines():
        run = run + 1 if line.strip().startswith("#") else 0
        assert run <= 2, line


def test_imports_go_only_downwards():
    done = subprocess.run(
        [str(Path(sys.executable).with_name("lint-imports"))],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
    )
    assert done.returncode == 0, done.stdout


def test_parameters_file_and_fields_agree():
    assert list(priors()) == list(Parameters._fields)


def test_every_parameter_lies_in_its_range_and_names_its_source():
    keys = set(re.findall(r"@\w+\{(\w+),", (PACKAGE / "sources.bib").read_text("utf-8")))
    for name, prior in priors().items():
        assert prior.low <= prior.value <= prior.high, name
        assert prior.low < prior.high, name
        assert prior.source in keys or prior.source in PLAIN_SOURCES, f"{name}: {prior.source}"


def test_every_parameter_is_used():
    code = "\n".join(p.read_text("utf-8") for p in (PACKAGE / "column").glob("*.py"))
    for name in Parameters._fields:
        assert re.search(rf"\.{name}\b", code), name


@pytest.mark.parametrize("name", ["requirements.txt", "requirements-dev.txt"])
def test_requirements_are_pinned_with_hashes_and_no_address(name):
    text = (ROOT / name).read_text(encoding="utf-8")
    pins = [line for line in text.splitlines() if "==" in line]
    assert pins
    assert text.count("--hash=sha256:") >= len(pins)
    assert "http" not in text


def test_readme_commands_exist():
    targets = set(re.findall(r"^([a-z-]+):", (ROOT / "Makefile").read_text("utf-8"), re.M))
    for page in ("README.md", "CONTRIBUTING.md"):
        for word in re.findall(r"make ([a-z-]+)", (ROOT / page).read_text("utf-8")):
            assert word in targets, f"{page}: make {word}"


def test_links_in_the_pages_lead_somewhere():
    for page in [*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md")]:
        for target in re.findall(r"\]\((?!http)([^)#]+)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), f"{page.name}: {target}"


def test_tables_of_data_have_no_empty_headings():
    for path in PACKAGE.rglob("*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.reader(file))
        assert all(rows[0]), path.name
        assert len({len(row) for row in rows if row}) == 1, path.name
