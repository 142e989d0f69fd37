"""Words and the one-time code that `serve --share` prints."""

import io
from collections.abc import Callable
from pathlib import Path

import segno

from slowfire.errors import InvalidInput
from slowfire.journal import accounts
from slowfire.journal.store import open_store
from slowfire.web.certificate import CERTIFICATE, FOLDER, fingerprint

PLAIN = (
    "Without encryption whoever shares this network can read along, passwords too, and a phone "
    "keeps entries only while the page stays open. Use it in a network that you trust."
)
TLS = (
    "The certificate is slowfire's own, so each browser asks once whether to trust it; compare "
    "its fingerprint (SHA-256): {fingerprint}."
)


def must_have_keeper(folder: Path, name: str | None, ask: Callable[[str], str]) -> None:
    """Make the first account if there is none; nobody else may come in before.

    Parameters
    ----------
    folder : Path
        The data folder [-].
    name : str or None
        Of the first keeper [-].
    ask : callable
        Asks for the password of a name [-].

    Raises
    ------
    InvalidInput
        If there is no account and no name was given, or the password will not do.
    """
    with open_store(folder) as store:
        if accounts.any_people(store):
            return
        if not name:
            raise InvalidInput(
                "Nobody has an account yet; say who the first keeper is, such as --keeper Ada."
            )
        accounts.add_person(store, name, accounts.KEEPER, ask(name))


def greeting(folder: Path, scheme: str, hosts: tuple[str, ...], port: int) -> str:
    """What is said at the start: addresses, a one-time link for a phone, and what to mind.

    Parameters
    ----------
    folder : Path
        The data folder [-].
    scheme : str
        http or https [-].
    hosts : tuple of str
        Names of this machine, the likeliest first [-].
    port : int
        Port [-].

    Returns
    -------
    str
        Lines for a terminal, with a QR code.
    """
    lines = ["In the home network:"]
    lines += [f"  {scheme}://{one}:{port}/" for one in hosts] or ["  no network was found"]
    if scheme == "https":
        lines.append(TLS.format(fingerprint=fingerprint(folder / FOLDER / CERTIFICATE)))
    else:
        lines.append(PLAIN)
    with open_store(folder) as store:
        keepers = [one for one in accounts.people(store) if one.role == accounts.KEEPER]
        if keepers and hosts:
            first = min(keepers, key=lambda one: one.number)
            secret = accounts.make_code(store, accounts.PAIRING, first.name, person=first.number)
            link = f"{scheme}://{hosts[0]}:{port}/pair/{secret}"
            drawn = io.StringIO()
            segno.make(link, error="l", micro=False).terminal(out=drawn, compact=True, border=2)
            lines += [
                f"For the phone of {first.name}, once and within ten minutes:",
                f"  {link}",
                drawn.getvalue(),
            ]
    return "\n".join(lines)
