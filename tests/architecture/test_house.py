"""Rules of the house that a reader would otherwise have to remember."""

import ast
import csv
import re
import tomllib
from pathlib import Path

import pint
import pytest

import slowfire
from slowfire.column.parameters import Parameters, priors
from slowfire.materials.packaged import packaged_rows

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "slowfire"
MODULES = sorted(PACKAGE.rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md")])
BANNED_NAMES = {"utils", "helpers", "common", "base", "misc"}
BANNED_CLASSES = ("Manager", "Handler", "Factory")
PLAIN_SOURCES = ("fit", "common practice", "numerics")


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


def source_keys() -> set[str]:
    return set(re.findall(r"^@\w+\{(\w+),", (PACKAGE / "sources.bib").read_text("utf-8"), re.M))


def caught(handler: ast.ExceptHandler) -> set[str]:
    """Names an except clause catches; an empty one is written as 'everything'."""
    if handler.type is None:
        return {"everything"}
    return {getattr(n, "id", getattr(n, "attr", "")) for n in ast.walk(handler.type)}


def faults(text: str) -> list[str]:
    """What the house does not want in the text of a module."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Assert):
            found.append("assert: input is checked with the errors of errors.py")
        elif isinstance(node, ast.ExceptHandler):
            if caught(node) & {"everything", "Exception", "BaseException"}:
                found.append("an except that hides faults")
        elif isinstance(node, ast.Call) and getattr(node.func, "id", None) == "print":
            found.append("print")
        elif isinstance(node, ast.ClassDef) and node.name.endswith(BANNED_CLASSES):
            found.append(node.name)
    return found + re.findall(r"TODO|FIXME|XXX|NotImplementedError", text)


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("try:\n    f()\nexcept:\n    pass\n", 1),
        ("try:\n    f()\nexcept (ValueError, Exception):\n    pass\n", 1),
        ("try:\n    f()\nexcept ValueError:\n    pass\n", 0),
        ("assert f()\n", 1),
        ("print(1)\n", 1),
        ("class LoadManager:\n    pass\n", 1),
        ("# TODO later\n", 1),
        ("def f():\n    return 1\n", 0),
    ],
)
def test_faults_are_seen(text, count):
    assert len(faults(text)) == count


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_module_is_short_and_clean(path):
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 600
    assert not BANNED_NAMES & {path.stem, *path.relative_to(PACKAGE).parts}
    assert not faults(text)


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_comments_take_two_lines_at_most(path):
    run = 0
    for line in path.read_text(encoding="utf-8").splitlines():
        run = run + 1 if line.strip().startswith("#") else 0
        assert run <= 2, line


def test_names_of_test_files_are_unique():
    names = [path.name for path in TESTS if path.name != "conftest.py"]
    assert len(names) == len(set(names)), sorted(n for n in names if names.count(n) > 1)


def test_parameters_file_and_fields_agree():
    assert list(priors()) == list(Parameters._fields)


def test_every_parameter_lies_in_its_range_and_names_unit_and_source():
    keys = source_keys()
    units = pint.UnitRegistry()
    for name, prior in priors().items():
        assert prior.low <= prior.value <= prior.high, name
        assert prior.low < prior.high, name
        assert prior.source in keys or prior.source in PLAIN_SOURCES, f"{name}: {prior.source}"
        if prior.unit != "-":
            units.parse_units(prior.unit)


def test_every_parameter_is_used():
    code = "\n".join(p.read_text("utf-8") for p in (PACKAGE / "column").glob("*.py"))
    for name in Parameters._fields:
        assert re.search(rf"\.{name}\b", code), name


@pytest.mark.parametrize("name", ["requirements.txt", "requirements-dev.txt"])
def test_requirements_are_pinned_with_hashes_and_no_address(name):
    text = (ROOT / name).read_text(encoding="utf-8").replace("\\\n", " ")
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    assert lines
    for line in lines:
        assert re.match(r"[A-Za-z0-9._-]+(\[[a-z,]+\])?==\S+ .*--hash=sha256:[0-9a-f]{64}", line), (
            line[:60]
        )
        assert "://" not in line
        assert " @ " not in line


def test_readme_names_the_two_commands():
    text = (ROOT / "README.md").read_text("utf-8")
    assert re.search(r"^make run\b", text, re.M)
    assert re.search(r"^make test\b", text, re.M)


def test_readme_counts_the_materials():
    said = re.search(r"(\d+) materials", (ROOT / "README.md").read_text("utf-8"))
    assert said is not None
    assert int(said[1]) == len(packaged_rows("feedstocks.csv"))


def test_make_targets_and_pages_agree():
    make = (ROOT / "Makefile").read_text("utf-8")
    targets = set(re.findall(r"^([a-z][a-z-]*):", make, re.M))
    for page in PAGES:
        for word in re.findall(r"`make ([a-z-]+)|^make ([a-z-]+)", page.read_text("utf-8"), re.M):
            assert "".join(word) in targets, f"{page.name}: make {''.join(word)}"
    listed = set(
        re.findall(r"^\| `make ([a-z-]+)", (ROOT / "CONTRIBUTING.md").read_text("utf-8"), re.M)
    )
    assert listed == targets, "the table of commands in CONTRIBUTING.md"


def test_version_is_said_once():
    written = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["version"]
    assert getattr(slowfire, "__version__", written) == written


def test_links_in_the_pages_lead_somewhere():
    for page in PAGES:
        for target in re.findall(r"\]\((?!http)([^)#]+)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), f"{page.name}: {target}"


def test_sources_named_in_the_pages_are_in_the_list():
    keys = source_keys()
    for page in PAGES:
        for key in re.findall(r"\b[a-z]{4,}(?:18|19|20)\d\d\b", page.read_text("utf-8")):
            assert key in keys, f"{page.name}: {key}"


def test_values_of_parameters_in_the_pages_are_those_in_use():
    """A page that says `name` = value says what parameters.csv says."""
    known = priors()
    checked = 0
    for page in PAGES:
        for name, value in re.findall(r"`(\w+)` = ([-+\d.eE]*\d)", page.read_text("utf-8")):
            assert float(value) == pytest.approx(known[name].value, rel=1e-6), (
                f"{page.name}: {name}"
            )
            checked += 1
    assert checked > 5


def test_tables_of_data_have_no_empty_headings():
    for path in PACKAGE.rglob("*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.reader(file))
        assert all(rows[0]), path.name
        assert len({len(row) for row in rows if row}) == 1, path.name
