"""The web app: routes to pages, the example beside the journal, and what starts and stops."""

from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from datetime import datetime
from pathlib import Path

from fastapi import Depends, FastAPI, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse
from fastapi.staticfiles import StaticFiles
from starlette.types import ASGIApp, Receive, Scope, Send

from slowfire.errors import SlowfireError
from slowfire.jobs import Jobs, OwnProcess
from slowfire.journal.store import Store, open_store
from slowfire.services.example import fill_example
from slowfire.services.transfer import keep_backups
from slowfire.web import rendering
from slowfire.web.api import make_api
from slowfire.web.home import Home
from slowfire.web.pages import (
    beds,
    entries,
    first_visit,
    inside,
    lid,
    mix,
    not_right,
    own_tests,
    paper,
    people,
    phone,
    photos,
    push,
    record,
    sensors,
    setup,
    setup_changes,
    sign_in,
    take_out,
    today,
    where,
)
from slowfire.web.security import Guard
from slowfire.web.visitors import Door, NotFromOurForm, from_our_form

HERE = Path(__file__).parent
EXAMPLE_FOLDER = "example"
BEFORE_SET_UP = (
    "/static", "/welcome", "/setup", "/example", "/towns", "/worker.js", "/app.webmanifest",
    "/out-of-reach", "/import", "/api", "/people", "/sign-in", "/sign-out", "/pair", "/me",
    "/export.zip", "/push",
)  # fmt: skip
PAGES = (
    today, not_right, record, entries, mix, inside, paper, phone, setup, setup_changes, first_visit,
    people, sign_in, lid, photos, take_out, own_tests, beds, where,
    push, sensors,
)  # fmt: skip


def make_app(
    store: Store,
    jobs: Jobs | None = None,
    example: Store | None = None,
    hosts: tuple[str, ...] = (),
) -> FastAPI:
    """Build the app over an open journal.

    Parameters
    ----------
    store : Store
        The journal [-].
    jobs : Jobs or None
        Where estimates are made; without it none are [-].
    example : Store or None
        A journal to look round in, under /example [-].
    hosts : tuple of str
        Names under which it may be asked, besides those of this machine [-].

    Returns
    -------
    FastAPI
    """
    home = Home(store, jobs)
    app = _site_app(home)
    if example is not None:
        app.mount("/example", _site_app(_example_home(example)))
    # the last one added stands before the others
    app.add_middleware(Door, home=home)
    app.add_middleware(Guard, hosts=hosts)
    return app


def serve_app(folder: Path, hosts: tuple[str, ...] = ()) -> FastAPI:
    """The app over the journal of a data folder, with a process for its estimates."""
    keep_backups(folder)
    store = open_store(folder)
    example = fill_example(folder / EXAMPLE_FOLDER)
    jobs = Jobs(store, OwnProcess())
    app = make_app(store, jobs, example, hosts)

    def close() -> None:
        jobs.close()
        store.close()
        example.close()

    app.router.lifespan_context = _closing(close)
    return app


def _closing(close: Callable[[], None]) -> Callable[[FastAPI], AbstractAsyncContextManager[None]]:
    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        yield
        close()

    return lifespan


def _example_home(store: Store) -> Home:
    kept = store.result("inside", store.site().bins[0].name)
    entries_there = store.entries()
    moment = max(one.when for one in entries_there)
    if kept is not None:
        moment = max(moment, kept.made)
    return Home(store, None, _still(moment), example=True)


def _still(moment: datetime) -> Callable[[], datetime]:
    return lambda: moment


def _site_app(home: Home) -> FastAPI:
    app = FastAPI(title="slowfire", docs_url=None, redoc_url=None, openapi_url=None)
    app.state.home = home
    app.add_middleware(FirstVisit, home=home)
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    for page in PAGES:
        app.include_router(page.router, dependencies=[Depends(from_our_form)])
    app.mount("/api", make_api(home))
    app.add_exception_handler(SlowfireError, _refusal)
    app.add_exception_handler(NotFromOurForm, _old_form)
    app.add_exception_handler(404, _missing)
    return app


class FirstVisit:
    """Sends who has no bin yet to the first page.

    Parameters
    ----------
    app : ASGIApp
        The pages [-].
    home : Home
        Their journal [-].
    """

    def __init__(self, app: ASGIApp, home: Home) -> None:
        self.app = app
        self.home = home

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "http":
            root = scope.get("root_path", "")
            path = scope["path"].removeprefix(root)
            if not path.startswith(BEFORE_SET_UP) and not await run_in_threadpool(
                self.home.store.has_site
            ):
                await RedirectResponse(f"{root}/welcome", 303)(scope, receive, send)
                return
        await self.app(scope, receive, send)


async def _refusal(request: Request, problem: Exception) -> HTMLResponse:
    return rendering.page(request, "problem.html", {"message": str(problem)}, status=422)


async def _old_form(request: Request, problem: Exception) -> HTMLResponse:
    return rendering.page(request, "problem.html", {"message": str(problem)}, status=403)


async def _missing(request: Request, _problem: Exception) -> HTMLResponse:
    words = "There is no such page; go on from Today."
    return rendering.page(request, "problem.html", {"message": words}, status=404)
