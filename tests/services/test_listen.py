"""Listening: what was acknowledged to a broker is on the disk, whatever breaks in between."""

import asyncio
import contextlib
import json
import os
import random
import shutil
import signal
import socket
import ssl
import subprocess
import sys
from datetime import UTC, datetime, timedelta

import pytest
from plain_broker import PlainBroker

from slowfire import records as r
from slowfire.errors import InvalidInput, JournalError
from slowfire.journal import sensor_devices, sensorlog
from slowfire.journal.store import open_store
from slowfire.sensors.measurement import time_of
from slowfire.sensors.mqtt import Broker, broker_at
from slowfire.sensors.topics import topics_of
from slowfire.services import listen as service

pytest.importorskip("aiomqtt", reason="aiomqtt is not installed")

BIN = r.Bin("Box", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90)
# so young that nothing of it is summed up
START = datetime.now(UTC).replace(microsecond=0) - timedelta(hours=12)
MAP = '[[topics]]\ntopic = "yard/{device}/heat"\nvalue = "value"\nwhen = "when"\n'
SLAVE = "72 01 4b 46 7f ff 0e 10 57 : crc=57 YES\n72 01 4b 46 7f ff 0e 10 57 t={}\n"


@pytest.fixture
def store(tmp_path):
    with open_store(tmp_path / "data") as made:
        made.set_site(r.Site("Yard", "UTC", (BIN,), (r.Thermometer("core", "probe"),)))
        yield made


def message(number, device="north"):
    when = START + timedelta(seconds=number)
    body = {"value": 40.0 + number % 7 / 10.0, "when": when.isoformat()}
    return f"yard/{device}/heat", json.dumps(body).encode()


def stored(store):
    """Times of everything kept, in milliseconds."""
    found = []
    for device in sensor_devices.devices(store):
        for probe in device.probes:
            found += sensor_devices.moments_since(store, probe.number, 0)
    return found


def times(payloads):
    return [round(time_of(json.loads(one)["when"]).timestamp() * 1000) for one in payloads]


def sources(broker, pause=0.05, **more):
    return service.Sources(
        broker=Broker("127.0.0.1", broker.port, **more), topics=topics_of(MAP), pause=pause
    )


async def until(condition, seconds=20.0):
    async with asyncio.timeout(seconds):
        while not condition():
            await asyncio.sleep(0.01)


@contextlib.asynccontextmanager
async def listener(store, chosen, lines=None):
    said = [] if lines is None else lines
    task = asyncio.create_task(service.listening(store, chosen, said.append))
    try:
        yield task
    finally:
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task


def subscribed(broker):
    return any(one.patterns for one in broker.sessions.values())


def test_what_is_heard_is_kept_and_acknowledged(store):
    async def run():
        broker = PlainBroker()
        await broker.start()
        async with listener(store, sources(broker)):
            await until(lambda: subscribed(broker))
            for k in range(200):
                broker.publish(*message(k))
            await until(lambda: len(broker.acknowledged) == 200)
        await broker.stop()
        assert sorted(stored(store)) == sorted(times(broker.acknowledged))

    asyncio.run(run())


def test_what_could_not_be_stored_is_not_acknowledged_and_comes_again(store, monkeypatch):
    failures = [3]
    keep = sensorlog.keep

    def failing(*arguments):
        if failures[0]:
            failures[0] -= 1
            raise JournalError("the journal could not be written (disk full)")
        return keep(*arguments)

    monkeypatch.setattr(sensorlog, "keep", failing)

    async def run():
        broker, lines = PlainBroker(), []
        await broker.start()
        async with listener(store, sources(broker), lines):
            await until(lambda: subscribed(broker))
            broker.publish(*message(1))
            await until(lambda: failures[0] < 3)
            assert broker.acknowledged == []
            await until(lambda: broker.acknowledged)
        await broker.stop()
        assert broker.deliveries == 4
        assert any("disk full" in line for line in lines)
        assert stored(store) == times(broker.acknowledged)

    asyncio.run(run())


@pytest.mark.parametrize("forget", [False, True], ids=["sessions-kept", "sessions-lost"])
def test_a_broker_that_restarts_loses_nothing_that_was_acknowledged(store, forget):
    async def run():
        broker = PlainBroker()
        await broker.start()
        async with listener(store, sources(broker)):
            await until(lambda: subscribed(broker))
            for k in range(100):
                broker.publish(*message(k))
            await until(lambda: broker.acknowledged)
            await broker.stop(forget)
            await asyncio.sleep(0.2)
            await broker.start()
            await until(lambda: subscribed(broker) and broker.connections > 1)
            for k in range(100, 150):
                broker.publish(*message(k))
            await until(lambda: times([message(149)[1]])[0] in times(broker.acknowledged))
            if not forget:
                await until(lambda: len(broker.acknowledged) == 150)
        await broker.stop()
        assert set(times(broker.acknowledged)) <= set(stored(store))
        assert len(set(stored(store))) == len(stored(store))

    asyncio.run(run())


