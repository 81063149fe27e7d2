"""The next meet: attempts by the rules, as good as trying everything, chances that hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from math import exp, log

import numpy as np
import pytest
from scipy.special import ndtr

from profilegen.engine.assess import profile_of
from profilegen.engine.attempt_search import choose, choose_among_all
from profilegen.engine.attempts import (
    HISTORIES,
    Choice,
    Day,
    LiftDay,
    outcome_of,
)
from profilegen.engine.evidence import Row, Term
from profilegen.engine.inference import fit, fit_rows
from profilegen.engine.meet import capacities, meet_day, meets_ahead
from profilegen.engine.prior import prior_for
from profilegen.engine.profile import LiftAttempts, MeetDay, MeetPlan
from profilegen.engine.terms import features_at
from profilegen.history.records import Athlete, Avoid, PlannedMeet
from tests.engine.every_plan import every_tree, worth_of_best
from tests.engine.handmade import (
    CLUB,
    NORMS,
    TODAY,
    ago,
    lifter,
    made,
    maximal,
    session,
    usual_lifter,
)
from tests.engine.simulated import athlete_of, draw_from_prior

RNG = np.random.default_rng(20261121)
MEET = PlannedMeet(TODAY + timedelta(days=21), "Winter Open")
LIFTS = ("snatch", "clean", "jerk")


def expected(total: np.ndarray) -> np.ndarray:
    return total


def safe(total: np.ndarray) -> np.ndarray:
    return 1.0 + total / 4000.0


def small_day(rng: np.random.Generator, n_loads: int) -> Day:
    """A few loads, four capacities, a belief that ties the two lifts in odd ways."""

    def lift(top: int) -> LiftDay:
        loads = np.sort(rng.choice(np.arange(top - 8, top + 6), n_loads, replace=False))
        capacity = log(top) + np.linspace(-0.07, 0.05, 4)
        make = (1.0 - rng.uniform(0.05, 0.2)) * ndtr((capacity - np.log(loads)[:, None]) / 0.02)
        return LiftDay.of(loads.astype(np.int64), make)

    return Day(lift(80), lift(100), rng.dirichlet(np.full(16, 0.7)).reshape(4, 4))


def worth(day: Day, choice: Choice, reward) -> float:
    totals = outcome_of(day, choice).totals
    return sum(p * float(reward(np.array([float(t)]))[0]) for t, p in totals.items() if t)


@pytest.mark.parametrize("aim", ["expected", "target", "safe"])
@pytest.mark.parametrize(("n_loads", "days"), [(2, 12), (3, 12), (4, 2)])
def test_the_attempts_are_as_good_as_the_best_of_all_that_the_rules_allow(
    aim: str, n_loads: int, days: int
):
    for _ in range(days):
        day = small_day(RNG, n_loads)
        target = int(RNG.choice(day.snatch.loads) + RNG.choice(day.clean_and_jerk.loads))

        def reach(total: np.ndarray, target: int = target) -> np.ndarray:
            return (total >= target) + 1e-4 * total

        reward = {"expected": expected, "target": reach, "safe": safe}[aim]
        best = worth_of_best(day, reward)
        assert worth(day, choose(day, [reward])[0], reward) == pytest.approx(best, rel=1e-9)


def test_one_sure_load_and_one_risky_one_are_chosen_as_on_paper():
    # 80 is always made, 90 half the time whatever came before; a clean and jerk of 100 is sure.
    # On paper: open with 80, then 90 twice: 80 + 10 (1 - 1/4) + 100.
    sure = np.ones((1, 1))
    snatch = LiftDay.of(np.array([80, 90]), np.array([[1.0], [0.5]]))
    jerk = LiftDay.of(np.array([100]), sure)
    day = Day(snatch, jerk, sure)
    choice = choose(day, [expected])[0]
    assert choice.snatch.after("") == 80
    assert choice.snatch.after("+") == 90
    assert choice.snatch.after("+-") == 90
    assert worth(day, choice, expected) == pytest.approx(187.5)


def test_a_good_opener_changes_what_comes_next():
    # Either a good day (95 surely) or a bad one (85 at most), both as likely; 85 is sure, 90 and
    # 95 tell which day it is. On paper: 85, then 90 or 95, then 95 only if that was good.
    make = np.array([[1.0, 1.0], [0.0, 1.0], [0.0, 1.0]])
    jerk = LiftDay.of(np.array([100]), np.ones((1, 1)))
    day = Day(LiftDay.of(np.array([85, 90, 95]), make), jerk, np.array([[0.5], [0.5]]))
    choice = choose(day, [expected])[0]
    assert choice.snatch.after("") == 85
    assert choice.snatch.after("+") == 95 or choice.snatch.after("++") == 95
    assert worth(day, choice, expected) == pytest.approx(0.5 * 195 + 0.5 * 185)
    made = dict(zip(HISTORIES, outcome_of(day, choice).snatch_made, strict=True))
    assert made["+"] == pytest.approx(0.5)
    assert made["+-"] == pytest.approx(0.0)
    if choice.snatch.after("++") is not None:
        assert made["++"] == pytest.approx(1.0)


def test_many_loads_are_narrowed_without_losing_anything():
    """Every kilo tried at once gives the same worth as narrowing first."""
    day = wide_day()
    assert len(day.snatch.loads) > 15
    assert worth(day, choose(day, [expected])[0], expected) == pytest.approx(
        worth(day, choose_among_all(day, [expected])[0], expected), rel=1e-6
    )


def strong() -> Athlete:
    return usual_lifter(clean_kg=120.0)


def wide_day() -> Day:
    """Two lifts with a usual spread, tied by the form of the day."""
    rng = np.random.default_rng(5)
    form = 0.03 * rng.standard_normal(4000)
    grid = np.linspace(-0.12, 0.12, 32)
    edges = np.append(grid - (grid[1] - grid[0]) / 2, np.inf)
    edges[0] = -np.inf
    own = 0.02 * rng.standard_normal((2, 4000))
    belief, _, _ = np.histogram2d(form + own[0], form + own[1], bins=[edges, edges])

    def lift(kg: float) -> LiftDay:
        loads = np.arange(int(0.9 * kg), int(1.08 * kg))
        return LiftDay.of(loads, 0.88 * ndtr((log(kg) + grid - np.log(loads)[:, None]) / 0.014))

    return Day(lift(95.0), lift(118.0), belief / belief.sum())


# The rules, on plans made from posteriors


@cache
def planned(target: float | None = 205.0) -> MeetDay:
    athlete = replace(strong(), meets=(replace(MEET, target_total_kg=target),))
    (day,) = meets_ahead(fit(athlete, NORMS, TODAY), athlete)
    return day


def trees(plan: MeetPlan) -> list[LiftAttempts]:
    return [plan.snatch, *plan.clean_and_jerk]


def test_the_bar_never_comes_down_and_rises_after_a_good_lift():
    for plan in planned().plans:
        for tree in trees(plan):
            load = dict(zip(HISTORIES, tree.loads_kg, strict=True))
            for history, kg in load.items():
                if history and kg is not None:
                    before = load[history[:-1]]
                    assert before is not None, "no attempt after one that was not taken"
                    assert kg >= before + (history[-1] == "+")


def test_every_snatch_result_has_its_clean_and_jerk():
    for plan in planned().plans:
        results = {tree.after_snatch_kg for tree in plan.clean_and_jerk}
        # every load but those that can only be followed by a better one or were not taken
        assert results <= {kg for kg in plan.snatch.loads_kg if kg is not None}
        assert plan.snatch.loads_kg[0] in results
        reached = sum(tree.chance_of_case for tree in plan.clean_and_jerk)
        assert plan.chance_of_total < reached < 1.0


def test_each_plan_is_the_best_for_its_own_aim():
    by_aim = {plan.aim: plan for plan in planned().plans}
    assert set(by_aim) == {"expected", "target", "safe"}
    reach = {aim: plan.chance_of_target for aim, plan in by_aim.items()}
    assert reach["target"] == max(reach.values())
    some = {aim: plan.chance_of_total for aim, plan in by_aim.items()}
    assert some["safe"] == max(some.values())
    mean = {aim: p.expected_total_kg * p.chance_of_total for aim, p in by_aim.items()}
    assert mean["expected"] == max(mean.values())


def test_without_a_target_there_are_two_plans():
    assert [plan.aim for plan in planned(None).plans] == ["expected", "safe"]


def test_heavier_loads_have_smaller_chances():
    for lift in ("snatch", "clean_and_jerk"):
        chances = [one.chance for one in planned().chances if one.lift == lift]
        assert chances == sorted(chances, reverse=True)
        assert 0.0 <= chances[-1] < 0.1
        assert chances[0] > 0.7


def test_past_meets_are_not_planned():
    athlete = replace(strong(), meets=(PlannedMeet(ago(3), "Gone"), PlannedMeet(TODAY, "Today")))
    assert [day.called for day in meets_ahead(fit(athlete, NORMS, TODAY), athlete)] == ["Today"]


def test_an_opener_was_made_lately_or_is_lighter_and_is_likelier_good_than_not():
    for plan in planned().plans:
        opener, chance = plan.snatch.loads_kg[0], plan.snatch.chances[0]
        assert opener is not None
        assert opener <= 120.0 * NORMS.lifts["snatch"].share.value
        assert chance is not None
        assert chance >= 0.6


def test_after_a_layoff_the_opener_is_what_was_made_since():
    """100 a year ago and 80 last week: nobody opens with 85."""
    before = session(maximal("snatch", 100.0), maximal("clean_and_jerk", 120.0), days_ago=330)
    since = session(maximal("snatch", 80.0), maximal("clean_and_jerk", 96.0))
    athlete = replace(lifter(before, since), meets=(MEET,))
    (day,) = meets_ahead(fit(athlete, NORMS, TODAY), athlete)
    for plan in day.plans:
        assert (plan.snatch.loads_kg[0] or 0) <= 80
        assert all((tree.loads_kg[0] or 0) <= 96 for tree in plan.clean_and_jerk)


def test_a_beginner_opens_with_what_was_made_however_light_that_was():
    """Nobody knows what 35 and 45 in training leave in reserve; the opener does not try it out."""
    training = session(made("snatch", 35.0), made("clean_and_jerk", 45.0), at="training")
    athlete = replace(lifter(training), meets=(MEET,))
    (day,) = meets_ahead(fit(athlete, NORMS, TODAY), athlete)
    assert day.plans
    for plan in day.plans:
        assert (plan.snatch.loads_kg[0] or 0) <= 35
        assert all((tree.loads_kg[0] or 0) <= 45 for tree in plan.clean_and_jerk)


def test_the_bar_rises_in_steps_a_coach_would_take():
    """At most 8 %; at one event with all attempts on record 3-4 % on average."""
    for plan in planned().plans:
        for tree in (plan.snatch, *plan.clean_and_jerk):
            load = dict(zip(HISTORIES, tree.loads_kg, strict=True))
            steps = [(load[h[:-1]], kg) for h, kg in load.items() if h and kg is not None]
            assert steps
            assert all(before and kg <= before * 1.08 + 0.5 for before, kg in steps)


def test_a_target_out_of_reach_has_no_plan():
    assert {plan.aim for plan in planned(320.0).plans} == {"expected", "safe"}


def test_a_light_load_is_sooner_good_than_flukes_at_the_limit_would_say():
    """One in six snatches at the limit is missed for other reasons; 30 % under it hardly any."""
    chances = {one.kg: one.chance for one in planned().chances if one.lift == "snatch"}
    lightest = min(chances)
    assert chances[lightest] > 1.0 - 0.6 * NORMS.lifts["snatch"].fluke_rate.value


@pytest.mark.parametrize("lift", ["snatch", "clean", "jerk", "clean_and_jerk"])
def test_a_lift_to_avoid_is_never_planned(lift: str):
    athlete = replace(strong(), avoid=(Avoid(lift),), meets=(MEET,))
    (day,) = meets_ahead(fit(athlete, NORMS, TODAY), athlete)
    assert day.avoided
    assert day.plans == day.chances == day.warm_up == ()


def test_an_avoided_squat_does_not_stop_a_meet():
    athlete = replace(strong(), avoid=(Avoid("back_squat"),), meets=(MEET,))
    (day,) = meets_ahead(fit(athlete, NORMS, TODAY), athlete)
    assert day.plans


def test_juniors_get_one_careful_plan():
    athlete = replace(
        strong(), born=date(2010, 1, 1), meets=(replace(MEET, target_total_kg=300.0),)
    )
    profile = profile_of(athlete, NORMS, TODAY, CLUB)
    (day,) = profile.meets
    (plan,) = day.plans
    assert (day.junior, plan.aim, day.target_total_kg) == (True, "safe", None)
    assert day.chances == ()
    for tree in trees(plan):
        expect = profile.lifts[tree.lift].estimate_kg
        for history, kg in zip(HISTORIES, tree.loads_kg, strict=True):
            if kg is None:
                continue
            assert kg <= 0.97 * expect
            before = tree.loads_kg[HISTORIES.index(history[:-1])] if history else None
            if before is not None and history.endswith("-"):
                assert kg == before
            elif before is not None:
                assert kg - before <= max(1.0, 0.05 * before)


def test_a_lifter_who_turns_eighteen_before_the_meet_is_planned_as_today():
    athlete = replace(strong(), born=TODAY.replace(year=TODAY.year - 18) + timedelta(days=5))
    assert meet_day(fit(athlete, NORMS, TODAY), athlete, MEET).junior


# A bar too heavy for the lifter


def child(snatch_kg: float, clean_and_jerk_kg: float, **known: object) -> Athlete:
    """A boy of eight at 25 kg, known by sets of good reps."""
    return lifter(
        replace(
            session(
                made("snatch", snatch_kg, 3, in_reserve=0),
                made("clean_and_jerk", clean_and_jerk_kg, 2, in_reserve=1),
            ),
            body_mass_kg=25.0,
        ),
        **{"born": date(2018, 3, 18), "meets": (MEET,)} | known,
    )


def meet_of(athlete: Athlete) -> MeetDay:
    (day,) = meets_ahead(fit(athlete, NORMS, TODAY), athlete)
    return day


@pytest.mark.parametrize(("snatch_kg", "clean_and_jerk_kg"), [(8, 10), (12, 15), (6, 7), (18, 21)])
def test_a_child_for_whom_the_platform_bar_is_too_heavy_gets_no_plan(
    snatch_kg: float, clean_and_jerk_kg: float
):
    """Men's bar and collars weigh 25 kg: more than any of these children lifts for reps."""
    day = meet_of(child(snatch_kg, clean_and_jerk_kg))
    assert day.lightest_bar_kg == 25
    assert day.plans == day.chances == day.warm_up == ()
    assert day.too_light == ("snatch", "clean_and_jerk")
    assert not day.avoided


