"""What is believed before any evidence: the process of the method page, latent by latent."""

from __future__ import annotations

from datetime import date
from math import exp, log

import numpy as np
import pytest
from scipy.linalg import block_diag

from profilegen.engine.arrays import Floats
from profilegen.engine.prior import (
    Features,
    Prior,
    body_mass_near,
    build_lean,
    prior_for,
)
from profilegen.history.records import Athlete, Build, Session
from profilegen.norms.catalogue import QUALITIES
from tests.engine.handmade import NORMS, TODAY, ago, lifter

C = NORMS.constant
N = len(QUALITIES)
NOW = float(TODAY.toordinal())

SETS = (
    # lift, days ago, platform
    ("snatch", 0, False),
    ("clean", 0, False),
    ("back_squat", 3, False),
    ("snatch", 3, False),
    ("snatch", 40, True),
    ("jerk", 40, True),
    ("clean_deadlift", 400, False),
)


def features(prior: Prior) -> Features:
    """The sets' capacities, then the qualities today, their lasting parts, the platform."""
    when = np.array([NOW - days for _, days, _ in SETS])
    sets = prior.lift_features(
        lift=np.array([prior.lift_ids.index(lift) for lift, _, _ in SETS]),
        day=when,
        form=when.astype(np.int64),
        meet=np.array([float(platform) for _, _, platform in SETS]),
    )
    both = sets.joined(prior.quality_features(NOW))
    both = both.joined(prior.quality_features(NOW, lasting=True))
    return both.joined(prior.platform_feature(NOW))


def latent_by_latent(born: date, build_side: dict[str, float]) -> Floats:
    """The same covariance from the model's statement: each latent drawn on its own.

    Columns of the design: level, level's drift on each day, lasting qualities, drift of
    each quality on each day, what is peculiar to each lift, form of each day, platform, build.
    """
    days = sorted({days for _, days, _ in SETS} | {0})
    lifts = sorted({lift for lift, _, _ in SETS})
    gap = np.abs(np.subtract.outer(days, days))
    decay = np.exp(-gap / C("drift_length_days"))
    age = np.array([(NOW - d - born.toordinal()) / 365.25 for d in days])
    young = np.clip((21.0 - age) / 6.0, 0.0, 1.0)
    sd = C("level_drift_sd") + young * (C("level_drift_sd_junior") - C("level_drift_sd"))
    drifting = C("quality_drift_share")
    latents = block_diag(
        [[C("level_sd") ** 2]],
        decay * np.outer(sd, sd),
        np.eye(N) * (1.0 - drifting) * C("odd_quality_sd") ** 2,
        np.kron(np.eye(N), drifting * decay),
        np.diag([NORMS.lifts[lift].own_sd.value ** 2 for lift in lifts]),
        np.eye(len(days)) * C("day_form_sd") ** 2,
        [[C("platform_sd") ** 2]],
        [[C("build_shift_sd") ** 2]],
    )
    eye = {size: np.eye(size) for size in (N, len(days), len(lifts))}
    none = np.zeros((1, N * len(days)))
    design = []
    for lift, ago_, platform in SETS:
        day = eye[len(days)][days.index(ago_)]
        loadings = np.array(
            [
                NORMS.lifts[lift].loadings[q].value if q in NORMS.lifts[lift].loadings else 0.0
                for q in QUALITIES
            ]
        )
        own = eye[len(lifts)][lifts.index(lift)]
        side = build_side.get(lift, 0.0)
        parts = ([1.0], day, loadings, np.kron(loadings, day), own, day, [platform], [side])
        design.append(np.concatenate(parts))
    zeros = np.zeros(1 + len(days))
    rest = np.zeros(len(lifts) + len(days) + 2)
    today = eye[len(days)][days.index(0)]
    for k in range(N):
        drift = np.kron(eye[N][k], today)
        design.append(np.concatenate((zeros, eye[N][k], drift, rest)))
    for k in range(N):
        design.append(np.concatenate((zeros, eye[N][k], none[0], rest)))
    design.append(np.concatenate((zeros, np.zeros(N), none[0], rest[:-2], [1.0, 0.0])))
    a = np.array(design, dtype=float)
    return a @ latents @ a.T


@pytest.mark.parametrize("born", [date(1998, 5, 1), date(2008, 9, 1)])
def test_the_covariance_is_that_of_the_latents_drawn_one_by_one(born: date) -> None:
    prior = prior_for(weighing(80.0, born=born), NORMS, TODAY)
    f = features(prior)
    np.testing.assert_allclose(prior.cov(f, f), latent_by_latent(born, {}), atol=1e-14)


def test_a_stated_build_ties_squats_against_pulls() -> None:
    athlete = weighing(80.0, build=Build(thighs="long"))
    prior = prior_for(athlete, NORMS, TODAY)
    f = features(prior)
    side = {"back_squat": 1.0, "clean_deadlift": -1.0}
    np.testing.assert_allclose(prior.cov(f, f), latent_by_latent(athlete.born, side), atol=1e-14)


