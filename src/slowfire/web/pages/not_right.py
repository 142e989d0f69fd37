"""Not right: what may lie behind a complaint, one check, and whether advice has worked."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from slowfire.services.today_complaint import COMPLAINTS, SMELLS, complaint
from slowfire.services.today_scores import scores
from slowfire.web.home import Home
from slowfire.web.rendering import page

router = APIRouter()


@router.get("/not-right")
def show(request: Request, bin: str | None = None, what: str = "") -> HTMLResponse:
    """Choose what is wrong, then one check and the likely causes."""
    home: Home = request.app.state.home
    record = home.bin(bin)
    found = None
    if what:
        inside = home.inside(record.name)
        found = complaint(
            home.store.site(),
            home.entries(record.name),
            None if inside is None else inside[0],
            home.clock(),
            what,
            record.name,
        )
    return page(
        request,
        "not_right.html",
        {
            "bin_name": record.name,
            "complaints": COMPLAINTS,
            "smells": SMELLS,
            "what": what,
            "found": found,
        },
        block="content",
    )


@router.get("/worked")
def worked(request: Request, bin: str | None = None) -> HTMLResponse:
    """What was done on advice, and what came of it."""
    home: Home = request.app.state.home
    record = home.bin(bin)
    inside = home.inside(record.name)
    judged = scores(
        home.store.site(),
        home.entries(record.name),
        record.name,
        home.clock(),
        None if inside is None else inside[0],
        home.series(record.name),
    )
    return page(
        request, "worked.html", {"bin_name": record.name, "judged": judged}, block="content"
    )
