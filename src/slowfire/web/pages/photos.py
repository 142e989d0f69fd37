"""Photos: taken in as pictures drawn anew, given out as pictures and nothing else."""

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, UploadFile
from fastapi.responses import FileResponse, Response
from starlette.exceptions import HTTPException

from slowfire import records as r
from slowfire.errors import SlowfireError
from slowfire.journal.photos import PHOTO_BYTES, cleaned
from slowfire.refusals import RefusedField
from slowfire.services.record import when_of
from slowfire.web.home import Home
from slowfire.web.pages.record import form, own_key
from slowfire.web.pages.today import back, writable
from slowfire.web.queued import write_once
from slowfire.web.visitors import signed

router = APIRouter()
TYPES = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp"}


@router.post("/photos")
def take(
    request: Request,
    photo: Annotated[UploadFile, File()],
    bin: Annotated[str, Form(max_length=400)] = "",
    key: Annotated[str, Form(max_length=80)] = "",
    note: Annotated[str, Form(max_length=4000)] = "",
    when: Annotated[str, Form(max_length=80)] = "",
) -> Response:
    """Keep a photo and the entry that shows it."""
    home: Home = request.app.state.home
    record = home.bin(bin or None)
    writable(home)
    site, now = home.store.site(), home.clock()
    typed = {"form": "photo", "note": note, "when": when}
    try:
        happened = when_of(when, site, now)
        content = cleaned(photo.file.read(PHOTO_BYTES + 1))
        digest = home.store.add_photo(content, now)
        entry = r.Entry(own_key(key), record.name, happened, r.Photo(digest), now, note=note)
        fresh = write_once(home.store, signed(request, replace(entry, recorded=now), site))
    except RefusedField as problem:
        return form(request, home, record, typed, {problem.field: str(problem)})
    except SlowfireError as problem:
        return form(request, home, record, typed, {"photo": str(problem)})
    return back(request, f"/entries?written={1 if fresh else 2}", record.name)


@router.get("/photos/{name}")
def show(request: Request, name: str) -> Response:
    """A photo by its hash; anything else there is none of."""
    home: Home = request.app.state.home
    digest, _, ending = name.partition(".")
    known = home.store.photos()
    if ending not in TYPES or known.get(digest) != ending:
        raise HTTPException(404)
    headers = {
        "Content-Security-Policy": "default-src 'none'; sandbox",
        "Content-Disposition": "inline",
        "Cache-Control": "private, max-age=31536000, immutable",
    }
    path = home.store.photo_path(digest, ending)
    return FileResponse(path, media_type=TYPES[ending], headers=headers)
