"""Potential rates of breakdown in every layer, averaged over the cross-section."""

import numpy as np

from slowfire.biology import kinetics, nitrogen
from slowfire.column.compiled import jit, scalar
from slowfire.column.draft import (
    AIR_SPACE,
    DEMAND,
    DRY,
    GROWTH,
    MOISTURE,
    NITRIFICATION,
    RATE_RAPID,
    RATE_RESISTANT,
    RATE_SLOW,
    RATE_WOOD,
    SKEW,
)
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ACCLIMATION,
    ACIDS,
    CENTRE_MINUS_EDGE,
    N_AMMONIACAL,
    N_NITRATE,
    N_RAPID,
    N_RESISTANT,
    OXYGEN,
    RAPID,
    RESISTANT,
    SLOW,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    WATER,
    WOOD,
)

DAY = 86400.0
# Three-point Gauss rule by area on a parabola: mean and mean +- 0.775 of half the span.
GAUSS_OFFSET = 0.7745966692414834 / 2.0
GAUSS_MIDDLE = 8.0 / 18.0
GAUSS_SIDE = 5.0 / 18.0
AMMONIA_PER_NITROGEN = 17.031 / 14.007  # mass of NH3 carried per mass of N
ANOXIC_HALF = 0.02  # oxygen at which half the crumb is airless, by volume [-]
OXYGEN_PER_NITRIFIED = 4.0 * 15.999 / 14.007  # NH3 + 2 O2 -> HNO3 + H2O

_rosso = scalar(kinetics.temperature_factor_rosso)
_haug = scalar(kinetics.temperature_factor_haug)
_moisture = scalar(kinetics.moisture_factor_haug)
_air_space = scalar(kinetics.free_air_space_factor_haug)
_ph = scalar(kinetics.acidity_ph)
_acid = scalar(kinetics.acid_factor_sundberg)
_nitrogen = scalar(kinetics.nitrogen_factor)
_nitrification = scalar(nitrogen.nitrification_factor)


