"""What messages of a broker mean: a map from topics and JSON paths to measurements.

The map is a TOML file with a `[[topics]]` table for each pattern. `{device}` and `{channel}` stand
for one level of the topic each; `+` is any level, and a last `#` all the rest.
"""

import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from slowfire.errors import InvalidInput
from slowfire.refusals import RefusedField, name_text, nearest
from slowfire.sensors.measurement import (
    FIRST_CHANNEL,
    TEMPERATURE,
    Measurement,
    number_of,
    time_of,
    unit_of,
)
from slowfire.tables_text import read_text

DEVICE, CHANNEL = "{device}", "{channel}"
KEYS = ("topic", "device", "channel", "value", "values", "when", "unit", "quantity")
DEFAULT_UNITS = {TEMPERATURE: "C", "relative_humidity": "%", "battery": "V"}
LONGEST_PAYLOAD = 100_000


@dataclass(frozen=True)
class Topic:
    """One pattern of topics and what its messages hold.

    Attributes
    ----------
    pattern : tuple of str
        Levels of the topic.
    device : str
        Name of the device, where the topic does not say it.
    paths : mapping of str to str
        JSON path of the value by channel; an empty path is a plain number. The channel is empty
        where the topic says it.
    when : str
        JSON path of the time; empty if messages hold none.
    unit, quantity : str
        Of the values.
    """

    pattern: tuple[str, ...]
    device: str
    paths: Mapping[str, str]
    when: str
    unit: str
    quantity: str

    @property
    def subscription(self) -> str:
        """The pattern as a broker understands it."""
        return "/".join("+" if one in (DEVICE, CHANNEL) else one for one in self.pattern)

    def names_in(self, topic: str) -> dict[str, str] | None:
        """What a topic says of device and channel; None if it does not fit."""
        levels = topic.split("/")
        found: dict[str, str] = {}
        for place, part in enumerate(self.pattern):
            if part == "#":
                return found
            if place >= len(levels):
                return None
            if part in (DEVICE, CHANNEL):
                found[part] = levels[place]
            elif part not in ("+", levels[place]):
                return None
        return found if len(levels) == len(self.pattern) else None


def read_topics(path: Path) -> tuple[Topic, ...]:
    """Read a map of topics from a file; see `topics_of`."""
    return topics_of(read_text(path), path.name)


def topics_of(text: str, file: str = "topics") -> tuple[Topic, ...]:
    """Read a map of topics.

    Parameters
    ----------
    text : str
        TOML with a [[topics]] table for each pattern [-].
    file : str
        Its name, for messages [-].

    Returns
    -------
    tuple of Topic

    Raises
    ------
    InvalidInput
        With the number of the table and what is allowed.

    Examples
    --------
    >>> one = topics_of('[[topics]]\\ntopic = "yard/{device}/heat"\\nvalue = "probe.0"')[0]
    >>> one.subscription, dict(one.paths)
    ('yard/+/heat', {'1': 'probe.0'})
    """
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise InvalidInput(f"{file} is no TOML: {problem}.") from problem
    tables = content.pop("topics", None)
    if content or not isinstance(tables, list) or not tables:
        raise InvalidInput(f"{file} holds no [[topics]] table, or others; allowed are only those.")
    found = []
    for number, table in enumerate(tables, start=1):
        try:
            found.append(_topic(table))
        except InvalidInput as problem:
            raise InvalidInput(f"{file}, topics table {number}: {problem}") from problem
    return tuple(found)


def heard(
    topics: Sequence[Topic], topic: str, payload: bytes, retained: bool, now: datetime
) -> tuple[Measurement, ...]:
    """Read one message.

    Parameters
    ----------
    topics : sequence of Topic
        The map; the first that fits is taken [-].
    topic : str
        Of the message [-].
    payload : bytes
        Its content [-].
    retained : bool
        Whether the broker kept it from earlier; such a one counts only with its own time [-].
    now : datetime
        The present, for messages without a time [-].

    Returns
    -------
    tuple of Measurement
        None of them if the message says nothing new.

    Raises
    ------
    InvalidInput
        If no pattern fits, or the content is not what the map says.
    """
    for one in topics:
        names = one.names_in(topic)
        if names is not None:
            return _measurements(one, names, payload, retained, now)
    raise InvalidInput(f"topic {topic[:80]!r} fits no pattern of the map.")


