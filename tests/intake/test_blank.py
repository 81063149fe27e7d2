"""The blank sheet: everyone, the tests, nothing that must not be asked; and it comes back."""

from __future__ import annotations

import errno
import io
import os
import re
from datetime import date
from pathlib import Path
from typing import Any, get_args

import html5lib
import pytest
from bs4 import BeautifulSoup
from openpyxl import load_workbook
from typer.testing import CliRunner, Result

from profilegen import cli
from profilegen.engine.profile import CLEAN_AND_JERK
from profilegen.history.load import load_squad
from profilegen.history.records import Squad
from profilegen.history.schema import ClubFile
from profilegen.intake.blank import ALWAYS, BlankSheet, blank_sheet, xlsx_bytes
from profilegen.norms.catalogue import load_norms, with_own_lifts
from profilegen.render import printable_sheet
from profilegen.report.language import words_in
from profilegen.report.sheet_words import sheet_words
from tests.intake.sheets import write_csv
from tests.squads import CLUB, DEMO, TODAY, SmallSquad

SQUAD = load_squad(DEMO, load_norms().lifts, today=TODAY)
NORMS = with_own_lifts(load_norms(), SQUAD.club.own_lifts)
LANGUAGES = get_args(ClubFile.model_fields["language"].annotation)
TESTS = ("snatch", "C&J", "back squat", "pin_front_squat")


def blank(squad: Squad = SQUAD, tests: tuple[str, ...] = TESTS) -> BlankSheet:
    norms = with_own_lifts(load_norms(), squad.club.own_lifts)
    spoken = words_in(squad.club.language).gettext
    return blank_sheet(squad, norms, tests, spoken=spoken, today=TODAY)


def xlsx(sheet: BlankSheet) -> bytes:
    return xlsx_bytes(sheet, sheet_words(sheet))


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(cli.app, [str(argument) for argument in arguments])


def test_who_avoids_what_and_who_is_under_eighteen() -> None:
    """Helga never back squats, and Kofi is fifteen: both stand in their files."""
    sheet = blank()
    assert [test.lift for test in sheet.tests] == [
        "snatch",
        CLEAN_AND_JERK,
        "back_squat",
        "pin_front_squat",
    ]
    lines = {line.id: line for line in sheet.lines}
    assert set(lines) == {athlete.id for athlete in SQUAD.athletes}
    assert lines["helga"].avoids[2]
    assert not any(lines["amara"].avoids)
    assert lines["kofi"].junior
    assert not lines["amara"].junior


def test_the_page_of_the_spreadsheet() -> None:
    sheet = blank()
    book = load_workbook(io.BytesIO(xlsx(sheet)))
    assert [(page.title, page.sheet_state) for page in book] == [
        ("Testing", "visible"),
        ("Lists", "hidden"),
    ]
    page = book["Testing"]
    heads = [cell.value for cell in page[1]]
    assert heads == [
        "Id",
        "Lifter",
        "Date",
        "At",
        "Body mass (kg)",
        "Snatch (kg)",
        "Clean and jerk (kg)",
        "Back squat (kg)",
        "Pin front squat (kg)",
        "Notes",
        "Care",
    ]
    rows = {row[0].value: row for row in page.iter_rows(min_row=2) if row[0].value}
    avoided = rows["helga"][7]
    assert avoided.value == "avoid"
    assert avoided.font.strike
    assert avoided.fill.fgColor.rgb == "FFD9D9D9"
    assert rows["kofi"][10].value == "under 18: no maximal singles"
    assert rows["amara"][7].value is None
    assert rows["amara"][7].number_format == "@"


