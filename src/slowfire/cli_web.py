"""The command that opens the screens."""

import logging
import threading
import time
import urllib.request
import webbrowser
from pathlib import Path
from typing import Annotated

import typer

from slowfire.errors import InvalidInput

DEFAULT_PORT = 8321
TRIES = 100
LOWEST_PORT, HIGHEST_PORT = 1024, 65535


def data_folder() -> Path:
    """The app's folder of this user."""
    import platformdirs

    return Path(platformdirs.user_data_dir("slowfire", appauthor=False))


def serve(
    data: Annotated[
        str | None, typer.Option(metavar="FOLDER", help="Data folder; your own unless given.")
    ] = None,
    port: Annotated[int, typer.Option(metavar="NUMBER", help="Port on this computer.")] = (
        DEFAULT_PORT
    ),
    browser: Annotated[
        bool, typer.Option("--open/--no-open", help="Open the browser once it answers.")
    ] = True,
) -> None:
    """Open the screens in the browser; everything stays on this computer."""
    if not LOWEST_PORT <= port <= HIGHEST_PORT:
        raise InvalidInput(f"The port is {port}; allowed is {LOWEST_PORT} to {HIGHEST_PORT}.")
    import uvicorn

    from slowfire.web.app import serve_app

    folder = Path(data) if data else data_folder()
    app = serve_app(folder)
    address = f"http://127.0.0.1:{port}/"
    typer.echo(f"slowfire is at {address} (stop it with Ctrl+C); data in {folder}", err=True)
    if browser:
        threading.Thread(target=_open_when_ready, args=(address,), daemon=True).start()
    logging.getLogger("uvicorn.access").setLevel(logging.WARNING)
    try:
        uvicorn.run(app, host="127.0.0.1", port=port, log_level="warning")
    except SystemExit as problem:
        raise InvalidInput(
            f"Port {port} is taken; is slowfire open already? Otherwise give another --port."
        ) from problem


def _open_when_ready(address: str) -> None:
    for _ in range(TRIES):
        try:
            with urllib.request.urlopen(f"{address}welcome", timeout=1.0):
                webbrowser.open(address)
                return
        except OSError:
            time.sleep(0.1)
