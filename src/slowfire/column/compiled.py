"""Compile plain leaves; keep compiled code in a folder named after the sources it came from.

The compiler's own cache does not notice a change in an imported function, so the folder's
name is a hash of everything compiled code can reach.
"""

import hashlib
import os
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar

import numba

from slowfire.arrays import FloatOrArray

_F = TypeVar("_F", bound=Callable[..., Any])


def source_hash() -> str:
    """Hash of every source the kernel is compiled from."""
    digest = hashlib.sha256(numba.__version__.encode())
    root = Path(str(files("slowfire")))
    digest.update((root / "constants.py").read_bytes())
    for package in ("physics", "biology", "column"):
        for path in sorted((root / package).glob("*.py")):
            digest.update(path.name.encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _cache_folder() -> Path | None:
    home = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    folder = Path(home) / "slowfire" / f"kernel-{source_hash()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return folder


def is_compiled() -> bool:
    """Whether compiled code is at hand, so that nobody has to wait for it."""
    return _FOLDER is not None and any(_FOLDER.rglob("*.nbi"))


_FOLDER = _cache_folder()
if _FOLDER is not None:
    vars(numba.config)["CACHE_DIR"] = str(_FOLDER)


def jit(function: _F) -> _F:
    """Compile `function` without the interpreter's lock, cached when a folder can be written."""
    compiled: _F = numba.njit(function, nogil=True, cache=_FOLDER is not None, error_model="numpy")
    return compiled


def scalar(leaf: Callable[..., FloatOrArray]) -> Callable[..., float]:
    """Compile a leaf of physics or biology for numbers, as the kernel calls it."""
    compiled: Any = jit(leaf)
    result: Callable[..., float] = compiled
    return result
