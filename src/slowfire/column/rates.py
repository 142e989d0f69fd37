"""Potential rates of breakdown in every layer, averaged over the cross-section."""

import numpy as np

from slowfire.biology import anoxia, kinetics, nitrogen
from slowfire.column.compiled import exponential, jit, scalar
from slowfire.column.draft import (
    AIR_SPACE,
    AIRY,
    CORE_DEMAND,
    DEMAND,
    DRY,
    GROWTH,
    MIDDLE,
    MOISTURE,
    NITRIFICATION,
    OFFSET,
    PH,
    RATE_RAPID,
    RATE_RESISTANT,
    RATE_SLOW,
    RATE_WOOD,
    SCRATCH_A,
    SCRATCH_B,
    SCRATCH_C,
    SCRATCH_D,
    SKEW,
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
    for i in range(layers):
        row = state[i]
        middles[i] = 1.5 * row[TEMPERATURE] - 0.5 * row[TEMPERATURE_BEFORE]
        offsets[i] = END_OFFSET * row[CENTRE_MINUS_EDGE]
        # both divided by the dry mass in the formula
        phs[i] = _ph(row[ACIDS], p.ph_base, p.ph_acid, p.acid_half * (work[DRY, i] + 1e-12))
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
    for i in range(layers):
        row = state[i]
        # a common divisor is multiplied away: f = r / (r + K) with r a ratio of masses
        reach = row[N_AMMONIACAL] + row[N_NITRATE] + row[N_RAPID]
        fed = _nitrogen(reach, p.nitrogen_half * (row[RAPID] + row[SLOW] + 1e-12))
        open_wet = work[WET, i] / DAY
        common = work[WARMTH, i] * open_wet * communities[i] * fed
        rapid = p.rate_rapid * common
        slow = p.rate_slow * common
        resistant = p.rate_resistant * common
        wood = p.rate_wood * common
        work[RATE_RAPID, i] = rapid * row[RAPID]
        work[RATE_SLOW, i] = slow * row[SLOW]
        work[RATE_RESISTANT, i] = resistant * row[RESISTANT]
        work[RATE_WOOD, i] = wood * row[WOOD]
        nitrify = (
            p.nitrification_rate * _nitrification(row[TEMPERATURE]) * open_wet * row[N_AMMONIACAL]
        )
        work[NITRIFICATION, i] = nitrify
        # nitrogen leaves as ammonia and part of what is eaten stays as humus
        eaten = oxygen_yield[0] * rapid * (row[RAPID] - a * row[N_RAPID])
        eaten += oxygen_yield[1] * slow * (row[SLOW] - a * row[N_SLOW])
        burnt = oxygen_yield[2] * resistant * (row[RESISTANT] - a * row[N_RESISTANT])
        burnt += oxygen_yield[3] * wood * (row[WOOD] - a * row[N_WOOD])
        demand = OXYGEN_PER_NITRIFIED * nitrify + (1.0 - p.humus_yield) * eaten + burnt
        work[DEMAND, i] = max(demand, 0.0)
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
        row = state[i]
        held = p.hold_rapid * row[RAPID] + p.hold_slow * (row[SLOW] + row[RESISTANT])
        held += p.hold_ash * row[ASH] + 1e-12
        radii[i] = p.clod_radius * min(row[WATER] / held, 1.5)
        volume = (row[WATER] + held / p.hold_slow) / 1000.0
        critical[i] = demand[i] / (MOLAR_MASS_OXYGEN * volume)
        oxygen[i] = row[OXYGEN]
        temperature[i] = row[TEMPERATURE]
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
def advance_pools(
    state: np.ndarray,
    layers: int,
    parameters: Parameters,
    yields: np.ndarray,
    time_step: float,
    oxygen_terms: np.ndarray,
    growth: np.ndarray,
    rates: np.ndarray,
    air_space: np.ndarray,
    aired: np.ndarray,
    heat: np.ndarray,
    carbon_dioxide: np.ndarray,
    totals: np.ndarray,
) -> None:
    """Break the pools down at the oxygen found; make water, ammonia, humus nitrogen and acids.

    `rates` holds rapid, slow, resistant, wood and nitrification rows. `totals` receives oxygen
    used, CO2 made, water made, heat, loss of each pool, nitrogen nitrified and denitrified,
    nitrate lost.
    """
    p = parameters
    a = AMMONIA_PER_NITROGEN
    day = time_step / DAY
    oxygen_used = 0.0
    # near the upper limit of life little grows on what is eaten
    thrift = carbon_dioxide
    for i in range(layers):
        thrift[i] = state[i, TEMPERATURE]
    for i in range(layers):
        thrift[i] = 1.0 / (1.0 + exponential((thrift[i] - p.growth_ceiling) / 2.5))
    for i in range(layers):
        row = state[i]
        term = oxygen_terms[i]
        used = 0.0
        made = 0.0
        water = 0.0
        lost = 0.0
        mineralised = 0.0
        humus = 0.0
        humus_nitrogen = 0.0
        for pool in range(4):
            mass = row[RAPID + pool]
            loss = rates[pool, i] * term * time_step
            part = loss / max(mass, 1e-300)
            # part of what is eaten turns into cells and humus, with its nitrogen
            kept = p.humus_yield if pool < 2 else 0.0
            eaten = row[N_RAPID + pool] * part
            bound = (1.0 - kept) * eaten
            burnt = (1.0 - kept) * loss - a * bound
            used += yields[0, pool] * burnt
            made += yields[1, pool] * burnt
            water += yields[2, pool] * burnt
            if pool == 0:
                row[ACIDS] -= row[ACIDS] * min(part, 1.0)
            row[RAPID + pool] = mass - loss
            row[N_RAPID + pool] -= eaten
            humus += kept * loss
            humus_nitrogen += kept * eaten
            mineralised += bound
            lost += loss
            totals[4 + pool] += loss
        # only now, so that each pool burns in the proportions its demand was reckoned with
        row[RESISTANT] += humus
        row[N_RESISTANT] += humus_nitrogen
        ammoniacal = row[N_AMMONIACAL] + mineralised
        uptake = min(p.nitrogen_uptake * thrift[i] * lost, 0.5 * ammoniacal)
        ammoniacal -= uptake
        row[N_RESISTANT] += uptake
        row[RESISTANT] += a * uptake
        totals[6] -= humus + a * uptake
        nitrified = min(rates[4, i] * term * time_step, 0.5 * ammoniacal)
        row[N_AMMONIACAL] = ammoniacal - nitrified
        nitrate = row[N_NITRATE] + nitrified
        # nitrate is breathed where pores or crumbs lack oxygen and leaves as dinitrogen
        airless = 1.0 - aired[i] * row[OXYGEN] / (ANOXIC_HALF + row[OXYGEN])
        denitrified = nitrate * min(p.denitrification_rate * growth[i] * airless * day, 0.5)
        row[N_NITRATE] = nitrate - denitrified
        used += OXYGEN_PER_NITRIFIED * nitrified
        water += 18.015 / 14.007 * nitrified
        heat[i] = p.heat_per_oxygen * used / time_step
        carbon_dioxide[i] = made / time_step
        row[WATER] += water
        totals[0] += used
        oxygen_used += used
        totals[1] += made
        totals[2] += water
        totals[8] += nitrified + denitrified
        totals[9] += denitrified
    totals[3] += p.heat_per_oxygen * oxygen_used
    # the rates have been used up, their rows are free
    grow_community(state, layers, p, day, oxygen_terms, growth, air_space, rates)


@jit
def grow_community(
    state: np.ndarray,
    layers: int,
    parameters: Parameters,
    days: float,
    oxygen_terms: np.ndarray,
    growth: np.ndarray,
    air_space: np.ndarray,
    scratch: np.ndarray,
) -> None:
    """Acids form from the rapid pool where air is short and burn off where it is not.

    The community grows as a logistic and fades when cold, dry or airless.
    """
    p = parameters
    cools = scratch[0]
    favours = scratch[1]
    communities = scratch[2]
    for i in range(layers):
        cools[i] = state[i, TEMPERATURE]
        communities[i] = state[i, ACCLIMATION]
    for i in range(layers):
        cools[i] = 1.0 / (1.0 + exponential((cools[i] - 44.0) / 2.0))
    for i in range(layers):
        favours[i] = favourable(growth[i], oxygen_terms[i], air_space[i])
    for i in range(layers):
        communities[i] = acclimated(communities[i], favours[i], days, p)
    for i in range(layers):
        row = state[i]
        acids = row[ACIDS]
        airy = oxygen_terms[i]
        warm = growth[i] * days
        formed = p.acid_production * warm * (1.0 - airy) * (0.1 * row[RAPID] - acids)
        burning = p.acid_burning * airy * (0.15 + 0.85 * cools[i]) * warm * acids
        row[ACIDS] = min(max(acids + max(formed, 0.0) - burning, 0.0), 0.5 * row[RAPID])
        row[ACCLIMATION] = communities[i]
