"""What cannot be read is refused with file, line, column, what was read and what is allowed."""

import csv
import io
import re
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from slowfire.errors import InvalidInput, JournalError
from slowfire.journal import read_journal
from slowfire.tables_text import LARGEST_BYTES

SITE = """\
name = "Nutmeg Yard"
timezone = "Europe/Vienna"
people = ["Ada", "Bo"]

[measures_litres]
caddy = 5

[[bins]]
name = "Timber bin"
shape = "box"
inside_width_cm = 60
inside_depth_cm = 60
inside_height_cm = 90
wall = [{material = "timber", thickness_mm = 20}, {material = "wool", thickness_mm = 60}]

[[bins]]
name = "Drum"
shape = "cylinder"
inside_diameter_cm = 50
inside_height_cm = 75

[[thermometers]]
name = "long probe"
kind = "probe"
"""
HEAD = "id,when,bin,kind,item,amount,unit,at,value,note,who,recorded,corrects\n"
GOOD = ",2026-03-12 18:30,Drum,load,scraps,1,caddy,,,,,,\n"
ONE = "11111111-1111-4111-8111-111111111111"
TWO = "22222222-2222-4222-8222-222222222222"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder that reads well."""
    (tmp_path / "site.toml").write_text(SITE, encoding="utf-8")
    (tmp_path / "entries.csv").write_text(HEAD + GOOD, encoding="utf-8")
    assert len(read_journal(tmp_path).entries) == 1
    return tmp_path


def message(folder: Path) -> str:
    """What the reader says."""
    with pytest.raises(JournalError) as caught:
        read_journal(folder)
    assert not isinstance(caught.value, InvalidInput)
    return str(caught.value)


ROWS = {
    "unknown kind": ("2026-03-12,Drum,raeding,dial,55,C,,,,", "kind", "'raeding'", "mean reading?"),
    "unknown bin": ("2026-03-12,Drumm,usual,,,,,,,", "bin", "'Drumm'", "Timber bin, Drum. Did"),
    "no bin": ("2026-03-12,,usual,,,,,,,", "bin", "nothing", "Timber bin, Drum"),
    "unknown person": ("2026-03-12,Drum,usual,,,,,,,Adda", "who", "'Adda'", "mean Ada?"),
    "no time": (",Drum,usual,,,,,,,", "when", "nothing", "2026-03-12 18:30"),
    "day first": ("12.03.2026,Drum,usual,,,,,,,", "when", "'12.03.2026'", "2026-03-12"),
    "no such day": ("2026-02-30,Drum,usual,,,,,,,", "when", "'2026-02-30'", "no such day"),
    "no such hour": ("2026-02-20 25:00,Drum,usual,,,,,,,", "when", "25:00", "no such day or hour"),
    "year 1200": ("1200-01-01,Drum,usual,,,,,,,", "when", "'1200-01-01'", "1970 to 2099"),
    "far future": ("2226-01-01,Drum,usual,,,,,,,", "when", "'2226-01-01'", "1970 to 2099"),
    "bare degrees": ("2026-03-12,Drum,reading,probe,55,,,,,", "unit", "no unit", "55 C or 55 F"),
    "degree sign only": ("2026-03-12,Drum,reading,probe,55,°,,,,", "unit", "no unit", "C or F"),
    "kelvin": ("2026-03-12,Drum,reading,probe,55,K,,,,", "unit", "'K'", "allowed is C or F"),
    "95 C": ("2026-03-12,Drum,reading,probe,95,C,,,,", "amount", "-40 to 85 C", "95 F (35 C)?"),
    "200 F": ("2026-03-12,Drum,reading,probe,200,F,,,,", "amount", "-40 to 185 F", "again"),
    "nan": ("2026-03-12,Drum,reading,probe,nan,C,,,,", "amount", "'nan'", "a number such as"),
    "inf": ("2026-03-12,Drum,load,scraps,inf,kg,,,,", "amount", "'inf'", "a number such as"),
    "1e999": ("2026-03-12,Drum,load,scraps,1e999,kg,,,,", "amount", "1e999", "up to 1000000"),
    "negative mass": ("2026-03-12,Drum,load,scraps,-2,kg,,,,", "amount", "-2", "0 to 1000000"),
    "no mass": ("2026-03-12,Drum,load,scraps,0,kg,,,,", "amount", "0 kg", "above 0"),
    "no amount": ("2026-03-12,Drum,load,scraps,,,,,,", "amount", "nothing", "2 scoop"),
    "unit alone": ("2026-03-12,Drum,load,scraps,,kg,,,,", "amount", "''", "a number such as"),
    "amount without unit": ("2026-03-12,Drum,load,scraps,2,,,,,", "unit", "no unit", "scoop"),
    "range falls": ("2026-03-12,Drum,load,scraps,3 to 2,kg,,,,", "amount", "3 to 2", "smaller"),
    "no material": ("2026-03-12,Drum,load,,2,kg,,,,", "item", "nothing", "a name"),
    "decimal comma": ('2026-03-12,Drum,load,scraps,"2,5",kg,,,,', "amount", "'2,5'", "2.5"),
    "unknown thermometer": (
        "2026-03-12,Drum,reading,long prob,55,C,,,,", "item", "'long prob'", "mean long probe?",
    ),
    "depth without unit": (
        "2026-03-12,Drum,reading,probe,55,C,20,,,", "at", "'20'", "20 cm below surface",
    ),
    "too deep": ("2026-03-12,Drum,stir,fork,40,m,,,,", "amount", "40 m", "0 to 3 m"),
    "unknown smell": (
        "2026-03-12,Drum,look,,,,,smell=amonia,,", "value", "amonia", "mean ammonia?",
    ),
    "unknown key": ("2026-03-12,Drum,look,,,,,smel=none,,", "value", "smel=", "mean smell?"),
    "unclear word": ("2026-03-12,Drum,look,,,,,few,,", "value", "'few'", "flies=few"),
    "unknown word": ("2026-03-12,Drum,vent,lid,,,,opn,,", "value", "'opn'", "mean open?"),
    "key twice": ("2026-03-12,Drum,look,,,,,smell=none smell=sour,,", "value", "twice", "one"),
    "nothing seen": ("2026-03-12,Drum,look,,,,,,,", "value", "nothing", "smell=earthy"),
    "percent without sign": (
        "2026-03-12,Drum,load,scraps,1,kg,,held_back=50,,", "value", "'50'", "25%",
    ),
    "over 100 percent": (
        "2026-03-12,Drum,load,scraps,1,kg,,held_back=150%,,", "value", "150", "0 to 95 %",
    ),
    "no opening": ("2026-03-12,Drum,vent,lid,,,,,,", "value", "''", "shut, crack, wider, open"),
    "cell of another kind": (
        "2026-03-12,Drum,usual,,,,,smell=none,,", "value", "smell=", "for a usual is nothing",
    ),
    "item where none belongs": ("2026-03-12,Drum,look,nose,,,,sour,,", "item", "'nose'", "nothing"),
    "cold bottle": (
        "2026-03-12,Drum,warm,,2,litre,,temperature=5C,,", "value", "5 C", "20 to 100 C",
    ),
    "test without control": (
        "2026-03-12,Drum,test,cress,,,,sown=20 sprouted=15,,", "value", "control_sprouted", "needs",
    ),
    "more sprouted than sown": (
        "2026-03-12,Drum,test,cress,,,,sown=20 sprouted=25 control_sprouted=19,,",
        "value", "25 seeds", "0 to 20",
    ),
    "absence without end": (
        "2026-03-12,,calendar,absence,,,,starts=2026-07-01,,", "value", "absence", "ends=",
    ),
    "absence ends first": (
        "2026-03-12,,calendar,absence,,,,starts=2026-07-09 ends=2026-07-01,,",
        "value", "2026-07-01", "swap",
    ),
    "setting of nothing": (
        "2026-03-12,,setting,Drum,,,colour,about=bin to=red,,", "at", "'colour'", "tub_litres",
    ),
    "setting of unknown bin": (
        "2026-03-12,,setting,Dram,,,tub_litres,about=bin to=8,,", "item", "'Dram'", "mean Drum?",
    ),
    "photo by name": ("2026-03-12,Drum,photo,heap.jpg,,,,,,", "item", "'heap.jpg'", "64 hex"),
    "empty note": ("2026-03-12,Drum,note,,,,,,,", "note", "nothing", "a name"),
}  # fmt: skip


@pytest.mark.parametrize("case", sorted(ROWS))
def test_a_bad_row_is_refused_where_it_stands(folder: Path, case: str) -> None:
    """One sentence with file, line, column, what was read and what is allowed."""
    row, column, read, allowed = ROWS[case]
    (folder / "entries.csv").write_text(f"{HEAD}{GOOD},{row},,\n{GOOD}", encoding="utf-8")
    said = message(folder)
    assert said.startswith(f"entries.csv, line 3, column {column}: "), said
    assert read in said, said
    assert allowed in said, said
    assert "\n" not in said


def test_bad_ids_name_their_line(folder: Path) -> None:
    """Not a UUID, one id twice with other content, and unknown or circular corrections."""
    entries = folder / "entries.csv"
    entries.write_text(HEAD + "17,2026-03-12,Drum,usual,,,,,,,,,\n", encoding="utf-8")
    assert "line 2, column id: read '17'; allowed is a UUID" in message(folder)
    usual = ",2026-03-12,Drum,usual,,,,,,,,"
    entries.write_text(
        f"{HEAD}{ONE}{usual},\n{ONE},2026-03-13,Drum,usual,,,,,,,,,\n", encoding="utf-8"
    )
    said = message(folder)
    assert f"line 3, column id: read {ONE}; line 2 has the same id" in said
    entries.write_text(f"{HEAD}{ONE}{usual},\n{ONE}{usual},\n", encoding="utf-8")
    assert [one.id for one in read_journal(folder).entries] == [UUID(ONE)]
    entries.write_text(f"{HEAD}{ONE}{usual},{TWO}\n", encoding="utf-8")
    assert f"line 2, column corrects: read {TWO}; allowed is the id" in message(folder)
    entries.write_text(f"{HEAD}{ONE}{usual},{TWO}\n{TWO}{usual},{ONE}\n", encoding="utf-8")
    assert "column corrects: " in message(folder)
    assert "in a ring" in message(folder)
    entries.write_text(f"{HEAD}{ONE},2026-03-12,,retract,,,,,,,,,\n", encoding="utf-8")
    assert "line 2, column corrects: " in message(folder)
    assert "give the id it takes back" in message(folder)


def test_up_to_ten_problems_are_told_at_once(folder: Path) -> None:
    """First a sentence, then one problem a line; after ten the reading stops."""
    bad = ",2026-03-12,Drum,load,scraps,-1,kg,,,,,,\n"
    (folder / "entries.csv").write_text(HEAD + bad * 3, encoding="utf-8")
    lines = message(folder).split("\n")
    assert lines[0] == "entries.csv cannot be used: 3 problems to put right first."
    assert [line.split(",")[1] for line in lines[1:]] == [" line 2", " line 3", " line 4"]
    (folder / "entries.csv").write_text(HEAD + bad * 500, encoding="utf-8")
    lines = message(folder).split("\n")
    assert "at least 10 problems" in lines[0]
    assert len(lines) == 11


def test_a_line_counts_line_breaks_inside_notes(folder: Path) -> None:
    """The line named is the one on which the bad row starts."""
    note = ',2026-03-12,Drum,note,,,,,,"one\ntwo\nthree",,,\n'
    bad = ",2026-03-12,Drum,load,scraps,-1,kg,,,,,,\n"
    (folder / "entries.csv").write_text(HEAD + note + "\n" + bad, encoding="utf-8")
    assert message(folder).startswith("entries.csv, line 6, column amount")


HEADINGS = {
    "near miss": ("when,bin,knid\n", "column 3", "'knid'", "mean kind?"),
    "missing": ("when,bin,item\n", "column kind", "lacks kind", "when, kind must"),
    "twice": ("when,kind,bin,Kind\n", "column 4", "stands twice", "keep one"),
    "nothing but data": (GOOD, "column 2", "2026-03-12 18:30", "allowed is id, when"),
}


@pytest.mark.parametrize("case", sorted(HEADINGS))
def test_a_bad_heading_is_refused(folder: Path, case: str) -> None:
    """Unknown, missing and double columns."""
    text, column, read, allowed = HEADINGS[case]
    (folder / "entries.csv").write_text(text, encoding="utf-8")
    said = message(folder)
    for part in ("entries.csv, line 1", column, read, allowed):
        assert part in said


def test_too_many_cells_and_open_quotes(folder: Path) -> None:
    """A comma in free text, and a quote that never closes."""
    entries = folder / "entries.csv"
    entries.write_text("when,bin,kind,note\n2026-03-12,Drum,note,wet, warm\n", encoding="utf-8")
    assert "line 2, column 5: read 5 cells; allowed is 4" in message(folder)
    entries.write_text('when,bin,kind,note\n2026-03-12,Drum,note,"wet\n\n', encoding="utf-8")
    assert "line 2" in message(folder)
    assert "close every quote" in message(folder)


def test_files_that_are_not_there_or_empty(folder: Path) -> None:
    """Missing folder, file in place of a folder, missing and empty files."""
    with pytest.raises(JournalError, match=r"there is no folder .*nowhere; name a folder that"):
        read_journal(folder / "nowhere")
    with pytest.raises(JournalError, match=r"entries.csv is a file; name the folder"):
        read_journal(folder / "entries.csv")
    (folder / "entries.csv").write_text("", encoding="utf-8")
    assert "entries.csv is empty; its first line names the columns" in message(folder)
    (folder / "entries.csv").unlink()
    assert "there is no entries.csv in " in message(folder)
    (folder / "entries.csv").mkdir()
    assert "entries.csv is a folder" in message(folder)
    (folder / "site.toml").unlink()
    assert "there is no site.toml in " in message(folder)


def test_a_huge_file_is_refused_by_its_size(folder: Path) -> None:
    """50 MB: told from the size, not by reading it."""
    with open(folder / "entries.csv", "wb") as stream:
        stream.truncate(50_000_000)
    said = message(folder)
    assert "entries.csv has 50.0 MB; allowed is up to 16 MB" in said
    assert LARGEST_BYTES == 16_000_000


def test_other_encodings_are_named_with_their_line(folder: Path) -> None:
    """A byte-order mark is fine; Latin-1, UTF-16 and binary are not."""
    entries = folder / "entries.csv"
    entries.write_text(HEAD + GOOD, encoding="utf-8-sig")
    assert len(read_journal(folder).entries) == 1
    entries.write_bytes((HEAD + GOOD.replace("scraps", "käse")).encode("latin-1"))
    assert "entries.csv, line 2: the letters are not in UTF-8" in message(folder)
    entries.write_bytes((HEAD + GOOD).encode("utf-16"))
    assert "not in UTF-8" in message(folder)
    entries.write_bytes(HEAD.encode() + b"\x00\x00")
    assert "line 2: the file holds binary data" in message(folder)


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_spreadsheets_of_other_countries_are_read(folder: Path, delimiter: str) -> None:
    """Semicolons or tabs with decimal commas; a sign between thousands is refused."""
    text = HEAD + ",2026-03-12 18:30,Drum,load,scraps,X,kg,,held_back=Y%,,,,\n"
    text = text.replace(",", delimiter)
    good = text.replace("X", "2,5").replace("Y", "12,5")
    (folder / "entries.csv").write_text(good, encoding="utf-8")
    item = read_journal(folder).entries[0].payload.items[0]
    assert (item.amount.number, item.held_back) == (2.5, 12.5)
    (folder / "entries.csv").write_text(
        text.replace("X", "1.250,5").replace("Y", "5"), encoding="utf-8"
    )
    assert "column amount: read '1.250,5'; allowed is one decimal sign" in message(folder)


SITES = {
    "no name": ('name = "Nutmeg Yard"\n', "", "line 1", "name: missing"),
    "broken": ('name = "Nutmeg Yard"', "name = Yard", "line 1, column 8", "words in quotes"),
    "zone": ("Europe/Vienna", "Europe/Wien", "line 2, column 1, timezone", "region and town"),
    "key": ("people =", "peeple =", "line 3, column 1, peeple", "mean people?"),
    "measure": ("caddy = 5", "caddy = -5", "line 6, column 1, measures_litres.caddy", "0.001 to"),
    "measure nan": ("caddy = 5", "caddy = nan", "measures_litres.caddy", "0.001 to 5000"),
    "measure word": ("caddy = 5", 'caddy = "5"', "measures_litres.caddy", "not a number"),
    "shape": ('"box"', '"bax"', "line 10, column 1, bins[1].shape", "mean box?"),
    "no shape": ('shape = "box"\n', "", "line 8, column 1, bins[1].shape", "missing"),
    "bin key": ("inside_width_cm", "inside_with_cm", "line 11, column 1", "mean inside_width_cm?"),
    "size": ("= 60\ninside_depth", "= 6000\ninside_depth", "line 11, column 1", "5 to 1000 cm"),
    "no size": ("inside_height_cm = 75\n", "", "line 16, column 1", "a cylinder needs"),
    "size word": ("= 75", '= "75"', "line 20, column 1, bins[2].inside_height_cm", "not a number"),
    "size true": ("= 75", "= true", "line 20, column 1, bins[2].inside_height_cm", "not a number"),
    "other size": ("inside_diameter_cm = 50", "inside_diameter_cm = 50\ninside_width_cm = 5",
                   "line 20, column 1", "does not belong to a cylinder"),
    "wall": ('"wool"', '"wull"', "line 14, column 1, bins[1].wall", "wool"),
    "wall words": ("wall = [", 'wall = ["timber"]\nlid = [', "line 14", "allowed is wall = [{"),
    "two names": ('"Drum"', '"timber BIN"', "line 8, column 1, bins", "give each its own name"),
    "thermometer": ('"probe"', '"prob"', "line 24, column 1, thermometers[1].kind", "mean probe?"),
    "weather": ("[measures_litres]", '[weather]\nkind = "mild"\n[measures_litres]',
                "line 6, column 1, weather.kind", "constant, seasonal, grid, file"),
    "weather number": ("[measures_litres]", '[weather]\nkind = "constant"\n[measures_litres]',
                       "line 5, column 1, weather.mean_celsius", "-40 to 50 C"),
    "weather path": ("[measures_litres]", '[weather]\nkind = "file"\nfile = "../x.csv"\n'
                     "[measures_litres]", "line 7, column 1, weather.file", "bare name"),
    "weather absent": ("[measures_litres]", '[weather]\nkind = "file"\nfile = "x.csv"\n'
                       "[measures_litres]", "weather file x.csv", "put it there"),
    "people": ('["Ada", "Bo"]', '"Ada"', "line 3, column 1, people", "a list of names"),
    "latitude": ("people =", "latitude_degrees = 91\npeople =", "line 3, column 1", "-90 to 90"),
    "bins": ("[[bins]]", "[bins]", "site.toml, line 16", ""),
}  # fmt: skip


@pytest.mark.parametrize("case", sorted(SITES))
def test_a_bad_site_is_refused_where_it_stands(folder: Path, case: str) -> None:
    """Every message names site.toml, its line, the property and what is allowed."""
    old, new, place, allowed = SITES[case]
    assert old in SITE
    (folder / "site.toml").write_text(SITE.replace(old, new), encoding="utf-8")
    said = message(folder)
    assert said.startswith("site.toml"), said
    assert place in said, said
    assert allowed in said, said


def test_a_site_without_bins_is_refused(folder: Path) -> None:
    """There must be something to write about."""
    (folder / "site.toml").write_text('name = "Yard"\ntimezone = "UTC"\n', encoding="utf-8")
    assert "at least one under [[bins]]" in message(folder)


def test_with_one_bin_its_name_may_be_left_out(folder: Path) -> None:
    """The only bin is meant; an entry about the place stays without one."""
    one = SITE[: SITE.index('[[bins]]\nname = "Drum"')]
    (folder / "site.toml").write_text(one, encoding="utf-8")
    (folder / "entries.csv").write_text(
        "when,kind,item,amount,unit\n2026-03-12,usual,,,\n2026-03-12,stock,leaves,2,bag\n",
        encoding="utf-8",
    )
    assert [entry.bin for entry in read_journal(folder).entries] == ["Timber bin", ""]


def outcome(folder: Path) -> str:
    """Nothing if it reads, else what the reader says; any other error is a fault."""
    try:
        read_journal(folder)
    except JournalError as problem:
        return str(problem)
    return ""


CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["", "load", "reading", "look", "test", "vent", "setting", "retract", "Drum", ONE, "55",
         "C", "20 cm", "2 to 3", "smell=none", 'to="x', "about=bin to=3", "1/0", "½", "-", "to",
         "2026-03-12", "2026-03-29 02:30", "0001-01-01", "9999-12-31T23:59-12:00", "probe"]
    ),
)  # fmt: skip


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(rows=st.lists(st.lists(CELLS, min_size=13, max_size=13), max_size=3))
def test_any_cells_are_read_or_refused_in_words(folder: Path, rows: list[list[str]]) -> None:
    """No table of text ends in anything but a journal or a JournalError naming its line."""
    stream = io.StringIO(newline="")
    csv.writer(stream).writerows([HEAD.strip().split(","), *rows])
    (folder / "entries.csv").write_bytes(stream.getvalue().encode("utf-8", "replace"))
    assert re.match(r"$|entries.csv", outcome(folder))


VALUES = st.sampled_from(
    ['""', '"x"', "5", "-1", "nan", "inf", "true", "[]", "[1]", "{}", "{a = 1}", "2026-01-01",
     "[[1]]", '["a", "a"]', "1e400", "[{material = 5, thickness_mm = 1}]", '"\\u0000"']
)  # fmt: skip
LINES = [number for number, line in enumerate(SITE.splitlines()) if "=" in line]


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(number=st.sampled_from(LINES), value=VALUES)
def test_any_site_value_is_read_or_refused_in_words(folder: Path, number: int, value: str) -> None:
    """No value in site.toml ends in anything but a site or a JournalError naming the file."""
    lines = SITE.splitlines()
    lines[number] = f"{lines[number].split(' = ')[0]} = {value}"
    (folder / "site.toml").write_text("\n".join(lines), encoding="utf-8")
    assert re.match(r"$|(site.toml|entries.csv), line \d+", outcome(folder))
