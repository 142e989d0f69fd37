"""The command that says what to do today, and what may lie behind a complaint."""

import dataclasses
import json
import sys
import textwrap
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from slowfire.services.today import TodayResult
    from slowfire.services.today_complaint import ComplaintResult
    from slowfire.services.today_report import TodayReport

WIDTH = 72


def today(
    journal: Annotated[str, typer.Argument(metavar="JOURNAL", help="Folder of the journal.")],
    bin_name: Annotated[str, typer.Option("--bin", metavar="NAME", help="Which bin.")],
    at: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="When; 23:00 on the day of the last entry unless given."),
    ] = None,
    not_right: Annotated[
        str | None,
        typer.Option(
            "--not-right",
            metavar="WHAT",
            help="smells, soggy, dry, cold, flies, 'rats or mice', leaking or bulging.",
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Say the one thing to do next at a bin, why, and when to look again."""
    from slowfire.services.today_report import today_report

    shown = sys.stderr.isatty()

    def progress(share: float) -> None:
        typer.echo(f"\rEstimating from the journal: {100.0 * share:3.0f} %", err=True, nl=False)

    report = today_report(journal, bin_name, at, not_right, progress if shown else None)
    if shown:
        typer.echo("\r" + " " * WIDTH + "\r", err=True, nl=False)
    if as_json:
        typer.echo(json.dumps(dataclasses.asdict(report), indent=2, ensure_ascii=False))
    else:
        typer.echo("\n".join(_lines(report)))


def _lines(report: "TodayReport") -> list[str]:
    seen = report.today
    lines = [f"{seen.bin}, {report.day}", ""]
    lines += textwrap.wrap(seen.headline, WIDTH)
    lines += ["", *_wrapped(seen.why)]
    expect = f": {seen.expect}" if seen.expect else ""
    lines += _wrapped(f"Look again {seen.look_again}{expect}.")
    lines += _wrapped(seen.stop)
    for one in seen.cautions:
        lines += _wrapped(f"Mind: {one}")
    sure = f"{seen.facts}, {seen.action_sure}" if seen.facts else seen.action_sure
    lines += _wrapped(f"How sure: {sure}.")
    lines += _wrapped(seen.reading)
    lines += ["", *_section(seen)]
    lines += ["", *_facts(seen)]
    if report.complaint is not None:
        lines += ["", *_complaint(report.complaint)]
    if report.scores:
        lines += ["", "Did it work?"]
        for each in report.scores:
            lines += _wrapped(f"{each.day}, {each.action}: {each.verdict}. {each.reason}", "- ")
    return lines


def _section(seen: "TodayResult") -> list[str]:
    lines = [f"  lid {seen.lid}; {seen.vent}"]
    if not seen.zones:
        return [*lines, "  nothing in the bin"]
    for zone in reversed(seen.zones):
        warmth = f"{zone.low} to {zone.high} {seen.unit}"
        mark = "*" if zone.from_readings else " "
        lines.append(f"  |{zone.word:<6} {warmth:>12}{mark}| {zone.what}")
    lines.append(f"  door: {seen.door}")
    if any(zone.from_readings for zone in seen.zones):
        lines.append("  * a reading of the last week lies near")
    for mark_ in seen.marks:
        lines.append(f"  {mark_.name}: {mark_.value}, {mark_.day}")
    return lines


def _facts(seen: "TodayResult") -> list[str]:
    told = [seen.room, seen.tub, seen.dry_stuff]
    lines = [line for one in told if one for line in _wrapped(one[0].upper() + one[1:] + ".")]
    for one in seen.reminders:
        lines += _wrapped(one)
    lines += _wrapped(f"Estimate: {seen.sure}; {seen.age}.")
    return lines


def _complaint(found: "ComplaintResult") -> list[str]:
    lines = [f"Not right: {found.complaint}"]
    lines += _wrapped(found.ask)
    lines += _wrapped(found.estimate)
    lines += _wrapped(f"Check: {found.check}. {found.then}.")
    if found.caution:
        lines += _wrapped(f"Mind: {found.caution}")
    lines.append("Likely causes")
    for one in found.causes:
        lines += _wrapped(f"{one.percent:.0f} in 100: {one.words} ({one.source})", "- ")
    return lines


def _wrapped(text: str, lead: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))
