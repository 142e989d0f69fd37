"""Compute what is inside a bin and keep it, for pages that only ever show what is kept."""

import dataclasses
import json
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import uuid4

from slowfire.errors import InvalidInput, SlowfireError
from slowfire.journal import joblog
from slowfire.journal.store import Kept, Store, open_store
from slowfire.records import Entry
from slowfire.services.checkpoints import QUICK as SHORT
from slowfire.services.checkpoints import THOROUGH as LONG
from slowfire.services.checkpoints import model_version
from slowfire.services.inside import InsideResult, inside_everything
from slowfire.services.kept_results import result_of
from slowfire.services.layers import layers_of
from slowfire.services.today import given_advice, today

QUICK, THOROUGH = "quick", "thorough"
INSIDE, SERIES, LAYERS = "inside", "series", "layers"
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
        if not joblog.begin(store, number, "reading what was written"):
            return
        last = 0.0
        members = (LONG if gear == THOROUGH else SHORT).members
        words = f"following {members} likely bins through what was written"

        def progress(share: float) -> None:
            nonlocal last
            now = time.monotonic()
            if now - last < TELL_SECONDS:
                return
            last = now
            if not joblog.go_on(store, number, share, words):
                raise Stopped("stopped")

        try:
            revision = store.revision()
            for kept in computed(folder, bin_name, gear, revision, progress):
                store.put_result(kept)
            write_given(store, bin_name)
        except Stopped:
            joblog.end(store, number, joblog.STOPPED)
        except SlowfireError as problem:
            joblog.end(store, number, joblog.FAILED, " ".join(str(problem).split()))
        else:
            joblog.end(store, number, joblog.DONE)
        finally:
            # whatever else went wrong is told by the process; the job must not stay open
            joblog.close(store, number, "the estimate broke off; see the log")


def write_given(store: Store, bin_name: str, now: datetime | None = None) -> Entry | None:
    """Write down the advice that the last estimate leads to, so that it stands and is scored.

    Parameters
    ----------
    store : Store
        The journal [-].
    bin_name : str
        Which bin [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].

    Returns
    -------
    Entry or None
        None if there is nothing to do, or the advice stands already.
    """
    kept = store.result(INSIDE, bin_name)
    if kept is None:
        return None
    try:
        result = result_of(InsideResult, kept.payload)
    except InvalidInput:
        return None
    now = datetime.now(UTC) if now is None else now
    entries = [one for one in store.entries() if one.bin in ("", bin_name)]
    advice = given_advice(today(store.site(), entries, result, now))
    if advice is None:
        return None
    entry = Entry(uuid4(), bin_name, now, advice, now)
    store.append([entry])
    return entry


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
    found, result, series = inside_everything(
        folder, bin_name, at, thorough=gear == THOROUGH, progress=progress, now=now
    )
    made: list[tuple[str, Any]] = [(INSIDE, result), (SERIES, series), (LAYERS, layers_of(found))]
    return tuple(
        Kept(kind, bin_name, revision, model, now, json.dumps(dataclasses.asdict(value)))
        for kind, value in made
    )
