"""Write the pages under docs/ that are tables of packaged data."""

import csv
import re
import unicodedata
from collections import Counter
from pathlib import Path

from docs_checks import models_page
from estimate_page import estimate_page
from safe_page import safe_page
from speed_page import speed_page

from slowfire.column.parameters import priors
from slowfire.materials.library import load_library

ROOT = Path(__file__).resolve().parent.parent
DOCS = ROOT / "docs"
BIBLIOGRAPHY = ROOT / "src" / "slowfire" / "sources.bib"

PLAIN_SOURCES = {
    "fit": "a starting value of ours, there to be fitted; models-and-limits.md shows the fit",
    "common practice": "a fact of the trade, no source",
    "numerics": "no property of the bin, only of how it is computed",
}
ROLES = {
    "wet": "brings water",
    "absorbent": "takes up water",
    "bulking": "holds pores open",
    "neutral": "neither",
}
SOURCE_KINDS = {
    "found": "read in the work named, or set inside values read there",
    "memory": "recalled from the work named",
    "estimate": "built by analogy",
}
# TeX accents as combining characters.
ACCENTS = {"'": "\u0301", "`": "\u0300", '"': "\u0308", "~": "\u0303", "v": "\u030c"}


def parameters_page() -> str:
    lines = [
        "# Parameters of the column",
        "",
        "Made by `make docs` from `src/slowfire/column/parameters.csv`. The range is the prior "
        "within which a value may be fitted. A source is a work in [sources.md](sources.md), or",
        "",
    ]
    lines += [f"- `{word}`: {meaning}" for word, meaning in PLAIN_SOURCES.items()]
    lines += [
        "",
        "What each does stands in [models-and-limits.md](models-and-limits.md).",
        "",
        "| name | value | range | unit | source | note |",
        "|---|---|---|---|---|---|",
    ]
    for name, prior in priors().items():
        lines.append(
            f"| `{name}` | {prior.value:g} | {prior.low:g} to {prior.high:g} | {prior.unit} "
            f"| {prior.source} | {prior.note} |"
        )
    return "\n".join(lines) + "\n"