def test_one_lift_too_light_for_the_bar_is_enough_for_no_plan():
    day = meet_of(child(14, 32))
    assert day.too_light == ("snatch",)
    assert day.plans == ()


def test_the_womens_bar_is_lighter():
    assert meet_of(child(22, 27)).too_light == ("snatch",)
    girl = meet_of(child(22, 27, sex="F"))
    assert (girl.lightest_bar_kg, girl.too_light) == (20, ())
    assert girl.plans


@pytest.mark.parametrize("sex", ["F", "M"])
def test_whatever_a_child_lifts_nothing_is_planned_near_a_maximum(sex: str):
    """From far under the bar to well above it: no plan, or loads from the bar to 95 %."""
    seen = set()
    for snatch_kg in range(6, 40, 3):
        athlete = child(snatch_kg, 1.2 * snatch_kg, sex=sex)
        posterior = fit(athlete, NORMS, TODAY)
        expect = capacities(posterior, MEET)
        day = meet_day(posterior, athlete, MEET)
        seen.add(bool(day.plans))
        for plan in day.plans:
            for tree in trees(plan):
                most = 0.95 * exp(expect[tree.lift != "snatch"].middle)
                for kg in (kg for kg in tree.loads_kg if kg is not None):
                    assert day.lightest_bar_kg <= kg <= most
        for warm_up in day.warm_up:
            loads = [round(one.load_kg) for one in warm_up.sets]
            assert loads == sorted(set(loads))
            assert warm_up.bar_kg < loads[0]
            assert loads[-1] < warm_up.opener_kg
    assert seen == {False, True}


