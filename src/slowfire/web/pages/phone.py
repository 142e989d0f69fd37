"""What a phone keeps for where slowfire is out of reach: worker, name, and a page that says so."""

from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, HTMLResponse, JSONResponse

from slowfire.web.rendering import page

router = APIRouter()
STATIC = Path(__file__).parents[1] / "static"


@router.get("/worker.js")
def worker() -> FileResponse:
    """The worker, under the root, so that it may answer for every page."""
    return FileResponse(
        STATIC / "worker.js", media_type="text/javascript", headers={"Cache-Control": "no-cache"}
    )


@router.get("/app.webmanifest")
def manifest(request: Request) -> JSONResponse:
    """Name and icon for a phone's start screen."""
    root = request.scope.get("root_path", "")
    return JSONResponse(
        {
            "name": "slowfire",
            "short_name": "slowfire",
            "start_url": f"{root}/",
            "scope": f"{root}/",
            "display": "standalone",
            "background_color": "#faf8f4",
            "theme_color": "#faf8f4",
            "icons": [{"src": f"{root}/static/icon.svg", "sizes": "any", "type": "image/svg+xml"}],
        },
        media_type="application/manifest+json",
    )


@router.get("/out-of-reach")
def out_of_reach(request: Request) -> HTMLResponse:
    """Shown for a page that this phone never saw while slowfire is out of reach."""
    return page(request, "out_of_reach.html", {}, block="content")
