"""Amounts, materials and reasons of a mix in words."""

import math
from collections.abc import Sequence

from slowfire.errors import OutOfReach
from slowfire.materials.feedstock import Feedstock, Portion
from slowfire.recipe.mixture import Blend
from slowfire.recipe.optimise import (
    ASSUMED_AREA,
    CEILING,
    FINE_MARGIN,
    MAT_LAYER,
    MOST_VOLUMES,
    Plan,
    wet_litres,
)
from slowfire.recipe.outcome import Outcome
from slowfire.recipe.scoring import (
    AIR_WANTED,
    HIGHEST_RATIO,
    LOWEST_RATIO,
    air_penalty,
    ratio_penalty,
    water_penalty,
)
from slowfire.recipe.targets import Answer, BothTargets, one_of, solve_both

BOOK_MOISTURE = 0.60  # what books ask for [kg/kg]
BOOK_RATIO = 30.0
_NOTICED = 0.11  # a cost above this is worth a sentence; 75 % water costs 0.1 [-]
_QUARTERS = {0.25: "a quarter", 0.5: "half", 0.75: "three quarters"}
# symbols of units, which are said in figures and have no plural; SI, and US customary
_SYMBOLS = ("g", "kg", "mg", "t", "ml", "mL", "cl", "dl", "l", "L", "lb", "oz", "gal", "qt", "pt")
_SAME = ("people", "seeds", "worms")
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def plural(measure: str) -> str:
    """More than one of a measure.

    Parameters
    ----------
    measure : str
        Such as caddy.

    Returns
    -------
    str
        Such as caddies.

    Examples
    --------
    >>> plural("caddy"), plural("mower box"), plural("scoop"), plural("kg")
    ('caddies', 'mower boxes', 'scoops', 'kg')
    """
    if measure in _SYMBOLS or measure in _SAME:
        return measure
    if measure.endswith("y") and measure[-2:-1] not in "aeiou":
        return measure[:-1] + "ies"
    if measure.endswith(("x", "s", "sh", "ch")):
        return measure + "es"
    return measure + "s"


def amount_words(amount: float, measure: str) -> str:
    """An amount in words where it is a whole number of quarters, else in figures.

    Parameters
    ----------
    amount : float
        How many, above 0 [-].
    measure : str
        Such as caddy.

    Returns
    -------
    str
        Such as half a caddy.

    Examples
    --------
    >>> [amount_words(n, "caddy") for n in (0.25, 0.5, 1.0, 1.75, 2.0)]
    ['a quarter of a caddy', 'half a caddy', 'one caddy', 'one and three quarters caddies', 'two caddies']
    >>> amount_words(0.65, "caddy")
    '0.65 of a caddy'
    >>> amount_words(0.5, "kg"), amount_words(3, "people")
    ('0.5 kg', 'three people')
    """  # noqa: E501
    if measure in _SYMBOLS:
        return f"{amount:.4g} {measure}"
    whole = math.floor(amount + 1e-9)
    rest = round(amount - whole, 6)
    article = "an" if measure[:1] in "aeiou" else "a"
    if rest not in (0.0, *_QUARTERS) or whole >= len(_NUMBERS):
        if amount < 1.0:
            return f"{amount:.2g} of {article} {measure}"
        return f"{amount:.4g} {measure if amount == 1.0 else plural(measure)}"
    if whole == 0:
        joint = f" of {article} " if rest != 0.5 else f" {article} "
        return f"{_QUARTERS[rest]}{joint}{measure}"
    if rest == 0.0:
        return f"{_NUMBERS[whole]} {measure if whole == 1 else plural(measure)}"
    part = _QUARTERS[rest] if rest != 0.5 else "a half"
    return f"{_NUMBERS[whole]} and {part} {plural(measure)}"


def material_words(feedstock: Feedstock, packing: str | None = None) -> str:
    """Name of a material as it stands in a sentence.

    Parameters
    ----------
    feedstock : Feedstock
        The material.
    packing : str or None
        loose or dense; named only where it matters.

    Returns
    -------
    str
        Such as shredded office paper, loose.

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> find = load_library().find
    >>> material_words(find("paper"), "loose"), material_words(find("food"))
    ('shredded office paper, loose', 'household food waste (raw and cooked together)')
    """
    name = feedstock.name
    if feedstock.group != "own":
        name = name[:1].lower() + name[1:]
        head, _, tail = name.partition(", ")
        if tail and "," not in tail and len(tail.split()) == 1:
            name = f"{tail} {head}"
        elif tail:
            name = f"{head} ({tail.replace('(', '').replace(')', '')})"
    if packing is not None and feedstock.packing_matters:
        name += f", {packing}"
    return name


def percent(share: float) -> str:
    """A share as whole percent, such as 85 %."""
    return f"{100.0 * share:.0f} %"


def mass_words(kilograms: float) -> str:
    """A mass in grams below half a kilogram, else in kilograms."""
    if kilograms < 0.5:
        return f"{1000.0 * kilograms:.0f} g"
    return f"{kilograms:.2f} kg" if kilograms < 10.0 else f"{kilograms:.1f} kg"


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def state_sentences(mix: Blend, subject: str) -> list[str]:
    """What of air, water and C:N binds in a mix, by its middle values.

    Parameters
    ----------
    mix : Blend
        The mix.
    subject : str
        What it is called.

    Returns
    -------
    list of str
        The worst first; one sentence that nothing binds if so.
    """
    air = mix.settled_free_air_space
    water = mix.moisture_content_wet_basis
    found = [
        (
            float(air_penalty(air)),
            f"{subject} would settle to {percent(air)} air; it wants at least 30 %, better "
            f"{percent(AIR_WANTED)}.",
        ),
        (
            float(water_penalty(water)),
            f"{subject} is {percent(water)} water; well-run bins sit at 60 to 75 %.",
        ),
    ]
    if mix.c_to_n is not None:
        found.append(
            (
                float(ratio_penalty(mix.c_to_n)),
                f"{subject} has a C:N of {mix.c_to_n:.0f}; anything from {LOWEST_RATIO:g} to "
                f"{HIGHEST_RATIO:g} works.",
            )
        )
    binding = sorted((cost, text) for cost, text in found if cost > _NOTICED)[::-1]
    if binding:
        return [text for _, text in binding]
    return [f"{subject} would settle to {percent(air)} air at {percent(water)} water: that works."]


