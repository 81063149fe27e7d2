"""Lifts set against each other, beside the usual range."""

from __future__ import annotations

import numpy as np
import pytest

from profilegen.engine.inference import fit
from profilegen.engine.posterior import N_QUALITIES, Posterior
from profilegen.engine.ratios import ratio_readings
from tests.engine.handmade import NORMS, TODAY, usual_lifter


@pytest.fixture(scope="module")
def posterior() -> Posterior:
    return fit(usual_lifter(), NORMS, TODAY)


def readings(posterior: Posterior, snatch: np.ndarray, clean: float, jerk: float) -> dict:
    """The ratios of draws in which only the snatch varies; all other lifts at 100 kg."""
    sample = np.full((len(snatch), N_QUALITIES + len(posterior.prior.lift_ids)), np.log(100.0))
    sample[:, posterior.index("snatch")] = np.log(snatch)
    sample[:, posterior.index("clean")] = np.log(clean)
    sample[:, posterior.index("jerk")] = np.log(jerk)
    return {(r.numerator, r.denominator): r for r in ratio_readings(sample, posterior)}


def usual_range() -> tuple[float, float]:
    usual = next(
        u for u in NORMS.usual_ratios
        if (u.numerator, u.denominator) == ("snatch", "clean_and_jerk")
    )  # fmt: skip
    return usual.usual_low, usual.usual_high


def test_a_clean_and_jerk_is_the_lesser_of_its_parts(posterior: Posterior) -> None:
    snatch = np.full(100, 80.0)
    for clean, jerk in ((100.0, 110.0), (120.0, 100.0)):
        ratio = readings(posterior, snatch, clean, jerk)["snatch", "clean_and_jerk"]
        assert ratio.value == pytest.approx(0.80)


def test_the_interval_holds_the_middle_nine_tenths(posterior: Posterior) -> None:
    snatch = np.linspace(70.0, 90.0, 2001)
    ratio = readings(posterior, snatch, 100.0, 100.0)["snatch", "clean_and_jerk"]
    assert (ratio.low, ratio.value, ratio.high) == pytest.approx((0.71, 0.80, 0.89))


@pytest.mark.parametrize(
    ("below", "above", "reading"),
    [(80, 0, "below"), (0, 80, "above"), (0, 0, "usual"), (60, 0, "unclear"), (30, 30, "unclear")],
)
def test_a_ratio_is_called_low_or_high_only_when_that_is_likely(
    posterior: Posterior, below: int, above: int, reading: str
) -> None:
    """Three chances in four for low or high, an even chance for usual, else it is unclear."""
    low, high = usual_range()
    middle = 100 - below - above
    shares = [low - 0.05] * below + [(low + high) / 2.0] * middle + [high + 0.05] * above
    ratio = readings(posterior, 100.0 * np.array(shares), 100.0, 100.0)["snatch", "clean_and_jerk"]
    assert ratio.reading == reading
    assert ratio.chance_below == pytest.approx(below / 100)
    assert ratio.chance_above == pytest.approx(above / 100)


def test_every_usual_ratio_is_read_and_keeps_its_source(posterior: Posterior) -> None:
    found = ratio_readings(posterior.sample(posterior.state_features()), posterior)
    assert [(r.numerator, r.denominator, r.source) for r in found] == [
        (u.numerator, u.denominator, u.source) for u in NORMS.usual_ratios
    ]


def test_a_lifter_with_the_usual_shares_has_no_ratio_called_odd(posterior: Posterior) -> None:
    found = ratio_readings(posterior.sample(posterior.state_features()), posterior)
    assert {r.reading for r in found} <= {"usual", "unclear"}
