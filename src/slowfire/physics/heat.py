"""Conduction, heat capacity, walls and films."""

import numpy as np

from slowfire.arrays import FloatOrArray
from slowfire.constants import HEAT_CAPACITY_WATER, STEFAN_BOLTZMANN, ZERO_CELSIUS


def conductivity_compost(
    moisture_content_wet_basis: FloatOrArray, bulk_density: FloatOrArray
) -> FloatOrArray:
    """Heat conductivity of the bed, rising with what it holds of solids and of water.

    ::

        k = 0.03 + rho [3.5e-4 (1 - MC) + 7.5e-4 MC]

    with k the conductivity [W/(m*K)], rho the wet bulk density [kg/m^3] and MC the moisture
    content, wet basis [-].

    Parameters
    ----------
    moisture_content_wet_basis : float or ndarray, shape (layers,)
        Water by mass of the wet material [-], usually 0.2 to 0.85.
    bulk_density : float or ndarray, shape (layers,)
        Wet bulk density [kg/m^3], usually 50 to 1000.

    Returns
    -------
    float or ndarray, shape (layers,)
        Conductivity without vapour transport [W/(m*K)].

    Notes
    -----
    Linear in moisture and in density, as measured; the three numbers are our own, set so that
    the published ranges hold (straw, shavings 0.03 to 0.30; silage 0.09 to 0.47; sawdust, soil
    blends, manure 0.12 to 0.81 W/(m*K), all at 80 % of their water holding) and so that 60 %
    water at 500 kg/m^3 gives 0.30 to 0.40 (common practice, no source). Above 900 kg/m^3 and
    80 % water it exceeds that of water. Transport by vapour is reckoned apart.

    References
    ----------
    ahn2009

    Examples
    --------
    >>> round(conductivity_compost(0.6, 500.0), 3)
    0.325
    """
    return 0.03 + bulk_density * (
        3.5e-4 * (1.0 - moisture_content_wet_basis) + 7.5e-4 * moisture_content_wet_basis
    )


def specific_heat_compost(
    moisture_content_wet_basis: FloatOrArray, specific_heat_solids: FloatOrArray
) -> FloatOrArray:
    """Heat capacity of a kilogram of wet material.

    ::

        c = c_w MC + c_s (1 - MC)

    with c_w that of water [J/(kg*K)], c_s that of the dry solids [J/(kg*K)] and MC the moisture
    content, wet basis [-].

    Parameters
    ----------
    moisture_content_wet_basis : float or ndarray, shape (layers,)
        Water by mass of the wet material [-], usually 0.2 to 0.85.
    specific_heat_solids : float or ndarray, shape (layers,)
        Heat capacity of the dry solids [J/(kg*K)], usually 1050 to 1500.

    Returns
    -------
    float or ndarray, shape (layers,)
        Heat capacity of the wet material [J/(kg*K)].

    Notes
    -----
    Above 0 degC; the gas in the pores is left out (less than 0.1 %).

    References
    ----------
    haug1993, iwabuchi1999

    Examples
    --------
    >>> round(specific_heat_compost(0.6, 1050.0), 1)
    2931.6
    """
    return HEAT_CAPACITY_WATER * moisture_content_wet_basis + specific_heat_solids * (
        1.0 - moisture_content_wet_basis
    )


def frozen_share(temperature_celsius: FloatOrArray) -> FloatOrArray:
    """Share of the water that is ice.

    ::

        s = min{max[-t / 2, 0], 1}

    with t the temperature [degC].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (layers,)
        Temperature of the material [degC], usually -20 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Share frozen [-], 0 to 1.

    Notes
    -----
    Freezing is spread evenly over -2 to 0 degC, where salts and fine pores hold it back. Real
    material keeps a few per cent unfrozen below that; common practice, no source.

    Examples
    --------
    >>> float(frozen_share(-0.5))
    0.25
    """
    share: FloatOrArray = np.minimum(np.maximum(-0.5 * temperature_celsius, 0.0), 1.0)
    return share


