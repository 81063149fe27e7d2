"""Names for the array types the engine hands around, and linear algebra typed with them."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Floats: TypeAlias = npt.NDArray[np.float64]
Ints: TypeAlias = npt.NDArray[np.int64]
Bools: TypeAlias = npt.NDArray[np.bool_]


def inverse(a: Floats) -> Floats:
    """Inverse of float[..., n, n]. Raises LinAlgError for a singular matrix."""
    return np.asarray(np.linalg.inv(a), dtype=np.float64)


def solve(a: Floats, b: Floats) -> Floats:
    """x with a x = b. Raises LinAlgError for a singular matrix."""
    return np.asarray(np.linalg.solve(a, b), dtype=np.float64)


def diagonal(a: Floats) -> Floats:
    """The diagonal of float[n, n] as a copy."""
    return np.asarray(np.diag(a), dtype=np.float64)
