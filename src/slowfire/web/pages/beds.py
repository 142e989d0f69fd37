"""Beds: what they need, what there is, and where each litre does most good; the liquid too."""

from collections.abc import Mapping
from dataclasses import replace
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, Response

from slowfire import records as r
from slowfire.errors import SlowfireError
from slowfire.garden.tables import WAYS, find_planting, nitrogen_limits, plantings
from slowfire.garden_beds import GardenBed
from slowfire.hygiene.rules import hygiene_rules
from slowfire.kinds import COLOURS, SMELLS, USES
from slowfire.liquid import Dilution
from slowfire.refusals import RefusedField
from slowfire.services.allot import (
    AllotResult,
    allotment,
    liquid_advice,
    liquid_words,
    yield_words,
)
from slowfire.services.amounts import barrow_litres
from slowfire.services.bin_setup import measure_names, number_of
from slowfire.services.inside import InsideResult
from slowfire.services.liquid import LiquidResult, check_strengths, liquid
from slowfire.services.record import entry_of
from slowfire.services.take_out import batches_of
from slowfire.units import LITRES_PER_US_GALLON, METRES_PER_FOOT, METRES_PER_INCH, format_volume
from slowfire.web.home import Home
from slowfire.web.pages.record import own_key
from slowfire.web.pages.take_out import found_at_door
from slowfire.web.pages.today import back, writable
from slowfire.web.queued import write_once
from slowfire.web.rendering import page
from slowfire.web.visitors import signed

router = APIRouter()
SPARE = 2
WEEKS = 8.0
LEAST_HINT = 0.01
LIQUID_FIELDS = ("liquid", "ec", "target", "age")


@router.get("/beds")
def show(request: Request) -> HTMLResponse:
    """The page."""
    return _page(request, dict(request.query_params.items()), {}, "")


def _page(
    request: Request, typed: Mapping[str, str], problems: Mapping[str, str], form: str
) -> HTMLResponse:
    home: Home = request.app.state.home
    record = home.bin(typed.get("bin") or None)
    site = home.store.site()
    us = site.units == "us"
    volume = LITRES_PER_US_GALLON if us else 1.0
    found: AllotResult | None = None
    problems = dict(problems)
    fixed: dict[str, float] = {}
    lies = None
    try:
        for k, one in enumerate(site.beds):
            want = number_of(f"fix{k}", typed.get(f"fix{k}", ""))
            if want is not None:
                fixed[one.name] = want * volume
        lies = found_at_door(home, record, {"anyway": typed.get("anyway", "")})
        amount = number_of("litres", typed.get("litres", ""))
        if lies is not None and lies.batch is not None and site.beds:
            found = allotment(
                site,
                lies,
                litres=None if amount is None else amount * volume,
                fixed_litres=fixed,
            )
    except RefusedField as problem:
        problems[problem.field] = str(problem)
    except SlowfireError as problem:
        problems["litres"] = str(problem)
    kept = home.inside(record.name)
    inside = None if kept is None else kept[0]
    told, advice = _liquid(home, record.name, inside, typed, problems)
    own = home.entries(record.name)
    recent = [one for one in own if (home.clock() - one.when).days < 7 * WEEKS]
    return page(
        request,
        "beds.html",
        {
            "bin_name": record.name,
            "found": found,
            "lies": lies,
            "typed": dict(typed),
            "problems": problems,
            "form": form,
            "rows": _typed_rows(typed) if form == "beds" else _bed_rows(site, us),
            "plantings": list(plantings().values()),
            "ways": WAYS,
            "uses": USES,
            "batches": batches_of(site, home.entries(record.name), lies),
            "liquid": advice,
            "told": told,
            "liquid_hint": _hint(None if told.litres is None else told.litres.mid / volume),
            "strength_hint": ""
            if told.tub is None or told.tub.strength_ms_per_cm is None
            else f"{told.tub.strength_ms_per_cm.mid:.0f}",
            "yielded": yield_words(inside),
            "barrow": format_volume(barrow_litres(site), "us" if us else "metric"),
            "depth": "in" if us else "mm",
            "per_mm": 0.001 / METRES_PER_INCH if us else 1.0,
            "liquid_usual": liquid_words(site, recent, record.name, WEEKS),
            "colours": COLOURS,
            "smells": SMELLS,
            "codes": sorted(
                {one.jurisdiction for one in nitrogen_limits().values()}
                | {one.jurisdiction for one in hygiene_rules().values() if one.use == "default"}
            ),
            "chosen": site.jurisdictions,
            "measures": measure_names(site),
            "us": us,
            "unit": "gal" if us else "L",
            "area": "ft²" if us else "m²",
            "far": "ft" if us else "m",
            "per_litre": 1.0 / volume,
            "key": str(uuid4()),
        },
        status=422 if problems else 200,
        block="content",
    )


def _hint(amount: float | None) -> str:
    """An estimated amount as a field shows it before anything is typed."""
    return "" if amount is None or amount < LEAST_HINT else f"{amount:.2g}"


