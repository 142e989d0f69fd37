"""A weather forecast fetched by its address, only where the site names one, and kept for a while.

Nothing here raises for a network that is away or a service that answers badly: the answer is then
an older forecast or none, with a sentence that says so.
"""

import hashlib
import http.client
import json
import threading
import urllib.error
import urllib.request
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.message import Message
from pathlib import Path
from time import monotonic
from typing import IO, Any
from urllib.parse import urlsplit

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput, OutOfReach, SlowfireError
from slowfire.refusals import number_in
from slowfire.site import LOOPBACK_HOSTS, forecast_pattern
from slowfire.tables_text import write_text
from slowfire.weather.ambient import LIMITS
from slowfire.weather.forecast_formats import LONGEST_HOURS, read_forecast

TIMEOUT_SECONDS = 10.0
LARGEST_BYTES = 2_000_000
MOST_REDIRECTS = 3
FRESH_HOURS = 6.0  # a kept forecast younger than this is used without asking again
STALE_HOURS = 120.0  # and one older than this not at all
RETRY_HOURS = 0.25  # a service that failed is left alone this long
ACCEPTED = "application/prs.coverage+json, application/json, text/csv"
_CHUNK = 65_536


@dataclass(frozen=True, eq=False)
class Forecast:
    """A forecast by the hour.

    Attributes
    ----------
    host : str
        Where it came from [-].
    issued : datetime
        When it was fetched; errors grow from here on [-].
    start : datetime
        Time of its first hour, with its offset [-].
    values : mapping of str to ndarray, shape (hours,)
        By the name of a quantity of `Ambient`; temperature always, others as there are [mixed].
    """

    host: str
    issued: datetime
    start: datetime
    values: dict[str, FloatArray]

    @property
    def end(self) -> datetime:
        """Time of the last hour."""
        return self.start + timedelta(hours=self.values["temperature_celsius"].size - 1)

    def age_hours(self, now: datetime) -> float:
        """Hours since it was fetched."""
        return (now - self.issued).total_seconds() / 3600.0


@dataclass(frozen=True)
class ForecastAnswer:
    """What became of asking for a forecast.

    Attributes
    ----------
    forecast : Forecast or None
        None if there is none young enough [-].
    age_hours : float or None
        Since it was fetched; None without one [h].
    fetched_now : bool
        Whether the service was asked and answered well [-].
    assumptions : tuple of str
        What was taken and what went wrong, one sentence each [-].
    """

    forecast: Forecast | None
    age_hours: float | None
    fetched_now: bool
    assumptions: tuple[str, ...]


def forecast_for(
    pattern: str,
    latitude_degrees: float,
    longitude_degrees: float,
    now: datetime,
    cache_folder: Path | None,
    *,
    ask_now: bool = False,
    timeout: float = TIMEOUT_SECONDS,
) -> ForecastAnswer:
    """Return the forecast for a place, kept or fetched, or say why there is none.

    Parameters
    ----------
    pattern : str
        Address with {latitude} and {longitude} [-].
    latitude_degrees, longitude_degrees : float
        Place; sent rounded to a tenth of a degree, and nothing else of the site is [degree].
    now : datetime
        The present, with its offset [-].
    cache_folder : Path or None
        Where forecasts are kept, made if it is not there; None keeps none [-].
    ask_now : bool
        Ask the service even if a young forecast is kept [-].
    timeout : float
        For the whole answer, 0.1 to 60 [s].

    Returns
    -------
    ForecastAnswer
        A kept forecast up to 6 h old is taken as it is; up to 5 days old where the service cannot
        be had, which is said with its age [-].

    Raises
    ------
    InvalidInput
        If the address, the place or the timeout is not allowed; never for what the network does.
    """
    number_in("timeout", timeout, 0.1, 60.0, "s")
    url = _filled(pattern, latitude_degrees, longitude_degrees)
    host = urlsplit(url).hostname or ""
    path = None if cache_folder is None else cache_folder / f"{_key(url)}.json"
    kept, failed = _read_kept(path, host, now)
    if kept is not None and not ask_now and kept.age_hours(now) <= FRESH_HOURS:
        return _answer(kept, now, False, "")
    if failed is not None and not ask_now:
        again = f"{failed}; it is asked again in a quarter of an hour"
        return _answer(kept, now, False, again, host)
    try:
        start, values = read_forecast(_fetched(url, timeout))
        fresh = Forecast(host, now, start, values)
        if fresh.end <= now:
            raise InvalidInput(f"the forecast ends on {fresh.end:%Y-%m-%d %H:%M} UTC, in the past.")
    except SlowfireError as problem:
        reason = " ".join(str(problem).split()).rstrip(".")
        _write_kept(path, kept, now, reason)
        return _answer(kept, now, False, reason, host)
    note = _write_kept(path, fresh, None, "")
    return _answer(fresh, now, True, note)


