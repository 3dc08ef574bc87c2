"""Which squares of the fine lattice belong to a spot: candidates, joined and redrawn at half-way cover.

Candidates are places that are bare on all of the last dates, or wide places that are well below the lawn
and late. Those that the edge of the view cuts off are set apart first (borders.py). Of the others, pieces
with less than a shovel's width of turf between them are one place to the keeper who fills them. Each place is
then redrawn at the cover half-way between its own and that of the turf around it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.cover import straight_down
from swardmark.relevel.borders import Borders
from swardmark.relevel.cells import LATE_DAYS, LEAST_DROP, CellHistory, over_dates
from swardmark.relevel.outlines import BARE_COVER, Ground, local_cover

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

THINNEST_M = 0.10
"""Strips thinner than this (the square's rim, a seam between maps) are not spots."""
NARROWEST_LATE_M = 0.30
"""A half-covered place that is narrower closes by itself: zoysia's runners grow 19-65 mm a week from each
side (Okeyo et al. 2011, HortScience 46(1):113)."""
JOIN_M = 0.25
"""Pieces nearer to each other than a shovel's width are one place (our judgment)."""
LEAST_CORE = 0.2
"""Bare ground goes on from a candidate, as far as the eye follows it, where a fifth of the whole is one."""
LEAST_BARE_M2 = 0.01
"""Crumbs of bare ground that come to less are no spot, however wide the place is that they are joined to."""
SURROUND_M = 0.25
"""The turf around a spot is looked at up to this far from it."""


@dataclass(frozen=True, eq=False)
class Place:
    """One place on the fine lattice.

    Attributes
    ----------
    region : ndarray of bool, shape (rows, cols)
        Its fine squares.
    level : float
        The cover that its outline follows.
    is_lawn : bool
        False where it is cut off by the edge of the view and is rather a path or a bed.
    """

    region: Mask
    level: float
    is_lawn: bool


def bare_places(
    ground: Ground,
    searched: Mask,
    history: CellHistory,
    sharp: Floats,
    borders: Borders,
    *,
    cell_m: float,
    view_deg: Floats,
) -> Iterator[Place]:
    """Yield each place that stayed bare or lagged, with those that are hardly lawn first.

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
    borders : Borders
        Tells what is hardly lawn.
    cell_m : float
        Side of a cell, in meters.
    view_deg : ndarray, shape (rows, cols)
        View zenith angles, in degrees.
    """
    from scipy import ndimage

    seeds = _candidates(ground, searched, history, cell_m, view_deg)
    turf = searched & ~ndimage.binary_dilation(seeds, iterations=2)
    drawn = _Drawing(sharp, seeds, turf, BARE_COVER * history.lawn_cover, cell_m, ground.step_m)
    taken = np.zeros(searched.shape, bool)
    for region, level in drawn.places(seeds, searched, join=False):
        if borders.is_no_lawn(region, region & seeds):
            taken |= region
            yield Place(region, level, is_lawn=False)
    near = _within(taken, THINNEST_M / ground.step_m) if taken.any() else taken
    for region, level in drawn.places(seeds & ~near, searched & ~taken, join=True):
        yield Place(region, level, is_lawn=True)


@dataclass(frozen=True, eq=False)
class _Drawing:
    """Redraws candidates on the narrow window's cover."""

    sharp: Floats
    seeds: Mask
    turf: Mask
    bare_cover: float
    cell_m: float
    step_m: float

    @cached_property
    def bare(self) -> NDArray[np.int32]:
        """The pieces of bare ground by number; 0 is none."""
        from scipy import ndimage

        bare = _opened(np.nan_to_num(self.sharp, nan=1.0) < self.bare_cover, THINNEST_M / self.step_m)
        return np.asarray(ndimage.label(bare)[0])

    @cached_property
    def sizes(self) -> NDArray[np.intp]:
        """Fine squares of each piece of bare ground."""
        return np.bincount(self.bare.ravel())

    def places(self, seeds: Mask, allowed: Mask, *, join: bool) -> Iterator[tuple[Mask, float]]:
        """Yield the connected places that candidates stand for, each once, with its outline's level."""
        from scipy import ndimage

        labels, count = ndimage.label(_joined(seeds, self.step_m) & allowed if join else seeds)
        taken = np.zeros(allowed.shape, bool)
        for number in range(1, count + 1):
            seed = (labels == number) & ~taken
            level = self._level_between(seed)
            if level is None:
                continue
            low = np.nan_to_num(self.sharp, nan=1.0) < level
            for region in self._redrawn(seed, low, allowed & ~taken, join=join):
                taken |= region
                if (region & low).sum() * self.step_m**2 >= LEAST_BARE_M2:
                    yield region, level

    def _level_between(self, seed: Mask) -> float | None:
        """Return the cover half-way between a place and the turf around it; None where they differ little."""
        known = np.isfinite(self.sharp)
        around = _within(seed, SURROUND_M / self.step_m) & self.turf & known if seed.any() else seed
        if not around.any() or not (seed & known).any():
            return None
        inner, outer = (
            float(np.percentile(self.sharp[seed & known], 20)),
            float(np.median(self.sharp[around])),
        )
        return max(self.bare_cover, (inner + outer) / 2) if outer - inner >= LEAST_DROP else None

    def _redrawn(self, seed: Mask, low: Mask, allowed: Mask, *, join: bool) -> Iterator[Mask]:
        from scipy import ndimage

        reach = _within(seed, self.cell_m / self.step_m) | self._bare_around(seed)
        near = _opened(low & allowed & reach, THINNEST_M / self.step_m)
        pieces, count = ndimage.label(ndimage.binary_fill_holes(near) & allowed)
        if join and count > 1:
            whole = ndimage.binary_fill_holes(_joined(pieces > 0, self.step_m))
            pieces, _ = ndimage.label(whole & allowed)
        for piece in np.unique(pieces[seed & (pieces > 0)]):
            yield pieces == piece

    def _bare_around(self, seed: Mask) -> Mask:
        """Return the bare ground that goes on from a place: the keeper sees one place, not its barest part."""
        touched = np.unique(self.bare[seed])
        cores = np.bincount(self.bare[self.seeds], minlength=self.sizes.size)
        whole = touched[(touched > 0) & (cores[touched] >= LEAST_CORE * self.sizes[touched])]
        return np.isin(self.bare, whole)


def _candidates(
    ground: Ground, searched: Mask, history: CellHistory, cell_m: float, view_deg: Floats
) -> Mask:
    side = max(1, round(cell_m / ground.step_m))
    seen = over_dates(local_cover(ground, history.late, searched, sd_m=cell_m / math.sqrt(12)), "max")
    wide = np.nan_to_num(straight_down(seen, view_deg, power=ground.slant), nan=1.0)
    is_late = _on_fine((history.lag_days >= LATE_DAYS) | ~history.is_covered, side, searched.shape)
    is_low = searched & (wide < history.low_limit)
    bare = _opened(is_low & (wide < history.bare_limit), THINNEST_M / ground.step_m)
    late = _opened(is_low & is_late, NARROWEST_LATE_M / ground.step_m)
    return bare | late


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
    import cv2

    radius = max(1, round(width / 2))
    away = np.arange(-radius, radius + 1) ** 2
    disk = (away + away[:, None] <= radius**2).astype(np.uint8)
    opened = cv2.erode(mask.astype(np.uint8), disk, borderType=cv2.BORDER_REFLECT)
    return np.asarray(cv2.dilate(opened, disk, borderType=cv2.BORDER_REFLECT) > 0)


def _within(mask: Mask, radius: float) -> Mask:
    from scipy import ndimage

    return np.asarray(ndimage.distance_transform_edt(~mask) <= radius)
