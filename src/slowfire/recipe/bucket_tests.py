"""Moisture, bulk density and free air space measured with a bucket and a scale."""

from slowfire.errors import InvalidInput, check_range

_LARGEST_MASS = 1000.0  # [kg]
_LARGEST_VOLUME = 1.0  # [m^3]


def moisture_content_by_drying(
    wet_mass: float, dry_mass_with_container: float, container_mass: float
) -> float:
    """Share of water in a sample weighed wet, then dried in its container.

    M = (wet - (dry with container - container)) / wet

    Parameters
    ----------
    wet_mass : float
        Sample before drying, without container, usual range 0.01 to 1 [kg].
    dry_mass_with_container : float
        After drying to constant weight, usual range 0.01 to 1 [kg].
    container_mass : float
        Empty container, usual range 0.001 to 1 [kg].

    Returns
    -------
    float
        Moisture content, wet basis [kg/kg].

    Raises
    ------
    InvalidInput
        If a mass is out of range or the dried sample is heavier than the wet one.

    Notes
    -----
    Exact; the sample must be dried until its mass stays the same.

    Examples
    --------
    >>> moisture_content_by_drying(0.2, 0.13, 0.05)
    0.6
    """
    check_range("Wet mass", wet_mass, 1e-6, _LARGEST_MASS, "kg")
    check_range("Container mass", container_mass, 0.0, _LARGEST_MASS, "kg")
    check_range("Dry mass with container", dry_mass_with_container, 0.0, _LARGEST_MASS, "kg")
    dry_mass = dry_mass_with_container - container_mass
    if not 0.0 <= dry_mass <= wet_mass:
        raise InvalidInput(
            f"The dried sample would weigh {dry_mass:g} kg; allowed is 0 to the wet mass of "
            f"{wet_mass:g} kg. Is the container weighed in once?"
        )
    return (wet_mass - dry_mass) / wet_mass


def bulk_density_bucket(full_mass: float, empty_mass: float, volume: float) -> float:
    """Bulk density from a bucket filled in thirds, tapped after each.

    rho = (full - empty) / volume

    Parameters
    ----------
    full_mass : float
        Filled bucket, usual range 2 to 20 [kg].
    empty_mass : float
        Empty bucket, usual range 0.3 to 2 [kg].
    volume : float
        Volume of the bucket, usual range 0.005 to 0.02 [m^3].

    Returns
    -------
    float
        Bulk density as filled [kg/m^3].

    Raises
    ------
    InvalidInput
        If a value is out of range or the filled bucket is not the heavier one.

    Notes
    -----
    Exact arithmetic; the way of filling is after Cooperband 2002. Reads low if not tapped down.

    Examples
    --------
    >>> bulk_density_bucket(8.0, 1.0, 0.014)
    500.0
    """
    check_range("Mass of the empty bucket", empty_mass, 0.0, _LARGEST_MASS, "kg")
    check_range("Mass of the filled bucket", full_mass, 0.0, _LARGEST_MASS, "kg")
    check_range("Volume of the bucket", volume, 1e-5, _LARGEST_VOLUME, "m3")
    if full_mass <= empty_mass:
        raise InvalidInput(
            f"The filled bucket weighs {full_mass:g} kg and the empty one {empty_mass:g} kg; "
            "allowed is a filled one heavier than the empty one. Are the two swapped?"
        )
    return (full_mass - empty_mass) / volume


def free_air_space_bucket(water_volume: float, bucket_volume: float) -> float:
    """Free air space from the water it takes to fill a bucket of compost to the top.

    FAS = water / bucket

    Parameters
    ----------
    water_volume : float
        Water poured in until it shines at the top, usual range 0.001 to 0.015 [m^3].
    bucket_volume : float
        Volume of the bucket of compost, usual range 0.005 to 0.02 [m^3].

    Returns
    -------
    float
        Free air space [m^3/m^3].

    Raises
    ------
    InvalidInput
        If more water went in than the bucket holds, or a value is out of range.

    Notes
    -----
    Exact arithmetic. Dry matter that soaks up water reads too airy; pour soon and read at once.

    Examples
    --------
    >>> free_air_space_bucket(0.004, 0.01)
    0.4
    """
    check_range("Volume of the bucket", bucket_volume, 1e-5, _LARGEST_VOLUME, "m3")
    check_range("Water poured in", water_volume, 0.0, bucket_volume, "m3")
    return water_volume / bucket_volume
