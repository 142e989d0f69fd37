"""Take out: what lies at the door, four verdicts kept apart, and the job step by step."""

import json
from datetime import UTC, datetime
from typing import Annotated, Any
from uuid import uuid4

from fastapi import APIRouter, Form, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, Response

from slowfire import records as r
from slowfire.errors import InvalidInput, SlowfireError
from slowfire.journal.store import Kept
from slowfire.refusals import RefusedField
from slowfire.reports.sheets import batch_sheet
from slowfire.services.bin_setup import measure_names, number_of
from slowfire.services.heat_kills import (
    CAUTIONS,
    DISEASE_CAUTION,
    SEED_CAUTION,
    sources_of,
    tenths,
)
from slowfire.services.kept_results import result_of
from slowfire.services.layers import DOOR_CM, LayersResult, door_height
from slowfire.services.record import entry_of
from slowfire.services.refresh import LAYERS
from slowfire.services.take_out import QUESTIONS, TakeOutResult, take_out
from slowfire.taking_out import STEPS
from slowfire.web.home import Home, shown_in
from slowfire.web.pages.record import own_key, weighed_pair, weight_unit
from slowfire.web.pages.today import back, writable
from slowfire.web.queued import write_form
from slowfire.web.rendering import page
from slowfire.web.visitors import signed

router = APIRouter()
JOB = "taking-out"
MESHES = ("6", "10", "13", "25", "40")


def layers_kept(home: Home, bin_name: str) -> LayersResult | None:
    """Verdicts on the layers of a bin as last computed; None if there are none."""
    kept = home.store.result(LAYERS, bin_name)
    if kept is None:
        return None
    try:
        return result_of(LayersResult, kept.payload)
    except InvalidInput:
        return None


def found_at_door(home: Home, record: r.Bin, typed: dict[str, str]) -> TakeOutResult | None:
    """What lies at the door; None without an estimate."""
    found = layers_kept(home, record.name)
    if found is None:
        return None
    site = home.store.site()
    length = 2.54 if site.units == "us" else 1.0
    door = number_of("door", typed.get("door", ""))
    mesh = number_of("mesh", typed.get("mesh", ""), 13.0)
    others = [one[0] for other in site.bins if (one := home.inside(other.name)) is not None]
    try:
        return take_out(
            site,
            home.entries(record.name),
            found,
            home.clock(),
            mesh_mm=mesh or 13.0,
            others=others,
            anyway=bool(typed.get("anyway")),
            door_cm=None if door is None else door * length,
        )
    except RefusedField:
        raise
    except SlowfireError as problem:
        raise RefusedField("door", str(problem)) from problem


@router.get("/take-out")
def show(request: Request) -> HTMLResponse:
    """The page."""
    return _page(request, dict(request.query_params.items()), {})


def _page(request: Request, typed: dict[str, str], problems: dict[str, str]) -> HTMLResponse:
    home: Home = request.app.state.home
    record = home.bin(typed.get("bin") or None)
    site = home.store.site()
    seen = None
    layers = layers_kept(home, record.name)
    door = door_height(site, home.entries(record.name), record.name, home.clock())
    try:
        seen = found_at_door(home, record, typed)
    except RefusedField as problem:
        problems = {**problems, problem.field: str(problem)}
    return page(
        request,
        "take_out.html",
        {
            "bin_name": record.name,
            "seen": seen,
            "layers": [] if layers is None else layers.layers,
            "rules": "" if layers is None else layers.rules,
            "home_rules": () if layers is None else layers.home,
            "tests": () if layers is None else layers.tests,
            "questions": QUESTIONS,
            "tenths": tenths,
            "kill_sources": sources_of(seen.heat_kills) if seen and seen.heat_kills else (),
            "kill_cautions": CAUTIONS,
            "seed_caution": SEED_CAUTION,
            "disease_caution": DISEASE_CAUTION,
            "typed": typed,
            "problems": problems,
            "step": _step(home, record.name),
            "steps": STEPS,
            "others": [one.name for one in site.bins if one.name != record.name],
            "beds": [one.name for one in site.beds],
            "measures": measure_names(site),
            "meshes": MESHES,
            "shown": shown_in(site),
            "length": "in" if site.units == "us" else "cm",
            "us": site.units == "us",
            "weight": weight_unit(site),
            "door": f"{(door or DOOR_CM) / (2.54 if site.units == 'us' else 1.0):.3g}",
            "measured": door > 0.0,
            "key": str(uuid4()),
        },
        status=422 if problems else 200,
        block="content",
    )


@router.post("/take-out/step")
def step(
    request: Request,
    bin: Annotated[str, Form(max_length=400)] = "",
    number: Annotated[int, Form(ge=0, le=len(STEPS))] = 0,
) -> Response:
    """Begin the job, go on, or leave it; it is kept, so that it may be paused."""
    home: Home = request.app.state.home
    writable(home)
    record = home.bin(bin or None)
    _keep_step(home, record.name, number)
    answer = back(request, "/take-out", record.name)
    answer.headers["location"] += "#job"
    return answer


def _keep_step(home: Home, bin_name: str, number: int) -> None:
    payload, now = json.dumps({"step": number}), datetime.now(UTC)
    home.store.put_result(Kept(JOB, bin_name, home.store.revision(), "", now, payload))


@router.post("/take-out/dug")
async def dug(request: Request) -> Response:
    """Write down what was taken out."""
    typed = {name: str(value) for name, value in (await request.form()).items()}
    return await run_in_threadpool(_dug, request, typed)


def _dug(request: Request, typed: dict[str, str]) -> Response:
    home: Home = request.app.state.home
    writable(home)
    record = home.bin(typed.get("bin") or None)
    site = home.store.site()

    def make(when: datetime) -> r.Entry:
        pairs = []
        if typed.get("to"):
            pairs.append(f"to={typed['to']}")
        if typed.get("sieve"):
            pairs += [f"sieve={typed['sieve']}mm", f"oversize_back={typed.get('back', 'no')}"]
        if pair := weighed_pair(site, typed):
            pairs.append(pair)
        row = {
            "amount": typed.get("amount", ""),
            "unit": typed.get("unit", "litre"),
            "at": "base",
            "value": " ".join(f'"{one}"' if " " in one else one for one in pairs),
            "when": typed.get("when", ""),
            "note": typed.get("note", ""),
        }
        entry = entry_of(site, record.name, "dig_out", row, when, own_key(typed.get("key", "")))
        return signed(request, entry, site)

    answer = write_form(
        request,
        home,
        typed,
        make,
        lambda field, word: _page(request, typed, {field or "amount": word}),
        lambda _fresh: back(request, "/entries?written=1", record.name),
    )
    if answer.status_code < 400:
        _keep_step(home, record.name, 0)
    return answer


@router.get("/take-out/sheet.pdf")
def sheet(request: Request) -> Response:
    """The batch sheet."""
    home: Home = request.app.state.home
    typed = dict(request.query_params.items())
    record = home.bin(typed.get("bin") or None)
    found = found_at_door(home, record, typed)
    if found is None:
        raise InvalidInput("No estimate has been made yet, so there is no sheet.")
    content = batch_sheet(found, home.store.site().units == "us")
    headers = {"Content-Disposition": 'inline; filename="batch.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


def _step(home: Home, bin_name: str) -> int:
    kept = home.store.result(JOB, bin_name)
    if kept is None:
        return 0
    told: dict[str, Any] = json.loads(kept.payload)
    number = told.get("step", 0)
    return number if isinstance(number, int) and 0 <= number <= len(STEPS) else 0
