"""Readings that do not fit, turned into one plain question each."""

from collections.abc import Sequence

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput
from slowfire.estimate.series_questions import drifting, stuck, two_probes, two_values
from slowfire.estimate.typed import Question, Typed, temperature_range
from slowfire.units import UnitSystem, fahrenheit_from_celsius, format_length

# Ours, set so that a bin in good order raises none.
FAR_OFF = 12.0  # outside the band of the estimate [K]
MIX_UP = 6.0  # outside the band, where the other unit would lie inside [K]
MARGIN = 2.0  # about the band, where a value counts as fitting [K]
SUN_IRRADIANCE = 150.0  # on the lid, from which it warms a dial that much [W/m^2]
SUN_ERROR = 4.0  # above the band [K]
TOO_DEEP = 0.05  # below the floor [m]


def ask(
    readings: Sequence[Typed],
    low: FloatArray,
    high: FloatArray,
    fill_high: FloatArray,
    irradiance: FloatArray,
    now: float,
    system: UnitSystem = "metric",
) -> tuple[Question, ...]:
    """All questions about readings, at most one about each outlier, by time.

    Parameters
    ----------
    readings : sequence of Typed
        By time, at least the last month's.
    low, high : ndarray, shape (readings,)
        5th and 95th percentile of what the ensemble expects there, bias and error included [degC].
    fill_high : ndarray, shape (readings,)
        95th percentile of the height of the stack at that hour [m].
    irradiance : ndarray, shape (readings,)
        On the lid at that hour, the share of the sun that reaches it included [W/m^2].
    now : float
        The present [h].
    system : str
        metric or us, for the words.

    Returns
    -------
    tuple of Question
        The plainest cause is asked first: a reading in the future or of two values is not also
        called far off.

    Raises
    ------
    InvalidInput
        If shapes do not fit or a band is upside down.

    Notes
    -----
    Ours. It needs no more than numbers, so that the ensemble may come from anywhere. The band
    should be that of the ensemble before the reading moved it.

    Examples
    --------
    >>> typed = Typed(30.0, "4 March", "probe", "probe", 55.0, "C", depth=0.2)
    >>> one = np.ones(1)
    >>> asked = ask([typed], 10.0 * one, 16.0 * one, 0.6 * one, 0.0 * one, 48.0)
    >>> asked[0].words
    'The probe read 55 °C on 4 March, where 10 to 16 °C was expected. Was it 55 °F (13 °C)?'
    """
    _check_bands(readings, low, high)
    if fill_high.shape != low.shape or irradiance.shape != low.shape:
        raise InvalidInput("Heights and irradiance must be as many as the readings.")
    found: list[Question] = []
    taken: set[int] = set()
    for one in (
        in_the_future(readings, now),
        two_values(readings),
        too_deep(readings, fill_high, system),
        stuck(readings, low, high),
        drifting(readings, low, high, system),
        unit_mix_ups(readings, low, high, system),
        sun_on_lid(readings, low, high, irradiance, system),
        far_off(readings, low, high, system),
        two_probes(readings, system),
    ):
        for question in one:
            # one already asked about is left out, a series if that holds for most of it
            if 2 * len(taken.intersection(question.about)) <= len(question.about) - 1:
                found.append(question)
                taken.update(question.about)
    return tuple(sorted(found, key=lambda question: question.hour))


def _check_bands(readings: Sequence[Typed], low: FloatArray, high: FloatArray) -> None:
    if low.shape != (len(readings),) or high.shape != low.shape:
        raise InvalidInput(
            f"Bands of shape {low.shape} and {high.shape} do not fit {len(readings)} readings."
        )
    if not (low <= high).all():
        raise InvalidInput("A band is upside down; its low end must not lie above its high end.")


