"""The sun's path, and its light on level ground and on upright walls."""

import numpy as np

from slowfire.arrays import FloatOrArray


def solar_declination(day_of_year: FloatOrArray) -> FloatOrArray:
    """Angle of the sun over the plane of the equator.

    ::

        d = 0.006918 - 0.399912 cos g + 0.070257 sin g - 0.006758 cos 2g + 0.000907 sin 2g
            - 0.002697 cos 3g + 0.00148 sin 3g,   g = 2 pi (n - 1)/365

    with n the day of the year.

    Parameters
    ----------
    day_of_year : float or ndarray, shape (steps,)
        Day of the year, 1 to 366, with the time of day as its fraction [day].

    Returns
    -------
    float or ndarray, shape (steps,)
        Declination, -0.41 to 0.41 [rad].

    Notes
    -----
    Good to about 0.001 rad; the leap-year cycle adds up to 0.005 rad near the equinoxes.

    Examples
    --------
    >>> round(float(np.degrees(solar_declination(172.0))), 1)
    23.5

    References
    ----------
    spencer1971
    """
    g = 2.0 * np.pi * (day_of_year - 1.0) / 365.0
    return (
        0.006918
        - 0.399912 * np.cos(g)
        + 0.070257 * np.sin(g)
        - 0.006758 * np.cos(2.0 * g)
        + 0.000907 * np.sin(2.0 * g)
        - 0.002697 * np.cos(3.0 * g)
        + 0.00148 * np.sin(3.0 * g)
    )


def equation_of_time(day_of_year: FloatOrArray) -> FloatOrArray:
    """How far a sundial is ahead of an even clock.

    ::

        E = 12/pi (0.000075 + 0.001868 cos g - 0.032077 sin g - 0.014615 cos 2g - 0.040849 sin 2g)

    with g = 2 pi (n - 1)/365 and n the day of the year.

    Parameters
    ----------
    day_of_year : float or ndarray, shape (steps,)
        Day of the year, 1 to 366 [day].

    Returns
    -------
    float or ndarray, shape (steps,)
        Sundial less clock, -0.24 to 0.27 [h].

    Notes
    -----
    Good to about half a minute.

    Examples
    --------
    >>> round(60.0 * float(equation_of_time(307.0)))
    16

    References
    ----------
    spencer1971
    """
    g = 2.0 * np.pi * (day_of_year - 1.0) / 365.0
    angle = (
        0.000075
        + 0.001868 * np.cos(g)
        - 0.032077 * np.sin(g)
        - 0.014615 * np.cos(2.0 * g)
        - 0.040849 * np.sin(2.0 * g)
    )
    hours: FloatOrArray = 12.0 / np.pi * angle
    return hours


def sun_height_sine(
    latitude: FloatOrArray, declination: FloatOrArray, solar_hour: FloatOrArray
) -> FloatOrArray:
    """Sine of the sun's height over the horizon.

    ::

        sin h = sin(p) sin(d) + cos(p) cos(d) cos(pi (t - 12)/12)

    with p the latitude, d the declination and t the hour on a sundial.

    Parameters
    ----------
    latitude : float or ndarray, shape (steps,)
        North positive, -pi/2 to pi/2 [rad].
    declination : float or ndarray, shape (steps,)
        Sun over the plane of the equator, -0.41 to 0.41 [rad].
    solar_hour : float or ndarray, shape (steps,)
        Hour on a sundial, 0 to 24 [h].

    Returns
    -------
    float or ndarray, shape (steps,)
        -1 to 1, below 0 at night [-].

    Notes
    -----
    The centre of the sun over a level horizon, without refraction (0.6 degree at the horizon).

    Examples
    --------
    >>> round(float(sun_height_sine(0.0, 0.0, 14.0)), 3)
    0.866

    References
    ----------
    duffie2013
    """
    turned = np.pi * (solar_hour - 12.0) / 12.0
    noon = np.cos(latitude) * np.cos(declination)
    height: FloatOrArray = np.sin(latitude) * np.sin(declination) + noon * np.cos(turned)
    return height


