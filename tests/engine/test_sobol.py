"""The quasi-random points against SciPy's (scipy.stats.qmc.Sobol), to the last bit."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from scipy.stats import qmc

from profilegen.engine.sobol import MOST_DIMENSIONS, sobol


@pytest.mark.parametrize("dimensions", [1, 2, 7, 40, MOST_DIMENSIONS, MOST_DIMENSIONS + 1])
@pytest.mark.parametrize("n", [1, 2, 64, 2048])
def test_points_are_scipys(n: int, dimensions: int) -> None:
    theirs = qmc.Sobol(dimensions, scramble=True, seed=20261).random(n)
    assert np.array_equal(sobol(n, dimensions, 20261), theirs)


@pytest.mark.parametrize("package", ["scipy.stats", "scipy.optimize"])
def test_the_engine_does_not_wait_for_parts_of_scipy_it_does_not_need(package: str) -> None:
    code = f"import sys, profilegen.engine.assess; print('{package}' in sys.modules)"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "False"
