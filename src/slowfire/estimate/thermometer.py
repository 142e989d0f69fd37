"""What a thermometer shows: across the section, along its stem and before it has settled."""

from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray, FloatOrArray
from slowfire.errors import InvalidInput, check_range


@dataclass(frozen=True)
class Stem:
    """A metal stem: outside diameter [m] and heat conductivity of the whole section [W/(m*K)]."""

    diameter: float = 0.005
    conductivity: float = 10.0  # between a solid rod (15) and a thin tube (6) of stainless steel

    def __post_init__(self) -> None:
        check_range("Diameter of the stem", self.diameter, 0.0005, 0.05, "m")
        check_range("Conductivity of the stem", self.conductivity, 0.05, 400.0, "W/(m K)")


def temperature_across(
    mean: FloatOrArray, centre_minus_edge: FloatOrArray, off_centre: FloatOrArray
) -> FloatOrArray:
    """Temperature between the centre of a cross-section and its wall.

    ::

        T = T_m + (1/2 - x^2) delta

    with T_m the mean [degC], delta the temperature of the centre less that of the edge [K] and x
    the distance from the centre by that to the wall [-].

    Parameters
    ----------
    mean : float or ndarray, shape (layers,)
        Mean over the cross-section [degC], usually -5 to 75.
    centre_minus_edge : float or ndarray, shape (layers,)
        Centre less edge [K], usually 0 to 25.
    off_centre : float or ndarray, shape (layers,)
        0 at the centre, 1 at the wall [-]; above 1 in a corner, which is colder still.

    Returns
    -------
    float or ndarray, shape (layers,)
        Temperature there [degC].

    Notes
    -----
    Exact for the parabola of the column's section, which is round: centre and edge are half of
    delta above and below the mean. In a square bin the corner lies beyond the edge.

    Examples
    --------
    >>> temperature_across(40.0, 12.0, 0.0), temperature_across(40.0, 12.0, 1.0)
    (46.0, 34.0)

    References
    ----------
    carslaw1959
    """
    return mean + (0.5 - off_centre * off_centre) * centre_minus_edge


def stem_film(bed_conductivity: float, diameter: float, immersion: float) -> float:
    """Heat between a thin stem and the bed it sticks in.

    ::

        h = 2 k / [d ln(4 L / d)]

    with k the conductivity of the bed [W/(m*K)], d the diameter and L the length in the bed [m].

    Parameters
    ----------
    bed_conductivity : float
        Heat conductivity of the bed [W/(m*K)], usually 0.1 to 0.6.
    diameter : float
        Outside of the stem [m], usually 0.003 to 0.010.
    immersion : float
        Length in the bed [m], usually 0.05 to 0.6; counted as at least twice the diameter.

    Returns
    -------
    float
        Film coefficient on the stem [W/(m^2*K)].

    Notes
    -----
    The shape factor of a slender upright rod in a half-space, spread evenly over its side;
    steady heat and L well above d.

    Examples
    --------
    >>> round(stem_film(0.3, 0.005, 0.3), 1)
    21.9

    References
    ----------
    incropera2007
    """
    return 2.0 * bed_conductivity / (diameter * float(np.log(4.0 * max(immersion / diameter, 2.0))))


def stem_length(diameter: float, conductivity: float, film_coefficient: float) -> float:
    """Length over which heat runs along a stem before the bed has taken it up.

    ::

        l = sqrt[k d / (4 h)]

    with k the conductivity of the stem [W/(m*K)], d its diameter [m] and h the film on it
    [W/(m^2*K)].

    Parameters
    ----------
    diameter : float
        Outside of the stem [m], usually 0.003 to 0.010.
    conductivity : float
        Heat conductivity of the stem [W/(m*K)], 15 for solid stainless steel, about 6 for a tube.
    film_coefficient : float
        Heat between stem and surroundings [W/(m^2*K)], usually 15 to 40 in a bed, 10 in air.

    Returns
    -------
    float
        Length in which the difference falls to 37 % [m], usually 0.01 to 0.04.

    Notes
    -----
    A fin of even cross-section: the temperature across the stem counts as one.

    Examples
    --------
    >>> round(stem_length(0.005, 15.0, 21.9), 4)
    0.0293

    References
    ----------
    incropera2007
    """
    return float(np.sqrt(conductivity * diameter / (4.0 * film_coefficient)))


