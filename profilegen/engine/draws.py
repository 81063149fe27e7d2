"""What draws are made from: quasi-random points, the same every run, and roots of covariances."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.special import ndtri

from profilegen.engine.arrays import Floats, Ints
from profilegen.engine.sobol import sobol


@lru_cache(maxsize=16)
def points_by_case(n: int, dimension: int) -> tuple[Floats, Floats, Ints]:
    """`n` (a power of two) points: what picks the case, float[n], ascending; and normals.

    Scrambled Sobol points with a fixed seed. Ascending picks put the draws of one case side by
    side. The normals are float[n, dimension]; last comes each point's place in Sobol's order, of
    which the first points are as even as all of them.
    """
    points: Floats = sobol(n, 1 + dimension, seed=20261)
    place = np.argsort(points[:, 0], kind="stable")
    points = points[place]
    pick, normal = points[:, 0].copy(), ndtri(np.clip(points[:, 1:], 1e-12, 1.0 - 1e-12))
    pick.flags.writeable = normal.flags.writeable = place.flags.writeable = False
    return pick, normal, place


def roots(cov: Floats) -> Floats:
    """Roots of covariances float[S, d, d] that rounding may have left a little improper."""
    proper = 0.5 * (cov + cov.transpose(0, 2, 1))
    size = proper.shape[1]
    least = 1e-12 * np.einsum("sii->s", proper) / size
    proper[:, np.arange(size), np.arange(size)] += least[:, None]
    try:
        return np.asarray(np.linalg.cholesky(proper), dtype=np.float64)
    except np.linalg.LinAlgError:
        values, vectors = np.linalg.eigh(proper)
        root: Floats = vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :]
        # the sign of an axis is open: fix it so that builds agree
        largest = np.abs(root).argmax(axis=1)
        sign = np.take_along_axis(root, largest[:, None, :], axis=1)
        return root * np.where(sign < 0.0, -1.0, 1.0)
