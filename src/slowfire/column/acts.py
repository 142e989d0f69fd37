"""What a person does to the bin, as changes of the arrays; every act keeps the books."""

import numpy as np

from slowfire.column.compiled import jit
from slowfire.column.draft import height_of_volume, volume_of_height
from slowfire.column.enthalpy import temperature_of_enthalpy, water_enthalpy
from slowfire.column.kernel import dry_mass, layer_enthalpy
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ACCLIMATION,
    ADDED_HOUR,
    ADDED_SOFT,
    ADDED_WOOD,
    CARBON_DIOXIDE,
    CENTRE_MINUS_EDGE,
    CHANNELS,
    CURRENT,
    DRY_HOURS,
    GAS_MOLES,
    HEAD_CARBON_DIOXIDE,
    HEAD_GAS_MOLES,
    HEAD_OXYGEN,
    HEAD_TEMPERATURE,
    HEAD_TEMPERATURE_BEFORE,
    HOUR,
    L_HEAT_DUG,
    L_HEAT_LOADED,
    L_HEAT_OPENED,
    L_MASS_DUG,
    L_MASS_LOADED,
    L_NITROGEN_DUG,
    L_NITROGEN_LOADED,
    L_OXYGEN_OPENED,
    L_PHOSPHORUS_LOADED,
    L_PHOSPHORUS_OUT,
    L_POOL_DUG,
    L_POOL_LOADED,
    L_POTASSIUM_LOADED,
    L_POTASSIUM_OUT,
    L_WATER_DUG,
    L_WATER_IN,
    L_WATER_LOADED,
    LAYER_NUMBER,
    LOOSE_SOFT,
    LOOSE_WOOD,
    MAX_LAYERS,
    N_AMMONIACAL,
    N_EXTENSIVE,
    N_NITRATE,
    N_RAPID,
    NEXT_NUMBER,
    OXYGEN,
    PHOSPHORUS,
    POTASSIUM,
    RAPID,
    SETTLED,
    SLUMPED,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    WATER,
)
from slowfire.constants import CARBON_DIOXIDE_IN_AIR, MOLAR_MASS_OXYGEN, OXYGEN_IN_AIR
from slowfire.vessel import Vessel

SLIVER = 0.1  # of the limit below which layers are joined [-]
THICKEST_LAYER = 0.03  # loads thicker than this are split [m]
LEAST_LOAD = 1e-9  # what weighs less than a microgram is no load [kg]


@jit
def layer_nitrogen(row: np.ndarray) -> float:
    """All nitrogen of a layer [kg]."""
    total = row[N_AMMONIACAL] + row[N_NITRATE]
    for pool in range(4):
        total += row[N_RAPID + pool]
    return total


@jit
def add_load(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    history: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    contents: np.ndarray,
    ledger: np.ndarray,
) -> int:
    """Lay a load on top, split into layers of at most 3 cm; returns the number of layers.

    `contents` is one state row. A load with no mass changes nothing. When the rows run out the
    load joins the top layer.
    """
    mass = dry_mass(contents) + contents[WATER]
    if mass < LEAST_LOAD:
        return layers
    c = parameters.heat_capacity_solids
    volume = contents[LOOSE_SOFT] + contents[LOOSE_WOOD]
    pieces = max(int(np.ceil(volume / vessel.top_area / THICKEST_LAYER - 1e-9)), 1)
    pieces = min(pieces, 40)
    number = bin_state[NEXT_NUMBER]
    room = MAX_LAYERS - layers
    if room <= 0:
        layers = merge_pair(state, layers, history, layers - 2, c)
        room = 1
    pieces = min(pieces, room)
    for k in range(pieces):
        row = state[layers + k]
        for j in range(contents.shape[0]):
            row[j] = contents[j]
        for j in range(N_EXTENSIVE):
            row[j] = contents[j] / pieces
        row[TEMPERATURE_BEFORE] = row[TEMPERATURE]
        row[CENTRE_MINUS_EDGE] = 0.0
        row[OXYGEN] = OXYGEN_IN_AIR
        row[CARBON_DIOXIDE] = CARBON_DIOXIDE_IN_AIR
        row[SETTLED] = 0.0
        row[SLUMPED] = 0.0
        row[CHANNELS] = 0.0
        row[ADDED_HOUR] = bin_state[HOUR]
        row[GAS_MOLES] = 0.0
        row[DRY_HOURS] = 0.0
        row[LAYER_NUMBER] = number
        history[layers + k] = 0.0
    for pool in range(5):
        ledger[L_POOL_LOADED + pool] += contents[RAPID + pool]
    ledger[L_MASS_LOADED] += mass
    ledger[L_WATER_LOADED] += contents[WATER]
    ledger[L_NITROGEN_LOADED] += layer_nitrogen(contents)
    ledger[L_PHOSPHORUS_LOADED] += contents[PHOSPHORUS]
    ledger[L_POTASSIUM_LOADED] += contents[POTASSIUM]
    ledger[L_HEAT_LOADED] += layer_enthalpy(contents, c)
    bin_state[NEXT_NUMBER] = number + 1.0
    return layers + pieces


