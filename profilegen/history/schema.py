"""The file formats: one YAML file per lifter, one club.yaml, one CSV of rivals.

This docstring is the reference; the models below say the same to the program, and their
descriptions are the words of its error messages. Unknown keys are errors everywhere.

Athlete file
============
`athletes/ann.yaml`; the file's name without its ending is the lifter's id and names every
page about her, so it holds only letters, digits, `-` and `_`::

    name: Ann Example              # shown as `sharing` allows
    sex: F                         # F | M: which norms and formulas apply
    born: 2004-03-18
    units: kg                      # kg (default) | lb, for the whole file
    group: seniors                 # optional: training group in the club
    build:                         # optional: short | average | long, or a measured ratio
      thighs: short
      torso: long                  # ... or sitting_height_ratio: 0.53
    avoid:                         # never tested, never proposed; inferred instead
      - {lift: back_squat, since: 2025-02-01, why: low back}
    sharing:                       # what she agreed to; without this block all is private
      report: open                 # open | locked | off (default)
      squad: name                  # name | initials | off (default)
      body_mass: shown             # shown | hidden (default)
      guardian_consent: 2026-01-10 # under 18: the day a guardian agreed
    meets:                         # past and coming
      - {on: 2026-12-05, called: Winter Open, target_total_kg: 190}
    bests:                         # hearsay and old bests: no set to point at
      - {lift: snatch_deadlift, kg: 140, around: 2025-11, source: told}
    sessions:
      - on: 2026-10-12
        at: testing                # testing | training (default) | meet
        body_mass_kg: 63.4         # optional
        note: slept badly          # optional
        sets:
          - {lift: snatch, kg: 84}                        # a made single
          - {lift: snatch, kg: 87, missed: true}
          - {lift: clean_and_jerk, kg: 104, missed: jerk} # clean made, jerk missed
          - {lift: front_squat, kg: 120, reps: 3, in_reserve: 1}
          - {lift: power_snatch, kg: 70, effort: max}     # nothing left
          - {lift: clean_pull, kg: 110, speed_m_s: 1.21}
          - {lift: snatch_deadlift, kg: 128, looked: easy, video: https://example.org/v}
          - {lift: clean, kg: 80, share: 0.7, note: "felt like 70 %"}
    notes: |                       # Markdown, sanitised; at most 20,000 characters
      Text for the page.
    questions:                     # answered on the page
      - {why: power_clean}         # why is it as good, or as poor, as it is
      - {holds: clean}             # what stops it
      - {claim: {overhead: low}}   # is this hypothesis supported: quality: high | low

**Lifts** are ids of the catalogue or of the club's own lifts, their names or aliases;
capitals, spaces and hyphens make no difference. `clean_and_jerk` may be written in sets, bests
and questions, but not in `avoid` (avoid the clean, the jerk or both); `total` is not a lift.

**Units.** In a file with `units: lb` the keys are `lb`, `body_mass_lb` and
`target_total_lb`; a kg key there (or a lb key in a kg file) is an error. No file mixes.

**Dates** are `2025-11-03`. `around` in bests and `since` in avoid may be vague: `2025-11`
or `2025`. The middle of the period (of its part up to today) is used for a best, with half
its length as doubt; its first day for `since`. `source` is `told` (default: the lifter or
someone says so), `seen` (the coach saw it) or `recorded` (a result list, a diary, a video).
Only meets may lie in the future.

**A set** is one lift at one load, `reps` (default 1) times, made unless `missed`:

- `missed: true` — the repetitions written were tried and not all made: `{kg: 100, reps: 3,
  missed: true}` says that three could not be done, not that none was. `missed: clean` and
  `missed: jerk` only with `clean_and_jerk`: which half failed. `missed: false` is allowed.
- How hard it was: `effort: max` (nothing left), `in_reserve` (repetitions still possible,
  0-5 in halves; 10 - RPE where effort was written on the scale to ten), `looked` (easy |
  steady | grind), `share` (the coach's own guess of load / maximum). A missed set takes none
  of them: a miss already says that the load was too much, whatever the effort. `effort: max`
  contradicts `looked`, a `share`, and any reserve above 0. Of the others several may stand
  together.
- `speed_m_s` — mean vertical bar speed (peak for snatch, clean, jerk and their pulls) of
  the fastest repetition.
- `video` — a web address (http or https); `note` — a line for the page.

**A session** needs sets, a body mass or a note. Several sessions may share a day.

club.yaml
=========
::

    name: Example Weightlifting Club
    units: kg                      # how loads are shown: kg (default) | lb
    language: en                   # en (default) | de
    testing_weeks:
      - {start: 2026-10-12, end: 2026-10-17, called: Autumn 2026}
    own_lifts:                     # behaves like its parent at a usual share of it
      - {id: deficit_snatch, name: Snatch from a deficit, parent: snatch, share: 0.93}
    marks:                         # records and qualifying standards, always kg
      - {called: State record, sex: F, up_to_kg: 63, snatch_kg: 90, clean_and_jerk_kg: 112}
    field: rivals.csv              # results to compare with, in the same folder
    look: {accent: "#0b6e4f", logo: logo.svg}
    test_cost: {back_squat: 2.0}   # fatigue of one maximal test, snatch = 1
    publish: {index: true}         # search engines may list the public copy (default: false)

Only `name` is needed. A mark without `up_to_kg` is for the open class. Testing weeks do not
overlap and last at most a month.

Rivals
======
CSV with a header, comma or semicolon between the cells (with semicolons a decimal comma is
understood), always kg: `sex` (F | M), `category`, `body_mass_kg`, `snatch_kg`,
`clean_and_jerk_kg`, and if known `date`. "body mass", "snatch", "clean and jerk" are
understood too. Other columns are ignored.

YAML as it is read here
=======================
One document, UTF-8, at most 50 MB. No anchors, aliases or tags. Numbers are written as
everybody writes them; what YAML readers silently convert (`no`, `1:30`, `010`, `1_000`) is
text here, and an error that says so where it can be meant otherwise.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainValidator, WithJsonSchema

from profilegen.history import plausible
from profilegen.history.dates import Period, day_from, period_from
from profilegen.history.texts import one_line, several_lines, web_address
from profilegen.history.words import span
from profilegen.norms.catalogue import Quality

# Descriptions complete the sentence "expected ..., found ..." and explain the key to editors.

Day = Annotated[
    date,
    PlainValidator(day_from),
    WithJsonSchema({"type": "string", "format": "date"}),
    Field(description="a date like 2025-11-03"),
]
VagueDay = Annotated[
    Period,
    PlainValidator(period_from),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "pattern": "^[0-9]{4}(-[0-9]{2}){0,2}$"},
                {"type": "integer", "minimum": 1000, "maximum": 9999},
            ]
        }
    ),
    Field(description="a date like 2025-11-03, a month like 2025-11 or a year like 2025"),
]
Name = Annotated[
    str,
    BeforeValidator(one_line),
    Field(min_length=1, max_length=120, description="text on one line, 1 to 120 characters"),
]
Remark = Annotated[
    str,
    BeforeValidator(one_line),
    Field(min_length=1, max_length=500, description="text on one line, 1 to 500 characters"),
]
Notes = Annotated[
    str,
    BeforeValidator(several_lines),
    Field(
        max_length=plausible.MOST_NOTE_CHARACTERS,
        description=f"text of at most {plausible.MOST_NOTE_CHARACTERS:,} characters",
    ),
]
WebAddress = Annotated[
    str,
    BeforeValidator(web_address),
    Field(
        max_length=2000,
        description="a web address that starts with https:// or http://",
        json_schema_extra={"format": "uri"},
    ),
]
LiftName = Annotated[str, Field(description="the name of a lift, such as snatch")]
# Loads are checked against their lift's family, and in the file's unit: see athlete_sense.py.
Load = Annotated[float, Field(description="a load as a number")]
BodyMass = Annotated[float, Field(description="a body mass as a number")]
UnitsWritten = Annotated[Literal["kg", "lb"], Field(description="kg or lb")]
SexWritten = Annotated[Literal["F", "M"], Field(description="F or M")]
ProportionWritten = Annotated[
    Literal["short", "average", "long"], Field(description="short, average or long")
]


class _Strict(BaseModel):
    """No conversions, no unknown keys, no infinities."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class SetEntry(_Strict):
    """One line under `sets`."""

    lift: LiftName
    kg: Load | None = None
    lb: Load | None = None
    reps: Annotated[int, Field(ge=1, le=20, description="a whole number from 1 to 20")] = 1
    in_reserve: (
        Annotated[
            float,
            # from 5 to 10 it is told more about: see athlete_sense.py
            Field(
                ge=0,
                le=10,
                multiple_of=0.5,
                description=f"0 to {plausible.MOST_IN_RESERVE:g} repetitions, in halves",
                json_schema_extra={"maximum": plausible.MOST_IN_RESERVE},
            ),
        ]
        | None
    ) = None
    missed: Annotated[
        Literal[True, False, "clean", "jerk"], Field(description="true, clean or jerk")
    ] = False
    effort: Annotated[Literal["max"], Field(description="max")] | None = None
    looked: (
        Annotated[Literal["easy", "steady", "grind"], Field(description="easy, steady or grind")]
        | None
    ) = None
    share: (
        Annotated[
            float,
            Field(
                ge=plausible.SHARE_RANGE[0],
                le=plausible.SHARE_RANGE[1],
                description=f"a share of the maximum {span(plausible.SHARE_RANGE)}",
            ),
        ]
        | None
    ) = None
    speed_m_s: (
        Annotated[
            float,
            Field(
                ge=plausible.SPEED_RANGE_M_S[0],
                le=plausible.SPEED_RANGE_M_S[1],
                description=f"a bar speed {span(plausible.SPEED_RANGE_M_S)} m/s",
            ),
        ]
        | None
    ) = None
    video: WebAddress | None = None
    note: Remark | None = None


