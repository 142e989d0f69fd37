"""Set-up: four questions for a new bin; later, what is known of it."""

from collections.abc import Mapping

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, Response

from slowfire.errors import SlowfireError
from slowfire.refusals import RefusedField
from slowfire.services.bin_setup import SIZES, WALLS, Answers, number_of, set_up, towns_like
from slowfire.web.drawing import setup_drawing
from slowfire.web.home import Home
from slowfire.web.pages.setup_changes import known
from slowfire.web.pages.today import back, writable
from slowfire.web.rendering import page

router = APIRouter()
ACROSS = ("width", "inside_width_cm", "inside_diameter_cm", "top_diameter_cm")
PERMISSION = (
    "A school, a café or a yard of several homes may need permission: ask the local authority "
    "before you start."
)


@router.get("/setup")
def show(request: Request) -> HTMLResponse:
    """The questions, or what was answered."""
    home: Home = request.app.state.home
    if home.store.has_site():
        return known(request, home.bin(request.query_params.get("bin") or None))
    return _form(request, {}, {})


@router.get("/setup/drawing")
def drawing(request: Request) -> HTMLResponse:
    """The drawing alone, as the answers change."""
    return HTMLResponse(_drawing(dict(request.query_params.items())))


@router.post("/setup")
async def write(request: Request) -> Response:
    """Make the bin."""
    typed = {name: str(value) for name, value in (await request.form()).items()}
    return await run_in_threadpool(_write, request, typed)


def _write(request: Request, typed: Mapping[str, str]) -> Response:
    home: Home = request.app.state.home
    if home.store.has_site():
        return back(request, "/")
    writable(home)
    try:
        site, entries = set_up(_answers(typed), home.clock())
        home.store.set_site(site)
        home.store.append(entries)
    except RefusedField as problem:
        return _form(request, typed, {problem.field: str(problem)})
    except SlowfireError as problem:
        return _form(request, typed, {"": str(problem)})
    if len(entries) > 1:
        home.refresh(site.bins[0].name)
    return back(request, "/")


def _answers(typed: Mapping[str, str]) -> Answers:
    us = typed.get("units") == "us"
    length = 2.54 if us else 1.0

    def centimetres(field: str, blank: float | None = None) -> float | None:
        value = number_of(field, typed.get(field, ""))
        return blank if value is None else length * value

    litres = number_of("caddy_litres", typed.get("caddy_litres", ""), 5.0 if not us else 1.3)
    return Answers(
        town=typed.get("town", ""),
        size=typed.get("size", "medium"),
        wall=typed.get("wall", "not sure"),
        width_cm=centimetres("width"),
        height_cm=centimetres("height"),
        full=typed.get("full", "empty"),
        level_cm=centimetres("level_cm", 30.0) or 0.0,
        months=number_of("months", typed.get("months", ""), 6.0) or 0.0,
        caddy_litres=(litres or 0.0) * (3.785411784 if us else 1.0),
        caddies_a_week=number_of("caddies_a_week", typed.get("caddies_a_week", ""), 2.0) or 0.0,
        units="us" if us else "metric",
        shared=bool(typed.get("shared")),
    )


def _form(request: Request, typed: Mapping[str, str], problems: Mapping[str, str]) -> HTMLResponse:
    near = towns_like(typed.get("town", "").split(",")[0]) if problems.get("town") else ()
    return page(
        request,
        "setup.html",
        {
            "typed": typed,
            "problems": problems,
            "sizes": SIZES,
            "walls": list(WALLS),
            "near": near,
            "drawing": _drawing(typed),
            "permission": PERMISSION,
        },
        status=422 if problems else 200,
        block="content",
    )


def _drawing(typed: Mapping[str, str]) -> str:
    """Of the four questions, or of what is known, whichever was typed."""
    _, width, height = SIZES.get(typed.get("size", "medium"), SIZES["medium"])
    length = 2.54 if typed.get("units") == "us" else 1.0
    across = next((typed[one] for one in ACROSS if typed.get(one)), "")
    tall = typed.get("height") or typed.get("inside_height_cm", "")
    try:
        width = (number_of("width", across) or width / length) * length
        height = (number_of("height", tall) or height / length) * length
    except SlowfireError:
        pass
    return setup_drawing(
        min(max(width, 5.0), 400.0),
        min(max(height, 5.0), 300.0),
        _thickness(typed.get("wall", "not sure")),
        typed.get("shape", "box") in ("cylinder", "taper"),
    )


def _thickness(wall: str) -> float:
    """Of a kind of wall, or of sheets as typed such as foam 50 + timber 18 [cm]."""
    if wall in WALLS:
        return sum(one[1] for one in WALLS[wall][0]) / 10.0
    total = 0.0
    for sheet in wall.split("+"):
        try:
            total += float(sheet.split()[-1].removesuffix("mm"))
        except (ValueError, IndexError):
            continue
    return min(total, 400.0) / 10.0
