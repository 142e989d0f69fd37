"""Who may ask: loopback only, no forged origin, and headers that keep foreign script out."""

from collections.abc import Awaitable, Callable
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

LOOPBACK = ("127.0.0.1", "::1", "localhost", "testserver")
SAFE = ("GET", "HEAD", "OPTIONS")
FORWARDED = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip")
HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "no-store",
}
LARGEST_BODY = 12_000_000

Next = Callable[[Request], Awaitable[Response]]


async def guarded(request: Request, go_on: Next) -> Response:
    """Refuse what does not come from this machine, and set the headers of every answer."""
    refusal = refused(request)
    response = PlainTextResponse(refusal, 403) if refusal else await go_on(request)
    for name, value in HEADERS.items():
        if name == "Cache-Control" and "/static/" in request.url.path:
            response.headers[name] = "public, max-age=3600"
        else:
            response.headers.setdefault(name, value)
    return response


def refused(request: Request) -> str:
    """Why a request is refused; empty if it is not."""
    host = urlsplit(f"//{request.headers.get('host', '')}").hostname or ""
    if host not in LOOPBACK:
        return "This page is for this computer only; open it as http://127.0.0.1."
    if any(name in request.headers for name in FORWARDED):
        return "A proxy stands between; without accounts slowfire answers this computer only."
    if int(request.headers.get("content-length") or 0) > LARGEST_BODY:
        return "What was sent is too large; allowed is up to 12 MB."
    if request.method not in SAFE:
        origin = request.headers.get("origin")
        if origin and urlsplit(origin).netloc != request.headers.get("host", ""):
            return "The form came from another site; open slowfire itself and send it again."
    return ""