def stem_tip_temperature(
    depths: FloatArray, temperatures: FloatArray, entry_celsius: float, fin_length: float
) -> float:
    """Temperature at the tip of a stem that stands in a bed of uneven temperature.

    ::

        theta'' = (theta - T_b) / l^2,   theta(0) = T_0,   theta'(L) = 0
        theta(L) = T_b(L) + [T_0 - T_b(0)] / cosh(L/l)
                   - sum_i s_i l [sinh(b_i/l) - sinh(a_i/l)] / cosh(L/l)

    with T_b the bed along the stem, in straight pieces of slope s_i from a_i to b_i, T_0 the stem
    where it enters [degC], L its length in the bed and l `stem_length` [m].

    Parameters
    ----------
    depths : ndarray, shape (points,)
        Points along the stem, rising from 0 to the tip, two or more [m].
    temperatures : ndarray, shape (points,)
        Of the bed at these points, straight between them [degC].
    entry_celsius : float
        Temperature of the stem where it enters the bed [degC].
    fin_length : float
        From `stem_length`, above 0 [m].

    Returns
    -------
    float
        Temperature of the tip [degC].

    Raises
    ------
    InvalidInput
        If there are fewer than two points, they do not rise from 0, or the length is not above 0.

    Notes
    -----
    Exact for straight pieces and a tip that passes no heat. Deep down it reads what the bed has
    one `fin_length` above the tip, where that is along a straight line; near the surface it reads
    part of the air.

    Examples
    --------
    >>> even = np.array([50.0, 50.0])
    >>> round(stem_tip_temperature(np.array([0.0, 0.05]), even, 10.0, 0.03), 1)
    35.4
    >>> round(stem_tip_temperature(np.array([0.0, 0.30]), even, 10.0, 0.03), 1)
    50.0

    References
    ----------
    incropera2007
    """
    if depths.size < 2 or depths[0] != 0.0 or not (np.diff(depths) > 0.0).all():
        raise InvalidInput("Points along a stem must rise from 0 m; give two or more.")
    check_range("Fin length", fin_length, 1e-6, 10.0, "m")
    x = depths / fin_length
    end = float(x[-1])
    # sinh and cosh by their ratio to the largest exponential, which would overflow
    scale = 1.0 + np.exp(-2.0 * end)
    sinh = np.exp(x - end) * (1.0 - np.exp(-2.0 * x)) / scale
    slopes = np.diff(temperatures) / np.diff(x)
    entry = 2.0 * np.exp(-end) / scale * (entry_celsius - temperatures[0])
    return float(temperatures[-1] + entry - (slopes * np.diff(sinh)).sum())


def lagged_reading(
    start_celsius: FloatOrArray,
    temperature_celsius: FloatOrArray,
    waited: float,
    time_constant: float,
) -> FloatOrArray:
    """What a thermometer shows some time after it was put in.

    ::

        R = T + (R_0 - T) exp(-t / tau)

    with T the true temperature, R_0 what it showed at first [degC], t the time waited and tau its
    time constant [s].

    Parameters
    ----------
    start_celsius : float or ndarray, shape (members,)
        What it showed before, mostly the air [degC].
    temperature_celsius : float or ndarray, shape (members,)
        What it will show at last [degC].
    waited : float
        Time since it was put in [s], usually 30 to 600.
    time_constant : float
        Time in which the difference falls to 37 % [s], usually 20 (thin tip) to 120 (dial).

    Returns
    -------
    float or ndarray, shape (members,)
        Reading [degC].

    Raises
    ------
    InvalidInput
        If the time is negative or the time constant is not above 0.

    Notes
    -----
    Exact for a thermometer of one heat capacity. The usual time constants are common practice, no
    source.

    Examples
    --------
    >>> round(float(lagged_reading(10.0, 50.0, 60.0, 60.0)), 1)
    35.3
    """
    check_range("Time waited", waited, 0.0, 1e7, "s")
    check_range("Time constant", time_constant, 1e-3, 1e5, "s")
    return temperature_celsius + (start_celsius - temperature_celsius) * float(
        np.exp(-waited / time_constant)
    )
