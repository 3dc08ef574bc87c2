"""Lawn or path? Bare ground that goes on beyond the edge of the view is told apart from bare lawn.

A path, a bed or a fence's foot is bare on every photo and nearly always runs out of the picture. Of a bare
place of the lawn that the edge cuts off neither the size nor the sand can be worked out. Both are therefore
left out, and shown as left out, unless something says that it is lawn: the keeper's outlines, grass on any
two photos since the sand, or lawn on a photo from before it or of another season. The limits are our judgment,
tried on drawn lawns.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.relevel.cells import CellHistory, over_dates
from swardmark.relevel.outlines import Ground, local_cover

Mask = NDArray[np.bool_]
Corners = Sequence[tuple[float, float]]

CUT_OFF_SHARE = 0.25
"""A place is cut off when a quarter of its rim lies on the edge of the view,"""
CUT_OFF_M = 0.25
"""or when it meets the edge over a quarter of a meter: a path is at least a foot's length wide."""
REACH_M = 0.06
"""Ground this near to the edge of the view is read unevenly from date to date."""
SOME_LEAF = 0.10
"""Where a tenth was leaf on two photos, grass grows; on one, the light of a photo alone can read so much on stone."""
ONCE_LAWN = 0.5
"""Ground that was leaf to this share on a photo from before the sand or of another season is lawn."""
MOSTLY = 0.5


@dataclass(frozen=True, eq=False)
class Borders:
    """What is known of the edge of the view, and of what is lawn.

    Attributes
    ----------
    ground : Ground
        This season's stack.
    view : ndarray of bool, shape (rows, cols)
        Ground that was read on the last dates; the square's own place is no edge.
    known_lawn : ndarray of bool, shape (rows, cols)
        Ground that is lawn by the keeper's word or by another season's photo.
    """

    ground: Ground
    view: Mask
    known_lawn: Mask

    def meets_edge(self, region: Mask) -> bool:
        """Whether a place reaches the edge of the view at all."""
        return self._on_edge(region)[0] > 0

    def is_no_lawn(self, region: Mask, core: Mask) -> bool:
        """Whether a place is cut off by the edge of the view and nothing says that it is lawn.

        Leaf is looked for in its `core`: along its rim the turf beside it is read with it.
        """
        meters, share = self._on_edge(region)
        if share <= CUT_OFF_SHARE and meters < CUT_OFF_M:
            return False
        points = self.ground.readable[:, core].sum(axis=1)
        leaf = self.ground.leaf[:, core].sum(axis=1) / np.maximum(points, 1)
        return bool(np.sort(leaf)[-2:][0] < SOME_LEAF and self.known_lawn[region].mean() < MOSTLY)

    def _on_edge(self, region: Mask) -> tuple[float, float]:
        """Return over how many meters, and with which share of its rim, a place meets the edge."""
        from scipy import ndimage

        width = max(1, round(REACH_M / self.ground.step_m))
        inside, view = np.pad(region, width + 1), np.pad(self.view, width + 1)
        rim = ndimage.binary_dilation(inside, iterations=width) & ~inside
        outside = (rim & ~view).sum()
        return float(outside) / width * self.ground.step_m, float(outside / max(rim.sum(), 1))


def borders_of(
    ground: Ground, seen: Mask, history: CellHistory, *, others: Ground, outlines: Sequence[Corners]
) -> Borders:
    """Gather what is known of the borders of the ground in view.

    Parameters
    ----------
    ground, others : Ground
        This season's stack, and the photos from before the sand and of other seasons on the same lattice; the
        latter may hold no date.
    seen : ndarray of bool, shape (rows, cols)
        Ground that was seen on most dates.
    history : CellHistory
        It names the last dates.
    outlines : sequence of sequence of (x, y)
        What the keeper drew as lawn, in meters.
    """
    from scipy import ndimage
    from shapely import Polygon, unary_union

    late = seen & (ground.readable[history.late] > 0).any(axis=0)
    view = ndimage.binary_fill_holes(ndimage.binary_closing(np.pad(late, 3), iterations=2)[3:-3, 3:-3])
    known = ground.rasterise(unary_union([Polygon(corners).buffer(0) for corners in outlines]))
    dates = np.arange(len(others.leaf))
    if len(dates):
        known |= (
            np.nan_to_num(over_dates(local_cover(others, dates, seen, sd_m=CUT_OFF_M / math.sqrt(12)), "max"))
            >= ONCE_LAWN
        )
    return Borders(ground, np.asarray(view), known)
