"""Hold the model against published measurements."""

import os
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from slowfire.column.parameters import Parameters, default_parameters
from slowfire.errors import InvalidInput, UnknownName
from slowfire.published.checks import LISTED_IDS, PublishedCheck, read_checks
from slowfire.published.verify import MEMBERS, Judged, Run, verify

MOST_MEMBERS = 1000
# What the project promises of its own table.
PROMISED_IN_CALIBRATION = 0.75
PROMISED_HELD_OUT = 0.50


@dataclass(frozen=True)
class CheckRow:
    """One published number beside ours; `low` and `high` are the band, `value` our median."""

    id: str
    quantity: str
    unit: str
    meaning: str
    printed: float | None
    low: float
    high: float
    value: float
    interval_low: float
    interval_high: float
    share_in_band: float
    held_out: bool
    passed: bool
    reason: str
    source: str
    basis: str


@dataclass(frozen=True)
class Tally:
    """How many rows pass of how many."""

    passed: int
    rows: int
    promised_share: float

    @property
    def kept(self) -> bool:
        """Whether the promised share passes."""
        return self.passed >= self.promised_share * self.rows


@dataclass(frozen=True)
class VerifyResult:
    """The table of published checks with its tallies, shared by text and JSON."""

    checks: tuple[CheckRow, ...]
    in_calibration: Tally
    held_out: Tally
    members: int
    whole_table: bool

    @property
    def promise_kept(self) -> bool:
        """Whether enough rows pass; parts of the table promise nothing."""
        return not self.whole_table or (self.in_calibration.kept and self.held_out.kept)


def in_threads(runs: Sequence[Run]) -> Iterable[dict[str, float]]:
    """Run in as many threads as there are processors; the kernel lets go of the lock."""
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        return list(pool.map(lambda run: run(), runs))


def verify_model(
    only: Sequence[str] = (),
    members: int = MEMBERS,
    parameters: Parameters | None = None,
    progress: Callable[[float], None] | None = None,
) -> VerifyResult:
    """Run the set-ups of published measurements and judge every row.

    Parameters
    ----------
    only : sequence of str
        Ids of set-ups; all unless given [-].
    members : int
        Members of each ensemble, 1 to 1000 [-].
    parameters : Parameters or None
        The set that ships unless given.
    progress : callable or None
        Told the share done.

    Returns
    -------
    VerifyResult
        Every row in the order of the table.

    Raises
    ------
    InvalidInput
        If the table lacks a listed id, or `members` is out of range.
    UnknownName
        If `only` names an id that is not listed.
    """
    if not 1 <= members <= MOST_MEMBERS:
        raise InvalidInput(f"Members is {members}; allowed is 1 to {MOST_MEMBERS}.")
    checks = _chosen(only)

    def tell(_name: str, place: int, count: int) -> None:
        if progress is not None:
            progress(place / count)

    judged = verify(
        checks, parameters or default_parameters(), members, run_many=in_threads, progress=tell
    )
    rows = tuple(_row(one) for one in judged)
    return VerifyResult(
        rows,
        _tally([row for row in rows if not row.held_out], PROMISED_IN_CALIBRATION),
        _tally([row for row in rows if row.held_out], PROMISED_HELD_OUT),
        members,
        not only,
    )


def _chosen(only: Sequence[str]) -> list[PublishedCheck]:
    by_folded = {one.casefold(): one for one in LISTED_IDS}
    wanted = []
    for word in only:
        found = by_folded.get(word.strip().casefold())
        if found is None:
            raise UnknownName(f"There is no set-up '{word}'; use one of {', '.join(LISTED_IDS)}.")
        wanted.append(found)
    return [check for check in read_checks() if not wanted or check.id in wanted]


def _row(judged: Judged) -> CheckRow:
    check = judged.check
    return CheckRow(
        check.id,
        check.quantity,
        check.unit,
        check.meaning,
        check.value,
        check.low,
        check.high,
        judged.value,
        judged.interval_low,
        judged.interval_high,
        judged.share_in_band,
        check.held_out,
        judged.passed,
        judged.reason,
        check.source,
        check.basis,
    )


def _tally(rows: Sequence[CheckRow], promised: float) -> Tally:
    return Tally(sum(row.passed for row in rows), len(rows), promised)
