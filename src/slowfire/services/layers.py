"""Four verdicts on every layer, kept apart: active, sanitised, finished, fit for seedlings."""

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from slowfire import records as r
from slowfire.arrays import FloatArray
from slowfire.biology.kinetics import temperature_factor_rosso
from slowfire.column.contents import layer_carbon, pool_yields
from slowfire.column.positions import (
    ADDED_HOUR,
    ADDED_WOOD,
    ASH,
    CENTRE,
    DEGREE_LOW,
    DRY_HOURS,
    LOOSE_WOOD,
    N_AMMONIACAL,
    N_NITRATE,
    N_RAPID,
    N_WOOD,
    PHOSPHORUS,
    POTASSIUM,
    RAPID,
    TOTAL,
    WATER,
    WOOD,
)
from slowfire.column.simulate import Column
from slowfire.estimate.glimpse import Glimpse, glimpse
from slowfire.hygiene.index import time_temperature_index_history
from slowfire.hygiene.rules import Rule, choose_rules, find_rule, hygiene_rules
from slowfire.hygiene.verdict import HeatVerdict, heat_verdict
from slowfire.maturity.layer_verdicts import Finding, LayerVerdicts, layer_verdicts
from slowfire.maturity.trial import Trial
from slowfire.services.heat_kills import HeatKills, heat_kills
from slowfire.services.inside import Range, inside_estimate
from slowfire.services.inside_run import Estimate
from slowfire.services.layer_readings import Spot, records_of, spots_of
from slowfire.services.layer_tests import trials_of
from slowfire.timeline_vessel import changed_bin
from slowfire.vessel import inside_volume

THICK = 0.10  # of a slice [m]
REACH = 0.10  # a thermometer so far off still speaks for a layer [m]
DAILY_GAP = 30.0  # somebody who reads once a day is sometimes late [h]
TEST_CELSIUS = 30.0  # at which oxygen uptake is measured
DOOR = ("bin", "door_height_cm")
DOOR_CM = 30.0  # of a bin whose door nobody measured; common practice, no source
LEAST_PART = 0.05  # of a slice; a thinner sliver of a layer does not count
MMOL_PER_KG = 1e6 / 31.998  # of oxygen
# What a country goes by, where it is one of those whose rules are known.
COUNTRIES = {
    "United States": "US",
    "United Kingdom": "UK",
    "Germany": "DE",
    "Australia": "AU",
    "Canada": "CA",
}
USUAL = "EU"
TOLD_DEGREES = (40, 50, 55, 60, 65, 70)
SUMS = (
    "litres", "kilograms", "dry_kg", "nitrogen_g", "ammoniacal_g", "phosphorus_g", "potassium_g",
    "carbon_g", "chips_litres",
)  # fmt: skip


@dataclass(frozen=True)
class Verdict:
    """One verdict: yes, no or not shown; how likely by the model; on what it rests; why."""

    verdict: str
    probability: float | None
    basis: str
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Heat:
    """What the verdict on heat rests on.

    Attributes
    ----------
    rule, spot : str
        By which rule, and where readings were taken.
    hours : float
        That count at the worst spot [h].
    longest_gap_hours : float or None
        Without a reading [h]; None if nothing was read.
    share_percent : float
        Of the cross-section that was hot for long enough, by the model [percent].
    centre, edge : str
        Verdict on each of the two by itself.
    index : Range
        US time-temperature index at the centre, 1 and more would do; beside the rule, never
        instead [-].
    """

    rule: str
    spot: str
    hours: float
    longest_gap_hours: float | None
    share_percent: float
    centre: str
    edge: str
    index: Range


