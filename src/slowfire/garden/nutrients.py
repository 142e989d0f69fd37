"""What a batch of compost feeds: its own nitrogen, phosphorus and potassium, and when."""

from dataclasses import dataclass

from slowfire.errors import InvalidInput, check_range
from slowfire.garden.tables import NITROGEN, Limit

PHOSPHATE_OF_PHOSPHORUS = 2.291  # P to P2O5 by molar masses [kg/kg]
POTASH_OF_POTASSIUM = 1.205  # K to K2O by molar masses [kg/kg]
WOODY_RATIO, RICH_RATIO = 20.0, 12.0  # C:N that part the three classes of availability [-]
FIRST_YEAR = (0.05, 0.10, 0.15)  # of all nitrogen: woody, mixed, rich in food [-]
LATER_YEARS = 0.03  # of the rest, each year [-]
PHOSPHATE_FIRST_YEAR, POTASH_FIRST_YEAR = 0.5, 0.8
DRAWING_RATIO, BALANCE_RATIO = 30.0, 24.0  # C:N above which nitrogen is drawn; where it balances


@dataclass(frozen=True)
class Batch:
    """Compost of one dig-out, or of one layer.

    Attributes
    ----------
    volume : float
        Loose, as it lies in a barrow [m^3].
    mass : float
        Wet [kg].
    dry_mass : float
        [kg].
    nitrogen, ammoniacal : float
        All of it, and what is ammonium [kg].
    phosphorus, potassium : float
        As elements [kg].
    carbon : float
        [kg].
    woody_share : float
        Of the volume, as chips [-].
    """

    volume: float
    mass: float
    dry_mass: float
    nitrogen: float
    ammoniacal: float
    phosphorus: float
    potassium: float
    carbon: float
    woody_share: float = 0.0

    def __post_init__(self) -> None:
        for name in ("nitrogen", "ammoniacal", "phosphorus", "potassium", "carbon", "dry_mass"):
            check_range(f"{name.capitalize()} of the batch", getattr(self, name), 0.0, 1e5, "kg")
        check_range("Volume of the batch", self.volume, 1e-6, 1e3, "m3")
        check_range("Mass of the batch", self.mass, 1e-6, 1e6, "kg")
        check_range("Share of chips", self.woody_share, 0.0, 1.0)
        if self.dry_mass > self.mass:
            raise InvalidInput(
                f"The dry mass {self.dry_mass:g} kg is more than the wet mass {self.mass:g} kg."
            )

    @property
    def c_to_n(self) -> float:
        """Mass of carbon over mass of nitrogen, infinite without nitrogen [-]."""
        return self.carbon / self.nitrogen if self.nitrogen > 0.0 else float("inf")


@dataclass(frozen=True)
class Feeding:
    """What a batch gives to plants.

    Attributes
    ----------
    nitrogen, phosphate, potash : float
        In the first year as N, P2O5, K2O [kg].
    nitrogen_share : float
        Of all its nitrogen in the first year [-].
    nitrogen_later : float
        In the second year [kg].
    words : str
        Why so.
    """

    nitrogen: float
    phosphate: float
    potash: float
    nitrogen_share: float
    nitrogen_later: float
    words: str


