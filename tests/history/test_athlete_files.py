"""What a coach writes is what the records say."""

from __future__ import annotations

import pickle
import textwrap
import time
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import pytest

from profilegen.errors import InputError
from profilegen.history import schema
from profilegen.history.load import read_athlete
from profilegen.history.records import Athlete, Build, Question, SetRecord, Sharing
from profilegen.norms.catalogue import Lift

Read = Callable[[str], Athlete]


def documented_example() -> str:
    """The athlete file shown in the reference, schema.py's docstring."""
    text = schema.__doc__ or ""
    after = text.split("digits, `-` and `_`::\n", 1)[1]
    block = after.split("**Lifts**", 1)[0]
    return textwrap.dedent(block)


def sets(*rows: str) -> str:
    lines = "".join(f"      - {{{row}}}\n" for row in rows)
    return f"sessions:\n  - on: 2026-10-12\n    sets:\n{lines}"


def test_the_example_in_the_reference_loads_as_it_says(
    tmp_path: Path, lifts: Mapping[str, Lift], today: date
) -> None:
    path = tmp_path / "ann.yaml"
    path.write_text(documented_example(), encoding="utf-8")
    ann = read_athlete(path, lifts, today=today)

    assert (ann.id, ann.name, ann.sex, ann.born) == ("ann", "Ann Example", "F", date(2004, 3, 18))
    assert ann.build == Build(thighs="short", torso="long")
    assert ann.sharing == Sharing("open", "name", "shown", date(2026, 1, 10), stated=True)
    (avoided,) = ann.avoid
    assert (avoided.lift, avoided.since, avoided.why) == (
        "back_squat",
        date(2025, 2, 1),
        "low back",
    )
    (meet,) = ann.meets
    assert (meet.on, meet.target_total_kg) == (date(2026, 12, 5), 190)
    (session,) = ann.sessions
    assert (session.at, session.body_mass_kg, session.note) == ("testing", 63.4, "slept badly")
    assert [record.lift for record in session.sets] == [
        "snatch",
        "snatch",
        "clean_and_jerk",
        "front_squat",
        "power_snatch",
        "clean_pull",
        "snatch_deadlift",
        "clean",
    ]
    made, missed, half, squat, hard, pull, easy, guessed = session.sets
    assert (made.load_kg, made.reps, made.missed, made.effort_max) == (84, 1, None, False)
    assert (missed.missed, half.missed) == ("lift", "jerk")
    assert (squat.reps, squat.in_reserve) == (3, 1)
    assert hard.effort_max
    assert pull.speed_m_s == 1.21
    assert (easy.looked, easy.video) == ("easy", "https://example.org/v")
    assert guessed.share == 0.7
    assert ann.notes == "Text for the page.\n"
    assert [(q.kind, q.lift, q.quality, q.direction) for q in ann.questions] == [
        ("why", "power_clean", None, None),
        ("holds", "clean", None, None),
        ("claim", None, "overhead", "low"),
    ]


def test_every_record_remembers_its_line(ann: Read) -> None:
    text = (
        "bests:\n  - {lift: clean, kg: 100, around: 2025}\n"
        + sets("lift: snatch, kg: 80", "lift: snatch, kg: 82")
        + "questions:\n  - why: clean\n"
    )
    athlete = ann(text)
    assert athlete.bests[0].line == 5
    assert athlete.sessions[0].line == 7
    assert [record.line for record in athlete.sessions[0].sets] == [9, 10]
    assert athlete.questions[0].line == 12


def test_three_lines_are_enough_and_mean_private(ann: Read) -> None:
    athlete = ann("")
    assert athlete.sharing == Sharing()
    assert (athlete.sharing.report, athlete.sharing.squad, athlete.sharing.stated) == (
        "off",
        "off",
        False,
    )
    assert athlete.sessions == ()
    assert athlete.last_session_on is None


def test_sharing_only_what_is_said_leaves_the_rest_private(ann: Read) -> None:
    assert ann("sharing: {squad: initials}\n").sharing == Sharing(squad="initials", stated=True)


