"""Which squares of the fine lattice belong to a spot: candidates, joined and redrawn at half-way cover.

Candidates are places that are bare on all of the last dates, or wide places that are well below the lawn
and late. Pieces with less than a hand's width of thin turf between them are one place to the keeper who
fills them. Each place is then redrawn at the cover half-way between its own and that of the turf around it.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from swardmark.outlook.cells import LATE_DAYS, LEAST_DROP, CellHistory
from swardmark.outlook.outlines import Ground, local_cover

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

THINNEST_M = 0.10
"""Strips thinner than this (the square's rim, a seam between maps) are not spots."""
NARROWEST_LATE_M = 0.30
"""A half-covered place that is narrower closes by itself: zoysia's runners grow 19-65 mm a week from each
side (Okeyo et al. 2011, HortScience 46(1):113)."""
JOIN_M = 0.10
"""Pieces nearer to each other than this are one place."""
SURROUND_M = 0.25
"""The turf around a spot is looked at up to this far from it."""


def spot_regions(
    ground: Ground, searched: Mask, history: CellHistory, sharp: Floats, *, cell_m: float
) -> Iterator[tuple[Mask, float]]:
    """Yield each place's mask on the fine lattice, and the cover that its outline follows.

    Parameters
    ----------
    ground : Ground
        The stack on the fine lattice.
    searched : ndarray of bool, shape (rows, cols)
        Ground that is searched.
    history : CellHistory
        How the cells were covered.
    sharp : ndarray, shape (rows, cols)
        Local cover in a narrow window, on which outlines are drawn.
    cell_m : float
        Side of a cell, in metres.
    """
    from scipy import ndimage

    labels, count = ndimage.label(_candidates(ground, searched, history, cell_m))
    turf = searched & ~ndimage.binary_dilation(labels > 0, iterations=2)
    taken = np.zeros(searched.shape, bool)
    for number in range(1, count + 1):
        seed = (labels == number) & ~taken
        level = _level_between(seed, turf, sharp, ground.step_m)
        if level is None:
            continue
        for region in _redrawn(
            seed, np.nan_to_num(sharp, nan=1.0) < level, searched & ~taken, cell_m, ground.step_m
        ):
            taken |= region
            yield region, level


def _candidates(ground: Ground, searched: Mask, history: CellHistory, cell_m: float) -> Mask:
    side = max(1, round(cell_m / ground.step_m))
    wide = np.nan_to_num(local_cover(ground, history.late, searched, cell_m, "max"), nan=1.0)
    is_late = _on_fine((history.lag_days >= LATE_DAYS) | ~history.is_covered, side, searched.shape)
    is_low = searched & (wide < history.low_limit)
    bare = _opened(is_low & (wide < history.bare_limit), THINNEST_M / ground.step_m)
    late = _opened(is_low & is_late, NARROWEST_LATE_M / ground.step_m)
    return _joined(bare | late, ground.step_m) & searched


def _level_between(seed: Mask, turf: Mask, sharp: Floats, step_m: float) -> float | None:
    """Return the cover half-way between a place and the turf around it; None where they differ too little."""
    around = _within(seed, SURROUND_M / step_m) & turf & np.isfinite(sharp)
    own = sharp[seed & np.isfinite(sharp)]
    if not around.any() or not own.size:
        return None
    inner, outer = float(np.percentile(own, 20)), float(np.median(sharp[around]))
    return (inner + outer) / 2 if outer - inner >= LEAST_DROP else None


def _redrawn(seed: Mask, low: Mask, allowed: Mask, cell_m: float, step_m: float) -> Iterator[Mask]:
    """Yield the connected places of low cover that a candidate stands for."""
    from scipy import ndimage

    near = _opened(low & allowed & _within(seed, cell_m / step_m), THINNEST_M / step_m)
    pieces, count = ndimage.label(ndimage.binary_fill_holes(near) & allowed)
    if count > 1:
        pieces, _ = ndimage.label(_joined(pieces > 0, step_m) & allowed)
    for piece in np.unique(pieces[seed & (pieces > 0)]):
        yield pieces == piece


def _joined(mask: Mask, step_m: float) -> Mask:
    """Close gaps narrower than `JOIN_M`, without growing into the array's rim."""
    radius = JOIN_M / 2 / step_m
    margin = int(radius) + 2
    grown = _within(np.pad(mask, margin), radius)
    return (~_within(~grown, radius))[margin:-margin, margin:-margin] | mask


def _on_fine(cells: Mask, side: int, shape: tuple[int, ...]) -> Mask:
    return np.repeat(np.repeat(cells, side, axis=0), side, axis=1)[: shape[0], : shape[1]]


def _opened(mask: Mask, width: float) -> Mask:
    """Remove what is thinner than `width` fine squares."""
    from skimage.morphology import disk, opening

    return np.asarray(opening(mask.astype(np.uint8), disk(max(1, round(width / 2))))).astype(bool)


def _within(mask: Mask, radius: float) -> Mask:
    from scipy import ndimage

    return np.asarray(ndimage.distance_transform_edt(~mask) <= radius)
