"""How upright the blades stand, read from the edges of leaves near the camera; the slant step's power follows from it.

A slanting photo shows past lying blades nearly as much ground as one from above; upright ones hide the gaps behind
them. The slant step (canopy/cover.py) needs to know which, and the photo shows it: seen at a slant, a blade that stands
runs up the photo, one that lies runs across it or is foreshortened. Where leaf meets ground the color changes across
the blade. So the energy of the gradient across the photo, over that along its upward direction, tells how upright the
blades stand (the structure tensor: Bigun and Granlund 1987, Proc. 1st Int. Conf. Computer Vision, 433-438). Upward is
where a plumb line runs in the photo: away from the point straight below the camera.

The gradient is that of a picture of leaf and ground alone, so that sand grain, shadows and what lies within closed turf
have little say; and it is read near the camera, where a pixel is no wider than a blade: farther out blades blur into
tufts, which all look as if they lay.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.canopy.index import FIRST_VALUE, GroundMap, excess_green
from swardmark.ground.plane import GroundPlane

SLANT_POWER, SLANT_POWER_SD = 0.7, 0.22
"""Power of the cosine in the slant step where no edge was read: 0 leaves the seen cover as it is, 1 is the gap fraction
of randomly placed leaves (Warren Wilson 1963). Value and spread over lawns by tests/benchmarks/accuracy.py: the power
goes up with upright blades and down with tufted growth."""
POWER_OF_NO_RISE, POWER_PER_RISE, POWER_SD_BY_EDGES = 0.6, 0.8, 0.2
"""Power where edges run as often up the photo as across it; what a unit of `rise` adds, the natural logarithm of energy
across over energy along; and the spread over lawns that is left. By drawn lawns and yards of photographic turf
(tests/benchmarks/accuracy.py)."""
LOWEST_POWER, HIGHEST_POWER = 0.1, 1.3
EDGES_ENOUGH = 2.0
"""Energy of all edges that tells as much as is known without them: that of four cells half covered."""
CELL_M, READABLE = 0.10, 0.9
"""Side of the cells whose middles are read, meters, and the share of a cell's points that must be readable."""
PATCH_PX, MOST_VIEW_DEG = 48, 52.0
"""Side of the patch that is read, and the view angle up to which it is: at 1600 pixels a photo from eye height shows 2
to 3 mm of ground a pixel there."""
MOST_CELLS = 200
"""More are not read: they would add up to what these tell."""
GROUND_INDEX, LEAF_INDEX = 0.02, 0.16
"""Index up to which a pixel is ground, and from which it is leaf; what lies between is part of each."""


class Edges(NamedTuple):
    """Energy of leaf edges in a photo, across and along its upward direction: the squared gradient, summed over cells.

    Both are 0 where no ground is seen near the camera.
    """

    across: float
    along: float


class Slant(NamedTuple):
    """Power of the cosine in the slant step, and its standard deviation."""

    power: float
    sd: float


NO_EDGES = Edges(0.0, 0.0)


def leaf_edges(rgb: NDArray[np.uint8], ground_map: GroundMap, plane: GroundPlane) -> Edges:
    """Read the edges of leaves in a photo.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (height, width, 3)
        The photo.
    ground_map : GroundMap
        Its map.
    plane : GroundPlane
        The ground as the photo shows it.
    """
    middles = _readable_cells(ground_map)
    at, margin = plane.pixels(middles), PATCH_PX // 2 + 1
    inside = ((at >= margin) & (at < np.array(plane.size) - margin)).all(axis=1)
    at = at[inside & (plane.view_deg(middles) <= MOST_VIEW_DEG)]
    if not len(at):
        return NO_EDGES
    some = at[np.unique(np.linspace(0, len(at) - 1, MOST_CELLS).round().astype(int))]
    across, along = _energies(rgb, some, _upward(plane, some)).sum(axis=0) * (len(at) / len(some))
    return Edges(float(across), float(along))


