"""The next test: what each would tell, and which lifts are never proposed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy.special import expit, ndtr, xlogy
from scipy.stats import norm

from profilegen.engine.assess import profile_of
from profilegen.engine.avoided import avoided_lifts
from profilegen.engine.inference import fit
from profilegen.engine.limits import answer_of_draws
from profilegen.engine.next_test import (
    SET_SIZE,
    best_set,
    next_tests,
    pair_bits,
    single_bits,
)
from profilegen.engine.profile import NextTest, NextTests, TwoTests
from profilegen.engine.state import State
from profilegen.history.records import Athlete, Avoid, Club, OwnLift, PlannedMeet
from tests.engine.handmade import (
    CLUB,
    NORMS,
    TODAY,
    lifter,
    maximal,
    session,
    usual_lifter,
    with_constants,
)
from tests.engine.testing_weeks import compared

NEWCOMER = lifter(session(maximal("snatch", 80), maximal("clean_and_jerk", 100)))


def found_for(athlete: Athlete, club: Club = CLUB) -> NextTests:
    found = profile_of(athlete, NORMS, TODAY, club).next_tests
    assert found is not None
    return found


# What a test tells


def told_by_quadrature(shift: float, sd: float, noise: float) -> float:
    """Two equally likely answers, c = +-shift + N(0, sd^2), y = c + N(0, noise^2): bits on paper.

    I = 1 - E[h(P(+|y))], with h the entropy of a coin (Cover & Thomas 2006, eq. 2.5 and 2.40),
    integrated over y on a fine grid.
    """
    var = sd**2 + noise**2
    reach = shift + 8.0 * np.sqrt(var)
    y, step = np.linspace(-reach, reach, 20001, retstep=True)
    p = expit(2.0 * shift * y / var)
    h = -(xlogy(p, p) + xlogy(1.0 - p, 1.0 - p)) / np.log(2.0)
    density = 0.5 * (norm.pdf(y, shift, np.sqrt(var)) + norm.pdf(y, -shift, np.sqrt(var)))
    return 1.0 - float((density * h).sum() * step)


@pytest.mark.parametrize(("shift", "sd"), [(0.0, 0.03), (0.02, 0.03), (0.05, 0.02), (0.15, 0.02)])
def test_bits_agree_with_the_integral(shift: float, sd: float):
    rng = np.random.default_rng(1)
    answer = rng.integers(0, 2, 2048)
    capacity = np.where(answer == 1, shift, -shift) + sd * rng.standard_normal(2048)
    bits, _ = single_bits(capacity[:, None], np.array([0.025]), answer)
    on_paper = told_by_quadrature(shift, sd, 0.025)
    # reading a result in steps keeps a little back; chance differences of 2048 draws
    assert on_paper * 0.9 - 0.012 < bits[0] < on_paper + 0.012


def test_a_lift_that_has_nothing_to_do_with_the_answer_tells_nothing():
    rng = np.random.default_rng(2)
    answer = rng.integers(0, 7, 2048)
    capacity = 0.05 * rng.standard_normal((2048, 40))
    bits, read = single_bits(capacity, np.full(40, 0.025), answer)
    assert bits.mean() < 0.003
    assert bits.max() < 0.012
    pairs = pair_bits(read.steps(range(8)), answer)
    assert pairs[np.triu_indices(8, 1)].mean() < 0.01


def test_without_taking_off_what_counting_adds_it_would_seem_to_tell_something():
    """The same draws counted plainly: the correction is needed, and about right."""
    rng = np.random.default_rng(2)
    answer = rng.integers(0, 7, 2048)
    capacity = 0.05 * rng.standard_normal(2048)
    edges = np.quantile(capacity, np.arange(1, 6) / 6)
    upto = ndtr((edges - capacity[:, None]) / 0.025)
    weight = np.diff(upto, axis=1, prepend=0.0, append=1.0)
    cells = np.array([weight[answer == a].sum(axis=0) for a in range(7)]) / 2048
    independent = cells.sum(axis=1, keepdims=True) * cells.sum(axis=0)
    plain = float((cells * np.log2(cells / independent)).sum())
    assert plain > 0.002


def test_many_draws_say_the_same():
    """2048 draws of seven answers and six lifts say what 200,000 do, within 0.02 bits."""

    def bits(draws: int, seed: int) -> np.ndarray:
        rng = np.random.default_rng(seed)
        answer = rng.choice(7, draws, p=(0.3, 0.2, 0.15, 0.1, 0.1, 0.1, 0.05))
        moved = np.arange(6) == answer[:, None]
        capacity = -0.05 * moved + 0.04 * rng.standard_normal((draws, 6))
        return single_bits(capacity, np.full(6, 0.025), answer)[0]

    few = np.mean([bits(2048, seed) for seed in range(30)], axis=0)
    many = bits(200_000, 99)
    assert np.abs(few - many).max() < 0.006  # on average: taking off what counting adds is fair
    assert np.abs(bits(2048, 1) - many).max() < 0.025


def test_two_tests_tell_at_least_as_much_as_each_and_at_most_what_is_open():
    found = found_for(NEWCOMER)
    bits = {one.lift: one.bits for one in found.values}
    assert found.pairs
    for two in found.pairs:
        assert two.bits >= max(bits[two.first], bits[two.second])
        assert two.bits <= found.entropy_bits
        assert two.bits <= bits[two.first] + bits[two.second] + 0.05


def test_tests_of_two_alike_lifts_overlap():
    """Copies of one lift together tell hardly more than one; two different lifts tell more."""
    rng = np.random.default_rng(4)
    answer = rng.integers(0, 4, 2048)
    first = np.where(answer % 2 == 0, 0.06, -0.06) + 0.005 * rng.standard_normal(2048)
    other = np.where(answer // 2 == 0, 0.06, -0.06) + 0.005 * rng.standard_normal(2048)
    capacity = np.column_stack((first, first, other))
    bits, read = single_bits(capacity, np.full(3, 0.01), answer)
    pairs = pair_bits(read.steps(range(3)), answer)
    assert pairs[0, 1] < bits[0] + 0.02
    assert pairs[0, 2] > bits[0] + bits[2] - 0.03


def test_a_settled_lifter_learns_less_from_any_test_than_a_newcomer():
    rich = usual_lifter()
    assert found_for(rich).entropy_bits < found_for(NEWCOMER).entropy_bits
    assert found_for(rich).values[0].bits < found_for(NEWCOMER).values[0].bits


def test_a_vaguer_test_tells_less():
    posterior = fit(NEWCOMER, NORMS, TODAY)
    state = State.of(posterior)
    answer = answer_of_draws(state.limiting, posterior)
    told = []
    for sd in (0.015, 0.05, 0.15):
        vague = replace(posterior, norms=with_constants(NORMS, max_single_sd=sd))
        told.append(next_tests(vague, state.sample, answer, NEWCOMER, CLUB).values[0].bits)
    assert told == sorted(told, reverse=True)


# Whom not to test, and how


@pytest.mark.parametrize(
    ("marked", "also"),
    [
        ("back_squat", "paused_back_squat"),
        ("clean", "clean_and_jerk"),
        ("jerk", "jerk_from_rack"),
        ("clean_and_jerk", "jerk"),
        ("snatch", "block_snatch"),
        ("front_squat", "pin_squat"),
        ("jerk", "power_jerk"),
        ("jerk_from_rack", "jerk"),
    ],
)
def test_a_lift_to_avoid_is_never_proposed_nor_what_is_much_alike(marked: str, also: str):
    club = replace(CLUB, own_lifts=(OwnLift("pin_squat", "Pin squat", "front_squat", 0.9),))
    athlete = replace(NEWCOMER, avoid=(Avoid(marked),))
    found = found_for(athlete)
    assert {marked, also} <= avoided_lifts(athlete, club, NORMS.alike)
    assert not {marked, also} & {one.lift for one in found.values}
    assert not {marked, also} & set(found.best)
    assert marked in found.avoided


def test_who_avoids_every_lift_has_no_test_and_still_a_profile():
    athlete = replace(NEWCOMER, avoid=tuple(map(Avoid, NORMS.lifts)))
    found = found_for(athlete)
    assert (found.values, found.pairs, found.best, found.best_bits) == ((), (), (), 0.0)
    assert found.entropy_bits > 0.0
    assert {*NORMS.lifts, "clean_and_jerk"} == set(found.avoided)


FRONT, BACK = {"front_squat", "paused_front_squat"}, {"back_squat", "paused_back_squat"}


@pytest.mark.parametrize(("left", "most"), [(BACK, 1), (FRONT | BACK, 2)])
def test_the_few_lifts_that_may_be_tested_are_weighed(left: set[str], most: int):
    """Squats only: one of a kind, so one test or two, and never the same squat twice."""
    athlete = replace(NEWCOMER, avoid=tuple(map(Avoid, set(NORMS.lifts) - left)))
    found = found_for(athlete)
    assert {one.lift for one in found.values} == left
    assert len(found.best) == most
    assert all(len({*found.best} & kind) <= 1 for kind in (FRONT, BACK))
    bits = {one.lift: one.bits for one in found.values}
    assert found.best_bits >= max(bits[lift] for lift in found.best)


def test_what_is_avoided_is_known_right_before_a_meet_too():
    meet = PlannedMeet(TODAY + timedelta(days=3), "Cup")
    found = found_for(replace(NEWCOMER, meets=(meet,), avoid=(Avoid("jerk"),)))
    assert "power_jerk" in found.avoided


def test_every_other_lift_is_weighed():
    found = {one.lift for one in found_for(NEWCOMER).values}
    assert found == {*NORMS.lifts, "clean_and_jerk"}


@pytest.mark.parametrize(("days", "near"), [(1, True), (14, True), (15, False)])
def test_no_test_within_two_weeks_of_a_meet(days: int, near: bool):
    meet = PlannedMeet(TODAY + timedelta(days=days), "Cup")
    found = found_for(replace(NEWCOMER, meets=(meet,)))
    assert (found.meet_near == meet.on) is near
    assert (found.values == ()) is near
    assert (found.best == ()) is near


def test_adults_test_singles_and_juniors_never_do():
    adult, junior = found_for(NEWCOMER), found_for(replace(NEWCOMER, born=date(2011, 3, 3)))
    assert {(one.reps, one.in_reserve) for one in adult.values} == {(1, 0)}
    for one in junior.values:
        assert one.reps >= 2
        assert one.in_reserve >= 1
        single = next(other for other in adult.values if other.lift == one.lift)
        assert one.expected_kg < 0.95 * single.expected_kg


def test_the_expected_load_is_what_the_lift_is_worth():
    profile = profile_of(NEWCOMER, NORMS, TODAY, CLUB)
    assert profile.next_tests is not None
    for one in profile.next_tests.values:
        assert one.expected_kg == pytest.approx(profile.lifts[one.lift].estimate_kg, rel=0.01)


def test_lifts_nobody_wrote_down_are_marked():
    first = {one.lift for one in found_for(NEWCOMER).values if one.first_time}
    assert first == {*NORMS.lifts, "clean_and_jerk"} - {"snatch", "clean", "jerk", "clean_and_jerk"}


def test_the_club_knows_better_what_a_test_costs():
    club = replace(CLUB, test_cost=(("front_squat", 3.5),))
    cost = {one.lift: one.cost for one in found_for(NEWCOMER, club).values}
    assert cost["front_squat"] == 3.5
    assert cost["back_squat"] == NORMS.lifts["back_squat"].test_cost.value


# The best three


def some_tests(bits: dict[str, float], cost: float = 1.0, pairs: tuple = ()) -> NextTests:
    values = tuple(NextTest(lift, b, cost, 1, 0, 100.0, False) for lift, b in bits.items())
    return NextTests(2.0, None, values, pairs, ())


def test_the_set_is_the_one_that_tells_the_squad_most():
    one = some_tests({"press": 0.5, "snatch_pull": 0.1, "power_clean": 0.1, "snatch": 0.2})
    two = some_tests({"press": 0.0, "snatch_pull": 0.6, "power_clean": 0.3, "snatch": 0.0})
    assert set(best_set([one, two], NORMS)) == {"press", "snatch_pull", "power_clean"}
    assert best_set([one, two], NORMS)[0] == "snatch_pull"


def test_an_overlapping_pair_is_left_for_one_that_adds():
    overlap = (
        TwoTests("press", "push_press", 0.5),
        TwoTests("press", "power_clean", 0.8),
        TwoTests("push_press", "power_clean", 0.75),
    )
    tests = some_tests({"press": 0.5, "push_press": 0.45, "power_clean": 0.3}, pairs=overlap)
    assert set(best_set([tests], NORMS, size=2)) == {"press", "power_clean"}


def test_a_week_never_costs_more_than_can_be_borne():
    found = found_for(NEWCOMER)
    cost = {one.lift: one.cost for one in found.values}
    assert len(found.best) == SET_SIZE
    assert sum(cost[lift] for lift in found.best) <= NORMS.constant("test_week_cost")
    assert best_set([some_tests({"press": 1.0, "jerk": 1.0, "snatch": 1.0}, cost=3.0)], NORMS) == ()


def test_nothing_much_alike_is_tested_twice_in_a_week():
    tests = some_tests({"jerk": 0.5, "clean_and_jerk": 0.4, "clean": 0.3, "press": 0.1})
    assert set(best_set([tests], NORMS)) == {"jerk", "clean", "press"}


def test_a_squad_of_nobody_tests_nothing():
    assert best_set([], NORMS) == ()
    assert best_set([some_tests({})], NORMS) == ()


# Does the rule pay?


def test_choosing_what_tells_most_settles_more_lifters_with_fewer_tests():
    """Few simulated lifters here; tests/bench/next_test.py prints 300 of them."""
    sheet, rule = compared(NORMS, lifters=14, seed=5)
    assert rule.settled(6) >= sheet.settled(6)
    assert rule.per_settled < 0.7 * sheet.per_settled


def test_a_lift_of_somebodys_own_is_weighed_without_its_parent():
    """The sheet of a club chooses tests without saying what its own lifts are like."""
    own = some_tests({"clean_straps": 0.5, "press": 0.2, "snatch": 0.1})
    assert set(best_set([own], NORMS)) == {"clean_straps", "press", "snatch"}
    alike = best_set([own], NORMS, parents={"clean_straps": "snatch"})
    assert set(alike) == {"clean_straps", "press"}
