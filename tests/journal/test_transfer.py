"""Everything out and in again, as text and as one zip file."""

import io
import json
import tempfile
import zipfile
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID, uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image
from test_round_trip import SITE, journals, payloads

from slowfire import records as r
from slowfire.errors import InvalidInput, JournalError, SlowfireError
from slowfire.journal import Journal, read_journal
from slowfire.journal.lines import entry_line, read_lines
from slowfire.journal.payloads import payload_of, payload_text
from slowfire.journal.store import SiteVersion, open_store
from slowfire.services import transfer

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)


def picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (9, 7), (20, 90, 40)).save(out, "WEBP")
    return out.getvalue()


@pytest.fixture
def data(tmp_path):
    """The example year with a photo, an earlier site and a correction."""
    journal = read_journal("examples/courtyard")
    with open_store(tmp_path / "data") as store:
        store.set_site(replace(journal.site, name="As it was first"), NOON)
        store.set_site(journal.site)
        store.append(journal.entries)
        shown = store.add_photo(picture())
        bin_name = journal.site.bins[0].name
        photo = r.Entry(uuid4(), bin_name, NOON, r.Photo(shown), NOON)
        store.append([photo, r.Entry(uuid4(), bin_name, NOON, None, None, "", "", photo.id, True)])
    return tmp_path / "data"


def everything(folder: Path):
    with open_store(folder) as store:
        return store.everything(), store.photos(), store.site()


@pytest.mark.parametrize("kind", sorted(payloads))
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_every_payload_is_the_same_after_the_database(kind, data):
    payload = data.draw(payloads[kind])
    assert payload_of(kind, payload_text(payload)) == payload


@settings(max_examples=120, deadline=None)
@given(journal=journals())
def test_every_line_reads_back_the_same(journal):
    lines = [entry_line(one) for one in journal.entries]
    assert all("\n" not in one for one in lines)
    assert read_lines(lines, SITE, "entries.jsonl") == journal.entries


@settings(max_examples=40, deadline=None)
@given(journal=journals())
def test_any_journal_goes_through_store_and_both_exports(journal):
    with tempfile.TemporaryDirectory() as fresh:
        here = Path(fresh)
        with open_store(here / "data") as store:
            store.set_site(journal.site)
            store.append(journal.entries)
            assert store.journal() == journal
        for name in ("text", "journal.zip"):
            transfer.export(here / "data", here / name)
            transfer.import_from(here / f"from {name}", here / name)
            assert read_journal(here / f"from {name}") == journal
            assert transfer.import_from(here / "data", here / name).new == 0


@pytest.mark.parametrize("name", ["text", "all.zip"])
def test_out_and_in_again_adds_nothing(data, tmp_path, name):
    before = everything(data)
    transfer.export(data, tmp_path / name)
    assert transfer.import_from(data, tmp_path / name).new == 0
    assert everything(data) == before
    fresh = tmp_path / "fresh"
    made = transfer.import_from(fresh, tmp_path / name)
    assert made.new == len(before[0][1])
    assert read_journal(fresh) == read_journal(data)
    assert everything(fresh)[1:] == before[1:]
    photo = next(iter((data / "photos").iterdir()))
    assert (fresh / "photos" / photo.name).read_bytes() == photo.read_bytes()


def test_a_zip_file_keeps_every_site_there_was(data, tmp_path):
    transfer.export(data, tmp_path / "all.zip")
    transfer.import_from(tmp_path / "fresh", tmp_path / "all.zip")
    assert everything(tmp_path / "fresh") == everything(data)


def test_a_folder_of_text_goes_into_a_zip_file_and_back(tmp_path):
    transfer.export(Path("examples/courtyard"), tmp_path / "all.zip")
    transfer.import_from(tmp_path / "data", tmp_path / "all.zip")
    assert read_journal(tmp_path / "data") == read_journal("examples/courtyard")


def test_a_weather_file_goes_along(tmp_path):
    site = replace(SITE, weather=r.WeatherSetting("file", file="yard.csv"))
    here = tmp_path / "data"
    with open_store(here) as store:
        store.set_site(site)
    (here / "yard.csv").write_text("when,temperature_celsius\n", encoding="utf-8")
    for name in ("text", "all.zip"):
        transfer.export(here, tmp_path / name)
        transfer.import_from(tmp_path / f"from {name}", tmp_path / name)
        there = read_journal(tmp_path / f"from {name}").weather_file
        assert there == tmp_path / f"from {name}" / "yard.csv"
        assert there.read_text(encoding="utf-8") == "when,temperature_celsius\n"