@dataclass(frozen=True)
class LayerFate:
    """One layer with its verdicts.

    Attributes
    ----------
    height_cm, thickness_cm : float
        Its lower face above the floor, and how thick it is [cm].
    age_days : float
        Since it was added, on average [day].
    active, sanitised, finished, fit_for_seedlings : Verdict
        Four questions that have nothing to do with one another.
    heat : Heat
        Behind `sanitised`.
    temperature_celsius, moisture_percent, c_to_n, oxygen_uptake_mmol_per_kg_hour : Range
        In simulation.
    worms_percent : Range
        How well worms can live there [percent].
    first_added, last_added : str
        When what lies there went in, by the middle of what is thought, ISO.
    hot_hours : dict of str to Range
        In all, at the centre, at or above so many degrees C, 40, 50, 55, 60, 65 and 70 [h].
    heat_kills : HeatKills or None
        Germs, weed seeds and plant diseases, beside `sanitised` and never instead; None in results
        kept by an older version.
    up_to : dict of str to Range
        Of everything from the floor to the top of this layer: litres as it lies, kilograms, dry
        kilograms, nutrients in grams, litres of chips.
    """

    height_cm: float
    thickness_cm: float
    age_days: float
    active: Verdict
    sanitised: Verdict
    finished: Verdict
    fit_for_seedlings: Verdict
    heat: Heat
    temperature_celsius: Range
    moisture_percent: Range
    c_to_n: Range
    oxygen_uptake_mmol_per_kg_hour: Range
    worms_percent: Range
    up_to: dict[str, Range]
    first_added: str = ""
    last_added: str = ""
    hot_hours: dict[str, Range] = dataclasses.field(default_factory=dict)
    heat_kills: HeatKills | None = None


@dataclass(frozen=True)
class LayersResult:
    """Every layer of a bin, base first.

    Attributes
    ----------
    bin, at : str
        Which, and of when, ISO.
    jurisdictions : tuple of str
        Whose rules were asked.
    rules : str
        Those rules in words.
    home : tuple of str
        What they say of compost made and used at home.
    layers : tuple of LayerFate
        Base first.
    fill_cm, width_cm, plan_area_m2 : float
        Of the stack, in the middle of what is thought.
    pressure_base_pascal, pressure_wall_pascal : float
        What the stack presses with.
    tests : tuple of str
        Results of tests of the last weeks, in words.
    cautions : tuple of str
        Always said.
    """

    bin: str
    at: str
    jurisdictions: tuple[str, ...]
    rules: str
    home: tuple[str, ...]
    layers: tuple[LayerFate, ...]
    fill_cm: float
    hydraulic_radius_cm: float
    plan_area_m2: float
    bulk_density_kg_per_m3: float
    tests: tuple[str, ...]
    cautions: tuple[str, ...]


CAUTIONS = (
    "Not a legal pass. Rules are those of plants and farms; local codes win.",
    "Every figure without a reading beside it is in simulation.",
)


def layers(
    path: str | Path,
    bin_name: str,
    at: str | None = None,
    *,
    jurisdictions: Sequence[str] = (),
    rule: str | None = None,
    progress: Callable[[float], None] | None = None,
    now: datetime | None = None,
) -> LayersResult:
    """Say of every layer of a bin whether it is active, sanitised, finished, fit for seedlings.

    Parameters
    ----------
    path : str or Path
        The journal's folder [-].
    bin_name : str
        Which bin [-].
    at : str or None
        As in `inside`.
    jurisdictions : sequence of str
        Whose rules; those of the country of the site if none are named [-].
    rule : str or None
        One rule by its id instead [-].
    progress : callable or None
        Called with the share done, 0 to 1 [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].

    Returns
    -------
    LayersResult

    Raises
    ------
    SlowfireError
        As `inside`, or if a rule or jurisdiction is not known.
    """
    # what is not known is refused before the long work
    if rule is not None:
        find_rule(rule)
    if jurisdictions:
        choose_rules(jurisdictions)
    made = inside_estimate(path, bin_name, at, progress=progress, now=now)
    return layers_of(made, jurisdictions, rule)


