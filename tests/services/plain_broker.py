"""A broker of a few lines that keeps sessions and remembers exactly what was acknowledged.

It speaks as much of MQTT 3.1.1 (the OASIS standard) as a listener needs: at least once, one level
of wildcards, and unacknowledged messages sent again to a session that comes back.
"""

import asyncio
from collections import OrderedDict
from dataclasses import dataclass, field

CONNECT, CONNACK, PUBLISH, PUBACK, SUBSCRIBE, SUBACK = 1, 2, 3, 4, 8, 9
PINGREQ, PINGRESP, DISCONNECT = 12, 13, 14


@dataclass
class Session:
    patterns: list[str] = field(default_factory=list)
    waiting: "OrderedDict[int, tuple[str, bytes]]" = field(default_factory=OrderedDict)
    writer: asyncio.StreamWriter | None = None
    last: int = 0


class PlainBroker:
    def __init__(self, tls=None, password=None):
        self.tls, self.password = tls, password
        self.sessions: dict[str, Session] = {}
        self.acknowledged: list[bytes] = []
        self.deliveries = 0
        self.connections = 0
        self.port = 0
        self._server = None

    async def start(self):
        self._server = await asyncio.start_server(
            self._client, "127.0.0.1", self.port, ssl=self.tls
        )
        self.port = self._server.sockets[0].getsockname()[1]

    async def stop(self, forget=False):
        self._server.close()
        for one in self.sessions.values():
            if one.writer is not None:
                one.writer.transport.abort()
                one.writer = None
        if forget:
            self.sessions.clear()

    def publish(self, topic, payload):
        for one in self.sessions.values():
            if any(_fits(pattern, topic) for pattern in one.patterns):
                one.last = one.last % 65_535 + 1
                one.waiting[one.last] = (topic, payload)
                self._send(one, one.last, again=False)

    def _send(self, session, number, again):
        if session.writer is None:
            return
        topic, payload = session.waiting[number]
        name = topic.encode()
        body = len(name).to_bytes(2, "big") + name + number.to_bytes(2, "big") + payload
        self.deliveries += 1
        session.writer.write(_packet(PUBLISH, 0b1010 if again else 0b0010, body))

    async def _client(self, reader, writer):
        session = None
        self.connections += 1
        try:
            while True:
                first = (await reader.readexactly(1))[0]
                body = await reader.readexactly(await _length(reader))
                kind = first >> 4
                if kind == CONNECT:
                    session = self._connect(body, writer)
                    if session is None:
                        return
                elif kind == SUBSCRIBE:
                    self._subscribe(session, body, writer)
                elif kind == PUBACK:
                    topic_and_payload = session.waiting.pop(int.from_bytes(body[:2], "big"), None)
                    if topic_and_payload is not None:
                        self.acknowledged.append(topic_and_payload[1])
                elif kind == PINGREQ:
                    writer.write(_packet(PINGRESP, 0, b""))
                elif kind == DISCONNECT:
                    return
                await writer.drain()
        except (asyncio.IncompleteReadError, ConnectionError):
            pass
        finally:
            if session is not None and session.writer is writer:
                session.writer = None
            writer.close()

    def _connect(self, body, writer):
        flags = body[7]
        fields = _texts(body[10:])
        name = fields[0].decode()
        if self.password is not None and (len(fields) < 3 or fields[2] != self.password):
            writer.write(_packet(CONNACK, 0, bytes([0, 5])))
            return None
        if flags & 0b10:
            self.sessions.pop(name, None)
        there = name in self.sessions
        session = self.sessions.setdefault(name, Session())
        session.writer = writer
        writer.write(_packet(CONNACK, 0, bytes([there, 0])))
        for number in list(session.waiting):
            self._send(session, number, again=True)
        return session

    def _subscribe(self, session, body, writer):
        number, rest, granted = body[:2], body[2:], b""
        while rest:
            size = int.from_bytes(rest[:2], "big")
            pattern = rest[2 : 2 + size].decode()
            if pattern not in session.patterns:
                session.patterns.append(pattern)
            granted += rest[2 + size : 3 + size]
            rest = rest[3 + size :]
        writer.write(_packet(SUBACK, 0, number + granted))


def _fits(pattern, topic):
    ours, theirs = pattern.split("/"), topic.split("/")
    if len(ours) != len(theirs):
        return False
    return all(one in ("+", other) for one, other in zip(ours, theirs, strict=True))


def _texts(body):
    found = []
    while len(body) >= 2:
        size = int.from_bytes(body[:2], "big")
        found.append(body[2 : 2 + size])
        body = body[2 + size :]
    return found


async def _length(reader):
    total, factor = 0, 1
    while True:
        part = (await reader.readexactly(1))[0]
        total += (part & 127) * factor
        factor *= 128
        if part < 128:
            return total


def _packet(kind, flags, body):
    size, rest = b"", len(body)
    while True:
        rest, part = divmod(rest, 128)
        size += bytes([part | (128 if rest else 0)])
        if not rest:
            return bytes([kind << 4 | flags]) + size + body