def test_an_old_export_adds_its_entries_but_not_its_site(data, tmp_path):
    transfer.export(data, tmp_path / "old.zip")
    transfer.export(data, tmp_path / "old")
    with open_store(data) as store:
        grown = replace(store.site(), name="Grown since")
        store.set_site(grown)
    for name in ("old.zip", "old"):
        made = transfer.import_from(data, tmp_path / name)
        assert not made.new_site
        assert "the present one stays" in made.words
        with open_store(data) as store:
            assert store.site() == grown


def test_an_edited_folder_brings_its_changes(data, tmp_path):
    transfer.export(data, tmp_path / "text")
    site = tmp_path / "text" / "site.toml"
    text = site.read_text(encoding="utf-8")
    site.write_text(text.replace('name = "', 'name = "Edited ', 1), encoding="utf-8")
    with (tmp_path / "text" / "entries.csv").open("a", encoding="utf-8") as file:
        bin_name = read_journal(data).site.bins[0].name
        file.write(f",2026-03-15 10:00,{bin_name},usual,,,,,,,,,\n")
    made = transfer.import_from(data, tmp_path / "text")
    assert (made.new, made.new_site) == (1, True)
    assert "the set-up is now the one that was read" in made.words
    assert read_journal(data).site.name.startswith("Edited ")
    assert transfer.import_from(data, tmp_path / "text").new == 0


def test_nothing_is_written_over_unasked(data, tmp_path):
    for name in ("text", "all.zip"):
        transfer.export(data, tmp_path / name)
        with pytest.raises(JournalError, match="--replace"):
            transfer.export(data, tmp_path / name)
        transfer.export(data, tmp_path / name, replace=True)
    with pytest.raises(JournalError, match="data folder"):
        transfer.export(data, data, replace=True)
    with pytest.raises(JournalError, match="export it first"):
        transfer.import_from(tmp_path / "fresh", data)
    (tmp_path / "folder.zip").mkdir()
    with pytest.raises(JournalError, match="is a folder"):
        transfer.export(data, tmp_path / "folder.zip")
    open_store(tmp_path / "bare").close()
    with pytest.raises(SlowfireError, match="set up"):
        transfer.export(tmp_path / "bare", tmp_path / "bare.zip")


def test_a_bad_row_names_its_place_and_writes_nothing(data, tmp_path):
    transfer.export(data, tmp_path / "text")
    file = tmp_path / "text" / "entries.csv"
    lines = file.read_text(encoding="utf-8").splitlines()
    lines[5] = lines[5].replace(",load,", ",lode,")
    file.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(SlowfireError, match=r"entries.csv, line 6, column kind: read 'lode'"):
        transfer.import_from(tmp_path / "fresh", tmp_path / "text")
    assert not (tmp_path / "fresh").exists()


def packed(path: Path, parts: dict[str, bytes | str]) -> Path:
    with zipfile.ZipFile(path, "w") as made:
        for name, content in parts.items():
            made.writestr(name, content)
    return path