def wall_resistance(thickness: FloatOrArray, conductivity: FloatOrArray) -> FloatOrArray:
    """Resistance of one slab of a wall to heat.

    ::

        R = d / k

    with d the thickness [m] and k the conductivity [W/(m*K)].

    Parameters
    ----------
    thickness : float or ndarray, shape (slabs,)
        Thickness of the slab [m], usually 0.003 to 0.15.
    conductivity : float or ndarray, shape (slabs,)
        Heat conductivity of the slab [W/(m*K)], usually 0.03 to 0.5.

    Returns
    -------
    float or ndarray, shape (slabs,)
        Resistance [m^2*K/W]; slabs on one another add up.

    Notes
    -----
    Flat slabs; on a round bin the error is about half of thickness over radius. Wet foam or
    wool conducts more than the dry value on the label.

    References
    ----------
    iso6946

    Examples
    --------
    >>> round(wall_resistance(0.05, 0.037), 3)
    1.351
    """
    return thickness / conductivity


def thermal_transmittance(
    inner_film: FloatOrArray, outer_film: FloatOrArray, resistance: FloatOrArray
) -> FloatOrArray:
    """Heat through a wall for each square metre and kelvin, with its films.

    ::

        U = 1 / (R_si + R + R_se)

    with R_si, R and R_se the resistances of inner film, wall and outer film [m^2*K/W].

    Parameters
    ----------
    inner_film : float or ndarray, shape (walls,)
        Resistance between inner air and wall [m^2*K/W], 0.13 beside air, 0 where the bed touches.
    outer_film : float or ndarray, shape (walls,)
        Resistance between wall and outside air [m^2*K/W], usually 0.03 to 0.08.
    resistance : float or ndarray, shape (walls,)
        Resistance of all slabs of the wall together [m^2*K/W], usually 0.01 to 4.

    Returns
    -------
    float or ndarray, shape (walls,)
        Thermal transmittance, the U-value [W/(m^2*K)].

    Notes
    -----
    Steady heat through even walls; posts and joints come on top.

    References
    ----------
    iso6946

    Examples
    --------
    >>> round(thermal_transmittance(0.13, 0.04, 0.05 / 0.037), 2)
    0.66
    """
    return 1.0 / (inner_film + resistance + outer_film)


def outer_film_coefficient(
    wind_speed: FloatOrArray, temperature_celsius: FloatOrArray, emissivity: FloatOrArray
) -> FloatOrArray:
    """Heat between an outer surface and its surroundings, by wind and by radiation.

    ::

        h = 4 + 4 v + 4 eps sigma T^3

    with h the coefficient [W/(m^2*K)], v the wind [m/s], eps the emissivity [-], sigma the
    Stefan-Boltzmann constant [W/(m^2*K^4)] and T the mean absolute temperature [K].

    Parameters
    ----------
    wind_speed : float or ndarray, shape (steps,)
        Wind at the height of the bin [m/s], usually 0 to 8.
    temperature_celsius : float or ndarray, shape (steps,)
        Mean of surface and surroundings [degC], usually -10 to 40.
    emissivity : float or ndarray, shape (steps,)
        Emissivity of the surface [-], 0.9 for wood, plastic and paint, 0.1 for bare metal.

    Returns
    -------
    float or ndarray, shape (steps,)
        Film coefficient [W/(m^2*K)].

    Notes
    -----
    Radiation is linearised about the mean temperature; the sky counts as warm as the air, so
    clear nights cool a lid more than this.

    References
    ----------
    iso6946

    Examples
    --------
    >>> round(outer_film_coefficient(4.0, 10.0, 0.9), 1)
    24.6
    """
    kelvin = temperature_celsius + ZERO_CELSIUS
    return 4.0 + 4.0 * wind_speed + 4.0 * emissivity * STEFAN_BOLTZMANN * kelvin**3


