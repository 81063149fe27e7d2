"""How many tests it takes to settle what limits a lifter: the rule against the fixed sheet.

    python -m tests.bench.next_test [LIFTERS]

Prints, over simulated lifters (300), how many of them have an answer with a chance over 0.8
after so many tests, and the tests spent per settled lifter, when tests follow the sheet and
when each time the lift is tested that is expected to tell most.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from profilegen.norms.catalogue import load_norms
from tests.engine.testing_weeks import (
    MOST_TESTS,
    compared,
)


def main() -> None:
    lifters = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    began = time.perf_counter()
    sheet, rule = compared(load_norms(), lifters, seed=3)
    print(f"{lifters} simulated lifters, at most {MOST_TESTS} tests each")
    print("settled after       sheet    rule")
    for tests in (3, 6, 9, 12):
        print(f"  {tests:2d} tests       {sheet.settled(tests):7.0%} {rule.settled(tests):7.0%}")
    print(f"right when settled  {sheet.right:7.0%} {rule.right:7.0%}")
    taken = [float(course.tests.mean()) for course in (sheet, rule)]
    print(
        f"tests per lifter    {taken[0]:7.1f} {taken[1]:7.1f}  (those never settled count as many)"
    )
    print(f"tests per settled   {sheet.per_settled:7.1f} {rule.per_settled:7.1f}")
    fewer = 1.0 - rule.per_settled / sheet.per_settled
    print(f"fewer tests by the rule: {fewer:.0%} (at least 30 % wanted)")
    print(f"{time.perf_counter() - began:.0f} s")
    if not np.isfinite(fewer) or fewer < 0.3:
        sys.exit(1)


if __name__ == "__main__":
    main()
