"""A load judged in the bin it goes into: two weeks of simulation, made beside the screens."""

import dataclasses
import hashlib
import json
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from slowfire.errors import InvalidInput, SlowfireError
from slowfire.journal import joblog
from slowfire.journal.store import Kept, Store, open_store
from slowfire.services.checkpoints import model_version
from slowfire.services.kept_results import result_of
from slowfire.services.mix import MixResult, mix

MIX = "mix"
MOST_KEPT = 12


def question_kind(items: Sequence[str], at_hand: Sequence[str]) -> str:
    """Name under which the answer to one question is kept.

    Examples
    --------
    >>> question_kind(["peelings=1 caddy"], ["paper"]) == question_kind(["peelings=1 caddy"], [])
    False
    """
    asked = json.dumps([list(items), list(at_hand)])
    return f"{MIX} {hashlib.sha256(asked.encode()).hexdigest()[:16]}"


def mix_in_bin(
    folder: str, number: int, bin_name: str, items: Sequence[str], at_hand: Sequence[str]
) -> None:
    """Do one job: judge a load in its bin and store what came of it.

    Parameters
    ----------
    folder : str
        The app's data folder [-].
    number : int
        Of the job [-].
    bin_name : str
        Which bin [-].
    items, at_hand : sequence of str
        As in `mix` [-].

    Notes
    -----
    Meant for a process of its own; whatever goes wrong is written into the job.
    """
    with open_store(folder) as store:
        if not joblog.begin(store, number, "trying the load in the bin"):
            return

        def progress(share: float) -> None:
            joblog.go_on(store, number, share, "trying the load in the bin")

        try:
            revision = store.revision()
            result = mix(
                items, at_hand, "loose", journal=folder, bin_name=bin_name, progress=progress
            )
            payload = json.dumps(dataclasses.asdict(result))
            kind = question_kind(items, at_hand)
            now = datetime.now(UTC)
            store.put_result(Kept(kind, bin_name, revision, model_version(), now, payload))
            store.forget_older(f"{MIX} ", MOST_KEPT)
        except SlowfireError as problem:
            joblog.end(store, number, joblog.FAILED, " ".join(str(problem).split()))
        else:
            joblog.end(store, number, joblog.DONE)
        finally:
            joblog.close(store, number, "the trial broke off; see the log")


def answer_kept(
    store: Store, bin_name: str, items: Sequence[str], at_hand: Sequence[str]
) -> MixResult | None:
    """The answer to a question, if it was judged since the last entry.

    Parameters
    ----------
    store : Store
        The journal [-].
    bin_name : str
        Which bin [-].
    items, at_hand : sequence of str
        As in `mix` [-].

    Returns
    -------
    MixResult or None
    """
    kept = store.result(question_kind(items, at_hand), bin_name)
    if kept is None or kept.revision != store.revision():
        return None
    try:
        found: Any = result_of(MixResult, kept.payload)
    except InvalidInput:
        return None
    return found if isinstance(found, MixResult) else None