def sol_air_temperature(
    temperature_celsius: FloatOrArray,
    irradiance: FloatOrArray,
    absorptance: FloatOrArray,
    film_coefficient: FloatOrArray,
) -> FloatOrArray:
    """Air temperature that would send the same heat into a surface as air and sun together.

    ::

        t_s = t + a G / h

    with t the air temperature [degC], a the absorptance [-], G the irradiance [W/m^2] and h the
    film coefficient [W/(m^2*K)].

    Parameters
    ----------
    temperature_celsius : float or ndarray, shape (steps,)
        Temperature of the outside air [degC], usually -20 to 40.
    irradiance : float or ndarray, shape (steps,)
        Irradiance on the surface [W/m^2], usually 0 to 1000.
    absorptance : float or ndarray, shape (steps,)
        Share of the sun's light taken up [-], usually 0.3 (white) to 0.9 (black).
    film_coefficient : float or ndarray, shape (steps,)
        Heat between surface and surroundings [W/(m^2*K)], usually 8 to 40.

    Returns
    -------
    float or ndarray, shape (steps,)
        Sol-air temperature [degC].

    Notes
    -----
    Leaves out the long-wave loss to a cold sky (up to about 4 K on a lid).

    References
    ----------
    ashrae2017

    Examples
    --------
    >>> sol_air_temperature(20.0, 500.0, 0.6, 20.0)
    35.0
    """
    return temperature_celsius + absorptance * irradiance / film_coefficient


def cross_section_time_constant(radius: FloatOrArray, diffusivity: FloatOrArray) -> FloatOrArray:
    """Time in which the profile from centre to edge settles.

    ::

        tau = r^2 / (5.783 alpha)

    with r the radius [m] and alpha the thermal diffusivity [m^2/s]; 5.783 is the square of the
    first zero of the Bessel function J0.

    Parameters
    ----------
    radius : float or ndarray, shape (layers,)
        Radius of the round bin, or twice area over perimeter [m], usually 0.15 to 0.6.
    diffusivity : float or ndarray, shape (layers,)
        Thermal diffusivity of the bed [m^2/s], usually 1e-7 to 3e-7.

    Returns
    -------
    float or ndarray, shape (layers,)
        Time constant [s].

    Notes
    -----
    The slowest mode of a long cylinder with a well-held edge. For a square section with r half
    its side the exact factor is 4.93, so the profile settles 17 % slower than this.

    References
    ----------
    carslaw1959

    Examples
    --------
    >>> round(cross_section_time_constant(0.3, 1.5e-7) / 86400.0, 2)
    1.2
    """
    return radius * radius / (5.783186 * diffusivity)


def wall_heat_flux(
    mean: FloatOrArray,
    outside_temperature_celsius: FloatOrArray,
    centre_minus_edge: FloatOrArray,
    step_ratio: FloatOrArray,
    bed_resistance: FloatOrArray,
    wall_resistance: FloatOrArray,
) -> FloatOrArray:
    """Heat through a wall at the end of a step, while the profile behind it settles.

    ::

        q = [T - T_o - (delta_0 / 2) / (1 + b)] / [R_w + R_r b / (1 + b)]

    with T the mean and T_o the outside temperature [degC], delta_0 centre minus edge before the
    step [K], b the time step over the time constant of the section [-], R_r the resistance from
    mean to edge and R_w that from edge to outside air [m^2*K/W].

    Parameters
    ----------
    mean : float or ndarray, shape (layers,)
        Mean temperature of the cross-section [degC], usually -5 to 80.
    outside_temperature_celsius : float or ndarray, shape (layers,)
        Air or sol-air temperature outside [degC], usually -20 to 50.
    centre_minus_edge : float or ndarray, shape (layers,)
        Temperature of the centre less that of the edge, before the step [K], usually -10 to 40.
    step_ratio : float or ndarray, shape (layers,)
        Time step over the time constant of the cross-section [-], usually 0.001 to 1.
    bed_resistance : float or ndarray, shape (layers,)
        Resistance of the settled bed from mean to edge, r/(4k) [m^2*K/W], usually 0.1 to 1.
    wall_resistance : float or ndarray, shape (layers,)
        Resistance from the edge of the bed to the outside air [m^2*K/W], usually 0.1 to 3.

    Returns
    -------
    float or ndarray, shape (layers,)
        Heat leaving through the wall [W/m^2], outward positive.

    Notes
    -----
    One backward step of tau d(delta)/dt = 2 q R_r - delta with q R_w = T - delta/2 - T_o. For
    long steps it becomes the steady (T - T_o)/(R_w + R_r). The profile is a parabola, so the
    edge lies delta/2 below the mean, and r/(4k) is the steady resistance from *mean* to edge of
    a cylinder heated evenly; centre to edge is twice that.

    References
    ----------
    carslaw1959

    Examples
    --------
    >>> round(wall_heat_flux(50.0, 10.0, 0.0, 1.0e9, 0.25, 1.35), 3)
    25.0
    """
    fading = 1.0 / (1.0 + step_ratio)
    return (mean - outside_temperature_celsius - 0.5 * centre_minus_edge * fading) / (
        wall_resistance + bed_resistance * step_ratio * fading
    )


