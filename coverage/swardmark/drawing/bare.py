"""Ground that is not covered yet, outlined: the same outline on photos, ground views and maps.

Bare ground is outlined, never painted: the photo keeps its own colors. The outline runs where the local cover, within a
hand's breadth and as seen straight down, crosses `BARE_COVER`. It is taken from the leaf shares that the zones' covers
and the spots are taken from. Smaller places than `LEAST_BARE_M2` are not outlined: they are the sand that shows
between leaves everywhere. On the newest photo a bare place that is a spot has the spot's own outline: the line on the
photo, the shape on the map and the row of the table are one thing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.canopy.cover import straight_down
from swardmark.canopy.index import NOT_SEEN, GroundMap
from swardmark.canopy.scale import LeafScale
from swardmark.measure.zonal import view_angles
from swardmark.relevel.outlines import BARE_COVER, FINE_M, HAND_M

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from swardmark.measure.points import PointReview
    from swardmark.season import Season

Outline = NDArray[np.float64]
Ring = Sequence[tuple[float, float]]

LEAST_BARE_M2 = 0.04
COARSEN_M = 0.012
"""Outlines are simplified to this, about one point of the map."""
MOST_BARE = 0.5
"""Where more of the ground in view than this is bare, nothing is outlined."""
RIM_POINTS = 5
"""The rim of half a point round a place, with its corners drawn out, adds less than this to its length and width."""
LEFT_OUT_RIM_M = 0.05
"""A line around ground that is left out would run this far outside of it: the reach of the window."""
LEAST_SHARE = 0.25
"""Places with fewer readable points in their window than this are left out."""


def outlines_of(season: Season, point: PointReview, number: int) -> list[Outline]:
    """Outline the bare ground of one photo, of the ground that counts as lawn.

    What is taken for a path or a bed has no outline. On the newest photo spots stand for the bare places that they are.

    Parameters
    ----------
    season : Season
        The season.
    point : PointReview
        One of its photo points.
    number : int
        Which of the photo point's photos.

    Returns
    -------
    list of ndarray, shape (N, 2)
        Closed rings in meters; none where most of the ground is bare: then lines tell nothing apart.
    """
    ground_map = point.maps[number]
    cover = local_cover(ground_map, point.threshold, view_deg=view_angles(ground_map, point.entries[number]))
    cover[~_is_lawn(point, ground_map)] = np.nan
    known = np.isfinite(cover)
    if not known.any() or (cover[known] < BARE_COVER).mean() > MOST_BARE:
        return []
    rings = rings_below(cover, ground_map, level=BARE_COVER)
    if season.lawn.lawn_outline_m is not None:
        rings = _within(rings, season.lawn.lawn_outline_m)
    if not season.is_planned:
        return rings
    searches = [search for search in season.searches[-1] if search.point == point.name]
    if left_out_m := [ring for search in searches for ring in search.left_out_m]:
        rings = _without(rings, left_out_m)
    if number < len(point.maps) - 1:
        return rings
    spots = [np.array([*s.outline_m, s.outline_m[0]]) for search in searches for s in search.spots]
    return [*spots, *_beside(rings, spots)]


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
        reach = np.ptp(corners, axis=0) + RIM_POINTS
        if len(corners) < 4 or float(reach.prod()) * ground_map.spacing_m**2 < least_m2:
            continue
        shape = Polygon(corners * ground_map.spacing_m).buffer(ground_map.spacing_m / 2, join_style="mitre")
        if shape.area >= least_m2 and shape.geom_type == "Polygon":
            smooth = shape.simplify(COARSEN_M, preserve_topology=True)
            outlines.append((shape.area, np.asarray(smooth.exterior.coords)))
    return [outline for _, outline in sorted(outlines, key=lambda pair: -pair[0])]


def local_cover(
    ground_map: GroundMap, scale: LeafScale, *, view_deg: ArrayLike = 0.0
) -> NDArray[np.floating]:
    """Return the cover within a hand's breadth of each point, seen straight down, 0..1; NaN where it cannot be told."""
    import cv2

    shares = scale.shares_of_values().astype(np.float32)
    readable = ground_map.is_readable.astype(np.float32)
    fine = (max(1, round(FINE_M / ground_map.spacing_m)),) * 2
    points = cv2.blur(readable, fine)
    seen = cv2.blur(shares[ground_map.values], fine) / np.maximum(points, 1e-6)
    down = straight_down(seen, np.asarray(view_deg, np.float32), power=scale.slant)
    sigma = HAND_M / ground_map.spacing_m
    weight = cv2.GaussianBlur(points, (0, 0), sigma)
    cover = cv2.GaussianBlur(down * points, (0, 0), sigma) / np.maximum(weight, 1e-6)
    known = (weight >= LEAST_SHARE) & (ground_map.values != NOT_SEEN)
    return np.where(known, cover, np.nan)


def _is_lawn(point: PointReview, ground_map: GroundMap) -> NDArray[np.bool_]:
    """Tell which points of a map count as lawn: all where nothing is known of it."""
    if point.ground is None:
        return np.ones(ground_map.values.shape, bool)
    is_lawn = np.zeros(ground_map.values.shape, bool)
    rows, cols, inside = point.ground.lawn.part_of(ground_map)
    is_lawn[rows, cols] = inside
    return is_lawn


def _beside(rings: Sequence[Outline], spots: Sequence[Outline]) -> list[Outline]:
    """Return the rings that are no part of a spot."""
    from shapely import Polygon, union_all

    if not spots:
        return list(rings)
    taken = union_all([Polygon(ring).buffer(0) for ring in spots])
    return [ring for ring in rings if not Polygon(ring).buffer(0).intersects(taken)]


def _within(rings: Sequence[Outline], lawn_m: Ring) -> list[Outline]:
    from shapely import Polygon

    lawn = Polygon(lawn_m).buffer(0)
    return [
        corners for ring in rings for corners, _ in _corners_of(Polygon(ring).buffer(0).intersection(lawn))
    ]


def _without(rings: Sequence[Outline], paths_m: Sequence[Ring]) -> list[Outline]:
    from shapely import Polygon, union_all

    paths = union_all([Polygon(ring).buffer(LEFT_OUT_RIM_M) for ring in paths_m])
    rest = [pair for ring in rings for pair in _corners_of(Polygon(ring).buffer(0).difference(paths))]
    return [corners for corners, area_m2 in rest if area_m2 >= LEAST_BARE_M2]


def _corners_of(shape: BaseGeometry) -> list[tuple[Outline, float]]:
    """Return the outline and the area of each polygon of a shape."""
    pieces = getattr(shape, "geoms", [shape])
    return [
        (np.asarray(p.exterior.coords), p.area) for p in pieces if p.geom_type == "Polygon" and not p.is_empty
    ]