def at_path(content: Any, path: str) -> Any:
    """What stands at a path such as probes.0.value.

    Raises
    ------
    InvalidInput
        If there is nothing.

    Examples
    --------
    >>> at_path({"probes": [{"value": 41.5}]}, "probes.0.value")
    41.5
    """
    for part in path.split(".") if path else ():
        if isinstance(content, list) and part.isascii() and part.isdecimal():
            place = int(part[:9])
            if place < len(content):
                content = content[place]
                continue
        elif isinstance(content, dict) and part in content:
            content = content[part]
            continue
        raise InvalidInput(f"nothing stands at {path!r} in the message.")
    return content


def _measurements(
    one: Topic, names: Mapping[str, str], payload: bytes, retained: bool, now: datetime
) -> tuple[Measurement, ...]:
    if retained and not one.when:
        return ()
    if len(payload) > LONGEST_PAYLOAD:
        raise InvalidInput(f"the message has {len(payload)} bytes; allowed is {LONGEST_PAYLOAD}.")
    try:
        text = payload.decode("utf-8").strip()
        paths = one.when or any(one.paths.values())
        content = json.loads(text) if paths else text
    except (ValueError, RecursionError) as problem:
        wanted = "JSON" if one.when or any(one.paths.values()) else "a number"
        raise InvalidInput(f"read {payload[:40]!r}; allowed is {wanted}.") from problem
    when = time_of(at_path(content, one.when)) if one.when else now
    device = names.get(DEVICE, one.device)
    return tuple(
        Measurement(
            device,
            names.get(CHANNEL, channel),
            when,
            number_of(at_path(content, path)),
            one.quantity,
            one.unit,
        )
        for channel, path in one.paths.items()
    )


def _topic(table: object) -> Topic:
    if not isinstance(table, dict):
        raise InvalidInput("a table is needed.")
    for key in table:
        if key not in KEYS:
            raise RefusedField(
                key, f"{key!r} is not known; allowed is {', '.join(KEYS)}.{nearest(key, KEYS)}"
            )
    pattern = _pattern(_word(table, "topic"))
    device = _word(table, "device")
    channel = _word(table, "channel")
    if (DEVICE in pattern) == bool(device):
        raise RefusedField("device", "say the device once: as {device} in the topic, or under it.")
    values = table.get("values")
    if values is None:
        values = {channel or FIRST_CHANNEL: _word(table, "value")}
    elif "value" in table or channel or CHANNEL in pattern:
        raise RefusedField("values", "values names the channels itself; take the others out.")
    if not isinstance(values, dict) or not values:
        raise RefusedField("values", 'values is a table such as {top = "t1", core = "t2"}.')
    if channel and CHANNEL in pattern:
        raise RefusedField("channel", "say the channel once: in the topic, or under it.")
    quantity = _word(table, "quantity") or TEMPERATURE
    unit = unit_of(quantity, _word(table, "unit") or DEFAULT_UNITS.get(quantity, ""))
    paths = {name_text("channel", name): _path(path) for name, path in values.items()}
    clean = name_text("device", device) if device else ""
    return Topic(pattern, clean, paths, _word(table, "when"), unit, quantity)


def _pattern(text: str) -> tuple[str, ...]:
    levels = tuple(text.split("/"))
    wrong = not text or text.startswith("$") or "#" in levels[:-1]
    for one in levels:
        odd = one not in (DEVICE, CHANNEL, "+", "#") and any(sign in one for sign in "{}+#\0")
        wrong = wrong or odd or (one in (DEVICE, CHANNEL) and levels.count(one) > 1)
    if wrong or len(text) > 1000:
        raise RefusedField(
            "topic",
            f"topic is {text[:80]!r}; allowed is such as yard/{{device}}/heat, each placeholder "
            "once and a level of its own.",
        )
    return levels


def _path(path: object) -> str:
    if not isinstance(path, str):
        raise RefusedField("values", f"a path is {path!r}; write it in quotes.")
    return path


def _word(table: Mapping[str, object], key: str) -> str:
    value = table.get(key, "")
    if not isinstance(value, str):
        raise RefusedField(key, f"{key} is {value!r}; write it in quotes.")
    return value.strip()
