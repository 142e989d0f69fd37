"""Volume, density, air space and wall pressure of the stack."""

import numpy as np

from slowfire.arrays import FloatOrArray
from slowfire.constants import DENSITY_WATER, GRAVITY

DENSITY_ORGANIC = 1600.0  # [kg/m^3] of the solid itself, ginkel1999
DENSITY_ASH = 2500.0  # [kg/m^3] of the solid itself, ginkel1999


def solids_specific_volume(volatile_solids: FloatOrArray) -> FloatOrArray:
    """Volume of a kilogram of dry solids without their pores.

    ::

        v = VS / 1600 + (1 - VS) / 2500

    with VS the volatile solids by dry mass [-], and 1600 and 2500 kg/m^3 the densities of
    organic matter and of ash.

    Parameters
    ----------
    volatile_solids : float or ndarray, shape (layers,)
        Share of the dry mass that burns off [-], usually 0.4 to 0.98.

    Returns
    -------
    float or ndarray, shape (layers,)
        Volume of the solids [m^3/kg].

    Notes
    -----
    Haug gives organic matter 1000 kg/m^3 instead, which counts closed pores as solid.

    References
    ----------
    ginkel1999, haug1993

    Examples
    --------
    >>> round(1000.0 * solids_specific_volume(0.85), 5)
    0.59125
    """
    return volatile_solids / DENSITY_ORGANIC + (1.0 - volatile_solids) / DENSITY_ASH


def free_air_space(
    bulk_density: FloatOrArray, dry_matter: FloatOrArray, volatile_solids: FloatOrArray
) -> FloatOrArray:
    """Share of the volume that is gas.

    ::

        FAS = 1 - rho [(1 - DM) / 1000 + DM VS / 1600 + DM (1 - VS) / 2500]

    with rho the wet bulk density [kg/m^3], DM the dry matter by wet mass [-] and VS the volatile
    solids by dry mass [-].

    Parameters
    ----------
    bulk_density : float or ndarray, shape (layers,)
        Wet bulk density [kg/m^3], usually 50 to 1000.
    dry_matter : float or ndarray, shape (layers,)
        Dry matter by mass of the wet material [-], usually 0.15 to 0.8.
    volatile_solids : float or ndarray, shape (layers,)
        Share of the dry mass that burns off [-], usually 0.4 to 0.98.

    Returns
    -------
    float or ndarray, shape (layers,)
        Free air space [-]; negative if the density is impossible for that material.

    Notes
    -----
    Exact for the densities given. Air locked in closed cells counts as free.

    References
    ----------
    ginkel1999, richard2004

    Examples
    --------
    >>> round(free_air_space(500.0, 0.40, 0.85), 3)
    0.582
    """
    return 1.0 - bulk_density * (
        (1.0 - dry_matter) / DENSITY_WATER
        + dry_matter * (volatile_solids / DENSITY_ORGANIC + (1.0 - volatile_solids) / DENSITY_ASH)
    )


def overburden_pressure(bulk_density: FloatOrArray, depth: FloatOrArray) -> FloatOrArray:
    """Weight of what lies above, without help from the walls.

    ::

        sigma = rho g z

    with rho the wet bulk density [kg/m^3], g the gravity [m/s^2] and z the depth [m].

    Parameters
    ----------
    bulk_density : float or ndarray, shape (layers,)
        Mean wet bulk density of what lies above [kg/m^3], usually 50 to 1000.
    depth : float or ndarray, shape (layers,)
        Depth below the surface [m], usually 0 to 1.5.

    Returns
    -------
    float or ndarray, shape (layers,)
        Vertical pressure [Pa].

    Notes
    -----
    Exact without walls, an upper bound with them: their friction carries part, see
    `overburden_janssen`.

    Examples
    --------
    >>> round(overburden_pressure(500.0, 1.0))
    4903
    """
    return bulk_density * GRAVITY * depth


