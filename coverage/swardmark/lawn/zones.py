"""Zones on the ground lattice: which points lie inside an outline, and named patches where the keeper drew none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.index import GroundMap, Window
from swardmark.lawn.lawn import Zone

LEAST_PATCH_M2 = 0.2
"""Named patches of which less is seen, in the mean of all photos, are left out."""
LEAST_OVERLAP_M2 = 0.05
"""Zones that share less ground than this, about a shovel's, are drawn side by side by hand."""


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


def zone_mask(zone: Zone, ground_map: GroundMap) -> NDArray[np.bool_]:
    """Tell which points of a map lie inside a zone's outline, shape of the map."""
    height, width = ground_map.values.shape
    mask, window = np.zeros((height, width), bool), (ground_map.row0, ground_map.col0, height, width)
    rows, cols, inside = zone_points(zone, spacing_m=ground_map.spacing_m, within=window).part_of(ground_map)
    mask[rows, cols] = inside
    return mask


def overlaps(zones: Sequence[Zone]) -> list[tuple[str, str, float]]:
    """Return the pairs of zones of one photo point that share ground: both names and square metres, most first."""
    boxes = [(*np.min(zone.outline_m, axis=0), *np.max(zone.outline_m, axis=0)) for zone in zones]
    order = sorted(range(len(zones)), key=lambda n: boxes[n][0])
    near: list[tuple[int, int]] = []
    for at, one in enumerate(order):
        _, bottom, right, top = boxes[one]
        for other in order[at + 1 :]:
            if boxes[other][0] >= right:
                break
            apart = boxes[other][1] >= top or boxes[other][3] <= bottom
            if not apart and zones[one].point == zones[other].point:
                near.append((min(one, other), max(one, other)))
    return _shared_ground(zones, near) if near else []


def _shared_ground(zones: Sequence[Zone], pairs: Sequence[tuple[int, int]]) -> list[tuple[str, str, float]]:
    import shapely

    shapes = {n: shapely.Polygon(zones[n].outline_m) for pair in pairs for n in pair}
    found = [(zones[a].name, zones[b].name, float(shapes[a].intersection(shapes[b]).area)) for a, b in pairs]
    return sorted((one for one in found if one[2] >= LEAST_OVERLAP_M2), key=lambda one: -one[2])


def patch_zones(point: str, side_m: float) -> tuple[Zone, ...]:
    """Divide the ground around the square into patches named from where the photographer stands."""
    columns = {"left": (-2.0, 0.0), "middle": (0.0, side_m), "right": (side_m, side_m + 2.0)}
    rows = {"near": (-1.5, side_m / 2), "far": (side_m / 2, side_m + 2.5)}
    return tuple(
        Zone(
            name=f"{depth} {place}",
            outline_m=((left, front), (right, front), (right, back), (left, back)),
            point=point,
        )
        for depth, (front, back) in rows.items()
        for place, (left, right) in columns.items()
    )
