"""Cases that share their sites are known without solving each by itself."""

from __future__ import annotations

import numpy as np
import pytest

from profilegen.engine.case_sites import Solved
from profilegen.engine.cases import Fitted
from profilegen.engine.inference import fit
from profilegen.engine.opening import Opening
from profilegen.history.records import SetRecord
from tests.engine.handmade import NORMS, TODAY, lifter, made, maximal, missed, session

WEEKS: dict[str, tuple[SetRecord, ...]] = {
    "floors and misses": (
        made("snatch", 80.0),
        missed("snatch", 84.0),
        made("clean", 104.0),
        maximal("front_squat", 125.0),
    ),
    "a maximal clean and jerk": (
        maximal("clean_and_jerk", 102.0),
        missed("clean_and_jerk", 105.0, "jerk"),
        made("power_clean", 92.0),
    ),
}


def fitted(week: str) -> Fitted:
    before = session(made("clean", 100.0), maximal("snatch", 80.0), days_ago=60)
    return fit(lifter(before, session(*WEEKS[week])), NORMS, TODAY).fitted


@pytest.mark.parametrize("week", WEEKS)
def test_every_case_stands_where_it_would_if_it_were_solved_by_itself(week: str) -> None:
    found = fitted(week)
    frame, base = found.frame, found.base
    assert len(frame.steps) == 1, "no miss may be doubtful here: that would double the cases"
    opening = Opening.of(frame, base, 12.0)
    assert len(opening.which) > 20
    nobody = np.zeros(len(frame.odd_case), dtype=bool)
    cases = base.likely(frame, 0.0, nobody, opening.which)
    alone = Solved.of(frame, cases.parts, opening.sites)
    np.testing.assert_allclose(opening.solved.mean, alone.mean, atol=1e-9)
    np.testing.assert_allclose(opening.solved.cov, alone.cov, atol=1e-9)
    np.testing.assert_allclose(opening.solved.alpha, alone.alpha, rtol=1e-6, atol=1e-6)
    between = opening.log_weight - (cases.log_weight + alone.log_integral(cases.parts))
    np.testing.assert_allclose(between, between[0], atol=1e-6)


def test_the_clean_or_the_jerk_can_be_the_smaller() -> None:
    found = fitted("a maximal clean and jerk")
    assert set(found.frame.smaller[found.cases].tolist()) == {0, 1}
