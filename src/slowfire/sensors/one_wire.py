"""Thermometers on a one-wire bus, as the Linux kernel shows them: a folder for each.

Each folder is named by the number burnt into the thermometer and holds `w1_slave` (bytes with
their checksum, then the temperature), on newer kernels also `temperature`.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from slowfire.sensors.measurement import FIRST_CHANNEL, Measurement

BUS = Path("/sys/bus/w1/devices")
THERMOMETERS = "28-*"  # the family of digital thermometers with 12 bits
NAME = re.compile(r"28-[0-9a-f]{12}", re.IGNORECASE)
MILLIDEGREES = re.compile(r"[-+]?\d{1,6}", re.ASCII)
POWER_ON = 85_000  # the register says so before anything was measured
LONGEST = 4096


@dataclass(frozen=True)
class Heard:
    """What was found on a bus: values, and why others are missing, for people."""

    measurements: tuple[Measurement, ...]
    problems: tuple[str, ...]


def read_bus(folder: Path, clock: Callable[[], datetime] | None = None) -> Heard:
    """Read every thermometer of a bus once.

    Parameters
    ----------
    folder : Path
        Where the kernel shows the bus [-].
    clock : callable or None
        Gives the present; the clock of this machine if None [-].

    Returns
    -------
    Heard
        A thermometer that cannot be read is a problem in words, never an error.
    """
    now = clock or _clock
    if not folder.is_dir():
        return Heard((), (f"{folder} is not there; is the one-wire bus switched on?",))
    found: list[Measurement] = []
    problems: list[str] = []
    names = sorted(one.name for one in folder.glob(THERMOMETERS) if NAME.fullmatch(one.name))
    for name in names:
        thousandths, problem = _read(folder / name)
        if thousandths is None:
            problems.append(f"{name}: {problem}")
        else:
            found.append(Measurement(name.lower(), FIRST_CHANNEL, now(), thousandths / 1000.0))
    if not names:
        problems.append(f"no thermometer is on the bus at {folder}; look at the wires.")
    return Heard(tuple(found), tuple(problems))


def read_slave(text: str) -> tuple[int | None, str]:
    """Thousandths of a degree Celsius in the text of `w1_slave`, or None and why.

    Examples
    --------
    >>> read_slave("72 01 4b 46 7f ff 0e 10 57 : crc=57 YES\\n72 01 4b 46 7f ff 0e 10 57 t=23125")
    (23125, '')
    """
    lines = text.strip().splitlines()
    if not lines or not lines[0].rstrip().endswith("YES"):
        return None, "the checksum is wrong (a loose wire, or too long a one); left out."
    found = re.search(r"t=([-+]?\d{1,6})\s*$", lines[-1], re.ASCII) if len(lines) > 1 else None
    if found is None:
        return None, "no temperature stands in w1_slave; left out."
    return _believed(int(found[1]))


def _read(folder: Path) -> tuple[int | None, str]:
    """The checked file first: `temperature` alone cannot say that a checksum was wrong."""
    text = _text(folder / "w1_slave")
    if text is not None:
        return read_slave(text)
    text = _text(folder / "temperature")
    if text is None:
        return None, "it does not answer; left out."
    if not MILLIDEGREES.fullmatch(text.strip()):
        return None, f"read {text.strip()[:20]!r} where a temperature should stand; left out."
    return _believed(int(text))


def _believed(thousandths: int) -> tuple[int | None, str]:
    if thousandths == POWER_ON:
        return None, "85 °C is what it shows before it measured (too little power?); left out."
    return thousandths, ""


def _text(path: Path) -> str | None:
    """Content of a file of the kernel; None if it is missing or reading it fails."""
    try:
        with path.open("rb") as stream:
            return stream.read(LONGEST).decode("ascii", "replace")
    except OSError:
        return None


def _clock() -> datetime:
    return datetime.now(UTC)
