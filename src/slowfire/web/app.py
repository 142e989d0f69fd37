"""The web app: routes to pages, the example beside the journal, and what starts and stops."""

from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from datetime import datetime
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from fastapi.staticfiles import StaticFiles

from slowfire.errors import SlowfireError
from slowfire.jobs import Jobs, own_process
from slowfire.journal.store import Store, open_store
from slowfire.services.example import fill_example
from slowfire.services.transfer import keep_backups
from slowfire.web import rendering, security
from slowfire.web.home import Home
from slowfire.web.pages import entries, first_visit, inside, mix, record, setup, today

HERE = Path(__file__).parent
EXAMPLE_FOLDER = "example"


def make_app(store: Store, jobs: Jobs | None = None, example: Store | None = None) -> FastAPI:
    """Build the app over an open journal.

    Parameters
    ----------
    store : Store
        The journal [-].
    jobs : Jobs or None
        Where estimates are made; without it none are [-].
    example : Store or None
        A journal to look round in, under /example [-].

    Returns
    -------
    FastAPI
    """
    app = _site_app(Home(store, jobs))
    if example is not None:
        app.mount("/example", _site_app(_example_home(example)))
    return app


def serve_app(folder: Path) -> FastAPI:
    """The app over the journal of a data folder, with a process for its estimates."""
    keep_backups(folder)
    store = open_store(folder)
    example = fill_example(folder / EXAMPLE_FOLDER)
    workers = own_process()
    app = make_app(store, Jobs(store, workers), example)

    def close() -> None:
        workers.shutdown(wait=False, cancel_futures=True)
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
    app.middleware("http")(security.guarded)
    app.middleware("http")(_set_up_first)
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    for page in (today, record, entries, mix, inside, setup, first_visit):
        app.include_router(page.router)
    app.add_exception_handler(SlowfireError, _refusal)
    app.add_exception_handler(404, _missing)
    return app


async def _set_up_first(request: Request, go_on: security.Next) -> Response:
    """Send who has no bin yet to the first page."""
    home: Home = request.app.state.home
    path = request.url.path.removeprefix(request.scope.get("root_path", ""))
    free = ("/static", "/welcome", "/setup", "/example", "/towns")
    if not path.startswith(free) and not home.store.has_site():
        return RedirectResponse(f"{request.scope.get('root_path', '')}/welcome", 303)
    return await go_on(request)


async def _refusal(request: Request, problem: Exception) -> HTMLResponse:
    return rendering.page(request, "problem.html", {"message": str(problem)}, status=422)


async def _missing(request: Request, _problem: Exception) -> HTMLResponse:
    words = "There is no such page; go on from Today."
    return rendering.page(request, "problem.html", {"message": words}, status=404)
