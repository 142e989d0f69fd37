"""What a device may push, and what is told if it is not."""

import contextlib
import json
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.errors import InvalidInput
from slowfire.sensors.push import LARGEST_BODY, NotAllowed, new_token, pushed, token_hash

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
TOKEN = "a token of this test"
KNOWN = {token_hash("another"): "south", token_hash(TOKEN): "north"}


def sent(body, token=TOKEN, **more):
    raw = body if isinstance(body, bytes) else json.dumps(body).encode()
    return pushed(raw, token, KNOWN, NOW, **more)


def test_one_value():
    (one,) = sent({"value": 41.5})
    assert (one.device, one.channel, one.when, one.si) == ("north", "1", NOW, 41.5)


def test_several_with_all_they_may_say():
    found = sent(
        [
            {"channel": "core", "when": "2026-03-02T09:00+01:00", "value": "131", "unit": "F"},
            {"channel": "lid", "value": 80, "quantity": "relative_humidity", "when": 1772442000},
        ]
    )
    assert [(one.channel, round(one.si, 6), one.when.hour) for one in found] == [
        ("core", 55.0, 8),
        ("lid", 80, 9),
    ]


def test_lines_of_csv():
    body = b"when,channel,value\r\n2026-03-02T09:00Z,core,41.5\r\n2026-03-02T09:01Z,lid,12\r\n"
    assert [(one.channel, one.si, one.when.minute) for one in sent(body)] == [
        ("core", 41.5, 0),
        ("lid", 12.0, 1),
    ]


def test_the_unit_of_the_channel_is_taken_where_none_is_sent():
    assert sent({"value": 131}, units={"1": "F"})[0].si == pytest.approx(55.0)
    assert sent({"value": 55, "unit": "C"}, units={"1": "F"})[0].si == 55.0


@pytest.mark.parametrize("token", ["", "another one", TOKEN.upper(), token_hash(TOKEN)])
def test_only_with_its_token(token):
    with pytest.raises(NotAllowed, match="--token"):
        sent({"value": 1}, token=token)


def test_tokens_are_long_and_differ():
    made = {new_token() for _ in range(50)}
    assert len(made) == 50
    assert min(map(len, made)) >= 43


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"", "empty"),
        (b"  \n", "empty"),
        (b"\xff\xfe1", "UTF-8"),
        (b"{", "JSON"),
        (b"[" * 100_000, "JSON"),
        (b'{"value": NaN}', "Value 1"),
        (b'{"value": 1e400}', "Value 1"),
        (b'{"value": 1%s}' % (b"0" * 4000), "Value 1"),
        (b"[1]", "Value 1"),
        (b'{"temp": 3}', "'temp'"),
        (b'{"channel": "a"}', "no value"),
        (b'[{"value": 1}, {"value": 2, "unit": "X"}]', "Value 2"),
        (b'{"value": 1, "when": "2026-03-02 09:00"}', "offset"),
        (b'{"value": 1, "channel": "\\u0000"}', "Value 1"),
        (b"41.5", "heading"),
        (b"value,value\n1,2", "heading"),
        (b"value,warmth\n1,2", "heading"),
        (b"when,value\n2026-03-02T09:00Z", "cells"),
        (b'value\n"1', "CSV"),
    ],
)
def test_what_cannot_be_read_is_told(body, words):
    with pytest.raises(InvalidInput, match=words):
        sent(body)


def test_a_body_too_large_or_with_too_many_values():
    with pytest.raises(InvalidInput, match="allowed is up to"):
        sent(b" " * (LARGEST_BODY + 1))
    with pytest.raises(InvalidInput, match="at once"):
        sent(b"value\n" + b"1\n" * 20_001)


@given(st.binary(max_size=300))
def test_no_bytes_do_worse_than_a_refusal(body):
    with contextlib.suppress(InvalidInput):
        assert all(one.device == "north" for one in sent(body))


@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.text(max_size=5) | st.integers(),
        lambda one: (
            st.lists(one, max_size=3)
            | st.dictionaries(st.sampled_from(["value", "when", "unit", "channel", "x"]), one)
        ),
    )
)
def test_no_json_does_worse_than_a_refusal(content):
    with contextlib.suppress(InvalidInput):
        assert all(one.device == "north" for one in sent(content))
