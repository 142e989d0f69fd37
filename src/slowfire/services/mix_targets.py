"""Water or C:N that a user asks for, solved exactly with what is at hand."""

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from slowfire.errors import InvalidInput, OutOfReach, check_range
from slowfire.materials.feedstock import MAX_PORTION_MASS, Portion
from slowfire.recipe.mixture import Blend, blend
from slowfire.recipe.optimise import AtHand
from slowfire.recipe.targets import (
    Amendment,
    check_c_to_n_target,
    mass_for_c_to_n,
    mass_for_moisture,
    one_of,
    water_for_moisture,
)
from slowfire.services.mix_words import both_answers, mass_words, material_words, percent

_ENOUGH = 1e-9  # [kg]


@dataclass(frozen=True)
class Solution:
    """What meets the target, and what else would.

    Attributes
    ----------
    before : Blend
        The load as it is.
    after : Blend
        With what is added.
    additions : tuple of Portion
        Materials to add.
    water : float
        Water to add [kg].
    why : tuple of str
        Sentences.
    answers : tuple of Mapping
        One a target and material.
    """

    before: Blend
    after: Blend
    additions: tuple[Portion, ...]
    water: float
    why: tuple[str, ...]
    answers: tuple[Mapping[str, Any], ...]


def checked_targets(
    moisture_percent: float | None, c_to_n: float | None
) -> tuple[float | None, float | None]:
    """Refuse targets outside their range.

    Parameters
    ----------
    moisture_percent : float or None
        5 to 95 [percent].
    c_to_n : float or None
        8 to 200 [-].

    Returns
    -------
    tuple of float or None
        Moisture as a share [kg/kg], and the C:N.

    Raises
    ------
    InvalidInput
        If the moisture is out of range.
    OutOfReach
        If the C:N is one no heap can have.

    Examples
    --------
    >>> checked_targets(60.0, None)
    (0.6, None)
    """
    moisture = None
    if moisture_percent is not None:
        moisture = check_range("Target moisture", moisture_percent, 5.0, 95.0, "percent") / 100.0
    return moisture, None if c_to_n is None else check_c_to_n_target(c_to_n)


def _portion(one: AtHand, mass: float) -> tuple[Portion, ...]:
    if mass <= _ENOUGH:
        return ()
    return (Portion.from_mass(one.feedstock, mass, one.packing),)


def _row(target: str, value: float, one: AtHand, mass: float, after: Blend) -> Mapping[str, Any]:
    return {
        "target": target,
        "value": value,
        "feedstock": one.feedstock.id,
        "kilograms": mass,
        "moisture_percent": 100.0 * after.moisture_content_wet_basis,
        "c_to_n": after.c_to_n,
    }


def solve(
    before: Blend,
    offered: Sequence[AtHand],
    moisture: float | None,
    c_to_n: float | None,
    wetting: bool = False,
) -> Solution:
    """Meet one target or both.

    One target takes the first material named that reaches it. Both take two materials, or one and
    water; where one material alone must do, the two answers stand side by side.

    Parameters
    ----------
    before : Blend
        The load.
    offered : sequence of AtHand
        What can be added.
    moisture : float or None
        Target, wet basis [kg/kg].
    c_to_n : float or None
        Target mass of carbon over mass of nitrogen [-].
    wetting : bool
        Whether water may be added.

    Returns
    -------
    Solution
        Exact for the table's values.

    Raises
    ------
    OutOfReach
        If nothing named can reach it.
    InvalidInput
        If nothing is named.
    """
    if moisture is not None and c_to_n is not None:
        return _both(before, offered, moisture, c_to_n, wetting)
    if moisture is not None:
        if wetting and moisture > before.moisture_content_wet_basis:
            return _with_water(before, moisture)
        return _single(
            before,
            offered,
            lambda amendment: mass_for_moisture(before, amendment, moisture),
            "moisture_percent",
            100.0 * moisture,
        )
    if c_to_n is None:
        raise InvalidInput("Give a target: --moisture PERCENT or --c-to-n RATIO.")
    return _single(
        before,
        offered,
        lambda amendment: mass_for_c_to_n(before, amendment, c_to_n),
        "c_to_n",
        c_to_n,
    )


def _with_water(before: Blend, moisture: float) -> Solution:
    water = water_for_moisture(before, moisture)
    after = blend(before.portions, before.added_water + water)
    why = [
        f"The load holds {percent(before.moisture_content_wet_basis)} water; {water:.2f} L of "
        f"water bring it to {percent(moisture)}."
    ]
    if after.water_to_spare < 0.0:
        why.append(f"It cannot hold all of that: {-after.water_to_spare:.1f} L will drip.")
    return Solution(before, after, (), water if water > _ENOUGH else 0.0, tuple(why), ())


