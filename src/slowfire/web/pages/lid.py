"""At the lid: who scanned the code of a bin may say what went in, and nothing else."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from slowfire import records as r
from slowfire.errors import InvalidInput
from slowfire.journal import accounts
from slowfire.refusals import RefusedField
from slowfire.services.bin_setup import measure_names
from slowfire.services.record import load_words, site_library, usual_load
from slowfire.web.home import Home
from slowfire.web.pages.record import COMMON, made
from slowfire.web.queued import write_form
from slowfire.web.rendering import page

router = APIRouter()
WRONG = ("plastic bags", "food packaging", "meat or fish", "glass or metal", "something else")
WRONG_NOTE = "Wrong in the bin: "
TALLY_DAYS = 28
DONE = ("usual", "load", "wrong")


@router.get("/lid/{secret}")
def show(request: Request, secret: str, done: str = "") -> HTMLResponse:
    """The page of a code."""
    home: Home = request.app.state.home
    return _page(request, home, secret, _bin_of(home, secret), {}, {}, done)


@router.post("/lid/{secret}/{what}")
async def write(request: Request, secret: str, what: str) -> Response:
    """Write what went in, or what did not belong there."""
    typed = {name: str(value) for name, value in (await request.form()).items()}
    return await run_in_threadpool(_write, request, secret, what, typed)


def _write(request: Request, secret: str, what: str, typed: Mapping[str, str]) -> Response:
    home: Home = request.app.state.home
    code = _code(home, secret)
    record = home.bin(code.bin)

    def make(when: datetime) -> r.Entry:
        if what == "wrong":
            found = typed.get("wrong", "")
            if found not in WRONG:
                raise RefusedField("wrong", f"allowed is {', '.join(WRONG)}.")
            given = {**typed, "note": f"{WRONG_NOTE}{found}"}
            return made(home, record, "note", given, when)
        if what in ("usual", "load"):
            entry = made(home, record, what, {**typed, "when": ""}, when)
            return replace(entry, note=f"by the code {code.name}")
        raise InvalidInput("With the code of a lid you may say what went in, and no more.")

    root = request.scope.get("root_path", "")
    return write_form(
        request,
        home,
        typed,
        make,
        lambda field, word: _page(request, home, secret, code, {field: word}, typed, ""),
        lambda _fresh: RedirectResponse(f"{root}/lid/{secret}?done={what}", 303),
    )


def _page(
    request: Request,
    home: Home,
    secret: str,
    code: accounts.Code,
    problems: Mapping[str, str],
    typed: Mapping[str, str],
    done: str,
) -> HTMLResponse:
    site = home.store.site()
    record = home.bin(code.bin)
    own = [one for one in home.entries(record.name) if one.bin == record.name]
    now = home.clock()
    library = site_library(site)
    response = page(
        request,
        "lid.html",
        {
            "secret": secret,
            "lid_of": record.name,
            "fed": _fed(site, own, now),
            "usual": usual_load(site, own),
            "common": [library.find(one) for one in COMMON],
            "measures": measure_names(site),
            "rows": range(2),
            "wrong_items": WRONG,
            "tally": _tally(own, now),
            "tally_days": TALLY_DAYS,
            "rota": accounts.rota(home.store),
            "weekday": now.astimezone(site.zone).weekday(),
            "problems": problems,
            "typed": typed,
            "done": done if done in DONE else "",
        },
        status=422 if problems else 200,
        block="content",
    )
    # the secret stands in the address of this page
    response.headers["Referrer-Policy"] = "no-referrer"
    return response


def _fed(site: r.Site, own: list[r.Entry], now: datetime) -> list[tuple[str, str]]:
    """Loads of today by the clock of the place: time and words."""
    today = now.astimezone(site.zone).date()
    return [
        (one.when.astimezone(site.zone).strftime("%H:%M"), load_words(site, one.payload.items))
        for one in own
        if isinstance(one.payload, r.Load) and one.when.astimezone(site.zone).date() == today
    ]


def _tally(own: list[r.Entry], now: datetime) -> list[tuple[str, int]]:
    """Wrong things found in four weeks, the most frequent first."""
    found = Counter(
        one.payload.text.removeprefix(WRONG_NOTE)
        for one in own
        if isinstance(one.payload, r.Note)
        and one.payload.text.startswith(WRONG_NOTE)
        and now - one.when < timedelta(days=TALLY_DAYS)
    )
    return found.most_common()


def _code(home: Home, secret: str) -> accounts.Code:
    code = accounts.code_of(home.store, accounts.LID, secret)
    if code is None:
        raise InvalidInput("This code holds no longer; ask a keeper for the new one.")
    return code


_bin_of = _code
