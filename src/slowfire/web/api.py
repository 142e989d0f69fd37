"""The results of the pages as JSON for programs, described by OpenAPI at /api/openapi.json."""

import dataclasses
import json
from typing import Annotated, Any

from fastapi import FastAPI, Query, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field

from slowfire.errors import InvalidInput, SlowfireError
from slowfire.journal.lines import entry_line, read_lines
from slowfire.measures import default_measures
from slowfire.refusals import RefusedField
from slowfire.services.feedstocks import feedstocks
from slowfire.services.mix import mix
from slowfire.services.record import site_library
from slowfire.services.today import today
from slowfire.services.today_complaint import complaint
from slowfire.services.today_scores import scores
from slowfire.web.home import Home

MOST_ENTRIES = 500  # of one answer or one sending
WORDS = (
    "Times are ISO 8601 with offset; every number carries its unit in its name. What cannot be "
    "read is refused with 422, a message and the field. Sending an entry twice changes nothing."
)


def _one_row() -> list[dict[str, str]]:
    return [{}]


class EntryLine(BaseModel):
    """One entry in the words of the text form; see the page on the journal's format."""

    model_config = ConfigDict(extra="forbid", strict=True)

    id: str = Field(max_length=40, description="A UUID made by whoever sends it.")
    when: str = Field(max_length=40, description="When it happened, ISO 8601.")
    kind: str = Field(max_length=20, description="load, reading, look and so on.")
    bin: str = Field("", max_length=120)
    who: str = Field("", max_length=120)
    note: str = Field("", max_length=4000)
    corrects: str = Field("", max_length=40)
    recorded: str = Field("", max_length=40)
    rows: list[dict[str, str]] = Field(default_factory=_one_row, max_length=40)


class Entries(BaseModel):
    """Entries to write, all or none."""

    model_config = ConfigDict(extra="forbid", strict=True)

    entries: list[EntryLine] = Field(max_length=MOST_ENTRIES)


class Problem(BaseModel):
    """What was wrong, in words."""

    message: str
    field: str = ""