def feeding(batch: Batch) -> Feeding:
    """What a batch gives to plants in the first year, and nitrogen in the second.

    ::

        N_1 = a N,  a = 5 % (C:N > 20), 10 % (12 to 20), 15 % (< 12)
        N_2 = 3 % (N - N_1)
        P2O5_1 = 0.5 * 2.291 P,  K2O_1 = 0.8 * 1.205 K

    Parameters
    ----------
    batch : Batch
        With its own balance of nutrients.

    Returns
    -------
    Feeding

    Notes
    -----
    Shares from the ranges of a review (5 to 15 % of all nitrogen in the first year, 2 to 8 % of the
    rest a year); which of them by C:N is ours. Phosphate and potash from RB209, from memory. Cold
    or dry soil gives less.

    References
    ----------
    amlinger2003, ahdb2017

    Examples
    --------
    >>> made = feeding(Batch(0.1, 60.0, 30.0, 0.6, 0.02, 0.1, 0.3, 9.0))
    >>> round(made.nitrogen, 3), made.nitrogen_share
    (0.06, 0.1)
    """
    ratio = batch.c_to_n
    kind = 0 if ratio > WOODY_RATIO else 2 if ratio < RICH_RATIO else 1
    share = FIRST_YEAR[kind]
    first = share * batch.nitrogen
    told = ("woody", "mixed", "rich in food")[kind]
    words = (
        f"C:N {ratio:.0f}, {told}: about {100.0 * share:.0f} % of its nitrogen comes free in the "
        f"first year, {100.0 * LATER_YEARS:.0f} % of the rest a year later."
        if ratio < 1e3
        else "It holds hardly any nitrogen."
    )
    return Feeding(
        first,
        PHOSPHATE_FIRST_YEAR * PHOSPHATE_OF_PHOSPHORUS * batch.phosphorus,
        POTASH_FIRST_YEAR * POTASH_OF_POTASSIUM * batch.potassium,
        share,
        LATER_YEARS * (batch.nitrogen - first),
        words,
    )


@dataclass(frozen=True)
class LimitJudged:
    """A layer of compost beside a limit.

    Attributes
    ----------
    limit : Limit
        Whose.
    spread : float
        What the layer holds of the quantity [kg/m^2].
    most_depth : float
        Layer that just meets the limit for its years at once [m].
    met : bool
        Whether the layer stays within it.
    words : str
        The same in words.
    """

    limit: Limit
    spread: float
    most_depth: float
    met: bool
    words: str


def judge_limit(allowance: Limit, batch: Batch, depth: float) -> LimitJudged:
    """Whether a layer of a batch stays within a allowance.

    ::

        s = rho_q z,   z_max = L / rho_q

    with rho_q the nitrogen or dry matter in a cubic metre of the batch and L the limit.

    Parameters
    ----------
    allowance : Limit
        See `tables`.
    batch : Batch
        What is spread.
    depth : float
        Of the layer, usual range 0.001 to 0.08 [m].

    Returns
    -------
    LimitJudged

    Raises
    ------
    InvalidInput
        If the depth is outside 0 to 1 m.

    Notes
    -----
    Exact arithmetic. The limits bind farms; for a garden they are a yardstick, and local rules win.

    Examples
    --------
    >>> from slowfire.garden.tables import nitrogen_limits
    >>> green = Batch(1.0, 600.0, 360.0, 4.5, 0.1, 0.8, 3.4, 70.0)
    >>> found = judge_limit(nitrogen_limits()["UK_NVZ_FIELD"], green, 0.01)
    >>> round(1000.0 * found.most_depth, 1), found.met
    (5.6, False)
    """
    check_range("Depth of the layer", depth, 0.0, 1.0, "m")
    held = batch.nitrogen if allowance.quantity == NITROGEN else batch.dry_mass
    density = held / batch.volume
    most = allowance.amount / density if density > 0.0 else float("inf")
    spread = density * depth
    met = spread <= allowance.amount * (1.0 + 1e-9)
    what = "nitrogen" if allowance.quantity == NITROGEN else "dry matter"
    number = 1e4 * spread if allowance.quantity == NITROGEN else 10.0 * spread
    allowed = 1e4 * allowance.amount if allowance.quantity == NITROGEN else 10.0 * allowance.amount
    unit = "kg/ha" if allowance.quantity == NITROGEN else "t/ha"
    years = "a year" if allowance.years == 1.0 else f"in {allowance.years:g} years"
    words = (
        f"{allowance.name}: {number:.0f} {unit} of {what} in {1000.0 * depth:.0f} mm; the limit is "
        f"{allowed:g} {unit} {years}, met by {1000.0 * min(most, 9.999):.1f} mm."
    )
    return LimitJudged(allowance, spread, most, met, words)


