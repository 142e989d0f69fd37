"""Air through the bed and through openings."""

import numpy as np

from slowfire.arrays import FloatOrArray
from slowfire.constants import GRAVITY


def permeability_kozeny_carman(
    free_air_space: FloatOrArray, particle_diameter: FloatOrArray, cap: FloatOrArray
) -> FloatOrArray:
    """How easily air passes a bed of grains, up to a cap.

    ::

        k = min{e^3 d^2 / [180 (1 - e)^2], k_max}

    with e the free air space [-], d the effective grain diameter [m] and k_max the cap [m^2].

    Parameters
    ----------
    free_air_space : float or ndarray, shape (layers,)
        Share of the volume that is gas [-], usually 0.05 to 0.7, always below 1.
    particle_diameter : float or ndarray, shape (layers,)
        Effective grain diameter [m], usually 0.0005 to 0.005; a fitted number, not a sieve size.
    cap : float or ndarray, shape (layers,)
        Largest permeability allowed [m^2], usually 1e-7.

    Returns
    -------
    float or ndarray, shape (layers,)
        Permeability [m^2].

    Notes
    -----
    Slow flow (particle Reynolds number below about 10). Measured on compost with the effective
    air space at all moistures and loads. The cap is ours: the equation has no upper end as e
    goes to 1, measured beds lie between 1e-11 and 1e-7 m^2.

    References
    ----------
    carman1937, daskeener1997, richard2004

    Examples
    --------
    >>> float(round(1e9 * permeability_kozeny_carman(0.3, 0.002, 1e-7), 3))
    1.224
    """
    e = free_air_space
    k = e**3 * particle_diameter**2 / (180.0 * (1.0 - e) ** 2)
    capped: FloatOrArray = np.minimum(k, cap)
    return capped


def pressure_gradient_ergun(
    velocity: FloatOrArray,
    free_air_space: FloatOrArray,
    particle_diameter: FloatOrArray,
    density: FloatOrArray,
    viscosity: FloatOrArray,
) -> FloatOrArray:
    """Pressure lost for each metre of bed, slow and fast flow together.

    ::

        dp/dx = 150 mu (1 - e)^2 / (e^3 d^2) v + 1.75 rho (1 - e) / (e^3 d) v |v|

    with mu the viscosity [Pa*s], rho the density [kg/m^3], e the free air space [-], d the grain
    diameter [m] and v the velocity over the whole section [m/s].

    Parameters
    ----------
    velocity : float or ndarray, shape (layers,)
        Volume flow over the whole section [m/s], signed, usually -0.05 to 0.05.
    free_air_space : float or ndarray, shape (layers,)
        Share of the volume that is gas [-], usually 0.1 to 0.7.
    particle_diameter : float or ndarray, shape (layers,)
        Effective grain diameter [m], usually 0.0005 to 0.005.
    density : float or ndarray, shape (layers,)
        Density of the gas [kg/m^3], usually 0.9 to 1.3.
    viscosity : float or ndarray, shape (layers,)
        Dynamic viscosity of the gas [Pa*s], usually 1.7e-5 to 2.1e-5.

    Returns
    -------
    float or ndarray, shape (layers,)
        Pressure gradient [Pa/m], with the sign of the velocity.

    Notes
    -----
    Applied to compost at 0.001 to 0.05 m/s. Its slow limit uses 150 where
    `permeability_kozeny_carman` has 180: the two differ by a fifth. In grains of 2 mm the second
    term is 3 % at 0.01 m/s and nothing at the 0.0003 m/s of natural draft.

    References
    ----------
    ergun1952, richard2004

    Examples
    --------
    >>> float(round(pressure_gradient_ergun(0.01, 0.4, 0.002, 1.2, 1.9e-5), 1))
    41.1
    """
    e = free_air_space
    d = particle_diameter
    viscous = 150.0 * viscosity * (1.0 - e) ** 2 / (e**3 * d**2)
    inertial = 1.75 * density * (1.0 - e) / (e**3 * d) * np.abs(velocity)
    gradient: FloatOrArray = (viscous + inertial) * velocity
    return gradient


