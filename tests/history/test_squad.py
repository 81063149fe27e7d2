"""A folder is read as a whole: club, rivals, lifters, and what is wrong with any of them."""

from __future__ import annotations

import os
import textwrap
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest

from profilegen.errors import InputError
from profilegen.history import schema
from profilegen.history.club import read_club
from profilegen.history.load import load_squad
from profilegen.history.reading import MAX_BYTES
from profilegen.norms.catalogue import Lift

HEAD = "name: Ann Example\nsex: F\nborn: 2004-03-18\n"


@pytest.fixture
def refused(squad_folder: Path, lifts: Mapping[str, Lift], today: date):  # type: ignore[no-untyped-def]
    """The messages that loading the folder ends with, without the folder's own path."""

    def messages() -> list[str]:
        with pytest.raises(InputError) as caught:
            load_squad(squad_folder, lifts, today=today)
        return str(caught.value).replace(f"{squad_folder.as_posix()}/", "").splitlines()

    return messages


def test_athletes_come_in_order_of_their_ids(
    squad_folder: Path, lifts: Mapping[str, Lift], today: date
) -> None:
    for name in ("zoe.yml", "bea.yaml", "notes.txt", ".hidden.yaml", "keys.yaml"):
        (squad_folder / name).write_text(HEAD, encoding="utf-8")
    squad = load_squad(squad_folder, lifts, today=today)
    assert [athlete.id for athlete in squad.athletes] == ["ann", "bea", "zoe"]
    assert squad.club.name == "Example Club"
    assert squad.latest_session_on is None


def test_problems_of_all_files_are_told_together(squad_folder: Path, refused) -> None:  # type: ignore[no-untyped-def]
    (squad_folder / "club.yaml").write_text("name: X\ncolour: red\n", encoding="utf-8")
    (squad_folder / "ann.yaml").write_text(HEAD + "colour: red\n", encoding="utf-8")
    (squad_folder / "bea.yaml").write_text("sex: F\n", encoding="utf-8")
    assert [message.split(":")[0] for message in refused()] == [
        "ann.yaml",
        "bea.yaml",
        "bea.yaml",
        "club.yaml",
    ]


def test_a_missing_club_file_says_how_to_start_one(squad_folder: Path, refused) -> None:  # type: ignore[no-untyped-def]
    (squad_folder / "club.yaml").unlink()
    assert refused() == [
        'club.yaml: not found; start one that holds "name: Example Weightlifting Club"'
    ]
    (squad_folder / "club.yml").write_text("name: X\n", encoding="utf-8")
    assert "club.yaml: not found; rename club.yml to club.yaml" in refused()


def test_a_folder_that_is_not_there_is_one_problem(
    tmp_path: Path, lifts: Mapping[str, Lift], today: date
) -> None:
    with pytest.raises(InputError, match=r"nowhere: not found$") as caught:
        load_squad(tmp_path / "nowhere", lifts, today=today)
    assert len(caught.value.problems) == 1


def test_a_folder_without_lifters_says_how_to_start(squad_folder: Path, refused) -> None:  # type: ignore[no-untyped-def]
    (squad_folder / "ann.yaml").unlink()
    (message,) = refused()
    assert "no athlete files" in message


@pytest.mark.parametrize("other", ["ann.yml", "Ann.yaml", "ANN.YAML"])
def test_two_files_for_one_lifter_are_refused(squad_folder: Path, refused, other: str) -> None:  # type: ignore[no-untyped-def]
    (squad_folder / other).write_text(HEAD, encoding="utf-8")
    (message,) = refused()
    assert "two files for one lifter" in message


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("åsa.yaml", 'found "åsa"; rename it, for example to sa.yaml'),
        ("ann b.yaml", 'found "ann b"; rename it, for example to ann-b.yaml'),
        ("a" * 81 + ".yaml", "1 to 80 letters"),
        ("..yaml.yaml", ""),
        ("a.b.yaml", 'found "a.b"; rename it, for example to a-b.yaml'),
        ("a\u202eb.yaml", "found"),
        ("a\nb.yaml", "found"),
        ("🏋.yaml", "rename it, for example to lifter.yaml"),
        ("con.yaml", "Windows keeps the name"),
        ("LPT1.yml", "Windows keeps the name"),
        ("Club.yaml", "kept for the club's own files"),
    ],
)
def test_a_file_name_that_is_no_id_says_what_to_rename(
    squad_folder: Path,
    refused,  # type: ignore[no-untyped-def]
    lifts: Mapping[str, Lift],
    today: date,
    name: str,
    said: str,
) -> None:
    (squad_folder / name).write_text(HEAD, encoding="utf-8")
    if name.startswith("."):
        assert len(load_squad(squad_folder, lifts, today=today).athletes) == 1
        return
    (message,) = refused()
    assert said in message
    assert message.isprintable()


