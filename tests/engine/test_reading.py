"""What every row was taken to mean, and how much it surprised the model."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np
import pytest
from scipy.stats import norm

from profilegen.engine.inference import fit, fit_rows
from profilegen.engine.reading import read_rows, surprises
from profilegen.engine.terms import features_at
from profilegen.history.records import Best, SetRecord
from tests.engine.handmade import (
    NORMS,
    TODAY,
    lifter,
    made,
    maximal,
    missed,
    session,
    usual_lifter,
    with_constants,
)


def test_there_is_one_reading_for_every_row_written() -> None:
    posterior = fit(usual_lifter(session(made("snatch", 60.0), days_ago=12)), NORMS, TODAY)
    readings = read_rows(posterior, usual_lifter())
    assert len(readings) == len(posterior.rows) == 10
    assert [r.on for r in readings] == sorted(r.on for r in readings)


def test_a_row_that_says_about_how_much_says_it_in_kilos_with_its_interval() -> None:
    """120 x 3 with one left: 133.3 kg, 90 % within 1.645 x 4.4 %."""
    athlete = lifter(session(made("front_squat", 120.0, 3, in_reserve=1.0)))
    (reading,) = read_rows(fit(athlete, NORMS, TODAY), athlete)
    assert reading.says_kg == pytest.approx(120.0 / 0.90)
    half = 1.6449 * 0.044
    assert reading.says_low_kg == pytest.approx(133.333 * np.exp(-half), rel=1e-4)
    assert reading.says_high_kg == pytest.approx(133.333 * np.exp(half), rel=1e-4)


@pytest.mark.parametrize("entry", [made("snatch", 80.0), missed("snatch", 80.0)])
def test_a_row_that_only_bounds_names_no_kilos(entry: SetRecord) -> None:
    known = session(maximal("snatch", 82.0), days_ago=30)
    athlete = lifter(known, session(entry))
    _, reading = read_rows(fit(athlete, NORMS, TODAY), athlete)
    assert (reading.says_kg, reading.says_low_kg, reading.says_high_kg) == (None, None, None)


def test_the_heaviest_single_of_a_testing_day_names_kilos_where_nothing_else_does() -> None:
    athlete = lifter(session(made("snatch", 70.0), made("snatch", 80.0)))
    light, heavy = read_rows(fit(athlete, NORMS, TODAY), athlete)
    assert light.says_kg is None
    assert heavy.says_kg == pytest.approx(80.0)
    assert heavy.says_low_kg == pytest.approx(80.0 * np.exp(-1.6449 * 0.05), rel=1e-4)


def test_a_row_set_aside_is_marked_and_has_no_surprise() -> None:
    athlete = lifter(session(maximal("snatch", 90.0), made("snatch", 50.0)))
    light, heavy = sorted(read_rows(fit(athlete, NORMS, TODAY), athlete), key=lambda r: r.load_kg)
    assert (light.used, light.surprise) == (False, None)
    assert heavy.used
    assert heavy.surprise is not None


def test_surprise_is_the_tail_probability_given_all_the_other_rows() -> None:
    """Without heavy tails everything is Gaussian: leave the row out, fit anew, compare."""
    plain = with_constants(NORMS, usual_quality_sd=1.0, odd_quality_sd=1.0)
    posterior = fit(usual_lifter(), plain, TODAY)
    found = surprises(posterior)
    for number, row in enumerate(posterior.rows):
        rest = [other for other in posterior.rows if other is not row]
        without = fit_rows(posterior.prior, rest, plain, TODAY)
        place = features_at(posterior.prior, [(row, row.lift)])
        mean, var = without.marginal(place)
        term = row.terms[0]
        z = (term.x - mean[0]) / np.sqrt(var[0] + term.sd**2)
        assert found[number] == pytest.approx(2.0 * norm.sf(abs(z)), rel=1e-5)


def test_a_miss_far_under_what_was_made_surprises() -> None:
    """It can only have been a fluke: its chance is about the lift's rate of flukes."""
    athlete = lifter(session(maximal("snatch", 90.0), missed("snatch", 60.0)))
    light = min(read_rows(fit(athlete, NORMS, TODAY), athlete), key=lambda r: r.load_kg)
    fluke = NORMS.lifts["snatch"].fluke_rate.value
    assert light.surprise == pytest.approx(fluke, rel=0.02)


def test_a_made_single_far_over_a_maximum_surprises() -> None:
    athlete = usual_lifter(session(made("snatch", 95.0), days_ago=9))
    heavy = max(
        (r for r in read_rows(fit(athlete, NORMS, TODAY), athlete) if r.lift == "snatch"),
        key=lambda r: r.load_kg,
    )
    assert heavy.surprise is not None
    assert heavy.surprise < 0.01


def test_surprises_are_chances() -> None:
    athlete = lifter(
        session(
            maximal("clean_and_jerk", 100.0), missed("clean_and_jerk", 104.0),
            missed("clean_and_jerk", 104.0, "jerk"), made("snatch", 80.0),
            made("back_squat", 120.0, 5), made("front_squat", 120.0, looked="grind"),
        )
    )  # fmt: skip
    found = surprises(fit(athlete, NORMS, TODAY))
    assert len(found) == 6
    assert all(0.0 <= chance <= 1.0 for chance in found.values())


def with_best(around: date, vague_days: float, source: Any = "told") -> tuple[Any, ...]:
    athlete = lifter(bests=(Best("snatch", 80.0, around, vague_days, source, line=7),))
    return read_rows(fit(athlete, NORMS, TODAY), athlete)


@pytest.mark.parametrize(
    ("around", "vague_days", "told"),
    [
        (date(2025, 7, 2), 182.5, "year"),
        (date(2025, 6, 15), 15.0, "month"),
        (date(2024, 2, 15), 14.5, "month"),
        (date(2025, 6, 15), 0.0, "day"),
    ],
)
def test_a_best_is_dated_as_exactly_as_it_was_told(around: date, vague_days: float, told: str):
    (reading,) = with_best(around, vague_days)
    assert (reading.told, reading.vague_days) == (told, vague_days)


def test_a_year_that_is_not_over_is_still_a_year():
    """What is left of it is shorter; that it was a year that was told does not change."""
    (reading,) = with_best(date(TODAY.year, 7, 2), 182.5)
    assert reading.on.year == TODAY.year
    assert reading.told == "year"


def by_speed(*loads: tuple[float, float], lift: str = "back_squat") -> dict[float, Any]:
    athlete = lifter(session(*(made(lift, kg, speed_m_s=speed) for kg, speed in loads)))
    return {r.load_kg: r for r in read_rows(fit(athlete, NORMS, TODAY), athlete)}


def test_lighter_sets_draw_the_line_on_which_the_heaviest_is_read():
    found = by_speed((100.0, 0.8), (120.0, 0.6), (140.0, 0.4))
    assert [found[kg].drew_line for kg in (100.0, 120.0, 140.0)] == [True, True, False]
    assert found[140.0].kind == "speed"


def test_a_set_too_light_to_be_read_by_itself_drew_no_line():
    """Two speeds so near each other give no line; each stands for itself, or for nothing."""
    found = by_speed((60.0, 1.2), (100.0, 1.15))
    assert not any(one.drew_line for one in found.values())


def test_no_line_is_drawn_of_a_lift_without_a_relation_of_load_and_speed():
    found = by_speed((60.0, 1.9), (80.0, 1.6), lift="snatch")
    assert {one.kind for one in found.values()} == {"made"}
    assert not any(one.drew_line for one in found.values())
