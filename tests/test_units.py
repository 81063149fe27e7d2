"""Pounds, kilograms, plates and years."""

from __future__ import annotations

import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from profilegen import units

LOADS = st.floats(min_value=0, max_value=1000)


def test_the_pound_is_the_international_avoirdupois_pound() -> None:
    """Outside value: the CODATA/NIST table of units in scipy.constants."""
    assert pytest.approx(constants.lb, rel=1e-15) == units.KG_PER_LB
    assert pytest.approx(1 / constants.lb, rel=1e-15) == units.LB_PER_KG


@given(LOADS)
def test_there_and_back_is_the_same_load(load_kg: float) -> None:
    assert units.lb_to_kg(units.kg_to_lb(load_kg)) == pytest.approx(load_kg, rel=1e-15)


@given(LOADS, st.sampled_from([0.5, 1.0, 2.5]))
def test_a_rounded_load_can_be_put_on_the_bar_and_is_the_nearest(load: float, step: float) -> None:
    rounded = units.round_to_plate(load, step)
    assert rounded / step == math.floor(rounded / step)
    assert abs(rounded - load) <= step / 2 + 1e-9


@pytest.mark.parametrize("step", [0, -1, math.nan, math.inf])
def test_a_step_that_is_no_plate_is_refused(step: float) -> None:
    with pytest.raises(ValueError, match="step must be positive"):
        units.round_to_plate(80, step)


def test_years_are_signed() -> None:
    assert units.years_between(date(2026, 1, 1), date(2025, 1, 1)) == -365 / 365.25
