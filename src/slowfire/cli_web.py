"""The command that opens the screens."""

import logging
import sys
import threading
import time
import urllib.request
import webbrowser
from pathlib import Path
from typing import Annotated, Any

import typer

from slowfire.errors import InvalidInput

DEFAULT_PORT = 8321
TRIES = 100
MOST_AT_ONCE = 400  # connections, so that slow ones cannot take every place
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
    share: Annotated[
        bool, typer.Option("--share", help="Answer in the home network too, encrypted.")
    ] = False,
    plain: Annotated[
        bool, typer.Option("--plain-http", help="With --share: without encryption.")
    ] = False,
    host_name: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME", help="Further name it may be reached by; several."),
    ] = None,
    keeper: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="With --share: name of the first keeper."),
    ] = None,
    behind_proxy: Annotated[
        bool,
        typer.Option("--behind-proxy", help="A web server on this machine hands requests on."),
    ] = False,
) -> None:
    """Open the screens in the browser; everything stays on this computer."""
    if not LOWEST_PORT <= port <= HIGHEST_PORT:
        raise InvalidInput(f"The port is {port}; allowed is {LOWEST_PORT} to {HIGHEST_PORT}.")
    if plain and not share:
        raise InvalidInput("--plain-http goes with --share; take it out, or add --share.")
    import uvicorn

    from slowfire.web.app import serve_app

    folder = Path(data) if data else data_folder()
    hosts = tuple(one.casefold() for one in host_name or ())
    settings: dict[str, Any] = {"host": "127.0.0.1"}
    scheme = "http"
    if share:
        from slowfire.web.certificate import KEY, certificate, own_names

        hosts = (*hosts, *own_names())
        settings["host"] = "0.0.0.0"
        if not plain:
            file = certificate(folder, hosts)
            settings |= {"ssl_certfile": str(file), "ssl_keyfile": str(file.with_name(KEY))}
            scheme = "https"
    app = serve_app(folder, hosts)
    if share or behind_proxy:
        from slowfire.web.sharing import greeting, must_have_keeper

        must_have_keeper(folder, keeper, asked_password)
    address = f"{scheme}://127.0.0.1:{port}/"
    typer.echo(f"slowfire is at {address} (stop it with Ctrl+C); data in {folder}", err=True)
    if share:
        typer.echo(greeting(folder, scheme, hosts, port), err=True)
    if browser and not share:
        threading.Thread(target=_open_when_ready, args=(address,), daemon=True).start()
    logging.getLogger("uvicorn.access").setLevel(logging.WARNING)
    try:
        uvicorn.run(
            app,
            port=port,
            log_level="warning",
            timeout_graceful_shutdown=2,
            timeout_keep_alive=15,
            limit_concurrency=MOST_AT_ONCE,
            proxy_headers=behind_proxy,
            forwarded_allow_ips="127.0.0.1,::1" if behind_proxy else None,
            server_header=False,
            **settings,
        )
    except SystemExit as problem:
        raise InvalidInput(
            f"Port {port} is taken; is slowfire open already? Otherwise give another --port."
        ) from problem


def asked_password(name: str) -> str:
    """Asked twice at a terminal; read as one line from elsewhere."""
    if sys.stdin.isatty():
        word: str = typer.prompt(f"Password for {name}", hide_input=True, confirmation_prompt=True)
        return word
    return sys.stdin.readline().rstrip("\n")


def _open_when_ready(address: str) -> None:
    for _ in range(TRIES):
        try:
            with urllib.request.urlopen(f"{address}welcome", timeout=1.0):
                webbrowser.open(address)
                return
        except OSError:
            time.sleep(0.1)
