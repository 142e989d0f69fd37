"""Listens to a broker: a message is acknowledged only after its values are on the disk.

The session at the broker is kept under a fixed name, so that it holds back what comes while nobody
listens and sends again what was not acknowledged.
"""

import asyncio
import os
import ssl
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from slowfire.errors import InvalidInput, SlowfireError
from slowfire.sensors.measurement import Measurement
from slowfire.sensors.topics import Topic, heard

if TYPE_CHECKING:
    from aiomqtt import Client, Message

PORTS = {"mqtt": 1883, "mqtts": 8883}
USER, PASSWORD = "SLOWFIRE_MQTT_USER", "SLOWFIRE_MQTT_PASSWORD"
FIRST_PAUSE, LONGEST_PAUSE = 1.0, 60.0  # [s]
TOGETHER = 500  # messages stored in one go
AT_LEAST_ONCE = 1
REFUSED = 128
MOST_TOLD = 1000
KEEP_ALIVE = 30  # [s]
QUIET = 2.0  # a broker that holds something back sends it sooner [s]

Store = Callable[[Sequence[Measurement]], Awaitable[None]]


@dataclass(frozen=True)
class Broker:
    """Where the broker is and how it is spoken to.

    Parameters
    ----------
    host : str
        Its name [-].
    port : int
        1 to 65535 [-].
    encrypted : bool
        Whether by TLS [-].
    user, password : str or None
        Neither is ever part of an address [-].
    authority : str or None
        File with the certificate that the broker's is checked by; those of the system if None [-].
    """

    host: str
    port: int
    encrypted: bool = False
    user: str | None = None
    password: str | None = None
    authority: str | None = None

    def __repr__(self) -> str:
        return f"{'mqtts' if self.encrypted else 'mqtt'}://{self.host}:{self.port}"


def broker_at(url: str, secret: Path | None = None, authority: str | None = None) -> Broker:
    """Read the address of a broker; user and password come from a file or the environment.

    Parameters
    ----------
    url : str
        mqtt://HOST[:PORT] or, encrypted, mqtts://HOST[:PORT] [-].
    secret : Path or None
        File of two lines, user and password; SLOWFIRE_MQTT_USER and SLOWFIRE_MQTT_PASSWORD if
        None [-].
    authority : str or None
        File with a certificate of your own authority [-].

    Returns
    -------
    Broker

    Raises
    ------
    InvalidInput
        If it is no such address, or the file cannot be read.

    Examples
    --------
    >>> broker_at("mqtt://broker.local")
    mqtt://broker.local:1883
    """
    allowed = "allowed is mqtt://HOST or mqtts://HOST, with a port if need be."
    try:
        parts = urlsplit(url.strip())
        host, port = parts.hostname or "", parts.port
    except ValueError as problem:
        raise InvalidInput(
            f"The broker's address cannot be read ({problem}); {allowed}"
        ) from problem
    if "@" in parts.netloc:
        raise InvalidInput(
            f"The broker's address holds a user or password, which others can read; put them into "
            f"{USER} and {PASSWORD}, or into a file of two lines."
        )
    if parts.scheme not in PORTS or not host or parts.path.strip("/") or parts.query:
        raise InvalidInput(f"The broker's address is {url!r}; {allowed}")
    if authority is not None and parts.scheme != "mqtts":
        raise InvalidInput("A certificate belongs to an encrypted broker: write mqtts://HOST.")
    user, password = os.environ.get(USER), os.environ.get(PASSWORD)
    if secret is not None:
        try:
            lines = secret.read_text("utf-8").splitlines()
        except (OSError, UnicodeDecodeError) as problem:
            raise InvalidInput(f"{secret} cannot be read; two lines: user, password.") from problem
        if len(lines) < 2:
            raise InvalidInput(f"{secret} has {len(lines)} lines; allowed are two: user, password.")
        user, password = lines[0].strip(), lines[1]
    return Broker(
        host, port or PORTS[parts.scheme], parts.scheme == "mqtts", user, password, authority
    )


def needs_mqtt() -> None:
    """Refuse to go on without the library.

    Raises
    ------
    InvalidInput
        If it is not installed.
    """
    try:
        import aiomqtt  # noqa: F401
    except ImportError as problem:
        raise InvalidInput(
            "Listening to a broker needs one more library; install it with: "
            'pip install "slowfire[mqtt]".'
        ) from problem


