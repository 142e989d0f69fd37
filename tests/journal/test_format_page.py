"""The page on the text form holds to the code: its examples are read, its lists are complete."""

import re
from pathlib import Path

import pytest

from slowfire.errors import JournalError
from slowfire.journal import effective_entries, read_journal, write_journal
from slowfire.journal.cells import SLOTS
from slowfire.journal.entries import COLUMNS
from slowfire.records import KINDS, RETRACT, Reading, joined_loads
from slowfire.weather.files import COLUMNS as WEATHER_COLUMNS

PAGE = (Path(__file__).parents[2] / "docs" / "journal-format.md").read_text(encoding="utf-8")


def block(language: str) -> str:
    """The one code block of this language."""
    found = re.findall(rf"```{language}\n(.*?)```", PAGE, re.DOTALL)
    assert len(found) == 1
    return str(found[0])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The page's example as a folder."""
    (tmp_path / "site.toml").write_text(block("toml"), encoding="utf-8")
    (tmp_path / "entries.csv").write_text(block("csv"), encoding="utf-8")
    return tmp_path


def test_the_example_has_every_kind_and_survives_writing(folder: Path, tmp_path: Path) -> None:
    """Read, written and read again it is the same; correction and retraction work."""
    journal = read_journal(folder)
    assert {one.kind for one in journal.entries} == {*KINDS, RETRACT}
    write_journal(journal, tmp_path / "copy")
    assert read_journal(tmp_path / "copy") == journal
    readings = [e.payload for e in effective_entries(journal.entries) if e.kind == "reading"]
    assert isinstance(readings[0], Reading)
    assert [one.temperature.value for one in readings] == [113.0]
    assert len([e for e in journal.effective if e.kind == "usual"]) == 1
    assert [len(items) for _, _, items in joined_loads(journal.effective)] == [2]


def test_every_column_kind_and_key_is_on_the_page() -> None:
    """What can be written is described."""
    table = PAGE[PAGE.index("### Kinds") : PAGE.index("### An example")]
    for kind in (*KINDS, RETRACT):
        row = next(line for line in table.splitlines() if re.match(rf"\|[^|]*\b{kind}\b", line))
        for slot in SLOTS.get(kind, ()):
            if slot.column == "value":
                assert f"{slot.name}=" in row, (kind, slot.name)
                for word in slot.form.words:
                    assert word in table, (kind, word)
    for column in (*COLUMNS, *WEATHER_COLUMNS):
        assert f"`{column}`" in PAGE


def test_the_message_shown_is_the_message_given(folder: Path) -> None:
    """The page's example of a refusal is what the reader says."""
    shown = re.findall(r"```\n(entries\.csv, line 3.*?)\n```", PAGE)
    text = "when,bin,kind,item,amount\n2026-03-12,Drum,usual,,\n2026-03-12,Drum,reading,probe,55\n"
    (folder / "entries.csv").write_text(text, encoding="utf-8")
    with pytest.raises(JournalError) as caught:
        read_journal(folder)
    assert [str(caught.value)] == shown
