"""Between lattice and outlines in meters: fine squares, local cover, polygons, the strip a rim hides.

Pixel convention: lattice integers are points. A fine square gathers block x block points, and its center
lies at the mean of theirs. Outlines are drawn between the centers of fine squares by linear interpolation.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.blades import SLANT_POWER
from swardmark.canopy.cover import straight_down
from swardmark.canopy.index import FIRST_VALUE, GroundMap, stack
from swardmark.canopy.scale import LeafScale
from swardmark.relevel.cells import blocks

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Outline = tuple[tuple[float, float], ...]

BARE_COVER = 0.5
"""Ground is bare where less than half of a hand's breadth is covered: a bare disc then keeps its area
(tests/benchmarks/spots.py)."""
HAND_M = 0.04
"""Standard deviation of the window in which leaf shares are averaged for an outline, in meters."""
FINE_M = 0.02
"""Side of the fine squares, in meters."""
SIMPLIFY_M = 0.008
"""Corners of an outline are left out where that moves it by less than this, in meters."""
SCREENING = 0.6
"""Share of the full leaf height hiding the ground behind a near rim: leaves thin out toward their tips."""
MOST_HIDDEN_M = 0.15


@dataclass(frozen=True, eq=False)
class Ground:
    """A stack of maps on the fine lattice.

    Attributes
    ----------
    leaf, readable : ndarray of float32, shape (dates, rows, cols)
        Sums of the points' leaf shares, and counts of readable points, per fine square.
    x0_m, y0_m : float
        Center of the first fine square, in meters.
    step_m : float
        Side of a fine square, in meters.
    slant : float
        Power of the cosine in the slant step.
    """

    leaf: NDArray[np.float32]
    readable: NDArray[np.float32]
    x0_m: float
    y0_m: float
    step_m: float
    slant: float = SLANT_POWER

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of fine squares."""
        return self.leaf.shape[1], self.leaf.shape[2]

    def on(self, dates: slice) -> Ground:
        """Return the same ground on some of its dates."""
        return replace(self, leaf=self.leaf[dates], readable=self.readable[dates])

    def within(self, mask: Mask) -> Ground:
        """Return the same ground with nothing seen outside `mask`."""
        return replace(self, leaf=self.leaf * mask, readable=self.readable * mask)

    def rasterise(self, shape: BaseGeometry) -> Mask:
        """Return which fine squares have their center inside `shape` (meters)."""
        import shapely

        rows, cols = self.shape
        x, y = np.meshgrid(
            self.x0_m + self.step_m * np.arange(cols), self.y0_m + self.step_m * np.arange(rows)
        )
        return np.asarray(shapely.contains_xy(shape, x, y))

    def meters(self, corners: Floats) -> Floats:
        """Turn (row, column) corners of the fine lattice into (x, y) meters."""
        return np.column_stack(
            [self.x0_m + self.step_m * corners[:, 1], self.y0_m + self.step_m * corners[:, 0]]
        )


def fine_ground(maps: Sequence[GroundMap], scale: LeafScale) -> Ground:
    """Add up leaf shares and readable points of each map in fine squares of about 2 cm."""
    values, row0, col0 = stack(list(maps))
    spacing = maps[0].spacing_m
    block = max(1, round(FINE_M / spacing))
    shares = scale.shares_of_values().astype(np.float32)
    leaf = np.stack([blocks(shares[date], block) for date in values])
    readable = np.stack([blocks((date >= FIRST_VALUE).astype(np.float32), block) for date in values])
    middle = (block - 1) / 2
    return Ground(
        leaf,
        readable,
        (col0 + middle) * spacing,
        (row0 + middle) * spacing,
        block * spacing,
        scale.slant,
    )


def seen_mask(ground: Ground) -> Mask:
    """Return the squares that were readable on at least half of the dates, without lone holes and crumbs."""
    from scipy import ndimage

    often = (ground.readable > 0).mean(axis=0) >= 0.5
    closed = ndimage.binary_closing(np.pad(often, 2), iterations=2)[2:-2, 2:-2]
    return np.asarray(ndimage.binary_opening(closed, iterations=2))


