"""The command line: parse, call one service, print its result as text or JSON."""

import dataclasses
import json
import math
import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from importlib.metadata import version
from typing import TYPE_CHECKING, Annotated, Any

import typer

from slowfire.cli_data import backup, export, import_journal, restore
from slowfire.cli_listen import listen, sensors
from slowfire.cli_people import app as people_app
from slowfire.cli_today import today
from slowfire.cli_use import allot, layers, register, where
from slowfire.cli_web import serve
from slowfire.errors import InvalidInput, SlowfireError

if TYPE_CHECKING:
    from slowfire.materials.feedstock import Packing
    from slowfire.services.feedstocks import Sheet
    from slowfire.services.inside import InsideResult
    from slowfire.services.mix import Item, MixResult, MixState
    from slowfire.services.replay import ReplayResult
    from slowfire.services.verify_model import VerifyResult
    from slowfire.services.weather import WeatherResult
    from slowfire.services.weather_ahead import WeatherAheadResult

WIDTH = 72  # a phone held sideways
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
BAD_INPUT = 2
PROMISE_BROKEN = 1
_DECIMALS = 6
# Typer may bring its own copy of click; its errors are found through the one class it shows.
_USAGE_ERROR: Any = next(c for c in typer.BadParameter.__mro__ if c.__name__ == "ClickException")

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="What is going on inside a small compost bin, and what to do next.",
)

app.command()(serve)
app.command()(today)
app.command()(layers)
app.command()(allot)
app.command()(where)
app.command()(register)
app.command()(export)
app.command("import")(import_journal)
app.command()(backup)
app.command()(restore)
app.add_typer(people_app, name="people")
app.command()(listen)
app.command()(sensors)


def main() -> None:
    """Run the command line; bad input ends with code 2 and one line on standard error."""
    try:
        code = app(standalone_mode=False)
    except SlowfireError as refusal:
        _refuse(str(refusal))
    except _USAGE_ERROR as refusal:
        _refuse(refusal.format_message())
    except typer.Abort:
        sys.exit(130)
    except BrokenPipeError:
        # the reader of a pipe went away; nothing is left to say to it
        sys.stderr.close()
        sys.exit(0)
    else:
        sys.exit(code if isinstance(code, int) else 0)


def _refuse(message: str) -> None:
    typer.echo(" ".join(message.split()), err=True)
    sys.exit(BAD_INPUT)


