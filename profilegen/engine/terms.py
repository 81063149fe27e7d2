"""Rows of evidence stacked into arrays, and the Gaussian sites that stand in for them.

`stack` decides which capacities (lift on a day, with its form and place) are in play;
several rows may speak of one of them. The arrays of one kind of term are in the order of the
rows, so that one vectorised call handles each kind.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints
from profilegen.engine.evidence import Row, Term, TermKind
from profilegen.engine.prior import Features, Prior
from profilegen.norms.catalogue import QUALITIES


@dataclass(frozen=True, slots=True)
class AboutTerms:
    """N(x; g, sd^2) on one capacity each."""

    point: Ints
    x: Floats
    sd: Floats
    row: Ints


@dataclass(frozen=True, slots=True)
class StepTerms:
    """Floors (sign +1, fluke 0) and misses (sign -1) on one capacity each."""

    point: Ints
    x: Floats
    sd: Floats
    sign: Floats
    fluke: Floats
    row: Ints


@dataclass(frozen=True, slots=True)
class PairTerms:
    """Rows on clean and jerk together: `minimum` terms first, then `either` terms.

    points int[n, 2] (clean, jerk); n_minimum: how many are `minimum`.
    """

    points: Ints
    x: Floats
    sd: Floats
    fluke: Floats
    row: Ints
    n_minimum: int


@dataclass(frozen=True, slots=True)
class Stacked:
    """All terms of the rows in play over N capacities.

    The last six functionals of `features` are the lasting parts of the qualities, where the
    heavy tails act.
    """

    features: Features
    about: AboutTerms
    step: StepTerms
    pair: PairTerms

    @property
    def lasting(self) -> slice:
        """Where the six lasting qualities stand among the N functionals."""
        return slice(len(self.features) - len(QUALITIES), None)

    def __len__(self) -> int:
        return len(self.features)


@dataclass(frozen=True, slots=True)
class Sites:
    """Gaussian stand-ins in natural parameters: precision t and precision x mean h.

    step_* float[n]; pair_t float[n, 2, 2], pair_h float[n, 2]; tail_t float[6, 6], tail_h
    float[6] for the heavy tails of the six lasting qualities together. `about` terms
    are Gaussian already: about_t = 1 / sd^2, about_h = x / sd^2.
    """

    about_t: Floats
    about_h: Floats
    step_t: Floats
    step_h: Floats
    pair_t: Floats
    pair_h: Floats
    tail_t: Floats
    tail_h: Floats

    @classmethod
    def start(cls, terms: Stacked) -> Sites:
        """Before anything is learnt: only the Gaussian terms speak."""
        n_step, n_pair = len(terms.step.x), len(terms.pair.x)
        return cls(
            about_t=1.0 / terms.about.sd**2,
            about_h=terms.about.x / terms.about.sd**2,
            step_t=np.zeros(n_step),
            step_h=np.zeros(n_step),
            pair_t=np.zeros((n_pair, 2, 2)),
            pair_h=np.zeros((n_pair, 2)),
            tail_t=np.zeros((len(QUALITIES), len(QUALITIES))),
            tail_h=np.zeros(len(QUALITIES)),
        )

    def towards(self, other: Sites, pace: float) -> Sites:
        """These sites moved part of the way (0-1) to others."""
        pairs = ((getattr(self, n), getattr(other, n)) for n in self.__slots__)
        return Sites(*(a + pace * (b - a) for a, b in pairs))

    def of_rows(self, terms: Stacked, kept: Bools) -> Sites:
        """The sites of the rows in `kept` (by row number) alone; heavy tails silenced too."""
        about, step, pair = kept[terms.about.row], kept[terms.step.row], kept[terms.pair.row]
        return Sites(
            self.about_t * about,
            self.about_h * about,
            self.step_t * step,
            self.step_h * step,
            self.pair_t * pair[:, None, None],
            self.pair_h * pair[:, None],
            np.zeros_like(self.tail_t),
            np.zeros_like(self.tail_h),
        )

    def system(self, terms: Stacked, k: Floats, m: Floats) -> tuple[Floats, Floats]:
        """I + S K float[N, N] and h - S m float[N] for all sites together."""
        matrix = self.times(terms, k)
        matrix.flat[:: len(m) + 1] += 1.0
        size = len(terms)
        h = _gathered(terms.about.point, self.about_h, size)
        h += _gathered(terms.step.point, self.step_h, size)
        pairs = terms.pair.points.ravel()
        h += _gathered(pairs, self.pair_h.ravel(), size)
        h[terms.lasting] += self.tail_h
        return matrix, h - self.times(terms, m[:, None])[:, 0]

    def spoken_of(self, terms: Stacked) -> Ints:
        """Index of the capacities that any site with weight speaks of."""
        said = np.zeros(len(terms), dtype=bool)
        said[terms.about.point[self.about_t != 0.0]] = True
        said[terms.step.point[self.step_t != 0.0]] = True
        said[terms.pair.points[self.pair_t.any(axis=(1, 2))]] = True
        said[terms.lasting] = self.tail_t.any()
        return np.flatnonzero(said)

    def times(self, terms: Stacked, x: Floats) -> Floats:
        """S x for float[N, m]: S is diagonal but for the pairs and the six qualities."""
        size = len(terms)
        diagonal = _gathered(terms.about.point, self.about_t, size)
        diagonal += _gathered(terms.step.point, self.step_t, size)
        p, t = terms.pair.points, self.pair_t
        if len(p):
            diagonal += _gathered(p[:, 0], t[:, 0, 0], size)
            diagonal += _gathered(p[:, 1], t[:, 1, 1], size)
        product: Floats = diagonal[:, None] * x
        if len(p):
            np.add.at(product, p[:, 0], t[:, 0, 1, None] * x[p[:, 1]])
            np.add.at(product, p[:, 1], t[:, 0, 1, None] * x[p[:, 0]])
        product[terms.lasting] += self.tail_t @ x[terms.lasting]
        return product


def _gathered(index: Ints, values: Floats, size: int) -> Floats:
    """Sums of `values` that share an index, float[size]."""
    return np.bincount(index, weights=values, minlength=size).astype(np.float64, copy=False)


def features_at(prior: Prior, places: Sequence[tuple[Row, str]]) -> Features:
    """The capacities of lifts on rows' days, with the rows' form and place."""
    index = {lift: i for i, lift in enumerate(prior.lift_ids)}
    return prior.lift_features(
        lift=_ints([index[lift] for _, lift in places]),
        day=_floats([row.on.toordinal() for row, _ in places]),
        form=_ints([row.form for row, _ in places]),
        meet=_floats([row.at == "meet" for row, _ in places]),
    )


def stack(prior: Prior, rows: Sequence[Row], used: Bools, today: float) -> Stacked:
    """Stack the terms of the rows marked in `used`."""
    points: dict[tuple[str, int, bool], int] = {}
    owners: list[tuple[Row, str]] = []
    found: dict[TermKind, list[tuple[int, Term, list[int]]]] = {
        kind: [] for kind in ("floor", "about", "missed", "minimum", "either")
    }
    for number in np.flatnonzero(used).tolist():
        row = rows[number]
        for term in row.terms:
            spots = []
            for lift in term.lifts:
                key = (lift, row.form, row.at == "meet")
                if key not in points:
                    points[key] = len(owners)
                    owners.append((row, lift))
                spots.append(points[key])
            found[term.kind].append((number, term, spots))

    features = features_at(prior, owners).joined(prior.quality_features(today, lasting=True))
    about, steps = found["about"], found["floor"] + found["missed"]
    pairs = found["minimum"] + found["either"]
    return Stacked(
        features=features,
        about=AboutTerms(
            _ints([spots[0] for _, _, spots in about]),
            _floats([term.x for _, term, _ in about]),
            _floats([term.sd for _, term, _ in about]),
            _ints([number for number, _, _ in about]),
        ),
        step=StepTerms(
            _ints([spots[0] for _, _, spots in steps]),
            _floats([term.x for _, term, _ in steps]),
            _floats([term.sd for _, term, _ in steps]),
            _floats([1.0 if term.kind == "floor" else -1.0 for _, term, _ in steps]),
            _floats([term.fluke for _, term, _ in steps]),
            _ints([number for number, _, _ in steps]),
        ),
        pair=PairTerms(
            np.array([spots for _, _, spots in pairs], dtype=np.int64).reshape(-1, 2),
            _floats([term.x for _, term, _ in pairs]),
            _floats([term.sd for _, term, _ in pairs]),
            _floats([term.fluke for _, term, _ in pairs]),
            _ints([number for number, _, _ in pairs]),
            len(found["minimum"]),
        ),
    )


def _ints(values: Sequence[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _floats(values: Sequence[float]) -> Floats:
    return np.array(values, dtype=float)
