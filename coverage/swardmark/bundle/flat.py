"""Photos laid flat: each resampled on the ground's lattice as it would be seen from straight above.

The pixel of a ground point moves with its height almost along a line; the pixels at three heights give a parabola, from
which the pixels at any height between follow to 0.02 px.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.bundle.camera import Floats, Lens, View, project
from swardmark.bundle.lattice import Lattice

Plane = NDArray[np.float32]
Levels = NDArray[np.int16]
Mask = NDArray[np.bool_]

LEVELS = 100
"""Photos are held as whole hundredths of a gray level: half the memory, and far finer than their noise."""

BLUR_PX = 0.8
"""Spread by which a photo is smoothed first, at 2000 px of width: it is read about as finely as the lattice."""
MARGIN_PX = 8
MOST_FOOTPRINT_M = 0.006
STRIP = 96
"""Rows worked out at a time: it keeps the memory small."""
SWEPT_M = 0.036
"""Heights reach so far up and down from the present surface."""


@dataclass(frozen=True, eq=False)
class FlatPhoto:
    """One photo that can be laid flat at any height near the surface.

    Attributes
    ----------
    gray : ndarray of int16, shape (rows, cols)
        The photo, smoothed, in `LEVELS` for a gray level.
    base, slope, bend : ndarray of float32, shape (2, N, N)
        Pixel of each fine point on the surface, and its change with the height in meters.
    readable : ndarray of bool, shape (N, N)
        Where the photo shows the ground finely enough.
    """

    gray: Levels
    base: Plane
    slope: Plane
    bend: Plane
    readable: Mask

    def at(self, up_m: float) -> Plane:
        """Return the photo laid flat so far above the surface, shape (N, N)."""
        import cv2

        up = np.float32(up_m)
        column, row = self.base + up * (self.slope + up * self.bend)
        laid = cv2.remap(self.gray, column, row, cv2.INTER_LINEAR).astype(np.float32)
        laid *= np.float32(1 / LEVELS)
        return np.asarray(laid)


def smoothed(rgb: NDArray[np.uint8]) -> Levels:
    """Return a photo in gray, smoothed and with its mean taken off, in `LEVELS` for a gray level."""
    import cv2

    gray = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY).astype(np.float32)
    spread = BLUR_PX * max(1.0, max(gray.shape) / 2000)
    gray = np.asarray(cv2.GaussianBlur(gray, (0, 0), spread), np.float32)
    gray -= gray.mean()
    return np.asarray(np.rint(gray * LEVELS, out=gray).astype(np.int16))


def lay_flat(
    grays: Sequence[Levels], lens: Lens, views: Sequence[View], surface_m: Floats, lattice: Lattice
) -> list[FlatPhoto]:
    """Return the photos ready to be laid flat round a surface, shape (N, N), in meters."""
    return [_flat(gray, lens, view, surface_m, lattice) for gray, view in zip(grays, views, strict=True)]


def _flat(gray: Levels, lens: Lens, view: View, surface_m: Floats, lattice: Lattice) -> FlatPhoto:
    size = lattice.size
    parts = np.empty((3, 2, size, size), np.float32)
    readable = np.empty((size, size), bool)
    for top in range(0, size, STRIP):
        rows = slice(top, top + STRIP)
        x, y = np.meshgrid(lattice.fine_m[0], lattice.fine_m[1][rows])
        parts[:, :, rows], readable[rows] = _strip(
            gray, lens, view, np.stack([x, y, surface_m[rows]], axis=-1)
        )
    return FlatPhoto(gray, parts[0], parts[1], parts[2], readable)


def _strip(gray: Levels, lens: Lens, view: View, ground_m: Floats) -> tuple[Plane, Mask]:
    """Return pixels with their change with height, shape (3, 2, rows, N), and what can be read, of some rows."""
    up = np.array([0.0, 0.0, SWEPT_M])
    low, mid, high = (project(ground_m + side * up, lens, view) for side in (-1.0, 0.0, 1.0))
    slope, bend = (high - low) / (2 * SWEPT_M), (high + low - 2 * mid) / (2 * SWEPT_M**2)
    height, width = gray.shape
    limit = np.array([width - 1, height - 1]) - MARGIN_PX
    inside = ((mid >= MARGIN_PX) & (mid <= limit)).all(axis=-1)
    away = ground_m - view.position_m
    footprint = (away**2).sum(axis=-1) / (lens.focal_px * np.abs(away[..., 2]))
    finite = np.isfinite(mid).all(axis=-1) & np.isfinite(low).all(axis=-1) & np.isfinite(high).all(axis=-1)
    parts = np.moveaxis(np.stack([mid, slope, bend]), -1, 1)
    readable = inside & finite & (footprint <= MOST_FOOTPRINT_M)
    return np.nan_to_num(parts, nan=-100.0).astype(np.float32), np.asarray(readable, bool)


def direction_deg(view: View, middle_m: Floats) -> float:
    """Return the direction from a place on the ground to the camera, in degrees from x."""
    away = view.position_m[:2] - middle_m[:2]
    return float(np.degrees(np.arctan2(away[1], away[0])))


def apart_deg(views: Sequence[View], middle_m: Floats) -> Floats:
    """Return the angle between every two cameras, seen from a place on the ground, shape (V, V), in degrees."""
    turns = np.array([direction_deg(view, middle_m) for view in views])
    return np.asarray(np.abs((turns[:, None] - turns[None, :] + 180) % 360 - 180))
