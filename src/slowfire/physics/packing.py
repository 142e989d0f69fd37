"""Volume, density, air space and wall pressure of the stack."""

import numpy as np


def solids_specific_volume(volatile_solids):
    """m3 per kg dry solids: VS/1600 + (1-VS)/2500."""
    return volatile_solids / 1600.0 + (1.0 - volatile_solids) / 2500.0


def free_air_space(bulk_density, dry_matter, volatile_solids):
    """FAS = 1 - rho_b [(1-DM)/1000 + DM VS/1600 + DM (1-VS)/2500]."""
    return 1.0 - bulk_density * (
        (1.0 - dry_matter) / 1000.0
        + dry_matter * (volatile_solids / 1600.0 + (1.0 - volatile_solids) / 2500.0)
    )


def soft_density_loaded(overburden, density_loose, density_max, compressibility):
    """Dry packing density [kg/m3]; overburden in Pa, compressibility in 1/Pa."""
    return density_max - (density_max - density_loose) * np.exp(-compressibility * overburden)


def soft_density_decayed(density_loose, density_humus, share_left):
    """Loose density moving to that of crumb as (1 - m/m_added)^1.5, clipped at 0."""
    lost = np.maximum(1.0 - share_left, 0.0)
    return density_loose + (density_humus - density_loose) * lost**1.5


def mixed_volume(fine_volume, coarse_volume, coarse_void_fraction, filling):
    """Volume of fines and coarse mixed: fines fill part of the voids between coarse pieces."""
    room = coarse_void_fraction * coarse_volume
    total = fine_volume + room
    # smooth minimum of fines and room, so that volume has no kink in the recipe
    shared = np.where(total > 0.0, fine_volume * room / np.maximum(total, 1e-300), 0.0)
    return fine_volume + coarse_volume - filling * shared


def wall_pressure_janssen(depth, bulk_density, hydraulic_radius, wall_friction, pressure_ratio):
    """Lateral pressure on the wall [Pa]; hydraulic_radius is area over perimeter."""
    k = wall_friction * pressure_ratio / hydraulic_radius
    return (
        bulk_density * 9.80665 * hydraulic_radius / wall_friction * (1.0 - np.exp(-k * depth))
    )
