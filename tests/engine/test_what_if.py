"""What if: the small map of the page against the posterior it was made from."""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest

from profilegen.engine.assess import profile_of
from profilegen.engine.inference import fit
from profilegen.engine.posterior import N_QUALITIES
from profilegen.engine.profile import Profile, WhatIf
from profilegen.engine.state import State
from profilegen.engine.what_if import FEW, MOST_LIFTS, moved
from profilegen.history.records import Athlete
from profilegen.norms.catalogue import QUALITIES
from tests.engine.handmade import (
    CLUB,
    NORMS,
    TODAY,
    lifter,
    made,
    maximal,
    missed,
    session,
    usual_lifter,
)

HELD_BACK = lifter(
    session(
        maximal("snatch", 95),
        maximal("clean_and_jerk", 115),
        missed("clean_and_jerk", 119, "clean"),
        maximal("power_clean", 112),
        maximal("front_squat", 150),
        made("back_squat", 170, 3, in_reserve=1),
        made("press", 60),
    )
)
PROFILE = profile_of(HELD_BACK, NORMS, TODAY, CLUB)


def map_of(profile: Profile) -> WhatIf:
    assert profile.what_if is not None
    return profile.what_if


MAP = map_of(PROFILE)


def chances_of(profile: Profile) -> list[float]:
    """Of the six qualities and of even, as the profile states them."""
    limiting = [profile.qualities[quality].chance_limiting for quality in QUALITIES]
    return [*limiting, profile.chance_even]


def test_nothing_moved_is_today():
    now = moved(MAP)
    for lift, kg in zip(MAP.lifts, now.lifts_kg, strict=True):
        assert kg == pytest.approx(PROFILE.lifts[lift].estimate_kg, rel=1e-12)
    assert now.total_kg == pytest.approx(PROFILE.lifts["total"].estimate_kg)
    scores = [PROFILE.qualities[quality].score for quality in QUALITIES]
    assert now.qualities == pytest.approx(scores)
    assert now.chances == pytest.approx(chances_of(PROFILE), abs=1e-12)


@pytest.mark.parametrize("athlete", [HELD_BACK, usual_lifter(), lifter()])
def test_untouched_sliders_leave_every_chance_as_the_verdict_has_it(athlete: Athlete):
    """Also of answers so rare that none of the few draws has them."""
    profile = profile_of(athlete, NORMS, TODAY, CLUB)
    assert moved(map_of(profile)).chances == pytest.approx(chances_of(profile), abs=1e-12)


def test_an_answer_without_a_draw_keeps_its_chance_and_nobody_else_gets_it():
    """Three draws that all say even, of a lifter with one chance in ten of weak legs."""
    still = (0.0,) * N_QUALITIES + tuple(log(kg) for kg in (100.0, 125.0, 125.0))
    small = WhatIf(
        lifts=("snatch", "clean", "jerk"),
        mean=still,
        sd=(1.0,) * 9,
        gain=((0.0,) * 9,) * 3,
        loadings=((0.02,) * N_QUALITIES,) * 3,
        draws=(still,) * 3,
        total_kg=225.0,
        chances=(0.1, 0.0, 0.0, 0.0, 0.0, 0.0, 0.9),
        min_kilos_share=0.01,
    )
    assert moved(small).chances == pytest.approx(small.chances)


def test_a_lift_held_at_a_value_has_that_value():
    for lift in MAP.lifts:
        now = moved(MAP, held=(lift, 123.0))
        assert now.lifts_kg[MAP.lifts.index(lift)] == pytest.approx(123.0)


def test_a_lift_held_where_it_is_moves_nothing():
    for lift in MAP.lifts:
        now = moved(MAP, held=(lift, PROFILE.lifts[lift].estimate_kg))
        assert now.lifts_kg == pytest.approx(moved(MAP).lifts_kg)


def test_holding_a_lift_is_conditioning_the_posterior():
    """Against the textbook formula on the full state (Rasmussen & Williams 2006, eq. A.6)."""
    posterior = fit(HELD_BACK, NORMS, TODAY)
    state = State.of(posterior)
    for lift in ("front_squat", "snatch", "back_squat"):
        i = posterior.index(lift)
        x = log(1.04 * exp(state.mean[i]))
        mean = state.mean + state.cov[:, i] / state.cov[i, i] * (x - state.mean[i])
        now = moved(MAP, held=(lift, exp(x)))
        for other, kg in zip(MAP.lifts, now.lifts_kg, strict=True):
            assert kg == pytest.approx(exp(mean[posterior.index(other)]), abs=1e-6)
        assert now.qualities == pytest.approx(mean[:N_QUALITIES].tolist())


def test_draws_follow_a_held_lift_with_their_spread_left_over():
    """Moved draws have the conditional's spread: none for the lift itself."""
    column = N_QUALITIES + MAP.lifts.index("front_squat")
    gain = np.array(MAP.gain[MAP.lifts.index("front_squat")])
    draws = np.array(MAP.draws)
    followed = draws + np.outer(5.0 - draws[:, column], gain)
    assert np.ptp(followed[:, column]) == pytest.approx(0.0, abs=1e-12)
    assert (followed.std(axis=0) <= draws.std(axis=0) * 1.05).all()


def test_a_quality_moves_lifts_by_their_loadings_and_no_other_quality():
    shift = {QUALITIES.index("legs"): 0.5}
    before, now = moved(MAP), moved(MAP, shifts=shift)
    for lift, then, kg in zip(MAP.lifts, before.lifts_kg, now.lifts_kg, strict=True):
        loading = NORMS.lifts[lift].loadings.get("legs")
        by = 0.5 * loading.value if loading else 0.0
        assert kg == pytest.approx(then * exp(by))
    assert now.qualities[0] == pytest.approx(before.qualities[0] + 0.5)
    assert now.qualities[1:] == pytest.approx(before.qualities[1:])


def test_mending_what_limits_raises_the_total_and_ends_the_limit():
    limiter = PROFILE.verdict.limiter
    assert limiter != "even"
    k = QUALITIES.index(limiter)
    before, mended = moved(MAP), moved(MAP, shifts={k: 2.0})
    assert mended.total_kg > before.total_kg + 1.0
    assert mended.chances[k] < before.chances[k]


def test_a_better_squat_speaks_for_the_legs():
    up, down = (moved(MAP, held=("front_squat", kg)) for kg in (158.0, 138.0))
    legs = QUALITIES.index("legs")
    assert up.qualities[legs] > down.qualities[legs]
    assert up.chances[legs] <= down.chances[legs]


def test_holding_and_training_go_together():
    """What the page shows for a held lift is its value after training."""
    now = moved(MAP, held=("front_squat", 150.0), shifts={0: 0.5})
    assert now.lifts_kg[MAP.lifts.index("front_squat")] == pytest.approx(150.0)


def test_chances_stay_chances():
    for kg in (120.0, 150.0, 180.0):
        now = moved(MAP, held=("front_squat", kg), shifts={1: -1.0})
        assert sum(now.chances) == pytest.approx(1.0)
        assert min(now.chances) >= 0.0


def test_the_map_is_small_and_always_has_the_competition_lifts():
    for profile in (PROFILE, profile_of(usual_lifter(), NORMS, TODAY, CLUB)):
        small = map_of(profile)
        assert {"snatch", "clean", "jerk"} <= set(small.lifts)
        assert len(small.lifts) <= MOST_LIFTS
        assert len(small.draws) == FEW
        order = [lift for lift in profile.lifts if lift in small.lifts]
        assert list(small.lifts) == order