def _liquid(
    home: Home,
    bin_name: str,
    inside: InsideResult | None,
    typed: Mapping[str, str],
    problems: dict[str, str],
) -> tuple[LiquidResult, Dilution | None]:
    """What is known of the liquid, and how to thin what was asked for."""
    site = home.store.site()
    seedlings = bool(typed.get("seedlings"))
    numbers: dict[str, float | None] = {}
    for name in LIQUID_FIELDS:
        numbers[name] = None
        try:
            numbers[name] = number_of(name, typed.get(name, ""))
            check_strengths(
                numbers[name] if name == "ec" else None, numbers[name] if name == "target" else None
            )
        except SlowfireError as problem:
            problems[name] = str(problem)
            numbers[name] = None
    told = liquid(
        site,
        home.entries(bin_name),
        bin_name,
        inside,
        home.clock(),
        target_ms_per_cm=numbers["target"],
        seedlings=seedlings,
    )
    asked = any(name in typed for name in LIQUID_FIELDS)
    if not asked or any(name in problems for name in LIQUID_FIELDS):
        return told, None
    litres, age = numbers["liquid"], numbers["age"] or 0.0
    if litres is not None:
        litres *= LITRES_PER_US_GALLON if site.units == "us" else 1.0
    elif told.litres is not None and told.litres.mid >= LEAST_HINT:
        litres = told.litres.mid
    strength = None
    # the estimate is of what lies in the tub, not of what was drawn before
    if age == 0.0 and told.tub is not None and told.tub.strength_ms_per_cm is not None:
        strength = told.tub.strength_ms_per_cm.high
    try:
        if litres is None:
            raise RefusedField("liquid", "say how much there is, such as 2.")
        advice = liquid_advice(
            litres,
            conductivity_ms_per_cm=numbers["ec"],
            colour=typed.get("colour") or None,
            smell=typed.get("smell") or None,
            seedlings=seedlings,
            hours_old=24.0 * age,
            target_ms_per_cm=numbers["target"],
            estimated_ms_per_cm=strength,
            units=site.units,
        )
    except SlowfireError as problem:
        problems["age" if age < 0.0 else "liquid"] = str(problem)
        return told, None
    return told, advice


def _bed_rows(site: r.Site, us: bool) -> list[tuple[str, str, str, str, str]]:
    length = METRES_PER_FOOT if us else 1.0
    rows = [
        (
            one.name,
            f"{one.area_m2 / length**2:.3g}",
            find_planting(one.planting).id,
            f"{one.distance_m / length:.3g}",
            one.way,
        )
        for one in site.beds
    ]
    return [*rows, *[("", "", "vegetables_mixed", "", "")] * SPARE]


def _typed_rows(typed: Mapping[str, str]) -> list[tuple[str, str, str, str, str]]:
    rows = []
    k = 0
    while f"name{k}" in typed:
        cells = [typed.get(f"{one}{k}", "") for one in ("name", "area", "planting", "far", "way")]
        rows.append((cells[0], cells[1], cells[2], cells[3], cells[4]))
        k += 1
    return rows


@router.post("/beds")
async def change(request: Request) -> Response:
    """Keep the beds and whose rules count."""
    form = await request.form()
    typed = {name: str(value) for name, value in form.items()}
    codes = tuple(str(one) for one in form.getlist("code"))
    return await run_in_threadpool(_change, request, typed, codes)


def _change(request: Request, typed: Mapping[str, str], codes: tuple[str, ...]) -> Response:
    home: Home = request.app.state.home
    writable(home)
    site = home.store.site()
    length = METRES_PER_FOOT if site.units == "us" else 1.0
    beds = []
    try:
        for k, (name, area, planting, far, way) in enumerate(_typed_rows(typed)):
            if not name.strip():
                continue
            size = number_of(f"area{k}", area)
            if size is None:
                raise RefusedField(f"area{k}", "say how large it is.")
            away = number_of(f"far{k}", far, 10.0 / length) or 0.0
            try:
                known = find_planting(planting)
                if way and way not in known.ways:
                    raise RefusedField(
                        f"way{k}",
                        f"for {known.name.lower()} compost is used as {' or '.join(known.ways)}.",
                    )
                beds.append(GardenBed(name, size * length**2, known.name, away * length, way))
            except RefusedField as problem:
                own = {"area_m2": f"area{k}", "distance_m": f"far{k}"}
                named = problem.field if problem.field == f"way{k}" else f"area{k}"
                raise RefusedField(own.get(problem.field, named), str(problem)) from problem
        home.store.set_site(replace(site, beds=tuple(beds), jurisdictions=codes))
    except RefusedField as problem:
        return _page(request, typed, {problem.field: str(problem)}, "beds")
    except SlowfireError as problem:
        return _page(request, typed, {"beds": str(problem)}, "beds")
    return back(request, "/beds", typed.get("bin", ""))


@router.post("/beds/use")
async def use(request: Request) -> Response:
    """Write down what was put where."""
    typed = {name: str(value) for name, value in (await request.form()).items()}
    home: Home = request.app.state.home
    writable(home)
    site, now = home.store.site(), home.clock()
    record = home.bin(typed.get("bin") or None)
    pairs = [f"how={typed['how']}"] if typed.get("how") else []
    row = {
        "item": typed.get("what", ""),
        "amount": typed.get("amount", ""),
        "unit": typed.get("unit", "litre"),
        "at": typed.get("bed", ""),
        "value": " ".join(pairs),
        "note": typed.get("note", ""),
        "when": typed.get("when", ""),
    }
    try:
        entry = entry_of(site, record.name, "use", row, now, own_key(typed.get("key", "")))
        write_once(home.store, signed(request, entry, site))
    except RefusedField as problem:
        return _page(request, typed, {"use": str(problem)}, "use")
    except SlowfireError as problem:
        return _page(request, typed, {"use": str(problem)}, "use")
    return back(request, "/entries?written=1", record.name)
