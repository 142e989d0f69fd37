"""Make the project's environment in .venv and install the pinned packages into it."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"


def fail(sentence: str) -> None:
    sys.exit(f"slowfire: {sentence}")


def main(requirements: str, stamp: str) -> None:
    if not (3, 11) <= sys.version_info[:2] <= (3, 13):
        fail(
            f"needs Python 3.11, 3.12 or 3.13, but this is {sys.version.split()[0]}; "
            "run it as 'make run PYTHON=python3.12', for example."
        )
    python = VENV / "bin" / "python"
    if not python.exists():
        made = subprocess.run(
            [sys.executable, "-m", "venv", str(VENV)], capture_output=True, text=True
        )
        if made.returncode:
            fail(
                "Python's 'venv' or 'ensurepip' is missing, so no environment can be made; "
                "on Debian or Ubuntu run 'sudo apt install python3-venv', then try again."
            )
    print(
        f"Installing slowfire into .venv from {requirements} (once, about a minute) ...", flush=True
    )
    pip = [str(python), "-m", "pip", "install", "-qq", "--disable-pip-version-check"]
    for step in (
        ["--require-hashes", "-r", str(ROOT / requirements)],
        ["--no-deps", "--no-build-isolation", "-e", str(ROOT)],
    ):
        if subprocess.run(pip + step).returncode:
            fail("the packages could not be installed; pip's message above says why.")
    (ROOT / stamp).touch()


if __name__ == "__main__":
    main(*sys.argv[1:])
