"""Pages made from data are as the data are now, and the readers behind them read rightly."""

import csv
import re
from pathlib import Path

import make_docs
import pytest

from slowfire.column.parameters import priors
from slowfire.materials.packaged import packaged_rows

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("name", sorted(make_docs.PAGES))
def test_page_is_up_to_date(name):
    written = (ROOT / "docs" / name).read_text(encoding="utf-8")
    assert written == make_docs.PAGES[name](), "run make docs"


@pytest.mark.parametrize(
    ("tex", "text"),
    [
        (r"Sol{\'e}-Mauri", "Sol\u00e9-Mauri"),
        (r"Selimba{\v{s}}i{\'c}", "Selimba\u0161i\u0107"),
        (r"Versuche {\"u}ber", "Versuche \u00fcber"),
        (r"{ISO} 6946: pages 1--22", "ISO 6946: pages 1-22"),
    ],
)
def test_tex_is_read_as_plain_text(tex, text):
    assert make_docs.plain(tex) == text


def test_bibliography_is_read_whole():
    text = (ROOT / "src" / "slowfire" / "sources.bib").read_text(encoding="utf-8")
    entries = make_docs.read_bibliography(text)
    assert len(entries) == len(re.findall(r"^@", text, re.MULTILINE))
    for key, fields in entries.items():
        assert {"author", "title", "year"} <= set(fields), key
        assert not re.search(r"[{}\\]", "".join(fields.values())), key
        # keys end in the year, but for standards, whose number they end in
        assert key.endswith(fields["year"]) or key.startswith("iso"), key


def test_plain_sources_of_parameters_are_explained():
    used = {prior.source for prior in priors().values()}
    assert {word for word in used if not re.search(r"\d", word)} == set(make_docs.PLAIN_SOURCES)


def test_works_named_with_the_materials_are_listed():
    with (ROOT / "docs" / "material-sources.csv").open(encoding="utf-8", newline="") as file:
        works = list(csv.DictReader(file))
    assert {row["known"] for row in works} == {"read", "recalled"}
    tags = {tag.strip() for row in works for tag in row["tag"].split(",")}
    for row in packaged_rows("feedstocks.csv"):
        named = re.findall(r"\b[A-Z][A-Z0-9]+(?:-[A-Z0-9]+)+\b|\b[A-Z]{5,}\b", row["source"])
        assert set(named) <= tags, row["id"]
