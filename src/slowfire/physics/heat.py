"""Conduction, heat capacity, walls and films."""

import numpy as np

from slowfire.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS


def conductivity_compost(moisture_content_wet_basis, bulk_density):
    """W/(m K), linear in moisture and density."""
    return 0.04 + 4.6e-4 * bulk_density * (0.5 + 0.85 * moisture_content_wet_basis)


def wall_resistance(thickness, conductivity):
    """m2 K/W of one slab."""
    return thickness / conductivity


def thermal_transmittance(inner_film, outer_film, resistance):
    """ISO 6946: 1/(Rsi + R + Rse)."""
    return 1.0 / (inner_film + resistance + outer_film)


def outer_film_coefficient(wind_speed, temperature_celsius, emissivity):
    """ISO 6946 annex: 4 + 4 v, plus radiation 4 eps sigma T^3."""
    kelvin = temperature_celsius + ZERO_CELSIUS
    return 4.0 + 4.0 * wind_speed + 4.0 * emissivity * STEFAN_BOLTZMANN * kelvin**3


def sol_air_temperature(temperature_celsius, irradiance, absorptance, film_coefficient):
    """Air temperature that would give the same heat flow into a sunlit surface."""
    return temperature_celsius + absorptance * irradiance / film_coefficient


def cross_section_time_constant(radius, diffusivity):
    """r^2 / (5.78 alpha) of the slowest radial mode."""
    return radius * radius / (5.783186 * diffusivity)


def share_hotter(mean, centre_minus_edge, limit):
    """Area share of a parabolic cross-section hotter than `limit`."""
    centre = mean + 0.5 * centre_minus_edge
    edge = mean - 0.5 * centre_minus_edge
    spread = np.where(np.abs(centre - edge) < 1e-9, 1e-9, centre - edge)
    share = np.where(spread > 0.0, (centre - limit) / spread, (limit - edge) / -spread)
    share = np.where(spread > 0.0, share, 1.0 - (limit - centre) / -spread)
    return np.minimum(np.maximum(share, 0.0), 1.0)
