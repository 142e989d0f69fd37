"""The column as a system of differential equations, from the kernel's own compiled step.

What a library's integrator is given: y holds, layer by layer from the base, everything the
kernel integrates (four pools and their nitrogen, ammoniacal and nitrate nitrogen, water, acids,
acclimation, mean temperature, centre minus edge, oxygen, carbon dioxide, how far it has settled
and slumped, air ways), then temperature, oxygen and carbon dioxide of the head-space. Phosphorus
and potassium, which act on nothing, stay out. dy/dt is the change over a kernel step of a
hundredth of a second, after the draft has settled on the flows that belong to y.
"""

import numba
import numpy as np
from scipy.sparse import csc_matrix

from slowfire.column import kernel
from slowfire.column.draft import N_WORK, draft, geometry
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ACCLIMATION,
    ACIDS,
    BASE_FLOW,
    CARBON_DIOXIDE,
    CENTRE_MINUS_EDGE,
    CHANNELS,
    HEAD_CARBON_DIOXIDE,
    HEAD_HUMIDITY,
    HEAD_OXYGEN,
    HEAD_TEMPERATURE,
    HEAD_TEMPERATURE_BEFORE,
    N_AMMONIACAL,
    N_LEDGER,
    N_NITRATE,
    N_RAPID,
    N_RESISTANT,
    N_SLOW,
    N_WOOD,
    OXYGEN,
    RAPID,
    RESISTANT,
    SETTLED,
    SLOW,
    SLUMPED,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    VENT_FLOW,
    WATER,
    WOOD,
)
from slowfire.column.simulate import Column
from slowfire.physics import moist_air
from slowfire.vessel import Vessel

TINY = 1e-2  # [s]
# Columns of a layer's state in y, and a size of each for the absolute tolerance.
OF_A_LAYER = np.array(
    [
        RAPID,
        SLOW,
        RESISTANT,
        WOOD,
        N_RAPID,
        N_SLOW,
        N_RESISTANT,
        N_WOOD,
        N_AMMONIACAL,
        N_NITRATE,
        WATER,
        ACIDS,
        ACCLIMATION,
        TEMPERATURE,
        CENTRE_MINUS_EDGE,
        OXYGEN,
        CARBON_DIOXIDE,
        SETTLED,
        SLUMPED,
        CHANNELS,
    ]
)
SIZES = np.concatenate(
    [
        np.full(4, 0.1),
        np.full(4, 1e-3),
        np.full(2, 1e-4),
        [1.0, 1e-3, 1.0, 10.0, 10.0, 0.02, 0.02, 1.0, 1.0, 1.0],
    ]
)
OF_THE_HEAD = np.array([HEAD_TEMPERATURE, HEAD_OXYGEN, HEAD_CARBON_DIOXIDE])
HEAD_SIZES = np.array([10.0, 0.02, 0.02])
WIDTH = OF_A_LAYER.size

_saturation_pressure = numba.njit(moist_air.saturation_pressure_in_air)
_compile = numba.njit(nogil=True, error_model="numpy")


@_compile
def slope(
    seconds: float,
    y: np.ndarray,
    out: np.ndarray,
    whole: np.ndarray,
    layers: int,
    around: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    yields: np.ndarray,
    ambient: np.ndarray,
    state: np.ndarray,
    bin_state: np.ndarray,
    history: np.ndarray,
    work: np.ndarray,
    column: np.ndarray,
    totals: np.ndarray,
    ledger: np.ndarray,
) -> None:
    """dy/dt into `out`; `whole` and `around` hold what stays as it is, the rest is scratch."""
    n = layers
    hours = seconds / 3600.0
    last = ambient.shape[0] - 1
    low = min(max(int(hours), 0), last)
    high = min(low + 1, last)
    air = ambient[low] + (hours - low) * (ambient[high] - ambient[low])
    air[3] = ambient[low, 3]
    vapour = air[1] * _saturation_pressure(air[0])
    # flows and humidity of the head-space belong to y alone: they are gone over until they
    # settle, and where that starts only saves time
    for _ in range(20):
        base = bin_state[BASE_FLOW]
        vent = bin_state[VENT_FLOW]
        humidity = bin_state[HEAD_HUMIDITY]
        for j in range(around.size):
            bin_state[j] = around[j]
        bin_state[BASE_FLOW] = base
        bin_state[VENT_FLOW] = vent
        bin_state[HEAD_HUMIDITY] = humidity
        for i in range(n):
            for j in range(whole.shape[1]):
                state[i, j] = whole[i, j]
            for j in range(WIDTH):
                state[i, OF_A_LAYER[j]] = y[i * WIDTH + j]
            # an integrator may step past what the kernel holds to, by less than its tolerance
            floor = parameters.acclimation_floor
            state[i, ACCLIMATION] = min(max(state[i, ACCLIMATION], floor), 1.0)
            state[i, OXYGEN] = max(state[i, OXYGEN], 0.0)
            for j in range(WIDTH):
                out[i * WIDTH + j] = state[i, OF_A_LAYER[j]]
            state[i, TEMPERATURE_BEFORE] = state[i, TEMPERATURE]
        for j in range(OF_THE_HEAD.size):
            bin_state[OF_THE_HEAD[j]] = y[n * WIDTH + j]
        bin_state[HEAD_TEMPERATURE_BEFORE] = bin_state[HEAD_TEMPERATURE]
        geometry(state, n, bin_state, vessel, parameters, work)
        for _ in range(40):
            base = bin_state[BASE_FLOW]
            vent = bin_state[VENT_FLOW]
            draft(state, n, bin_state, vessel, parameters, air[0], vapour, air[2], work)
            change = abs(bin_state[BASE_FLOW] - base) + abs(bin_state[VENT_FLOW] - vent)
            if change < 1e-9 * (abs(base) + abs(vent)) + 1e-14:
                break
        kernel.step(
            state,
            n,
            bin_state,
            history,
            vessel,
            parameters,
            yields,
            air,
            TINY,
            work,
            column,
            totals,
            ledger,
        )
        if abs(bin_state[HEAD_HUMIDITY] - humidity) < 1e-9 * humidity + 1e-14:
            break
    for i in range(n):
        for j in range(WIDTH):
            out[i * WIDTH + j] = (state[i, OF_A_LAYER[j]] - out[i * WIDTH + j]) / TINY
    for j in range(OF_THE_HEAD.size):
        out[n * WIDTH + j] = (bin_state[OF_THE_HEAD[j]] - y[n * WIDTH + j]) / TINY


