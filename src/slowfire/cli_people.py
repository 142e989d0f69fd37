"""The command for accounts, for the machine itself: also the way back in when all else is lost."""

from pathlib import Path
from typing import Annotated

import typer

from slowfire.cli_web import asked_password, data_folder
from slowfire.errors import InvalidInput

app = typer.Typer(help="Who may enter: list, add, password, remove, or open to all here again.")
Data = Annotated[
    str | None, typer.Option(metavar="FOLDER", help="Data folder; your own unless given.")
]
Name = Annotated[str, typer.Argument(metavar="NAME", help="Of the account.")]


@app.command("list")
def list_people(data: Data = None) -> None:
    """List accounts."""
    from slowfire.journal import accounts
    from slowfire.journal.store import open_store

    with open_store(_folder(data)) as store:
        everybody = accounts.people(store)
        if not everybody:
            typer.echo("Nobody has an account; slowfire is open on this machine and on no other.")
        for one in everybody:
            count = len(accounts.devices(store, one.number))
            typer.echo(f"{one.name}: {one.role}, signed in on {count} devices")


@app.command()
def add(
    name: Name,
    viewer: Annotated[bool, typer.Option("--viewer", help="May look, not write.")] = False,
    data: Data = None,
) -> None:
    """Give somebody an account; the password is asked for, or read as one line."""
    from slowfire.journal import accounts
    from slowfire.journal.store import open_store

    with open_store(_folder(data)) as store:
        role = accounts.VIEWER if viewer else accounts.KEEPER
        made = accounts.add_person(store, name, role, asked_password(name))
        typer.echo(f"{made.name} has an account as {made.role}.")


@app.command()
def password(name: Name, data: Data = None) -> None:
    """Give somebody a new password; all their devices are signed out."""
    from slowfire.journal import accounts
    from slowfire.journal.store import open_store

    with open_store(_folder(data)) as store:
        found = accounts.person_named(store, name)
        if found is None:
            raise InvalidInput(f"There is no account of {name}; see slowfire people list.")
        accounts.set_password(store, found, asked_password(found.name))
        typer.echo(f"{found.name} has a new password.")


@app.command()
def remove(name: Name, data: Data = None) -> None:
    """Take an account away."""
    from slowfire.journal import accounts
    from slowfire.journal.store import open_store

    with open_store(_folder(data)) as store:
        found = accounts.person_named(store, name)
        if found is None:
            raise InvalidInput(f"There is no account of {name}; see slowfire people list.")
        accounts.remove_person(store, found.number)
        typer.echo(f"{found.name} has no account any more.")


@app.command("forget-all")
def forget_all(data: Data = None) -> None:
    """Take every account away, so that slowfire is open on this machine again."""
    from slowfire.journal import accounts
    from slowfire.journal.store import open_store

    with open_store(_folder(data)) as store:
        accounts.forget_everybody(store)
        typer.echo("Nobody has an account any more; slowfire is open on this machine again.")


def _folder(data: str | None) -> Path:
    return Path(data).expanduser() if data else data_folder()
