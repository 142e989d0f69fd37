"""Set-up, later: the bin, the place, measures and thermometers changed; export and import."""

import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, UploadFile
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, Response

from slowfire import records as r
from slowfire.errors import InvalidInput, SlowfireError
from slowfire.refusals import RefusedField
from slowfire.services.bin_changes import (
    bin_added,
    bin_changed,
    bin_taken_away,
    measures_changed,
    place_changed,
    thermometers_changed,
    typed_of,
)
from slowfire.services.transfer import export_archive, import_archive
from slowfire.site import BASES, LID_LEAKS, SHAPES, SHELTERS, SIZE_NAMES, SIZES, THERMOMETER_KINDS
from slowfire.units import LITRES_PER_US_GALLON
from slowfire.vessel import wall_materials
from slowfire.web.drawing import setup_drawing
from slowfire.web.home import Home
from slowfire.web.pages.today import back, width_of, writable
from slowfire.web.rendering import page

router = APIRouter()
SPARE_ROWS = 2  # empty lines for a new measure or thermometer
ARCHIVE_BYTES = 200_000_000


def known(
    request: Request,
    record: r.Bin,
    typed: Mapping[str, str] | None = None,
    problems: Mapping[str, str] | None = None,
    form: str = "",
) -> HTMLResponse:
    """The page of what is known, with what was typed and what was wrong with it."""
    home: Home = request.app.state.home
    site = home.store.site()
    us = site.units == "us"
    litres = LITRES_PER_US_GALLON if us else 1.0
    wall = sum(one.thickness_mm for one in record.wall) / 10.0
    given = dict(typed or {})
    weather = site.weather
    changed = bool(request.query_params.get("changed"))
    return page(
        request,
        "known.html",
        {
            "bin_name": record.name,
            "record": record,
            "form": form,
            "changed": changed,
            "fed": changed and home.fed(record.name),
            "typed": {**typed_of(record, site.units), **(given if form == "bin" else {})},
            "new": given if form == "add-bin" else {},
            "problems": problems or {},
            "drawing": setup_drawing(
                width_of(record), record.inside_height_cm, wall, record.shape != "box"
            ),
            "sizes": SIZES[record.shape],
            "every_size": SIZE_NAMES,
            "length": "in" if us else "cm",
            "volume": "gal" if us else "L",
            "degree": "°F" if us else "K",
            "materials": list(wall_materials()),
            "shapes": SHAPES,
            "bases": BASES,
            "leaks": LID_LEAKS,
            "shelters": SHELTERS,
            "kinds": THERMOMETER_KINDS,
            "measures": _typed_rows(given, ("name", "litres"))
            if form == "measures"
            else [
                *((name, f"{size / litres:.3g}") for name, size in site.measures.items()),
                *[("", "")] * SPARE_ROWS,
            ],
            "thermometers": _typed_rows(given, ("name", "kind", "depth", "bias"))
            if form == "thermometers"
            else [
                *(
                    (
                        one.name,
                        one.kind,
                        "" if one.depth_cm is None else f"{one.depth_cm / (2.54 if us else 1):.3g}",
                        f"{one.bias_kelvin * (1.8 if us else 1.0):g}",
                    )
                    for one in site.thermometers
                ),
                *[("", "probe", "", "")] * SPARE_ROWS,
            ],
            "place": {
                "name": site.name,
                "town": "" if weather is None or weather.town is None else weather.town,
                "units": site.units,
                "timezone": site.timezone,
                "forecast_url": "" if weather is None else weather.forecast_url or "",
                **(given if form == "place" else {}),
            },
        },
        status=422 if problems else 200,
        block="content",
    )


@router.post("/setup/{part}")
async def change(request: Request, part: str) -> Response:
    """Change one part of what is known."""
    typed = {name: str(value) for name, value in (await request.form()).items()}
    return await run_in_threadpool(_change, request, part, typed)


def _change(request: Request, part: str, typed: Mapping[str, str]) -> Response:
    home: Home = request.app.state.home
    record = home.bin(typed.get("bin") or None)
    writable(home)
    try:
        name = _changed(home, record, part, typed)
    except RefusedField as problem:
        return known(request, record, typed, {problem.field: str(problem)}, part)
    except SlowfireError as problem:
        return known(request, record, typed, {"": str(problem)}, part)
    home.refresh(name)
    return back(request, "/setup?changed=1", name)


def _changed(home: Home, record: r.Bin, part: str, typed: Mapping[str, str]) -> str:
    """Do it; the name of the bin that is shown then."""
    site, store = home.store.site(), home.store
    if part == "bin":
        made = bin_changed(site, record.name, typed, home.clock(), typed.get("since") == "today")
        store.set_site(made.site)
        store.append(made.entries)
    elif part == "add-bin":
        store.set_site(bin_added(site, typed))
        return store.site().bins[-1].name
    elif part == "take-away":
        store.set_site(bin_taken_away(site, record.name, store.entries()))
        return store.site().bins[0].name
    elif part == "place":
        store.set_site(place_changed(site, typed))
    elif part == "measures":
        rows = [(typed[f"name{k}"], typed.get(f"litres{k}", "")) for k in _rows(typed)]
        store.set_site(measures_changed(site, rows))
    elif part == "thermometers":
        given = [
            {one: typed.get(f"{one}{k}", "") for one in ("name", "kind", "depth", "bias")}
            for k in _rows(typed)
        ]
        store.set_site(thermometers_changed(site, given))
    else:
        raise InvalidInput(f"There is no form '{part}'; go back to Set-up.")
    return record.name


def _typed_rows(typed: Mapping[str, str], columns: tuple[str, ...]) -> list[tuple[str, ...]]:
    return [tuple(typed.get(f"{one}{k}", "") for one in columns) for k in _rows(typed)]


def _rows(typed: Mapping[str, str]) -> range:
    k = 0
    while f"name{k}" in typed:
        k += 1
    return range(k)


@router.get("/export.zip")
def export(request: Request) -> Response:
    """Everything as one file."""
    home: Home = request.app.state.home
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "slowfire.zip"
        export_archive(home.store.folder, target)
        content = target.read_bytes()
    headers = {"Content-Disposition": 'attachment; filename="slowfire.zip"'}
    return Response(content, media_type="application/zip", headers=headers)


@router.post("/import")
def take_in(
    request: Request, archive: Annotated[UploadFile, File()], bin: Annotated[str, Form()] = ""
) -> Response:
    """Read an export; what is there already stays."""
    home: Home = request.app.state.home
    writable(home)
    record = home.bin(bin or None) if home.store.has_site() else None
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "given.zip"
        try:
            _kept(archive, source)
            import_archive(home.store.folder, source)
        except SlowfireError as problem:
            said = {"archive": str(problem)}
            if record is None:
                return page(request, "welcome.html", {"problems": said}, 422, block="content")
            return known(request, record, {}, said, "import")
    return back(request, "/entries")


def _kept(archive: UploadFile, target: Path) -> None:
    total = 0
    with target.open("wb") as file:
        read: Callable[[int], bytes] = archive.file.read
        while piece := read(1 << 20):
            total += len(piece)
            if total > ARCHIVE_BYTES:
                raise RefusedField("archive", "the file is larger than 200 MB; use slowfire import")
            file.write(piece)
    if total == 0:
        raise RefusedField("archive", "choose a file that slowfire exported.")