@jit
def open_lid(
    bin_state: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    air_temperature: float,
    ledger: np.ndarray,
) -> None:
    """Opening the lid fills the head-space with outside air."""
    change = OXYGEN_IN_AIR - bin_state[HEAD_OXYGEN]
    ledger[L_OXYGEN_OPENED] += bin_state[HEAD_GAS_MOLES] * change * MOLAR_MASS_OXYGEN
    bin_state[HEAD_OXYGEN] = OXYGEN_IN_AIR
    bin_state[HEAD_CARBON_DIOXIDE] = CARBON_DIOXIDE_IN_AIR
    ledger[L_HEAT_OPENED] += (
        (air_temperature - bin_state[HEAD_TEMPERATURE]) * parameters.head_capacity * vessel.top_area
    )
    bin_state[HEAD_TEMPERATURE] = air_temperature
    bin_state[HEAD_TEMPERATURE_BEFORE] = air_temperature


@jit
def _blend_intensive(row: np.ndarray, other: np.ndarray, share: float) -> None:
    """Move the mass-weighted properties of a row towards another's by `share`."""
    for j in (ACCLIMATION, SETTLED, SLUMPED, CHANNELS, ADDED_HOUR, DRY_HOURS):
        row[j] += share * (other[j] - row[j])


@jit
def merge_pair(
    state: np.ndarray,
    layers: int,
    history: np.ndarray,
    lower: int,
    heat_capacity_solids: float,
) -> int:
    """Join layer `lower` with the one above it; the heat history keeps the colder of the two."""
    a = state[lower]
    b = state[lower + 1]
    c = heat_capacity_solids
    enthalpy = layer_enthalpy(a, c) + layer_enthalpy(b, c)
    rise_a = a[TEMPERATURE] - a[TEMPERATURE_BEFORE]
    rise_b = b[TEMPERATURE] - b[TEMPERATURE_BEFORE]
    added_a = a[ADDED_SOFT] + a[ADDED_WOOD]
    added_b = b[ADDED_SOFT] + b[ADDED_WOOD]
    share = added_b / max(added_a + added_b, 1e-300)
    moles = a[GAS_MOLES] + b[GAS_MOLES]
    part = b[GAS_MOLES] / moles if moles > 0.0 else share
    a[OXYGEN] += part * (b[OXYGEN] - a[OXYGEN])
    a[CARBON_DIOXIDE] += part * (b[CARBON_DIOXIDE] - a[CARBON_DIOXIDE])
    a[GAS_MOLES] = moles
    _blend_intensive(a, b, share)
    a[CENTRE_MINUS_EDGE] += share * (b[CENTRE_MINUS_EDGE] - a[CENTRE_MINUS_EDGE])
    if added_b > added_a:
        a[LAYER_NUMBER] = b[LAYER_NUMBER]
    for j in range(N_EXTENSIVE):
        a[j] += b[j]
    a[TEMPERATURE] = temperature_of_enthalpy(enthalpy, c * dry_mass(a), a[WATER])
    a[TEMPERATURE_BEFORE] = a[TEMPERATURE] - (rise_a + share * (rise_b - rise_a))
    history[lower] = np.minimum(history[lower], history[lower + 1])
    for i in range(lower + 1, layers - 1):
        state[i] = state[i + 1]
        history[i] = history[i + 1]
    return layers - 1


@jit
def merge_thin(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    history: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
) -> int:
    """Join layers whose dry mass as added is small; run at a fixed clock time.

    Judged by what was added, never by a computed thickness, so that step size has no say.
    """
    p = parameters
    area = 0.5 * (vessel.base_area + vessel.top_area)
    i = 0
    while i < layers - 1:
        own = (state[i, ADDED_SOFT] + state[i, ADDED_WOOD]) / area
        above = (state[i + 1, ADDED_SOFT] + state[i + 1, ADDED_WOOD]) / area
        age = (bin_state[HOUR] - state[i + 1, ADDED_HOUR]) / 24.0
        limit = p.merge_old_added if age > p.merge_old_age else p.merge_added
        # a sliver, left by a dig-out or tipped in, joins whatever lies beside it at once: so
        # little heats and cools within seconds, which no step follows
        sliver = min(own, above) < SLIVER * limit
        small = min(own, above) < limit and own + above < 2.0 * limit
        if sliver or (small and age > 1.0):
            layers = merge_pair(state, layers, history, i, p.heat_capacity_solids)
        else:
            i += 1
    return layers


