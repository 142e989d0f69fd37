"""The commit a results file was measured at."""

import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def commit() -> str:
    """The commit checked out, with a mark when files differ from it; unknown outside a clone."""
    try:
        return subprocess.run(
            ["git", "describe", "--always", "--dirty"],
            capture_output=True,
            text=True,
            cwd=ROOT,
            check=True,
        ).stdout.strip()
    except (OSError, subprocess.CalledProcessError):
        return "unknown"
