"""Potential rates of breakdown in every layer, averaged over the cross-section."""

import numpy as np

from slowfire.biology import anoxia, kinetics, nitrogen
from slowfire.column.compiled import exponential, jit, scalar
from slowfire.column.draft import (
    AIR_SPACE,
    AIRY,
    CORE_DEMAND,
    DEMAND,
    DIAGONAL,
    DRY,
    EATEN,
    GROWTH,
    HEAT,
    INVERSE,
    MIDDLE,
    MOISTURE,
    NITRIFICATION,
    OFFSET,
    PH,
    RATE_RAPID,
    RATE_RESISTANT,
    RATE_SLOW,
    RATE_WOOD,
    SATURATED,
    SATURATED_SLOPE,
    SCRATCH_A,
    SCRATCH_B,
    SCRATCH_C,
    SCRATCH_D,
    SKEW,
    TEMPERATURE_NEW,
    WARMTH,
    WET,
)
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ACCLIMATION,
    ACIDS,
    ASH,
    CENTRE_MINUS_EDGE,
    N_AMMONIACAL,
    N_NITRATE,
    N_RAPID,
    N_RESISTANT,
    N_SLOW,
    N_WOOD,
    OXYGEN,
    RAPID,
    RESISTANT,
    SLOW,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    WATER,
    WOOD,
)
from slowfire.constants import MOLAR_MASS_OXYGEN

DAY = 86400.0
# Simpson's rule by area: across a parabola equal areas have equal steps of temperature.
END_OFFSET = 0.5  # of the span, from the mean to the centre or the edge
MIDDLE_SHARE = 4.0 / 6.0
END_SHARE = 1.0 / 6.0
AMMONIA_PER_NITROGEN = 17.031 / 14.007  # mass of NH3 carried per mass of N
CLOD_SHAPE = 6.0  # narrowness of the sizes of clods [-]
ANOXIC_HALF = 0.02  # oxygen at which half the crumb is airless, by volume [-]
OXYGEN_PER_NITRIFIED = 4.0 * 15.999 / 14.007  # NH3 + 2 O2 -> HNO3 + H2O

_rosso = scalar(kinetics.temperature_factor_rosso)
_haug = scalar(kinetics.temperature_factor_haug)
_moisture = scalar(kinetics.moisture_factor_haug)
_ph = scalar(kinetics.acidity_ph)
_acid = scalar(kinetics.acid_factor_sundberg)
_nitrogen = scalar(kinetics.nitrogen_factor)
_nitrification = scalar(nitrogen.nitrification_factor)
_critical_radius = scalar(anoxia.critical_clod_radius)
_airless_share = scalar(anoxia.airless_share)
_aired_share = scalar(anoxia.aired_share)


@jit
def temperature_factor(temperature: float, parameters: Parameters) -> float:
    """f_T: the best of a hot, a warm and a cold community."""
    p = parameters
    hot = _rosso(temperature, p.thermophile_minimum, p.thermophile_optimum, p.thermophile_maximum)
    warm = p.mesophile_weight * _rosso(
        temperature, p.mesophile_minimum, p.mesophile_optimum, p.mesophile_maximum
    )
    cold = p.cold_weight * _rosso(temperature, p.cold_minimum, p.cold_optimum, p.cold_maximum)
    return max(hot, warm, cold)


@jit
def favourable(warm_and_wet: float, oxygen_term: float, air_space: float) -> float:
    """How well the community does, 0 to about 1: warmth, water, oxygen, open pores."""
    return warm_and_wet * oxygen_term * min(air_space / 0.12, 1.0)


@jit
def acclimated(start: float, favour: float, days: float, parameters: Parameters) -> float:
    """Acclimation after `days`: logistic growth less fading, in closed form."""
    growth = parameters.acclimation_growth * favour
    fading = parameters.acclimation_decay * max(1.0 - 4.0 * favour, 0.0)
    net = growth - fading
    # da/dt = net a - growth a^2; where nothing is net, (rise - 1) / net tends to `days`
    still = abs(net * days) < 1e-9
    net = 1e-9 / days if still else net
    rise = exponential(net * days)
    value = start * rise / (1.0 + growth * start * (rise - 1.0) / net)
    return max(min(value, 1.0), parameters.acclimation_floor)


