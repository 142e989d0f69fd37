"""Tests with seeds beside a control: cress, seeds in an extract, peas for traces of weedkiller."""

import re
from collections.abc import Sequence

from slowfire.errors import InvalidInput, check_range
from slowfire.maturity.classes import FAIL, MARGINAL, PASS, REFUSED, scales
from slowfire.maturity.trial import Trial

LEAST_CONTROL_PERCENT = 80.0
LEAST_SEEDS = 10
FIRST_DAY, DECIDING_DAY, LAST_DAY = 3.0, 5.0, 10.0
COLOURS = ("green", "weak", "yellow")
ROOTS = ("white", "brown")
RETEST_WEEKS = (4.0, 8.0)
NOT_FOR_SEED = "Not ready for seed; mulch only; retest in 4-8 weeks."
LEAST_POTS = 3
LEAST_BIOASSAY_DAYS = 14.0
TRUE_LEAVES = 3
# Plants of fields and lawns, what animals that eat them leave, and mixes somebody else made.
SUSPECT = re.compile(
    r"\b(manure|hay|straw|lawn|grass|horse|cattle|cow|sheep|goat|rabbit)\b"
    r"|\bbought\b.*\b(compost|potting mix|soil)\b"
)
GARDEN_SOURCE = "Swiss, German and Luxembourg garden guidance"


def _germinated(name: str, sown: int, sprouted: int) -> float:
    """Percent that sprouted, once the counts make sense."""
    if sown < 1 or not 0 <= sprouted <= sown:
        raise InvalidInput(
            f"{name}: {sprouted} of {sown} seeds sprouted; allowed is 0 to the number sown, and at "
            "least one sown. Are the two swapped?"
        )
    return 100.0 * sprouted / sown


def _control_refusal(name: str, group: str, source: str, sown: int, sprouted: int) -> Trial | None:
    """A refusal if the control is too poor or too few seeds were sown, else None."""
    control = _germinated("Control", sown, sprouted)
    if sown < LEAST_SEEDS:
        return Trial(
            name,
            group,
            REFUSED,
            f"Too few seeds to tell: sow {LEAST_SEEDS} or more in each, better 20.",
            source,
        )
    if control < LEAST_CONTROL_PERCENT:
        return Trial(
            name,
            group,
            REFUSED,
            f"The control itself failed: only {control:.0f} % of its seeds sprouted, and "
            f"{LEAST_CONTROL_PERCENT:g} % are needed. The seed is old or it was too cold or dry; "
            "do it again with fresh seed.",
            source,
        )
    return None


def extract_trial(
    sown_water: int, sprouted_water: int, sown_extract: int, sprouted_extract: int
) -> Trial:
    """Seeds soaked in an extract of the compost against seeds soaked in water.

    ::

        G = 100 (n_e / N_e) / (n_w / N_w)

    with n the seeds that sprouted and N those soaked, in extract (e) and in water (w).

    Parameters
    ----------
    sown_water, sprouted_water : int
        Seeds soaked in plain water, and how many sprouted [-]; usually 20.
    sown_extract, sprouted_extract : int
        Seeds soaked in the extract, and how many sprouted [-]; usually 20.

    Returns
    -------
    Trial
        Pass above 90, marginal from 80 to 90 percent of the control, else fail; refused if fewer
        than 80 percent sprouted in water or fewer than 10 seeds were soaked.

    Raises
    ------
    InvalidInput
        If more sprouted than were soaked.

    Notes
    -----
    Limits of a seedling index, from memory, taken over for the extract. One seed of twenty is five
    percent, so a result near a limit is worth a second try.

    References
    ----------
    ccqc2001

    Examples
    --------
    >>> trial = extract_trial(20, 19, 20, 11)
    >>> round(trial.percent), trial.words
    (58, '58 % of the control. Not ready for seed; mulch only; retest in 4-8 weeks.')
    """
    source = "gardening mailing list, 28 Jan 1998; limits of the CCQC index, from memory"
    extract = _germinated("Extract", sown_extract, sprouted_extract)
    refused = _control_refusal("extract", "plants", source, sown_water, sprouted_water)
    if refused is None and sown_extract < LEAST_SEEDS:
        refused = _control_refusal("extract", "plants", source, sown_extract, sown_extract)
    if refused is not None:
        return refused
    percent = extract / _germinated("Control", sown_water, sprouted_water) * 100.0
    return _by_growth("extract", source, percent)


def _by_growth(name: str, source: str, percent: float) -> Trial:
    verdict = scales()["growth"].class_of(percent).verdict
    told = f"{percent:.0f} % of the control. "
    if verdict == FAIL:
        return Trial(name, "plants", FAIL, told + NOT_FOR_SEED, source, percent, True, RETEST_WEEKS)
    if verdict == MARGINAL:
        return Trial(
            name,
            "plants",
            MARGINAL,
            told + "Just passed: good for planting out and mulch; for fine seed do it again first.",
            source,
            percent,
            True,
        )
    return Trial(name, "plants", PASS, told + "Passed: seeds bear it.", source, percent, True)


