"""What was written: the last entries, each to be changed or taken back."""

from uuid import UUID, uuid4

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, Response

from slowfire import records as r
from slowfire.errors import InvalidInput, SlowfireError
from slowfire.journal.cells import PAYLOAD_COLUMNS, write_payload
from slowfire.refusals import RefusedField
from slowfire.services.entry_words import entry_words
from slowfire.services.record import entry_of, retraction_of
from slowfire.web.home import Home
from slowfire.web.pages.today import back, writable
from slowfire.web.rendering import page

router = APIRouter()
SHOWN = 60


@router.get("/entries")
def show(
    request: Request, bin: str | None = None, written: int = 0, shown: int = SHOWN
) -> HTMLResponse:
    """The page."""
    home: Home = request.app.state.home
    record = home.bin(bin)
    every = home.entries(record.name)
    site = home.store.site()
    rows = [(one, entry_words(site, one)) for one in every[::-1][: max(shown, 1)]]
    return page(
        request,
        "entries.html",
        {
            "bin_name": record.name,
            "rows": rows,
            "written": written,
            "fed": bool(written) and home.fed(record.name),
            "photos": home.store.photos(),
            "more": len(every) > shown,
            "shown": shown,
        },
        block="content",
    )


@router.post("/entries/{own_id}/take-back")
def take_back(request: Request, own_id: UUID) -> Response:
    """Take an entry back; it can be brought back by taking that back."""
    home: Home = request.app.state.home
    writable(home)
    entry = _there(home, own_id)
    home.store.append([retraction_of(entry, home.clock())])
    home.refresh(home.bin(entry.bin or None).name)
    return back(request, "/entries", entry.bin)


@router.get("/entries/{own_id}")
def edit(request: Request, own_id: UUID) -> HTMLResponse:
    """The form to change an entry."""
    home: Home = request.app.state.home
    entry = _there(home, own_id)
    return _form(request, home, entry, _cells(home, entry), {})


@router.post("/entries/{own_id}")
async def change(request: Request, own_id: UUID, key: str = Form("")) -> Response:
    """Write a corrected entry in place of one."""
    home: Home = request.app.state.home
    writable(home)
    entry = _there(home, own_id)
    typed = {name: str(value) for name, value in (await request.form()).items()}
    site, now = home.store.site(), home.clock()
    try:
        if isinstance(entry.payload, r.Load) and len(entry.payload.items) > 1:
            made = _moved(home, entry, typed)
        else:
            made = entry_of(site, entry.bin, entry.kind, typed, now, corrects=entry.id)
        home.store.append([made])
    except RefusedField as problem:
        return _form(request, home, entry, typed, {problem.field: str(problem)})
    except SlowfireError as problem:
        return _form(request, home, entry, typed, {"": str(problem)})
    home.refresh(home.bin(entry.bin or None).name)
    return back(request, "/entries?written=1", entry.bin)


def _moved(home: Home, entry: r.Entry, typed: dict[str, str]) -> r.Entry:
    """A load of several things at another time; its parts stay."""
    from slowfire.services.record import when_of

    now = home.clock()
    when = when_of(typed.get("when", ""), home.store.site(), now)
    note = typed.get("note", "")
    return r.Entry(uuid4(), entry.bin, when, entry.payload, now, entry.who, note, entry.id)


def _form(
    request: Request, home: Home, entry: r.Entry, typed: dict[str, str], problems: dict[str, str]
) -> HTMLResponse:
    several = isinstance(entry.payload, r.Load) and len(entry.payload.items) > 1
    return page(
        request,
        "entry.html",
        {
            "bin_name": entry.bin,
            "entry": entry,
            "words": entry_words(home.store.site(), entry),
            "typed": typed,
            "problems": problems,
            "several": several,
            "columns": () if several else PAYLOAD_COLUMNS[:-1],
        },
        status=422 if problems else 200,
        block="content",
    )


def _cells(home: Home, entry: r.Entry) -> dict[str, str]:
    zone = home.store.site().zone
    when = entry.when.astimezone(zone).strftime("%Y-%m-%dT%H:%M")
    if isinstance(entry.payload, r.Load):
        cells = write_payload(entry.payload.items[0])
    elif entry.payload is not None:
        cells = write_payload(entry.payload)
    else:
        cells = {}
    return {**cells, "when": when, "note": cells.get("note") or entry.note}


def _there(home: Home, own_id: UUID) -> r.Entry:
    entry = home.store.entry(own_id)
    if entry is None or entry.payload is None:
        raise InvalidInput("There is no such entry; it may have been taken back.")
    return entry
