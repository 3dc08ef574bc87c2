"""Ground that is not covered yet, outlined: the same outline on photos, ground views and maps.

Bare ground is outlined, never painted: the photo keeps its own colors. The outline runs where the local cover, within
a hand's breadth and as seen straight down, crosses the cover of the first mow. It is taken from the leaf shares that
the zones' covers are taken from. Smaller places than `LEAST_BARE_M2` are not outlined: they are the sand that shows
between leaves everywhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.canopy.cover import straight_down
from swardmark.canopy.index import FIRST_VALUE, NOT_SEEN, GroundMap
from swardmark.canopy.scale import LeafScale
from swardmark.measure.zonal import view_angles

if TYPE_CHECKING:
    from swardmark.measure.points import PointReview
    from swardmark.season import Season

Outline = NDArray[np.float64]

HAND_M = 0.05
"""Standard deviation of the window in which the leaf shares are averaged."""
LEAST_BARE_M2 = 0.04
COARSEN_M = 0.012
"""Outlines are simplified to this, about one point of the map."""
MOST_BARE = 0.5
"""Where more of the ground in view than this is not covered, nothing is outlined."""
LEAST_SHARE = 0.25
"""Places with fewer readable points in their window than this are left out."""


def outlines_of(season: Season, point: PointReview, number: int) -> list[Outline]:
    """Outline the ground of one photo that is not covered yet, inside the lawn's outline where the keeper drew one.

    None where most of the ground in view is not covered yet: then lines tell nothing apart.
    """
    gate = season.lawn.outlook.first_mow_cover_pct / 100
    ground_map = point.maps[number]
    cover = local_cover(ground_map, point.threshold, view_deg=view_angles(ground_map, point.entries[number]))
    known = np.isfinite(cover)
    if not known.any() or (cover[known] < gate).mean() > MOST_BARE:
        return []
    rings = rings_below(cover, ground_map, level=gate)
    if season.lawn.lawn_outline_m is None:
        return rings
    from shapely import Polygon

    lawn = Polygon(season.lawn.lawn_outline_m).buffer(0)
    parts = [Polygon(ring).buffer(0).intersection(lawn) for ring in rings]
    flat = [piece for part in parts for piece in getattr(part, "geoms", [part])]
    return [np.asarray(p.exterior.coords) for p in flat if p.geom_type == "Polygon" and not p.is_empty]


def rings_below(
    cover: ArrayLike, ground_map: GroundMap, *, level: float, least_m2: float = LEAST_BARE_M2
) -> list[Outline]:
    """Outline where a local cover lies below `level`.

    Parameters
    ----------
    cover : ndarray, shape of the map
        Local cover, 0..1; NaN where it is not known.
    ground_map : GroundMap
        The map that it belongs to.
    level : float
        Cover on the outline.
    least_m2 : float
        Smaller places are left out [m2].

    Returns
    -------
    list of ndarray, shape (N, 2)
        Closed rings in meters, the largest first. Holes are rings of their own.
    """
    import cv2
    from shapely import Polygon

    bare = np.nan_to_num(np.asarray(cover, float), nan=1.0) < level
    rings, _ = cv2.findContours(bare.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    outlines = []
    for ring in rings:
        corners = np.column_stack([ring[:, 0, 0] + ground_map.col0, ring[:, 0, 1] + ground_map.row0])
        if len(corners) < 4:
            continue
        shape = Polygon(corners * ground_map.spacing_m).buffer(ground_map.spacing_m / 2, join_style="mitre")
        if shape.area >= least_m2 and shape.geom_type == "Polygon":
            smooth = shape.simplify(COARSEN_M, preserve_topology=True)
            outlines.append((shape.area, np.asarray(smooth.exterior.coords)))
    return [outline for _, outline in sorted(outlines, key=lambda pair: -pair[0])]


def local_cover(ground_map: GroundMap, scale: LeafScale, *, view_deg: ArrayLike = 0.0) -> NDArray[np.float64]:
    """Return the cover within a hand's breadth of each point, seen straight down, 0..1; NaN where it cannot be told."""
    import cv2

    shares = np.zeros(256, np.float32)
    shares[FIRST_VALUE:] = scale.leaf_shares()
    readable = ground_map.is_readable.astype(np.float32)
    leaf = shares[ground_map.values] * readable
    sigma = HAND_M / ground_map.spacing_m
    weight = cv2.GaussianBlur(readable, (0, 0), sigma)
    seen = cv2.GaussianBlur(leaf, (0, 0), sigma) / np.maximum(weight, 1e-6)
    known = (weight >= LEAST_SHARE) & (ground_map.values != NOT_SEEN)
    return np.where(known, straight_down(seen, view_deg), np.nan)
