"""Evenly spread points in the unit cube, the same on every machine and with every library version.

The curve bank is drawn from them. The sequence is Sobol's in the Antonov-Saleev (Gray code) order with the direction
numbers of S. Joe and F. Y. Kuo, "Constructing Sobol sequences with better two-dimensional projections", SIAM J. Sci.
Comput. 30(5):2635-2654, 2008, doi 10.1137/070709359.
"""

from __future__ import annotations

import numpy as np

BITS = 30
# Primitive polynomial (as the bits of its coefficients) and first direction integers, one line per dimension.
DIRECTIONS = (
    (1, (1,)),
    (3, (1,)),
    (7, (1, 3)),
    (11, (1, 3, 1)),
    (13, (1, 1, 1)),
    (19, (1, 1, 3, 3)),
    (25, (1, 3, 5, 13)),
    (37, (1, 1, 5, 5, 17)),
)


def sobol_points(count: int, dimensions: int) -> np.ndarray:
    """Return the first `count` points of the Sobol sequence, each moved to the middle of its cell.

    Parameters
    ----------
    count : int
        How many points, a power of two so that every margin is evenly covered.
    dimensions : int
        At most eight.

    Returns
    -------
    ndarray, shape (count, dimensions)
        Points strictly between 0 and 1.
    """
    if count < 1 or count & (count - 1):
        raise ValueError(f"the number of points is a power of two, not {count}")
    gray = np.arange(count, dtype=np.uint64)
    gray ^= gray >> np.uint64(1)
    points = np.zeros((dimensions, count), dtype=np.uint64)
    for row, directions in zip(points, map(_direction_numbers, range(dimensions)), strict=True):
        for bit in range(count.bit_length() - 1):
            row ^= np.where(gray >> np.uint64(bit) & np.uint64(1), directions[bit], np.uint64(0))
    return points.T / 2.0**BITS + 0.5 / count


def _direction_numbers(dimension: int) -> np.ndarray:
    polynomial, first = DIRECTIONS[dimension]
    if dimension == 0:
        return np.array([1 << (BITS - 1 - bit) for bit in range(BITS)], dtype=np.uint64)
    degree = len(first)
    numbers = list(first)
    for k in range(degree, BITS):
        value = numbers[k - degree] ^ (numbers[k - degree] << degree)
        for j in range(1, degree):
            if polynomial >> (degree - j) & 1:
                value ^= numbers[k - j] << j
        numbers.append(value)
    return np.array([number << (BITS - 1 - bit) for bit, number in enumerate(numbers)], dtype=np.uint64)
