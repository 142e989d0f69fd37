"""Record: the usual caddy in one tap, a reading, other food, looks and jobs."""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID, uuid4

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, Response

from slowfire import kinds
from slowfire import records as r
from slowfire.errors import InvalidInput
from slowfire.refusals import RefusedField
from slowfire.services.bin_setup import measure_names
from slowfire.services.layer_tests import done_tests
from slowfire.services.own_tests import weedkiller_wanted
from slowfire.services.record import (
    entry_of,
    last_thermometer,
    load_of,
    site_library,
    usual_load,
)
from slowfire.web.home import Home
from slowfire.web.pages.today import back, writable
from slowfire.web.queued import write_form
from slowfire.web.rendering import page
from slowfire.web.visitors import signed

router = APIRouter()
ROWS = 4
COMMON = (
    "fruit_veg_peelings_mixed", "food_waste_household_mixed", "coffee_grounds",
    "food_waste_cooked_plate", "bread_stale", "grass_clippings_fresh", "leaves_mixed_autumn",
    "office_paper_shredded", "corrugated_cardboard", "bark_chips_fine",
)  # fmt: skip
DRY = (
    "office_paper_shredded", "corrugated_cardboard", "newspaper_shredded", "leaves_mixed_autumn",
    "bark_chips_fine", "hardwood_chips_seasoned", "wood_shavings", "sawdust_softwood",
)  # fmt: skip
# What a job's form sends: fields of the row, and which of them it shows.
JOBS = {
    "stir": "Stirred the newest layer",
    "poke": "Poked air holes with a rod",
    "vent": "Set the vent",
    "water": "Poured water on",
    "drain": "Emptied the tub",
    "dig_out": "Dug out at the door",
    "cover": "Put a cover on or off",
    "warm": "Put a hot-water bottle in",
    "stock": "Bought, gathered or counted dry stuff",
    "note": "A note",
}


@router.get("/record")
def show(request: Request, bin: str | None = None) -> HTMLResponse:
    """The page."""
    home: Home = request.app.state.home
    return form(request, home, home.bin(bin), {}, {})


@router.post("/record/{what}")
async def write(request: Request, what: str) -> Response:
    """Write one entry; what cannot be read comes back with a word beside it.

    A phone that was out of reach sends what it kept with a header, and gets JSON.
    """
    home: Home = request.app.state.home
    typed = {key: str(value) for key, value in (await request.form()).items()}
    return await run_in_threadpool(_write, request, home, what, typed)


def _write(request: Request, home: Home, what: str, typed: Mapping[str, str]) -> Response:
    record = home.bin(typed.get("bin") or None)
    writable(home)
    return write_form(
        request,
        home,
        typed,
        lambda when: signed(request, made(home, record, what, typed, when), home.store.site()),
        lambda field, word: form(request, home, record, {**typed, "form": what}, {field: word}),
        lambda fresh: back(request, f"/entries?written={1 if fresh else 2}", record.name),
    )


