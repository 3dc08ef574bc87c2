"""Drawn sand with known heights, as photos that the measuring takes."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image

from swardmark.photo.decode import Photo
from swardmark.photo.header import Camera
from swardmark.practice.fields import Raster
from swardmark.practice.relief.draw import Sand, draw_relief, square_boards
from swardmark.practice.relief.ground import Dip, dragged_sand, scattered_dips
from swardmark.practice.relief.pegs import peg_feet_mm, pegged_lawn, set_pegs
from swardmark.practice.relief.phone import View, walk


@dataclass(frozen=True, eq=False)
class Scene:
    """One set of photos, and the ground that they show."""

    photos: list[Photo]
    heights: Raster
    dips: tuple[Dip, ...]
    views: tuple[View, ...]
    sand: Sand


def draw_scene(seed: int, *, photos: int = 5, width_px: int = 2000, dips: int | tuple[Dip, ...] = 3,
               prints: int = 4, wave_mm: float = 1.2, noise: float = 1.0, contrast: float = 0.10,
               jpeg: int | None = 92, step_deg: float = 23.0, focal35: float | None = 26.0) -> Scene:  # fmt: skip
    """Draw one set of photos of dragged sand."""
    rng = np.random.default_rng([seed, 99])
    laid = scattered_dips(rng, dips) if isinstance(dips, int) else dips
    heights = dragged_sand(rng, dips=laid, prints=prints, wave_mm=wave_mm)
    sand = Sand(heights, seed=seed, boards=square_boards(), contrast=contrast)
    views = walk(rng, photos=photos, width_px=width_px, step_deg=step_deg)
    pictures = [draw_relief(view, sand, seed=100 * seed + n, noise=noise) for n, view in enumerate(views)]
    return Scene(photos_of(pictures, jpeg=jpeg, focal35=focal35), heights, laid, views, sand)


def photos_of(
    pictures: list[np.ndarray], *, jpeg: int | None = 92, focal35: float | None = 26.0
) -> list[Photo]:
    """Turn drawn pictures into photos."""
    camera = Camera("Practice", "Drawn phone", focal35)
    found = []
    for n, rgb in enumerate(pictures):
        if jpeg is not None:
            buffer = io.BytesIO()
            Image.fromarray(rgb).save(buffer, "JPEG", quality=jpeg)
            rgb = np.asarray(Image.open(buffer))
        found.append(
            Photo(np.ascontiguousarray(rgb), None, "unknown", camera, f"{n:064d}", f"sand-{n + 1}.jpg")
        )
    return found


def true_heights(scene: Scene, places_m: np.ndarray) -> np.ndarray:
    """Return the drawn heights in millimeters at places, shape (..., 2)."""
    return np.asarray(scene.heights.smooth_at(places_m[..., 0], places_m[..., 1]), float)


@dataclass(frozen=True, eq=False)
class PegScene:
    """One set of photos of pegs, with the height of the soil under each, by number."""

    photos: list[Photo]
    feet_mm: dict[int, float]
    places_m: dict[int, np.ndarray]


def draw_pegs(seed: int, *, photos: int = 4, count: int = 25, width_px: int = 2000, step_deg: float = 24.0,
              noise: float = 1.0) -> PegScene:  # fmt: skip
    """Draw pegs in grass with hollows; leaf is another in each photo."""
    rng = np.random.default_rng([seed, 7])
    heights = dragged_sand(rng, dips=scattered_dips(rng, 3), prints=0)
    pegs = set_pegs(rng, count=count)
    views = walk(rng, photos=photos, width_px=width_px, distance_m=2.0, step_deg=step_deg)
    pictures = [
        draw_relief(view, pegged_lawn(heights, pegs, seed=100 * seed + n), seed=100 * seed + n, noise=noise)
        for n, view in enumerate(views)
    ]
    feet = peg_feet_mm(pegs, heights)
    return PegScene(
        photos_of(pictures),
        {peg.number: float(foot) for peg, foot in zip(pegs, feet, strict=True)},
        {peg.number: np.array(peg.middle_m) for peg in pegs},
    )