@jit
def point_factors(
    factors: np.ndarray,
    layers: int,
    side: float,
    weight: float,
    parameters: Parameters,
    work: np.ndarray,
) -> None:
    """Factor of temperature and acids at one point of every section, added up with its weight."""
    middles = work[MIDDLE]
    offsets = work[OFFSET]
    phs = work[PH]
    growths = work[GROWTH]
    warmths = work[WARMTH]
    points = work[SCRATCH_D]
    # loops of few rows each, which the compiler turns into vectors
    for i in range(layers):
        points[i] = middles[i] + side * offsets[i]
    for i in range(layers):
        factors[i] = temperature_factor(points[i], parameters)
    if parameters.haug_weight > 0.0:
        # blended with the handbook curve
        for i in range(layers):
            factors[i] += parameters.haug_weight * (_haug(points[i]) - factors[i])
    for i in range(layers):
        growths[i] += weight * factors[i]
    for i in range(layers):
        factors[i] *= _acid(points[i], phs[i])
    for i in range(layers):
        warmths[i] += weight * factors[i]


@jit
def section_rates(state: np.ndarray, layers: int, parameters: Parameters, work: np.ndarray) -> None:
    """Factor of temperature, with and without that of acids, averaged over the cross-section."""
    p = parameters
    middles = work[MIDDLE]
    offsets = work[OFFSET]
    phs = work[PH]
    growths = work[GROWTH]
    warmths = work[WARMTH]
    skews = work[SKEW]
    growths[:] = 0.0
    warmths[:] = 0.0
    dry = work[DRY]
    for i in range(layers):
        middles[i] = 1.5 * state[i, TEMPERATURE] - 0.5 * state[i, TEMPERATURE_BEFORE]
        offsets[i] = END_OFFSET * state[i, CENTRE_MINUS_EDGE]
    for i in range(layers):
        # both divided by the dry mass in the formula
        phs[i] = _ph(state[i, ACIDS], p.ph_base, p.ph_acid, p.acid_half * (dry[i] + 1e-12))
    outer = work[SCRATCH_A]
    inner = work[SCRATCH_C]
    point_factors(outer, layers, -1.0, END_SHARE, p, work)
    point_factors(work[SCRATCH_B], layers, 0.0, MIDDLE_SHARE, p, work)
    point_factors(inner, layers, 1.0, END_SHARE, p, work)
    for i in range(layers):
        # a centre past its best falls back by what its own heat lacks of the mean; one that makes
        # more than the mean is evened out by its neighbours above and below
        skew = 2.0 * (inner[i] / max(warmths[i], 1e-300) - 1.0)
        skews[i] = skew if skew < 0.0 < offsets[i] else 0.0


