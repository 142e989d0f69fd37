"""Run the set-ups as ensembles over what their sources leave open, and judge every row."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column.parameters import Parameters
from slowfire.errors import InvalidInput, UnknownName
from slowfire.published.checks import PublishedCheck, known_misses
from slowfire.published.set_ups import SET_UPS
from slowfire.published.trial import SetUp

MEMBERS = 24
INTERVAL = (5.0, 95.0)  # percentiles of our interval

Run = Callable[[], dict[str, float]]
RunMany = Callable[[Sequence[Run]], Iterable[dict[str, float]]]


@dataclass(frozen=True)
class Judged:
    """One published number beside ours.

    Attributes
    ----------
    check : PublishedCheck
        The row.
    value : float
        Median of the ensemble [in the unit of the row].
    interval_low, interval_high : float
        5th and 95th percentile [in the unit of the row].
    share_in_band : float
        Of the members [-].
    passed : bool
        Whether the median lies in the band.
    reason : str
        Why it does not; empty when passed.
    """

    check: PublishedCheck
    value: float
    interval_low: float
    interval_high: float
    share_in_band: float
    passed: bool
    reason: str


def in_turn(runs: Sequence[Run]) -> Iterable[dict[str, float]]:
    """Run one after the other."""
    return (run() for run in runs)


def set_up_named(name: str) -> SetUp:
    """The set-up of an id.

    Raises
    ------
    UnknownName
        With the ids there are.
    """
    if name not in SET_UPS:
        raise UnknownName(f"There is no set-up '{name}'; known are {', '.join(SET_UPS)}.")
    return SET_UPS[name]


def run_set_up(
    set_up: SetUp,
    parameters: Parameters,
    members: int = MEMBERS,
    seed: int = 1,
    run_many: RunMany = in_turn,
) -> dict[str, FloatArray]:
    """Every quantity of a set-up for every member.

    Parameters
    ----------
    set_up : SetUp
        Which experiment.
    parameters : Parameters
        One set for all members.
    members, seed : int
        Size of the ensemble and its seed [-].
    run_many : callable
        Runs a list of calls, in threads if it likes, and returns their results in order.

    Returns
    -------
    dict of ndarray, shape (members,)
        By quantity.
    """

    def call(values: dict[str, float]) -> Run:
        return lambda: set_up.run(parameters, values)

    found = list(run_many([call(values) for values in set_up.draws(members, seed)]))
    return {name: np.array([one[name] for one in found]) for name in found[0]}


def judge(check: PublishedCheck, values: FloatArray) -> Judged:
    """Hold an ensemble against the band of a row: it passes when the median lies inside.

    Raises
    ------
    InvalidInput
        If a value is not a number; infinite stands for 'never'.
    """
    if values.size == 0 or np.isnan(values).any():
        raise InvalidInput(f"{check.id} {check.quantity} gave no number for every member.")
    ordered = np.sort(values)

    def percentile(share: float) -> float:
        return float(ordered[round(share / 100.0 * (ordered.size - 1))])

    half = (ordered.size - 1) // 2
    value = float(0.5 * (ordered[half] + ordered[ordered.size // 2]))
    passed = bool(check.low <= value <= check.high)
    reason = ""
    if not passed:
        side = "below" if value < check.low else "above"
        miss = known_misses().get(check.key)
        reason = f"{side} the band: " + (
            f"{miss.reason} {miss.remedy}"
            if miss
            else f"no reason is written down; with fewer than {MEMBERS} bins it may be chance."
        )
    inside = (values >= check.low) & (values <= check.high)
    return Judged(
        check,
        value,
        percentile(INTERVAL[0]),
        percentile(INTERVAL[1]),
        float(inside.mean()),
        passed,
        reason,
    )


def verify(
    checks: Sequence[PublishedCheck],
    parameters: Parameters,
    members: int = MEMBERS,
    seed: int = 1,
    run_many: RunMany = in_turn,
    progress: Callable[[str, int, int], None] | None = None,
) -> list[Judged]:
    """Run the set-ups of some rows and judge each row, in their order.

    Raises
    ------
    InvalidInput
        If a set-up does not give a quantity that a row asks for.
    """
    names = list(dict.fromkeys(check.id for check in checks))
    found: dict[str, dict[str, FloatArray]] = {}
    for place, name in enumerate(names):
        if progress is not None:
            progress(name, place, len(names))
        found[name] = run_set_up(set_up_named(name), parameters, members, seed, run_many)
    judged = []
    for check in checks:
        if check.quantity not in found[check.id]:
            raise InvalidInput(f"The set-up {check.id} does not give {check.quantity}.")
        judged.append(judge(check, found[check.id][check.quantity]))
    return judged
