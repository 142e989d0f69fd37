"""How quiet a layer is: breath, ratios and days of curing by the estimate, in words."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from slowfire.maturity.chemistry import (
    GroupRule,
    ammonium_class,
    c_to_n_class,
    curing_class,
    mature_by_groups,
)
from slowfire.maturity.classes import FAIL, PASS, MaturityClass
from slowfire.maturity.stability import (
    carbon_dioxide_class,
    carbon_dioxide_rate,
    carbon_rate_of_oxygen,
    oxygen_mass_rate,
    oxygen_uptake_class,
)
from slowfire.maturity.trial import Trial
from slowfire.services.inside import Range
from slowfire.services.layers import LayerFate

DAY_SECONDS = 86400.0
HOT_DEGREES = "40"  # heat below this is no sign that it still works hard; ours
MOST_OXYGEN = 1000.0  # of a class; what breathes faster is as raw as raw can be [mmol/(kg*hour)]
LEAST_C_TO_N, MOST_C_TO_N = 4.0, 1000.0
MOST_AMMONIUM = 50000.0  # [mg/kg]
NOSE = "bag"  # too weak a test of rest for the rule of groups
NOT_SHOWN = "not shown"
QUIET_WORDS = {"pass": "Good", "marginal": "Nearly", "fail": "Not yet", NOT_SHOWN: "Not sure"}


@dataclass(frozen=True)
class QuietRow:
    """One figure of a layer and what it means.

    Attributes
    ----------
    name : str
        What it is.
    told : tuple of str
        The figure with its unit, and again in the other unit where two are in use.
    verdict : str
        pass, marginal or fail if both ends of the range say so, else not shown.
    means : str
        That, the class of the middle in words, and how far the range reaches.
    source : str
        Of the class, and how sure it is.
    note : str
        What to mind; may be empty.
    """

    name: str
    told: tuple[str, ...]
    verdict: str
    means: str
    source: str
    note: str


def quiet_rows(layer: LayerFate, below: LayerFate | None, when: datetime) -> tuple[QuietRow, ...]:
    """Breath in both families of units, C:N, ammonium and curing of a layer, each with its class.

    Parameters
    ----------
    layer : LayerFate
        As estimated [-].
    below : LayerFate or None
        The one beneath it; None at the base [-].
    when : datetime
        Of the estimate [-].

    Returns
    -------
    tuple of QuietRow
        Ammonium is left out where there is no dry matter to hold it.
    """
    oxygen = _within(layer.oxygen_uptake_mmol_per_kg_hour, 0.0, MOST_OXYGEN)
    mass = _each(oxygen, oxygen_mass_rate)
    carbon = _each(oxygen, carbon_rate_of_oxygen)
    gas = _each(carbon, carbon_dioxide_rate)
    ratio = _within(layer.c_to_n, LEAST_C_TO_N, MOST_C_TO_N)
    rows = [
        _row(
            "Oxygen it takes up",
            (
                f"{_span(oxygen)} mmol a kg of organic matter and hour",
                f"{_span(mass)} mg a kg and hour",
            ),
            oxygen,
            oxygen_uptake_class,
            "As it would be warm and moist; cold or dry stuff breathes less and is not at rest.",
        ),
        _row(
            "Carbon dioxide it gives off",
            (
                f"{_span(carbon)} mg carbon a gram of organic matter and day",
                f"{_span(gas)} mg carbon dioxide a gram and day",
            ),
            carbon,
            carbon_dioxide_class,
            "As much of it, by volume, as oxygen is taken up; really 0.7 to 1.1 parts of it.",
        ),
        _row(
            "Carbon to nitrogen (C:N)",
            (_span(ratio),),
            ratio,
            c_to_n_class,
            "Needed, and no proof: raw grass is as low.",
        ),
    ]
    ammonium = ammonium_of(layer, below)
    if ammonium is not None:
        held = min(ammonium, MOST_AMMONIUM)
        rows.append(
            _row(
                "Ammonium",
                (f"about {_figure(ammonium)} mg nitrogen a kg of dry matter",),
                Range(held, held, held),
                ammonium_class,
                "The middle of the estimate; much depends on what went in.",
            )
        )
    rows.append(_curing(layer, when))
    return tuple(rows)


def ammonium_of(layer: LayerFate, below: LayerFate | None) -> float | None:
    """Nitrogen as ammonium for each kilogram of dry matter of one layer.

    Parameters
    ----------
    layer, below : LayerFate, LayerFate or None
        As in `quiet_rows`; what they hold is added up from the floor [-].

    Returns
    -------
    float or None
        In the middle of the estimate [mg/kg]; None if there is no dry matter.
    """
    found = []
    for name in ("ammoniacal_g", "dry_kg"):
        under = 0.0 if below is None else below.up_to[name].mid
        found.append(layer.up_to[name].mid - under)
    grams, kilograms = found
    return 1000.0 * max(grams, 0.0) / kilograms if kilograms > 1e-6 else None


def group_rule(layer: LayerFate | None, trials: Sequence[Trial]) -> GroupRule:
    """Whether C:N and tests that were done show a layer to be mature, and what is still wanting.

    Parameters
    ----------
    layer : LayerFate or None
        As estimated; None without an estimate, when the C:N is not known [-].
    trials : sequence of Trial
        Tests done on what lies there [-].

    Returns
    -------
    GroupRule
        Figures of the estimate are no tests: of them the C:N alone counts. That a nose finds
        nothing amiss does not count as a test of stability, that it does still says no.
    """
    ratio = None
    if layer is not None:
        ratio = min(max(layer.c_to_n.mid, LEAST_C_TO_N), MOST_C_TO_N)
    counted = [one for one in trials if not (one.name == NOSE and one.verdict == PASS)]
    return mature_by_groups(ratio, counted)


def _curing(layer: LayerFate, when: datetime) -> QuietRow:
    verdict = FAIL
    if layer.active.verdict == "yes":
        found = curing_class(0.0)
        told = "0 days: it still works, so curing has not begun"
        note = ""
    else:
        since = (when - datetime.fromisoformat(layer.last_added)).total_seconds() / DAY_SECONDS
        hot = layer.hot_hours[HOT_DEGREES].low / 24.0 if HOT_DEGREES in layer.hot_hours else 0.0
        days = max(since - hot, 0.0)
        found = curing_class(min(days, 3650.0))
        told = f"at most {days:.0f} days"
        note = (
            "From the last load in it on, less what it spent at 40 °C (104 °F) or more. Age proves "
            "nothing."
        )
        # no more than this can be known, so it can only say no
        verdict = FAIL if found.verdict == FAIL else NOT_SHOWN
    means = f"{QUIET_WORDS[verdict]}: {found.words}"
    return QuietRow("Curing", (told,), verdict, means, _source(found), note)


def _row(
    name: str,
    told: tuple[str, ...],
    value: Range,
    classed: Callable[[float], MaturityClass],
    note: str,
) -> QuietRow:
    low, middle, high = (classed(one) for one in (value.low, value.mid, value.high))
    verdict = middle.verdict if low.verdict == high.verdict == middle.verdict else NOT_SHOWN
    means = f"{QUIET_WORDS[verdict]}: {middle.words}"
    if verdict == NOT_SHOWN:
        means = f"{QUIET_WORDS[verdict]}. Middle of the range: {middle.words}"
    if {low.name, high.name} != {middle.name}:
        means += f". It reaches from '{low.name}' to '{high.name}'"
    return QuietRow(name, told, verdict, means, _source(middle), note)


def _source(found: MaturityClass) -> str:
    known = found.source.startswith(found.confidence)
    return found.source if known else f"{found.source}; {found.confidence}"


def _within(value: Range, least: float, most: float) -> Range:
    low, mid, high = (min(max(one, least), most) for one in (value.low, value.mid, value.high))
    return Range(low, mid, high)


def _each(value: Range, function: Callable[[float], float]) -> Range:
    return Range(function(value.low), function(value.mid), function(value.high))


def _span(value: Range) -> str:
    low, high = _figure(value.low), _figure(value.high)
    return low if low == high else f"{low} to {high}"


def _figure(value: float) -> str:
    """Two digits; more would claim what nobody knows."""
    if value < 9.95:
        return f"{value:.1f}"
    return f"{value:.0f}" if value < 99.5 else f"{float(f'{value:.2g}'):.0f}"
