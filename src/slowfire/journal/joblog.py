"""Long work as rows: what waits, how far it is, and whether it should stop."""

import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import delete, insert, select, update

from slowfire.journal.database import reading, writing
from slowfire.journal.store import Store
from slowfire.journal.tables import JOBS

WAITING, RUNNING, DONE, FAILED, STOPPED = "waiting", "running", "done", "failed", "stopped"
OPEN = (WAITING, RUNNING)
MOST_KEPT = 500  # jobs; older ones tell nobody anything


@dataclass(frozen=True)
class Job:
    """One piece of long work.

    Attributes
    ----------
    number : int
        Rises with each.
    kind, bin : str
        What is computed, and of which bin.
    state : str
        waiting, running, done, failed or stopped.
    share : float
        Done so far, 0 to 1 [-].
    words : str
        What is being done, or what went wrong; for people.
    revision : int
        Of the journal when it was asked for [-].
    made : datetime
        When it was asked for.
    ended : datetime or None
        When it ended.
    cancel : bool
        Whether it should stop.
    """

    number: int
    kind: str
    bin: str
    state: str
    share: float
    words: str
    revision: int
    made: datetime
    ended: datetime | None
    cancel: bool

    @property
    def open(self) -> bool:
        """Whether it waits or runs."""
        return self.state in OPEN


def ask(store: Store, kind: str, bin_name: str, now: datetime | None = None) -> Job:
    """Ask for work; the same work still waiting is taken over, and older runs are told to stop.

    Parameters
    ----------
    store : Store
        The journal [-].
    kind, bin_name : str
        What, and of which bin [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].

    Returns
    -------
    Job
        That waits, or that runs for the same revision already.
    """
    revision = store.revision()
    same = (JOBS.c.kind == kind) & (JOBS.c.bin == bin_name) & JOBS.c.state.in_(OPEN)
    with writing(store.engine) as connection:
        there = connection.execute(select(JOBS).where(same)).mappings().all()
        for row in there:
            if row["revision"] == revision and not row["cancel"]:
                return Job(**row)
        if there:
            stop = same & (JOBS.c.state == WAITING)
            ended = {"state": STOPPED, "ended": now or datetime.now(UTC)}
            connection.execute(update(JOBS).where(stop).values(ended))
            running = same & (JOBS.c.state == RUNNING)
            connection.execute(update(JOBS).where(running).values(cancel=True))
        fresh: dict[str, Any] = {
            "kind": kind,
            "bin": bin_name,
            "state": WAITING,
            "share": 0.0,
            "words": "",
            "revision": revision,
            "made": now or datetime.now(UTC),
            "cancel": False,
        }
        key = connection.execute(insert(JOBS).values(fresh)).inserted_primary_key
        number = int(key[0]) if key else 0
        past = (JOBS.c.number <= number - MOST_KEPT) & JOBS.c.state.not_in(OPEN)
        connection.execute(delete(JOBS).where(past))
    return Job(number=number, ended=None, **fresh)


def begin(store: Store, number: int, words: str = "") -> bool:
    """Take a waiting job and say what it does; False if somebody stopped it meanwhile."""
    mine = (JOBS.c.number == number) & (JOBS.c.state == WAITING)
    values = {"state": RUNNING, "words": words}
    with writing(store.engine) as connection:
        return connection.execute(update(JOBS).where(mine).values(values)).rowcount > 0


def go_on(store: Store, number: int, share: float, words: str = "") -> bool:
    """Write how far a job is and what it does; False if it should stop or is gone."""
    mine = JOBS.c.number == number
    values = {"share": min(max(share, 0.0), 1.0), "words": words}
    with writing(store.engine) as connection:
        connection.execute(update(JOBS).where(mine).values(values))
        return connection.execute(select(JOBS.c.cancel).where(mine)).scalar_one_or_none() is False


def make_way(store: Store, kind: str, revision: int) -> None:
    """Stop open jobs of a kind that were asked for before a revision."""
    older = (JOBS.c.kind == kind) & (JOBS.c.revision < revision) & JOBS.c.state.in_(OPEN)
    with reading(store.engine) as connection:
        numbers = connection.execute(select(JOBS.c.number).where(older)).scalars().all()
    for number in numbers:
        cancel(store, number)


def end(store: Store, number: int, state: str, words: str = "") -> None:
    """Write how a job ended."""
    values = {"state": state, "words": words, "ended": datetime.now(UTC)}
    if state == DONE:
        values["share"] = 1.0
    with writing(store.engine) as connection:
        connection.execute(update(JOBS).where(JOBS.c.number == number).values(values))


def close(store: Store, number: int, words: str) -> None:
    """Fail a job that is still open."""
    mine = (JOBS.c.number == number) & JOBS.c.state.in_(OPEN)
    values = {"state": FAILED, "words": words, "ended": datetime.now(UTC)}
    with writing(store.engine) as connection:
        connection.execute(update(JOBS).where(mine).values(values))


def cancel(store: Store, number: int) -> None:
    """Tell a job to stop; one that waits stops at once."""
    mine = JOBS.c.number == number
    stopped = {"state": STOPPED, "cancel": True, "ended": datetime.now(UTC)}
    with writing(store.engine) as connection:
        waiting = mine & (JOBS.c.state == WAITING)
        if connection.execute(update(JOBS).where(waiting).values(stopped)).rowcount == 0:
            connection.execute(update(JOBS).where(mine).values(cancel=True))


def mend(store: Store) -> int:
    """Close jobs that a crash or a switched-off computer broke off; how many there were [-]."""
    values = {"state": FAILED, "words": "broken off", "ended": datetime.now(UTC)}
    with writing(store.engine) as connection:
        return connection.execute(
            update(JOBS).where(JOBS.c.state.in_(OPEN)).values(values)
        ).rowcount


def job(store: Store, number: int) -> Job | None:
    """One job; None if there is none of that number."""
    with reading(store.engine) as connection:
        row = connection.execute(select(JOBS).where(JOBS.c.number == number)).mappings().first()
    return None if row is None else Job(**row)


def open_jobs(store: Store) -> list[Job]:
    """Jobs that wait or run."""
    chosen = select(JOBS).where(JOBS.c.state.in_(OPEN)).order_by(JOBS.c.number)
    with reading(store.engine) as connection:
        return [Job(**row) for row in connection.execute(chosen).mappings()]


def told(store: Store, number: int, pause: float = 0.5, patience: float = 900.0) -> Iterator[Job]:
    """Follow a job: it comes whenever something about it changed, the last time when it ended.

    Parameters
    ----------
    store : Store
        The journal [-].
    number : int
        Of the job [-].
    pause : float
        Between two looks [s].
    patience : float
        After so long without a change it is left [s].
    """
    last: Job | None = None
    changed = time.monotonic()
    while time.monotonic() - changed < patience:
        now = job(store, number)
        if now is None:
            return
        if now != last:
            last, changed = now, time.monotonic()
            yield now
            if not now.open:
                return
        time.sleep(pause)


def newest(
    store: Store, bin_name: str, kind: str | None = None, state: str | None = None
) -> Job | None:
    """The last job asked for of a bin, perhaps only of a kind and state; None if there was none."""
    chosen = select(JOBS).where(JOBS.c.bin == bin_name).order_by(JOBS.c.number.desc()).limit(1)
    if kind is not None:
        chosen = chosen.where(JOBS.c.kind == kind)
    if state is not None:
        chosen = chosen.where(JOBS.c.state == state)
    with reading(store.engine) as connection:
        row = connection.execute(chosen).mappings().first()
    return None if row is None else Job(**row)
