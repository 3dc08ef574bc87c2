"""Sand, soil, path and fence: the reflectance of all that is not a blade, per pixel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.common.color import linear_of
from swardmark.practice.fields import random_field
from swardmark.practice.scene import OPEN_LAWN_M, Camera, Ground

Plane = NDArray[np.float32]
GROUND, FENCE, SKY = 0, 1, 2
_FENCE_HIGH_M = 1.75
_BOARD_M = 0.145
_BOUNDS = (-7.0, -1.5, 8.0, 9.0)


@dataclass(frozen=True, eq=False)
class Backdrop:
    """What each pixel shows behind the blades.

    Attributes
    ----------
    kind : ndarray of uint8, shape (H, W)
        GROUND, FENCE or SKY.
    x_m, y_m : ndarray, shape (H, W)
        Ground place of the pixel [m]; for the fence the place of its foot.
    color : ndarray of float32, shape (H, W, 3)
        Reflectance, linear; for the sky its light.
    is_sand : ndarray of bool, shape (H, W)
        Whether it is ground on which blades can stand.
    """

    kind: NDArray[np.uint8]
    x_m: Plane
    y_m: Plane
    color: Plane
    is_sand: NDArray[np.bool_]


def draw_backdrop(camera: Camera, ground: Ground) -> Backdrop:
    """Draw all that is not a blade, without light."""
    kind, x, y, z = _hits(camera, ground)
    rng = np.random.default_rng([ground.seed, 2])
    footprint = _footprint(camera, y)
    color = _sand_and_soil(rng, x, y, footprint, ground)
    is_sand = kind == GROUND
    if ground.path_x_m is not None:
        on_path = is_sand & (x > ground.path_x_m[0]) & (x < ground.path_x_m[1])
        color[on_path] = _paving(ground.seed, x[on_path], y[on_path])
        is_sand &= ~on_path
    if ground.fence_y_m is not None:
        edging = (kind == GROUND) & (y > ground.fence_y_m - 0.22)
        color[edging] = _edging(ground.seed, x[edging], y[edging] - ground.fence_y_m)
        is_sand &= ~edging
    if ground.fence_y_m is None:
        meadow = is_sand & (y > camera.position_m[1] + OPEN_LAWN_M)
        color[meadow] = linear_of([92, 112, 58]) * rng.normal(1, 0.1, (meadow.sum(), 1))
        is_sand &= ~meadow
    fence = kind == FENCE
    color[fence] = _boards(rng, x[fence], z[fence])
    sky = kind == SKY
    color[sky] = np.array([0.55, 0.68, 0.90], np.float32)
    return Backdrop(kind, x, y, color, is_sand)


def _hits(camera: Camera, ground: Ground) -> tuple[NDArray[np.uint8], Plane, Plane, Plane]:
    """Return what the line of sight of each pixel meets, and where."""
    width, height = camera.size_px
    column, row = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    to_ray = (camera.rotation.T @ np.linalg.inv(camera.matrix)).astype(np.float32)
    ray = [to_ray[k, 0] * column + to_ray[k, 1] * row + to_ray[k, 2] for k in range(3)]
    x0, y0, z0 = (np.float32(value) for value in camera.position_m)
    down = np.minimum(ray[2], np.float32(-1e-4))
    reach = -z0 / down
    kind = np.where(ray[2] < -0.01, GROUND, SKY).astype(np.uint8)
    if ground.fence_y_m is not None:
        to_fence = (np.float32(ground.fence_y_m) - y0) / np.maximum(ray[1], np.float32(1e-4))
        behind = (ray[1] > 1e-4) & (to_fence < reach)
        high = z0 + to_fence * ray[2]
        kind[behind] = np.where(high[behind] < _FENCE_HIGH_M, FENCE, SKY)
        reach = np.where(behind, to_fence, reach)
    return kind, x0 + reach * ray[0], y0 + reach * ray[1], z0 + reach * ray[2]


def _footprint(camera: Camera, y: Plane) -> Plane:
    """Return about how much ground a pixel spans along the line of sight [m]."""
    away = np.maximum(np.abs(y - np.float32(camera.position_m[1])), np.float32(0.3))
    return (away**2 / np.float32(camera.position_m[2]) + np.float32(1)) / np.float32(camera.focal_px)


def _sand_and_soil(rng: np.random.Generator, x: Plane, y: Plane, footprint: Plane, ground: Ground) -> Plane:
    mottle = random_field(rng, _BOUNDS, 0.03, {0.4: 0.4, 0.10: 0.4, 0.04: 0.2}).smooth_at(x, y)
    patch = random_field(rng, _BOUNDS, 0.02, {0.16: 0.55, 0.05: 0.30, 0.02: 0.15}).smooth_at(x, y)
    grain = _grain(rng, x, y)
    fine = np.minimum(1, np.float32(0.004) / footprint)
    from scipy.special import ndtri

    edge = float(ndtri(np.clip(1 - ground.soil_share, 1e-6, 1 - 1e-6)))
    soil = (((patch - np.float32(edge)) / np.float32(0.35)) + np.float32(0.5)).clip(0, 1)[..., None]
    sand = linear_of(ground.sand).astype(np.float32) * np.float32(1 - 0.45 * ground.wet)
    earth = linear_of(ground.soil).astype(np.float32) * np.float32(1 - 0.35 * ground.wet)
    sand_shade = 1 + np.float32(0.07) * mottle + np.float32(0.13) * grain * fine
    soil_shade = 1 + np.float32(0.15) * mottle + np.float32(0.30) * grain * fine
    return sand * sand_shade[..., None] * (1 - soil) + earth * soil_shade[..., None] * soil


def _grain(rng: np.random.Generator, x: Plane, y: Plane) -> Plane:
    """Return grain noise of a few millimeters, repeated every 2 m."""
    import cv2

    tile = rng.standard_normal((1000, 1000), np.float32)
    coarse = cv2.GaussianBlur(np.tile(tile, (2, 2)), (0, 0), 2.0)[500:1500, 500:1500]
    coarse = np.roll(coarse, (500, 500), axis=(0, 1))
    tile = np.float32(0.8) * tile + np.float32(0.6) * coarse / coarse.std()
    column, row = np.mod(x * 500, 1000).astype(np.float32), np.mod(y * 500, 1000).astype(np.float32)
    grain = cv2.remap(tile, column, row, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP)
    return np.asarray(grain, np.float32)


def _paving(seed: int, x: Plane, y: Plane) -> Plane:
    """Gray slabs of uneven lengths with dark joints."""
    course, tone = np.floor(y / 0.31).astype(int), np.random.default_rng([seed, 3])
    shift = tone.uniform(0, 1, 64)[course % 64]
    slab = np.floor(x / 0.42 + shift).astype(int)
    shade = tone.uniform(0.22, 0.46, (64, 64))[course % 64, slab % 64]
    warm = tone.uniform(-0.05, 0.05, (64, 64))[course % 64, slab % 64]
    speck = 1 + 0.10 * tone.standard_normal(len(x))
    gap = np.minimum(y / 0.31 - course, x / 0.42 + shift - slab) < 0.045
    shade = np.where(gap, 0.07, shade * speck)
    return np.column_stack([shade * (1.04 + warm), shade, shade * (0.93 - warm)]).astype(np.float32)


def _edging(seed: int, x: Plane, from_fence: Plane) -> Plane:
    """Round cobbles of different grays and browns along the fence's foot."""
    rng = np.random.default_rng([seed, 4])
    number = np.floor(x / 0.23).astype(int)
    width = rng.uniform(0.34, 0.48, 97)[number % 97]
    off = np.hypot((x / 0.23 - number - 0.5) / width, (from_fence + 0.11) / 0.10)
    tone, warm = rng.uniform(0.12, 0.5, 97)[number % 97], rng.uniform(-0.1, 0.18, 97)[number % 97]
    shade = np.where(off < 1, tone * (1 - 0.5 * off**4), 0.045)
    return np.column_stack([shade * (1 + warm), shade, shade * (0.95 - warm)]).astype(np.float32)


