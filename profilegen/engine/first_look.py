"""Before the fit: how fast this lifter changes, and which rows are slips of the pen.

Most lifters change slowly, so that last year's rows tell much of today. A beginner in a first
year or a lifter back from an injury does not, and rows half a year old would hold them where they
were. And a slipped digit (12 for 120) would drag a whole profile along. Both show in how well the
rows that say how much agree with each other, which for a Gaussian process is one factorisation
(Rasmussen & Williams 2006, eqs. 2.30 and 5.10-5.12): the pace is the likeliest of three, and a row
is a slip when all others make it less likely than a load picked at random.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from scipy.special import log_ndtr

from profilegen.engine.arrays import Floats, Ints, inverse
from profilegen.engine.choice import with_choices
from profilegen.engine.evidence import Row
from profilegen.engine.prior import Features, Prior
from profilegen.engine.terms import features_at
from profilegen.norms.catalogue import Norms

Pace = Literal["steady", "changing", "unsettled"]

_PART_SD = 0.04
"""A clean and jerk is the smaller of two lifts; here it stands for the clean, give or take this
(common practice, no source)."""
_LEAST_GAP = 0.25
"""Log units: what lies within 28 % of what the others say is unusual, not a slip (common
practice, no source)."""
_HEARSAY = ("told", "seen")
_LEAST_GAP_HEARSAY = 0.08
"""The same for what somebody told: what agrees within 8 % may stay."""
_MOST_SLIPS = 3
"""More than these, and more than a tenth of the rows, are no slips: then rows contradict each
other, and leaving some out would only pick a side."""
_LEAST_OTHERS = 3
"""Statements that must stand against a row: of two that disagree, nobody knows which is wrong."""
_LOG_2PI = float(np.log(2.0 * np.pi))


@dataclass(frozen=True, slots=True)
class Slip:
    """A row left out."""

    row: Row
    expected: float
    """What all other rows say, log kg."""


@dataclass(frozen=True, slots=True)
class FirstLook:
    """What the fit starts from."""

    prior: Prior
    """At the lifter's own pace."""
    pace: Pace
    rows: tuple[Row, ...]
    """Without slips; with what choosing a load says (choice.py)."""
    slips: tuple[Slip, ...]

    @classmethod
    def at(cls, prior: Prior, rows: Sequence[Row], norms: Norms) -> FirstLook:
        """At all rows of a lifter, as written."""
        # what somebody was told says nothing of how fast a lifter changes
        measured = [row for row in rows if row.kind not in _HEARSAY]
        looks = [_without_slips(_paced(prior, pace, norms), measured, norms) for pace in _PACES]
        odds = [
            look.log_evidence + _log_share(p, norms) for look, p in zip(looks, _PACES, strict=True)
        ]
        best = int(np.argmax(odds))
        look = _without_slips(looks[best].says.prior, rows, norms, floors=True)
        return cls(look.says.prior, _PACES[best], look.says.rows, look.slips)


_PACES: tuple[Pace, ...] = ("steady", "changing", "unsettled")


def _paced(prior: Prior, pace: Pace, norms: Norms) -> Prior:
    if pace == "steady":
        return prior
    sd = norms.constant(f"level_drift_sd_{pace}")
    return replace(
        prior,
        drift_sd_adult=max(prior.drift_sd_adult, sd),
        drift_sd_junior=max(prior.drift_sd_junior, sd),
    )


def _log_share(pace: Pace, norms: Norms) -> float:
    others = {name: norms.constant(f"{name}_share") for name in _PACES[1:]}
    return float(np.log(others.get(pace, 1.0 - sum(others.values()))))


@dataclass(frozen=True, slots=True)
class _Look:
    """Rows without slips at one pace."""

    says: _Statements
    slips: tuple[Slip, ...]
    log_evidence: float
    """Of all rows, slips at their own chance."""