def test_off_is_a_word_here_and_not_false(ann: Read) -> None:
    """YAML 1.1 readers take `off` as false and the key `on` as true."""
    assert ann("sharing: {report: off, squad: off}\n").sharing.report == "off"


@pytest.mark.parametrize(
    ("written", "middle", "half_days"),
    [
        ("2025-11-03", date(2025, 11, 3), 0),
        ("2025-11", date(2025, 11, 15), 15),
        ("2025", date(2025, 7, 2), 182.5),
        ('"2025"', date(2025, 7, 2), 182.5),
        ("2024-02", date(2024, 2, 15), 14.5),
        ("2026-11", date(2026, 11, 15), 15),  # whatever the clock says; the engine cuts at its day
    ],
)
def test_a_vague_date_is_the_middle_of_its_period_with_half_its_length_as_doubt(
    ann: Read, written: str, middle: date, half_days: float
) -> None:
    (best,) = ann(f"bests:\n  - {{lift: clean, kg: 100, around: {written}}}\n").bests
    assert (best.around, best.vague_days, best.source) == (middle, half_days, "told")


def test_avoided_since_a_month_means_from_its_first_day(ann: Read) -> None:
    (avoided,) = ann("avoid:\n  - {lift: jerk, since: 2025-02}\n").avoid
    assert avoided.since == date(2025, 2, 1)


def test_sessions_come_in_date_order_and_sets_as_written(ann: Read) -> None:
    athlete = ann(
        "sessions:\n"
        "  - {on: 2026-10-12, at: meet, sets: [{lift: clean, kg: 90}, {lift: snatch, kg: 70}]}\n"
        "  - {on: 2025-10-12, body_mass_kg: 60}\n"
        "  - {on: 2026-10-12, at: training, note: evening}\n"
    )
    assert [session.on.year for session in athlete.sessions] == [2025, 2026, 2026]
    assert [session.at for session in athlete.sessions] == ["training", "meet", "training"]
    assert [record.lift for record in athlete.sessions[1].sets] == ["clean", "snatch"]


@pytest.mark.parametrize(
    ("written", "lift"),
    [
        ("Power clean", "power_clean"),
        ("power-clean", "power_clean"),
        ("Clean & jerk", "clean_and_jerk"),
        ("clean and jerk", "clean_and_jerk"),
        ("C&J", "clean_and_jerk"),
        ("Snatch-grip deadlift", "snatch_deadlift"),
    ],
)
def test_a_lift_may_be_written_as_people_write_it(ann: Read, written: str, lift: str) -> None:
    ((record,),) = (session.sets for session in ann(sets(f"lift: {written}, kg: 80")).sessions)
    assert record.lift == lift


def test_a_miss_of_several_repetitions_is_one_row(ann: Read) -> None:
    """`reps: 3, missed: true` says that three were tried and not all made."""
    (session,) = ann(sets("lift: snatch, kg: 80, reps: 3, missed: true")).sessions
    assert session.sets == (SetRecord("snatch", 80.0, reps=3, missed="lift", line=7),)


def test_missed_false_is_a_made_set(ann: Read) -> None:
    (session,) = ann(sets("lift: snatch, kg: 80, missed: false")).sessions
    assert session.sets[0].missed is None


def test_nothing_in_reserve_agrees_with_a_maximal_effort(ann: Read) -> None:
    (session,) = ann(sets("lift: clean, kg: 80, reps: 3, effort: max, in_reserve: 0")).sessions
    assert session.sets[0].effort_max
    assert session.sets[0].in_reserve == 0


def test_five_left_is_the_most_that_can_be_told(ann: Read) -> None:
    """At five the scale to ten (RPE) and the repetitions left agree; above, it is likely the
    other one. The check names both ways to write it: tests/bad_files/effort_scale.yaml."""
    (session,) = ann(sets("lift: clean, kg: 80, reps: 2, in_reserve: 5")).sessions
    assert session.sets[0].in_reserve == 5