@jit
def potential_rates(
    state: np.ndarray,
    layers: int,
    parameters: Parameters,
    oxygen_yield: np.ndarray,
    time_step: float,
    work: np.ndarray,
) -> None:
    """Breakdown of each pool at full oxygen [kg/s], and the oxygen it would use."""
    p = parameters
    section_rates(state, layers, p, work)
    # short loops over rows of the work array, which the compiler turns into vectors
    moisture = work[MOISTURE]
    air_space = work[AIR_SPACE]
    wets = work[WET]
    growths = work[GROWTH]
    for i in range(layers):
        wets[i] = _moisture(moisture[i])
    for i in range(layers):
        growths[i] = min(growths[i], 1.4) * wets[i]
    # the community half a step on, with the oxygen of now
    communities = work[SCRATCH_A]
    favours = work[SCRATCH_B]
    half = 0.5 * time_step / DAY
    for i in range(layers):
        communities[i] = state[i, ACCLIMATION]
        favours[i] = state[i, OXYGEN]
    for i in range(layers):
        term = favours[i] / (favours[i] + p.oxygen_half_saturation)
        favours[i] = favourable(growths[i], term, air_space[i])
    for i in range(layers):
        communities[i] = acclimated(communities[i], favours[i], half, p)
    a = AMMONIA_PER_NITROGEN
    warmth = work[WARMTH]
    common = work[SCRATCH_B]
    for i in range(layers):
        # a common divisor is multiplied away: f = r / (r + K) with r a ratio of masses
        reach = state[i, N_AMMONIACAL] + state[i, N_NITRATE] + state[i, N_RAPID]
        fed = _nitrogen(reach, p.nitrogen_half * (state[i, RAPID] + state[i, SLOW] + 1e-12))
        common[i] = warmth[i] * wets[i] / DAY * communities[i] * fed
    nitrify = work[NITRIFICATION]
    for i in range(layers):
        open_wet = wets[i] / DAY
        warm = p.nitrification_rate * _nitrification(state[i, TEMPERATURE])
        nitrify[i] = warm * open_wet * state[i, N_AMMONIACAL]
    rapid = work[RATE_RAPID]
    slow = work[RATE_SLOW]
    resistant = work[RATE_RESISTANT]
    wood = work[RATE_WOOD]
    demand = work[DEMAND]
    # nitrogen leaves as ammonia and part of what is eaten stays as humus
    unbound = 1.0 - p.humus_yield
    for i in range(layers):
        eaten = oxygen_yield[0] * (p.rate_rapid * common[i])
        eaten *= state[i, RAPID] - a * state[i, N_RAPID]
        less = oxygen_yield[1] * (p.rate_slow * common[i])
        eaten += less * (state[i, SLOW] - a * state[i, N_SLOW])
        demand[i] = OXYGEN_PER_NITRIFIED * nitrify[i] + unbound * eaten
    for i in range(layers):
        burnt = oxygen_yield[2] * (p.rate_resistant * common[i])
        burnt *= state[i, RESISTANT] - a * state[i, N_RESISTANT]
        less = oxygen_yield[3] * (p.rate_wood * common[i])
        burnt += less * (state[i, WOOD] - a * state[i, N_WOOD])
        demand[i] = max(demand[i] + burnt, 0.0)
    for i in range(layers):
        rapid[i] = p.rate_rapid * common[i] * state[i, RAPID]
        slow[i] = p.rate_slow * common[i] * state[i, SLOW]
    for i in range(layers):
        resistant[i] = p.rate_resistant * common[i] * state[i, RESISTANT]
        wood[i] = p.rate_wood * common[i] * state[i, WOOD]
    air_clods(state, layers, p, work)


@jit
def air_clods(state: np.ndarray, layers: int, parameters: Parameters, work: np.ndarray) -> None:
    """Slow all rates to what oxygen reaches in wet clods; leave what their cores ask for.

    Clods grow with how full of water the stuff is and with how far its air ways lie apart.
    """
    p = parameters
    radii = work[SCRATCH_A]
    critical = work[SCRATCH_B]
    oxygen = work[SCRATCH_C]
    temperature = work[SCRATCH_D]
    airys = work[AIRY]
    cores = work[CORE_DEMAND]
    demand = work[DEMAND]
    air_space = work[AIR_SPACE]
    for i in range(layers):
        held = p.hold_rapid * state[i, RAPID] + p.hold_slow * (state[i, SLOW] + state[i, RESISTANT])
        held += p.hold_ash * state[i, ASH] + 1e-12
        radii[i] = p.clod_radius * min(state[i, WATER] / held, 1.5)
        volume = (state[i, WATER] + held / p.hold_slow) / 1000.0
        critical[i] = demand[i] / (MOLAR_MASS_OXYGEN * volume)
    for i in range(layers):
        oxygen[i] = state[i, OXYGEN]
        temperature[i] = state[i, TEMPERATURE]
    # loops of few rows each, which the compiler turns into vectors
    for i in range(layers):
        pores = max(air_space[i], 0.02)
        radii[i] *= np.sqrt((1.0 - pores) / pores)
    for i in range(layers):
        critical[i] = _critical_radius(critical[i], oxygen[i], temperature[i], 0.5)
    for i in range(layers):
        airys[i] = _aired_share(radii[i], critical[i])
    for i in range(layers):
        cores[i] = _airless_share(radii[i], critical[i], CLOD_SHAPE)
    for i in range(layers):
        cores[i] *= demand[i]
    for k in range(5):
        rates = work[RATE_RAPID + k]
        for i in range(layers):
            rates[i] *= airys[i]
    for i in range(layers):
        demand[i] *= airys[i]


