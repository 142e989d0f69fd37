"""Ammonia between water and gas, and nitrification."""

import numpy as np

from slowfire.arrays import FloatOrArray
from slowfire.constants import DENSITY_WATER, ZERO_CELSIUS


def ammonia_pka(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """pH at which half of the dissolved ammoniacal nitrogen is ammonia.

    ::

        pK_a = 0.0902 + 2729.9 / T

    with T the absolute temperature [K].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the water [degC], usually -5 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        pK_a [-], 10.1 when cold to 7.8 when hot.

    Notes
    -----
    Measured from 0 to 50 degC in dilute water, used here up to 80 degC.

    References
    ----------
    emerson1975

    Examples
    --------
    >>> round(ammonia_pka(25.0), 2)
    9.25
    """
    return 0.0902 + 2729.9 / (temperature_celsius + ZERO_CELSIUS)


def free_ammonia_fraction(temperature_celsius: FloatOrArray, ph: FloatOrArray) -> FloatOrArray:
    """Share of the dissolved ammoniacal nitrogen that is ammonia, the rest being ammonium.

    ::

        s = 1 / [1 + 10^(pK_a - pH)],   pK_a = 0.0902 + 2729.9 / T

    with T the absolute temperature [K].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the water [degC], usually -5 to 80.
    ph : float or ndarray, shape (layers,)
        pH of the water in the material [-], usually 4.2 to 9.

    Returns
    -------
    float or ndarray, shape (layers,)
        Share present as ammonia [-], 0 to 1.

    Notes
    -----
    Dilute water; salts of a real heap lower it by some per cent.

    References
    ----------
    emerson1975

    Examples
    --------
    >>> round(free_ammonia_fraction(55.0, 8.0), 2)
    0.28
    """
    pka = 0.0902 + 2729.9 / (temperature_celsius + ZERO_CELSIUS)
    return 1.0 / (1.0 + 10.0 ** (pka - ph))


def ammonia_gas_water_ratio(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Concentration of ammonia in gas over that in the water beside it.

    ::

        H = 6.84e-4 (298.15 / T) exp[-4200 (1 / T - 1 / 298.15)]

    with T the absolute temperature [K].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of gas and water [degC], usually -5 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Ratio of mass by volume in the gas to mass by volume in the water [-].

    Notes
    -----
    Ammonia proper, not ammonium. From a solubility of 0.59 mol/(m^3*Pa) at 298.15 K that falls
    with 4200 K; as a ratio of concentrations it is 1 over solubility times R T, which brings in
    298.15/T. Measurements scatter by 3 % about it; 273 to 313 K, used here up to 353 K.

    References
    ----------
    sander2023, clegg1989

    Examples
    --------
    >>> round(1e4 * float(ammonia_gas_water_ratio(25.0)), 2)
    6.84
    """
    kelvin = temperature_celsius + ZERO_CELSIUS
    ratio: FloatOrArray = (
        6.84e-4 * (298.15 / kelvin) * np.exp(-4200.0 * (1.0 / kelvin - 1.0 / 298.15))
    )
    return ratio


def ammonia_in_gas(
    nitrogen_mineral: FloatOrArray,
    water: FloatOrArray,
    temperature_celsius: FloatOrArray,
    ph: FloatOrArray,
) -> FloatOrArray:
    """Nitrogen carried as ammonia by gas that has settled with the water beside it.

    ::

        c = H s n rho_w / w

    with H the gas to water ratio [-], s the share of ammonia [-], n the ammoniacal nitrogen
    [kg], rho_w the density of water [kg/m^3] and w the water [kg].

    Parameters
    ----------
    nitrogen_mineral : float or ndarray, shape (layers,)
        Ammoniacal nitrogen in the layer [kg], usually 0 to 0.05.
    water : float or ndarray, shape (layers,)
        Water in the layer [kg], usually 0.1 to 30, above 0.
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the layer [degC], usually -5 to 80.
    ph : float or ndarray, shape (layers,)
        pH of the water in the layer [-], usually 4.2 to 9.

    Returns
    -------
    float or ndarray, shape (layers,)
        Nitrogen in the gas [kg/m^3].

    Notes
    -----
    Equilibrium between all the water and all the gas: an upper bound, as some ammonium is held
    by humus and some gas slips past.

    References
    ----------
    emerson1975, sander2023

    Examples
    --------
    >>> round(1e6 * float(ammonia_in_gas(0.005, 5.0, 55.0, 8.0)))
    632
    """
    kelvin = temperature_celsius + ZERO_CELSIUS
    fraction = 1.0 / (1.0 + 10.0 ** (0.0902 + 2729.9 / kelvin - ph))
    ratio = 6.84e-4 * (298.15 / kelvin) * np.exp(-4200.0 * (1.0 / kelvin - 1.0 / 298.15))
    concentration: FloatOrArray = ratio * fraction * nitrogen_mineral * DENSITY_WATER / water
    return concentration


def nitrification_factor(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Effect of temperature on the turning of ammonium into nitrate.

    ::

        f = min{max[(t - 5) / 23, 0], 1} min{max[(42 - t) / 6, 0], 1}

    with t the temperature [degC].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the material [degC], usually -5 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Rate over the rate at 28 to 36 degC [-], 0 to 1.

    Notes
    -----
    Ours: nitrifiers stop near 40 to 42 degC (common practice, no source), so nitrate comes in
    cooling material and at edges.

    Examples
    --------
    >>> float(nitrification_factor(30.0)), float(nitrification_factor(55.0))
    (1.0, 0.0)
    """
    cool = np.minimum(np.maximum((temperature_celsius - 5.0) / 23.0, 0.0), 1.0)
    hot = np.minimum(np.maximum((42.0 - temperature_celsius) / 6.0, 0.0), 1.0)
    factor: FloatOrArray = cool * hot
    return factor