def in_the_future(readings: Sequence[Typed], now: float) -> tuple[Question, ...]:
    """Readings dated later than now.

    Parameters
    ----------
    readings : sequence of Typed
        Any.
    now : float
        The present [h]; half an hour later is still taken as now.

    Returns
    -------
    tuple of Question

    Notes
    -----
    Ours: half an hour is what clocks differ by.

    Examples
    --------
    >>> in_the_future([Typed(99.0, "4 May", "probe", "probe", 50.0, "C")], 48.0)[0].kind
    'future'
    """
    return tuple(
        Question(
            one.hour,
            "future",
            f"The reading of {one.shown} is dated {one.day}, which is still to come. "
            "When was it read?",
            ("just now", "on another day", "leave it out"),
            (i,),
        )
        for i, one in enumerate(readings)
        if one.hour > now + 0.5
    )


def too_deep(
    readings: Sequence[Typed], fill_high: FloatArray, system: UnitSystem = "metric"
) -> tuple[Question, ...]:
    """Probes said to be deeper than the bin is full.

    Parameters
    ----------
    readings : sequence of Typed
        Any.
    fill_high : ndarray, shape (readings,)
        95th percentile of the height of the stack at that hour [m].
    system : str
        metric or us, for the words.

    Returns
    -------
    tuple of Question

    Notes
    -----
    Ours: 5 cm are let pass, since nobody measures the level that well. A height above the floor
    that lies over the surface is asked about as well.

    Examples
    --------
    >>> typed = Typed(5.0, "4 May", "probe", "probe", 40.0, "C", depth=0.8)
    >>> too_deep([typed], np.array([0.5]))[0].words
    'The probe was 80 cm deep on 4 May, but the bin was filled about 50 cm. How deep was it?'
    """
    found = []
    for i, one in enumerate(readings):
        place = one.depth if one.depth is not None else one.height
        fill = float(fill_high[i])
        if place is None or place <= fill + TOO_DEEP:
            continue
        where = "deep" if one.depth is not None else "above the floor"
        question = "How deep was it?" if one.depth is not None else "How high was it?"
        found.append(
            Question(
                one.hour,
                "too-deep",
                f"The {one.thermometer} was {format_length(place, system)} {where} on {one.day}, "
                f"but the bin was filled about {format_length(fill, system)}. {question}",
                ("it touched the floor", "another depth", "the bin was fuller than that"),
                (i,),
            )
        )
    return tuple(found)


def _outside(one: Typed, low: float, high: float) -> float:
    """How far a reading lies outside the band, signed [K]."""
    return max(one.celsius - high, 0.0) - max(low - one.celsius, 0.0)


def _read(one: Typed, low: float, high: float, system: UnitSystem) -> str:
    expected = temperature_range(low, high, system)
    return f"The {one.thermometer} read {one.shown} on {one.day}, where {expected} was expected."


def unit_mix_ups(
    readings: Sequence[Typed], low: FloatArray, high: FloatArray, system: UnitSystem = "metric"
) -> tuple[Question, ...]:
    """Values that fit only when taken in the other unit.

    ::

        C = (n - 32) / 1.8 where C was typed,   C = n where F was typed

    Parameters
    ----------
    readings : sequence of Typed
        Any.
    low, high : ndarray, shape (readings,)
        5th and 95th percentile of what the ensemble expects there [degC].
    system : str
        metric or us, for the words.

    Returns
    -------
    tuple of Question

    Notes
    -----
    Ours: more than 6 K outside the band as typed, and within 2 K of it in the other unit. Around
    -40 the two units agree and nothing can be told.

    Examples
    --------
    >>> typed = Typed(5.0, "4 May", "probe", "probe", 52.0, "F")
    >>> unit_mix_ups([typed], np.array([45.0]), np.array([55.0]), "us")[0].choices[0]
    'it was 52 °C'
    """
    found = []
    for i, one in enumerate(readings):
        other = one.otherwise_celsius
        fits = low[i] - MARGIN <= other <= high[i] + MARGIN
        if not fits or abs(_outside(one, float(low[i]), float(high[i]))) <= MIX_UP:
            continue
        unit = "F" if one.unit == "C" else "C"
        shown = f"{other:.0f} °C" if unit == "F" else f"{fahrenheit_from_celsius(other):.0f} °F"
        found.append(
            Question(
                one.hour,
                "unit",
                f"{_read(one, float(low[i]), float(high[i]), system)} "
                f"Was it {one.value:g} °{unit} ({shown})?",
                (f"it was {one.value:g} °{unit}", f"it was {one.shown}", "leave it out"),
                (i,),
            )
        )
    return tuple(found)


