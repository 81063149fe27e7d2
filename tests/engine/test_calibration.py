"""What the engine claims about simulated lifters is true as often as it says.

A smaller version of `tests/bench/calibration.py`; tolerances are what eighty lifters allow.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from scipy.stats import norm

from tests.engine.calibration import Calibration, calibrate
from tests.engine.handmade import NORMS

LIFTERS = 80


@pytest.fixture(scope="module")
def found() -> Calibration:
    return calibrate(NORMS, LIFTERS, seed=7)


def test_ninety_percent_intervals_hold_the_truth_nine_times_in_ten(found: Calibration) -> None:
    """Each within 4 binomial errors; all together (they are correlated) within 3 points."""
    error = sqrt(0.9 * 0.1 / LIFTERS)
    assert np.abs(found.coverage() - 0.9).max() < 4.0 * error
    assert found.coverage().mean() == pytest.approx(0.9, abs=0.03)


def test_ranks_of_the_truth_are_flat(found: Calibration) -> None:
    """No histogram differs from flat at the 5 % level shared between all quantities."""
    assert found.flatness().min() > 0.05 / len(found.names)


def test_truth_lies_in_the_middle_of_the_draws_on_average(found: Calibration) -> None:
    """A uniform rank has mean 1/2 and sd 1 / sqrt(12): estimates lean neither up nor down."""
    error = sqrt(1.0 / 12.0 / LIFTERS)
    assert np.abs(found.ranks.mean(axis=0) - 0.5).max() < 4.0 * error


def test_stated_chances_of_the_limiter_match_how_often_they_come_true(found: Calibration) -> None:
    """Binned gap under 3 points plus what eighty times seven answers scatter by themselves."""
    assert found.calibration_error() < 0.03 + 0.02


def test_the_likeliest_answer_is_right_as_often_as_it_says(found: Calibration) -> None:
    stated = found.chances.max(axis=1)
    error = sqrt(float((stated * (1.0 - stated)).sum())) / LIFTERS
    assert abs(found.first_is_right() - stated.mean()) < 3.0 * error


def test_chances_of_all_seven_answers_sum_to_one(found: Calibration) -> None:
    np.testing.assert_allclose(found.chances.sum(axis=1), 1.0, atol=1e-12)
    np.testing.assert_array_equal(found.answers.sum(axis=1), 1.0)


def test_the_calibration_would_notice_intervals_a_fifth_too_narrow() -> None:
    """The check itself can fail: truths spread 1.25 times wider than claimed are caught."""
    rng = np.random.default_rng(1)
    ranks = norm.cdf(1.25 * rng.standard_normal((1000, 1)))
    names, nothing = ("x",), np.zeros((1000, 7))
    wide = Calibration(names, ranks, (np.abs(ranks - 0.5) < 0.45).astype(float), nothing, nothing)
    assert wide.flatness()[0] < 0.05 / 33
    assert wide.coverage()[0] < 0.88
