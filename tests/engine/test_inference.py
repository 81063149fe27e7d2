"""Inference against general-purpose references, and the promises it makes about rows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import Kernel

from profilegen.engine.arrays import Floats
from profilegen.engine.evidence import Row
from profilegen.engine.inference import fit, fit_rows, propagate, screen
from profilegen.engine.posterior import Posterior
from profilegen.engine.prior import Features, prior_for
from profilegen.engine.terms import features_at
from profilegen.history.records import Athlete, Best
from tests.engine.handmade import (
    NORMS,
    TODAY,
    ago,
    lifter,
    made,
    maximal,
    missed,
    rows_of,
    session,
    usual_lifter,
    with_constants,
)
from tests.engine.simulated import simulate

PLAIN = with_constants(NORMS, usual_quality_sd=1.2, odd_quality_sd=1.2)
"""Norms without heavy tails: with rows that say about how much, everything is Gaussian."""

GAUSSIAN_LIFTER = lifter(
    session(maximal("snatch", 88.0), maximal("front_squat", 130.0), maximal("jerk", 108.0)),
    session(
        made("back_squat", 130.0, 3, in_reserve=1.0),
        made("snatch_deadlift", 110.0, looked="steady"),
        days_ago=12,
    ),
    session(maximal("snatch", 92.0), maximal("clean", 112.0), days_ago=100, at="meet"),
    session(made("power_clean", 80.0, share=0.85), maximal("snatch", 84.0), days_ago=500),
    bests=(
        Best("push_press", 90.0, ago(300), 15.0),
        Best("clean_deadlift", 150.0, ago(700), 183.0, "seen"),
    ),
)


class Known(Kernel):  # type: ignore[misc]
    """A kernel over the numbers of functionals whose covariance matrix is known."""

    def __init__(self, matrix: Floats) -> None:
        self.matrix = matrix

    def __call__(self, x: Floats, y: Floats | None = None, eval_gradient: bool = False) -> Floats:
        left = x[:, 0].astype(int)
        right = left if y is None else y[:, 0].astype(int)
        return self.matrix[np.ix_(left, right)]

    def diag(self, x: Floats) -> Floats:
        return np.diag(self.matrix)[x[:, 0].astype(int)]

    def is_stationary(self) -> bool:
        return False


def gaussian_case() -> tuple[Posterior, Features, Features, Floats, Floats]:
    """Posterior, the rows' capacities, the asked functionals, what rows say, their sds."""
    posterior = fit(GAUSSIAN_LIFTER, PLAIN, TODAY)
    terms = [(row, row.terms[0]) for row in posterior.rows]
    assert {term.kind for _, term in terms} == {"about"}
    places = features_at(posterior.prior, [(row, term.lifts[0]) for row, term in terms])
    x = np.array([term.x for _, term in terms])
    sd = np.array([term.sd for _, term in terms])
    return posterior, places, posterior.state_features(), x, sd


def test_the_gaussian_part_agrees_with_scikit_learns_gaussian_process() -> None:
    """Conditional means and covariances of all lifts and qualities, to 1e-8."""
    posterior, places, asked, x, sd = gaussian_case()
    prior = posterior.prior
    both = places.joined(asked)
    n, m = len(places), len(asked)
    reference = GaussianProcessRegressor(Known(prior.cov(both, both)), alpha=sd**2, optimizer=None)
    reference.fit(np.arange(n)[:, None], x - prior.mean(places))
    mean, cov = reference.predict(np.arange(n, n + m)[:, None], return_cov=True)
    got_mean, got_cov = posterior.gaussian(asked)
    np.testing.assert_allclose(got_mean, prior.mean(asked) + mean, rtol=0.0, atol=1e-8)
    np.testing.assert_allclose(got_cov, cov, rtol=0.0, atol=1e-8)