@app.callback(invoke_without_command=True)
def _slowfire(
    context: typer.Context,
    show_version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    if show_version:
        typer.echo(f"slowfire {version('slowfire')}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        raise InvalidInput(
            "Say what to do: serve, today, mix, inside, layers, allot, where, replay and others; "
            "see slowfire --help."
        )


@app.command()
def mix(
    items: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="ITEM=AMOUNT...",
            help='What goes in, such as "peelings=1 caddy" "paper=0.5 caddy".',
            show_default=False,
        ),
    ] = None,
    at_hand: Annotated[
        list[str] | None,
        typer.Option("--with", metavar="ITEM,...", help="What you could add."),
    ] = None,
    into: Annotated[
        str | None, typer.Option(metavar="JOURNAL", help="Journal of the bin it goes into.")
    ] = None,
    bin_name: Annotated[
        str | None, typer.Option("--bin", metavar="NAME", help="Which bin of the journal.")
    ] = None,
    at: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="When; 23:00 on the day of the last entry unless given."),
    ] = None,
    moisture: Annotated[
        float | None, typer.Option(metavar="PERCENT", help="Solve for this much water.")
    ] = None,
    c_to_n: Annotated[
        float | None, typer.Option("--c-to-n", metavar="RATIO", help="Solve for this C:N.")
    ] = None,
    loose: Annotated[
        bool, typer.Option("--loose", help="Paper, card, leaves, straw: tipped in loosely.")
    ] = False,
    dense: Annotated[bool, typer.Option("--dense", help="The same, pressed down.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Say what to add to a load, and why."""
    if loose and dense:
        raise InvalidInput(
            "Give --loose or --dense, not both; one item may say its own: 'paper=0.5 caddy dense'."
        )
    from slowfire.services.mix import mix as plan

    packing: Packing | None = None
    if loose or dense:
        packing = "loose" if loose else "dense"
    result = plan(
        items or [],
        [word for text in at_hand or [] for word in text.split(",")],
        packing,
        moisture_percent=moisture,
        c_to_n=c_to_n,
        journal=into,
        bin_name=bin_name,
        at=at,
        progress=_progress() if into is not None else None,
    )
    _clear_progress()
    _print(_as_json(dataclasses.asdict(result)) if as_json else _mix_lines(result))


@app.command()
def feedstocks(
    word: Annotated[
        list[str] | None,
        typer.Argument(metavar="[WORD]", help="A material, or part of a name.", show_default=False),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """List the materials known, or show one with its spread and source."""
    from slowfire.services.feedstocks import feedstocks as look_up

    found = look_up(" ".join(word or []))
    if as_json:
        _print(_as_json([dataclasses.asdict(sheet) for sheet in found]))
    elif len(found) == 1:
        _print(_sheet_lines(found[0]))
    else:
        _print(_table_lines(found))


@app.command()
def replay(
    journal: Annotated[str, typer.Argument(metavar="JOURNAL", help="Folder of the journal.")],
    bin_name: Annotated[str, typer.Option("--bin", metavar="NAME", help="Which bin.")],
    at: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="When; 23:00 on the day of the last entry unless given."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Say what is inside a bin, layer by layer, from its journal."""
    from slowfire.services.replay import replay as run

    result = run(journal, bin_name, at, _progress())
    _clear_progress()
    _print(_as_json(dataclasses.asdict(result)) if as_json else _replay_lines(result))


@app.command()
def inside(
    journal: Annotated[str, typer.Argument(metavar="JOURNAL", help="Folder of the journal.")],
    bin_name: Annotated[str, typer.Option("--bin", metavar="NAME", help="Which bin.")],
    at: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="When; 23:00 on the day of the last entry unless given."),
    ] = None,
    thorough: Annotated[
        bool, typer.Option("--thorough", help="More bins and longer windows; takes minutes.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Estimate what is inside a bin, with how sure that is, from its journal and readings."""
    from slowfire.services.inside import inside as run

    words = "Estimating from the journal"
    result = run(journal, bin_name, at, thorough=thorough, progress=_progress(words))
    _clear_progress()
    _print(_as_json(dataclasses.asdict(result)) if as_json else _inside_lines(result))


@app.command()
def verify_model(
    only: Annotated[
        str | None,
        typer.Option(metavar="ID,...", help="Only these set-ups, such as V1,V22,case-4."),
    ] = None,
    members: Annotated[
        int, typer.Option(metavar="NUMBER", help="Bins run for each set-up, 1 to 1000.")
    ] = 24,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Hold the model against published measurements; ends with 1 if too few pass."""
    from slowfire.services.verify_model import verify_model as run

    result = run(
        [] if only is None else only.split(","),
        members,
        progress=_progress("Running the published set-ups"),
    )
    _clear_progress()
    _print(_as_json(dataclasses.asdict(result)) if as_json else _verify_lines(result))
    if not result.promise_kept:
        raise typer.Exit(PROMISE_BROKEN)


@app.command()
def weather(
    town: Annotated[
        str | None,
        typer.Option(metavar="NAME", help='A larger town, such as Graz or "Birmingham, AL".'),
    ] = None,
    latitude: Annotated[
        float | None, typer.Option(metavar="DEGREES", help="North positive, south negative.")
    ] = None,
    longitude: Annotated[
        float | None, typer.Option(metavar="DEGREES", help="East positive, west negative.")
    ] = None,
    file: Annotated[
        str | None, typer.Option(metavar="FILE", help="A weather file: EPW, TMY3 or CSV.")
    ] = None,
    start: Annotated[
        str | None, typer.Option(metavar="DATE", help="First day; any year unless given.")
    ] = None,
    days: Annotated[
        float | None, typer.Option(metavar="NUMBER", help="How many; a year unless given.")
    ] = None,
    rain: Annotated[
        str | None, typer.Option(metavar="CLASS", help="dry, usual or wet, as you know it.")
    ] = None,
    wind: Annotated[
        str | None, typer.Option(metavar="CLASS", help="sheltered, normal or windy.")
    ] = None,
    draw: Annotated[
        int | None,
        typer.Option(metavar="NUMBER", help="Draw a year by this number; the mean year if not."),
    ] = None,
    write: Annotated[
        str | None, typer.Option(metavar="FILE", help="Write it by the hour, as a weather.csv.")
    ] = None,
    journal: Annotated[
        str | None,
        typer.Option(metavar="JOURNAL", help="The days ahead at the site of a journal."),
    ] = None,
    ahead: Annotated[
        bool, typer.Option("--ahead", help="The next fourteen days instead of months.")
    ] = False,
    forecast: Annotated[
        bool, typer.Option("--forecast", help="Fetch now the forecast that the site names.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Say what weather is taken at a place or stands in a file, or the fourteen days ahead."""
    if journal is not None or ahead or forecast:
        if any(one is not None for one in (file, start, days, draw, write)):
            raise InvalidInput(
                "The days ahead begin today and are drawn; leave out --file, --start, --days, "
                "--draw and --write."
            )
        from slowfire.services.weather_ahead import weather_ahead

        coming = weather_ahead(
            journal, town, latitude, longitude, rain=rain, wind=wind, ask_now=forecast
        )
        _print(_as_json(dataclasses.asdict(coming)) if as_json else _ahead_lines(coming))
        return
    from slowfire.services.weather import weather as look_up

    result = look_up(
        town,
        latitude,
        longitude,
        file,
        start=start,
        days=days,
        rain=rain,
        wind=wind,
        seed=draw,
        write=write,
    )
    _print(_as_json(dataclasses.asdict(result)) if as_json else _weather_lines(result))


def _progress(words: str = "Replaying the journal") -> Callable[[float], None] | None:
    """A line that follows long work, for somebody who watches; nothing for a pipe."""
    if not sys.stderr.isatty():
        return None
    from slowfire.services.replay import must_compile

    if must_compile():
        words = f"Preparing the model, once, about half a minute. {words}"

    def show(share: float) -> None:
        typer.echo(f"\r{words}: {100.0 * share:3.0f} %", err=True, nl=False)

    return show


def _clear_progress() -> None:
    if sys.stderr.isatty():
        typer.echo("\r" + " " * WIDTH + "\r", err=True, nl=False)


def _print(lines: Iterable[str]) -> None:
    typer.echo("\n".join(lines))


def _as_json(value: object) -> list[str]:
    return [json.dumps(_rounded(value), indent=2, ensure_ascii=False, allow_nan=False)]


def _rounded(value: object) -> object:
    """Plain values for JSON: six decimals, null for what is not a finite number."""
    if isinstance(value, float):
        return round(value, _DECIMALS) if math.isfinite(value) else None
    if isinstance(value, dict):
        return {str(key): _rounded(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(one) for one in value]
    return value


def _wrapped(text: str, lead: str = "- ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))


def _paragraph(title: str, sentences: Sequence[str]) -> list[str]:
    if not sentences:
        return []
    return ["", title, *(line for one in sentences for line in _wrapped(one))]


def _mix_lines(result: "MixResult") -> list[str]:
    lines = textwrap.wrap(result.headline, WIDTH)
    lines += ["", "Load", *_item_lines(result.load, result)]
    if result.add:
        lines += ["Add", *_item_lines(result.add, result)]
    if result.hold_back is not None:
        held = result.hold_back
        lines += ["Hold back", f"  {held.share_percent:.0f} % of the load, {held.litres:.1f} L"]
    lines += ["", "                water   C:N   air, settled   density, fresh"]
    states = [("as it is", result.before)]
    if result.blend != result.before:
        states.append(("as advised", result.blend))
    lines += [_state_line(name, state) for name, state in states]
    lines += _paragraph("Why", result.why)
    lines += _paragraph("Mind", result.cautions)
    lines += _paragraph("Assumed", result.assumptions)
    return lines


def _item_lines(items: Sequence["Item"], result: "MixResult") -> list[str]:
    from slowfire.services.mix_words import amount_words, mass_words

    lines = []
    for one in items:
        what = result.names[one.feedstock]
        if one.measure not in ("litre", "kilogram", "gram"):
            what = f"{amount_words(one.amount, one.measure)} of {what}"
        lines += _wrapped(what, lead=f"{one.litres:8.3g} L {mass_words(one.kilograms):>8}  ")
    return lines


def _state_line(name: str, state: "MixState") -> str:
    ratio = "  -" if state.c_to_n is None else f"{state.c_to_n:3.0f}"
    return (
        f"  {name:<12}{state.moisture_percent:5.0f} %   {ratio}   "
        f"{state.free_air_space_percent:10.0f} %   {state.bulk_density_kg_per_m3:7.0f} kg/m3"
    )


def _table_lines(sheets: Sequence["Sheet"]) -> list[str]:
    lines = [f"{'material':<27}{'water %':>8}{'C:N':>6}{'kg/m3':>7}  name"]
    for sheet in sheets:
        by_key = {one.key: one.value for one in sheet.quantities}
        ratio = by_key["c_to_n"]
        density = by_key["bulk_density_kg_per_m3"] or 0.0
        shown = "-" if ratio is None or not sheet.counts_in_c_to_n else f"{ratio:.0f}"
        row = (
            f"{sheet.feedstock:<27}{by_key['moisture_percent'] or 0.0:>8.0f}{shown:>6}"
            f"{density:>7.0f}  "
        )
        lines.append(row + textwrap.shorten(sheet.name, WIDTH - len(row), placeholder=" ..."))
    return lines


def _sheet_lines(sheet: "Sheet") -> list[str]:
    lines = [sheet.name, f"  {sheet.feedstock}, {sheet.group}, {sheet.structure}"]
    lines += _wrapped("also: " + ", ".join(sheet.words), lead="  ")
    lines += ["", f"{'':<20}{'middle':>9}{'low':>9}{'high':>9}  unit"]
    for one in sheet.quantities:
        if one.value is None:
            continue
        low, high = ("-" if v is None else _figure(v) for v in (one.low, one.high))
        lines.append(f"{one.words:<20}{_figure(one.value):>9}{low:>9}{high:>9}  {one.unit}")
    if not sheet.counts_in_c_to_n:
        lines += ["", *_wrapped("Left out of C:N: its carbon feeds nothing.", lead="")]
    if sheet.ask_loose_or_dense:
        lines += ["", *_wrapped("Say loose or dense when you measure it by volume.", lead="")]
    lines += _paragraph("Mind", [sheet.cautions] if sheet.cautions else [])
    lines += _paragraph(f"Source ({sheet.source_kind})", [sheet.source])
    spreads = dict.fromkeys(
        f"{one.words}: {one.spread_source}" for one in sheet.quantities if one.spread_source
    )
    lines += _paragraph("Spread", list(spreads))
    return lines


def _figure(value: float) -> str:
    return f"{value:.0f}" if value >= 100.0 else f"{value:.3g}"


def _replay_lines(result: "ReplayResult") -> list[str]:
    # only a replay needs the column, so only a replay loads it
    from slowfire.services.section_words import reading_sentences, section_lines, summary_lines

    lines = [
        *textwrap.wrap(f"{result.bin} at {result.at}, in simulation", WIDTH),
        *summary_lines(result),
        "",
        *section_lines(result),
    ]
    lines += _paragraph("Readings of the last days", reading_sentences(result))
    lines += _paragraph("Assumed", result.assumptions)
    lines += ["", f"Books close to {result.balance_error_relative:.1e} of what went in."]
    return lines


def _inside_lines(result: "InsideResult") -> list[str]:
    from slowfire.services import inside_words as words

    lines = [
        *textwrap.wrap(words.heading(result), WIDTH),
        *words.summary_lines(result),
        "",
        *words.section_lines(result),
    ]
    lines += _paragraph("What readings have shown", words.learned_sentences(result))
    lines += _paragraph("Please look", words.question_sentences(result))
    lines += _paragraph("Next reading", words.reading_sentences(result))
    lines += _paragraph("The days ahead", words.forecast_sentences(result))
    return lines + _paragraph("Assumed", result.assumptions)


def _verify_lines(result: "VerifyResult") -> list[str]:
    from slowfire.services.verify_words import check_lines, tally_lines

    lines = check_lines(result)
    return [*lines, *_paragraph("Together", tally_lines(result))]


def _weather_lines(result: "WeatherResult") -> list[str]:
    where = result.place
    if result.latitude_degrees is not None and result.longitude_degrees is not None:
        where += f" at {result.latitude_degrees:.2f}, {result.longitude_degrees:.2f}"
    lines = textwrap.wrap(where, WIDTH)
    if result.cell_distance_km is not None:
        lines.append(
            f"Land cell {result.cell_distance_km:.0f} km away, at {result.cell_latitude_degrees:g}"
            f", {result.cell_longitude_degrees:g}, climate {result.climate}"
        )
    lines.append(f"{result.days:.0f} days from {result.start}, mean {result.mean_celsius:.1f} C")
    if result.day_to_day_kelvin is not None and result.year_to_year_kelvin is not None:
        lines.append(
            f"Days stray by {result.day_to_day_kelvin:.1f} K, years by "
            f"{result.year_to_year_kelvin:.1f} K (standard deviations)"
        )
    lines += [
        "",
        "       mean   low  high  humid    sun  walls   rain  wind",
        "          C     C     C      %   W/m2   W/m2     mm   m/s",
    ]
    for one in result.months:
        walls = "-" if one.walls_w_per_m2 is None else f"{one.walls_w_per_m2:.0f}"
        lines.append(
            f"{MONTHS[one.month - 1]}  {one.mean_celsius:6.1f}{one.lowest_celsius:6.1f}"
            f"{one.highest_celsius:6.1f}{one.relative_humidity_percent:7.0f}"
            f"{one.irradiance_w_per_m2:7.0f}{walls:>7}{one.rain_mm:7.0f}{one.wind_m_per_s:6.1f}"
        )
    if result.written is not None:
        lines += ["", *textwrap.wrap(f"Written to {result.written}", WIDTH)]
    return lines + _paragraph("Assumed", result.assumptions)


def _ahead_lines(result: "WeatherAheadResult") -> list[str]:
    lines = textwrap.wrap(f"{result.place}, fourteen days from {result.now}", WIDTH)
    if result.measured_until is not None:
        lines.append(f"Measured until {result.measured_until}")
    if result.forecast_host is not None and result.forecast_age_hours is not None:
        age = "fetched now" if result.fetched_now else f"{result.forecast_age_hours:.0f} h old"
        lines += textwrap.wrap(
            f"Forecast of {result.forecast_host} until {result.forecast_until}, {age}", WIDTH
        )
    lines += [
        "",
        "                     mean of the day      coldest  warmest   rain",
        "            usual     5 %   50 %   95 %   hour, C  hour, C  chance",
    ]
    for one in result.days:
        day = date.fromisoformat(one.date)
        name = f"{WEEKDAYS[day.weekday()]} {day.day:2d} {MONTHS[day.month - 1]}"
        lines.append(
            f"{name}{one.usual_celsius:7.1f}{one.low_celsius:8.1f}{one.middle_celsius:7.1f}"
            f"{one.high_celsius:7.1f}{one.coldest_celsius:10.1f}{one.warmest_celsius:9.1f}"
            f"{one.rain_chance_percent:6.0f} %"
        )
    lines += [
        "",
        *textwrap.wrap(
            f"Temperatures in C, of {result.runs} runs: nine of ten lie between 5 % and 95 %. "
            "Coldest and warmest hours: one run in twenty goes beyond.",
            WIDTH,
        ),
    ]
    return lines + _paragraph("Assumed", result.assumptions)
