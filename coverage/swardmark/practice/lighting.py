"""How sun, sky, shadows and the green of the leaves fall on blades and ground (linear light).

A leaf is lit by the sun through the leaves above it (Beer's law with the leaf area around it), shines
through when the sun is behind it, and tints the sand beside it. This is for the eye and for honest colors,
not a leaf optics model.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.practice.blades import Blades, as_strips
from swardmark.practice.fields import Floats, Raster, empty_raster
from swardmark.practice.raster import paint_strips
from swardmark.practice.scene import Camera, Light

Plane = NDArray[np.float32]
Bounds = tuple[float, float, float, float]
_THROUGH = np.array([0.62, 0.62, 0.25], np.float32)
_DEEP_LIGHT = 0.10


@dataclass(frozen=True, eq=False)
class Lit:
    """Where light falls: open sun (0 in hard shadow), leaf area per ground area, blades' shadows."""

    light: Light
    open_sun: Raster
    leaf_area: Raster
    blade_shadow: Raster
    leaf_color: Floats
    height_m: float


def light_up(blades: Blades, light: Light, bounds: Bounds) -> Lit:
    """Work out shadows and leaf area over the ground within x0, y0, x1, y1 [m]."""
    living = blades.living if len(blades) else np.zeros(0, np.bool_)
    color = blades.color[living].mean(axis=0) if living.any() else np.zeros(3)
    height = float(np.quantile(blades.tip[:, 2], 0.8)) if len(blades) else 0.01
    return Lit(
        light,
        open_sun=_hard_shadow(light, bounds),
        leaf_area=_leaf_area(blades, bounds),
        blade_shadow=_blade_shadow(blades, light, bounds),
        leaf_color=color,
        height_m=max(height, 0.005),
    )


def shade_blades(blades: Blades, lit: Lit, camera: Camera) -> Plane:
    """Return the light that lower, then upper halves send to the camera, shape (2 N, 3)."""
    around = lit.leaf_area.at(blades.root[:, :2])
    open_sun = lit.open_sun.at(blades.root[:, :2])
    place = np.array(camera.position_m, np.float32)
    halves = []
    for start, end in ((blades.root, blades.knee), (blades.knee, blades.tip)):
        halves.append(_shade_half(blades, start, end, around, open_sun, lit, place))
    return np.concatenate(halves).astype(np.float32)


def shade_ground(x: Plane, y: Plane, lit: Lit, *, among_blades: NDArray[np.bool_]) -> Plane:
    """Return the light on the ground at x, y [m], shape (H, W, 3); blades count only `among_blades`."""
    light = lit.light
    around = np.where(among_blades, lit.leaf_area.smooth_at(x, y), 0)
    dark = np.where(among_blades, lit.blade_shadow.smooth_at(x, y), 0)
    open_sun = lit.open_sun.smooth_at(x, y)
    level = np.float32(light.to_sun[2])
    sun = (open_sun * (1 - dark) * level)[..., None] * np.array(light.sun, np.float32)
    sky = np.exp(-0.45 * around)[..., None] * np.array(light.sky, np.float32)
    whole = open_sun[..., None] * level * np.array(light.sun, np.float32) + np.array(light.sky, np.float32)
    bounce = (1 - np.exp(-0.5 * around))[..., None] * whole * (0.55 * lit.leaf_color).astype(np.float32)
    return sun + sky + bounce


def _shade_half(
    blades: Blades, start: Floats, end: Floats, around: Floats, open_sun: Floats, lit: Lit, place: Plane
) -> Floats:
    light = lit.light
    sun, sky_light = np.array(light.sun, np.float32), np.array(light.sky, np.float32)
    middle = 0.5 * (start + end)
    face = _face(end - start, blades.side)
    toward = np.einsum("ij,ij->i", face, place - middle)
    cosine = face @ light.to_sun.astype(np.float32) * np.sign(toward)
    above = around * (1 - (middle[:, 2] / lit.height_m).clip(0, 1))
    reached = np.exp(-0.6 * above / max(float(light.to_sun[2]), 0.35))
    direct = np.where(blades.chance < reached, 1.0, _DEEP_LIGHT) * open_sun
    front = (np.maximum(cosine, 0) * direct)[:, None]
    back = (np.maximum(-cosine, 0) * direct)[:, None]
    sky = ((0.30 + 0.70 * np.exp(-0.55 * above)) * (0.65 + 0.35 * np.abs(face[:, 2])))[:, None]
    own = front * sun + back * (_THROUGH * sun) + sky * sky_light
    gloss = sky * (0.022 * sky_light) + (0.036 * np.maximum(cosine, 0) ** 12 * direct)[:, None]
    return blades.color * (1.25 * own) + gloss


def _face(along: Floats, side: Floats) -> Floats:
    """Return the unit normals of ribbons from their directions along and across, shape (N, 3)."""
    a, b = along.T, side.T
    face = np.column_stack([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])
    return face / np.maximum(np.sqrt(np.einsum("ij,ij->i", face, face)), 1e-12)[:, None]