def test_variances_are_the_diagonal_of_the_covariance() -> None:
    prior = prior_for(lifter(born=date(2008, 9, 1), build=Build(torso="long")), NORMS, TODAY)
    f = features(prior)
    np.testing.assert_allclose(prior.variance(f), np.diag(prior.cov(f, f)), rtol=1e-13)


def test_functionals_can_be_taken_and_joined_in_any_order() -> None:
    prior = prior_for(lifter(), NORMS, TODAY)
    f = features(prior)
    order = np.arange(len(f))[::-1]
    twice = f.take(order).joined(f)
    cov = prior.cov(f, f)
    np.testing.assert_array_equal(prior.cov(twice, f), np.vstack((cov[order], cov)))


def clean_kg(athlete: Athlete) -> float:
    """What a clean is expected to be before any evidence."""
    return exp(prior_for(athlete, NORMS, TODAY).level_mean)


def weighing(kg: float, **known: object) -> Athlete:
    return lifter(Session(on=ago(5), body_mass_kg=kg), **known)


def test_a_lifter_of_twice_the_mass_is_expected_to_lift_two_to_the_064_as_much() -> None:
    """Allometry with the exponent 0.64 (Challis 1999)."""
    assert clean_kg(weighing(120.0)) / clean_kg(weighing(60.0)) == pytest.approx(2.0**0.64)


@pytest.mark.parametrize("sex", ["M", "F"])
def test_a_lifter_nobody_weighed_is_taken_as_the_usual_mass_and_less_surely(sex: str) -> None:
    unweighed = prior_for(lifter(sex=sex), NORMS, TODAY)
    weighed = prior_for(weighing(C(f"reference_kg_{sex}"), sex=sex), NORMS, TODAY)  # type: ignore[index]
    assert unweighed.level_mean == pytest.approx(weighed.level_mean)
    assert unweighed.level_var > weighed.level_var


def test_body_mass_is_the_latest_known_on_the_day() -> None:
    on = [
        Session(on=ago(days), body_mass_kg=kg) for days, kg in ((90, 70.0), (30, 72.0), (1, 75.0))
    ]
    athlete = lifter(*on)
    assert body_mass_near(athlete, ago(10)) == 72.0
    assert body_mass_near(athlete, ago(200)) == 70.0
    assert body_mass_near(lifter(), TODAY) is None


def log_share(athlete: Athlete, lift: str) -> float:
    prior = prior_for(athlete, NORMS, TODAY)
    return float(prior.log_share[prior.lift_ids.index(lift)])


def test_women_snatch_a_little_less_of_their_clean() -> None:
    """0.801 against 0.814 of the clean and jerk (public results), heavy women less again."""
    man, woman, heavy = weighing(80.0), weighing(63.0, sex="F"), weighing(95.0, sex="F")
    snatch = [log_share(athlete, "snatch") for athlete in (man, woman, heavy)]
    assert snatch[1] - snatch[0] == pytest.approx(log(0.801 / 0.814), abs=5e-4)
    assert snatch[2] - snatch[1] == pytest.approx(log(0.7823 / 0.8035), abs=5e-4)
    assert log_share(man, "jerk") == log_share(woman, "jerk") == log_share(heavy, "jerk")


def test_short_thighs_and_a_long_torso_squat_more_and_pull_less() -> None:
    lean = lifter(build=Build(thighs="short", torso="long"))
    shift = NORMS.constant("build_shift")
    for lift, side in (("front_squat", 1.0), ("snatch_deadlift", -1.0), ("jerk", 0.0)):
        moved = log_share(lean, lift) - log_share(lifter(), lift)
        assert moved == pytest.approx(side * shift)


@pytest.mark.parametrize(
    ("build", "lean"),
    [
        (Build(), None),
        (Build(thighs="long", torso="short"), -1.0),
        (Build(thighs="average"), 0.0),
        (Build(torso="long"), 0.5),
        (Build(sitting_height_ratio=0.52), 0.0),
        (Build(sitting_height_ratio=0.535), 0.5),
        (Build(sitting_height_ratio=0.60), 1.0),
    ],
)
def test_build_is_read_on_a_line_from_long_thighs_to_long_torso(
    build: Build, lean: float | None
) -> None:
    assert build_lean(build, NORMS) == (None if lean is None else pytest.approx(lean))


def growth(born: date, years_back: float) -> float:
    prior = prior_for(lifter(born=born), NORMS, TODAY)
    return float(prior.growth(np.array([NOW - 365.25 * years_back]))[0])


def test_a_junior_was_clearly_weaker_a_year_ago_and_an_adult_hardly() -> None:
    """Public results: boys gain 0.118 in the year to 16; at 30-34 the median change is nought."""
    sixteen = date(2010, 11, 21)
    assert -growth(sixteen, 1.0) == pytest.approx(0.118, abs=0.015)
    assert growth(date(1993, 11, 21), 1.0) == pytest.approx(0.0, abs=0.004)


def test_masters_lose_a_little_each_year() -> None:
    """Huebner 2019: about 1 % a year around 45."""
    assert 0.005 < growth(date(1980, 11, 21), 1.0) < 0.02


def test_growth_is_counted_from_the_profiles_day() -> None:
    assert growth(date(2010, 1, 1), 0.0) == 0.0
