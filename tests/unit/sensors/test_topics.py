"""The map of topics: patterns, paths, and what messages mean."""

import json
from datetime import UTC, datetime

import pytest

from slowfire.errors import InvalidInput
from slowfire.sensors.topics import heard, topics_of

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
MAP = """
[[topics]]
topic = "yard/{device}/heat"

[[topics]]
topic = "yard/{device}/{channel}/json"
value = "probe.celsius"
when = "at"

[[topics]]
topic = "roof/#"
device = "roof"
values = {top = "t.0", core = "t.1"}
unit = "F"

[[topics]]
topic = "air/+/{device}"
quantity = "relative_humidity"
"""


def read(topic, payload, retained=False):
    raw = payload if isinstance(payload, bytes) else json.dumps(payload).encode()
    return [
        (one.device, one.channel, round(one.si, 6), one.when, one.quantity)
        for one in heard(topics_of(MAP), topic, raw, retained, NOW)
    ]


def test_a_plain_number():
    assert read("yard/north/heat", b" 41.5 ") == [("north", "1", 41.5, NOW, "temperature")]


def test_device_and_channel_in_the_topic_and_a_path():
    at = "2026-03-02T08:00:00Z"
    found = read("yard/north/core/json", {"probe": {"celsius": 41.5}, "at": at})
    assert found == [("north", "core", 41.5, datetime(2026, 3, 2, 8, tzinfo=UTC), "temperature")]


def test_several_values_of_one_message():
    assert read("roof/a/b", {"t": [131, 32]}) == [
        ("roof", "top", 55.0, NOW, "temperature"),
        ("roof", "core", 0.0, NOW, "temperature"),
    ]


def test_a_level_that_does_not_matter():
    assert read("air/x/south", b"80")[0][:3] == ("south", "1", 80.0)


def test_a_retained_message_counts_only_with_its_own_time():
    assert read("yard/north/heat", b"41.5", retained=True) == []
    message = {"probe": {"celsius": 1}, "at": 1772442000}
    assert len(read("yard/north/core/json", message, retained=True)) == 1


@pytest.mark.parametrize(
    ("topic", "payload"),
    [
        ("yard/north", b"1"),
        ("yard/north/heat/more", b"1"),
        ("yard/north/heat", b"warm"),
        ("yard/north/heat", b"\xff"),
        ("yard/north/heat", b"1" * 200_000),
        ("yard//heat", b"1"),
        ("roof/a", b"no json"),
        ("roof/a", b"[" * 50_000),
        ("roof/a", b'{"t": [1]}'),
        ("roof/a", b'{"t": {"0": 1}}'),
        ("yard/n/c/json", b'{"probe": {"celsius": 1}}'),
    ],
)
def test_what_a_message_may_not_be(topic, payload):
    with pytest.raises(InvalidInput):
        read(topic, payload)


def test_subscriptions():
    assert [one.subscription for one in topics_of(MAP)] == [
        "yard/+/heat", "yard/+/+/json", "roof/#", "air/+/+",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        "",
        "not toml =",
        "topics = 3",
        "[topics]\ntopic = 'a'",
        "[[topics]]\ntopic = 'a/b'",
        "[[topics]]\ntopic = 'a/{device}'\ndevice = 'x'",
        "[[topics]]\ntopic = 'a/x{device}'",
        "[[topics]]\ntopic = 'a/{device}/{device}'",
        "[[topics]]\ntopic = '#/{device}'",
        "[[topics]]\ntopic = 'a/#/{device}'",
        "[[topics]]\ntopic = '{device}/{place}'",
        "[[topics]]\ntopic = '{device}'\nunits = 'C'",
        "[[topics]]\ntopic = '{device}'\nunit = 'X'",
        "[[topics]]\ntopic = '{device}'\nvalue = 3",
        "[[topics]]\ntopic = '{device}'\nvalues = {}",
        "[[topics]]\ntopic = '{device}'\nvalues = {a = 1}",
        "[[topics]]\ntopic = '{device}/{channel}'\nvalues = {a = 'x'}",
        "[[topics]]\ntopic = '{device}/{channel}'\nchannel = 'x'",
        "[[topics]]\ntopic = '$SYS/{device}'",
        "[[others]]\ntopic = '{device}'",
    ],
)
def test_maps_that_are_refused(text):
    with pytest.raises(InvalidInput, match="topics"):
        topics_of(text)