def _without_slips(
    prior: Prior, rows: Sequence[Row], norms: Norms, *, floors: bool = False
) -> _Look:
    """Leave out one row after the other, the least likely first; with `floors` also sets that
    were made far above anything else."""
    kept, slips, log_chance = list(rows), list[Slip](), 0.0
    first = says = _Statements.of(prior, with_choices(kept, norms))
    while worst := says.least_likely(norms) or (floors and says.highest_floor(norms)):
        number, expected = worst
        log_chance += _log_slip(kept[number], norms)
        slips.append(Slip(kept.pop(number), expected))
        says = _Statements.of(prior, with_choices(kept, norms))
    plain = sum(1 for slip in slips if slip.row.kind not in _HEARSAY)
    if plain > max(_MOST_SLIPS, len(rows) // 10):
        return _Look(first, (), first.log_evidence)
    return _Look(says, tuple(slips), says.log_evidence + log_chance)


def _log_slip(row: Row, norms: Norms) -> float:
    """Log density of a load at which a slip of the pen, or a boast, may leave a row."""
    kind = "hearsay_slip" if row.kind in _HEARSAY else "slip"
    return float(np.log(norms.constant(f"{kind}_share") / norms.constant(f"{kind}_log_range")))


@dataclass(frozen=True, slots=True)
class _Statements:
    """How well what n rows say agrees, and what is known of any capacity from them."""

    prior: Prior
    rows: tuple[Row, ...]
    number: Ints
    """Whose statement each is, int[n]."""
    x: Floats
    features: Features
    pull: Floats
    """(K + noise)^-1 of (what they say - prior mean)."""
    inverted: Floats
    expected: Floats
    """What all others say, log kg."""
    log_density: Floats
    """Of each given all others."""
    log_evidence: float

    @classmethod
    def of(cls, prior: Prior, rows: Sequence[Row]) -> _Statements:
        """Of the rows' terms that say how much."""
        found = [
            (number, row, term)
            for number, row in enumerate(rows)
            if (term := row.says_how_much) is not None
        ]
        features = features_at(prior, [(row, term.lifts[0]) for _, row, term in found])
        x = np.array([term.x for _, _, term in found])
        part = np.array([0.0 if term.kind == "about" else _PART_SD for _, _, term in found])
        noise = np.array([term.sd for _, _, term in found]) ** 2 + part**2
        away = x - prior.mean(features)
        inverted = inverse(prior.cov(features, features) + np.diag(noise))
        pull = inverted @ away
        var = 1.0 / np.diag(inverted)
        left = pull * var
        log_det = -float(np.linalg.slogdet(inverted)[1])
        return cls(
            prior,
            tuple(rows),
            np.array([number for number, _, _ in found], dtype=np.int64),
            x,
            features,
            pull,
            inverted,
            x - left,
            -0.5 * (left * left / var + np.log(var) + _LOG_2PI),
            -0.5 * (float(away @ pull) + log_det + len(x) * _LOG_2PI),
        )

    def least_likely(self, norms: Norms) -> tuple[int, float] | None:
        """The row that all others make least likely, and what they expect of it instead; None
        when every one is likelier than a slip, or hardly off."""
        said = [self.rows[number] for number in self.number.tolist()]
        slip = np.array([_log_slip(row, norms) for row in said])
        gap = np.array([_LEAST_GAP_HEARSAY if row.kind in _HEARSAY else _LEAST_GAP for row in said])
        off = np.abs(self.x - self.expected) > gap
        likelier = np.where(off, self.log_density - slip, np.inf)
        if len(said) <= _LEAST_OTHERS or likelier.min() > 0.0:
            return None
        worst = int(likelier.argmin())
        return int(self.number[worst]), float(self.expected[worst])

    def highest_floor(self, norms: Norms) -> tuple[int, float] | None:
        """The made set that the statements make least likely, and what they expect instead."""
        made = [
            (number, row, term)
            for number, row in enumerate(self.rows)
            for term in row.terms[:1]
            if term.kind == "floor" and row.says_how_much is None
        ]
        if not made or len(self.x) < _LEAST_OTHERS:
            return None
        features = features_at(self.prior, [(row, term.lifts[0]) for _, row, term in made])
        x, sd = np.array([(term.x, term.sd) for _, _, term in made]).T
        cross = self.prior.cov(features, self.features)
        mean = self.prior.mean(features) + cross @ self.pull
        var = self.prior.variance(features) - ((cross @ self.inverted) * cross).sum(axis=1)
        log_chance = log_ndtr((mean - x) / np.sqrt(np.maximum(var, 0.0) + sd * sd))
        log_chance = np.where(x - mean > _LEAST_GAP, log_chance, 0.0)
        worst = int(log_chance.argmin())
        slip = _log_slip(made[worst][1], norms)
        return (made[worst][0], float(mean[worst])) if log_chance[worst] < slip else None