def sun_on_lid(
    readings: Sequence[Typed],
    low: FloatArray,
    high: FloatArray,
    irradiance: FloatArray,
    system: UnitSystem = "metric",
) -> tuple[Question, ...]:
    """Lid thermometers that read high while the sun may have stood on them.

    Parameters
    ----------
    readings : sequence of Typed
        Any.
    low, high : ndarray, shape (readings,)
        5th and 95th percentile of what the ensemble expects there [degC].
    irradiance : ndarray, shape (readings,)
        On the lid at that hour, the share of the sun that reaches it included [W/m^2].
    system : str
        metric or us, for the words.

    Returns
    -------
    tuple of Question

    Notes
    -----
    Ours: more than 4 K above the band and at least 150 W/m^2.

    Examples
    --------
    >>> typed = Typed(13.0, "4 May", "dial", "lid", 44.0, "C")
    >>> hot = sun_on_lid([typed], np.array([20.0]), np.array([30.0]), np.array([400.0]))
    >>> hot[0].words
    'The dial read 44 °C on 4 May, where 20 to 30 °C was expected. Was the sun on it?'
    """
    return tuple(
        Question(
            one.hour,
            "sun",
            f"{_read(one, float(low[i]), float(high[i]), system)} Was the sun on it?",
            ("yes, the sun was on it", "no, it was in the shade", "leave it out"),
            (i,),
        )
        for i, one in enumerate(readings)
        if one.kind == "lid"
        and irradiance[i] >= SUN_IRRADIANCE
        and _outside(one, float(low[i]), float(high[i])) > SUN_ERROR
    )


def far_off(
    readings: Sequence[Typed], low: FloatArray, high: FloatArray, system: UnitSystem = "metric"
) -> tuple[Question, ...]:
    """Readings far from what is expected, for no cause that can be named.

    Parameters
    ----------
    readings : sequence of Typed
        Any.
    low, high : ndarray, shape (readings,)
        5th and 95th percentile of what the ensemble expects there [degC].
    system : str
        metric or us, for the words.

    Returns
    -------
    tuple of Question

    Notes
    -----
    Ours: more than 12 K outside the band, and no two others of that thermometer within two weeks
    that lie on the same side by half as much, since then it is the estimate that is wrong.

    Examples
    --------
    >>> typed = Typed(5.0, "4 May", "probe", "probe", 5.0, "C")
    >>> far_off([typed], np.array([40.0]), np.array([50.0]))[0].words
    'The probe read 5 °C on 4 May, where 40 to 50 °C was expected. Is 5 °C right?'
    """
    off = np.array([_outside(one, low[i], high[i]) for i, one in enumerate(readings)])
    found = []
    for i, one in enumerate(readings):
        if abs(off[i]) <= FAR_OFF:
            continue
        alike = sum(
            other.thermometer == one.thermometer
            and abs(other.hour - one.hour) <= 336.0
            and off[j] * np.sign(off[i]) > 0.5 * FAR_OFF
            for j, other in enumerate(readings)
            if j != i
        )
        if alike < 2:
            found.append(
                Question(
                    one.hour,
                    "far-off",
                    f"{_read(one, float(low[i]), float(high[i]), system)} Is {one.shown} right?",
                    ("yes, it is right", "another value", "leave it out"),
                    (i,),
                )
            )
    return tuple(found)
