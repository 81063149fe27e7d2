"""What the rest says without a lift, and what a lift says alone, against fitting anew."""

from __future__ import annotations

import numpy as np
import pytest

from profilegen.engine.inference import fit, fit_rows
from profilegen.engine.lift_by_lift import LiftByLift
from profilegen.engine.limits import COMPETITION, chances_of_draws, limiting_features, rests_on
from profilegen.engine.posterior import N_QUALITIES, Posterior
from profilegen.history.records import Athlete
from profilegen.norms.catalogue import QUALITIES
from tests.engine.handmade import (
    NORMS,
    TODAY,
    lifter,
    made,
    maximal,
    missed,
    session,
    usual_lifter,
)
from tests.engine.simulated import simulate

CLEAN = N_QUALITIES + COMPETITION.index("clean")


def by_lift(posterior: Posterior) -> LiftByLift:
    return LiftByLift.of(posterior, limiting_features(posterior))


def mixed() -> Athlete:
    """A usual lifter with floors, misses and a clean and jerk that stops at the jerk."""
    return usual_lifter(
        session(made("snatch", 76.0), missed("snatch", 82.0), made("hang_clean", 90.0)),
        session(maximal("clean_and_jerk", 93.0), missed("clean_and_jerk", 96.0, "jerk")),
        session(made("back_squat", 120.0, reps=3, in_reserve=1.0), days_ago=200),
    )


@pytest.fixture(scope="module")
def posterior() -> Posterior:
    return fit(mixed(), NORMS, TODAY)


@pytest.fixture(scope="module")
def fitted_anew() -> list[tuple[Posterior, LiftByLift, list[Posterior]]]:
    """Simulated lifters, and for each of their lifts a fit of all other rows."""
    found = []
    for seed in (1, 2, 3):
        s = simulate(NORMS, np.random.default_rng(seed))
        whole = fit_rows(s.prior, s.rows, NORMS, TODAY)
        lifts = by_lift(whole)
        rest = [[row for row in whole.rows if row.lift != lift] for lift in lifts.lifts]
        found.append((whole, lifts, [fit_rows(s.prior, rows, NORMS, TODAY) for rows in rest]))
    return found


def test_leaving_a_lift_out_moves_everything_as_never_having_tested_it(
    fitted_anew: list[tuple[Posterior, LiftByLift, list[Posterior]]],
) -> None:
    """Nine means in ten move to within a tenth of an sd of where a fit of the others goes."""
    off = []
    for whole, lifts, others in fitted_anew:
        features = limiting_features(whole)
        mean, _ = lifts.without.moments()
        now, _ = whole.gaussian(features)
        for number, anew in enumerate(others, start=1):
            expected, spread = anew.gaussian(features)
            gap = (mean[number] - mean[0]) - (expected - now)
            off.append(np.abs(gap) / np.sqrt(np.diag(spread)))
    assert np.quantile(off, 0.9) < 0.1


def test_chances_without_a_lift_are_nearly_those_of_a_fit_of_the_other_rows(
    fitted_anew: list[tuple[Posterior, LiftByLift, list[Posterior]]],
) -> None:
    """Within 0.02 on average, and nearer than "nothing changes" would be."""
    off, still = [], []
    for whole, lifts, others in fitted_anew:
        features = limiting_features(whole)
        now = chances_of_draws(whole.sample(features), whole)
        told = rests_on(lifts, {quality: now[quality] for quality in QUALITIES}, whole)
        for number, anew in enumerate(others):
            expected = chances_of_draws(anew.sample(features), anew)
            off += [abs(told[q][number][1] - expected[q]) for q in QUALITIES]
            still += [abs(now[q] - expected[q]) for q in QUALITIES]
    assert np.mean(off) < 0.02
    assert np.mean(off) < 0.8 * np.mean(still)


@pytest.mark.parametrize("lift", ["snatch", "clean", "power_clean", "front_squat"])
def test_a_lift_alone_says_what_a_fit_of_its_rows_says(posterior: Posterior, lift: str) -> None:
    found = by_lift(posterior)
    mean, cov = found.only.moments()
    alone = [row for row in posterior.rows if row.lift == lift]
    expected, spread = fit_rows(posterior.prior, alone, NORMS, TODAY).gaussian(
        limiting_features(posterior)
    )
    number = 1 + found.lifts.index(lift)
    sd = np.sqrt(np.diag(spread))
    assert np.abs((mean[number] - expected) / sd).max() < 0.15
    np.testing.assert_allclose(np.sqrt(np.diag(cov[number])), sd, rtol=0.1)


def test_one_lift_alone_leads_one_to_expect_the_usual_shares_of_it(posterior: Posterior) -> None:
    """A front squat of 113 kg alone speaks of a clean near 100 kg, less surely than a clean."""
    found = by_lift(posterior)
    mean, cov = found.only.moments()
    squat, clean = (1 + found.lifts.index(lift) for lift in ("front_squat", "clean"))
    assert np.exp(mean[squat, CLEAN]) == pytest.approx(100.0, rel=0.03)
    assert np.exp(mean[clean, CLEAN]) == pytest.approx(100.0, rel=0.03)
    assert cov[squat, CLEAN, CLEAN] > 2.0 * cov[clean, CLEAN, CLEAN]


def test_before_any_row_stands_what_a_lifter_nobody_wrote_about_gets(posterior: Posterior) -> None:
    mean, cov = by_lift(posterior).only.moments()
    unknown = fit_rows(posterior.prior, (), NORMS, TODAY)
    expected, spread = unknown.gaussian(limiting_features(unknown))
    np.testing.assert_allclose(mean[0], expected, atol=1e-6)
    np.testing.assert_allclose(cov[0], spread, atol=1e-4)


def test_without_rows_there_is_nothing_to_leave_out() -> None:
    unknown = fit(lifter(), NORMS, TODAY)
    found = by_lift(unknown)
    assert found.lifts == ()
    assert rests_on(found, dict.fromkeys(QUALITIES, 0.1), unknown)["legs"] == []


def test_draws_have_the_moments_of_their_mixture(posterior: Posterior) -> None:
    """2048 quasi-random draws: means within 0.03 sd, sds within 5 %."""
    without = by_lift(posterior).without
    mean, cov = without.moments()
    draws = without.draws(2048)
    sd = np.sqrt(np.einsum("eii->ei", cov))
    assert np.abs((draws.mean(axis=1) - mean) / sd).max() < 0.03
    np.testing.assert_allclose(draws.std(axis=1), sd, rtol=0.05)


def test_chances_in_closed_form_are_those_of_the_draws(posterior: Posterior) -> None:
    without = by_lift(posterior).without
    draws = without.draws(4096)
    for quality in range(N_QUALITIES):
        chances = without.chances_above(quality, 0.5, -1.0)
        np.testing.assert_allclose(chances, (draws[:, :, quality] < -0.5).mean(axis=1), atol=0.02)
