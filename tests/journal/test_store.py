"""The journal in a database: nothing twice, nothing lost, nothing half."""

import io
import multiprocessing
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from PIL import Image
from sqlalchemy import event, inspect, text
from sqlalchemy.exc import StatementError

from slowfire import records as r
from slowfire.errors import InvalidInput, JournalError
from slowfire.journal import read_journal, write_journal
from slowfire.journal.database import DATABASE_FILE, MIGRATIONS, copy_database, writing
from slowfire.journal.store import Kept, SiteVersion, holds_store, open_store
from slowfire.journal.tables import METADATA

BIN = r.Bin("Box", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90)
SITE = r.Site(
    "Yard", "Europe/Vienna", (BIN, replace(BIN, name="Second")), (r.Thermometer("dial", "lid"),)
)
MORNING = datetime(2026, 3, 2, 9, tzinfo=UTC)


def stirred(minutes: float = 0.0, **more: object) -> r.Entry:
    return r.Entry(uuid4(), "Box", MORNING + timedelta(minutes=minutes), r.Stir(), **more)


@pytest.fixture
def filled(store):
    store.set_site(SITE)
    return store


def test_the_example_year_comes_back_the_same(store):
    journal = read_journal("examples/courtyard")
    store.set_site(journal.site)
    store.append(journal.entries)
    assert store.journal() == journal


def test_a_folder_of_text_and_the_data_folder_read_alike(tmp_path):
    journal = read_journal("examples/courtyard")
    with open_store(tmp_path / "data") as store:
        store.set_site(journal.site)
        store.append(journal.entries)
    assert holds_store(tmp_path / "data")
    assert read_journal(tmp_path / "data") == journal
    write_journal(read_journal(tmp_path / "data"), tmp_path / "text")
    assert read_journal(tmp_path / "text") == journal


def test_one_entry_sent_fifty_times_is_one(filled):
    entry = stirred()
    first = filled.append([entry])
    assert first.new == (entry.id,)
    revision = filled.revision()
    for _ in range(49):
        assert filled.append([entry]).known == (entry.id,)
    assert filled.entries() == [entry]
    assert filled.revision() == revision


def test_the_same_entry_recorded_later_is_known(filled):
    entry = stirred(recorded=MORNING)
    filled.append([entry])
    assert filled.append([replace(entry, recorded=MORNING + timedelta(hours=1))]).known


def test_an_id_with_other_content_is_refused_and_nothing_is_written(filled):
    entry = stirred()
    filled.append([entry])
    with pytest.raises(InvalidInput, match="sent before with other content"):
        filled.append([stirred(5), replace(entry, note="other")])
    assert filled.entries() == [entry]


def test_a_batch_is_all_or_nothing(filled):
    with pytest.raises(InvalidInput, match="no bin of that name"):
        filled.append([stirred(), replace(stirred(), bin="Nowhere")])
    assert filled.entries() == []


def test_corrections_and_retractions(filled):
    entry = stirred()
    better = replace(stirred(), corrects=entry.id)
    back = r.Entry(uuid4(), "Box", MORNING, None, corrects=better.id, retracts=True)
    filled.append([entry, better, back])
    assert filled.journal().effective == [entry]
    with pytest.raises(InvalidInput, match="not in this journal"):
        filled.append([replace(stirred(), corrects=uuid4())])
    with pytest.raises(InvalidInput, match="take the retraction back"):
        filled.append([replace(stirred(), corrects=back.id)])


def test_a_ring_of_corrections_is_refused(filled):
    one, other = UUID(int=1), UUID(int=2)
    ring = [
        r.Entry(one, "Box", MORNING, r.Stir(), corrects=other),
        r.Entry(other, "Box", MORNING, r.Stir(), corrects=one),
    ]
    with pytest.raises(InvalidInput, match="ring"):
        filled.append(ring)


def test_times_keep_their_instant_across_daylight_saving(filled):
    zone = ZoneInfo("Europe/Vienna")
    # the hour that came twice, and the one that never was
    twice = [datetime(2026, 10, 25, 2, 30, fold=fold, tzinfo=zone) for fold in (0, 1)]
    spring = datetime(2026, 3, 29, 1, 59, tzinfo=zone)
    entries = [r.Entry(uuid4(), "Box", when, r.Stir()) for when in (*twice, spring)]
    filled.append(entries)
    found = [one.when for one in filled.entries()]
    assert found == [one.when for one in entries]
    assert found[1] - found[0] == timedelta(hours=1)
    assert all(one.tzinfo is not None for one in found)


def test_a_clock_set_back_loses_nothing(filled):
    later, earlier = stirred(60), stirred(0)
    filled.append([later])
    filled.append([earlier])
    assert [one.id for one in filled.entries()] == [later.id, earlier.id]
    assert [one.id for one in filled.journal().effective] == [earlier.id, later.id]