def orifice_flow(
    pressure_difference: FloatOrArray,
    area: FloatOrArray,
    discharge_coefficient: FloatOrArray,
    density: FloatOrArray,
) -> FloatOrArray:
    """Mass flow through an opening.

    ::

        m = C_d A sqrt(2 rho |dp|) sign(dp)

    with C_d the discharge coefficient [-], A the open area [m^2], rho the density on the side
    the gas comes from [kg/m^3] and dp the pressure difference [Pa].

    Parameters
    ----------
    pressure_difference : float or ndarray, shape (openings,)
        Pressure before less pressure behind the opening [Pa], signed, usually -5 to 5.
    area : float or ndarray, shape (openings,)
        Open area, opening times slot length [m^2], usually 0 to 0.05.
    discharge_coefficient : float or ndarray, shape (openings,)
        Share of the area the jet fills and of the ideal speed it reaches [-], usually 0.4 to 0.6.
    density : float or ndarray, shape (openings,)
        Density of the gas [kg/m^3], usually 0.9 to 1.3.

    Returns
    -------
    float or ndarray, shape (openings,)
        Mass flow [kg/s], with the sign of the pressure difference.

    Notes
    -----
    Sharp-edged openings with turbulent flow; in slits of 1 to 2 mm at pressures below 0.1 Pa
    friction takes over and the true flow is smaller.

    References
    ----------
    iso5167

    Examples
    --------
    >>> float(round(1000.0 * orifice_flow(1.0, 0.001, 0.6, 1.2), 3))
    0.93
    """
    flow: FloatOrArray = (
        discharge_coefficient
        * area
        * np.sqrt(2.0 * density * np.abs(pressure_difference))
        * np.sign(pressure_difference)
    )
    return flow


def orifice_conductance(
    pressure_difference: FloatOrArray,
    area: FloatOrArray,
    discharge_coefficient: FloatOrArray,
    density: FloatOrArray,
) -> FloatOrArray:
    """Mass flow through an opening for each pascal across it.

    ::

        g = C_d A sqrt(2 rho / p),   p = sqrt(dp^2 + 0.01^2)

    with C_d the discharge coefficient [-], A the open area [m^2], rho the density [kg/m^3] and
    dp the pressure difference [Pa].

    Parameters
    ----------
    pressure_difference : float or ndarray, shape (openings,)
        Pressure before less pressure behind the opening [Pa], signed, usually -5 to 5.
    area : float or ndarray, shape (openings,)
        Open area, opening times slot length [m^2], usually 0 to 0.05.
    discharge_coefficient : float or ndarray, shape (openings,)
        Share of the area the jet fills and of the ideal speed it reaches [-], usually 0.4 to 0.6.
    density : float or ndarray, shape (openings,)
        Density of the gas [kg/m^3], usually 0.9 to 1.3.

    Returns
    -------
    float or ndarray, shape (openings,)
        Conductance [kg/(s*Pa)], always finite.

    Notes
    -----
    Times `pressure_difference` it gives `orifice_flow` where the difference is large. The root
    is rounded off below 0.01 Pa (ours), so that a network of openings can be solved through
    zero flow; at 0.1 Pa the flow is 0.25 % low.

    References
    ----------
    iso5167

    Examples
    --------
    >>> float(round(1000.0 * orifice_conductance(1.0, 0.001, 0.6, 1.2), 3))
    0.929
    """
    dp = np.sqrt(pressure_difference * pressure_difference + 1e-4)
    conductance: FloatOrArray = discharge_coefficient * area * np.sqrt(2.0 * density / dp)
    return conductance


def effective_diffusivity_penman(
    free_air_space: FloatOrArray, diffusivity: FloatOrArray
) -> FloatOrArray:
    """Diffusivity through the pores, by the square of the air space.

    ::

        D_eff = e^2 D

    with e the free air space [-] and D the diffusivity in free air [m^2/s].

    Parameters
    ----------
    free_air_space : float or ndarray, shape (layers,)
        Share of the volume that is gas [-], usually 0.05 to 0.7.
    diffusivity : float or ndarray, shape (layers,)
        Diffusivity in free air [m^2/s], usually 1.8e-5 to 3e-5.

    Returns
    -------
    float or ndarray, shape (layers,)
        Effective diffusivity over the whole section [m^2/s].

    Notes
    -----
    Carried over from soils. Penman's own law is 0.66 e D, which the square crosses at e = 0.66;
    the square is lower in wet beds, where pores are cut off.

    References
    ----------
    papendick1981, penman1940

    Examples
    --------
    >>> round(1e6 * effective_diffusivity_penman(0.3, 2.0e-5), 2)
    1.8
    """
    return free_air_space * free_air_space * diffusivity


