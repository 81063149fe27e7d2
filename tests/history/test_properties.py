"""What holds for every file anyone could write."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from profilegen.errors import InputError
from profilegen.history.club import read_club
from profilegen.history.load import read_athlete
from profilegen.history.records import Athlete, Best, Session, SetRecord
from profilegen.history.rivals import read_rivals
from profilegen.norms.catalogue import Lift, load_norms
from profilegen.units import kg_to_lb

TODAY = date(2026, 11, 25)
LIFTS: Mapping[str, Lift] = load_norms().lifts

# fmt: off
WORDS = [
    "name", "sex", "born", "units", "group", "build", "avoid", "sharing", "meets", "bests",
    "sessions", "notes", "questions", "lift", "kg", "lb", "reps", "in_reserve", "missed",
    "effort", "looked", "share", "speed_m_s", "video", "on", "at", "body_mass_kg", "sets",
    "around", "source", "called", "why", "holds", "claim", "since", "testing_weeks",
    "start", "end", "own_lifts", "id", "parent", "marks", "look", "accent", "logo", "field",
    "test_cost", "language", "thighs", "guardian_consent",
]
# fmt: on
KEYS = st.sampled_from(WORDS)
SCALARS = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.dates()
    | st.text(max_size=20)
    | st.sampled_from(["snatch", "F", "kg", "2025-11", "max", "clean", "open", "#123456", "1:30"])
)
STRUCTURES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS | st.text(max_size=8), inner),
    max_leaves=25,
)
SETS = st.lists(st.dictionaries(KEYS, SCALARS, max_size=4).map(lambda d: {"lift": "snatch", **d}))
NEARLY = st.fixed_dictionaries(
    {"name": st.just("Ann"), "sex": st.just("F"), "born": st.dates(date(1990, 1, 1), TODAY)},
    optional={
        "sessions": st.lists(st.fixed_dictionaries({"on": SCALARS, "sets": SETS}), max_size=3),
        "bests": SETS,
        "questions": SETS,
        "units": st.sampled_from(["kg", "lb", "stone"]),
    },
)
FILES = st.dictionaries(KEYS, STRUCTURES, max_size=8) | NEARLY
NOT_SLOW = settings(
    max_examples=150,
    deadline=1000,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


def only_told(path: Path) -> None:
    """Reading either works or ends in an InputError whose every line can be printed."""
    for read in (read_athlete, _as_club):
        told = _told(read, path)
        assert told
        assert all(line.isprintable() for line in told.split("\n"))


def _told(read: Callable[..., object], path: Path) -> str:
    """The message of the InputError that reading ends in, if it does."""
    try:
        read(path, LIFTS, today=TODAY)
    except InputError as error:
        return str(error)
    return "nothing"


def _as_club(path: Path, lifts: Mapping[str, Lift], *, today: date) -> None:
    (path.parent / "club.yaml").write_bytes(path.read_bytes())
    read_club(path.parent, lifts, today=today)


@NOT_SLOW
@given(data=FILES)
def test_no_structure_ends_in_anything_but_an_input_error(data: Any, tmp_path: Path) -> None:
    path = tmp_path / "ann.yaml"
    path.write_text(yaml.safe_dump(data, allow_unicode=True), encoding="utf-8")
    only_told(path)


@NOT_SLOW
@given(raw=st.binary(max_size=200) | st.text(max_size=200).map(lambda text: text.encode("utf-8")))
def test_no_bytes_end_in_anything_but_an_input_error(raw: bytes, tmp_path: Path) -> None:
    path = tmp_path / "ann.yaml"
    path.write_bytes(raw)
    only_told(path)


@NOT_SLOW
@given(
    spoiled=st.text(alphabet=" -{}[]:,#&*!|>'\"%@`\n\taA0.", max_size=12),
    at=st.integers(0, 400),
)
def test_a_slip_of_the_finger_ends_in_nothing_but_an_input_error(
    spoiled: str, at: int, tmp_path: Path
) -> None:
    good = (
        "name: Ann Example\nsex: F\nborn: 2004-03-18\nbuild: {thighs: short}\nsessions:\n"
        "  - on: 2026-10-12\n    sets:\n"
        + "      - {lift: snatch, kg: 84.5, reps: 3, in_reserve: 1, looked: easy}\n"
        * 3
    )
    path = tmp_path / "ann.yaml"
    path.write_text(good[:at] + spoiled + good[at:], encoding="utf-8")
    only_told(path)


@NOT_SLOW
@given(raw=st.binary(max_size=200) | st.text(max_size=200).map(lambda text: text.encode("utf-8")))
def test_no_sheet_of_rivals_ends_in_anything_but_an_input_error(raw: bytes, tmp_path: Path) -> None:
    path = tmp_path / "rivals.csv"
    path.write_bytes(b"sex,category,body_mass_kg,snatch_kg,clean_and_jerk_kg,date\n" + raw)
    told = _told(_as_rivals, path)
    assert all(line.isprintable() for line in told.split("\n"))


def _as_rivals(path: Path, lifts: Mapping[str, Lift], *, today: date) -> None:
    read_rivals(path, "rivals.csv", today=today)


# --- valid files -----------------------------------------------------------------------

DAYS = st.integers(0, 3000).map(lambda days: TODAY - timedelta(days=days))
LIFT_IDS = st.sampled_from([*LIFTS, "clean_and_jerk"])
LOADS = st.integers(20, 480).map(lambda halves: halves / 2)
REMARKS = st.text(
    alphabet=st.characters(min_codepoint=32, max_codepoint=0x24F, exclude_categories=["C", "Z"]),
    min_size=1,
    max_size=20,
)
HARD = st.sampled_from(
    [
        {},
        {"missed": "lift"},
        {"effort_max": True},
        {"looked": "easy"},
        {"in_reserve": 1.5},
        {"share": 0.75},
        {"in_reserve": 2.0, "looked": "steady", "share": 0.8, "speed_m_s": 0.9},
    ]
)


@st.composite
def set_records(draw: st.DrawFn) -> SetRecord:
    return SetRecord(
        lift=draw(LIFT_IDS),
        load_kg=draw(LOADS),
        reps=draw(st.integers(1, 20)),
        note=draw(st.none() | REMARKS),
        **draw(HARD),
    )


SESSIONS = st.builds(
    Session,
    on=DAYS,
    at=st.sampled_from(["testing", "training", "meet"]),
    body_mass_kg=st.integers(60, 260).map(lambda halves: halves / 2),
    sets=st.lists(set_records(), max_size=5).map(tuple),
)
BESTS = st.builds(
    Best,
    lift=LIFT_IDS,
    load_kg=LOADS,
    around=DAYS,
    vague_days=st.just(0.0),
    source=st.sampled_from(["told", "seen", "recorded"]),
)
ATHLETES = st.builds(
    Athlete,
    id=st.just("ann"),
    name=REMARKS,
    sex=st.sampled_from(["F", "M"]),
    born=st.just(date(2000, 2, 29)),
    bests=st.lists(BESTS, max_size=3).map(tuple),
    sessions=st.lists(SESSIONS, max_size=4).map(tuple),
)


def written(athlete: Athlete, units: str) -> str:
    """The file a coach would have written for these records, texts and lifts quoted."""

    def load(load_kg: float, stem: str = "") -> str:
        key = f"{stem}_{units}" if stem else units
        return f"{key}: {load_kg if units == 'kg' else repr(kg_to_lb(load_kg))}"

    def row(record: SetRecord) -> str:
        parts = [f"lift: {record.lift}", load(record.load_kg), f"reps: {record.reps}"]
        if record.missed:
            parts.append("missed: true")
        if record.effort_max:
            parts.append("effort: max")
        for key in ("in_reserve", "looked", "share", "speed_m_s"):
            if getattr(record, key) is not None:
                parts.append(f"{key}: {getattr(record, key)}")
        if record.note:
            parts.append(f"note: {json.dumps(record.note)}")
        return "{" + ", ".join(parts) + "}"

    lines = [f"name: {json.dumps(athlete.name)}", f"sex: {athlete.sex}", f"born: {athlete.born}"]
    lines.append(f"units: {units}")
    lines.append("bests:")
    for best in athlete.bests:
        said = f"lift: {best.lift}, {load(best.load_kg)}, around: {best.around}"
        lines.append(f"  - {{{said}, source: {best.source}}}")
    lines.append("sessions:")
    for session in athlete.sessions:
        lines.append(f"  - on: {session.on}")
        lines.append(f"    at: {session.at}")
        lines.append(f"    {load(session.body_mass_kg or 0, 'body_mass')}")
        lines.append("    sets:")
        lines += [f"      - {row(record)}" for record in session.sets]
    return "\n".join(lines) + "\n"


def comparable(athlete: Athlete, units: str = "kg") -> Any:
    """The records as nested plain values, without lines."""
    sessions = sorted(athlete.sessions, key=lambda session: session.on)
    return (
        (athlete.name, athlete.sex, athlete.born),
        [(b.lift, b.load_kg, b.around, b.vague_days, b.source) for b in athlete.bests],
        [
            (s.on, s.at, s.body_mass_kg, [SetRecord(**_without_line(r)) for r in s.sets])
            for s in sessions
        ],
    )


def _without_line(record: SetRecord) -> dict[str, Any]:
    names = [name for name in record.__slots__ if name != "line"]
    return {name: getattr(record, name) for name in names}


@NOT_SLOW
@given(athlete=ATHLETES)
def test_what_was_written_is_what_is_read(athlete: Athlete, tmp_path: Path) -> None:
    """A round trip: loads, days, words, and the order of sets within a session."""
    path = tmp_path / "ann.yaml"
    path.write_text(written(athlete, "kg"), encoding="utf-8")
    assert comparable(read_athlete(path, LIFTS, today=TODAY)) == comparable(athlete)


@NOT_SLOW
@given(athlete=ATHLETES)
def test_pounds_and_kilograms_say_the_same(athlete: Athlete, tmp_path: Path) -> None:
    path = tmp_path / "ann.yaml"
    path.write_text(written(athlete, "kg"), encoding="utf-8")
    in_kg = read_athlete(path, LIFTS, today=TODAY)
    path.write_text(written(athlete, "lb"), encoding="utf-8")
    in_lb = read_athlete(path, LIFTS, today=TODAY)
    assert (in_kg.units, in_lb.units) == ("kg", "lb")
    for one, other in zip(in_kg.bests, in_lb.bests, strict=True):
        assert other.load_kg == pytest.approx(one.load_kg, rel=1e-9)
    for one_day, other_day in zip(in_kg.sessions, in_lb.sessions, strict=True):
        assert other_day.body_mass_kg == pytest.approx(one_day.body_mass_kg, rel=1e-9)
        for one_set, other_set in zip(one_day.sets, other_day.sets, strict=True):
            assert other_set.load_kg == pytest.approx(one_set.load_kg, rel=1e-9)
            same = _without_line(one_set) | {"load_kg": other_set.load_kg}
            assert _without_line(other_set) == same
