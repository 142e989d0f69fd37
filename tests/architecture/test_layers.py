"""The import contracts of pyproject.toml hold, and each notices an import that breaks it."""

import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SETTINGS = ROOT / "pyproject.toml"
LINT_IMPORTS = Path(sys.executable).with_name("lint-imports")
CONTRACTS = [
    one["name"]
    for one in tomllib.loads(SETTINGS.read_text("utf-8"))["tool"]["importlinter"]["contracts"]
]
# Contract, module that is spoilt, and the import that spoils it.
BREAKING = {
    "Imports go only downwards": ("vessel.py", "from slowfire import timeline_vessel"),
    "A screen calls services and nothing below them": (
        "cli.py",
        "from slowfire.column import simulate",
    ),
    "What was written down knows nothing of what is computed": (
        "records.py",
        "from slowfire.materials import library",
    ),
    "Science reads no clock, chance, environment or network": (
        "column/simulate.py",
        "import datetime",
    ),
    "What is safe and finished is judged from numbers, not from the model": (
        "hygiene/history.py",
        "from slowfire.column import positions",
    ),
    "Leaves of physics and biology stand alone, so that the kernel can compile each": (
        "biology/kinetics.py",
        "from slowfire.physics import heat",
    ),
    "Inside the column, from the door down to the positions": (
        "column/positions.py",
        "from slowfire.column import draft",
    ),
    "No two modules of a package wait for each other": (
        "recipe/mixture.py",
        "from slowfire.recipe import outcome",
    ),
}


def checked(package_parent: Path, work_folder: Path) -> subprocess.CompletedProcess[str]:
    """Run all contracts on the package below `package_parent`."""
    return subprocess.run(
        [str(LINT_IMPORTS), "--config", str(SETTINGS), "--no-cache"],
        capture_output=True,
        text=True,
        cwd=work_folder,
        env={**os.environ, "PYTHONPATH": str(package_parent)},
        check=False,
    )


def test_contracts_hold(tmp_path):
    done = checked(ROOT / "src", tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    for name in CONTRACTS:
        assert re.search(rf"^{re.escape(name)} KEPT", done.stdout, re.MULTILINE), name


def test_every_contract_has_an_import_that_breaks_it():
    assert sorted(BREAKING) == sorted(CONTRACTS)


@pytest.mark.parametrize("name", sorted(BREAKING))
def test_contract_notices(name, tmp_path):
    module, line = BREAKING[name]
    shutil.copytree(
        ROOT / "src" / "slowfire",
        tmp_path / "slowfire",
        ignore=shutil.ignore_patterns("__pycache__", "*.csv"),
    )
    spoilt = tmp_path / "slowfire" / module
    spoilt.write_text(spoilt.read_text("utf-8") + f"\n{line}\n", encoding="utf-8")
    done = checked(tmp_path, tmp_path)
    assert done.returncode != 0
    assert re.search(rf"^{re.escape(name)} BROKEN", done.stdout, re.MULTILINE), done.stdout