class SessionEntry(_Strict):
    """One entry under `sessions`."""

    on: Day
    at: Annotated[
        Literal["testing", "training", "meet"], Field(description="testing, training or meet")
    ] = "training"
    body_mass_kg: BodyMass | None = None
    body_mass_lb: BodyMass | None = None
    note: Remark | None = None
    sets: Annotated[list[SetEntry], Field(description="a list of sets, each after a dash")] = []


class BestEntry(_Strict):
    """One line under `bests`."""

    lift: LiftName
    kg: Load | None = None
    lb: Load | None = None
    around: VagueDay
    source: Annotated[
        Literal["told", "seen", "recorded"], Field(description="told, seen or recorded")
    ] = "told"


class MeetEntry(_Strict):
    """One line under `meets`."""

    on: Day
    called: Name
    target_total_kg: Load | None = None
    target_total_lb: Load | None = None


class AvoidEntry(_Strict):
    """One line under `avoid`."""

    lift: LiftName
    since: VagueDay | None = None
    why: Remark | None = None


class BuildEntry(_Strict):
    """The block `build`."""

    thighs: ProportionWritten | None = None
    torso: ProportionWritten | None = None
    sitting_height_ratio: (
        Annotated[
            float,
            Field(
                ge=plausible.SITTING_HEIGHT_RANGE[0],
                le=plausible.SITTING_HEIGHT_RANGE[1],
                description=f"sitting height / height {span(plausible.SITTING_HEIGHT_RANGE)}",
            ),
        ]
        | None
    ) = None


