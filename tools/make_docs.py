"""Write the pages under docs/ that are tables of packaged data."""

import csv
from pathlib import Path

from slowfire.column.parameters import priors
from slowfire.materials.library import load_library

ROOT = Path(__file__).resolve().parent.parent
DOCS = ROOT / "docs"


def parameters_page() -> str:
    lines = [
        "# Parameters of the column",
        "",
        "Made by `make docs` from `src/slowfire/column/parameters.csv`. The range is the prior "
        "within which a value may be fitted; `fit` was fitted to bands of common practice.",
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


def materials_page() -> str:
    lines = [
        "# Materials",
        "",
        "Made by `make docs` from `src/slowfire/materials/`. Water is of the mass as added; "
        "nitrogen of dry matter; density as tipped in loosely. `slowfire feedstocks WORD` shows "
        "one material with its spread and source.",
        "",
        "The source column of `feedstocks.csv` names each value's origin: F read in the work "
        "named, M recalled from it, C calculated, E estimated by us. The works:",
        "",
        "| tag | work |",
        "|---|---|",
    ]
    with (DOCS / "material-sources.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            lines.append(f"| {row['tag']} | {row['work']} |")
    lines += [
        "",
        "| id | name | water % | C:N | nitrogen % | density kg/m3 | role | kind of source |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for stuff in load_library().feedstocks:
        ratio = "-"
        if stuff.counts_in_c_to_n and stuff.nitrogen_content > 0.0:
            ratio = f"{stuff.carbon_content / stuff.nitrogen_content:.0f}"
        lines.append(
            f"| `{stuff.id}` | {stuff.name} | {100 * stuff.moisture_content_wet_basis:.0f} "
            f"| {ratio} | {100 * stuff.nitrogen_content:.2f} | {stuff.bulk_density:.0f} "
            f"| {stuff.structure_role} | {stuff.source_kind} |"
        )
    return "\n".join(lines) + "\n"


PAGES = {"parameters.md": parameters_page, "materials.md": materials_page}


def main() -> None:
    for name, page in PAGES.items():
        (DOCS / name).write_text(page(), encoding="utf-8")
        print(f"docs/{name}")


if __name__ == "__main__":
    main()
