"""What to add to a load, judged by how the mix would do and not by a textbook ratio."""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput, check_range
from slowfire.materials.feedstock import Feedstock, Packing, Portion
from slowfire.materials.library import load_library
from slowfire.recipe.mixture import Blend, blend
from slowfire.recipe.outcome import Outcome, outcome_penalty, run_outcome
from slowfire.recipe.scoring import Ingredient, MixTable, SpreadOf, is_dry_stuff, robust_penalty
from slowfire.recipe.targets import water_for_moisture

if TYPE_CHECKING:
    from slowfire.column.simulate import Column

Verdict = Literal["fine", "add", "hold_back", "none_at_hand"]

MOST_VOLUMES = 1.5  # dry stuff by volume of wet stuff, all told [L/L]
MOST_OTHER = 0.25  # of anything else, such as coffee, which packs tight [L/L]
MOST_TOGETHER = 3  # materials added at once
MOST_AT_HAND = 6
# A load is fine if no addition gains more than the margin and it costs less than the ceiling.
FINE_MARGIN = 0.75
CEILING = 1.2
# Cost of changing what the user does, times x + x^2 with x the volume added per volume of load:
# the square makes a little of two materials cheaper than much of one.
CHANGE_WEIGHT = 0.06
# Leafy wet stuff that shrinks below this share of its volume mats; it goes in thinly.
MATS_BELOW = 1.0 / 3.0
MAT_LAYER = 0.05  # [m]
ASSUMED_AREA = 0.3  # floor of a small bin where none is named [m^2]
DRY_ENOUGH_TO_WATER = 0.50  # [kg/kg]
WETTED_TO = 0.60  # [kg/kg]
# How much of a stirred load lies in the old layer; the rest stays in pockets of its own. Ours.
STIRRED_SHARE = 0.5
MOST_RUNS = 4
LEAST_SHARE = 0.05  # less than this is not worth putting in


@dataclass(frozen=True)
class AtHand:
    """Something that can be added.

    Attributes
    ----------
    feedstock : Feedstock
        The material.
    packing : str or None
        How it is measured out: loose, dense, or None where that matters little.
    stock_litres : float or None
        What there is of it, usual range 0 to 500 [L]; None for plenty.
    """

    feedstock: Feedstock
    packing: Packing | None = None
    stock_litres: float | None = None

    def __post_init__(self) -> None:
        if self.stock_litres is not None:
            check_range(f"Stock of {self.feedstock.name}", self.stock_litres, 0.0, 20_000.0, "L")

    def portion(self, litres: float) -> Portion:
        """So many litres of it.

        Parameters
        ----------
        litres : float
            Volume as added, above 0 [L].

        Returns
        -------
        Portion
            With the mass of that filling.
        """
        density = self.feedstock.density(self.packing)
        return Portion(self.feedstock, litres * density / 1000.0, litres, self.packing)


@dataclass(frozen=True)
class Plan:
    """What to do with a load.

    Attributes
    ----------
    verdict : str
        fine, add, hold_back or none_at_hand.
    now : tuple of Portion
        The part of the load that goes in now.
    additions : tuple of Portion
        What to add to it.
    water_litres : float
        Water to pour on, usual range 0 to 10 [L].
    held_back_share : float
        Share of the load that stays back, 0 to 1 [-].
    before, after : Blend
        The whole load as it is, and what goes in now with what is added.
    cost_before, cost_after : float
        By `scoring.robust_penalty`, with the outcome in the bin where one was run [-].
    reason : str
        For hold_back and none_at_hand: wet, mats or room.
    outcome_before, outcome_after : Outcome or None
        Two weeks in the bin with the load as it is, and as advised.
    """

    verdict: Verdict
    now: tuple[Portion, ...]
    additions: tuple[Portion, ...]
    water_litres: float
    held_back_share: float
    before: Blend
    after: Blend
    cost_before: float
    cost_after: float
    reason: str = ""
    outcome_before: Outcome | None = None
    outcome_after: Outcome | None = None


def wet_litres(load: Sequence[Portion]) -> float:
    """Volume of what is not dry stuff; of everything if there is nothing else.

    Parameters
    ----------
    load : sequence of Portion
        A load.

    Returns
    -------
    float
        Volume as poured [L].

    Notes
    -----
    Ours: what amounts of dry stuff are compared with.

    Examples
    --------
    >>> find = load_library().find
    >>> food, paper = Portion(find("food"), 2.1, 5.0), Portion(find("paper"), 0.1, 2.5)
    >>> wet_litres([food, paper])
    5.0
    """
    wet = math.fsum(p.litres for p in load if not is_dry_stuff(p.feedstock))
    return wet if wet > 0.0 else math.fsum(p.litres for p in load)


