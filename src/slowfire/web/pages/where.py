"""Can I add it? Where does it go? And further pages that a phone's row of tabs has no room for."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from slowfire.errors import UnknownName
from slowfire.maturity.compostables import CompostableAnswer
from slowfire.reports.sheets import register_sheet, table_of
from slowfire.services.compostable_bag import MARKS, bag_answer
from slowfire.services.inside import Range
from slowfire.services.own_tests import pea_test_for
from slowfire.services.register import register
from slowfire.web.home import Home
from slowfire.web.pages.take_out import layers_kept
from slowfire.web.rendering import page
from slowfire.where_it_goes import NOWHERE, Answer, Place, find_places, places, where_it_goes

router = APIRouter()
MARKED = ("liner_home", "liner_industrial")  # rows that hang on what is printed on the thing


@router.get("/where")
def show(request: Request, thing: str = "", mark: str = "") -> HTMLResponse:
    """The page."""
    home: Home = request.app.state.home
    record = home.bin(request.query_params.get("bin") or None)
    inside = home.inside(record.name)
    hottest = None if inside is None else inside[0].hottest_celsius
    answers: list[Answer] = []
    problem = ""
    asks_mark = False
    bag: CompostableAnswer | None = None
    if thing.strip():
        try:
            there = find_places(thing[:200])
            answers = [_answer(one, hottest) for one in there]
            asks_mark = any(one.id in MARKED for one in there)
            if asks_mark and mark in MARKS:
                known = None if inside is None else inside[0]
                bag = bag_answer(mark, known, layers_kept(home, record.name))
        except UnknownName as unknown:
            problem = str(unknown)
    return page(
        request,
        "where.html",
        {
            "bin_name": record.name,
            "thing": thing[:200],
            "answers": answers,
            "peas": {
                one.name: pea_test_for(one.name) for one in answers if one.destination != NOWHERE
            },
            "asks_mark": asks_mark,
            "marks": MARKS,
            "mark": mark,
            "bag": bag,
            "problem": problem,
            "names": sorted(one.name for one in places()),
        },
        status=404 if problem else 200,
        block="content",
    )


def _answer(place: Place, hottest: Range | None) -> Answer:
    if hottest is None or place.hot_celsius is None:
        return where_it_goes(place)
    return where_it_goes(place, hottest.mid, chance_above(hottest, place.hot_celsius))


def chance_above(value: Range, limit: float) -> float:
    """Chance that a value exceeds a limit, from its range of nine in ten on straight lines.

    Examples
    --------
    >>> [round(chance_above(Range(40.0, 50.0, 60.0), one), 2) for one in (40.0, 50.0, 60.0)]
    [0.95, 0.5, 0.05]
    """
    points = ((value.low, 0.95), (value.mid, 0.5), (value.high, 0.05))
    if limit < value.low:
        return 1.0 if limit < value.low - (value.mid - value.low) else 0.97
    for (low, more), (high, less) in ((points[0], points[1]), (points[1], points[2])):
        if limit <= high:
            return more + (less - more) * (limit - low) / max(high - low, 1e-9)
    return 0.03 if limit < value.high + (value.high - value.mid) else 0.0


@router.get("/more")
def more(request: Request) -> HTMLResponse:
    """Every page, for a phone."""
    home: Home = request.app.state.home
    record = home.bin(request.query_params.get("bin") or None)
    return page(request, "more.html", {"bin_name": record.name}, block="content")


@router.get("/register.csv")
def register_table(request: Request) -> Response:
    """The register as a table."""
    home: Home = request.app.state.home
    record = home.bin(request.query_params.get("bin") or None)
    found = register(home.store.site(), home.entries(record.name), record.name)
    rows = [("when", "what", "how_much_and_what_was_seen", "who")]
    rows += [(one.when, one.what, one.words, one.who) for one in found.rows]
    headers = {"Content-Disposition": 'attachment; filename="register.csv"'}
    return Response(table_of(rows), media_type="text/csv; charset=utf-8", headers=headers)


@router.get("/register.pdf")
def register_pdf(request: Request) -> Response:
    """The register as a sheet."""
    home: Home = request.app.state.home
    record = home.bin(request.query_params.get("bin") or None)
    site = home.store.site()
    found = register(site, home.entries(record.name), record.name)
    headers = {"Content-Disposition": 'inline; filename="register.pdf"'}
    content = register_sheet(found, site.units == "us")
    return Response(content, media_type="application/pdf", headers=headers)