def _works(known: str) -> list[str]:
    lines = ["| tag | work | what it served for |", "|---|---|---|"]
    with (DOCS / "material-sources.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["known"] == known:
                lines.append(f"| {row['tag']} | {row['work']} | {row['served']} |")
    return lines


def materials_page() -> str:
    stuffs = load_library().feedstocks
    kinds = Counter(stuff.source_kind for stuff in stuffs)
    lines = [
        "# Materials",
        "",
        "Made by `make docs` from `src/slowfire/materials/`. `slowfire feedstocks WORD` shows one "
        "material with its spread, its cautions and the source of each value.",
        "",
        "- **water**: share of the mass as added.",
        "- **C:N**: organic carbon over nitrogen; a dash where the carbon feeds nothing.",
        "- **nitrogen**, **ash**: share of dry matter.",
        "- **rapid**, **slow**, **resistant**: shares of what is not ash. Rapid: sugar, starch, "
        "protein, fat, pectin. Slow: cellulose, hemicellulose, keratin. Resistant: lignin, cutin, "
        "tannin, char, humus.",
        "- **loose**, **dense**: mass as added by volume, tipped in, and pressed by hand.",
        "- **role**: " + "; ".join(f"{role} {means}" for role, means in ROLES.items()) + ".",
        "- **known**: how the nitrogen value is known. "
        + "; ".join(f"{kind} ({kinds[kind]}): {means}" for kind, means in SOURCE_KINDS.items())
        + ".",
        "",
        "| id | name | water % | C:N | nitrogen % | ash % | rapid / slow / resistant % "
        "| loose kg/m3 | dense kg/m3 | role | known |",
        "|---|---|---|---|---|---|---|---|---|---|---|",
    ]
    for stuff in stuffs:
        ratio = "-"
        if stuff.counts_in_c_to_n and stuff.nitrogen_content > 0.0:
            ratio = f"{stuff.carbon_content / stuff.nitrogen_content:.0f}"
        shares = (stuff.fast_fraction, stuff.slow_fraction, stuff.resistant_fraction)
        lines.append(
            f"| `{stuff.id}` | {stuff.name} | {100 * stuff.moisture_content_wet_basis:.0f} "
            f"| {ratio} | {100 * stuff.nitrogen_content:.2f} "
            f"| {100 * (1 - stuff.volatile_solids):.1f} "
            f"| {' / '.join(f'{100 * share:.0f}' for share in shares)} "
            f"| {stuff.bulk_density:.0f} | {stuff.dense_bulk_density:.0f} "
            f"| {stuff.structure_role} | {stuff.source_kind} |"
        )
    lines += [
        "",
        "## Sources of the values",
        "",
        "The column `source` of `feedstocks.csv` says for each material where its values come "
        "from: **F[...]** read in the work named, **M[...]** recalled from it, **C[...]** "
        "calculated, **E[...]** estimated by us. A value that no tag names is an estimate. Works "
        "marked (abstract) were seen as an abstract only.",
        "",
        "### Read",
        "",
        *_works("read"),
        "",
        "### Recalled",
        "",
        "Written down without the work at hand: look the value up before you quote it.",
        "",
        *_works("recalled"),
    ]
    return "\n".join(lines) + "\n"


def plain(text: str) -> str:
    """Text of a field of the bibliography without TeX's braces, accents and dashes."""
    text = re.sub(
        r"\\([`'\"~v])\{?(\w)\}?",
        lambda found: unicodedata.normalize("NFC", found[2] + ACCENTS[found[1]]),
        text,
    )
    text = text.replace("\\&", "&").replace("--", "-").replace("~", " ")
    return re.sub(r"\s+", " ", text.replace("{", "").replace("}", "")).strip()


def read_bibliography(text: str) -> dict[str, dict[str, str]]:
    """Fields of every entry by key; values stand in braces, which may nest."""
    entries: dict[str, dict[str, str]] = {}
    for entry in re.split(r"^@\w+\{", text, flags=re.MULTILINE)[1:]:
        key, body = entry.split(",", 1)
        fields: dict[str, str] = {}
        for found in re.finditer(r"(\w+) = \{", body):
            depth, end = 1, found.end()
            while depth:
                depth += {"{": 1, "}": -1}.get(body[end], 0)
                end += 1
            fields[found[1]] = plain(body[found.end() : end - 1])
        entries[key.strip()] = fields
    return entries


def _authors(text: str) -> str:
    names = [name.split(",")[0] for name in text.split(" and ")]
    if names[-1] == "others" or len(names) > 3:
        return f"{names[0]} et al."
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def sources_page() -> str:
    entries = read_bibliography(BIBLIOGRAPHY.read_text(encoding="utf-8"))
    from_memory = sum("from memory" in fields.get("note", "") for fields in entries.values())
    lines = [
        "# Sources",
        "",
        "Made by `make docs` from `src/slowfire/sources.bib`. Docstrings, "
        "[parameters.md](parameters.md) and [models-and-limits.md](models-and-limits.md) name "
        "these works by key; where the values of materials come from stands in "
        "[materials.md](materials.md).",
        "",
        f"{from_memory} of the {len(entries)} works carry **from memory**: the entry, and what is "
        "cited from it, was written down without the work at hand. Look a value up before you "
        "quote it.",
        "",
        "| key | work | |",
        "|---|---|---|",
    ]
    for key, fields in sorted(entries.items()):
        where = next(
            (
                fields[name]
                for name in (
                    "journal",
                    "booktitle",
                    "publisher",
                    "school",
                    "institution",
                    "organization",
                )
                if name in fields
            ),
            "",
        )
        where += f" {fields['volume']}" if "volume" in fields else ""
        where += f":{fields['pages']}" if "pages" in fields else ""
        work = f"{_authors(fields['author'])}, {fields['year']}. {fields['title']}."
        work += f" {where}." if where else ""
        lines.append(f"| {key} | {work} | {fields.get('note', '')} |")
    return "\n".join(lines) + "\n"


PAGES = {
    "models-and-limits.md": models_page,
    "parameters.md": parameters_page,
    "materials.md": materials_page,
    "sources.md": sources_page,
    "speed.md": speed_page,
    "estimate.md": estimate_page,
    "safe-and-finished.md": safe_page,
}


def main() -> None:
    for name, page in PAGES.items():
        (DOCS / name).write_text(page(), encoding="utf-8")
        print(f"docs/{name}")


if __name__ == "__main__":
    main()