@_compile
def slopes(
    seconds: float,
    many: np.ndarray,
    outs: np.ndarray,
    whole: np.ndarray,
    layers: int,
    around: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    yields: np.ndarray,
    ambient: np.ndarray,
    state: np.ndarray,
    bin_state: np.ndarray,
    history: np.ndarray,
    work: np.ndarray,
    column: np.ndarray,
    totals: np.ndarray,
    ledger: np.ndarray,
) -> None:
    """The same for the rows of `many`, in one call."""
    for k in range(many.shape[0]):
        slope(
            seconds,
            many[k],
            outs[k],
            whole,
            layers,
            around,
            vessel,
            parameters,
            yields,
            ambient,
            state,
            bin_state,
            history,
            work,
            column,
            totals,
            ledger,
        )


class System:
    """dy/dt of a bin as it stands, for integrators that take a function of time and y."""

    def __init__(self, bin_: Column) -> None:
        n = bin_.layers
        self.layers = n
        self.calls = 0
        self.start = np.concatenate(
            [bin_.state[:n, OF_A_LAYER].ravel(), bin_.bin_state[OF_THE_HEAD]]
        )
        self.sizes = np.concatenate([np.tile(SIZES, n), HEAD_SIZES])
        variable = np.arange(n * WIDTH) % WIDTH
        third = np.arange(n * WIDTH) // WIDTH % 3
        heads = 3 * WIDTH + np.arange(OF_THE_HEAD.size)
        self.group = np.concatenate([3 * variable + third, heads])
        self.groups = 3 * WIDTH + OF_THE_HEAD.size
        self.form = self.pattern()
        columns = np.repeat(np.arange(self.start.size), np.diff(self.form.indptr))
        self.where = (self.form.indices, columns)
        around = bin_.bin_state.copy()
        self.parts = (
            bin_.state[:n].copy(),
            n,
            around,
            bin_.vessel,
            bin_.parameters,
            bin_.yields,
            bin_.air.table,
            bin_.state[:n].copy(),
            around.copy(),
            bin_.history[:n].copy(),
            np.zeros((N_WORK, n + 2)),
            np.zeros((kernel.N_COLUMN, n + 2)),
            np.zeros(11),
            np.zeros(N_LEDGER),
        )

    def into(self, seconds: float, y: np.ndarray, out: np.ndarray) -> None:
        """dy/dt into `out`."""
        self.calls += 1
        slope(seconds, y, out, *self.parts)

    def __call__(self, seconds: float, y: np.ndarray) -> np.ndarray:
        """dy/dt of one y, or of every column of a matrix."""
        if y.ndim == 1:
            out = np.empty_like(y)
            self.into(seconds, y, out)
            return out
        self.calls += y.shape[1]
        rows = np.ascontiguousarray(y.T)
        outs = np.empty_like(rows)
        slopes(seconds, rows, outs, *self.parts)
        return outs.T

    def hottest(self, y: np.ndarray) -> np.ndarray:
        """Mean temperature of the hottest layer [C]; y of shape (variables, times)."""
        temperatures = y[: self.layers * WIDTH].reshape(self.layers, WIDTH, -1)
        place = int(np.flatnonzero(OF_A_LAYER == TEMPERATURE)[0])
        return temperatures[:, place].max(axis=0)

    def pattern(self) -> csc_matrix:
        """Where the Jacobian is not zero, but for what draft and weight carry further.

        Every variable of a layer may act on every one of the same layer and of its neighbours.
        """
        place = np.append(
            np.repeat(np.arange(self.layers), WIDTH), [self.layers] * OF_THE_HEAD.size
        )
        near = np.abs(place[:, None] - place[None, :]) <= 1
        return csc_matrix(near.astype(float))

    def jacobian_entries(self, seconds: float, y: np.ndarray) -> np.ndarray:
        """The entries of the pattern, column by column, from differences.

        One variable in every third layer is moved at a time: what the draft carries further is of
        its own size then, and drowns nothing.
        """
        moved = 1e-6 * np.maximum(np.abs(y), 0.1 * self.sizes)
        many = np.repeat(y[:, None], self.groups + 1, axis=1)
        many[np.arange(y.size), self.group] += moved
        changed = self(seconds, many)
        plain = changed[:, self.groups]
        rows, columns = self.where
        return (changed[rows, self.group[columns]] - plain[rows]) / moved[columns]

    def jacobian(self, seconds: float, y: np.ndarray) -> csc_matrix:
        """The same as a sparse matrix."""
        entries = self.jacobian_entries(seconds, y)
        return csc_matrix((entries, self.form.indices, self.form.indptr), shape=self.form.shape)
