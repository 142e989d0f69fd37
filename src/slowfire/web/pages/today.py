"""Today: one action first, then the bin as it is, and how far a new estimate is."""

import dataclasses
import json
from collections.abc import Iterator
from datetime import UTC, datetime
from urllib.parse import quote
from uuid import uuid4

from fastapi import APIRouter, Form, Request
from fastapi.responses import (
    HTMLResponse,
    JSONResponse,
    RedirectResponse,
    Response,
    StreamingResponse,
)

from slowfire import records as r
from slowfire.errors import InvalidInput
from slowfire.journal.joblog import Job, told
from slowfire.services.kept_results import result_of
from slowfire.services.layers import LayersResult
from slowfire.services.record import usual_load
from slowfire.services.refresh import LAYERS
from slowfire.services.take_out import door_verdict
from slowfire.services.today import today
from slowfire.web.drawing import section_drawing
from slowfire.web.home import Home
from slowfire.web.rendering import page

router = APIRouter()
ANSWERS = ("done", "not-done", "not-right", "postponed")


@router.get("/")
def show(request: Request, bin: str | None = None) -> HTMLResponse:
    """The page."""
    home: Home = request.app.state.home
    record = home.bin(bin)
    entries = home.entries(record.name)
    site = home.store.site()
    found = home.inside(record.name)
    seen = None
    drawing = ""
    stale = False
    if found is not None:
        result, kept = found
        seen = today(site, entries, result, home.clock())
        drawing = section_drawing(seen, width_of(record))
        stale = home.stale(kept)
    if found is None or stale:
        home.refresh_unasked(record.name)
    return page(
        request,
        "today.html",
        {
            "bin_name": record.name,
            "seen": seen,
            "drawing": drawing,
            "door": _door(home, record.name),
            "stale": stale,
            "made": found[1].made if found is not None else None,
            "job": home.jobs.newest(record.name) if home.jobs is not None else None,
            "usual": usual_load(site, [one for one in entries if one.bin == record.name]),
            "key": str(uuid4()),
            "key_usual": str(uuid4()),
            "empty": seen is None and not home.fed(record.name),
        },
        block="content",
    )


def _door(home: Home, bin_name: str) -> str:
    kept = home.store.result(LAYERS, bin_name)
    if kept is None:
        return ""
    try:
        return door_verdict(result_of(LayersResult, kept.payload))
    except InvalidInput:
        return ""


@router.post("/estimate")
def estimate(request: Request, bin: str = Form("")) -> Response:
    """Ask for an estimate that was stopped or broke off."""
    home: Home = request.app.state.home
    writable(home)
    record = home.bin(bin or None)
    home.refresh(record.name)
    return back(request, "/", record.name)


@router.get("/progress")
def progress(request: Request, bin: str | None = None, kind: str | None = None) -> JSONResponse:
    """How far the estimate of a bin is, or other work asked for of it."""
    home: Home = request.app.state.home
    job = home.jobs.newest(home.bin(bin).name, kind) if home.jobs is not None else None
    if job is None:
        return JSONResponse({"state": "none", "share": 0.0})
    return JSONResponse({"state": job.state, "share": job.share, "words": job.words})


@router.get("/progress/events")
def events(request: Request, bin: str | None = None, kind: str | None = None) -> StreamingResponse:
    """The same as server-sent events, one whenever something changed, until the work has ended."""
    home: Home = request.app.state.home
    job = home.jobs.newest(home.bin(bin).name, kind) if home.jobs is not None else None
    return StreamingResponse(_events(home, job), media_type="text/event-stream")


def _events(home: Home, job: Job | None) -> Iterator[str]:
    if job is None:
        yield _event("none", 0.0, "")
        return
    if not job.open:
        yield _event(job.state, job.share, job.words)
        return
    for one in told(home.store, job.number):
        yield _event(one.state, one.share, one.words)


def _event(state: str, share: float, words: str) -> str:
    return f"data: {json.dumps({'state': state, 'share': share, 'words': words})}\n\n"


@router.get("/today.json")
def as_json(request: Request, bin: str | None = None) -> JSONResponse:
    """What the page says, for programs."""
    home: Home = request.app.state.home
    record = home.bin(bin)
    found = home.inside(record.name)
    if found is None:
        return JSONResponse({"message": "No estimate has been made yet."}, 404)
    seen = today(home.store.site(), home.entries(record.name), found[0], home.clock())
    return JSONResponse(dataclasses.asdict(seen))


@router.post("/stop")
def stop(request: Request, bin: str = Form(""), kind: str = Form("")) -> Response:
    """Stop the estimate that is being made, or other work asked for."""
    home: Home = request.app.state.home
    record = home.bin(bin or None)
    if home.jobs is not None:
        job = home.jobs.newest(record.name, kind or None)
        if job is not None:
            home.jobs.stop(job.number)
    return back(request, "/mix" if kind else "/", record.name)


@router.post("/advice")
def answer(
    request: Request, what: str = Form(""), answer: str = Form(""), bin: str = Form("")
) -> Response:
    """Write down what became of an action."""
    home: Home = request.app.state.home
    writable(home)
    record = home.bin(bin or None)
    if answer not in ANSWERS:
        raise InvalidInput(f"read {answer!r}; allowed is {', '.join(ANSWERS)}.")
    now = home.clock()
    entry = r.Entry(uuid4(), record.name, now, r.Advice(what, answer), datetime.now(UTC))
    home.store.append([entry])
    return back(request, "/", record.name)


def back(request: Request, path: str, bin_name: str = "") -> RedirectResponse:
    """Go on to a page after something was written."""
    root = request.scope.get("root_path", "")
    joint = "&" if "?" in path else "?"
    of_bin = f"{joint}bin={quote(bin_name)}" if bin_name else ""
    return RedirectResponse(f"{root}{path}{of_bin}", 303)


def writable(home: Home) -> None:
    """Refuse to write in the example."""
    if home.example:
        raise InvalidInput(
            "The example stays as it is; set up your own bin, and write what you like."
        )


def width_of(record: r.Bin) -> float:
    """Inside width for a drawing [cm]."""
    widths = (record.inside_width_cm, record.inside_diameter_cm, record.bottom_diameter_cm)
    return next((one for one in widths if one), 50.0)