@jit
def eat_pools(
    state: np.ndarray,
    layers: int,
    time_step: float,
    oxygen_terms: np.ndarray,
    work: np.ndarray,
) -> None:
    """Take from each pool what is eaten at the oxygen found, with its nitrogen and acids.

    The rows of the rates hold what is lost afterwards [kg], those from EATEN on its nitrogen.
    """
    for pool in range(4):
        lost = work[RATE_RAPID + pool]
        eaten = work[EATEN + pool]
        mass = RAPID + pool
        nitrogen_held = N_RAPID + pool
        for i in range(layers):
            lost[i] *= oxygen_terms[i] * time_step
        for i in range(layers):
            # the part of the pool for now
            eaten[i] = lost[i] / max(state[i, mass], 1e-300)
        if pool == 0:
            for i in range(layers):
                state[i, ACIDS] -= state[i, ACIDS] * min(eaten[i], 1.0)
        for i in range(layers):
            eaten[i] *= state[i, nitrogen_held]
        for i in range(layers):
            state[i, mass] -= lost[i]
            state[i, nitrogen_held] -= eaten[i]


@jit
def advance_pools(
    state: np.ndarray,
    layers: int,
    parameters: Parameters,
    yields: np.ndarray,
    time_step: float,
    oxygen_terms: np.ndarray,
    work: np.ndarray,
    totals: np.ndarray,
) -> None:
    """Break the pools down at the oxygen found; make water, ammonia, humus nitrogen and acids.

    `totals` receives oxygen used, CO2 made, water made, heat, loss of each pool, nitrogen
    nitrified and denitrified, nitrate lost. Leaves heat [W] and CO2 [kg/s] in HEAT and SCRATCH_D.
    """
    p = parameters
    a = AMMONIA_PER_NITROGEN
    day = time_step / DAY
    growth = work[GROWTH]
    eat_pools(state, layers, time_step, oxygen_terms, work)
    lost_rapid = work[RATE_RAPID]
    lost_slow = work[RATE_SLOW]
    lost_resistant = work[RATE_RESISTANT]
    lost_wood = work[RATE_WOOD]
    eaten_rapid = work[EATEN]
    eaten_slow = work[EATEN + 1]
    eaten_resistant = work[EATEN + 2]
    eaten_wood = work[EATEN + 3]
    used = work[HEAT]
    made = work[SCRATCH_D]
    # rows that heat and vapour write afresh later on
    water = work[INVERSE]
    lost = work[DIAGONAL]
    ammoniacal = work[SATURATED]
    uptake = work[TEMPERATURE_NEW]
    denitrified = work[SATURATED_SLOPE]
    nitrified = work[NITRIFICATION]
    aired = work[AIRY]
    # part of what is eaten turns into cells and humus, with its nitrogen
    kept = p.humus_yield
    burnt = 1.0 - kept
    for i in range(layers):
        rapid = burnt * (lost_rapid[i] - a * eaten_rapid[i])
        slow = burnt * (lost_slow[i] - a * eaten_slow[i])
        used[i] = yields[0, 0] * rapid + yields[0, 1] * slow
        made[i] = yields[1, 0] * rapid + yields[1, 1] * slow
        water[i] = yields[2, 0] * rapid + yields[2, 1] * slow
    for i in range(layers):
        resistant = lost_resistant[i] - a * eaten_resistant[i]
        wood = lost_wood[i] - a * eaten_wood[i]
        used[i] += yields[0, 2] * resistant + yields[0, 3] * wood
        made[i] += yields[1, 2] * resistant + yields[1, 3] * wood
        water[i] += yields[2, 2] * resistant + yields[2, 3] * wood
    for i in range(layers):
        lost[i] = lost_rapid[i] + lost_slow[i] + lost_resistant[i] + lost_wood[i]
    for i in range(layers):
        ammoniacal[i] = burnt * (eaten_rapid[i] + eaten_slow[i])
        ammoniacal[i] += eaten_resistant[i] + eaten_wood[i] + state[i, N_AMMONIACAL]
    # near the upper limit of life little grows on what is eaten
    for i in range(layers):
        uptake[i] = 1.0 / (1.0 + exponential((state[i, TEMPERATURE] - p.growth_ceiling) / 2.5))
    for i in range(layers):
        uptake[i] = min(p.nitrogen_uptake * uptake[i] * lost[i], 0.5 * ammoniacal[i])
    for i in range(layers):
        state[i, N_RESISTANT] += kept * (eaten_rapid[i] + eaten_slow[i]) + uptake[i]
    humus = lost
    for i in range(layers):
        humus[i] = kept * (lost_rapid[i] + lost_slow[i]) + a * uptake[i]
        state[i, RESISTANT] += humus[i]
    for i in range(layers):
        left = ammoniacal[i] - uptake[i]
        nitrified[i] = min(nitrified[i] * oxygen_terms[i] * time_step, 0.5 * left)
        state[i, N_AMMONIACAL] = left - nitrified[i]
    for i in range(layers):
        # nitrate is breathed where pores or crumbs lack oxygen and leaves as dinitrogen
        airless = 1.0 - aired[i] * state[i, OXYGEN] / (ANOXIC_HALF + state[i, OXYGEN])
        denitrified[i] = min(p.denitrification_rate * growth[i] * airless * day, 0.5)
    for i in range(layers):
        nitrate = state[i, N_NITRATE] + nitrified[i]
        denitrified[i] *= nitrate
        state[i, N_NITRATE] = nitrate - denitrified[i]
    for i in range(layers):
        used[i] += OXYGEN_PER_NITRIFIED * nitrified[i]
        water[i] += 18.015 / 14.007 * nitrified[i]
        state[i, WATER] += water[i]
    oxygen_used = 0.0
    for i in range(layers):
        oxygen_used += used[i]
        totals[1] += made[i]
        totals[2] += water[i]
        totals[4] += lost_rapid[i]
        totals[5] += lost_slow[i]
        totals[6] += lost_resistant[i] - humus[i]
        totals[7] += lost_wood[i]
        totals[8] += nitrified[i] + denitrified[i]
        totals[9] += denitrified[i]
    totals[0] += oxygen_used
    totals[3] += p.heat_per_oxygen * oxygen_used
    for i in range(layers):
        used[i] *= p.heat_per_oxygen / time_step
        made[i] /= time_step
    grow_community(state, layers, p, day, oxygen_terms, work)