def test_pauses_grow_while_there_is_no_broker(store):
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    chosen = service.Sources(broker=Broker("127.0.0.1", port), topics=topics_of(MAP), pause=0.05)

    async def run():
        lines = []
        async with listener(store, chosen, lines):
            await until(lambda: len([one for one in lines if "again in" in one]) >= 3)
        return [one.rsplit("again in ", 1)[1] for one in lines if "again in" in one]

    assert asyncio.run(run())[:3] == ["0.05 s", "0.1 s", "0.2 s"]


def test_a_wrong_password_is_told(store):
    async def run(password):
        broker = PlainBroker(password=b"right")
        await broker.start()
        try:
            chosen = sources(broker, user="u", password=password)
            await service.listening(store, chosen, lambda _: None, once=True)
        finally:
            await broker.stop()

    asyncio.run(run("right"))
    with pytest.raises(InvalidInput, match="nothing was heard"):
        asyncio.run(run("wrong"))


def test_messages_that_say_nothing_are_told_once_and_let_go(store):
    async def run():
        broker, lines = PlainBroker(), []
        await broker.start()
        async with listener(store, sources(broker), lines):
            await until(lambda: subscribed(broker))
            for _ in range(5):
                broker.publish("yard/north/heat", b"hot")
            broker.publish(*message(1))
            await until(lambda: len(broker.acknowledged) == 6)
        await broker.stop()
        assert len([line for line in lines if "said once" in line]) == 1
        assert len(stored(store)) == 1

    asyncio.run(run())


def test_a_message_that_can_never_be_kept_holds_nothing_up(store, monkeypatch):
    monkeypatch.setattr(sensorlog, "MOST_DEVICES", 1)

    async def run():
        broker, lines = PlainBroker(), []
        await broker.start()
        async with listener(store, sources(broker), lines):
            await until(lambda: subscribed(broker))
            for k in range(10):
                broker.publish(*message(k, device="north" if k % 2 == 0 else f"d{k}"))
            await until(lambda: len(broker.acknowledged) == 10)
        await broker.stop()
        assert len(stored(store)) == 5
        assert any("allowed is up to 1" in line for line in lines)

    asyncio.run(run())


def test_once_takes_what_the_broker_held_back(store):
    async def run():
        broker = PlainBroker()
        await broker.start()
        await service.listening(store, sources(broker), lambda _: None, once=True)
        for k in range(30):
            broker.publish(*message(k))
        assert broker.acknowledged == []
        await service.listening(store, sources(broker), lambda _: None, once=True)
        await broker.stop()
        assert len(broker.acknowledged) == 30
        assert len(stored(store)) == 30

    asyncio.run(run())


def certificate(folder):
    program = shutil.which("openssl")
    if program is None:
        pytest.skip("no openssl to make a certificate with")
    key, made = folder / "key.pem", folder / "cert.pem"
    subprocess.run(
        [program, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", key, "-out", made,
         "-days", "2", "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost"],
        check=True,
        capture_output=True,
    )  # fmt: skip
    return key, made


def test_an_encrypted_broker_is_checked_by_its_certificate(store, tmp_path):
    key, made = certificate(tmp_path)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(made, key)

    async def run(authority):
        broker = PlainBroker(tls=context)
        await broker.start()
        where = broker_at(f"mqtts://localhost:{broker.port}", authority=authority)
        chosen = service.Sources(broker=where, topics=topics_of(MAP))
        try:
            await service.listening(store, chosen, lambda _: None, once=True)
            return subscribed(broker)
        finally:
            await broker.stop()

    assert asyncio.run(run(str(made)))
    with pytest.raises(InvalidInput, match=r"(?i)certificate"):
        asyncio.run(run(None))


def test_user_and_password_come_from_a_file_or_the_environment(tmp_path, monkeypatch):
    monkeypatch.setenv("SLOWFIRE_MQTT_USER", "u")
    monkeypatch.setenv("SLOWFIRE_MQTT_PASSWORD", "p")
    assert broker_at("mqtt://h").password == "p"
    (tmp_path / "secret").write_text("me\nword with spaces \n")
    found = broker_at("mqtts://h:1234", tmp_path / "secret")
    assert (found.user, found.password, found.port) == ("me", "word with spaces ", 1234)
    assert "word" not in repr(found)
    with pytest.raises(InvalidInput, match="two lines"):
        broker_at("mqtt://h", tmp_path / "none")
    with pytest.raises(InvalidInput, match="mqtts"):
        broker_at("mqtt://h", authority="cert.pem")


