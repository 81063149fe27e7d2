"""Testing week comes in from a sheet: all of it, once, into the right files, or not at all."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.styles import Font
from typer.testing import CliRunner, Result

from profilegen import cli
from profilegen.history.load import load_squad
from profilegen.history.records import Athlete, SetRecord
from profilegen.intake.journal import JOURNAL
from profilegen.norms.catalogue import load_norms
from profilegen.units import lb_to_kg
from tests.intake.sheets import Rows, write_csv, write_sheet, write_xlsx

LIFTS = load_norms().lifts
FIRST = date(2026, 3, 16)
CLUB = """\
name: Testford Barbell Club
testing_weeks:
  - {start: 2026-03-16, end: 2026-03-22, called: Spring 2026}
own_lifts:
  - {id: pin_front_squat, name: Pin front squat, parent: front_squat, share: 0.92}
"""
ANN = """\
# Ann likes comments.
name: Ann Åberg   # not Aberg
sex: F
born: 2004-03-18
avoid:
- {lift: back_squat}
sessions:

  - on: 2026-01-12
    at: testing
    sets:
      - {lift: snatch,   kg: 80}     # easy
      - {lift: 'snatch', kg: 84.0, missed: true}

  # spring
  - on: 2026-03-17
    at: testing
    sets:
      - {lift: snatch, kg: 82, looked: easy}
notes: |
   Odd
     indentation.
"""
BEN = "name: Ben Ode\nsex: M\nborn: 2001-01-02\nunits: lb"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two lifters, one in pounds, in files that a hand has written."""
    squad = tmp_path / "athletes"
    squad.mkdir()
    (squad / "club.yaml").write_text(CLUB)
    (squad / "ann.yaml").write_text(ANN, encoding="utf-8")
    (squad / "ben.yaml").write_text(BEN)
    return squad


def intake(sheet: Path, folder: Path, *options: str) -> Result:
    arguments = ["intake", str(sheet), "--athletes", str(folder), *options]
    return CliRunner().invoke(cli.app, arguments)


def squad(folder: Path) -> dict[str, Athlete]:
    return {a.id: a for a in load_squad(folder, LIFTS, today=date.today()).athletes}


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def told(sheet: Path, folder: Path, *options: str) -> list[str]:
    """What a sheet is refused with, without the sheet's name; nothing was written."""
    before = contents(folder)
    result = intake(sheet, folder, "--yes", *options)
    assert result.exit_code == 2, result.output
    assert contents(folder) == before
    *problems, last = result.stderr.splitlines()
    assert last.endswith("nothing was written.")
    return [problem.removeprefix(f"{sheet}:") for problem in problems]


def sets_on(athlete: Athlete, day: date, at: str = "testing") -> list[SetRecord]:
    return [
        replace(record, line=0)
        for session in athlete.sessions
        if (session.on, session.at) == (day, at)
        for record in session.sets
    ]


# --- thirty lifters --------------------------------------------------------------------

TESTS = ("snatch", "clean_and_jerk", "front_squat", "power_clean", "press", "clean_pull")


def thirty(folder: Path) -> dict[str, dict[str, list[SetRecord]]]:
    """A squad with files of every style, and what each of them will have lifted."""
    rng = random.Random(30)
    folder.mkdir()
    (folder / "club.yaml").write_text(CLUB)
    week: dict[str, dict[str, list[SetRecord]]] = {}
    for number in range(30):
        name = f"{'ÅÉÖŠ'[number % 4]}nn-Mari {'van der ' * (number % 2)}Ode{number}"
        text = f"name: {name}  # {number}\nsex: F\nborn: 2000-01-01\n"
        if number % 3:
            text += "sessions:\n  - on: 2026-01-12\n    sets:\n      - {lift: clean, kg: 90}  # x\n"
        if number % 5 == 0:
            text += f"  - {{on: {date(2026, 4, 1)}, note: 'flow # style'}}\n" if number % 3 else ""
            text = text.replace("\n", "\r\n")
        (folder / f"l{number}.yaml").write_bytes(text.encode())
        week[f"l{number}"] = {lift: attempts(lift, rng) for lift in TESTS}
    return week


def attempts(lift: str, rng: random.Random) -> list[SetRecord]:
    load = rng.randint(60, 90)
    return rng.choice(
        [
            [],
            [SetRecord(lift, load), SetRecord(lift, load + 2.5, missed="lift")],
            [SetRecord(lift, load, effort_max=True)],
            [SetRecord(lift, load, reps=3, in_reserve=1)],
            [SetRecord(lift, load)] * 2,
            [SetRecord(lift, load, missed="jerk" if lift == "clean_and_jerk" else "lift")],
        ]
    )


def cell(sets: list[SetRecord]) -> str:
    def one(record: SetRecord) -> str:
        text = f"{record.load_kg:g}" + (f"x{record.reps}" if record.reps > 1 else "")
        text += f"@{record.in_reserve:g}" if record.in_reserve is not None else ""
        text += {None: "", "lift": "x", "jerk": "xj", "clean": "xc"}[record.missed]
        return text + "!" * record.effort_max

    return " ".join(map(one, sets))


def per_lifter(folder: Path, week: dict[str, dict[str, list[SetRecord]]]) -> Rows:
    people = squad(folder)
    rows: list[list[Any]] = [["Name", "Date", "Body weight", *TESTS]]
    for number, (lifter, results) in enumerate(week.items()):
        name = people[lifter].name.upper() if number % 2 else lifter
        day = FIRST + timedelta(days=number % 3)
        rows.append([name, day, 60.5 + number, *(cell(results[lift]) for lift in TESTS)])
    return rows


def per_set(folder: Path, week: dict[str, dict[str, list[SetRecord]]]) -> Rows:
    rows: list[list[Any]] = [
        ["lifter", "on", "body_mass_kg", "lift", "kg", "reps", "in_reserve", "missed", "effort"]
    ]
    for number, (lifter, results) in enumerate(week.items()):
        day = FIRST + timedelta(days=number % 3)
        for record in (record for sets in results.values() for record in sets):
            missed = {None: "", "lift": "yes", "jerk": "jerk", "clean": "clean"}[record.missed]
            effort = "max" if record.effort_max else ""
            words = [record.reps, record.in_reserve, missed, effort]
            rows.append([lifter, day, 60.5 + number, record.lift, record.load_kg, *words])
    return rows


