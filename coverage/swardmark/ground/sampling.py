"""One sample per point of the ground lattice, read from the photo by the nearest pixel."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from swardmark.ground.homography import FloatArray
from swardmark.ground.plane import FARTHEST_M, GroundPlane

ROWS_AT_ONCE = 64
"""Lattice rows that are sampled together: few enough to stay in the processor's cache."""
FOOTPRINT_SAFETY = 2.0
"""A pixel at the slant range R of a camera at height h sees at most R^2 / (focal length x h) of ground; within this
factor of it the exact footprint need not be worked out."""


def sample(
    rgb: NDArray[np.uint8],
    plane: GroundPlane,
    *,
    window: tuple[int, int, int, int],
    spacing_m: float,
    max_view_deg: float,
    max_footprint_mm: float,
) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
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
    colors : ndarray of uint8, shape (points seen, 3)
        The pixel at each point that is seen, row by row.
    seen : ndarray of bool, shape (rows, cols)
        Where a point was read.
    """
    row0, col0, rows, cols = window
    x = np.asarray((col0 + np.arange(cols)) * spacing_m, float)
    y = np.asarray((row0 + np.arange(rows))[:, None] * spacing_m, float)
    pixels, seen, colors = rgb.reshape(-1, 3), np.zeros((rows, cols), bool), []
    for first in range(0, rows, ROWS_AT_ONCE):
        block = slice(first, first + ROWS_AT_ONCE)
        seen[block], at = _pixels_seen(plane, x, y[block], max_view_deg, max_footprint_mm)
        colors.append(pixels.take(at, axis=0))
    return np.concatenate(colors or [pixels[:0]]), seen


def _pixels_seen(
    plane: GroundPlane, x: FloatArray, y: FloatArray, max_view_deg: float, max_footprint_mm: float
) -> tuple[NDArray[np.bool_], NDArray[np.intp]]:
    """Tell which points of the lattice x, shape (cols,), by y, shape (rows, 1), are seen, and their pixels' numbers."""
    (width, height_px), height = plane.size, plane.pose.height_m
    away = (x - plane.pose.position_m[0]) ** 2 + (y - plane.pose.position_m[1]) ** 2
    u, v, depth = (row[0] * x + row[1] * y + row[2] for row in plane.to_photo)
    seen = away <= min(height * float(np.tan(np.radians(max_view_deg))), FARTHEST_M) ** 2
    seen &= (depth > 0) & (u >= -0.5 * depth) & (u < (width - 0.5) * depth)
    seen &= (v >= -0.5 * depth) & (v < (height_px - 0.5) * depth)
    surely_fine = max_footprint_mm / FOOTPRINT_SAFETY / 1000 * plane.pose.focal_px * height - height**2
    row, col = np.nonzero(seen & (away > surely_fine))
    if len(row):
        points = np.stack([x[col], y[row, 0]], axis=-1)
        seen[row, col] = plane.footprint_mm(points) <= max_footprint_mm
    scale = 1 / depth[seen]
    rows, cols = np.rint(v[seen] * scale).astype(np.intp), np.rint(u[seen] * scale).astype(np.intp)
    return seen, rows * width + cols
