"""The first visit: set up a bin, or look round the example."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse

from slowfire.services.bin_setup import towns_like
from slowfire.web.rendering import page

router = APIRouter()


@router.get("/welcome")
def welcome(request: Request) -> HTMLResponse:
    """Two buttons, and a file for who has one."""
    return page(request, "welcome.html", {"problems": {}}, block="content")


@router.get("/towns")
def towns(begin: str = "") -> JSONResponse:
    """Towns that begin so."""
    return JSONResponse(list(towns_like(begin)))