def layers_of(
    made: Estimate, jurisdictions: Sequence[str] = (), rule: str | None = None
) -> LayersResult:
    """The same from an estimate that is there already.

    Parameters
    ----------
    made : Estimate
        See `inside_run` [-].
    jurisdictions : sequence of str
        As in `layers` [-].
    rule : str or None
        As in `layers` [-].

    Returns
    -------
    LayersResult
    """
    site = made.journal.site
    asked = tuple(jurisdictions) or _known_rules(site.jurisdictions) or (_country(made),)
    choice = choose_rules(asked)
    ways = dict(choice.rules)[choice.strictest]
    if rule is not None:
        ways = (find_rule(rule),)
    members = [Member(column) for column in made.found.ensemble.columns]
    fill = float(np.median([one.seen.fill_height for one in members]))
    count = max(round(fill / THICK), 1) if fill > 0.02 else 0
    spots = spots_of(made.journal, made.record.bin_name, made.hour, REACH)
    tests = trials_of(made.journal, made.record.bin_name, made.when)
    whole = _Known(made, spots, ways, _turnings(made), tests)
    name = site.bin_named(made.record.bin_name).name
    door_cm = door_height(site, made.journal.effective, name, made.when) or DOOR_CM
    found = []
    sums = np.zeros((len(SUMS), len(members)))
    fills = np.array([one.seen.fill_height for one in members])
    for k in range(count):
        parts = [one.slice(k / count, (k + 1) / count) for one in members]
        plain = np.array([[one.centre] for one in parts])
        told = made.at_heights(plain, (fills * (k + 0.5) / count)[:, None])[:, 0]
        sums = sums + np.array([one.sums for one in parts]).T
        low, high = fill * k / count, fill * (k + 1) / count
        near = whole if 100.0 * low < door_cm else dataclasses.replace(whole, tests=())
        found.append(_fate(near, parts, told, sums, (low, high)))
    vessel = members[0].seen.vessel
    mass = float(np.median([one.seen.dry_mass.sum() + one.seen.water.sum() for one in members]))
    volume = float(np.median([one.seen.volume.sum() for one in members]))
    area = volume / fill if fill > 0.0 else inside_volume(vessel) / vessel.height
    width = float(np.sqrt(area))
    return LayersResult(
        bin=name,
        at=made.when.astimezone(site.zone).isoformat(timespec="minutes"),
        jurisdictions=asked,
        rules=choice.words if rule is None else f"{rule}: {ways[0].words}.",
        home=choice.home,
        layers=tuple(found),
        fill_cm=100.0 * fill,
        hydraulic_radius_cm=25.0 * width,
        plan_area_m2=area,
        bulk_density_kg_per_m3=mass / volume if volume > 0.0 else 0.0,
        tests=tuple(f"{one.name}: {one.words}" for one in tests),
        cautions=CAUTIONS,
    )


