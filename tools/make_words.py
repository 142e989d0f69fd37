"""Collect every word of the pages for translators, and compile what they have written.

`slowfire.pot` holds the words; a translation is a `.po` file made from it, in
`src/slowfire/web/locales/<locale>/LC_MESSAGES/slowfire.po`.
"""

import io
import sys
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).resolve().parent.parent
WEB = ROOT / "src" / "slowfire" / "web"
LOCALES = WEB / "locales"
TEMPLATE = LOCALES / "slowfire.pot"
METHODS = [("templates/**.html", "jinja2")]
OPTIONS = {"templates/**.html": {"trimmed": "true", "silent": "false"}}


def words() -> Catalog:
    """Every word of the templates, with where it stands."""
    catalog = Catalog(project="slowfire", charset="utf-8", fuzzy=False)
    found = extract_from_dir(str(WEB), METHODS, OPTIONS)
    for file, _line, message, comments, context in sorted(found, key=lambda one: (one[0], one[1])):
        catalog.add(message, None, [(file, 1)], auto_comments=comments, context=context)
    return catalog


def as_text(catalog: Catalog) -> str:
    """The catalogue without dates, so that it changes only when words do."""
    file = io.BytesIO()
    write_po(file, catalog, omit_header=True, no_location=False, include_lineno=False, width=0)
    return file.getvalue().decode()


def main() -> None:
    LOCALES.mkdir(exist_ok=True)
    TEMPLATE.write_text(as_text(words()), encoding="utf-8")
    print(TEMPLATE.relative_to(ROOT))
    for po in sorted(LOCALES.glob("*/LC_MESSAGES/slowfire.po")):
        with po.open("rb") as file:
            catalog = read_po(file)
        catalog.update(words())
        with po.open("wb") as file:
            write_po(file, catalog, include_lineno=False)
        with po.with_suffix(".mo").open("wb") as file:
            write_mo(file, catalog)
        print(po.relative_to(ROOT))


if __name__ == "__main__":
    sys.exit(main())