class SharingEntry(_Strict):
    """The block `sharing`."""

    report: Annotated[
        Literal["open", "locked", "off"], Field(description="open, locked or off")
    ] = "off"
    squad: Annotated[
        Literal["name", "initials", "off"], Field(description="name, initials or off")
    ] = "off"
    body_mass: Annotated[Literal["shown", "hidden"], Field(description="shown or hidden")] = (
        "hidden"
    )
    guardian_consent: Day | None = None


class QuestionEntry(_Strict):
    """One line under `questions`: exactly one of the three."""

    why: LiftName | None = None
    holds: LiftName | None = None
    claim: (
        Annotated[
            dict[Quality, Annotated[Literal["high", "low"], Field(description="high or low")]],
            Field(
                min_length=1, max_length=1, description="one quality: high or low, as {legs: low}"
            ),
        ]
        | None
    ) = None


class AthleteFile(_Strict):
    """A whole athlete file."""

    name: Name
    sex: SexWritten
    born: Day
    units: UnitsWritten = "kg"
    group: Name | None = None
    build: Annotated[BuildEntry, Field(description="a block like {thighs: short}")] = BuildEntry()
    avoid: Annotated[list[AvoidEntry], Field(description="a list, each entry after a dash")] = []
    sharing: Annotated[SharingEntry, Field(description="a block like {report: open}")] | None = None
    meets: Annotated[list[MeetEntry], Field(description="a list, each entry after a dash")] = []
    bests: Annotated[list[BestEntry], Field(description="a list, each entry after a dash")] = []
    sessions: Annotated[
        list[SessionEntry], Field(description="a list, each entry after a dash")
    ] = []
    notes: Notes = ""
    questions: Annotated[
        list[QuestionEntry], Field(description="a list, each entry after a dash")
    ] = []


