"""Long work beside the app: asked for, done in a process of its own, watched and stopped."""

import logging
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from datetime import UTC, datetime
from multiprocessing import resource_tracker
from multiprocessing.connection import Connection, wait
from typing import Any, ParamSpec, TypeVar

from slowfire.journal import joblog
from slowfire.journal.joblog import Job
from slowfire.journal.store import Store
from slowfire.services.backup import backup_due, keep_backups
from slowfire.services.mix_in_bin import mix_in_bin, question_kind
from slowfire.services.refresh import QUICK, THOROUGH, refresh

IDLE_SECONDS = 600.0
LOG = logging.getLogger("slowfire.jobs")
P = ParamSpec("P")
T = TypeVar("T")


class Jobs:
    """Work on one journal, one piece at a time.

    Parameters
    ----------
    store : Store
        The journal [-].
    executor : Executor
        Where work runs; processes, so that pages stay quick [-].
    idle_seconds : float
        After a quick estimate, nothing asked for so long means that there is time for a thorough
        one [s].
    """

    def __init__(
        self, store: Store, executor: Executor, idle_seconds: float = IDLE_SECONDS
    ) -> None:
        self.store = store
        self.executor = executor
        self.idle_seconds = idle_seconds
        self.began = datetime.now(UTC)
        self._closed = False
        self._idle: threading.Timer | None = None
        self._backup: Future[Any] | None = None
        joblog.mend(store)

    def refresh(self, bin_name: str, thorough: bool = False) -> Job:
        """Ask for a new estimate of a bin, and for a backup if one is due.

        What runs for an older journal is stopped, and what is thorough makes way for what is quick.

        Parameters
        ----------
        bin_name : str
            Which bin [-].
        thorough : bool
            Whether to take more time for it [-].

        Returns
        -------
        Job
            That waits or runs already.
        """
        self._stop_waiting_for_idle()
        self.keep_safe()
        kind = THOROUGH if thorough else QUICK
        job = joblog.ask(self.store, kind, bin_name)
        if not thorough:
            joblog.make_way(self.store, THOROUGH, job.revision)
        if job.state == joblog.WAITING:
            self._begin(job)
        return job

    def mix(self, bin_name: str, items: Sequence[str], at_hand: Sequence[str]) -> Job:
        """Ask for a load to be judged in its bin.

        Parameters
        ----------
        bin_name : str
            Which bin [-].
        items, at_hand : sequence of str
            As in `services.mix.mix` [-].

        Returns
        -------
        Job
            That waits or runs already.
        """
        self._stop_waiting_for_idle()
        job = joblog.ask(self.store, question_kind(items, at_hand), bin_name)
        joblog.make_way(self.store, THOROUGH, job.revision + 1)
        if job.state == joblog.WAITING:
            done = self._submit(
                mix_in_bin, str(self.store.folder), job.number, bin_name, items, at_hand
            )
            done.add_done_callback(self._told)
        return job

    def when_idle(self, bin_name: str) -> Job | None:
        """Ask for a thorough estimate if there is time and need for one.

        Parameters
        ----------
        bin_name : str
            Which bin [-].

        Returns
        -------
        Job or None
            None if something waits or runs, or a thorough one was made since the last entry.
        """
        done = joblog.newest(self.store, bin_name, THOROUGH, joblog.DONE)
        made = done is not None and done.revision == self.store.revision()
        if made or joblog.open_jobs(self.store):
            return None
        return self.refresh(bin_name, thorough=True)

    def keep_safe(self) -> None:
        """Begin a backup if one is due: none of this day yet, or 200 entries since the last."""
        folder = self.store.folder
        if self._backup is not None and not self._backup.done():
            return
        if self.store.engine.dialect.name == "sqlite" and backup_due(folder):
            self._backup = self._submit(keep_backups, folder)
            self._backup.add_done_callback(self._told)

    def newest(self, bin_name: str, kind: str | None = None) -> Job | None:
        """The last estimate asked for of a bin, or the last work of another kind."""
        if kind is not None:
            return joblog.newest(self.store, bin_name, kind)
        found = [joblog.newest(self.store, bin_name, one) for one in (QUICK, THOROUGH)]
        there = [one for one in found if one is not None]
        return max(there, key=lambda one: one.number) if there else None

    def ended(self, bin_name: str) -> bool:
        """Whether the last estimate asked for ended, however it did, with nothing changed since.

        Asking again would lead to the same end. What an earlier run of the app left behind does not
        count: it may have been broken off from outside.
        """
        job = self.newest(bin_name)
        return (
            job is not None
            and not job.open
            and job.made >= self.began
            and job.revision == self.store.revision()
        )

    def stop(self, number: int) -> None:
        """Tell a piece of work to stop."""
        joblog.cancel(self.store, number)

    def close(self) -> None:
        """Begin nothing more, and end a process of its own with what it computes."""
        self._closed = True
        self._stop_waiting_for_idle()
        if isinstance(self.executor, OwnProcess):
            self.executor.end()

    def _begin(self, job: Job) -> None:
        done = self._submit(refresh, str(self.store.folder), job.number, job.kind, job.bin)

        def ended(future: "Future[Any]") -> None:
            self._told(future)
            joblog.close(self.store, job.number, "broken off")
            now = joblog.job(self.store, job.number)
            if job.kind == QUICK and now is not None and now.state == joblog.DONE:
                self._wait_for_idle(job.bin)

        done.add_done_callback(ended)

    def _submit(self, call: Callable[..., Any], *arguments: Any) -> "Future[Any]":
        try:
            return self.executor.submit(call, *arguments)
        except BrokenProcessPool:
            # the process was killed, perhaps for want of memory; the next one may live
            LOG.warning("the process for estimates was gone; a new one is started")
            self.executor = OwnProcess()
            return self.executor.submit(call, *arguments)

    def _told(self, done: "Future[Any]") -> None:
        problem = None if done.cancelled() else done.exception()
        if problem is not None and not self._closed:
            LOG.error("work beside the app broke off", exc_info=problem)

    def _wait_for_idle(self, bin_name: str) -> None:
        self._stop_waiting_for_idle()
        self._idle = threading.Timer(self.idle_seconds, self.when_idle, (bin_name,))
        self._idle.daemon = True
        self._idle.start()

    def _stop_waiting_for_idle(self) -> None:
        if self._idle is not None:
            self._idle.cancel()


class OwnProcess(ProcessPoolExecutor):
    """One process for estimates; it ends when told, or with the app, however that ends."""

    def __init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        # nothing is ever sent: the other side hears when this end is gone
        self._heard, self._held = context.Pipe(duplex=False)
        super().__init__(1, mp_context=context, initializer=_listen, initargs=(self._heard,))

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> "Future[T]":
        """As for any executor; a process that starts meanwhile does not hear Ctrl+C."""
        with _deaf():
            return super().submit(fn, *args, **kwargs)

    def end(self) -> None:
        """End it at once; what it computes is lost."""
        self._held.close()
        self.shutdown(wait=True, cancel_futures=True)
        self._heard.close()


@contextmanager
def _deaf() -> Iterator[None]:
    """Hold Ctrl+C back in this thread, where that can be done; what starts then inherits it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    # started by itself, or it would lift the block again
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _listen(heard: Connection) -> None:
    """Leave with the app, even if it was killed and could say nothing; Ctrl+C is for the app."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)

    def follow() -> None:
        wait([heard])
        os._exit(0)

    threading.Thread(target=follow, daemon=True).start()