def test_a_beginner_who_would_sooner_miss_the_lightest_bar_gets_no_plan():
    """Grown up, but a snatch of 20 kg to the limit: the bar with collars weighs 25."""
    beginner = lifter(session(maximal("snatch", 20), maximal("clean_and_jerk", 35)), meets=(MEET,))
    assert meet_of(beginner).too_light == ("snatch",)
    assert meet_of(beginner).plans == ()
    stronger = replace(
        beginner, sessions=(session(maximal("snatch", 30), maximal("clean_and_jerk", 35)),)
    )
    assert len(meet_of(stronger).plans) == 2


def test_warm_ups_rise_to_the_opener():
    for warm_up in planned().warm_up:
        loads = [one.load_kg for one in warm_up.sets]
        assert loads == sorted(loads)
        assert warm_up.bar_kg < loads[0]
        assert loads[-1] < warm_up.opener_kg
    snatch = planned().plans[0].snatch.loads_kg[0]
    assert planned().warm_up[0].opener_kg == snatch


def test_what_a_lifter_has_shown_on_the_platform_moves_the_plan():
    """Two meets under the training numbers lower what is planned."""
    down = [session(maximal("snatch", 86), maximal("clean_and_jerk", 108), days_ago=d, at="meet")
            for d in (40, 100)]  # fmt: skip
    up = [session(maximal("snatch", 99), maximal("clean_and_jerk", 125), days_ago=d, at="meet")
          for d in (40, 100)]  # fmt: skip
    totals = []
    for meets in (down, up):
        athlete = replace(usual_lifter(*meets, clean_kg=120.0), meets=(MEET,))
        (day,) = meets_ahead(fit(athlete, NORMS, TODAY), athlete)
        totals.append(day.plans[0].expected_total_kg)
    assert totals[0] < totals[1] - 5.0


