"""How much heat kills: germs fewer by decades, over readings and over histories."""

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np

from slowfire.arrays import FloatArray, FloatOrArray
from slowfire.errors import InvalidInput, UnknownName
from slowfire.hygiene.history import check_history
from slowfire.hygiene.index import INDEX_LOW, degree_hours, warm_stretches
from slowfire.hygiene.packaged import number_in, packaged_text, read_rows
from slowfire.hygiene.record import LONGEST_GAP_HOURS, TemperatureRecord
from slowfire.hygiene.rules import CAUTION

FILE = "organisms.csv"
CAP = 6.0  # survival curves tail; no more decades are claimed [-]
SLOW_RAMP_HOURS = 1.0  # from 40 to 50 C; slower warming hardens germs [h]
STATES = ("hardened", "fresh", "any")


@dataclass(frozen=True)
class Organism:
    """How fast a germ dies in moist heat.

    Attributes
    ----------
    id, name, state : str
        state: hardened (warmed up slowly), fresh, or any.
    decimal_hours : tuple of (float, float)
        Degrees [degC], rising, with the hours that leave a tenth there [h]; empty if none is known.
    z_kelvin : float or None
        Kelvin that make it ten times as fast [K].
    condition, source, confidence : str
    """

    id: str
    name: str
    state: str
    decimal_hours: tuple[tuple[float, float], ...]
    z_kelvin: float | None
    condition: str
    source: str
    confidence: str

    def decimal_time(self, celsius: FloatArray) -> FloatArray:
        """Hours that leave a tenth [h]; endless below 50 degC and where nothing is known.

        Straight lines of log D between what was measured, no faster above the hottest of these.
        """
        degrees = np.array([one for one, _ in self.decimal_hours])
        logs = np.log10([hours for _, hours in self.decimal_hours])
        log_time = np.interp(celsius, degrees, logs)
        lowest = degrees[0]
        if self.z_kelvin is not None:
            log_time = np.where(
                celsius < lowest, logs[0] + (lowest - celsius) / self.z_kelvin, log_time
            )
            lowest = INDEX_LOW
        return np.where(celsius >= lowest, np.power(10.0, log_time), np.inf)


@cache
def organisms() -> Mapping[tuple[str, str], Organism]:
    """Every germ of the packaged list by id and state.

    Returns
    -------
    mapping of (str, str) to Organism
        In the order of the file.

    Raises
    ------
    InvalidInput
        If the file cannot be read.

    Notes
    -----
    Values from memory say so in their `confidence`. D derived by arithmetic from the printed
    decades and hours. Exact: nothing else is computed.

    Examples
    --------
    >>> organisms()["salmonella", "hardened"].decimal_hours[1]
    (55.0, 0.53)
    """
    return {(one.id, one.state): one for one in read_organisms(packaged_text(FILE))}


def read_organisms(text: str) -> tuple[Organism, ...]:
    """Read germs from text of the form of the packaged file.

    Parameters
    ----------
    text : str
        Comma-separated, with the headings of the packaged file.

    Returns
    -------
    tuple of Organism

    Raises
    ------
    InvalidInput
        With the line and what is wrong with it.

    Notes
    -----
    Exact.

    Examples
    --------
    >>> read_organisms(packaged_text(FILE))[0].name
    'E. coli O157:H7'
    """
    columns = ((50.0, "d50_hours"), (55.0, "d55_hours"), (60.0, "d60_hours"))
    headings = ("id", "name", "state", *(name for _, name in columns), "z_kelvin", "condition")
    found: dict[tuple[str, str], Organism] = {}
    for row in read_rows(text, FILE, headings, unique=None):
        where = f"{FILE}, line {row['line']}"
        key = (row["id"], row["state"])
        if not row["id"] or key in found or row["state"] not in STATES:
            raise InvalidInput(
                f"{where}: id and state {key} are missing or stand twice; a state is one of "
                f"{', '.join(STATES)}."
            )
        read = [(d, number_in(row, name, FILE, 1e-4, 1000.0)) for d, name in columns]
        times = tuple((degree, hours) for degree, hours in read if hours is not None)
        if any(b[1] > a[1] for a, b in itertools.pairwise(times)):
            raise InvalidInput(f"{where}: {row['id']} would die more slowly in more heat.")
        found[key] = Organism(
            row["id"],
            row["name"],
            row["state"],
            times,
            number_in(row, "z_kelvin", FILE, 1.0, 50.0),
            row["condition"],
            row["source"],
            row["confidence"],
        )
    return tuple(found.values())


def find_organism(organism_id: str, ramp_hours: float | None = None) -> Organism:
    """The germ of an id, hardened by slow warming unless shown otherwise.

    Parameters
    ----------
    organism_id : str
        Such as salmonella.
    ramp_hours : float or None
        Time from 40 to 50 degC [h]; None if not known, as in every bin at home.

    Returns
    -------
    Organism

    Raises
    ------
    UnknownName
        If there is none; the message lists them.

    Notes
    -----
    Warming that takes more than an hour from 40 to 50 degC hardens germs.

    References
    ----------
    singh2010

    Examples
    --------
    >>> find_organism("listeria").state, find_organism("listeria", 0.5).state
    ('hardened', 'fresh')
    """
    fast = ramp_hours is not None and ramp_hours <= SLOW_RAMP_HOURS
    for state in ("any", "fresh" if fast else "hardened"):
        if (organism_id, state) in organisms():
            return organisms()[organism_id, state]
    names = dict.fromkeys(one for one, _ in organisms())
    raise UnknownName(f"There is no germ '{organism_id}'; known are {', '.join(names)}.")