class Part:
    """One slice of one member."""

    def __init__(self, column: Column, seen: Glimpse, low: float, high: float) -> None:
        base = seen.middles - 0.5 * seen.thickness
        inside = np.minimum(base + seen.thickness, high) - np.maximum(base, low)
        inside = np.maximum(inside, 0.0)
        part = inside / np.maximum(seen.thickness, 1e-9)
        total = float(inside.sum())
        share = inside / total if total > 0.0 else np.full(inside.size, 1.0 / max(inside.size, 1))
        rows = column.state[: column.layers]
        counts = np.flatnonzero(share > LEAST_PART)
        if counts.size == 0:
            counts = np.array([int(np.argmax(share))]) if share.size else np.array([], dtype=int)
        mixed = part @ rows
        organic = float(mixed[RAPID : WOOD + 1].sum())
        self.rows = counts
        self.history = column.history[counts].min(axis=0).astype(np.float64)
        self.dry_hours = float(rows[counts, DRY_HOURS].max())
        self.added = (float(rows[counts, ADDED_HOUR].min()), float(rows[counts, ADDED_HOUR].max()))
        self.age_days = (column.hour - float(share @ rows[:, ADDED_HOUR])) / 24.0
        self.centre = float(share @ (seen.mean + 0.5 * seen.centre_minus_edge))
        self.water = float(mixed[WATER])
        self.dry = float(mixed[RAPID : ASH + 1].sum())
        nitrogen = float(mixed[N_RAPID : N_WOOD + 1].sum())
        mineral = float(mixed[N_AMMONIACAL] + mixed[N_NITRATE])
        carbon = layer_carbon(mixed)
        self.c_to_n = carbon / max(nitrogen + mineral, 1e-9)
        self.ammonium = 1e6 * float(mixed[N_AMMONIACAL]) / max(self.dry, 1e-9)
        self.uptake = _uptake(column, mixed) / max(organic, 1e-9)
        self.worms = float(share @ seen.worms())
        wood = float(mixed[LOOSE_WOOD] * mixed[WOOD] / max(float(mixed[ADDED_WOOD]), 1e-9))
        self.sums = (
            1000.0 * float(part @ seen.volume),
            self.water + self.dry,
            self.dry,
            1000.0 * (nitrogen + mineral),
            1000.0 * float(mixed[N_AMMONIACAL]),
            1000.0 * float(mixed[PHOSPHORUS]),
            1000.0 * float(mixed[POTASSIUM]),
            1000.0 * carbon,
            1000.0 * wood,
        )


class Member:
    """One bin whose stack is cut into slices by share of its fill."""

    def __init__(self, column: Column) -> None:
        self.column = column
        self.seen = glimpse(column)

    def slice(self, low: float, high: float) -> Part:
        """What lies between two shares of the fill."""
        fill = self.seen.fill_height
        return Part(self.column, self.seen, low * fill, high * fill)


def door_height(site: r.Site, entries: Sequence[r.Entry], bin_name: str, when: datetime) -> float:
    """Top of the door of a bin above its floor at a time; 0 where nobody measured it [cm]."""
    record = site.bin_named(bin_name)
    for one in entries:
        change = one.payload
        if not isinstance(change, r.Setting) or (change.about, change.key) != DOOR:
            continue
        if change.name.casefold() == record.name.casefold() and one.when <= when:
            record = changed_bin(record, change.key, change.to)
    return record.door_height_cm


def _uptake(column: Column, mixed: FloatArray) -> float:
    """Oxygen the material would take up moist, airy and at the temperature of the test [mmol/h]."""
    p = column.parameters
    hot = temperature_factor_rosso(
        TEST_CELSIUS, p.thermophile_minimum, p.thermophile_optimum, p.thermophile_maximum
    )
    mild = temperature_factor_rosso(
        TEST_CELSIUS, p.mesophile_minimum, p.mesophile_optimum, p.mesophile_maximum
    )
    factor = max(float(hot), p.mesophile_weight * float(mild))
    rates = np.array([p.rate_rapid, p.rate_slow, p.rate_resistant, p.rate_wood])
    oxygen = pool_yields()[0]
    per_day = float(rates @ (oxygen * mixed[RAPID : WOOD + 1])) * factor
    return per_day / 24.0 * MMOL_PER_KG


@dataclass(frozen=True)
class _Known:
    """What is known of a bin besides its layers; tests are of what lies at the door."""

    made: Estimate
    spots: Sequence[Spot]
    ways: Sequence[Rule]
    turned: Sequence[float]
    tests: Sequence[Trial]