def _boards(rng: np.random.Generator, x: Plane, z: Plane) -> Plane:
    """Weathered upright boards with grain, knots, nails and gaps."""
    board = np.floor(x / _BOARD_M).astype(int) % 128
    across = np.mod(x / _BOARD_M, 1.0)
    tone, warm = rng.uniform(0.10, 0.30, 128)[board], rng.uniform(-0.02, 0.22, 128)[board]
    wave = rng.uniform(0, 6.28, 128)[board] + 3 * np.sin(2.2 * z + rng.uniform(0, 6.28, 128)[board])
    shade = tone * (1 + 0.16 * np.sin(38 * across + wave) + 0.08 * np.sin(91 * across + 2 * wave))
    for _ in range(3):
        knot_at, knot_high = rng.uniform(0.2, 0.8, 128)[board], rng.uniform(0.02, 1.7, 128)[board]
        off = np.hypot((across - knot_at) * _BOARD_M / 0.022, (z - knot_high) / 0.03)
        shade = np.where(off < 1, shade * (0.35 + 0.4 * off), shade)
    rail = np.abs(z - 0.30) < 0.045
    nail = rail & (np.hypot((across - 0.5) * _BOARD_M, z - 0.30) < 0.014)
    shade = np.where(nail, 0.55, np.where(rail, shade * 0.72, shade))
    shade = np.where(across < 0.06, 0.02, shade * (0.75 + 0.25 * np.minimum(z / 0.15, 1)))
    return np.column_stack([shade * (1 + warm), shade, shade * (0.90 - warm)]).astype(np.float32)
