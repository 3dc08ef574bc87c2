"""Yards of photographic turf and ground: the drawn lawns' geometry in the colors of photographs.

What hides what comes from the drawn blades (slant, shadow, corner marks and the truth are theirs); what it looks like
comes from photographs of sand, soil and turf in Debian packages (field_photo_list.toml). A pixel of leaf shows a
photograph of closed turf as it lies on the ground there, with its straws, dark gaps and shades of green; all else
shows a photograph of bare ground in the drawn light and among the shadows of the blades. Both are averaged over as
much ground as the pixel sees. Dew lies on some yards as a pale veil over part of the lawn. Then lens, noise and coding
are those of the practice photos.

Photographs are taken as white-balanced, and their brightness as reflectance, held within what leaves and grounds
reflect (visible light, common practice, no source): turf 0.05 to 0.14, ground 0.08 to 0.45.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import field_photos
import numpy as np
from accuracy_scenes import Lawn, grow_lawn

from swardmark.canopy.index import excess_green
from swardmark.practice import draw as practice
from swardmark.practice.backdrop import draw_backdrop
from swardmark.practice.lighting import light_up, shade_ground
from swardmark.practice.target import lay_square

PHOTO_M = 0.8
"""Ground that a photograph stands for, meters; beyond its rim it is mirrored."""
TURF_LIGHT, GROUND_LIGHT = (0.05, 0.14), (0.08, 0.45)
GREENEST = 0.8
"""A photograph with a higher mean excess green is no turf: one of the list is a painted leaf (1.29, all others 0.20 to
0.67)."""
DEW_SHARE, DEW_VEIL = 0.25, (0.003, 0.02)
"""Share of the yards with dew, and the light that it adds where it lies, as a share of what white paper sends back
there; turf sends back 0.05 to 0.14. Common practice, no source."""
LEVELS = 6


@dataclass(frozen=True, eq=False)
class Photographs:
    """Photographs of one half of the list, as linear light."""

    grounds: list[np.ndarray]
    turfs: list[np.ndarray]


def photographs(folder: Path, use: str) -> Photographs:
    """Read the photographs of one half of the list ("chosen on" or "checked on"), fetching what is missing."""
    grounds, turfs = [], []
    for name, entry in tomllib.loads(field_photos.LIST.read_text()).items():
        if entry["use"] == use:
            grounds += field_photos.photos(folder, name, entry, "bare")
            turfs += [p for p in field_photos.photos(folder, name, entry, "full") if _green(p) <= GREENEST]
    return Photographs(
        [_reflecting(one, GROUND_LIGHT) for one in grounds], [_reflecting(one, TURF_LIGHT) for one in turfs]
    )


def _green(photo: np.ndarray) -> float:
    return float(excess_green(photo, damping=0.0)[photo.max(axis=2) > 20].mean())


def _reflecting(photo: np.ndarray, limits: tuple[float, float]) -> np.ndarray:
    light = field_photos.light_of(photo).astype(np.float32)
    mean = float(light.mean())
    return light * np.float32(np.clip(mean, *limits) / max(mean, 1e-4))


@dataclass(frozen=True, eq=False)
class PhotoYard:
    """A seed's lawn with the photographs that it shows; it draws as `Lawn` does."""

    lawn: Lawn
    ground: np.ndarray
    turf: np.ndarray
    dew: float

    def draw(self, *, seed: int) -> practice.DrawnPhoto:
        """Draw the yard as a photo."""
        scene, camera = self.lawn.scene, self.lawn.scene.camera
        back = draw_backdrop(camera, scene.ground)
        blades = self.lawn.blades.only(practice._in_view(self.lawn.blades, camera))
        lit = light_up(blades, scene.light, practice._bounds(back))
        footprint_m = _footprint_m(back.x_m, back.y_m)
        is_lawn = back.is_sand.astype(bool)
        color = back.color.copy()
        color[is_lawn] = _shown(self.ground, back.x_m, back.y_m, footprint_m)[is_lawn]
        open_light = shade_ground(back.x_m, back.y_m, lit, among_blades=np.zeros_like(back.is_sand))
        picture = color * practice._light_on(back, lit)
        leaf = _leaf_share(blades, camera)[..., None]
        picture += leaf * (_shown(self.turf, back.x_m, back.y_m, footprint_m) * open_light - picture)
        picture += self._dew(is_lawn, seed)[..., None] * open_light
        lay_square(picture, scene.square, camera, open_light)
        rgb = practice._develop(picture, back, scene.light, np.random.default_rng([seed, 5]))
        corners = camera.project(np.column_stack([scene.square.corners_m, np.zeros(4)]))[0]
        return practice.DrawnPhoto(rgb, scene, corners, camera.ground_homography)

    def _dew(self, is_lawn: np.ndarray, seed: int) -> np.ndarray:
        """Return the veil of dew, over the part of the lawn that it lies on."""
        if not self.dew:
            return np.zeros(is_lawn.shape, np.float32)
        rng = np.random.default_rng([seed, 6])
        field = cv2.resize(
            rng.normal(size=(5, 6)).astype(np.float32), is_lawn.shape[::-1], interpolation=cv2.INTER_CUBIC
        )
        return np.float32(self.dew) * np.clip(field + 0.5, 0, 1) * is_lawn


