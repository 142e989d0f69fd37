"""Commands that take everything out of the app, bring it in, and keep it safe."""

from pathlib import Path
from typing import Annotated

import typer

from slowfire.cli_web import data_folder

Data = Annotated[
    str | None, typer.Option(metavar="FOLDER", help="Data folder; your own unless given.")
]


def export(
    target: Annotated[str, typer.Argument(metavar="FOLDER", help="Folder to write.")],
    data: Data = None,
) -> None:
    """Write everything as a folder of text, to read and edit by hand."""
    from slowfire.services.transfer import export_text

    typer.echo(export_text(_folder(data), Path(target)).words)


def import_journal(
    source: Annotated[str, typer.Argument(metavar="FOLDER", help="Folder of text.")],
    data: Data = None,
) -> None:
    """Read a folder of text into the app; what is there already changes nothing."""
    from slowfire.services.transfer import import_text

    typer.echo(import_text(_folder(data), Path(source)).words)


def backup(
    to: Annotated[
        str | None, typer.Option(metavar="FILE", help="Zip file; in the data folder unless given.")
    ] = None,
    data: Data = None,
) -> None:
    """Copy the whole journal into one file, even while it is open."""
    from slowfire.services.transfer import backup as run

    typer.echo(run(_folder(data), None if to is None else Path(to)).words)


def restore(
    source: Annotated[str, typer.Argument(metavar="FILE", help="A backup.")],
    data: Data = None,
) -> None:
    """Put a backup in place of the journal; what is there now is backed up first."""
    from slowfire.services.transfer import restore as run

    typer.echo(run(_folder(data), Path(source)).words)


def _folder(data: str | None) -> Path:
    return Path(data) if data else data_folder()
