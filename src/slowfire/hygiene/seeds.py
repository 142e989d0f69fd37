"""Weed seeds and plant diseases: what heat is known to kill, and what is never promised."""

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from slowfire.errors import UnknownName, check_range
from slowfire.hygiene.packaged import number_in, packaged_text, read_rows

SEED_FILE = "weed_seeds.csv"
DISEASE_FILE = "plant_diseases.csv"
LETHAL_CELSIUS = 50.0  # from here all six died, given time [degC]
NO, NOT_RELIABLY, YES_SIX = "no", "not reliably", "yes for these six"
REFUSED, MET, NOT_MET = "refused", "condition met", "condition not met"
NOT_ALL = (
    "That is laboratory seed in wet heat, of these six kinds: sow-thistle, barnyardgrass, black "
    "nightshade, purslane, London rocket and tumble pigweed. Never say it of other weeds: hard "
    "seeds (clover, vetch, mallow), dock, bulbils and creeping roots can outlast a hot heap."
)


@dataclass(frozen=True)
class WeedSeed:
    """What heat does to one kind of seed.

    Attributes
    ----------
    id, name : str
    of_the_six : bool
        Whether it is one of the six that were heated in the laboratory.
    unharmed_up_to_celsius : float or None
        No loss up to there [degC]; None if not known.
    hours_at : tuple of (float, float)
        Degrees [degC] with the hours until about all were dead there [h].
    note, source, confidence : str
    """

    id: str
    name: str
    of_the_six: bool
    unharmed_up_to_celsius: float | None
    hours_at: tuple[tuple[float, float], ...]
    note: str
    source: str
    confidence: str


@cache
def weed_seeds() -> Mapping[str, WeedSeed]:
    """Every kind of seed of the packaged list by id.

    Returns
    -------
    mapping of str to WeedSeed

    Raises
    ------
    InvalidInput
        If the file cannot be read.

    Notes
    -----
    Hours of the six are from memory; where a kind has none of its own the slowest stands in.

    References
    ----------
    dahlquist2007

    Examples
    --------
    >>> weed_seeds()["purslane"].unharmed_up_to_celsius
    46.0
    """
    columns = ((50.0, "hours_at_50"), (60.0, "hours_at_60"), (70.0, "hours_at_70"))
    headings = ("id", "name", "of_the_six", "unharmed_up_to_celsius", *(c for _, c in columns))
    found = {}
    for row in read_rows(packaged_text(SEED_FILE), SEED_FILE, headings):
        read = [(d, number_in(row, name, SEED_FILE, 0.1, 1000.0)) for d, name in columns]
        found[row["id"]] = WeedSeed(
            row["id"],
            row["name"],
            row["of_the_six"] == "yes",
            number_in(row, "unharmed_up_to_celsius", SEED_FILE, 20.0, 80.0),
            tuple((degree, hours) for degree, hours in read if hours is not None),
            row["note"],
            row["source"],
            row["confidence"],
        )
    return found


@dataclass(frozen=True)
class SeedAnswer:
    """Whether a kind of seed dies.

    Attributes
    ----------
    verdict : str
        no, not reliably, or yes for these six.
    words : str
        With what it rests on and what it does not say.
    needed_hours : float or None
        Hours at that temperature until about all are dead [h]; None if no figure is known.
    """

    verdict: str
    words: str
    needed_hours: float | None