def test_the_gaussian_part_agrees_with_scipys_multivariate_normal() -> None:
    """log p(z, rows) - log p(rows) is the log density of the posterior at any z."""
    posterior, places, asked, x, sd = gaussian_case()
    some = asked.take(np.array([0, 3, 5, posterior.index("snatch"), posterior.index("back_squat")]))
    prior = posterior.prior
    both = some.joined(places)
    noise = np.diag(np.concatenate((np.zeros(len(some)), sd**2)))
    joint = multivariate_normal(prior.mean(both), prior.cov(both, both) + noise)
    rows = multivariate_normal(prior.mean(places), prior.cov(places, places) + np.diag(sd**2))
    got_mean, got_cov = posterior.gaussian(some)
    got = multivariate_normal(got_mean, got_cov)
    rng = np.random.default_rng(5)
    for z in rng.multivariate_normal(got_mean, got_cov, size=20):
        expected = joint.logpdf(np.concatenate((z, x))) - rows.logpdf(x)
        assert got.logpdf(z) == pytest.approx(expected, abs=1e-8)


def test_marginals_are_the_diagonal_of_the_joint() -> None:
    posterior, _, asked, _, _ = gaussian_case()
    mean, cov = posterior.gaussian(asked)
    got_mean, got_var = posterior.marginal(asked)
    np.testing.assert_allclose(got_mean, mean, atol=1e-12)
    np.testing.assert_allclose(got_var, np.diag(cov), atol=1e-12)


def test_without_rows_the_posterior_is_the_prior() -> None:
    posterior = fit(lifter(), NORMS, TODAY)
    assert posterior.converged
    mean, cov = posterior.state()
    share = NORMS.constant("odd_quality_share")
    usual, odd = NORMS.constant("usual_quality_sd"), NORMS.constant("odd_quality_sd")
    drifting = NORMS.constant("quality_drift_share")
    mixed = (1.0 - drifting) * ((1.0 - share) * usual**2 + share * odd**2) + drifting
    np.testing.assert_allclose(mean[:6], 0.0, atol=1e-9)
    np.testing.assert_allclose(np.diag(cov)[:6], mixed, rtol=1e-3)
    expected = posterior.prior.level_mean + posterior.prior.log_share
    np.testing.assert_allclose(mean[6:], expected, atol=1e-9)


def test_mixed_evidence_comes_to_rest_or_says_so() -> None:
    """Of sixty lifters with every kind of row hardly any is left moving, and by under 0.1 %."""
    rng = np.random.default_rng(11)
    moving = []
    for _ in range(60):
        s = simulate(NORMS, rng, weeks=int(rng.integers(1, 5)))
        posterior = fit_rows(s.prior, s.rows, NORMS, TODAY)
        if not posterior.converged:
            moving.append(posterior.moved)
    assert len(moving) <= 2
    assert all(moved < 1e-3 for moved in moving)


