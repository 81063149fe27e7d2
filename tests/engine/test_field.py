"""The lifter among rivals: two results per rival say as much about the rest as they should."""

from __future__ import annotations

from datetime import date
from itertools import product

import numpy as np
import pytest
from scipy import stats

from profilegen.engine.arrays import Floats
from profilegen.engine.company import (
    _approximate_cdf,
    _exact_cdf,
    company,
    counts,
    equally_likely,
    marks_beside,
    rivals_near,
)
from profilegen.engine.field import FieldModel, Results
from profilegen.history.records import Mark, Rival, Sex
from profilegen.norms.catalogue import QUALITIES, load_norms

NORMS = load_norms()
ON = date(2026, 11, 21)
MODEL = FieldModel.of(NORMS, ON)
LIFTS = MODEL.prior.lift_ids
CLEAN, JERK = LIFTS.index("clean"), LIFTS.index("jerk")


def drawn_field(
    n: int, rng: np.random.Generator, sex: Sex = "M", mass_kg: float = 85.0
) -> tuple[Results, Floats]:
    """Rivals drawn from the model itself: their meet results, their true lifts (log kg)."""
    at_meet, truth = drawn_rivals(n, rng, sex, mass_kg)
    noise = NORMS.constant("meet_single_sd") * rng.standard_normal((n, 2))
    snatch = np.exp(at_meet[:, 0] + noise[:, 0])
    both = np.exp(np.minimum(at_meet[:, 1], at_meet[:, 2]) + noise[:, 1])
    return Results((sex,) * n, np.full(n, mass_kg), snatch, both), truth


def drawn_rivals(
    n: int, rng: np.random.Generator, sex: Sex = "M", mass_kg: float = 85.0
) -> tuple[Floats, Floats]:
    """Snatch, clean and jerk at the meet, float[n, 3], and every lift, float[n, lifts].

    The exact prior: heavy-tailed lasting qualities first, everything else given them.
    """
    prior = MODEL.prior
    parts = np.array([LIFTS.index(part) for part in ("snatch", "clean", "jerk")])
    meet = prior.lift_features(
        parts, np.full(3, MODEL.day), form=np.ones(3, dtype=np.int64), meet=np.ones(3)
    )
    everything = meet.joined(MODEL.lifts(LIFTS))
    one = Results((sex,), np.array([mass_kg]), np.ones(1), np.ones(1))
    usual = MODEL.usual(one, ["snatch", "clean", "jerk", *LIFTS])
    wide = prior.quality_lasting_var
    rest = prior.cov(everything, everything) - wide * everything.loadings @ everything.loadings.T
    root = np.linalg.cholesky(rest + 1e-12 * np.eye(len(rest)))
    odd = rng.random((n, len(QUALITIES))) < NORMS.constant("odd_quality_share")
    usual_sd = NORMS.constant("usual_quality_sd") / NORMS.constant("odd_quality_sd")
    lasting = rng.standard_normal((n, len(QUALITIES))) * np.where(odd, 1.0, usual_sd) * wide**0.5
    draws = usual + lasting @ everything.loadings.T + rng.standard_normal((n, len(rest))) @ root.T
    return draws[:, :3], draws[:, 3:]


@pytest.mark.parametrize(("sex", "mass_kg"), [("M", 85.0), ("F", 95.0)])
def test_what_two_results_say_of_every_lift_is_neither_too_sure_nor_too_shy(
    sex: Sex, mass_kg: float
):
    """Truth minus mean over sd has mean 0 and sd 1 in every lift, the clean and jerk too."""
    results, truth = drawn_field(4000, np.random.default_rng(7), sex, mass_kg)
    mean, var = MODEL.deviations(results, MODEL.lifts(LIFTS), with_minimum=True)
    truth = np.column_stack((truth, np.minimum(truth[:, CLEAN], truth[:, JERK])))
    z = (truth - MODEL.usual(results, [*LIFTS, "clean"]) - mean) / np.sqrt(var)
    # standard errors over 4,000: 0.016 of a mean, about 0.02 of an sd with these tails
    assert np.abs(z.mean(axis=0)).max() < 0.06
    assert np.abs(z.std(axis=0) - 1.0).max() < 0.07
    assert np.abs((np.abs(z) < stats.norm.ppf(0.95)).mean(axis=0) - 0.90).max() < 0.025