def _litres(answer: Answer, stuff: Feedstock, packing: str | None) -> float:
    density = stuff.dense_bulk_density if packing == "dense" else stuff.bulk_density
    return 1000.0 * answer.mass / density


def both_answers(
    load: Blend,
    stuff: Feedstock,
    packing: str | None,
    moisture: float = BOOK_MOISTURE,
    ratio: float = BOOK_RATIO,
) -> tuple[BothTargets | None, str]:
    """What water and C:N ask for, each solved exactly, in one sentence.

    Parameters
    ----------
    load : Blend
        The load as it is.
    stuff : Feedstock
        What would be added.
    packing : str or None
        How it is measured out.
    moisture : float
        Target, wet basis [kg/kg].
    ratio : float
        Target mass of carbon over mass of nitrogen [-].

    Returns
    -------
    tuple
        Both answers, None if neither can be reached, and the sentence.
    """
    name = material_words(stuff)
    asked = f"{percent(moisture)} water", f"a C:N of {ratio:g}"
    try:
        both = solve_both(load, one_of(stuff), moisture, ratio)
    except OutOfReach:
        return None, f"Neither {asked[0]} nor {asked[1]} can be reached with {name}."

    def told(what: str, answer: Answer | None) -> str:
        if answer is None:
            return f"{what} is out of its reach"
        litres = _litres(answer, stuff, packing)
        mix = answer.result
        other = f"C:N {mix.c_to_n:.0f}" if mix.c_to_n is not None else "no nitrogen"
        if what == asked[1]:
            other = f"{percent(mix.moisture_content_wet_basis)} water"
        volumes = litres / wet_litres(load.portions)
        return (
            f"{what} would take {mass_words(answer.mass)} ({litres:.3g} L, {volumes:.1f} volumes) "
            f"and give {other}"
        )

    lead = "By the book the two pull apart" if both.conflict else "By the book"
    text = f"{lead}, with {name}: {told(asked[0], both.for_moisture)}; "
    return both, f"{text}{told(asked[1], both.for_c_to_n)}."


def outcome_sentence(outcome: Outcome, subject: str) -> str:
    """What two weeks in the bin would bring, in simulation."""
    return (
        f"In simulation, {outcome.days:.0f} days on, {subject}: "
        f"{100.0 * outcome.mean_oxygen:.0f} % oxygen on average near the top, hottest "
        f"{outcome.hottest_celsius:.0f} °C, {percent(outcome.moisture_content_wet_basis)} water, "
        f"{outcome.liquid_litres:.1f} L of liquid."
    )


def dry_words(portions: Sequence[Portion]) -> str:
    """Names of what is added, joined."""
    return _listed([material_words(p.feedstock) for p in portions])


def hold_back_sentences(plan: Plan, area: float | None) -> list[str]:
    """Why part of a load stays back, and what to do with it.

    Parameters
    ----------
    plan : Plan
        With verdict hold_back or none_at_hand.
    area : float or None
        Floor of the bin [m^2]; None where no bin is named.

    Returns
    -------
    list of str
        Sentences.
    """
    floor = f"a small bin of {ASSUMED_AREA:g} m2" if area is None else f"this bin of {area:.2f} m2"
    if plan.reason == "mats":
        litres = 1000.0 * MAT_LAYER * (area or ASSUMED_AREA)
        return [
            f"In one go it mats and goes airless within hours: at most {100.0 * MAT_LAYER:.0f} cm "
            f"at a time, which is {litres:.0f} L in {floor}.",
            "Spread the rest thin to dry for a day, or lay it as a mulch; then add it a layer at "
            "a time. Do not add it all at once.",
        ]
    if plan.reason == "room":
        return ["The bin has no room for all of it: dig out at the base first, or wait."]
    sentences = [
        "Keep the other half in the caddy on a floor of dry stuff, lid shut, and add it in two or "
        "three days."
    ]
    if plan.verdict == "hold_back":
        sentences.insert(
            0,
            f"With as much dry stuff as we advise, up to {MOST_VOLUMES:g} volumes to one, it would "
            f"still end at {percent(plan.after.moisture_content_wet_basis)} water, "
            f"{percent(plan.after.settled_free_air_space)} air and C:N "
            f"{plan.after.c_to_n or 0.0:.0f}.",
        )
    return sentences


NOTHING_DRY = (
    "Spread what goes in thinly and keep it off the walls; a thick cold lump goes airless.",
    "Tear up card, egg boxes or paper bags, or use the reserve you keep at the bin.",
)


def margin_sentence(plan: Plan) -> str:
    """How near the decision was, in the points of the score."""
    score = (
        f"Score of the load as it is: {plan.cost_before:.2f} (0 is best, above {CEILING:g} is "
        "trouble)"
    )
    if plan.verdict not in ("fine", "add"):
        return f"{score}."
    gain = max(0.0, plan.cost_before - plan.cost_after)
    return (
        f"{score}; the best addition gains {gain:.2f}, and less than {FINE_MARGIN:g} is not worth "
        "the bother."
    )
