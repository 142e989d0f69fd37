"""Which values of one probe are to be believed, and why the others are not.

Every limit is common practice, no source, and is chosen so that what a bin can do is kept: its
temperature creeps, a lid opened lasts minutes, a thermometer that died repeats itself.
"""

from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from slowfire.quantities import to_celsius

LOWEST, HIGHEST = -40.0, 85.0  # [degC], as for a reading in the journal
LIMITS = {"relative_humidity": (0.0, 100.0), "battery": (0.0, 30.0)}
FAULT_VALUES = (85.0, -127.0)  # [degC], shown by a sensor that measured nothing
ZERO_CELSIUS = 273.15  # [K]
BEFORE_ALL = 946_684_800.0  # the year 2000: a clock that was never set [s]
AHEAD = 3600.0  # a clock a little fast is no mistake [s]
JUMP = 4.0  # between two values next to each other [K]
JUMP_RATE = 8.0 / 3600.0  # and so much more for each second between them [K/s]
NEAR = 3.0 * 3600.0  # values farther apart than this are not compared [s]
SHORT = 900.0  # a departure that ends sooner was a glitch, or an open lid [s]
SAME_UNIT = 1.5  # a jump that another unit explains this well is one [K]
UNIT_JUMP = 10.0  # [K]
STUCK_AFTER = 12.0 * 3600.0  # one value for so long, where tenths are shown [s]
STUCK_AFTER_COARSE = 48.0 * 3600.0  # and where only halves or whole degrees are [s]
STUCK_COUNT = 12  # values at least
LOOK_BACK = NEAR  # a new value may change what was said of those so long before it [s]
GAP = 3.0 * 3600.0  # silence that is worth telling [s]

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]


class Reason(IntEnum):
    """Why a value is left out; KEPT if it is not."""

    KEPT = 0
    RANGE = 1
    UNIT = 2
    FAULT = 3
    CLOCK = 4
    STUCK = 5
    SPIKE = 6
    JUMP = 7
    BY_HAND = 8


WORDS = {
    Reason.KEPT: "kept",
    Reason.RANGE: "out of range (-40 to 85 °C); if the bin is really so hot, see to it at once",
    Reason.UNIT: "looks like another unit (Fahrenheit or kelvin for Celsius, or the reverse)",
    Reason.FAULT: "the value a sensor shows when it measured nothing",
    Reason.CLOCK: "its clock is wrong: not set, or ahead",
    Reason.STUCK: "stuck: the same value for too long",
    Reason.SPIKE: "spike: gone and back within minutes",
    Reason.JUMP: "jump: waits for the next values to confirm it",
    Reason.BY_HAND: "left out by you",
}
# What was said of these does not change when more values come in.
FIRM = (Reason.CLOCK, Reason.BY_HAND)


def judge(
    when_measured: Floats,
    measured: Floats,
    present: float,
    same_since: float | None = None,
    first: int = Reason.KEPT,
    quantity: str = "temperature",
) -> Codes:
    """Say of each value of one probe whether it is kept, or why not.

    A value alone is held against its range; then against its neighbours: two next to each other
    may differ by 4 K + 8 K/h * distance; what departs further and is back within 15 minutes is a
    spike, and what has not come back yet waits; one value for 12 hours (48 where only halves of a
    degree are shown) is stuck from then on.

    Parameters
    ----------
    when_measured : ndarray, shape (values,)
        When, since the beginning of 1970, rising [s].
    measured : ndarray, shape (values,)
        Temperatures in degrees Celsius, or humidity in percent, or volts [-].
    present : float
        The present, since the beginning of 1970 [s].
    same_since : float or None
        Since when the first value was the same already [s].
    first : int
        What was said of the first value before, a `Reason` [-].
    quantity : str
        What is measured: temperature, relative_humidity or battery.

    Returns
    -------
    ndarray, shape (values,)
        A `Reason` for each [-].

    Notes
    -----
    Our own rules; their limits are common practice, no source. Decided from a value and those
    around it alone, so that the order in which they arrive does not matter in the end.

    Examples
    --------
    >>> import numpy as np
    >>> minutes = 60.0 * np.arange(6.0) + 1.8e9
    >>> codes = judge(minutes, np.array([40.1, 40.2, 71.0, 40.2, 40.3, 104.0]), 1.9e9)
    >>> [Reason(code).name for code in codes]
    ['KEPT', 'KEPT', 'SPIKE', 'KEPT', 'KEPT', 'UNIT']
    """
    codes = np.zeros(len(measured), dtype=np.int64)
    codes[(when_measured < BEFORE_ALL) | (when_measured > present + AHEAD)] = Reason.CLOCK
    if quantity != "temperature":
        low, high = LIMITS[quantity]
        codes[(codes == 0) & ~((measured >= low) & (measured <= high))] = Reason.RANGE
        return codes
    outside = ~((measured >= LOWEST) & (measured <= HIGHEST))
    codes[(codes == 0) & outside] = Reason.RANGE
    codes[np.isin(measured, FAULT_VALUES) & (codes != Reason.CLOCK)] = Reason.FAULT
    codes[(codes == Reason.RANGE) & _another_unit(measured)] = Reason.UNIT
    _units_by_jump(measured, codes, first)
    _spikes(when_measured, measured, codes)
    _stuck(when_measured, measured, codes, same_since)
    return codes