def test_one_rivals_lifts_agree_with_importance_sampling():
    """A second method: prior draws weighed by the likelihood of the two results."""
    rng = np.random.default_rng(11)
    snatch, both = 105.0, 118.0  # a snatch high for the clean and jerk
    seen = Results(("M",), np.array([85.0]), np.array([snatch]), np.array([both]))
    mean, var = MODEL.deviations(seen, MODEL.lifts(LIFTS), with_minimum=True)

    n = 600_000
    at_meet, truth = drawn_rivals(n, rng)
    sd = NORMS.constant("meet_single_sd")
    away = (np.log(snatch) - at_meet[:, 0]) / sd
    away_both = (np.log(both) - np.minimum(at_meet[:, 1], at_meet[:, 2])) / sd
    weight = np.exp(-0.5 * (away**2 + away_both**2))
    weight /= weight.sum()
    assert 1.0 / (weight**2).sum() > 3000  # enough draws near the results
    usual = MODEL.usual(seen, [*LIFTS, "clean"])[0]
    truth = np.column_stack((truth, np.minimum(truth[:, CLEAN], truth[:, JERK]))) - usual
    expected = weight @ truth
    spread = weight @ truth**2 - expected**2
    assert mean[0] == pytest.approx(expected, abs=0.004)
    assert np.sqrt(var[0]) == pytest.approx(np.sqrt(spread), rel=0.05)


@pytest.mark.parametrize(("size", "low", "high"), [(400, 0.88, 0.92), (120, 0.88, 0.925)])
def test_the_true_count_lies_in_the_interval_as_often_as_it_claims(
    size: int, low: float, high: float
):
    """Over lifters and lifts whose count is not settled at nobody or everybody.

    1,500 counts of 60 lifters; a lifter's lifts share the level, so the standard error of the
    coverage is about 0.012.
    """
    rng = np.random.default_rng(3)
    results, truth = drawn_field(4000, rng)
    mean, var = MODEL.deviations(results, MODEL.lifts(LIFTS))
    centre, sd = mean + MODEL.usual(results, LIFTS), np.sqrt(var)
    inside = asked = 0
    for _ in range(120):
        rivals = rng.choice(4000, size, replace=False)
        mine = truth[rng.integers(4000)]
        known_sd = 0.02
        guess = mine + known_sd * rng.standard_normal(len(LIFTS))
        sample = guess[:, None] + known_sd * rng.standard_normal(600)
        values = equally_likely(sample)
        _, least, most = counts(centre[rivals], sd[rivals], values)
        true = (truth[rivals] >= mine).sum(axis=0)
        open_ = (least >= 2) & (most <= size - 2)
        inside += ((true >= least) & (true <= most))[open_].sum()
        asked += open_.sum()
    assert asked > 1500
    assert low <= inside / asked <= high


def test_the_expected_count_is_right_on_average():
    rng = np.random.default_rng(4)
    results, truth = drawn_field(3000, rng)
    mean, var = MODEL.deviations(results, MODEL.lifts(LIFTS))
    centre = mean + MODEL.usual(results, LIFTS)
    for mine in truth[:40:8]:
        expected, _, _ = counts(centre, np.sqrt(var), np.repeat(mine[:, None], 2, axis=1))
        true = (truth >= mine).sum(axis=0)
        # about 10 sds of a count with a few dozen rivals in doubt, in a field of 3,000
        assert np.abs(expected - true).max() < 90


def test_a_count_of_unequal_chances_is_what_counting_all_cases_gives():
    """All 2^8 cases by hand; and the binomial for equal chances (scipy.stats)."""
    chances = np.array([0.02, 0.1, 0.3, 0.35, 0.5, 0.8, 0.9, 0.99])
    mass = np.zeros(9)
    for case in product((0, 1), repeat=8):
        mass[sum(case)] += np.prod(np.where(case, chances, 1.0 - chances))
    assert _exact_cdf(chances) == pytest.approx(np.cumsum(mass), abs=1e-12)
    equal = np.full(40, 0.3)
    assert _exact_cdf(equal) == pytest.approx(stats.binom(40, 0.3).cdf(np.arange(41)), abs=1e-12)


@pytest.mark.parametrize("beta", [(0.2, 9.0), (9.0, 0.2), (0.5, 0.5), (0.05, 0.05), (2.0, 2.0)])
def test_large_fields_are_counted_closely_enough(beta: tuple[float, float]):
    """The shifted Poisson against the exact count, few, many or half of 600 rivals in doubt."""
    chances = np.random.default_rng(5).beta(*beta, size=600)
    gap = np.abs(_approximate_cdf(chances[None])[0] - _exact_cdf(chances))
    assert gap.max() < 0.04


def test_certain_rivals_leave_no_doubt():
    chances = np.r_[np.ones(30), np.zeros(170)]
    for cdf in (_exact_cdf(chances), _approximate_cdf(chances[None])[0]):
        assert cdf[29] == pytest.approx(0.0, abs=1e-12)
        assert cdf[30] == pytest.approx(1.0, abs=1e-12)