# Chances hold on lifters whose day is known


def lift_on_the_day(
    rng: np.random.Generator, tree: tuple[int | None, ...], parts: list[float], fluke: float
) -> list[tuple[str, int, bool]]:
    """Follow a tree with true capacities (log kg, all of which must hold); attempts taken."""
    edge = NORMS.constant("made_edge_sd")
    history = ""
    taken = []
    while len(history) < 3:
        load = tree[HISTORIES.index(history)]
        if load is None:
            break
        up = all(rng.random() < ndtr((g - log(load)) / edge) for g in parts)
        over = max(min(parts) - log(load), 0.0)
        good = up and rng.random() > fluke * exp(-over / NORMS.constant("fluke_fades_log"))
        taken.append((history, load, good))
        history += "+" if good else "-"
    return taken


@cache
def meets_lived(lifters: int = 100, seed: int = 11) -> list[dict[str, object]]:
    """Simulated lifters: tested once, planned for, and then followed through their meet."""
    rng = np.random.default_rng(seed)
    found = []
    for _ in range(lifters):
        athlete = replace(athlete_of(rng), meets=(MEET,))
        prior = prior_for(athlete, NORMS, TODAY)
        tested = [
            Row(ago(8), "testing", lift, 1.0, "max", (), form=ago(8).toordinal())
            for lift in (*LIFTS, "front_squat", "power_clean")
        ]
        day = MEET.on.toordinal()
        index = np.array([prior.lift_ids.index(lift) for lift in LIFTS])
        on_meet = prior.lift_features(
            index, np.full(3, float(day)), np.full(3, day), meet=np.ones(3)
        )
        asked = features_at(prior, [(row, row.lift) for row in tested]).joined(on_meet)
        truth = draw_from_prior(prior, NORMS, asked, rng)
        sd = NORMS.constant("max_single_sd")
        rows = []
        for row, capacity in zip(tested, truth, strict=False):
            x = capacity + sd * rng.standard_normal()
            rows.append(
                replace(row, load_kg=exp(x), terms=(Term("about", (row.lift,), float(x), sd),))
            )
        rows.sort(key=lambda row: row.lift)
        posterior = fit_rows(prior, rows, NORMS, TODAY)
        # a goal as a coach would set it: from the tests, never from the truth
        shown = {row.lift: row.load_kg for row in rows}
        goal = (shown["snatch"] + min(shown["clean"], shown["jerk"])) * rng.uniform(0.95, 1.01)
        meet = replace(MEET, target_total_kg=float(round(goal)))
        planned_day = meet_day(posterior, athlete, meet)
        own = (NORMS.constant("meet_single_sd") ** 2 - NORMS.constant("made_edge_sd") ** 2) ** 0.5
        snatch, clean, jerk = truth[-3:].tolist()
        for plan in planned_day.plans:
            u = own * rng.standard_normal(2)
            first = lift_on_the_day(
                rng, plan.snatch.loads_kg, [snatch + u[0]], NORMS.lifts["snatch"].fluke_rate.value
            )
            result = max((kg for _, kg, good in first if good), default=0)
            second = []
            if result:
                (tree,) = (t for t in plan.clean_and_jerk if t.after_snatch_kg == result)
                second = lift_on_the_day(
                    rng,
                    tree.loads_kg,
                    [clean + u[1], jerk + u[1]],
                    NORMS.lifts["jerk"].fluke_rate.value,
                )
            both = max((kg for _, kg, good in second if good), default=0)
            found.append(
                {
                    "plan": plan,
                    "target": meet.target_total_kg,
                    "total": result + both if result and both else 0,
                    "snatch": first,
                    "clean_and_jerk": second,
                }
            )
    return found


