"""Tests with hand, nose, bucket and flask."""

from slowfire.errors import InvalidInput, check_range
from slowfire.maturity.classes import FAIL, MARGINAL, PASS, REFUSED, scales
from slowfire.maturity.stability import self_heating_class
from slowfire.maturity.trial import Trial
from slowfire.recipe.bucket_tests import free_air_space_bucket

SQUEEZES = {
    "dry": (FAIL, "Too dry to be tested: moisten it, wait a day, then test."),
    "damp": (PASS, "Moist as a wrung-out sponge: right for every other test."),
    "drops": (MARGINAL, "A little wet: spread the sample for an hour before other tests."),
    "trickle": (FAIL, "Too wet to be tested: spread the sample to dry, then test."),
}
SMELLS = ("earthy", "sour", "ammonia", "putrid")
LEAST_BAG_DAYS = 3.0
ROOM_CELSIUS = (15.0, 25.0)
LEAST_FLASK_DAYS = 5.0
COMMON = "common practice, no source"


def squeeze_trial(squeeze: str) -> Trial:
    """Whether a handful is moist enough for the other tests.

    Parameters
    ----------
    squeeze : str
        dry, damp, drops or trickle: what a squeezed handful does.

    Returns
    -------
    Trial

    Raises
    ------
    InvalidInput
        If it is none of these.

    Notes
    -----
    Damp means no more than a drop or two between the fingers; common practice, no source. What is
    too dry rests and smells of nothing, and so passes wrongly.

    Examples
    --------
    >>> squeeze_trial("damp").verdict, squeeze_trial("dry").verdict
    ('pass', 'fail')
    """
    if squeeze not in SQUEEZES:
        raise InvalidInput(f"The squeeze is '{squeeze}'; allowed is {', '.join(SQUEEZES)}.")
    verdict, words = SQUEEZES[squeeze]
    return Trial("squeeze", "condition", verdict, words, COMMON, decides=True)


def air_space_trial(water_volume: float, bucket_volume: float) -> Trial:
    """Air space from the water that fills up a bucket of compost.

    ::

        FAS = water / bucket

    Parameters
    ----------
    water_volume : float
        Water poured in until it shines at the top, usual range 0.001 to 0.015 [m^3].
    bucket_volume : float
        Volume of the bucket of compost, usual range 0.005 to 0.02 [m^3].

    Returns
    -------
    Trial

    Raises
    ------
    InvalidInput
        If more water went in than the bucket holds, or a value is out of range.

    Notes
    -----
    Exact sum, that of `recipe.bucket_tests.free_air_space_bucket`; the classes are those of a note
    on material at work. It says nothing of maturity.

    Examples
    --------
    >>> air_space_trial(0.004, 0.01).verdict
    'pass'
    """
    percent = 100.0 * free_air_space_bucket(water_volume, bucket_volume)
    found = scales()["air_space"].class_of(percent)
    return Trial(
        "air space",
        "condition",
        found.verdict,
        f"{percent:.0f} % of the bucket is air: {found.words}.",
        found.source,
        decides=True,
    )