def _leaf_area(blades: Blades, bounds: Bounds) -> Raster:
    """Return flat leaf area per ground area, smoothed over about 2 cm."""
    import cv2

    blank = empty_raster(bounds, 0.015)
    rows, cols = blank.values.shape
    column = ((blades.knee[:, 0] - blank.x0) / blank.cell_m).round().astype(np.intp)
    row = ((blades.knee[:, 1] - blank.y0) / blank.cell_m).round().astype(np.intp)
    inside = (column >= 0) & (column < cols) & (row >= 0) & (row < rows)
    cell = row[inside] * cols + column[inside]
    area = np.bincount(cell, weights=blades.flat_area_m2[inside], minlength=rows * cols).reshape(rows, cols)
    per_ground = cv2.GaussianBlur((area / blank.cell_m**2).astype(np.float32), (0, 0), 1.2)
    return Raster(per_ground, blank.x0, blank.y0, blank.cell_m)


def _blade_shadow(blades: Blades, light: Light, bounds: Bounds) -> Raster:
    """Return where single blades shade the ground, by drawing them along the sun's rays."""
    import cv2

    blank = empty_raster(bounds, 0.005)
    if max(light.sun) == 0 or not len(blades):
        return blank
    away = (light.to_sun[:2] / max(float(light.to_sun[2]), 0.15)).astype(np.float32)
    low = np.array([blank.x0, blank.y0], np.float32)

    def project(points: Floats) -> Floats:
        return (points[:, :2] - points[:, 2:] * away - low) / np.float32(blank.cell_m)

    strips = as_strips(blades, project)
    size = (blank.values.shape[1], blank.values.shape[0])
    dark = paint_strips(strips.start, strips.end, strips.half_start, strips.half_end, size=size) > 0
    soft = cv2.GaussianBlur(dark.astype(np.float32), (0, 0), 0.6)
    return Raster(np.float32(0.92) * soft, blank.x0, blank.y0, blank.cell_m)


def _hard_shadow(light: Light, bounds: Bounds) -> Raster:
    """Return 1 in the open sun and 0 in the shadow of a tree or a fence, with a rim of a few centimeters."""
    import cv2

    blank = empty_raster(bounds, 0.01)
    if light.shadow == "none":
        return Raster(blank.values + 1, blank.x0, blank.y0, blank.cell_m)
    shapes = _crown(light) if light.shadow == "tree" else _pickets(light)
    mask = np.zeros(blank.values.shape, np.uint8)
    for outline, value in shapes:
        pixels = np.rint((outline - (blank.x0, blank.y0)) / blank.cell_m).astype(np.int32)
        cv2.fillPoly(mask, [pixels], value)
    soft = cv2.GaussianBlur(mask.astype(np.float32) / 255, (0, 0), 1.8)
    return Raster(1 - np.float32(0.95) * soft, blank.x0, blank.y0, blank.cell_m)


def _crown(light: Light) -> list[tuple[Floats, int]]:
    """Outline of a crown with lobes, its trunk toward the sun, and gaps of light."""
    rng = np.random.default_rng(11)
    angle = np.linspace(0, 2 * np.pi, 220, endpoint=False)
    radius = np.ones(len(angle))
    for k in range(3, 34, 2):
        radius += 0.28 / k**0.75 * np.sin(k * angle + rng.uniform(0, 6.28)) * rng.uniform(0.4, 1)
    middle = np.array(light.shadow_at_m)
    ring = np.column_stack([1.1 * np.cos(angle), 0.8 * np.sin(angle)])
    crown = middle + light.shadow_size_m * radius[:, None] * ring
    shapes: list[tuple[Floats, int]] = [(crown, 255)]
    for _ in range(26):
        spot = middle + 0.75 * light.shadow_size_m * rng.uniform(-1, 1, 2)
        ragged = rng.uniform(0.6, 1.3, (len(ring), 1)) ** 0.3
        shapes.append((spot + light.shadow_size_m * rng.uniform(0.015, 0.07) * ragged * ring, 0))
    back = light.to_sun[:2] / max(float(np.hypot(*light.to_sun[:2])), 1e-6)
    aside = 0.09 * np.array([-back[1], back[0]])
    foot = middle + 3.0 * back
    shapes.append((np.array([middle - aside, middle + aside, foot + aside, foot - aside]), 255))
    return shapes


def _pickets(light: Light) -> list[tuple[Floats, int]]:
    """Parallel bars, 9 cm wide every 15 cm, away from the sun."""
    away = -light.to_sun[:2] / max(float(np.hypot(*light.to_sun[:2])), 1e-6)
    wide = np.array([0.09, 0.0])
    shapes: list[tuple[Floats, int]] = []
    for k in range(-14, 15):
        foot = np.array(light.shadow_at_m) + np.array([0.15 * k, 0.0])
        top = foot + light.shadow_size_m * away
        shapes.append((np.array([foot, foot + wide, top + wide, top]), 255))
    return shapes
