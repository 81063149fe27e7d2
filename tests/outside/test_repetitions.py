"""The repetition chart against its printed sources."""

from __future__ import annotations

import pytest

from profilegen.norms.catalogue import load_norms

CHART = load_norms().rep_chart

# Training load chart of the National Strength and Conditioning Association, in % of a maximum,
# read in two web copies of the hand-out. It prints nothing for 11 repetitions.
ASSOCIATION = {1: 100, 2: 95, 3: 93, 4: 90, 5: 87, 6: 85, 7: 83, 8: 80, 9: 77, 10: 75, 12: 70}

# Maximum / load by Wathen (1994), 100 / (48.8 + 53.8 exp(-0.075 r)), as tabled in the references.
WATHEN = {8: 1.2767, 10: 1.3475, 12: 1.4150, 15: 1.5091}


@pytest.mark.parametrize(("reps", "percent"), ASSOCIATION.items())
def test_the_chart_is_the_associations(reps: int, percent: int) -> None:
    assert CHART[reps].value == pytest.approx(percent / 100)
    assert CHART[reps].source == "nsca_chart"


def test_beyond_the_chart_wathens_curve_continues_it() -> None:
    assert CHART[15].value == pytest.approx(1 / WATHEN[15], abs=6e-4)
    assert {reps for reps, f in CHART.items() if f.source == "equations_web"} == {
        11, *range(13, 21)
    }  # fmt: skip


def test_wathens_curve_agrees_with_the_chart_where_they_meet() -> None:
    """Within a percent of a maximum at 10 and 12 repetitions, so the seam does not show."""
    for reps in (10, 12):
        assert 1 / WATHEN[reps] == pytest.approx(ASSOCIATION[reps] / 100, abs=0.01)


def test_a_single_is_worth_itself() -> None:
    """Epley, O'Conner and Mayhew would add 2-9 % to a single; the chart must not."""
    assert CHART[1].value == 1.0