def _fate(
    known: _Known,
    parts: Sequence[Part],
    centres: FloatArray,
    sums: FloatArray,
    span: tuple[float, float],
) -> LayerFate:
    made = known.made
    low, high = span
    added = np.array([one.added for one in parts])
    since = float(np.median(added[:, 0]))
    until = float(np.median(added[:, 1]))
    records = records_of(known.spots, since, until, 0.5 * (low + high))
    histories = np.array([one.history for one in parts])
    dry = np.array([one.dry_hours for one in parts])
    judged = [
        heat_verdict(
            rule,
            histories,
            dry,
            records,
            layer_base=low,
            layer_top=high,
            since_hour=until,
            turning_hours=known.turned,
            longest_gap_hours=DAILY_GAP,
            until_hour=made.hour,
        )
        for rule in known.ways
    ]
    heat = max(judged, key=_rank)
    air = float(made.seen[0].air_celsius)
    verdicts = layer_verdicts(
        np.array([one.uptake for one in parts]),
        centres - air,
        np.array([min(one.c_to_n, 1e4) for one in parts]),
        np.array([one.ammonium for one in parts]),
        heat,
        known.tests,
        temperature_read=bool(records),
    )
    index = time_temperature_index_history(histories, dry, edge=False)
    water = np.array([one.water / (one.water + one.dry) for one in parts])
    return LayerFate(
        height_cm=100.0 * low,
        thickness_cm=100.0 * (high - low),
        age_days=float(np.median([one.age_days for one in parts])),
        heat=Heat(
            heat.rule_id,
            heat.spot,
            heat.hours,
            heat.longest_gap_hours,
            100.0 * heat.share,
            heat.spots[0].verdict,
            heat.spots[1].verdict,
            _range(index),
        ),
        temperature_celsius=_range(centres),
        moisture_percent=_range(100.0 * made.water(water)),
        c_to_n=_range([min(one.c_to_n, 1e4) for one in parts]),
        oxygen_uptake_mmol_per_kg_hour=_range([one.uptake for one in parts]),
        worms_percent=_range([100.0 * one.worms for one in parts]),
        up_to={name: _range(sums[k]) for k, name in enumerate(SUMS)},
        first_added=_iso(made, since),
        last_added=_iso(made, until),
        hot_hours={
            str(degree): _range(histories[:, CENTRE, degree - DEGREE_LOW, TOTAL])
            for degree in TOLD_DEGREES
        },
        heat_kills=heat_kills(
            histories,
            dry,
            records,
            since_hour=until,
            until_hour=made.hour,
            longest_gap_hours=DAILY_GAP,
        ),
        **{
            name: _told(getattr(verdicts, name))
            for name in (field.name for field in dataclasses.fields(LayerVerdicts))
        },
    )


def _iso(made: Estimate, hour: float) -> str:
    when = made.record.timeline.start + timedelta(hours=hour)
    return when.astimezone(made.journal.site.zone).isoformat(timespec="minutes")


def _rank(one: HeatVerdict) -> tuple[int, float, float]:
    near = one.hours / find_rule(one.rule_id).needed_hours
    return {"no": 0, "not shown": 1, "yes": 2}[one.verdict], one.probability or 0.0, near


def _told(finding: Finding) -> Verdict:
    chance = None if finding.probability is None else round(finding.probability, 3)
    return Verdict(finding.verdict, chance, finding.basis, finding.reasons)


def _turnings(made: Estimate) -> tuple[float, ...]:
    name = made.record.bin_name.casefold()
    start = made.record.timeline.start
    return tuple(
        (one.when - start).total_seconds() / 3600.0
        for one in made.record.entries
        if one.kind == "turn" and one.bin.casefold() == name
    )


def _known_rules(codes: Sequence[str]) -> tuple[str, ...]:
    """Of the codes of a site those with rules of hygiene; others have limits of nitrogen alone."""
    known = {one.jurisdiction for one in hygiene_rules().values() if one.use == "default"}
    return tuple(one.upper() for one in codes if one.upper() in known)


def _country(made: Estimate) -> str:
    weather = made.journal.site.weather
    town = "" if weather is None or weather.town is None else weather.town
    return COUNTRIES.get(town.rsplit(", ", 1)[-1], USUAL)


def _range(values: object) -> Range:
    low, mid, high = np.percentile(np.asarray(values, dtype=np.float64), [5.0, 50.0, 95.0])
    return Range(float(low), float(mid), float(high))
