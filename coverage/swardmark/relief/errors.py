"""How far measured heights may be off: a jackknife over the photos, and a floor.

The adjustment's own covariance says 0.02 to 0.06 mm on drawn sand and is useless. Leaving out each photo in turn shows
how much the heights hang on it: through the cameras, which are fitted anew, and through the photo's own share in the
sweep. What photos tell of heights grows with their pairs, n (n - 1) / 2, so that leaving one of n out costs more than
the usual factor (n - 1) / n allows for: here it is (n - 2) / n. (The usual jackknife is never too small: B. Efron and
C. Stein 1981, Annals of Statistics 9(3):586-596, from memory.) What all photos have in common (lens, grain, box) no
jackknife sees; a floor stands for it. It is set on drawn scenes with known heights and must be set anew on measured
ground.
"""

from __future__ import annotations

import numpy as np

from swardmark.bundle.adjust import Sightings, triangulated
from swardmark.bundle.camera import Floats, project
from swardmark.bundle.lattice import CELLS
from swardmark.relief.solve import Solved, without
from swardmark.relief.surface import at_cells, off_quadratic, smoothed_over
from swardmark.relief.sweep import Swept

FLOOR_MM = 0.33
"""Standard error that remains, on sand, in millimeters: drag lines and grain that a box of 113 mm does not show."""
TWO_TIMES = 1.5
"""Where two photos alone see the ground, no third contradicts them: the floor is so many times as high."""
ROUGH_SHARE, ROUGH_CELLS = 0.4, 2.0
"""Where the ground changes within 5 cm, as round a shoe print, so much of the change is in doubt."""
NOISE_CELLS = 6.0
"""Spread over which the jackknife is smoothed: 0.15 m."""
EVERY = 8
"""The cameras' part is worked out on every eighth cell, 0.2 m."""


def cell_errors_mm(solved: Solved, swept: Swept) -> Floats:
    """Return the standard error of each cell's height in millimeters, shape (cells, cells); NaN where unknown."""
    known = np.isfinite(swept.up_m)
    count = len(solved.flats)
    base = 1000 * swept.up_m
    off = []
    for photo in range(count):
        moved = 1000 * (swept.without_m[photo] + _camera_part_m(solved, photo)) - base
        if (np.isfinite(moved) & known).sum() < known.sum() / 4:
            continue
        off.append(smoothed_over(off_quadratic(moved.clip(-15, 15), solved.lattice), 1.0))
    if len(off) < 2:
        return np.where(known, 2 * FLOOR_MM, np.nan)
    table = np.stack(off)
    seen = np.isfinite(table)
    n = seen.sum(axis=0)
    filled = np.where(seen, table, 0.0)
    mean = filled.sum(axis=0) / np.maximum(n, 1)
    square = np.where(seen, (table - mean) ** 2, 0.0).sum(axis=0) * (n - 2).clip(1) / np.maximum(n, 1)
    jackknife = smoothed_over(np.where(known & (n > 1), square, np.nan), NOISE_CELLS)
    fewest = np.where(swept.pairs <= 1, TWO_TIMES, 1.0)
    spread = (
        np.nan_to_num(jackknife, nan=FLOOR_MM**2) + _rough_mm(solved, swept) ** 2 + (fewest * FLOOR_MM) ** 2
    )
    return np.where(known, np.sqrt(spread), np.nan)


def _rough_mm(solved: Solved, swept: Swept) -> Floats:
    height = 1000 * (at_cells(solved.surface_m) + swept.up_m)
    change = smoothed_over((height - smoothed_over(height, ROUGH_CELLS)) ** 2, ROUGH_CELLS)
    return np.asarray(ROUGH_SHARE * np.sqrt(np.nan_to_num(change)))


def _camera_part_m(solved: Solved, photo: int) -> Floats:
    """Return by how much heights change, shape (cells, cells), when the cameras are fitted without a photo."""
    import cv2

    bundle = without(solved, photo)
    others = [n for n in range(len(solved.flats)) if n != photo]
    places = solved.lattice.places_m[::EVERY, ::EVERY]
    z = at_cells(solved.surface_m)[::EVERY, ::EVERY]
    ground = np.dstack([places, z]).reshape(-1, 3)
    read = [at_cells(solved.flats[n].readable)[::EVERY, ::EVERY].ravel() for n in others]
    often = np.sum(read, axis=0) >= 2
    view, point, pixels = [], [], []
    for k, n in enumerate(others):
        own = np.flatnonzero(read[k] & often)
        view.append(np.full(len(own), k))
        point.append(own)
        pixels.append(project(ground[own], solved.bundle.lens, solved.bundle.views[n]))
    seen = Sightings(np.concatenate(view), np.concatenate(point), np.concatenate(pixels))
    moved = triangulated(seen, bundle.lens, bundle.views, ground)
    change = np.where(often, moved[:, 2] - ground[:, 2], np.nan).reshape(z.shape)
    coarse = smoothed_over(change, 1.0)
    filled = np.where(np.isfinite(coarse), coarse, np.nanmean(coarse)).astype(np.float32)
    at = (np.arange(CELLS) / EVERY).astype(np.float32)
    column, row = np.meshgrid(at, at)
    full = cv2.remap(filled, column, row, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(full, float)
