"""The liquid at the base: how much is usual, how strong it is, and how to thin it."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from slowfire.errors import InvalidInput, check_range
from slowfire.units import UnitSystem, format_volume

USUAL_WEEK = (0.0002, 0.001)  # a plain bin of kitchen waste [m^3/week]
OVERLOAD_DAY = 0.001  # so much a day is too wet a load, or rain [m^3/day]
PARTS, SEEDLING_PARTS = 10.0, 20.0  # of the thinned liquid to one of liquid: common practice
TARGET, SEEDLING_TARGET = 1.5, 0.9  # conductivity of what is poured [mS/cm]
# Equivalents of the cations that the balance follows [kg/mol of charge].
POTASSIUM_EQUIVALENT, AMMONIUM_EQUIVALENT = 0.0391, 0.0140
CATIONS_PER_CONDUCTIVITY = 10.0  # mmol of charge a litre for each mS/cm
OTHER_CATIONS = 1.5  # calcium, magnesium, sodium beside potassium and ammonium; ours [-]
STRONGEST = 40.0  # [mS/cm]
GOOD_COLOURS = ("brown", "dark", "black")
GOOD_SMELLS = ("none", "earthy")
KEEPS_HOURS = 24.0
RULES: Mapping[str, str] = {
    "soil": (
        "On soil only, never on leaves or on anything eaten raw: it counts as untreated (21 CFR "
        "112.51 for compost teas, as a yardstick)."
    ),
    "fresh": "Use it within a day; kept longer it turns airless. Pour what is left back if dry.",
    "dark": "Dark and odourless is a good sign, and no proof.",
    "hands": "Gloves, and wash your hands.",
}


@dataclass(frozen=True)
class Dilution:
    """How to thin a liquid.

    Attributes
    ----------
    allowed : bool
        Whether it may go on plants at all.
    parts : float
        Thinned liquid to one part of liquid, 1 for none to add [-].
    water : float
        To add [m^3].
    conductivity : float or None
        Of the thinned liquid; None if unknown [mS/cm].
    words : str
        In words.
    reasons : tuple of str
        Why.
    """

    allowed: bool
    parts: float
    water: float
    conductivity: float | None
    words: str
    reasons: tuple[str, ...]


def conductivity_of(volume: float, potassium: float, ammoniacal: float) -> float:
    """Conductivity of a liquid from what it carries.

    ::

        EC = f (K / 0.0391 + N / 0.0140) / (V z),   f = 1.5,  z = 10 mol/m^3 for each mS/cm

    Parameters
    ----------
    volume : float
        Of the liquid, usual range 0.0001 to 0.05 [m^3].
    potassium : float
        In it, as K, usual range 0 to 0.2 [kg].
    ammoniacal : float
        Ammonium in it, as N, usual range 0 to 0.05 [kg].

    Returns
    -------
    float
        [mS/cm], 40 at most.

    Raises
    ------
    InvalidInput
        If the volume is not above 0 or a mass is negative.

    Notes
    -----
    That 10 mmol of positive charge a litre give about 1 mS/cm is the rule of USDA Handbook 60 (from
    memory), good below 5 mS/cm. That other cations add half as much again is ours. A meter is
    better.

    References
    ----------
    richards1954

    Examples
    --------
    >>> round(conductivity_of(0.001, 0.001, 0.0001), 2)
    4.91
    """
    check_range("Volume of the liquid", volume, 1e-9, 10.0, "m3")
    check_range("Potassium", potassium, 0.0, 100.0, "kg")
    check_range("Ammonium", ammoniacal, 0.0, 100.0, "kg")
    charge = potassium / POTASSIUM_EQUIVALENT + ammoniacal / AMMONIUM_EQUIVALENT
    return min(OTHER_CATIONS * charge / volume / CATIONS_PER_CONDUCTIVITY, STRONGEST)


def thinned_by_rain(strength: float, volume: float, rain: float) -> float:
    """Strength of a liquid after rain has fallen in.

    c = c_0 V / (V + R)

    Parameters
    ----------
    strength : float
        Before, usual range 1 to 25 [mS/cm].
    volume : float
        Of the liquid [m^3].
    rain : float
        That came in [m^3].

    Returns
    -------
    float
        [mS/cm].

    Raises
    ------
    InvalidInput
        If there is neither liquid nor rain, or a number is negative.

    Notes
    -----
    Exact for rain without salts.

    Examples
    --------
    >>> round(thinned_by_rain(9.0, 0.001, 0.002), 6)
    3.0
    """
    check_range("Strength", strength, 0.0, 200.0, "mS/cm")
    check_range("Volume of the liquid", volume, 0.0, 10.0, "m3")
    check_range("Rain", rain, 0.0, 10.0, "m3")
    if volume + rain <= 0.0:
        raise InvalidInput("There is neither liquid nor rain; write how much there is.")
    return strength * volume / (volume + rain)


def days_to_spill(held: float, tub_capacity: float, daily: float) -> float:
    """Days until a tub runs over.

    t = (C - V) / q

    Parameters
    ----------
    held : float
        In the tub now [m^3].
    tub_capacity : float
        Of the tub [m^3].
    daily : float
        Coming in [m^3/day].

    Returns
    -------
    float
        0 if it is full, infinite if nothing comes [day].

    Raises
    ------
    InvalidInput
        If there is no tub or a number is negative.

    Notes
    -----
    Exact for a steady flow.

    Examples
    --------
    >>> round(days_to_spill(0.004, 0.010, 0.0001), 6)
    60.0
    """
    check_range("Liquid in the tub", held, 0.0, 10.0, "m3")
    check_range("What the tub holds", tub_capacity, 1e-4, 10.0, "m3")
    check_range("Flow", daily, 0.0, 10.0, "m3/day")
    left = max(tub_capacity - held, 0.0)
    if left == 0.0:
        return 0.0
    return left / daily if daily > 0.0 else float("inf")


def usual_words(weekly: float, system: UnitSystem = "metric") -> str:
    """Whether an amount of liquid is usual.

    Parameters
    ----------
    weekly : float
        [m^3/week].
    system : str
        metric or us, for the words.

    Returns
    -------
    str
        A sentence.

    Raises
    ------
    InvalidInput
        If it is negative or above 10 m3.

    Notes
    -----
    About 24 L a year come from a plain bin (a UK garden page, found second-hand); 0.2 to 1 L a week
    as usual and a litre a day as too much are ours.

    Examples
    --------
    >>> usual_words(0.00046)
    '0.5 L a week is usual for a bin of kitchen waste.'
    """
    check_range("Liquid in a week", weekly, 0.0, 10.0, "m3")
    much = weekly >= 7.0 * OVERLOAD_DAY
    told = _volume(weekly, system, 0 if much else 1)
    if much:
        return (
            f"{told} a week is much: too wet a load, or rain gets in. Add paper and chips, "
            "and see to the lid."
        )
    if weekly > USUAL_WEEK[1]:
        return f"{told} a week is more than usual; a drier load or a better lid helps."
    if weekly < USUAL_WEEK[0]:
        return "Hardly any liquid: usual for a bin that is warm and not too wet."
    return f"{told} a week is usual for a bin of kitchen waste."


def _volume(volume: float, system: UnitSystem, digits: int = 1) -> str:
    """Write a volume [m^3] in litres with so many digits behind the point, or in US gallons."""
    litres = 1000.0 * volume
    if system == "us" or 0.0 < litres < 0.095:
        return format_volume(litres, system)
    return f"{litres:.{digits}f} L"


def dilute(
    volume: float,
    conductivity_ms_per_cm: float | None = None,
    colour: str | None = None,
    smell: str | None = None,
    *,
    seedlings: bool = False,
    hours_old: float = 0.0,
    target_ms_per_cm: float | None = None,
    estimated: bool = False,
    system: UnitSystem = "metric",
) -> Dilution:
    """How much water a liquid needs before it goes on soil, or why it should not.

    ::

        p = EC / EC_target,   W = V (p - 1)

    Without a conductivity 1 in 10, for seedlings 1 in 20; with one that nobody measured no less.

    Parameters
    ----------
    volume : float
        To be used, usual range 0.0001 to 0.02 [m^3].
    conductivity_ms_per_cm : float or None
        Measured or estimated, usual range 1 to 25 [mS/cm]; None if unknown.
    colour, smell : str or None
        As seen: clear, pale, yellow, brown, dark, black; none, earthy, ammonia, sour, rotten-egg.
    seedlings : bool
        For seedlings.
    hours_old : float
        Since it was drawn [hour].
    target_ms_per_cm : float or None
        Wanted after thinning, 0.2 to 4 [mS/cm]; None for 1.5, seedlings 0.9.
    estimated : bool
        Whether the conductivity is an estimate, the high end of it.
    system : str
        metric or us, for the words.

    Returns
    -------
    Dilution

    Raises
    ------
    InvalidInput
        If a number is out of range.

    Notes
    -----
    1 in 10 and 1 in 20 are garden practice (found second-hand); 1 to 2 mS/cm for a drench and less
    than 1 for seedlings is common practice, no source. Colour and smell as a UK garden page has it.
    That an estimate thins no less than practice does is ours.

    Examples
    --------
    >>> made = dilute(0.001, colour="dark", smell="none")
    >>> made.parts, round(1000.0 * made.water, 1)
    (10.0, 9.0)
    """
    check_range("Volume", volume, 0.0, 10.0, "m3")
    check_range("Age of the liquid", hours_old, 0.0, 1e5, "h")
    reasons = []
    if colour is not None and colour not in GOOD_COLOURS:
        reasons.append(f"It is {colour}; only brown or darker liquid goes on plants.")
    if smell is not None and smell not in GOOD_SMELLS:
        reasons.append(f"It smells ({smell}); pour it back, or on bare ground away from plants.")
    if hours_old > KEEPS_HOURS:
        reasons.append(f"It is {hours_old / 24.0:.0f} days old; use it within one.")
    if reasons:
        told = "Not on plants: back into the bin if that is dry, else onto bare ground."
        return Dilution(False, 1.0, 0.0, None, told, tuple(reasons))
    usual = SEEDLING_PARTS if seedlings else PARTS
    thin = None
    if conductivity_ms_per_cm is None:
        parts = usual
        reasons.append(f"Its strength is not known; 1 in {usual:.0f} is garden practice.")
    else:
        check_range("Conductivity", conductivity_ms_per_cm, 0.0, 200.0, "mS/cm")
        goal = target_ms_per_cm or (SEEDLING_TARGET if seedlings else TARGET)
        check_range("Conductivity wanted", goal, 0.2, 4.0, "mS/cm")
        parts = max(conductivity_ms_per_cm / goal, usual if estimated else 1.0)
        thin = conductivity_ms_per_cm / parts
        if estimated:
            reasons.append(
                f"Nobody measured it; by the estimate up to {conductivity_ms_per_cm:.0f} mS/cm, "
                f"about {thin:.1f} mS/cm after thinning. No less than 1 in {usual:.0f} without a "
                "meter."
            )
        else:
            reasons.append(f"From {conductivity_ms_per_cm:.1f} to {thin:.1f} mS/cm.")
    if colour is None or smell is None:
        reasons.append("Look and smell first: yellow, sour, fruity or foul is not for plants.")
    water = volume * (parts - 1.0)
    words = (
        f"Add {_volume(water, system)} of water to {_volume(volume, system)} (1 in {parts:.0f})."
        if parts > 1.05
        else "Weak enough as it is."
    )
    return Dilution(True, parts, water, thin, words, (*reasons, *cautions()))


@cache
def cautions() -> tuple[str, ...]:
    """What to mind with every liquid.

    Returns
    -------
    tuple of str

    Notes
    -----
    Common practice, no source, but for the rule named there.

    Examples
    --------
    >>> len(cautions())
    4
    """
    return tuple(RULES.values())
