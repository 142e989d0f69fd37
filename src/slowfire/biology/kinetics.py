"""Rate factors of degradation."""

import numpy as np


def temperature_factor_rosso(temperature_celsius, minimum, optimum, maximum):
    """CTMI (Rosso 1993), 0 outside minimum..maximum."""
    t = np.minimum(np.maximum(temperature_celsius, minimum), maximum)
    top = (t - maximum) * (t - minimum) ** 2
    bottom = (optimum - minimum) * (
        (optimum - minimum) * (t - optimum) - (optimum - maximum) * (optimum + minimum - 2.0 * t)
    )
    return top / bottom


def temperature_factor_haug(temperature_celsius):
    """Haug 1993, divided by its maximum; 0 above about 80 C."""
    t = temperature_celsius
    return np.maximum(1.066 ** (t - 20.0) - 1.21 ** (t - 60.0), 0.0) / 17.93


def moisture_factor_haug(moisture_content_wet_basis):
    """1/(1 + exp(7.0622 - 17.684 MC))."""
    return 1.0 / (1.0 + np.exp(7.0622 - 17.684 * moisture_content_wet_basis))


def free_air_space_factor_haug(free_air_space):
    """1/(1 + exp(3.4945 - 23.675 FAS))."""
    return 1.0 / (1.0 + np.exp(3.4945 - 23.675 * free_air_space))


def oxygen_factor_monod(oxygen, half_saturation):
    """O2/(O2 + K), both in the same unit."""
    return oxygen / (oxygen + half_saturation)


def oxygen_half_saturation_richard(temperature_celsius, moisture_content_wet_basis):
    """Volume fraction [-], at least 0.002 (Richard et al. 2006)."""
    percent = 0.79 - 0.041 * temperature_celsius + 4.0 * moisture_content_wet_basis
    return np.maximum(percent, 0.2) / 100.0


def acidity_ph(acid_per_dry_mass, ph_base, ph_acid, half_acid):
    """pH falling from base to acid with organic acids per kg dry matter."""
    x = acid_per_dry_mass / half_acid
    return ph_base - (ph_base - ph_acid) * x / (1.0 + x)


def acid_factor_sundberg(temperature_celsius, ph):
    """1 - s_T s_pH: severe only above 40 C and below pH 6."""
    warm = np.minimum(np.maximum((temperature_celsius - 38.0) / 4.0, 0.0), 1.0)
    sour = np.minimum(np.maximum((6.3 - ph) / 0.6, 0.0), 1.0)
    warm = warm * warm * (3.0 - 2.0 * warm)
    sour = sour * sour * (3.0 - 2.0 * sour)
    return 1.0 - 0.95 * warm * sour


def nitrogen_factor(nitrogen_per_degradable_mass, half_saturation):
    """Falls when nitrogen within reach is short."""
    return nitrogen_per_degradable_mass / (nitrogen_per_degradable_mass + half_saturation)


def degradable_share_chandler(lignin_of_volatile_solids_percent):
    """0.83 - 0.028 X (Chandler 1980), floor 0."""
    return np.maximum(0.83 - 0.028 * lignin_of_volatile_solids_percent, 0.0)
