"""Inside: every layer with its range, the weeks around now, what was learned and asked."""

import json
from datetime import datetime, timedelta
from typing import Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, JSONResponse, Response

from slowfire.errors import InvalidInput
from slowfire.kinds import Load
from slowfire.services.inside_layers import joined_layers
from slowfire.services.inside_words import (
    learned_sentences,
    question_sentences,
    reading_sentences,
    summary_lines,
)
from slowfire.services.layer_tests import done_tests
from slowfire.services.layers import DOOR_CM, door_height
from slowfire.services.maturity_words import group_rule, quiet_rows
from slowfire.services.own_tests import weedkiller_wanted
from slowfire.services.record import load_words
from slowfire.services.take_out import QUESTIONS
from slowfire.web import pictures
from slowfire.web.home import Home, shown_in
from slowfire.web.pages.take_out import layers_kept
from slowfire.web.pages.today import back, writable
from slowfire.web.rendering import page

router = APIRouter()
MOST_ROWS = 8  # of the table of layers, which a phone shows whole


@router.get("/inside")
def show(
    request: Request, bin: str | None = None, what: str = "temperature", time: int | None = None
) -> HTMLResponse:
    """The page."""
    home: Home = request.app.state.home
    record = home.bin(bin)
    what = what if what in pictures.QUANTITIES else "temperature"
    shown = shown_in(home.store.site())
    found = home.inside(record.name)
    series = home.series(record.name)
    values: dict[str, Any] = {
        "bin_name": record.name,
        "result": None,
        "fed": found is not None or home.fed(record.name),
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
        place = series.present if time is None else min(max(time, 0), len(series.times) - 1)
        values |= {
            "depth_time": pictures.depth_time_picture(
                series, shown, what, None if time is None else place
            ),
            "bands": pictures.band_picture(series, shown),
            "legend": pictures.scale_legend(shown, what),
            "what": what,
            "quantities": list(pictures.QUANTITIES),
            "place": place,
            "moment_shown": datetime.fromisoformat(series.times[place]),
            "last": len(series.times) - 1,
            "present": series.present,
            "profile": pictures.profile_rows(series, place, shown),
            "table": pictures.table_rows(series, shown),
        }
    values.setdefault("depth_time", "")
    verdicts = layers_kept(home, record.name)
    values["life"] = [] if verdicts is None else list(enumerate(verdicts.layers))
    return page(request, "inside.html", values, block="content")


@router.get("/inside/layer")
def layer(request: Request, number: int = 0, bin: str | None = None) -> HTMLResponse:
    """The life of one layer: when it went in, how hot it was, what it is now."""
    home: Home = request.app.state.home
    record = home.bin(bin)
    site = home.store.site()
    found = layers_kept(home, record.name)
    if found is None or not 0 <= number < len(found.layers):
        raise InvalidInput("There is no such layer in the last estimate; go back to Inside.")
    one = found.layers[number]
    first, last = (datetime.fromisoformat(text) for text in (one.first_added, one.last_added))
    slack = timedelta(hours=12)
    entries = home.entries(record.name)
    went_in = [
        each
        for each in entries
        if isinstance(each.payload, Load) and first - slack <= each.when <= last + slack
    ]
    loads = [
        (each.when, load_words(site, each.payload.items))
        for each in went_in
        if isinstance(each.payload, Load)
    ]
    estimated = datetime.fromisoformat(found.at)
    door_cm = door_height(site, entries, record.name, estimated) or DOOR_CM
    at_door = one.height_cm < door_cm
    done = done_tests(site, entries, record.name, home.clock()) if at_door else ()
    return page(
        request,
        "layer.html",
        {
            "bin_name": record.name,
            "one": one,
            "number": number,
            "count": len(found.layers),
            "first": first,
            "last_added": last,
            "loads": loads,
            "questions": QUESTIONS,
            "shown": shown_in(site),
            "quiet": quiet_rows(one, found.layers[number - 1] if number else None, estimated),
            "rule": group_rule(one, [each.trial for each in done]),
            "at_door": at_door,
            "wanted": weedkiller_wanted(site, went_in, record.name, done),
        },
        block="content",
    )


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