def cress_trial(
    sown: int,
    sprouted: int,
    colour: str,
    days: float,
    *,
    sown_control: int | None = None,
    sprouted_control: int | None = None,
    colour_control: str = "green",
    roots: str | None = None,
) -> Trial:
    """Cress or radish sown on the compost, with a second pot of ordinary soil as control.

    ::

        G = 100 (n / N) / (n_c / N_c)

    with n the seeds that sprouted and N those sown, on the compost and on the control (c).

    Parameters
    ----------
    sown, sprouted : int
        Seeds sown on the compost, and how many came up [-]; usually 20.
    colour : str
        green (and sturdy), weak, or yellow.
    days : float
        Days since they were sown [day], 3 to 5.
    sown_control, sprouted_control : int or None
        The same on ordinary soil [-]; None without a control pot.
    colour_control : str
        Colour in the control pot.
    roots : str or None
        white (branched, hairy) or brown (thin); None if not looked at.

    Returns
    -------
    Trial
        Yellow on day 5 is immature, however dark or crumbly it looks. Never a pass without a
        control. Refused if the control failed or it is too early.

    Raises
    ------
    InvalidInput
        If a colour or a count cannot be.

    Notes
    -----
    Green in three to five days with white branched roots passes; yellow leaves or brown thin roots
    mean immature. Limits by the control are those of a seedling index, from memory.

    References
    ----------
    ccqc2001

    Examples
    --------
    >>> cress_trial(20, 18, "yellow", 5.0).verdict
    'fail'
    >>> cress_trial(20, 19, "green", 5.0, sown_control=20, sprouted_control=19).verdict
    'pass'
    """
    percent = _germinated("Compost", sown, sprouted)
    check_range("Days since sowing", days, 0.0, 60.0, "days")
    for name, value in (("colour", colour), ("colour of the control", colour_control)):
        if value not in COLOURS:
            raise InvalidInput(f"The {name} is '{value}'; allowed is {', '.join(COLOURS)}.")
    if roots is not None and roots not in ROOTS:
        raise InvalidInput(f"The roots are '{roots}'; allowed is {' or '.join(ROOTS)}.")
    if (sown_control is None) != (sprouted_control is None):
        raise InvalidInput("Give both counts of the control pot, sown and sprouted, or none.")
    if days < FIRST_DAY or days > LAST_DAY:
        return Trial(
            "cress",
            "plants",
            REFUSED,
            f"It was looked at on day {days:g}; look on day 3 to 5 (by day 10 at the latest).",
            GARDEN_SOURCE,
        )
    ask = ""
    if sown_control is not None and sprouted_control is not None:
        refused = _control_refusal("cress", "plants", GARDEN_SOURCE, sown_control, sprouted_control)
        if refused is not None:
            return refused
        if colour_control != "green":
            return Trial(
                "cress",
                "plants",
                REFUSED,
                f"The control is {colour_control} too: want of light or warmth, not the compost. "
                "Do it again on a light sill.",
                GARDEN_SOURCE,
            )
        percent = percent / _germinated("Control", sown_control, sprouted_control) * 100.0
    else:
        ask = " Sow a second pot of ordinary soil beside it as a control."
    return _by_looks(percent, sown, colour, days, roots, ask)


def _by_looks(
    percent: float, sown: int, colour: str, day: float, roots: str | None, ask: str
) -> Trial:
    """Colour and roots first, then numbers; `ask` holds the wish for a control if there was "
    "none."""
    told = None if ask else percent
    if colour == "yellow" and day < DECIDING_DAY and roots != "brown":
        return Trial(
            "cress",
            "plants",
            REFUSED,
            f"Yellow on day {day:g}: look again on day 5, in the light.{ask}",
            GARDEN_SOURCE,
            told,
        )
    if colour == "yellow" or roots == "brown":
        seen = "yellow leaves" if colour == "yellow" else "brown thin roots"
        return Trial(
            "cress",
            "plants",
            FAIL,
            f"Immature: {seen} on day {day:g}, however dark or crumbly it looks. Let it stand and "
            f"turn it, or give it to hungry crops only, not to young plants.{ask}",
            GARDEN_SOURCE,
            told,
            not ask,
            RETEST_WEEKS,
        )
    if ask:
        return Trial(
            "cress",
            "plants",
            MARGINAL,
            f"{colour.capitalize()} on day {day:g}, and nothing to compare with.{ask}",
            GARDEN_SOURCE,
        )
    if sown < LEAST_SEEDS:
        return Trial(
            "cress",
            "plants",
            REFUSED,
            f"Too few seeds to tell: sow {LEAST_SEEDS} or more in each, better 20.",
            GARDEN_SOURCE,
        )
    trial = _by_growth("cress", GARDEN_SOURCE, percent)
    if colour == "weak" and trial.verdict == PASS:
        return Trial(
            "cress",
            "plants",
            MARGINAL,
            f"{percent:.0f} % of the control, but weaker: not for fine seed yet.",
            GARDEN_SOURCE,
            percent,
            True,
            RETEST_WEEKS,
        )
    return trial


