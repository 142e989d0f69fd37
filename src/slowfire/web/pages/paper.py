"""A log on paper: one sheet to print, hang at the bin and type in later."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from slowfire.services.record import usual_load
from slowfire.web.home import Home
from slowfire.web.pages.record import length_unit
from slowfire.web.rendering import page

router = APIRouter()
LINES = 22  # that fit on a sheet of A4 or letter


@router.get("/paper")
def show(request: Request, bin: str | None = None) -> HTMLResponse:
    """The sheet."""
    home: Home = request.app.state.home
    record = home.bin(bin)
    site = home.store.site()
    own = [one for one in home.entries(record.name) if one.bin == record.name]
    return page(
        request,
        "paper.html",
        {
            "bin_name": record.name,
            "lines": range(LINES),
            "usual": usual_load(site, own),
            "thermometers": site.thermometers,
            "degree": "°F" if site.units == "us" else "°C",
            "length": length_unit(site),
        },
        block="content",
    )
