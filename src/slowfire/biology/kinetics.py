"""Rate factors of degradation, each 0 to 1, and the acids that slow it."""

import numpy as np

from slowfire.arrays import FloatOrArray

HAUG_LARGEST = 17.930130  # [-], top of Haug's bracket, at 71.55 degC


def temperature_factor_rosso(
    temperature_celsius: FloatOrArray,
    minimum: FloatOrArray,
    optimum: FloatOrArray,
    maximum: FloatOrArray,
) -> FloatOrArray:
    """Effect of temperature, from the lowest, best and highest temperature of a community.

    ::

        f = (t - t_max)(t - t_min)^2
            / {(t_opt - t_min)[(t_opt - t_min)(t - t_opt) - (t_opt - t_max)(t_opt + t_min - 2 t)]}

    between t_min and t_max and 0 outside, with all temperatures in [degC].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the material [degC], usually -5 to 80.
    minimum : float or ndarray, shape (layers,)
        Temperature below which nothing happens [degC], usually -5 to 5.
    optimum : float or ndarray, shape (layers,)
        Temperature of the largest rate [degC], 35 to 40 for the cool, 55 to 60 for the hot group.
    maximum : float or ndarray, shape (layers,)
        Temperature above which nothing happens [degC], usually 45 to 72.

    Returns
    -------
    float or ndarray, shape (layers,)
        Rate over the rate at the optimum [-], 0 to 1.

    Notes
    -----
    Needs an optimum nearer to the maximum than to the minimum; otherwise the denominator can
    cross zero. The source describes growth rates of single species, here it describes the rate
    of a whole community.

    References
    ----------
    rosso1993, richardwalker2006

    Examples
    --------
    >>> round(float(temperature_factor_rosso(40.0, 5.0, 58.6, 71.6)), 3)
    0.597
    """
    t = np.minimum(np.maximum(temperature_celsius, minimum), maximum)
    top = (t - maximum) * (t - minimum) ** 2
    bottom = (optimum - minimum) * (
        (optimum - minimum) * (t - optimum) - (optimum - maximum) * (optimum + minimum - 2.0 * t)
    )
    factor: FloatOrArray = top / bottom
    return factor


