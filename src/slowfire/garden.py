"""Compost on beds."""

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
