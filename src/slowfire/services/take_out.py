"""Taking out: what lies at the door, how much of it, and what that is worth."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from slowfire import records as r
from slowfire.errors import InvalidInput
from slowfire.garden.nutrients import Batch
from slowfire.hygiene.judge import gap_words
from slowfire.hygiene.rules import find_rule
from slowfire.measures import default_measures
from slowfire.services.amounts import litres_of
from slowfire.services.heat_kills import HeatKills, worst_kills
from slowfire.services.inside import InsideResult, Range
from slowfire.services.layers import DOOR_CM, LayerFate, LayersResult, Verdict, door_height
from slowfire.taking_out import CAUTIONS, STEPS, dig_advice, oversize, receiving_heap, stress

LOOSENED = 1.25  # volume in a barrow over that in the bin; common practice, no source
USUAL_MESH_MM = 13.0
QUESTIONS = ("active", "sanitised", "finished", "fit_for_seedlings")
ORDER = {"no": 0, "not shown": 1, "yes": 2}
NOT_SHOWN = "Not shown to be sanitised"
READY_CHANCE = 0.5  # that a layer is finished, from which it is worth digging for trees


@dataclass(frozen=True)
class TakeOutResult:
    """What to take out, with spreads.

    Attributes
    ----------
    bin, at : str
        Which, and of when.
    verdicts : dict of str to Verdict
        Of all that would be dug, the worst of its layers.
    line : str
        The four verdicts in one line.
    ready_cm : float
        Up to where it is worth taking out [cm].
    door_cm, dig_cm : float
        Top of the door, and how high to dig [cm].
    limit : str
        What keeps it from being more.
    litres : Range
        As it lies in the bin [L].
    barrow_litres : Range
        Loosened, in a barrow [L].
    kilograms, chips_litres, oversize_litres : Range
        Of it; oversize stays on the sieve and goes back as dry stuff.
    mesh_mm : float
        Of the sieve [mm].
    batch : Batch or None
        With its nutrients; None if there is nothing to take.
    words, cautions, steps : tuple of str
        Sentences, what to mind, the job step by step.
    heaps : tuple of (str, str)
        Other bins and heaps, and whether worms may go there.
    plastic : str
        When found plastic went in, as far as that can be told.
    heat : str
        Rule, hours, longest gap and share behind the verdict on germs.
    heat_kills : HeatKills or None
        Germs, weed seeds and plant diseases in the worst of what would be dug; None if it is not
        known of a layer, as in results kept by an older version.
    """

    bin: str
    at: str
    verdicts: dict[str, Verdict]
    line: str
    ready_cm: float
    door_cm: float
    dig_cm: float
    limit: str
    litres: Range
    barrow_litres: Range
    kilograms: Range
    chips_litres: Range
    oversize_litres: Range
    mesh_mm: float
    batch: Batch | None
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    steps: tuple[str, ...]
    heaps: tuple[tuple[str, str], ...]
    plastic: str
    heat: str
    heat_kills: HeatKills | None = None


def take_out(
    site: r.Site,
    entries: Sequence[r.Entry],
    found: LayersResult,
    now: datetime,
    *,
    door_cm: float | None = None,
    mesh_mm: float = USUAL_MESH_MM,
    others: Sequence[InsideResult] = (),
    anyway: bool = False,
) -> TakeOutResult:
    """Say what to dig out at the door of a bin.

    Parameters
    ----------
    site : Site
        The place [-].
    entries : sequence of Entry
        In force [-].
    found : LayersResult
        Verdicts on its layers [-].
    now : datetime
        The present [-].
    door_cm : float or None
        Top of the door above the floor, 2 to 300; that of the bin, or a usual one, if None [cm].
    mesh_mm : float
        Of the sieve, 6 to 40 [mm].
    others : sequence of InsideResult
        Estimates of other bins and heaps [-].
    anyway : bool
        Whether it is taken out though it is not ready [-].

    Returns
    -------
    TakeOutResult

    Raises
    ------
    InvalidInput
        If the door is higher than the fill, or a size is out of range.
    """
    ready = found.fill_cm if anyway else _ready(found.layers)
    if not found.layers:
        raise InvalidInput("The bin is empty; there is nothing to take out.")
    if door_cm is None:
        door_cm = door_height(site, entries, found.bin, now) or DOOR_CM
    advice = dig_advice(
        found.fill_cm / 100.0, door_cm / 100.0, found.plan_area_m2, max(ready, 0.0) / 100.0
    )
    dig = 100.0 * advice.height
    dug = [one for one in found.layers if one.height_cm < max(dig, 1.0) - 0.5]
    verdicts = {
        name: _worst([getattr(one, name) for one in dug], name == "active") for name in QUESTIONS
    }
    sums = {name: _up_to(found.layers, name, dig) for name in found.layers[0].up_to}
    litres, chips = sums["litres"], sums["chips_litres"]
    kept = oversize(1.0, mesh_mm / 1000.0)
    pressed = stress(
        max(found.bulk_density_kg_per_m3, 1.0),
        found.fill_cm / 100.0,
        max(found.hydraulic_radius_cm, 1.0) / 100.0,
    )
    heat = dug[0].heat
    kills = [one.heat_kills for one in dug if one.heat_kills is not None]
    gap = heat.longest_gap_hours
    return TakeOutResult(
        bin=found.bin,
        at=found.at,
        verdicts=verdicts,
        line=verdict_line(verdicts),
        ready_cm=ready,
        door_cm=door_cm,
        dig_cm=dig,
        limit=advice.limit,
        litres=litres,
        barrow_litres=_times(litres, LOOSENED),
        kilograms=sums["kilograms"],
        chips_litres=chips,
        oversize_litres=_times(chips, kept),
        mesh_mm=mesh_mm,
        batch=_batch(sums, dig),
        words=(*advice.words, *pressed.words, *_ready_words(verdicts)),
        cautions=CAUTIONS,
        steps=STEPS,
        heaps=_heaps(site, found.bin, others),
        plastic=_plastic(site, entries, found, now),
        heat=(
            f"Rule {heat.rule}, {find_rule(heat.rule).words}: {heat.hours:.0f} hours count so far"
            + ("" if gap is None else f", longest time without a reading {gap_words(gap)}")
            + f", {heat.share_percent:.0f} % of the cross-section hot for long enough in "
            f"simulation; time-temperature index {heat.index.mid:.2f} (beside the rule, never "
            "instead)."
        ),
        heat_kills=worst_kills(kills) if len(kills) == len(dug) else None,
    )


def verdict_line(verdicts: dict[str, Verdict]) -> str:
    """The four verdicts in one line.

    Examples
    --------
    >>> known = Verdict("no", None, "from assumptions", ())
    >>> verdict_line({name: known for name in QUESTIONS})
    'at rest, not sanitised, not finished, not for seedlings'
    """
    words = {
        "active": {"yes": "still active", "no": "at rest", "not shown": "not shown to be at rest"},
        "sanitised": {
            "yes": "sanitised by readings",
            "no": "not sanitised",
            "not shown": "not shown to be sanitised",
        },
        "finished": {
            "yes": "finished",
            "no": "not finished",
            "not shown": "not shown to be finished",
        },
        "fit_for_seedlings": {
            "yes": "fit for seedlings",
            "no": "not for seedlings",
            "not shown": "not shown to be fit for seedlings",
        },
    }
    return ", ".join(words[name][verdicts[name].verdict] for name in QUESTIONS)


def door_verdict(found: LayersResult) -> str:
    """One line on what lies at the door, for the first screen.

    Parameters
    ----------
    found : LayersResult
        Verdicts on the layers of a bin [-].

    Returns
    -------
    str
        Empty for an empty bin.
    """
    if not found.layers:
        return ""
    first = found.layers[0]
    return verdict_line({name: getattr(first, name) for name in QUESTIONS})


def _ready(layers: Sequence[LayerFate]) -> float:
    """Up to where every layer is at rest and likely enough finished [cm]."""
    top = 0.0
    for one in layers:
        likely = (one.finished.probability or 0.0) >= READY_CHANCE or one.finished.verdict == "yes"
        if one.active.verdict == "yes" or one.finished.verdict == "no" or not likely:
            break
        top = one.height_cm + one.thickness_cm
    return top


def _worst(several: Sequence[Verdict], yes_is_worst: bool) -> Verdict:
    if not several:
        return Verdict("not shown", None, "from assumptions", ("There is nothing at the door.",))
    sign = -1 if yes_is_worst else 1
    return min(several, key=lambda one: sign * ORDER[one.verdict])


def _ready_words(verdicts: dict[str, Verdict]) -> tuple[str, ...]:
    words = []
    if verdicts["sanitised"].verdict != "yes":
        said = "Not sanitised" if verdicts["sanitised"].verdict == "no" else NOT_SHOWN
        words.append(f"{said}: for trees and shrubs, not for what is eaten raw; gloves.")
    if verdicts["finished"].verdict != "yes":
        words.append("A flask, bag or cress test with a control would show whether it is finished.")
    return tuple(words)


def _up_to(layers: Sequence[LayerFate], name: str, dig_cm: float) -> Range:
    """Sum from the floor up to a height, on straight lines between layers."""
    before = Range(0.0, 0.0, 0.0)
    for one in layers:
        here = one.up_to[name]
        top = one.height_cm + one.thickness_cm
        if dig_cm <= top + 1e-9:
            part = max(dig_cm - one.height_cm, 0.0) / one.thickness_cm
            return Range(
                *(
                    low + part * (high - low)
                    for low, high in (
                        (before.low, here.low),
                        (before.mid, here.mid),
                        (before.high, here.high),
                    )
                )
            )
        before = here
    return before


def _times(value: Range, factor: float) -> Range:
    return Range(factor * value.low, factor * value.mid, factor * value.high)


def _batch(sums: dict[str, Range], dig_cm: float) -> Batch | None:
    if dig_cm <= 1.0 or sums["litres"].mid <= 0.5:
        return None
    litres = LOOSENED * sums["litres"].mid
    return Batch(
        volume=litres / 1000.0,
        mass=sums["kilograms"].mid,
        dry_mass=min(sums["dry_kg"].mid, sums["kilograms"].mid),
        nitrogen=sums["nitrogen_g"].mid / 1000.0,
        ammoniacal=sums["ammoniacal_g"].mid / 1000.0,
        phosphorus=sums["phosphorus_g"].mid / 1000.0,
        potassium=sums["potassium_g"].mid / 1000.0,
        carbon=sums["carbon_g"].mid / 1000.0,
        woody_share=min(sums["chips_litres"].mid / max(litres, 1e-9), 1.0),
    )


def _heaps(site: r.Site, own: str, others: Sequence[InsideResult]) -> tuple[tuple[str, str], ...]:
    known = {one.bin: one for one in others}
    found = []
    for one in site.bins:
        if one.name == own:
            continue
        inside = known.get(one.name)
        if inside is None or not inside.layers:
            found.append(
                (one.name, "Nothing is known of it yet; feel whether it is cool and damp.")
            )
            continue
        warm = max(layer.temperature_centre_celsius.mid for layer in inside.layers)
        middle = inside.layers[len(inside.layers) // 2]
        found.append(
            (
                one.name,
                receiving_heap(
                    warm,
                    min(middle.moisture_percent.mid / 100.0, 0.99),
                    min(middle.oxygen_percent.mid / 100.0, 0.21),
                ),
            )
        )
    return tuple(found)


def _plastic(site: r.Site, entries: Sequence[r.Entry], found: LayersResult, now: datetime) -> str:
    """What was found at the door went in when what lies there did."""
    seen = [
        one
        for one in entries
        if isinstance(one.payload, r.Look)
        and one.payload.plastic in ("few", "many")
        and one.bin.casefold() == found.bin.casefold()
        and (now - one.when).days < 60
    ]
    if not seen or not found.layers:
        return ""
    when = seen[-1].when.astimezone(site.zone)
    age = found.layers[0].age_days
    return (
        f"Plastic found on {when.day} {when:%B}: what lies at the door went in about "
        f"{age:.0f} days ago, so look who fed around then."
    )


def batches_of(
    site: r.Site, entries: Sequence[r.Entry], found: TakeOutResult | None
) -> tuple[tuple[str, float], ...]:
    """Litres that were dug out and not used yet, by the journal, newest first.

    Parameters
    ----------
    site : Site
        The place [-].
    entries : sequence of Entry
        In force, by time [-].
    found : TakeOutResult or None
        What could be dug out now [-].

    Returns
    -------
    tuple of (str, float)
        Name of each batch and what is left of it [L].
    """
    measures = default_measures().with_own(site.measures)
    left: dict[str, float] = {}
    for one in entries:
        if isinstance(one.payload, r.DigOut) and not _into_a_bin(site, one.payload):
            name = one.when.astimezone(site.zone).strftime("%Y-%m-%d")
            left[name] = left.get(name, 0.0) + litres_of(measures, one.payload.amount)
        elif isinstance(one.payload, r.Use) and one.payload.what in left:
            used = litres_of(measures, one.payload.amount)
            left[one.payload.what] = max(left[one.payload.what] - used, 0.0)
    return tuple((name, litres) for name, litres in reversed(left.items()) if litres > 0.5)


def _into_a_bin(site: r.Site, payload: r.DigOut) -> bool:
    return any((payload.to or "").casefold() == one.name.casefold() for one in site.bins)