def test_a_name_that_is_not_even_text_can_be_told(squad_folder: Path, refused) -> None:  # type: ignore[no-untyped-def]
    path = os.fsencode(squad_folder) + b"/a\xff.yaml"
    Path(os.fsdecode(path)).write_text(HEAD, encoding="utf-8")
    (message,) = refused()
    message.encode("utf-8")


def test_what_cannot_be_read_is_said(squad_folder: Path, refused) -> None:  # type: ignore[no-untyped-def]
    (squad_folder / "folder.yaml").mkdir()
    (squad_folder / "broken.yaml").symlink_to("nowhere.yaml")
    os.mkfifo(squad_folder / "pipe.yaml")
    assert refused() == [
        "broken.yaml: a link that leads nowhere, or not to a file",
        "folder.yaml: not a file",
        "pipe.yaml: not a file",
    ]


def test_a_file_over_the_limit_is_refused_unread(squad_folder: Path, refused) -> None:  # type: ignore[no-untyped-def]
    with (squad_folder / "big.yaml").open("wb") as stream:
        stream.truncate(MAX_BYTES + 1)
    assert refused() == ["big.yaml: larger than 50 MB, the limit for one file"]


def test_the_clubs_own_lifts_are_lifts(
    squad_folder: Path, lifts: Mapping[str, Lift], today: date
) -> None:
    (squad_folder / "club.yaml").write_text(
        "name: X\n"
        "own_lifts:\n"
        "  - {id: deficit_snatch, name: Snatch from a deficit, parent: Snatch, share: 0.93}\n"
        "test_cost: {deficit_snatch: 1.2, Back squat: 2}\n",
        encoding="utf-8",
    )
    rows = (
        "bests:\n"
        "  - {lift: deficit_snatch, kg: 70, around: 2025}\n"
        "  - {lift: snatch from a deficit, kg: 72, around: 2026}\n"
    )
    (squad_folder / "ann.yaml").write_text(HEAD + rows, encoding="utf-8")
    squad = load_squad(squad_folder, lifts, today=today)
    assert {best.lift for best in squad.athletes[0].bests} == {"deficit_snatch"}
    (own,) = squad.club.own_lifts
    assert (own.parent, own.share, own.line) == ("snatch", 0.93, 3)
    assert squad.club.test_cost == (("back_squat", 2.0), ("deficit_snatch", 1.2))


def test_an_own_lift_takes_its_parents_range(squad_folder: Path, refused) -> None:  # type: ignore[no-untyped-def]
    (squad_folder / "club.yaml").write_text(
        "name: X\nown_lifts: [{id: tall_snatch, name: Tall, parent: snatch, share: 0.5}]\n",
        encoding="utf-8",
    )
    rows = "bests:\n  - {lift: tall_snatch, kg: 260, around: 2025}\n"
    (squad_folder / "ann.yaml").write_text(HEAD + rows, encoding="utf-8")
    (message,) = refused()
    assert "from 5 to 250 kg for tall snatch, found 260" in message


def test_a_mistake_in_an_own_lift_does_not_spread_to_its_sets(squad_folder: Path, refused) -> None:  # type: ignore[no-untyped-def]
    (squad_folder / "club.yaml").write_text(
        "name: X\nown_lifts: [{id: tall_snatch, name: Tall, parent: snach, share: 50}]\n",
        encoding="utf-8",
    )
    rows = "bests:\n  - {lift: tall_snatch, kg: 60, around: 2025}\n"
    (squad_folder / "ann.yaml").write_text(HEAD + rows, encoding="utf-8")
    assert {message.split(":")[0] for message in refused()} == {"club.yaml"}


