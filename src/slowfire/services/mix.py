"""Plan a load: what to add to it, in kitchen measures, and why."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slowfire.errors import InvalidInput
from slowfire.materials.feedstock import Feedstock, Packing, Portion
from slowfire.materials.library import Library, load_library
from slowfire.measures import Measures, default_measures
from slowfire.recipe.mixture import Blend, blend
from slowfire.recipe.optimise import (
    MOST_VOLUMES,
    AtHand,
    Plan,
    optimise,
    wet_litres,
)
from slowfire.recipe.outcome import Outcome, top_layer
from slowfire.recipe.scoring import is_dry_stuff
from slowfire.recipe.targets import BothTargets
from slowfire.services.mix_items import WATER, ItemReader, Scale, Typed, is_water
from slowfire.services.mix_targets import Solution, checked_targets, solve
from slowfire.services.mix_words import (
    BOOK_MOISTURE,
    BOOK_RATIO,
    NOTHING_DRY,
    amount_words,
    both_answers,
    dry_words,
    hold_back_sentences,
    margin_sentence,
    mass_words,
    material_words,
    outcome_sentence,
    percent,
    state_sentences,
)

if TYPE_CHECKING:
    from slowfire.column.simulate import Column

_COFFEE = "coffee_grounds"
_COFFEE_SHARE = 0.25  # by volume; piles with that much did well


@dataclass(frozen=True)
class Item:
    """One material with its amount.

    Attributes
    ----------
    feedstock : str
        Id of the material, or water.
    measure : str
        Name of the measure.
    amount : float
        How many of it [-].
    litres : float
        Volume as added [L].
    kilograms : float
        Mass [kg].
    """

    feedstock: str
    measure: str
    amount: float
    litres: float
    kilograms: float


@dataclass(frozen=True)
class MixState:
    """What a mix is like; air space is that of the settled mix, density that of the fresh one.

    Attributes
    ----------
    moisture_percent : float
        Water in the wet mass [percent].
    c_to_n : float or None
        Mass of carbon over mass of nitrogen [-]; None without nitrogen.
    free_air_space_percent : float
        Air in the settled volume [percent].
    bulk_density_kg_per_m3 : float
        Wet mass over the volume as poured [kg/m^3].
    """

    moisture_percent: float
    c_to_n: float | None
    free_air_space_percent: float
    bulk_density_kg_per_m3: float

    @classmethod
    def of(cls, mix: Blend) -> "MixState":
        """The state of a blend.

        Parameters
        ----------
        mix : Blend
            The mix.

        Returns
        -------
        MixState
            In percent and kg/m3.
        """
        return cls(
            100.0 * mix.moisture_content_wet_basis,
            mix.c_to_n,
            100.0 * mix.settled_free_air_space,
            mix.bulk_density,
        )


@dataclass(frozen=True)
class HoldBack:
    """What stays out of the bin for now.

    Attributes
    ----------
    share_percent : float
        Share of the load [percent].
    litres : float
        Its volume [L].
    """

    share_percent: float
    litres: float


@dataclass(frozen=True)
class BinOutcome:
    """The top of the bin after a run, in simulation.

    Attributes
    ----------
    days : float
        Length of the run [day].
    mean_oxygen_percent : float
        On average over time in the top layers [percent].
    hottest_celsius : float
        Hottest centre of a top layer [degC].
    moisture_percent : float
        Water in the top layers at the end [percent].
    liquid_litres : float
        Liquid that left the base [L].
    """

    days: float
    mean_oxygen_percent: float
    hottest_celsius: float
    moisture_percent: float
    liquid_litres: float

    @classmethod
    def of(cls, outcome: Outcome | None) -> "BinOutcome | None":
        """The same in percent.

        Parameters
        ----------
        outcome : Outcome or None
            Of a run.

        Returns
        -------
        BinOutcome or None
            None if there was no run.
        """
        if outcome is None:
            return None
        return cls(
            outcome.days,
            100.0 * outcome.mean_oxygen,
            outcome.hottest_celsius,
            100.0 * outcome.moisture_content_wet_basis,
            outcome.liquid_litres,
        )


@dataclass(frozen=True)
class MixResult:
    """What to do with a load, shared by text and JSON.

    Attributes
    ----------
    headline : str
        The verdict in words.
    load : tuple of Item
        The whole load as typed.
    add : tuple of Item
        What to add to what goes in now.
    blend : MixState
        What goes in now with what is added.
    verdict : str
        fine, add, hold_back or none_at_hand.
    why : tuple of str
        Reasons.
    before : MixState
        The load as it is.
    hold_back : HoldBack or None
        What stays out for now.
    answers : tuple of Mapping
        Textbook or asked-for targets, each solved exactly.
    outcome_before, outcome_after : BinOutcome or None
        Two weeks in the bin, in simulation.
    assumptions : tuple of str
        What was assumed.
    cautions : tuple of str
        What to watch with these materials.
    names : Mapping
        Words for each material by id.
    """

    headline: str
    load: tuple[Item, ...]
    add: tuple[Item, ...]
    blend: MixState
    verdict: str
    why: tuple[str, ...]
    before: MixState
    hold_back: HoldBack | None = None
    answers: tuple[Mapping[str, Any], ...] = ()
    outcome_before: BinOutcome | None = None
    outcome_after: BinOutcome | None = None
    assumptions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    names: Mapping[str, str] = field(default_factory=dict)


def _added(portions: Sequence[Portion], scale: Scale, load: Sequence[Portion]) -> list[Item]:
    name, size = scale.measure(wet_litres(load)) if load else ("litre", 1.0)
    return [
        Item(p.feedstock.id, name, round(p.litres / size, 6), p.litres, p.mass) for p in portions
    ]


def _water_item(litres: float) -> Item:
    return Item(WATER, "litre", litres, litres, litres)


def _cautions(load: Sequence[Portion], additions: Sequence[Portion]) -> tuple[str, ...]:
    parts = (*load, *additions)
    used = {p.feedstock.id: p.feedstock for p in parts}
    found = [f"{f.name}: {f.cautions}." for f in used.values() if f.cautions]
    volume = math.fsum(p.litres for p in parts)
    coffee = math.fsum(p.litres for p in parts if p.feedstock.id == _COFFEE)
    if coffee > _COFFEE_SHARE * volume:
        found.append(
            f"Coffee is {percent(coffee / volume)} of this by volume; up to a quarter is known to "
            "go well. Let it rot before use near seeds: raw grounds hold seedlings back."
        )
    return tuple(found)


def _answer_rows(
    both: BothTargets | None, stuff: Feedstock, moisture: float, ratio: float
) -> tuple[Mapping[str, Any], ...]:
    if both is None:
        return ()
    rows = []
    for key, value, answer in (
        ("moisture_percent", 100.0 * moisture, both.for_moisture),
        ("c_to_n", ratio, both.for_c_to_n),
    ):
        if answer is not None:
            rows.append(
                {
                    "target": key,
                    "value": value,
                    "feedstock": stuff.id,
                    "kilograms": answer.mass,
                    "moisture_percent": 100.0 * answer.result.moisture_content_wet_basis,
                    "c_to_n": answer.result.c_to_n,
                }
            )
    return tuple(rows)


def _headline(plan: Plan, items: Sequence[Item], words: Callable[[str], str]) -> str:
    phrases = [
        f"{amount_words(i.amount, i.measure)} of {words(i.feedstock)}"
        for i in items
        if i.feedstock != WATER
    ]
    adding = ", and ".join(phrases)
    wetting = f"Wet it with {plan.water_litres:.1f} L of water." if plan.water_litres else ""
    if plan.verdict == "fine":
        return "Fine as you do it." + (f" That is with {adding}." if adding else "")
    if plan.verdict == "add":
        return " ".join(part for part in (f"Add {adding}." if adding else "", wetting) if part)
    held = percent(plan.held_back_share)
    with_it = f", with {adding}" if adding else ""
    if plan.verdict == "none_at_hand":
        lead = "Nothing dry at hand: "
        rest = "half" if plan.reason != "mats" else f"{held} of it"
        return f"{lead}hold {rest} back."
    if plan.held_back_share >= 1.0:
        return "Hold all of it back: the bin is full."
    if plan.reason == "mats":
        litres = math.fsum(p.litres for p in plan.now)
        return f"Hold {held} back: put in a thin layer of {litres:.0f} L now{with_it}."
    if plan.reason == "room":
        return f"Hold {held} back: the bin is nearly full. Put in the rest now{with_it}."
    return f"Hold half back. Put the other half in now{with_it}."


def mix(
    items: Sequence[str],
    at_hand: Sequence[str] = (),
    packing: Packing | None = None,
    *,
    moisture_percent: float | None = None,
    c_to_n: float | None = None,
    journal: str | Path | None = None,
    bin_name: str | None = None,
    at: str | None = None,
    column: "Column | None" = None,
    progress: Callable[[float], None] | None = None,
    known: tuple[Library, Measures] | None = None,
) -> MixResult:
    """Say what to add to a load.

    Parameters
    ----------
    items : sequence of str
        Each a material and an amount, such as 'peelings=1 caddy' or 'paper=0.5 caddy loose'.
    at_hand : sequence of str
        What could be added, such as 'paper loose' or 'chips=2 scoops' where that is all there is.
    packing : str or None
        loose or dense, for every material where it matters and was not said.
    moisture_percent : float or None
        Asked for, 5 to 95 [percent]; solved exactly.
    c_to_n : float or None
        Asked for, 8 to 200 [-]; solved exactly.
    journal : str, Path or None
        Folder of the journal of the bin it goes into.
    bin_name : str or None
        Name of that bin.
    at : str or None
        Date or time in the journal; None for the evening of its last entry.
    column : Column or None
        The bin itself, in place of a journal.
    progress : callable or None
        Called with the share of the replay done, 0 to 1.
    known : tuple of (Library, Measures) or None
        Materials and measures of a site, where no journal is given.

    Returns
    -------
    MixResult
        Verdict, amounts, mix and reasons.

    Raises
    ------
    InvalidInput
        If an item cannot be read, or loose or dense must be said.
    UnknownName
        If nobody declared a material, measure or bin.
    OutOfReach
        If a target asked for cannot be reached.
    JournalError
        If the journal cannot be read.

    Examples
    --------
    >>> mix(["food=1 caddy", "paper=0.5 caddy", "bark=0.2 caddy"], packing="loose").headline
    'Fine as you do it.'
    """
    if not items:
        raise InvalidInput(
            'Name what goes in, such as slowfire mix "peelings=1 caddy" --with paper --loose.'
        )
    targets = checked_targets(moisture_percent, c_to_n)
    if (journal is None) != (bin_name is None) or (at is not None and journal is None):
        raise InvalidInput("Give --into JOURNAL and --bin NAME together; --at needs them too.")
    library, measures = known or _known(journal)
    reader = ItemReader(library, measures, packing)
    typed = [reader.item(text) for text in items]
    named = [text for text in at_hand if text.strip()]
    offered = [reader.offered(text, typed) for text in named if not is_water(text)]
    if len({one.feedstock.id for one in offered}) < len(offered):
        raise InvalidInput("A material stands twice behind --with; name it once.")
    portions = [t.portion for t in typed if t.portion is not None]
    if not portions:
        raise InvalidInput("Water alone is no load; name what goes in, such as peelings=1 caddy.")
    water = math.fsum(t.water for t in typed)
    scale = Scale(measures, typed)
    habit: tuple[Portion, ...] = ()
    limits: list[str] = []
    if journal is not None and bin_name is not None:
        # loading the simulation takes a while, so only who names a bin waits for it
        from slowfire.services.mix_history import read_history
        from slowfire.services.replay import replay_at

        read, replayed = replay_at(journal, bin_name, at, progress)
        column = replayed.column
        history = read_history(read, bin_name, library, measures, replayed.at)
        habit = history.habit(
            portions, library, scale.step(math.fsum(one.litres for one in portions))
        )
        offered, limits = history.limited(offered)
    shown = tuple(_as_typed(t) for t in typed)
    if targets != (None, None):
        wetting = not offered or len(offered) < len(named)
        solution = solve(blend(portions, water), offered, *targets, wetting)
        return _asked_for(solution, shown, portions, offered)
    plan = optimise(
        portions,
        offered,
        scale.step,
        added_water=water,
        weighed=[t.weighed for t in typed if t.portion is not None],
        habit=habit,
        into=top_layer(column) if column is not None else None,
        column=column,
        spread_of=library.spread,
    )
    result = _advised(plan, shown, portions, offered, scale, measures, column)
    if habit:
        limits.append(f"Your usual dry stuff, from the journal: {dry_words(habit)}.")
    return replace(result, assumptions=(*result.assumptions, *limits))


def _known(journal: str | Path | None) -> tuple[Library, Measures]:
    """Materials and measures, with those of the journal's site."""
    if journal is None:
        return load_library(), default_measures()
    from slowfire.journal import read_journal

    site = read_journal(journal).site
    own = [{"name": name, **given} for name, given in site.materials.items()]
    return load_library().with_own(own), default_measures().with_own(site.measures)