def unpacked(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as made:
        return {name: made.read(name) for name in made.namelist()}


def changed(line: bytes, **cells: object) -> str:
    return json.dumps({**json.loads(line), **cells})


@pytest.mark.parametrize(
    ("broken", "says"),
    [
        (lambda line: '{"id": "x"', r"line 3, column 11: read .*allowed is one entry in JSON"),
        (lambda line: "[1]", r"line 3, column 1: read \[1\]; allowed is an object"),
        (lambda line: changed(line, kind="lode"), r"line 3, column kind: read 'lode'.*allowed is"),
        (lambda line: changed(line, when="soon"), r"line 3, column when: read 'soon'; allowed is"),
        (lambda line: changed(line, when=5), r"line 3, column when: read 5; allowed is words"),
        (lambda line: changed(line, whom="x"), r"line 3, column whom: .*Did you mean who\?"),
        (lambda line: changed(line, id=""), r"line 3, column id: read nothing; every line needs"),
        (lambda line: changed(line, bin="Nowhere"), r"line 3, column bin: read 'Nowhere'.*allowed"),
        (lambda line: changed(line, rows=7), r"line 3, column rows: read 7; allowed is a list"),
        (
            lambda line: changed(line, rows=[{"item": "peelings", "amount": "much"}]),
            r"line 3, column amount: read 'much'; allowed is a number",
        ),
        (
            lambda line: changed(line, corrects=str(UUID(int=9))),
            r"line 3, column corrects: read .*allowed is the id of an entry in this file",
        ),
    ],
)
def test_a_bad_line_names_its_place_and_writes_nothing(data, tmp_path, broken, says):
    transfer.export(data, tmp_path / "all.zip")
    parts = unpacked(tmp_path / "all.zip")
    lines = parts["entries.jsonl"].split(b"\n")
    load = next(k for k, line in enumerate(lines) if json.loads(line)["kind"] == "load")
    lines[2], lines[load] = lines[load], lines[2]
    lines[2] = broken(lines[2]).encode()
    bad = packed(tmp_path / "bad.zip", {**parts, "entries.jsonl": b"\n".join(lines)})
    before = everything(data)
    with pytest.raises(JournalError, match=rf"bad.zip, entries.jsonl, {says}"):
        transfer.import_from(data, bad)
    with pytest.raises(JournalError):
        transfer.import_from(tmp_path / "fresh", bad)
    assert everything(data) == before
    assert not (tmp_path / "fresh").exists()


def test_all_problems_are_told_at_once(data, tmp_path):
    transfer.export(data, tmp_path / "all.zip")
    parts = unpacked(tmp_path / "all.zip")
    lines = parts["entries.jsonl"].split(b"\n")
    for place in (0, 4, 9):
        lines[place] = changed(lines[place], kind="lode").encode()
    bad = packed(tmp_path / "bad.zip", {**parts, "entries.jsonl": b"\n".join(lines)})
    with pytest.raises(JournalError, match=r"(?s)3 problems.*line 1,.*line 5,.*line 10,"):
        transfer.import_from(data, bad)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda parts: {"journal.db": b"x"}, "slowfire restore"),
        (lambda parts: {"entries.jsonl": b"x"}, "holds no sites.jsonl"),
        (lambda parts: parts | {"../evil.csv": b"x"}, "allowed is"),
        (lambda parts: parts | {"photos/../../x.png": b"x"}, "allowed is"),
        (lambda parts: parts | {"photos/" + "a" * 64 + ".png": picture()}, "not the photo of that"),
        (lambda parts: parts | {"photos/" + "a" * 64 + ".png": b"no"}, "no picture"),
        (lambda parts: parts | {"sites.jsonl": b""}, "is empty"),
        (lambda parts: parts | {"sites.jsonl": b"{}"}, "line 1: allowed is"),
        (
            lambda parts: (
                parts
                | {
                    "sites.jsonl": json.dumps(
                        {"made": "2026-03-01T00:00+00:00", "site": "nmae = 1"}
                    )
                }
            ),
            "sites.jsonl, line 1, line 1, column 1, nmae",
        ),
        (lambda parts: parts | {"entries.jsonl": b"\xff\xfe"}, "not in UTF-8"),
        (lambda parts: parts | {"entries.jsonl": b""}, "entries are missing"),
        (lambda parts: parts | {"about.json": b'{"form": 2}'}, "newer slowfire"),
    ],
)
def test_a_strange_zip_file_is_refused_whole(data, tmp_path, change, says):
    transfer.export(data, tmp_path / "all.zip")
    bad = packed(tmp_path / "bad.zip", change(unpacked(tmp_path / "all.zip")))
    with pytest.raises(JournalError, match=says):
        transfer.import_from(tmp_path / "fresh", bad)
    assert not (tmp_path / "fresh").exists()


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(place=st.floats(0, 1), byte=st.integers(1, 255))
def test_a_damaged_zip_file_is_refused_or_reads_the_same(data, tmp_path, place, byte):
    whole = tmp_path / "all.zip"
    if not whole.exists():
        transfer.export(data, whole)
    content = bytearray(whole.read_bytes())
    content[int(place * (len(content) - 1))] ^= byte
    bad = tmp_path / "bad.zip"
    bad.write_bytes(content)
    before = everything(data)
    try:
        made = transfer.import_from(data, bad)
    except SlowfireError:
        pass
    else:
        assert made.new == 0
    assert everything(data) == before


def test_what_is_neither_is_told(tmp_path):
    with pytest.raises(SlowfireError, match="no folder"):
        transfer.import_from(tmp_path / "data", tmp_path / "nowhere")
    (tmp_path / "text.zip").write_text("words", encoding="utf-8")
    with pytest.raises(JournalError, match="no zip file"):
        transfer.import_from(tmp_path / "data", tmp_path / "text.zip")
    assert not (tmp_path / "data").exists()


def test_a_photo_that_is_not_there_is_told(tmp_path):
    entry = r.Entry(uuid4(), "Drum", NOON, r.Photo("ab" * 32))
    with open_store(tmp_path / "data") as store:
        store.set_site(SITE)
        store.append([entry])
    transfer.export(tmp_path / "data", tmp_path / "all.zip")
    made = transfer.import_from(tmp_path / "fresh", tmp_path / "all.zip")
    assert "photos that entries name and that are not there: 1" in made.words


def test_sites_that_do_not_fit_what_is_there_are_refused(data):
    with open_store(data) as store, pytest.raises(InvalidInput, match=r"is in site\.toml"):
        store.take_in([SiteVersion(NOON, SITE)], Journal(SITE).entries)
