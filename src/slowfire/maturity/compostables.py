"""Bags and cups called compostable."""

from dataclasses import dataclass

from slowfire.errors import InvalidInput, check_range

HOME_MARKS = ("nf t51-800", "as 5810", "en 17427", "home")
INDUSTRIAL_MARKS = ("en 13432", "industrial")
DRY_MOISTURE = 0.45  # films hardly rot in what is drier [kg/kg]
INDUSTRIAL_WEEKS = 12  # at 58 degC, of the test behind the industrial mark


@dataclass(frozen=True)
class CompostableAnswer:
    """Whether it may go in.

    Attributes
    ----------
    verdict : str
        yes or no.
    weeks : tuple of (float, float) or None
        How long it is to be seen.
    words : str
    """

    verdict: str
    weeks: tuple[float, float] | None
    words: str


def compostable_answer(
    marking: str,
    moisture_content_wet_basis: float | None = None,
    hot_days: float | None = None,
) -> CompostableAnswer:
    """Whether a bag or cup called compostable will rot in a bin at home.

    Parameters
    ----------
    marking : str
        What is printed on it, such as home, industrial, EN 13432 or none.
    moisture_content_wet_basis : float or None
        Water by mass of the wet material around it [kg/kg], 0 to 1; None if not known.
    hot_days : float or None
        How long the hottest layer has been at 55 degC or more since it went in [day], usually 0 to
        20; None if not known.

    Returns
    -------
    CompostableAnswer

    Raises
    ------
    InvalidInput
        If the moisture is no share, or the days are out of range.

    Notes
    -----
    Home marks (NF T51-800, AS 5810, EN 17427): nine tenths gone in 12 months at 20 to 30 degC.
    Industrial (EN 13432): tested at 58 degC, for up to 12 weeks (weeks from memory). Seen in a
    garden heap: films gone or in scraps after 8 to 26 weeks, an industrial pouch unchanged after 12
    (reported case; common practice, no source).

    Examples
    --------
    >>> compostable_answer("home").weeks, compostable_answer("EN 13432").verdict
    ((8.0, 26.0), 'no')
    """
    moisture = moisture_content_wet_basis
    if moisture is not None and not 0.0 <= moisture <= 1.0:
        raise InvalidInput(f"The moisture is {moisture:g}; allowed is 0 to 1, a share.")
    if hot_days is not None:
        check_range("Days at 55 °C or more", hot_days, 0.0, 3650.0, "days")
    text = marking.strip().lower()
    if any(mark in text for mark in HOME_MARKS) and "not home" not in text:
        dry = " It is dry in there: longer, unless you moisten it."
        return CompostableAnswer(
            "yes",
            (8.0, 26.0),
            "Yes, marked for home composting: tear it open, lay it in the moist middle, and expect "
            "8 to 26 weeks, longer where it is dry."
            + (dry if moisture is not None and moisture < DRY_MOISTURE else ""),
        )
    if any(mark in text for mark in INDUSTRIAL_MARKS):
        told = "No: marked for industrial plants only, it will not rot in a bin at home."
        if hot_days is not None:
            told += (
                f" Its test runs at 58 °C for up to {INDUSTRIAL_WEEKS} weeks; the hottest layer of "
                f"this bin has had {_days(hot_days)} at 55 °C or more."
            )
        return CompostableAnswer("no", None, told)
    return CompostableAnswer(
        "no",
        None,
        "No: only what is marked for home composting (NF T51-800, AS 5810, EN 17427). "
        "'Compostable' or 'biodegradable' alone does not mean that.",
    )


def _days(number: float) -> str:
    if number < 0.5:
        return "less than half a day"
    whole = round(number)
    return f"about {whole} day{'' if whole == 1 else 's'}"
