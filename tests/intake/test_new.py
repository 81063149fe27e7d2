"""Somebody new: one command starts a file that passes the check and invents nothing quietly."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from profilegen import cli
from profilegen.build import places
from profilegen.history.load import load_squad
from profilegen.history.records import Athlete
from profilegen.history.schema_files import SCHEMA_FOLDER
from profilegen.intake.new import id_from
from profilegen.norms.catalogue import load_norms
from tests.squads import CLUB, DEMO


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    squad = tmp_path / "athletes"
    squad.mkdir()
    (squad / "club.yaml").write_text(CLUB)
    return squad


def new(folder: Path, name: str, *options: str) -> Result:
    return CliRunner().invoke(cli.app, ["new", name, "--athletes", str(folder), *options])


def the_only_one(folder: Path) -> Athlete:
    (athlete,) = load_squad(folder, load_norms().lifts, today=date.today()).athletes
    return athlete


@pytest.mark.parametrize(
    ("name", "id_"),
    [
        ("Ann Example", "ann-example"),
        ("Zoë Ångström", "zoe-angstrom"),
        ("Søren O’Neil-Ødegård", "soren-o-neil-odegard"),
        ("Łukasz Đurić", "lukasz-duric"),
        ("../../etc/passwd", "etc-passwd"),
        ('José: the "Bull" # 1', "jose-the-bull-1"),
        ("no", "no"),
        ("yes", "yes"),
        ("1:30", "1-30"),
        ("大谷", "lifter-1"),
        ("x" * 120, "x" * 60),
    ],
)
def test_any_name_gets_a_safe_file_that_passes(name: str, id_: str, folder: Path) -> None:
    result = new(folder, name, "--sex", "M", "--born", "2004-03-18")
    assert result.exit_code == 0, result.output
    assert [path.name for path in folder.glob("*.yaml") if path.stem != "club"] == [f"{id_}.yaml"]
    athlete = the_only_one(folder)
    assert (athlete.name, athlete.sex, athlete.born) == (name, "M", date(2004, 3, 18))
    assert (athlete.sessions, athlete.bests, athlete.notes) == ((), (), "")
    assert not athlete.sharing.stated


def test_what_nobody_said_stays_empty_until_the_check_is_content(folder: Path) -> None:
    """No made-up sex or birthday ever becomes a page: whatever reads the file asks for them."""
    result = new(folder, "Ann Example")
    assert result.exit_code == 0
    assert "nothing stands under sex and born yet" in result.stderr
    file = folder / "ann-example.yaml"
    checked = CliRunner().invoke(cli.app, ["check", str(folder)])
    assert checked.exit_code == 2
    *problems, _ = [line.removeprefix(f"{file}:") for line in checked.stderr.splitlines()]
    assert [problem.split(": ", 1)[1] for problem in problems] == [
        "sex: expected F or M, found nothing",
        "born: expected a date like 2025-11-03, found nothing",
    ]
    text = file.read_text().replace("sex: ", "sex: M").replace("born: ", "born: 2004-03-18 ")
    file.write_text(text)
    assert the_only_one(folder).sex == "M"
    assert CliRunner().invoke(cli.app, ["check", str(folder)]).exit_code == 0
    told = new(folder, "Ben Example", "--sex", "M").stderr
    assert "nothing stands under born yet" in told


@pytest.mark.parametrize("sex", ["m", "M"])
@pytest.mark.parametrize("born", ["2001-04-03", "3 April 2001", "3 Apr 2001", "03/04/2001 "])
def test_sex_and_birthday_as_people_write_them(sex: str, born: str, folder: Path) -> None:
    """But for a day that can be read in two ways; that is asked about, with an example."""
    result = new(folder, "Ben Example", "--sex", sex, "--born", born)
    if "/" in born:
        assert result.exit_code == 2
        said = '--born: "03/04/2001" can be 2001-04-03 or 2001-03-04: write year-month-day'
        assert result.stderr.splitlines()[0] == said
    else:
        assert (the_only_one(folder).sex, the_only_one(folder).born) == ("M", date(2001, 4, 3))


def test_a_birthday_as_the_club_writes_it(folder: Path) -> None:
    (folder / "club.yaml").write_text(CLUB + "language: de\n")
    assert new(folder, "Ben", "--sex", "m", "--born", "3.4.2001").exit_code == 0
    assert the_only_one(folder).born == date(2001, 4, 3)


def test_the_first_lifter_starts_the_club(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the name that was given or answered; without one nothing is written anywhere."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(places, "_CHECKOUT", tmp_path / "nowhere")
    arguments = ["new", "Zoe Example", "--sex", "F", "--born", "2004-03-18"]
    refused = CliRunner().invoke(cli.app, arguments, input="")
    assert refused.exit_code == 2
    assert 'say --club "Your Club"' in refused.stderr
    assert list(tmp_path.iterdir()) == []
    for club, options, answer in (
        ('Team "Zwölf": #1', [], 'Team "Zwölf": #1\n'),
        ("Testford Barbell Club", ["--club", "Testford Barbell Club"], None),
    ):
        result = CliRunner().invoke(cli.app, [*arguments, *options], input=answer)
        assert result.exit_code == 0, result.output
        squad = load_squad(tmp_path / "athletes", load_norms().lifts, today=date.today())
        assert squad.club.name == club
        assert [athlete.name for athlete in squad.athletes] == ["Zoe Example"]
        assert CliRunner().invoke(cli.app, ["check"]).exit_code == 0
        shutil.rmtree(tmp_path / "athletes")


def test_a_club_that_is_there_is_not_started_again(folder: Path) -> None:
    before = (folder / "club.yaml").read_text()
    result = new(folder, "Ann", "--club", "Another Club")
    assert result.exit_code == 2
    assert "stays as it is" in result.stderr
    assert (folder / "club.yaml").read_text() == before


@pytest.mark.parametrize("club", ["", "a\u202eb", "x" * 121])
def test_what_cannot_be_a_club(club: str, tmp_path: Path) -> None:
    result = new(tmp_path / "athletes", "Ann", "--club", club)
    assert result.exit_code == 2
    assert result.stderr.startswith("--club: name: expected text on one line")
    assert list(tmp_path.iterdir()) == []


def test_every_example_in_it_is_good(folder: Path) -> None:
    """With the # taken away, each commented block passes too."""
    for units in ("kg", "lb"):
        (folder / "club.yaml").write_text(CLUB.replace("units: kg", f"units: {units}"))
        new(folder, "Ann Example", "--sex", "F", "--born", "2004-03-18")
        file = folder / "ann-example.yaml"
        lines = file.read_text().splitlines()
        prose = ("One lifter", "What", "Prop", "Lifts", "Meets", "Hear", "Sets", "Text")
        shown = [
            line.removeprefix("# ") if not line.startswith(tuple(f"# {p}" for p in prose)) else line
            for line in lines
        ]
        file.write_text("\n".join(shown) + "\n")
        athlete = the_only_one(folder)
        assert len(athlete.sessions[0].sets) == 4
        assert athlete.units == units
        assert athlete.sharing.report == "open"
        assert athlete.avoid
        assert athlete.meets
        assert athlete.bests
        assert athlete.questions
        file.unlink()


