"""The compiled kernel follows its sources, and light imports stay light."""

import os
import shutil
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest

PACKAGE = Path(str(files("slowfire")))
HEATING = """
import json
from slowfire.column import compiled
from slowfire.column.enthalpy import temperature_of_enthalpy
from slowfire.column.draft import _saturation_pressure
print(json.dumps([str(compiled.source_hash()), temperature_of_enthalpy(1e5, 0.0, 1.0),
    _saturation_pressure(20.0), sorted(p.name for p in compiled._FOLDER.glob("*/*.nbi"))]))
"""


def run(code: str, source: Path, cache: Path) -> subprocess.CompletedProcess[str]:
    """Run code against a copy of the package, with a cache of its own."""
    environment = os.environ | {"PYTHONPATH": str(source), "XDG_CACHE_HOME": str(cache)}
    environment.pop("NUMBA_DISABLE_JIT", None)
    return subprocess.run(
        [sys.executable, "-c", code],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )


@pytest.fixture(name="source")
def copied_source(tmp_path: Path) -> Path:
    shutil.copytree(
        PACKAGE, tmp_path / "src" / "slowfire", ignore=shutil.ignore_patterns("__pycache__")
    )
    return tmp_path / "src"


class TestEditedConstant:
    """Both functions reach their constants through other modules."""

    def result(self, source: Path, cache: Path) -> list:
        import json

        done = run(HEATING, source, cache)
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)

    def test_changes_result_and_folder(self, source: Path, tmp_path: Path):
        cache = tmp_path / "cache"
        before = self.result(source, cache)
        again = self.result(source, cache)
        assert again[:3] == before[:3]
        assert again[3], "nothing was cached"
        constants = source / "slowfire" / "constants.py"
        text = constants.read_text(encoding="utf-8")
        edited = text.replace("HEAT_CAPACITY_WATER = 4186.0", "HEAT_CAPACITY_WATER = 2093.0")
        assert edited != text
        constants.write_text(edited, encoding="utf-8")
        after = self.result(source, cache)
        assert after[0] != before[0]
        assert after[1] == pytest.approx(2.0 * before[1], rel=1e-12)
        assert after[2] == before[2]
        folders = {path.name for path in (cache / "slowfire").iterdir()}
        assert folders == {f"kernel-{before[0]}", f"kernel-{after[0]}"}

    def test_edited_leaf_of_physics_is_seen(self, source: Path, tmp_path: Path):
        cache = tmp_path / "cache"
        before = self.result(source, cache)
        leaf = source / "slowfire" / "physics" / "moist_air.py"
        text = leaf.read_text(encoding="utf-8")
        name = (
            "def saturation_pressure_in_air("
            if "saturation_pressure_in_air(" in text
            else ("def saturation_pressure(")
        )
        assert name in text
        leaf.write_text(
            text + "\n\n_whole = " + name[4:-1] + "\n\n\n" + name + "temperature_celsius):\n"
            "    return 1000.0 + 0.0 * temperature_celsius\n",
            encoding="utf-8",
        )
        after = self.result(source, cache)
        assert after[0] != before[0]
        assert before[2] != 1000.0
        assert after[2] == 1000.0


def test_a_folder_that_cannot_be_written_means_no_cache(source: Path, tmp_path: Path):
    blocked = tmp_path / "blocked"
    blocked.write_text("a file, not a folder", encoding="utf-8")
    code = (
        "from slowfire.column import compiled\n"
        "from slowfire.column.enthalpy import water_enthalpy\n"
        "assert compiled._FOLDER is None\n"
        "print(water_enthalpy(1.0))"
    )
    done = run(code, source, blocked)
    assert done.returncode == 0, done.stderr
    assert float(done.stdout) == pytest.approx(4186.0)


@pytest.mark.parametrize(
    "module",
    ["slowfire", "slowfire.recipe.mixture", "slowfire.vessel", "slowfire.maturity.layer_verdicts"],
)
def test_light_imports_load_no_compiler(module: str):
    code = f"import sys, {module}\nprint('numba' in sys.modules, 'llvmlite' in sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.split() == ["False", "False"]
