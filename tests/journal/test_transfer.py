"""Everything out and in again, and backups that keep themselves in number."""

import sqlite3
import zipfile
from datetime import UTC, datetime, timedelta

import pytest

from slowfire.errors import InvalidInput, SlowfireError
from slowfire.journal import read_journal
from slowfire.journal.store import open_store
from slowfire.services import transfer

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)


@pytest.fixture
def data(tmp_path):
    journal = read_journal("examples/courtyard")
    with open_store(tmp_path / "data") as store:
        store.set_site(journal.site)
        store.append(journal.entries)
    return tmp_path / "data"


def test_out_and_in_again_adds_nothing(data, tmp_path):
    transfer.export_text(data, tmp_path / "text")
    before = read_journal(data)
    assert transfer.import_text(data, tmp_path / "text").new == 0
    assert read_journal(data) == before
    fresh = tmp_path / "fresh"
    assert transfer.import_text(fresh, tmp_path / "text").new == len(before.entries)
    assert read_journal(fresh) == before


def test_a_bad_line_names_its_place_and_writes_nothing(data, tmp_path):
    transfer.export_text(data, tmp_path / "text")
    file = tmp_path / "text" / "entries.csv"
    lines = file.read_text(encoding="utf-8").splitlines()
    lines[5] = lines[5].replace(",load,", ",lode,")
    file.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(SlowfireError, match="line 6"):
        transfer.import_text(tmp_path / "fresh", tmp_path / "text")
    assert not (tmp_path / "fresh" / "journal.db").exists()


def test_a_backup_brings_everything_back(data, tmp_path):
    before = read_journal(data)
    made = transfer.backup(data, tmp_path / "safe.zip")
    assert made.entries == len(before.entries)
    with sqlite3.connect(data / "journal.db") as connection:
        connection.execute("DELETE FROM entries")
    assert not read_journal(data).entries
    transfer.restore(data, tmp_path / "safe.zip", now=NOON)
    assert read_journal(data) == before
    # what was there before is kept as well
    assert len(list((data / "backups").glob("*.zip"))) == 1


def test_what_is_no_backup_is_refused_and_changes_nothing(data, tmp_path):
    before = read_journal(data)
    text = tmp_path / "text.zip"
    text.write_text("nothing")
    other = tmp_path / "other.zip"
    with zipfile.ZipFile(other, "w") as packed:
        packed.writestr("../journal.db", "x")
    for source in (text, other, tmp_path / "absent.zip"):
        with pytest.raises(InvalidInput):
            transfer.restore(data, source)
    assert read_journal(data) == before


def test_a_backup_a_day_and_old_ones_thinned(data):
    for day in range(60):
        transfer.keep_backups(data, NOON + timedelta(days=day))
        assert transfer.keep_backups(data, NOON + timedelta(days=day, hours=2)) is None
    there = sorted(one.stem for one in (data / "backups").glob("*.zip"))
    assert len(there) <= transfer.DAILY + transfer.WEEKLY + transfer.MONTHLY
    last = (NOON + timedelta(days=59)).strftime("%Y-%m-%d")
    assert there[-1].startswith(f"slowfire-{last}")
    assert there[0].startswith("slowfire-2026-03-31")


def test_nothing_to_back_up_is_told(tmp_path):
    with pytest.raises(SlowfireError, match="no journal"):
        transfer.backup(tmp_path)
    assert transfer.keep_backups(tmp_path) is None