def bag_trial(smell: str, days: float) -> Trial:
    """What a moist sample smells of after some days in a closed bag.

    Parameters
    ----------
    smell : str
        earthy, sour, ammonia or putrid.
    days : float
        How long it was closed, in the warm [day], 3 to 7.

    Returns
    -------
    Trial
        Refused if the bag was opened too early.

    Raises
    ------
    InvalidInput
        If the smell is none of these or the days are out of range.

    Notes
    -----
    From notes of community sites, otherwise common practice, no source. Earthy passes; it is the
    weakest test of rest. Open the bag outdoors and away from the face.

    Examples
    --------
    >>> bag_trial("putrid", 5.0).verdict, bag_trial("earthy", 1.0).verdict
    ('fail', 'refused')
    """
    if smell not in SMELLS:
        raise InvalidInput(f"The smell is '{smell}'; allowed is {', '.join(SMELLS)}.")
    check_range("Days in the bag", days, 0.0, 60.0, "days")
    source = "UK community composting notes"
    if smell == "earthy" and days < LEAST_BAG_DAYS:
        return Trial(
            "bag",
            "stability",
            REFUSED,
            f"Too early to say: leave it closed for {LEAST_BAG_DAYS:g} days or more, in the warm.",
            source,
        )
    if smell == "earthy":
        return Trial(
            "bag",
            "stability",
            PASS,
            "It still smells of earth: it is at rest, as far as a nose can tell.",
            source,
            decides=True,
        )
    return Trial(
        "bag",
        "stability",
        FAIL,
        f"It smells {'of ammonia' if smell == 'ammonia' else smell}: there is food left in it. Put "
        "it back, turn it, let it cure.",
        source,
        decides=True,
        retest_weeks=(4.0, 8.0),
    )


def flask_trial(
    hottest_celsius: float, room_celsius: float, days: float, squeeze: str = "damp"
) -> Trial:
    """Class of a sample that warmed up in an insulated flask.

    ::

        dT = T_hottest - T_room

    Parameters
    ----------
    hottest_celsius : float
        Highest temperature in the flask [degC], usually 20 to 70.
    room_celsius : float
        Of the room at that time [degC], 15 to 25.
    days : float
        How long it stood [day], 5 to 10.
    squeeze : str
        What a squeezed handful of it did: dry, damp, drops or trickle.

    Returns
    -------
    Trial
        Refused if the room was too cold or too warm, it stood too short to have peaked, or it was
        too dry or too wet to warm up.

    Raises
    ------
    InvalidInput
        If a value is out of range.

    Notes
    -----
    About 1.5 L in a flask with a bore of 100 mm; the peak comes in five to ten days (from memory).
    The range of rooms is ours.

    References
    ----------
    brinton1995

    Examples
    --------
    >>> flask_trial(28.0, 20.0, 7.0).verdict, flask_trial(62.0, 20.0, 3.0).verdict
    ('pass', 'fail')
    """
    check_range("Hottest in the flask", hottest_celsius, 0.0, 90.0, "°C")
    check_range("Temperature of the room", room_celsius, 0.0, 45.0, "°C")
    check_range("Days in the flask", days, 0.0, 60.0, "days")
    if squeeze not in SQUEEZES:
        raise InvalidInput(f"The squeeze is '{squeeze}'; allowed is {', '.join(SQUEEZES)}.")
    source = "Dewar self-heating classes, from memory"
    if not ROOM_CELSIUS[0] <= room_celsius <= ROOM_CELSIUS[1]:
        return Trial(
            "flask",
            "stability",
            REFUSED,
            f"The room had {room_celsius:g} °C; the classes hold at about 20 °C. Do it again in a "
            f"room of {ROOM_CELSIUS[0]:g} to {ROOM_CELSIUS[1]:g} °C.",
            source,
        )
    found = self_heating_class(hottest_celsius - room_celsius)
    kelvin = hottest_celsius - room_celsius
    rise = f"It warmed up by {kelvin:.0f} °C ({1.8 * kelvin:.0f} °F)"
    if found.verdict == FAIL:
        return Trial(
            "flask",
            "stability",
            FAIL,
            f"{rise}: {found.words}. Let it cure.",
            source,
            decides=True,
            retest_weeks=(4.0, 8.0),
        )
    if days < LEAST_FLASK_DAYS:
        return Trial(
            "flask",
            "stability",
            REFUSED,
            f"{rise} so far, and the peak comes in five to ten days: leave it standing.",
            source,
        )
    if SQUEEZES[squeeze][0] == FAIL:
        return Trial("flask", "stability", REFUSED, SQUEEZES[squeeze][1], source)
    return Trial(
        "flask", "stability", found.verdict, f"{rise}: {found.words}.", source, decides=True
    )