def woody_advice(c_to_n: float, woody_share: float, dug_in: bool) -> str:
    """What chips left in compost mean for a bed.

    Parameters
    ----------
    c_to_n : float
        Of the batch, chips and all, usual range 10 to 60 [-].
    woody_share : float
        Of the volume, as chips [-].
    dug_in : bool
        Whether it is worked into the soil.

    Returns
    -------
    str
        A sentence; empty if there is nothing to mind.

    Raises
    ------
    InvalidInput
        If the C:N is not above 0 or the share outside 0 to 1.

    Notes
    -----
    Nitrogen is drawn for a while above C:N 30 and balances near 24 (forum note on microbial C:N,
    found second-hand); chips that lie on top draw none (garden extension notes). The words are
    ours.

    Examples
    --------
    >>> woody_advice(35.0, 0.4, dug_in=False)
    'Chips laid on top do no harm.'
    """
    check_range("C:N", c_to_n, 1e-6, 1e6)
    check_range("Share of chips", woody_share, 0.0, 1.0)
    if not dug_in:
        return "Chips laid on top do no harm." if woody_share > 0.1 else ""
    if c_to_n > DRAWING_RATIO:
        return (
            f"C:N {min(c_to_n, 999):.0f}: dug in, it draws nitrogen from the soil for a season; "
            "lay it on top, or sieve the chips out."
        )
    if c_to_n > BALANCE_RATIO or woody_share > 0.25:
        return "Sieve the chips out before it is dug in, or expect it to hold back some nitrogen."
    return ""


def potting_share(hungry: bool, conductivity_ms_per_cm: float | None = None) -> tuple[float, str]:
    """Largest share of compost in a mix for pots.

    Parameters
    ----------
    hungry : bool
        For crops that feed heavily, such as tomatoes.
    conductivity_ms_per_cm : float or None
        Of the compost, 1 part to 5 of water, usual range 0.5 to 8 [mS/cm]; None if unknown.

    Returns
    -------
    tuple of (float, str)
        Share of the volume [-], and why.

    Raises
    ------
    InvalidInput
        If the conductivity is outside 0 to 60 mS/cm.

    Notes
    -----
    10 to 20 % is safe and 20 to 33 % the usual upper share (garden note, found second-hand); up to
    half for hungry crops is common practice, no source. Salt above 4 mS/cm harms most plants.

    Examples
    --------
    >>> potting_share(hungry=False)[0]
    0.2
    """
    share, words = (0.5, "up to half, for hungry crops") if hungry else (0.2, "up to a fifth")
    if conductivity_ms_per_cm is not None:
        check_range("Conductivity", conductivity_ms_per_cm, 0.0, 60.0, "mS/cm")
        if conductivity_ms_per_cm > 4.0:
            return 0.1, "a tenth at most: it is salty (above 4 mS/cm)"
    return share, words


def yield_share(wet_in: float, wet_out: float) -> float:
    """Wet mass that comes out over what went in.

    Y = m_out / m_in

    Parameters
    ----------
    wet_in : float
        All that was loaded, paper and chips too [kg].
    wet_out : float
        All that was dug out [kg].

    Returns
    -------
    float
        [-]; food-type waste gives 0.3 to 0.6.

    Raises
    ------
    InvalidInput
        If nothing went in.

    Notes
    -----
    Exact. The range depends on how wet it comes out: a household unit gave 0.59 over 13 months.

    Examples
    --------
    >>> round(yield_share(179.7, 106.7), 2)
    0.59
    """
    check_range("What went in", wet_in, 1e-6, 1e7, "kg")
    check_range("What came out", wet_out, 0.0, 1e7, "kg")
    return wet_out / wet_in