def centre_minus_edge_after(
    centre_minus_edge: FloatOrArray,
    heat_flux: FloatOrArray,
    step_ratio: FloatOrArray,
    bed_resistance: FloatOrArray,
) -> FloatOrArray:
    """Difference between centre and edge at the end of a step.

    ::

        delta = (delta_0 + 2 b q R_r) / (1 + b)

    with delta_0 the difference before the step [K], b the time step over the time constant of
    the section [-], q the heat through the edge [W/m^2] and R_r the resistance from mean to edge
    [m^2*K/W].

    Parameters
    ----------
    centre_minus_edge : float or ndarray, shape (layers,)
        Temperature of the centre less that of the edge, before the step [K], usually -10 to 40.
    heat_flux : float or ndarray, shape (layers,)
        Heat leaving at the edge, through the wall and into entering air [W/m^2], usually -50 to
        100.
    step_ratio : float or ndarray, shape (layers,)
        Time step over the time constant of the cross-section [-], usually 0.001 to 1.
    bed_resistance : float or ndarray, shape (layers,)
        Resistance of the settled bed from mean to edge, r/(4k) [m^2*K/W], usually 0.1 to 1.

    Returns
    -------
    float or ndarray, shape (layers,)
        Difference after the step [K].

    Notes
    -----
    Goes with `wall_heat_flux`; for long steps it becomes 2 q R_r, the parabola of a cylinder
    heated evenly.

    References
    ----------
    carslaw1959

    Examples
    --------
    >>> round(centre_minus_edge_after(0.0, 25.0, 1.0e9, 0.25), 3)
    12.5
    """
    return (centre_minus_edge + 2.0 * step_ratio * heat_flux * bed_resistance) / (1.0 + step_ratio)


def share_hotter(
    mean: FloatOrArray, centre_minus_edge: FloatOrArray, limit: FloatOrArray
) -> FloatOrArray:
    """Share of the area of a cross-section that is hotter than a limit.

    ::

        s = (T_hot - limit) / |delta|,  clipped to 0..1,   T_hot = T + |delta| / 2

    with T the mean [degC], delta centre minus edge [K] and T_hot the hotter of centre and edge.

    Parameters
    ----------
    mean : float or ndarray, shape (layers,)
        Mean temperature of the cross-section [degC], usually -5 to 80.
    centre_minus_edge : float or ndarray, shape (layers,)
        Temperature of the centre less that of the edge [K], usually -10 to 40.
    limit : float or ndarray, shape (layers,)
        Temperature to exceed [degC], usually 40 to 80.

    Returns
    -------
    float or ndarray, shape (layers,)
        Share of the area [-], 0 to 1.

    Notes
    -----
    Exact for a parabolic profile in a round section, where temperature is even in area. The
    sign of the difference does not matter: it says only whether the hot part is the core or
    the rim. Even sections count as all or nothing.

    References
    ----------
    carslaw1959

    Examples
    --------
    >>> float(share_hotter(50.0, 20.0, 55.0))
    0.25
    """
    spread = np.abs(centre_minus_edge)
    share = (mean + 0.5 * spread - limit) / np.maximum(spread, 1e-9)
    clipped: FloatOrArray = np.minimum(np.maximum(share, 0.0), 1.0)
    return clipped