def test_sites_are_kept_and_a_needed_bin_cannot_go(filled):
    filled.append([stirred()])
    grown = replace(SITE, name="Larger yard")
    before = filled.revision()
    filled.set_site(grown)
    assert filled.site() == grown
    assert filled.revision() > before
    with pytest.raises(InvalidInput, match="no bin of that name"):
        filled.set_site(replace(SITE, bins=(replace(BIN, name="Other"),)))
    assert filled.site() == grown


def test_the_same_site_again_changes_nothing(filled):
    before = filled.revision()
    assert filled.set_site(SITE) == before
    assert len(filled.sites()) == 1


def test_what_is_taken_in_is_all_or_nothing(filled):
    entry = stirred()
    filled.append([entry])
    other = replace(SITE, name="Grown", people=("Ada",))
    version = SiteVersion(MORNING, other)
    with pytest.raises(InvalidInput, match="other content"):
        filled.take_in([version], [stirred(), replace(entry, note="x")], [picture()])
    assert filled.site() == SITE
    assert filled.entries() == [entry]
    assert filled.photos() == {}
    done = filled.take_in([version], [stirred(who="Ada")], [picture()])
    assert done.new_site
    assert filled.site() == other
    assert len(filled.photos()) == 1
    # the site of before comes along with an old export: the present one stays
    again = filled.take_in([SiteVersion(MORNING, SITE)], [entry])
    assert again.older_site
    assert not again.new_site
    assert filled.site() == other


def test_what_another_process_wrote_is_seen(tmp_path):
    with open_store(tmp_path) as one, open_store(tmp_path) as other:
        one.set_site(SITE)
        assert one.entries() == []
        first, second = stirred(0), stirred(1)
        other.append([first])
        assert one.entries() == [first]
        one.append([second])
        assert other.entries() == one.entries() == [first, second]


def test_a_journal_put_in_its_place_is_seen(tmp_path):
    with open_store(tmp_path / "a") as one, open_store(tmp_path / "b") as other:
        for store in (one, other):
            store.set_site(SITE)
        kept = stirred(7)
        other.append([kept])
        one.append([stirred(k) for k in range(3)])
        assert len(one.entries()) == 3
        copy_database(tmp_path / "b" / DATABASE_FILE, tmp_path / "a" / DATABASE_FILE)
        assert one.entries() == [kept]
        assert one.revision() == other.revision()
        added = stirred(8)
        one.append([added])
        assert one.entries() == [kept, added]


def test_a_time_without_a_zone_never_gets_in(filled):
    with pytest.raises(StatementError, match="without an offset"):
        filled.put_result(Kept("inside", "Box", 1, "m", datetime(2026, 3, 2), "{}"))


def test_reading_gives_the_site_and_entries_of_one_moment(filled):
    """A new bin and its entries come together; no reader may see the one without the other."""

    def write(number: int) -> None:
        name = f"New {number}"
        grown = replace(filled.site(), bins=(*filled.site().bins, replace(BIN, name=name)))
        filled.set_site(grown)
        filled.append([replace(stirred(number), bin=name)])

    def read(_: int) -> int:
        return len(filled.journal().entries)

    with ThreadPoolExecutor(4) as pool:
        seen = pool.map(read, range(60))
        for number in range(10):
            write(number)
        assert max(seen) <= 10
    assert read(0) == 10


def test_a_full_disk_is_told_and_changes_nothing(tmp_path):
    with open_store(tmp_path) as store:
        store.set_site(SITE)

        @event.listens_for(store.engine, "connect")
        def small(connection, _record):
            pages = connection.execute("PRAGMA page_count").fetchone()[0]
            connection.execute(f"PRAGMA max_page_count={pages + 2}")

        store.engine.dispose()
        with pytest.raises(JournalError, match=r"full.*nothing was changed"):
            store.append([stirred(k, note="x" * 9000) for k in range(20)])
        assert store.entries() == []


def test_a_database_broken_while_open_is_told(tmp_path):
    with open_store(tmp_path) as store:
        store.set_site(SITE)
        store.append([stirred(k, note="x" * 2000) for k in range(200)])
    file = tmp_path / DATABASE_FILE
    whole = file.read_bytes()
    with open_store(tmp_path) as store:
        file.write_bytes(whole[:4096] + b"\x55" * (len(whole) - 4096))
        with pytest.raises(JournalError, match="restore a backup"):
            store.entries()


def test_without_a_site_there_is_a_word(store):
    with pytest.raises(JournalError, match="set one up first"):
        store.site()
    assert not store.has_site()


def test_writers_in_threads_lose_nothing(filled):
    def write(number: int) -> int:
        return len(filled.append([stirred(number * 100 + k) for k in range(5)]).new)

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(write, range(40))) == 200
    assert len(filled.entries()) == 200