def test_the_drop_downs() -> None:
    page = load_workbook(io.BytesIO(xlsx(blank())))["Testing"]
    rules = {str(rule.sqref): rule for rule in page.data_validations.dataValidation}
    count = len(SQUAD.athletes)
    last = 1 + count + 5
    assert rules[f"A2:A{last}"].formula1 == f"Lists!$A$1:$A${count}"
    assert rules[f"D2:D{last}"].formula1 == '"testing,training,meet"'
    assert rules[f"C2:C{last}"].type == "date"
    assert (rules[f"E2:E{last}"].formula1, rules[f"E2:E{last}"].formula2) == ("25", "250")
    juniors = [rule for rule in rules.values() if rule.promptTitle == "Under 18"]
    assert len(juniors) == 1
    assert "No maximal singles" in juniors[0].prompt


def test_a_name_cannot_become_a_formula(squad: SmallSquad) -> None:
    """Nor can it become a tag on the page to print."""
    squad.add("eve", name="'=HYPERLINK(\"x\")<script>alert(1)</script>'")
    people = load_squad(squad.folder, load_norms().lifts, today=TODAY)
    sheet = blank(people, ("snatch",))
    page = load_workbook(io.BytesIO(xlsx(sheet)))["Testing"]
    (cell,) = [row[1] for row in page.iter_rows(min_row=2) if row[0].value == "eve"]
    assert (cell.data_type, cell.value[:2]) == ("s", "=H")
    assert "<script" not in printable_sheet(sheet)


def test_the_same_squad_gives_the_same_bytes() -> None:
    assert xlsx(blank()) == xlsx(blank())


def test_the_page_to_print() -> None:
    text = printable_sheet(blank())
    html5lib.HTMLParser(strict=True).parse(text)
    page = BeautifulSoup(text, "html5lib")
    heads = [cell.get_text() for cell in page.select("thead th")]
    assert heads[2:-1] == ["Snatch", "Clean and jerk", "Back squat", "Pin front squat"]
    rows = {row.th.contents[0]: row for row in page.select("tbody tr")}
    names = {athlete.id: athlete.name for athlete in SQUAD.athletes}
    assert len(rows) == len(names)
    assert rows[names["helga"]].select("td.avoid s")
    assert "under 18: no maximal singles" in rows[names["kofi"]].get_text()
    assert "noindex" in text
    (policy,) = page.select("meta[http-equiv=Content-Security-Policy]")
    assert str(policy["content"]).startswith("default-src 'none'; script-src 'none'")
    assert not page.select("script, link, img")
    assert not re.search(r"https?://", text)


