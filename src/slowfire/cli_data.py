"""Commands that take everything out of the app, bring it in, and keep it safe."""

from pathlib import Path
from typing import Annotated

import typer

from slowfire.cli_web import data_folder

Data = Annotated[
    str | None, typer.Option(metavar="FOLDER", help="Data folder; your own unless given.")
]


def export(
    target: Annotated[
        str,
        typer.Argument(metavar="TARGET", help="Folder for text, or a file that ends in .zip."),
    ],
    data: Data = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace what is there already.")
    ] = False,
) -> None:
    """Write everything: as a folder of text to read and edit by hand, or as one zip file."""
    from slowfire.services.transfer import export as run

    typer.echo(f"{run(_folder(data), Path(target), replace).words}.")


def import_journal(
    source: Annotated[
        str,
        typer.Argument(metavar="SOURCE", help="Folder of text, or a zip file of an export."),
    ],
    data: Data = None,
) -> None:
    """Read an export or a folder of text; what is there already changes nothing."""
    from slowfire.services.transfer import import_from

    typer.echo(f"{import_from(_folder(data), Path(source)).words}.")


def backup(
    to: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="New zip file, or a folder; your backups unless given."),
    ] = None,
    data: Data = None,
) -> None:
    """Copy the whole journal into one file, even while it is open."""
    from slowfire.services.backup import backup as run

    typer.echo(f"{run(_folder(data), None if to is None else Path(to)).words}.")


def restore(
    source: Annotated[str, typer.Argument(metavar="FILE", help="A backup.")],
    data: Data = None,
) -> None:
    """Put a backup in place of the journal; what is there now is backed up first."""
    from slowfire.services.backup import restore as run

    typer.echo(f"{run(_folder(data), Path(source)).words}.")


def _folder(data: str | None) -> Path:
    return Path(data).expanduser() if data else data_folder()
