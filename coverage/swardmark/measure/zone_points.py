"""Zones on the ground lattice: which points of a map lie inside an outline."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.index import GroundMap, Window
from swardmark.lawn.toml import Zone


@dataclass(frozen=True, eq=False)
class ZonePoints:
    """The lattice points inside a zone's outline, on the smallest window that holds them.

    Attributes
    ----------
    row0, col0 : int
        Lattice row and column of inside[0, 0].
    inside : ndarray of bool, shape (rows, cols)
        Which points of the window lie inside the outline.
    """

    row0: int
    col0: int
    inside: NDArray[np.bool_]

    def part_of(self, ground_map: GroundMap) -> tuple[slice, slice, NDArray[np.bool_]]:
        """Return the map's rows and columns that the window covers, and which of their points are inside."""
        own, (height, width) = self.inside, ground_map.values.shape
        top, left = self.row0 - ground_map.row0, self.col0 - ground_map.col0
        first, last = np.clip([[top, left], [top + own.shape[0], left + own.shape[1]]], 0, [height, width])
        inside = own[first[0] - top : last[0] - top, first[1] - left : last[1] - left]
        if not inside.size:
            return slice(0, 0), slice(0, 0), np.zeros((0, 0), bool)
        return slice(int(first[0]), int(last[0])), slice(int(first[1]), int(last[1])), inside


def zone_points(zone: Zone, *, spacing_m: float, within: Window) -> ZonePoints:
    """Find the lattice points inside a zone's outline, of those in a window (first row and column, rows, columns)."""
    import shapely

    row0, col0, height, width = within
    shape = shapely.Polygon(zone.outline_m)
    left, bottom, right, top = shape.bounds
    x, y = (col0 + np.arange(width)) * spacing_m, (row0 + np.arange(height)) * spacing_m
    cols, rows = np.flatnonzero((x >= left) & (x <= right)), np.flatnonzero((y >= bottom) & (y <= top))
    if not (len(cols) and len(rows)):
        return ZonePoints(row0, col0, np.zeros((0, 0), bool))
    inside = shapely.contains_xy(shape, *np.meshgrid(x[cols], y[rows]))
    return ZonePoints(row0 + int(rows[0]), col0 + int(cols[0]), np.asarray(inside, bool))