@pytest.mark.parametrize("layout", [per_lifter, per_set])
@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_thirty_lifters_there_and_back(ending: str, layout: Any, tmp_path: Path) -> None:
    """Every set arrives, every byte that was there stays, and twice is as good as once."""
    folder = tmp_path / "athletes"
    week = thirty(folder)
    sheet = write_sheet(tmp_path / f"testing.{ending}", layout(folder, week))
    before = contents(folder)
    result = intake(sheet, folder, "--yes")
    assert result.exit_code == 0, result.output
    people = squad(folder)
    for number, (lifter, results) in enumerate(week.items()):
        day = FIRST + timedelta(days=number % 3)
        lifted = [record for sets in results.values() for record in sets]
        assert sets_on(people[lifter], day) == lifted
        masses = [s.body_mass_kg for s in people[lifter].sessions if s.on == day]
        assert masses == [60.5 + number] * bool(lifted or layout is per_lifter)
    after = contents(folder)
    for name, old in before.items():
        left = iter(after[name].splitlines(keepends=True))
        assert all(any(line == other for other in left) for line in old.splitlines(keepends=True))
    again = intake(sheet, folder, "--yes")
    assert again.exit_code == 0
    assert again.stdout.endswith("Nothing to add.\n")
    assert contents(folder) == after


# --- where rows go ---------------------------------------------------------------------


def test_a_hand_written_file_keeps_every_byte(folder: Path, tmp_path: Path) -> None:
    """A day between two others, a set below those of its day, a file in pounds."""
    rows = [["name", "date", "snatch", "front squat"], ["ann aberg", FIRST, "84 87x", "100x3@1"]]
    rows += [["Åberg, Ann", date(2026, 3, 17), "82 84", ""], ["BEN", FIRST, "80", "220lb"]]
    result = intake(write_csv(tmp_path / "a.csv", rows), folder, "--yes")
    assert result.exit_code == 0, result.output
    new_day = (
        "\n  - on: 2026-03-16\n    at: testing\n    sets:\n"
        "      - {lift: snatch, kg: 84}\n      - {lift: snatch, kg: 87, missed: true}\n"
        "      - {lift: front_squat, kg: 100, reps: 3, in_reserve: 1}\n"
    )
    ann = ANN.replace("missed: true}\n", "missed: true}\n" + new_day)
    ann = ann.replace("looked: easy}\n", "looked: easy}\n      - {lift: snatch, kg: 84}\n")
    assert (folder / "ann.yaml").read_text(encoding="utf-8") == ann
    # 80 kg / 0.45359237 kg = 176.37 lb
    ben = BEN + (
        "\nsessions:\n  - on: 2026-03-16\n    at: testing\n    sets:\n"
        "      - {lift: snatch, lb: 176.37}\n      - {lift: front_squat, lb: 220}"
    )
    assert (folder / "ben.yaml").read_text() == ben


def one_row(tmp_path: Path, *cells: Any, heads: Sequence[str] = ("name", "date", "snatch")) -> Path:
    return write_csv(tmp_path / "one.csv", [heads, cells])


def test_the_diff_is_shown_and_a_no_writes_nothing(folder: Path, tmp_path: Path) -> None:
    sheet, before = one_row(tmp_path, "ann", FIRST, "84"), contents(folder)
    arguments = ["intake", str(sheet), "--athletes", str(folder)]
    for answer, said in (("n\n", "Nothing was written."), ("", "say --yes")):
        result = CliRunner().invoke(cli.app, arguments, input=answer)
        assert "+      - {lift: snatch, kg: 84}" in result.stdout
        assert "Add 1 set for 1 lifter?" in result.stdout
        assert said in result.output
        assert contents(folder) == before
    result = CliRunner().invoke(cli.app, arguments, input="y\n")
    assert "Added 1 set for 1 lifter" in result.stdout
    assert contents(folder) != before


def test_a_set_that_was_done_twice_stands_twice(folder: Path, tmp_path: Path) -> None:
    intake(one_row(tmp_path, "ann", FIRST, "84 87x"), folder, "--yes")
    intake(one_row(tmp_path, "ann", FIRST, "84 87x 87x 84"), folder, "--yes")
    loads = [(r.load_kg, r.missed) for r in sets_on(squad(folder)["ann"], FIRST)]
    assert loads == [(84, None), (87, "lift"), (87, "lift"), (84, None)]


def test_words_added_by_hand_do_not_make_it_another_set(folder: Path, tmp_path: Path) -> None:
    """82 stands in Ann's file as one that looked easy; the sheet knows the load only."""
    result = intake(one_row(tmp_path, "ann", date(2026, 3, 17), "82"), folder, "--yes")
    assert result.stdout.endswith("Nothing to add.\n")


def test_more_words_in_the_sheet_are_told(folder: Path, tmp_path: Path) -> None:
    """The row stays as it was written; the coach reads what the sheet would say."""
    before = contents(folder)
    result = intake(one_row(tmp_path, "ann", date(2026, 3, 17), "82!"), folder, "--yes")
    assert "snatch 82: the sheet says more or other than ann.yaml:19" in result.stdout
    assert contents(folder) == before


def test_a_place_nobody_said_is_that_of_the_testing_week(folder: Path, tmp_path: Path) -> None:
    intake(one_row(tmp_path, "ben", FIRST, "84"), folder, "--yes")
    intake(one_row(tmp_path, "ben", date(2026, 3, 30), "84"), folder, "--yes")
    assert [s.at for s in squad(folder)["ben"].sessions] == ["testing", "training"]