def test_one_entry_sent_by_fifty_at_once_is_one(filled):
    entry = stirred()
    with ThreadPoolExecutor(10) as pool:
        answers = list(pool.map(lambda _: filled.append([entry]), range(50)))
    assert sum(len(one.new) for one in answers) == 1
    assert sum(len(one.known) for one in answers) == 49
    assert filled.entries() == [entry]


def test_a_reader_meets_every_entry_of_many_writers(filled):
    """Numbers rise in the order in which writers finish, so nothing slips in behind a reader."""

    def write(number: int) -> UUID:
        entry = stirred(number)
        before = filled.revision()
        filled.append([entry])
        assert filled.revision() > before
        return entry.id

    with ThreadPoolExecutor(8) as pool:
        written = [pool.submit(write, k) for k in range(120)]
        seen: list[UUID] = []
        while len(seen) < 120:
            now = [one.id for one in filled.entries()]
            assert now[: len(seen)] == seen
            seen = now
            if all(one.done() for one in written):
                assert len(filled.entries()) == 120
    assert set(seen) == {one.result() for one in written}


def _write_many(folder, number):
    with open_store(folder) as store:
        for k in range(20):
            store.append([stirred(number * 1000 + k)])


def test_writers_in_processes_lose_nothing(tmp_path):
    folder = tmp_path / "data"
    with open_store(folder) as store:
        store.set_site(SITE)
    context = multiprocessing.get_context("spawn")
    processes = [context.Process(target=_write_many, args=(folder, k)) for k in range(3)]
    for one in processes:
        one.start()
    for one in processes:
        one.join()
        assert one.exitcode == 0
    with open_store(folder) as store:
        assert len(store.entries()) == 60


def test_the_tables_are_those_that_the_steps_make(filled):
    with filled.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        found = compare_metadata(context, METADATA)
    assert found == []


def test_steps_lead_down_to_nothing_and_up_again(filled):
    config = Config()
    config.set_main_option("script_location", MIGRATIONS.as_posix())
    for step, there in ((command.downgrade, False), (command.upgrade, True)):
        with writing(filled.engine) as connection:
            config.attributes["connection"] = connection
            step(config, "head" if there else "base")
        assert inspect(filled.engine).has_table("entries") == there
    filled.set_site(SITE)
    assert filled.site() == SITE


def test_two_who_open_an_empty_folder_at_once_make_one_journal(tmp_path):
    def opened(_: int) -> int:
        with open_store(tmp_path / "data") as store:
            return store.revision()

    with ThreadPoolExecutor(6) as pool:
        assert list(pool.map(opened, range(12))) == [0] * 12


def test_a_journal_of_a_newer_slowfire_is_left_alone(tmp_path):
    with open_store(tmp_path) as store, store.engine.connect() as connection:
        connection.execution_options(writes=True)
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
        connection.commit()
    with pytest.raises(JournalError, match="newer slowfire"):
        open_store(tmp_path)


def test_a_file_that_is_no_database_is_told(tmp_path):
    (tmp_path / "journal.db").write_bytes(b"not a database at all, but long enough" * 100)
    with pytest.raises(JournalError, match="restore a backup"):
        open_store(tmp_path)


def test_results_are_replaced(filled):
    kept = Kept("inside", "Box", 3, "m1", MORNING, "{}")
    filled.put_result(kept)
    filled.put_result(replace(kept, revision=4))
    assert filled.result("inside", "Box").revision == 4
    assert filled.result("inside", "Second") is None


def picture(form: str = "PNG", size: tuple[int, int] = (8, 6)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (120, 80, 40)).save(out, form)
    return out.getvalue()


def test_photos_are_kept_once_by_their_content(filled):
    digest = filled.add_photo(picture("JPEG"))
    assert filled.add_photo(picture("JPEG")) == digest
    assert filled.photos() == {digest: "jpg"}
    assert filled.photo_path(digest, "jpg").read_bytes() == picture("JPEG")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"GIF89a", "no picture"),
        (picture("BMP"), "another form"),
        (b"\0\0\0\x18ftypheic" + b"\0" * 40, "HEIC"),
        (b"\xff" * 10_000_001, "allowed is up to 10 MB"),
    ],
)
def test_what_is_no_picture_is_refused(filled, content, says):
    with pytest.raises(InvalidInput, match=says):
        filled.add_photo(content)
    assert filled.photos() == {}


def test_a_hundred_thousand_entries_stay_usable(tmp_path):
    with open_store(tmp_path) as store:
        store.set_site(SITE)
        every = [stirred(k) for k in range(100_000)]
        for begin in range(0, len(every), 20_000):
            store.append(every[begin : begin + 20_000])
        last = store.entries("Box", latest=60)
        assert [one.id for one in last] == [one.id for one in every[-60:]]
        assert store.append([every[5], stirred(-1)]).known == (every[5].id,)
        assert store.revision() == 100_002
        assert len(store.journal().effective) == 100_001
    with open_store(tmp_path) as store:
        newest = stirred(200_000)
        store.append([newest])
        assert store.entries("Box")[-1] == newest
