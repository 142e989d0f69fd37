"""Mix: what this load needs, in scoops, and one tap to write it down as done."""

from collections.abc import Mapping
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from slowfire.errors import SlowfireError
from slowfire.journal.joblog import DONE, Job
from slowfire.measures import default_measures
from slowfire.refusals import RefusedField
from slowfire.services.bin_setup import measure_names
from slowfire.services.mix import Item, MixResult, mix
from slowfire.services.mix_in_bin import answer_kept, question_kind
from slowfire.services.mix_words import plural
from slowfire.services.record import site_library
from slowfire.web.home import Home, shown_in
from slowfire.web.pages.record import COMMON, DRY
from slowfire.web.rendering import page

router = APIRouter()
ROWS = 3
AT_HAND = ("office_paper_shredded", "bark_chips_fine")


@router.get("/mix")
def show(request: Request) -> HTMLResponse:
    """The page, with an answer if something was asked."""
    home: Home = request.app.state.home
    query = request.query_params
    record = home.bin(query.get("bin") or None)
    typed = dict(query.items())
    at_hand = [one for one in query.getlist("have") if one in DRY]
    if "asked" not in typed:
        at_hand = list(AT_HAND)
    result: MixResult | None = None
    job: Job | None = None
    in_bin = False
    problems: dict[str, str] = {}
    site = home.store.site()
    library = site_library(site)
    if "asked" in typed:
        try:
            items = _items(typed)
            result = answer_kept(home.store, record.name, items, at_hand)
            in_bin = result is not None
            if result is None:
                measures = default_measures().with_own(site.measures)
                result = mix(items, at_hand, "loose", known=(library, measures))
                job = _asked(home, record.name, items, at_hand)
        except RefusedField as problem:
            problems = {problem.field: str(problem)}
        except SlowfireError as problem:
            problems = {"": str(problem)}
    return page(
        request,
        "mix.html",
        {
            "bin_name": record.name,
            "typed": typed,
            "problems": problems,
            "result": result,
            "words": _words(result, library),
            "shown": shown_in(site),
            "rows": range(ROWS),
            "common": [library.find(one) for one in COMMON],
            "rest": sorted(library.feedstocks, key=lambda one: one.name),
            "dry": [library.find(one) for one in DRY],
            "at_hand": at_hand,
            "measures": measure_names(site),
            "job": job,
            "in_bin": in_bin,
            "key": str(uuid4()),
            "load": [] if result is None else [*result.load, *result.add],
            "held": 0.0
            if result is None or result.hold_back is None
            else result.hold_back.share_percent,
        },
        status=422 if problems else 200,
        block="content",
    )


def _asked(home: Home, bin_name: str, items: list[str], at_hand: list[str]) -> Job | None:
    """Have the load tried in the bin, unless that went wrong for this journal already."""
    if home.jobs is None:
        return None
    kind = question_kind(items, at_hand)
    last = home.jobs.newest(bin_name, kind)
    if last is not None and last.revision == home.store.revision() and last.state != DONE:
        return last
    return home.jobs.mix(bin_name, items, at_hand)


def _items(typed: Mapping[str, str]) -> list[str]:
    items = []
    for k in range(ROWS):
        amount = typed.get(f"amount{k}", "").strip()
        if not amount:
            continue
        name = typed.get(f"item{k}", "").strip()
        if not name:
            raise RefusedField(f"item{k}", "say what it is.")
        items.append(f"{name}={amount} {typed.get(f'unit{k}', 'caddy')}")
    if not items:
        raise RefusedField("amount0", "say how much goes in, such as 1 caddy.")
    return items


def _words(result: MixResult | None, library: object) -> dict[str, str]:
    """Amounts to add, in words by material."""
    if result is None:
        return {}
    return {one.feedstock: _amount(one, library) for one in (*result.load, *result.add)}


def _amount(one: Item, library: object) -> str:
    name = "water"
    if one.feedstock != "water":
        name = library.find(one.feedstock).name.lower()  # type: ignore[attr-defined]
    measure = one.measure if one.amount <= 1.0 else plural(one.measure)
    return f"{one.amount:.3g} {measure} {name} ({one.litres:.1f} L)"
