"""The lift catalogue and every prior number, read from data files with sources.

lifts.yaml holds the numbers, sources.csv the sources they name. The loader refuses a
number without a source (a key of sources.csv, or the words "common practice").
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Quality = Literal["legs", "pull", "speed", "snatch_turnover", "clean_turnover", "overhead"]

QUALITIES: tuple[Quality, ...] = (
    "legs",
    "pull",
    "speed",
    "snatch_turnover",
    "clean_turnover",
    "overhead",
)

PRACTICE = "common practice"


@dataclass(frozen=True, slots=True)
class Figure:
    """A number and where it comes from."""

    value: float
    source: str
    """Key of sources.csv, or "common practice"."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Lift:
    """One lift of the catalogue and what the prior says about it."""

    id: str
    name: str
    """Display name in sentence case, e.g. "Snatch-grip deadlift"."""
    order: int
    """Place on the line from fast and light (small) to slow and heavy (large)."""
    family: str
    """snatch | clean | jerk | press | pull | deadlift | squat | overhead."""
    share: Figure
    """Usual load as a share of the clean (rho)."""
    own_sd: Figure
    """Between-lifter sd peculiar to this lift, log units (epsilon)."""
    loadings: Mapping[Quality, Figure]
    """Log change of the lift for one standard deviation of a quality (lambda)."""
    rep_kind: str
    """"strength" (reps tell a lot) or "quick" (reps beyond three only bound)."""
    fluke_rate: Figure
    """Share of misses that are not about capacity (beta)."""
    test_cost: Figure
    """Relative fatigue of one maximal test, snatch = 1."""
    aliases: tuple[str, ...] = ()
    bar_speed: str = "none"
    """Which load-speed relation applies: a key of the speed norms, or "none"."""


@dataclass(frozen=True, slots=True)
class UsualRatio:
    """A ratio that coaches look at, with its usual range."""

    numerator: str
    denominator: str
    usual_low: float
    usual_high: float
    source: str
    low_means: str
    """A short sentence: what it usually points to when the ratio is low."""
    high_means: str


@dataclass(frozen=True, slots=True)
class Source:
    """One row of sources.csv."""

    key: str
    authors: str
    year: str
    title: str
    venue: str
    status: str


@dataclass(frozen=True, slots=True)
class Norms:
    """Everything the engine knows before it sees a lifter."""

    lifts: Mapping[str, Lift]
    """By id, in order from fast to slow; clean_and_jerk and total are not in it."""
    constants: Mapping[str, Figure]
    """Scalar model constants by name (level_sd, day_form_sd, ...)."""
    usual_ratios: tuple[UsualRatio, ...]
    sources: Mapping[str, Source]
    rep_chart: Mapping[int, Figure]
    """Share of a maximum by repetitions to failure: {1: 1.0, 2: .95, ...}."""
    yearly_gain: Mapping[str, tuple[tuple[float, float], ...]]
    """By sex: (age reached, usual log gain over that year), ascending."""
    speed: Mapping[str, Mapping[str, Figure]]
    """Load-speed relations by key: slope_m_s_per_share, speed_at_max_m_s, sds."""

    def constant(self, name: str) -> float:
        """The value of one scalar model constant."""
        return self.constants[name].value
