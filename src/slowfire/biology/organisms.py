"""Where worms and fly larvae can live."""

import numpy as np


def worm_suitability(temperature_celsius, moisture_content_wet_basis, oxygen, ammonia_per_dry_mass):
    """0..1: cool, moist, airy, little ammonia."""
    t = temperature_celsius
    warm = np.minimum(np.maximum((35.0 - t) / 5.0, 0.0), 1.0)
    cold = np.minimum(np.maximum((t - 2.0) / 8.0, 0.0), 1.0)
    wet = np.minimum(np.maximum((moisture_content_wet_basis - 0.45) / 0.15, 0.0), 1.0)
    air = np.minimum(np.maximum((oxygen - 0.02) / 0.05, 0.0), 1.0)
    ammonia = np.minimum(np.maximum((1.0e-3 - ammonia_per_dry_mass) / 5.0e-4, 0.0), 1.0)
    return warm * cold * wet * air * ammonia


def fly_larvae_survive(temperature_celsius):
    """1 between about 12 and 40 C."""
    t = temperature_celsius
    return np.minimum(np.maximum((t - 10.0) / 4.0, 0.0), 1.0) * np.minimum(
        np.maximum((44.0 - t) / 6.0, 0.0), 1.0
    )