def local_cover(
    ground: Ground,
    dates: NDArray[np.intp],
    mask: Mask,
    *,
    sd_m: float = HAND_M,
    view_deg: Floats | float = 0.0,
) -> Floats:
    """Return the cover around each square on some dates, in a Gaussian window, as seen straight down.

    NaN outside `mask` and where fewer than a third of the window's points were readable. `view_deg` are the view
    zenith angles of the squares, in degrees. Each square is turned by itself: a window that holds turf and bare ground
    side by side is no thin turf.
    """
    from scipy import ndimage

    def around(counts: NDArray[Any]) -> NDArray[Any]:
        sigma = sd_m / ground.step_m
        return np.asarray(ndimage.gaussian_filter(counts, sigma, mode="constant", truncate=3.0))

    inside = around(mask.astype(np.float32))
    out = []
    for date in dates:
        points = ground.readable[date]
        seen = ground.leaf[date] / np.maximum(points, 1)
        down = points * straight_down(seen, view_deg, power=ground.slant)
        leaf, readable = around(down), around(points)
        enough = mask & (readable > inside * float(ground.readable.max()) / 3) & (readable > 0)
        out.append(np.where(enough, leaf / np.maximum(readable, 1e-6), np.nan))
    return np.array(out)


def polygon_of(region: Mask, cover: Floats, level: float, ground: Ground) -> Polygon | None:
    """Draw a region's outline where `cover` crosses `level`, between the fine squares.

    Parameters
    ----------
    region : ndarray of bool, shape (rows, cols)
        One connected place whose cover lies below `level`.
    cover : ndarray, shape (rows, cols)
        Local cover, NaN where not known.
    level : float
        Cover on the outline.
    """
    from scipy import ndimage
    from shapely import Polygon
    from skimage.measure import find_contours

    window = ndimage.find_objects(region.astype(np.int8))[0]
    inside = np.pad(region[window], 2)
    below = level - _window_of(cover, window, 2)
    rim = ndimage.binary_dilation(inside) & ~inside & np.isfinite(below)
    height = np.where(inside, np.maximum(np.nan_to_num(below, nan=0.5), 1e-3), -0.5)
    height = np.where(rim, np.minimum(np.nan_to_num(below), -1e-3), height)
    corners = np.array([window[0].start - 2, window[1].start - 2])
    shapes = [Polygon(ground.meters(c + corners)) for c in find_contours(height, 0.0) if len(c) >= 4]
    shapes = [part for shape in shapes if (part := _largest(shape.buffer(0))) is not None]
    if not shapes:
        return None
    return _largest(max(shapes, key=lambda shape: shape.area).simplify(SIMPLIFY_M))


def give_back_hidden_strip(
    shape: Polygon, camera_m: tuple[float, float, float] | None, leaf_height_m: float
) -> Polygon:
    """Add the strip of bare ground that the leaves of the rim nearer to the camera hide.

    A leaf of height h at the near rim hides the ground behind it for h tan(view angle). What is seen of a
    bare place is the place shortened by that much at its near side, so the outline is drawn out toward the
    camera by it.
    """
    from shapely import unary_union
    from shapely.affinity import translate

    if camera_m is None or leaf_height_m <= 0:
        return shape
    away = (shape.centroid.x - camera_m[0], shape.centroid.y - camera_m[1])
    distance = math.hypot(*away)
    hidden = min(SCREENING * leaf_height_m * distance / max(camera_m[2], 0.1), MOST_HIDDEN_M)
    if distance == 0:
        return shape
    step = (-away[0] / distance * hidden, -away[1] / distance * hidden)
    moved = [translate(shape, part * step[0], part * step[1]) for part in np.linspace(0, 1, 5)]
    return _largest(unary_union(moved).simplify(SIMPLIFY_M)) or shape


def rings_of(mask: Mask, ground: Ground) -> tuple[Outline, ...]:
    """Return the outer outlines of a mask in meters, largest first, coarse to 5 cm."""
    from shapely import Polygon
    from skimage.measure import find_contours

    rings = [
        Polygon(ground.meters(c - 1)) for c in find_contours(np.pad(mask, 1).astype(float), 0.5) if len(c) > 4
    ]
    shapes = sorted((r.buffer(0).simplify(0.05) for r in rings), key=lambda r: -r.area)
    outer: list[Polygon] = []
    for shape in (part for s in shapes if (part := _largest(s)) is not None and part.area >= 0.01):
        if not any(other.contains(shape.representative_point()) for other in outer):
            outer.append(shape)
    return tuple(corners_of(shape) for shape in outer)


def corners_of(shape: Polygon) -> Outline:
    """Return a polygon's outer corners, rounded to the millimeter."""
    return tuple((round(x, 3), round(y, 3)) for x, y in shape.exterior.coords[:-1])


def _window_of(values: Floats, window: tuple[slice, ...], margin: int) -> Floats:
    """Cut a window out with a margin; NaN beyond the array."""
    padded = np.pad(values, margin, constant_values=np.nan)
    return padded[
        window[0].start : window[0].stop + 2 * margin, window[1].start : window[1].stop + 2 * margin
    ]


def _largest(shape: BaseGeometry) -> Polygon | None:
    from shapely import Polygon

    parts = [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon) and part.area > 0]
    return Polygon(max(parts, key=lambda part: part.area).exterior) if parts else None
