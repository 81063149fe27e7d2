"""Simulation-based calibration over a thousand lifters drawn from the model.

    python -m tests.bench.calibration [LIFTERS] [SEED]

Prints, per lift and quality, how often the 90 % interval held the truth and how flat the
rank histogram is; then stated chances of the limiter beside hit rates. Ends with 1 when an
interval holds outside 88-92 %, a histogram is not flat (5 % level shared between all), or
chances are off by 0.03 or more on average.
"""

from __future__ import annotations

import sys
from time import perf_counter

import numpy as np

from profilegen.norms.catalogue import load_norms
from tests.engine.calibration import calibrate


def main(lifters: int = 1000, seed: int = 20261121) -> int:
    start = perf_counter()
    found = calibrate(load_norms(), lifters, seed)
    took = perf_counter() - start
    coverage, flat = found.coverage(), found.flatness()
    least_p = 0.05 / len(found.names)
    print(f"{lifters} lifters in {took:.0f} s")
    print("quantity             90 % holds   flat p   ranks 0 ... 1 (ten bins, 1.0 is flat)")
    for i, name in enumerate(found.names):
        counts = np.histogram(found.ranks[:, i], 10, (0, 1))[0] * 10.0 / lifters
        bars = " ".join(f"{c:.2f}" for c in counts)
        print(f"{name:20s} {coverage[i]:9.1%} {flat[i]:9.4f}   {bars}")
    print("stated chance   hit rate   how many")
    for stated, hit, count in found.reliability():
        print(f"{stated:13.3f} {hit:10.3f} {count:10d}")
    error = found.calibration_error()
    print(f"calibration error {error:.4f}; likeliest answer right {found.first_is_right():.1%}")
    good = ((coverage >= 0.88) & (coverage <= 0.92)).all() and (flat > least_p).all()
    return 0 if good and error < 0.03 else 1


if __name__ == "__main__":
    sys.exit(main(*(int(argument) for argument in sys.argv[1:])))