def _filled(pattern: str, latitude: float, longitude: float) -> str:
    number_in("latitude_degrees", latitude, -90.0, 90.0, "degrees")
    number_in("longitude_degrees", longitude, -180.0, 180.0, "degrees")
    # adding nothing turns -0.0 into 0.0
    north, east = (f"{round(one, 1) + 0.0:.1f}" for one in (latitude, longitude))
    return forecast_pattern(pattern).replace("{latitude}", north).replace("{longitude}", east)


def _answer(
    forecast: Forecast | None, now: datetime, fetched: bool, reason: str, host: str = ""
) -> ForecastAnswer:
    if forecast is None:
        where = host or "the service"
        return ForecastAnswer(
            None, None, False, (f"No forecast could be had from {where}: {reason}.",)
        )
    age = forecast.age_hours(now)
    said = (
        f"The forecast of {forecast.host} up to {forecast.end:%Y-%m-%d %H:%M} UTC was fetched "
        f"{age_words(age)}."
    )
    if reason:
        said = f"{said[:-1]}; {reason}."
    return ForecastAnswer(forecast, age, fetched, (said,))


def age_words(hours: float) -> str:
    """Return an age in words.

    Parameters
    ----------
    hours : float
        0 or more [h].

    Examples
    --------
    >>> age_words(0.2), age_words(5.4), age_words(60.0)
    ('just now', '5 h ago', '2.5 days ago')
    """
    if hours < 0.5:
        return "just now"
    return f"{hours:.0f} h ago" if hours < 48.0 else f"{hours / 24.0:.1f} days ago"


class _CheckedRedirects(urllib.request.HTTPRedirectHandler):
    """Follows a few redirects, each to an address that would be allowed by itself."""

    max_redirections = MOST_REDIRECTS
    max_repeats = 1

    def redirect_request(
        self, req: urllib.request.Request, fp: IO[bytes], code: int, msg: str,
        headers: http.client.HTTPMessage, newurl: str,
    ) -> urllib.request.Request | None:  # fmt: skip
        target, asked = urlsplit(newurl), urlsplit(req.full_url)
        near = asked.hostname in LOOPBACK_HOSTS and target.hostname in LOOPBACK_HOSTS
        far = target.scheme == "https" and target.hostname not in LOOPBACK_HOSTS
        if not near and not far:
            raise OutOfReach(
                f"{asked.hostname} sends on to {target.scheme}://{target.hostname}; allowed is "
                "https to another host"
            )
        return super().redirect_request(req, fp, code, msg, headers, newurl)


def _fetched(url: str, timeout: float) -> str:
    """Return the text behind an address within the time allowed, whatever the service does."""
    outcome: list[str | SlowfireError] = []

    def ask() -> None:
        try:
            outcome.append(_asked(url, timeout))
        except SlowfireError as problem:
            outcome.append(problem)

    # a name that is not found, or an answer by drops, may outlast the timeout of the socket
    asking = threading.Thread(target=ask, name="forecast", daemon=True)
    asking.start()
    asking.join(timeout)
    if not outcome:
        raise OutOfReach(f"{urlsplit(url).hostname} did not answer within {timeout:g} s")
    if isinstance(outcome[0], SlowfireError):
        raise outcome[0]
    return outcome[0]


def _asked(url: str, timeout: float) -> str:
    host = urlsplit(url).hostname or ""
    ends = monotonic() + timeout
    handlers: list[urllib.request.BaseHandler] = [_CheckedRedirects()]
    if host in LOOPBACK_HOSTS:
        # what runs on this machine is not asked for by way of another
        handlers.append(urllib.request.ProxyHandler({}))
    request = urllib.request.Request(
        url, headers={"Accept": ACCEPTED, "Accept-Encoding": "identity", "User-Agent": "slowfire"}
    )
    try:
        with urllib.request.build_opener(*handlers).open(request, timeout=timeout) as reply:
            return _text(host, _body(host, reply, reply.headers, ends))
    except urllib.error.HTTPError as problem:
        with problem:
            if problem.code in (301, 302, 303, 307, 308):
                why = f"{host} redirects more than {MOST_REDIRECTS} times or in a circle"
            else:
                why = f"{host} answers with error {problem.code}"
        raise OutOfReach(why) from problem
    except TimeoutError as problem:
        raise OutOfReach(f"{host} did not answer within {timeout:g} s") from problem
    except urllib.error.URLError as problem:
        if isinstance(problem.reason, TimeoutError):
            raise OutOfReach(f"{host} did not answer within {timeout:g} s") from problem
        raise OutOfReach(f"{host} cannot be reached ({problem.reason})") from problem
    except (OSError, http.client.HTTPException, ValueError) as problem:
        raise OutOfReach(f"{host} cannot be read ({problem})") from problem


