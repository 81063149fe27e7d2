"""A squad whose every private value is unique, so that one found in a public file is a leak.

There is one lifter for each combination of `sharing` and age. What may be shown of each is
worked out here once more, from the rules as a club would say them, not from the program.
"""

from __future__ import annotations

import base64
import binascii
import gzip
import html
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

from profilegen.publish.lock import Locked, unlock

CLUB = """\
name: Canary Barbell Club
publish: {index: true}
testing_weeks:
  - {start: 2026-10-12, end: 2026-10-17, called: Autumn}
marks:
  - {called: Record, sex: F, up_to_kg: 240, total_kg: 190}
"""

LIFTER = """\
# comment{tag}
name: Foren{tag} Aftern{tag}
sex: F
born: {born}
group: group{tag}
build: {{sitting_height_ratio: 0.53{digits}}}
avoid:
  - {{lift: press, since: 2025-02-01, why: reason{tag}}}
{sharing}meets:
  - {{on: 2026-12-05, called: meet{tag}, target_total_kg: 201.{digits}}}
bests:
  - {{lift: snatch_deadlift, kg: 140, around: 2025-11, source: told}}
sessions:
  - on: 2026-10-12
    at: testing
    body_mass_kg: {mass}
    note: day{tag}
    sets:
      - {{lift: snatch, kg: 80.{digits}, effort: max, note: remark{tag}}}
      - {{lift: clean_and_jerk, kg: 101, missed: jerk, video: "https://example.org/video{tag}"}}
      - {{lift: front_squat, kg: 115, reps: 2}}
notes: |
  Note *note{tag}*.
questions:
  - {{why: power_clean}}
"""

ADULT, MINOR = "2000-05-17", "2011-05-17"
CONSENTS = {"none": "", "before": "2026-01-10", "after": "2026-12-24"}


@dataclass(frozen=True)
class Canary:
    """One lifter: what was asked for, and the words that are only this lifter's."""

    number: int
    report: str
    squad: str
    body_mass: str
    born: str
    consent: str
    block: bool = True

    @property
    def tag(self) -> str:
        """Stands in every private word of the file."""
        return f"q{self.number:03}z"

    @property
    def id(self) -> str:
        """The file's name."""
        return f"stem{self.tag}"

    @property
    def mass(self) -> str:
        """Far above every load of the squad, and a tenth that no load is rounded to."""
        return f"{230 + self.number // 8}.{(1, 2, 3, 5, 6, 7, 8, 0)[self.number % 8]}7"

    @property
    def mass_written(self) -> bytes:
        """How data and pages write the body mass, as a pattern."""
        return rf"{re.escape(self.mass)}|{float(self.mass):.1f}\s?kg".encode()

    # The rules once more.

    @property
    def free(self) -> bool:
        """Nobody else has to agree."""
        return self.born == ADULT or self.consent == "before"

    @property
    def shows_report(self) -> bool:
        return self.block and (self.report == "locked" or (self.report == "open" and self.free))

    @property
    def is_open(self) -> bool:
        return self.shows_report and self.report == "open"

    @property
    def shows_name(self) -> bool:
        return self.block and self.squad == "name" and self.free and self.shows_anything

    @property
    def shows_mass(self) -> bool:
        return self.block and self.body_mass == "shown" and self.free and self.shows_anything

    @property
    def shows_anything(self) -> bool:
        return self.shows_report or (self.block and self.squad != "off")

    @property
    def shown(self) -> tuple[bool, ...]:
        """Everything that the rules decide."""
        return self.shows_report, self.is_open, self.shows_name, self.shows_mass

    @property
    def at_another_age(self) -> Canary:
        """The same sharing, under 18 instead of over or the other way round."""
        return replace(self, born=MINOR if self.born == ADULT else ADULT)

    def text(self) -> str:
        """The athlete file."""
        sharing = ""
        if self.block:
            day = CONSENTS[self.consent]
            sharing = (
                f"sharing: {{report: {self.report}, squad: {self.squad}, "
                f"body_mass: {self.body_mass}{f', guardian_consent: {day}' if day else ''}}}\n"
            )
        return LIFTER.format(
            tag=self.tag,
            born=self.born,
            digits=f"{self.number:03}",
            mass=self.mass,
            sharing=sharing,
        )

    def private_words(self) -> list[str]:
        """What must not be found in any public byte, capitals or not."""
        words = ["comment", "group", "reason", "meet", "day", "remark", "video", "note"]
        if not self.shows_name:
            words += ["foren", "aftern"]
        if not (self.is_open and self.shows_name):
            words.append("stem")
        return [f"{word}{self.tag}" for word in words] + [f"0.53{self.number:03}"]


def canaries() -> list[Canary]:
    """Every combination of sharing and age, and a lifter without the block."""
    ages = ((ADULT, "none"), (MINOR, "none"), (MINOR, "before"), (MINOR, "after"))
    asked = product(
        ("open", "locked", "off"), ("name", "initials", "off"), ("shown", "hidden"), ages
    )
    found = [
        Canary(number, report, squad, mass, born, consent)
        for number, (report, squad, mass, (born, consent)) in enumerate(asked)
    ]
    return [*found, Canary(len(found), "open", "name", "shown", ADULT, "none", block=False)]


def write_squad(folder: Path, *, every: int = 1) -> list[Canary]:
    """The squad's folder, with all lifters or some; the one without the block is among them."""
    folder.mkdir()
    (folder / "club.yaml").write_text(CLUB)
    squad = [one for one in canaries() if one.number % every == 0 or not one.block]
    for one in squad:
        (folder / f"{one.id}.yaml").write_text(one.text())
    return squad


_BASE64 = re.compile(rb"[A-Za-z0-9+/_-]{24,}={0,2}")


def everything_in(data: bytes) -> Iterator[bytes]:
    """Some bytes, and whatever is packed into them by base64, gzip, HTML or URLs."""
    yield data
    if data[:2] == b"\x1f\x8b":
        yield from everything_in(gzip.decompress(data))
        return
    for match in _BASE64.finditer(data):
        text = match.group().replace(b"-", b"+").replace(b"_", b"/")
        try:
            inner = base64.b64decode(text + b"=" * (-len(text.rstrip(b"=")) % 4))
        except binascii.Error:
            continue
        if inner[:2] == b"\x1f\x8b":
            yield from everything_in(inner)
        else:
            yield inner
    plain = html.unescape(data.decode("utf-8", "replace"))
    if plain.encode() != data:
        yield plain.encode()


_DATA = {name: re.compile(rf'data-{name}="([^"]+)"') for name in ("rounds", "salt", "nonce")}
SEALED = re.compile(r'id="sealed">([^<]+)<')


def locked_in(page: str) -> Locked | None:
    """The lock in a page, if it has one."""
    sealed = SEALED.search(page)
    if sealed is None:
        return None
    said = {name: html.unescape(found[1]) for name, pattern in _DATA.items()
            if (found := pattern.search(page))}  # fmt: skip
    salt, nonce = (base64.b64decode(said[name]) for name in ("salt", "nonce"))
    return Locked(int(said["rounds"]), salt, nonce, base64.b64decode(sealed[1]))


def content_of(page: str, passphrase: str) -> str:
    """What a locked page holds."""
    locked = locked_in(page)
    assert locked is not None
    return unlock(locked, passphrase)
