"""Compile plain leaves; keep compiled code in a folder named after the sources it came from.

The compiler's own cache does not notice a change in an imported function, so the folder's
name is a hash of everything compiled code can reach.
"""

import hashlib
import os
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Any, TypeVar

import numba
import numpy as np

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


# Everything but a new order of sums: what is left out matters only for values that are no numbers.
FASTMATH = {"nnan", "ninf", "nsz", "arcp", "contract"}

_FOLDER = _cache_folder()
if _FOLDER is not None:
    vars(numba.config)["CACHE_DIR"] = str(_FOLDER)


def _compile(function: _F, inlined: bool) -> _F:
    compiled: _F = numba.njit(
        function,
        nogil=True,
        cache=_FOLDER is not None,
        error_model="numpy",
        fastmath=FASTMATH,
        forceinline=inlined,
    )
    return compiled


def jit(function: _F) -> _F:
    """Compile `function` without the interpreter's lock, cached when a folder can be written."""
    return _compile(function, False)


def inline(function: _F) -> _F:
    """Compile `function` into each of its callers, so that their loops can become vectors."""
    return _compile(function, True)


@inline
def exponential(power: float) -> float:
    """e to a power, inlined where the library's own would be called: within 2e-16 of it.

    Halves and doubles by whole steps through the exponent's bits, the rest by its series.
    """
    bounded = min(max(power, -700.0), 700.0)
    # adding 1.5 * 2^52 rounds to a whole number and leaves it in the lowest bits
    shifted = np.float64(bounded * 1.4426950408889634 + 6755399441055744.0)
    steps = shifted - 6755399441055744.0
    # ln 2 in two parts, so that the rest keeps all its digits
    r = (bounded - steps * 6.93147180369123816490e-01) - steps * 1.90821492927058770002e-10
    r2 = r * r
    even = 2.0876756987868099e-9
    even = even * r2 + 2.7557319223985891e-7
    even = even * r2 + 2.4801587301587302e-5
    even = even * r2 + 1.3888888888888889e-3
    even = even * r2 + 4.1666666666666664e-2
    even = even * r2 + 0.5
    odd = 1.6059043836821613e-10
    odd = odd * r2 + 2.5052108385441720e-8
    odd = odd * r2 + 2.7557319223985893e-6
    odd = odd * r2 + 1.9841269841269841e-4
    odd = odd * r2 + 8.3333333333333332e-3
    odd = odd * r2 + 1.6666666666666666e-1
    series = 1.0 + (r + r2 * (even + r * odd))
    return series * np.int64((shifted.view(np.int64) + 1023) << 52).view(np.float64)


@inline
def logarithm(number: float) -> float:
    """Natural logarithm of a number above 0, inlined: within 4e-16 of the library's."""
    bits = np.float64(number).view(np.int64)
    steps = (bits - 0x3FE6A09E667F3BCD) >> 52
    mantissa = np.int64(bits - (steps << 52)).view(np.float64)
    s = (mantissa - 1.0) / (mantissa + 1.0)
    s2 = s * s
    series = 1.0 / 21.0
    series = series * s2 + 1.0 / 19.0
    series = series * s2 + 1.0 / 17.0
    series = series * s2 + 1.0 / 15.0
    series = series * s2 + 1.0 / 13.0
    series = series * s2 + 1.0 / 11.0
    series = series * s2 + 1.0 / 9.0
    series = series * s2 + 1.0 / 7.0
    series = series * s2 + 1.0 / 5.0
    series = series * s2 + 1.0 / 3.0
    return steps * 0.6931471805599453 + 2.0 * s * (1.0 + s2 * series)


@inline
def one_less(power: float) -> float:
    """e to a power, less 1, to within 2e-16."""
    return exponential(power) - 1.0


def _inlined_numpy() -> ModuleType:
    """What the leaves use of numpy, with the functions above in place of the library's."""
    module = ModuleType("np")
    for name in ("minimum", "maximum", "sqrt", "abs", "sign"):
        setattr(module, name, getattr(np, name))
    vars(module).update(exp=exponential, log=logarithm, expm1=one_less)
    return module


_NUMPY = _inlined_numpy()


def scalar(leaf: Callable[..., FloatOrArray]) -> Callable[..., float]:
    """Compile a leaf of physics or biology for numbers, as the kernel calls it.

    Its exponentials are compiled into it: a call would empty all registers each time.
    """
    inlined = FunctionType(
        leaf.__code__,
        leaf.__globals__ | {"np": _NUMPY},
        leaf.__name__,
        leaf.__defaults__,
    )
    inlined.__module__ = leaf.__module__
    inlined.__qualname__ = leaf.__qualname__
    compiled: Any = inline(inlined)
    result: Callable[..., float] = compiled
    return result