@jit
def stir(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    history: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    depth: float,
    extent: float,
    ledger: np.ndarray,
) -> None:
    """Share contents among the layers within `depth` of the surface; 0 nothing, 1 even.

    Layers keep their number and their as-added mass; their pores fill with fresh air.
    """
    if layers == 0 or depth <= 0.0 or extent <= 0.0:
        return
    c = parameters.heat_capacity_solids
    lowest = lowest_within(state, layers, vessel, depth)
    total = np.zeros(N_EXTENSIVE)
    enthalpy = 0.0
    added = 0.0
    acclimation = 0.0
    dry_hours = 0.0
    for i in range(lowest, layers):
        row = state[i]
        for j in range(N_EXTENSIVE):
            total[j] += row[j]
        enthalpy += layer_enthalpy(row, c)
        part = row[ADDED_SOFT] + row[ADDED_WOOD]
        added += part
        acclimation += part * row[ACCLIMATION]
        dry_hours += part * row[DRY_HOURS]
    if added <= 0.0:
        return
    coldest = history[lowest].copy()
    for i in range(lowest + 1, layers):
        coldest = np.minimum(coldest, history[i])
    for i in range(lowest, layers):
        row = state[i]
        share = (row[ADDED_SOFT] + row[ADDED_WOOD]) / added
        own = layer_enthalpy(row, c)
        for j in range(N_EXTENSIVE):
            row[j] = (1.0 - extent) * row[j] + extent * share * total[j]
        mixed = (1.0 - extent) * own + extent * share * enthalpy
        row[TEMPERATURE] = temperature_of_enthalpy(mixed, c * dry_mass(row), row[WATER])
        row[TEMPERATURE_BEFORE] = row[TEMPERATURE]
        row[CENTRE_MINUS_EDGE] *= 1.0 - extent
        row[ACCLIMATION] += extent * (acclimation / added - row[ACCLIMATION])
        row[DRY_HOURS] += extent * (dry_hours / added - row[DRY_HOURS])
        row[SETTLED] *= 1.0 - 0.7 * extent
        row[SLUMPED] *= 1.0 - 0.3 * extent
        row[CHANNELS] = max(row[CHANNELS], 0.5 * extent)
        freshen(row, ledger)
        if extent > 0.0 and layers - lowest > 1:
            history[i] = coldest
            # a run is broken when colder material is stirred in
            if row[TEMPERATURE] < 40.0:
                history[i, :, :, CURRENT] = 0.0


@jit
def freshen(row: np.ndarray, ledger: np.ndarray) -> None:
    """Fill the pores of a layer with outside air."""
    change = OXYGEN_IN_AIR - row[OXYGEN]
    ledger[L_OXYGEN_OPENED] += row[GAS_MOLES] * change * MOLAR_MASS_OXYGEN
    row[OXYGEN] = OXYGEN_IN_AIR
    row[CARBON_DIOXIDE] = CARBON_DIOXIDE_IN_AIR


@jit
def layer_thickness_estimate(row: np.ndarray, vessel: Vessel) -> float:
    """Thickness from solids, water and the last known pore gas [m]."""
    gas = row[GAS_MOLES] * 0.0249
    solids = dry_mass(row) / 1500.0 + row[WATER] / 1000.0
    volume = gas + solids if gas > 0.0 else row[LOOSE_SOFT] + row[LOOSE_WOOD]
    return volume / (0.5 * (vessel.base_area + vessel.top_area))


@jit
def lowest_within(state: np.ndarray, layers: int, vessel: Vessel, depth: float) -> int:
    """Index of the lowest layer that a depth below the surface reaches; 0 in an empty bin."""
    lowest = max(layers - 1, 0)
    below = depth
    while lowest > 0:
        below -= layer_thickness_estimate(state[lowest], vessel)
        if below <= 0.0:
            break
        lowest -= 1
    return lowest


@jit
def poke(state: np.ndarray, layers: int) -> None:
    """Poke air ways through the whole stack; what was bridged falls together."""
    for i in range(layers):
        state[i, CHANNELS] = 1.0
        state[i, SETTLED] = 0.5 * (1.0 + state[i, SETTLED])


@jit
def turn(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    history: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    ledger: np.ndarray,
) -> None:
    """Turn the whole stack: everything mixed, loosened and aired."""
    stir(state, layers, bin_state, history, vessel, parameters, 1e9, 1.0, ledger)
    for i in range(layers):
        state[i, SETTLED] = 0.0
        state[i, SLUMPED] *= 0.7
        state[i, CHANNELS] = 1.0


