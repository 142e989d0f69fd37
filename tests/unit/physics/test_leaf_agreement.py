"""Every leaf of physics and biology: one number, an array and compiled code agree."""

import importlib
import inspect
import pkgutil

import numba
import numpy as np
import pytest

from slowfire.arrays import FloatOrArray

# Three values of every argument name; a leaf with a new name needs a row here.
SAMPLES = {
    "absorptance": (0.3, 0.6, 0.9),
    "acid_per_dry_mass": (0.0, 0.004, 0.03),
    "ammonia_per_dry_mass": (0.0, 7.0e-4, 0.005),
    "area": (0.0, 0.02, 0.3),
    "bed_resistance": (0.1, 0.3, 0.9),
    "bulk_density": (60.0, 400.0, 950.0),
    "cap": (1e-9, 1e-7, 1e-6),
    "capacity": (1.0, 5.0, 20.0),
    "carbon_dioxide": (0.0004, 0.05, 0.18),
    "centre_minus_edge": (-8.0, 0.0, 25.0),
    "clod_radius": (2e-4, 1e-3, 4e-3),
    "critical_radius": (1e-4, 8e-4, 5e-3),
    "coarse_void_fraction": (0.4, 0.5, 0.7),
    "coarse_volume": (0.0, 0.01, 0.03),
    "clearness": (0.1, 0.5, 0.82),
    "coefficient": (-0.4, 0.2, 0.8),
    "compressibility": (2e-5, 5e-5, 1e-4),
    "conductivity": (0.03, 0.13, 0.5),
    "day_of_year": (1.0, 100.5, 300.0),
    "declination": (-0.4, 0.0, 0.3),
    "density": (0.95, 1.05, 1.25),
    "density_humus": (200.0, 250.0, 300.0),
    "density_loose": (40.0, 80.0, 150.0),
    "density_max": (180.0, 250.0, 400.0),
    "depth": (0.0, 0.3, 1.2),
    "diffuse_share": (0.165, 0.5, 1.0),
    "diffusivity_factor": (0.2, 0.5, 0.8),
    "diffusivity": (1.5e-7, 2.0e-5, 3.0e-5),
    "discharge_coefficient": (0.4, 0.5, 0.6),
    "distance": (0.02, 0.06, 0.2),
    "dry_matter": (0.2, 0.4, 0.7),
    "emissivity": (0.1, 0.5, 0.9),
    "enhancement": (1.0, 1.2, 1.5),
    "film_coefficient": (8.0, 20.0, 40.0),
    "filling": (0.0, 0.6, 1.0),
    "fine_volume": (0.0, 0.02, 0.05),
    "free_air_space": (0.06, 0.35, 0.65),
    "ground_reflectance": (0.1, 0.2, 0.7),
    "half_acid": (0.003, 0.005, 0.01),
    "half_saturation": (0.002, 0.006, 0.02),
    "heat_flux": (-20.0, 10.0, 60.0),
    "height": (0.02, 0.4, 1.2),
    "height_sine": (-0.3, 0.05, 0.9),
    "horizontal_irradiance": (0.0, 300.0, 900.0),
    "humidity_ratio": (0.003, 0.1, 0.4),
    "hydraulic_radius": (0.1, 0.15, 0.3),
    "inner_film": (0.0, 0.1, 0.13),
    "inside_density": (0.95, 1.05, 1.25),
    "irradiance": (0.0, 300.0, 900.0),
    "latitude": (-1.2, 0.0, 0.8),
    "lignin_of_volatile_solids_percent": (0.4, 12.0, 35.0),
    "limit": (40.0, 52.0, 70.0),
    "maximum": (48.0, 70.5, 71.6),
    "mean": (-2.0, 45.0, 66.0),
    "minimum": (-4.0, 2.5, 5.0),
    "moisture_content_wet_basis": (0.2, 0.6, 0.93),
    "nitrogen_mineral": (0.0, 0.004, 0.03),
    "nitrogen_per_degradable_mass": (0.002, 0.015, 0.06),
    "optimum": (37.0, 58.0, 58.6),
    "outer_film": (0.03, 0.04, 0.08),
    "outside_density": (1.1, 1.2, 1.35),
    "outside_temperature_celsius": (-12.0, 8.0, 30.0),
    "overburden": (0.0, 2000.0, 9000.0),
    "oxygen": (0.0, 0.04, 0.2095),
    "oxygen_demand": (1e-4, 2e-3, 2e-2),
    "particle_diameter": (0.0005, 0.002, 0.006),
    "permeability": (1e-11, 1e-9, 1e-7),
    "ph": (4.4, 6.0, 8.8),
    "ph_acid": (4.0, 4.4, 4.7),
    "ph_base": (7.0, 8.0, 8.5),
    "porosity": (0.7, 0.8, 0.95),
    "pressure": (97000.0, 101325.0, 103000.0),
    "pressure_difference": (-2.0, 0.0, 1.5),
    "pressure_gradient": (-3.0, 0.5, 2.3),
    "pressure_ratio": (0.3, 0.4, 0.6),
    "radius": (0.15, 0.3, 0.6),
    "resistance": (0.05, 1.3, 3.0),
    "shape": (3.0, 6.0, 10.0),
    "share_left": (0.2, 0.7, 1.1),
    "specific_heat_solids": (1050.0, 1200.0, 1500.0),
    "step_ratio": (0.001, 0.05, 2.0),
    "solar_hour": (0.0, 9.5, 17.0),
    "temperature_celsius": (-4.0, 41.0, 72.0),
    "thickness": (0.005, 0.05, 0.12),
    "time_constant": (3600.0, 86400.0, 2.0e5),
    "time_step": (60.0, 900.0, 3600.0),
    "vapour_diffusivity": (2.2e-5, 2.6e-5, 3.2e-5),
    "vapour_pressure": (300.0, 7000.0, 35000.0),
    "velocity": (-0.02, 0.0, 0.03),
    "viscosity": (1.7e-5, 1.9e-5, 2.1e-5),
    "volatile_solids": (0.4, 0.85, 0.97),
    "wall_friction": (0.3, 0.45, 0.6),
    "wall_resistance": (0.05, 0.7, 3.0),
    "water": (0.5, 5.0, 25.0),
    "water_per_dry_mass": (0.0, 1.0, 6.0),
    "wind_speed": (0.0, 2.0, 7.0),
}


