"""The time-temperature index of heat, over readings and over histories."""

from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray, FloatOrArray
from slowfire.errors import check_range
from slowfire.hygiene.history import DEGREE_LOW, DEGREES, DRY_LIMIT, TOTAL, check_history
from slowfire.hygiene.record import LONGEST_GAP_HOURS, SAME_HOUR, TemperatureRecord
from slowfire.hygiene.rules import CAUTION

INDEX_LOW = 50.0  # nothing counts below [degC]
DAYS_SOLID = 131_700_000.0
DAYS_LIQUID = 50_070_000.0
DECADES_PER_KELVIN = 0.1400
FLOOR_SOLID = 20.0 / 60.0  # [h]
FLOOR_LIQUID = 30.0 / 60.0  # [h]


def time_temperature_hours(
    temperature_celsius: FloatOrArray, *, liquid: bool = False
) -> FloatOrArray:
    """Hours at one temperature that make germs of sewage sludge as few as the law asks.

    ::

        D = 24 A / 10^(0.1400 t),   A = 131 700 000 d, or 50 070 000 d if liquid

    with t the temperature [degC] and D in hours, at least 20 minutes, 30 if liquid.

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (...,)
        Of every particle [degC], 50 to 80; endless hours below 50.
    liquid : bool
        Whether it is less than 7 % dry matter.

    Returns
    -------
    float or ndarray, shape (...,)
        Hours needed [h].

    Notes
    -----
    The equations of 40 CFR 503.32(a)(3). They need every particle at that temperature and are no
    lawful route for compost: print them beside a rule, never instead.

    References
    ----------
    usepa1993

    Examples
    --------
    >>> round(float(time_temperature_hours(55.0)), 2)
    63.07
    """
    t = np.asarray(temperature_celsius, dtype=np.float64)
    days, floor = (DAYS_LIQUID, FLOOR_LIQUID) if liquid else (DAYS_SOLID, FLOOR_SOLID)
    hours = np.maximum(24.0 * days / 10.0 ** (DECADES_PER_KELVIN * t), floor)
    told: FloatOrArray = np.where(t >= INDEX_LOW, hours, np.inf)
    return told


def warm_stretches(
    record: TemperatureRecord,
    longest_gap_hours: float = LONGEST_GAP_HOURS,
    moisture_content_wet_basis: FloatOrArray = 1.0,
) -> tuple[FloatArray, FloatArray]:
    """Lengths of the times between readings, and the temperature that each may count with.

    Parameters
    ----------
    record : TemperatureRecord
        Readings of one spot.
    longest_gap_hours : float
        Longest time from one reading to the next over which heat may be believed [h], 0.1 to 168.
    moisture_content_wet_basis : float or ndarray, shape (readings,)
        Water by mass of the wet material [kg/kg], 0 to 1; what is drier than 0.40 at either end
        counts nothing.

    Returns
    -------
    tuple of ndarray
        Hours, and the lower of the readings at either end in degC.

    Raises
    ------
    InvalidInput
        If the gap is out of range.

    Notes
    -----
    Ours, on the safe side. Dry material protects germs, so heat in it is left out.

    Examples
    --------
    >>> three = TemperatureRecord("probe", "centre", 0.4, [0.0, 12.0, 72.0], [50.0, 60.0, 60.0])
    >>> hours, celsius = warm_stretches(three)
    >>> hours.tolist(), celsius.tolist()
    ([12.0], [50.0])
    """
    check_range("Longest gap allowed", longest_gap_hours, 0.1, 168.0, "h")
    moisture = np.broadcast_to(
        np.asarray(moisture_content_wet_basis, dtype=np.float64), record.hours.shape
    )
    hours = np.diff(record.hours)
    celsius = np.minimum(record.celsius[:-1], record.celsius[1:])
    kept = hours <= longest_gap_hours + SAME_HOUR
    kept &= np.minimum(moisture[:-1], moisture[1:]) >= DRY_LIMIT
    return hours[kept], celsius[kept]