def test_rounds_that_do_not_come_to_rest_are_reported(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("profilegen.engine.cases.MAX_ROUNDS", 1)
    s = simulate(NORMS, np.random.default_rng(1))
    posterior = fit_rows(s.prior, s.rows, NORMS, TODAY)
    assert not posterior.converged
    assert posterior.rounds == 1


def heavy_diary() -> tuple[Row, ...]:
    """A year of weekly singles, light and heavy weeks in turn, and one day of maxima."""
    weeks = [
        session(made("clean", 70.0 + 20.0 * (week % 2)), days_ago=7 * week + 1)
        for week in range(50)
    ]
    return rows_of(usual_lifter(*weeks), NORMS, TODAY)


def screened(athlete: Athlete, rows: tuple[Row, ...]) -> list[bool]:
    return screen(prior_for(athlete, NORMS, TODAY), rows, NORMS, TODAY).tolist()


def test_light_singles_beside_maxima_are_set_aside() -> None:
    rows = heavy_diary()
    used = screened(usual_lifter(), rows)
    assert sum(used) < 0.6 * len(rows)
    assert all(used[i] for i, row in enumerate(rows) if row.kind == "max")


def test_a_warm_up_and_a_miss_far_from_a_maximum_say_nothing_new() -> None:
    athlete = lifter(
        session(
            maximal("snatch", 80.0), made("snatch", 60.0), made("snatch", 79.0),
            missed("snatch", 82.0), missed("snatch", 110.0),
        )
    )  # fmt: skip
    rows = rows_of(athlete, NORMS, TODAY)
    used = screened(athlete, rows)
    assert [row.load_kg for row, u in zip(rows, used, strict=True) if u] == [79.0, 80.0, 82.0]


def test_without_a_maximum_every_floor_takes_part() -> None:
    athlete = lifter(session(made("snatch", 90.0)), session(made("snatch", 70.0), days_ago=300))
    assert all(screened(athlete, rows_of(athlete, NORMS, TODAY)))


def test_rows_set_aside_change_no_number_worth_printing() -> None:
    """All rows against the screened ones: lifts within 0.05 %, a tenth of a printed half kilo."""
    rows = heavy_diary()
    prior = prior_for(usual_lifter(), NORMS, TODAY)
    screened = fit_rows(prior, rows, NORMS, TODAY)
    every = propagate(prior, rows, np.ones(len(rows), dtype=bool), NORMS, TODAY)
    assert screened.used.sum() < every.used.sum()
    np.testing.assert_allclose(screened.state()[0], every.state()[0], atol=5e-4)


def test_a_row_set_aside_that_would_have_mattered_comes_back() -> None:
    """A clean of 95 beside hearsay of 100 is light, but hearsay may be wrong: it stays in."""
    athlete = lifter(
        session(made("snatch", 76.0), days_ago=5),
        session(maximal("clean", 80.0), days_ago=3),
        bests=(Best("snatch", 110.0, ago(10), 15.0),),
    )
    rows = rows_of(athlete, NORMS, TODAY)
    assert not all(screened(athlete, rows))
    posterior = fit_rows(prior_for(athlete, NORMS, TODAY), rows, NORMS, TODAY)
    floor = next(i for i, row in enumerate(rows) if row.kind == "made")
    snatch = posterior.index("snatch")
    every = propagate(posterior.prior, rows, np.ones(len(rows), dtype=bool), NORMS, TODAY)
    assert posterior.state()[0][snatch] == pytest.approx(every.state()[0][snatch], abs=5e-4)
    assert posterior.used[floor] or posterior.state()[0][snatch] > np.log(80.0)


def test_a_floor_and_a_miss_close_in_on_a_lift_from_both_sides() -> None:
    athlete = lifter(
        session(
            *(made("snatch", 90.0) for _ in range(2)), *(missed("snatch", 93.0) for _ in range(3))
        )
    )
    posterior = fit(athlete, NORMS, TODAY)
    snatch = float(np.exp(posterior.state()[0][posterior.index("snatch")]))
    assert 88.0 < snatch < 94.5


def test_a_clean_and_jerk_missed_at_the_jerk_splits_the_two() -> None:
    athlete = lifter(session(*(missed("clean_and_jerk", 100.0, "jerk") for _ in range(3))))
    posterior = fit(athlete, NORMS, TODAY)
    mean = posterior.state()[0]
    assert mean[posterior.index("jerk")] < np.log(101.0) < mean[posterior.index("clean")] + 0.02


def test_places_and_forms_tie_rows_of_one_day() -> None:
    """Two maxima on one bad day say less than the same two on two days."""
    together = lifter(session(maximal("snatch", 90.0), maximal("power_snatch", 77.0)))
    apart = replace(
        together,
        sessions=(
            session(maximal("power_snatch", 77.0), days_ago=11),
            session(maximal("snatch", 90.0), days_ago=10),
        ),
    )
    sd = []
    for athlete in (together, apart):
        posterior = fit(athlete, NORMS, TODAY)
        sd.append(np.sqrt(np.diag(posterior.state()[1])[posterior.index("hang_snatch")]))
    assert sd[0] > sd[1]