def test_a_place_nobody_said_is_that_of_the_file(folder: Path, tmp_path: Path) -> None:
    intake(one_row(tmp_path, "ann", date(2026, 1, 12), "82"), folder, "--yes")
    assert len(sets_on(squad(folder)["ann"], date(2026, 1, 12), "testing")) == 3


def test_a_place_can_be_said_for_all_and_for_one(folder: Path, tmp_path: Path) -> None:
    rows = [["name", "date", "at", "snatch"], ["ann", FIRST, "Meet", 84], ["ben", FIRST, "", 80]]
    intake(write_csv(tmp_path / "a.csv", rows), folder, "--yes", "--at", "training")
    assert len(sets_on(squad(folder)["ann"], FIRST, "meet")) == 1
    assert len(sets_on(squad(folder)["ben"], FIRST, "training")) == 1


def test_the_same_sheet_under_another_place_adds_nothing(folder: Path, tmp_path: Path) -> None:
    sheet = one_row(tmp_path, "ann", FIRST, "84 87x")
    intake(sheet, folder, "--yes", "--at", "testing")
    before = contents(folder)
    result = intake(sheet, folder, "--yes", "--at", "training")
    assert "all sets stand in the file already, as testing" in result.stdout
    assert contents(folder) == before


def test_units_of_cell_heading_option_and_club_in_this_order(folder: Path, tmp_path: Path) -> None:
    rows = [["name", "date", "snatch (lb)", "clean"], ["ann", FIRST, "187 84kg", "200"]]
    intake(write_csv(tmp_path / "a.csv", rows), folder, "--yes", "--units", "lb")
    snatch, other, clean = sets_on(squad(folder)["ann"], FIRST)
    assert snatch.load_kg == pytest.approx(lb_to_kg(187), abs=0.005)
    assert other.load_kg == 84
    assert clean.load_kg == pytest.approx(lb_to_kg(200), abs=0.005)
    rows[1][3] = "100"
    intake(
        write_csv(tmp_path / "a.csv", [["name", "date", "clean"], ["ben", FIRST, 100]]),
        folder,
        "--yes",
    )
    (record,) = sets_on(squad(folder)["ben"], FIRST)
    assert record.load_kg == pytest.approx(100, abs=0.005)


def test_body_mass_and_note_come_with_the_day(folder: Path, tmp_path: Path) -> None:
    heads = ("name", "date", "snatch", "bw", "notes")
    intake(one_row(tmp_path, "ann", FIRST, "", "63.4", 'said "no"', heads=heads), folder, "--yes")
    intake(one_row(tmp_path, "ben", FIRST, "80", "140lb", "", heads=heads), folder, "--yes")
    people = squad(folder)
    (ann,) = [s for s in people["ann"].sessions if s.on == FIRST]
    assert (ann.body_mass_kg, ann.note, ann.sets) == (63.4, 'said "no"', ())
    assert people["ben"].sessions[0].body_mass_kg == pytest.approx(lb_to_kg(140))
    before = contents(folder)
    for lifter, mass, note in (("ann", "63.4", 'said "no"'), ("ben", "63.5", "")):
        sheet = one_row(tmp_path, lifter, FIRST, "", mass, note, heads=heads)
        assert intake(sheet, folder, "--yes").stdout.endswith("Nothing to add.\n")
    assert contents(folder) == before


def test_another_body_mass_or_note_than_the_files_is_a_question(
    folder: Path, tmp_path: Path
) -> None:
    heads = ("name", "date", "snatch", "bw", "notes")
    intake(one_row(tmp_path, "ann", FIRST, "84", "63.4", "tired", heads=heads), folder, "--yes")
    sheet = one_row(tmp_path, "ann", FIRST, "84", "64.4", "rested", heads=heads)
    mass, note = told(sheet, folder)
    assert "A2: body mass: expected the body mass of ann.yaml:15 (63.4 kg), found 64.4" in mass
    assert "A2: note: ann.yaml:15 has another note" in note


def test_several_columns_of_a_lift_are_its_attempts(folder: Path, tmp_path: Path) -> None:
    heads = ("name", "date", "Snatch 1", "Snatch 2", "Snatch #3", "Total")
    intake(one_row(tmp_path, "ann", FIRST, "80", "84x", "84", "190", heads=heads), folder, "--yes")
    loads = [(r.load_kg, r.missed) for r in sets_on(squad(folder)["ann"], FIRST)]
    assert loads == [(80, None), (84, "lift"), (84, None)]


def test_own_lifts_titles_above_and_sheets_without_lifters(folder: Path, tmp_path: Path) -> None:
    book = Workbook()
    page = book.active
    page.append(["Testing week, spring"])
    page.append(["Lifter", "Date", "Pin Front Squat"])
    page.append(["Ann Åberg", datetime(2026, 3, 16, 9), 100])
    page.append(["Ben Ode", datetime(2026, 3, 16, 9), None])
    book.create_sheet("Plan").append(["Monday", "snatch"])
    book.save(tmp_path / "a.xlsx")
    result = intake(tmp_path / "a.xlsx", folder, "--yes")
    assert result.exit_code == 0, result.output
    assert "a.xlsx:Plan: no column of lifters, skipped" in result.stdout
    (record,) = sets_on(squad(folder)["ann"], FIRST)
    assert (record.lift, record.load_kg) == ("pin_front_squat", 100)


def test_dates_that_can_be_read_two_ways_need_a_word(folder: Path, tmp_path: Path) -> None:
    sheet = one_row(tmp_path, "ann", "3/2/2026", "84")
    assert "can be 2026-02-03 or 2026-03-02" in told(sheet, folder)[0]
    assert intake(sheet, folder, "--yes", "--dates", "dmy").exit_code == 0
    assert len(sets_on(squad(folder)["ann"], date(2026, 2, 3), "training")) == 1


def test_one_day_for_the_whole_sheet(folder: Path, tmp_path: Path) -> None:
    sheet = write_csv(tmp_path / "a.csv", [["name", "snatch"], ["ann", "84"]])
    assert told(sheet, folder) == [
        "A1: date: no column date: say --on with the day of this sheet",
    ]
    assert intake(sheet, folder, "--yes", "--on", "2026-03-16").exit_code == 0
    assert len(sets_on(squad(folder)["ann"], FIRST)) == 1