def _size_words(measures: Measures, name: str) -> str:
    """How large a measure was taken to be; nothing for an exact unit."""
    measure = measures.named(name)
    if measure.litres is None or measure.assumption == "exact":
        return ""
    if measure.assumption[:1].isdigit():
        return f"A {name} is {measure.assumption}."
    return f"A {name} is {measure.litres:g} L, {measure.assumption}."


def _as_typed(one: Typed) -> Item:
    if one.portion is None:
        return Item(WATER, one.amount.measure, one.amount.number, one.water, one.water)
    return Item(
        one.portion.feedstock.id,
        one.amount.measure,
        one.amount.number,
        one.portion.litres,
        one.portion.mass,
    )


def _names(parts: Sequence[Portion], offered: Sequence[AtHand]) -> dict[str, str]:
    names = {one.feedstock.id: material_words(one.feedstock, one.packing) for one in offered}
    names |= {p.feedstock.id: material_words(p.feedstock, p.packing) for p in parts}
    return names | {WATER: WATER}


def _advised(
    plan: Plan,
    shown: tuple[Item, ...],
    load: Sequence[Portion],
    offered: Sequence[AtHand],
    scale: Scale,
    measures: Measures,
    column: "Column | None",
) -> MixResult:
    """Words and amounts of a plan."""
    names = _names((*load, *plan.additions), offered)
    add = _added(plan.additions, scale, plan.now)
    if plan.water_litres > 0.0:
        add.append(_water_item(plan.water_litres))
    why = state_sentences(plan.before, "As it is, this load")
    area = column.vessel.base_area if column is not None else None
    if plan.held_back_share > 0.0:
        why += hold_back_sentences(plan, area)
    if plan.verdict == "none_at_hand":
        why += NOTHING_DRY
        if not offered:
            why.append("Have something after all? Name it: --with paper,chips.")
    if plan.additions and (plan.verdict == "add" or plan.reason == "mats"):
        why += state_sentences(plan.after, f"With {dry_words(plan.additions)} it")
    if plan.additions and plan.outcome_before and plan.outcome_before == plan.outcome_after:
        why.append(outcome_sentence(plan.outcome_before, "with this advice"))
    else:
        for outcome, subject in (
            (plan.outcome_before, "with the load as it is"),
            (plan.outcome_after if plan.additions else None, "with this advice"),
        ):
            if outcome is not None:
                why.append(outcome_sentence(outcome, subject))
    dry = [one for one in offered if is_dry_stuff(one.feedstock)]
    answers: tuple[Mapping[str, Any], ...] = ()
    if dry:
        stuff = dry[0]
        both, sentence = both_answers(plan.before, stuff.feedstock, stuff.packing)
        why.append(sentence)
        answers = _answer_rows(both, stuff.feedstock, BOOK_MOISTURE, BOOK_RATIO)
    why.append(margin_sentence(plan))
    used = dict.fromkeys([i.measure for i in (*shown, *add)])
    assumptions = [text for name in used if (text := _size_words(measures, name))]
    assumptions.append(
        "Judged over the spread of the materials' water, nitrogen and density, not at one value."
    )
    if column is None:
        assumptions.append(
            "No bin named, so one in fair order is assumed; --into JOURNAL --bin NAME asks yours."
        )
    held = math.fsum(p.litres for p in load) * plan.held_back_share
    return MixResult(
        headline=_headline(plan, add, lambda word: names[word]),
        load=shown,
        add=tuple(add),
        blend=MixState.of(plan.after),
        verdict=plan.verdict,
        why=tuple(why),
        before=MixState.of(plan.before),
        hold_back=HoldBack(100.0 * plan.held_back_share, held) if held > 0.0 else None,
        answers=answers,
        outcome_before=BinOutcome.of(plan.outcome_before),
        outcome_after=BinOutcome.of(plan.outcome_after),
        assumptions=tuple(assumptions),
        cautions=_cautions(load, plan.additions),
        names=names,
    )


