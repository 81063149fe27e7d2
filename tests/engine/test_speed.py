"""Bar speed as evidence, against the propagation worked out from published figures.

The table is derived, not published: error propagation through a straight line,
Var(m*) = (s_e^2 (1/n + (m* - mean)^2 / Sxx) + s_mvt^2) / b^2, with slope -0.0132 m/s per %
(Conceicao 2016), readings within 0.03 m/s and the speed at the maximum within 0.05 m/s
(Banyard 2017). Two rows were worked by hand for this file; see the test.
"""

from __future__ import annotations

from math import exp, log

import pytest

from profilegen.engine.speed import one_load, own_line
from profilegen.history.records import SetRecord
from profilegen.norms.catalogue import Figure
from tests.engine.handmade import NORMS

SQUAT = NORMS.speed["squat"]


def line_with(**values: float) -> dict[str, Figure]:
    return {**SQUAT, **{name: Figure(value, "set by a test") for name, value in values.items()}}


def squats(*shares: float, maximum_kg: float = 100.0) -> list[SetRecord]:
    """Squats that lie exactly on the published line."""
    return [
        SetRecord("back_squat", s * maximum_kg, speed_m_s=0.24 + 1.32 * (1.0 - s)) for s in shares
    ]


def error_in_percent(shares: tuple[float, ...], day_sd: float) -> float:
    """What `own_line` propagates, with only the errors the derivation has."""
    found = own_line(
        squats(*shares),
        line_with(
            speed_at_max_between_sd_m_s=0.0, speed_at_max_day_sd_m_s=day_sd, log_sd_own_max=0.0
        ),
    )
    assert found is not None
    return 100.0 * found[1]


@pytest.mark.parametrize(
    ("shares", "line_only", "together"),
    [
        # 50, 80: mean 65, Sxx 450, 0.03 sqrt(1/2 + 35^2 / 450) / 0.0132 = 4.08; with 3.79: 5.57
        ((0.5, 0.8), 4.1, 5.6),
        ((0.5, 0.6, 0.7, 0.8), 3.7, 5.3),
        # 60 ... 90: mean 75, Sxx 500, 0.03 sqrt(1/4 + 25^2 / 500) / 0.0132 = 2.78; both: 4.70
        ((0.6, 0.7, 0.8, 0.9), 2.8, 4.7),
    ],
)
def test_the_error_of_a_lifters_own_line_is_the_propagated_one(
    shares: tuple[float, ...], line_only: float, together: float
) -> None:
    assert error_in_percent(shares, day_sd=0.0) == pytest.approx(line_only, abs=0.06)
    assert error_in_percent(shares, day_sd=0.05) == pytest.approx(together, abs=0.06)


def test_squats_on_the_published_line_give_back_the_maximum() -> None:
    found = own_line(squats(0.5, 0.7, 0.85, maximum_kg=160.0), SQUAT)
    assert found is not None
    assert exp(found[0]) == pytest.approx(160.0, rel=1e-9)


def test_a_lifters_own_line_never_claims_more_than_the_norms_allow() -> None:
    """However straight the line, the maximum is not known better than 5.5 %."""
    found = own_line(squats(0.3, 0.4, 0.6, 0.8, 0.9), SQUAT)
    assert found is not None
    assert found[1] >= SQUAT["log_sd_own_max"].value


def test_a_line_under_the_heaviest_load_made_is_lifted_to_it() -> None:
    """Who squatted 100 kg can squat 100 kg, whatever the line says."""
    found = own_line(
        [SetRecord("back_squat", 60.0, speed_m_s=0.9), SetRecord("back_squat", 100.0,
         speed_m_s=0.2)], SQUAT,
    )  # fmt: skip
    assert found is not None
    assert found[0] == pytest.approx(log(100.0))


@pytest.mark.parametrize(
    ("entries", "why"),
    [
        (squats(0.8, 0.9), "speeds 0.13 m/s apart amplify their noise"),
        (squats(0.3, 0.6), "the heaviest load is under 70 % of the maximum"),
        (squats(0.8, 0.8), "one load draws no line"),
        (
            [
                SetRecord("back_squat", 80.0, speed_m_s=0.4),
                SetRecord("back_squat", 100.0, speed_m_s=0.6),
            ],
            "faster with more weight is a mistake",
        ),
    ],
)
def test_loads_that_draw_no_usable_line_are_refused(entries: list[SetRecord], why: str) -> None:
    assert own_line(entries, SQUAT) is None, why


def test_the_least_gap_of_speeds_is_the_references() -> None:
    """Refuse when the two speeds are under about 0.15 m/s apart."""
    assert SQUAT["least_gap_m_s"].value == 0.15


def test_one_reading_is_read_off_the_published_slope() -> None:
    """At 0.24 m/s the bar is at the maximum; each 0.132 m/s faster is a tenth lighter."""
    assert one_load(0.24, SQUAT) == (pytest.approx(1.0), 0.075)
    assert one_load(0.372, SQUAT) == (pytest.approx(0.9), 0.075)


def test_a_bar_slower_than_a_maximum_is_a_maximum() -> None:
    assert one_load(0.15, SQUAT) == (1.0, 0.075)


def test_a_fast_light_set_says_nothing_of_the_maximum() -> None:
    assert one_load(0.24 + 1.32 * 0.4, SQUAT) is None