def ramp_hours(record: TemperatureRecord) -> float | None:
    """Time a record took to warm from 40 to 50 degC the first time.

    Parameters
    ----------
    record : TemperatureRecord
        Readings of one spot.

    Returns
    -------
    float or None
        From the last reading at 40 degC or below to the first at 50 or above [h]; None if it never
        got there or was warmer from the start.

    Notes
    -----
    Ours; never too short.

    Examples
    --------
    >>> ramp_hours(TemperatureRecord("probe", "centre", 0.4, [0, 6, 12], [38.0, 45.0, 51.0]))
    12.0
    """
    hot = np.flatnonzero(record.celsius >= 50.0)
    if hot.size == 0:
        return None
    cool = np.flatnonzero(record.celsius[: hot[0]] <= 40.0)
    if cool.size == 0:
        return None
    return float(record.hours[hot[0]] - record.hours[cool[-1]])


@dataclass(frozen=True)
class Reduction:
    """How many decades of a germ heat took away.

    Attributes
    ----------
    organism : Organism
    decades : float
        At most 6 [-].
    words, caution : str
    """

    organism: Organism
    decades: float
    words: str
    caution: str = CAUTION


def _decades(organism: Organism, hours: FloatArray, celsius: FloatArray) -> FloatArray:
    if not organism.decimal_hours:
        raise InvalidInput(
            f"No time to kill a tenth of {organism.name} is printed for compost: "
            f"{organism.condition}. Go by a rule of heat instead."
        )
    sum_of_all = (hours / organism.decimal_time(celsius)).sum(axis=-1)
    return np.asarray(np.minimum(sum_of_all, CAP))


def log_reduction(
    organism: Organism,
    record: TemperatureRecord,
    *,
    longest_gap_hours: float = LONGEST_GAP_HOURS,
    moisture_content_wet_basis: FloatOrArray = 1.0,
) -> Reduction:
    """Decades of a germ that the heat of a record took away.

    ::

        N = min{sum of dt / D(t), 6}

    with D the hours that leave a tenth at a temperature.

    Parameters
    ----------
    organism : Organism
        See `find_organism`.
    record : TemperatureRecord
        Readings of one spot.
    longest_gap_hours : float
        Longest time from one reading to the next over which heat may be believed [h], 0.1 to 168.
    moisture_content_wet_basis : float or ndarray, shape (readings,)
        Water by mass of the wet material [kg/kg]; time drier than 0.40 counts nothing.

    Returns
    -------
    Reduction

    Raises
    ------
    InvalidInput
        If no D is known for this germ, or the gap is out of range.

    Notes
    -----
    Survival curves tail, so a single D says too much: six decades at most, and a rule of time is
    wanted besides. Nothing counts below 50 degC, the coldest that was measured; above the
    hottest that was measured it is taken to die no faster.

    References
    ----------
    singh2010

    Examples
    --------
    >>> an_hour = TemperatureRecord("probe", "centre", 0.4, [0.0, 1.0], [55.0, 55.0])
    >>> round(log_reduction(find_organism("ecoli_o157"), an_hour).decades, 1)
    1.2
    """
    hours, celsius = warm_stretches(record, longest_gap_hours, moisture_content_wet_basis)
    decades = float(_decades(organism, hours, celsius))
    state = {"hardened": ", hardened by slow warming", "fresh": "", "any": ""}[organism.state]
    most = "at least " if decades >= CAP else ""
    return Reduction(
        organism,
        decades,
        f"{organism.name}{state}: {most}{decades:.1f} decades fewer at {record.position}, by "
        f"arithmetic. Some always outlast it; meet a rule of heat as well. ({organism.source}; "
        f"{organism.confidence})",
    )


def log_reduction_history(
    organism: Organism, history: FloatArray, dry_hours: FloatArray, *, edge: bool
) -> FloatArray:
    """Decades of a germ that the heat of histories took away.

    ::

        N = min{sum of h_d / D(d), 6}

    with h_d the hours at each degree d and D the hours that leave a tenth there.

    Parameters
    ----------
    organism : Organism
        See `find_organism`.
    history : ndarray, shape (..., 2, 41, 3)
        Hours by place, degree and measure [h].
    dry_hours : ndarray, shape (...,)
        Hours too dry for heat to count [h].
    edge : bool
        Whether of the edge rather than the centre.

    Returns
    -------
    ndarray, shape (...,)
        Decades, at most 6 [-].

    Raises
    ------
    InvalidInput
        If no D is known for this germ, or the arrays do not fit.

    Notes
    -----
    See `log_reduction`.

    References
    ----------
    singh2010

    Examples
    --------
    >>> history = np.zeros((2, 41, 3))
    >>> history[0, :16, 0] = 1.0
    >>> coli = find_organism("ecoli_o157")
    >>> round(float(log_reduction_history(coli, history, np.array(0.0), edge=False)), 1)
    1.2
    """
    history, dry_hours = check_history(history, dry_hours)
    hours, degrees = degree_hours(history[..., int(edge), :, :], dry_hours)
    return _decades(organism, hours, degrees)
