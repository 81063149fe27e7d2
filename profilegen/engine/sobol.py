"""Sobol's points with a random linear scramble and shift, the same every run.

SciPy has them too (`scipy.stats.qmc.Sobol`), and gives the same points to the last bit, but
importing `scipy.stats` takes half of the time a short command needs. From more than
MOST_DIMENSIONS on SciPy is asked after all.

Sources: Sobol 1967; direction numbers of Joe & Kuo 2008 (set "new-joe-kuo-6"); Matousek 1998
(linear scramble with a digital shift).
"""

from __future__ import annotations

import numpy as np

from profilegen.engine.arrays import Floats

_BITS = 30
_NUMBERS = """
1
3 1
7 1 3
11 1 3 1
13 1 1 1
19 1 1 3 3
25 1 3 5 13
37 1 1 5 5 17
41 1 1 5 5 5
47 1 1 7 11 19
55 1 1 5 1 1
59 1 1 1 3 11
61 1 3 5 5 31
67 1 3 3 9 7 49
91 1 1 1 15 21 21
97 1 3 1 13 27 49
103 1 1 1 15 7 5
109 1 3 1 15 13 25
115 1 1 5 5 19 61
131 1 3 7 11 23 15 103
137 1 3 7 13 13 15 69
143 1 1 3 13 7 35 63
145 1 3 5 9 1 25 53
157 1 3 1 13 9 35 107
167 1 3 1 5 27 61 31
171 1 1 5 11 19 41 61
185 1 3 5 3 3 13 69
191 1 1 7 13 1 19 1
193 1 3 7 5 13 19 59
203 1 1 3 9 25 29 41
211 1 3 5 13 23 1 55
213 1 3 7 3 13 59 17
229 1 3 1 3 5 53 69
239 1 1 5 5 23 33 13
241 1 1 7 7 1 61 123
247 1 1 7 9 13 61 49
253 1 3 3 5 3 55 33
285 1 3 1 15 31 13 49 245
299 1 3 5 15 31 59 63 97
301 1 3 1 11 11 11 77 249
333 1 3 1 11 27 43 71 9
351 1 1 7 15 21 11 81 45
355 1 3 7 3 25 31 65 79
357 1 3 1 1 19 11 3 205
361 1 1 5 9 19 21 29 157
369 1 3 7 11 1 33 89 185
391 1 3 3 3 15 9 79 71
397 1 3 7 11 15 39 119 27
425 1 1 3 1 11 31 97 225
451 1 1 1 3 23 43 57 177
463 1 3 7 7 17 17 37 71
487 1 3 1 5 27 63 123 213
501 1 1 3 5 11 43 53 133
529 1 3 5 5 29 17 47 173 479
539 1 3 3 11 3 1 109 9 69
545 1 1 1 5 17 39 23 5 343
557 1 3 1 5 25 15 31 103 499
563 1 1 1 11 11 17 63 105 183
601 1 1 5 11 9 29 97 231 363
607 1 1 5 15 19 45 41 7 383
617 1 3 7 7 31 19 83 137 221
623 1 1 1 3 23 15 111 223 83
631 1 1 5 13 31 15 55 25 161
637 1 1 3 13 25 47 39 87 257
647 1 1 1 11 21 53 125 249 293
661 1 1 7 11 11 7 57 79 323
675 1 1 5 5 17 13 81 3 131
677 1 1 7 13 23 7 65 251 475
687 1 3 5 1 9 43 3 149 11
695 1 1 3 13 31 13 13 255 487
701 1 3 3 1 5 63 89 91 127
719 1 1 3 3 1 19 123 127 237
721 1 1 5 7 23 31 37 243 289
731 1 1 5 11 17 53 117 183 491
757 1 1 1 5 1 13 13 209 345
761 1 1 3 15 1 57 115 7 33
787 1 3 1 11 7 43 81 207 175
789 1 3 1 1 15 27 63 255 49
799 1 3 5 3 27 61 105 171 305
803 1 1 5 3 1 3 57 249 149
"""
"""One dimension a line: its primitive polynomial, leading and last bit included, then the first
direction numbers."""
_DIMENSIONS = tuple(tuple(map(int, line.split())) for line in _NUMBERS.strip().splitlines())
MOST_DIMENSIONS = len(_DIMENSIONS)


def sobol(n: int, dimensions: int, seed: int) -> Floats:
    """The first `n` points in the unit cube, float[n, dimensions]; `n` a power of two."""
    if dimensions > MOST_DIMENSIONS:
        from scipy.stats import qmc

        return np.asarray(qmc.Sobol(dimensions, scramble=True, seed=seed).random(n))
    random = np.random.default_rng(seed)
    powers = 2 ** np.arange(_BITS, dtype=np.uint32)
    bits = random.integers(2, size=(dimensions, _BITS), dtype=np.uint32)
    shift = bits @ powers
    mix = np.tril(random.integers(2, size=(dimensions, _BITS, _BITS), dtype=np.uint32), -1)
    mix |= np.eye(_BITS, dtype=np.uint32)
    plain = np.array([_directions(line) for line in _DIMENSIONS[:dimensions]])
    digits = (plain[:, :, None] >> np.arange(_BITS, dtype=np.uint32)[::-1]) & 1
    mixed = (mix[:, None] * digits[:, :, None, :]).sum(axis=3, dtype=np.uint32) & 1
    directions = mixed.astype(np.uint32) @ powers[::-1]
    # Gray code: each point differs from the one before by one direction
    number = np.arange(n, dtype=np.uint32)
    gray = number ^ (number >> 1)
    points = np.broadcast_to(shift, (n, dimensions)).astype(np.uint32)
    for bit in range(max(n - 1, 0).bit_length()):
        chosen = (gray >> bit) & 1
        points ^= chosen[:, None].astype(np.uint32) * directions[:, bit].astype(np.uint32)
    return np.asarray(points * 2.0**-_BITS, dtype=np.float64)


def _directions(line: tuple[int, ...]) -> list[int]:
    """Direction numbers of one dimension, scaled to _BITS bits (Joe & Kuo 2008, eq. 2)."""
    polynomial, *m = line
    degree = polynomial.bit_length() - 1
    if degree == 0:
        m = [1] * _BITS
    for k in range(len(m), _BITS):
        new = m[k - degree] ^ (m[k - degree] << degree)
        for i in range(1, degree):
            if (polynomial >> (degree - i)) & 1:
                new ^= m[k - i] << i
        m.append(new)
    return [value << (_BITS - 1 - k) for k, value in enumerate(m)]
