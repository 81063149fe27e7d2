"""How fast a lifter changes, and slips of the pen: both are told by how well rows agree."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from profilegen.engine.assess import profile_of
from profilegen.engine.evidence import rows_of
from profilegen.engine.first_look import FirstLook, _Statements
from profilegen.engine.prior import prior_for
from profilegen.history.records import Athlete, Best
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
from tests.engine.simulated import simulate


def looked_at(athlete: Athlete) -> FirstLook:
    return FirstLook.at(prior_for(athlete, NORMS, TODAY), rows_of(athlete, NORMS, TODAY), NORMS)


def scaled(by: float, days_ago: int) -> Athlete:
    """The usual lifter as tested so long ago, by so much stronger."""
    return usual_lifter(clean_kg=100.0 * by, days_ago=days_ago)


def test_evidence_and_left_out_predictions_are_those_of_the_reference_library() -> None:
    """Against SciPy's multivariate normal: the joint density, and it over the others' alone."""
    prior = prior_for(usual_lifter(), NORMS, TODAY)
    rows = rows_of(usual_lifter(), NORMS, TODAY)
    says = _Statements.of(prior, rows)
    cov = np.linalg.inv(says.inverted)
    mean = prior.mean(says.features)
    whole = multivariate_normal(mean, cov).logpdf(says.x)
    assert says.log_evidence == pytest.approx(whole, abs=1e-8)
    others = np.arange(len(rows)) != 3
    rest = multivariate_normal(mean[others], cov[np.ix_(others, others)]).logpdf(says.x[others])
    assert says.log_density[3] == pytest.approx(whole - rest, abs=1e-8)


def test_a_lifter_who_stays_within_a_few_percent_is_steady() -> None:
    athlete = usual_lifter(*scaled(0.97, 200).sessions, *scaled(0.96, 380).sessions)
    assert looked_at(athlete).pace == "steady"


def test_a_beginner_who_doubles_within_a_year_is_unsettled_and_is_worth_what_was_just_lifted() -> (
    None
):
    athlete = usual_lifter(*scaled(0.75, 130).sessions, *scaled(0.6, 250).sessions)
    assert looked_at(athlete).pace == "unsettled"
    snatch = profile_of(athlete, NORMS, TODAY, CLUB).lifts["snatch"]
    best = 100.0 * NORMS.lifts["snatch"].share.value
    assert snatch.estimate_kg == pytest.approx(best, rel=0.03)
    assert snatch.low_kg < best < snatch.high_kg


def test_back_from_an_injury_todays_tests_count_not_last_years() -> None:
    athlete = usual_lifter(*scaled(1.4, 260).sessions)
    clean = profile_of(athlete, NORMS, TODAY, CLUB).lifts["clean"]
    assert looked_at(athlete).pace == "unsettled"
    assert clean.estimate_kg == pytest.approx(100.0, rel=0.03)


@pytest.mark.parametrize("kg", [12.0, 1200.0, 55.0])
def test_a_slipped_digit_is_left_out_and_nothing_else(kg: float) -> None:
    """The usual front squat is 121: 12 and 1200 are digits lost or doubled, 55 is pounds for
    kilos."""
    day = usual_lifter().sessions[0]
    sets = tuple(replace(s, load_kg=kg) if s.lift == "front_squat" else s for s in day.sets)
    athlete = replace(usual_lifter(), sessions=(replace(day, sets=sets),))
    (slip,) = looked_at(athlete).slips
    assert (slip.row.lift, slip.row.load_kg) == ("front_squat", kg)
    usual = 100.0 * NORMS.lifts["front_squat"].share.value
    assert np.exp(slip.expected) == pytest.approx(usual, rel=0.05)
    before, after = (profile_of(a, NORMS, TODAY, CLUB).lifts for a in (usual_lifter(), athlete))
    assert after["snatch"].estimate_kg == pytest.approx(before["snatch"].estimate_kg, rel=0.02)


def test_a_set_made_at_twice_what_all_else_says_is_left_out() -> None:
    athlete = usual_lifter(session(made("clean_and_jerk", 240.0), at="training"))
    (slip,) = looked_at(athlete).slips
    assert slip.row.load_kg == 240.0
    assert "clean_and_jerk" not in {
        lift
        for lift, one in profile_of(athlete, NORMS, TODAY, CLUB).lifts.items()
        if one.best_made_kg == 240.0
    }


def test_of_two_rows_that_disagree_neither_is_left_out() -> None:
    athlete = lifter(session(maximal("snatch", 20.0), maximal("clean_and_jerk", 135.0)))
    assert looked_at(athlete).slips == ()


def test_an_odd_lifter_is_not_a_slip() -> None:
    """A fifth under what the rest lets one expect is a weakness, not a slip of the pen."""
    day = usual_lifter().sessions[0]
    jerk = 0.8 * NORMS.lifts["jerk"].share.value * 100.0
    sets = tuple(replace(s, load_kg=jerk) if s.lift == "jerk" else s for s in day.sets)
    assert looked_at(replace(usual_lifter(), sessions=(replace(day, sets=sets),))).slips == ()


def test_a_boast_that_tests_contradict_is_left_out_and_says_nothing_of_the_pace() -> None:
    boast = Best("snatch", 115.0, ago(100), 100.0)
    look = looked_at(replace(usual_lifter(), bests=(boast,)))
    assert [slip.row.kind for slip in look.slips] == ["told"]
    assert look.pace == "steady"


def test_hearsay_that_agrees_stays() -> None:
    """Nothing else is known: two numbers somebody told are what there is."""
    bests = (Best("snatch", 85.0, ago(100), 30.0), Best("clean", 104.0, ago(100), 30.0))
    assert looked_at(lifter(bests=bests)).slips == ()


def test_rows_that_contradict_each_other_all_over_are_all_kept() -> None:
    loads = (40.0, 160.0, 45.0, 150.0, 42.0, 170.0, 300.0, 20.0)
    days = [session(maximal("snatch", kg), days_ago=3 + 2 * i) for i, kg in enumerate(loads)]
    assert looked_at(lifter(*days)).slips == ()


def test_of_steady_lifters_hardly_any_is_taken_for_another_nor_a_row_for_a_slip() -> None:
    """Drawn from the model itself, where every lifter is steady and no row a slip: of 1,500 six
    were taken for changing, and five boasts were none."""
    looks = []
    for number in range(150):
        rng = np.random.default_rng((77, number))
        one = simulate(NORMS, rng, weeks=int(rng.integers(1, 5)))
        looks.append(FirstLook.at(one.prior, one.rows, NORMS))
    assert sum(look.pace != "steady" for look in looks) <= 4
    assert sum(len(look.slips) for look in looks) <= 4
