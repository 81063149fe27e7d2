"""Totals scaled for body mass: what must hold besides the published numbers."""

from __future__ import annotations

import math

import pytest

from profilegen.engine.standards import (
    SINCLAIR_CYCLES,
    SINCLAIR_DEFAULT,
    allometric,
    huebner_2023_coefficient,
    huebner_2023_in_range,
    scaled_totals,
    sinclair,
    sinclair_coefficient,
)
from profilegen.history.records import Sex
from profilegen.norms.catalogue import load_norms

SEXES: tuple[Sex, ...] = ("M", "F")


def test_the_default_cycle_was_read_in_a_source_and_is_the_newest_such() -> None:
    read = [cycle for cycle in SINCLAIR_CYCLES.values() if cycle.status == "read"]
    assert max(cycle.cycle for cycle in read) == SINCLAIR_DEFAULT


def test_a_cycle_that_was_read_names_its_source_and_the_others_say_memory() -> None:
    sources = load_norms().sources
    for cycle in SINCLAIR_CYCLES.values():
        assert (cycle.source in sources) == (cycle.status == "read")
        assert cycle.status == "read" or cycle.source == "from memory"


@pytest.mark.parametrize("sex", SEXES)
@pytest.mark.parametrize("cycle", SINCLAIR_CYCLES)
def test_the_lighter_of_two_equal_totals_scores_higher(sex: Sex, cycle: str) -> None:
    heaviest = SINCLAIR_CYCLES[cycle].b[sex]
    masses = [40.0, 60.0, 80.0, 100.0, heaviest]
    scores = [sinclair(200, sex, mass, cycle) for mass in masses]
    assert scores == sorted(set(scores), reverse=True)
    assert scores[-1] == 200
    just_under = sinclair_coefficient(sex, heaviest - 1e-6, cycle)
    assert just_under == pytest.approx(1.0, abs=1e-12)


def test_the_2023_scaling_knows_where_it_was_fitted() -> None:
    assert huebner_2023_in_range("M", 50.0)
    assert not huebner_2023_in_range("M", 49.9)
    assert huebner_2023_in_range("F", 41.0)
    assert not huebner_2023_in_range("F", 40.9)


@pytest.mark.parametrize(("sex", "body_mass"), [("M", 33.0), ("F", 26.0)])
def test_a_very_light_child_has_no_2023_score_but_no_crash_either(
    sex: Sex, body_mass: float
) -> None:
    with pytest.raises(ValueError, match="no value at a body mass"):
        huebner_2023_coefficient(sex, body_mass)
    scaled = scaled_totals(sex, body_mass, total_kg=60, low_kg=55, high_kg=65)
    assert [s.formula for s in scaled] == [f"Sinclair {SINCLAIR_DEFAULT}"]


def test_a_scaled_total_keeps_the_shape_of_its_interval_and_names_formula_and_source() -> None:
    scaled = scaled_totals("F", 63.0, total_kg=180, low_kg=170, high_kg=188)
    sources = load_norms().sources
    assert [s.formula for s in scaled] == ["Sinclair 2017-2020", "Huebner et al. 2023"]
    for s in scaled:
        assert s.source in sources
        assert s.in_range
        assert s.low / s.score == pytest.approx(170 / 180)
        assert s.high / s.score == pytest.approx(188 / 180)


def test_scaling_outside_the_fitted_range_is_flagged() -> None:
    sinclair_row, huebner_row = scaled_totals("M", 45.0, total_kg=90, low_kg=85, high_kg=95)
    assert sinclair_row.in_range
    assert not huebner_row.in_range
    assert not scaled_totals("M", 31.0, total_kg=50, low_kg=45, high_kg=55)[0].in_range


@pytest.mark.parametrize("body_mass", [0.0, -60.0, math.nan, math.inf])
def test_a_body_mass_that_is_none_is_refused(body_mass: float) -> None:
    for score in (
        lambda: sinclair(200, "M", body_mass),
        lambda: huebner_2023_coefficient("M", body_mass),
        lambda: allometric(200, body_mass, 0.64),
    ):
        with pytest.raises(ValueError, match="expected a body mass above 0 kg"):
            score()