def rival(mass_kg: float, category: str = "69", sex: Sex = "F", total: float = 170.0) -> Rival:
    return Rival(sex, category, mass_kg, 0.45 * total, 0.55 * total)


CLASSES = tuple(
    rival(mass, name)
    for name, masses in {
        "63": (61.0, 62.0, 62.5),
        "69": (65.0, 66.0, 67.0, 68.0, 68.9),
        "+86": (95.0,),
    }.items()
    for mass in masses
)


def test_company_is_the_lifters_own_class_where_it_has_enough_rivals():
    scope, category, found = rivals_near("F", 68.5, CLASSES, NORMS)
    assert (scope, category, len(found)) == ("class", "69", 5)


def test_company_in_a_thin_class_is_everyone_within_a_tenth_of_the_body_mass():
    scope, category, found = rivals_near("F", 62.0, CLASSES, NORMS)
    assert (scope, category) == ("near", None)
    assert {one.body_mass_kg for one in found} == {61.0, 62.0, 62.5, 65.0, 66.0, 67.0, 68.0}


def test_company_of_a_lifter_like_nobody_is_everyone_of_the_sex():
    assert rivals_near("F", 100.0, CLASSES, NORMS)[0] == "sex"
    assert rivals_near("F", None, CLASSES, NORMS)[0] == "sex"
    assert rivals_near("M", 69.0, CLASSES, NORMS) == ("sex", None, [])


def test_classes_without_a_limit_in_their_name_are_not_guessed():
    named = tuple(rival(66.0 + i / 10, "Open") for i in range(6))
    assert rivals_near("F", 68.5, named, NORMS)[0] == "near"


def test_nobody_to_compare_with_is_no_company():
    draws = {"snatch": np.full(8, 4.4)}
    assert company(draws, "M", 80.0, CLASSES, MODEL) is None


def test_stronger_rivals_match_more_of_every_lift():
    draws = {lift: np.full(32, np.log(80.0)) for lift in (*LIFTS, "clean_and_jerk")}
    weak = company(draws, "F", 68.0, [rival(68.0, total=150.0 + i) for i in range(9)], MODEL)
    strong = company(draws, "F", 68.0, [rival(68.0, total=190.0 + i) for i in range(9)], MODEL)
    assert weak is not None
    assert strong is not None
    for less, more in zip(weak.matches, strong.matches, strict=True):
        assert less.lift == more.lift
        assert less.expected < more.expected + 1e-9
        assert 0 <= less.low <= less.high <= weak.rivals


def test_company_follows_the_line_from_fast_to_slow():
    draws = {lift: np.full(32, np.log(80.0)) for lift in ("power_snatch", "snatch", "back_squat")}
    made = company(draws, "F", 68.0, CLASSES, MODEL)
    assert made is not None
    assert [match.lift for match in made.matches] == ["power_snatch", "snatch", "back_squat"]


MARKS = (
    Mark("Record", "F", 63, snatch_kg=80, total_kg=180),
    Mark("Record", "F", 69, snatch_kg=90, total_kg=200),
    Mark("Standard", "F", 77, total_kg=170),
    Mark("Open", "F", None, clean_and_jerk_kg=120),
    Mark("Record", "M", 71, total_kg=250),
)


def test_marks_are_those_of_the_lifters_class_and_the_open_ones():
    draws = {
        "snatch": np.log(np.linspace(84.0, 86.0, 201)),
        "clean_and_jerk": np.log(np.linspace(104.0, 106.0, 201)),
        "total": np.log(np.linspace(189.0, 191.0, 201)),
    }
    found = marks_beside(draws, "F", 66.0, MARKS)
    assert [(one.called, one.lift) for one in found] == [
        ("Record", "snatch"),
        ("Record", "total"),
        ("Open", "clean_and_jerk"),
    ]
    assert found[0].share == pytest.approx(85.0 / 90.0)
    assert found[0].chance == 0.0
    assert marks_beside(draws, "F", None, MARKS) == ()
    assert [one.called for one in marks_beside(draws, "F", 90.0, MARKS)] == ["Open"]


def test_a_mark_within_reach_has_the_chance_of_the_draws():
    draws = {"snatch": np.log(np.linspace(80.0, 100.0, 201))}
    mark = Mark("Record", "F", 69, snatch_kg=95.0)
    (found,) = marks_beside(draws, "F", 66.0, [mark])
    assert found.chance == pytest.approx(0.25, abs=0.01)
    assert found.low < found.share < found.high