def seed_answer(weed: str, temperature_celsius: float, hours: float) -> SeedAnswer:
    """Whether a kind of weed seed dies at a temperature held for some hours.

    ::

        log h = log h_1 + (log h_2 - log h_1) (T - T_1) / (T_2 - T_1)

    with h the hours needed at T, between the hours h_1 and h_2 known at T_1 and T_2.

    Parameters
    ----------
    weed : str
        Id of a kind, such as purslane, or all for all weed seeds.
    temperature_celsius : float
        Of the seed itself [degC], usually 20 to 75.
    hours : float
        How long it was held [h], usually 1 to 500.

    Returns
    -------
    SeedAnswer

    Raises
    ------
    InvalidInput
        If a number is out of range.
    UnknownName
        If the kind is not in the list; the message lists them.

    Notes
    -----
    Laboratory seed of six kinds in wet heat. The straight line of the logarithm between 50, 60 and
    70 degC is ours. Seed in dry pockets and hard seed live on; nobody can promise all weed seeds.

    References
    ----------
    dahlquist2007

    Examples
    --------
    >>> seed_answer("purslane", 45.0, 500.0).verdict
    'no'
    >>> seed_answer("purslane", 55.0, 72.0).verdict
    'yes for these six'
    """
    check_range("Temperature", temperature_celsius, -20.0, 100.0, "°C")
    check_range("Hours", hours, 0.0, 100000.0, "h")
    name = weed.strip().lower().replace(" ", "_").replace("-", "_")
    if name in ("all", "all_weed_seeds"):
        return SeedAnswer(NOT_RELIABLY, f"All weed seeds: never to be promised. {NOT_ALL}", None)
    known = weed_seeds()
    if name not in known:
        raise UnknownName(
            f"Nothing is known here of the seed of '{weed}'; known are {', '.join(known)}. Take it "
            "to live, and keep it out or use the compost as deep mulch."
        )
    kind = known[name]
    held = f"{temperature_celsius:g} °C for {hours:g} hours"
    origin = f"({kind.source}; {kind.confidence})"
    if not kind.of_the_six:
        return SeedAnswer(
            NO, f"Do not count on heat against {kind.name}: {kind.note}. {origin}", None
        )
    if temperature_celsius < LETHAL_CELSIUS:
        unharmed = kind.unharmed_up_to_celsius
        if unharmed is not None and temperature_celsius <= unharmed:
            return SeedAnswer(
                NO,
                f"{kind.name}: {held} does nothing to it; in the laboratory it was unharmed up to "
                f"{unharmed:g} °C. {origin}",
                None,
            )
        return SeedAnswer(
            NOT_RELIABLY,
            f"{kind.name}: {held} may kill some, slowly. Below {LETHAL_CELSIUS:g} °C do not count "
            f"on it. {origin}",
            None,
        )
    needed = _hours_needed(kind, temperature_celsius)
    if hours < needed * (1.0 - 1e-9):
        return SeedAnswer(
            NOT_RELIABLY,
            f"{kind.name}: {held} is less than the {needed:.0f} hours that killed about "
            f"all. {origin}",
            needed,
        )
    return SeedAnswer(YES_SIX, f"{kind.name}: yes, by {held}. {NOT_ALL} {origin}", needed)


def _hours_needed(kind: WeedSeed, celsius: float) -> float:
    """Hours until about all are dead, from the straight lines of the logarithm."""
    points = kind.hours_at
    for (low, long), (high, short) in itertools.pairwise(points):
        if low <= celsius <= high:
            part = (celsius - low) / (high - low)
            return math.exp(math.log(long) + part * (math.log(short) - math.log(long)))
    return points[-1][1]


@dataclass(frozen=True)
class PlantDisease:
    """What is known of heat and one plant disease.

    Attributes
    ----------
    id, name : str
    refused : bool
        Whether such plants stay out of a bin, whatever its heat.
    condition_celsius, condition_hours : float or None
        What removed it in one study [degC] and [h]; None if none is known.
    lowest_moisture_percent : float or None
        Water by mass that went with it [percent]; None if nothing was said.
    note, source, confidence : str
    """

    id: str
    name: str
    refused: bool
    condition_celsius: float | None
    condition_hours: float | None
    lowest_moisture_percent: float | None
    note: str
    source: str
    confidence: str


