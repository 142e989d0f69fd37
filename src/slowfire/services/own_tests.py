"""Tests of one's own: what each form holds, sums that the journal keeps no row for, what calls."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from slowfire import records as r
from slowfire.errors import InvalidInput, SlowfireError
from slowfire.kinds import Test
from slowfire.maturity.bin_tests import SQUEEZES, squeeze_trial
from slowfire.maturity.chemistry import ammonium_class, ammonium_to_nitrate_class, c_to_n_class
from slowfire.maturity.classes import MaturityClass
from slowfire.maturity.plant_tests import extract_trial, weedkiller_test_wanted
from slowfire.maturity.stability import (
    carbon_dioxide_class,
    carbon_rate,
    oxygen_mole_rate,
    oxygen_rate_of_carbon,
    oxygen_uptake_class,
)
from slowfire.maturity.trial import Trial, measured_trial
from slowfire.measures import default_measures
from slowfire.recipe.bucket_tests import bulk_density_bucket, moisture_content_by_drying
from slowfire.refusals import RefusedField
from slowfire.services.amounts import barrow_litres
from slowfire.services.bin_setup import number_of
from slowfire.services.layer_tests import DoneTest, judged
from slowfire.services.maturity_words import QUIET_WORDS
from slowfire.services.record import material_name
from slowfire.units import UnitSystem, format_mass, format_volume, pounds_per_cubic_yard

# Which test of the journal each way of testing is; the rest are sums that are not kept.
KEPT: Mapping[str, tuple[str, ...]] = {
    "air space": ("water-fill",),
    "bag": ("bag",),
    "flask": ("flask",),
    "cress": ("cress", "radish"),
    "weedkiller": ("pea",),
}
WORDS_OF_KEPT = {"water-fill": "Air space", "pea": "Peas against weedkiller"}
SEEDLINGS = (
    ("days", "write on which day you looked"),
    ("growth", "say what the leaves on the compost look like"),
    ("control_growth", "say what the leaves on soil look like"),
)
# What a form must hold besides what the journal asks for: without it nothing can be decided.
ALSO_NEEDED: Mapping[str, tuple[tuple[str, str], ...]] = {
    "bag": (("smell", "say what it smells of"), ("days", "write how many days it was closed")),
    "flask": (("days", "write how many days it stood"), ("squeeze", "squeeze a handful first")),
    "cress": SEEDLINGS,
    "radish": SEEDLINGS,
    "pea": (("days", "write how many days the pots have grown"),),
}
TOO_DRY_OR_WET = ("dry", "trickle")
VERDICTS = {
    "pass": "Passed",
    "marginal": "Just passed",
    "fail": "Failed",
    "refused": "Cannot be judged",
}
SUMS = ("squeeze", "extract", "drying", "bucket", "laboratory")
MASSES = ("gram", "kilogram", "ounce", "pound")
VOLUMES = ("litre", "US quart", "US gallon", "imperial gallon", "bucket")
RUNS_WELL = "60 to 75 % runs well in a bin at work"
LIGHT, HEAVY = 300.0, 650.0  # of a stack that breathes; common practice, no source [kg/m^3]


@dataclass(frozen=True)
class Answer:
    """What a sum came to.

    Attributes
    ----------
    title : str
        The figure or the verdict in a few words.
    words : tuple of str
        What it means and what to do.
    source : str
    trial : Trial or None
        Where it is a test with a verdict.
    """

    title: str
    words: tuple[str, ...]
    source: str
    trial: Trial | None = None


@dataclass(frozen=True)
class Figure:
    """A figure that a laboratory gives: its name with its unit, and how it is classed."""

    name: str
    classed: Callable[[float], MaturityClass]
    more: Callable[[float], str] = lambda value: ""


def _breath_of(carbon: float) -> str:
    n = oxygen_rate_of_carbon(carbon)
    return (
        f"With as much oxygen taken up, by volume, that is {n:.1f} mmol oxygen a kg of organic "
        "matter and hour."
    )


FIGURES: Mapping[str, Figure] = {
    "oxygen-mmol": Figure("Oxygen uptake, mmol/(kg h)", oxygen_uptake_class),
    "oxygen-mg": Figure(
        "Oxygen uptake, mg/(kg h)",
        lambda value: oxygen_uptake_class(oxygen_mole_rate(value)),
        lambda value: f"That is {oxygen_mole_rate(value):.1f} mmol a kg and hour.",
    ),
    "carbon": Figure("Carbon of carbon dioxide, mg/(g day)", carbon_dioxide_class, _breath_of),
    "carbon-dioxide": Figure(
        "Carbon dioxide, mg/(g day)",
        lambda value: carbon_dioxide_class(carbon_rate(value)),
        lambda value: (
            f"That is {carbon_rate(value):.1f} mg carbon a gram and day. "
            f"{_breath_of(carbon_rate(value))}"
        ),
    ),
    "c-to-n": Figure("C:N", c_to_n_class),
    "ammonium": Figure("Nitrogen as ammonium, mg/kg dry", ammonium_class),
    "ammonium-to-nitrate": Figure("Ammonium to nitrate", ammonium_to_nitrate_class),
}


def cells_of(which: str, typed: Mapping[str, str], degree: str) -> dict[str, str]:
    """Cells of a row of the journal from a form.

    Parameters
    ----------
    which : str
        One of the tests of `KEPT` [-].
    typed : mapping of str to str
        Fields of the form [-].
    degree : str
        C or F, of what the thermometer shows [-].

    Returns
    -------
    dict of str to str
        item, value, when and note.

    Raises
    ------
    RefusedField
        If there is no such test, or something is missing without which it cannot be judged.
    """
    if which not in {one for kinds in KEPT.values() for one in kinds}:
        raise RefusedField("which", f"there is no test '{which}'; choose one of those shown.")
    for name, wanted in ALSO_NEEDED.get(which, ()):
        if not typed.get(name, "").strip():
            raise RefusedField(name, f"{wanted}: without that it cannot be judged.")
    pairs = []
    for name in (
        "days", "sown", "sprouted", "control_sprouted", "growth", "control_growth", "swelling",
        "smell",
    ):  # fmt: skip
        if typed.get(name, "").strip():
            pairs.append(f"{name}={_plain(typed[name])}")
    for name in ("warmest", "surroundings"):
        if typed.get(name, "").strip():
            pairs.append(f"{name}={_plain(typed[name])}{degree}")
    for name in ("sample", "water"):
        if typed.get(name, "").strip():
            pairs.append(f'{name}="{_plain(typed[name])} {typed.get("unit") or "litre"}"')
    return {
        "item": which,
        "value": " ".join(pairs),
        "when": typed.get("when", ""),
        "note": typed.get("note", ""),
    }


def checked(site: r.Site, test: Test, squeeze: str = "") -> Trial | None:
    """The verdict of a test before it is written, so that what cannot be never is.

    Parameters
    ----------
    site : Site
        With its measures [-].
    test : Test
        As typed [-].
    squeeze : str
        What a squeezed handful of the flask's sample did; empty if nobody asked [-].

    Returns
    -------
    Trial or None

    Raises
    ------
    InvalidInput
        If its numbers cannot be, or the sample was too dry or too wet to pass.
    """
    trial = judged(test, default_measures().with_own(site.measures))
    if squeeze in TOO_DRY_OR_WET and trial is not None and trial.verdict != "fail":
        raise RefusedField("squeeze", f"{squeeze_trial(squeeze).words} It was not written down.")
    return trial


def sum_answer(
    name: str,
    site: r.Site,
    typed: Mapping[str, str],
    moisture_by_estimate: float | None = None,
    density_by_estimate: float | None = None,
) -> Answer:
    """A sum over what was typed.

    Parameters
    ----------
    name : str
        One of `SUMS` [-].
    site : Site
        With its measures and units [-].
    typed : mapping of str to str
        Fields of the form [-].
    moisture_by_estimate : float or None
        Of the stack by the last estimate, to lay beside what was dried [kg/kg]; None without one.
    density_by_estimate : float or None
        Likewise, to lay beside what was weighed [kg/m^3].

    Returns
    -------
    Answer

    Raises
    ------
    InvalidInput
        If something is missing or cannot be; as `RefusedField` where one field is at fault.
    """
    if name == "squeeze":
        return _of_trial(squeeze_trial(_chosen("squeeze", typed, tuple(SQUEEZES))))
    if name == "extract":
        counts = [
            _count(field, typed)
            for field in ("sown_water", "sprouted_water", "sown_extract", "sprouted_extract")
        ]
        return _of_trial(extract_trial(*counts))
    if name == "drying":
        return _drying(site, typed, moisture_by_estimate)
    if name == "bucket":
        return _bucket(site, typed, density_by_estimate)
    if name == "laboratory":
        return _laboratory(typed)
    raise InvalidInput(f"There is no sum '{name}'; known are {', '.join(SUMS)}.")


def weedkiller_wanted(
    site: r.Site,
    entries: Sequence[r.Entry],
    bin_name: str = "",
    done: Sequence[DoneTest] = (),
) -> str | None:
    """Why the test with peas is called for, by what went in or was bought; None if it is not.

    Parameters
    ----------
    site : Site
        For the names of materials [-].
    entries : sequence of Entry
        In force [-].
    bin_name : str
        Which bin, with what is written of the whole place; every one if empty [-].
    done : sequence of DoneTest
        Tests of late: what went in before one with peas that decided is settled [-].

    Returns
    -------
    str or None
    """
    names: list[str] = []
    settled = [one.when for one in done if one.trial.group == "weedkiller" and one.trial.decides]
    for one in entries:
        if settled and one.when <= max(settled):
            continue
        if bin_name and one.bin.casefold() not in ("", bin_name.casefold()):
            continue
        if isinstance(one.payload, r.Load):
            names += [material_name(site, item.material) for item in one.payload.items]
        elif isinstance(one.payload, r.Stock) and one.payload.change == "bought":
            names.append(f"bought {material_name(site, one.payload.material)}")
    return _begun(weedkiller_test_wanted(tuple(dict.fromkeys(names))))


def pea_test_for(name: str) -> str | None:
    """Why the test with peas is called for by one thing, as a sentence; None if it is not.

    Parameters
    ----------
    name : str
        Of the thing, such as Hay [-].

    Returns
    -------
    str or None
    """
    return _begun(weedkiller_test_wanted([name]))


def _begun(told: str | None) -> str | None:
    return None if told is None else told[:1].upper() + told[1:]


def _of_trial(trial: Trial) -> Answer:
    return Answer(VERDICTS[trial.verdict], (trial.words,), trial.source, trial)


def _drying(site: r.Site, typed: Mapping[str, str], by_estimate: float | None) -> Answer:
    wet, dried, container = (_mass(field, site, typed) for field in ("wet", "dried", "container"))
    moisture = moisture_content_by_drying(wet, dried, container)
    words = [f"{RUNS_WELL}; below 40 % next to nothing works."]
    if by_estimate is not None:
        words.append(f"By the estimate the whole stack holds about {100.0 * by_estimate:.0f} %.")
    words.append(
        "It is not written down. For a material of your own, write it under materials in the text "
        "journal as moisture_percent."
    )
    title = f"{100.0 * moisture:.0f} % water"
    return Answer(title, tuple(words), "exact; dry it until its weight stays the same")


def _bucket(site: r.Site, typed: Mapping[str, str], by_estimate: float | None) -> Answer:
    full, empty = (_mass(field, site, typed) for field in ("full", "empty"))
    litres = _volume("volume", site, typed)
    density = bulk_density_bucket(full, empty, litres / 1000.0)
    if density < LIGHT:
        words = "Light and open: it may dry out and cool."
    elif density <= HEAVY:
        words = "As a stack that breathes usually weighs."
    else:
        words = "Heavy: wet or packed, with little air. The water-fill test shows how much."
    told = [words]
    if by_estimate is not None:
        told.append(f"By the estimate the whole stack has about {_density(by_estimate, site)}.")
    system: UnitSystem = "us" if site.units == "us" else "metric"
    barrow = barrow_litres(site)
    weighs = format_mass(barrow / 1000.0 * density, system)
    told.append(f"A level barrow ({format_volume(barrow, system)}) of it weighs {weighs}.")
    source = "exact sum; what is light or heavy is common practice, no source"
    return Answer(_density(density, site), tuple(told), source)


def _density(density: float, site: r.Site) -> str:
    if site.units == "us":
        return f"{pounds_per_cubic_yard(density):.0f} lb a cubic yard"
    return f"{density:.0f} kg a cubic metre"


def _laboratory(typed: Mapping[str, str]) -> Answer:
    figure = FIGURES[_chosen("figure", typed, tuple(FIGURES))]
    value = _number("value", typed)
    trial = measured_trial(figure.classed(value))
    words = trial.words[:1].upper() + trial.words[1:]
    more = figure.more(value)
    return Answer(
        f"{figure.name.split(',')[0]}: {QUIET_WORDS[trial.verdict].lower()}",
        (words, more) if more else (words,),
        trial.source,
        trial,
    )


def _plain(text: str) -> str:
    """A decimal comma is a point, and no blank or quote gets into a cell."""
    return "".join(text.replace(",", ".").split()).replace('"', "")


def _number(field: str, typed: Mapping[str, str]) -> float:
    try:
        value = number_of(field, typed.get(field, ""))
    except RefusedField:
        raise
    except SlowfireError as problem:
        raise RefusedField(field, str(problem)) from problem
    if value is None:
        raise RefusedField(field, "write a number here, such as 12.5.")
    return value


def _count(field: str, typed: Mapping[str, str]) -> int:
    value = _number(field, typed)
    if value != round(value) or value < 0.0 or value > 1000.0:
        raise RefusedField(field, f"read {value:g}; write a whole number from 0 to 1000.")
    return int(value)


def _chosen(field: str, typed: Mapping[str, str], allowed: Sequence[str]) -> str:
    word = typed.get(field, "")
    if word not in allowed:
        raise RefusedField(field, "choose one of those shown.")
    return word


def _mass(field: str, site: r.Site, typed: Mapping[str, str]) -> float:
    unit = _chosen("mass_unit", typed, MASSES)
    mass = default_measures().with_own(site.measures).named(unit).mass
    if mass is None:
        raise RefusedField("mass_unit", f"a {unit} is a volume here; choose a weight.")
    return _number(field, typed) * mass


def _volume(field: str, site: r.Site, typed: Mapping[str, str]) -> float:
    unit = _chosen("volume_unit", typed, VOLUMES)
    litres = default_measures().with_own(site.measures).named(unit).litres
    if litres is None:
        raise RefusedField("volume_unit", f"a {unit} is a weight here; choose a volume.")
    return _number(field, typed) * litres
