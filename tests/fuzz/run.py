"""Feeds spoiled files to the program and notes everything but a clean answer.

A clean answer is a site, or mistakes that can be printed, one a line, within a second of
work; nothing written but the site, its workshop and the temporary folder.
"""

from __future__ import annotations

import shutil
import tempfile
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from profilegen.build.site import build_site
from profilegen.errors import InputError, OutputError
from profilegen.history.club import read_club, read_club_and_lifts
from profilegen.history.load import load_squad, read_athlete
from profilegen.intake.journal import replace_all
from profilegen.intake.plan import Wishes, plan_intake
from profilegen.norms.catalogue import load_norms
from profilegen.report.language import words_in
from tests.fuzz import spoil
from tests.fuzz.watched import Watch, watched
from tests.squads import DEMO, TODAY

LIMIT_S = 1.0
"""Of processor time for one file; the clock would punish a busy machine."""

SQUAD = 8
"""Good files that are built together."""

LIFTERS = ("amara", "bram", "dario")
"""Of the demo, who the sheets are about."""


@dataclass
class Findings:
    """What became of the files."""

    files: int = 0
    good: int = 0
    built: int = 0
    added: int = 0
    slowest_s: float = 0.0
    bad: list[str] = field(default_factory=list)
    """What must not be: a traceback, a hang, a file somewhere else."""


class Fuzz:
    """One run, in a folder of its own."""

    def __init__(self, box: Path) -> None:
        self.found = Findings()
        self._box = box.resolve()
        _, self._lifts, _ = read_club_and_lifts(DEMO, load_norms().lifts, today=TODAY)
        self._waiting: list[Path] = []
        (self._box / "temporary").mkdir()

    def athletes(self, numbers: range) -> None:
        """Athlete files: each read alone, the good ones built in squads."""
        folder = self._new_squad()
        for number in numbers:
            file = folder / f"lifter-{number}.yaml"
            file.write_bytes(spoil.athlete_file(number))
            if self._try(f"athlete {number}", lambda file=file: self._read(file)):
                self._waiting.append(file)
            else:
                file.unlink()
            if len(self._waiting) >= SQUAD or (self._waiting and number == numbers[-1]):
                self._build(folder, f"squad up to athlete {number}")
                folder = self._new_squad()

    def clubs(self, numbers: range) -> None:
        """Club files, beside the files that they name."""
        for number in numbers:
            folder = self._box / "club"
            shutil.rmtree(folder, ignore_errors=True)
            shutil.copytree(DEMO, folder)
            (folder / "club.yaml").write_bytes(spoil.club_file(number))
            self._try(f"club {number}", lambda folder=folder: self._club(folder))

    def sheets(self, numbers: range) -> None:
        """Sheets, each taken into a fresh copy of a few demo lifters' files."""
        for number in numbers:
            folder = self._box / "taken-in"
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir()
            (folder / "club.yaml").write_text("name: Testford\n")
            for lifter in LIFTERS:
                shutil.copy(DEMO / f"{lifter}.yaml", folder)
            make, ending = (spoil.xlsx_sheet, "xlsx") if number % 2 else (spoil.csv_sheet, "csv")
            sheet = self._box / f"sheet.{ending}"
            sheet.write_bytes(make(number, LIFTERS))
            self._try(
                f"sheet {number}",
                lambda folder=folder, sheet=sheet: self._take_in(sheet, folder),
                folder,
            )

    def _read(self, file: Path) -> None:
        read_athlete(file, self._lifts, today=TODAY)
        self.found.good += 1

    def _club(self, folder: Path) -> None:
        read_club(folder, load_norms().lifts, today=TODAY)
        self.found.good += 1

    def _take_in(self, sheet: Path, folder: Path) -> None:
        lifts = load_norms().lifts
        plan = plan_intake(sheet, folder, lifts, Wishes(), texts_in=words_in, today=TODAY)
        self.found.good += 1
        if plan.replacements:
            replace_all(folder, plan.replacements)
            self.found.added += plan.added_sets
            load_squad(folder, lifts, today=TODAY)

    def _build(self, folder: Path, name: str) -> None:
        """A site of the good files. Only a squad without any session has a mistake left."""
        site = self._box / "site"
        if self._try(
            name,
            lambda: build_site(folder, site, today=TODAY, jobs=1),
            site,
            self._box / ".site.profilegen",
            limit_s=LIMIT_S * (1 + len(self._waiting)),
        ):
            self.found.built += len(self._waiting)
        self._waiting.clear()
        shutil.rmtree(folder)

    def _new_squad(self) -> Path:
        folder = self._box / "athletes"
        folder.mkdir(exist_ok=True)
        for file in DEMO.iterdir():
            if file.is_file() and (file.suffix != ".yaml" or file.name == "club.yaml"):
                shutil.copy(file, folder)
        return folder

    def _try(
        self, name: str, work: Callable[[], object], *may_write: Path, limit_s: float = LIMIT_S
    ) -> bool:
        """Whether it went through without a mistake being told."""
        self.found.files += 1
        start, fine = time.process_time(), True
        temporary, tempfile.tempdir = tempfile.tempdir, str(self._box / "temporary")
        try:
            with watched() as watch:
                work()
        except (InputError, OutputError) as error:
            fine = False
            if not str(error) or not all(line.isprintable() for line in str(error).split("\n")):
                self.found.bad.append(f"{name}: cannot be printed: {error!r}")
        except Exception:
            fine = False
            self.found.bad.append(f"{name}: {traceback.format_exc()}")
        finally:
            tempfile.tempdir = temporary
        took = time.process_time() - start
        self.found.slowest_s = max(self.found.slowest_s, took)
        if took > limit_s:
            self.found.bad.append(f"{name}: {took:.1f} s")
        self._check_touched(name, watch, *may_write)
        return fine

    def _check_touched(self, name: str, watch: Watch, *may_write: Path) -> None:
        outside = watch.outside(*may_write, self._box / "temporary")
        self.found.bad += [f"{name}: touched {path}" for path in outside]
        self.found.bad += [f"{name}: {event}" for event in watch.forbidden]
