"""Keeps two worker processes busy until killed, and says who they are; for test_jobs.py."""

from __future__ import annotations

import os
import time
from collections.abc import Sequence
from itertools import repeat

from profilegen.build.jobs import Crew


def busy(batch: Sequence[int]) -> list[int]:
    time.sleep(0.05)
    return [os.getpid()] * len(batch)


if __name__ == "__main__":
    with Crew(jobs=2) as crew:
        for pid in crew.stream(busy, repeat(0), 1000):
            print(pid, flush=True)