def grow_yard(seed: int, known: Photographs, *, width_px: int = 1600, day: float | None = None) -> PhotoYard:
    """Make the yard of a seed: the drawn lawn of that seed, its dead blades taken out, and two photographs."""
    rng = np.random.default_rng([seed, 78])
    lawn = grow_lawn(seed, width_px=width_px, day=day)
    lawn = replace(lawn, blades=lawn.blades.only(lawn.blades.living))
    ground, turf = (pool[rng.integers(len(pool))] for pool in (known.grounds, known.turfs))
    return PhotoYard(lawn, ground, turf, rng.uniform(*DEW_VEIL) if rng.uniform() < DEW_SHARE else 0.0)


def _leaf_share(blades, camera) -> np.ndarray:
    """Return how much of each pixel is leaf, 0..1."""
    width, height = camera.size_px
    if not len(blades):
        return np.zeros((height, width), np.float32)
    _, ids = practice._paint(blades, camera)
    return cv2.resize((ids > 0).astype(np.float32), (width, height), interpolation=cv2.INTER_AREA)


def _footprint_m(x_m: np.ndarray, y_m: np.ndarray) -> np.ndarray:
    """Return how much ground each pixel sees, as the side of a square, meters."""
    with np.errstate(all="ignore"):
        across = np.hypot(np.gradient(x_m, axis=1), np.gradient(y_m, axis=1))
        along = np.hypot(np.gradient(x_m, axis=0), np.gradient(y_m, axis=0))
        return np.nan_to_num(np.sqrt(across * along), nan=1.0, posinf=1.0)


def _shown(photo: np.ndarray, x_m: np.ndarray, y_m: np.ndarray, footprint_m: np.ndarray) -> np.ndarray:
    """Return a photograph's light at ground points, averaged over each pixel's ground by halved copies of it."""
    halved = [photo]
    while len(halved) < LEVELS and min(halved[-1].shape[:2]) >= 4:
        size = tuple(side // 2 for side in halved[-1].shape[1::-1])
        halved.append(cv2.resize(halved[-1], size, interpolation=cv2.INTER_AREA))
    texel_m = PHOTO_M / photo.shape[1]
    level = np.clip(np.rint(np.log2(np.maximum(footprint_m / texel_m, 1e-3))), 0, len(halved) - 1).astype(int)
    out = np.zeros((*x_m.shape, 3), np.float32)
    for number, one in enumerate(halved):
        where = level == number
        u, v = (1 - np.abs((np.nan_to_num(at[where]) / PHOTO_M) % 2 - 1) for at in (x_m, y_m))
        rows, cols = (
            np.minimum((s * n).astype(int), n - 1) for s, n in zip((v, u), one.shape[:2], strict=True)
        )
        out[where] = one[rows, cols]
    return out
