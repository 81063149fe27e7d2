"""What the prior implies agrees with every published row about lifters like ours.

Rows: norms/ratios.csv, each with its source. How far a number may lie off, and why, is said
line by line in tests/bench/prior_predictive.py, which also prints the whole comparison.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from profilegen.norms.catalogue import PRACTICE
from tests.bench.prior_predictive import (
    LEFT_OUT,
    NORMS,
    POSSIBLE,
    ROWS,
    SAMPLES,
    Line,
    Row,
    checked,
    key_of,
    log_ratio,
    prior_of,
    results,
)

LINES = [line for row in ROWS for line in checked(row)]


def row(numerator: str, denominator: str, source: str, **more: str) -> Row:
    """The one published row that fits."""
    wanted = {"numerator": numerator, "denominator": denominator, "source_key": source, **more}
    found = [r for r in ROWS if all(r[key] == value for key, value in wanted.items())]
    assert len(found) == 1, wanted
    return found[0]


@pytest.mark.parametrize("line", LINES, ids=lambda line: f"{line.what} of {line.about}")
def test_a_published_number_lies_within_its_uncertainty_of_what_the_prior_implies(
    line: Line,
) -> None:
    assert line.low <= line.published <= line.high, line


def test_every_published_row_is_compared_or_left_out_for_a_reason() -> None:
    assert len(ROWS) > 100
    for r in ROWS:
        assert bool(checked(r)) != (key_of(r) in LEFT_OUT), r
    keys = {key_of(r) for r in ROWS}
    assert set(LEFT_OUT) | set(POSSIBLE) <= keys
    assert all(LEFT_OUT.values())


def test_most_rows_are_compared_strictly() -> None:
    """Rows that must only not be ruled out are the few whose people or sources differ."""
    strict = [line for line in LINES if line.why.startswith(("measured", "lore"))]
    assert len(strict) > 0.7 * len(LINES)


def test_every_published_row_names_a_source() -> None:
    for r in ROWS:
        assert r["source_key"] == PRACTICE or r["source_key"] in NORMS.sources, r
        assert r["status"] in {"read", "secondary", "practice", "memory"}, r


def test_a_prior_with_other_shares_would_be_caught() -> None:
    """The comparison has teeth: a snatch 3 % higher for everyone leaves most of its rows."""
    snatch = [x for x in LINES if x.what == "mean" and x.about.startswith("snatch : clean_and_jer")
              and x.why.startswith("measured")]  # fmt: skip
    moved = [x.low * 1.03 <= x.published <= x.high * 1.03 for x in snatch]
    assert len(snatch) > 20
    assert np.mean(moved) < 0.2


def test_a_prior_with_twice_the_spread_would_be_caught() -> None:
    spreads = [x for x in LINES if x.what == "sd"]
    half = [(x.high - x.low) / 2 for x in spreads]
    wide = [abs(x.published - 2 * x.implied) <= h for x, h in zip(spreads, half, strict=True)]
    assert len(spreads) > 20
    assert not any(wide)


def test_the_womens_shift_is_the_published_difference() -> None:
    """ln(snatch / clean and jerk): -0.2220 of 1631 senior women, -0.2062 of 1751 senior men."""
    women, men = (prior_of(sex, mass) for sex, mass in (("F", 63.0), ("M", 80.0)))
    snatch = men.lift_ids.index("snatch")
    shift = women.log_share[snatch] - men.log_share[snatch]
    assert shift == pytest.approx(-0.2220 - -0.2062, abs=0.001)


def test_the_heaviest_womens_shift_is_the_published_difference() -> None:
    level = "senior world level, body mass "
    heavy, light = (
        float(row("snatch", "clean_and_jerk", "iwf_results_db", level=level + which)["mean"])
        for which in ("> 87 kg", "<= 87 kg")
    )
    shift = NORMS.constant("heavy_women_snatch_log_shift")
    assert shift == pytest.approx(math.log(heavy / light), abs=0.0005)


def test_the_prior_covers_the_disagreement_about_the_power_snatch() -> None:
    """Sources say 0.80 to 0.90 of the snatch: both ends within the middle 90 % of lifters."""
    published = [
        float(r[key])
        for r in ROWS
        if (r["numerator"], r["denominator"]) == ("power_snatch", "snatch")
        for key in ("mean", "low", "high")
        if r[key]
    ]
    assert (min(published), max(published)) == (0.82, 0.90)
    source = row("power_snatch", "snatch", "czaplicki2019")
    low, high = np.exp(np.quantile(log_ratio(source, SAMPLES["iwf_results_db"]), [0.05, 0.95]))
    assert low < 0.80
    assert high > 0.90


def test_a_clean_a_tenth_under_everything_that_points_to_it_is_not_a_freak() -> None:
    """Common practice, no source: a coach has met such lifters.

    The clean against the mean of the front squat, the power clean and the clean pull, each at
    its usual share: at least one lifter in two hundred is a tenth under, not one in ten.
    """
    lifts = results("M", 80.0, None)
    shares = dict(zip(prior_of("M", 80.0).lift_ids, prior_of("M", 80.0).log_share, strict=True))
    pointing = ("front_squat", "power_clean", "clean_pull")
    expected = np.mean([lifts[lift] - shares[lift] for lift in pointing], axis=0)
    under = float(np.mean(lifts["clean"] - expected < math.log(0.9)))
    assert 0.005 < under < 0.10
