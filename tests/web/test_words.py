"""Words of the pages: collected for translators, and shown in a language that has a catalogue."""

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from make_words import TEMPLATE, as_text, words

from slowfire.web import rendering


def test_the_collected_words_are_those_of_the_pages():
    assert TEMPLATE.read_text(encoding="utf-8") == as_text(words()), "run make words"


def test_no_word_of_a_page_stands_outside_the_catalogue():
    """Between tags stands only what is translated or computed."""
    import re

    outside = []
    for template in sorted(rendering.TEMPLATES.glob("*.html")):
        text = template.read_text(encoding="utf-8")
        text = re.sub(r"{#.*?#}|{%.*?%}|{{.*?}}|<code>.*?</code>", "", text, flags=re.S)
        for piece in re.findall(r">([^<>]*)<", text):
            plain = re.sub(r"&\w+;|slowfire|\bC:N\b|°[CF]|cm²|mmol", "", piece)
            if re.search(r"[A-Za-z]{4,}", plain):
                outside.append(f"{template.name}: {piece.strip()}")
    assert outside == []


def test_a_catalogue_is_used_for_who_asks_for_it(ready, tmp_path, monkeypatch):
    folder = tmp_path / "locales" / "de" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    with TEMPLATE.open("rb") as file:
        catalog = read_po(file, locale="de")
    catalog["Today"].string = "Heute"
    with (folder / "slowfire.mo").open("wb") as file:
        write_mo(file, catalog)
    place = tmp_path / "locales"
    monkeypatch.setattr(rendering, "languages", lambda: ("en_GB", "de"))
    whole = rendering.environment
    monkeypatch.setattr(rendering, "environment", lambda locale="en": whole(locale, place))
    browser, _ = ready
    german = browser.get("/", **{"accept-language": "de-AT,de;q=0.9,en;q=0.5"})
    assert german.text("nav a") == "Heute"
    assert german.tree.css_first("html").attributes["lang"] == "de"
    english = browser.get("/", **{"accept-language": "en-GB"})
    assert english.text("nav a") == "Today"
    assert english.tree.css_first("html").attributes["lang"] == "en-GB"