def quarter_grid(most: Sequence[int], total: int) -> NDArray[np.int64]:
    """All amounts in steps: of at most three materials, and no more in all than `total`.

    Parameters
    ----------
    most : sequence of int
        Steps there are of each material, 0 or more [-].
    total : int
        Steps in all, 0 or more [-].

    Returns
    -------
    ndarray, shape (mixes, materials)
        Steps of each; the first row adds nothing [-].

    Notes
    -----
    Exact: every combination once.

    Examples
    --------
    >>> quarter_grid([2, 1], 2).tolist()
    [[0, 0], [1, 0], [2, 0], [0, 1], [1, 1]]
    """
    count = len(most)
    rows = [np.zeros((1, count), dtype=np.int64)]
    for size in range(1, min(MOST_TOGETHER, count) + 1):
        for chosen in itertools.combinations(range(count), size):
            axes = [np.arange(1, min(most[i], total) + 1) for i in chosen]
            steps = np.stack([a.ravel() for a in np.meshgrid(*axes, indexing="ij")], axis=1)
            steps = steps[steps.sum(axis=1) <= total]
            block = np.zeros((len(steps), count), dtype=np.int64)
            block[:, list(chosen)] = steps
            rows.append(block)
    return np.concatenate(rows)


@dataclass(frozen=True)
class _Task:
    """What was asked, for the whole load."""

    load: tuple[Portion, ...]
    added_water: float
    before: Blend
    at_hand: tuple[AtHand, ...]
    weighed: tuple[bool, ...]
    step_of: Callable[[float], float]
    habit: tuple[Portion, ...]
    into: Blend | None
    column: "Column | None"
    spread_of: SpreadOf


@dataclass(frozen=True)
class _Search:
    """Every mix of a load with what is at hand, and its cost."""

    load: tuple[Portion, ...]
    water: float  # [kg]
    at_hand: tuple[AtHand, ...]
    step: float  # [L]
    amounts: FloatArray  # [L], one row a mix; row 0 is what the user does
    own: FloatArray  # cost of the mix by itself
    quality: FloatArray  # with its share of the layer it is stirred into
    cost: FloatArray  # with the cost of changing a habit

    def additions(self, row: int) -> tuple[Portion, ...]:
        pairs = zip(self.at_hand, self.amounts[row], strict=True)
        return tuple(one.portion(float(litres)) for one, litres in pairs if litres > 0.0)


def _search(task: _Task, load: tuple[Portion, ...], water: float) -> _Search:
    base = wet_litres(load)
    step = check_range("The step of the amounts", task.step_of(base), 0.001, 5000.0, "L")
    dry = math.fsum(p.litres for p in load if is_dry_stuff(p.feedstock))
    all_dry = all(is_dry_stuff(p.feedstock) for p in load)
    room = MOST_VOLUMES * base - (0.0 if all_dry else dry)
    total = max(0, math.floor(room / step + 1e-9))
    most = [math.floor(_most_litres(one, base, total * step) / step + 1e-9) for one in task.at_hand]
    usual = np.array(
        [
            math.fsum(p.litres for p in task.habit if p.feedstock.id == one.feedstock.id)
            for one in task.at_hand
        ]
    )
    amounts = np.concatenate([usual[np.newaxis, :], step * quarter_grid(most, total)])
    fixed = [Ingredient.of(p, w) for p, w in zip(load, task.weighed, strict=True)]
    offered = [
        Ingredient(o.feedstock, o.feedstock.density(o.packing) / 1000.0, False, o.packing)
        for o in task.at_hand
    ]
    rows = _beside(np.array([p.litres for p in load]), amounts)
    own = MixTable((*fixed, *offered), task.spread_of).evaluate(rows, water)
    alone = quality = robust_penalty(own)
    if task.into is not None:
        layer = [Ingredient.of(p, weighed=True) for p in task.into.portions]
        under = _beside(np.array([p.litres for p in task.into.portions]), rows)
        stirred = MixTable((*layer, *fixed, *offered), task.spread_of).evaluate(
            under, water + task.into.added_water
        )
        quality = (1.0 - STIRRED_SHARE) * quality + STIRRED_SHARE * robust_penalty(stirred)
    change = np.abs(amounts - usual) / base
    effort = CHANGE_WEIGHT * (change + change**2).sum(axis=1)
    return _Search(load, water, task.at_hand, step, amounts, alone, quality, quality + effort)


