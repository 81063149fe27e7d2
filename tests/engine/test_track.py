"""Each lift's estimate over the whole history."""

from __future__ import annotations

import numpy as np
import pytest

from profilegen.engine.assess import assess
from profilegen.engine.inference import fit
from profilegen.engine.posterior import Z90, Posterior
from profilegen.engine.track import track_days, tracks_of
from tests.engine.handmade import (
    CLUB,
    NORMS,
    TODAY,
    ago,
    lifter,
    made,
    maximal,
    missed,
    session,
    usual_lifter,
)

WRITTEN = ["clean", "front_squat", "snatch"]


@pytest.fixture(scope="module")
def year() -> Posterior:
    """Ten testing days over two years, a kilo more on each."""
    days = [
        session(
            maximal("snatch", 90.0 - n),
            maximal("clean", 110.0 - n),
            maximal("front_squat", 125.0 - n),
            days_ago=5 + 75 * n,
        )
        for n in range(10)
    ]
    return fit(lifter(*days), NORMS, TODAY)


def test_a_track_runs_from_the_first_row_to_the_profiles_day(year: Posterior) -> None:
    days = track_days(year)
    assert (days[0], days[-1]) == (ago(680), TODAY)
    assert list(days) == sorted(set(days))
    assert len(days) <= 41


def test_a_ten_year_diary_shows_its_last_four_years() -> None:
    athlete = usual_lifter(session(made("snatch", 60.0), days_ago=3650))
    days = track_days(fit(athlete, NORMS, TODAY))
    assert (TODAY - days[0]).days == pytest.approx(4 * 365.25, abs=1)
    assert len(days) <= 41


def test_a_newcomer_has_a_short_track() -> None:
    assert track_days(fit(lifter(session(made("snatch", 60.0), days_ago=0)), NORMS, TODAY)) == (
        TODAY,
    )


def test_a_lift_that_rose_is_drawn_rising(year: Posterior) -> None:
    track = tracks_of(year, WRITTEN)["snatch"]
    assert track.estimate_kg[0] == pytest.approx(81.0, rel=0.02)
    assert track.estimate_kg[-1] == pytest.approx(90.0, rel=0.02)
    assert track.estimate_kg[0] < track.estimate_kg[len(track.days) // 2] < track.estimate_kg[-1]


def test_a_track_ends_at_what_the_lift_is_worth_today(year: Posterior) -> None:
    mean, cov = year.state()
    tracks = tracks_of(year, WRITTEN)
    for lift in WRITTEN:
        i = year.index(lift)
        half = Z90 * np.sqrt(cov[i, i])
        ends = (tracks[lift].low_kg[-1], tracks[lift].estimate_kg[-1], tracks[lift].high_kg[-1])
        expected = np.exp((mean[i] - half, mean[i], mean[i] + half))
        np.testing.assert_allclose(ends, expected, rtol=1e-9)


def test_a_chart_over_time_ends_in_the_numbers_at_the_top_of_the_page() -> None:
    attempts = (made("clean_and_jerk", 118.0), missed("clean_and_jerk", 121.0, "jerk"))
    profile = assess(fit(usual_lifter(session(*attempts)), NORMS, TODAY), usual_lifter(), CLUB)
    for lift, track in profile.tracks.items():
        now = profile.lifts[lift]
        assert (track.days[-1], track.estimate_kg[-1]) == (profile.on, now.estimate_kg)
        assert (track.low_kg[-1], track.high_kg[-1]) == (now.low_kg, now.high_kg)


def test_every_day_of_a_track_agrees_with_the_posterior_of_that_day(year: Posterior) -> None:
    track = tracks_of(year, WRITTEN)["clean"]
    i = year.index("clean")
    for n in (0, 7, 20):
        mean, cov = year.state(float(track.days[n].toordinal()))
        assert track.estimate_kg[n] == pytest.approx(float(np.exp(mean[i])), rel=1e-9)
        width = float(np.log(track.high_kg[n] / track.low_kg[n])) / (2.0 * Z90)
        assert width == pytest.approx(float(np.sqrt(cov[i, i])), rel=1e-7)


def test_clean_and_jerk_and_total_follow_from_the_draws_of_their_parts(year: Posterior) -> None:
    """Clark's moments and the delta method against draws: within half a percent."""
    tracks = tracks_of(year, WRITTEN)
    sample = year.sample(year.state_features())
    snatch, clean, jerk = (np.exp(sample[:, year.index(p)]) for p in ("snatch", "clean", "jerk"))
    both = np.minimum(clean, jerk)
    for lift, draws in (("clean_and_jerk", both), ("total", snatch + both)):
        track = tracks[lift]
        assert track.estimate_kg[-1] == pytest.approx(float(np.median(draws)), rel=0.005)
        low, high = np.quantile(draws, (0.05, 0.95))
        assert (track.low_kg[-1], track.high_kg[-1]) == pytest.approx((low, high), rel=0.01)


def test_intervals_are_in_order_every_day(year: Posterior) -> None:
    for track in tracks_of(year, WRITTEN).values():
        rows = zip(track.low_kg, track.estimate_kg, track.high_kg, strict=True)
        assert all(low < mid < high for low, mid, high in rows)


def test_only_written_lifts_get_a_track_beside_the_competition_two(year: Posterior) -> None:
    assert set(tracks_of(year, ["front_squat"])) == {"front_squat", "clean_and_jerk", "total"}
