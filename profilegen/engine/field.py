"""The lifter among rivals: what a field's two published results say of every other lift.

A rival is known by the best snatch and the best clean and jerk of one meet, read as this
lifter's own meet singles are: about the capacity of that day on the platform, the clean and
jerk being the smaller of clean and jerk. Body mass and sex move only the prior mean; the
prior covariance is the same for every rival. So the linear algebra is done once, for the 64
cases of usual and odd qualities (cavity.HeavyTail) times the two ways a clean and jerk can
be limited, and serves all rivals.

In each of these 128 cases the rival's lifts given the results are a Gaussian cut by a
half-plane (clean < jerk or the reverse), whose mean and variance have closed forms; the
mixture's mean and variance are therefore exact. The one approximation is its shape, which
is then taken as Gaussian. Results are read as of their day: what happened since is unknown.
A rival's age is unknown too: everyone counts as an adult.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from datetime import date, timedelta
from functools import lru_cache
from itertools import product

import numpy as np
from scipy.special import log_ndtr

from profilegen.engine.arrays import Floats, inverse
from profilegen.engine.prior import Features, Prior, prior_for
from profilegen.engine.sites import hazard
from profilegen.history.records import Athlete, Rival, Session, Sex
from profilegen.norms.catalogue import QUALITIES, Norms
from profilegen.units import DAYS_PER_YEAR

_PARTS = ("snatch", "clean", "jerk")
_FORM = 1


@dataclass(frozen=True, slots=True)
class Results:
    """What is published of n rivals: float[n] each, kilograms; sexes in the same order."""

    sex: tuple[Sex, ...]
    body_mass_kg: Floats
    snatch_kg: Floats
    clean_and_jerk_kg: Floats

    @classmethod
    def of(cls, rivals: Sequence[Rival]) -> Results:
        """The columns of the rows."""
        return cls(
            tuple(rival.sex for rival in rivals),
            np.array([rival.body_mass_kg for rival in rivals], dtype=float),
            np.array([rival.snatch_kg for rival in rivals], dtype=float),
            np.array([rival.clean_and_jerk_kg for rival in rivals], dtype=float),
        )

    def __len__(self) -> int:
        return len(self.body_mass_kg)


@dataclass(frozen=True, slots=True)
class FieldModel:
    """The prior of anyone in the field: covariances are shared, means are per rival."""

    prior: Prior
    norms: Norms
    day: float
    log_share: dict[tuple[Sex, bool], Floats]
    """By sex and "heavy": heavy women's usual snatch differs."""
    level: dict[Sex, float]
    """Usual level at the sex's reference mass."""
    solved: dict[tuple[bool, bytes], _Cases] = field(default_factory=dict, repr=False)
    """The linear algebra of what was asked before: every lifter of a squad asks the same."""

    @classmethod
    def of(cls, norms: Norms, on: date) -> FieldModel:
        """What all rivals share; worked out once for a squad."""
        return _field_model(_Itself(norms), on)

    @classmethod
    def worked_out(cls, norms: Norms, on: date) -> FieldModel:
        """The same, always anew."""
        heavy_kg = norms.constant("heavy_women_above_kg") + 1.0
        shares: dict[tuple[Sex, bool], Floats] = {}
        level: dict[Sex, float] = {}
        sexes: tuple[Sex, ...] = ("F", "M")
        for sex in sexes:
            anyone = _anyone(sex, norms.constant(f"reference_kg_{sex}"), norms, on)
            shares[sex, False], level[sex] = anyone.log_share, anyone.level_mean
            shares[sex, True] = _anyone(sex, heavy_kg, norms, on).log_share
        return cls(anyone, norms, float(on.toordinal()), shares, level)

    def lifts(self, lifts: Sequence[str]) -> Features:
        """Capacities of lifts, form and platform left out."""
        index = np.array([self.prior.lift_ids.index(lift) for lift in lifts])
        return self.prior.lift_features(index, np.full(len(index), self.day))

    def usual(self, results: Results, lifts: Sequence[str]) -> Floats:
        """Usual log kg for each rival's sex and body mass, float[n, len(lifts)]."""
        index = [self.prior.lift_ids.index(lift) for lift in lifts]
        constant = self.norms.constant
        heavy = results.body_mass_kg > constant("heavy_women_above_kg")
        reference = np.array([constant(f"reference_kg_{sex}") for sex in results.sex])
        base = np.array([self.level[sex] for sex in results.sex])
        base += constant("body_mass_exponent") * np.log(results.body_mass_kg / reference)
        shares = np.array(
            [
                self.log_share[sex, bool(is_heavy)][index]
                for sex, is_heavy in zip(results.sex, heavy, strict=True)
            ]
        ).reshape(len(results), len(index))
        usual: Floats = base[:, None] + shares
        return usual

    def deviations(
        self, results: Results, asked: Features, *, with_minimum: bool = False
    ) -> tuple[Floats, Floats]:
        """Posterior mean and variance of each functional minus its prior mean.

        Returns float[n, m] each; with_minimum adds a last column for the clean and jerk,
        counted from the usual clean.
        """
        if not len(results):
            empty = np.zeros((0, len(asked) + with_minimum))
            return empty, empty
        usual = self.usual(results, _PARTS)
        to_jerk = usual[:, 2] - usual[:, 1]
        key = with_minimum, b"".join(getattr(asked, n).tobytes() for n in asked.__slots__)
        cases = self.solved.get(key)
        if cases is None:
            cases = self.solved[key] = _Cases.of(self, asked, with_minimum)
        away = np.column_stack((np.log(results.snatch_kg), np.log(results.clean_and_jerk_kg)))
        return cases.moments(away - usual[:, :2], to_jerk, with_minimum)


