"""Devices push: by their token only, and the same body again changes nothing."""

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from slowfire.journal import sensor_devices
from slowfire.sensors.push import LARGEST_BODY
from slowfire.services import sensors as service
from slowfire.web.home import Home
from slowfire.web.pages import push

BODY = {"channel": "core", "when": "2026-03-02T09:00:00Z", "value": 41.5}


@pytest.fixture
def pushing(ready):
    _, store = ready
    app = FastAPI()
    app.state.home = Home(store, None)
    app.include_router(push.router)
    token = service.token(store.folder, "north")
    return TestClient(app), store, {"Authorization": f"Bearer {token}"}


def test_a_value_is_kept_and_again_it_is_known(pushing):
    client, store, allowed = pushing
    first = client.post("/push", json=BODY, headers=allowed)
    assert first.status_code == 200
    assert (first.json()["new"], first.json()["known"]) == (1, 0)
    for _ in range(3):
        again = client.post("/push", json=BODY, headers=allowed)
        assert (again.json()["new"], again.json()["known"]) == (0, 1)
    (device,) = sensor_devices.devices(store)
    (probe,) = device.probes
    assert sensor_devices.last_value(store, probe.number).value == 41.5


def test_csv_and_what_is_left_out(pushing):
    client, _, allowed = pushing
    body = "when,value\n2026-03-02T09:00Z,41.5\n2026-03-02T09:01Z,85\n"
    answer = client.post("/push", content=body, headers=allowed).json()
    assert (answer["new"], answer["left_out"]) == (2, 1)
    assert any("left out 1" in line for line in answer["words"])


@pytest.mark.parametrize(
    "header", [None, "", "Bearer", "Bearer ", "Bearer wrong", "Basic eDp5", "bearer \u00e9"]
)
def test_without_a_token_nothing_is_taken(pushing, header):
    client, store, _ = pushing
    headers = {} if header is None else {"Authorization": header.encode("utf-8")}
    answer = client.post("/push", json=BODY, headers=headers)
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"] == "Bearer"
    assert sensor_devices.devices(store)[0].probes == ()


def test_an_old_token_is_no_longer_valid(pushing):
    client, store, allowed = pushing
    service.token(store.folder, "north")
    assert client.post("/push", json=BODY, headers=allowed).status_code == 401


def test_the_token_itself_is_kept_nowhere(pushing):
    _, store, allowed = pushing
    token = allowed["Authorization"].split()[1].encode()
    with store.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    for file in store.folder.glob("journal.db*"):
        assert token not in file.read_bytes()


@pytest.mark.parametrize("body", [b"", b"{", b"[1]", b'{"value": "x"}', b"\xff"])
def test_a_bad_body_is_told_and_none_of_it_taken(pushing, body):
    client, store, allowed = pushing
    answer = client.post("/push", content=body, headers=allowed)
    assert answer.status_code == 422
    assert answer.json()["problem"]
    assert sensor_devices.devices(store)[0].probes == ()


def test_a_body_too_large_is_refused_even_in_pieces(pushing):
    client, _, allowed = pushing
    assert client.post("/push", content=b" " * (LARGEST_BODY + 1), headers=allowed).status_code == (
        413
    )

    def pieces():
        for _ in range(LARGEST_BODY // 100_000 + 2):
            yield b" " * 100_000

    assert client.post("/push", content=pieces(), headers=allowed).status_code == 413


def test_the_unit_of_the_probe_is_taken_where_none_is_sent(pushing):
    client, store, allowed = pushing
    bin_name = store.site().bins[0].name
    service.add(
        store.folder, "north", channel="core", bin_name=bin_name, thermometer="probe", unit="F"
    )
    client.post("/push", json={**BODY, "value": 131}, headers=allowed)
    probe = sensor_devices.devices(store)[0].probes[0]
    assert sensor_devices.last_value(store, probe.number).value == pytest.approx(55.0)