def weedkiller_test_wanted(imported: Sequence[str]) -> str | None:
    """Whether what was brought in calls for the test with peas.

    Parameters
    ----------
    imported : sequence of str
        Names of what came from elsewhere.

    Returns
    -------
    str or None
        Why; None if nothing calls for it.

    Notes
    -----
    Manure, hay, straw and treated lawn clippings can carry weedkillers that outlast both animals
    and composting, and so can bought compost made of them; common practice, no source of one
    figure.

    Examples
    --------
    >>> weedkiller_test_wanted(["horse manure", "card"])
    'horse manure can carry traces of weedkiller: do the test with peas before beds get it.'
    >>> weedkiller_test_wanted(["strawberry tops", "hair clippings"]) is None
    True
    """
    suspect = [one for one in imported if SUSPECT.search(one.lower())]
    if not suspect:
        return None
    return (
        f"{', '.join(suspect)} can carry traces of weedkiller: do the test with peas before beds "
        "get it."
    )


def weedkiller_trial(
    test_pots: int,
    test_cupped: int,
    control_pots: int,
    control_cupped: int,
    days: float,
    true_leaves: int,
) -> Trial:
    """Peas or beans in compost mix against peas or beans in potting mix alone.

    Parameters
    ----------
    test_pots, test_cupped : int
        Pots of two parts compost and one part potting mix, and how many hold cupped, twisted or
        stunted plants [-]; 3 to 6.
    control_pots, control_cupped : int
        The same of potting mix alone, each in a saucer of its own [-]; 3 to 6.
    days : float
        Since they were sown [day], 14 to 21.
    true_leaves : int
        Sets of true leaves in the control [-], 3.

    Returns
    -------
    Trial
        Decided only against the controls; refused without them, if they are cupped too, or if it
        is too early.

    Raises
    ------
    InvalidInput
        If more pots are cupped than there are, or a number is negative.

    Notes
    -----
    Peas and beans show about 1 to 10 parts in a thousand million of the mix (from memory); grass
    is unhurt. A mix so strong that salt does the harm misleads. Heat does not clear it. The share
    of cupped pots that decides is ours: more than half.

    References
    ----------
    wsu2011

    Examples
    --------
    >>> weedkiller_trial(4, 4, 4, 0, 20.0, 3).verdict
    'fail'
    >>> weedkiller_trial(4, 4, 4, 4, 20.0, 3).verdict
    'refused'
    """
    source = "extension bioassay protocol, Mar 2011"
    for name, cupped, pots in (
        ("Test pots", test_cupped, test_pots),
        ("Control pots", control_cupped, control_pots),
    ):
        if pots < 0 or not 0 <= cupped <= pots:
            raise InvalidInput(f"{name}: {cupped} of {pots} are cupped; allowed is 0 to all.")
    check_range("Days since sowing", days, 0.0, 120.0, "days")
    check_range("Sets of true leaves", true_leaves, 0, 20)
    refusal = None
    if control_pots < LEAST_POTS or test_pots < LEAST_POTS:
        refusal = (
            f"It is decided only against controls: sow {LEAST_POTS} pots or more with compost and "
            "as many of potting mix alone."
        )
    elif control_cupped > 0:
        refusal = (
            "The controls are cupped too: the potting mix, the saucers or spray from near by is at "
            "fault. Do it again with another mix."
        )
    elif test_cupped == 0 and (days < LEAST_BIOASSAY_DAYS or true_leaves < TRUE_LEAVES):
        refusal = (
            f"Too early: wait for two to three weeks and {TRUE_LEAVES} sets of true leaves in the "
            "control."
        )
    if refusal is not None:
        return Trial("weedkiller", "weedkiller", REFUSED, refusal, source)
    if test_cupped == 0:
        return Trial(
            "weedkiller",
            "weedkiller",
            PASS,
            "No sign of weedkiller beside the controls. Smaller traces than peas can show may be "
            "left.",
            source,
            decides=True,
        )
    if 2 * test_cupped <= test_pots:
        return Trial(
            "weedkiller",
            "weedkiller",
            MARGINAL,
            f"{test_cupped} of {test_pots} pots are cupped, none of the controls: take it as "
            "suspect, keep it off vegetables and flowers, and do it again.",
            source,
            decides=True,
        )
    return Trial(
        "weedkiller",
        "weedkiller",
        FAIL,
        f"{test_cupped} of {test_pots} pots are cupped and no control: traces of weedkiller. Use "
        "it on lawn grass, not on vegetables or flowers. Neither heat nor more composting takes it "
        "out; it can last up to about three years. Bring in no more of what it came with.",
        source,
        decides=True,
    )
