"""How much it still breathes and warms: classes, and bridges between the units in use."""

from slowfire.constants import MOLAR_MASS_OXYGEN
from slowfire.errors import check_range
from slowfire.maturity.classes import MaturityClass, scales

# The trade turns carbon dioxide into carbon with whole atomic masses.
CARBON_SHARE = 12.0 / 44.0
CARBON_ATOM = 12.0  # [mg/mmol]


def oxygen_mass_rate(oxygen_uptake_mmol_per_kg_hour: float) -> float:
    """Oxygen uptake in milligrams from millimoles.

    ::

        r = M n,   M = 31.998 mg/mmol

    Parameters
    ----------
    oxygen_uptake_mmol_per_kg_hour : float
        Oxygen taken up for each kilogram of organic matter [mmol/(kg*hour)], usually 2 to 150.

    Returns
    -------
    float
        The same [mg/(kg*hour)].

    Raises
    ------
    InvalidInput
        If it is out of range.

    Notes
    -----
    Exact. Organic matter and volatile solids are taken as the same.

    Examples
    --------
    >>> round(oxygen_mass_rate(12.5))
    400
    """
    check_range("Oxygen uptake", oxygen_uptake_mmol_per_kg_hour, 0.0, 2000.0, "mmol/(kg h)")
    return oxygen_uptake_mmol_per_kg_hour * 1000.0 * MOLAR_MASS_OXYGEN


def oxygen_mole_rate(oxygen_uptake_mg_per_kg_hour: float) -> float:
    """Oxygen uptake in millimoles from milligrams.

    ::

        n = r / M,   M = 31.998 mg/mmol

    Parameters
    ----------
    oxygen_uptake_mg_per_kg_hour : float
        Oxygen taken up for each kilogram of volatile solids [mg/(kg*hour)], usually 50 to 5000.

    Returns
    -------
    float
        The same [mmol/(kg*hour)].

    Raises
    ------
    InvalidInput
        If it is out of range.

    Notes
    -----
    Exact. Organic matter and volatile solids are taken as the same.

    Examples
    --------
    >>> round(oxygen_mole_rate(800.0), 1)
    25.0
    """
    check_range("Oxygen uptake", oxygen_uptake_mg_per_kg_hour, 0.0, 64000.0, "mg/(kg h)")
    return oxygen_uptake_mg_per_kg_hour / (1000.0 * MOLAR_MASS_OXYGEN)


def carbon_rate(carbon_dioxide_mg_per_g_day: float) -> float:
    """Carbon given off, from carbon dioxide given off: two units are in use, 44 to 12.

    ::

        c = 12/44 r

    Parameters
    ----------
    carbon_dioxide_mg_per_g_day : float
        Carbon dioxide given off for each gram of organic matter [mg/(g*day)], usually 1 to 60.

    Returns
    -------
    float
        Its carbon [mg/(g*day)].

    Raises
    ------
    InvalidInput
        If it is out of range.

    Notes
    -----
    Exact, with the whole atomic masses of the trade.

    Examples
    --------
    >>> round(carbon_rate(16.0), 2)
    4.36
    """
    check_range("Carbon dioxide", carbon_dioxide_mg_per_g_day, 0.0, 1000.0, "mg/(g d)")
    return carbon_dioxide_mg_per_g_day * CARBON_SHARE


def oxygen_rate_of_carbon(carbon_mg_per_g_day: float, respiratory_quotient: float = 1.0) -> float:
    """Oxygen uptake that goes with carbon given off.

    ::

        n = 1000 c / (24 * 12 RQ)

    Parameters
    ----------
    carbon_mg_per_g_day : float
        Carbon given off as carbon dioxide for each gram of organic matter [mg/(g*day)], 0.5 to 20.
    respiratory_quotient : float
        Moles of carbon dioxide for each mole of oxygen [-], 0.7 to 1.1.

    Returns
    -------
    float
        Oxygen uptake [mmol/(kg*hour)].

    Raises
    ------
    InvalidInput
        If a value is out of range.

    Notes
    -----
    Exact for a given quotient, where no carbon leaves as methane.

    Examples
    --------
    >>> round(oxygen_rate_of_carbon(4.0), 1)
    13.9
    """
    check_range("Carbon", carbon_mg_per_g_day, 0.0, 300.0, "mg/(g d)")
    check_range("Respiratory quotient", respiratory_quotient, 0.3, 2.0)
    return 1000.0 * carbon_mg_per_g_day / (24.0 * CARBON_ATOM * respiratory_quotient)