def gaps(when_measured: Floats, end_time: float, silence: float = GAP) -> list[tuple[float, float]]:
    """Find the stretches in which a probe said nothing.

    Parameters
    ----------
    when_measured : ndarray, shape (values,)
        When it said something, since the beginning of 1970, rising [s].
    end_time : float
        The end of the time looked at [s].
    silence : float
        Shorter stretches are not told, usually 10800 [s].

    Returns
    -------
    list of tuple
        Begin and end of each.

    Notes
    -----
    Our own rule; the limit is common practice, no source.

    Examples
    --------
    >>> import numpy as np
    >>> gaps(np.array([0.0, 60.0, 20000.0]), 20060.0)
    [(60.0, 20000.0)]
    """
    if not len(when_measured):
        return []
    ends = np.append(when_measured, max(end_time, float(when_measured[-1])))
    wide = np.flatnonzero(np.diff(ends) > silence)
    return [(float(ends[place]), float(ends[place + 1])) for place in wide]


def _another_unit(values: Floats) -> NDArray[np.bool_]:
    """Whether a value too high for Celsius is that of a bin in Fahrenheit or kelvin."""
    found = np.zeros(len(values), dtype=np.bool_)
    for celsius in ((values - 32.0) * 5.0 / 9.0, values - ZERO_CELSIUS):
        found |= (values > HIGHEST) & (celsius >= LOWEST) & (celsius <= HIGHEST)
    return found


def _units_by_jump(values: Floats, codes: Codes, first: int) -> None:
    """Mark what departs from the values before it just as another unit would, until it is back."""
    places = np.flatnonzero((codes == Reason.KEPT) | (codes == Reason.UNIT))
    if not len(places):
        return
    foreign = first == Reason.UNIT
    odd = foreign or bool(np.any(codes[places] == Reason.UNIT))
    if not odd and not np.any(np.abs(np.diff(values[places])) > UNIT_JUMP):
        return
    shown = values[places].tolist()
    known = None if foreign else shown[0]
    last = shown[0]
    for step, (place, value) in enumerate(zip(places.tolist(), shown, strict=True)):
        jumped = abs(value - last) > UNIT_JUMP
        last = value
        if codes[place] == Reason.UNIT:
            if step and not jumped and not foreign:
                # crept up to there: hot, not another unit
                codes[place] = Reason.RANGE
            else:
                foreign = True
            continue
        if jumped:
            foreign = known is not None and not foreign and _alike(value, known)
        if foreign:
            codes[place] = Reason.UNIT
        else:
            known = value


def _alike(value: float, known: float) -> bool:
    """Whether a value is what was known, in another unit."""
    others = (to_celsius(value), value * 1.8 + 32.0)
    return min(abs(one - known) for one in others) < SAME_UNIT


def _spikes(seconds: Floats, values: Floats, codes: Codes) -> None:
    """Mark stretches that jump away and come back soon, and one of which that is still open."""
    places = np.flatnonzero(codes == 0)
    if len(places) < 2:
        return
    when, shown = seconds[places], values[places]
    apart = np.diff(when)
    jumps = (apart <= NEAR) & (np.abs(np.diff(shown)) > JUMP + JUMP_RATE * apart)
    begins = np.flatnonzero(jumps) + 1
    if not len(begins):
        return
    ends = np.append(begins[1:], len(places))
    believed = int(begins[0]) - 1  # the last value that was
    place = 0
    while place < len(begins):
        begin, end = int(begins[place]), int(ends[place])
        back = _back_at(when, shown, begins, place, believed)
        if back == place or when[end - 1] - when[begin] >= SHORT:
            place, believed = place + 1, end - 1
        elif back is not None:
            codes[places[begin : begins[back]]] = Reason.SPIKE
            place = back
        elif when[-1] - when[begin] < SHORT:
            codes[places[begin:]] = Reason.JUMP
            return
        else:
            place, believed = place + 1, end - 1


def _back_at(
    when: Floats, shown: Floats, begins: NDArray[np.int64], place: int, believed: int
) -> int | None:
    """The stretch, this one or a later one soon after it, that goes on from what was believed."""
    for other in range(place, len(begins)):
        begin = int(begins[other])
        if other > place + 1 and when[begin] - when[int(begins[place])] > SHORT:
            return None
        allowed = JUMP + JUMP_RATE * (when[begin] - when[believed])
        if abs(shown[begin] - shown[believed]) <= allowed:
            return other
    return None


def _stuck(seconds: Floats, values: Floats, codes: Codes, same_since: float | None) -> None:
    """Mark what goes on with one value for longer than a bin can."""
    places = np.flatnonzero(codes == 0)
    if not len(places):
        return
    when, shown = seconds[places], values[places]
    starts = np.concatenate(([0], np.flatnonzero(np.diff(shown) != 0.0) + 1))
    ends = np.append(starts[1:], len(places))
    for begin, end in zip(starts, ends, strict=True):
        since = when[begin]
        counts = np.arange(1, end - begin + 1)
        if begin == 0 and same_since is not None and same_since < since:
            since, counts = same_since, counts + STUCK_COUNT
        coarse = (2.0 * shown[begin]) % 1.0 == 0.0
        limit = STUCK_AFTER_COARSE if coarse else STUCK_AFTER
        if when[end - 1] - since < limit:
            continue
        late = (when[begin:end] - since >= limit) & (counts > STUCK_COUNT)
        codes[places[begin:end][late]] = Reason.STUCK