def test_every_word_a_set_may_have(folder: Path, tmp_path: Path) -> None:
    heads = ["name", "date", "lift", "load", "looked", "share", "speed", "video", "note"]
    video = "https://video.example/1"
    rows = [heads, ["ann", FIRST, "clean pull", "110", "Easy", "0.85", "1.21", video, "a: # b"]]
    intake(write_csv(tmp_path / "a.csv", rows), folder, "--yes")
    (record,) = sets_on(squad(folder)["ann"], FIRST)
    assert record == SetRecord(
        "clean_pull", 110, looked="easy", share=0.85, speed_m_s=1.21, video=video, note="a: # b"
    )


# --- mistakes --------------------------------------------------------------------------


def test_more_than_twenty_planted_mistakes_are_told_at_once(folder: Path, tmp_path: Path) -> None:
    rows: Rows = [
        [
            "Lifter",
            "Date",
            "At",
            "Body mass",
            "Snatch",
            "Clean & jerk",
            "Front squat",
            "Bench",
            "Notes",
        ],
        ["ann", FIRST, "testing", 61, "84,87", "100 x 3"],
        ["Anna Aberg", FIRST, "", "", 84, "", "", 60],
        ["ann", "3/4/2026", "", "", "-87"],
        ["ann", date(2099, 1, 1), "", "", "", "104xj"],
        ["ben", FIRST, "tested", 630, 850],
        ["ben", None, "", "", "87y"],
        ["", FIRST, "", "", 84],
        ["ben", date(1999, 1, 1), "", "", "", "", "120xj"],
        ["ben", FIRST, "", "", "", "90x30"],
        ["ben", FIRST, "", "", 84, "", "", "", "long " * 101],
        ["ann", FIRST, "", "", "", "avoid"],
        ["ann", FIRST, "", "", "90@1!", "=1+1", datetime(2026, 4, 3)],
        ["ann", FIRST, "", 61, 84, "", "", "", "", "", "x"],
    ]
    sheet = write_xlsx(tmp_path / "a.xlsx", rows)
    problems = told(sheet, folder)
    wanted = {
        "H1": "heading: expected a lift or a column that is known",
        "E2": 'snatch: "84,87" can be read in two ways',
        "F2": "clean_and_jerk: x 3 can be read in two ways",
        "A3": 'did you mean "Ann Åberg"? someone new starts with: profilegen new NAME',
        "B4": '"3/4/2026" can be 2026-04-03 or 2026-03-04',
        "E4": "a miss is written 87x",
        "B5": "expected a day up to today",
        "C6": "expected testing, training or meet",
        "D6": "expected a body mass from 25 to 250 kg",
        "E6": "expected a load from 5 to 250 kg for snatch, found 850",
        "B7": "expected a date, found nothing",
        "E7": "expected attempts such as",
        "A8": "expected a lifter, found nothing",
        "B9": "is before the lifter was born",
        "G9": "jerk can only be missed in a clean and jerk",
        "F10": "expected 1 to 20 repetitions",
        "I11": "expected at most 500 characters",
        "F12": "ann has no clean_and_jerk under avoid",
        "E13": "both nothing left and 1 left",
        "F13": "a formula that was never worked out",
        "G13": "found the date 2026-04-03; give the column the format text",
        "K14": "expected a heading above",
    }
    found = {problem.split(": ")[0].removeprefix("Sheet1!"): problem for problem in problems}
    assert len(problems) == len(found) == len(wanted)
    assert list(found) == list(wanted)
    assert [place for place in wanted if wanted[place] not in found[place]] == []


def test_mistakes_in_a_sheet_with_a_row_per_set(folder: Path, tmp_path: Path) -> None:
    heads = ["name", "date", "lift", "kg", "reps", "missed", "effort", "speed", "video", "snatch"]
    rows: Rows = [
        heads,
        ["ann", FIRST, "snach", 84],
        ["ann", FIRST, "snatch", "84 87"],
        ["ann", FIRST, "snatch", 84, 30],
        ["ann", FIRST, "snatch", 84, "", "perhaps"],
        ["ann", FIRST, "snatch", "84x", "", "no"],
        ["ann", FIRST, "snatch", 84, "", "x", "max"],
        ["ann", FIRST, "snatch", 84, "", "", "all"],
        ["ann", FIRST, "snatch", "", 1],
        ["ann", FIRST, "", 84],
        ["ann", FIRST, "snatch", "84x3", 2],
        ["ann", FIRST, "snatch", 84, "", "", "", "12", "ftp://x"],
        ["ann", FIRST, "snatch", 84, "", "jerk"],
    ]
    problems = told(write_csv(tmp_path / "a.csv", rows), folder)
    places = [problem.split(": ")[0] for problem in problems]
    assert places == [
        "J1",
        "C2",
        "D3",
        "E4",
        "F5",
        "D6",
        "D7",
        "G8",
        "C9",
        "D10",
        "D11",
        "H12",
        "I12",
        "D13",
    ]


def test_two_lifters_of_one_name_and_an_id_of_another(folder: Path, tmp_path: Path) -> None:
    (folder / "ann2.yaml").write_text("name: Ann Aberg\nsex: F\nborn: 1990-01-01\n")
    heads = ("id", "name", "date", "snatch")
    (problem,) = told(one_row(tmp_path, "", "Ann Aberg", FIRST, "84", heads=heads), folder)
    assert "2 lifters are called" in problem
    assert "ann, ann2" in problem
    (problem,) = told(one_row(tmp_path, "ann", "Ben Ode", FIRST, "84", heads=heads), folder)
    assert 'the id is "ann", the name is that of "ben"' in problem
    sheet = one_row(tmp_path, "ann2", "Bob", FIRST, "84", heads=heads)
    assert "expected a lifter" in told(sheet, folder)[0]


