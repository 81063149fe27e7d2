"""The engine against exact sampling on twenty lifters with every kind of row.

    python -m tests.bench.exact [LIFTERS] [STEPS]

Prints, lifter by lifter, the largest difference of a posterior mean (in posterior sds), of
a posterior sd and of a chance to limit, with the time of both. Ends with 1 when any lies
outside the tolerances by more than the sampler's own Monte Carlo error allows.

The sampler runs for as long as it must to be a yardstick: until its own error of an sd is about
a fifth of what is allowed.
"""

from __future__ import annotations

import sys

import numpy as np

from profilegen.norms.catalogue import load_norms
from tests.engine.against_exact import (
    CHANCE_WITHIN,
    MEAN_WITHIN,
    SD_WITHIN,
    SPEED_UP,
    compare,
)
from tests.engine.simulated import simulate

CHAINS = 400
BURN_IN = 200


def main(lifters: int = 20, steps: int = 4000) -> int:
    norms = load_norms()
    print(f"tolerances: mean {MEAN_WITHIN} sd, sd {SD_WITHIN:.0%}, chance {CHANCE_WITHIN}")
    print(
        "lifter rows   mean off           sd off              chance off             engine  exact,"
        " its error of an sd"
    )
    outside, speed_ups = [], []
    for number in range(lifters):
        rng = np.random.default_rng((20261121, number))
        lifter = simulate(norms, rng, weeks=int(rng.integers(1, 4)))
        found = compare(lifter, norms, rng, chains=CHAINS, steps=steps, burn_in=BURN_IN)
        mean, sd, chance = found.worst_mean(), found.worst_sd(), found.worst_chance()
        print(
            f"{number:6d} {found.rows:4d}   {mean[1]:+.3f} {mean[0]:17s} {sd[1]:+6.1%} {sd[0]:17s}"
            f" {chance[1]:+.3f} {chance[0]:16s} {1e3 * found.engine_s:5.1f} ms"
            f" {found.exact_s:5.1f} s  {found.sd_error.max():.1%}",
            flush=True,
        )
        speed_ups.append(found.exact_s / found.engine_s)
        outside += [f"lifter {number}: {miss}" for miss in found.misses()]
    least = min(speed_ups)
    print(f"faster than the sampler by {np.median(speed_ups):.0f} (median), {least:.0f} (least)")
    for miss in outside:
        print("outside:", miss)
    if np.median(speed_ups) < SPEED_UP:
        outside.append("speed")
    return 1 if outside else 0


if __name__ == "__main__":
    sys.exit(main(*(int(argument) for argument in sys.argv[1:])))
