"""One round of learning the sites of clean and jerks, which speak of two capacities at once.

That the clean or the jerk is the smaller speaks of one number, jerk - clean, and its site is
kept in that number: as a matrix it would have to be singular, which rounding does not respect.

Shapes as in cases.py: arrays lead with the case; n pairs, the first k of them maximal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from profilegen.engine.arrays import Floats, Ints
from profilegen.engine.frame import Frame
from profilegen.engine.sites import cut_moments, either_missed_moments

_DAMPING = 0.8
"""Several attempts of a day share one clean and jerk; larger steps would swing past."""
_LEAST_LEFT = 1e-9
"""Of what the others know of jerk - clean once a site is taken out, as a share."""


@dataclass(frozen=True, slots=True)
class LearntPairs:
    """The pairs' sites after a step, and what all else says of them."""

    t: Floats
    """float[S, n, 2, 2]."""
    h: Floats
    """float[S, n, 2]."""
    c: Floats
    """float[S, n], for the sites before the step."""
    mean: Floats
    """Of clean and jerk without the site, float[S, n, 2]."""
    cov: Floats
    off: Floats
    """By how much a site alone would move its capacities, float[S, n]."""

    @classmethod
    def of(
        cls, frame: Frame, mean: Floats, cov: Floats, t: Floats, h: Floats, alive: Ints, pace: float
    ) -> LearntPairs:
        """From each case's Gaussian over the active capacities and the sites t, h in it."""
        at, k = frame.pair_at, frame.terms.pair.n_minimum
        if not len(at):
            nothing = np.zeros((len(t), 0))
            return cls(t, h, nothing, h, t, nothing)
        mu, marginal = mean[:, at], cov[:, at[:, :, None], at[:, None, :]]
        first, last = slice(0, k), slice(k, None)
        pace *= _DAMPING
        sign: Floats = np.where(frame.smaller[alive] == 0, 1.0, -1.0)[:, None]
        parts = []
        if k:
            parts.append(
                _orders(mu[:, first], marginal[:, first], t[:, first], h[:, first], sign, pace)
            )
        if k < len(at):
            parts.append(
                _eithers(frame, mu[:, last], marginal[:, last], t[:, last], h[:, last], pace)
            )
        names = cls.__slots__
        return cls(*(np.concatenate([getattr(p, n) for p in parts], axis=1) for n in names))


def _orders(
    mu: Floats, marginal: Floats, t: Floats, h: Floats, sign: Floats, pace: float
) -> LearntPairs:
    """Which of the two is the smaller; sites on g = jerk - clean."""
    along = marginal[..., 1] - marginal[..., 0]
    var = along[..., 1] - along[..., 0]
    g = mu[..., 1] - mu[..., 0]
    own_t, own_h = t[..., 1, 1], h[..., 1]
    left = 1.0 - own_t * var
    ok = (var > 0.0) & (left > _LEAST_LEFT)
    var, left = np.where(ok, var, 1.0), np.where(ok, left, 1.0)
    m, v = (g - own_h * var) / left, var / left
    log_z, new_m, new_v = cut_moments(m, v, sign)
    aim_t, aim_h = 1.0 / new_v - 1.0 / v, new_m / new_v - m / v
    new_t = own_t + np.where(ok, pace * (aim_t - own_t), 0.0)
    new_h = own_h + np.where(ok, pace * (aim_h - own_h), 0.0)
    c = log_z + 0.5 * (m * m / v + np.log(v)) - 0.5 * (g * g / var + np.log(var))
    moved = np.where(ok, (g * own_t - own_h) / left, 0.0)
    wider = np.where(ok, own_t / left, 0.0)
    off = np.abs(new_m - g) + np.abs(np.sqrt(new_v) - np.sqrt(var))
    return LearntPairs(
        new_t[..., None, None] * np.array([[1.0, -1.0], [-1.0, 1.0]]),
        new_h[..., None] * np.array([-1.0, 1.0]),
        np.where(ok, c, 0.0),
        mu + along * moved[..., None],
        marginal + along[..., :, None] * along[..., None, :] * wider[..., None, None],
        np.where(ok, off, 0.0),
    )


