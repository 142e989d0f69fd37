"""Tests: how to do each, writing it down with its verdict at once, and sums that are not kept."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, Response

from slowfire import records as r
from slowfire.errors import SlowfireError
from slowfire.kinds import SQUEEZES, Test
from slowfire.maturity.instructions import instructions
from slowfire.maturity.trial import Trial
from slowfire.refusals import RefusedField
from slowfire.services import own_tests
from slowfire.services.compostable_bag import moisture_of
from slowfire.services.layer_tests import DoneTest, done_tests
from slowfire.services.maturity_words import group_rule
from slowfire.services.own_tests import Answer
from slowfire.services.record import entry_of
from slowfire.web.home import Home
from slowfire.web.pages.record import own_key
from slowfire.web.pages.take_out import layers_kept
from slowfire.web.pages.today import back, writable
from slowfire.web.queued import write_form
from slowfire.web.rendering import page
from slowfire.web.visitors import signed

router = APIRouter()


@router.get("/tests")
def show(request: Request) -> HTMLResponse:
    """The page, and the answer to a sum if one is asked for."""
    home: Home = request.app.state.home
    typed = dict(request.query_params.items())
    record = home.bin(typed.get("bin") or None)
    answer = None
    problems: dict[str, str] = {}
    if typed.get("sum"):
        try:
            answer = _sum(home, record, typed)
        except RefusedField as problem:
            problems = {problem.field: str(problem)}
        except SlowfireError as problem:
            problems = {"": str(problem)}
    return _page(request, home, record, typed, problems, answer)


@router.post("/tests/write")
async def write(request: Request) -> Response:
    """Write a test down; what cannot be comes back with a word beside it."""
    home: Home = request.app.state.home
    typed = {name: str(value) for name, value in (await request.form()).items()}
    return await run_in_threadpool(_write, request, home, typed)


def _write(request: Request, home: Home, typed: dict[str, str]) -> Response:
    record = home.bin(typed.get("bin") or None)
    writable(home)
    site = home.store.site()

    def make(when: datetime) -> r.Entry:
        degree = "F" if site.units == "us" else "C"
        row = own_tests.cells_of(typed.get("which", ""), typed, degree)
        entry = entry_of(site, record.name, "test", row, when, own_key(typed.get("key", "")))
        if isinstance(entry.payload, Test):
            own_tests.checked(site, entry.payload, typed.get("squeeze", ""))
        return signed(request, entry, site)

    def done(_fresh: bool) -> Response:
        answer = back(request, "/tests?written=1", record.name)
        answer.headers["location"] += "#said"
        return answer

    return write_form(
        request,
        home,
        typed,
        make,
        lambda field, word: _page(request, home, record, typed, {field: word}, None),
        done,
    )


def _sum(home: Home, record: r.Bin, typed: Mapping[str, str]) -> Answer:
    found = home.inside(record.name)
    layers = layers_kept(home, record.name)
    return own_tests.sum_answer(
        typed["sum"],
        home.store.site(),
        typed,
        moisture_of(None if found is None else found[0]),
        None if layers is None else layers.bulk_density_kg_per_m3,
    )


def _page(
    request: Request,
    home: Home,
    record: r.Bin,
    typed: Mapping[str, str],
    problems: Mapping[str, str],
    answer: Answer | None,
) -> HTMLResponse:
    site, now = home.store.site(), home.clock()
    entries = home.entries(record.name)
    done = done_tests(site, entries, record.name, now)
    layers = layers_kept(home, record.name)
    lowest = layers.layers[0] if layers is not None and layers.layers else None
    values: dict[str, Any] = {
        "bin_name": record.name,
        "typed": typed,
        "problems": problems,
        "answer": answer,
        "done": done,
        "rule": group_rule(lowest, _trials(done)),
        "estimated": lowest is not None,
        "wanted": own_tests.weedkiller_wanted(site, entries, record.name, done),
        "ways": list(instructions().values()),
        "kept": own_tests.KEPT,
        "kept_words": own_tests.WORDS_OF_KEPT,
        "verdicts": own_tests.VERDICTS,
        "figures": own_tests.FIGURES,
        "squeezes": SQUEEZES,
        "masses": own_tests.MASSES,
        "volumes": own_tests.VOLUMES,
        "us": site.units == "us",
        "degree": "°F" if site.units == "us" else "°C",
        "keys": {one: str(uuid4()) for one in own_tests.KEPT},
    }
    return page(request, "tests.html", values, status=422 if problems else 200, block="content")


def _trials(done: tuple[DoneTest, ...]) -> tuple[Trial, ...]:
    return tuple(one.trial for one in done)