@pytest.mark.parametrize("language", LANGUAGES)
def test_filled_in_it_comes_back(language: str, squad: SmallSquad, tmp_path: Path) -> None:
    """The heading of every lift there is, with its unit, is understood; untouched rows are
    nothing, `avoid` is nothing."""
    (squad.folder / "club.yaml").write_text(f"{CLUB}language: {language}\n")
    (squad.folder / "ann.yaml").write_text(
        "name: Ann\nsex: F\nborn: 2000-01-01\navoid:\n  - {lift: press}\n"
    )
    tests = ",".join([*load_norms().lifts, "clean_and_jerk"])
    out = tmp_path / "week.xlsx"
    result = run("sheet", "--athletes", squad.folder, "--out", out, "--tests", tests)
    assert result.exit_code == 0, result.output
    assert run("intake", out, "--athletes", squad.folder).stdout == "Nothing to add.\n"
    book = load_workbook(out)
    page = book["Testing"]
    wanted = len(load_norms().lifts) + 1
    for column in range(6, 6 + wanted):
        if page.cell(2, column).value is None:
            page.cell(2, column).value = "60"
    page["C2"] = date(2026, 3, 16)
    rules = {str(rule.sqref): rule for rule in page.data_validations.dataValidation}
    testing, *_ = next(rules[where] for where in rules if where[0] == "D").formula1.split(",")
    page["D2"] = testing.strip('"')
    page["E2"] = 63.4
    book.save(out)
    assert page["A2"].value == "ann"
    result = run("intake", out, "--athletes", squad.folder, "--yes")
    assert result.exit_code == 0, result.output
    people = load_squad(squad.folder, load_norms().lifts, today=TODAY).athletes
    (ann,) = [athlete for athlete in people if athlete.id == "ann"]
    assert ann.sessions[0].at == "testing"
    assert {record.lift for record in ann.sessions[0].sets} == {
        *load_norms().lifts,
        CLEAN_AND_JERK,
    } - {"press", "push_press"}


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_was_written_on_the_printed_page_can_be_typed_in(
    language: str, squad: SmallSquad, tmp_path: Path
) -> None:
    """Under the headings of the page, with its word for the date, its mark for a lift to avoid,
    and body masses as people there write decimals."""
    (squad.folder / "club.yaml").write_text(f"{CLUB}language: {language}\n")
    (squad.folder / "ann.yaml").write_text(
        "name: Ann\nsex: F\nborn: 2000-01-01\navoid:\n  - {lift: press}\n"
    )
    out = tmp_path / "week.xlsx"
    tests = ("snatch", "clean_and_jerk", "front_squat", "press")
    run("sheet", "--athletes", squad.folder, "--out", out, "--tests", ",".join(tests))
    page = BeautifulSoup(out.with_suffix(".html").read_text(encoding="utf-8"), "html5lib")
    heads = [cell.get_text() for cell in page.select("thead th")]
    day = page.select("main > p")[0].get_text().split(":")[0]
    (avoid,) = [mark.get_text() for mark in page.select("tbody s")]
    mass = "63,1" if language == "de" else "63.1"
    row = ["Ann", mass, "77 80x", "96xj", "108x2@1", avoid, "good", "17 Nov 2025"]
    sheet = write_csv(tmp_path / "typed.csv", [[*heads, day], row], delimiter=";")
    result = run("intake", sheet, "--athletes", squad.folder, "--yes")
    assert result.exit_code == 0, result.output
    people = load_squad(squad.folder, load_norms().lifts, today=TODAY).athletes
    (ann,) = [athlete for athlete in people if athlete.id == "ann"]
    (session,) = ann.sessions
    assert (session.on, session.body_mass_kg) == (date(2025, 11, 17), 63.1)
    assert session.note == "good"
    assert [record.lift for record in session.sets] == ["snatch", *tests[:3]]


def test_a_german_club_gets_a_german_spreadsheet(squad: SmallSquad, tmp_path: Path) -> None:
    (squad.folder / "club.yaml").write_text(f"{CLUB}language: de\n")
    out = tmp_path / "week.xlsx"
    run("sheet", "--athletes", squad.folder, "--out", out, "--tests", "snatch,C&J")
    page = load_workbook(out)["Testing"]
    assert [cell.value for cell in page[1]] == [
        "Id",
        "Name",
        "Datum",
        "Anlass",
        "Körpergewicht (kg)",
        "Reißen (kg)",
        "Stoßen (kg)",
        "Notizen",
        "Zu beachten",
    ]
    for rule in page.data_validations.dataValidation:
        # what Excel takes: 32 and 255 characters
        assert len(rule.promptTitle or "") <= 32
        assert len(rule.prompt or "") <= 255


def test_results_are_never_overwritten(squad: SmallSquad, tmp_path: Path) -> None:
    for name in ("week.xlsx", "week.html"):
        (tmp_path / name).write_text("results")
        result = run("sheet", "--athletes", squad.folder, "--out", tmp_path / "week.xlsx")
        assert result.exit_code == 2
        assert "may hold results" in result.stderr
        assert (tmp_path / name).read_text() == "results"
        (tmp_path / name).unlink()
    assert [path.name for path in tmp_path.iterdir()] == ["athletes"]


def test_a_test_that_is_no_lift(squad: SmallSquad, tmp_path: Path) -> None:
    out = tmp_path / "week.xlsx"
    result = run("sheet", "--athletes", squad.folder, "--out", out, "--tests", "snatch,snach")
    assert result.exit_code == 2
    assert 'found "snach", did you mean "snatch"?' in result.stderr
    assert not out.exists()


