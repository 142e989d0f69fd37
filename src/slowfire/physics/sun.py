"""Sun on walls and lid, first part: shares of the horizontal irradiance."""

from slowfire.arrays import FloatOrArray


def wall_irradiance(
    horizontal_irradiance: FloatOrArray, sunlit_share: FloatOrArray
) -> FloatOrArray:
    """Mean irradiance on the walls as a share of that on level ground.

    ::

        G_w = s G

    with G the irradiance on level ground [W/m^2] and s the share [-].

    Parameters
    ----------
    horizontal_irradiance : float or ndarray, shape (steps,)
        Irradiance on level ground [W/m^2], usually 0 to 1000.
    sunlit_share : float or ndarray, shape (steps,)
        Mean over all walls as a share of the level value [-], 0 in full shade, about 0.4 in the
        open.

    Returns
    -------
    float or ndarray, shape (steps,)
        Mean irradiance on the walls [W/m^2].

    Notes
    -----
    A stand-in for the sun's path: good for daily means, up to a factor 2 off in a single hour
    with a low sun. The usual shares are common practice, no source.

    Examples
    --------
    >>> wall_irradiance(500.0, 0.25)
    125.0
    """
    return horizontal_irradiance * sunlit_share
