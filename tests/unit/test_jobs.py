"""Long work: asked for once, told to stop, mended after a crash."""

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest

from slowfire import records as r
from slowfire.jobs import Jobs, OwnProcess
from slowfire.journal import joblog
from slowfire.journal.store import open_store
from slowfire.services import refresh as work
from slowfire.services.checkpoints import QUICK as SHORT

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


def test_a_thorough_run_makes_way_for_what_was_written(store):
    jobs = Jobs(store, Waiting())
    long_one = jobs.refresh("Box", thorough=True)
    assert joblog.begin(store, long_one.number)
    store.append([stirred()])
    jobs.refresh("Box")
    assert not joblog.go_on(store, long_one.number, 0.1)


def test_thorough_only_when_nothing_else_is_to_do_and_once_a_revision(store, monkeypatch):
    monkeypatch.setattr(work, "computed", lambda *_: ())
    executor = Waiting()
    jobs = Jobs(store, executor)
    jobs.refresh("Box")
    assert jobs.when_idle("Box") is None
    executor.run()
    idle = jobs.when_idle("Box")
    assert idle.kind == work.THOROUGH
    executor.run()
    assert joblog.job(store, idle.number).state == joblog.DONE
    assert jobs.when_idle("Box") is None
    store.append([stirred()])
    assert jobs.when_idle("Box").revision == store.revision()


def test_after_a_quiet_while_a_thorough_one_follows_the_quick_one(store, monkeypatch):
    monkeypatch.setattr(work, "computed", lambda *_: ())
    with ThreadPoolExecutor(1) as pool:
        jobs = Jobs(store, pool, idle_seconds=0.01)
        jobs.refresh("Box")
        for _ in range(200):
            done = joblog.newest(store, "Box", work.THOROUGH, joblog.DONE)
            if done is not None:
                break
            time.sleep(0.05)
        assert done is not None
        jobs.close()


def test_a_job_is_followed_until_it_ends(store, monkeypatch):
    monkeypatch.setattr(work, "TELL_SECONDS", 0.0)

    def computed(folder, bin_name, gear, revision, progress):
        for share in (0.2, 0.6):
            progress(share)
            time.sleep(0.1)
        return ()

    monkeypatch.setattr(work, "computed", computed)
    with ThreadPoolExecutor(1) as pool:
        job = Jobs(store, pool).refresh("Box")
        heard = list(joblog.told(store, job.number, pause=0.01))
    assert heard[-1].state == joblog.DONE
    assert any(f"following {SHORT.members} likely bins" in one.words for one in heard)
    shares = [one.share for one in heard]
    assert shares == sorted(shares)
    assert list(joblog.told(store, 10_000)) == []


def test_a_job_that_says_nothing_is_left(store):
    job = Jobs(store, Waiting()).refresh("Box")
    heard = list(joblog.told(store, job.number, pause=0.01, patience=0.1))
    assert [one.state for one in heard] == [joblog.WAITING]


def test_what_breaks_off_unseen_is_closed(store, monkeypatch):
    def computed(*_):
        raise ZeroDivisionError

    monkeypatch.setattr(work, "computed", computed)
    with ThreadPoolExecutor(1) as pool:
        job = Jobs(store, pool).refresh("Box")
        assert list(joblog.told(store, job.number, pause=0.01))[-1].state == joblog.FAILED


def test_old_jobs_are_forgotten(store, monkeypatch):
    monkeypatch.setattr(joblog, "MOST_KEPT", 3)
    numbers = []
    for _ in range(6):
        numbers.append(joblog.ask(store, work.QUICK, "Box").number)
        joblog.end(store, numbers[-1], joblog.DONE)
    there = [one for one in numbers if joblog.job(store, one) is not None]
    assert there == numbers[-3:]


def test_a_backup_is_begun_with_the_first_entry_of_a_day(store):
    with ThreadPoolExecutor(1) as pool:
        jobs = Jobs(store, pool)
        jobs.keep_safe()
    assert len(list((store.folder / "backups").glob("slowfire-*.zip"))) == 1


def test_a_killed_process_is_replaced(store):
    first = OwnProcess()
    jobs = Jobs(store, first)
    os.kill(first.submit(os.getpid).result(), signal.SIGKILL)
    with suppress(BrokenProcessPool):
        first.submit(os.getpid).result()
    job = jobs.refresh("Box")
    heard = list(joblog.told(store, job.number))
    jobs.executor.shutdown()
    assert jobs.executor is not first
    # nothing was ever fed, so it says what is missing
    assert heard[-1].state == joblog.FAILED
    assert heard[-1].words not in ("", "broken off")


STARTER = """
import os, sys, time
from slowfire.jobs import OwnProcess
if __name__ == "__main__":
    own = OwnProcess()
    print(own.submit(os.getpid).result(), flush=True)
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


def test_ctrl_c_is_left_to_the_app():
    own = OwnProcess()
    worker = own.submit(os.getpid).result()
    slow = own.submit(time.sleep, 0.5)
    os.kill(worker, signal.SIGINT)
    assert slow.result() is None
    own.end()


def test_closing_does_not_wait_for_work_and_says_nothing(store, caplog):
    own = OwnProcess()
    jobs = Jobs(store, own)
    assert own.submit(os.getpid).result() > 0
    slow = jobs._submit(time.sleep, 60.0)
    slow.add_done_callback(jobs._told)
    while not slow.running():
        time.sleep(0.01)
    began = time.monotonic()
    jobs.close()
    assert time.monotonic() - began < 30.0
    assert isinstance(slow.exception(), BrokenProcessPool)
    assert caplog.records == []


INTERRUPTED = """
import time
from slowfire.jobs import OwnProcess
if __name__ == "__main__":
    own = OwnProcess()
    try:
        own.submit(time.sleep, 60.0)
        print("begun", flush=True)
        time.sleep(60.0)
    except KeyboardInterrupt:
        own.end()
"""


def test_ctrl_c_at_once_ends_in_silence(tmp_path):
    script = tmp_path / "interrupted.py"
    script.write_text(INTERRUPTED)
    app = subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    assert app.stdout.readline() == "begun\n"
    os.killpg(app.pid, signal.SIGINT)
    _, said = app.communicate(timeout=60)
    assert (app.returncode, said) == (0, "")