def temperature_factor_haug(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Effect of temperature by Haug's two exponentials, over its own maximum.

    ::

        f = max(1.066^(t - 20) - 1.21^(t - 60), 0) / 17.930

    with t the temperature [degC].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the material [degC], usually -5 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Rate over the rate at 71.6 degC [-], 0 to 1.

    Notes
    -----
    The source counts from the rate at 20 degC; ours divides by the top of the curve, so that
    rates given at the optimum serve both this and `temperature_factor_rosso`. It is largest at
    71.6 degC, hotter than measured on household waste (55 better than 67 degC), 0 above about 80
    degC, and never quite 0 in the cold (0.016 at 0 degC).

    References
    ----------
    haug1993, sundberg2005

    Examples
    --------
    >>> round(float(temperature_factor_haug(55.0)), 3)
    0.501
    """
    t = temperature_celsius
    bracket = 1.066 ** (t - 20.0) - 1.21 ** (t - 60.0)
    factor: FloatOrArray = np.maximum(bracket, 0.0) / HAUG_LARGEST
    return factor


def moisture_factor_haug(moisture_content_wet_basis: FloatOrArray) -> FloatOrArray:
    """Effect of lacking water.

    ::

        f = 1 / [1 + exp(7.0622 - 17.684 MC)]

    with MC the moisture content, wet basis [-].

    Parameters
    ----------
    moisture_content_wet_basis : float or ndarray, shape (layers,)
        Water by mass of the wet material [-], usually 0.1 to 0.85.

    Returns
    -------
    float or ndarray, shape (layers,)
        Rate over the rate of wet material [-], 0 to 1.

    Notes
    -----
    No penalty on the wet side; that comes through air space and oxygen.

    References
    ----------
    haug1993

    Examples
    --------
    >>> round(float(moisture_factor_haug(0.5)), 3)
    0.856
    """
    factor: FloatOrArray = 1.0 / (1.0 + np.exp(7.0622 - 17.684 * moisture_content_wet_basis))
    return factor


def free_air_space_factor_haug(free_air_space: FloatOrArray) -> FloatOrArray:
    """Effect of lacking air space.

    ::

        f = 1 / [1 + exp(3.4945 - 23.675 FAS)]

    with FAS the free air space [-].

    Parameters
    ----------
    free_air_space : float or ndarray, shape (layers,)
        Share of the volume that is gas [-], usually 0.05 to 0.7.

    Returns
    -------
    float or ndarray, shape (layers,)
        Rate over the rate of airy material [-], 0.03 to 1.

    Notes
    -----
    For beds with forced air. Where oxygen is followed layer by layer part of this effect is
    counted twice; the rest stands for clods that oxygen does not enter.

    References
    ----------
    haug1993

    Examples
    --------
    >>> round(float(free_air_space_factor_haug(0.2)), 3)
    0.776
    """
    factor: FloatOrArray = 1.0 / (1.0 + np.exp(3.4945 - 23.675 * free_air_space))
    return factor


def oxygen_factor_monod(oxygen: FloatOrArray, half_saturation: FloatOrArray) -> FloatOrArray:
    """Effect of lacking oxygen.

    ::

        f = x / (x + K)

    with x the oxygen and K the half-saturation, by volume of the gas [-].

    Parameters
    ----------
    oxygen : float or ndarray, shape (layers,)
        Oxygen in the dry gas by volume [-], usually 0 to 0.2095.
    half_saturation : float or ndarray, shape (layers,)
        Oxygen at which the rate is halved [-], usually 0.002 to 0.02, above 0.

    Returns
    -------
    float or ndarray, shape (layers,)
        Rate over the rate with plenty of oxygen [-], 0 to 1.

    Notes
    -----
    Haug's half-saturation is 2 % by volume; later measurements are lower, see
    `oxygen_half_saturation_richard`. At 65 degC less oxygen was seen to go *faster*, which no
    factor of this form shows.

    References
    ----------
    haug1993, richard2006

    Examples
    --------
    >>> round(oxygen_factor_monod(0.05, 0.02), 3)
    0.714
    """
    return oxygen / (oxygen + half_saturation)


def oxygen_half_saturation_richard(
    temperature_celsius: FloatOrArray, moisture_content_wet_basis: FloatOrArray
) -> FloatOrArray:
    """Oxygen at which the rate is halved, from heat and moisture.

    ::

        K = max(0.79 - 0.041 t + 4.0 MC, 0.2) / 100

    with t the temperature [degC] and MC the moisture content, wet basis [-].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the material [degC], usually 35 to 65.
    moisture_content_wet_basis : float or ndarray, shape (layers,)
        Water by mass of the wet material [-], usually 0.36 to 0.6.

    Returns
    -------
    float or ndarray, shape (layers,)
        Half-saturation by volume of the gas [-], at least 0.002.

    Notes
    -----
    Measured at 35 to 65 degC and 36 to 60 % water, where it ran from -0.67 to 1.74 % by volume;
    the floor of 0.2 % is ours, because a negative value has no meaning. The source counts
    moisture and oxygen in per cent.

    References
    ----------
    richard2006

    Examples
    --------
    >>> round(float(oxygen_half_saturation_richard(35.0, 0.60)), 5)
    0.01755
    """
    percent = 0.79 - 0.041 * temperature_celsius + 4.0 * moisture_content_wet_basis
    half_saturation: FloatOrArray = np.maximum(percent, 0.2) / 100.0
    return half_saturation


def acidity_ph(
    acid_per_dry_mass: FloatOrArray,
    ph_base: FloatOrArray,
    ph_acid: FloatOrArray,
    half_acid: FloatOrArray,
) -> FloatOrArray:
    """pH, falling from that of sweet to that of sour material as organic acids gather.

    ::

        pH = pH_b - (pH_b - pH_a) x / (1 + x),   x = q / q_h

    with q the organic acids by dry mass [kg/kg], q_h the amount half-way [kg/kg], and pH_b and
    pH_a the two ends [-].

    Parameters
    ----------
    acid_per_dry_mass : float or ndarray, shape (layers,)
        Organic acids for each kilogram of dry matter [kg/kg], usually 0 to 0.03.
    ph_base : float or ndarray, shape (layers,)
        pH without organic acids [-], usually 7 to 8.5.
    ph_acid : float or ndarray, shape (layers,)
        pH with very much organic acid [-], usually 4 to 4.7.
    half_acid : float or ndarray, shape (layers,)
        Organic acids at which the pH is half-way [kg/kg], usually 0.003 to 0.01, above 0.

    Returns
    -------
    float or ndarray, shape (layers,)
        pH [-].

    Notes
    -----
    The form is our own; fresh food waste of pH 4.7 to 6.1 held 24 to 81 mmol/kg of organic
    acids in the source.

    References
    ----------
    sundberg2011

    Examples
    --------
    >>> acidity_ph(0.005, 8.0, 4.4, 0.005)
    6.2
    """
    x = acid_per_dry_mass / half_acid
    return ph_base - (ph_base - ph_acid) * x / (1.0 + x)


def acid_factor_sundberg(temperature_celsius: FloatOrArray, ph: FloatOrArray) -> FloatOrArray:
    """Effect of sour material that is also warm.

    ::

        f = 1 - 0.95 s[(t - 38) / 4] s[(6.3 - pH) / 0.6],   s[x] = x^2 (3 - 2 x), x clipped to 0..1

    with t the temperature [degC].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the material [degC], usually -5 to 80.
    ph : float or ndarray, shape (layers,)
        pH of the water in the material [-], usually 4.2 to 9.

    Returns
    -------
    float or ndarray, shape (layers,)
        Rate over the rate of sweet material [-], 0.05 to 1.

    Notes
    -----
    The rule (severe only above 40 degC *and* below pH 6) is published; the smooth steps about
    those limits and the 0.05 that remains are ours. No wider penalty for sourness when cool.

    References
    ----------
    sundberg2005, sundberg2011

    Examples
    --------
    >>> float(acid_factor_sundberg(35.0, 5.0))
    1.0
    >>> round(float(acid_factor_sundberg(46.0, 5.0)), 2)
    0.05
    """
    warm = np.minimum(np.maximum((temperature_celsius - 38.0) / 4.0, 0.0), 1.0)
    sour = np.minimum(np.maximum((6.3 - ph) / 0.6, 0.0), 1.0)
    warm = warm * warm * (3.0 - 2.0 * warm)
    sour = sour * sour * (3.0 - 2.0 * sour)
    factor: FloatOrArray = 1.0 - 0.95 * warm * sour
    return factor


def nitrogen_factor(
    nitrogen_per_degradable_mass: FloatOrArray, half_saturation: FloatOrArray
) -> FloatOrArray:
    """Effect of lacking nitrogen.

    ::

        f = r / (r + K)

    with r the nitrogen within reach by degradable dry mass and K the half-saturation, both
    [kg/kg].

    Parameters
    ----------
    nitrogen_per_degradable_mass : float or ndarray, shape (layers,)
        Nitrogen within reach for each kilogram of degradable dry matter [kg/kg], usually 0.002
        to 0.06.
    half_saturation : float or ndarray, shape (layers,)
        The ratio at which the rate is halved [kg/kg], usually 0.001 to 0.005, above 0.

    Returns
    -------
    float or ndarray, shape (layers,)
        Rate over the rate with plenty of nitrogen [-], 0 to 1.

    Notes
    -----
    The form is common in models of this kind; its half-saturation is a prior to be fitted.

    References
    ----------
    mason2006

    Examples
    --------
    >>> round(nitrogen_factor(0.018, 0.002), 2)
    0.9
    """
    return nitrogen_per_degradable_mass / (nitrogen_per_degradable_mass + half_saturation)


def degradable_share_chandler(lignin_of_volatile_solids_percent: FloatOrArray) -> FloatOrArray:
    """Share of the volatile solids that can rot at all, from their lignin.

    ::

        B = max(0.83 - 0.028 X, 0)

    with X the lignin in the volatile solids [%].

    Parameters
    ----------
    lignin_of_volatile_solids_percent : float or ndarray, shape (materials,)
        Lignin by mass of the volatile solids [percent], usually 0.4 to 30.

    Returns
    -------
    float or ndarray, shape (materials,)
        Degradable share of the volatile solids [-], 0 to 0.83.

    Notes
    -----
    Found for digestion without air, 0 to 20 % lignin, so a lower bound for long composting. The
    floor of 0 (above 29.6 % lignin) is ours. Coffee grounds and wood rot further than it says.

    References
    ----------
    chandler1980

    Examples
    --------
    >>> round(float(degradable_share_chandler(12.9)), 2)
    0.47
    """
    share: FloatOrArray = np.maximum(0.83 - 0.028 * lignin_of_volatile_solids_percent, 0.0)
    return share
