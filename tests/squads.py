"""The demo squad, and a small squad of short files that a test may edit and break."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

DEMO = Path(__file__).parents[1] / "athletes"

TODAY = date(2026, 11, 24)
"""The demo was written up to this day; every later date but a meet's would be a mistake."""

CLUB = "name: Testford Barbell Club\nunits: kg\n"

LIFTER = """\
name: {name}
sex: {sex}
born: 2000-05-17
sharing: {{report: open, squad: name, body_mass: shown}}
sessions:
  - on: 2026-10-12
    at: testing
    body_mass_kg: 71.5
    sets:
      - {{lift: snatch, kg: {snatch}, effort: max}}
      - {{lift: clean_and_jerk, kg: {clean_and_jerk}, missed: jerk}}
      - {{lift: front_squat, kg: {front_squat}, reps: 2}}
notes: |
  Learned in *school*.
"""


def german_squad(folder: Path) -> Path:
    """The demo squad as a club that reads German has it."""
    shutil.copytree(DEMO, folder)
    club = folder / "club.yaml"
    text = club.read_text(encoding="utf-8")
    assert text.count("\nlanguage: en\n") == 1
    text = text.replace("\nlanguage: en\n", "\nlanguage: de\n")
    club.write_text(text, encoding="utf-8")
    return folder


class SmallSquad:
    """A folder of short athlete files that a test may add to, edit and break."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir()
        (folder / "club.yaml").write_text(CLUB)

    def add(self, lifter_id: str, name: str = "", snatch: int = 80) -> Path:
        """A lifter who differs from the others by the snatch alone."""
        file = self.folder / f"{lifter_id}.yaml"
        file.write_text(
            LIFTER.format(
                name=name or lifter_id.title(),
                sex="F",
                snatch=snatch,
                clean_and_jerk=snatch + 22,
                front_squat=snatch + 30,
            )
        )
        return file
