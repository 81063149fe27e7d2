"""What choosing a load says, where nobody wrote how near the limit it was.

The plain expectations are common practice, no source: a coach who sees a lifter's whole half-year
top out at 35 does not expect 90.
"""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest

from profilegen.engine.assess import profile_of
from profilegen.engine.choice import with_choices
from profilegen.engine.evidence import Row, rows_of
from profilegen.engine.profile import LiftEstimate
from profilegen.history.records import Athlete
from tests.engine.handmade import CLUB, NORMS, TODAY, lifter, made, maximal, missed, session


def chosen(athlete: Athlete) -> list[Row]:
    """Rows whose load was read as a choice."""
    rows = with_choices(rows_of(athlete, NORMS, TODAY), NORMS)
    return [row for row in rows if row.says_how_much and row.log_sd is None]


def estimate(athlete: Athlete, lift: str = "snatch") -> LiftEstimate:
    return profile_of(athlete, NORMS, TODAY, CLUB).lifts[lift]


def test_the_heaviest_attempt_of_a_meet_is_about_the_limit() -> None:
    meet = session(
        made("snatch", 92.0), made("snatch", 96.0), missed("snatch", 100.0),
        made("clean_and_jerk", 115.0), made("clean_and_jerk", 120.0), at="meet",
    )  # fmt: skip
    rows = chosen(lifter(meet))
    assert [(row.lift, row.load_kg) for row in rows] == [("clean_and_jerk", 120), ("snatch", 100)]
    assert [exp(row.terms[-1].x) for row in rows] == pytest.approx([120.0, 100.0])


def test_where_a_row_of_the_lift_says_how_much_nothing_is_read_into_choices() -> None:
    tested = session(maximal("snatch", 98.0), days_ago=60)
    meet = session(made("snatch", 92.0), missed("snatch", 100.0), at="meet")
    assert chosen(lifter(tested, meet)) == []


def test_a_tested_clean_tells_of_the_clean_and_jerk() -> None:
    tested = session(maximal("clean", 120.0), days_ago=60)
    assert chosen(lifter(tested, session(missed("clean_and_jerk", 70.0)))) == []


def test_light_sets_in_training_are_just_light_when_any_lift_was_tested() -> None:
    tested = session(maximal("front_squat", 120.0), days_ago=60)
    assert chosen(lifter(tested, session(made("snatch", 40.0), at="training"))) == []


def test_in_training_one_row_per_lift_and_half_year_carries_the_choice() -> None:
    """Ten easy sessions say no more than one."""
    days = [session(made("snatch", 50.0), at="training", days_ago=5 * d) for d in range(1, 11)]
    once, often = (estimate(lifter(*some)) for some in (days[:1], days))
    assert len(chosen(lifter(*days))) == 1
    assert often.estimate_kg == pytest.approx(once.estimate_kg, rel=0.04)
    width = [log(one.high_kg / one.low_kg) for one in (once, often)]
    assert width[1] > 0.75 * width[0]


def test_a_beginner_is_not_taken_for_a_trained_lifter() -> None:
    """Three sessions up to 35 and 45: nobody would expect a club lifter's 90 and 110."""
    days = [
        session(made("snatch", kg), made("clean_and_jerk", kg + 10.0), at="training", days_ago=d)
        for kg, d in ((30.0, 15), (32.5, 11), (35.0, 7))
    ]
    snatch = estimate(lifter(*days))
    assert 35.0 < snatch.estimate_kg < 50.0
    assert snatch.high_kg < 60.0


@pytest.mark.parametrize("last", [made("snatch", 100.0), missed("snatch", 100.0)])
def test_a_meet_alone_tells_the_lift_within_a_tenth(last: object) -> None:
    """Openers lie at 97 % of the day's best (iwf_results_db): 92, 96, 100 is a lifter of 95-105."""
    meet = session(made("snatch", 92.0), made("snatch", 96.0), last, at="meet")  # type: ignore[arg-type]
    snatch = estimate(lifter(meet))
    assert 95.0 < snatch.estimate_kg < 105.0
    assert 88.0 < snatch.low_kg < snatch.high_kg < 116.0


def test_a_choice_changes_neither_what_was_made_nor_what_was_missed() -> None:
    rows = rows_of(lifter(session(made("snatch", 80.0), missed("snatch", 84.0))), NORMS, TODAY)
    for before, after in zip(rows, with_choices(rows, NORMS), strict=True):
        assert after.terms[: len(before.terms)] == before.terms


def test_without_rows_nothing_is_chosen() -> None:
    assert with_choices((), NORMS) == ()
    assert np.isfinite(estimate(lifter()).estimate_kg)
