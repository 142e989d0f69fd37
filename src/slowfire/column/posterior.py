"""What the fit left of each parameter's spread, and draws from it: the prior of an estimate."""

import csv
import json
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column.parameters import Parameters, default_parameters


@dataclass(frozen=True)
class Fit:
    """Where the fitted values come from: commit, day, its size, rows that passed of all."""

    commit: str
    measured: str
    members: int
    rounds: int
    steps: int
    passed: int
    rows: int


@dataclass(frozen=True)
class FittedSpread:
    """A parameter after the fit: value, 5th and 95th percentile, spread left of the prior's."""

    value: float
    low: float
    high: float
    spread_left: float


@lru_cache(maxsize=1)
def fit() -> Fit:
    """The fit that the shipped values come from."""
    text = files("slowfire.column").joinpath("fit.json").read_text(encoding="utf-8")
    return Fit(**json.loads(text))


@lru_cache(maxsize=1)
def fitted_spreads() -> dict[str, FittedSpread]:
    """Every fitted parameter, from `parameter_spread.csv`; what is not there was not fitted."""
    text = files("slowfire.column").joinpath("parameter_spread.csv").read_text(encoding="utf-8")
    return {
        row["name"]: FittedSpread(
            float(row["value"]), float(row["low"]), float(row["high"]), float(row["spread_left"])
        )
        for row in csv.DictReader(text.splitlines())
    }


@lru_cache(maxsize=1)
def _draws() -> tuple[tuple[str, ...], FloatArray]:
    text = files("slowfire.column").joinpath("parameter_draws.csv").read_text(encoding="utf-8")
    lines = text.splitlines()
    values = np.array([[float(cell) for cell in line.split(",")] for line in lines[1:]])
    return tuple(lines[0].split(",")), values


@lru_cache(maxsize=1)
def fitted_draws() -> tuple[Parameters, ...]:
    """Parameter sets drawn from what the fit left, with the covariances it found.

    Returns
    -------
    tuple of Parameters
        One for each member of the fit; parameters that were not fitted have their value.

    Notes
    -----
    The spread is that of an ensemble smoother: where the checks hardly see a parameter it is the
    prior's.

    Examples
    --------
    >>> len(fitted_draws()) == fit().members
    True

    References
    ----------
    emerick2013
    """
    names, values = _draws()
    return tuple(
        default_parameters(**{name: float(v) for name, v in zip(names, row, strict=True)})
        for row in values
    )
