"""One value: its unit, its time, and what is refused."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.errors import InvalidInput
from slowfire.sensors.measurement import Measurement, milliseconds, moment, number_of, time_of

MORNING = datetime(2026, 3, 2, 9, tzinfo=UTC)


@pytest.mark.parametrize(
    ("value", "unit", "celsius"),
    [(131, "F", 55.0), (55, "°C", 55.0), (328.15, "K", 55.0), (-40, "degF", -40.0)],
)
def test_units_of_temperature(value, unit, celsius):
    assert Measurement("n", "1", MORNING, value, unit=unit).si == pytest.approx(celsius, abs=1e-9)


def test_times_are_kept_in_utc_to_the_millisecond():
    local = datetime(2026, 3, 2, 10, 0, 0, 123456, tzinfo=timezone(timedelta(hours=1)))
    one = Measurement("n", "1", local, 1.0)
    assert one.when == datetime(2026, 3, 2, 9, 0, 0, 123000, tzinfo=UTC)
    assert moment(one.milliseconds) == one.when


@given(st.datetimes(datetime(1970, 1, 1), datetime(2099, 12, 31), timezones=st.just(UTC)))
def test_milliseconds_lead_back(when):
    assert moment(milliseconds(when)) == when.replace(microsecond=when.microsecond // 1000 * 1000)


@pytest.mark.parametrize(
    "changed",
    [
        {"when": datetime(2026, 3, 2, 9)},
        {"value": float("nan")},
        {"value": True},
        {"value": 1e9},
        {"unit": "V"},
        {"unit": ""},
        {"quantity": "colour"},
        {"device": " "},
        {"channel": "a\x00b"},
        {"when": datetime(1969, 12, 31, tzinfo=UTC)},
    ],
)
def test_what_is_refused(changed):
    plain = {"device": "n", "channel": "1", "when": MORNING, "value": 1.0}
    Measurement(**plain)
    with pytest.raises(InvalidInput):
        Measurement(**{**plain, **changed})


@pytest.mark.parametrize(
    "text",
    ["2026-03-02T09:00:00Z", "2026-03-02 10:00+01:00", 1772442000, 1772442000000, "1772442000.0"],
)
def test_times_as_devices_write_them(text):
    assert time_of(text) == MORNING


@pytest.mark.parametrize(
    "text",
    [
        "",
        "noon",
        "2026-03-02 09:00",
        "2026-13-02T09:00Z",
        -1,
        float("nan"),
        1e30,
        True,
        None,
        [],
        "²",
    ],
)
def test_times_that_are_none(text):
    with pytest.raises(InvalidInput):
        time_of(text)


@pytest.mark.parametrize("value", ["", "warm", "1e999", "nan", None, True, [1], 10**400])
def test_numbers_that_are_none(value):
    with pytest.raises(InvalidInput):
        number_of(value)
