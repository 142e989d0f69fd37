"""The kernel against integrators of a library on its own equations, at equal accuracy."""

import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp
from sksundae.cvode import CVODE

from benchmarks.right_hand_side import WIDTH, System
from slowfire.column import kernel
from slowfire.column.positions import (
    HEAD_TEMPERATURE,
    HEAD_TEMPERATURE_BEFORE,
    HOUR,
    LAST_STEP,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
)
from slowfire.column.simulate import Air, Column

TOLERANCES = (3e-2, 1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 1e-5)
TIGHT = 1e-9
SMALL_STEP = 5.0  # [s]
EVENT_HOURS = 6


@dataclass(frozen=True)
class Run:
    """Hourly temperature of the hottest layer [C], and the shortest time of some runs [s]."""

    hottest: np.ndarray
    seconds: float


def swinging_air(hours: int) -> Air:
    """Days between 7 and 17 C."""
    clock = np.arange(hours + 2)
    table = np.tile([0.0, 0.75, 1.0, 0.0, 0.0], (clock.size, 1))
    table[:, 0] = 12.0 + 5.0 * np.cos(2.0 * np.pi * (clock - 15) / 24.0)
    return Air(table)


def at_rest(bin_: Column, hours: int) -> Column:
    """A copy at hour 0 that looks ahead by nothing, as an integrator starts."""
    twin = bin_.copy()
    twin.air = swinging_air(hours)
    twin.bin_state[HOUR] = 0.0
    twin.bin_state[LAST_STEP] = 0.0
    twin.state[:, TEMPERATURE_BEFORE] = twin.state[:, TEMPERATURE]
    twin.bin_state[HEAD_TEMPERATURE_BEFORE] = twin.bin_state[HEAD_TEMPERATURE]
    return twin


def shortest(work: Callable[[], np.ndarray], times: int) -> Run:
    """Run several times."""
    hottest, taken = np.empty(0), []
    for _ in range(times):
        start = time.perf_counter()
        hottest = work()
        taken.append(time.perf_counter() - start)
    return Run(hottest, min(taken))


def by_kernel(bin_: Column, hours: int, time_step: float, event_step: float) -> np.ndarray:
    """Hourly hottest layer by the kernel; the first hours in short steps, as after an event."""
    twin = bin_.copy()
    twin.air = bin_.air
    n = twin.layers
    hottest = np.empty(hours + 1)
    hottest[0] = twin.state[:n, TEMPERATURE].max()
    for hour in range(hours):
        kernel.advance(
            twin.state,
            n,
            twin.bin_state,
            twin.history,
            twin.vessel,
            twin.parameters,
            twin.yields,
            twin.air.table,
            1.0,
            event_step if hour < EVENT_HOURS else time_step,
            twin.ledger,
        )
        hottest[hour + 1] = twin.state[:n, TEMPERATURE].max()
    return hottest


def by_cvode(system: System, times: np.ndarray, tolerance: float, linear: str) -> np.ndarray:
    """Hourly hottest layer by CVODE's backward differences, with a banded or sparse Jacobian."""
    rows, columns = system.where

    def fill(seconds: float, y: np.ndarray, _slope: np.ndarray, into: np.ndarray) -> None:
        entries = system.jacobian_entries(seconds, y)
        if linear == "band":
            into[rows, columns] = entries
        else:
            into[:] = entries

    settings = (
        {"linsolver": "band", "lband": 2 * WIDTH - 1, "uband": 2 * WIDTH - 1}
        if linear == "band"
        else {"linsolver": "sparse", "sparsity": system.form}
    )
    solver = CVODE(
        system.into,
        method="BDF",
        rtol=tolerance,
        atol=tolerance * system.sizes,
        max_num_steps=10**6,
        jacfn=fill,
        **settings,
    )
    end = solver.solve(times, system.start)
    if not end.success:
        return np.full(times.size, np.nan)
    return system.hottest(np.asarray(end.y).T)


def by_scipy(system: System, times: np.ndarray, tolerance: float) -> np.ndarray:
    """Hourly hottest layer by SciPy's backward differences, with a sparse Jacobian."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            end = solve_ivp(
                system,
                (times[0], times[-1]),
                system.start,
                method="BDF",
                t_eval=times,
                rtol=tolerance,
                atol=tolerance * system.sizes,
                jac=system.jacobian,
            )
        except RuntimeError:
            # a singular matrix, where the tolerance let it go astray
            return np.full(times.size, np.nan)
    if not end.success:
        return np.full(times.size, np.nan)
    return system.hottest(end.y)


def cheapest(
    solve: Callable[[float], np.ndarray], exact: np.ndarray, allowed: float, times: int
) -> dict[str, object]:
    """The loosest of some tolerances that is as exact as allowed; the fastest of those."""
    tried = []
    for tolerance in TOLERANCES:
        run = shortest(lambda t=tolerance: solve(t), 1)
        error = float(np.abs(run.hottest - exact).max())
        tried.append({"tolerance": tolerance, "error_kelvin": error, "seconds": run.seconds})
    good = [one for one in tried if one["error_kelvin"] <= allowed]
    if not good:
        return {"reached": False, "tried": tried}
    best = min(good, key=lambda one: one["seconds"])
    again = shortest(lambda: solve(best["tolerance"]), times)
    seconds = min(again.seconds, best["seconds"])
    return {"reached": True, **best, "seconds": seconds, "tried": tried}


def compare(bin_: Column, hours: int, step: float, event_step: float) -> dict[str, object]:
    """Time and error of the kernel and of each integrator over the same hours."""
    start = at_rest(bin_, hours)
    times = 3600.0 * np.arange(hours + 1)
    system = System(start)
    system(0.0, system.start)
    exact = by_cvode(system, times, TIGHT, "band")
    small = by_kernel(start, hours, SMALL_STEP, SMALL_STEP)
    own = shortest(lambda: by_kernel(start, hours, step, event_step), 20)
    error = float(np.abs(own.hottest - exact).max())
    result: dict[str, object] = {
        "layers": start.layers,
        "variables": system.start.size,
        "hours": hours,
        "hottest_celsius": [float(exact.min()), float(exact.max())],
        "reference": f"CVODE, banded, tolerance {TIGHT:g}",
        "kernel_at_small_step_error_kelvin": float(np.abs(small - exact).max()),
        "small_step_seconds": SMALL_STEP,
        "kernel": {
            "step_seconds": step,
            "event_step_seconds": event_step,
            "error_kelvin": error,
            "seconds": own.seconds,
        },
    }
    solvers = {
        # a fresh system each time: one that went astray leaves its flows behind
        "scipy_bdf_sparse": (lambda t: by_scipy(System(start), times, t), 1),
        "cvode_band": (lambda t: by_cvode(System(start), times, t, "band"), 5),
        "cvode_sparse": (lambda t: by_cvode(System(start), times, t, "sparse"), 3),
    }
    for name, (solve, repeats) in solvers.items():
        found = cheapest(solve, exact, error, repeats)
        if found["reached"]:
            found["times_the_kernel"] = float(found["seconds"]) / own.seconds
        result[name] = found
    return result
