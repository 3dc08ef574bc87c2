"""Zones on the ground lattice: which points lie inside an outline, and named patches where the keeper drew none."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.index import GroundMap
from swardmark.lawn.lawn import Zone

LEAST_PATCH_M2 = 0.2
"""Named patches of which less is seen are left out."""


def zone_mask(zone: Zone, ground_map: GroundMap) -> NDArray[np.bool_]:
    """Tell which points of a map lie inside a zone's outline, shape of the map."""
    import shapely

    inside = np.zeros(ground_map.values.shape, bool)
    shape = shapely.Polygon(zone.outline_m)
    left, bottom, right, top = shape.bounds
    cols = np.flatnonzero((ground_map.x_m >= left) & (ground_map.x_m <= right))
    rows = np.flatnonzero((ground_map.y_m >= bottom) & (ground_map.y_m <= top))
    if len(cols) and len(rows):
        x, y = np.meshgrid(ground_map.x_m[cols], ground_map.y_m[rows])
        inside[rows[0] : rows[-1] + 1, cols[0] : cols[-1] + 1] = shapely.contains_xy(shape, x, y)
    return inside


def named_patches(point: str, side_m: float, maps: Sequence[GroundMap]) -> tuple[Zone, ...]:
    """Divide the ground in view around the square into patches named from where the photographer stands."""
    columns = {"left": (-2.0, 0.0), "middle": (0.0, side_m), "right": (side_m, side_m + 2.0)}
    rows = {"near": (-1.5, side_m / 2), "far": (side_m / 2, side_m + 2.5)}
    patches = []
    for depth, (front, back) in rows.items():
        for place, (left, right) in columns.items():
            outline = ((left, front), (right, front), (right, back), (left, back))
            zone = Zone(name=f"{depth} {place}", outline_m=outline, point=point)
            seen = np.mean([(zone_mask(zone, m) & (m.values > 0)).sum() * m.spacing_m**2 for m in maps])
            if seen >= LEAST_PATCH_M2:
                patches.append(zone)
    return tuple(patches)
