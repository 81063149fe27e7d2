"""Totals of lifters of different body mass made comparable by published formulas.

Three ways, from old to new: an allometric score (a power of body mass), the federation's
Sinclair coefficients (one set of constants per Olympic cycle), and the scaling of Huebner et
al. (2023). Each constant says whether it was read in a source or is quoted from memory.
Masters age factors are left out: the tables at hand disagree and none was verified.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from profilegen.engine.profile import Scaled
from profilegen.history.records import Sex

Status = Literal["read", "memory"]


@dataclass(frozen=True, slots=True)
class SinclairCycle:
    """Sinclair constants of one Olympic cycle."""

    cycle: str
    a: Mapping[Sex, float]
    """Curvature by sex, no unit."""
    b: Mapping[Sex, float]
    """Body mass by sex from which the coefficient is 1, kg."""
    status: Status
    """read: seen in `source`; memory: unchecked, to be said wherever it is used."""
    source: str
    """Key of norms/sources.csv, or "from memory"."""


def _cycle(
    cycle: str,
    men: tuple[float, float],
    women: tuple[float, float],
    status: Status = "memory",
    source: str = "from memory",
) -> tuple[str, SinclairCycle]:
    a: dict[Sex, float] = {"M": men[0], "F": women[0]}
    b: dict[Sex, float] = {"M": men[1], "F": women[1]}
    return cycle, SinclairCycle(cycle, MappingProxyType(a), MappingProxyType(b), status, source)


SINCLAIR_CYCLES: Mapping[str, SinclairCycle] = MappingProxyType(
    dict(
        (
            _cycle(
                "2001-2004",
                (0.938573813, 157.141),
                (1.005487664, 112.811),
                "read",
                "iwf_sinclair_2001",
            ),
            _cycle("2005-2008", (0.845716976, 168.091), (1.316081431, 107.844)),
            _cycle("2009-2012", (0.784780654, 173.961), (1.056683941, 125.441)),
            _cycle("2013-2016", (0.794358141, 174.393), (0.897260740, 148.026)),
            _cycle(
                "2017-2020",
                (0.751945030, 175.508),
                (0.783497476, 153.655),
                "read",
                "wikipedia_sinclair",
            ),
            _cycle("2021-2024", (0.722762521, 193.609), (0.787004341, 153.757)),
        )
    )
)
"""Cycles by name. Constants for 2025-2028 were not found."""

SINCLAIR_DEFAULT = "2017-2020"
"""The newest cycle whose constants were read in a source."""

_SINCLAIR_LIGHTEST_KG: Mapping[Sex, float] = {"M": 32.0, "F": 28.0}
"""The federation's page (iwf_sinclair_2001) extends the curve down to here as a guideline only."""

# Huebner et al. (2023): the form (body mass to the powers -2 and 2) was read in the abstract, the
# constants are from memory. Supported by a check on paper: the numerators are the model's values
# at 180 kg (men) and 160 kg (women). By sex: numerator, then constant, -2 and 2 terms.
_HUEBNER_2023: Mapping[Sex, tuple[float, float, float, float]] = {
    "M": (463.26, 416.7, 47.87, 18.93),
    "F": (306.54, 266.5, 19.44, 18.61),
}
_HUEBNER_LIGHTEST_KG: Mapping[Sex, float] = {"M": 50.0, "F": 41.0}
"""Lighter lifters lie outside the fitted range and the coefficient climbs fast."""


def sinclair_coefficient(sex: Sex, body_mass_kg: float, cycle: str = SINCLAIR_DEFAULT) -> float:
    """What a total is multiplied by: 10 ** (A X**2) with X = log10(body mass / b), 1 from b on.

    Federation page of the cycle 2001-2004 (iwf_sinclair_2001). Raises KeyError for a cycle not in
    SINCLAIR_CYCLES and ValueError for a body mass that is not a positive number.
    """
    _require_mass(body_mass_kg)
    constants = SINCLAIR_CYCLES[cycle]
    a, b = constants.a[sex], constants.b[sex]
    if body_mass_kg >= b:
        return 1.0
    return float(10.0 ** (a * math.log10(body_mass_kg / b) ** 2))


