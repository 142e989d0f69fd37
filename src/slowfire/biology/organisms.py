"""Where worms and fly larvae can live."""

import numpy as np

from slowfire.arrays import FloatOrArray


def worm_suitability(
    temperature_celsius: FloatOrArray,
    moisture_content_wet_basis: FloatOrArray,
    oxygen: FloatOrArray,
    ammonia_per_dry_mass: FloatOrArray,
) -> FloatOrArray:
    """How well compost worms do: cool, moist, airy material with little ammonia.

    ::

        f = product of five ramps, each clipped to 0..1:
            t / 10,  (35 - t) / 5,  (MC - 0.50) / 0.10 and (0.95 - MC) / 0.10,
            (x - 0.01) / 0.04,  (1 - n) / 0.5

    with t the temperature [degC], MC the moisture content, wet basis [-], x the oxygen by volume
    [-] and n the ammoniacal nitrogen in grams for each kilogram of dry matter.

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the material [degC], usually -5 to 80.
    moisture_content_wet_basis : float or ndarray, shape (layers,)
        Water by mass of the wet material [-], usually 0.2 to 0.85.
    oxygen : float or ndarray, shape (layers,)
        Oxygen in the dry gas by volume [-], usually 0 to 0.2095.
    ammonia_per_dry_mass : float or ndarray, shape (layers,)
        Ammoniacal nitrogen for each kilogram of dry matter [kg/kg], usually 0 to 0.005.

    Returns
    -------
    float or ndarray, shape (layers,)
        Suitability [-]: 1 where they thrive, 0 where they leave or die.

    Notes
    -----
    For Eisenia fetida, which bears 0 to 35 degC and 50 to 90 % water and thrives at 20 to 29
    degC, 60 to 85 % water, less than 0.5 g/kg ammoniacal nitrogen and more than 5 % oxygen. The
    straight ramps between are ours. Salt and pH are left out.

    References
    ----------
    kaplan1980, edwards1988

    Examples
    --------
    >>> float(worm_suitability(22.0, 0.75, 0.18, 1.0e-4))
    1.0
    >>> float(worm_suitability(45.0, 0.75, 0.18, 1.0e-4))
    0.0
    """
    t = temperature_celsius
    moisture = moisture_content_wet_basis
    warm = np.minimum(np.maximum((35.0 - t) / 5.0, 0.0), 1.0)
    cold = np.minimum(np.maximum(t / 10.0, 0.0), 1.0)
    moist = np.minimum(np.maximum((moisture - 0.50) / 0.10, 0.0), 1.0)
    soaked = np.minimum(np.maximum((0.95 - moisture) / 0.10, 0.0), 1.0)
    air = np.minimum(np.maximum((oxygen - 0.01) / 0.04, 0.0), 1.0)
    ammonia = np.minimum(np.maximum((1.0e-3 - ammonia_per_dry_mass) / 5.0e-4, 0.0), 1.0)
    suitability: FloatOrArray = warm * cold * moist * soaked * air * ammonia
    return suitability


def fly_larvae_survive(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """How well the larvae of soldier flies do at a temperature.

    ::

        f = min{max[(t - 10) / 4, 0], 1} min{max[(44 - t) / 6, 0], 1}

    with t the temperature [degC].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the material [degC], usually -5 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Suitability [-]: 1 where they grow, 0 where they stop or die.

    Notes
    -----
    Thresholds of the black soldier fly: 10.4 to 12.3 degC below, 37.2 to 44.0 degC above; the
    straight ramps across those bands are ours. Larvae sit out cold of 4 degC for days without
    growing. Larvae of fruit flies die at about 40, of house flies at 46 to 50 degC.

    References
    ----------
    chia2018, villazana2019

    Examples
    --------
    >>> float(fly_larvae_survive(30.0)), float(fly_larvae_survive(55.0))
    (1.0, 0.0)
    """
    t = temperature_celsius
    cold = np.minimum(np.maximum((t - 10.0) / 4.0, 0.0), 1.0)
    hot = np.minimum(np.maximum((44.0 - t) / 6.0, 0.0), 1.0)
    suitability: FloatOrArray = cold * hot
    return suitability
