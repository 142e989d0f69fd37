"""Today: one action first, then the bin as it is."""

from datetime import UTC, datetime
from uuid import uuid4

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from slowfire import records as r
from slowfire.errors import InvalidInput
from slowfire.services.record import usual_load
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
        home.refresh(record.name)
    return page(
        request,
        "today.html",
        {
            "bin_name": record.name,
            "seen": seen,
            "drawing": drawing,
            "stale": stale,
            "made": found[1].made if found is not None else None,
            "job": home.jobs.newest(record.name) if home.jobs is not None else None,
            "usual": usual_load(site, [one for one in entries if one.bin == record.name]),
            "key": str(uuid4()),
            "empty": not any(one.kind in ("load", "stocktake") for one in entries),
        },
        block="content",
    )


@router.get("/progress")
def progress(request: Request, bin: str | None = None) -> JSONResponse:
    """How far the estimate of a bin is."""
    home: Home = request.app.state.home
    record = home.bin(bin)
    job = home.jobs.newest(record.name) if home.jobs is not None else None
    if job is None:
        return JSONResponse({"state": "none", "share": 0.0})
    return JSONResponse({"state": job.state, "share": job.share, "words": job.words})


@router.post("/stop")
def stop(request: Request, bin: str = Form("")) -> Response:
    """Stop the estimate that is being made."""
    home: Home = request.app.state.home
    record = home.bin(bin or None)
    if home.jobs is not None:
        job = home.jobs.newest(record.name)
        if job is not None:
            home.jobs.stop(job.number)
    return back(request, "/", record.name)


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
    of_bin = f"{joint}bin={bin_name}" if bin_name else ""
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