def carbon_dioxide_rate(carbon_mg_per_g_day: float) -> float:
    """Carbon dioxide given off, from its carbon: the way back of `carbon_rate`.

    ::

        r = 44/12 c

    Parameters
    ----------
    carbon_mg_per_g_day : float
        Carbon given off as carbon dioxide for each gram of organic matter [mg/(g*day)], 0.5 to 20.

    Returns
    -------
    float
        Carbon dioxide [mg/(g*day)].

    Raises
    ------
    InvalidInput
        If it is out of range.

    Notes
    -----
    Exact, with the whole atomic masses of the trade.

    Examples
    --------
    >>> round(carbon_dioxide_rate(4.0), 1)
    14.7
    """
    check_range("Carbon", carbon_mg_per_g_day, 0.0, 300.0, "mg/(g d)")
    return carbon_mg_per_g_day / CARBON_SHARE


def carbon_rate_of_oxygen(
    oxygen_uptake_mmol_per_kg_hour: float, respiratory_quotient: float = 1.0
) -> float:
    """Carbon given off that goes with an oxygen uptake: the way back of `oxygen_rate_of_carbon`.

    ::

        c = 24 * 12 RQ n / 1000

    Parameters
    ----------
    oxygen_uptake_mmol_per_kg_hour : float
        Oxygen taken up for each kilogram of organic matter [mmol/(kg*hour)], usually 2 to 150.
    respiratory_quotient : float
        Moles of carbon dioxide for each mole of oxygen [-], 0.7 to 1.1.

    Returns
    -------
    float
        Carbon given off as carbon dioxide [mg/(g*day)].

    Raises
    ------
    InvalidInput
        If a value is out of range.

    Notes
    -----
    Exact for a given quotient, where no carbon leaves as methane.

    Examples
    --------
    >>> round(carbon_rate_of_oxygen(12.5), 1)
    3.6
    """
    check_range("Oxygen uptake", oxygen_uptake_mmol_per_kg_hour, 0.0, 2000.0, "mmol/(kg h)")
    check_range("Respiratory quotient", respiratory_quotient, 0.3, 2.0)
    return oxygen_uptake_mmol_per_kg_hour * 24.0 * CARBON_ATOM * respiratory_quotient / 1000.0


def oxygen_uptake_class(oxygen_uptake_mmol_per_kg_hour: float) -> MaturityClass:
    """Class of an oxygen uptake rate.

    Parameters
    ----------
    oxygen_uptake_mmol_per_kg_hour : float
        Oxygen taken up for each kilogram of organic matter [mmol/(kg*hour)], usually 2 to 150.

    Returns
    -------
    MaturityClass

    Raises
    ------
    InvalidInput
        If it is out of range.

    Notes
    -----
    Limits of Canada (12.5, printed as 400 mg a kilogram of volatile solids and hour) and of the
    European Union (25); both from memory. Measured on moist material, warmed up for days.

    References
    ----------
    ccme2005, eu2019

    Examples
    --------
    >>> oxygen_uptake_class(25.0).verdict, oxygen_uptake_class(25.1).verdict
    ('pass', 'fail')
    """
    check_range("Oxygen uptake", oxygen_uptake_mmol_per_kg_hour, 0.0, 2000.0, "mmol/(kg h)")
    return scales()["oxygen_uptake"].class_of(oxygen_uptake_mmol_per_kg_hour)


def carbon_dioxide_class(carbon_mg_per_g_day: float) -> MaturityClass:
    """Class of the carbon given off as carbon dioxide.

    Parameters
    ----------
    carbon_mg_per_g_day : float
        Carbon, not carbon dioxide, for each gram of organic matter [mg/(g*day)], 0.5 to 20; see
        `carbon_rate`.

    Returns
    -------
    MaturityClass

    Raises
    ------
    InvalidInput
        If it is out of range.

    Notes
    -----
    Classes of the test methods for composts of the United States, from memory. The British limit
    of 16 mg carbon dioxide is 4.36 mg carbon.

    References
    ----------
    tmecc2002, bsi2011

    Examples
    --------
    >>> carbon_dioxide_class(4.0).name, carbon_dioxide_class(11.0).name
    ('stable', 'raw')
    """
    check_range("Carbon given off", carbon_mg_per_g_day, 0.0, 300.0, "mg/(g d)")
    return scales()["carbon_dioxide"].class_of(carbon_mg_per_g_day)


def self_heating_class(rise_kelvin: float) -> MaturityClass:
    """Class of the warm-up in an insulated flask.

    Parameters
    ----------
    rise_kelvin : float
        Highest temperature in the flask less that of the room [K], usually 0 to 50.

    Returns
    -------
    MaturityClass
        I (raw) to V (finished and cured).

    Raises
    ------
    InvalidInput
        If it is out of range.

    Notes
    -----
    About 1.5 L, moist as a squeezed sponge, in a room of about 20 degC; the peak comes in five to
    ten days. Dry material warms up little and passes wrongly.

    References
    ----------
    brinton1995

    Examples
    --------
    >>> self_heating_class(8.0).name, self_heating_class(45.0).name
    ('V', 'I')
    """
    check_range("Rise in the flask", rise_kelvin, -5.0, 70.0, "K")
    return scales()["self_heating"].class_of(rise_kelvin)