def _single(
    before: Blend,
    offered: Sequence[AtHand],
    mass_for: Callable[[Amendment], float],
    target: str,
    value: float,
) -> Solution:
    if not offered:
        raise InvalidInput("Name what could be added to reach the target, such as --with leaves.")
    found: list[tuple[AtHand, float, Blend]] = []
    refused: list[OutOfReach] = []
    for one in offered:
        try:
            mass = mass_for(one_of(one.feedstock))
        except OutOfReach as refusal:
            refused.append(refusal)
            continue
        after = blend((*before.portions, *_portion(one, mass)), before.added_water)
        found.append((one, mass, after))
    if not found:
        raise refused[0]
    one, mass, after = found[0]
    why = []
    for other, kilograms, mix in found:
        ratio = f"C:N {mix.c_to_n:.1f}" if mix.c_to_n is not None else "no nitrogen"
        why.append(
            f"{mass_words(kilograms)} of {material_words(other.feedstock)} give "
            f"{percent(mix.moisture_content_wet_basis)} water and {ratio}."
        )
    why += [str(refusal) for refusal in refused]
    rows = tuple(_row(target, value, *each) for each in found)
    return Solution(before, after, _portion(one, mass), 0.0, tuple(why), rows)


def _both(
    before: Blend, offered: Sequence[AtHand], moisture: float, c_to_n: float, wetting: bool
) -> Solution:
    if not offered:
        raise InvalidInput("Name what could be added to reach both, such as --with leaves,paper.")
    for one in offered if wetting else ():
        solution = _one_and_water(before, one, moisture, c_to_n)
        if solution is not None:
            return solution
    for first, second in itertools.combinations(offered, 2):
        solution = _two(before, first, second, moisture, c_to_n)
        if solution is not None:
            return solution
    refusal = ""
    for one in offered:
        both, sentence = both_answers(before, one.feedstock, one.packing, moisture, c_to_n)
        refusal = refusal or sentence
        if both is None:
            continue
        kept = both.for_moisture or both.for_c_to_n
        if kept is None:
            continue
        rows = [
            _row(target, value, one, answer.mass, answer.result)
            for target, value, answer in (
                ("moisture_percent", 100.0 * moisture, both.for_moisture),
                ("c_to_n", c_to_n, both.for_c_to_n),
            )
            if answer is not None
        ]
        goal = "the water" if both.for_moisture is not None else "the C:N"
        why = (sentence, f"One material cannot meet both; the amount above meets {goal}.")
        after = blend((*before.portions, *_portion(one, kept.mass)), before.added_water)
        return Solution(
            before, after, _portion(one, kept.mass), 0.0, (*why, *both.why_not), tuple(rows)
        )
    raise OutOfReach(refusal)


def _one_and_water(before: Blend, one: AtHand, moisture: float, c_to_n: float) -> Solution | None:
    """The C:N by one material, then the water by water, if that leaves it too dry."""
    try:
        mass = mass_for_c_to_n(before, one_of(one.feedstock), c_to_n)
        parts = (*before.portions, *_portion(one, mass))
        water = water_for_moisture(blend(parts, before.added_water), moisture)
    except OutOfReach:
        return None
    after = blend(parts, before.added_water + water)
    why = (
        f"{mass_words(mass)} of {material_words(one.feedstock)} bring the C:N to {c_to_n:g}, and "
        f"{water:.2f} L of water the mix to {percent(moisture)} water.",
    )
    kept = water if water > _ENOUGH else 0.0
    return Solution(
        before,
        after,
        _portion(one, mass),
        kept,
        why,
        (_row("both", c_to_n, one, mass, after),),
    )


def _two(
    before: Blend, first: AtHand, second: AtHand, moisture: float, c_to_n: float
) -> Solution | None:
    """Masses of two materials that meet both targets: two linear equations."""
    a, b = one_of(first.feedstock), one_of(second.feedstock)
    # water: x (P - M_a) + y (P - M_b) = m (M - P); C:N: x (c - R n)_a + y (c - R n)_b = R N - C
    water_a = moisture - a.moisture_content_wet_basis
    water_b = moisture - b.moisture_content_wet_basis
    ratio_a, ratio_b = a.carbon - c_to_n * a.nitrogen, b.carbon - c_to_n * b.nitrogen
    right_water = before.mass * (before.moisture_content_wet_basis - moisture)
    right_ratio = c_to_n * before.nitrogen - before.carbon
    determinant = water_a * ratio_b - water_b * ratio_a
    if abs(determinant) < 1e-12:
        return None
    x = (right_water * ratio_b - water_b * right_ratio) / determinant
    y = (water_a * right_ratio - right_water * ratio_a) / determinant
    if not (0.0 <= x <= MAX_PORTION_MASS and 0.0 <= y <= MAX_PORTION_MASS):
        return None
    additions = (*_portion(first, x), *_portion(second, y))
    after = blend((*before.portions, *additions), before.added_water)
    why = (
        f"{mass_words(x)} of {material_words(first.feedstock)} and {mass_words(y)} of "
        f"{material_words(second.feedstock)} together meet {percent(moisture)} water and a C:N "
        f"of {c_to_n:g}.",
    )
    rows = tuple(_row("both", c_to_n, one, mass, after) for one, mass in ((first, x), (second, y)))
    return Solution(before, after, additions, 0.0, why, rows)
