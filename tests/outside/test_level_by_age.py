"""What children and masters are expected to lift before any evidence, against published results."""

from __future__ import annotations

from datetime import date
from math import exp

import numpy as np
import pytest

from profilegen.engine.prior import Prior, prior_for
from profilegen.history.records import Athlete, Session, Sex
from profilegen.norms.catalogue import load_norms

NORMS = load_norms()
TODAY = date(2026, 11, 21)


def prior(sex: Sex, age: int, kg: float) -> Prior:
    born = date(TODAY.year - age, TODAY.month, TODAY.day)
    athlete = Athlete("x", "x", sex, born=born, sessions=(Session(on=TODAY, body_mass_kg=kg),))
    return prior_for(athlete, NORMS, TODAY)


def total_kg(known: Prior) -> float:
    kg = dict(zip(known.lift_ids, np.exp(known.level_mean + known.log_share), strict=True))
    return float(kg["snatch"] + min(kg["clean"], kg["jerk"]))


@pytest.mark.parametrize(("sex", "median_kg"), [("M", 54.0), ("F", 51.0)])
def test_a_child_of_ten_is_expected_to_total_what_nationals_see(sex: Sex, median_kg: float) -> None:
    """Median totals at age 10, United States nationals (Huebner & Perperoglou 2020, abstract);
    33 kg is a usual body mass at that age (from memory)."""
    assert total_kg(prior(sex, 10, 33.0)) == pytest.approx(median_kg, rel=0.05)


@pytest.mark.parametrize(
    ("sex", "age", "share"),
    [("M", 40, 0.947), ("M", 60, 0.723), ("F", 40, 0.952), ("F", 60, 0.604)],
)
def test_masters_are_expected_to_have_declined_as_published(
    sex: Sex, age: int, share: float
) -> None:
    """Performance relative to age 35 (Huebner et al. 2019, abstract)."""
    then, now = (prior(sex, years, 75.0).level_mean for years in (35, age))
    assert exp(now - then) == pytest.approx(share, abs=0.005)


@pytest.mark.parametrize("sex", ["M", "F"])
def test_children_are_expected_to_lift_more_with_every_year(sex: Sex) -> None:
    levels = [prior(sex, age, 40.0).level_mean for age in range(7, 21)]
    assert levels == sorted(levels)