def beside_ann(folder: Path, **names: str) -> None:
    """More lifters, by id."""
    for id_, name in names.items():
        (folder / f"{id_}.yaml").write_text(f"name: {name}\nsex: F\nborn: 1990-01-01\n")


def test_an_id_means_its_own_file_and_no_other_that_looks_like_it(
    folder: Path, tmp_path: Path
) -> None:
    beside_ann(folder, **{"jo-b": "Jo Bee", "jo_b": "Joan Be"})
    heads = ("id", "date", "snatch")
    intake(one_row(tmp_path, "jo-b", FIRST, "84", heads=heads), folder, "--yes")
    assert len(sets_on(squad(folder)["jo-b"], FIRST)) == 1
    assert sets_on(squad(folder)["jo_b"], FIRST) == []
    (problem,) = told(one_row(tmp_path, "Jo B", FIRST, "84", heads=heads), folder)
    assert problem.endswith('2 lifters have an id like "Jo B": write the id, one of jo-b, jo_b')


def test_a_name_means_its_lifter_before_anyones_id(folder: Path, tmp_path: Path) -> None:
    beside_ann(folder, **{"maria-silva": "Maria Silva Costa", "ms2": "Maria Silva"})
    intake(one_row(tmp_path, "Silva, Maria", FIRST, "84"), folder, "--yes")
    assert len(sets_on(squad(folder)["ms2"], FIRST)) == 1
    assert sets_on(squad(folder)["maria-silva"], FIRST) == []
    (problem,) = told(one_row(tmp_path, "maria-silva", FIRST, "84"), folder)
    assert problem.endswith(
        '2 lifters can be meant by "maria-silva": '
        "write the id in a column headed id, one of maria-silva, ms2"
    )


def test_a_column_of_ids_takes_no_names(folder: Path, tmp_path: Path) -> None:
    heads = ("id", "date", "snatch")
    (problem,) = told(one_row(tmp_path, "Ben Ode", FIRST, "84", heads=heads), folder)
    assert 'expected the id of a lifter of the squad, found "Ben Ode", did you mean "ben"?' in (
        problem
    )


def test_the_id_beside_a_name_tells_two_of_that_name_apart(folder: Path, tmp_path: Path) -> None:
    beside_ann(folder, ann2="Ann Aberg")
    heads = ("id", "name", "date", "snatch")
    intake(one_row(tmp_path, "ann2", "Ann Aberg", FIRST, "84", heads=heads), folder, "--yes")
    assert len(sets_on(squad(folder)["ann2"], FIRST)) == 1


def test_struck_out_is_not_taken_for_made(folder: Path, tmp_path: Path) -> None:
    book = Workbook()
    page = book.active
    page.append(["name", "date", "snatch", "clean"])
    page.append(["ann", FIRST, 87, 100])
    page["C2"].font = Font(strike=True)
    book.save(tmp_path / "a.xlsx")
    (problem,) = told(tmp_path / "a.xlsx", folder)
    assert problem.startswith('Sheet!C2: snatch: "87" is struck out: write 87x for a miss')


def test_mistakes_of_the_squad_come_first(folder: Path, tmp_path: Path) -> None:
    (folder / "ben.yaml").write_text("name: Ben\nsex: X\n")
    result = intake(one_row(tmp_path, "nobody", "never", "many"), folder, "--yes")
    assert result.exit_code == 2
    assert "ben.yaml:2:6: sex" in result.stderr
    assert "nobody" not in result.stderr


def test_no_more_than_two_hundred_mistakes_are_told(folder: Path, tmp_path: Path) -> None:
    rows = [["name", "date", "snatch"], *(["ann", FIRST, "many"] for _ in range(300))]
    problems = told(write_csv(tmp_path / "a.csv", rows), folder)
    assert len(problems) == 201
    assert "more than 200 problems" in problems[-1]


def test_a_file_that_leaves_no_safe_place(folder: Path, tmp_path: Path) -> None:
    text = "name: Ann\nsex: F\nborn: 2004-03-18\nsessions: ~\n"
    (folder / "ann.yaml").write_text(text)
    result = intake(one_row(tmp_path, "ann", FIRST, "84"), folder, "--yes")
    assert result.exit_code == 2
    assert "leaves no safe place for new rows" in result.stderr
    assert (folder / "ann.yaml").read_text() == text


def test_two_sessions_on_one_line_are_told_apart(folder: Path, tmp_path: Path) -> None:
    """The later one stands first, so that neither line nor order of days is the file's."""
    (folder / "ann.yaml").write_text(
        "name: Ann\nsex: F\nborn: 2004-03-18\nsessions: [{on: 2026-03-17, at: testing, note: x}, "
        "{on: 2026-03-16, at: testing, sets: [{lift: snatch, kg: 80}]}]\n"
    )
    intake(one_row(tmp_path, "ann", FIRST, "80 86"), folder, "--yes")
    assert [s.load_kg for s in sets_on(squad(folder)["ann"], FIRST)] == [80, 86]
    assert sets_on(squad(folder)["ann"], date(2026, 3, 17)) == []


# --- headings --------------------------------------------------------------------------


def test_a_heading_of_the_clubs_own_is_asked_for_once(folder: Path, tmp_path: Path) -> None:
    heads = ("name", "date", "Front sqt", "Coach")
    sheet = one_row(tmp_path, "ann", FIRST, "100", "Kim", heads=heads)
    before = contents(folder)
    squat, coach = told(sheet, folder)
    assert 'did you mean "front_squat"? say --map "Front sqt=front_squat"' in squat
    assert '--map "Coach=LIFT", or =ignore' in coach
    options = ("--map", "Front sqt=front_squat", "--map", "Coach=ignore")
    assert intake(sheet, folder, "--yes", *options).exit_code == 0
    assert len(sets_on(squad(folder)["ann"], FIRST)) == 1
    assert set(contents(folder)) - set(before) == {".intake.yaml"}
    assert (
        '  "Front sqt": front_squat\n  "Coach": ignore\n' in (folder / ".intake.yaml").read_text()
    )
    assert intake(sheet, folder, "--yes").stdout.endswith("Nothing to add.\n")


