"""How much of something brings a mix to a moisture or a C:N, and where the two disagree."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from slowfire.errors import InvalidInput, OutOfReach, check_range
from slowfire.materials.feedstock import MAX_PORTION_MASS, Feedstock, Portion
from slowfire.recipe.mixture import Blend, blend

LOWEST_C_TO_N = 8.0
HIGHEST_C_TO_N = 200.0
DRIEST_TARGET = 0.05
WETTEST_TARGET = 0.95
# Below this two moistures or ratios count as the same, so that rounding makes no advice.
_SAME = 1e-9


@dataclass(frozen=True)
class Amendment:
    """One or several materials to be added in a fixed ratio of wet mass.

    Attributes
    ----------
    parts : tuple of (Feedstock, float)
        Each with its share of the wet mass; shares are scaled to 1 [-].

    Raises
    ------
    InvalidInput
        If there is no part, or a share is negative, not finite, or all are 0.

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> find = load_library().find
    >>> mix = Amendment(((find("leaves"), 3.0), (find("card"), 1.0)))
    >>> [round(share, 2) for _, share in mix.parts]
    [0.75, 0.25]
    """

    parts: tuple[tuple[Feedstock, float], ...]

    def __post_init__(self) -> None:
        for feedstock, share in self.parts:
            check_range(f"Share of {feedstock.name}", share, 0.0, 1e6)
        total = math.fsum(share for _, share in self.parts)
        if not total > 0.0:
            raise InvalidInput("Name at least one material to add, with a share above 0.")
        kept = tuple((f, share / total) for f, share in self.parts if share > 0.0)
        object.__setattr__(self, "parts", kept)

    @property
    def name(self) -> str:
        """Names of the parts in one phrase."""
        return " and ".join(feedstock.name for feedstock, _ in self.parts)

    @property
    def moisture_content_wet_basis(self) -> float:
        """Water in the wet mass [kg/kg]."""
        return math.fsum(share * f.moisture_content_wet_basis for f, share in self.parts)

    @property
    def carbon(self) -> float:
        """Carbon that counts, by wet mass [kg/kg]."""
        return math.fsum(
            share * f.dry_matter * f.carbon_content for f, share in self.parts if f.counts_in_c_to_n
        )

    @property
    def nitrogen(self) -> float:
        """Nitrogen that counts, by wet mass [kg/kg]."""
        return math.fsum(
            share * f.dry_matter * f.nitrogen_content
            for f, share in self.parts
            if f.counts_in_c_to_n
        )

    def portions(self, mass: float) -> tuple[Portion, ...]:
        """Portions of a total mass, tipped in loosely.

        Parameters
        ----------
        mass : float
            All parts together, usual range 0 to 100 [kg].

        Returns
        -------
        tuple of Portion
            One a part; empty for a mass of 0.
        """
        if mass <= 0.0:
            return ()
        return tuple(Portion.from_mass(f, mass * share) for f, share in self.parts)


def one_of(feedstock: Feedstock) -> Amendment:
    """A single material as an amendment.

    Parameters
    ----------
    feedstock : Feedstock
        The material.

    Returns
    -------
    Amendment
        All of it.

    Notes
    -----
    Exact.

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> one_of(load_library().find("card")).name
    'Corrugated cardboard, torn'
    """
    return Amendment(((feedstock, 1.0),))


def check_c_to_n_target(target: float) -> float:
    """Refuse a C:N no heap can have or use.

    Parameters
    ----------
    target : float
        Mass of carbon over mass of nitrogen, 8 to 200 [-].

    Returns
    -------
    float
        The same [-].

    Raises
    ------
    OutOfReach
        If it lies outside 8 to 200, with the reason.

    Notes
    -----
    Below 8 lie droppings, meat and fish alone. Both limits are ours.

    Examples
    --------
    >>> check_c_to_n_target(30.0)
    30.0
    """
    if math.isfinite(target) and LOWEST_C_TO_N <= target <= HIGHEST_C_TO_N:
        return target
    allowed = f"allowed is {LOWEST_C_TO_N:g} to {HIGHEST_C_TO_N:g}, textbooks ask for 25 to 35"
    if target < LOWEST_C_TO_N:
        raise OutOfReach(
            f"A C:N of {target:g} is impossible for food and garden waste: plant matter holds at "
            f"least ten times as much carbon as nitrogen; {allowed}. A rule such as '2 : 1' counts "
            "volumes, two caddies of dry stuff to one of food, not carbon and nitrogen."
        )
    raise OutOfReach(
        f"A C:N of {target:g} leaves no nitrogen to live on, nothing would warm up; {allowed}."
    )


def mass_for_moisture(mix: Blend, amendment: Amendment, target: float) -> float:
    """Mass to add so that the mix has a moisture content.

    x = m (M - P) / (P - M_a), with m and M the mass and moisture of the mix, M_a that of what is
    added and P the target.

    Parameters
    ----------
    mix : Blend
        The mix so far.
    amendment : Amendment
        What is added.
    target : float
        Moisture content, wet basis, 0.05 to 0.95 [kg/kg].

    Returns
    -------
    float
        Wet mass to add [kg]; 0 if the mix is there already.

    Raises
    ------
    InvalidInput
        If the target is outside 0.05 to 0.95.
    OutOfReach
        If the target is not between the mix and what is added, or takes more than 10 t.

    Notes
    -----
    Exact for contents as stated; nothing drips or dries meanwhile.

    References
    ----------
    rynk1992

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> find = load_library().find
    >>> mix = blend([Portion.from_mass(find("peelings"), 10.0)])
    >>> round(mass_for_moisture(mix, one_of(find("leaves")), 0.62), 2)
    9.58
    """
    check_range("Target moisture", target, DRIEST_TARGET, WETTEST_TARGET, "kg/kg")
    start, end = mix.moisture_content_wet_basis, amendment.moisture_content_wet_basis
    if abs(start - target) <= _SAME:
        return 0.0
    _check_between("Moisture", 100.0 * target, 100.0 * start, 100.0 * end, amendment, " %")
    return _reachable(mix.mass * (start - target) / (target - end), amendment)


def water_for_moisture(mix: Blend, target: float) -> float:
    """Water to pour on so that a dry mix has a moisture content.

    x = m (P - M) / (1 - P)

    Parameters
    ----------
    mix : Blend
        The mix so far.
    target : float
        Moisture content, wet basis, 0.05 to 0.95 [kg/kg].

    Returns
    -------
    float
        Water [kg]; 0 if the mix is there already.

    Raises
    ------
    InvalidInput
        If the target is outside 0.05 to 0.95.
    OutOfReach
        If the mix is wetter than the target, since water takes none away.

    Notes
    -----
    Exact as long as the mix can hold the water, see `Blend.water_to_spare`.

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> mix = blend([Portion.from_mass(load_library().find("straw"), 1.0)])
    >>> round(water_for_moisture(mix, 0.6), 2)
    1.24
    """
    check_range("Target moisture", target, DRIEST_TARGET, WETTEST_TARGET, "kg/kg")
    start = mix.moisture_content_wet_basis
    if target < start - _SAME:
        raise OutOfReach(
            f"The mix holds {100.0 * start:.1f} % water already; water can bring it to anything "
            f"above that, not to {100.0 * target:g} %. Add something dry instead."
        )
    return max(0.0, mix.mass * (target - start) / (1.0 - target))


def mass_for_c_to_n(mix: Blend, amendment: Amendment, target: float) -> float:
    """Mass to add so that the mix has a C:N.

    x = (R N - C) / (c - R n), with C and N the carbon and nitrogen of the mix, c and n those in a
    wet kilogram of what is added and R the target.

    Parameters
    ----------
    mix : Blend
        The mix so far.
    amendment : Amendment
        What is added.
    target : float
        Mass of carbon over mass of nitrogen, 8 to 200 [-].

    Returns
    -------
    float
        Wet mass to add [kg]; 0 if the mix is there already.

    Raises
    ------
    OutOfReach
        If the target is senseless, not between the mix and what is added, or takes more than 10 t.

    Notes
    -----
    Exact for contents as stated; carbon over nitrogen by mass, never a mean of ratios.

    References
    ----------
    rynk1992

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> find = load_library().find
    >>> mix = blend([Portion.from_mass(find("peelings"), 10.0)])
    >>> round(mass_for_c_to_n(mix, one_of(find("shredded paper")), 25.0), 2)
    0.51
    """
    check_c_to_n_target(target)
    if amendment.carbon <= 0.0:
        raise OutOfReach(
            f"{amendment.name} does not count in C:N, its carbon feeds nothing; no amount of it "
            "changes the ratio. Add another material."
        )
    start = mix.c_to_n if mix.c_to_n is not None else math.inf
    if mix.carbon <= 0.0:
        raise OutOfReach("Nothing in the mix counts in C:N; it would be that of what you add.")
    end = amendment.carbon / amendment.nitrogen if amendment.nitrogen > 0.0 else math.inf
    if abs(start - target) <= _SAME * target:
        return 0.0
    _check_between("C:N", target, start, end, amendment, "")
    excess = target * mix.nitrogen - mix.carbon
    return _reachable(excess / (amendment.carbon - target * amendment.nitrogen), amendment)


def _check_between(
    what: str, target: float, start: float, end: float, amendment: Amendment, unit: str
) -> None:
    """The target must lie past the mix and short of what is added."""
    low, high = min(start, end), max(start, end)
    inside = low < target < high and abs(target - end) > _SAME * max(1.0, abs(target))
    if not inside:
        reach = f"{low:.1f}{unit} to {high:.1f}{unit}"
        if math.isinf(high):
            reach = f"anything above {low:.1f}"
        raise OutOfReach(
            f"{what} of {target:g}{unit} is out of reach: the mix has {start:.1f}{unit} and "
            f"{amendment.name} {end:.1f}{unit}, so only {reach} can be reached. "
            "Change the target or add another material."
        )


def _reachable(mass: float, amendment: Amendment) -> float:
    if not 0.0 <= mass <= MAX_PORTION_MASS:
        raise OutOfReach(
            f"That would take {mass / 1000.0:.3g} t of {amendment.name}; allowed is up to "
            f"{MAX_PORTION_MASS / 1000.0:g} t. The target lies too near to {amendment.name} itself."
        )
    return mass


@dataclass(frozen=True)
class Answer:
    """Mass for one target, and the mix that comes of it.

    Attributes
    ----------
    mass : float
        Wet mass to add, usual range 0 to 100 [kg].
    result : Blend
        The mix with it; its C:N and moisture tell what this leaves the other target at.
    """

    mass: float
    result: Blend


@dataclass(frozen=True)
class BothTargets:
    """What each of two targets asks for.

    Attributes
    ----------
    for_moisture : Answer or None
        Mass for the moisture; None if out of reach.
    for_c_to_n : Answer or None
        Mass for the C:N; None if out of reach.
    why_not : tuple of str
        Reasons of what is out of reach.
    """

    for_moisture: Answer | None
    for_c_to_n: Answer | None
    why_not: tuple[str, ...]

    @property
    def conflict(self) -> bool:
        """Whether the two masses differ by more than a tenth, or one target is out of reach."""
        if self.for_moisture is None or self.for_c_to_n is None:
            return True
        a, b = self.for_moisture.mass, self.for_c_to_n.mass
        return abs(a - b) > 0.1 * max(a, b)


def _with(mix: Blend, amendment: Amendment, mass: float) -> Answer:
    return Answer(mass, blend((*mix.portions, *amendment.portions(mass)), mix.added_water))


def solve_both(mix: Blend, amendment: Amendment, moisture: float, c_to_n: float) -> BothTargets:
    """Masses for a moisture and for a C:N, side by side, since one mass rarely meets both.

    Parameters
    ----------
    mix : Blend
        The mix so far.
    amendment : Amendment
        What is added.
    moisture : float
        Target moisture content, wet basis, 0.05 to 0.95 [kg/kg].
    c_to_n : float
        Target mass of carbon over mass of nitrogen, 8 to 200 [-].

    Returns
    -------
    BothTargets
        Each mass with the mix it gives.

    Raises
    ------
    InvalidInput
        If the moisture is outside 0.05 to 0.95.
    OutOfReach
        If neither target can be reached.

    Notes
    -----
    Exact for each target by itself; what adds dry matter seldom meets both.

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> find = load_library().find
    >>> mix = blend([Portion.from_mass(find("grass"), 10.0)])
    >>> both = solve_both(mix, one_of(find("leaves")), 0.6, 30.0)
    >>> round(both.for_moisture.mass, 1), round(both.for_c_to_n.mass, 1), both.conflict
    (9.1, 7.3, True)
    """
    answers: list[Answer | None] = []
    reasons: list[str] = []
    for solve, target in ((mass_for_moisture, moisture), (mass_for_c_to_n, c_to_n)):
        try:
            answers.append(_with(mix, amendment, solve(mix, amendment, target)))
        except OutOfReach as refusal:
            answers.append(None)
            reasons.append(str(refusal))
    if answers == [None, None]:
        raise OutOfReach(" ".join(reasons))
    return BothTargets(answers[0], answers[1], tuple(reasons))


def amendment_of(parts: Iterable[Feedstock], ratio: Sequence[float] | None = None) -> Amendment:
    """Several materials in a ratio of wet mass.

    Parameters
    ----------
    parts : iterable of Feedstock
        The materials.
    ratio : sequence of float or None
        One number a material, usual range 0 to 10 [-]; None for equal masses.

    Returns
    -------
    Amendment
        With shares scaled to 1.

    Raises
    ------
    InvalidInput
        If the numbers do not match the materials.

    Notes
    -----
    Exact.

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> find = load_library().find
    >>> amendment_of([find("leaves"), find("straw")], [1, 1]).name
    'Autumn leaves, mixed deciduous and Wheat straw'
    """
    feedstocks = tuple(parts)
    shares = tuple(ratio) if ratio is not None else (1.0,) * len(feedstocks)
    if len(shares) != len(feedstocks):
        raise InvalidInput(
            f"{len(feedstocks)} materials and {len(shares)} numbers; give one number a material."
        )
    return Amendment(tuple(zip(feedstocks, shares, strict=True)))
