"""Air through the bed and through openings."""

import numpy as np


def permeability_kozeny_carman(free_air_space, particle_diameter, cap):
    """m2, capped."""
    e = free_air_space
    k = e**3 * particle_diameter**2 / (180.0 * (1.0 - e) ** 2)
    return np.minimum(k, cap)


def pressure_gradient_ergun(velocity, free_air_space, particle_diameter, density, viscosity):
    """Pa/m."""
    e = free_air_space
    d = particle_diameter
    return (
        150.0 * viscosity * (1.0 - e) ** 2 / (e**3 * d**2) * velocity
        + 1.75 * density * (1.0 - e) / (e**3 * d) * velocity * np.abs(velocity)
    )


def orifice_flow(pressure_difference, area, discharge_coefficient, density):
    """Signed mass flow kg/s."""
    return (
        discharge_coefficient
        * area
        * np.sqrt(2.0 * density * np.abs(pressure_difference))
        * np.sign(pressure_difference)
    )


def orifice_conductance(pressure_difference, area, discharge_coefficient, density):
    """Mass flow per pressure difference [kg/(s*Pa)], rounded off below 0.01 Pa."""
    dp = np.sqrt(pressure_difference * pressure_difference + 1e-4)
    return discharge_coefficient * area * np.sqrt(2.0 * density / dp)


def effective_diffusivity_penman(free_air_space, diffusivity):
    """FAS^2 D (see Papendick and Campbell 1981)."""
    return free_air_space * free_air_space * diffusivity


def effective_diffusivity_millington(free_air_space, porosity, diffusivity):
    """FAS^(10/3)/porosity^2 D."""
    return free_air_space ** (10.0 / 3.0) / (porosity * porosity) * diffusivity


def velocity_darcy(pressure_gradient, permeability, viscosity):
    """m/s."""
    return permeability * pressure_gradient / viscosity


def wind_pressure(wind_speed, coefficient, density):
    """Stagnation pressure times coefficient [Pa]."""
    return 0.5 * coefficient * density * wind_speed * wind_speed
