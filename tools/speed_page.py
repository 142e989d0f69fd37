"""The page on speed, from the results of the bench."""

import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parents[1] / "benchmarks" / "results"
RESULTS, ANSWERS, PAGES = (FOLDER / f"{name}.json" for name in ("column", "answer", "pages"))

NAMES = {
    "scipy_bdf_sparse": "SciPy BDF, sparse Jacobian",
    "cvode_band": "CVODE, banded Jacobian",
    "cvode_sparse": "CVODE, sparse Jacobian",
}
CASES = {
    "quiet_days": "a week after the last load",
    "between_two_loads": "from a load on",
}


def _integrator_rows(result: dict[str, Any]) -> list[str]:
    rows = []
    for case, words in CASES.items():
        run = result["integrators"][case]
        own = run["kernel"]
        setting = f"{own['step_seconds']:.0f} s steps"
        if own["event_step_seconds"] != own["step_seconds"]:
            setting += f", {own['event_step_seconds']:.0f} s for 6 h"
        start = f"| {words}, {run['hours'] / 24.0:.3g} days "
        rows.append(
            f"{start}| the kernel | {setting} | {own['error_kelvin']:.3f} "
            f"| {1e3 * own['seconds']:.1f} | 1 |"
        )
        for name, title in NAMES.items():
            found = run[name]
            if not found["reached"]:
                rows.append(f"{start}| {title} | none was as exact | | | |")
                continue
            rows.append(
                f"{start}| {title} | tolerance {found['tolerance']:g} "
                f"| {found['error_kelvin']:.3f} | {1e3 * found['seconds']:.1f} "
                f"| {found['times_the_kernel']:.1f} |"
            )
    return rows


def speed_page() -> str:
    """Markdown of docs/speed.md."""
    result = json.loads(RESULTS.read_text(encoding="utf-8"))
    machine = result["machine"]
    runs = [result["integrators"][case] for case in CASES]
    small = max(run["kernel_at_small_step_error_kelvin"] for run in runs)
    members = result["members"]
    memory = result["members_megabytes"]
    peak = result["process_peak_megabytes"]
    layers = result["bin_year_layers"]
    lines = [
        "# Speed",
        "",
        "Made by `make docs` from `benchmarks/results/column.json`, which `make bench` writes. "
        f"Measured {result['measured'][:10]} at commit {result['commit']} on {machine['cores']} "
        f"cores of {machine['processor']}, Python {machine['python']}, numba {machine['numba']}. "
        "Nothing is asserted about these numbers: other work on the machine shows in them.",
        "",
        "| what | measured |",
        "|---|---|",
        f"| a year of one bin, {layers} layers, steps of {result['step_seconds'] / 60.0:.0f} min, "
        f"one core | {result['bin_year_seconds']:.2f} s |",
        f"| one layer for one step | {result['nanoseconds_per_step_and_layer']:.0f} ns |",
        f"| {members} bins for {result['member_days']:.0f} days in two threads | "
        f"{result['members_two_threads_seconds']:.1f} s, with "
        f"{result['cores_got_by_two_threads']:.2f} cores to be had |",
        f"| two threads against one | {result['two_threads_speed_up']:.2f} times as fast |",
        "| time grows with days, layers, members to the power | "
        f"{result['exponent_in_days']:.2f}, {result['exponent_in_layers']:.2f}, "
        f"{result['exponent_in_members']:.2f} |",
        *(f"| memory of the arrays of {n} bins | {memory[n]:.0f} MB |" for n in memory),
        *(
            f"| peak of a process with {n} bins, compiled code and all | {peak[n]:.0f} MB |"
            for n in peak
        ),
        "",
        "## Against integrators of a library",
        "",
        f"A bin of {runs[0]['layers']} layers, {runs[0]['variables']} variables, in air that "
        "swings by the day. All call the kernel's own compiled functions: the right-hand side is "
        "the change over a hundredth of a second, after draft and humidity of the head-space have "
        "settled; its Jacobian comes from compiled differences, sixty-odd to a matrix. The "
        "reference is CVODE at a tolerance of 1e-9; the kernel in steps of "
        f"{runs[0]['small_step_seconds']:.0f} s agrees with it within {small:.4f} K. Every "
        "integrator gets the tolerance with which it is fastest among those at least as exact as "
        "the kernel. The error is the largest, by the hour, of the hottest layer.",
        "",
        "| bin | by | setting | error [K] | time [ms] | times the kernel |",
        "|---|---|---|---|---|---|",
        *_integrator_rows(result),
        "",
        "An integrator with steps of its own choosing does best where nothing happens for days; a "
        "load, a stir or an opened lid makes it start anew with small steps. It leaves out what "
        "the kernel keeps besides: the books, the heat history, liquid in the tub.",
        "",
        *_answer_lines(),
        "",
        *_page_lines(),
    ]
    return "\n".join(lines) + "\n"


def _answer_lines() -> list[str]:
    told = json.loads(ANSWERS.read_text(encoding="utf-8"))
    lines = [
        "## An answer after a reading",
        "",
        f"`make bench-answer`, commit {told['commit']}, {told['cores']} cores: the timber bin of "
        "the example with a year of history. *From nothing* keeps no checkpoint yet; *after a "
        "reading* one more was written, as at the bin. Promised: quick within 6 s, thorough "
        "within 90 s, "
        "memory at most 600 MB.",
        "",
        "| gear | members | from nothing [s] | after a reading [s] | memory [MB] |",
        "|---|---|---|---|---|",
    ]
    for row in told["gears"]:
        lines.append(
            f"| {row['gear']} | {row['members']} | {row['from_nothing_s']:.1f} "
            f"| {row['after_a_reading_s']:.1f} | {row['memory_mb']:.0f} |"
        )
    return lines


def _page_lines() -> list[str]:
    told = json.loads(PAGES.read_text(encoding="utf-8"))
    lines = [
        "## The pages",
        "",
        f"`make bench-pages`, commit {told['commit']}, {told['cores']} cores: {told['clients']} "
        "clients at once open every page of the example year again and again, reading half a "
        f"second between two. The first page comes {told['first_page_s']:.1f} s after the start "
        f"({told['first_page_first_start_s']:.1f} s at the very first, when the example is "
        f"unpacked); all scripts together are {told['script_gzip_bytes'] / 1000:.0f} kB, "
        f"compressed. Of all answers 95 % come within {told['p95_ms']:.0f} ms. Promised: 150 ms, "
        "120 kB, 3 s.",
        "",
        "| page | median [ms] | 95 % within [ms] |",
        "|---|---|---|",
    ]
    for page, row in told["pages"].items():
        lines.append(f"| `{page}` | {row['median_ms']:.0f} | {row['p95_ms']:.0f} |")
    return lines
