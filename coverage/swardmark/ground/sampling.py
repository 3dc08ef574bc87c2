"""One sample per point of the ground lattice, read from the photo by the nearest pixel.

The lattice is laid on the photo by OpenCV's projective warp. Which of its points are seen is told row by row: along a
row all limits but the pixels' footprint are straight lines and a circle, so that what is seen lies between two ends.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from swardmark.common.color import Colors, colors_at, colors_of
from swardmark.ground.homography import FloatArray, narrowed
from swardmark.ground.plane import FARTHEST_M, GroundPlane

ROWS_AT_ONCE = 64
"""Lattice rows that are sampled together: few, so that hardly a point is read that is not seen."""
FOOTPRINT_SAFETY = 2.0
"""A pixel at the slant range R of a camera at height h sees at most R^2 / (focal length x h) of ground; within this
factor of it the exact footprint need not be worked out."""
FOOTPRINT_EVERY = 8
"""Beyond that, footprints are worked out at every so many points along rows and columns, and at all between where these
differ."""


def sample(
    rgb: NDArray[np.uint8],
    plane: GroundPlane,
    *,
    window: tuple[int, int, int, int],
    spacing_m: float,
    max_view_deg: float,
    max_footprint_mm: float,
) -> tuple[Colors, NDArray[np.bool_]]:
    """Read the photo at one point per lattice point, by the nearest pixel.

    Every ground point has the same say, near or far: the point-intercept method with a camera.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (height, width, 3)
        The photo.
    window : tuple of int
        First row, first column, rows, columns of the lattice, as from `seen_window`.

    Returns
    -------
    colors : Colors of shape (points seen,)
        The pixel at each point that is seen, row by row.
    seen : ndarray of bool, shape (rows, cols)
        Where a point was read.
    """
    row0, col0, rows, cols = window
    if not rows or not cols:
        return colors_of(np.zeros((0, 3), np.uint8)), np.zeros((rows, cols), bool)
    x = np.asarray((col0 + np.arange(cols)) * spacing_m, float)
    y = np.asarray((row0 + np.arange(rows)) * spacing_m, float)
    seen = _in_view(plane, x, y, max_view_deg)
    _leave_out_large_footprints(seen, plane, x, y, max_footprint_mm)
    read = [
        colors_at(_read(rgb, plane, x[across], y[down]), seen[down, across]) for down, across in _blocks(seen)
    ]
    return Colors(*(np.concatenate(channel) for channel in zip(*read, strict=True))), seen


def _blocks(seen: NDArray[np.bool_]) -> list[tuple[slice, slice]]:
    """Cut the lattice into blocks of rows, each as wide as points are seen in it."""
    blocks = []
    for first in range(0, len(seen), ROWS_AT_ONCE):
        down = slice(first, first + ROWS_AT_ONCE)
        cols = np.flatnonzero(seen[down].any(axis=0))
        blocks.append((down, slice(cols[0], cols[-1] + 1) if len(cols) else slice(0, 1)))
    return blocks


def _read(rgb: NDArray[np.uint8], plane: GroundPlane, x: FloatArray, y: FloatArray) -> NDArray[np.uint8]:
    """Return the nearest pixel at each point of the lattice x by y, shape (len(y), len(x), 3)."""
    import cv2

    step = (x[-1] - x[0]) / max(len(x) - 1, 1), (y[-1] - y[0]) / max(len(y) - 1, 1)
    lattice = np.array([[step[0], 0, x[0]], [0, step[1], y[0]], [0, 0, 1]])
    flags = cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    size, edge = (len(x), len(y)), cv2.BORDER_REPLICATE
    read = cv2.warpPerspective(rgb, plane.to_photo @ lattice, size, flags=flags, borderMode=edge)
    return np.asarray(read, np.uint8)


def _in_view(plane: GroundPlane, x: FloatArray, y: FloatArray, max_view_deg: float) -> NDArray[np.bool_]:
    """Tell which points of the lattice x by y lie in the photo, before the camera and steep enough."""
    (width, height_px), (camera_x, camera_y, height) = plane.size, plane.pose.position_m
    u, v, depth = plane.to_photo
    limits = (
        depth,
        u + 0.5 * depth,
        (width - 0.5) * depth - u,
        v + 0.5 * depth,
        (height_px - 0.5) * depth - v,
    )
    reach = min(height * float(np.tan(np.radians(max_view_deg))), FARTHEST_M)
    half = np.sqrt(np.maximum(reach**2 - (y - camera_y) ** 2, 0))
    first, last = np.where(half > 0, camera_x - half, np.inf), camera_x + half
    first, last = narrowed(first, last, limits, y)
    col = np.arange(len(x), dtype=np.int32)
    first_col = np.searchsorted(x, first, side="left").astype(np.int32)
    end_col = np.searchsorted(x, last, side="right").astype(np.int32)
    return np.asarray((col >= first_col[:, None]) & (col < end_col[:, None]))


def _leave_out_large_footprints(
    seen: NDArray[np.bool_], plane: GroundPlane, x: FloatArray, y: FloatArray, max_footprint_mm: float
) -> None:
    """Take the points whose pixels see too much ground out of those seen, shape (len(y), len(x)), in place."""
    camera_x, camera_y, height = plane.pose.position_m
    surely_fine = max_footprint_mm / FOOTPRINT_SAFETY / 1000 * plane.pose.focal_px * height - height**2
    farthest = np.maximum(abs(x[0] - camera_x), abs(x[-1] - camera_x)) ** 2
    rows = np.flatnonzero((y - camera_y) ** 2 + farthest > surely_fine)
    if not len(rows):
        return
    some = [
        np.arange(0, length + FOOTPRINT_EVERY, FOOTPRINT_EVERY) for length in (rows[-1] - rows[0] + 1, len(x))
    ]
    steps = [(line[-1] - line[0]) / max(len(line) - 1, 1) for line in (y, x)]

    def are_fine(row: NDArray[np.intp], col: NDArray[np.intp]) -> NDArray[np.bool_]:
        points = np.broadcast_arrays(x[0] + col * steps[1], y[rows[0]] + row * steps[0])
        return np.asarray(plane.footprint_mm(np.stack(points, axis=-1)) <= max_footprint_mm)

    corners = are_fine(some[0][:, None], some[1])
    fine = corners[:-1, :-1].copy()
    mixed = np.zeros(fine.shape, bool)
    for other in (corners[1:, :-1], corners[:-1, 1:], corners[1:, 1:]):
        mixed |= fine != other
    small = np.repeat(np.repeat(fine, FOOTPRINT_EVERY, axis=0), FOOTPRINT_EVERY, axis=1)
    within = np.arange(FOOTPRINT_EVERY)
    row, col = (FOOTPRINT_EVERY * cell[:, None] + within for cell in np.nonzero(mixed))
    small[row[:, :, None], col[:, None]] = are_fine(row[:, :, None], col[:, None])
    seen[rows[0] : rows[-1] + 1] &= small[: rows[-1] - rows[0] + 1, : len(x)]