def sinclair(
    total_kg: float, sex: Sex, body_mass_kg: float, cycle: str = SINCLAIR_DEFAULT
) -> float:
    """Sinclair total in kg: what the lifter would make in the heaviest class. Errors as above."""
    return total_kg * sinclair_coefficient(sex, body_mass_kg, cycle)


def huebner_2023_coefficient(sex: Sex, body_mass_kg: float) -> float:
    """What a total is multiplied by after Huebner et al. (2023, huebner2023).

    men 463.26 / (416.7 - 47.87 B**-2 + 18.93 B**2), women 306.54 / (266.5 - 19.44 B**-2 +
    18.61 B**2), B = body mass / 100 kg; constants from memory. Fitted to seniors at
    international championships; see `huebner_2023_in_range`. Raises ValueError for a body mass
    that is not a positive number or so small that the formula has no value (34 kg, 27 kg).
    """
    _require_mass(body_mass_kg)
    numerator, constant, inverse, square = _HUEBNER_2023[sex]
    b2 = (body_mass_kg / 100.0) ** 2
    denominator = constant - inverse / b2 + square * b2
    if denominator <= 0.0:
        raise ValueError(f"the 2023 scaling has no value at a body mass of {body_mass_kg} kg")
    return numerator / denominator


def huebner_2023(total_kg: float, sex: Sex, body_mass_kg: float) -> float:
    """Total in kg scaled after Huebner et al. (2023). Errors as for the coefficient."""
    return total_kg * huebner_2023_coefficient(sex, body_mass_kg)


def huebner_2023_in_range(sex: Sex, body_mass_kg: float) -> bool:
    """Whether the formula was fitted there: from about 50 kg body mass (men), 41 kg (women)."""
    return body_mass_kg >= _HUEBNER_LIGHTEST_KG[sex]


def allometric(total_kg: float, body_mass_kg: float, exponent: float) -> float:
    """Total per body mass to a power, kg per kg**exponent (favours middle classes).

    The exponent is the norm `body_mass_exponent` (Challis 1999, world records on body mass).
    Raises ValueError for a body mass that is not a positive number.
    """
    _require_mass(body_mass_kg)
    return float(total_kg / body_mass_kg**exponent)


def scaled_totals(
    sex: Sex,
    body_mass_kg: float,
    *,
    total_kg: float,
    low_kg: float,
    high_kg: float,
    cycle: str = SINCLAIR_DEFAULT,
) -> tuple[Scaled, ...]:
    """The total and its interval by Sinclair and by Huebner et al. (2023), in that order.

    A formula without a value at this body mass is left out. Errors as for `sinclair_coefficient`.
    """
    constants = SINCLAIR_CYCLES[cycle]
    named = [
        (
            f"Sinclair {cycle}",
            sinclair_coefficient(sex, body_mass_kg, cycle),
            constants.source,
            body_mass_kg >= _SINCLAIR_LIGHTEST_KG[sex],
        )
    ]
    try:
        coefficient = huebner_2023_coefficient(sex, body_mass_kg)
    except ValueError:
        pass
    else:
        in_range = huebner_2023_in_range(sex, body_mass_kg)
        named.append(("Huebner et al. 2023", coefficient, "huebner2023", in_range))
    return tuple(
        Scaled(name, total_kg * by, low_kg * by, high_kg * by, source, in_range)
        for name, by, source, in_range in named
    )


def _require_mass(body_mass_kg: float) -> None:
    if not (math.isfinite(body_mass_kg) and body_mass_kg > 0.0):
        raise ValueError(f"expected a body mass above 0 kg, got {body_mass_kg}")
