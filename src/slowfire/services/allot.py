"""Where compost and liquid go: beds of the site, batches that are there, limits of the place."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from slowfire import records as r
from slowfire.errors import InvalidInput, SlowfireError
from slowfire.garden.allot import Allotment, Bed, Offer, allot
from slowfire.garden.nutrients import Batch
from slowfire.garden.tables import find_planting, limits_of, nitrogen_limits
from slowfire.liquid import Dilution, dilute, usual_words
from slowfire.measures import default_measures
from slowfire.refusals import RefusedField
from slowfire.services.amounts import barrow_litres
from slowfire.services.inside import InsideResult
from slowfire.services.liquid import check_strengths
from slowfire.services.take_out import TakeOutResult
from slowfire.units import UnitSystem, format_volume

LEAST_LIQUID, MOST_LIQUID = 0.01, 1000.0  # that is thinned at once [L]


@dataclass(frozen=True)
class BedRow:
    """What one bed gets, in the units people carry.

    Attributes
    ----------
    bed, planting, way : str
        Which, what grows there, how it is used.
    litres, millimetres : float
        Of compost [L], spread [mm].
    barrows : int
        Loads [-].
    walking_metres : float
        There and back [m].
    nitrogen_percent, phosphate_percent, potash_percent : float or None
        Of a year's need [percent].
    limit : str
        What keeps it from being more.
    reasons, cautions : tuple of str
        Sentences.
    mix_litres : float or None
        Least of a mix for pots that it goes into; None on a bed [L].
    """

    bed: str
    planting: str
    way: str
    litres: float
    millimetres: float
    barrows: int
    walking_metres: float
    nitrogen_percent: float | None
    phosphate_percent: float | None
    potash_percent: float | None
    limit: str
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    mix_litres: float | None = None


@dataclass(frozen=True)
class AllotResult:
    """Shares of every bed.

    Attributes
    ----------
    litres : float
        There to be shared out [L].
    left_litres : float
        Left over [L].
    method : str
        by turn or optimised.
    rows : tuple of BedRow
        One for each bed.
    words : tuple of str
        Sentences on the whole.
    limits : tuple of str
        Limits that were kept, with their source.
    """

    litres: float
    left_litres: float
    method: str
    rows: tuple[BedRow, ...]
    words: tuple[str, ...]
    limits: tuple[str, ...]


def allotment(
    site: r.Site,
    found: TakeOutResult,
    *,
    litres: float | None = None,
    fixed_litres: Mapping[str, float] | None = None,
    jurisdictions: Sequence[str] = (),
) -> AllotResult:
    """Share out what can be dug, or so many litres of it.

    Parameters
    ----------
    site : Site
        With its beds [-].
    found : TakeOutResult
        What lies at the door, with its nutrients and verdicts [-].
    litres : float or None
        Loosened; all that is advised to dig if None, 0.1 to 100000 [L].
    fixed_litres : mapping of str to float, optional
        What the user wants on a bed, by its name [L].
    jurisdictions : sequence of str
        Whose limits; those of the site if none are named [-].

    Returns
    -------
    AllotResult

    Raises
    ------
    SlowfireError
        If there is no bed, nothing to share out, or something is not known.
    """
    if not site.beds:
        raise InvalidInput("No bed is known yet; add one with its size and what grows there.")
    if found.batch is None:
        raise InvalidInput("Nothing at the door is ready, so there is nothing to share out.")
    batch = found.batch if litres is None else _so_much(found.batch, litres)
    offer = Offer(
        f"what lies at the door of {found.bin}",
        batch,
        found.verdicts["finished"].verdict,
        found.verdicts["fit_for_seedlings"].verdict,
        found.verdicts["sanitised"].verdict,
    )
    limits = limits_of(jurisdictions or _with_limits(site.jurisdictions))
    beds = [
        Bed(one.name, one.area_m2, one.distance_m, find_planting(one.planting), one.way)
        for one in site.beds
    ]
    wanted = {name: value / 1000.0 for name, value in (fixed_litres or {}).items()}
    made = allot(beds, [offer], limits, wanted, barrow=barrow_litres(site) / 1000.0)
    return AllotResult(
        litres=1000.0 * batch.volume,
        left_litres=1000.0 * sum(made.left.values()),
        method=made.method,
        rows=_rows(beds, made),
        words=made.words,
        limits=tuple(f"{one.name}: {one.note} ({one.source}; {one.confidence})" for one in limits),
    )


def _rows(beds: Sequence[Bed], made: Allotment) -> tuple[BedRow, ...]:
    def percent(value: float | None) -> float | None:
        return None if value is None else 100.0 * value

    return tuple(
        BedRow(
            bed.name,
            bed.planting.name,
            bed.way,
            1000.0 * share.volume,
            1000.0 * share.depth,
            share.barrows,
            share.walking,
            percent(share.nitrogen_met),
            percent(share.phosphate_met),
            percent(share.potash_met),
            share.limit,
            share.reasons,
            share.cautions,
            None if share.mix is None else 1000.0 * share.mix,
        )
        for bed, share in zip(beds, made.shares, strict=True)
    )


def _so_much(batch: Batch, litres: float) -> Batch:
    if not 0.1 <= litres <= 1e5:
        raise RefusedField("litres", f"{litres:g} L is out of range; allowed is 0.1 to 100000 L.")
    part = litres / 1000.0 / batch.volume
    names = (
        "volume", "mass", "dry_mass", "nitrogen", "ammoniacal", "phosphorus", "potassium", "carbon",
    )  # fmt: skip
    return replace(batch, **{name: part * getattr(batch, name) for name in names})


def _with_limits(codes: Sequence[str]) -> tuple[str, ...]:
    known = {one.jurisdiction for one in nitrogen_limits().values()}
    return tuple(one for one in codes if one.upper() in known)


def liquid_advice(
    litres: float,
    *,
    conductivity_ms_per_cm: float | None = None,
    colour: str | None = None,
    smell: str | None = None,
    seedlings: bool = False,
    hours_old: float = 0.0,
    target_ms_per_cm: float | None = None,
    estimated_ms_per_cm: float | None = None,
    units: str = "metric",
) -> Dilution:
    """How to thin liquid that was drawn.

    Parameters
    ----------
    litres : float
        Drawn, 0.01 to 1000 [L].
    conductivity_ms_per_cm : float or None
        If measured [mS/cm].
    colour, smell : str or None
        As seen [-].
    seedlings : bool
        Whether it is for seedlings [-].
    hours_old : float
        Since it was drawn [h].
    target_ms_per_cm : float or None
        Wanted after thinning, 0.2 to 4; None for what is usual [mS/cm].
    estimated_ms_per_cm : float or None
        High end of an estimate, for liquid that nobody measured [mS/cm].
    units : str
        metric or us, for the words [-].

    Returns
    -------
    Dilution

    Raises
    ------
    InvalidInput
        If a number is out of range; with the field where it is one of the form.
    """
    check_strengths(conductivity_ms_per_cm, target_ms_per_cm)
    measured = conductivity_ms_per_cm is not None
    system: UnitSystem = "us" if units == "us" else "metric"
    if not LEAST_LIQUID <= litres <= MOST_LIQUID:
        told = [format_volume(one, system) for one in (litres, LEAST_LIQUID, MOST_LIQUID)]
        raise RefusedField(
            "litres", f"{told[0]} is out of range; allowed is {told[1]} to {told[2]}."
        )
    return dilute(
        litres / 1000.0,
        conductivity_ms_per_cm if measured else estimated_ms_per_cm,
        colour,
        smell,
        seedlings=seedlings,
        hours_old=hours_old,
        target_ms_per_cm=target_ms_per_cm,
        estimated=not measured,
        system=system,
    )


def liquid_words(site: r.Site, entries: Sequence[r.Entry], bin_name: str, weeks: float) -> str:
    """Whether the liquid written down in the last weeks is usual; empty if none was.

    Parameters
    ----------
    site : Site
        The place [-].
    entries : sequence of Entry
        Of so many weeks, in force [-].
    bin_name : str
        Which bin [-].
    weeks : float
        [week].

    Returns
    -------
    str
    """
    measures = default_measures().with_own(site.measures)
    total, seen = 0.0, False
    for one in entries:
        if isinstance(one.payload, r.Drain) and one.bin.casefold() == bin_name.casefold():
            try:
                size = measures.named(one.payload.amount.unit).litres or 0.0
            except SlowfireError:
                continue
            total += one.payload.amount.middle * size
            seen = True
    system: UnitSystem = "us" if site.units == "us" else "metric"
    return usual_words(total / 1000.0 / max(weeks, 1.0), system) if seen else ""


def yield_words(inside: InsideResult | None) -> str:
    """What was dug out over what went in, by wet weight; empty before the first dig-out.

    Parameters
    ----------
    inside : InsideResult or None
        The last estimate of a bin [-].

    Returns
    -------
    str
    """
    if inside is None or inside.dug_out_percent is None:
        return ""
    share = inside.dug_out_percent
    return (
        f"Dug out so far: {share.mid:.0f} % of what went in by weight ({share.low:.0f} to "
        f"{share.high:.0f}), in simulation. Food waste gives 30 to 60 % in the end."
    )