def degree_hours(history: FloatArray, dry_hours: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Hours of a heat history at each degree, the hottest taken off for what was too dry.

    ::

        h_d = H_d - H_d+1

    with H_d the hours at or above degree d, less the hours too dry for heat to count.

    Parameters
    ----------
    history : ndarray, shape (..., 41, 3)
        Hours of one place by degree and measure [h].
    dry_hours : ndarray, shape (...,)
        Hours too dry for heat to count [h].

    Returns
    -------
    tuple of ndarray
        Hours at each degree, shape (..., 41), and these degrees in degC.

    Notes
    -----
    Ours, on the safe side: dry hours come off the hottest ones, and a degree stands for the kelvin
    above it.

    Examples
    --------
    >>> history = np.zeros((41, 3))
    >>> history[:16, 0] = 10.0
    >>> hours, degrees = degree_hours(history, np.array(4.0))
    >>> float(hours[15]), float(degrees[15])
    (6.0, 55.0)
    """
    total = np.asarray(history, dtype=np.float64)[..., TOTAL]
    left = np.maximum(total - np.asarray(dry_hours, dtype=np.float64)[..., None], 0.0)
    above = np.concatenate([left[..., 1:], np.zeros_like(left[..., :1])], axis=-1)
    return np.maximum(left - above, 0.0), DEGREE_LOW + np.arange(DEGREES, dtype=np.float64)


@dataclass(frozen=True)
class Index:
    """The time-temperature index, to stand beside a rule.

    Attributes
    ----------
    value : float
        1 or more where it is reached [-].
    words : str
    caution : str
    """

    value: float
    words: str
    caution: str = CAUTION


def _index(hours: FloatArray, celsius: FloatArray) -> Index:
    hot = celsius >= INDEX_LOW
    value = float((hours[hot] / time_temperature_hours(celsius[hot])).sum())
    reached = "reached" if value >= 1.0 else "not reached"
    return Index(
        value,
        f"Time-temperature index {value:.2f} of 1: {reached}. It stands beside the rule, never in "
        "its place; it needs every particle that hot, and a probe 1 °C too high makes it 1.38 "
        "times too large.",
    )


def time_temperature_index(
    record: TemperatureRecord,
    *,
    longest_gap_hours: float = LONGEST_GAP_HOURS,
    moisture_content_wet_basis: FloatOrArray = 1.0,
) -> Index:
    """Heat of a record as a share of what the time-temperature equation asks.

    ::

        L = sum of dt / D(t) over all t >= 50 degC

    with D the hours needed at a temperature, see `time_temperature_hours`.

    Parameters
    ----------
    record : TemperatureRecord
        Readings of one spot.
    longest_gap_hours : float
        Longest time from one reading to the next over which heat may be believed [h], 0.1 to 168.
    moisture_content_wet_basis : float or ndarray, shape (readings,)
        Water by mass of the wet material [kg/kg]; time drier than 0.40 counts nothing.

    Returns
    -------
    Index

    Raises
    ------
    InvalidInput
        If the gap is out of range.

    Notes
    -----
    A probe that reads 1 K too high makes it 1.38 times, 3 K 2.63 times too large. Adding up over
    changing temperatures is ours; the equation is for one that is held.

    References
    ----------
    usepa1993

    Examples
    --------
    >>> held = TemperatureRecord("probe", "centre", 0.4, [0, 24, 48, 72], [55.0] * 4)
    >>> round(time_temperature_index(held).value, 3)
    1.142
    """
    return _index(*warm_stretches(record, longest_gap_hours, moisture_content_wet_basis))


def time_temperature_index_history(
    history: FloatArray, dry_hours: FloatArray, *, edge: bool
) -> FloatArray:
    """Heat of histories as a share of what the time-temperature equation asks.

    ::

        L = sum of h_d / D(d) over the degrees d from 50 degC

    Parameters
    ----------
    history : ndarray, shape (..., 2, 41, 3)
        Hours by place, degree and measure [h].
    dry_hours : ndarray, shape (...,)
        Hours too dry for heat to count [h].
    edge : bool
        Whether of the edge rather than the centre.

    Returns
    -------
    ndarray, shape (...,)
        The index [-].

    Raises
    ------
    InvalidInput
        If the arrays do not fit.

    Notes
    -----
    See `time_temperature_index` for what it is worth.

    References
    ----------
    usepa1993

    Examples
    --------
    >>> history = np.zeros((2, 41, 3))
    >>> history[0, :16, 0] = 72.0
    >>> round(float(time_temperature_index_history(history, np.array(0.0), edge=False)), 3)
    1.142
    """
    history, dry_hours = check_history(history, dry_hours)
    hours, degrees = degree_hours(history[..., int(edge), :, :], dry_hours)
    return np.asarray((hours / time_temperature_hours(degrees)).sum(axis=-1))
