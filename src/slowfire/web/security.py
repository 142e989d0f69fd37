"""Before any page: whose hosts, bodies and origins are let in, and headers of every answer."""

import asyncio
import contextlib
import re
from collections.abc import Mapping
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = ("127.0.0.1", "::1", "localhost", "testserver")
LOOPBACK_CLIENTS = ("127.0.0.1", "::1", "testclient")
SAFE = ("GET", "HEAD", "OPTIONS")
FORWARDED = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-forwarded-proto", "x-real-ip")
HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; "
        "connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; "
        "base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
}
LARGEST_BODY = 12_000_000
LARGEST_IMPORT = 200_000_000
SLOWEST_PIECE = 20.0  # between two pieces of a body [s]
SLOWEST_BODY = 120.0  # a whole one [s]
HOST = re.compile(r"[a-z0-9.-]{1,253}|\[[0-9a-f:.]{2,45}\]", re.IGNORECASE)


class Guard:
    """Stands before the app: refuses what must not come in, and sets the headers of answers.

    Parameters
    ----------
    app : ASGIApp
        What it stands before [-].
    hosts : sequence of str
        Names under which it may be asked, besides those of this machine [-].
    slowest_piece, slowest_body : float
        How long a body may take [s].
    """

    def __init__(
        self,
        app: ASGIApp,
        hosts: tuple[str, ...] = (),
        slowest_piece: float = SLOWEST_PIECE,
        slowest_body: float = SLOWEST_BODY,
    ) -> None:
        self.app = app
        self.hosts = tuple(one.casefold() for one in hosts)
        self.slowest_piece = slowest_piece
        self.slowest_body = slowest_body

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        tls = scope.get("scheme") == "https"

        async def told(message: Message) -> None:
            if message["type"] == "http.response.start":
                _set_headers(MutableHeaders(scope=message), scope["path"], tls)
            await send(message)

        refusal = refused(scope, headers, self.hosts)
        if refusal:
            await PlainTextResponse(refusal[1], refusal[0])(scope, receive, told)
            return
        body = _Body(receive, _most(scope["path"]), self.slowest_piece, self.slowest_body)
        begun = False

        async def sent(message: Message) -> None:
            nonlocal begun
            # whatever the app makes of a body that broke off, the answer says why it did
            if body.refusal is None or begun:
                begun = True
                await told(message)

        with contextlib.suppress(_BrokenOff):
            await self.app(scope, body.receive, sent)
        if body.refusal is not None and not begun:
            await PlainTextResponse(body.refusal[1], body.refusal[0])(scope, receive, told)


class _BrokenOff(Exception):
    """A body that is too large or does not come."""


class _Body:
    """What a client sends, measured as it comes."""

    def __init__(self, receive: Receive, most: int, piece: float, whole: float) -> None:
        self.inner = receive
        self.most = most
        self.piece = piece
        self.ends = asyncio.get_running_loop().time() + whole
        self.total = 0
        self.over = False
        self.refusal: tuple[int, str] | None = None

    async def receive(self) -> Message:
        """The next piece.

        Raises
        ------
        _BrokenOff
            If it is one too many, or does not come.
        """
        if self.refusal is not None:
            raise _BrokenOff
        if self.over:
            return await self.inner()  # only word of the client going away can come now
        left = self.ends - asyncio.get_running_loop().time()
        try:
            message = await asyncio.wait_for(self.inner(), max(min(self.piece, left), 0.0))
        except TimeoutError as problem:
            self.refusal = (408, "It took too long to arrive.")
            raise _BrokenOff from problem
        self.total += len(message.get("body", b""))
        self.over = not message.get("more_body", False)
        if self.total > self.most:
            self.refusal = (413, _too_large(self.most))
            raise _BrokenOff
        return message


def _most(path: str) -> int:
    return LARGEST_IMPORT if path.endswith("/import") else LARGEST_BODY


def _too_large(most: int) -> str:
    return f"What was sent is too large; allowed is up to {most // 1_000_000} MB."


def refused(
    scope: Scope, headers: Mapping[str, str], hosts: tuple[str, ...] = ()
) -> tuple[int, str] | None:
    """Why a request is refused, with its status; None if it is not."""
    named = headers.get("host", "")
    host = host_of(named)
    if host not in LOOPBACK and host not in hosts:
        return 403, "slowfire does not go by that name here; start it with --host-name to allow it."
    length = headers.get("content-length", "0")
    if not length.isdigit():
        return 400, "The length of what was sent is no number."
    most = _most(scope["path"])
    if int(length) > most:
        return 413, _too_large(most)
    if scope["method"] not in SAFE and foreign(headers):
        return 403, "The form came from another site; open slowfire itself and send it again."
    return None


def foreign(headers: Mapping[str, str]) -> bool:
    """Whether a form was sent by a page of another site."""
    origin = headers.get("origin")
    if origin is not None:
        return urlsplit(origin).netloc.casefold() != headers.get("host", "").casefold()
    return headers.get("sec-fetch-site", "none") not in ("same-origin", "none")


def host_of(named: str) -> str:
    """Host of a header without its port; empty if it is none.

    Examples
    --------
    >>> host_of("127.0.0.1:8321"), host_of("[::1]:80"), host_of("a b")
    ('127.0.0.1', '::1', '')
    """
    plain = re.sub(r":\d{1,5}$", "", named)
    return plain.strip("[]").casefold() if HOST.fullmatch(plain) else ""


def at_this_machine(scope: Scope, headers: Mapping[str, str]) -> bool:
    """Whether a request was made on this very machine, with nothing in between."""
    client = scope.get("client") or ("", 0)
    plain = not any(name in headers for name in FORWARDED)
    return plain and client[0] in LOOPBACK_CLIENTS and host_of(headers.get("host", "")) in LOOPBACK


def _set_headers(headers: MutableHeaders, path: str, tls: bool) -> None:
    for name, value in HEADERS.items():
        if name == "Cache-Control" and "/static/" in path:
            headers[name] = "public, max-age=3600"
        else:
            headers.setdefault(name, value)
    if tls:
        headers.setdefault("Strict-Transport-Security", "max-age=15552000")
