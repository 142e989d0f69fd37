"""Inside of a box from its outside."""

from slowfire.errors import InvalidInput, check_range

_LARGEST = 20.0  # [m]


def inside_volume(
    outside_width: float,
    outside_depth: float,
    outside_height: float,
    *,
    wall: float,
    lid: float,
    base: float,
) -> float:
    """Volume inside a box whose walls, lid and base lie within its outside sizes.

    V = (w - 2 wall) (d - 2 wall) (h - lid - base)

    Lid and base must be stated, 0 where the height was measured without them or there is none: a
    box of the same outside holds a sixth less with an insulated base.

    Parameters
    ----------
    outside_width : float
        Side to side, usual range 0.4 to 2 [m].
    outside_depth : float
        Front to back, usual range 0.4 to 2 [m].
    outside_height : float
        Ground to the top of the lid, usual range 0.4 to 2 [m].
    wall : float
        Thickness of one wall, usual range 0.01 to 0.2 [m].
    lid : float
        Thickness of the lid inside the height, 0 if the height leaves it out [m].
    base : float
        Thickness of the base inside the height, 0 if there is none [m].

    Returns
    -------
    float
        Volume [m^3].

    Raises
    ------
    InvalidInput
        If a size is negative or not finite, or the walls leave no room.

    Notes
    -----
    Exact for square corners; rounded corners and fittings take a little more.

    Examples
    --------
    >>> round(inside_volume(0.6, 0.6, 0.9, wall=0.05, lid=0.05, base=0.0), 4)
    0.2125
    """
    sizes = {
        "Outside width": outside_width,
        "Outside depth": outside_depth,
        "Outside height": outside_height,
        "Wall thickness": wall,
        "Lid thickness": lid,
        "Base thickness": base,
    }
    for name, value in sizes.items():
        check_range(name, value, 0.0, _LARGEST, "m")
    width = outside_width - 2.0 * wall
    depth = outside_depth - 2.0 * wall
    height = outside_height - lid - base
    if min(width, depth, height) <= 0.0:
        raise InvalidInput(
            f"Walls of {wall:g} m, lid {lid:g} m and base {base:g} m leave no room in a box of "
            f"{outside_width:g} x {outside_depth:g} x {outside_height:g} m; twice the wall must be "
            "less than width and depth, lid and base together less than the height."
        )
    return width * depth * height
