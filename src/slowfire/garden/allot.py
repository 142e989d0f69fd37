"""Where each litre of compost does most good: beds by turn, or by a small optimisation."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from slowfire.errors import InvalidInput, check_range
from slowfire.garden.nutrients import Batch, feeding, judge_limit, potting_share, woody_advice
from slowfire.garden.tables import NITROGEN, Limit, Planting
from slowfire.garden.volumes import barrow_loads, layer_depth, layer_volume

ORDER = ("woody", "bed", "vegetables", "lawn", "potting")
FEWEST_TO_OPTIMISE = 3
WALKING = 0.00015  # of the good of a volume, for each metre walked there and back; ours [1/m]
SECOND_HALF = 0.5  # good of the second half of what a bed takes, by that of the first; ours
BARROW = 0.065  # filled level; as `measures` has it [m^3]
TRIFLE = 1e-6  # no more than a spoon [m^3]
POT_WAYS = ("potting", "seedlings")
MIXED_IN = ("dug-in", *POT_WAYS)
POTS = 0.02  # litres of a potting bed are what is asked for, up to so much [m^3/m^2]


@dataclass(frozen=True)
class Bed:
    """A bed, what grows there, and how far it is.

    Attributes
    ----------
    name : str
        Of its own.
    area : float
        [m^2].
    distance : float
        From the bin [m].
    planting : Planting
        See `tables`.
    way : str
        mulch, dug-in and so on; empty for the first that its planting allows.
    """

    name: str
    area: float
    distance: float
    planting: Planting
    way: str = ""

    def __post_init__(self) -> None:
        check_range(f"Area of {self.name}", self.area, 0.01, 1e5, "m2")
        check_range(f"Distance of {self.name}", self.distance, 0.0, 1e4, "m")
        way = self.way or self.planting.ways[0]
        if way not in self.planting.ways:
            raise InvalidInput(
                f"{self.name}: compost for {self.planting.name.lower()} is used as "
                f"{' or '.join(self.planting.ways)}, not as {way}."
            )
        object.__setattr__(self, "way", way)


@dataclass(frozen=True)
class Offer:
    """A batch that is there to be used, with its verdicts.

    Attributes
    ----------
    name : str
        Of the batch.
    batch : Batch
        Its volume and nutrients.
    finished, fit_for_seedlings, sanitised : str
        yes, no or not shown.
    """

    name: str
    batch: Batch
    finished: str = "not shown"
    fit_for_seedlings: str = "not shown"
    sanitised: str = "not shown"


@dataclass(frozen=True)
class Share:
    """What one bed gets.

    Attributes
    ----------
    bed : str
        Its name.
    volume : float
        [m^3].
    depth : float
        Spread evenly [m].
    barrows : int
        [-].
    walking : float
        There and back with every barrow [m].
    of_batch : Mapping of str to float
        Volume of each batch [m^3].
    nitrogen_met, phosphate_met, potash_met : float or None
        Share of a year's need; None where nobody counts [-].
    limit : str
        What keeps it from getting more.
    reasons, cautions : tuple of str
        Sentences.
    mix : float or None
        Least volume of a mix for pots that it goes into; None on a bed [m^3].
    """

    bed: str
    volume: float
    depth: float
    barrows: int
    walking: float
    of_batch: Mapping[str, float]
    nitrogen_met: float | None
    phosphate_met: float | None
    potash_met: float | None
    limit: str
    reasons: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    mix: float | None = None


@dataclass(frozen=True)
class Allotment:
    """Shares of every bed, and what is left over.

    Attributes
    ----------
    shares : tuple of Share
        In the order of the beds given.
    left : Mapping of str to float
        Volume of each batch that no bed takes [m^3].
    method : str
        by turn or optimised.
    words : tuple of str
        Sentences on the whole.
    """

    shares: tuple[Share, ...]
    left: Mapping[str, float]
    method: str
    words: tuple[str, ...] = field(default=())


def fits(bed: Bed, offer: Offer) -> str:
    """Why a batch may not go on a bed; empty if it may.

    Parameters
    ----------
    bed : Bed
        Where it would go.
    offer : Offer
        What would go there.

    Returns
    -------
    str
        A sentence, or nothing.

    Notes
    -----
    Ours: what a planting needs is not given on a "not shown". Unfinished compost goes on trees and
    shrubs, squash and maize, which bear it.

    Examples
    --------
    >>> from slowfire.garden.tables import find_planting
    >>> batch = Batch(0.1, 60.0, 30.0, 0.6, 0.02, 0.1, 0.3, 9.0)
    >>> fits(Bed("Trays", 1.0, 5.0, find_planting("seed_trays")), Offer("March", batch))
    'March is not shown to be fit for seedlings: do a cress test with a control first.'
    """
    needs = bed.planting.needs
    if needs == "seedlings" and offer.fit_for_seedlings != "yes":
        return (
            f"{offer.name} is not shown to be fit for seedlings: do a cress test with a control "
            "first."
        )
    if needs == "finished" and offer.finished == "no":
        return f"{offer.name} is not finished: it would hold plants back here."
    if bed.way in MIXED_IN and offer.batch.c_to_n > 30.0:
        return woody_advice(offer.batch.c_to_n, offer.batch.woody_share, dug_in=True)
    return ""


def most_volume(bed: Bed, offer: Offer, allowances: Sequence[Limit] = ()) -> tuple[float, str]:
    """Most that a bed takes of a batch, and what limits it.

    Parameters
    ----------
    bed : Bed
        Where it goes.
    offer : Offer
        What goes there.
    allowances : sequence of Limit
        See `tables.limits_of`.

    Returns
    -------
    tuple of (float, str)
        Volume [m^3], and the name of what limits it.

    Notes
    -----
    Ours: of depth, nitrogen limit and a year's need the smallest; of the need, potash in the first
    year for vegetables, which compost fills first. A limit is met for its years at once.

    Examples
    --------
    >>> from slowfire.garden.tables import find_planting
    >>> offer = Offer("March", Batch(0.1, 60.0, 30.0, 0.6, 0.02, 0.1, 0.3, 9.0))
    >>> most_volume(Bed("Hedge", 4.0, 5.0, find_planting("hedge")), offer)
    (0.3, 'depth')
    """
    planting = bed.planting
    depth = POTS if planting.most_depth is None else planting.most_depth
    best, name = layer_volume(bed.area, depth), "depth"
    if planting.potash and offer.batch.potassium > 0.0:
        given = feeding(offer.batch)
        enough = planting.potash * bed.area / (given.potash / offer.batch.volume)
        if enough < best:
            best, name = enough, "a year's potash"
    for one in allowances:
        if one.use not in ("any", bed.way):
            continue
        allowed = judge_limit(one, offer.batch, 0.0).most_depth * bed.area
        if allowed < best:
            best, name = allowed, one.name
    return best, name


def allot(
    beds: Sequence[Bed],
    offers: Sequence[Offer],
    allowances: Sequence[Limit] = (),
    fixed: Mapping[str, float] | None = None,
    *,
    optimise: bool | None = None,
    barrow: float = BARROW,
) -> Allotment:
    """Share batches out to beds.

    By turn: trees and shrubs first, the nearest first, each filled to what limits it. From three
    beds up an optimisation instead::

        max  sum_ij [w_i (a_ij + b_ij / 2) - c 2 d_i (a_ij + b_ij) / V_b]
        sum_j a_ij / X_ij <= 1/2,   sum_j b_ij / X_ij <= 1/2,   sum_i (a_ij + b_ij) <= V_j

    with a the first half of what bed i takes of batch j and b the rest, which does half the good, X
    the most it takes, w its weight by what grows there, d its distance and V_b a barrow.

    Parameters
    ----------
    beds : sequence of Bed
        Names must differ.
    offers : sequence of Offer
        Batches that are there.
    allowances : sequence of Limit
        See `tables.limits_of`.
    fixed : mapping of str to float, optional
        Volume that the user wants on a bed, by its name [m^3].
    optimise : bool or None
        None for by turn up to two beds.
    barrow : float
        Volume of one barrow, 0.001 to 1 [m^3].

    Returns
    -------
    Allotment

    Raises
    ------
    InvalidInput
        If names are double or unknown, or more is wanted than there is.

    Notes
    -----
    Ours. What the user fixes is kept, with a caution where it goes past a limit; only what does
    not exist is refused.

    Examples
    --------
    >>> from slowfire.garden.tables import find_planting
    >>> offer = Offer("March", Batch(0.1, 60.0, 30.0, 0.6, 0.02, 0.1, 0.3, 9.0))
    >>> beds = [Bed("Kale", 4.0, 2.0, find_planting("kale")),
    ...         Bed("Apple", 3.0, 9.0, find_planting("fruit_trees"))]
    >>> [round(one.volume, 3) for one in allot(beds, [offer]).shares]
    [0.0, 0.1]
    """
    wanted = dict(fixed or {})
    names = [one.name for one in beds]
    if len(set(names)) != len(names) or len({one.name for one in offers}) != len(offers):
        raise InvalidInput("Two beds or two batches have one name; give each its own.")
    for name, volume in wanted.items():
        if name not in names:
            raise InvalidInput(f"There is no bed '{name}'; known are {', '.join(names)}.")
        check_range(f"Compost wanted on {name}", volume, 0.0, 1e3, "m3")
    there = sum(one.batch.volume for one in offers)
    if sum(wanted.values()) > there * (1.0 + 1e-9):
        raise InvalidInput(
            f"{1000.0 * sum(wanted.values()):.0f} L are wanted and {1000.0 * there:.0f} L are "
            "there; lower a bed, or dig out more."
        )
    caps = np.zeros((len(beds), len(offers)))
    limited = [["" for _ in offers] for _ in beds]
    refusals: list[list[str]] = [[] for _ in beds]
    for i, bed in enumerate(beds):
        for j, offer in enumerate(offers):
            why = fits(bed, offer)
            caps[i, j], limited[i][j] = most_volume(bed, offer, allowances)
            if why:
                refusals[i].append(why)
                caps[i, j] = 0.0
    chosen = len(beds) >= FEWEST_TO_OPTIMISE if optimise is None else optimise
    volumes = np.array([one.batch.volume for one in offers])
    split = _fixed_split(beds, offers, caps, wanted, volumes)
    rest = volumes - split.sum(axis=0)
    free = [i for i, bed in enumerate(beds) if bed.name not in wanted]
    solve = _optimised if chosen else _by_turn
    split[free] = solve([beds[i] for i in free], caps[free], rest, barrow)
    shares = tuple(
        _share(bed, offers, split[i], caps[i], limited[i], refusals[i], allowances, barrow, wanted)
        for i, bed in enumerate(beds)
    )
    left = {
        offer.name: float(max(volumes[j] - split[:, j].sum(), 0.0))
        for j, offer in enumerate(offers)
    }
    over = sum(left.values())
    words = (f"{1000.0 * over:.0f} L are left over: keep them covered.",) if over > 0.001 else ()
    return Allotment(shares, left, "optimised" if chosen else "by turn", words)


def _weight(bed: Bed) -> float:
    return 1.0 - 0.15 * ORDER.index(bed.planting.kind)


def _fixed_split(
    beds: Sequence[Bed],
    offers: Sequence[Offer],
    caps: np.ndarray,
    wanted: Mapping[str, float],
    volumes: np.ndarray,
) -> np.ndarray:
    """What the user wants, from batches that fit best first."""
    split = np.zeros((len(beds), len(offers)))
    rest = volumes.copy()
    for i, bed in enumerate(beds):
        need = wanted.get(bed.name, 0.0)
        for j in sorted(range(len(offers)), key=lambda j: -caps[i, j]):
            taken = min(need, rest[j])
            split[i, j] += taken
            rest[j] -= taken
            need -= taken
    return split


def _by_turn(
    beds: Sequence[Bed], caps: np.ndarray, volumes: np.ndarray, _barrow: float
) -> np.ndarray:
    split = np.zeros_like(caps)
    rest = volumes.copy()
    order = sorted(
        range(len(beds)), key=lambda i: (ORDER.index(beds[i].planting.kind), beds[i].distance)
    )
    for i in order:
        good = 0.0
        for j in range(caps.shape[1]):
            if caps[i, j] <= 0.0 or good >= 1.0:
                continue
            taken = min(rest[j], (1.0 - good) * caps[i, j])
            split[i, j] = taken
            rest[j] -= taken
            good += taken / caps[i, j]
    return split


def _optimised(
    beds: Sequence[Bed], caps: np.ndarray, volumes: np.ndarray, barrow: float
) -> np.ndarray:
    n, m = caps.shape
    split = np.zeros((n, m))
    if n == 0 or m == 0:
        return split
    pairs = [(i, j) for i in range(n) for j in range(m) if caps[i, j] > 0.0]
    if not pairs:
        return split
    # unknowns: volumes of the first halves, then of the second ones
    count = len(pairs)
    good = np.array([_weight(beds[i]) for i, _ in pairs])
    way = np.array([WALKING * 2.0 * beds[i].distance / barrow for i, _ in pairs])
    cost = -np.concatenate([good - way, SECOND_HALF * good - way])
    halves = np.zeros((2 * n, 2 * count))
    stock = np.zeros((m, 2 * count))
    for k, (i, j) in enumerate(pairs):
        halves[i, k] = halves[n + i, count + k] = 1.0 / caps[i, j]
        stock[j, [k, count + k]] = 1.0
    limits = np.concatenate([np.full(2 * n, 0.5), volumes])
    # here, since every start of the screens would wait for it
    from scipy.optimize import linprog

    found = linprog(cost, A_ub=np.vstack([halves, stock]), b_ub=limits, method="highs")
    if found.status != 0:
        raise InvalidInput("No way to share the compost out was found; lower what is fixed.")
    for k, (i, j) in enumerate(pairs):
        split[i, j] = found.x[k] + found.x[count + k]
    split[split < TRIFLE] = 0.0
    return split


def _share(
    bed: Bed,
    offers: Sequence[Offer],
    split: np.ndarray,
    caps: np.ndarray,
    limited: Sequence[str],
    refusals: Sequence[str],
    allowances: Sequence[Limit],
    barrow: float,
    wanted: Mapping[str, float],
) -> Share:
    volume = float(split.sum())
    loads = barrow_loads(volume, barrow)
    need = bed.planting
    given = [feeding(one.batch) for one in offers]
    parts = [split[j] / offers[j].batch.volume for j in range(len(offers))]

    def met(name: str, wants: float | None) -> float | None:
        if not wants:
            return None
        amount = sum(getattr(one, name) * part for one, part in zip(given, parts, strict=True))
        return float(amount / (wants * bed.area))

    good = sum(split[j] / caps[j] for j in range(len(offers)) if caps[j] > 0.0)
    used = [j for j in range(len(offers)) if split[j] > TRIFLE]
    cautions = list(_cautions(bed, offers, used))
    if bed.name in wanted:
        limit = "what you chose"
        for j in used:
            if split[j] > caps[j] * (1.0 + 1e-6):
                cautions.append(f"More than {limited[j] or 'is good'} allows here.")
        cautions += refusals
    elif good >= 1.0 - 1e-6 and used:
        limit = limited[used[0]]
    elif refusals and not used:
        limit = "no batch fits"
    else:
        limit = "what there is"
    reasons = [] if bed.name in wanted else list(refusals)
    for j in used:
        depth = layer_depth(bed.area, float(split[j]))
        reasons += [
            judge_limit(one, offers[j].batch, depth).words
            for one in allowances
            if one.use in ("any", bed.way) and one.quantity == NITROGEN
        ]
        note = woody_advice(
            max(offers[j].batch.c_to_n, 1e-3), offers[j].batch.woody_share, bed.way in MIXED_IN
        )
        if note:
            reasons.append(note)
    mix = None
    if used and bed.way in POT_WAYS:
        share, words = potting_share(hungry=False)
        mix = volume / share
        reasons.append(
            f"Never pure: of a mix for pots {words} of the volume; "
            f"{potting_share(hungry=True)[1]} such as tomatoes."
        )
    return Share(
        bed.name,
        volume,
        layer_depth(bed.area, volume),
        loads,
        2.0 * bed.distance * loads,
        {offers[j].name: float(split[j]) for j in used},
        met("nitrogen", need.nitrogen),
        met("phosphate", need.phosphate),
        met("potash", need.potash),
        limit,
        tuple(dict.fromkeys(reasons)),
        tuple(dict.fromkeys(cautions)),
        mix,
    )


def _cautions(bed: Bed, offers: Sequence[Offer], used: Sequence[int]) -> list[str]:
    found = []
    if bed.planting.raw and any(offers[j].sanitised != "yes" for j in used):
        found.append(
            "Not shown to be sanitised: keep it off what is eaten raw. Spread it in autumn, 120 "
            "days or more before the harvest where crops touch the soil (US organic rule for raw "
            "manure, as a yardstick)."
        )
    if bed.planting.kind == "woody":
        found.append("Keep 5 to 8 cm clear of trunks; do not fill planting holes with it.")
    return found
