"""Every kind of row says what the method page's table says it says.

Shares of a maximum by repetitions are those of the association's load chart (2: 95 %,
3: 93 %, 4: 90 %, 5: 87 %); the other numbers are the norms', each checked in tests/norms.
"""

from __future__ import annotations

from datetime import date, timedelta
from math import exp, hypot, log, sqrt

import pytest

from profilegen.engine.evidence import PARTS, Row, Term, rows_of
from profilegen.history.records import Best, PlannedMeet, Session, SetRecord
from tests.engine.handmade import (
    NORMS,
    TODAY,
    ago,
    lifter,
    made,
    maximal,
    missed,
    row,
    rows,
    session,
)

EDGE = NORMS.constant("made_edge_sd")
FLUKE = {lift: NORMS.lifts[lift].fluke_rate.value for lift in NORMS.lifts}


def only_term(read: Row) -> Term:
    (term,) = read.terms
    return term


def approx(value: float) -> object:
    return pytest.approx(value, abs=1e-12)


def test_a_made_single_says_at_least_this_much() -> None:
    read = row(made("snatch", 84.0))
    assert read.kind == "made"
    assert only_term(read) == Term("floor", ("snatch",), log(84.0), EDGE)
    assert read.log_sd is None


def test_a_made_clean_and_jerk_bounds_both_its_parts() -> None:
    read = row(made("clean_and_jerk", 104.0))
    assert read.terms == tuple(Term("floor", (part,), log(104.0), EDGE) for part in PARTS)


def test_a_maximal_single_says_about_this_much_within_a_jump() -> None:
    """`effort: max` has an sd of 1.5 % in the gym (norms: Soriano 2021)."""
    read = row(maximal("power_snatch", 70.0))
    assert read.kind == "max"
    assert only_term(read) == Term("about", ("power_snatch",), log(70.0), 0.015)


def test_a_maximal_single_at_a_meet_is_vaguer() -> None:
    """At a meet lifts of one day differ by 2.5 % beyond the day's form (public results)."""
    assert only_term(row(maximal("snatch", 90.0), at="meet")).sd == approx(0.025)


def test_a_maximal_clean_and_jerk_speaks_of_the_lesser_part() -> None:
    term = only_term(row(maximal("clean_and_jerk", 104.0)))
    assert term == Term("minimum", PARTS, log(104.0), 0.015)


def test_repetitions_in_reserve_count_as_done() -> None:
    """Three with one left is a set of four: 120 kg / 0.90, sd 2 % + 3 x 0.8 %."""
    read = row(made("front_squat", 120.0, 3, in_reserve=1.0))
    assert read.kind == "reps"
    assert read.share == approx(0.90)
    term = only_term(read)
    assert (term.kind, term.x, term.sd) == ("about", approx(log(120.0 / 0.90)), approx(0.044))


def test_half_a_repetition_in_reserve_lies_between_two_rows_of_the_chart() -> None:
    read = row(made("back_squat", 150.0, 3, in_reserve=0.5))
    assert read.share == approx((0.93 + 0.90) / 2.0)
    assert read.log_sd == approx(0.02 + 0.008 * 2.5)


def test_a_set_to_the_limit_has_nothing_in_reserve() -> None:
    read = row(maximal("back_squat", 150.0, 5))
    assert (read.kind, read.share, read.log_sd) == ("reps", approx(0.87), approx(0.052))


def test_more_repetitions_say_less() -> None:
    sds = [row(made("back_squat", 100.0, n, in_reserve=0.0)).log_sd or 0.0 for n in (2, 5, 10)]
    assert sds == sorted(sds)
    assert len(set(sds)) == 3


def test_repetitions_without_a_reserve_only_bound() -> None:
    """Five at 140: at least 140 / 0.87, softly."""
    read = row(made("back_squat", 140.0, 5))
    assert read.kind == "bound"
    term = only_term(read)
    assert (term.kind, term.x, term.sd) == ("floor", approx(log(140.0 / 0.87)), approx(0.052))


def test_long_sets_of_a_quick_lift_only_bound_and_as_a_triple_at_most() -> None:
    """Beyond three repetitions technique ends the set, so five snatches are worth three."""
    read = row(made("snatch", 70.0, 5, in_reserve=1.0))
    assert read.kind == "bound"
    term = only_term(read)
    assert (term.kind, term.x) == ("floor", approx(log(70.0 / 0.93)))
    assert term.sd == approx(0.02 + 0.008 * 5)


