"""Where devices send what they measured; each by its own token, and twice changes nothing."""

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse
from starlette.concurrency import run_in_threadpool

from slowfire.errors import InvalidInput, JournalError
from slowfire.sensors.push import LARGEST_BODY, NotAllowed
from slowfire.services.sensors import pusher, take_push
from slowfire.web.home import Home

router = APIRouter()
BEARER = "bearer "


@router.post("/push")
async def push(request: Request) -> JSONResponse:
    """Keep what a device sent; the answer comes only once it is on the disk."""
    home: Home = request.app.state.home
    if home.example:
        return _refusal(403, "This is the example; push to your own journal.")
    given = request.headers.get("authorization", "")
    if given[: len(BEARER)].lower() != BEARER or not given[len(BEARER) :].strip():
        return _refusal(401, "Send the device's token as Authorization: Bearer TOKEN.")
    token = given[len(BEARER) :].strip()
    body = bytearray()
    try:
        # nothing is read of who may not send
        await run_in_threadpool(pusher, home.store, token)
        async for part in request.stream():
            body += part
            if len(body) > LARGEST_BODY:
                return _refusal(413, f"The body is too large; allowed is {LARGEST_BODY} bytes.")
        done = await run_in_threadpool(take_push, home.store, bytes(body), token, home.clock())
    except NotAllowed as problem:
        return _refusal(401, str(problem))
    except InvalidInput as problem:
        return _refusal(422, str(problem))
    except JournalError as problem:
        # the device may try again; nothing was kept
        return _refusal(503, str(problem))
    answer = {
        "values": done.values,
        "new": done.new,
        "known": done.known,
        "left_out": done.left_out,
        "other_value": done.other,
        "summarised": done.summarised,
        "words": list(done.words),
    }
    return JSONResponse(answer)


def _refusal(status: int, words: str) -> JSONResponse:
    headers = {"WWW-Authenticate": "Bearer"} if status == 401 else {}
    return JSONResponse({"problem": words}, status, headers)
