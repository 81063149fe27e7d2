"""What holds a lifter back, in kilos and chances."""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest

from profilegen.engine.inference import fit
from profilegen.engine.lift_by_lift import LiftByLift
from profilegen.engine.limits import (
    COMPETITION,
    EVEN,
    answer_of_draws,
    chances_of_draws,
    kilos_behind,
    limiting_features,
    limits_of_draws,
    limits_on,
    rests_on,
)
from profilegen.engine.posterior import Posterior
from profilegen.norms.catalogue import QUALITIES
from tests.engine.handmade import NORMS, TODAY, lifter, maximal, missed, session, usual_lifter

LOADINGS = np.array(
    [
        # legs, pull, speed, snatch turnover, clean turnover, overhead
        [0.01, 0.02, 0.02, 0.04, 0.00, 0.00],
        [0.02, 0.02, 0.01, 0.00, 0.04, 0.00],
        [0.01, 0.00, 0.01, 0.00, 0.00, 0.04],
    ]
)
ORDER = {quality: i for i, quality in enumerate(QUALITIES)}


def behind(qualities: list[float], clean_kg: float = 100.0, jerk_kg: float = 100.0) -> list[float]:
    logs = [np.array([log(kg)]) for kg in (80.0, clean_kg, jerk_kg)]
    (gain,) = kilos_behind(np.array([qualities]), *logs, LOADINGS)
    return [float(g) for g in gain]


def test_a_weak_snatch_turnover_costs_the_snatch_what_it_is_short_of_the_others() -> None:
    """2.4 short of the others' mean: 80 (exp(0.04 x 2.4) - 1) = 8.06 kg by hand."""
    gain = behind([0.4, 0.4, 0.4, -2.0, 0.4, 0.4])
    assert gain[ORDER["snatch_turnover"]] == pytest.approx(80.0 * (exp(0.096) - 1.0))
    assert sum(gain) == pytest.approx(gain[ORDER["snatch_turnover"]])


def test_a_quality_above_the_others_costs_nothing() -> None:
    assert behind([2.0, 0.0, 0.0, 0.0, 0.0, 0.0])[ORDER["legs"]] == 0.0


def test_a_better_clean_is_worth_nothing_while_the_jerk_stops_the_lifter() -> None:
    gain = behind([0.0, 0.0, 0.0, 0.0, -2.0, 0.0], clean_kg=110.0, jerk_kg=100.0)
    assert gain[ORDER["clean_turnover"]] == 0.0


def test_a_better_overhead_is_worth_only_as_much_as_the_clean_allows() -> None:
    """The jerk would grow by exp(0.08) - 1 = 8.3 kg, but the clean ends at 103."""
    gain = behind([0.0, 0.0, 0.0, 0.0, 0.0, -2.0], clean_kg=103.0, jerk_kg=100.0)
    assert gain[ORDER["overhead"]] == pytest.approx(3.0)


def test_kilos_are_never_negative() -> None:
    rng = np.random.default_rng(1)
    logs = [np.log(rng.uniform(60.0, 120.0, 500)) for _ in range(3)]
    assert (kilos_behind(rng.normal(0.0, 2.0, (500, 6)), *logs, LOADINGS) >= 0.0).all()


@pytest.fixture(scope="module")
def jerk_misser() -> Posterior:
    """Cleans 100 easily; misses every jerk over 90; push press low."""
    athlete = lifter(
        session(
            maximal("snatch", 79.0),
            maximal("clean", 103.0),
            maximal("front_squat", 116.0),
            maximal("push_press", 66.0),
            *(missed("clean_and_jerk", 94.0, "jerk") for _ in range(3)),
            maximal("clean_and_jerk", 90.0),
        )
    )
    return fit(athlete, NORMS, TODAY)


