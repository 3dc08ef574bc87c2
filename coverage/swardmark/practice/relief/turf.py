"""Turf over ground with known heights, as photos see it: soil and thatch with blades over them that move.

The blades are drawn as slices of a canopy, from its top down: in each slice a pixel's line of sight meets a blade or
goes on, so that near blades hide far ones and soil shows between them, as in turf. In wind the slices shift from photo
to photo, the upper ones more. A mower on wheels cuts level over narrow hollows: the tips follow the ground smoothed
over the wheels' distance, and blades are longer where the ground is low.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.practice.fields import Raster
from swardmark.practice.relief.draw import Sand, draw_relief, grain_tiles, sight, tiled
from swardmark.practice.relief.phone import View

Plane = NDArray[np.float32]

SLICES, WHEELS_M = 7, 0.45
LEAF, SHADED = (96.0, 128.0, 60.0), 0.45
_BLADE_MM, _LIGHT = 7.0, 0.30


@dataclass(frozen=True, eq=False)
class Turf:
    """Turf that can be drawn.

    Attributes
    ----------
    ground : Sand
        Soil with its heights and the boards on it.
    leaf_mm : float
        Height of cut.
    density : float
        Share of the ground that leaf hides, seen from above.
    sway_mm : float
        How far tips lie elsewhere in another photo, as a spread.
    """

    ground: Sand
    leaf_mm: float
    density: float
    sway_mm: float


def draw_turf(view: View, turf: Turf, *, seed: int, noise: float = 1.0) -> NDArray[np.uint8]:
    """Return the photo, shape (rows, cols, 3), coded sRGB; arguments as those of `draw_relief`."""
    import cv2

    picture = draw_relief(view, turf.ground, seed=seed, noise=noise)
    rng = np.random.default_rng([seed, 8])
    width, height = view.phone.size_px
    across, along, _ = sight(view, 0, height)
    tile = grain_tiles(turf.ground.seed + 1)[1]
    tips = _tips(turf)
    x0, y0, z0 = (np.float32(value) for value in view.position_m)
    covered = np.zeros((height, width), bool)
    light = np.zeros((height, width), np.float32)
    sway = rng.normal(0, turf.sway_mm / 1000, 2)
    level = np.float32(np.quantile(tile, 1 - turf.density / 2.2))
    for n in range(SLICES):
        up = 1 - n / SLICES
        z = np.zeros(across.shape, np.float32)
        for _ in range(3):
            fall = z - z0
            x, y = x0 + fall * across, y0 + fall * along
            soil = turf.ground.heights.smooth_at(x, y)
            z = (soil + np.float32(up) * (tips.smooth_at(x, y) - soil)) * np.float32(0.001)
        at_x, at_y = x - np.float32(up * sway[0]), y - np.float32(up * sway[1])
        blade = tiled(tile, at_x, at_y, _BLADE_MM) > level + np.float32(0.9 * up)
        fresh = blade & ~covered
        shade = tiled(tile, at_x + np.float32(0.31), at_y, 3.0)
        light[fresh] = np.float32(_LIGHT * (SHADED + (1 - SHADED) * up)) * (
            1 + np.float32(0.35) * shade[fresh]
        )
        covered |= fresh
    covered &= ~_boards(view, turf.ground, picture.shape[:2])
    leaf = np.array(LEAF, np.float32) * np.sqrt(np.maximum(light, 0.01) / _LIGHT)[..., None]
    grainy = cv2.GaussianBlur(leaf, (0, 0), 0.7 * width / 2000) + rng.normal(0, 2 * noise, leaf.shape)
    picture[covered] = grainy.clip(0, 255).astype(np.uint8)[covered]
    return picture


def _tips(turf: Turf) -> Raster:
    """Return the heights of the blades' tips in millimeters: the mower's wheels bridge what is narrow."""
    import cv2

    ground = turf.ground.heights
    bridged = cv2.GaussianBlur(ground.values, (0, 0), WHEELS_M / 2 / ground.cell_m)
    return Raster(
        np.asarray(bridged + np.float32(turf.leaf_mm), np.float32), ground.x0, ground.y0, ground.cell_m
    )


def _boards(view: View, ground: Sand, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Return where the photo shows boards, shape (rows, cols): they lie on the grass."""
    import cv2

    found = np.zeros(shape, np.uint8)
    for board in ground.boards:
        low, high = -board.margin_m, board.side_m + board.margin_m
        corner = np.array([board.x_m, board.y_m])
        corners = np.array([[low, low], [high, low], [high, high], [low, high]]) + corner
        z = ground.heights.smooth_at(corners[:, :1], corners[:, 1:]).ravel() + board.lift_mm
        pixels = view.project(np.column_stack([corners, z / 1000]))
        cv2.fillConvexPoly(found, np.rint(pixels).astype(np.int32), 1)
    return found > 0
