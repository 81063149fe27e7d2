"""How long it takes to set one lifter beside 5,000 rivals in every lift.

    python -m tests.bench.field

Prints medians in ms, one thread. The floor is the normal probabilities that the count cannot
do without: one for each rival, lift and value of the lifter's own lift.
"""

from __future__ import annotations

import os
import sys

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np  # noqa: E402
from scipy.special import ndtr  # noqa: E402

from profilegen.engine.company import NODES, company  # noqa: E402
from profilegen.engine.field import FieldModel  # noqa: E402
from profilegen.engine.posterior import DRAWS  # noqa: E402
from profilegen.history.records import Rival  # noqa: E402
from profilegen.norms.catalogue import load_norms  # noqa: E402
from tests.bench.engine_time import milliseconds  # noqa: E402
from tests.squads import TODAY  # noqa: E402

RIVALS = 5000


def main() -> None:
    """Print the table."""
    norms = load_norms()
    random = np.random.default_rng(20261012)
    field = [
        Rival("M", "88", mass, 0.45 * total, 0.55 * total)
        for mass, total in zip(
            random.uniform(81.0, 88.0, RIVALS), random.normal(230.0, 40.0, RIVALS), strict=True
        )
    ]
    draws = {
        lift.id: np.log(100.0 * lift.share.value) + 0.03 * random.standard_normal(DRAWS)
        for lift in norms.lifts.values()
    }
    z = random.standard_normal(RIVALS * len(draws) * NODES)
    least = milliseconds(lambda: ndtr(z))
    took = milliseconds(lambda: company(draws, "M", 86.0, field, FieldModel.of(norms, TODAY)))
    print(f"{'floor: the normal probabilities alone':<48}{least:8.1f} ms")
    what = f"company of {RIVALS} rivals in {len(draws)} lifts"
    print(f"{what:<48}{took:8.1f} ms{took / least:8.1f} x the floor")
    print(f"Python {sys.version.split()[0]}, NumPy {np.__version__}, one thread")


if __name__ == "__main__":
    main()
