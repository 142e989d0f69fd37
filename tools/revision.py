"""The commit a results file was measured at."""

import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
# What measuring itself writes; the rows of a trial come while it runs.
WRITTEN = ("benchmarks/results", "docs")


def commit(root: Path = ROOT) -> str:
    """The commit checked out, with -dirty when files differ from it; unknown outside a clone.

    Results, and the documents made from them, do not count as differing.
    """
    try:
        name = _git(root, "rev-parse", "--short", "HEAD")
        besides = [f":(exclude){one}" for one in WRITTEN]
        differs = _git(root, "status", "--porcelain", "--untracked-files=no", "--", ".", *besides)
    except (OSError, subprocess.CalledProcessError):
        return "unknown"
    return f"{name}-dirty" if differs else name


def _git(root: Path, *words: str) -> str:
    done = subprocess.run(["git", *words], capture_output=True, text=True, cwd=root, check=True)
    return done.stdout.strip()
