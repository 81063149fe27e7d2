"""What a coach wrote down, as plain frozen values: the hand-over from files to engine.

Every load is in kilograms and every lift is a catalogue id, whatever the file used.
`line` is the line in the athlete's file, so that any statement can be traced back.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from profilegen.norms.catalogue import Quality

Sex = Literal["F", "M"]
Units = Literal["kg", "lb"]
Place = Literal["testing", "training", "meet"]
Look = Literal["easy", "steady", "grind"]
Source = Literal["told", "seen", "recorded"]
Missed = Literal["lift", "clean", "jerk"]
"""What was missed: the lift, or for a clean and jerk which part (`lift`: not said)."""
Proportion = Literal["short", "average", "long"]


@dataclass(frozen=True, slots=True)
class SetRecord:
    """One set, as written: `reps` at `load_kg`, made unless `missed` says otherwise."""

    lift: str
    load_kg: float
    reps: int = 1
    in_reserve: float | None = None
    """Repetitions the lifter could still have done, when the coach wrote it."""
    missed: Missed | None = None
    """With several `reps`: that many were tried and not all made."""
    effort_max: bool = False
    """Nothing left: the load is about what the lifter could make."""
    looked: Look | None = None
    share: float | None = None
    """The coach's own guess of load / maximum, 0-1."""
    speed_m_s: float | None = None
    """Mean vertical bar speed (peak speed for snatch, clean, jerk and their pulls), m/s."""
    video: str | None = None
    note: str | None = None
    line: int = 0
    """Where the row starts in the athlete's file; the same in every record."""


@dataclass(frozen=True, slots=True)
class Session:
    """The sets of one day in one place."""

    on: date
    at: Place = "training"
    body_mass_kg: float | None = None
    sets: tuple[SetRecord, ...] = ()
    note: str | None = None
    line: int = 0


@dataclass(frozen=True, slots=True)
class Best:
    """Hearsay or an old best: no set to point at, and a date only roughly known."""

    lift: str
    load_kg: float
    around: date
    """Middle of the period the coach named."""
    vague_days: float
    """Half the length of that period: 0 for a day, 15 for a month, 183 for a year."""
    source: Source = "told"
    line: int = 0


@dataclass(frozen=True, slots=True)
class PlannedMeet:
    """A competition on the calendar (past ones explain submaximal singles before them)."""

    on: date
    called: str
    target_total_kg: float | None = None
    line: int = 0


@dataclass(frozen=True, slots=True)
class Avoid:
    """A lift never tested and never proposed; inferred instead."""

    lift: str
    since: date | None = None
    why: str | None = None
    line: int = 0


@dataclass(frozen=True, slots=True)
class Build:
    """Proportions that move squat against pull a little."""

    thighs: Proportion | None = None
    torso: Proportion | None = None
    sitting_height_ratio: float | None = None


@dataclass(frozen=True, slots=True)
class Sharing:
    """What the lifter agreed to. Absent in the file means private (all off)."""

    report: Literal["open", "locked", "off"] = "off"
    squad: Literal["name", "initials", "off"] = "off"
    body_mass: Literal["shown", "hidden"] = "hidden"
    guardian_consent_on: date | None = None
    stated: bool = False
    """Whether the file has a `sharing` block at all."""


@dataclass(frozen=True, slots=True)
class Question:
    """What the coach wants answered: `why`/`holds` name a lift, `claim` a quality."""

    kind: Literal["why", "holds", "claim"]
    lift: str | None = None
    quality: Quality | None = None
    direction: Literal["high", "low"] | None = None
    line: int = 0


@dataclass(frozen=True, slots=True)
class Athlete:
    """One lifter's whole history. `id` is the file's stem and names every output file."""

    id: str
    name: str
    sex: Sex
    born: date
    units: Units = "kg"
    group: str | None = None
    """Training group within the club, if the coach uses them."""
    build: Build = field(default_factory=Build)
    avoid: tuple[Avoid, ...] = ()
    sharing: Sharing = field(default_factory=Sharing)
    meets: tuple[PlannedMeet, ...] = ()
    bests: tuple[Best, ...] = ()
    sessions: tuple[Session, ...] = ()
    """In date order; same-day sessions keep the file's order."""
    notes: str = ""
    questions: tuple[Question, ...] = ()
    path: str = ""
    """The file's name without its folder, so that it may be shown anywhere."""

    def age_on(self, day: date) -> int:
        """Completed years on `day`."""
        before_birthday = (day.month, day.day) < (self.born.month, self.born.day)
        return day.year - self.born.year - before_birthday

    @property
    def last_session_on(self) -> date | None:
        """The day of the latest session, if there is any."""
        return self.sessions[-1].on if self.sessions else None


@dataclass(frozen=True, slots=True)
class TestingWeek:
    """Days in which the club tests; sessions `at: testing` fall into one of them."""

    start: date
    end: date
    called: str


@dataclass(frozen=True, slots=True)
class OwnLift:
    """A lift the club adds: it behaves like `parent` at `share` of the parent's load."""

    id: str
    name: str
    parent: str
    share: float
    line: int = 0


@dataclass(frozen=True, slots=True)
class Mark:
    """A record or qualifying standard to compare with, for one sex and body-mass class."""

    called: str
    sex: Sex
    up_to_kg: float | None
    """Upper limit of the class; None is the open class."""
    snatch_kg: float | None = None
    clean_and_jerk_kg: float | None = None
    total_kg: float | None = None
    line: int = 0


@dataclass(frozen=True, slots=True)
class Rival:
    """One row of the field: a result of someone in the same competition."""

    sex: Sex
    category: str
    body_mass_kg: float
    snatch_kg: float
    clean_and_jerk_kg: float
    on: date | None = None


@dataclass(frozen=True, slots=True)
class Club:
    """club.yaml: what holds for everyone."""

    name: str
    units: Units = "kg"
    language: str = "en"
    testing_weeks: tuple[TestingWeek, ...] = ()
    own_lifts: tuple[OwnLift, ...] = ()
    marks: tuple[Mark, ...] = ()
    field: tuple[Rival, ...] = ()
    accent: str | None = None
    """Accent colour as #rrggbb."""
    logo: str | None = None
    """Path of a logo file, relative to the club file and inside its folder."""
    test_cost: tuple[tuple[str, float], ...] = ()
    """Club's own fatigue cost of testing a lift, by lift id."""
    indexed: bool = False
    """Whether search engines may list the public copy."""
    path: str = ""
    """The file's name without its folder."""


@dataclass(frozen=True, slots=True)
class Squad:
    """Everything in one athletes folder. Athletes are sorted by id."""

    club: Club
    athletes: tuple[Athlete, ...]

    @property
    def latest_session_on(self) -> date | None:
        """The latest session of anyone: the default build date."""
        days = [a.last_session_on for a in self.athletes if a.last_session_on]
        return max(days) if days else None