@jit
def grow_community(
    state: np.ndarray,
    layers: int,
    parameters: Parameters,
    days: float,
    oxygen_terms: np.ndarray,
    work: np.ndarray,
) -> None:
    """Acids form from the rapid pool where air is short and burn off where it is not.

    The community grows as a logistic and fades when cold, dry or airless.
    """
    p = parameters
    growth = work[GROWTH]
    air_space = work[AIR_SPACE]
    # the rates have been used up, their rows are free
    cools = work[RATE_RAPID]
    favours = work[RATE_SLOW]
    for i in range(layers):
        cools[i] = 1.0 / (1.0 + exponential((state[i, TEMPERATURE] - 44.0) / 2.0))
    for i in range(layers):
        favours[i] = favourable(growth[i], oxygen_terms[i], air_space[i])
    for i in range(layers):
        state[i, ACCLIMATION] = acclimated(state[i, ACCLIMATION], favours[i], days, p)
    for i in range(layers):
        acids = state[i, ACIDS]
        airy = oxygen_terms[i]
        warm = growth[i] * days
        formed = p.acid_production * warm * (1.0 - airy) * (0.1 * state[i, RAPID] - acids)
        burning = p.acid_burning * airy * (0.15 + 0.85 * cools[i]) * warm * acids
        most = 0.5 * state[i, RAPID]
        state[i, ACIDS] = min(max(acids + max(formed, 0.0) - burning, 0.0), most)
