"""The opening round, in which all cases share one set of sites.

With one set of sites the cases differ only in their six lasting qualities, so that one solve and
as many six-by-six ones as there are cases give every case's Gaussian (Rasmussen & Williams 2006,
eqs. A.9-A.11). That is where a case's own sites start from, and it tells which cases are hopeless
before any sites of their own are learnt. There are two sets where the clean and the jerk can be
the smaller: that is a Gaussian row on one or the other.

Shapes as in cases.py; W sets of sites.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints, solve
from profilegen.engine.case_sites import CaseSites, Learnt, Solved, summed
from profilegen.engine.frame import N_ODD, Base, Frame

_LEADERS = 8
"""Cases that each set of sites is learnt from: those that weigh most."""


@dataclass(frozen=True, slots=True)
class Opening:
    """Some cases with the sites they share."""

    which: Ints
    """Numbers as in `Frame.odd_case`, int[S]."""
    sites: CaseSites
    solved: Solved
    log_weight: Floats
    """Log of prior times sites, integrated, up to one constant; float[S]."""

    @classmethod
    def of(cls, frame: Frame, base: Base, cut: float) -> Opening:
        """Learn the shared sites; cases within `cut` of the best in logs remain."""
        first = frame.firsts
        nothing = CaseSites.none(frame, first)
        known = _Shared.of(frame, base, nothing)
        best = np.argsort(-known.log_weight, axis=1, kind="stable")[:, :_LEADERS]
        leaders = (first[:, None] + best).ravel()
        own = nothing.map(leaders // N_ODD)
        own = Learnt.of(frame, known.solved(leaders), own, leaders, 1.0).sites
        weight = np.take_along_axis(known.log_weight, best, axis=1)
        weight = np.exp(weight - weight[:, :1])
        shared = own.pooled(weight / weight.sum(axis=1, keepdims=True))
        return cls.sharing(frame, base, shared, cut, np.ones(len(first), dtype=bool))

    @classmethod
    def sharing(
        cls, frame: Frame, base: Base, sites: CaseSites, cut: float, counts: Bools
    ) -> Opening:
        """The cases with W sets of sites, of those sets that count; within `cut` of the best with
        the same set."""
        known = _Shared.of(frame, base, sites)
        log_weight = known.log_weight + frame.log_share[frame.firsts][:, None]
        # sites say how much up to a factor, so that only cases with the same ones compare
        near = log_weight > log_weight.max(axis=1, keepdims=True) - cut
        which = np.flatnonzero(near & counts[:, None])
        own = sites.map(which // N_ODD)
        return cls(which, own, known.solved(which), log_weight.ravel()[which])


@dataclass(frozen=True, slots=True)
class _Shared:
    """Every case's Gaussian over the active capacities, W sets of sites times C odd cases."""

    log_weight: Floats
    """Log of prior times sites, integrated, up to one constant; float[W, C]."""
    t: Floats
    """Site precisions, float[W, A, A]."""
    h: Floats
    mean: Floats
    """With the lasting qualities where the Gaussian rows have them, float[W, A]."""
    gain: Floats
    """Change with the lasting qualities, float[W, A, 6]."""
    cov: Floats
    """Given them, float[W, A, A]."""
    moved: Floats
    """By how much the sites move the lasting qualities, float[W, C, 6]."""
    lasting_cov: Floats
    """float[W, C, 6, 6]."""

    @classmethod
    def of(cls, frame: Frame, base: Base, sites: CaseSites) -> _Shared:
        """One solve for each set of sites, and six by six ones for the cases."""
        active = slice(0, len(frame.active))
        about = base.lasting()
        rest, gain, m = about.rest[active, active], about.gain[active], base.mean[active]
        t, h = summed(frame, sites)
        system = np.eye(len(m)) + rest @ t
        both = np.concatenate((rest, gain), axis=1)
        solved = solve(system, np.broadcast_to(both, (len(t), *both.shape)))
        cov, gains = solved[..., : len(m)], solved[..., len(m) :]
        cov = 0.5 * (cov + cov.transpose(0, 2, 1))
        pull = h - t @ m
        mean = m + (cov @ pull[..., None])[..., 0]
        tells = gain.T @ t @ gains
        tells = 0.5 * (tells + tells.transpose(0, 2, 1))
        leads = (h - (t @ mean[..., None])[..., 0]) @ gain
        level = 0.5 * (pull * (mean - m)).sum(axis=1) - 0.5 * np.linalg.slogdet(system)[1]
        level += (h - 0.5 * (t @ m)) @ m - (leads + 0.5 * (tells @ about.mean)) @ about.mean
        of_way = []
        for tell, lead in zip(tells, leads, strict=True):
            to = about.precision @ about.mean + lead + tell @ about.mean
            of_way.append(frame.tail.weighed(about.precision + tell, to))
        return cls(
            np.stack([log_weight for log_weight, _ in of_way]) + level[:, None],
            t,
            h,
            mean,
            gains,
            cov,
            np.stack([lasting.mean for _, lasting in of_way]) - about.mean,
            np.stack([lasting.cov for _, lasting in of_way]),
        )

    def solved(self, which: Ints) -> Solved:
        """The cases at `which`, as if each had been solved by itself."""
        way, case = np.divmod(which, self.log_weight.shape[1])
        gain = self.gain[way]
        mean = self.mean[way] + (gain @ self.moved[way, case][..., None])[..., 0]
        cov = self.cov[way] + gain @ self.lasting_cov[way, case] @ gain.transpose(0, 2, 1)
        t, h = self.t[way], self.h[way]
        alpha = h - (t @ mean[..., None])[..., 0]
        return Solved(t, h, alpha, mean, cov)