def test_without_the_library_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "aiomqtt", None)
    with pytest.raises(InvalidInput, match=r"slowfire\[mqtt\]"):
        service.sources(None, "mqtt://localhost", "topics.toml", 60.0)


async def kill_listeners(folder, kills):
    """Kill a listener again and again; what was acknowledged, what was sent, what is there."""
    broker = PlainBroker()
    await broker.start()
    topics = folder / "topics.toml"
    topics.write_text(MAP)
    command = [
        sys.executable, "-m", "slowfire", "listen", "--data", str(folder / "data"), "--mqtt",
        f"mqtt://127.0.0.1:{broker.port}", "--topics", str(topics),
    ]  # fmt: skip
    chance, sent = random.Random(1), 0

    async def publish():
        nonlocal sent
        while True:
            if subscribed(broker):
                broker.publish(*message(sent))
                sent += 1
            await asyncio.sleep(0.003)

    stream = asyncio.create_task(publish())
    lost = []
    for turn in range(kills + 1):
        process = await asyncio.create_subprocess_exec(
            *command, stdout=asyncio.subprocess.DEVNULL, env=os.environ
        )
        before = len(broker.acknowledged)
        await until(lambda before=before: len(broker.acknowledged) > before + 5, 60.0)
        if turn == kills:
            stream.cancel()
            await until(lambda: len(broker.acknowledged) >= sent, 60.0)
        else:
            await asyncio.sleep(chance.uniform(0.0, 0.3))
        process.send_signal(signal.SIGKILL)
        await process.wait()
        with open_store(folder / "data") as store:
            lost += set(times(broker.acknowledged)) - set(stored(store))
    await broker.stop()
    with open_store(folder / "data") as store:
        return len(broker.acknowledged), sent, lost, stored(store)


@pytest.mark.parametrize("kills", [2, pytest.param(50, marks=pytest.mark.long)])
def test_a_killed_listener_loses_nothing_that_it_acknowledged(store, tmp_path, kills):
    acknowledged, sent, lost, there = asyncio.run(kill_listeners(tmp_path, kills))
    assert lost == []
    assert acknowledged >= sent > 0
    assert len(there) == len(set(there)) == sent


def test_a_real_broker_with_a_password_and_a_restart(store, tmp_path):
    amqtt = pytest.importorskip("amqtt.broker", reason="amqtt is not installed")
    from aiomqtt import Client
    from amqtt.contexts import BrokerConfig
    from pwdlib import PasswordHash
    from pwdlib.hashers.argon2 import Argon2Hasher

    users = tmp_path / "users"
    users.write_text(f"me:{PasswordHash((Argon2Hasher(),)).hash('word')}\n")
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    config = {
        "listeners": {"default": {"type": "tcp", "bind": f"127.0.0.1:{port}"}},
        "plugins": {"amqtt.plugins.authentication.FileAuthPlugin": {"password_file": str(users)}},
    }

    async def published(numbers):
        async with Client("127.0.0.1", port, username="me", password="word") as client:
            for k in numbers:
                await client.publish(*message(k), qos=1)

    async def run():
        chosen = service.Sources(
            broker=Broker("127.0.0.1", port, user="me", password="word"),
            topics=topics_of(MAP),
            pause=0.1,
        )
        lines = []

        def listening(count):
            return len([one for one in lines if one.startswith("listening")]) >= count

        async with listener(store, chosen, lines):
            for turn in range(2):
                broker = amqtt.Broker(BrokerConfig.from_dict(config))
                await broker.start()
                await until(lambda turn=turn: listening(turn + 1))
                await published(range(20 * turn, 20 * turn + 20))
                await until(lambda turn=turn: len(stored(store)) == 20 * (turn + 1))
                await broker.shutdown()

    asyncio.run(run())
    assert len(set(stored(store))) == 40


def test_a_bus_is_read_again_and_again_and_a_full_disk_loses_no_value(store, tmp_path, monkeypatch):
    folder = tmp_path / "bus" / "28-0123456789ab"
    folder.mkdir(parents=True)
    failures = [2]
    keep = sensorlog.keep

    def failing(*arguments):
        if failures[0]:
            failures[0] -= 1
            raise JournalError("the journal could not be written (disk full)")
        return keep(*arguments)

    monkeypatch.setattr(sensorlog, "keep", failing)

    async def run():
        lines = []
        chosen = service.Sources(one_wire=tmp_path / "bus", every=0.05)
        (folder / "w1_slave").write_text(SLAVE.format(23125))
        async with listener(store, chosen, lines):
            await until(lambda: len(stored(store)) >= 5)
        return lines

    lines = asyncio.run(run())
    assert failures == [0]
    assert any("disk full" in line for line in lines)
    assert sum("23.1 °C" in line for line in lines) >= 5
