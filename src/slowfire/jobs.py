"""Long work beside the app: asked for, done in a process of its own, watched and stopped."""

import logging
import multiprocessing
import os
import threading
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from multiprocessing.connection import wait
from pathlib import Path
from typing import Any

from slowfire.journal import joblog
from slowfire.journal.joblog import Job
from slowfire.journal.store import Store
from slowfire.services.refresh import QUICK, THOROUGH, refresh

LOG = logging.getLogger("slowfire.jobs")


class Jobs:
    """Work on one journal, one piece at a time.

    Parameters
    ----------
    store : Store
        The journal [-].
    executor : Executor
        Where work runs; processes, so that pages stay quick [-].
    """

    def __init__(self, store: Store, executor: Executor) -> None:
        self.store = store
        self.executor = executor
        joblog.mend(store)

    def refresh(self, bin_name: str, thorough: bool = False) -> Job:
        """Ask for a new estimate of a bin; what runs for an older journal is stopped."""
        kind = THOROUGH if thorough else QUICK
        job = joblog.ask(self.store, kind, bin_name)
        if job.state == joblog.WAITING:
            done = self.executor.submit(
                refresh, str(Path(self.store.folder)), job.number, kind, bin_name
            )
            done.add_done_callback(_told)
        return job

    def newest(self, bin_name: str) -> Job | None:
        """The last work asked for of a bin."""
        return joblog.newest(self.store, bin_name)

    def stop(self, number: int) -> None:
        """Tell a piece of work to stop."""
        joblog.cancel(self.store, number)


def own_process() -> ProcessPoolExecutor:
    """A process for estimates that ends with the one that started it, however that ends."""
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(1, mp_context=context, initializer=_end_with_parent)


def _end_with_parent() -> None:
    """Leave with the app, even if it was killed and could say nothing."""
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def follow() -> None:
        wait([parent.sentinel])
        os._exit(0)

    threading.Thread(target=follow, daemon=True).start()


def _told(done: "Future[Any]") -> None:
    problem = None if done.cancelled() else done.exception()
    if problem is not None:
        LOG.error("an estimate broke off", exc_info=problem)