def test_a_club_with_everything(squad_folder: Path, lifts: Mapping[str, Lift], today: date) -> None:
    (squad_folder / "club.yaml").write_text(
        "name: Example Club\nunits: lb\nlanguage: de\n"
        "testing_weeks:\n"
        "  - {start: 2026-10-12, end: 2026-10-17, called: Autumn 2026}\n"
        "  - {start: 2026-04-12, end: 2026-04-17, called: Spring 2026}\n"
        "marks:\n"
        "  - {called: State record, sex: F, up_to_kg: 63, snatch_kg: 90}\n"
        "  - {called: Qualifying, sex: M, total_kg: 250}\n"
        'look: {accent: "#0B6E4F", logo: pictures/logo.svg}\n'
        "field: rivals.csv\n",
        encoding="utf-8",
    )
    (squad_folder / "pictures").mkdir()
    (squad_folder / "pictures" / "logo.svg").write_text("<svg/>", encoding="utf-8")
    (squad_folder / "rivals.csv").write_text(
        "Name,Sex,Category,Body mass,Snatch,Clean and jerk\n"
        "Someone,F,63,62.4,88,110\n"
        "\n"
        'Else,m,"89, open",88,130.5,160\n',
        encoding="utf-8",
    )
    club = read_club(squad_folder, lifts, today=today)
    assert (club.units, club.language, club.accent, club.logo) == (
        "lb",
        "de",
        "#0b6e4f",
        "pictures/logo.svg",
    )
    assert [week.called for week in club.testing_weeks] == ["Spring 2026", "Autumn 2026"]
    assert [(mark.called, mark.up_to_kg, mark.line) for mark in club.marks] == [
        ("State record", 63, 8),
        ("Qualifying", None, 9),
    ]
    first, second = club.field
    assert (first.sex, first.category, first.body_mass_kg, first.on) == ("F", "63", 62.4, None)
    assert (second.sex, second.category, second.snatch_kg) == ("M", "89, open", 130.5)


def test_a_sheet_with_semicolons_and_decimal_commas_is_understood(
    squad_folder: Path, lifts: Mapping[str, Lift], today: date
) -> None:
    (squad_folder / "club.yaml").write_text("name: X\nfield: rivals.csv\n", encoding="utf-8")
    (squad_folder / "rivals.csv").write_text(
        "sex;category;body_mass_kg;snatch_kg;clean_and_jerk_kg;date\nF;63;62,4;88,5;110;2026-05-03\n",
        encoding="utf-8-sig",
    )
    (rival,) = read_club(squad_folder, lifts, today=today).field
    assert (rival.body_mass_kg, rival.snatch_kg, rival.on) == (62.4, 88.5, date(2026, 5, 3))


def test_files_outside_the_folder_are_out_of_reach(squad_folder: Path, refused, tmp_path) -> None:  # type: ignore[no-untyped-def]
    outside = tmp_path.parent / "outside.csv"
    outside.write_text("sex\n", encoding="utf-8")
    (squad_folder / "inside.csv").symlink_to(outside)
    for name in ("inside.csv", "../outside.csv", str(outside), "..\\\\outside.csv", "C:/x.csv"):
        (squad_folder / "club.yaml").write_text(f"name: X\nfield: '{name}'\n", encoding="utf-8")
        (message,) = refused()
        assert "expected a file inside the athletes folder" in message


def test_a_logo_over_the_limit_is_refused(squad_folder: Path, refused) -> None:  # type: ignore[no-untyped-def]
    (squad_folder / "club.yaml").write_text("name: X\nlook: {logo: a.png}\n", encoding="utf-8")
    with (squad_folder / "a.png").open("wb") as stream:
        stream.truncate(2_000_001)
    assert refused() == [
        'club.yaml:2:14: look.logo: "a.png" is larger than 100 kB, the limit for a logo'
    ]


def test_the_club_file_shown_in_the_reference_loads(
    squad_folder: Path, lifts: Mapping[str, Lift], today: date
) -> None:
    text = (schema.__doc__ or "").split("club.yaml\n=========\n::\n", 1)[1]
    example = textwrap.dedent(text.split("Only `name` is needed", 1)[0])
    (squad_folder / "club.yaml").write_text(example, encoding="utf-8")
    (squad_folder / "logo.svg").write_text("<svg/>", encoding="utf-8")
    (squad_folder / "rivals.csv").write_text(
        "sex,category,body_mass_kg,snatch_kg,clean_and_jerk_kg\nF,63,62.4,88,110\n",
        encoding="utf-8",
    )
    club = read_club(squad_folder, lifts, today=today)
    assert (club.name, club.accent, club.logo) == (
        "Example Weightlifting Club",
        "#0b6e4f",
        "logo.svg",
    )
    assert [own.id for own in club.own_lifts] == ["deficit_snatch"]
    assert club.marks[0].clean_and_jerk_kg == 112
    assert len(club.field) == 1
