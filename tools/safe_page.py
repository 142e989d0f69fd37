"""docs/safe-and-finished.md with its tables made from the packaged data."""

import csv
import json
from collections.abc import Callable
from pathlib import Path

from slowfire.hygiene.lethality import organisms
from slowfire.hygiene.packaged import packaged_text
from slowfire.hygiene.rules import choose_rules, hygiene_rules
from slowfire.hygiene.seeds import weed_seeds
from slowfire.maturity.classes import scales
from slowfire.maturity.instructions import instructions

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "safe-and-finished.md"
TAKEN_OUT = ROOT / "benchmarks" / "results" / "taken_out.json"
USES = {"default": "judged", "other": "by id", "index": "index only", "historic": "old text"}


def _table(headings: list[str], rows: list[list[str]]) -> str:
    lines = [headings, ["---"] * len(headings), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def rules_table() -> str:
    """Every rule, one a row."""
    return _table(
        ["rule", "whose", "asks for", "written for", "source", "how sure", ""],
        [
            [
                f"`{rule.id}`",
                rule.jurisdiction,
                rule.words,
                rule.system,
                rule.source,
                rule.confidence,
                USES[rule.use],
            ]
            for rule in hygiene_rules().values()
        ],
    )


def strictness_table() -> str:
    """What is judged for each jurisdiction, least first."""
    judged = [rule for rule in hygiene_rules().values() if rule.use == "default"]
    names = dict.fromkeys(rule.jurisdiction for rule in judged)
    easiest = {
        name: min((r for r in judged if r.jurisdiction == name), key=lambda r: r.severity)
        for name in names
    }
    return _table(
        ["chosen", "any one of", "easiest as hours at 55 °C"],
        [
            [name, choose_rules([name]).words.removeprefix(f"{name}: "), f"{rule.severity:.0f}"]
            for name, rule in sorted(easiest.items(), key=lambda item: item[1].severity)
        ],
    )


def home_table() -> str:
    """What each jurisdiction says of compost made and used at home."""
    rows = csv.DictReader(packaged_text("home_scope.csv").splitlines())
    return _table(
        ["whose", "at home", "source", "how sure"],
        [[row["jurisdiction"], row["words"], row["source"], row["confidence"]] for row in rows],
    )


def organisms_table() -> str:
    """Hours that leave a tenth, at each degree."""
    rows = []
    for one in organisms().values():
        times = dict(one.decimal_hours)
        cells = [f"{times[t]:g}" if t in times else "-" for t in (50.0, 55.0, 60.0)]
        rows.append([one.name, one.state, *cells, one.condition or "-", one.confidence])
    headings = ["germ", "state", "50 °C, h", "55 °C, h", "60 °C, h", "besides", "how sure"]
    return _table(headings, rows)


def seeds_table() -> str:
    """What is known of each kind of seed."""
    rows = []
    for one in weed_seeds().values():
        unharmed = one.unharmed_up_to_celsius
        times = dict(one.hours_at)
        cells = [f"{times[t]:g}" if t in times else "-" for t in (50.0, 60.0, 70.0)]
        rows.append(
            [
                one.name,
                "-" if unharmed is None else f"{unharmed:g} °C",
                *cells,
                one.note or "-",
                one.confidence,
            ]
        )
    headings = ["kind", "unharmed up to", "50 °C, h", "60 °C, h", "70 °C, h", "note", "how sure"]
    return _table(headings, rows)


def diseases_table() -> str:
    """Refused and conditional plant diseases."""
    rows = csv.DictReader(packaged_text("plant_diseases.csv").splitlines())
    return _table(
        ["disease", "", "known", "source", "how sure"],
        [
            [
                row["name"],
                "**kept out**" if row["refused"] == "yes" else "never promised",
                row["note"],
                row["source"],
                row["confidence"],
            ]
            for row in rows
        ],
    )


def classes_table() -> str:
    """Classes of every test."""
    rows = []
    for scale in scales().values():
        for (end, included), one in zip(scale.ends, scale.classes, strict=True):
            last = end == float("inf")
            up_to = "more" if last else f"{'up to' if included else 'below'} {end:g}"
            name = scale.name.replace("_", " ")
            rows.append([name, one.unit, up_to, one.words, one.verdict, one.source, one.confidence])
    return _table(["test", "unit", "value", "means", "", "source", "how sure"], rows)


def tests_text() -> str:
    """How to do every test."""
    parts = []
    for one in instructions().values():
        parts.append(f"### {one.name.capitalize()}\n\n{one.why} Takes {one.days}.\n")
        parts.append(f"Needs {', '.join(one.needs)}. {one.caution}\n")
        parts += [f"{k}. {step}" for k, step in enumerate(one.steps, start=1)]
        parts.append(f"\nWrite down: {'; '.join(one.write_down)}. ({one.source})\n")
    return "\n".join(parts).rstrip()


def trials_text() -> str:
    """How often the verdicts on heat were right on hidden bins."""
    told = json.loads(TAKEN_OUT.read_text(encoding="utf-8"))

    def percent(share: float | None) -> str:
        return "-" if share is None else f"{100.0 * share:.0f} %"

    rows = []
    for name, words in (
        ("spots", "every spot, centre or edge of a layer"),
        ("centre", "centre"),
        ("edge", "edge"),
        ("whole", "whole layer, centre and edge together"),
    ):
        one = told["spots"] if name == "spots" else told["by_place"][name]
        rows.append(
            [
                words,
                str(one["looked_at"]),
                str(one["qualified"]),
                f"{one['yes']}, of which right {percent(one['yes_right'])}",
                f"{one['qualified_and_probed']}, of which given {percent(one['of_these_yes'])}",
                f"{one['qualified_and_read_often']}, of which given {percent(one['of_those_yes'])}",
                f"{one['no']}, of which wrong {percent(one['no_wrong'])}",
            ]
        )
    head = f"Commit `{told['commit']}`, rule `{told['rule']}`, {told['bins']} hidden bins."
    table = _table(
        [
            "judged",
            "how many",
            "truly met it",
            "*yes* said",
            "met it and were probed",
            "met it and were read often",
            "*no* said",
        ],
        rows,
    )
    harvest, liquid, leached = (
        percent(told[f"{name}_error_median"]) for name in ("harvest", "liquid", "leached")
    )
    rest = (
        f"Harvest at the door off by {harvest} (median; promised 20). Liquid, what was drawn as "
        f"its keeper wrote it and what stands in the tub by the estimate, off by {liquid} in "
        f"{told['bins_with_liquid']} bins that gave any (promised 30); what the model alone would "
        f"have leached, by {leached}."
    )
    return f"{head}\n\n{table}\n\n{rest}"


TABLES: dict[str, Callable[[], str]] = {
    "rules": rules_table,
    "strictness": strictness_table,
    "home": home_table,
    "germs": organisms_table,
    "seeds": seeds_table,
    "diseases": diseases_table,
    "classes": classes_table,
    "tests": tests_text,
    "trials": trials_text,
}


def safe_page() -> str:
    """The page with every table made anew."""
    page = PAGE.read_text(encoding="utf-8")
    for name, made in TABLES.items():
        start, end = f"<!-- {name} -->", f"<!-- end of {name} -->"
        before, rest = page.split(start, 1)
        page = f"{before}{start}\n\n{made()}\n\n{end}{rest.split(end, 1)[1]}"
    return page
