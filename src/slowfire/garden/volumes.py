"""Volumes, depths and barrows of compost on beds."""

import math

from slowfire.errors import check_range


def layer_volume(area: float, depth: float) -> float:
    """Volume of a layer spread evenly on a bed.

    V = A z

    Parameters
    ----------
    area : float
        Area of the bed, usual range 0.5 to 100 [m^2].
    depth : float
        Depth of the layer, usual range 0.005 to 0.1 [m].

    Returns
    -------
    float
        Volume [m^3].

    Raises
    ------
    InvalidInput
        If the area is outside 0 to 100000 m2 or the depth outside 0 to 2 m.

    Notes
    -----
    Exact for a level layer, measured as spread, before it settles.

    Examples
    --------
    >>> layer_volume(4.0, 0.05)
    0.2
    """
    check_range("Area of the bed", area, 0.0, 1e5, "m2")
    check_range("Depth of the layer", depth, 0.0, 2.0, "m")
    return area * depth


def layer_depth(area: float, volume: float) -> float:
    """Depth of a volume spread evenly on a bed.

    z = V / A

    Parameters
    ----------
    area : float
        Area of the bed, usual range 0.5 to 100 [m^2].
    volume : float
        Volume as spread, usual range 0.005 to 2 [m^3].

    Returns
    -------
    float
        Depth [m].

    Raises
    ------
    InvalidInput
        If the area is not above 0, up to 100000 m2, or the volume outside 0 to 1000 m3.

    Notes
    -----
    Exact for a level layer: 1 L/m2 is 1 mm, and 10 m3/ha.

    Examples
    --------
    >>> layer_depth(2.0, 0.02)
    0.01
    """
    check_range("Area of the bed", area, 1e-3, 1e5, "m2")
    check_range("Volume", volume, 0.0, 1e3, "m3")
    return volume / area


def barrow_loads(volume: float, barrow_volume: float) -> int:
    """Barrows that carry a volume, the last one perhaps not full.

    n = ceil(V / V_b)

    Parameters
    ----------
    volume : float
        To be carried, usual range 0.01 to 2 [m^3].
    barrow_volume : float
        Of one barrow or bucket, usual range 0.01 to 0.12 [m^3].

    Returns
    -------
    int
        Loads [-].

    Raises
    ------
    InvalidInput
        If the volume is negative or the barrow outside 1 to 1000 L.

    Notes
    -----
    Exact for level loads.

    Examples
    --------
    >>> barrow_loads(0.151, 0.06)
    3
    """
    check_range("Volume", volume, 0.0, 1e3, "m3")
    check_range("Volume of the barrow", barrow_volume, 1e-3, 1.0, "m3")
    return math.ceil(volume / barrow_volume - 1e-9)