def make_api(home: Home) -> FastAPI:
    """The interface for programs over one journal.

    Parameters
    ----------
    home : Home
        The journal, the clock, and where long work goes.

    Returns
    -------
    FastAPI
    """
    api = FastAPI(
        title="slowfire",
        version="1",
        description=WORDS,
        docs_url=None,
        redoc_url=None,
        openapi_url="/openapi.json",
        responses={
            404: {"model": Problem, "description": "There is nothing of that name, or not yet."},
            422: {"model": Problem, "description": "What was sent cannot be read."},
        },
    )
    api.state.home = home
    api.add_exception_handler(SlowfireError, _refused)
    api.add_exception_handler(RequestValidationError, _unreadable)

    def bin_of(name: str | None) -> str:
        if not home.store.has_site():
            raise _NotThere("No bin has been set up yet.")
        try:
            return home.bin(name).name
        except SlowfireError as problem:
            raise _NotThere(str(problem)) from problem

    Bin = Annotated[
        str | None, Query(max_length=120, description="Name of the bin; the first without it.")
    ]

    @api.get("/bins", summary="Bins and thermometers of the place")
    def bins() -> dict[str, Any]:
        bin_of(None)
        site = home.store.site()
        return {
            "name": site.name,
            "timezone": site.timezone,
            "units": site.units,
            "bins": [dataclasses.asdict(one) for one in site.bins],
            "thermometers": [dataclasses.asdict(one) for one in site.thermometers],
            "measures_litres": dict(site.measures),
            "revision": home.store.revision(),
        }

    @api.get("/today", summary="The next action, and how the bin is")
    def today_of(bin: Bin = None) -> dict[str, Any]:
        name = bin_of(bin)
        found = home.inside(name)
        if found is None:
            raise _NotThere("No estimate has been made yet.")
        seen = today(home.store.site(), home.entries(name), found[0], home.clock())
        return dataclasses.asdict(seen)

    @api.get("/inside", summary="Every layer with its range, as last estimated")
    def inside_of(bin: Bin = None) -> dict[str, Any]:
        return _kept(home, "inside", bin_of(bin))

    @api.get("/series", summary="A week back and two ahead, by time and height")
    def series_of(bin: Bin = None) -> dict[str, Any]:
        return _kept(home, "series", bin_of(bin))

    @api.get("/scores", summary="Whether earlier advice has worked")
    def scores_of(bin: Bin = None) -> list[dict[str, Any]]:
        name = bin_of(bin)
        found = home.inside(name)
        judged = scores(
            home.store.site(),
            home.entries(name),
            name,
            home.clock(),
            None if found is None else found[0],
            home.series(name),
        )
        return [dataclasses.asdict(one) for one in judged]

    @api.get("/not-right", summary="Likely causes of a complaint, and one check")
    def not_right_of(
        what: Annotated[str, Query(max_length=40, description="smells, soggy, dry, cold, ...")],
        bin: Bin = None,
    ) -> dict[str, Any]:
        name = bin_of(bin)
        found = home.inside(name)
        result = complaint(
            home.store.site(),
            home.entries(name),
            None if found is None else found[0],
            home.clock(),
            what,
            name,
        )
        return dataclasses.asdict(result)

    @api.get("/mix", summary="What a load needs, by the load alone")
    def mix_of(
        item: Annotated[
            list[str], Query(max_length=20, description="Such as 'peelings=1 caddy'; several.")
        ],
        have: Annotated[
            list[str] | None, Query(max_length=20, description="Dry stuff at hand; several.")
        ] = None,
    ) -> dict[str, Any]:
        bin_of(None)
        site = home.store.site()
        measures = default_measures().with_own(site.measures)
        result = mix(item, have or [], "loose", known=(site_library(site), measures))
        return dataclasses.asdict(result)

    @api.get("/feedstocks", summary="Materials slowfire knows")
    def feedstocks_of() -> list[dict[str, Any]]:
        return [dataclasses.asdict(one) for one in feedstocks()]

    @api.get("/entries", summary="Entries as written, oldest first")
    def entries_of(
        bin: Bin = None,
        start: Annotated[int, Query(ge=0, le=10**9, description="How many to pass over.")] = 0,
        most: Annotated[int, Query(ge=1, le=MOST_ENTRIES)] = 100,
    ) -> dict[str, Any]:
        every = home.store.entries(None if bin is None else bin_of(bin))
        chosen = every[start : start + most]
        more = start + len(chosen) if start + len(chosen) < len(every) else None
        return {
            "entries": [json.loads(entry_line(one)) for one in chosen],
            "total": len(every),
            "next": more,
        }

    @api.post("/entries", summary="Write entries, all or none")
    def write(given: Entries) -> dict[str, Any]:
        bin_of(None)
        if home.example:
            raise InvalidInput("The example stays as it is.")
        lines = [
            json.dumps({name: value for name, value in one.model_dump().items() if value})
            for one in given.entries
        ]
        read = read_lines(lines, home.store.site(), "entries")
        done = home.store.append(read)
        for name in dict.fromkeys(one.bin for one in read if one.bin):
            home.refresh(home.bin(name).name)
        return {
            "new": [str(one) for one in done.new],
            "known": [str(one) for one in done.known],
            "revision": home.store.revision(),
        }

    return api


class _NotThere(SlowfireError):
    """Nothing of that name, or not yet."""


def _kept(home: Home, kind: str, bin_name: str) -> dict[str, Any]:
    kept = home.store.result(kind, bin_name)
    if kept is None:
        raise _NotThere("No estimate has been made yet.")
    payload: dict[str, Any] = json.loads(kept.payload)
    return {**payload, "made": kept.made.isoformat(), "journal_revision": kept.revision}


async def _refused(_request: Request, problem: Exception) -> JSONResponse:
    field = problem.field if isinstance(problem, RefusedField) else ""
    status = 404 if isinstance(problem, _NotThere) else 422
    return JSONResponse({"message": str(problem), "field": field}, status)


async def _unreadable(_request: Request, problem: Exception) -> JSONResponse:
    """A short word for each field that does not fit its description."""
    told = problem.errors() if isinstance(problem, RequestValidationError) else []
    words = "; ".join(
        f"{'.'.join(str(part) for part in one['loc'])}: {one['msg']}" for one in told[:5]
    )
    field = ".".join(str(part) for part in told[0]["loc"]) if told else ""
    return JSONResponse({"message": words or str(problem), "field": field}, 422)