def overburden_janssen(
    depth: FloatOrArray,
    bulk_density: FloatOrArray,
    hydraulic_radius: FloatOrArray,
    wall_friction: FloatOrArray,
    pressure_ratio: FloatOrArray,
) -> FloatOrArray:
    """Weight of what lies above, less what friction on the walls carries.

    ::

        sigma = rho g r / (mu K) [1 - exp(-mu K z / r)]

    with rho the wet bulk density [kg/m^3], g the gravity [m/s^2], r area over perimeter [m], mu
    the wall friction [-], K the ratio of side to vertical pressure [-] and z the depth [m].

    Parameters
    ----------
    depth : float or ndarray, shape (layers,)
        Depth below the surface [m], usually 0 to 1.5.
    bulk_density : float or ndarray, shape (layers,)
        Wet bulk density [kg/m^3], usually 50 to 1000.
    hydraulic_radius : float or ndarray, shape (layers,)
        Area of the cross-section over its perimeter [m], usually 0.1 to 0.3.
    wall_friction : float or ndarray, shape (layers,)
        Friction coefficient of material on wall [-], usually 0.3 to 0.6, above 0.
    pressure_ratio : float or ndarray, shape (layers,)
        Side pressure over vertical pressure [-], usually 0.3 to 0.6, above 0.

    Returns
    -------
    float or ndarray, shape (layers,)
        Vertical pressure [Pa].

    Notes
    -----
    Material that has slid down and mobilised its friction. Wet, tapering or swelling contents
    may hang less on the wall than this.

    References
    ----------
    janssen1895

    Examples
    --------
    >>> round(float(overburden_janssen(1.0, 500.0, 0.125, 0.5, 0.4)))
    2446
    """
    k = wall_friction * pressure_ratio / hydraulic_radius
    pressure: FloatOrArray = bulk_density * GRAVITY / k * -np.expm1(-k * depth)
    return pressure


def soft_density_loaded(
    overburden: FloatOrArray,
    density_loose: FloatOrArray,
    density_max: FloatOrArray,
    compressibility: FloatOrArray,
) -> FloatOrArray:
    """Dry packing density of the soft part under load.

    ::

        rho = rho_max - (rho_max - rho_0) exp(-beta sigma)

    with rho_0 the loose and rho_max the fully pressed density [kg/m^3], beta the compressibility
    [1/Pa] and sigma the load [Pa].

    Parameters
    ----------
    overburden : float or ndarray, shape (layers,)
        Vertical pressure [Pa], usually 0 to 10000.
    density_loose : float or ndarray, shape (layers,)
        Dry packing density without load [kg/m^3], usually 30 to 200.
    density_max : float or ndarray, shape (layers,)
        Dry packing density under a very large load [kg/m^3], usually 150 to 450.
    compressibility : float or ndarray, shape (layers,)
        How fast load packs it [1/Pa], usually 2e-5 to 1e-4.

    Returns
    -------
    float or ndarray, shape (layers,)
        Dry mass by volume of the soft part [kg/m^3].

    Notes
    -----
    Measured at loads of 0 to 43 kPa. The source counts in kPa: its 0.02 to 0.1 1/kPa is our
    2e-5 to 1e-4 1/Pa. Unloading does not loosen; that is the caller's affair.

    References
    ----------
    daskeener1997

    Examples
    --------
    >>> round(float(soft_density_loaded(4900.0, 80.0, 250.0, 5.0e-5)), 1)
    116.9
    """
    density: FloatOrArray = density_max - (density_max - density_loose) * np.exp(
        -compressibility * overburden
    )
    return density


def soft_density_decayed(
    density_loose: FloatOrArray, density_humus: FloatOrArray, share_left: FloatOrArray
) -> FloatOrArray:
    """Loose dry density of the soft part as it rots down to crumb.

    ::

        rho = rho_0 + (rho_h - rho_0) max(1 - s, 0)^1.5

    with rho_0 the loose density as added and rho_h that of crumb [kg/m^3], and s the share of
    the added dry mass that is left [-].

    Parameters
    ----------
    density_loose : float or ndarray, shape (layers,)
        Loose dry packing density as added [kg/m^3], usually 30 to 200.
    density_humus : float or ndarray, shape (layers,)
        Dry packing density of rotted crumb [kg/m^3], usually 200 to 300.
    share_left : float or ndarray, shape (layers,)
        Dry mass left over dry mass added [-], usually 0.2 to 1; above 1 after material moved in.

    Returns
    -------
    float or ndarray, shape (layers,)
        Loose dry packing density now [kg/m^3].

    Notes
    -----
    The form and the power are our own; without it a bin that gets no dry stuff never goes
    airless.

    Examples
    --------
    >>> round(float(soft_density_decayed(80.0, 250.0, 0.5)), 1)
    140.1
    """
    lost = np.maximum(1.0 - share_left, 0.0)
    density: FloatOrArray = density_loose + (density_humus - density_loose) * lost * np.sqrt(lost)
    return density


