"""Commands for taking out and using: layers, allot, where, register."""

import dataclasses
import json
import sys
import textwrap
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from slowfire.errors import InvalidInput
from slowfire.units import LITRES_PER_US_GALLON, METRES_PER_INCH

if TYPE_CHECKING:
    from slowfire.services.allot import AllotResult
    from slowfire.services.layers import LayersResult
    from slowfire.services.liquid import LiquidResult

WIDTH = 72
JournalPath = Annotated[str, typer.Argument(metavar="JOURNAL", help="Folder of the journal.")]
BinName = Annotated[str, typer.Option("--bin", metavar="NAME", help="Which bin.")]
At = Annotated[
    str | None,
    typer.Option(metavar="DATE", help="When; 23:00 on the day of the last entry unless given."),
]
Codes = Annotated[
    str | None,
    typer.Option(
        "--jurisdiction",
        metavar="CODE,...",
        help="Whose rules, such as UK or DE; those of the site unless given.",
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]
Door = Annotated[
    float | None,
    typer.Option(
        "--door", metavar="CM", help="Top of the door above the floor; that of the bin if left out."
    ),
]


def layers(
    journal: JournalPath,
    bin_name: BinName,
    at: At = None,
    jurisdiction: Codes = None,
    rule: Annotated[
        str | None, typer.Option(metavar="ID", help="One rule by its id, such as US_NOP_VESSEL.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Say of every layer whether it is active, sanitised, finished, fit for seedlings."""
    from slowfire.services.layers import layers as run

    with _progress() as progress:
        result = run(
            journal,
            bin_name,
            at,
            jurisdictions=_codes(jurisdiction),
            rule=rule,
            progress=progress,
        )
    if as_json:
        _json(dataclasses.asdict(result))
    else:
        typer.echo("\n".join(_layer_lines(result)))


def allot(
    journal: JournalPath,
    bin_name: BinName,
    at: At = None,
    litres: Annotated[
        float | None,
        typer.Option(metavar="LITRES", help="Loosened compost; all that is ready unless given."),
    ] = None,
    fix: Annotated[
        list[str] | None,
        typer.Option(metavar="BED=LITRES", help="What you want on a bed; several."),
    ] = None,
    door: Door = None,
    jurisdiction: Codes = None,
    liquid: Annotated[
        bool, typer.Option("--liquid", help="Tell of the liquid alone; needs no beds.")
    ] = False,
    strength: Annotated[
        float | None,
        typer.Option(metavar="MS_PER_CM", help="Of the liquid in the tub, by a meter."),
    ] = None,
    target: Annotated[
        float | None,
        typer.Option(metavar="MS_PER_CM", help="Strength wanted on the soil; 1.5 unless given."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Share out what lies at the door to the beds of the site, and the liquid."""
    from datetime import UTC, datetime

    from slowfire.journal import read_journal
    from slowfire.services.allot import allotment, yield_words
    from slowfire.services.inside import inside_everything
    from slowfire.services.layers import layers_of
    from slowfire.services.liquid import check_strengths
    from slowfire.services.liquid import liquid as liquid_now
    from slowfire.services.take_out import take_out

    fixed = dict(_fixed(one) for one in fix or ())
    check_strengths(strength, target)
    read = read_journal(journal)
    if not read.site.beds and not liquid:
        raise InvalidInput(
            "The site has no beds yet; add [[beds]] with name, area_m2 and planting to site.toml, "
            "or ask with --liquid for the liquid alone."
        )
    with _progress() as progress:
        made, inside, _ = inside_everything(journal, bin_name, at, progress=progress)
    told = liquid_now(
        read.site,
        read.effective,
        bin_name,
        inside,
        made.when,
        conductivity_ms_per_cm=strength,
        target_ms_per_cm=target,
    )
    values: dict[str, object] = {}
    lines: list[str] = []
    if not liquid:
        found = layers_of(made)
        lies = take_out(read.site, read.effective, found, datetime.now(UTC), door_cm=door)
        result = allotment(
            read.site, lies, litres=litres, fixed_litres=fixed, jurisdictions=_codes(jurisdiction)
        )
        values = dataclasses.asdict(result)
        values["dug_out_percent"] = (
            None if inside.dug_out_percent is None else dataclasses.asdict(inside.dug_out_percent)
        )
        lines = _allot_lines(result, read.site.units == "us")
        lines += [*textwrap.wrap(yield_words(inside), WIDTH), ""]
    if as_json:
        _json({**values, "liquid": dataclasses.asdict(told)})
    else:
        typer.echo("\n".join([*lines, *_liquid_lines(told)]))


def where(
    thing: Annotated[str, typer.Argument(metavar="THING", help="Such as 'orange peel'.")],
    as_json: AsJson = False,
) -> None:
    """Say whether a thing may go in, and where it goes otherwise."""
    from slowfire.where_it_goes import find_places, where_it_goes

    answers = [where_it_goes(one) for one in find_places(thing)]
    if as_json:
        _json([dataclasses.asdict(one) for one in answers])
        return
    for one in answers:
        typer.echo(f"{one.name}: {one.words}")
        for reason in one.reasons:
            lines = textwrap.wrap(reason, WIDTH, initial_indent="  ", subsequent_indent="  ")
            typer.echo("\n".join(lines))
        typer.echo(f"  ({one.origin})")


def register(
    journal: JournalPath,
    bin_name: BinName,
    target: Annotated[
        str, typer.Option("--to", metavar="FILE", help="New file that ends in .csv or .pdf.")
    ],
    first: Annotated[str | None, typer.Option("--first", metavar="DATE", help="From.")] = None,
    last: Annotated[str | None, typer.Option("--last", metavar="DATE", help="To.")] = None,
) -> None:
    """Write the register of a site: who put in what and when, as a table or PDF."""
    from slowfire.journal import read_journal
    from slowfire.reports.sheets import register_sheet, table_of
    from slowfire.services.register import register as run

    file = Path(target)
    if file.suffix not in (".csv", ".pdf"):
        raise InvalidInput(f"{target} ends in neither .csv nor .pdf; name the file so.")
    if file.exists():
        raise InvalidInput(f"{target} is there already; choose another name.")
    read = read_journal(journal)
    found = run(read.site, read.effective, bin_name, _day(first), _day(last))
    if file.suffix == ".pdf":
        file.write_bytes(register_sheet(found, read.site.units == "us"))
    else:
        rows = [("when", "what", "how_much_and_what_was_seen", "who")]
        rows += [(one.when, one.what, one.words, one.who) for one in found.rows]
        file.write_text(table_of(rows), encoding="utf-8")
    typer.echo(f"{len(found.rows)} entries written to {file}.")


def _layer_lines(result: "LayersResult") -> list[str]:
    lines = [f"{result.bin}, {result.at.replace('T', ' ')}, in simulation where nothing was read"]
    lines += textwrap.wrap(f"Rules: {result.rules}", WIDTH)
    lines += ["", "  cm         days  active     sanitised  finished   seedlings"]
    for one in reversed(result.layers):
        span = f"{one.height_cm:.0f} to {one.height_cm + one.thickness_cm:.0f}"
        words = (one.active, one.sanitised, one.finished, one.fit_for_seedlings)
        cells = "  ".join(f"{each.verdict:<9}" for each in words)
        lines.append(f"  {span:<9}{one.age_days:>6.0f}  {cells}".rstrip())
    if result.layers:
        lines += ["", "At the base"]
        first = result.layers[0]
        for name in ("sanitised", "finished", "fit_for_seedlings"):
            for reason in getattr(first, name).reasons:
                lines += textwrap.wrap(reason, WIDTH, initial_indent="- ", subsequent_indent="  ")
    lines += _kill_lines(result)
    for test in result.tests:
        lines += textwrap.wrap(f"Test, {test}", WIDTH)
    lines.append("")
    for caution in (*result.home, *result.cautions):
        lines += textwrap.wrap(caution, WIDTH)
    return lines


def _kill_lines(result: "LayersResult") -> list[str]:
    """What heat killed in each layer, top first."""
    from slowfire.hygiene.rules import CAUTION
    from slowfire.services.heat_kills import CAUTIONS, DISEASE_CAUTION, SEED_CAUTION, tenths

    told = [(one, one.heat_kills) for one in reversed(result.layers) if one.heat_kills is not None]
    if not told:
        return []
    lines = ["", "What the heat killed, by estimate: tenfold cuts where it was coldest"]
    spans: list[tuple[float, float, str]] = []
    for layer, kills in told:
        germs = [one for one in kills.germs if one.log_reduction is not None]
        if all(tenths(one.log_reduction) == "none" for one in germs):
            cuts = "germs none"
        else:
            cuts = "; ".join(f"{one.name} {tenths(one.log_reduction)}" for one in germs)
        yes = [one.name for one in kills.weed_seeds if one.answer.startswith("yes")]
        met = [one.name for one in kills.plant_diseases if one.answer == "condition met"]
        words = (
            f"({kills.basis}): {cuts}. Weed seeds, of six kinds: {', '.join(yes) or 'none'}."
            f" Plant diseases, condition met: {', '.join(met) or 'none'}."
        )
        top = layer.height_cm + layer.thickness_cm
        if spans and spans[-1][2] == words:
            top = spans.pop()[1]
        spans.append((layer.height_cm, top, words))
    for base, top, words in spans:
        words = f"{base:.0f} to {top:.0f} cm {words}"
        lines += textwrap.wrap(words, WIDTH, initial_indent="  ", subsequent_indent="    ")
    # the basis of the base layer is what would be dug first
    said = (*told[-1][1].words, *CAUTIONS, SEED_CAUTION, DISEASE_CAUTION)
    for words in (one for one in said if one != CAUTION):  # it stands under the base already
        lines += textwrap.wrap(words, WIDTH, initial_indent="- ", subsequent_indent="  ")
    return lines


def _allot_lines(result: "AllotResult", us: bool) -> list[str]:
    def volume(litres: float) -> str:
        return f"{litres / LITRES_PER_US_GALLON:.0f} US gal" if us else f"{litres:.0f} L"

    def depth(millimetres: float) -> str:
        return f"{millimetres / 1000.0 / METRES_PER_INCH:.1f} in" if us else f"{millimetres:.0f} mm"

    lines = [f"{volume(result.litres)} of loosened compost, shared out {result.method}", ""]
    for one in result.rows:
        lines.append(
            f"{one.bed} ({one.planting.lower()}, {one.way}): {volume(one.litres)}, "
            f"{depth(one.millimetres)}, {one.barrows} barrow{'' if one.barrows == 1 else 's'}"
        )
        if one.mix_litres:
            lines.append(f"  enough for {volume(one.mix_litres)} of mix or more")
        needs = [
            f"{value:.0f} % of a year's {name}"
            for name, value in (
                ("nitrogen", one.nitrogen_percent),
                ("phosphate", one.phosphate_percent),
                ("potash", one.potash_percent),
            )
            if value is not None and one.litres > 0.0
        ]
        if needs:
            lines.append(f"  {', '.join(needs)}")
        lines.append(f"  limited by {one.limit}")
        for each in (*one.reasons, *one.cautions):
            lines += textwrap.wrap(each, WIDTH, initial_indent="  ", subsequent_indent="  ")
    lines += ["", *result.words]
    for limit in result.limits:
        lines += textwrap.wrap(limit, WIDTH)
    return lines


def _liquid_lines(result: "LiquidResult") -> list[str]:
    lines = [f"Liquid of {result.bin}"]
    said = [*result.words]
    if result.advice is not None:
        said += [f"For what is in the tub: {result.advice.words}", *result.advice.reasons]
    said += [
        f"Not used yet: {one.words}. {one.advice.words} {one.advice.reasons[0]}"
        for one in result.drawn
    ]
    for one in (*said, *result.assumptions):
        lines += textwrap.wrap(one, WIDTH, initial_indent="- ", subsequent_indent="  ")
    return lines


@contextmanager
def _progress() -> Iterator[Callable[[float], None] | None]:
    """Progress on a line of its own, at a terminal."""
    shown = sys.stderr.isatty()

    def tell(share: float) -> None:
        typer.echo(f"\rEstimating from the journal: {100.0 * share:3.0f} %", err=True, nl=False)

    yield tell if shown else None
    if shown:
        typer.echo("\r" + " " * WIDTH + "\r", err=True, nl=False)


def _codes(text: str | None) -> tuple[str, ...]:
    return tuple(one.strip() for one in (text or "").split(",") if one.strip())


def _fixed(text: str) -> tuple[str, float]:
    name, _, amount = text.rpartition("=")
    try:
        return name.strip(), float(amount)
    except ValueError as problem:
        raise InvalidInput(f"'{text}' is no bed with litres; write it as Kale=20.") from problem


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as problem:
        raise InvalidInput(f"'{text}' is no date; write it as 2026-03-12.") from problem


def _json(value: object) -> None:
    # inf stands for no limit and is no JSON
    typer.echo(json.dumps(value, indent=2, ensure_ascii=False).replace("Infinity", "null"))
