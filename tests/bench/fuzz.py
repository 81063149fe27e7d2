"""Twenty thousand spoiled files, and what became of them.

    python -m tests.bench.fuzz [--files 20000] [--from 0]

Half athlete files (the good ones are built into sites), a tenth club files, the rest sheets.
Seeded: a number in a complaint names the file, and `--from` begins there. Exit code 1 when
anything but a site or a plainly told mistake came out.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from tests.fuzz.run import Fuzz


def main() -> int:
    """Print what was found."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--files", type=int, default=20_000)
    parser.add_argument("--from", dest="first", type=int, default=0)
    given = parser.parse_args()
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        fuzz = Fuzz(Path(folder))
        shares = {"athletes": 0.5, "clubs": 0.1, "sheets": 0.4}
        for kind, share in shares.items():
            count = round(given.files * share)
            getattr(fuzz, kind)(range(given.first, given.first + count))
            print(f"{kind}: {count} files after {time.perf_counter() - start:.0f} s", flush=True)
    found = fuzz.found
    print(
        f"{found.good} good, {found.built} of them built, {found.added} sets taken in; "
        f"slowest {found.slowest_s:.2f} s of processor time"
    )
    for line in found.bad:
        print(line)
    print(f"{len(found.bad)} findings")
    return 1 if found.bad else 0


if __name__ == "__main__":
    sys.exit(main())
