"""People: accounts and their devices, links for phones, codes at a lid, keys of programs, rota."""

import io
from typing import Annotated

import segno
from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, Response

from slowfire.errors import InvalidInput
from slowfire.journal import accounts
from slowfire.refusals import RefusedField
from slowfire.web.home import Home
from slowfire.web.pages.today import back, writable
from slowfire.web.rendering import page
from slowfire.web.visitors import visitor_of

router = APIRouter()


@router.get("/people")
def show(request: Request) -> HTMLResponse:
    """The page."""
    return _page(request, {}, "")


def _page(
    request: Request, problems: dict[str, str], form: str, typed: dict[str, str] | None = None
) -> HTMLResponse:
    home: Home = request.app.state.home
    store = home.store
    everybody = accounts.people(store)
    names = {one.number: one.name for one in everybody}
    return page(
        request,
        "people.html",
        {
            "people": everybody,
            "names": names,
            "roles": accounts.ROLES,
            "devices": accounts.devices(store),
            "lids": accounts.codes(store, accounts.LID),
            "programs": accounts.codes(store, accounts.PROGRAM),
            "rota": accounts.rota(store),
            "problems": problems,
            "form": form,
            "typed": typed or {},
        },
        status=422 if problems else 200,
        block="content",
    )


@router.post("/people/add")
def add(
    request: Request,
    name: Annotated[str, Form(max_length=400)] = "",
    role: Annotated[str, Form(max_length=40)] = accounts.KEEPER,
    password: Annotated[str, Form(max_length=400)] = "",
) -> Response:
    """Give somebody an account; the first one's password is needed at once."""
    home: Home = request.app.state.home
    writable(home)
    first = not accounts.any_people(home.store)
    try:
        accounts.add_person(home.store, name, role, password or None)
    except RefusedField as problem:
        typed = {"name": name, "role": role}
        return _page(request, {problem.field: str(problem)}, "add", typed)
    return back(request, "/sign-in" if first else "/people")


@router.post("/people/{number}/role")
def role_of(request: Request, number: int, role: Annotated[str, Form()] = "") -> Response:
    """Make somebody a keeper or a viewer."""
    return _done(request, lambda home: accounts.set_role(home.store, number, role))


@router.post("/people/{number}/remove")
def remove(request: Request, number: int) -> Response:
    """Take an account away."""
    return _done(request, lambda home: accounts.remove_person(home.store, number))


@router.post("/people/{number}/password")
def password_of(
    request: Request, number: int, password: Annotated[str, Form(max_length=400)] = ""
) -> Response:
    """Give somebody a new password; all their devices are logged out."""

    def change(home: Home) -> None:
        found = [one for one in accounts.people(home.store) if one.number == number]
        if not found:
            raise InvalidInput("There is no such account any more.")
        accounts.set_password(home.store, found[0], password)

    return _done(request, change)


@router.post("/people/device/{number}/end")
def end_device(request: Request, number: int) -> Response:
    """Log a device out."""
    return _done(request, lambda home: accounts.end_device(home.store, number))


@router.post("/people/code/{number}/revoke")
def revoke(request: Request, number: int) -> Response:
    """End a code for good."""
    return _done(request, lambda home: accounts.revoke(home.store, number))


@router.post("/people/{number}/link")
def link(request: Request, number: int) -> HTMLResponse:
    """A one-time link for somebody's phone, shown once."""
    home: Home = request.app.state.home
    writable(home)
    found = [one for one in accounts.people(home.store) if one.number == number]
    if not found:
        raise InvalidInput("There is no such account any more.")
    secret = accounts.make_code(home.store, accounts.PAIRING, found[0].name, person=number)
    return _shown(request, "pairing", found[0].name, f"/pair/{secret}", "")


@router.post("/people/code")
def make_code(
    request: Request,
    kind: Annotated[str, Form(max_length=20)] = accounts.LID,
    name: Annotated[str, Form(max_length=400)] = "",
    bin: Annotated[str, Form(max_length=400)] = "",
) -> HTMLResponse:
    """A code for the lid, or a key for a program, shown once."""
    home: Home = request.app.state.home
    writable(home)
    if kind not in (accounts.LID, accounts.PROGRAM):
        raise InvalidInput("There is no such kind of code.")
    record = home.bin(bin or None)
    try:
        secret = accounts.make_code(
            home.store, kind, name, record.name if kind == accounts.LID else ""
        )
    except RefusedField as problem:
        return _page(request, {problem.field: str(problem)}, kind)
    path = f"/lid/{secret}" if kind == accounts.LID else ""
    return _shown(request, kind, record.name, path, secret)


@router.post("/people/rota")
async def rota(request: Request) -> Response:
    """Who feeds on which day."""
    form = await request.form()
    names = {day: str(form.get(f"day{day}", "")) for day in range(7)}
    return _done(request, lambda home: accounts.set_rota(home.store, names))


def _shown(request: Request, kind: str, name: str, path: str, secret: str) -> HTMLResponse:
    root = request.scope.get("root_path", "")
    address = f"{request.url.scheme}://{request.headers.get('host', '')}{root}{path}"
    return page(
        request,
        "code.html",
        {
            "kind": kind,
            "name": name,
            "address": address if path else "",
            "secret": secret,
            "picture": square(address) if path else "",
            "far": "127.0.0.1" not in address and "localhost" not in address,
        },
        block="content",
    )


def square(text: str) -> str:
    """A QR code (ISO/IEC 18004) as SVG with classes for its colours."""
    file = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        file,
        kind="svg",
        xmldecl=False,
        svgns=True,
        svgclass="square",
        lineclass="square-line",
        omitsize=True,
        border=3,
    )
    return file.getvalue().decode()


def _done(request: Request, call: "object") -> Response:
    home: Home = request.app.state.home
    writable(home)
    try:
        call(home)  # type: ignore[operator]
    except RefusedField as problem:
        return _page(request, {problem.field: str(problem)}, "list")
    visitor = visitor_of(request)
    gone = visitor is not None and visitor.secret and not accounts.any_people(home.store)
    return back(request, "/" if gone else "/people")
