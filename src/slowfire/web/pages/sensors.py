"""Sensors: devices with their last values, what was left out and why, and a logger's file."""

import tempfile
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, UploadFile
from fastapi.responses import HTMLResponse, Response

from slowfire.errors import SlowfireError
from slowfire.refusals import RefusedField
from slowfire.services.sensors import add, overrule, sensors, take_in, token
from slowfire.web.home import Home
from slowfire.web.pages.today import back, writable
from slowfire.web.rendering import page

router = APIRouter()
LOGGER_BYTES = 10_000_000


@router.get("/sensors")
def show(request: Request) -> HTMLResponse:
    """The page."""
    return _page(request, {}, {})


def _page(
    request: Request,
    typed: dict[str, str],
    problems: dict[str, str],
    words: tuple[str, ...] = (),
    fresh: str = "",
) -> HTMLResponse:
    home: Home = request.app.state.home
    found = sensors(home.store.folder, home.clock())
    site = home.store.site()
    named = tuple(one.name for one in site.thermometers)
    return page(
        request,
        "sensors.html",
        {
            "found": found,
            "typed": typed,
            "problems": problems,
            "words": words,
            "fresh": fresh,
            "site": site,
            "meters": named or ("probe", "lid"),
        },
        status=422 if problems else 200,
        block="content",
    )


@router.post("/sensors/overrule")
def turn_round(request: Request, number: Annotated[int, Form()]) -> Response:
    """Let values count that were left out, or leave them out again."""
    home: Home = request.app.state.home
    writable(home)
    overrule(home.store.folder, number, home.clock())
    for one in home.store.site().bins:
        home.refresh(one.name)
    return back(request, "/sensors")


@router.post("/sensors/token")
def new_token(request: Request, name: Annotated[str, Form(max_length=400)] = "") -> HTMLResponse:
    """A token for a device that pushes, shown once."""
    home: Home = request.app.state.home
    writable(home)
    try:
        return _page(request, {}, {}, fresh=token(home.store.folder, name, home.clock()))
    except SlowfireError as problem:
        return _page(request, {"name": name}, {"name": str(problem)})


@router.post("/sensors/place")
def place(
    request: Request,
    device: Annotated[str, Form(max_length=400)],
    channel: Annotated[str, Form(max_length=400)],
    kind: Annotated[str, Form(max_length=20)],
    thermometer: Annotated[str, Form(max_length=400)] = "",
    bin: Annotated[str, Form(max_length=400)] = "",
    tip: Annotated[str, Form(max_length=60)] = "",
    origin: Annotated[str, Form(max_length=20)] = "surface",
    spot: Annotated[str, Form(max_length=20)] = "",
    unit: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Say which thermometer of which bin a probe is."""
    home: Home = request.app.state.home
    writable(home)
    typed = {
        "device": device, "channel": channel, "thermometer": thermometer, "bin": bin, "tip": tip,
        "origin": origin, "spot": spot, "unit": unit,
    }  # fmt: skip
    given = tip.strip() or None
    if given is not None and given.replace(",", ".").replace(".", "", 1).isdigit():
        given += " in" if home.store.site().units == "us" else " cm"
    try:
        if not thermometer:
            raise RefusedField("thermometer", "choose which thermometer it is.")
        done = add(
            home.store.folder, device, kind, channel, bin or None, thermometer,
            depth=None if origin == "base" else given, height=given if origin == "base" else None,
            spot=spot or None, unit=unit or None, now=home.clock(),
        )  # fmt: skip
    except SlowfireError as problem:
        return _page(request, typed, {"place": str(problem)})
    for one in home.store.site().bins:
        home.refresh(one.name)
    return _page(request, {}, {}, words=(done,))


@router.post("/sensors/file")
def logger_file(
    request: Request,
    file: Annotated[UploadFile, File()],
    device: Annotated[str, Form(max_length=400)] = "",
    unit: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Take in what a logger wrote."""
    home: Home = request.app.state.home
    writable(home)
    typed = {"device": device, "unit": unit}
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "logger.csv"
        try:
            content = file.file.read(LOGGER_BYTES + 1)
            if len(content) > LOGGER_BYTES:
                raise RefusedField("file", "the file is larger than 10 MB; use slowfire sensors.")
            source.write_bytes(content)
            done = take_in(home.store.folder, source, device, unit or None, now=home.clock())
        except SlowfireError as problem:
            return _page(request, typed, {"file": str(problem)})
    for one in home.store.site().bins:
        home.refresh(one.name)
    return _page(request, {}, {}, words=done.words)
