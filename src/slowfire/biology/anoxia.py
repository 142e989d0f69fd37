"""Airless cores of wet clods, where methane and nitrous gases are made."""

import numpy as np

from slowfire.arrays import FloatOrArray


def critical_clod_radius(
    oxygen_demand: FloatOrArray,
    oxygen: FloatOrArray,
    temperature_celsius: FloatOrArray,
    diffusivity_factor: FloatOrArray = 0.5,
) -> FloatOrArray:
    """Radius above which the centre of a wet clod gets no oxygen.

    ::

        r_c = sqrt(6 f D_w c / q),   D_w = 2.1e-9 exp(0.021 (T - 25)),
        c = y 1.27 exp(-0.015 (T - 25))

    with q the oxygen demand of the clod [mol/(m^3*s)], y the oxygen in the gas around it [-], c the
    oxygen dissolved at its surface [mol/m^3], D_w the diffusivity of oxygen in water [m^2/s] and f
    what winding ways leave of it [-].

    Parameters
    ----------
    oxygen_demand : float or ndarray, shape (layers,)
        Demand per volume of clod at full oxygen [mol/(m^3*s)], usual range 1e-5 to 2e-2.
    oxygen : float or ndarray, shape (layers,)
        Volume fraction in the gas [-], 0 to 0.21.
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature [degC], 0 to 75.
    diffusivity_factor : float
        Diffusivity in the wet clod by that in water [-], 0.2 to 0.8.

    Returns
    -------
    float or ndarray, shape (layers,)
        Radius [m].

    Notes
    -----
    A sphere with a demand that does not fall with oxygen, in a steady state. The temperature laws
    of solubility and diffusivity are exponentials through 25 degC, within 10 % from 5 to 65 degC;
    from memory, as is the form, long used for soil crumbs.

    Examples
    --------
    >>> round(float(critical_clod_radius(0.011, 0.15, 50.0)) * 1000.0, 2)
    0.36

    References
    ----------
    greenwood1961
    """
    diffusivity = diffusivity_factor * 2.1e-9 * np.exp(0.021 * (temperature_celsius - 25.0))
    dissolved = oxygen * 1.27 * np.exp(-0.015 * (temperature_celsius - 25.0))
    radius: FloatOrArray = np.sqrt(6.0 * diffusivity * dissolved / (oxygen_demand + 1e-12))
    return radius


def airless_share(
    clod_radius: FloatOrArray, critical_radius: FloatOrArray, shape: FloatOrArray = 6.0
) -> FloatOrArray:
    """Share of the wet mass in clods too large to be aired to the core.

    ::

        s = 1 / (1 + (r_c / r)^b)

    with r the median radius of the wet clods [m], r_c the critical radius [m] and b the shape of
    their log-logistic distribution [-].

    Parameters
    ----------
    clod_radius : float or ndarray, shape (layers,)
        Median radius of what water holds together [m], usual range 1e-4 to 1e-2.
    critical_radius : float or ndarray, shape (layers,)
        From `critical_clod_radius` [m].
    shape : float
        Narrowness of the distribution [-], 3 to 10.

    Returns
    -------
    float or ndarray, shape (layers,)
        0 to 1 [-].

    Notes
    -----
    The whole of a clod above the critical radius counts, so the share is a little high where few
    are. The distribution is our own choice; its shape decides how steeply methane rises with
    water.

    Examples
    --------
    >>> round(float(airless_share(0.001, 0.001)), 6)
    0.5

    References
    ----------
    smith1980
    """
    ratio = critical_radius / (clod_radius + 1e-12)
    share: FloatOrArray = 1.0 / (1.0 + np.exp(shape * np.log(ratio + 1e-300)))
    return share


def aired_share(clod_radius: FloatOrArray, critical_radius: FloatOrArray) -> FloatOrArray:
    """Share of a wet clod that oxygen reaches: a shell, or the whole of a small one.

    ::

        s = x / (1 + x^2.5)^(1/2.5),   x = sqrt(3) r_c / r

    with r the radius of the clod [m] and r_c the critical radius [m].

    Parameters
    ----------
    clod_radius : float or ndarray, shape (layers,)
        Median radius of what water holds together [m], usual range 1e-4 to 1e-2.
    critical_radius : float or ndarray, shape (layers,)
        From `critical_clod_radius` [m].

    Returns
    -------
    float or ndarray, shape (layers,)
        0 to 1 [-].

    Notes
    -----
    Joins the thin shell of a large clod (exact as r grows) and the whole of a small one; within
    0.02 of the sphere with an airless core between them, within 0.09 where the core just closes,
    which clods of many sizes smooth out anyway. The joining form is ours.

    Examples
    --------
    >>> round(float(aired_share(0.002, 0.001)), 2)
    0.7

    References
    ----------
    greenwood1961, smith1980
    """
    x = np.sqrt(3.0) * critical_radius / (clod_radius + 1e-12)
    # the power 2.5 by its root
    share: FloatOrArray = x / np.exp(0.4 * np.log(1.0 + x * x * np.sqrt(x)))
    return share
