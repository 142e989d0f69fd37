"""Compute what is inside a bin and keep it, for pages that only ever show what is kept."""

import dataclasses
import json
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from slowfire.errors import SlowfireError
from slowfire.journal import joblog
from slowfire.journal.store import Kept, open_store
from slowfire.services.checkpoints import model_version
from slowfire.services.inside import inside_and_series

QUICK, THOROUGH = "quick", "thorough"
INSIDE, SERIES = "inside", "series"
TELL_SECONDS = 0.25  # between two words on progress


class Stopped(SlowfireError):
    """Work that was told to stop."""


def refresh(folder: str, number: int, gear: str, bin_name: str) -> None:
    """Do one job: estimate a bin and store what came of it.

    Parameters
    ----------
    folder : str
        The app's data folder [-].
    number : int
        Of the job [-].
    gear : str
        quick or thorough [-].
    bin_name : str
        Which bin [-].

    Notes
    -----
    Meant for a process of its own; whatever goes wrong is written into the job.
    """
    with open_store(folder) as store:
        if not joblog.begin(store, number):
            return
        last = 0.0

        def progress(share: float) -> None:
            nonlocal last
            now = time.monotonic()
            if now - last < TELL_SECONDS:
                return
            last = now
            if not joblog.go_on(store, number, share):
                raise Stopped("stopped")

        try:
            revision = store.revision()
            for kept in computed(folder, bin_name, gear, revision, progress):
                store.put_result(kept)
        except Stopped:
            joblog.end(store, number, joblog.STOPPED)
        except SlowfireError as problem:
            joblog.end(store, number, joblog.FAILED, " ".join(str(problem).split()))
        else:
            joblog.end(store, number, joblog.DONE)
        finally:
            # whatever else went wrong is told by the process; the job must not stay open
            joblog.close(store, number, "the estimate broke off; see the log")


def computed(
    folder: str | Path,
    bin_name: str,
    gear: str,
    revision: int,
    progress: Callable[[float], None] | None = None,
    now: datetime | None = None,
    at: str | None = None,
) -> tuple[Kept, ...]:
    """Everything that pages show of a bin.

    Parameters
    ----------
    folder : str or Path
        The app's data folder, or one of text [-].
    bin_name : str
        Which bin [-].
    gear : str
        quick or thorough [-].
    revision : int
        Of the journal it is computed from [-].
    progress : callable or None
        Called with the share done, 0 to 1 [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].
    at : str or None
        As in `inside`.

    Returns
    -------
    tuple of Kept

    Raises
    ------
    SlowfireError
        As `inside`.
    """
    now = datetime.now(UTC) if now is None else now
    model = model_version()
    result, series = inside_and_series(
        folder, bin_name, at, thorough=gear == THOROUGH, progress=progress, now=now
    )
    made: list[tuple[str, Any]] = [(INSIDE, result), (SERIES, series)]
    return tuple(
        Kept(kind, bin_name, revision, model, now, json.dumps(dataclasses.asdict(value)))
        for kind, value in made
    )
