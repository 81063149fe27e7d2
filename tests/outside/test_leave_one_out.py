"""Maximal results of the demo diaries, predicted from the rest of each diary.

A few results of each lifter; tests/bench/leave_one_out.py predicts more of them, prints
everyone's errors side by side and says what the ratio tables do. The diaries are invented, so
this shows what the rows together are worth, not how real lifters scatter.
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.bench.leave_one_out import RATIO_TABLES, Guess, errors, guesses

LEFT_OUT = {"the lift on that day": False, "the whole lift": True}


@cache
def found(left_out: str) -> tuple[Guess, ...]:
    return tuple(guesses(whole_lift=LEFT_OUT[left_out], most_each=5, longest_diary=200))


@pytest.mark.parametrize("left_out", LEFT_OUT)
def test_the_engine_errs_a_fifth_less_than_the_best_fixed_ratio_table(left_out: str) -> None:
    error = errors(found(left_out))
    assert len(found(left_out)) >= 40
    assert error["engine"] <= 0.8 * min(error[name] for name in RATIO_TABLES)


def test_the_engine_errs_a_fifth_less_than_the_lifters_own_last_result() -> None:
    """A rival that needs no table at all: the nearest other maximum of the lift itself."""
    error = errors(found("the lift on that day"))
    assert error["engine"] <= 0.8 * error["own last"]


def test_the_tables_are_used_as_coaches_use_them() -> None:
    """Fair rivals: they err by a few percent, as such tables do, and are not off by design."""
    error = errors(found("the lift on that day"))
    assert all(2.0 < error[name] < 7.0 for name in RATIO_TABLES)
    signed = [g.tables["every lift"] / g.row.load_kg - 1.0 for g in found("the lift on that day")]
    assert abs(sum(signed) / len(signed)) < 0.03


def test_a_lift_nobody_tested_is_predicted_worse_than_one_tested_on_other_days() -> None:
    day, whole = (errors(found(left_out))["engine"] for left_out in LEFT_OUT)
    assert day < whole