def _body(host: str, reply: Any, headers: Message, ends: float) -> bytes:
    largest = f"allowed is up to {LARGEST_BYTES / 1e6:g} MB"
    said = headers.get("Content-Length", "")
    if said.isdigit() and int(said) > LARGEST_BYTES:
        raise InvalidInput(f"{host} sends {int(said) / 1e6:.1f} MB; {largest}")
    if headers.get("Content-Encoding", "identity").casefold() not in ("identity", ""):
        raise InvalidInput(f"{host} sends packed data though asked not to")
    parts: list[bytes] = []
    size = 0
    while monotonic() < ends:
        part = reply.read1(_CHUNK)
        if not part:
            if said.isdigit() and size < int(said):
                raise InvalidInput(f"{host} broke off after {size} of {said} bytes")
            return b"".join(parts)
        size += len(part)
        if size > LARGEST_BYTES:
            raise InvalidInput(f"{host} sends over {LARGEST_BYTES / 1e6:g} MB; {largest}")
        parts.append(part)
    raise OutOfReach(f"{host} was too slow to send its answer")


def _text(host: str, raw: bytes) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as problem:
        raise InvalidInput(f"{host} sends letters that are not in UTF-8") from problem


def _key(url: str) -> str:
    """Return a name for the kept file that gives the address away to nobody."""
    return hashlib.sha256(url.encode()).hexdigest()[:24]


def _write_kept(
    path: Path | None, forecast: Forecast | None, failed: datetime | None, reason: str
) -> str:
    """Keep a forecast, or that asking failed; says in a few words if it cannot be kept."""
    if path is None:
        return ""
    held: dict[str, object] = {}
    if forecast is not None:
        held = {
            "issued": forecast.issued.astimezone(UTC).isoformat(),
            "start": forecast.start.astimezone(UTC).isoformat(),
            "values": {name: values.tolist() for name, values in forecast.values.items()},
        }
    if failed is not None:
        held |= {"failed": failed.astimezone(UTC).isoformat(), "reason": reason}
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_text(path, json.dumps(held))
    except (OSError, SlowfireError):
        return f"it could not be kept in {path.parent}"
    return ""


def _read_kept(path: Path | None, host: str, now: datetime) -> tuple[Forecast | None, str | None]:
    """Return what is kept and not too old, and why asking failed a moment ago."""
    if path is None:
        return None, None
    try:
        held = json.loads(path.read_text(encoding="utf-8"))
        failed = held.get("failed")
        reason = None
        if failed is not None and _hours_ago(failed, now) <= RETRY_HOURS:
            reason = str(held["reason"])
        if "issued" not in held or _hours_ago(held["issued"], now) > STALE_HOURS:
            return None, reason
        values = {name: np.array(held["values"][name], dtype=np.float64) for name in held["values"]}
        forecast = Forecast(
            host,
            datetime.fromisoformat(held["issued"]),
            datetime.fromisoformat(held["start"]),
            values,
        )
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        # a file somebody else wrote, or half a file: as if there were none
        return None, None
    return (forecast if _is_sound(forecast) and forecast.end > now else None), reason


def _hours_ago(when: str, now: datetime) -> float:
    """Hours since a time; one that lies ahead counts as never, as a clock was set back."""
    hours = (now - datetime.fromisoformat(when)).total_seconds() / 3600.0
    return hours if hours >= 0.0 else float("inf")


def _is_sound(forecast: Forecast) -> bool:
    sizes = {values.shape for values in forecast.values.values()}
    return (
        "temperature_celsius" in forecast.values
        and set(forecast.values) <= set(LIMITS)
        and len(sizes) == 1
        and all(len(shape) == 1 and 1 < shape[0] <= LONGEST_HOURS + 1 for shape in sizes)
        and all(
            bool(np.all((values >= LIMITS[name][0]) & (values <= LIMITS[name][1])))
            for name, values in forecast.values.items()
        )
    )
