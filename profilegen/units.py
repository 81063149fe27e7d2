"""Units people lift and count in. Everything inside the program is in kilograms and days.

The international avoirdupois pound is exactly 0.45359237 kg (agreement of the national
standards laboratories of 1 July 1959).
"""

from __future__ import annotations

import math
from datetime import date

KG_PER_LB = 0.45359237
"""Exact by definition."""

LB_PER_KG = 1.0 / KG_PER_LB

DAYS_PER_YEAR = 365.25
"""Julian year: the mean length of a calendar year to within 0.01 day."""


def kg_to_lb(load_kg: float) -> float:
    """Pounds in `load_kg` kilograms.

    >>> kg_to_lb(0.45359237)
    1.0
    >>> round(kg_to_lb(100), 3)
    220.462
    """
    return load_kg / KG_PER_LB


def lb_to_kg(load_lb: float) -> float:
    """Kilograms in `load_lb` pounds.

    >>> lb_to_kg(100)
    45.359237
    """
    return load_lb * KG_PER_LB


def round_to_plate(load: float, step: float = 1.0) -> float:
    """The multiple of `step` nearest to `load`, in the same unit; halves go up.

    A bar takes steps of 1 kg in competition, 0.5 kg with record plates.

    >>> round_to_plate(84.4)
    84.0
    >>> round_to_plate(84.5)
    85.0
    >>> round_to_plate(186.5, step=2.5)
    187.5
    """
    if not (step > 0 and math.isfinite(step)):
        raise ValueError(f"step must be positive and finite, got {step}")
    return math.floor(load / step + 0.5) * step


def years_between(start: date, end: date) -> float:
    """Years from `start` to `end`, negative when `end` comes first.

    >>> years_between(date(2024, 1, 1), date(2026, 1, 1))
    2.001368925393566
    """
    return (end - start).days / DAYS_PER_YEAR