def _most_litres(one: AtHand, base: float, room: float) -> float:
    """How much of a material may be added to so many litres of wet stuff."""
    most = room if is_dry_stuff(one.feedstock) else min(room, MOST_OTHER * base)
    return most if one.stock_litres is None else min(most, one.stock_litres)


def _beside(same: FloatArray, rows: FloatArray) -> FloatArray:
    """Columns that are the same in every row, put before those of `rows`."""
    return np.hstack([np.broadcast_to(same, (len(rows), len(same))), rows])


def _mats(load: Sequence[Portion]) -> float:
    """Litres of leafy wet stuff that would mat, if it is most of the load."""
    matting = math.fsum(
        p.litres
        for p in load
        if p.feedstock.structure_role == "wet"
        and p.feedstock.group != "kitchen"
        and (alone := blend([p])).settled_volume < MATS_BELOW * alone.volume
    )
    return matting if matting > 0.5 * wet_litres(load) else 0.0


def _scaled(load: Sequence[Portion], share: float) -> tuple[Portion, ...]:
    return tuple(replace(p, mass=share * p.mass, litres=share * p.litres) for p in load)


def _water_wanted(load: tuple[Portion, ...], added: float, into: Blend | None) -> float:
    """Water a dry load needs [kg], unless the layer it is stirred into is moist enough."""
    parts = (*load, *(into.portions if into is not None else ()))
    mix = blend(parts, added + (into.added_water if into is not None else 0.0))
    alone = blend(load, added)
    if min(mix.moisture_content_wet_basis, WETTED_TO) >= DRY_ENOUGH_TO_WATER:
        return 0.0
    if alone.moisture_content_wet_basis >= WETTED_TO:
        return 0.0
    return min(water_for_moisture(alone, WETTED_TO), max(0.0, alone.water_to_spare))


def _candidates(search: _Search) -> list[int]:
    """What the user does, the best of all, and the best at other total amounts."""
    order = np.argsort(search.cost, kind="stable")
    chosen = [0, int(order[0])]
    totals = search.amounts.sum(axis=1)
    for row in order:
        if len(chosen) >= MOST_RUNS:
            break
        if all(abs(totals[row] - totals[other]) > 1.5 * search.step for other in chosen):
            chosen.append(int(row))
    return list(dict.fromkeys(chosen))