def holds(stated: list[float], happened: list[bool]) -> None:
    """Hits lie within three standard deviations of the stated chances."""
    p = np.array(stated)
    spread = np.sqrt((p * (1.0 - p)).sum())
    assert abs(sum(happened) - p.sum()) < 3.0 * spread, (sum(happened), p.sum(), spread)


@pytest.mark.parametrize("aim", ["expected", "target", "safe"])
def test_stated_chances_hold(aim: str):
    lived = [one for one in meets_lived() if one["plan"].aim == aim]
    assert len(lived) == 100
    holds(
        [one["plan"].chance_of_planned for one in lived],
        [one["total"] >= one["plan"].planned_total_kg for one in lived],
    )
    holds(
        [one["plan"].chance_of_target for one in lived],
        [one["total"] >= one["target"] for one in lived],
    )
    holds([one["plan"].chance_of_total for one in lived], [one["total"] > 0 for one in lived])
    holds(
        [one["plan"].snatch.chances[0] for one in lived],
        [one["snatch"][0][2] for one in lived],
    )


def test_the_range_of_totals_holds_nine_times_in_ten():
    lived = [one for one in meets_lived() if one["total"] and one["plan"].aim == "expected"]
    inside = [one["plan"].low_kg <= one["total"] <= one["plan"].high_kg for one in lived]
    # few totals can come out of six attempts, so the range holds a little more than 0.9
    assert 0.87 <= np.mean(inside) <= 0.99


