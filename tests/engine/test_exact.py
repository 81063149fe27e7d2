"""The engine against exact sampling of the same model.

First the sampler itself is held against closed forms and against emcee, a general-purpose
ensemble sampler that shares no step with it; then the engine against the sampler. The
bench `tests/bench/exact.py` does the latter on twenty lifters with long chains.
"""

from __future__ import annotations

import emcee
import numpy as np
import pytest

from profilegen.engine.arrays import Floats
from profilegen.engine.inference import fit
from profilegen.engine.prior import prior_for
from profilegen.history.records import Athlete
from profilegen.norms.catalogue import Norms
from tests.engine.against_exact import compare
from tests.engine.exact import N_QUALITIES, Target, sample
from tests.engine.handmade import (
    NORMS,
    TODAY,
    lifter,
    made,
    maximal,
    missed,
    rows_of,
    session,
    with_constants,
)
from tests.engine.simulated import simulate

NOW = float(TODAY.toordinal())


def target_of(athlete: Athlete, norms: Norms = NORMS) -> Target:
    rows = rows_of(athlete, norms, TODAY)
    return Target.of(prior_for(athlete, norms, TODAY), rows, norms, NOW)


def test_without_rows_the_sampler_draws_the_prior() -> None:
    """Qualities: the mixture's variance and its heavy tail, in closed form."""
    target = target_of(lifter())
    asked = target.prior.quality_features(NOW, lasting=True)
    drawn = sample(target, asked, np.random.default_rng(1), chains=300, steps=300, burn_in=50)
    tail = target.tail
    variance = (1.0 - tail.share) * tail.usual + tail.share * tail.odd
    assert (np.abs(drawn.mean) < 4.0 * drawn.mean_error).all()
    assert (np.abs(drawn.sd - np.sqrt(variance)) < 4.0 * drawn.sd_error).all()
    fourth = 3.0 * ((1.0 - tail.share) * tail.usual**2 + tail.share * tail.odd**2)
    assert (drawn.draws**4).mean() == pytest.approx(fourth, rel=0.05)


def test_with_gaussian_rows_and_no_tails_the_sampler_gives_the_closed_form() -> None:
    plain = with_constants(NORMS, usual_quality_sd=1.0, odd_quality_sd=1.0)
    athlete = lifter(session(maximal("snatch", 90.0), maximal("front_squat", 120.0)))
    posterior = fit(athlete, plain, TODAY)
    target = target_of(athlete, plain)
    asked = posterior.state_features()
    drawn = sample(target, asked, np.random.default_rng(2), chains=300, steps=100, burn_in=20)
    mean, cov = posterior.gaussian(asked)
    sd = np.sqrt(np.diag(cov))
    assert (np.abs(drawn.mean - mean) < 4.5 * drawn.mean_error).all()
    assert (np.abs(drawn.sd - sd) < 4.5 * drawn.sd_error).all()


def test_with_gaussian_rows_and_heavy_tails_the_engine_is_exact() -> None:
    """Maxima only: the 64 cases of odd qualities are summed, not approximated."""
    athlete = lifter(
        session(maximal("snatch", 90.0), maximal("front_squat", 105.0), maximal("clean", 112.0))
    )
    posterior = fit(athlete, NORMS, TODAY)
    asked = posterior.state_features()
    drawn = sample(
        target_of(athlete), asked, np.random.default_rng(3), chains=400, steps=300, burn_in=50
    )
    mean, cov = posterior.gaussian(asked)
    assert (np.abs(drawn.mean - mean) < 4.5 * drawn.mean_error + 1e-4).all()
    assert (np.abs(drawn.sd - np.sqrt(np.diag(cov))) < 4.5 * drawn.sd_error + 1e-3).all()


def test_the_sampler_agrees_with_emcee() -> None:
    """A maximal clean and jerk, a miss and a floor, in emcee's own coordinates.

    emcee walks over the qualities and what is left of the capacities without them, so that
    neither the cases of odd qualities nor the Gaussian rows are taken in beforehand. The
    tails are milder than the norms': emcee's moves do not get from a spike to its slab.
    """
    norms = with_constants(
        NORMS, usual_quality_sd=0.8, odd_quality_sd=1.5, odd_quality_share=0.2, level_sd=0.1
    )
    target = target_of(
        lifter(
            session(
                maximal("clean_and_jerk", 112.0),
                missed("jerk", 119.0),
                made("clean", 116.0),
                made("front_squat", 125.0, looked="steady"),
            )
        ),
        norms,
    )
    mean, cov = (
        target.prior.mean(target.features),
        target.prior.cov(target.features, target.features),
    )
    n = len(mean) - N_QUALITIES
    loading = cov[:n, n:] / target.tail.odd
    rest = np.linalg.cholesky(cov[:n, :n] - loading @ cov[n:, :n])
    assert target.about is not None
    where, x, sd, _ = target.about

    def coordinates(walkers: Floats) -> Floats:
        """float[d, walkers] from (qualities, whitened rest) float[walkers, d]."""
        q, e = walkers[:, :N_QUALITIES].T, walkers[:, N_QUALITIES:].T
        return np.concatenate((mean[:n, None] + loading @ q + rest @ e, q))

    def log_density(walkers: Floats) -> Floats:
        f = coordinates(walkers)
        usual, odd = target.tail.densities(f[n:])
        value = np.log(usual + odd).sum(axis=0) - 0.5 * (walkers[:, N_QUALITIES:] ** 2).sum(axis=1)
        value -= 0.5 * (((f[where[:, 0]] - x) / sd) ** 2).sum(axis=0)
        total: Floats = value + target.log_likelihood(f)
        return total

    walkers = 8 * len(mean)
    start = 0.3 * np.random.default_rng(3).standard_normal((walkers, len(mean)))
    ensemble = emcee.EnsembleSampler(walkers, len(mean), log_density, vectorize=True)
    ensemble.random_state = np.random.RandomState(3).get_state()
    ensemble.run_mcmc(start, 4000)
    chain = ensemble.get_chain(discard=1000, thin=2)
    batches = np.moveaxis(coordinates(chain.reshape(-1, len(mean))), 0, -1)
    batches = batches.reshape(10, -1, len(mean))
    error = batches.mean(axis=1).std(axis=0, ddof=1) / np.sqrt(10)
    ours = sample(
        target, target.features, np.random.default_rng(4), chains=300, steps=600, burn_in=100
    )
    assert (error / ours.sd).max() < 0.12
    off = np.abs(batches.mean(axis=(0, 1)) - ours.mean)
    assert (off < 4.5 * np.hypot(error, ours.mean_error)).all()
    np.testing.assert_allclose(batches.std(axis=(0, 1)), ours.sd, rtol=0.12)


def test_mixed_evidence_agrees_with_exact_sampling() -> None:
    """Means within 0.1 sd, sds within 5 %, chances within 0.03, beyond Monte Carlo error."""
    outside = []
    for number in (2, 3, 4, 7, 15, 19):
        rng = np.random.default_rng((20261121, number))
        drawn = simulate(NORMS, rng, weeks=int(rng.integers(1, 4)))
        found = compare(drawn, NORMS, rng, chains=200, steps=400, burn_in=100)
        outside += [f"lifter {number}: {miss}" for miss in found.misses(errors=3.0)]
    assert not outside
