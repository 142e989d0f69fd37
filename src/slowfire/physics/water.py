"""Water held, drained and carried as vapour."""

import numpy as np

from slowfire.arrays import FloatOrArray


def drained_share(time_step: FloatOrArray, time_constant: FloatOrArray) -> FloatOrArray:
    """Share of the surplus water that drains in one step.

    ::

        s = 1 - exp(-dt / tau)

    with dt the time step [s] and tau the time constant [s].

    Parameters
    ----------
    time_step : float or ndarray, shape (layers,)
        Length of the step [s], usually 60 to 3600.
    time_constant : float or ndarray, shape (layers,)
        Time in which surplus falls to 37 % [s], usually about a day, 86400.

    Returns
    -------
    float or ndarray, shape (layers,)
        Share drained [-], 0 to 1.

    Notes
    -----
    Exact for draining in proportion to the surplus, at any length of step. The time constant is
    common practice, no source.

    Examples
    --------
    >>> round(float(drained_share(86400.0, 86400.0)), 3)
    0.632
    """
    share: FloatOrArray = -np.expm1(-time_step / time_constant)
    return share


def surplus_water(water: FloatOrArray, capacity: FloatOrArray) -> FloatOrArray:
    """Water above what the solids can hold.

    ::

        w_s = max(w - w_c, 0)

    with w the water [kg] and w_c the most the solids hold [kg].

    Parameters
    ----------
    water : float or ndarray, shape (layers,)
        Water in the layer [kg], usually 0.1 to 30.
    capacity : float or ndarray, shape (layers,)
        Most water the solids of the layer hold against gravity [kg], usually 0.1 to 30.

    Returns
    -------
    float or ndarray, shape (layers,)
        Surplus [kg], at least 0.

    Notes
    -----
    Ours: a sharp limit; real material drips a little earlier and keeps a little more.

    Examples
    --------
    >>> float(surplus_water(5.0, 4.0))
    1.0
    """
    surplus: FloatOrArray = np.maximum(water - capacity, 0.0)
    return surplus


def vapour_exchange(
    free_air_space: FloatOrArray,
    vapour_diffusivity: FloatOrArray,
    density: FloatOrArray,
    area: FloatOrArray,
    distance: FloatOrArray,
    enhancement: FloatOrArray,
) -> FloatOrArray:
    """Flow of moist gas each way that carries as much vapour as diffusion would.

    ::

        g = eta e D rho A / dz

    with eta the enhancement [-], e the free air space [-], D the diffusivity of vapour [m^2/s],
    rho the gas density [kg/m^3], A the area [m^2] and dz the distance [m].

    Parameters
    ----------
    free_air_space : float or ndarray, shape (layers,)
        Share of the volume that is gas [-], usually 0.05 to 0.7.
    vapour_diffusivity : float or ndarray, shape (layers,)
        Diffusivity of water vapour in free air [m^2/s], usually 2.2e-5 to 3.3e-5.
    density : float or ndarray, shape (layers,)
        Density of the gas [kg/m^3], usually 0.9 to 1.3.
    area : float or ndarray, shape (layers,)
        Area across which vapour moves [m^2], usually 0.1 to 1.
    distance : float or ndarray, shape (layers,)
        Distance between the two middles [m], usually 0.02 to 0.2.
    enhancement : float or ndarray, shape (layers,)
        Factor on plain diffusion [-], usually 1 to 1.5.

    Returns
    -------
    float or ndarray, shape (layers,)
        Gas flow each way [kg/s].

    Notes
    -----
    Water evaporates on the hot and condenses on the cold side of each wet grain, which shortens
    the way; so the air space enters once, not squared, and the enhancement is about 1.2.

    References
    ----------
    philip1957

    Examples
    --------
    >>> round(1e6 * vapour_exchange(0.4, 3.0e-5, 1.0, 0.2, 0.05, 1.2), 1)
    57.6
    """
    return enhancement * free_air_space * vapour_diffusivity * density * area / distance
