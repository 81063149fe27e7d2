"""Rows go into hand-written files as a careful coach would put them: nothing else moves."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from profilegen.history.club import read_club_and_lifts
from profilegen.history.load import read_athlete
from profilegen.history.records import Athlete
from profilegen.history.yaml_tree import read_tree
from profilegen.intake.insert import CannotInsertError, NewRows, with_rows
from profilegen.norms.catalogue import load_norms
from tests.squads import DEMO, TODAY

LIFTS = load_norms().lifts
HEAD = "name: Ann Example\nsex: F\nborn: 2004-03-18\n"
DAY = date(2026, 10, 12)
MADE = {"lift": "snatch", "kg": 84}
MISSED = {"lift": "snatch", "kg": 87, "missed": True}
NEW_DAY = """\
  - on: 2026-10-12
    at: testing
    body_mass_kg: 63.4
    note: "slept badly"
    sets:
      - {lift: snatch, kg: 84}
      - {lift: snatch, kg: 87, missed: true}
"""


def new_day(on: date = DAY) -> NewRows:
    return NewRows(on, "testing", None, (MADE, MISSED), 63.4, "slept badly")


def more_sets(session: int = 0) -> NewRows:
    return NewRows(DAY, "testing", session, (MADE, MISSED))


def put(text: str, *days: NewRows) -> str:
    """The file with the rows; every line that was there is there, in its order."""
    new = with_rows(text, days, "kg")
    left = iter(new.splitlines(keepends=True))
    assert all(any(line == other for other in left) for line in text.splitlines(keepends=True))
    return new


# --- new sessions ----------------------------------------------------------------------


def test_a_file_without_sessions_gets_them_before_the_notes() -> None:
    text = (
        HEAD + "bests:\n  - {lift: snatch, kg: 80, around: 2025}\n  # she said\nnotes: |\n  Text.\n"
    )
    assert put(text, new_day()) == text.replace("notes:", "sessions:\n" + NEW_DAY + "notes:")


def test_a_file_that_ends_after_its_head() -> None:
    assert put(HEAD, new_day()) == HEAD + "sessions:\n" + NEW_DAY


def test_a_file_without_a_last_line_end_stays_without() -> None:
    assert with_rows(HEAD[:-1], [new_day()], "kg") == HEAD + "sessions:\n" + NEW_DAY[:-1]


def test_sessions_that_were_left_blank() -> None:
    text = HEAD + "sessions:  # to come\nnotes: x\n"
    assert put(text, new_day()) == text.replace("notes", NEW_DAY + "notes")


def test_by_date_between_two_with_their_comments() -> None:
    """A comment indented like the sets belongs to what is above, one at the dash to what is
    below."""
    before = "sessions:\n  - on: 2026-10-01\n    sets:\n      - {lift: clean, kg: 90}\n"
    before += "      # belt on\n"
    after = "  # after her exam\n  - on: 2026-11-02\n    sets:\n      - {lift: clean, kg: 92}\n"
    assert put(HEAD + before + after, new_day()) == HEAD + before + NEW_DAY + after


def test_before_all_others() -> None:
    after = "  # after her exam\n  - on: 2026-11-02\n    note: x\n"
    text = HEAD + "sessions:\n" + after
    assert put(text, new_day()) == HEAD + "sessions:\n" + NEW_DAY + after


def test_newest_first_stays_newest_first() -> None:
    one, two = "  - {on: 2026-11-02, note: x}\n", "  - {on: 2026-09-02, note: x}\n"
    text = HEAD + "sessions:\n" + one + two
    assert put(text, new_day()) == HEAD + "sessions:\n" + one + NEW_DAY + two
    days = put(text, new_day(date(2026, 10, 1)), new_day(date(2026, 10, 2)))
    assert re.findall(r"on: (\S+)", days)[1:3] == ["2026-10-02", "2026-10-01"]


def test_two_new_days_stand_in_order() -> None:
    text = HEAD + "sessions:\n  - on: 2026-09-02\n    note: x\n"
    days = put(text, new_day(date(2026, 10, 2)), new_day(date(2026, 10, 1)))
    assert re.findall(r"on: (\S+)", days) == ["2026-09-02", "2026-10-01", "2026-10-02"]


def test_blank_lines_between_sessions_are_kept_up() -> None:
    one = "  - on: 2026-09-02\n    note: x\n"
    two = "  # after her exam\n  - on: 2026-09-03\n    note: x\n"
    text = HEAD + "sessions:\n" + one + "\n" + two
    assert put(text, new_day()) == text + "\n" + NEW_DAY


def test_an_own_way_to_indent_is_kept_up() -> None:
    text = HEAD + "sessions:\n- on: 2026-09-02\n  sets:\n  -   {lift: clean, kg: 90}\n"
    assert put(text, new_day()) == text + (
        "- on: 2026-10-12\n  at: testing\n  body_mass_kg: 63.4\n"
        '  note: "slept badly"\n  sets:\n'
        "  -   {lift: snatch, kg: 84}\n  -   {lift: snatch, kg: 87, missed: true}\n"
    )


@pytest.mark.parametrize("nothing", ["", "  # to come", " ~", " []"])
def test_a_new_day_beside_one_whose_sets_are_still_to_come(nothing: str) -> None:
    text = HEAD + f"sessions:\n  - on: 2026-10-02\n    body_mass_kg: 63\n    sets:{nothing}\n"
    assert put(text, new_day()) == text + NEW_DAY


def test_line_ends_of_windows_stay() -> None:
    text = (HEAD + "sessions:\n  - on: 2026-09-02\n    note: x\n").replace("\n", "\r\n")
    assert put(text, new_day()) == text + NEW_DAY.replace("\n", "\r\n")


def test_lists_between_brackets() -> None:
    text = HEAD + "sessions: [{on: 2026-09-02, note: x}]  # short\nnotes: y\n"
    new = with_rows(text, [NewRows(DAY, "meet", None, (MADE,))], "kg")
    assert new == text.replace(
        "note: x}]", "note: x}, {on: 2026-10-12, at: meet, sets: [{lift: snatch, kg: 84}]}]"
    )
    text = HEAD + "sessions: [ ]\n"
    new = with_rows(text, [NewRows(DAY, "meet", None, (MADE,))], "kg")
    assert new == text.replace(
        "[ ]", "[{on: 2026-10-12, at: meet, sets: [{lift: snatch, kg: 84}]} ]"
    )


def test_a_file_that_is_one_pair_of_braces() -> None:
    text = "{name: Ann, sex: F, born: 2004-03-18}\n"
    new = with_rows(text, [NewRows(DAY, "meet", None, (MADE,))], "kg")
    assert new == text.replace(
        "18}", "18, sessions: [{on: 2026-10-12, at: meet, sets: [{lift: snatch, kg: 84}]}]}"
    )


# --- sessions that are there -----------------------------------------------------------

ROWS = "      - {lift: snatch, kg: 84}\n      - {lift: snatch, kg: 87, missed: true}\n"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("    sets:\n      - {lift: clean, kg: 90}  # fast\n      # belt on\n", ""),
        ("    sets:\n      - lift: clean\n        kg: 90\n        note: x  # odd\n", ""),
        ("    sets:\n      - lift: clean\n        kg: 90\n        note: |\n          x\n", "\n\n"),
        ("    sets:\n      - {lift: clean,\n         kg: 90,\n        }  # wide\n", ""),
        ("    sets:\n      - {lift: clean, kg: 90}\n", "    at: testing\n"),
        (
            "    sets:\n      - {lift: clean, kg: 90}\n",
            "\n  # later\n  - on: 2026-11-02\n    note: x\n",
        ),
        ("    sets:\n      - {lift: clean, kg: 90, note: 'a # b'}\n", "notes: |\n  x\n"),
        ("    note: x\n    sets:  # to come\n", ""),
        ("    note: x\n    sets:\n", "notes: x\n"),
    ],
)
def test_sets_go_below_the_sets_that_are_there(before: str, after: str) -> None:
    start = HEAD + "sessions:\n  - on: 2026-10-12\n"
    assert put(start + before + after, more_sets()) == start + before + ROWS + after


def test_a_day_with_a_body_mass_alone_gets_its_sets() -> None:
    text = HEAD + "sessions:\n  - on: 2026-10-12\n    body_mass_kg: 63\n"
    assert put(text, more_sets()) == text + "    sets:\n" + ROWS


def test_body_mass_and_note_go_below_where_it_was() -> None:
    text = HEAD + "sessions:\n  - on: 2026-10-12\n    at: testing  # hot\n    sets:\n" + ROWS
    new = put(text, NewRows(DAY, "testing", 0, (), 63.4, "x"))
    assert new == text.replace("# hot\n", "# hot\n    body_mass_kg: 63.4\n    note: x\n")


def test_sets_between_brackets() -> None:
    text = HEAD + "sessions:\n  - {on: 2026-10-12, sets: [{lift: clean, kg: 90}]}  # short\n"
    rows = NewRows(DAY, "training", 0, (MADE,), 63.4)
    assert with_rows(text, [rows], "kg") == text.replace(
        "2026-10-12,", "2026-10-12, body_mass_kg: 63.4,"
    ).replace("90}]", "90}, {lift: snatch, kg: 84}]")
    text = HEAD + "sessions:\n  - {on: 2026-10-12, note: x}\n"
    assert with_rows(text, [NewRows(DAY, "training", 0, (MADE,))], "kg") == text.replace(
        "note: x", "note: x, sets: [{lift: snatch, kg: 84}]"
    )


def test_pounds_go_under_their_own_keys() -> None:
    text = HEAD + "units: lb\n"
    rows = NewRows(DAY, "testing", None, ({"lift": "snatch", "lb": 185},), 140)
    assert "    body_mass_lb: 140\n    sets:\n      - {lift: snatch, lb: 185}\n" in with_rows(
        text, [rows], "lb"
    )


def test_text_cannot_become_anything_else() -> None:
    for note in (
        "no",
        "1:30",
        '"',
        "a: b # c",
        "- x",
        "ends with \\",
        "\N{ZERO WIDTH SPACE}",
        "😀",
    ):
        new = with_rows(HEAD, [NewRows(DAY, "testing", None, (), 63.4, note)], "kg")
        assert read_tree(new, "").value["sessions"][0]["note"] == note


def test_a_note_that_keeps_its_blank_lines_is_left_alone() -> None:
    """There the rows could only go where they would change the note."""
    text = HEAD + "sessions:\n  - on: 2026-10-12\n    sets:\n      - lift: clean\n        kg: 90\n"
    text += "        note: |+\n          x\n\n\n"
    with pytest.raises(CannotInsertError):
        with_rows(text, [more_sets()], "kg")


# --- any layout ------------------------------------------------------------------------

REMARK = st.text("ab #:-|>'\"{}[],\u00e9", min_size=1).map(str.strip).filter(bool)
SESSION = st.fixed_dictionaries(
    {"on": st.dates(date(2025, 1, 1), TODAY), "note": REMARK},
    optional={
        "at": st.sampled_from(["testing", "training"]),
        "sets": st.lists(
            st.fixed_dictionaries(
                {"lift": st.just("snatch"), "kg": st.integers(40, 90)}, optional={"note": REMARK}
            ),
            max_size=3,
        ),
    },
)
LAYOUT = st.fixed_dictionaries(
    {
        "default_flow_style": st.sampled_from([None, True, False]),
        "default_style": st.sampled_from([None, None, "|", ">"]),
        "indent": st.integers(2, 6),
        "width": st.sampled_from([20, 80]),
        "explicit_start": st.booleans(),
        "explicit_end": st.booleans(),
        "line_break": st.sampled_from(["\n", "\r\n"]),
        "allow_unicode": st.booleans(),
    }
)


@settings(max_examples=150, deadline=2000, suppress_health_check=[HealthCheck.too_slow])
@given(sessions=st.lists(SESSION, min_size=1, max_size=4), layout=LAYOUT, at=st.integers(0, 3))
def test_whatever_the_layout_rows_go_in_safely_or_not_at_all(
    sessions: list[dict[str, object]], layout: dict[str, object], at: int
) -> None:
    """With values in blocks (| and >) numbers are text, so that only the layout is tested."""
    head = {"name": "Ann Example", "sex": "F", "born": date(2004, 3, 18)}
    text = yaml.safe_dump({**head, "sessions": sessions, "notes": "x"}, sort_keys=False, **layout)
    index = at % len(sessions)
    on = date.fromisoformat(str(sessions[index]["on"]))
    for rows in (NewRows(on, "meet", index, (MADE,), 63.4), NewRows(DAY, "meet", None, (MADE,))):
        try:
            new = with_rows(text, [rows], "kg")
        except CannotInsertError:
            continue
        assert len(read_tree(new, "").value["sessions"]) == len(sessions) + (rows.session is None)
        old = iter(new)
        assert all(any(one == other for other in old) for one in text)


# --- all demo files, any rows ----------------------------------------------------------

FILES = [path for path in sorted(DEMO.glob("*.yaml")) if path.stem not in ("club", "farid")]
_, DEMO_KNOWN, _ = read_club_and_lifts(DEMO, LIFTS, today=TODAY)
SETS = st.lists(
    st.fixed_dictionaries(
        {"lift": st.sampled_from(["snatch", "clean_and_jerk", "front_squat"])},
        optional={
            "reps": st.integers(2, 5),
            "missed": st.just(True),
            "note": st.text("ab:#", min_size=1),
        },
    ),
    min_size=1,
    max_size=3,
)
DAYS = st.dates(date(2024, 1, 1), TODAY)


@settings(
    max_examples=60,
    deadline=2000,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    path=st.sampled_from(FILES),
    days=st.dictionaries(DAYS, SETS, min_size=1, max_size=3),
    into=st.lists(st.integers(0, 30), max_size=3),
)
def test_rows_go_into_any_demo_file(
    path: Path, days: dict[date, list[dict[str, object]]], into: list[int], tmp_path: Path
) -> None:
    """New days and more sets at once: old lines stay, and the loader reads what was added."""
    text = path.read_text(encoding="utf-8")
    unit = "lb" if path.stem == "dario" else "kg"
    old = read_athlete(path, DEMO_KNOWN, today=TODAY)
    sets = [[{"lift": s["lift"], unit: 100, **s} for s in one] for one in days.values()]
    rows = [NewRows(on, "meet", None, tuple(one)) for on, one in zip(days, sets, strict=True)]
    written = read_tree(text, "").value.get("sessions") or []
    for index in {number % len(written) for number in into} if written else ():
        rows.append(NewRows(written[index]["on"], "testing", index, tuple(sets[0])))
    new = with_rows(text, rows, unit)
    left = iter(new.splitlines(keepends=True))
    assert all(any(line == other for other in left) for line in text.splitlines(keepends=True))
    draft = tmp_path / path.name
    draft.write_text(new, encoding="utf-8")
    told = read_athlete(draft, DEMO_KNOWN, today=TODAY)
    assert count(told) == count(old) + sum(len(row.sets) for row in rows)
    assert told.notes == old.notes


def count(athlete: Athlete) -> int:
    return sum(len(session.sets) for session in athlete.sessions)
