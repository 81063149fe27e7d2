"""A verdict needs evidence: what must be known before anything is said to limit, or nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from profilegen.engine.assess import profile_of
from profilegen.engine.inference import fit
from profilegen.engine.profile import Verdict
from profilegen.engine.verdict import EVEN_RISE, even_beforehand
from profilegen.history.records import Athlete, Best, Club, OwnLift, PlannedMeet, SetRecord
from profilegen.norms.catalogue import with_own_lifts
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

NOBODY = lifter()
SNATCH, CLEAN, SQUAT = maximal("snatch", 80), maximal("clean", 100), maximal("front_squat", 113)


def verdict_on(athlete: Athlete, club: Club = CLUB) -> Verdict:
    return profile_of(athlete, NORMS, TODAY, club).verdict


def of(*sets: SetRecord, days_ago: int = 10) -> Athlete:
    return lifter(session(*sets, days_ago=days_ago))


def test_of_a_lifter_without_a_row_nothing_is_known():
    """A body mass is no row: it says nothing of what limits."""
    for athlete in (NOBODY, lifter(session())):
        found = verdict_on(athlete)
        assert (found.known, found.confidence) == ("nothing", "open")


@pytest.mark.parametrize(
    "sets",
    [
        (SNATCH,),
        (SNATCH, CLEAN),
        # three kinds of the same squat, three snatches, a jerk with its like: one lift each
        (maximal("back_squat", 130), maximal("paused_back_squat", 122), SQUAT),
        (SNATCH, maximal("hang_snatch", 76), maximal("block_snatch", 77)),
        (maximal("jerk", 100), maximal("power_jerk", 93), maximal("push_press", 82)),
        # a clean and jerk is told by its halves already
        (CLEAN, maximal("clean_and_jerk", 98)),
        (missed("clean_and_jerk", 100, "clean"), maximal("clean_and_jerk", 98), SQUAT),
        # made sets only say "at least"
        tuple(made(lift, 60) for lift in ("snatch", "clean", "jerk", "front_squat", "back_squat")),
    ],
)
def test_fewer_than_three_different_lifts_are_too_few(sets: tuple[SetRecord, ...]):
    found = verdict_on(of(*sets))
    assert (found.known, found.confidence) == ("little", "open")


@pytest.mark.parametrize(
    "sets",
    [
        (SNATCH, CLEAN, SQUAT),
        (SNATCH, maximal("clean_and_jerk", 98), SQUAT),
        (
            SNATCH,
            missed("clean_and_jerk", 100, "jerk"),
            made("front_squat", 105, 3, in_reserve=1.0),
        ),
    ],
)
def test_three_different_lifts_are_enough_to_compare(sets: tuple[SetRecord, ...]):
    assert verdict_on(of(*sets)).known == "enough"


def test_a_lift_of_the_clubs_own_counts_with_its_parent():
    club = replace(CLUB, own_lifts=(OwnLift("pin_squat", "Pin squat", "front_squat", 0.9),))
    norms = with_own_lifts(NORMS, club.own_lifts)
    athlete = of(SNATCH, SQUAT, maximal("pin_squat", 102))
    assert profile_of(athlete, norms, TODAY, club).verdict.known == "little"


def test_what_was_lifted_years_ago_tells_nothing_of_today():
    sets, late = (SNATCH, CLEAN, SQUAT), int(NORMS.constant("recent_days"))
    assert verdict_on(of(*sets, days_ago=late)).known == "enough"
    assert verdict_on(of(*sets, days_ago=late + 1)).known == "little"


def test_hearsay_of_late_counts_and_of_years_ago_does_not():
    def told(days_ago: int) -> Athlete:
        day = TODAY - timedelta(days=days_ago)
        lifts = {"snatch": 80.0, "clean": 100.0, "front_squat": 113.0}
        return replace(NOBODY, bests=tuple(Best(lift, kg, day, 0.0) for lift, kg in lifts.items()))

    assert verdict_on(told(100)).known == "enough"
    assert verdict_on(told(900)).known == "little"


def test_an_even_profile_is_named_when_it_is_likelier_than_of_anyone():
    """Before any evidence six in ten say "even"; three vague numbers leave it there."""
    before = even_beforehand(fit(NOBODY, NORMS, TODAY))
    assert 0.5 < before < 0.7
    vague = of(
        made("snatch", 60, looked="easy"),
        made("clean", 75, looked="easy"),
        made("front_squat", 85, looked="easy"),
    )
    found = verdict_on(vague)
    assert (found.limiter, found.known) == ("even", "enough")
    assert found.chance < before + EVEN_RISE
    assert found.confidence == "open"


def test_a_full_testing_week_of_usual_lifts_is_an_even_profile():
    found = verdict_on(usual_lifter())
    assert (found.limiter, found.known) == ("even", "enough")
    assert found.confidence in {"likely", "clear"}


def test_a_weakness_that_three_lifts_show_is_named():
    """A snatch 12 % under what clean and squat let one expect: no prior chance says so."""
    found = verdict_on(of(maximal("snatch", 69), CLEAN, SQUAT))
    assert found.known == "enough"
    assert found.limiter != "even"
    assert found.confidence != "open"


def test_nobody_plans_attempts_for_a_lifter_without_a_row():
    meet = PlannedMeet(TODAY + timedelta(days=30), "Cup")
    (day,) = profile_of(replace(NOBODY, meets=(meet,)), NORMS, TODAY, CLUB).meets
    assert not day.avoided
    assert (day.plans, day.chances, day.warm_up) == ((), (), ())
    (day,) = profile_of(replace(of(SNATCH), meets=(meet,)), NORMS, TODAY, CLUB).meets
    assert day.plans