def test_what_was_written_into_the_mapping_by_hand_stays(folder: Path, tmp_path: Path) -> None:
    text = "headings: # ours\n    'FS':   front_squat  # of course"
    (folder / ".intake.yaml").write_text(text)
    sheet = one_row(tmp_path, "ann", FIRST, "100", "90", heads=("name", "date", "FS", "Pin"))
    result = intake(sheet, folder, "--yes", "--map", "Pin=pin_front_squat")
    assert result.exit_code == 0, result.output
    assert [record.lift for record in sets_on(squad(folder)["ann"], FIRST)] == [
        "front_squat",
        "pin_front_squat",
    ]
    assert (folder / ".intake.yaml").read_text() == text + '\n    "Pin": pin_front_squat\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("headings:\n  FS: front_sqat\n", 'found "front_sqat", did you mean "front_squat"?'),
        ("headings:\n  FS: 5\n", ".intake.yaml:2:7"),
        ("headings: FS\n", "expected lines such as"),
        ("heading:\n", "expected headings and nothing else"),
        ("headings: [", ".intake.yaml:2:1"),
    ],
)
def test_mistakes_in_the_mapping(text: str, said: str, folder: Path, tmp_path: Path) -> None:
    (folder / ".intake.yaml").write_text(text)
    result = intake(one_row(tmp_path, "ann", FIRST, "84"), folder, "--yes")
    assert result.exit_code == 2
    assert said in result.stderr


def test_a_map_that_cannot_be_meant(folder: Path, tmp_path: Path) -> None:
    sheet = one_row(tmp_path, "ann", FIRST, "84")
    for option, said in (("FS", "expected HEADING=LIFT"), ("FS=front_sqat", "front_squat")):
        result = intake(sheet, folder, "--yes", "--map", option)
        assert result.exit_code == 2
        assert said in result.stderr


# --- the club's language ---------------------------------------------------------------

GERMAN_CLUB = CLUB + "language: de\n"


def test_a_german_club_types_german(folder: Path, tmp_path: Path) -> None:
    """As its pages say it; English is understood beside it."""
    (folder / "club.yaml").write_text(GERMAN_CLUB)
    heads = ["Name", "Datum", "Körpergewicht", "Reißen", "STOSSEN", "Kniebeuge vorn", "press"]
    rows = [[*heads, "Bemerkung"], ["Ann Åberg", "16.3.26", "63,1", "77", "96xj", "108x2@1", "40"]]
    rows[1] += ["gut"]
    result = intake(write_csv(tmp_path / "a.csv", rows, delimiter=";"), folder, "--yes")
    assert result.exit_code == 0, result.output
    assert sets_on(squad(folder)["ann"], FIRST) == [
        SetRecord("snatch", 77),
        SetRecord("clean_and_jerk", 96, missed="jerk"),
        SetRecord("front_squat", 108, reps=2, in_reserve=1),
        SetRecord("press", 40),
    ]


def test_a_german_club_types_one_set_a_row(folder: Path, tmp_path: Path) -> None:
    (folder / "club.yaml").write_text(GERMAN_CLUB)
    heads = ["Athletin", "Datum", "Anlass", "Übung", "Last", "Wdh.", "RPE", "Fehlversuch"]
    rows: Rows = [
        heads,
        ["ann", "16.3.2026", "Wettkampf", "Stoßen", "96", "", "", "ja"],
        ["ann", "16.3.2026", "Wettkampf", "Kniebeuge hinten", "120", "2", "8,5", "nein"],
    ]
    result = intake(write_csv(tmp_path / "a.csv", rows, delimiter=";"), folder, "--yes")
    assert result.exit_code == 0, result.output
    assert sets_on(squad(folder)["ann"], FIRST, "meet") == [
        SetRecord("clean_and_jerk", 96, missed="lift"),
        SetRecord("back_squat", 120, reps=2, in_reserve=1.5),
    ]


def test_the_clubs_own_lift_goes_before_a_german_name(folder: Path, tmp_path: Path) -> None:
    own = "name: Pin front squat, parent"
    text = GERMAN_CLUB.replace(own, "name: Reißen, parent")
    (folder / "club.yaml").write_text(text, encoding="utf-8")
    heads = ("name", "date", "Reißen")
    intake(one_row(tmp_path, "ann", FIRST, "84", heads=heads), folder, "--yes")
    assert [record.lift for record in sets_on(squad(folder)["ann"], FIRST)] == ["pin_front_squat"]


@pytest.mark.parametrize(
    ("heading", "target"),
    [
        ("Datum", "date"),
        ("Reißen", "snatch"),
        ("Kniebeuge vorn (kg)", "front_squat"),
        ("Stoßen", "clean_and_jerk"),
        ("Bemerkung", "note"),
    ],
)
def test_an_english_club_is_told_what_a_german_heading_means(
    heading: str, target: str, folder: Path, tmp_path: Path
) -> None:
    (problem,) = told(
        one_row(tmp_path, "ann", FIRST, "84", heads=("name", "date", heading)), folder
    )
    assert f"which is {target} in a club with language: de" in problem
    assert f'say --map "{heading}={target}"' in problem


def test_a_date_under_a_heading_to_be_explained_is_not_missed(folder: Path, tmp_path: Path) -> None:
    """One thing to mend, one problem: not that there is no date at all, too."""
    for heading in ("Datum", "Dates"):
        sheet = one_row(tmp_path, "ann", "84", FIRST, heads=("name", "snatch", heading))
        (problem,) = told(sheet, folder)
        assert f'--map "{heading}=date"' in problem


def test_a_word_on_one_set_above_many_is_not_dropped(folder: Path, tmp_path: Path) -> None:
    """An RPE beside three attempts is of nobody knows which."""
    sheet = one_row(tmp_path, "ann", FIRST, "84 87x", "8", heads=("name", "date", "snatch", "RPE"))
    for options in ((), ("--map", "RPE=rpe")):
        (problem,) = told(sheet, folder, *options)
        assert '"RPE" is of one set' in problem
        assert "100x3@rpe9" in problem
    assert intake(sheet, folder, "--yes", "--map", "RPE=ignore").exit_code == 0


