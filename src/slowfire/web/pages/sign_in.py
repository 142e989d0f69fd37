"""Signing in and out, a phone's one-time link, and one's own password and devices."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from slowfire.errors import SlowfireError
from slowfire.journal import accounts
from slowfire.refusals import RefusedField
from slowfire.web.home import Home
from slowfire.web.pages.today import back
from slowfire.web.rendering import page
from slowfire.web.visitors import let_in, let_out, visitor_of

router = APIRouter()
KNOWN_DEVICES = (
    ("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Windows", "Windows"),
    ("Macintosh", "Mac"), ("Linux", "Linux"),
)  # fmt: skip
KNOWN_BROWSERS = (
    ("Firefox/", "Firefox"), ("Edg/", "Edge"), ("Chrome/", "Chrome"), ("Safari/", "Safari"),
)  # fmt: skip


def device_name(request: Request) -> str:
    """What a browser calls itself, in two words, for the list of devices."""
    told = request.headers.get("user-agent", "")
    device = next((name for word, name in KNOWN_DEVICES if word in told), "a device")
    browser = next((name for word, name in KNOWN_BROWSERS if word in told), "a browser")
    return f"{browser} on {device}"


def address_of(request: Request) -> str:
    """Where a request comes from."""
    return request.client.host if request.client else ""


@router.get("/sign-in")
def show(request: Request, then: str = "/") -> HTMLResponse:
    """Name and password."""
    return page(
        request, "sign_in.html", {"then": _own(then), "problem": "", "name": ""}, block="content"
    )


@router.post("/sign-in")
def sign_in(
    request: Request,
    name: Annotated[str, Form(max_length=400)] = "",
    password: Annotated[str, Form(max_length=400)] = "",
    then: Annotated[str, Form(max_length=400)] = "/",
) -> Response:
    """Begin a session; its secret is always a new one."""
    home: Home = request.app.state.home
    try:
        secret = accounts.log_in(
            home.store, name, password, address_of(request), device_name(request)
        )
    except SlowfireError as problem:
        status = 429 if isinstance(problem, accounts.TooOften) else 422
        values = {"then": _own(then), "problem": str(problem), "name": name}
        return page(request, "sign_in.html", values, status=status, block="content")
    root = request.scope.get("root_path", "")
    return let_in(request, RedirectResponse(f"{root}{_own(then)}", 303), secret)


@router.get("/pair/{secret}")
def ask_pairing(request: Request, secret: str) -> HTMLResponse:
    """Ask before the link is spent: phones open links by themselves to show what is behind."""
    home: Home = request.app.state.home
    known = accounts.code_of(home.store, accounts.PAIRING, secret) is not None
    return page(
        request,
        "pair.html",
        {"known": known, "secret": secret},
        status=200 if known else 404,
        block="content",
    )


@router.post("/pair/{secret}")
def pair(request: Request, secret: str) -> Response:
    """Spend a one-time link."""
    home: Home = request.app.state.home
    try:
        session = accounts.pair(home.store, secret, device_name(request))
    except SlowfireError:
        return page(
            request,
            "pair.html",
            {"known": False, "secret": ""},
            status=404,
            block="content",
        )
    return let_in(request, back(request, "/"), session)


@router.post("/sign-out")
def sign_out(request: Request) -> Response:
    """End the session of this browser."""
    home: Home = request.app.state.home
    visitor = visitor_of(request)
    if visitor is not None and visitor.secret:
        accounts.log_out(home.store, visitor.secret)
    return let_out(request, back(request, "/sign-in"))


@router.get("/me")
def me(request: Request) -> Response:
    """One's own password and devices."""
    return _me(request, {})


def _me(request: Request, problems: dict[str, str], changed: bool = False) -> Response:
    home: Home = request.app.state.home
    visitor = visitor_of(request)
    if visitor is None or visitor.person is None:
        return back(request, "/people")
    return page(
        request,
        "me.html",
        {
            "devices": accounts.devices(home.store, visitor.person),
            "problems": problems,
            "changed": changed,
        },
        status=422 if problems else 200,
        block="content",
    )


@router.post("/me/password")
def change_password(
    request: Request,
    old: Annotated[str, Form(max_length=400)] = "",
    new: Annotated[str, Form(max_length=400)] = "",
) -> Response:
    """Change one's own password; other devices are logged out."""
    home: Home = request.app.state.home
    visitor = visitor_of(request)
    person = None if visitor is None else accounts.person_named(home.store, visitor.name)
    if visitor is None or person is None or person.number != visitor.person:
        return back(request, "/sign-in")
    try:
        spare = accounts.log_in(
            home.store, person.name, old, address_of(request), device_name(request)
        )
        accounts.log_out(home.store, spare)
    except SlowfireError as problem:
        return _me(request, {"old": str(problem)})
    try:
        accounts.set_password(home.store, person, new, keep=visitor.secret)
    except RefusedField as problem:
        return _me(request, {"new": str(problem)})
    return _me(request, {}, changed=True)


@router.post("/me/device")
def end_device(request: Request, number: Annotated[int, Form()]) -> Response:
    """Log one of one's own devices out."""
    home: Home = request.app.state.home
    visitor = visitor_of(request)
    if visitor is not None and visitor.person is not None:
        accounts.end_device(home.store, number, visitor.person)
    return back(request, "/me")


def _own(path: str) -> str:
    """A path of this app; anything else is the first page, so that nobody is led away."""
    plain = path.startswith("/") and not path.startswith("//") and "\\" not in path
    return path if plain and path.isprintable() and ":" not in path.split("?")[0] else "/"
