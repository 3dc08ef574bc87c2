"""The true cover of a zone: the same blades drawn straight down, and the covered share of the zone counted.

Cover is the vertical projection of living plant on the ground; dead straw does not count, and does not hide
a living blade below it. Nothing here knows how photos are measured.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from swardmark.practice.blades import Blades, as_strips
from swardmark.practice.raster import paint_strips

Floats = NDArray[np.floating]
_REACH_M = 0.12


def true_cover_pct(
    blades: Blades, outline_m: Sequence[tuple[float, float]] | Floats, *, cell_mm: float = 1.0
) -> float:
    """Return the share of a zone that living blades cover, seen straight down [%].

    Parameters
    ----------
    blades : Blades
        All blades of the lawn.
    outline_m : sequence of tuple
        The zone's corners [m], at least three.
    cell_mm : float
        Spacing of the points at which the ground is looked at [mm].

    Returns
    -------
    float
        0..100; NaN where the zone is too small to hold a point.
    """
    outline = np.asarray(outline_m, np.float64)
    inside, low, cell = _zone_mask(outline, cell_mm)
    if not inside.any():
        return float("nan")
    over = straight_down(blades, low, inside.shape, cell)
    return 100.0 * float(over[inside].mean())


def straight_down(
    blades: Blades, low: Floats, shape: tuple[int, int], cell_m: float, *, living: bool = True
) -> NDArray[np.bool_]:
    """Draw living blades straight down.

    Parameters
    ----------
    blades : Blades
        All blades of the lawn.
    low : ndarray, shape (2,)
        x and y of the point in row 0, column 0 [m].
    shape : tuple of int
        Rows (along y) and columns (along x).
    cell_m : float
        Spacing of the points [m].
    living : bool
        False draws the dead ones too.

    Returns
    -------
    ndarray of bool, shape (rows, cols)
        Where a blade covers the point.
    """
    high = low + cell_m * np.array(shape[::-1])
    root = blades.root[:, :2]
    near = ((root > low - _REACH_M) & (root < high + _REACH_M)).all(axis=1)
    chosen = np.flatnonzero(near & blades.living) if living else np.flatnonzero(near)
    some = blades.only(chosen)
    strips = as_strips(some, lambda points: (points[:, :2] - low) / cell_m)
    size = (shape[1], shape[0])
    return paint_strips(strips.start, strips.end, strips.half_start, strips.half_end, size=size) > 0


def _zone_mask(outline: Floats, cell_mm: float) -> tuple[NDArray[np.bool_], Floats, float]:
    """Return the zone's points on a lattice, the first point's place [m] and the spacing [m]."""
    import cv2

    cell = 1e-3 * cell_mm
    low = np.floor(outline.min(axis=0) / cell) * cell
    cols, rows = (int(n) for n in np.ceil((outline.max(axis=0) - low) / cell) + 1)
    corners = np.rint((outline - low) / cell * 16).astype(np.int32)
    mask = cv2.fillPoly(np.zeros((rows, cols), np.uint8), [corners], 1, shift=4)
    return mask > 0, low, cell