class WeekEntry(_Strict):
    """One line under `testing_weeks`."""

    start: Day
    end: Day
    called: Name


class OwnLiftEntry(_Strict):
    """One line under `own_lifts`."""

    id: Annotated[
        str,
        Field(
            pattern=r"^[a-z][a-z0-9_]{0,59}$",
            description="an id of small letters, digits and _ that starts with a letter",
        ),
    ]
    name: Name
    parent: LiftName
    share: Annotated[
        float,
        Field(
            ge=plausible.OWN_LIFT_SHARE_RANGE[0],
            le=plausible.OWN_LIFT_SHARE_RANGE[1],
            description=f"a share of the parent lift {span(plausible.OWN_LIFT_SHARE_RANGE)}",
        ),
    ]


class MarkEntry(_Strict):
    """One line under `marks`: a record or a qualifying standard, always kg."""

    called: Name
    sex: SexWritten
    up_to_kg: BodyMass | None = None
    snatch_kg: Load | None = None
    clean_and_jerk_kg: Load | None = None
    total_kg: Load | None = None


class LookEntry(_Strict):
    """The block `look`."""

    accent: (
        Annotated[
            str,
            Field(pattern=r"^#[0-9a-fA-F]{6}$", description='a colour in quotes, like "#0b6e4f"'),
        ]
        | None
    ) = None
    logo: (
        Annotated[
            str, Field(min_length=1, max_length=200, description="the name of a picture file")
        ]
        | None
    ) = None


class PublishEntry(_Strict):
    """The block `publish`."""

    index: Annotated[bool, Field(description="true or false")] = False


class ClubFile(_Strict):
    """club.yaml."""

    name: Name
    units: UnitsWritten = "kg"
    language: Annotated[Literal["en", "de"], Field(description="en or de")] = "en"
    testing_weeks: Annotated[
        list[WeekEntry], Field(description="a list, each entry after a dash")
    ] = []
    own_lifts: Annotated[
        list[OwnLiftEntry], Field(description="a list, each entry after a dash")
    ] = []
    marks: Annotated[list[MarkEntry], Field(description="a list, each entry after a dash")] = []
    field: (
        Annotated[str, Field(min_length=1, max_length=200, description="the name of a CSV file")]
        | None
    ) = None
    look: Annotated[LookEntry, Field(description='a block like {accent: "#0b6e4f"}')] = LookEntry()
    test_cost: Annotated[
        dict[
            str,
            Annotated[
                float,
                Field(
                    ge=plausible.TEST_COST_RANGE[0],
                    le=plausible.TEST_COST_RANGE[1],
                    description=f"a cost {span(plausible.TEST_COST_RANGE)}, snatch = 1",
                ),
            ],
        ],
        Field(description="a block like {back_squat: 2}"),
    ] = {}
    publish: Annotated[PublishEntry, Field(description="a block like {index: true}")] = (
        PublishEntry()
    )