async def hear(
    broker: Broker,
    topics: Sequence[Topic],
    name: str,
    store: Store,
    say: Callable[[str], None],
    once: bool = False,
    clock: Callable[[], datetime] | None = None,
    first_pause: float = FIRST_PAUSE,
) -> None:
    """Listen until cancelled; after a broken connection again, after growing pauses.

    Parameters
    ----------
    broker : Broker
        Where [-].
    topics : sequence of Topic
        What is listened to [-].
    name : str
        Name of the session at the broker, the same every time [-].
    store : callable
        Keeps measurements; only when it returned are their messages acknowledged [-].
    say : callable
        Takes a line for people [-].
    once : bool
        Whether to stop when the broker has sent what it held back [-].
    clock : callable or None
        Gives the present [-].
    first_pause : float
        Before the second try; doubled for each further one, up to 60 s [s].
    """
    needs_mqtt()
    from aiomqtt import MqttError

    now = clock or _clock
    pause = first_pause
    told: set[str] = set()
    while True:
        try:
            async with _client(broker, name) as client:
                await _subscribe(client, topics, say)
                say(f"listening to {broker!r}")
                pause = first_pause
                await _messages(client, topics, store, say, told, once, now)
                return
        except (MqttError, OSError, SlowfireError) as problem:
            if once:
                raise InvalidInput(f"{broker!r}: {problem}; nothing was heard.") from problem
            say(f"{broker!r}: {problem}; again in {pause:g} s")
        await asyncio.sleep(pause)
        pause = min(2.0 * pause, LONGEST_PAUSE)


def _client(broker: Broker, name: str) -> "Client":
    from aiomqtt import Client

    context = ssl.create_default_context(cafile=broker.authority) if broker.encrypted else None
    client = Client(
        broker.host,
        broker.port,
        username=broker.user,
        password=broker.password,
        identifier=name,
        clean_session=False,
        tls_context=context,
        keepalive=KEEP_ALIVE,
    )
    # otherwise what has only been received would be acknowledged
    client._client.manual_ack_set(True)
    return client


async def _subscribe(client: "Client", topics: Sequence[Topic], say: Callable[[str], None]) -> None:
    wanted = list(dict.fromkeys(one.subscription for one in topics))
    granted: Sequence[Any] = await client.subscribe([(one, AT_LEAST_ONCE) for one in wanted])
    for pattern, answer in zip(wanted, granted, strict=False):
        level: int = getattr(answer, "value", answer)
        if level >= REFUSED:
            raise InvalidInput(f"the broker does not let this user listen to {pattern}")
        if level < AT_LEAST_ONCE:
            say(f"the broker sends {pattern} at most once: what comes while nobody listens is lost")


async def _messages(
    client: "Client",
    topics: Sequence[Topic],
    store: Store,
    say: Callable[[str], None],
    told: set[str],
    once: bool,
    now: Callable[[], datetime],
) -> None:
    """Store what comes and acknowledge it, until the connection breaks."""
    incoming = client.messages
    while True:
        try:
            async with asyncio.timeout(QUIET if once else None):
                batch = [await anext(incoming)]
        except TimeoutError:
            return
        while len(incoming) and len(batch) < TOGETHER:
            batch.append(await anext(incoming))
        found: list[Measurement] = []
        for message in batch:
            found += _read(message, topics, say, told, now())
        if found:
            await store(found)
        for message in batch:
            if message.qos:
                client._client.ack(message.mid, message.qos)


def _read(
    message: "Message",
    topics: Sequence[Topic],
    say: Callable[[str], None],
    told: set[str],
    now: datetime,
) -> tuple[Measurement, ...]:
    """Measurements of a message; one that says nothing is told once a topic and let go."""
    topic = message.topic.value
    payload = message.payload
    content = payload if isinstance(payload, bytes) else str(payload or "").encode()
    try:
        return heard(topics, topic, content, message.retain, now)
    except InvalidInput as problem:
        if topic not in told and len(told) < MOST_TOLD:
            told.add(topic)
            say(f"{topic}: {problem} Left out; said once.")
        return ()


def _clock() -> datetime:
    return datetime.now(UTC)