@cache
def plant_diseases() -> Mapping[str, PlantDisease]:
    """Every plant disease of the packaged list by id, those that are refused first.

    Returns
    -------
    mapping of str to PlantDisease

    Raises
    ------
    InvalidInput
        If the file cannot be read.

    Notes
    -----
    Each condition is what removed it in one study, and no promise.

    References
    ----------
    noble2004, fayolle2006, steinmoller2012, ryckeboer2002

    Examples
    --------
    >>> plant_diseases()["potato_cyst_nematode"].condition_hours
    192.0
    """
    found = {}
    for row in read_rows(
        packaged_text(DISEASE_FILE), DISEASE_FILE, ("id", "name", "refused", "note")
    ):
        found[row["id"]] = PlantDisease(
            row["id"],
            row["name"],
            row["refused"] == "yes",
            number_in(row, "condition_celsius", DISEASE_FILE, 20.0, 100.0),
            number_in(row, "condition_hours", DISEASE_FILE, 0.1, 10000.0),
            number_in(row, "lowest_moisture_percent", DISEASE_FILE, 0.0, 100.0),
            row["note"],
            row["source"],
            row["confidence"],
        )
    return found


@dataclass(frozen=True)
class DiseaseAnswer:
    """Whether heat can be counted on against a plant disease.

    Attributes
    ----------
    verdict : str
        refused, condition met or condition not met.
    words : str
    """

    verdict: str
    words: str


def disease_answer(
    disease: str,
    hottest_celsius: float,
    hours: float,
    moisture_content_wet_basis: float | None = None,
) -> DiseaseAnswer:
    """Whether the heat that is known to have removed a plant disease was reached.

    Parameters
    ----------
    disease : str
        Id of a disease, such as clubroot.
    hottest_celsius : float
        Temperature that all of the material held [degC], usually 20 to 75.
    hours : float
        For how long [h], usually 1 to 1000.
    moisture_content_wet_basis : float or None
        Water by mass of the wet material meanwhile [kg/kg], 0 to 1; None if not known.

    Returns
    -------
    DiseaseAnswer
        Refused for clubroot, potato wart, white rot, Fusarium wilt and charcoal rot: whatever the
        heat, such plants stay out of the bin.

    Raises
    ------
    InvalidInput
        If a number is out of range.
    UnknownName
        If the disease is not in the list; the message lists them.

    Notes
    -----
    Never a promise: each condition is what removed it in one study. All of the material has to have
    had it, not only the core.

    References
    ----------
    noble2004, fayolle2006, steinmoller2012, ryckeboer2002

    Examples
    --------
    >>> disease_answer("clubroot", 70.0, 1000.0, 0.65).verdict
    'refused'
    """
    check_range("Temperature", hottest_celsius, -20.0, 100.0, "°C")
    check_range("Hours", hours, 0.0, 100000.0, "h")
    name = disease.strip().lower().replace(" ", "_").replace("-", "_")
    known = plant_diseases()
    if name not in known:
        raise UnknownName(
            f"Nothing is known here of '{disease}'; known are {', '.join(known)}. Keep diseased "
            "plants out of a home bin."
        )
    one = known[name]
    origin = f"({one.source}; {one.confidence})"
    if one.refused:
        return DiseaseAnswer(
            REFUSED,
            f"Keep plants with {one.name} out of the bin, whatever its heat: {one.note}. "
            f"{origin} Ask your council how to be rid of them.",
        )
    warm = one.condition_celsius is not None and one.condition_hours is not None
    met = warm and hottest_celsius >= (one.condition_celsius or 0.0)
    met = met and hours >= (one.condition_hours or 0.0)
    if one.lowest_moisture_percent is not None:
        moisture = moisture_content_wet_basis
        met = met and moisture is not None and 100.0 * moisture >= one.lowest_moisture_percent
    verdict = MET if met else NOT_MET
    return DiseaseAnswer(
        verdict,
        f"{one.name}: {verdict}, and never a promise. Known: {one.note}. {origin}",
    )
