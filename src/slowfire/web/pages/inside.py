"""Inside: every layer with its range, the weeks around now, what was learned and asked."""

import json
from typing import Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, JSONResponse, Response

from slowfire.services.inside_layers import joined_layers
from slowfire.services.inside_words import (
    learned_sentences,
    question_sentences,
    reading_sentences,
    summary_lines,
)
from slowfire.web import pictures
from slowfire.web.home import Home, shown_in
from slowfire.web.pages.today import back, writable
from slowfire.web.rendering import page

router = APIRouter()
MOST_ROWS = 8  # of the table of layers, which a phone shows whole


@router.get("/inside")
def show(request: Request, bin: str | None = None) -> HTMLResponse:
    """The page."""
    home: Home = request.app.state.home
    record = home.bin(bin)
    shown = shown_in(home.store.site())
    found = home.inside(record.name)
    series = home.series(record.name)
    values: dict[str, Any] = {
        "bin_name": record.name,
        "result": None,
        "shown": shown,
        "job": home.jobs.newest(record.name) if home.jobs is not None else None,
    }
    if found is not None:
        result, kept = found
        values |= {
            "result": result,
            "kept": kept,
            "stale": home.stale(kept),
            "layers": joined_layers(result.layers, MOST_ROWS),
            "summary": summary_lines(result),
            "learned": learned_sentences(result),
            "asked": question_sentences(result),
            "reading": reading_sentences(result),
        }
    if series is not None:
        values |= {
            "depth_time": pictures.depth_time_picture(series, shown),
            "bands": pictures.band_picture(series, shown),
            "legend": pictures.scale_legend(shown),
            "table": pictures.table_rows(series, shown),
        }
    values.setdefault("depth_time", "")
    return page(request, "inside.html", values, block="content")


@router.post("/inside/thorough")
def thorough(request: Request, bin: str = Form("")) -> Response:
    """Ask for an estimate with more bins and longer windows."""
    home: Home = request.app.state.home
    writable(home)
    record = home.bin(bin or None)
    home.refresh(record.name, thorough=True)
    return back(request, "/inside", record.name)


@router.get("/inside.json")
def as_json(request: Request, bin: str | None = None) -> JSONResponse:
    """The last estimate as it was stored."""
    home: Home = request.app.state.home
    kept = home.store.result("inside", home.bin(bin).name)
    if kept is None:
        return JSONResponse({"message": "No estimate has been made yet."}, 404)
    return JSONResponse(json.loads(kept.payload))