def test_a_quick_triple_with_its_reserve_known_still_says_about_how_much() -> None:
    assert row(made("power_clean", 90.0, 2, in_reserve=1.0)).kind == "reps"


@pytest.mark.parametrize(
    ("looked", "share", "sd"), [("easy", 0.85, 0.06), ("steady", 0.92, 0.04), ("grind", 0.99, 0.02)]
)
def test_how_it_looked_is_read_as_a_share_of_the_maximum(
    looked: str, share: float, sd: float
) -> None:
    """Easy 0.85 +- 0.06, steady 0.92 +- 0.04, grind 0.99 +- 0.02 (common practice, no source)."""
    read = row(made("snatch_deadlift", 128.0, looked=looked))
    assert read.kind == "looked"
    assert read.share == approx(share)
    term = only_term(read)
    assert (term.kind, term.x, term.sd) == ("about", approx(log(128.0 / share)), approx(sd / share))


def test_how_a_set_of_repetitions_looked_counts_the_repetitions_too() -> None:
    """An easy triple is at 0.85 of a triple to the limit (93 %)."""
    assert row(made("back_squat", 100.0, 3, looked="easy")).share == approx(0.85 * 0.93)


def test_the_coachs_own_guess_of_the_share_is_taken_within_five_points() -> None:
    read = row(made("clean", 70.0, share=0.7))
    assert read.kind == "share"
    assert only_term(read).x == approx(log(100.0))
    assert read.log_sd == approx(0.05 / 0.7)


def test_maximal_by_word_beats_how_it_looked() -> None:
    read = row(SetRecord("clean", 100.0, effort_max=True, looked="easy"))
    assert (read.kind, read.share) == ("max", 1.0)


@pytest.mark.parametrize("lift", ["snatch", "back_squat", "power_clean"])
def test_a_miss_says_not_this_much_unless_it_was_a_fluke(lift: str) -> None:
    term = only_term(row(missed(lift, 87.0)))
    assert term == Term("missed", (lift,), log(87.0), EDGE, FLUKE[lift])


def test_flukes_are_commoner_in_the_snatch_than_in_the_squat() -> None:
    assert FLUKE["snatch"] > 3 * FLUKE["back_squat"]


def test_a_miss_at_the_jerk_means_the_clean_went_up() -> None:
    read = row(missed("clean_and_jerk", 104.0, "jerk"))
    assert read.terms == (
        Term("floor", ("clean",), log(104.0), EDGE),
        Term("missed", ("jerk",), log(104.0), EDGE, FLUKE["jerk"]),
    )


def test_a_miss_at_the_clean_says_nothing_of_the_jerk() -> None:
    term = only_term(row(missed("clean_and_jerk", 104.0, "clean")))
    assert term == Term("missed", ("clean",), log(104.0), EDGE, FLUKE["clean"])


def test_a_miss_of_unknown_part_speaks_of_both() -> None:
    term = only_term(row(missed("clean_and_jerk", 104.0)))
    assert (term.kind, term.lifts, term.x) == ("either", PARTS, log(104.0))


def test_a_missed_set_of_repetitions_is_a_miss_of_the_single_it_is_worth() -> None:
    term = only_term(row(SetRecord("back_squat", 140.0, 3, missed="lift")))
    assert term.x == approx(log(140.0 / 0.93))


@pytest.mark.parametrize(("source", "sd"), [("told", 0.04), ("seen", 0.03), ("recorded", 0.02)])
def test_a_best_is_worth_what_its_source_is(source: str, sd: float) -> None:
    """Told 4 %, seen 3 %, recorded 2 % (common practice, no source)."""
    best = Best("snatch_deadlift", 140.0, around=ago(100), vague_days=0.0, source=source)  # type: ignore[arg-type]
    (read,) = rows_of(lifter(bests=(best,)), NORMS, TODAY)
    assert (read.kind, read.at) == (source, "best")
    assert only_term(read) == Term("about", ("snatch_deadlift",), log(140.0), sd)


def test_a_vague_date_makes_a_best_vaguer() -> None:
    """Half a year either way of 3.5 % drift a year: 0.04 (+) 0.035 sqrt(183 / 365)."""
    best = Best("snatch", 90.0, around=ago(400), vague_days=183.0)
    (read,) = rows_of(lifter(bests=(best,)), NORMS, TODAY)
    assert read.log_sd == approx(hypot(0.04, 0.035 * sqrt(183.0 / 365.0)))


