"""Who asks: somebody on this very machine, somebody logged in, a program with a key, or nobody."""

import hmac
from dataclasses import dataclass, replace
from hashlib import sha256
from urllib.parse import quote

from fastapi import Request
from markupsafe import Markup, escape
from starlette.datastructures import Headers
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from slowfire.errors import SlowfireError
from slowfire.journal import accounts
from slowfire.records import Entry
from slowfire.site import Site
from slowfire.web.home import Home
from slowfire.web.queued import HEADER
from slowfire.web.security import SAFE, at_this_machine

COOKIE, TLS_COOKIE = "slowfire", "__Host-slowfire"
FIELD = "csrf"
# Pages that anybody may open; each of them asks for its own secret.
FREE = ("/static/", "/sign-in", "/pair/", "/lid/", "/worker.js", "/app.webmanifest", "/push")
FREE_WHOLE = ("/sign-in", "/out-of-reach", "/worker.js", "/app.webmanifest", "/push")
OWN_AFFAIRS = ("/sign-out", "/me/password", "/me/device")


class NotFromOurForm(SlowfireError):
    """A form without the token of the session."""


@dataclass(frozen=True)
class Visitor:
    """Who asks.

    Attributes
    ----------
    name : str
        Empty for whoever sits at the machine itself while there are no accounts.
    role : str
        keeper or viewer.
    person : int or None
        Number of the account.
    secret : str
        Of the session; empty without one.
    program : bool
        Whether it is a program with a key.
    """

    name: str
    role: str
    person: int | None = None
    secret: str = ""
    program: bool = False

    @property
    def keeps(self) -> bool:
        """Whether the visitor may write."""
        return self.role == accounts.KEEPER

    @property
    def token(self) -> str:
        """Stands in every form of the session, so that no other site can send one."""
        if not self.secret:
            return ""
        return hmac.new(self.secret.encode(), b"form", sha256).hexdigest()

    @property
    def field(self) -> Markup:
        """The hidden field with it."""
        if not self.token:
            return Markup("")
        return Markup(f'<input type="hidden" name="{FIELD}" value="{escape(self.token)}">')


AT_HOME = Visitor("", accounts.KEEPER)


class Door:
    """Lets visitors in by what they may do, and says who they are.

    Parameters
    ----------
    app : ASGIApp
        What lies behind it [-].
    home : Home
        Whose accounts count [-].
    """

    def __init__(self, app: ASGIApp, home: Home) -> None:
        self.app = app
        self.home = home

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        from fastapi.concurrency import run_in_threadpool

        headers = Headers(scope=scope)
        path = scope["path"].removeprefix(scope.get("root_path", "")) or "/"
        visitor, refusal = await run_in_threadpool(self._seen, scope, headers, path)
        if refusal is not None:
            await refusal(scope, receive, send)
            return
        scope.setdefault("state", {})["visitor"] = visitor
        await self.app(scope, receive, send)

    def _seen(
        self, scope: Scope, headers: Headers, path: str
    ) -> tuple[Visitor | None, Response | None]:
        store = self.home.store
        request = Request(scope)
        free = path.startswith(FREE) or path in FREE_WHOLE
        if not accounts.any_people(store):
            if at_this_machine(scope, headers):
                return AT_HOME, None
            if free:
                return None, None
            words = (
                "Nobody has an account here yet, so slowfire answers only on the machine it runs "
                "on. There, give yourself an account: slowfire people add NAME."
            )
            return None, PlainTextResponse(words, 403)
        visitor = self._visitor(request, path)
        if visitor is None:
            if free:
                return None, None
            if path.startswith("/api/") or HEADER in headers:
                return None, JSONResponse({"message": "Log in first, or send a key."}, 401)
            root = scope.get("root_path", "")
            return None, RedirectResponse(f"{root}/sign-in?then={quote(path)}", 303)
        writes = scope["method"] not in SAFE
        if writes and not visitor.keeps and not free and path not in OWN_AFFAIRS:
            return visitor, PlainTextResponse(
                "You may look, but not write; ask a keeper of this journal.", 403
            )
        if path.startswith("/people") and not visitor.keeps:
            return visitor, PlainTextResponse("This page is for keepers.", 403)
        return visitor, None

    def _visitor(self, request: Request, path: str) -> Visitor | None:
        store = self.home.store
        secret = session_secret(request)
        if secret:
            person = accounts.person_of(store, secret)
            if person is not None:
                return Visitor(person.name, person.role, person.number, secret)
        scheme, _, key = request.headers.get("authorization", "").partition(" ")
        if scheme.casefold() == "bearer" and key and path.startswith("/api/"):
            code = accounts.code_of(store, accounts.PROGRAM, key.strip())
            if code is not None:
                return Visitor(code.name, accounts.KEEPER, program=True)
        return None


def session_secret(request: Request) -> str:
    """The secret that a browser sent; under TLS only the cookie that TLS alone can set."""
    name = TLS_COOKIE if request.url.scheme == "https" else COOKIE
    return request.cookies.get(name, "")


def let_in(request: Request, response: Response, secret: str) -> Response:
    """Give a browser its session."""
    tls = request.url.scheme == "https"
    response.set_cookie(
        TLS_COOKIE if tls else COOKIE,
        secret,
        max_age=int(accounts.SESSION_LIFE.total_seconds()),
        path="/",
        secure=tls,
        httponly=True,
        samesite="lax",
    )
    return response


def let_out(request: Request, response: Response) -> Response:
    """Take the session away, and what the browser kept of the pages."""
    tls = request.url.scheme == "https"
    response.delete_cookie(
        TLS_COOKIE if tls else COOKIE, path="/", secure=tls, httponly=True, samesite="lax"
    )
    response.headers["Clear-Site-Data"] = '"cache"'
    return response


def visitor_of(request: Request) -> Visitor | None:
    """Who asks, as the door has seen; None for nobody known."""
    found = getattr(request.state, "visitor", None)
    return found if isinstance(found, Visitor) else None


def signed(request: Request, entry: Entry, site: Site) -> Entry:
    """The entry with who wrote it, where the place knows that name or names nobody."""
    visitor = visitor_of(request)
    name = "" if visitor is None else visitor.name
    if entry.who or not name or (site.people and name not in site.people):
        return entry
    return replace(entry, who=name)


async def from_our_form(request: Request) -> None:
    """Refuse a form that lacks the token of its session; asked before every page that writes.

    Raises
    ------
    NotFromOurForm
        If it lacks it.
    """
    visitor = visitor_of(request)
    if request.method in SAFE or visitor is None or not visitor.secret:
        return
    # another site cannot set this header without asking, and it is never allowed to
    if HEADER in request.headers:
        return
    given = (await request.form()).get(FIELD, "")
    if not isinstance(given, str) or not hmac.compare_digest(given, visitor.token):
        raise NotFromOurForm("This form is too old; open the page again and send it once more.")