def optimise(
    load: Sequence[Portion],
    at_hand: Sequence[AtHand],
    step_of: Callable[[float], float],
    *,
    added_water: float = 0.0,
    weighed: Sequence[bool] | None = None,
    habit: Sequence[Portion] = (),
    into: Blend | None = None,
    column: "Column | None" = None,
    spread_of: SpreadOf | None = None,
) -> Plan:
    """Decide what to add to a load, over every mix in quarter measures.

    Each mix is scored over the spread of its materials on settled air space, water and C:N, and on
    how far it departs from what the user does. In a bin, the best few run for two weeks and their
    outcome is added to the score.

    Parameters
    ----------
    load : sequence of Portion
        What is to go in, with the dry stuff the user means to add.
    at_hand : sequence of AtHand
        Up to six materials that could be added.
    step_of : Callable
        A quarter of the measure to use for so many litres of load [L].
    added_water : float
        Water that goes in with the load, usual range 0 to 20 [kg].
    weighed : sequence of bool or None
        Which portions of the load were weighed; None for none.
    habit : sequence of Portion
        What the user usually adds to such a load beside it.
    into : Blend or None
        The layer the load is stirred into.
    column : Column or None
        The bin as it is, for the run of two weeks.
    spread_of : Callable or None
        Low and high of a quantity of a feedstock; None for the shipped ones.

    Returns
    -------
    Plan
        A verdict, what to add, and the mix before and after.

    Raises
    ------
    InvalidInput
        If there is no load, too much at hand, or a number is out of range.

    Notes
    -----
    Ours. The search is exact on its grid; the score is a rule, tuned to common practice: half a
    caddy of loose paper and some chips to a caddy of kitchen waste is fine.

    Examples
    --------
    >>> find = load_library().find
    >>> food = Portion(find("food"), 2.125, 5.0)
    >>> paper = AtHand(find("shredded paper"), "loose")
    >>> plan = optimise([food], [paper], lambda litres: 1.25)
    >>> plan.verdict, [round(p.litres, 2) for p in plan.additions]
    ('add', [3.75])
    >>> optimise([food, paper.portion(2.5)], [paper], lambda litres: 1.25).verdict
    'fine'
    """
    parts = tuple(load)
    stuff = tuple(at_hand)
    if len(stuff) > MOST_AT_HAND:
        raise InvalidInput(
            f"{len(stuff)} materials are at hand; allowed is up to {MOST_AT_HAND}: name those you "
            "would rather use."
        )
    flags = tuple(weighed) if weighed is not None else (False,) * len(parts)
    if len(flags) != len(parts):
        raise InvalidInput(f"{len(parts)} materials and {len(flags)} marks of what was weighed.")
    task = _Task(
        parts,
        added_water,
        blend(parts, added_water),
        stuff,
        flags,
        step_of,
        tuple(habit),
        into,
        column,
        spread_of or load_library().spread,
    )
    water = _water_wanted(parts, added_water, into)
    found = _search(task, parts, added_water + water)
    best, quality, cost, outcomes = _judged(found, task)
    additions = found.additions(best)
    area = column.vessel.base_area if column is not None else ASSUMED_AREA
    matting, thin = _mats(parts), 1000.0 * MAT_LAYER * area
    if matting > thin and float(found.own[0]) > CEILING:
        return _held_back(task, thin / matting, "mats")
    room = column.room_litres() if column is not None else math.inf
    poured = 1000.0 * blend((*parts, *additions)).volume
    if poured > room:
        return _held_back(task, min(0.5, max(0.0, room) / poured), "room")
    # a good bin forgives one bad load but not a habit of them, so the load by itself counts too
    acceptable = max(quality[0], float(found.own[0])) <= CEILING
    usual_is_fine = acceptable and cost[0] - cost[best] <= FINE_MARGIN
    verdict: Verdict = "add"
    if usual_is_fine or (best == 0 and quality[0] <= CEILING):
        best = 0
        if water <= 0.0:
            verdict = "fine"
    elif quality[best] > CEILING:
        return _held_back(task, 0.5, "wet")
    additions = found.additions(best)
    return Plan(
        verdict,
        parts,
        additions,
        water,
        0.0,
        task.before,
        blend((*parts, *additions), added_water + water),
        cost[0],
        cost[best],
        outcome_before=outcomes.get(0),
        outcome_after=outcomes.get(best),
    )


def _held_back(task: _Task, share: float, reason: str) -> Plan:
    """Put in a share of the load, as well mixed as what is at hand allows."""
    whole = _search(task, task.load, task.added_water)
    if share < LEAST_SHARE:
        return Plan(
            "hold_back",
            (),
            (),
            0.0,
            1.0,
            task.before,
            task.before,
            float(whole.quality[0]),
            float(whole.quality[0]),
            reason,
        )
    now = _scaled(task.load, share)
    found = _search(task, now, share * task.added_water)
    best, quality, _, outcomes = _judged(found, task)
    dry = any(is_dry_stuff(one.feedstock) and one.stock_litres != 0.0 for one in task.at_hand)
    additions = found.additions(best)
    return Plan(
        "hold_back" if dry or reason == "room" else "none_at_hand",
        now,
        additions,
        0.0,
        1.0 - share,
        task.before,
        blend((*now, *additions), share * task.added_water),
        float(whole.quality[0]),
        quality[best],
        reason,
        outcome_after=outcomes.get(best),
    )


def _judged(
    found: _Search, task: _Task
) -> tuple[int, dict[int, float], dict[int, float], dict[int, Outcome]]:
    """Best row, and quality and cost of the rows looked at; in a bin with the outcome of a run."""
    best = int(np.argmin(found.cost))
    rows = [0, best] if task.column is None else _candidates(found)
    quality = {row: float(found.quality[row]) for row in rows}
    cost = {row: float(found.cost[row]) for row in rows}
    outcomes: dict[int, Outcome] = {}
    if task.column is not None:
        for row in rows:
            outcomes[row] = run_outcome(
                task.column, (*found.load, *found.additions(row)), water_litres=found.water
            )
        # what the bin does anyway is no fault of the load
        least = min(outcome_penalty(one) for one in outcomes.values())
        for row in rows:
            extra = outcome_penalty(outcomes[row]) - least
            quality[row] += extra
            cost[row] += extra
        best = min(rows, key=lambda row: cost[row])
    return best, quality, cost, outcomes