def test_jerks_missed_after_easy_cleans_point_overhead(jerk_misser: Posterior) -> None:
    limits = limits_on(jerk_misser)
    first, chance = limits.ranked()[0]
    assert first == "overhead"
    assert chance > 0.8
    assert limits.kilos["overhead"][0] == max(mean for mean, _, _ in limits.kilos.values())


def test_chances_of_all_answers_sum_to_one(jerk_misser: Posterior) -> None:
    limits = limits_on(jerk_misser)
    assert sum(limits.chances.values()) + limits.chance_even == pytest.approx(1.0, abs=1e-12)
    assert len(limits.ranked()) == len(QUALITIES) + 1


def test_kilos_come_with_an_interval_around_them(jerk_misser: Posterior) -> None:
    kilos = limits_on(jerk_misser).kilos
    assert all(0.0 <= low <= high for _, low, high in kilos.values())
    mean, low, high = kilos["overhead"]
    assert low < mean < high


def test_every_draw_gets_one_answer_and_chances_are_their_shares(jerk_misser: Posterior) -> None:
    sample = jerk_misser.sample(limiting_features(jerk_misser))
    answer = answer_of_draws(sample, jerk_misser)
    chances = chances_of_draws(sample, jerk_misser)
    for i, name in enumerate([*QUALITIES, EVEN]):
        assert chances[name] == pytest.approx(float((answer == i).mean()))  # type: ignore[index]


def test_a_lifter_whose_every_quality_is_alike_is_even() -> None:
    """All draws at the usual: nothing lies behind any quality."""
    posterior = fit(usual_lifter(), NORMS, TODAY)
    lifts = [np.full(100, log(kg)) for kg in (79.0, 100.0, 100.0)]
    sample = np.column_stack([np.zeros((100, 6)), *lifts])
    limits = limits_of_draws(sample, posterior)
    assert limits.chance_even == 1.0
    assert limits.ranked()[0] == (EVEN, 1.0)


def test_fewer_kilos_than_a_share_of_the_total_count_as_even() -> None:
    """The norms' 1.5 % of a total of 179 is 2.7 kg; loadings are the catalogue's."""
    posterior = fit(usual_lifter(), NORMS, TODAY)
    i = posterior.prior.lift_ids.index("snatch")
    per_sd = posterior.prior.loadings[i, ORDER["snatch_turnover"]]
    least = NORMS.constant("min_kilos_share") * 179.0
    just_under = log(1.0 + 0.97 * least / 79.0) / per_sd
    just_over = log(1.0 + 1.03 * least / 79.0) / per_sd
    for short, expected in ((just_under, EVEN), (just_over, "snatch_turnover")):
        q = np.zeros(6)
        q[ORDER["snatch_turnover"]] = -short
        sample = np.concatenate((q, np.log([79.0, 100.0, 100.0])))[None, :]
        assert chances_of_draws(sample, posterior)[expected] == 1.0  # type: ignore[index]


def test_the_limiter_is_read_off_six_qualities_and_the_competition_lifts(
    jerk_misser: Posterior,
) -> None:
    assert len(limiting_features(jerk_misser)) == len(QUALITIES) + len(COMPETITION)


def test_what_the_verdict_rests_on_is_where_the_misses_were() -> None:
    """Only the clean and jerks tell of the overhead: without them nothing points to it."""
    sets = [maximal("snatch", 79.0), maximal("clean", 103.0), maximal("front_squat", 116.0)]
    misses = [missed("clean_and_jerk", 94.0, "jerk") for _ in range(3)]
    athlete = lifter(session(*sets, *misses, maximal("clean_and_jerk", 90.0)))
    posterior = fit(athlete, NORMS, TODAY)
    full = limits_on(posterior).chances["overhead"]
    by_lift = LiftByLift.of(posterior, limiting_features(posterior))
    without = dict(rests_on(by_lift, limits_on(posterior).chances, posterior)["overhead"])
    assert full - without["clean_and_jerk"] > 0.4
    assert abs(full - without["snatch"]) < 0.1