@pytest.mark.parametrize(
    ("heading", "slip"),
    [
        ("Snach", "snatch"),
        ("Back sqat", "back_squat"),
        ("Body mas", "body_mass"),
        ("Snatch-grip dedlift", "snatch_grip_deadlift"),
        # another lift, or none that is known: nothing is suggested
        ("Hang clean pull", ""),
        ("Snatch high pull", ""),
        ("Muscle snatch", ""),
        ("Bench press", ""),
        ("Reisen", ""),
        ("Depress", ""),
        ("Rudern", ""),
    ],
)
def test_only_a_slip_of_the_hand_is_suggested(
    heading: str, slip: str, folder: Path, tmp_path: Path
) -> None:
    """A sheet whose pulls are filed as cleans is worse than a question."""
    (problem,) = told(
        one_row(tmp_path, "ann", FIRST, "84", heads=("name", "date", heading)), folder
    )
    assert f'--map "{heading}={slip or "LIFT"}"' in problem
    assert ("did you mean" in problem) == bool(slip)


# --- effort, and made or missed, in columns of their own -------------------------------


def test_effort_on_the_scale_to_ten_has_a_column(folder: Path, tmp_path: Path) -> None:
    """RPE 10 is nothing left, 8 is two: Helms et al. 2016, Strength Cond J 38(4):42-49."""
    rows: Rows = [
        ["name", "date", "lift", "kg", "reps", "RPE"],
        ["ann", FIRST, "front squat", 100, 3, 8],
        ["ann", FIRST, "front squat", 105, 1, "9.5"],
        ["ann", FIRST, "front squat", 110, 1, 10],
        ["ann", FIRST, "front squat", 60, 5, ""],
        ["ann", FIRST, "front squat", 62, 5, "-"],
    ]
    assert intake(write_csv(tmp_path / "a.csv", rows), folder, "--yes").exit_code == 0
    left = [record.in_reserve for record in sets_on(squad(folder)["ann"], FIRST)]
    assert left == [2, 0.5, 0, None, None]


def test_an_effort_under_another_heading_is_asked_about(folder: Path, tmp_path: Path) -> None:
    rows: Rows = [
        ["name", "date", "lift", "kg", "reserve", "RPE"],
        ["ann", FIRST, "back squat", "165x2 @8", "", ""],
        ["ann", FIRST, "back squat", "165x2", "8", ""],
        ["ann", FIRST, "back squat", "165x2", "2", "8.5"],
        ["ann", FIRST, "back squat", "165x2", "", "4"],
    ]
    cell, column, both, low = told(write_csv(tmp_path / "a.csv", rows), folder)
    for problem in (cell, column):
        assert "an RPE of 8 is written @2 or @rpe8" in problem
    assert "another column of this row says otherwise" in both
    assert "expected an RPE from 5 to 10" in low


def test_whether_it_was_made_has_a_column(folder: Path, tmp_path: Path) -> None:
    rows: Rows = [
        ["name", "date", "lift", "kg", "Made"],
        ["ann", FIRST, "snatch", 81, "made"],
        ["ann", FIRST, "snatch", 84, "Yes"],
        ["ann", FIRST, "snatch", 87, "no"],
        ["ann", FIRST, "snatch", 88, "no lift"],
        ["ann", FIRST, "C&J", 104, "missed jerk"],
        ["ann", FIRST, "C&J", 103, ""],
    ]
    assert intake(write_csv(tmp_path / "a.csv", rows), folder, "--yes").exit_code == 0
    missed = [record.missed for record in sets_on(squad(folder)["ann"], FIRST)]
    assert missed == [None, None, "lift", "lift", "jerk", None]
    rows = [rows[0], ["ann", FIRST, "snatch", 80, "x"], ["ann", FIRST, "snatch", 80, "so-so"]]
    tick, other = told(write_csv(tmp_path / "b.csv", rows), folder)
    assert '"x" can be read in two ways: write made or missed' in tick
    assert "expected made, missed" in other


@pytest.mark.parametrize("heads", [("Load", "Result"), ("Result", "kg"), ("kg", "Result")])
def test_a_result_beside_the_load_can_be_mapped(
    heads: tuple[str, str], folder: Path, tmp_path: Path
) -> None:
    """Made or missed under Result is common; the message says how to tell the program."""
    cells = {"Result": "miss", "Load": "87", "kg": "87"}
    rows = [["name", "date", "lift", *heads], ["ann", FIRST, "snatch", *map(cells.get, heads)]]
    sheet = write_csv(tmp_path / "a.csv", rows)
    (problem,) = told(sheet, folder)
    assert f'the column load is here twice, "{heads[0]}" and "{heads[1]}"' in problem
    assert 'if Result tells made from missed say --map "Result=made", else =ignore' in problem
    assert intake(sheet, folder, "--yes", "--map", "Result=made").exit_code == 0
    assert sets_on(squad(folder)["ann"], FIRST) == [SetRecord("snatch", 87, missed="lift")]


def test_any_other_column_twice_can_be_left_out(folder: Path, tmp_path: Path) -> None:
    sheet = one_row(tmp_path, "ann", FIRST, "x", "84", heads=("Name", "date", "Athlete", "snatch"))
    assert 'keep one of them, or say --map "Athlete=ignore"' in told(sheet, folder)[0]
    assert intake(sheet, folder, "--yes", "--map", "Athlete=ignore").exit_code == 0


# --- worth a second look ---------------------------------------------------------------


def odd(sheet: Path, folder: Path, *options: str) -> list[str]:
    """What is shown for a second look, without the sheet's name; all of it is added."""
    result = intake(sheet, folder, "--yes", *options)
    assert result.exit_code == 0, result.output
    _, found, lines = result.stdout.partition("Worth a second look before you agree:\n")
    said = [line.strip().removeprefix(f"{sheet}:") for line in lines.splitlines()]
    return [line for line in said if not line.startswith("Added ")] if found else []


