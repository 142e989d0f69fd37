"""The kernel without its compiler: the same numbers, and books that see a broken flux."""

import json
import os
import subprocess
import sys
from pathlib import Path

import fifty_steps
import numpy as np
import pytest

HERE = Path(__file__).parent


def interpreted(script: str, *arguments: str) -> dict:
    done = subprocess.run(
        [sys.executable, str(HERE / script), *arguments],
        env=os.environ | {"NUMBA_DISABLE_JIT": "1"},
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_fifty_steps_equal_the_compiled_kernel():
    plain = interpreted("fifty_steps.py")
    compiled = fifty_steps.as_lists(fifty_steps.run())
    for name in ("state", "bin", "ledger"):
        np.testing.assert_allclose(plain[name], compiled[name], rtol=1e-9, atol=1e-14, err_msg=name)


def test_the_fifty_steps_are_fifty():
    column = fifty_steps.run()
    assert column.hour * 3600.0 / fifty_steps.STEP == 50.0


def test_books_close_when_nothing_is_broken():
    errors = interpreted("leaking_flux.py", "none")
    assert errors.pop("oxygen") < 1e-9
    assert errors.pop("energy") < 1e-6
    assert max(errors.values()) < 1e-12


@pytest.mark.parametrize("which", ["water", "energy", "oxygen", "rapid", "nitrogen", "ash"])
def test_books_see_a_broken_flux(which: str):
    errors = interpreted("leaking_flux.py", which)
    limit = {"oxygen": 1e-9, "energy": 1e-6}.get(which, 1e-12)
    assert errors[which] > 100.0 * limit
