"""The demo squad looks ahead: every plan keeps to the rules, to age and to what is avoided."""

from __future__ import annotations

from functools import cache

import pytest

from profilegen.engine.assess import profile_of
from profilegen.engine.attempts import HISTORIES
from profilegen.engine.avoided import avoided_lifts
from profilegen.engine.profile import Profile
from profilegen.history.load import load_squad
from profilegen.history.records import Athlete, Squad
from profilegen.norms.catalogue import Norms, load_norms, with_own_lifts
from tests.squads import DEMO, TODAY


@cache
def demo() -> tuple[Squad, Norms]:
    squad = load_squad(DEMO, load_norms().lifts, today=TODAY)
    return squad, with_own_lifts(load_norms(), squad.club.own_lifts)


LIFTERS = sorted(path.stem for path in DEMO.glob("*.yaml") if path.stem != "club")


@cache
def looked_at(lifter: str) -> tuple[Athlete, Profile]:
    squad, norms = demo()
    (athlete,) = (one for one in squad.athletes if one.id == lifter)
    assert squad.latest_session_on is not None
    return athlete, profile_of(athlete, norms, squad.latest_session_on, squad.club)


@pytest.mark.parametrize("lifter", LIFTERS)
def test_every_meet_ahead_is_planned_by_the_rules(lifter: str):
    athlete, profile = looked_at(lifter)
    ahead = [meet for meet in athlete.meets if meet.on > profile.on]
    assert [meet.on for meet in profile.meets] == [meet.on for meet in ahead]
    for meet in profile.meets:
        assert meet.plans
        for plan in meet.plans:
            assert 0.5 * profile.lifts["total"].estimate_kg < plan.expected_total_kg
            for tree in (plan.snatch, *plan.clean_and_jerk):
                loads = dict(zip(HISTORIES, tree.loads_kg, strict=True))
                for history, kg in loads.items():
                    before = loads[history[:-1]] if history else None
                    if kg is not None and before is not None:
                        assert kg >= before + (history[-1] == "+")


@pytest.mark.parametrize("lifter", LIFTERS)
def test_nothing_to_avoid_and_nothing_maximal_for_juniors_is_proposed(lifter: str):
    athlete, profile = looked_at(lifter)
    tests = profile.next_tests
    assert tests is not None
    proposed = {one.lift for one in tests.values}
    assert not proposed & avoided_lifts(athlete, demo()[0].club, load_norms().alike)
    assert set(tests.best) <= proposed
    if profile.athlete.junior:
        assert all(one.in_reserve >= 1 for one in tests.values)
        for meet in profile.meets:
            assert [plan.aim for plan in meet.plans] == ["safe"]
            for tree in (meet.plans[0].snatch, *meet.plans[0].clean_and_jerk):
                heaviest = max(kg for kg in tree.loads_kg if kg is not None)
                assert heaviest < 0.97 * profile.lifts[tree.lift].estimate_kg


def test_the_open_lifters_have_most_to_learn_from_a_test():
    most = {
        lifter: tests.values[0].bits
        for lifter in LIFTERS
        if (tests := looked_at(lifter)[1].next_tests) is not None and tests.values
    }
    assert {"dario", "soren"} <= set(sorted(most, key=lambda lifter: -most[lifter])[:5])