def slant_of(edges: Sequence[Edges]) -> Slant:
    """Return the slant step's power for a photo point, drawn toward the usual one as far as few edges are seen.

    The photos' weighted median is believed, so that clippings on one of them, or hard shadow, hardly count.
    """
    shown = np.array([one for one in edges if np.isfinite(one).all() and min(one) > 0], float).reshape(-1, 2)
    if not len(shown):
        return Slant(SLANT_POWER, SLANT_POWER_SD)
    energy = shown.sum(axis=1)
    rise = _weighted_median(np.log(shown[:, 0] / shown[:, 1]), energy / (energy + EDGES_ENOUGH))
    known = float(energy.sum() / (energy.sum() + EDGES_ENOUGH))
    power = SLANT_POWER + known * (POWER_OF_NO_RISE + POWER_PER_RISE * rise - SLANT_POWER)
    sd = float(np.sqrt(known * POWER_SD_BY_EDGES**2 + (1 - known) * SLANT_POWER_SD**2))
    return Slant(round(float(np.clip(power, LOWEST_POWER, HIGHEST_POWER)), 4), round(sd, 4))


def _weighted_median(values: NDArray[np.float64], weights: NDArray[np.float64]) -> float:
    order = np.argsort(values)
    middles = np.cumsum(weights[order]) - weights[order] / 2
    return float(np.interp(weights.sum() / 2, middles, values[order]))


def _readable_cells(ground_map: GroundMap) -> NDArray[np.float64]:
    """Return the middles of the readable cells of a map, meters, shape (cells, 2)."""
    import cv2

    side = max(1, round(CELL_M / ground_map.spacing_m))
    rows, cols = (length // side for length in ground_map.values.shape)
    if not rows or not cols:
        return np.zeros((0, 2))
    is_read = (ground_map.values[: rows * side, : cols * side] >= FIRST_VALUE).astype(np.float32)
    row, col = np.nonzero(cv2.resize(is_read, (cols, rows), interpolation=cv2.INTER_AREA) > READABLE - 1e-4)
    middle = (side - 1) / 2
    lattice = np.column_stack([ground_map.col0 + col * side + middle, ground_map.row0 + row * side + middle])
    return np.asarray(lattice * ground_map.spacing_m)


def _upward(plane: GroundPlane, at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the direction in which a plumb line runs up at pixels, unit vectors, shape (N, 2)."""
    below = plane.camera_matrix @ plane.rotation @ np.array([0.0, 0.0, -1.0])
    way = at * below[2] - below[:2]
    return np.asarray(way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-9))


def _energies(
    rgb: NDArray[np.uint8], at: NDArray[np.float64], up: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the gradient's energy across and along the upward direction in the patch at each pixel, shape (N, 2)."""
    import cv2

    half = PATCH_PX // 2
    patches = [rgb[y - half : y + half, x - half : x + half] for x, y in np.rint(at).astype(int).tolist()]
    by_x, by_y = (_within_patches(slope) for slope in cv2.spatialGradient(_leaf_of(np.concatenate(patches))))
    xx, xy, yy = (
        np.einsum("ni,ni->n", one, other) / (255 * (PATCH_PX - 2)) ** 2
        for one, other in ((by_x, by_x), (by_x, by_y), (by_y, by_y))
    )
    right, down = up.T
    across = yy * right**2 - 2 * xy * right * down + xx * down**2
    along = xx * right**2 + 2 * xy * right * down + yy * down**2
    return np.column_stack([across, along])


def _leaf_of(rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return how far each pixel is leaf, from 0, ground, to 255."""
    import cv2

    times = 255 / (LEAF_INDEX - GROUND_INDEX)
    index = excess_green(rgb)
    return np.asarray(
        cv2.addWeighted(index, times, index, 0.0, -times * GROUND_INDEX, dtype=cv2.CV_8U), np.uint8
    )


def _within_patches(slope: ArrayLike) -> NDArray[np.float32]:
    """Return a row for each patch, its rim, which its neighbor's pixels tinge, made 0."""
    patches = np.asarray(slope, np.float32).reshape(-1, PATCH_PX, PATCH_PX)
    patches[:, [0, -1]] = 0
    patches[:, :, [0, -1]] = 0
    return patches.reshape(len(patches), -1)
