"""One cell of a sheet: what a coach writes is what is read, or it is refused with a reason."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from profilegen.intake.cells import Attempt, CellError, read_attempts


@pytest.mark.parametrize(
    ("text", "attempts"),
    [
        ("84", [Attempt(84)]),
        ("84.5", [Attempt(84.5)]),
        ("84,5", [Attempt(84.5)]),
        ("84 87x 87", [Attempt(84), Attempt(87, missed="lift"), Attempt(87)]),
        ("84, 87 x, 87", [Attempt(84), Attempt(87, missed="lift"), Attempt(87)]),
        ("84; 87X / 90", [Attempt(84), Attempt(87, missed="lift"), Attempt(90)]),
        ("84\n87", [Attempt(84), Attempt(87)]),
        ("84,5 87,5x", [Attempt(84.5), Attempt(87.5, missed="lift")]),
        ("100x3", [Attempt(100, reps=3)]),
        ("100 x3", [Attempt(100, reps=3)]),
        ("100×3", [Attempt(100, reps=3)]),
        ("100 * 3", [Attempt(100, reps=3)]),
        ("120*3@1", [Attempt(120, reps=3, in_reserve=1)]),
        ("120x3 @1.5", [Attempt(120, reps=3, in_reserve=1.5)]),
        ("100@2", [Attempt(100, in_reserve=2)]),
        ("100@5", [Attempt(100, in_reserve=5)]),
        # RPE: 10 is nothing left, 9 one, 8 two (Helms et al. 2016, Strength Cond J 38(4):42-49)
        ("165x2 @rpe8", [Attempt(165, reps=2, in_reserve=2)]),
        ("165x2 @ RPE 9.5 170", [Attempt(165, reps=2, in_reserve=0.5), Attempt(170)]),
        ("165@RPE10", [Attempt(165, in_reserve=0)]),
        ("100x3x", [Attempt(100, reps=3, missed="lift")]),
        ("104xj", [Attempt(104, missed="jerk")]),
        ("104 jerk x", [Attempt(104, missed="jerk")]),
        ("104xc", [Attempt(104, missed="clean")]),
        ("104 Clean X", [Attempt(104, missed="clean")]),
        ("100 104 jerk x 104", [Attempt(100), Attempt(104, missed="jerk"), Attempt(104)]),
        ("90!", [Attempt(90, effort_max=True)]),
        ("84 90 !", [Attempt(84), Attempt(90, effort_max=True)]),
        ("84kg", [Attempt(84, unit="kg")]),
        ("185 lb 190lbsx", [Attempt(185, unit="lb"), Attempt(190, unit="lb", missed="lift")]),
        ("185lbx3@1", [Attempt(185, unit="lb", reps=3, in_reserve=1)]),
        ("60 x 87", [Attempt(60, missed="lift"), Attempt(87)]),
        ("", []),
        (" - ", []),
        ("avoid", []),
    ],
)
def test_attempts(text: str, attempts: list[Attempt]) -> None:
    assert list(read_attempts(text)) == attempts


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("84,87", "two ways"),
        ("84,87,90", "two ways"),
        ("100 x 3", "two ways: write x3 for repetitions"),
        ("100x 10", "two ways"),
        ("-87", "a miss is written 87x"),
        ("(-87)", "a miss is written 87x"),
        ("84-87", "not a dash"),
        ("84 - 87", "not a dash"),
        ("8487909", "a space between attempts"),
        ("100x30", "expected 1 to 20 repetitions"),
        ("100x0", "expected 1 to 20 repetitions"),
        ("3x100", "the load comes first"),
        ("100@11", "in halves"),
        ("100@1.3", "in halves"),
        ("165x2 @8", "an RPE of 8 is written @2 or @rpe8"),
        ("165@6", "an RPE of 6 is written @4 or @rpe6"),
        ("165@5.5", "an RPE of 5.5 is written @4.5 or @rpe5.5"),
        ("165@rpe4", "expected an RPE from 5 to 10"),
        ("165@rpe11", "expected an RPE from 5 to 10"),
        ("165@rpe8.2", "in halves"),
        ("100x3@", "after @ stand the repetitions left"),
        ("87x!", "a miss already says"),
        ("87x3@1x", "a miss already says"),
        ("90@1!", "nothing left and 1 left"),
        ("87xx", "expected attempts such as"),
        ("87y", "expected attempts such as"),
        ("8 7 kilo", "expected attempts such as"),
        ("x", "expected attempts such as"),
        ("made it", "expected attempts such as"),
        ("1e2", "expected attempts such as"),
        ("٨٤", "expected attempts such as"),
        ("84 " * 41, "at most 40 attempts"),
    ],
)
def test_what_can_be_meant_otherwise_is_refused(text: str, said: str) -> None:
    with pytest.raises(CellError) as refused:
        read_attempts(text)
    assert said in str(refused.value)
    assert str(refused.value).isprintable()


def reason(text: str) -> str:
    """Why a cell is refused; nothing when it is read."""
    try:
        attempts = read_attempts(text)
    except CellError as error:
        return str(error)
    assert all(attempt.load < 10_000 and 1 <= attempt.reps <= 20 for attempt in attempts)
    return ""


@given(st.text(max_size=60) | st.text(alphabet="0123456789 ,.;/x*@!cjkglb\n", max_size=40))
def test_no_text_ends_in_anything_but_attempts_or_a_reason(text: str) -> None:
    assert reason(text).isprintable()


# From 21: "87x 20" is refused, because it may be meant as repetitions.
LOADS = st.integers(42, 500).map(lambda halves: halves / 2)
ATTEMPTS = st.one_of(
    st.builds(Attempt, LOADS, reps=st.integers(1, 20), in_reserve=st.sampled_from([None, 1, 2.5])),
    st.builds(Attempt, LOADS, missed=st.sampled_from(["lift", "clean", "jerk"])),
    st.builds(Attempt, LOADS, unit=st.sampled_from(["kg", "lb"]), effort_max=st.booleans()),
)


def as_written(attempt: Attempt) -> str:
    text = f"{attempt.load:g}{attempt.unit or ''}"
    text += f"x{attempt.reps}" if attempt.reps > 1 else ""
    text += f"@{attempt.in_reserve:g}" if attempt.in_reserve is not None else ""
    text += {None: "", "lift": "x", "clean": "xc", "jerk": "xj"}[attempt.missed]
    return text + ("!" if attempt.effort_max else "")


@given(st.lists(ATTEMPTS, max_size=6), st.sampled_from([" ", ", ", "; ", "/", "\n"]))
def test_what_was_written_is_what_is_read(attempts: list[Attempt], between: str) -> None:
    assert list(read_attempts(between.join(map(as_written, attempts)))) == attempts
