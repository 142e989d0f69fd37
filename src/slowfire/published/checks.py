"""The published numbers the model is held against, one row each, and what is known of a miss."""

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from slowfire.errors import InvalidInput

# Every set-up that must have at least one row.
LISTED_IDS = (
    *(f"V{number}" for number in range(1, 10)),
    "V11",
    "V17",
    *(f"V{number}" for number in range(22, 29)),
    "V30",
    "L1",
    "L4",
    "L5",
    *(f"case-{number}" for number in (1, 3, 4, 7, 11, 28)),
)


@dataclass(frozen=True)
class PublishedCheck:
    """One published number.

    Attributes
    ----------
    id : str
        The set-up it was measured on.
    quantity : str
        What was measured.
    unit : str
        As printed.
    value : float or None
        Printed value [in `unit`]; None where only an order or a bound was printed.
    low, high : float
        The band that passes [in `unit`].
    held_out : bool
        Whether calibration must not see it.
    source, basis : str
        Where it was printed, and how it was read.
    meaning : str
        The quantity in words, with what was printed if that was no number.
    """

    id: str
    quantity: str
    unit: str
    value: float | None
    low: float
    high: float
    held_out: bool
    source: str
    basis: str
    meaning: str

    @property
    def key(self) -> tuple[str, str]:
        """Set-up and quantity."""
        return self.id, self.quantity


@dataclass(frozen=True)
class KnownMiss:
    """Why a check fails and what would mend it."""

    reason: str
    remedy: str


def _table(name: str) -> list[dict[str, str]]:
    text = files("slowfire").joinpath("data", name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@lru_cache(maxsize=1)
def read_checks() -> tuple[PublishedCheck, ...]:
    """Every row of `data/published_checks.csv`, in the order of the file.

    Raises
    ------
    InvalidInput
        If a listed set-up has no row, a row comes twice, or a band does not hold its value.
    """
    checks = tuple(
        PublishedCheck(
            row["id"],
            row["quantity"],
            row["unit"],
            float(row["value"]) if row["value"] else None,
            float(row["low"]),
            float(row["high"]),
            row["held_out"] == "yes",
            row["source"],
            row["basis"],
            row["meaning"],
        )
        for row in _table("published_checks.csv")
    )
    check_rows(checks)
    return checks


def check_rows(checks: tuple[PublishedCheck, ...]) -> None:
    """Refuse a table with a listed set-up missing, a row twice, or a band without its value."""
    missing = [one for one in LISTED_IDS if one not in {check.id for check in checks}]
    if missing:
        raise InvalidInput(
            f"The table of published checks has no row for {', '.join(missing)}; every listed "
            "set-up needs at least one."
        )
    keys = [check.key for check in checks]
    for check in checks:
        if keys.count(check.key) > 1:
            raise InvalidInput(f"{check.id} {check.quantity} has two rows; keep one.")
        middle = check.low if check.value is None else check.value
        if not check.low <= middle <= check.high:
            raise InvalidInput(
                f"{check.id} {check.quantity}: {middle:g} lies outside its own band "
                f"{check.low:g} to {check.high:g}."
            )


@lru_cache(maxsize=1)
def known_misses() -> dict[tuple[str, str], KnownMiss]:
    """Reasons of the checks that fail at present, from `data/published_misses.csv`."""
    return {
        (row["id"], row["quantity"]): KnownMiss(row["reason"], row["remedy"])
        for row in _table("published_misses.csv")
    }
