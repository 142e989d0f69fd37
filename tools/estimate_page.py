"""The tables of the twin trials, made from their results file."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
RESULTS = ROOT / "benchmarks" / "results" / "estimate.json"
BEST = ROOT / "benchmarks" / "results" / "best_possible.json"
KNOWN = ROOT / "benchmarks" / "results" / "known_laws.json"
PAGE = ROOT / "docs" / "estimate.md"
START, END = "<!-- trials -->", "<!-- end of trials -->"
BEST_START, BEST_END = "<!-- at best -->", "<!-- end of at best -->"

REFERENCE = "no readings"
BINS = 60
TIERS = {
    "two_depths": "two depths and the lid",
    "one_depth": "one depth",
    "lid_only": "lid only",
    "looks_only": "looks only",
    "stocktake": "stock-take, no history",
}
AT_MOST, AT_LEAST = (1.0, "K", "most"), (100.0, "%", "least")
# Tier, score, words, factor to the unit, unit, at least or at most, floor, aim.
TARGETS = (
    ("two_depths", "hottest_error", "hottest layer, at the hour, off by", *AT_MOST, 3.5, 2.5),
    ("two_depths", "back_error", "hottest layer, looking back, off by", *AT_MOST, 3.5, 2.5),
    ("one_depth", "hottest_error", "hottest layer, at the hour, off by", *AT_MOST, 4.5, 3.0),
    ("one_depth", "back_error", "hottest layer, looking back, off by", *AT_MOST, 4.5, 3.0),
    ("lid_only", "times_better_than_lid", "better than the lid", 1.0, "times", "least", 2.0, None),
    ("two_depths", "peaks_met_share", "peaks met, at the hour", *AT_LEAST, 40.0, 70.0),
    ("two_depths", "back_peaks_met_share", "peaks met, looking back", *AT_LEAST, 40.0, 70.0),
    (
        "two_depths",
        "forecast_better_than",
        "7 days ahead, better than persistence",
        100.0,
        "%",
        "least",
        20.0,
        35.0,
    ),
    *(
        (tier, "hottest_inside", "inside the 90 % interval", 100.0, "%", "range", 85.0, 95.0)
        for tier in TIERS
    ),
)


def _figure(value: float | None, factor: float = 1.0, digits: int = 1) -> str:
    return "-" if value is None else f"{factor * value:.{digits}f}"


def _judged(value: float | None, kind: str, floor: float, aim: float | None) -> str:
    """Met, aim met or missed; a floor and an aim are the two ends of a range."""
    if value is None:
        return "not scored"
    if kind == "range":
        return "met" if floor <= value <= (aim or floor) else "**missed**"
    sign = 1.0 if kind == "least" else -1.0
    if sign * (value - floor) < 0.0:
        return "**missed**"
    return "aim met" if aim is not None and sign * (value - aim) >= 0.0 else "met"


def _wanted(kind: str, floor: float, aim: float | None, unit: str) -> str:
    if kind == "range":
        return f"{floor:g} to {aim:g} {unit}"
    text = f"at {kind} {floor:g} {unit}"
    return text if aim is None else f"{text} (aim {aim:g})"


def _target_rows(tiers: dict[str, Any], spread: bool) -> list[str]:
    rows = []
    for tier, score, words, factor, unit, kind, floor, aim in TARGETS:
        if tier not in tiers or (not spread and (kind == "range" or score.startswith("back_"))):
            continue
        value = tiers[tier]["all"][score]
        scaled = None if value is None else factor * value
        rows.append(
            f"| {TIERS[tier]} | {words} | {_wanted(kind, floor, aim, unit)} "
            f"| {_figure(scaled)} {unit} | {_judged(scaled, kind, floor, aim)} |"
        )
    return rows


def _score_rows(tiers: dict[str, Any], group: str) -> list[str]:
    rows = []
    for tier, words in TIERS.items():
        if group not in tiers.get(tier, {}):
            continue
        one = tiers[tier][group]
        rows.append(
            f"| {words} | {one['bins']} | {_figure(one['hottest_error'])} "
            f"| {_figure(one['hottest_error_worst_tenth'])} | {_figure(one['hottest_bias'])} "
            f"| {_figure(one['hottest_inside'], 100.0, 0)} | {_figure(one['hottest_width'])} "
            f"| {_figure(one['back_error'])} | {_figure(one['back_inside'], 100.0, 0)} "
            f"| {_figure(one['lid_error'])} | {_figure(one['times_better_than_lid'])} "
            f"| {_figure(one['peaks_met_share'], 100.0, 0)} and "
            f"{_figure(one['back_peaks_met_share'], 100.0, 0)} of {one['peaks']} "
            f"| {_figure(one['forecast_error'])} | {_figure(one['persistence_error'])} "
            f"| {_figure(one['true_persistence_error'])} "
            f"| {_figure(one['forecast_better_than'], 100.0, 0)} "
            f"| {_figure(one['forecast_better_than_median_bin'], 100.0, 0)} "
            f"| {_figure(one['forecast_inside'], 100.0, 0)} |"
        )
    return rows


SCORES_HEADING = [
    "| tier | bins | hottest off by [K] | in the worst tenth [K] | too warm by [K] "
    "| inside 90 % [%] | width of 90 % [K] | looking back off by [K] | inside [%] "
    "| lid off by [K] | times better than the lid "
    "| peaks met, at the hour and looking back [%] | 7 days ahead off by [K] "
    "| own estimate held [K] | truth held [K] "
    "| better than held, pooled [%] | in the median bin [%] | inside ahead [%] |",
    "|" + "---|" * 18,
]


def _reliability_lines(tiers: dict[str, Any], name: str, words: str) -> list[str]:
    lines = [
        f"#### {words}",
        "",
        "| tier | statements | it was so [%] | Brier score | better than the base rate by [%] "
        "| stated and seen apart, mean over tenths [%] "
        "| stated less seen in all, and with other bins [%] "
        "| where a half or more was stated [%] | stated and seen, by tenths [%] |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for tier, tier_words in TIERS.items():
        if tier not in tiers:
            continue
        one = tiers[tier]["all"][name]
        pairs = [
            f"{100.0 * stated / count:.0f}: {100.0 * seen / count:.0f} ({count:.0f})"
            for count, stated, seen in zip(
                one["count"], one["stated"], one["happened"], strict=True
            )
            if count
        ]
        low, high = one["gap_in_all_range"]
        lines.append(
            f"| {tier_words} | {sum(one['count']):.0f} | {_figure(one['base_rate'], 100.0)} "
            f"| {_figure(one['brier_score'], 1.0, 3)} | {_figure(one['skill'], 100.0, 0)} "
            f"| {_figure(one['mean_gap'], 100.0)} "
            f"| {_figure(one['gap_in_all'], 100.0)}, {_figure(low, 100.0)} to "
            f"{_figure(high, 100.0)} "
            f"| {_half_or_more_words(one['half_or_more'])} | {', '.join(pairs) or '-'} |"
        )
    return [*lines, ""]


def _half_or_more_words(upper: dict[str, Any]) -> str:
    if not upper["count"]:
        return "never"
    return (
        f"{_figure(upper['stated'], 100.0, 0)} stated, {_figure(upper['seen'], 100.0, 0)} seen, "
        f"in {upper['bins']} bin{'' if upper['bins'] == 1 else 's'}"
    )


def _group_rows(tiers: dict[str, Any]) -> list[str]:
    groups = [key for key in next(iter(tiers.values())) if ": " in key]
    for tier in tiers.values():
        groups += [key for key in tier if ": " in key and key not in groups]
    rows = []
    for group in groups:
        cells = []
        for tier in TIERS:
            one = tiers.get(tier, {}).get(group)
            cells.append(
                "-"
                if one is None
                else f"{_figure(one['hottest_error'])} ({_figure(one['hottest_inside'], 100.0, 0)})"
            )
        bins = max(tier[group]["bins"] for tier in tiers.values() if group in tier)
        rows.append(f"| {group} | {bins} | {' | '.join(cells)} |")
    return rows


def _layer_rows(tiers: dict[str, Any]) -> list[str]:
    rows = []
    for tier, words in TIERS.items():
        for one in tiers[tier]["all"]["layers"] if tier in tiers else ():
            rows.append(
                f"| {words} | {100.0 * one['height']:.0f} | {_figure(one['error'])} "
                f"| {_figure(one['inside'], 100.0, 0)} |"
            )
    return rows


def _water_rows(tiers: dict[str, Any]) -> list[str]:
    rows = []
    for tier, words in TIERS.items():
        told = tiers[tier]["all"] if tier in tiers else {"water": ()}
        if not told["water"]:
            continue
        cells = [
            f"{_figure(one['error'])} ({_figure(one['inside'], 100.0, 0)})" for one in told["water"]
        ]
        oxygen = _figure(told["oxygen_inside"], 100.0, 0)
        rows.append(f"| {words} | {' | '.join(cells)} | {oxygen} |")
    return rows


def _estimator_lines(name: str, told: dict[str, Any]) -> list[str]:
    tiers = told["tiers"]
    most = max(tier["all"]["bins"] for tier in tiers.values())
    refused = sum(tier["all"]["refused"] for tier in tiers.values())
    ahead = [tier["all"]["looked_ahead_kelvin"] for tier in tiers.values()]
    known = [one for one in ahead if one is not None]
    lines = [
        f"### {name[0].upper()}{name[1:]}",
        "",
        f"Commit `{told['commit']}`, {told['measured'][:10]}, {most} hidden bins"
        + (f" of the {BINS} that are promised" if most < BINS else "")
        + (f"; {refused} rows were refused by the estimate" if refused else "")
        + ".",
    ]
    if known:
        lines.append(
            f"Without the second half of a season the first came out otherwise by at most "
            f"{max(known):.2f} K: 0 means that nothing was read before it was written."
        )
    lines += ["", "| tier | score | promised | found | |", "|---|---|---|---|---|"]
    lines += _target_rows(tiers, name != REFERENCE)
    if name == REFERENCE:
        # one run without a spread: what is scored by intervals or by looking back has no meaning
        return [*lines, "", "#### All bins", "", *SCORES_HEADING, *_score_rows(tiers, "all"), ""]
    for group, words in (
        ("all", "All bins"),
        ("bistable", "Bins that were cold and airless at some time"),
        ("steady", "Bins that never were"),
    ):
        rows = _score_rows(tiers, group)
        if rows:
            lines += ["", f"#### {words}", "", *SCORES_HEADING, *rows]
    lines.append("")
    lines += _reliability_lines(tiers, "cold_airless", "Cold and airless now, as stated")
    lines += _reliability_lines(
        tiers, "going_cold_airless", "Cold and airless in a week, as stated"
    )
    lines += [
        "#### Hottest layer by kind of bin",
        "",
        "Off by [K], in brackets inside the 90 % interval [%].",
        "",
        f"| bins | how many | {' | '.join(TIERS.values())} |",
        "|---|---|" + "---|" * len(TIERS),
        *_group_rows(tiers),
        "",
        "#### Temperature at a height",
        "",
        "| tier | above the floor [cm] | off by [K] | inside 90 % [%] |",
        "|---|---|---|---|",
        *_layer_rows(tiers),
        "",
    ]
    rows = _water_rows(tiers)
    if rows:
        heights = [one["height"] for tier in tiers.values() for one in tier["all"]["water"]]
        names = [f"{100.0 * height:.0f} cm" for height in sorted(set(heights))]
        lines += [
            "#### Water at a height and oxygen",
            "",
            "Water off by [percentage points], in brackets inside the 90 % interval [%]; then how "
            "often the lowest oxygen of all layers lies inside its interval [%].",
            "",
            f"| tier | {' | '.join(names)} | oxygen inside 90 % [%] |",
            "|" + "---|" * (len(names) + 2),
            *rows,
            "",
        ]
    return lines


def trials_text() -> str:
    """The section of twin trials, from `make bench-estimate`."""
    told = json.loads(RESULTS.read_text(encoding="utf-8"))
    names = sorted(told, key=lambda name: name == REFERENCE)
    lines = [START, "", "Made by `make docs` from `benchmarks/results/estimate.json`.", ""]
    for name in names:
        lines += _estimator_lines(name, told[name])
    return "\n".join([*lines, END])


def best_text() -> str:
    """The section of what could be known at best, from the results of its two commands."""
    told = json.loads(BEST.read_text(encoding="utf-8"))
    rows = (
        ("the best forecast, a week ahead, off by", told["forecast_error"], 1.0, "K"),
        ("the truth of its hour held, off by", told["true_persistence_error"], 1.0, "K"),
        ("so better than holding the truth", told["forecast_better_than_true"], 100.0, "%"),
        ("the same in the median bin", told["forecast_better_than_true_median_bin"], 100.0, "%"),
        (
            "true laws, written loads: hottest layer off by",
            told["written_hottest_error"],
            1.0,
            "K",
        ),
        (f"and peaks met, of {told['peaks']}", told["peaks_met_share"], 100.0, "%"),
    )
    lines = [BEST_START, "", "Made by `make docs` from `benchmarks/results/best_possible.json`;"]
    lines += [
        f"commit `{told['commit']}`, {told['measured'][:10]}, {told['bins']} hidden bins.",
        "",
    ]
    lines += [*_found(rows), ""]
    known = json.loads(KNOWN.read_text(encoding="utf-8"))
    found = (
        ("true laws and walls, two depths read: hottest layer off by", "hottest_error", 1.0, "K"),
        ("the same looking back", "back_error", 1.0, "K"),
        (f"peaks met at the hour, of {known['peaks']}", "peaks_met_share", 100.0, "%"),
        ("peaks met looking back", "back_peaks_met_share", 100.0, "%"),
        ("7 days ahead, better than persistence", "forecast_better", 100.0, "%"),
        ("inside the 90 % interval", "hottest_inside", 100.0, "%"),
    )
    lines += [
        "From `benchmarks/results/known_laws.json`;",
        f"commit `{known['commit']}`, {known['measured'][:10]}, {known['bins']} hidden bins.",
        "",
        *_found([(words, known[name], factor, unit) for words, name, factor, unit in found]),
    ]
    return "\n".join([*lines, "", BEST_END])


def _found(rows: Sequence[tuple[str, float, float, str]]) -> list[str]:
    return ["| what | found |", "|---|---|"] + [
        f"| {words} | {_figure(value, factor)} {unit} |" for words, value, factor, unit in rows
    ]


def estimate_page() -> str:
    """docs/estimate.md with its tables made anew."""
    page = PAGE.read_text(encoding="utf-8")
    for start, end, text in ((START, END, trials_text()), (BEST_START, BEST_END, best_text())):
        before, rest = page.split(start, 1)
        page = before + text + rest.split(end, 1)[1]
    return page


if __name__ == "__main__":
    PAGE.write_text(estimate_page(), encoding="utf-8")
    print(f"docs/{PAGE.name}")