def test_two_bests_of_one_day_do_not_share_that_days_form() -> None:
    """Nobody knows which day a best was made on, so no form of the day ties two of them."""
    told = tuple(Best(lift, 90.0, ago(100), 15.0) for lift in ("snatch", "clean"))
    first, second = rows_of(lifter(bests=told), NORMS, TODAY)
    assert first.form != second.form


def test_a_best_of_the_clean_and_jerk_speaks_of_the_lesser_part() -> None:
    best = Best("clean_and_jerk", 110.0, ago(100), 0.0, "recorded")
    (read,) = rows_of(lifter(bests=(best,)), NORMS, TODAY)
    assert only_term(read) == Term("minimum", PARTS, log(110.0), 0.02)


@pytest.mark.parametrize("days", [1, 2, 3])
def test_a_single_just_before_a_meet_is_no_maximum(days: int) -> None:
    """Smooth singles in the last three days are at most about 90 % of capacity."""
    meet = PlannedMeet(ago(10) + timedelta(days=days), "Winter Open")
    read = row(made("snatch", 81.0), meets=(meet,))
    assert (read.kind, read.share) == ("before_meet", approx(0.90))
    term = only_term(read)
    assert (term.kind, term.x) == ("floor", approx(log(90.0)))
    assert term.sd == approx(0.04 / 0.90)


def test_a_meet_that_was_lifted_counts_as_well_as_one_that_was_planned() -> None:
    athlete = lifter(
        session(made("snatch", 81.0), days_ago=12, at="training"),
        session(made("snatch", 90.0), days_ago=10, at="meet"),
    )
    kinds = [read.kind for read in rows_of(athlete, NORMS, TODAY)]
    assert kinds == ["before_meet", "made"]


def test_four_days_before_a_meet_a_single_is_a_single() -> None:
    meet = PlannedMeet(ago(10) + timedelta(days=4), "Winter Open")
    assert row(made("snatch", 81.0), meets=(meet,)).kind == "made"


def test_maximal_by_word_is_maximal_even_before_a_meet() -> None:
    meet = PlannedMeet(ago(8), "Winter Open")
    assert row(maximal("snatch", 81.0), meets=(meet,)).kind == "max"


def test_a_squat_with_a_bar_speed_is_read_off_the_published_line() -> None:
    """0.372 m/s is 0.24 (Banyard 2017) + 1.32 x 0.10 (Conceicao 2016): 90 % of the maximum."""
    read = row(made("back_squat", 135.0, speed_m_s=0.372))
    assert read.kind == "speed"
    assert exp(only_term(read).x) == pytest.approx(150.0, rel=1e-9)


def test_a_snatch_with_a_bar_speed_stays_a_made_snatch() -> None:
    """No usable line is published for the quick lifts."""
    assert row(made("snatch", 80.0, speed_m_s=1.8)).kind == "made"


def test_the_lifters_own_line_stands_on_the_heaviest_set_and_the_others_stay_made() -> None:
    light, heavy = (
        made("back_squat", 100.0, speed_m_s=0.68),
        made("back_squat", 135.0, speed_m_s=0.372),
    )
    assert [(r.load_kg, r.kind) for r in rows(heavy, light)] == [(100.0, "made"), (135.0, "speed")]


def test_rows_come_in_the_order_of_days_whatever_the_order_of_entry() -> None:
    sets = (made("snatch", 80.0), maximal("clean", 100.0), missed("snatch", 85.0))
    assert [r.load_kg for r in rows(*sets)] == [100.0, 80.0, 85.0]
    assert [replace_line(r) for r in rows(*sets)] == [replace_line(r) for r in rows(*sets[::-1])]


def replace_line(read: Row) -> tuple[object, ...]:
    return read.on, read.at, read.lift, read.load_kg, read.kind, read.terms, read.form


def test_a_profile_of_an_earlier_day_knows_only_what_was_known_then() -> None:
    later = Session(on=date(2026, 11, 20), sets=(made("snatch", 99.0),))
    best = Best("clean", 130.0, around=ago(3), vague_days=0.0)
    athlete = lifter(session(made("snatch", 80.0), days_ago=30), later, bests=(best,))
    assert [r.load_kg for r in rows_of(athlete, NORMS, ago(5))] == [80.0]
