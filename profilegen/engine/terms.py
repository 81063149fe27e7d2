"""Rows of evidence stacked into arrays, and the Gaussian sites that stand in for them.

`stack` decides which capacities (lift on a day, with its form and place) are in play;
several rows may speak of one of them. The arrays of one kind of term are in the order of the
rows, so that one vectorised call handles each kind.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints
from profilegen.engine.evidence import Row, Term, TermKind
from profilegen.engine.prior import Features, Prior
from profilegen.norms.catalogue import QUALITIES

_IMPLIED_SDS = 2.5
"""A floor so many of its own sds under another one of the day adds nothing to it."""


@dataclass(frozen=True, slots=True)
class AboutTerms:
    """N(x; g, sd^2) on one capacity each."""

    point: Ints
    x: Floats
    sd: Floats
    row: Ints


@dataclass(frozen=True, slots=True)
class StepTerms:
    """Floors (sign +1, fluke 0) and misses (sign -1), gathered by what they speak of.

    All that one lift's rows say of one capacity makes one site of up to T terms, because an
    opener made and a heavier miss pull at the same number: point int[n], and float[n, T] with
    `there` bool[n, T] for the terms that exist; row int[n, T].
    """

    point: Ints
    x: Floats
    sd: Floats
    sign: Floats
    fluke: Floats
    row: Ints
    there: Bools

    def sharpest(self) -> Floats:
        """The least sd of each site's terms, float[n]; infinite for a site without any."""
        least: Floats = np.where(self.there, self.sd, np.inf).min(axis=1)
        return least

    def lone_misses(self) -> tuple[Ints, Ints]:
        """Site and term of every miss that is its site's only one and may have been a fluke."""
        may = self.there & (self.fluke > 0.0)
        site, term = np.nonzero(may & (may.sum(axis=1, keepdims=True) == 1))
        return site, term

    def some(self, sites: Ints) -> StepTerms:
        """The sites at `sites`."""
        return StepTerms(*(getattr(self, name)[sites] for name in self.__slots__))

    def settled(self, site: Ints, term: Ints, *, flukes: bool) -> StepTerms:
        """With these misses known to be flukes, which say nothing, or known to be none."""
        fluke, there = self.fluke.copy(), self.there.copy()
        if flukes:
            there[site, term] = False
        else:
            fluke[site, term] = 0.0
        return replace(self, fluke=fluke, there=there)


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
    about, pairs = found["about"], found["minimum"] + found["either"]
    return Stacked(
        features=features,
        about=AboutTerms(
            _ints([spots[0] for _, _, spots in about]),
            _floats([term.x for _, term, _ in about]),
            _floats([term.sd for _, term, _ in about]),
            _ints([number for number, _, _ in about]),
        ),
        step=_steps(
            rows, [(n, term, spots[0]) for n, term, spots in found["floor"] + found["missed"]]
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


def _steps(rows: Sequence[Row], found: Sequence[tuple[int, Term, int]]) -> StepTerms:
    """Gather floors and misses by capacity and by the lift whose rows they come from.

    Of the floors only those near the heaviest are kept: it implies the others.
    """
    sites: dict[tuple[int, str], list[tuple[int, Term]]] = {}
    heaviest: dict[tuple[int, str], float] = {}
    for number, term, point in found:
        if term.kind == "floor":
            site = point, rows[number].lift
            heaviest[site] = max(heaviest.get(site, -np.inf), term.x)
    for number, term, point in found:
        site = point, rows[number].lift
        if term.kind == "missed" or term.x > heaviest[site] - _IMPLIED_SDS * term.sd:
            sites.setdefault(site, []).append((number, term))
    shape = (len(sites), max((len(terms) for terms in sites.values()), default=1))
    x, sd, sign, fluke = np.zeros(shape), np.ones(shape), np.ones(shape), np.zeros(shape)
    row, there = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=bool)
    for i, terms in enumerate(sites.values()):
        for j, (number, term) in enumerate(terms):
            x[i, j], sd[i, j], fluke[i, j] = term.x, term.sd, term.fluke
            sign[i, j] = 1.0 if term.kind == "floor" else -1.0
            row[i, j], there[i, j] = number, True
    return StepTerms(_ints([point for point, _ in sites]), x, sd, sign, fluke, row, there)


def _ints(values: Sequence[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _floats(values: Sequence[float]) -> Floats:
    return np.array(values, dtype=float)