def _eithers(
    frame: Frame, mu: Floats, marginal: Floats, t: Floats, h: Floats, pace: float
) -> LearntPairs:
    """Missed, and nobody wrote which part."""
    pair, cases = frame.terms.pair, len(mu)
    precision = inverse_2x2(marginal)
    alone_t = precision - t
    alone_h = np.einsum("snij,snj->sni", precision, mu) - h
    ok = (_det(alone_t) > 0.0) & (alone_t[..., 0, 0] > 0.0)
    alone_t = np.where(ok[..., None, None], alone_t, np.eye(2))
    alone_h = np.where(ok[..., None], alone_h, 0.0)
    cov = inverse_2x2(alone_t)
    mean = np.einsum("snij,snj->sni", cov, alone_h)
    told = (np.tile(value[pair.n_minimum :], cases) for value in (pair.x, pair.sd, pair.fluke))
    found = either_missed_moments(mean.reshape(-1, 2), cov.reshape(-1, 2, 2), *told)
    log_z, new_mean, new_cov = (
        value.reshape(like.shape)
        for value, like in zip(found, (mu[..., 0], mu, marginal), strict=True)
    )
    aim_t = _proper_2x2(inverse_2x2(new_cov) - alone_t)
    aim_h = np.einsum("snij,snj->sni", alone_t + aim_t, new_mean) - alone_h
    ok &= np.isfinite(aim_t).all(axis=(2, 3)) & np.isfinite(aim_h).all(axis=2)
    new_t = t + np.where(ok[..., None, None], pace * (aim_t - t), 0.0)
    new_h = h + np.where(ok[..., None], pace * (aim_h - h), 0.0)
    c = log_z + 0.5 * (np.einsum("sni,sni->sn", alone_h, mean) - np.log(np.abs(_det(alone_t))))
    c -= 0.5 * np.einsum("sni,snij,snj->sn", mu, precision, mu)
    c -= 0.5 * np.log(np.maximum(_det(marginal), 1e-300))
    sd, aim_sd = (
        np.sqrt(np.abs(np.einsum("snii->sni", a))) for a in (marginal, inverse_2x2(alone_t + aim_t))
    )
    off = (np.abs(new_mean - mu) + np.abs(aim_sd - sd)).max(axis=2)
    return LearntPairs(new_t, new_h, np.where(ok, c, 0.0), mean, cov, np.where(ok, off, 0.0))


def _det(a: Floats) -> Floats:
    value: Floats = a[..., 0, 0] * a[..., 1, 1] - a[..., 0, 1] * a[..., 1, 0]
    return value


def inverse_2x2(a: Floats) -> Floats:
    """Inverses of float[..., 2, 2]."""
    turned = np.empty_like(a)
    turned[..., 0, 0], turned[..., 1, 1] = a[..., 1, 1], a[..., 0, 0]
    turned[..., 0, 1], turned[..., 1, 0] = -a[..., 0, 1], -a[..., 1, 0]
    inverted: Floats = turned / _det(a)[..., None, None]
    return inverted


def _proper_2x2(a: Floats) -> Floats:
    """Symmetric float[..., 2, 2] with eigenvalues below 0 raised to 0.

    Unlike a miss, a clean and jerk shares its two capacities with other days' ones: sites that
    widen would swing.
    """
    middle = 0.5 * (a[..., 0, 0] + a[..., 1, 1])
    half = np.hypot(0.5 * (a[..., 0, 0] - a[..., 1, 1]), a[..., 0, 1])
    high, low = (middle + half)[..., None, None], (middle - half)[..., None, None]
    # each eigenvalue's projection is A less the other one, scaled
    kept = np.maximum(high, 0.0) * (a - low * np.eye(2)) - np.maximum(low, 0.0) * (
        a - high * np.eye(2)
    )
    round_ = half[..., None, None] <= 1e-12 * np.abs(high)
    proper: Floats = np.where(
        round_, np.maximum(high, 0.0) * np.eye(2), kept / np.where(round_, 1.0, high - low)
    )
    return proper
