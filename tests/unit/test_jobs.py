"""Long work: asked for once, told to stop, mended after a crash."""

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, Future
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest

from slowfire import records as r
from slowfire.jobs import Jobs
from slowfire.journal import joblog
from slowfire.journal.store import open_store
from slowfire.services import refresh as work

BIN = r.Bin("Box", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90)


class Waiting(Executor):
    """Takes calls and runs them when told."""

    def __init__(self):
        self.calls = []

    def submit(self, call, /, *args, **kwargs):
        self.calls.append((call, args))
        return Future()

    def run(self):
        for call, args in self.calls:
            call(*args)
        self.calls.clear()


@pytest.fixture
def store(tmp_path):
    with open_store(tmp_path) as made:
        made.set_site(r.Site("Yard", "UTC", (BIN,), latitude_degrees=48, longitude_degrees=16))
        yield made


def stirred():
    return r.Entry(uuid4(), "Box", datetime.now(UTC), r.Stir())


def test_the_same_work_is_asked_for_once(store):
    executor = Waiting()
    jobs = Jobs(store, executor)
    assert jobs.refresh("Box").number == jobs.refresh("Box").number


def test_newer_entries_take_over_what_waits(store):
    executor = Waiting()
    jobs = Jobs(store, executor)
    first = jobs.refresh("Box")
    store.append([stirred()])
    second = jobs.refresh("Box")
    assert second.number != first.number
    assert joblog.job(store, first.number).state == joblog.STOPPED


def test_what_runs_for_an_older_journal_is_told_to_stop(store):
    jobs = Jobs(store, Waiting())
    first = jobs.refresh("Box")
    assert joblog.begin(store, first.number)
    store.append([stirred()])
    jobs.refresh("Box")
    assert not joblog.go_on(store, first.number, 0.5)


def test_a_crash_leaves_nothing_open(store):
    first = Jobs(store, Waiting()).refresh("Box")
    joblog.begin(store, first.number)
    Jobs(store, Waiting())
    mended = joblog.job(store, first.number)
    assert mended.state == joblog.FAILED
    assert mended.ended is not None


def test_a_stopped_job_does_not_start(store):
    executor = Waiting()
    jobs = Jobs(store, executor)
    job = jobs.refresh("Box")
    jobs.stop(job.number)
    executor.run()
    assert joblog.job(store, job.number).state == joblog.STOPPED
    assert store.result("inside", "Box") is None


def test_what_cannot_be_estimated_says_why(store):
    executor = Waiting()
    jobs = Jobs(store, executor)
    job = jobs.refresh("Box")
    executor.run()
    ended = joblog.job(store, job.number)
    assert ended.state == joblog.FAILED
    assert len(ended.words) > 10


def test_work_done_is_kept_with_its_revision(store, monkeypatch):
    def computed(folder, bin_name, gear, revision, progress):
        progress(0.5)
        kept = work.Kept("inside", bin_name, revision, "m", datetime.now(UTC), "{}")
        return (kept,)

    monkeypatch.setattr(work, "computed", computed)
    executor = Waiting()
    job = Jobs(store, executor).refresh("Box")
    executor.run()
    assert joblog.job(store, job.number).state == joblog.DONE
    assert store.result("inside", "Box").revision == store.revision()


def test_a_job_told_to_stop_on_its_way_stops(store, monkeypatch):
    def computed(folder, bin_name, gear, revision, progress):
        joblog.cancel(store, joblog.newest(store, bin_name).number)
        progress(0.9)
        return ()

    monkeypatch.setattr(work, "computed", computed)
    monkeypatch.setattr(work, "TELL_SECONDS", 0.0)
    executor = Waiting()
    job = Jobs(store, executor).refresh("Box")
    executor.run()
    assert joblog.job(store, job.number).state == joblog.STOPPED


STARTER = """
import os, sys, time
from slowfire.jobs import own_process
if __name__ == "__main__":
    print(own_process().submit(os.getpid).result(), flush=True)
    time.sleep(60)
"""


@pytest.mark.parametrize("by", [signal.SIGTERM, signal.SIGKILL])
def test_its_process_ends_with_the_app_however_that_ends(tmp_path, by):
    script = tmp_path / "starter.py"
    script.write_text(STARTER)
    app = subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE, text=True)
    worker = int(app.stdout.readline())
    app.send_signal(by)
    app.wait()
    app.stdout.close()
    for _ in range(100):
        if not Path(f"/proc/{worker}").exists():
            return
        time.sleep(0.1)
    os.kill(worker, signal.SIGKILL)
    pytest.fail("the process was left behind")