@pytest.mark.parametrize("tests", ["", ",", " , "])
def test_a_sheet_without_any_test_is_no_sheet(
    squad: SmallSquad, tmp_path: Path, tests: str
) -> None:
    out = tmp_path / "week.xlsx"
    result = run("sheet", "--athletes", squad.folder, "--out", out, "--tests", tests)
    assert result.exit_code == 2
    assert "--tests: expected lifts" in result.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["athletes"]


def test_both_files_are_written_or_none(
    squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk is full when the page's turn comes; a second try is not in its own way."""
    arguments = ("sheet", "--athletes", squad.folder, "--out", tmp_path / "week.xlsx")
    opened = Path.open

    def full(path: Path, mode: str = "r", *more: Any) -> Any:
        if path.name == "week.html":
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))
        return opened(path, mode, *more)

    with monkeypatch.context() as patched:
        patched.setattr(Path, "open", full)
        result = run(*arguments, "--tests", "snatch")
    assert result.exit_code == 2
    assert "week.html cannot be written: No space left on device" in result.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["athletes"]
    assert run(*arguments, "--tests", "snatch").exit_code == 0
    assert (tmp_path / "week.html").is_file()


def test_by_default_the_squad_tests_what_tells_most(squad: SmallSquad, tmp_path: Path) -> None:
    out = tmp_path / "week.xlsx"
    assert run("sheet", "--athletes", squad.folder, "--out", out).exit_code == 0
    heads = [cell.value for cell in load_workbook(out)["Testing"][1]][5:-2]
    assert heads[:3] == ["Snatch (kg)", "Clean and jerk (kg)", "Front squat (kg)"]
    assert len(ALWAYS) < len(heads) <= len(ALWAYS) + 3


def newcomers(folder: Path, **born: str) -> None:
    """Lifters of whom nothing is known but who they are."""
    for name, day in born.items():
        (folder / f"{name}.yaml").write_text(f"name: {name.title()}\nsex: F\nborn: {day}\n")


def test_a_squad_without_results_tests_the_plain_lifts(tmp_path: Path) -> None:
    """What every coach tests first, not what happens to come first where all tells the same."""
    (tmp_path / "club.yaml").write_text(CLUB)
    newcomers(tmp_path, ann="2000-01-01", bea="2012-01-01")
    out = tmp_path / "week.xlsx"
    assert run("sheet", "--athletes", tmp_path, "--out", out).exit_code == 0
    page = load_workbook(out)["Testing"]
    assert [cell.value for cell in page[1]][5:-2] == [
        "Snatch (kg)",
        "Clean and jerk (kg)",
        "Front squat (kg)",
        "Back squat (kg)",
    ]
    assert page.cell(3, 11).value == "under 18: no maximal singles"


def test_newcomers_have_no_say_in_what_tells_most(squad: SmallSquad, tmp_path: Path) -> None:
    """A dozen of whom nothing is known do not outvote the lifters with results."""
    out, other = tmp_path / "before.xlsx", tmp_path / "after.xlsx"
    run("sheet", "--athletes", squad.folder, "--out", out)
    newcomers(squad.folder, **{f"new{number}": "2000-01-01" for number in range(12)})
    run("sheet", "--athletes", squad.folder, "--out", other)
    before, after = ([c.value for c in load_workbook(p)["Testing"][1]] for p in (out, other))
    assert before == after


def test_what_everybody_avoids_is_not_proposed(tmp_path: Path) -> None:
    (tmp_path / "club.yaml").write_text(CLUB)
    newcomers(tmp_path, ann="2000-01-01")
    file = tmp_path / "ann.yaml"
    file.write_text(file.read_text() + "avoid:\n  - {lift: back_squat}\n")
    out = tmp_path / "week.xlsx"
    run("sheet", "--athletes", tmp_path, "--out", out)
    heads = [cell.value for cell in load_workbook(out)["Testing"][1]]
    assert "Front squat (kg)" in heads
    assert "Back squat (kg)" not in heads