def mixed_volume(
    fine_volume: FloatOrArray,
    coarse_volume: FloatOrArray,
    coarse_void_fraction: FloatOrArray,
    filling: FloatOrArray,
) -> FloatOrArray:
    """Volume of fine and coarse material mixed: fines fill part of the voids between chips.

    ::

        V = V_f + V_c - phi V_f U / (V_f + U),   U = e_c V_c

    with V_f and V_c the loose volumes of fine and coarse material [m^3], e_c the voids between
    coarse pieces [-], U their volume [m^3] and phi the share of them that fines can reach [-].

    Parameters
    ----------
    fine_volume : float or ndarray, shape (layers,)
        Packed volume of the fine material alone [m^3], usually 0.001 to 0.05.
    coarse_volume : float or ndarray, shape (layers,)
        Packed volume of the coarse material alone [m^3], usually 0 to 0.05.
    coarse_void_fraction : float or ndarray, shape (layers,)
        Voids between the coarse pieces by their packed volume [-], usually 0.4 to 0.7.
    filling : float or ndarray, shape (layers,)
        Share of those voids that much fine material fills in the end [-], 0 to 1.

    Returns
    -------
    float or ndarray, shape (layers,)
        Volume of the mixture [m^3], at most the sum of the two.

    Notes
    -----
    Ours: half the harmonic mean of fines and voids stands in for the smaller of the two, so
    that the volume has no kink where the voids are just full.

    Examples
    --------
    >>> round(float(1000.0 * mixed_volume(0.010, 0.010, 0.5, 0.6)), 2)
    18.0
    """
    room = coarse_void_fraction * coarse_volume
    # the floor only keeps 0/0 of an empty layer at 0
    shared = fine_volume * room / np.maximum(fine_volume + room, 1e-300)
    volume: FloatOrArray = fine_volume + coarse_volume - filling * shared
    return volume


def wall_pressure_janssen(
    depth: FloatOrArray,
    bulk_density: FloatOrArray,
    hydraulic_radius: FloatOrArray,
    wall_friction: FloatOrArray,
    pressure_ratio: FloatOrArray,
) -> FloatOrArray:
    """Pressure of the contents on a wall or door.

    ::

        p = rho g r / mu [1 - exp(-mu K z / r)]

    with rho the wet bulk density [kg/m^3], g the gravity [m/s^2], r area over perimeter [m], mu
    the wall friction [-], K the ratio of side to vertical pressure [-] and z the depth [m].

    Parameters
    ----------
    depth : float or ndarray, shape (layers,)
        Depth below the surface [m], usually 0 to 1.5.
    bulk_density : float or ndarray, shape (layers,)
        Wet bulk density [kg/m^3], usually 50 to 1000.
    hydraulic_radius : float or ndarray, shape (layers,)
        Area of the cross-section over its perimeter [m], usually 0.1 to 0.3.
    wall_friction : float or ndarray, shape (layers,)
        Friction coefficient of material on wall [-], usually 0.3 to 0.6, above 0.
    pressure_ratio : float or ndarray, shape (layers,)
        Side pressure over vertical pressure [-], usually 0.3 to 0.6, above 0.

    Returns
    -------
    float or ndarray, shape (layers,)
        Pressure on the wall [Pa].

    Notes
    -----
    For a bin at rest after filling; tends to rho g r / mu with depth. Wet slurry pushes like a
    liquid instead, rho g z.

    References
    ----------
    janssen1895

    Examples
    --------
    >>> round(float(wall_pressure_janssen(1.0, 500.0, 0.125, 0.5, 0.4)))
    978
    """
    k = wall_friction * pressure_ratio / hydraulic_radius
    pressure: FloatOrArray = (
        bulk_density * GRAVITY * hydraulic_radius / wall_friction * -np.expm1(-k * depth)
    )
    return pressure
