"""Backups that make and keep themselves, and that come back without loss."""

import io
import sqlite3
import threading
import zipfile
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from PIL import Image

from slowfire import records as r
from slowfire.errors import InvalidInput, JournalError, SlowfireError
from slowfire.journal import joblog, read_journal
from slowfire.journal.store import open_store
from slowfire.services import backup as safe
from slowfire.services import transfer

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)


@pytest.fixture
def data(tmp_path):
    journal = read_journal("examples/courtyard")
    with open_store(tmp_path / "data") as store:
        store.set_site(journal.site)
        store.append(journal.entries)
    return tmp_path / "data"


def stirred(minutes=0):
    return r.Entry(uuid4(), "Drum", NOON + timedelta(minutes=minutes), r.Stir())


def names(data):
    return sorted(one.name for one in (data / "backups").iterdir())


def test_a_backup_brings_everything_back(data, tmp_path):
    out = io.BytesIO()
    Image.new("RGB", (5, 5)).save(out, "PNG")
    with open_store(data) as store:
        digest = store.add_photo(out.getvalue())
    (data / "weather.csv").write_text("when,temperature_celsius\n", encoding="utf-8")
    before = read_journal(data)
    made = safe.backup(data, tmp_path / "safe.zip")
    assert made.entries == len(before.entries)
    with sqlite3.connect(data / "journal.db") as connection:
        connection.execute("DELETE FROM entries")
    (data / "photos" / f"{digest}.png").unlink()
    (data / "weather.csv").unlink()
    assert not read_journal(data).entries
    safe.restore(data, tmp_path / "safe.zip", now=NOON)
    assert read_journal(data) == before
    assert (data / "photos" / f"{digest}.png").read_bytes() == out.getvalue()
    assert (data / "weather.csv").exists()
    # what was there before is kept as well
    assert names(data) == ["before-restore-2026-03-14-120000.zip"]


def test_what_a_restore_replaced_can_be_brought_back(data, tmp_path):
    safe.backup(data, tmp_path / "safe.zip")
    with open_store(data) as store:
        store.append([stirred()])
    after = read_journal(data)
    safe.restore(data, tmp_path / "safe.zip", now=NOON)
    assert read_journal(data) != after
    undo = data / "backups" / names(data)[0]
    safe.restore(data, undo, now=NOON)
    assert read_journal(data) == after
    assert len(names(data)) == 2


def test_a_restore_into_an_empty_folder(data, tmp_path):
    safe.backup(data, tmp_path / "safe.zip")
    safe.restore(tmp_path / "fresh", tmp_path / "safe.zip")
    assert read_journal(tmp_path / "fresh") == read_journal(data)
    assert not (tmp_path / "fresh" / "backups").exists()


def test_an_open_app_goes_on_with_what_was_restored(data, tmp_path):
    """Nothing it is told is kept may go into a file that is gone."""
    safe.backup(data, tmp_path / "safe.zip")
    with open_store(data) as app:
        app.append([stirred()])
        seen = app.entries()
        job = joblog.ask(app, "quick", "Drum")
        safe.restore(data, tmp_path / "safe.zip", now=NOON)
        assert len(app.entries()) == len(seen) - 1
        assert not joblog.go_on(app, job.number, 0.5)
        later = stirred(5)
        app.append([later])
    assert read_journal(data).entries[-1] == later


def test_a_damaged_journal_is_moved_aside(data, tmp_path):
    before = read_journal(data)
    safe.backup(data, tmp_path / "safe.zip")
    (data / "journal.db").write_bytes(b"not a database at all, but long enough" * 100)
    with pytest.raises(JournalError, match="damaged"):
        safe.backup(data, tmp_path / "other.zip")
    assert not (tmp_path / "other.zip").exists()
    done = safe.restore(data, tmp_path / "safe.zip", now=NOON)
    assert "damaged journal" in done.words
    assert read_journal(data) == before
    assert (data / "backups" / "damaged-2026-03-14-120000" / "journal.db").exists()


def test_a_backup_taken_while_others_write_is_whole(data, tmp_path):
    stop = threading.Event()

    def write():
        with open_store(data) as store:
            while not stop.is_set():
                store.append([stirred(), stirred()])

    writer = threading.Thread(target=write)
    writer.start()
    try:
        made = [safe.backup(data, tmp_path / f"{k}.zip").entries for k in range(5)]
    finally:
        stop.set()
        writer.join()
    start = len(read_journal("examples/courtyard").entries)
    assert made == sorted(made)
    # each append of two is there whole or not at all
    assert all((one - start) % 2 == 0 for one in made)
    safe.restore(tmp_path / "back", tmp_path / "4.zip")
    assert len(read_journal(tmp_path / "back").entries) == made[-1]