def _asked_for(
    solution: Solution,
    shown: tuple[Item, ...],
    load: Sequence[Portion],
    offered: Sequence[AtHand],
) -> MixResult:
    """Words and amounts of a target the user asked for."""
    names = _names((*load, *solution.additions), offered)
    add = [Item(p.feedstock.id, "kilogram", p.mass, p.litres, p.mass) for p in solution.additions]
    if solution.water > 0.0:
        add.append(_water_item(solution.water))
    why = list(solution.why)
    volume = math.fsum(p.litres for p in (*load, *solution.additions) if is_dry_stuff(p.feedstock))
    base = wet_litres(load)
    if add and volume > MOST_VOLUMES * base and any(not is_dry_stuff(p.feedstock) for p in load):
        why.append(
            f"That is {volume / base:.1f} volumes of dry stuff to one; above {MOST_VOLUMES:g} we "
            "would rather hold half the load back."
        )
    parts = [f"{mass_words(i.kilograms)} of {names[i.feedstock]}" for i in add]
    headline = f"Add {' and '.join(parts)}." if parts else "Fine: it is there already."
    return MixResult(
        headline=headline,
        load=shown,
        add=tuple(add),
        blend=MixState.of(solution.after),
        verdict="add" if add else "fine",
        why=tuple(why),
        before=MixState.of(solution.before),
        answers=solution.answers,
        assumptions=("Solved exactly for the table's middle values; nothing drips or dries.",),
        cautions=_cautions(load, solution.additions),
        names=names,
    )