def effective_diffusivity_millington(
    free_air_space: FloatOrArray, porosity: FloatOrArray, diffusivity: FloatOrArray
) -> FloatOrArray:
    """Diffusivity through the pores, by air space and total porosity.

    ::

        D_eff = e^(10/3) / phi^2 D

    with e the free air space [-], phi the total porosity [-] and D the diffusivity in free air
    [m^2/s].

    Parameters
    ----------
    free_air_space : float or ndarray, shape (layers,)
        Share of the volume that is gas [-], usually 0.05 to 0.7, at most `porosity`.
    porosity : float or ndarray, shape (layers,)
        Share of the volume that is gas or water [-], usually 0.7 to 0.95.
    diffusivity : float or ndarray, shape (layers,)
        Diffusivity in free air [m^2/s], usually 1.8e-5 to 3e-5.

    Returns
    -------
    float or ndarray, shape (layers,)
        Effective diffusivity over the whole section [m^2/s].

    Notes
    -----
    Derived for soils; below `effective_diffusivity_penman` in wet beds.

    References
    ----------
    millington1961

    Examples
    --------
    >>> round(1e6 * effective_diffusivity_millington(0.3, 0.8, 2.0e-5), 3)
    0.565
    """
    return free_air_space ** (10.0 / 3.0) / (porosity * porosity) * diffusivity


def velocity_darcy(
    pressure_gradient: FloatOrArray, permeability: FloatOrArray, viscosity: FloatOrArray
) -> FloatOrArray:
    """Speed at which a pressure gradient drives gas through the bed.

    ::

        v = k (dp/dx) / mu

    with k the permeability [m^2], dp/dx the pressure gradient [Pa/m] and mu the viscosity [Pa*s].

    Parameters
    ----------
    pressure_gradient : float or ndarray, shape (layers,)
        Pressure gradient along the flow [Pa/m], signed, usually -5 to 5.
    permeability : float or ndarray, shape (layers,)
        Permeability of the bed [m^2], usually 1e-11 to 1e-7.
    viscosity : float or ndarray, shape (layers,)
        Dynamic viscosity of the gas [Pa*s], usually 1.7e-5 to 2.1e-5.

    Returns
    -------
    float or ndarray, shape (layers,)
        Volume flow over the whole section [m/s].

    Notes
    -----
    Slow flow; in grains of 2 mm at 0.01 m/s inertia takes 3 %, see `pressure_gradient_ergun`.

    References
    ----------
    darcy1856

    Examples
    --------
    >>> round(1000.0 * velocity_darcy(2.3, 1.0e-9, 1.95e-5), 3)
    0.118
    """
    return permeability * pressure_gradient / viscosity


def wind_pressure(
    wind_speed: FloatOrArray, coefficient: FloatOrArray, density: FloatOrArray
) -> FloatOrArray:
    """Pressure of the wind on an opening.

    ::

        p = C rho v^2 / 2

    with C the pressure coefficient [-], rho the density of the air [kg/m^3] and v the wind [m/s].

    Parameters
    ----------
    wind_speed : float or ndarray, shape (openings,)
        Wind at the height of the bin [m/s], usually 0 to 8.
    coefficient : float or ndarray, shape (openings,)
        Share of the full stagnation pressure [-], usually -0.5 (lee, lid) to 0.8 (windward).
    density : float or ndarray, shape (openings,)
        Density of the outside air [kg/m^3], usually 1.1 to 1.4.

    Returns
    -------
    float or ndarray, shape (openings,)
        Pressure above that of still air [Pa].

    Notes
    -----
    Beside a wall or hedge the wind at a bin is often a quarter of that at a weather station.

    References
    ----------
    ashrae2017

    Examples
    --------
    >>> round(wind_pressure(2.0, 0.5, 1.2), 2)
    1.2
    """
    return 0.5 * coefficient * density * wind_speed * wind_speed


def draft_pressure(
    outside_density: FloatOrArray, inside_density: FloatOrArray, height: FloatOrArray
) -> FloatOrArray:
    """Pressure with which lighter gas inside is pushed up by heavier air outside.

    ::

        p = (rho_out - rho_in) g h

    with rho the densities [kg/m^3], g the gravity [m/s^2] and h the height [m].

    Parameters
    ----------
    outside_density : float or ndarray, shape (layers,)
        Density of the outside air [kg/m^3], usually 1.1 to 1.4.
    inside_density : float or ndarray, shape (layers,)
        Density of the gas in the bed [kg/m^3], usually 0.9 to 1.3.
    height : float or ndarray, shape (layers,)
        Height of the gas column [m], usually 0.02 to 1.5.

    Returns
    -------
    float or ndarray, shape (layers,)
        Draft [Pa], upward positive; negative when the bed is colder than the air.

    Notes
    -----
    Exact for a column of even density.

    References
    ----------
    ashrae2017

    Examples
    --------
    >>> round(draft_pressure(1.242, 1.012, 1.0), 2)
    2.26
    """
    return (outside_density - inside_density) * GRAVITY * height