def test_what_is_no_backup_is_refused_and_changes_nothing(data, tmp_path):
    before = read_journal(data)
    text = tmp_path / "text.zip"
    text.write_text("nothing")
    outside, strange, hollow = (tmp_path / f"{k}.zip" for k in ("outside", "strange", "hollow"))
    for path, parts in (
        (outside, {"../journal.db": "x"}),
        (strange, {"journal.db": "x", "photos/run.sh": "x"}),
        (hollow, {"journal.db": "x" * 5000}),
    ):
        with zipfile.ZipFile(path, "w") as packed:
            for name, content in parts.items():
                packed.writestr(name, content)
    transfer.export(data, tmp_path / "export.zip")
    for source, says in (
        (text, "no zip file"),
        (outside, "no backup of slowfire"),
        (strange, "no backup of slowfire"),
        (hollow, "cannot be read"),
        (tmp_path / "absent.zip", "There is no file"),
        (tmp_path / "export.zip", "slowfire import"),
    ):
        with pytest.raises((InvalidInput, JournalError), match=says):
            safe.restore(data, source)
    assert read_journal(data) == before
    assert not (data / "backups").exists()
    assert not list(data.glob(".restoring*"))


def test_a_backup_never_takes_the_place_of_a_file(data, tmp_path):
    safe.backup(data, tmp_path / "safe.zip")
    with pytest.raises(JournalError, match="already"):
        safe.backup(data, tmp_path / "safe.zip")
    (tmp_path / "stick").mkdir()
    first = safe.backup(data, tmp_path / "stick", now=NOON)
    second = safe.backup(data, tmp_path / "stick", now=NOON)
    assert first.path != second.path
    assert len(list((tmp_path / "stick").iterdir())) == 2


def test_a_backup_a_day_and_old_ones_thinned(data):
    other = data / "backups" / "slowfire-my own.zip"
    other.parent.mkdir()
    other.write_text("mine")
    for day in range(60):
        assert safe.backup_due(data, NOON + timedelta(days=day))
        assert safe.keep_backups(data, NOON + timedelta(days=day)) is not None
        assert safe.keep_backups(data, NOON + timedelta(days=day, hours=2)) is None
    assert other.exists()
    other.unlink()
    there = names(data)
    assert len(there) <= safe.DAILY + safe.WEEKLY + safe.MONTHLY
    last = (NOON + timedelta(days=59)).strftime("%Y-%m-%d")
    assert there[-1].startswith(f"slowfire-{last}")
    assert there[0].startswith("slowfire-2026-03-31")


def test_many_entries_in_a_day_make_one_more(data):
    safe.keep_backups(data, NOON)
    with open_store(data) as store:
        store.append([stirred(k) for k in range(safe.DUE_ENTRIES - 1)])
        assert not safe.backup_due(data, NOON + timedelta(hours=1))
        store.append([stirred(900)])
    assert safe.keep_backups(data, NOON + timedelta(hours=1)) is not None


def test_a_clock_set_back_loses_no_backup(data):
    for day in range(10):
        safe.keep_backups(data, NOON + timedelta(days=365 + day))
    made = safe.keep_backups(data, NOON)
    assert made is not None
    assert made.exists()
    assert safe.keep_backups(data, NOON + timedelta(hours=1)) is None
    assert made.exists()


def test_restores_leave_the_last_five_of_what_was_there(data, tmp_path):
    safe.backup(data, tmp_path / "safe.zip")
    for minute in range(8):
        safe.restore(data, tmp_path / "safe.zip", now=NOON + timedelta(minutes=minute))
    safe.keep_backups(data, NOON + timedelta(hours=1))
    before = [one for one in names(data) if one.startswith("before-restore")]
    assert len(before) == safe.BEFORE_RESTORE
    assert before[-1] == "before-restore-2026-03-14-120700.zip"


def test_nothing_to_back_up_is_told(tmp_path):
    with pytest.raises(SlowfireError, match="no journal"):
        safe.backup(tmp_path)
    assert safe.keep_backups(tmp_path) is None
    assert not safe.backup_due(tmp_path)
