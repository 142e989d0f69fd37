"""Commands for sensors: listen to them, and look after them."""

import dataclasses
import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from slowfire.cli_web import data_folder
from slowfire.errors import InvalidInput

if TYPE_CHECKING:
    from slowfire.services.sensors import SensorsResult

Data = Annotated[
    str | None, typer.Option(metavar="FOLDER", help="Data folder; your own unless given.")
]
Word = str | None


def listen(
    data: Data = None,
    one_wire: Annotated[
        Word,
        typer.Option(metavar="FOLDER", help="One-wire bus, usually /sys/bus/w1/devices."),
    ] = None,
    mqtt: Annotated[
        Word, typer.Option(metavar="URL", help="Broker: mqtt://HOST or mqtts://HOST.")
    ] = None,
    topics: Annotated[
        Word, typer.Option(metavar="FILE", help="Map of the broker's topics (TOML).")
    ] = None,
    secret: Annotated[
        Word, typer.Option(metavar="FILE", help="Two lines: user and password at the broker.")
    ] = None,
    certificate: Annotated[
        Word, typer.Option(metavar="FILE", help="Certificate the broker's is checked by.")
    ] = None,
    every: Annotated[
        float, typer.Option(metavar="SECONDS", help="Between two looks at the bus, 1 to 3600.")
    ] = 60.0,
    once: Annotated[bool, typer.Option("--once", help="One look at everything, then stop.")] = (
        False
    ),
) -> None:
    """Listen to thermometers on a bus or at a broker, until stopped with Ctrl+C."""
    from slowfire.services.listen import listen as run
    from slowfire.services.listen import sources

    chosen = sources(one_wire, mqtt, topics, every, secret, certificate)
    try:
        run(_folder(data), chosen, typer.echo, once)
    except KeyboardInterrupt:
        typer.echo("stopped; everything heard is kept", err=True)


def sensors(
    data: Data = None,
    add: Annotated[
        Word, typer.Option(metavar="NAME", help="Add a device, or say what its probe stands for.")
    ] = None,
    kind: Annotated[
        str, typer.Option(metavar="KIND", help="one-wire, mqtt, push or logger.")
    ] = "push",
    channel: Annotated[
        Word, typer.Option(metavar="NAME", help="Which of its probes; 1 unless given.")
    ] = None,
    bin_name: Annotated[Word, typer.Option("--bin", metavar="NAME", help="Bin it is in.")] = None,
    thermometer: Annotated[
        Word, typer.Option(metavar="NAME", help="Thermometer of the journal that it is.")
    ] = None,
    depth: Annotated[
        Word, typer.Option(metavar="LENGTH", help='Tip below the surface, such as "30 cm".')
    ] = None,
    height: Annotated[
        Word, typer.Option(metavar="LENGTH", help='Tip above the base, such as "20 cm".')
    ] = None,
    spot: Annotated[
        Word, typer.Option(metavar="WORD", help="centre, edge, corner, door or lid.")
    ] = None,
    unit: Annotated[
        Word, typer.Option(metavar="UNIT", help="C or F, where it does not say it itself.")
    ] = None,
    token: Annotated[
        Word, typer.Option(metavar="NAME", help="Make a new token for a device that pushes.")
    ] = None,
    take_in: Annotated[
        Word, typer.Option(metavar="FILE", help="Take in the file of a logger.")
    ] = None,
    device: Annotated[Word, typer.Option(metavar="NAME", help="Whose file it is.")] = None,
    dates: Annotated[
        Word, typer.Option(metavar="ORDER", help="day-first, month-first, year-first, seconds.")
    ] = None,
    zone: Annotated[
        Word, typer.Option(metavar="ZONE", help="Time zone of the logger's clock.")
    ] = None,
    guess_again: Annotated[
        bool, typer.Option("--guess-again", help="Forget how its files were laid out.")
    ] = False,
    overrule: Annotated[
        int | None, typer.Option(metavar="ID", help="Turn a decision round.")
    ] = None,
    leave_out: Annotated[
        Word, typer.Option(metavar="NAME", help="Leave out what it said from --since to --until.")
    ] = None,
    since: Annotated[Word, typer.Option(metavar="TIME", help="From when.")] = None,
    until: Annotated[Word, typer.Option(metavar="TIME", help="Until when.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """List devices with their last values and what was left out, or change one of them."""
    from slowfire.services import sensors as run

    folder = _folder(data)
    acts = (add, token, take_in, overrule, leave_out)
    if sum(one is not None for one in acts) > 1:
        raise InvalidInput("One at a time: --add, --token, --take-in, --overrule or --leave-out.")
    if add is not None:
        typer.echo(
            run.add(
                folder, add, kind, channel or "1", bin_name, thermometer, depth, height, spot,
                unit, since,
            )
        )  # fmt: skip
    elif token is not None:
        made = run.token(folder, token)
        typer.echo("Write this token into the device now; it is not shown again:", err=True)
        typer.echo(made)
    elif take_in is not None:
        if device is None:
            raise InvalidInput("Say with --device NAME whose file it is.")
        done = run.take_in(folder, Path(take_in), device, unit, dates, zone, guess_again)
        typer.echo("\n".join(done.words))
    elif overrule is not None:
        typer.echo(run.overrule(folder, overrule))
    elif leave_out is not None:
        if since is None or until is None:
            raise InvalidInput("Say with --since TIME and --until TIME what to leave out.")
        typer.echo(run.leave_out(folder, leave_out, since, until, channel))
    else:
        found = run.sensors(folder)
        if as_json:
            shown = dataclasses.asdict(found)
            typer.echo(json.dumps(shown, indent=2, ensure_ascii=False, default=str))
        else:
            typer.echo("\n".join(_lines(found)))


def _lines(found: "SensorsResult") -> list[str]:
    if not found.devices:
        return [
            "No device yet. slowfire listen finds those on a bus or at a broker; slowfire sensors",
            "--token NAME makes one that pushes, --take-in FILE --device NAME reads a logger.",
        ]
    lines = []
    for one in found.devices:
        lines.append(f"{one.name} ({one.kind}{', has a token' if one.has_token else ''})")
        for probe in one.probes:
            feeds = "feeds nothing yet"
            if probe.bin:
                where = f", {probe.where}" if probe.where else ""
                feeds = f"{probe.thermometer} of {probe.bin}{where}"
            lines.append(f"  {probe.channel}: {probe.last_words}; {feeds}")
            lines += [f"    {gap}" for gap in probe.gaps]
    if found.decisions:
        lines += ["", "Left out (--overrule ID turns it round)"]
        lines += [f"{one.number:>5}  {one.words}" for one in found.decisions]
    return lines


def _folder(data: str | None) -> Path:
    return Path(data).expanduser() if data else data_folder()
