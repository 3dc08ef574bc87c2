"""Cells of ground on a lattice of 20 cm: their size, the pieces that lie together, and what surrounds them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

CELL_M = 0.20


def pieces(where: Mask) -> list[Mask]:
    """Return the connected pieces of cells, one mask each."""
    from scipy import ndimage

    labels, count = ndimage.label(where, structure=np.ones((3, 3)))
    return [labels == label for label in range(1, count + 1)]


def with_rim(where: Mask) -> Mask:
    """Return cells and those beside them."""
    from scipy import ndimage

    return np.asarray(ndimage.binary_dilation(where, structure=np.ones((3, 3))))


def median_of(values: Floats, where: Mask) -> float:
    """Return the median of the finite values there; 0 where there are none."""
    seen = values[where & np.isfinite(values)]
    return float(np.median(seen)) if seen.size else 0.0


def area_m2(where: Mask) -> float:
    """Return how much ground cells are, square meters."""
    return float(where.sum()) * CELL_M**2