def extraterrestrial_irradiance(day_of_year: FloatOrArray) -> FloatOrArray:
    """Irradiance above the air, on a surface that faces the sun.

    ::

        G0 = 1361 (1.00011 + 0.034221 cos g + 0.00128 sin g + 0.000719 cos 2g + 0.000077 sin 2g)

    with g = 2 pi (n - 1)/365 and n the day of the year.

    Parameters
    ----------
    day_of_year : float or ndarray, shape (steps,)
        Day of the year, 1 to 366 [day].

    Returns
    -------
    float or ndarray, shape (steps,)
        1316 to 1410 [W/m^2].

    Notes
    -----
    The solar constant of the source, 1367, is replaced by the 1361 of later measurements.

    Examples
    --------
    >>> round(float(extraterrestrial_irradiance(1.0)), -1)
    1410.0

    References
    ----------
    spencer1971, kopp2011
    """
    g = 2.0 * np.pi * (day_of_year - 1.0) / 365.0
    return 1361.0 * (
        1.00011
        + 0.034221 * np.cos(g)
        + 0.00128 * np.sin(g)
        + 0.000719 * np.cos(2.0 * g)
        + 0.000077 * np.sin(2.0 * g)
    )


def diffuse_share_erbs(clearness: FloatOrArray) -> FloatOrArray:
    """Share of the light on level ground that comes from the sky, not straight from the sun.

    ::

        1 - 0.09 k                                              k <= 0.22
        0.9511 - 0.1604 k + 4.388 k^2 - 16.638 k^3 + 12.336 k^4   to 0.8
        0.165                                                   above

    with k the irradiance on the level over that above the air.

    Parameters
    ----------
    clearness : float or ndarray, shape (steps,)
        Irradiance on level ground over that on a level above the air, 0 to 0.85 [-].

    Returns
    -------
    float or ndarray, shape (steps,)
        0.165 to 1 [-].

    Notes
    -----
    Fitted to hourly values of five places in the United States, 31 to 42 degrees north.

    Examples
    --------
    >>> round(float(diffuse_share_erbs(0.2)), 3)
    0.982

    References
    ----------
    erbs1982
    """
    k = np.minimum(np.maximum(clearness, 0.0), 1.0)
    middle = 0.9511 - 0.1604 * k + 4.388 * k**2 - 16.638 * k**3 + 12.336 * k**4
    overcast = k <= 0.22
    clear = k > 0.8
    return (
        overcast * (1.0 - 0.09 * k)
        + (1.0 - 1.0 * overcast) * (1.0 - 1.0 * clear) * middle
        + clear * 0.165
    )


def wall_irradiance(
    horizontal_irradiance: FloatOrArray,
    diffuse_share: FloatOrArray,
    height_sine: FloatOrArray,
    ground_reflectance: FloatOrArray,
) -> FloatOrArray:
    """Mean irradiance on upright walls that face all ways alike.

    ::

        G_w = G ((1 - f) cos(h)/(pi sin(h)) + (f + r)/2)

    with G the irradiance on level ground, f the share of it that comes from the sky, h the sun's
    height and r the reflectance of the ground; 1/pi is the mean of the cosine over a cylinder, and
    over four walls at right angles when their bearing is not known.

    Parameters
    ----------
    horizontal_irradiance : float or ndarray, shape (steps,)
        Irradiance on level ground [W/m^2], usually 0 to 1000.
    diffuse_share : float or ndarray, shape (steps,)
        Share of it that comes from the sky, 0.1 to 1 [-].
    height_sine : float or ndarray, shape (steps,)
        Sine of the sun's height, below 0 at night [-].
    ground_reflectance : float or ndarray, shape (steps,)
        0.2 for grass and soil, 0.7 for fresh snow [-].

    Returns
    -------
    float or ndarray, shape (steps,)
        Mean over the walls [W/m^2].

    Notes
    -----
    Sky equally bright all over, nothing around that casts a shadow. Below a height of 4 degrees
    the sun counts as 4 degrees high, so that a trace of light at sunrise makes no glare.

    Examples
    --------
    >>> round(float(wall_irradiance(600.0, 0.4, 0.7, 0.2)))
    297

    References
    ----------
    duffie2013
    """
    height = np.minimum(np.maximum(height_sine, 0.07), 1.0)
    across = np.sqrt(1.0 - height**2)
    straight = (1.0 - diffuse_share) * across / (np.pi * height)
    return horizontal_irradiance * (straight + 0.5 * (diffuse_share + ground_reflectance))