def made(home: Home, record: r.Bin, what: str, typed: Mapping[str, str], now: datetime) -> r.Entry:
    """The entry of a form; `now` is when it was typed."""
    site = home.store.site()
    key = own_key(typed.get("key", ""))
    when = typed.get("when", "")
    if what == "usual":
        own = [one for one in home.entries(record.name) if one.bin == record.name]
        return r.Entry(key, record.name, now, r.Load(usual_load(site, own).items), now)
    if what == "all-as-usual":
        return r.Entry(key, record.name, now, r.Usual(), now)
    if what == "load":
        rows = [
            {
                "item": typed.get(f"item{k}", ""),
                "amount": typed.get(f"amount{k}", ""),
                "unit": typed.get(f"unit{k}", ""),
                "value": f"packing={typed[f'packing{k}']}" if typed.get(f"packing{k}") else "",
            }
            for k in range(ROWS)
        ]
        return load_of(site, record.name, rows, when, now, key)
    if what == "reading":
        if not typed.get("amount", "").strip():
            raise RefusedField("amount", "write the degrees the thermometer shows, such as 45.")
        depth = typed.get("depth", "").strip()
        row = {
            "item": typed.get("item", ""),
            "amount": typed["amount"],
            "unit": typed.get("unit", "C"),
            "at": f"{depth} {length_unit(site)} below surface" if depth else "",
            "when": when,
            "note": typed.get("note", ""),
        }
        return entry_of(site, record.name, "reading", row, now, key)
    if what == "look":
        pairs = [
            f"{name}={typed[name]}"
            for name in ("smell", "squeeze", "flies", "larvae", "worms", "rodents", "plastic")
            if typed.get(name)
        ]
        pairs += [f"{name}=yes" for name in ("steam", "bulge") if typed.get(name)]
        level = typed.get("level", "").strip()
        row = {"value": " ".join(pairs), "when": when, "note": typed.get("note", "")}
        if level:
            row |= {"amount": level, "unit": length_unit(site)}
        return entry_of(site, record.name, "look", row, now, key)
    if what in JOBS:
        row = {name: typed.get(name, "") for name in ("item", "amount", "unit", "at", "value")}
        row |= {"when": when, "note": typed.get("note", "")}
        if what == "vent":
            row |= {"item": "lid", "value": f"opening={typed.get('opening', '')}"}
        elif what == "stock":
            row |= {"value": f"change={typed.get('change', 'gathered')}"}
        elif what == "cover":
            row |= {"value": f"on={typed.get('on', 'yes')}"}
        elif what == "warm" and typed.get("celsius"):
            row |= {"value": f"temperature={typed['celsius']}C"}
        elif what == "dig_out":
            row |= {"value": weighed_pair(site, typed)}
        elif what in ("stir", "poke") and not row["amount"]:
            row["unit"] = ""
        return entry_of(site, record.name, what, row, now, key)
    raise InvalidInput(f"There is no form '{what}'; go back to Record.")


def weight_unit(site: r.Site) -> str:
    """Unit in which a place weighs."""
    return "lb" if site.units == "us" else "kg"


def weighed_pair(site: r.Site, typed: Mapping[str, str]) -> str:
    """What scales showed, as a dig-out keeps it; nothing if nothing was typed."""
    shown = typed.get("weighed", "").replace(",", ".").replace(" ", "")
    return f"weighed={shown}{weight_unit(site)}" if shown else ""


def form(
    request: Request,
    home: Home,
    record: r.Bin,
    typed: Mapping[str, str],
    problems: Mapping[str, str],
) -> HTMLResponse:
    """The page with what was typed and what was wrong with it."""
    site = home.store.site()
    entries = home.entries(record.name)
    own = [one for one in entries if one.bin == record.name]
    done = done_tests(site, entries, record.name, home.clock())
    library = site_library(site)
    common = [library.find(one) for one in COMMON]
    rest = sorted(
        (one for one in library.feedstocks if one.id not in COMMON), key=lambda one: one.name
    )
    return page(
        request,
        "record.html",
        {
            "bin_name": record.name,
            "typed": typed,
            "problems": problems,
            "usual": usual_load(site, own),
            "thermometer": typed.get("item") or last_thermometer(site, own),
            "thermometers": site.thermometers,
            "common": common,
            "rest": rest,
            "measures": measure_names(site),
            "dry": [library.find(one) for one in DRY],
            "rows": range(ROWS),
            "jobs": JOBS,
            "wanted": weedkiller_wanted(site, entries, record.name, done),
            "kinds": kinds,
            "degree": "F" if site.units == "us" else "C",
            "length": length_unit(site),
            "weight": weight_unit(site),
            "key": str(uuid4()),
            "key_photo": str(uuid4()),
        },
        status=422 if problems else 200,
        block="content",
    )


def length_unit(site: r.Site) -> str:
    """Short lengths of the site: cm or in."""
    return "in" if site.units == "us" else "cm"


def own_key(text: str) -> UUID:
    """The id a form came with, so that sending it twice writes once."""
    try:
        return UUID(text)
    except ValueError:
        return uuid4()