def test_a_question_may_be_about_the_clean_and_jerk(ann: Read) -> None:
    (question,) = ann("questions:\n  - {holds: clean_and_jerk}\n").questions
    assert question == Question(kind="holds", lift="clean_and_jerk", line=5)


def test_blank_lists_blocks_and_notes_are_as_good_as_absent(ann: Read) -> None:
    assert ann("bests:\nsessions:\nsharing:\nbuild:\nnotes:\n") == ann("")


def test_notes_that_no_page_would_show_whole_are_refused(ann: Read) -> None:
    """Not cut without a word: the coach is told how long they may be."""
    assert len(ann(f"notes: {'x' * 20_000}\n").notes) == 20_000
    with pytest.raises(InputError) as caught:
        ann(f"notes: {'x' * 20_001}\n")
    (problem,) = caught.value.problems
    assert "expected text of at most 20,000 characters, found" in problem.message
    assert "(20,001 characters)" in problem.message


def test_windows_line_ends_and_a_byte_order_mark_do_no_harm(
    tmp_path: Path, lifts: Mapping[str, Lift], today: date
) -> None:
    text = "name: Ann Example\nsex: F\nborn: 2004-03-18\n" + sets("lift: snatch, kg: 80")
    path = tmp_path / "ann.yaml"
    path.write_text(text, encoding="utf-8")
    plain = read_athlete(path, lifts, today=today)
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert read_athlete(path, lifts, today=today) == plain


def test_letters_of_all_languages_are_names(ann: Read) -> None:
    """Also written from right to left, and with joiners inside emoji."""
    for name in ("Åsa Øst", "יעל", "ليلى", "李娜", "Zoë 🏋️‍♀️"):
        head = f"name: {name}\nsex: F\nborn: 2004-03-18\n"
        assert ann("", head=head).name == name  # type: ignore[call-arg]


def test_one_mistake_never_hides_another(ann: Read) -> None:
    """Type, range, name and contradiction in one file are all told."""
    with pytest.raises(InputError) as caught:
        ann(
            "colour: red\n"
            + sets(
                "lift: snach, kg: 900, reps: five", "lift: clean, kg: 80, missed: true, share: 1"
            )
        )
    assert [(p.line, p.field) for p in caught.value.problems] == [
        (4, "colour"),
        (8, "lift"),
        (8, "kg"),
        (8, "reps"),
        (9, "share"),
    ]


def test_a_million_mistakes_are_not_a_million_lines(ann: Read) -> None:
    with pytest.raises(InputError) as caught:
        ann(sets(*["lift: snach, kg: 1"] * 5000))
    assert len(caught.value.problems) == 201
    assert "more than 200 problems" in caught.value.problems[-1].message


def test_athletes_and_errors_can_be_sent_between_processes(ann: Read) -> None:
    athlete = ann(sets("lift: snatch, kg: 80"))
    assert pickle.loads(pickle.dumps(athlete)) == athlete
    with pytest.raises(InputError) as caught:
        ann("colour: red\n")
    assert pickle.loads(pickle.dumps(caught.value)).problems == caught.value.problems


def test_a_hundred_rows_are_read_in_under_five_milliseconds(
    tmp_path: Path, lifts: Mapping[str, Lift], today: date
) -> None:
    rows = [
        f"lift: snatch, kg: {60 + i % 30}, reps: {1 + i % 4}, in_reserve: 1" for i in range(100)
    ]
    path = tmp_path / "ann.yaml"
    path.write_text("name: Ann\nsex: F\nborn: 2004-03-18\n" + sets(*rows), encoding="utf-8")
    best = float("inf")
    for _ in range(30):
        start = time.perf_counter()
        read_athlete(path, lifts, today=today)
        best = min(best, time.perf_counter() - start)
    assert best < 0.005


def test_the_schema_can_be_given_to_editors() -> None:
    """JSON Schema comes from the same models, with every key explained."""
    described = schema.AthleteFile.model_json_schema()
    assert described["additionalProperties"] is False
    assert set(described["required"]) == {"name", "sex", "born"}
    assert described["$defs"]["SetEntry"]["properties"]["reps"]["maximum"] == 20