def test_attempts_succeed_about_as_often_as_published():
    """World Cup 2024, own computation from public results (results_summary.csv).

    Openers, then what follows good lifts: snatch 68, 56 and 41 %, clean and jerk 75, 50 and
    34 %. Many gambled there, so usual rates are higher: planned for the expected total, each
    must lie from the published rate to a quarter above it, and fall from attempt to attempt.
    """
    published = {"snatch": (0.683, 0.555, 0.410), "clean_and_jerk": (0.748, 0.502, 0.340)}
    plans = [one["plan"] for one in meets_lived() if one["plan"].aim == "expected"]
    for lift, rates in published.items():
        trees = [p.snatch if lift == "snatch" else p.clean_and_jerk[0] for p in plans]
        found = []
        for history, rate in zip(("", "+", "++"), rates, strict=True):
            chances = [tree.chances[HISTORIES.index(history)] for tree in trees]
            found.append(float(np.mean([chance for chance in chances if chance is not None])))
            assert rate - 0.05 < found[-1] < rate + 0.25, (lift, history, found[-1])
        assert found == sorted(found, reverse=True)


def test_openers_lie_about_where_lifters_open():
    """Published: 97.1 % (snatch) and 97.6 % (clean and jerk) of the day's best good lift.

    Lifters of world level know themselves; here one testing week is all that is known, and
    a plan for the expected total then opens a few percent lower, never higher.
    """
    lived = [one for one in meets_lived() if one["plan"].aim == "expected"]
    for lift in ("snatch", "clean_and_jerk"):
        taken = [one[lift] for one in lived if any(good for _, _, good in one[lift])]
        shares = [one[0][1] / max(kg for _, kg, good in one if good) for one in taken]
        assert 0.90 < np.mean(shares) < 0.98


def test_a_load_at_97_percent_of_the_days_best_is_made_about_seven_times_in_ten():
    """Published: openers at 0.971 of the day's best snatch good 68 % of the time.

    The day's best is read as what the lifter makes half the time flukes aside.
    """
    edge = NORMS.constant("made_edge_sd")
    chance = (1.0 - NORMS.lifts["snatch"].fluke_rate.value) * float(ndtr(-log(0.971) / edge))
    assert 0.68 < chance < 0.86


def test_every_tree_is_counted_once():
    """Two loads on paper: 20 trees of the light opener, 2 of the heavy one... counted by hand.

    From the heavy load (h): after good nothing, after a miss h or none: 1 x 2 seconds; then a
    third after the missed second only: h or none. From the light one: good -> h or none,
    miss -> l, h or none.
    """
    lift = LiftDay.of(np.array([80, 90]), np.full((2, 1), 0.5))
    heavy = 1 * (1 * 2 + 1)
    # good then h (miss: h, none) = 2, none = 1; missed then l (good: 2, miss: 3) = 6,
    # h (miss: 2) = 2, none = 1
    light = (2 + 1) * (6 + 2 + 1)
    assert len(list(every_tree(lift))) == heavy + light