@jit
def add_water(
    state: np.ndarray,
    layers: int,
    vessel: Vessel,
    parameters: Parameters,
    mass: float,
    depth: float,
    temperature: float,
    ledger: np.ndarray,
) -> None:
    """Pour water over the stack; it wets the layers down to `depth` in proportion to dry mass."""
    if layers == 0 or mass <= 0.0:
        return
    c = parameters.heat_capacity_solids
    lowest = lowest_within(state, layers, vessel, depth)
    dry = 0.0
    for i in range(lowest, layers):
        dry += dry_mass(state[i])
    for i in range(lowest, layers):
        row = state[i]
        share = dry_mass(row) / dry if dry > 0.0 else 1.0 / (layers - lowest)
        poured = share * mass
        enthalpy = layer_enthalpy(row, c) + poured * water_enthalpy(temperature)
        row[WATER] += poured
        row[TEMPERATURE] = temperature_of_enthalpy(enthalpy, c * dry_mass(row), row[WATER])
        row[TEMPERATURE_BEFORE] = row[TEMPERATURE]
    ledger[L_WATER_IN] += mass
    ledger[L_HEAT_LOADED] += mass * water_enthalpy(temperature)


@jit
def dig_out(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    history: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    amount: float,
    by_mass: bool,
    dug: np.ndarray,
    ledger: np.ndarray,
) -> int:
    """Take material out at the base door, layer by layer upward; returns the layers left.

    `amount` is kg of wet mass, or m^3 as it lies. The contents taken are added up in `dug`.
    """
    c = parameters.heat_capacity_solids
    left = amount
    gone = 0
    mean_area = 0.5 * (vessel.base_area + vessel.top_area)
    enthalpy = 0.0
    dug_hour = 0.0
    for i in range(layers):
        if left <= 0.0:
            break
        row = state[i]
        size = dry_mass(row) + row[WATER]
        if not by_mass:
            size = layer_thickness_estimate(row, vessel) * mean_area
        share = min(left / max(size, 1e-12), 1.0)
        left -= share * size
        taken = layer_enthalpy(row, c) * share
        enthalpy += taken
        ledger[L_OXYGEN_OPENED] -= share * row[GAS_MOLES] * row[OXYGEN] * MOLAR_MASS_OXYGEN
        for pool in range(5):
            ledger[L_POOL_DUG + pool] += share * row[RAPID + pool]
        ledger[L_MASS_DUG] += share * (dry_mass(row) + row[WATER])
        ledger[L_WATER_DUG] += share * row[WATER]
        ledger[L_NITROGEN_DUG] += share * layer_nitrogen(row)
        ledger[L_PHOSPHORUS_OUT] += share * row[PHOSPHORUS]
        ledger[L_POTASSIUM_OUT] += share * row[POTASSIUM]
        dug_hour += share * (dry_mass(row)) * row[ADDED_HOUR]
        for j in range(N_EXTENSIVE):
            dug[j] += share * row[j]
        if share >= 1.0:
            gone += 1
        else:
            for j in range(N_EXTENSIVE):
                row[j] *= 1.0 - share
            row[GAS_MOLES] *= 1.0 - share
    if gone > 0:
        for i in range(gone, layers):
            state[i - gone] = state[i]
            history[i - gone] = history[i]
    dry = dry_mass(dug)
    dug[TEMPERATURE] = temperature_of_enthalpy(enthalpy, c * dry, dug[WATER])
    dug[ADDED_HOUR] = dug_hour / dry if dry > 0.0 else 0.0
    ledger[L_HEAT_DUG] += enthalpy
    layers -= gone
    # the stack slumps: what was bridged falls together, and the ways through it close
    for i in range(layers):
        state[i, SETTLED] = min(1.0, state[i, SETTLED] + 0.3 * (1.0 - state[i, SETTLED]))
        state[i, CHANNELS] *= 0.3
    return layers


@jit
def stack_height(state: np.ndarray, layers: int, vessel: Vessel) -> float:
    """Height of the stack from the last known volumes [m]."""
    volume = 0.0
    mean_area = 0.5 * (vessel.base_area + vessel.top_area)
    for i in range(layers):
        volume += layer_thickness_estimate(state[i], vessel) * mean_area
    return height_of_volume(vessel, volume)


@jit
def capacity_left(state: np.ndarray, layers: int, vessel: Vessel) -> float:
    """Volume between the stack and the rim [m^3]; negative when heaped above it."""
    height = stack_height(state, layers, vessel)
    return volume_of_height(vessel, vessel.height) - volume_of_height(vessel, height)