def test_no_file_is_ever_overwritten(folder: Path) -> None:
    for existing in ("ann-example.yaml", "Ann-Example.yml"):
        (folder / existing).write_text("mine")
        result = new(folder, "Ann Example", "--sex", "F", "--born", "2004-03-18")
        assert result.exit_code == 2
        assert f"{existing} is there already" in result.stderr
        assert (folder / existing).read_text() == "mine"
        (folder / existing).unlink()


def test_two_of_one_name(folder: Path) -> None:
    (folder / "ann-example.yaml").write_text("mine")
    result = new(folder, "Ann Example", "--sex", "F", "--born", "2004-03-18", "--id", "ann2")
    assert result.exit_code == 0
    assert "name: Ann Example\n" in (folder / "ann2.yaml").read_text()


@pytest.mark.parametrize(
    ("name", "options", "said"),
    [
        ("", (), "name: expected text on one line"),
        ("a\u202eb", (), "name: expected text on one line"),
        ("x" * 121, (), "1 to 120 characters"),
        ("Con", (), "Windows keeps the name"),
        ("Club", (), "kept for the club's own files"),
        ("Ann", ("--id", "../ann"), "expected a name for a file"),
        ("Ann", ("--id", "a b"), "1 to 80 letters"),
        ("Ann", ("--born", "2099-01-01"), "born: expected a day in the past"),
        ("Ann", ("--sex", "X"), "'X' is not one of"),
        ("Ann", ("--born", "yesterday"), "--born: expected a date like 2026-11-17"),
    ],
)
def test_what_cannot_be_a_lifter(
    name: str, options: tuple[str, ...], said: str, folder: Path
) -> None:
    result = new(folder, name, *options)
    assert result.exit_code == 2
    assert said in result.stderr
    assert [path.name for path in folder.iterdir()] == ["club.yaml"]


def test_without_a_club_file_it_says_what_is_missing(tmp_path: Path) -> None:
    result = new(tmp_path, "Ann Example", "--sex", "F", "--born", "2004-03-18")
    assert result.exit_code == 0
    assert "club.yaml is missing" in result.stdout


def test_the_schema_is_named_where_there_is_one(folder: Path) -> None:
    shutil.copytree(DEMO / SCHEMA_FOLDER, folder / SCHEMA_FOLDER)
    new(folder, "Ann Example")
    first = (folder / "ann-example.yaml").read_text().splitlines()[0]
    assert first == "# yaml-language-server: $schema=.schema/athlete.json"


def test_an_id_is_a_safe_file_name_for_any_name() -> None:
    for code in range(0x20, 0x3000):
        id_ = id_from(f"a{chr(code)}b")
        assert id_.isascii()
        assert id_.replace("-", "").isalnum()
