"""The tables of published checks and of what they can see, made from results files."""

import json
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
RESULTS = ROOT / "benchmarks" / "results"
START, END = "<!-- checks -->", "<!-- end of checks -->"


def _figure(value: float | str | None) -> str:
    if value is None:
        return "-"
    return value if isinstance(value, str) else f"{value:.3g}"


def checks_text() -> str:
    """The section of published checks, from `make verify` and `make calibrate`."""
    told = json.loads((RESULTS / "published_checks.json").read_text(encoding="utf-8"))
    fit = json.loads((RESULTS / "calibration.json").read_text(encoding="utf-8"))
    tallies = {name: told[name] for name in ("in_calibration", "held_out")}
    lines = [
        START,
        "",
        f"Made from `make verify` at commit `{told['commit']}`: one parameter set, "
        f"{told['members']} bins for each set-up, spread over what its source leaves open. *Ours* "
        "is the median with the 5th and 95th percentile; a row passes when the median lies in the "
        "band. Whole set-ups were held out before the first fit, in the order of the SHA-256 of "
        "their id, until the next would pass a third of the rows.",
        "",
        f"- In calibration {tallies['in_calibration']['passed']} of "
        f"{tallies['in_calibration']['rows']} rows pass; 75 % are promised.",
        f"- Held out {tallies['held_out']['passed']} of {tallies['held_out']['rows']} rows pass; "
        "50 % are promised.",
        "",
        "Most sources were read as abstracts; a band is our own allowance where none was printed. "
        "What a band holds is told by `slowfire verify-model --json`, row by row. While the model "
        "was built, results of all rows were seen, those held out too; values were chosen, by "
        "trials and then by the fit, on the other rows alone.",
        "",
        "| id | quantity | band | ours | unit | seen by the fit | |",
        "|---|---|---|---|---|---|---|",
    ]
    lines += [
        f"| {row['id']} | {row['quantity'].replace('_', ' ')} | {_figure(row['low'])} to "
        f"{_figure(row['high'])} | {_figure(row['value'])} ({_figure(row['interval_low'])} to "
        f"{_figure(row['interval_high'])}) | {row['unit']} | {'no' if row['held_out'] else 'yes'} "
        f"| {'pass' if row['passed'] else '**miss**'} |"
        for row in told["checks"]
    ]
    lines += ["", "### Why the misses miss", "", "| row | reason |", "|---|---|"]
    lines += [
        f"| {row['id']} {row['quantity'].replace('_', ' ')} | {row['reason']} |"
        for row in told["checks"]
        if not row["passed"]
    ]
    lines += [
        "",
        "### What the checks can see",
        "",
        f"Made from `make calibrate` at commit `{fit['commit']}`, {fit['members']} members, "
        f"{fit['rounds']} rounds. *Spread left* is that of the fitted ensemble over that of the "
        "prior: near 1 the checks hardly see the parameter, and it stays at its prior. The rows "
        "named are those that followed it closest over the prior, with their rank correlation.",
        "",
        "| parameter | before | after | 5 to 95 % | spread left | rows that see it most |",
        "|---|---|---|---|---|---|",
    ]
    for one in sorted(fit["parameters"], key=lambda each: each["spread_left"]):
        seen = ", ".join(
            f"{row['id']} {row['quantity'].replace('_', ' ')} ({row['rank']:+.2f})"
            for row in one["seen_by"][:2]
        )
        lines.append(
            f"| `{one['name']}` | {one['before']:.3g} | {one['value']:.3g} | {one['low']:.3g} to "
            f"{one['high']:.3g} | {one['spread_left']:.2f} | {seen} |"
        )
    return "\n".join([*lines, "", END])


def models_page() -> str:
    """docs/models-and-limits.md with its tables made anew."""
    page = (ROOT / "docs" / "models-and-limits.md").read_text(encoding="utf-8")
    before, rest = page.split(START, 1)
    return before + checks_text() + rest.split(END, 1)[1]
