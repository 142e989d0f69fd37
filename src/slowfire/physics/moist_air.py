"""Moist air and the gas in the pores: pressure, humidity, enthalpy, density, diffusion."""

import numpy as np

from slowfire.arrays import FloatOrArray
from slowfire.constants import (
    GAS_CONSTANT,
    HEAT_CAPACITY_DRY_AIR,
    HEAT_CAPACITY_VAPOUR,
    LATENT_HEAT_EVAPORATION,
    MOLAR_MASS_CARBON_DIOXIDE,
    MOLAR_MASS_DRY_AIR,
    MOLAR_MASS_INERT,
    MOLAR_MASS_OXYGEN,
    MOLAR_MASS_WATER,
    ZERO_CELSIUS,
)


def saturation_pressure(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Pressure of water vapour over a flat surface of pure water.

    ::

        p = 611.21 exp[(18.678 - t / 234.5) t / (257.14 + t)]

    with p the vapour pressure [Pa] and t the temperature [degC].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the water surface [degC], usually -5 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Vapour pressure [Pa].

    Notes
    -----
    Holds from -40 to 80 degC, below 0 degC over supercooled water (over ice the true value is
    lower, by 2 % at -2 degC). Air at atmospheric pressure raises it by 0.4 to 0.6 %, see
    `enhancement_factor_buck`; that factor is left out here, as in ordinary psychrometry.

    References
    ----------
    buck1996

    Examples
    --------
    >>> round(float(saturation_pressure(20.0)), 1)
    2338.3
    """
    t = temperature_celsius
    pressure: FloatOrArray = 611.21 * np.exp((18.678 - t / 234.5) * (t / (257.14 + t)))
    return pressure


def saturation_pressure_slope(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Change of the saturation pressure with temperature.

    ::

        dp/dt = p [(18.678 - t / 234.5) 257.14 / (257.14 + t)^2 - t / (234.5 (257.14 + t))]

    with p the saturation pressure [Pa] and t the temperature [degC].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the water surface [degC], usually -5 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Slope of the vapour pressure [Pa/K].

    Notes
    -----
    The exact derivative of `saturation_pressure`, holding over the same range.

    References
    ----------
    buck1996

    Examples
    --------
    >>> round(float(saturation_pressure_slope(20.0)), 1)
    144.8
    """
    t = temperature_celsius
    d = 257.14 + t
    pressure: FloatOrArray = 611.21 * np.exp((18.678 - t / 234.5) * (t / d))
    return pressure * ((18.678 - t / 234.5) * 257.14 / (d * d) - t / (234.5 * d))


def saturation_pressure_in_air(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Pressure of water vapour over water under air of standard pressure.

    ::

        p = f 611.21 exp[(18.678 - t / 234.5) t / (257.14 + t)],  f = 1.0039624 + 5.978e-7 t^2

    with p the vapour pressure [Pa], t the temperature [degC] and f `enhancement_factor_buck` at
    101325 Pa.

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the water surface [degC], usually -5 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Vapour pressure [Pa].

    Notes
    -----
    Holds from 0 to 80 degC at 95 to 105 kPa. The column uses this one: with it the humidity ratio
    of saturated air is within 0.4 % of the real-gas value.

    References
    ----------
    buck1996

    Examples
    --------
    >>> round(float(saturation_pressure_in_air(20.0)), 1)
    2348.2
    """
    t = temperature_celsius
    pressure: FloatOrArray = (
        (1.0039624 + 5.978e-7 * t * t) * 611.21 * np.exp((18.678 - t / 234.5) * (t / (257.14 + t)))
    )
    return pressure


def saturation_pressure_in_air_slope(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Change of the saturation pressure under air with temperature.

    ::

        dp/dt = p {(18.678 - t / 234.5) 257.14 / (257.14 + t)^2 - t / [234.5 (257.14 + t)]
                   + 1.1956e-6 t / f}

    with p and f of `saturation_pressure_in_air` and t the temperature [degC].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the water surface [degC], usually -5 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Slope of the vapour pressure [Pa/K].

    Notes
    -----
    The exact derivative of `saturation_pressure_in_air`, holding over the same range.

    References
    ----------
    buck1996

    Examples
    --------
    >>> round(float(saturation_pressure_in_air_slope(20.0)), 1)
    145.5
    """
    t = temperature_celsius
    d = 257.14 + t
    f = 1.0039624 + 5.978e-7 * t * t
    pressure: FloatOrArray = f * 611.21 * np.exp((18.678 - t / 234.5) * (t / d))
    return pressure * (
        (18.678 - t / 234.5) * 257.14 / (d * d) - t / (234.5 * d) + 1.1956e-6 * t / f
    )


def saturation_pressure_in_air_steepness(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Change of the saturation pressure under air with temperature, as a share of it.

    ::

        (dp/dt) / p = (18.678 - t / 234.5) 257.14 / d^2 - t / (234.5 d) + 1.1956e-6 t / f

    with p the vapour pressure [Pa], t the temperature [degC], d = 257.14 + t and
    f = 1.0039624 + 5.978e-7 t^2.

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the water surface [degC], usually -5 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Steepness of the vapour pressure [1/K].

    Notes
    -----
    Times `saturation_pressure_in_air` it is `saturation_pressure_in_air_slope`, without the
    exponential that one needs; it holds over the same range.

    References
    ----------
    buck1996

    Examples
    --------
    >>> round(float(saturation_pressure_in_air_steepness(20.0)), 5)
    0.06196
    """
    t = temperature_celsius
    d = 1.0 / (257.14 + t)
    f = 1.0039624 + 5.978e-7 * t * t
    return ((18.678 - t / 234.5) * 257.14 * d - t / 234.5) * d + 1.1956e-6 * t / f


def enhancement_factor_buck(
    temperature_celsius: FloatOrArray, pressure: FloatOrArray
) -> FloatOrArray:
    """Vapour pressure over water under air, divided by that over water alone.

    ::

        f = 1 + 1e-4 [7.2 + P (0.0320 + 5.9e-6 t^2)]

    with P the total pressure [hPa] and t the temperature [degC].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the water surface [degC], usually -5 to 80.
    pressure : float or ndarray, shape (layers,)
        Total pressure of the gas [Pa], usually 95000 to 103000; the source counts in hPa.

    Returns
    -------
    float or ndarray, shape (layers,)
        Factor on the saturation pressure [-], 1.004 to 1.008 near sea level.

    Notes
    -----
    Holds from 0 to 80 degC. It brings the humidity ratio of saturated air within 0.4 % of the
    real-gas value up to 80 degC; without it the ratio is 1.1 % low there.

    References
    ----------
    buck1996

    Examples
    --------
    >>> round(enhancement_factor_buck(20.0, 101325.0), 5)
    1.0042
    """
    t = temperature_celsius
    return 1.0 + 1.0e-4 * (7.2 + 0.01 * pressure * (0.0320 + 5.9e-6 * t * t))


def humidity_ratio(vapour_pressure: FloatOrArray, pressure: FloatOrArray) -> FloatOrArray:
    """Mass of water vapour to each mass of dry air.

    ::

        W = (M_w / M_a) p_v / (P - p_v)

    with M_w and M_a the molar masses of water and dry air [kg/mol], p_v the partial pressure of
    vapour [Pa] and P the total pressure [Pa].

    Parameters
    ----------
    vapour_pressure : float or ndarray, shape (layers,)
        Partial pressure of water vapour [Pa], usually 300 to 40000, always below `pressure`.
    pressure : float or ndarray, shape (layers,)
        Total pressure of the gas [Pa], usually 95000 to 103000.

    Returns
    -------
    float or ndarray, shape (layers,)
        Humidity ratio [kg/kg].

    Notes
    -----
    Ideal gas. The dry part is taken as outside air even where carbon dioxide has replaced
    oxygen, which makes the ratio up to 6 % high at 15 % carbon dioxide.

    References
    ----------
    ashrae2017

    Examples
    --------
    >>> round(humidity_ratio(2338.3, 101325.0), 5)
    0.01469
    """
    return MOLAR_MASS_WATER / MOLAR_MASS_DRY_AIR * vapour_pressure / (pressure - vapour_pressure)


def enthalpy_moist_air(
    temperature_celsius: FloatOrArray, humidity_ratio: FloatOrArray
) -> FloatOrArray:
    """Enthalpy of moist air, counted for each kilogram of dry air.

    ::

        h = c_a t + W (L_0 + c_v t)

    with c_a and c_v the heat capacities of dry air and vapour [J/(kg*K)], L_0 the latent heat at
    0 degC [J/kg], W the humidity ratio [kg/kg] and t the temperature [degC].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the gas [degC], usually -10 to 80.
    humidity_ratio : float or ndarray, shape (layers,)
        Water vapour to dry air by mass [kg/kg], usually 0.002 to 0.5.

    Returns
    -------
    float or ndarray, shape (layers,)
        Enthalpy for each kilogram of dry air [J/kg].

    Notes
    -----
    Zero for dry air and for liquid water at 0 degC. Holds from -10 to 80 degC.

    References
    ----------
    ashrae2017

    Examples
    --------
    >>> round(enthalpy_moist_air(55.0, 0.115))
    354710
    """
    t = temperature_celsius
    return HEAT_CAPACITY_DRY_AIR * t + humidity_ratio * (
        LATENT_HEAT_EVAPORATION + HEAT_CAPACITY_VAPOUR * t
    )


def gas_density(
    temperature_celsius: FloatOrArray,
    vapour_pressure: FloatOrArray,
    oxygen: FloatOrArray,
    carbon_dioxide: FloatOrArray,
    pressure: FloatOrArray,
) -> FloatOrArray:
    """Density of the gas in the pores, from its heat, its vapour and what replaced the oxygen.

    ::

        rho = [(P - p_v) M_dry + p_v M_w] / (R T)
        M_dry = M_i + (M_O2 - M_i) x_O2 + (M_CO2 - M_i) x_CO2

    with P the total and p_v the vapour pressure [Pa], M the molar masses [kg/mol] (i: nitrogen
    with argon), x the shares of the dry gas by volume [-], R the gas constant [J/(mol*K)] and T
    the absolute temperature [K].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the gas [degC], usually -20 to 80.
    vapour_pressure : float or ndarray, shape (layers,)
        Partial pressure of water vapour [Pa], usually 300 to 40000.
    oxygen : float or ndarray, shape (layers,)
        Oxygen in the dry gas by volume [-], usually 0 to 0.2095.
    carbon_dioxide : float or ndarray, shape (layers,)
        Carbon dioxide in the dry gas by volume [-], usually 0.0004 to 0.2.
    pressure : float or ndarray, shape (layers,)
        Total pressure of the gas [Pa], usually 95000 to 103000.

    Returns
    -------
    float or ndarray, shape (layers,)
        Density of the wet gas [kg/m^3].

    Notes
    -----
    Ideal gas; within 0.4 % of the real gas up to 80 degC. Methane and ammonia are left out.

    References
    ----------
    ashrae2017

    Examples
    --------
    >>> round(gas_density(10.0, 920.7, 0.2095, 0.00042, 101325.0), 4)
    1.2424
    """
    dry_molar_mass = (
        MOLAR_MASS_INERT
        + (MOLAR_MASS_OXYGEN - MOLAR_MASS_INERT) * oxygen
        + (MOLAR_MASS_CARBON_DIOXIDE - MOLAR_MASS_INERT) * carbon_dioxide
    )
    return ((pressure - vapour_pressure) * dry_molar_mass + vapour_pressure * MOLAR_MASS_WATER) / (
        GAS_CONSTANT * (temperature_celsius + ZERO_CELSIUS)
    )


def oxygen_diffusivity(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Diffusivity of oxygen in still air.

    ::

        D = 1.78e-5 (T / 273.15)^1.75

    with D the diffusivity [m^2/s] and T the absolute temperature [K].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the gas [degC], usually -10 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Diffusivity [m^2/s].

    Notes
    -----
    At atmospheric pressure, -20 to 80 degC. Pores are reckoned by the effective diffusivities
    in `gas_flow`.

    References
    ----------
    fuller1966

    Examples
    --------
    >>> round(float(1e5 * oxygen_diffusivity(25.0)), 2)
    2.07
    """
    ratio = (temperature_celsius + ZERO_CELSIUS) / ZERO_CELSIUS
    # the power 1.75 by roots, which cost a tenth of it
    root = np.sqrt(ratio)
    diffusivity: FloatOrArray = 1.78e-5 * ratio * root * np.sqrt(root)
    return diffusivity


def vapour_diffusivity(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Diffusivity of water vapour in still air.

    ::

        D = 2.178e-5 (T / 273.15)^1.81

    with D the diffusivity [m^2/s] and T the absolute temperature [K].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the gas [degC], usually -10 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Diffusivity [m^2/s].

    Notes
    -----
    At atmospheric pressure, -20 to 100 degC.

    References
    ----------
    massman1998, marrero1972

    Examples
    --------
    >>> round(float(1e5 * vapour_diffusivity(25.0)), 2)
    2.55
    """
    ratio = (temperature_celsius + ZERO_CELSIUS) / ZERO_CELSIUS
    diffusivity: FloatOrArray = 2.178e-5 * np.exp(1.81 * np.log(ratio))
    return diffusivity


def air_viscosity(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Dynamic viscosity of air by Sutherland's law.

    ::

        mu = 1.716e-5 (T / 273.15)^1.5 (273.15 + 110.4) / (T + 110.4)

    with mu the viscosity [Pa*s] and T the absolute temperature [K].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the gas [degC], usually -20 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Dynamic viscosity [Pa*s].

    Notes
    -----
    Dry air, -100 to 500 degC. Saturated air at 55 degC is about 4 % less viscous; the particle
    size that sets the permeability is known far less well, so that is left out.

    References
    ----------
    sutherland1893

    Examples
    --------
    >>> round(float(1e5 * air_viscosity(55.0)), 2)
    1.98
    """
    kelvin = temperature_celsius + ZERO_CELSIUS
    ratio = kelvin / ZERO_CELSIUS
    viscosity: FloatOrArray = (
        1.716e-5 * ratio * np.sqrt(ratio) * (ZERO_CELSIUS + 110.4) / (kelvin + 110.4)
    )
    return viscosity


def water_activity(water_per_dry_mass: FloatOrArray) -> FloatOrArray:
    """Vapour pressure over moist material, divided by that over pure water.

    ::

        a_w = 1 - exp(-5.1 r)

    with r the water to each mass of dry matter [kg/kg].

    Parameters
    ----------
    water_per_dry_mass : float or ndarray, shape (layers,)
        Water for each kilogram of dry matter [kg/kg], usually 0.2 to 6.

    Returns
    -------
    float or ndarray, shape (layers,)
        Water activity [-], 0 when bone-dry, toward 1 when wet.

    Notes
    -----
    The form and the 5.1 are our own: one curve through the origin and through the activity of
    0.88 to 0.90 measured at 30 % water. Salts and temperature are left out.

    References
    ----------
    contreras2021

    Examples
    --------
    >>> round(float(water_activity(0.3 / 0.7)), 2)
    0.89
    """
    activity: FloatOrArray = -np.expm1(-5.1 * water_per_dry_mass)
    return activity
