"""What is asked of a posterior: joint answers, draws, and answers without part of the rows."""

from __future__ import annotations

import numpy as np
import pytest

from profilegen.engine.arrays import Bools
from profilegen.engine.inference import fit, fit_rows
from profilegen.engine.posterior import N_QUALITIES, Posterior, Recall
from profilegen.engine.prior import prior_for
from tests.engine.handmade import (
    NORMS,
    TODAY,
    ago,
    as_written,
    lifter,
    made,
    maximal,
    missed,
    session,
    usual_lifter,
)
from tests.engine.simulated import simulate


@pytest.fixture(scope="module")
def usual() -> Posterior:
    return fit(usual_lifter(session(missed("snatch", 82.0), days_ago=90)), NORMS, TODAY)


def test_the_state_is_the_six_qualities_then_every_lift_today(usual: Posterior) -> None:
    mean, cov = usual.state()
    n = N_QUALITIES + len(usual.prior.lift_ids)
    assert mean.shape == (n,)
    assert cov.shape == (n, n)
    assert np.exp(mean[usual.index("clean")]) == pytest.approx(100.0, rel=0.02)


def test_the_covariance_is_symmetric_and_proper(usual: Posterior) -> None:
    _, cov = usual.state()
    np.testing.assert_array_equal(cov, cov.T)
    assert np.linalg.eigvalsh(cov).min() > 0.0


def test_the_further_back_the_less_is_known(usual: Posterior) -> None:
    """Away from the rows' days the lifter may have been stronger or weaker."""
    snatch = usual.index("snatch")
    sd = [
        np.sqrt(usual.state(float(ago(d).toordinal()))[1][snatch, snatch]) for d in (10, 400, 1500)
    ]
    assert sd == sorted(sd)


def test_draws_have_the_moments_they_are_drawn_from(usual: Posterior) -> None:
    """2048 quasi-random draws: means within 0.02 sd, sds within 3 %."""
    mean, cov = usual.state()
    sd = np.sqrt(np.diag(cov))
    sample = usual.sample(usual.state_features())
    assert np.abs((sample.mean(axis=0) - mean) / sd).max() < 0.02
    np.testing.assert_allclose(sample.std(axis=0), sd, rtol=0.03)


def test_the_same_question_gets_the_same_draws(usual: Posterior) -> None:
    f = usual.state_features()
    np.testing.assert_array_equal(usual.sample(f), usual.sample(f))


def test_with_all_rows_kept_recall_says_what_the_posterior_says() -> None:
    s = simulate(NORMS, np.random.default_rng(4))
    posterior = fit_rows(s.prior, s.rows, NORMS, TODAY)
    f = posterior.state_features()
    everything = np.ones(len(posterior.rows), dtype=bool)
    mean, cov = Recall.of(posterior, f).given(everything).moments()
    got_mean, got_cov = posterior.gaussian(f)
    np.testing.assert_allclose(mean, got_mean, atol=2e-3)
    np.testing.assert_allclose(np.sqrt(np.diag(cov)), np.sqrt(np.diag(got_cov)), rtol=0.01)


def test_with_no_rows_kept_recall_says_what_the_prior_says(usual: Posterior) -> None:
    nothing = np.zeros(len(usual.rows), dtype=bool)
    mean, cov = Recall.of(usual, usual.state_features()).given(nothing).moments()
    unknown = fit(lifter(session()), NORMS, TODAY)
    expected_mean, expected_cov = unknown.state()
    np.testing.assert_allclose(mean, expected_mean, atol=1e-6)
    # cases with five or six odd qualities, 0.3 % of the prior, do not come back
    np.testing.assert_allclose(np.diag(cov), np.diag(expected_cov), rtol=0.02)


def _not(posterior: Posterior, lift: str) -> Bools:
    """The rows of all other lifts."""
    return np.array([row.lift != lift for row in posterior.rows])


@pytest.mark.parametrize("lift", ["snatch", "front_squat", "power_clean"])
def test_leaving_a_lift_out_is_like_never_having_tested_it(usual: Posterior, lift: str) -> None:
    """Maxima are Gaussian, so taking one down is nearly a new fit; the tails are anew."""
    f = usual.state_features()
    mean, cov = Recall.of(usual, f).given(_not(usual, lift)).moments()
    rest = [row for row in usual.rows if row.lift != lift]
    anew = fit_rows(usual.prior, rest, NORMS, TODAY)
    got_mean, got_cov = anew.gaussian(f)
    sd = np.sqrt(np.diag(got_cov))
    assert np.abs((mean - got_mean) / sd).max() < 0.1
    np.testing.assert_allclose(np.sqrt(np.diag(cov)), sd, rtol=0.1)


def test_one_lift_alone_leads_one_to_expect_the_usual_shares_of_it(usual: Posterior) -> None:
    """A front squat of 113 kg alone speaks of a clean near 100 kg, less surely than a clean."""
    f = usual.state_features()
    recall = Recall.of(usual, f)
    clean = usual.index("clean")
    mean, cov = recall.given(~_not(usual, "front_squat")).moments()
    own_mean, own_cov = recall.given(~_not(usual, "clean")).moments()
    assert np.exp(mean[clean]) == pytest.approx(100.0, rel=0.03)
    assert np.exp(own_mean[clean]) == pytest.approx(100.0, rel=0.03)
    assert cov[clean, clean] > 2.0 * own_cov[clean, clean]


def test_a_lift_without_rows_changes_nothing_when_left_out(usual: Posterior) -> None:
    f = usual.state_features()
    recall = Recall.of(usual, f)
    everything = np.ones(len(usual.rows), dtype=bool)
    np.testing.assert_array_equal(
        recall.given(_not(usual, "press")).moments()[0], recall.given(everything).moments()[0]
    )


def test_a_lifter_with_nothing_but_a_floor_is_only_bounded_from_below() -> None:
    athlete = lifter(session(made("snatch", 120.0)))
    posterior = fit(athlete, NORMS, TODAY)
    before = prior_for(athlete, NORMS, TODAY)
    expected = before.level_mean + before.log_share[before.lift_ids.index("snatch")]
    snatch = posterior.index("snatch")
    assert posterior.state()[0][snatch] > np.log(120.0) > expected


def test_a_maximum_beats_a_floor(usual: Posterior) -> None:
    floor = as_written(lifter(session(made("snatch", 79.0))))
    exact = fit(lifter(session(maximal("snatch", 79.0))), NORMS, TODAY)
    snatch = usual.index("snatch")
    assert floor.state()[1][snatch, snatch] > 4.0 * exact.state()[1][snatch, snatch]