@jit
def temperature_factor(temperature: float, parameters: Parameters) -> float:
    """f_T: the better of a hot and a warm community, blended with the handbook curve."""
    p = parameters
    hot = _rosso(temperature, p.thermophile_minimum, p.thermophile_optimum, p.thermophile_maximum)
    warm = 0.0
    if p.mesophile_minimum < temperature < p.mesophile_maximum:
        warm = p.mesophile_weight * _rosso(
            temperature, p.mesophile_minimum, p.mesophile_optimum, p.mesophile_maximum
        )
    factor = max(hot, warm)
    if p.haug_weight > 0.0:
        factor = (1.0 - p.haug_weight) * factor + p.haug_weight * _haug(temperature)
    return factor


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
    # da/dt = net a - growth a^2
    if abs(net * days) < 1e-9:
        value = start / (1.0 + growth * start * days)
    else:
        rise = np.exp(net * days)
        value = start * rise / (1.0 + growth / net * start * (rise - 1.0))
    return max(min(value, 1.0), parameters.acclimation_floor)


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
    for i in range(layers):
        row = state[i]
        dry = work[DRY, i]
        organic = row[RAPID] + row[SLOW] + row[RESISTANT]
        middle = row[TEMPERATURE] + 0.5 * (row[TEMPERATURE] - row[TEMPERATURE_BEFORE])
        offset = GAUSS_OFFSET * row[CENTRE_MINUS_EDGE]
        ph = _ph(row[ACIDS] / (dry + 1e-12), p.ph_base, p.ph_acid, p.acid_half)
        warmth = 0.0
        growth = 0.0
        inner = 0.0
        outer = 0.0
        for k in range(3):
            t = middle + (k - 1) * offset
            weight = GAUSS_MIDDLE if k == 1 else GAUSS_SIDE
            f = temperature_factor(t, p)
            growth += weight * f
            if ph < 6.3 and t > 38.0:
                f *= _acid(t, ph)
            warmth += weight * f
            if k == 0:
                outer = f
            elif k == 2:
                inner = f
        # least-squares line through the three points, over the mean, no steeper than leaves heat
        # positive; only a centre past its best counts, the rest evens out with the neighbours
        skew = (inner - outer) / (2.0 * GAUSS_OFFSET) / warmth if warmth > 0.0 else 0.0
        past_best = skew < 0.0 and row[CENTRE_MINUS_EDGE] > 0.0
        work[SKEW, i] = max(skew, -2.0) if past_best else 0.0
        wet = _moisture(work[MOISTURE, i])
        airy = _air_space(work[AIR_SPACE, i])
        reach = (row[N_AMMONIACAL] + row[N_NITRATE] + row[N_RAPID]) / (
            row[RAPID] + row[SLOW] + 1e-12
        )
        fed = _nitrogen(reach, p.nitrogen_half)
        # the community half a step on, with the oxygen of now
        term = row[OXYGEN] / (row[OXYGEN] + p.oxygen_half_saturation)
        favour = favourable(min(growth, 1.4) * wet, term, work[AIR_SPACE, i])
        community = acclimated(row[ACCLIMATION], favour, 0.5 * time_step / DAY, p)
        common = warmth * wet * airy * community * fed / DAY
        work[RATE_RAPID, i] = p.rate_rapid * common * row[RAPID]
        work[RATE_SLOW, i] = p.rate_slow * common * row[SLOW]
        work[RATE_RESISTANT, i] = p.rate_resistant * common * row[RESISTANT]
        work[RATE_WOOD, i] = p.rate_wood * common * row[WOOD]
        work[GROWTH, i] = min(growth, 1.4) * wet
        nitrify = (
            p.nitrification_rate
            / DAY
            * _nitrification(row[TEMPERATURE])
            * wet
            * airy
            * row[N_AMMONIACAL]
        )
        work[NITRIFICATION, i] = nitrify
        a = AMMONIA_PER_NITROGEN
        work[DEMAND, i] = OXYGEN_PER_NITRIFIED * nitrify
        if organic > 0.0 or row[WOOD] > 0.0:
            for pool in range(4):
                mass = row[RAPID + pool]
                if mass > 0.0:
                    share = 1.0 - a * row[N_RAPID + pool] / mass
                    if pool < 2:
                        share *= 1.0 - p.humus_yield
                    work[DEMAND, i] += oxygen_yield[pool] * work[RATE_RAPID + pool, i] * share
        work[DEMAND, i] = max(work[DEMAND, i], 0.0)


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
    heat: np.ndarray,
    carbon_dioxide: np.ndarray,
    totals: np.ndarray,
) -> None:
    """Break the pools down at the oxygen found; make water, ammonia, humus nitrogen and acids.

    `rates` holds rapid, slow, resistant, wood and nitrification rows. `totals` receives oxygen
    used, CO2 made, water made, heat, loss of each pool, nitrogen turned over, oxygen missing.
    """
    p = parameters
    a = AMMONIA_PER_NITROGEN
    day = time_step / DAY
    for i in range(layers):
        row = state[i]
        term = oxygen_terms[i]
        used = 0.0
        made = 0.0
        water = 0.0
        lost = 0.0
        mineralised = 0.0
        missing = 0.0
        humus = 0.0
        humus_nitrogen = 0.0
        for pool in range(4):
            mass = row[RAPID + pool]
            if mass <= 0.0:
                continue
            loss = rates[pool, i] * term * time_step
            # part of what is eaten turns into cells and humus, with its nitrogen
            kept = p.humus_yield if pool < 2 else 0.0
            eaten = row[N_RAPID + pool] * loss / mass
            bound = (1.0 - kept) * eaten
            burnt = (1.0 - kept) * loss - a * bound
            used += yields[0, pool] * burnt
            made += yields[1, pool] * burnt
            water += yields[2, pool] * burnt
            missing += yields[0, pool] * burnt / max(term, 1e-9) * (1.0 - term)
            if pool == 0:
                row[ACIDS] -= row[ACIDS] * min(loss / mass, 1.0)
            row[RAPID + pool] = mass - loss
            row[N_RAPID + pool] -= eaten
            if kept > 0.0:
                humus += kept * loss
                humus_nitrogen += kept * eaten
                totals[6] -= kept * loss
            mineralised += bound
            lost += loss
            totals[4 + pool] += loss
        # only now, so that each pool burns in the proportions its demand was reckoned with
        row[RESISTANT] += humus
        row[N_RESISTANT] += humus_nitrogen
        row[N_AMMONIACAL] += mineralised
        uptake = min(p.nitrogen_uptake * lost, 0.5 * row[N_AMMONIACAL])
        row[N_AMMONIACAL] -= uptake
        row[N_RESISTANT] += uptake
        row[RESISTANT] += a * uptake
        totals[6] -= a * uptake
        nitrified = min(rates[4, i] * term * time_step, 0.5 * row[N_AMMONIACAL])
        row[N_AMMONIACAL] -= nitrified
        row[N_NITRATE] += nitrified
        # nitrate is breathed where pores or crumbs lack oxygen and leaves as dinitrogen
        airless = ANOXIC_HALF / (ANOXIC_HALF + row[OXYGEN])
        denitrified = row[N_NITRATE] * min(p.denitrification_rate * growth[i] * airless * day, 0.5)
        row[N_NITRATE] -= denitrified
        totals[10] += denitrified
        used += OXYGEN_PER_NITRIFIED * nitrified
        water += 18.015 / 14.007 * nitrified
        heat[i] = p.heat_per_oxygen * used / time_step
        carbon_dioxide[i] = made / time_step
        row[WATER] += water
        totals[0] += used
        totals[1] += made
        totals[2] += water
        totals[3] += p.heat_per_oxygen * used
        totals[8] += mineralised + nitrified
        totals[9] += missing
        # acids form from the rapid pool where air is short and burn off where it is not
        warm = growth[i]
        cool = 1.0 / (1.0 + np.exp((row[TEMPERATURE] - 44.0) / 2.0))
        formed = p.acid_production * warm * (1.0 - term) * (0.1 * row[RAPID] - row[ACIDS]) * day
        burning = p.acid_burning * term * (0.15 + 0.85 * cool) * warm * row[ACIDS] * day
        row[ACIDS] = min(max(row[ACIDS] + max(formed, 0.0) - burning, 0.0), 0.5 * row[RAPID])
        # the community grows as a logistic and fades when cold, dry or airless
        favour = favourable(warm, term, air_space[i])
        row[ACCLIMATION] = acclimated(row[ACCLIMATION], favour, day, p)