def test_a_load_far_from_all_that_was_lifted_deserves_a_second_look(
    folder: Path, tmp_path: Path
) -> None:
    """Ann has snatched 84, and never front squatted: 11 kg beside that is a digit short."""
    rows: Rows = [
        ["name", "date", "snatch", "front squat", "back squat"],
        ["ann", FIRST, "41", "11", "95"],
        ["ann", date(2026, 3, 18), "40 42 84 8x", "18 110", "130"],
        ["ann", date(2026, 3, 19), "169", "40", "300"],
    ]
    assert odd(write_csv(tmp_path / "a.csv", rows), folder) == [
        "C2: snatch: 41 kg, where 84 is most of this lift so far",
        # usual shares of the norms: front squat 1.13 against a snatch of 0.797
        "D2: front_squat: 11 kg, where 119 is usual beside the other lifts",
        "C3: snatch: 8 kg, where 84 is most of this lift so far",
        "D3: front_squat: 18 kg, where 110 is most of this lift so far",
        "C4: snatch: 169 kg, where 84 is most of this lift so far",
    ]
    assert len(squad(folder)["ann"].sessions) == 5


def test_where_nothing_was_lifted_before_the_sheet_itself_says_what_is_usual(
    folder: Path, tmp_path: Path
) -> None:
    """Ben's file is empty, and in pounds."""
    rows = [["name", "date", "snatch", "C&J", "front squat"], ["ben", FIRST, "150", "200", "22"]]
    (line,) = odd(write_csv(tmp_path / "a.csv", rows), folder, "--units", "lb")
    assert line.startswith("E2: front_squat: 22 lb, where 2")
    assert odd(one_row(tmp_path, "ben", date(2026, 3, 18), "150"), folder, "--units", "lb") == []


def test_a_day_well_before_the_others_deserves_a_second_look(folder: Path, tmp_path: Path) -> None:
    rows: Rows = [
        ["name", "date", "snatch"],
        ["ann", FIRST, 82],
        ["ben", date(2025, 3, 17), 90],
        ["ann", date(2026, 3, 17), 83],
        ["ben", date(2026, 3, 18), 92],
    ]
    (line,) = odd(write_csv(tmp_path / "a.csv", rows), folder)
    # from 17 March 2025 to 16 March 2026 it is a day less than a year
    assert line == (
        "A3: date: 2025-03-17 is 52 weeks before the next day of this sheet; it goes in as training"
    )


def test_a_diary_with_a_day_every_few_weeks_is_nothing_odd(folder: Path, tmp_path: Path) -> None:
    days = [FIRST - timedelta(days=25 * number) for number in range(10)]
    rows = [["name", "date", "snatch"], *(["ben", day, 80] for day in days)]
    assert odd(write_csv(tmp_path / "a.csv", rows), folder) == []


def test_what_stands_in_the_file_already_is_not_looked_at_again(
    folder: Path, tmp_path: Path
) -> None:
    sheet = one_row(tmp_path, "ann", FIRST, "169")
    assert odd(sheet, folder)
    assert odd(sheet, folder) == []


# --- killed, and anything else ---------------------------------------------------------


def test_killed_at_any_moment_the_next_command_sees_all_or_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "athletes"
    week = thirty(folder)
    sheet = write_csv(tmp_path / "a.csv", per_lifter(folder, week))
    old = contents(folder)
    rng = random.Random(7)
    command = [sys.executable, "-m", "profilegen", "intake", str(sheet)]
    started = time.perf_counter()
    subprocess.run([*command, "--athletes", str(folder), "--yes"], check=True, stdout=-3)
    whole_run = time.perf_counter() - started
    new = contents(folder)
    seen = set()
    for _ in range(8):
        for name, content in old.items():
            (folder / name).write_bytes(content)
        process = subprocess.Popen(
            [*command, "--athletes", str(folder), "--yes"], stdout=subprocess.DEVNULL
        )
        time.sleep(whole_run * rng.uniform(0.3, 1.0))
        process.kill()
        process.wait()
        checked = CliRunner().invoke(cli.app, ["check", str(folder)])
        assert checked.exit_code == 0
        now = {name: content for name, content in contents(folder).items() if name in old}
        assert now in (old, new)
        assert not (folder / JOURNAL).exists()
        seen.add(now == new)
    assert seen


CELLS = st.one_of(
    st.text(max_size=12),
    st.text(alphabet="0123456789 ,.;/x*@!cjkglb-", max_size=12),
    st.sampled_from(["ann", "Ben Ode", "2026-03-16", "3/4/2026", "84 87x", "snatch", "avoid", "x"]),
    st.integers(-10, 500),
    st.floats(),
    st.booleans(),
    st.dates(date(2025, 1, 1), date(2026, 6, 1)),
    st.none(),
)
HEADS = st.sampled_from(
    ["name", "id", "date", "at", "bw", "note", "snatch", "C&J", "lift", "kg", "reps", "missed"]
) | st.text(max_size=8)


@settings(
    max_examples=120,
    deadline=3000,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    heads=st.lists(HEADS, min_size=1, max_size=6),
    rows=st.lists(st.lists(CELLS, max_size=7), max_size=5),
    options=st.sets(st.sampled_from(["--on=2026-03-16", "--units=lb", "--dates=mdy", "--at=meet"])),
)
def test_no_sheet_ends_in_a_traceback(
    heads: list[str], rows: list[list[Any]], options: set[str], folder: Path, tmp_path: Path
) -> None:
    """It is added, or refused with reasons; and whatever was added passes the check."""
    (folder / "ann.yaml").write_text(ANN, encoding="utf-8")
    (folder / "ben.yaml").write_text(BEN)
    sheet = write_csv(tmp_path / "a.csv", [["name", *heads], *(["ann", *row] for row in rows)])
    before = contents(folder)
    result = intake(sheet, folder, "--yes", *sorted(options))
    assert result.exit_code in (0, 2), result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    if result.exit_code == 2:
        assert contents(folder) == before
    assert squad(folder)