@dataclass(frozen=True, slots=True, eq=False)
class _Itself:
    """Norms that equal nothing but themselves, as the key of what was worked out from them."""

    norms: Norms

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Itself) and self.norms is other.norms

    def __hash__(self) -> int:
        return id(self.norms)


@lru_cache(maxsize=4)
def _field_model(norms: _Itself, on: date) -> FieldModel:
    return FieldModel.worked_out(norms.norms, on)


def _anyone(sex: Sex, body_mass_kg: float, norms: Norms, on: date) -> Prior:
    """The prior of an adult, aged as rivals are taken to be, known by sex and body mass alone."""
    weighed = Session(on, body_mass_kg=body_mass_kg)
    born = on - timedelta(days=int(norms.constant("rival_age") * DAYS_PER_YEAR))
    return prior_for(Athlete("", "", sex, born, sessions=(weighed,)), norms, on)


@dataclass(frozen=True, slots=True)
class _Cases:
    """The linear algebra of all cases, half of them limited by the clean, half by the jerk.

    A case's lifts are mean + gain (r_snatch, r_part) + along h, where r are the results'
    residuals and h comes from the cut. Arrays float[cases, ...]; m functionals.
    """

    log_weight: Floats
    """Of the case before the results: which qualities are odd."""
    precision: Floats
    """Inverse covariance of the two results, float[cases, 2, 2]."""
    log_norm: Floats
    gain: Floats
    """float[cases, m, 2]."""
    var: Floats
    """Before the cut, float[cases, m]."""
    gap_gain: Floats
    """Of (other part - limiting part), float[cases, 2]."""
    gap_sd: Floats
    along: Floats
    """float[cases, m]: what one sd of the gap moves."""
    by_jerk: Floats
    """1 where the jerk limits, else 0."""

    @classmethod
    def of(cls, model: FieldModel, asked: Features, with_minimum: bool) -> _Cases:
        prior, constant = model.prior, model.norms.constant
        index = np.array([prior.lift_ids.index(part) for part in _PARTS])
        day = np.full(3, model.day)
        meet = prior.lift_features(index, day, form=np.full(3, _FORM), meet=np.ones(3))
        m = len(asked)
        everything = asked.joined(model.lifts(_PARTS[1:])).joined(meet)
        shared = prior.cov(everything, everything)
        loads = everything.loadings
        odd = prior.quality_lasting_var
        usual = odd * (constant("usual_quality_sd") / constant("odd_quality_sd")) ** 2
        is_usual = np.array(list(product((1.0, 0.0), repeat=len(QUALITIES))))
        share_odd = constant("odd_quality_share")
        weight = is_usual.sum(axis=1) * np.log1p(-share_odd)
        weight += (1.0 - is_usual).sum(axis=1) * np.log(share_odd)
        k = shared - np.einsum("iq,cq,jq->cij", loads, (odd - usual) * is_usual, loads)
        noise = np.eye(2) * constant("meet_single_sd") ** 2
        halves = [
            cls._limited_by(
                k,
                noise,
                weight,
                asked=[*range(m), *([m + by_jerk] if with_minimum else [])],
                pair=[m + 2, m + 3 + by_jerk],
                other=m + 4 - by_jerk,
                by_jerk=by_jerk,
            )
            for by_jerk in (0, 1)
        ]
        names = [one.name for one in fields(cls)]
        return cls(*(np.concatenate([getattr(half, name) for half in halves]) for name in names))

    @classmethod
    def _limited_by(
        cls,
        k: Floats,
        noise: Floats,
        weight: Floats,
        *,
        asked: list[int],
        pair: list[int],
        other: int,
        by_jerk: int,
    ) -> _Cases:
        """The cases limited by one part. k float[cases, N, N]; pair: the snatch and that part."""
        part = pair[1]
        precision = inverse(k[:, pair][:, :, pair] + noise)
        gap_to_pair = k[:, other][:, pair] - k[:, part][:, pair]
        gap_gain = np.einsum("cp,cpr->cr", gap_to_pair, precision)
        gap_var = k[:, other, other] + k[:, part, part] - 2.0 * k[:, other, part]
        gap_sd = np.sqrt(gap_var - (gap_gain * gap_to_pair).sum(axis=1))
        to_pair = k[:, asked][:, :, pair]
        gain = to_pair @ precision
        along = k[:, asked, other] - k[:, asked, part]
        along = (along - np.einsum("cip,cp->ci", gain, gap_to_pair)) / gap_sd[:, None]
        return cls(
            log_weight=weight,
            precision=precision,
            log_norm=0.5 * np.linalg.slogdet(precision)[1],
            gain=gain,
            var=k[:, asked, asked] - (gain * to_pair).sum(axis=2),
            gap_gain=gap_gain,
            gap_sd=gap_sd,
            along=along,
            by_jerk=np.full(len(k), float(by_jerk)),
        )

    def moments(
        self, residual: Floats, to_jerk: Floats, with_minimum: bool
    ) -> tuple[Floats, Floats]:
        """Mean and variance of every functional for n rivals, float[n, m] each.

        residual float[n, 2]: log results minus the usual snatch and the usual clean; to_jerk
        float[n]: usual log jerk minus usual log clean.
        """
        jerk = self.by_jerk
        first = residual[:, :1]
        second = residual[:, 1:] - to_jerk[:, None] * jerk
        p = self.precision
        fit = p[:, 0, 0] * first**2 + 2.0 * p[:, 0, 1] * first * second + p[:, 1, 1] * second**2
        gap = to_jerk[:, None] * (1.0 - 2.0 * jerk)
        gap = gap + first * self.gap_gain[:, 0] + second * self.gap_gain[:, 1]
        z = gap / self.gap_sd
        weight = self.log_weight + self.log_norm - 0.5 * fit + log_ndtr(z)
        weight = np.exp(weight - weight.max(axis=1, keepdims=True))
        weight /= weight.sum(axis=1, keepdims=True)
        h = hazard(z)

        # E d and E d^2 as sums over cases: matrix products, so no array is [n, cases, m]
        a, b, c = self.gain[:, :, 0], self.gain[:, :, 1], self.along
        w1, w2, wh = weight * first, weight * second, weight * h
        mean = w1 @ a + w2 @ b + wh @ c
        square = weight @ self.var - (wh * z) @ c**2
        square += (w1 * first) @ a**2 + (w2 * second) @ b**2
        square += 2.0 * ((w1 * second) @ (a * b) + (w1 * h) @ (a * c) + (w2 * h) @ (b * c))
        if with_minimum:
            # the jerk's own zero is the usual jerk; the column counts from the usual clean
            moved = to_jerk * (weight @ jerk)
            by_jerk = weight * jerk
            last = (by_jerk * first) @ a[:, -1] + (by_jerk * second) @ b[:, -1]
            last += (by_jerk * h) @ c[:, -1]
            square[:, -1] += 2.0 * to_jerk * last + to_jerk * moved
            mean[:, -1] += moved
        return mean, np.maximum(square - mean**2, 1e-12)
