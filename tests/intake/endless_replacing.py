"""Replaces some files again and again until killed; for the tests of the journal."""

from __future__ import annotations

import sys
from itertools import count
from pathlib import Path

from profilegen.intake.journal import Replacement, replace_all

FILES = 3


def content(turn: int, number: int) -> bytes:
    return f"turn {turn}\n".encode() * (50 + number)


def main(folder: Path) -> None:
    print("replacing", flush=True)
    first = int((folder / "0.yaml").read_text().split()[1])
    for turn in count(first):
        changes = [
            Replacement(f"{n}.yaml", content(turn, n), content(turn + 1, n)) for n in range(FILES)
        ]
        replace_all(folder, changes)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