def leaves():
    """Public functions of physics and biology that take and give nothing but numbers."""
    found = []
    for package_name in ("slowfire.physics", "slowfire.biology"):
        package = importlib.import_module(package_name)
        for entry in pkgutil.iter_modules(package.__path__, package_name + "."):
            module = importlib.import_module(entry.name)
            for name, function in inspect.getmembers(module, inspect.isfunction):
                if name.startswith("_") or function.__module__ != entry.name:
                    continue
                arguments = inspect.signature(function).parameters.values()
                if all(a.annotation == FloatOrArray for a in arguments):
                    found.append(
                        pytest.param(function, id=f"{entry.name.rsplit('.', 1)[1]}.{name}")
                    )
    return found


LEAVES = leaves()


def samples(function):
    """One tuple of arguments for each of the three samples."""
    names = list(inspect.signature(function).parameters)
    missing = [name for name in names if name not in SAMPLES]
    assert not missing, f"give SAMPLES a row for {missing}"
    return list(zip(*(SAMPLES[name] for name in names), strict=True))


def test_all_leaves_are_found():
    names = {parameter.id for parameter in LEAVES}
    assert {"heat.share_hotter", "kinetics.temperature_factor_rosso"} <= names
    assert "stoichiometry.oxidation" not in names
    assert len(names) >= 40


@pytest.mark.parametrize("function", LEAVES)
def test_array_equals_numbers(function):
    rows = samples(function)
    one_by_one = np.array([float(function(*row)) for row in rows])
    assert np.all(np.isfinite(one_by_one))
    together = function(*(np.array(column) for column in zip(*rows, strict=True)))
    assert together.shape == (3,)
    np.testing.assert_allclose(together, one_by_one, rtol=1e-12, atol=0.0)


@pytest.mark.parametrize("function", LEAVES)
def test_inputs_are_left_alone(function):
    columns = [np.array(column) for column in zip(*samples(function), strict=True)]
    copies = [column.copy() for column in columns]
    function(*columns)
    for column, copy in zip(columns, copies, strict=True):
        np.testing.assert_array_equal(column, copy)


@pytest.mark.parametrize("function", LEAVES)
def test_compiled_equals_plain(function):
    """Fails to compile if a leaf calls another project function or uses what the kernel can't."""
    compiled = numba.njit(function)
    for row in samples(function):
        value = compiled(*row)
        assert np.ndim(value) == 0
        assert value == pytest.approx(float(function(*row)), rel=1e-12, abs=0.0)
