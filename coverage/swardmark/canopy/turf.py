"""What a photo shows of its turf: the index of full turf, and the light of leaves and bare ground.

Both are read from a part of the ground points, once per photo, and kept in the record; the photo point's scale
(canopy/scale.py) is chosen from those of all its photos.

Full turf is closed: hardly a point of it looks like ground. What closed cells show is the index of full turf, with its
straw and the dark gaps between its blades. Where all of a photo is closed, its pale cells are as full as its green
ones; where some of it is, the palest of the closed cells are not quite full. Where a lawn is thin all over, its densest
cells show how much ground is left, and full turf is extrapolated from them.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.index import FIRST_VALUE, INDEX_LOW, INDEX_STEP, GroundMap, byte_of
from swardmark.canopy.scale import USUAL_GROUND
from swardmark.common.color import Colors

CELL_M = 0.20
"""Side of a cell, meters: large enough that its mean is hardly moved by single blades."""
EVERY = 2
"""Every second point along rows and columns is enough for a cell's mean."""
LEAST_CELLS, LEAST_SEEN = 5, 0.5
"""Fewer cells tell nothing; of a cell at least this share of its points must be readable."""
DENSEST, DENSE = 0.98, 0.95
"""Share of the cells that are thinner than the densest one (beyond it are odd ones, a weed or a toy), and than those
that full turf is extrapolated from on a thin lawn."""
LEAST_DENSEST = 0.07
"""Where even the densest cell lies below this index, there is no turf to read."""
GROUND_WAY, MOST_GROUND = 0.4, 0.01
"""A point looks like ground up to this part of the way from ground to the densest cell; a closed cell has at most this
share of them."""
CLOSED_RANK, CLOSED_FALL = 0.65, 0.9
"""Rank among the closed cells of the one that stands for full turf, 0 the palest and 1 the greenest: in the middle
where few cells of the photo are closed, lower by this share where all are. Drawn lawns: 0 to 65 % of the cells are
closed where zones of all covers are in view, 87 % and more where all the lawn is full."""
GAPS_PER_POINT, MOST_GAPS = 2.5, 0.5
"""Ground that a cell shows for every point that looks like it, for most gaps are narrower than a pixel; and the largest
share of ground from which full turf is extrapolated. By drawn lawns at 15 to 50 % cover."""
SURELY_BARE, SURELY_LEAF = 0.02, 0.18
"""Index below which a point is bare ground, and above which it is leaf, on any lawn."""
SHADED = 0.7
"""Coded brightness, over that of the brightest closed cells, below which a closed cell is shaded: half the light."""
MOST_POINTS = 20_000
LEAST_SHARE = 0.01
CODED_POWER = 2.2
"""Power by which coded values turn into light, nearly that of sRGB (IEC 61966-2-1)."""


class FullTurf(NamedTuple):
    """The index of full turf in a photo, and the share of the ground seen that is closed turf, 0..1."""

    green: float
    closed: float


NO_TURF = FullTurf(float("nan"), 0.0)


def full_turf(ground_map: GroundMap, light: NDArray[np.uint8] | None = None) -> FullTurf:
    """Return the index of full turf as a photo shows it; NaN where all is bare or hardly anything is readable.

    Parameters
    ----------
    ground_map : GroundMap
        The photo's map.
    light : ndarray of uint8, shape of the map, optional
        Coded brightness of each point; with it shaded cells have no say, since shade is bluer than the sun.
    """
    side = EVERY * max(1, round(CELL_M / (EVERY * ground_map.spacing_m)))
    part = slice(-ground_map.row0 % side, None, EVERY), slice(-ground_map.col0 % side, None, EVERY)
    cells = _cells(ground_map.values[part], side // EVERY)
    readable = (cells >= FIRST_VALUE).sum(axis=1)
    is_seen = readable >= LEAST_SEEN * cells.shape[1]
    cells = cells[is_seen]
    if len(cells) < LEAST_CELLS:
        return NO_TURF
    is_read = cells >= FIRST_VALUE
    points = is_read.sum(axis=1)
    level = np.where(is_read, cells, 0).sum(axis=1, dtype=np.int64) / points - FIRST_VALUE
    index = INDEX_LOW + INDEX_STEP * level
    densest = float(np.quantile(index, DENSEST))
    if densest < LEAST_DENSEST:
        return NO_TURF
    like_ground = is_read & (cells < byte_of(USUAL_GROUND + GROUND_WAY * (densest - USUAL_GROUND)))
    is_closed = like_ground.sum(axis=1) <= MOST_GROUND * points
    if is_closed.sum() >= LEAST_CELLS:
        closed = float(is_closed.mean())
        rank = CLOSED_RANK * (1 - CLOSED_FALL * closed**2)
        if light is not None:
            is_closed = _lit(is_closed, _cells(light[part], side // EVERY)[is_seen].mean(axis=1))
        return FullTurf(float(np.quantile(index[is_closed], rank)), closed)
    dense = index >= np.quantile(index, DENSE)
    gaps = GAPS_PER_POINT * float(like_ground[dense].sum() / points[dense].sum())
    if gaps >= MOST_GAPS:
        return NO_TURF
    return FullTurf(USUAL_GROUND + (densest - USUAL_GROUND) / (1 - gaps), 0.0)


def leaf_light(colors: Colors, values: NDArray[np.uint8]) -> float:
    """Return the light of leaves over that of the bare ground beside them; NaN where the photo lacks either.

    Parameters
    ----------
    colors : Colors of shape (points,)
        Coded camera values of the ground points.
    values : ndarray of uint8, shape (points,)
        Their map values; those that are not readable are left out.
    """
    step = max(1, len(values) // MOST_POINTS)
    some, light = values[::step], colors.at(slice(None, None, step))
    brightness = light.red.astype(np.float32) + light.green + light.blue
    bare = brightness[(some >= FIRST_VALUE) & (some <= byte_of(SURELY_BARE))]
    leaf = brightness[some > byte_of(SURELY_LEAF)]
    if min(len(bare), len(leaf)) <= LEAST_SHARE * len(some):
        return float("nan")
    return float((np.median(leaf) / np.median(bare)) ** CODED_POWER)


def _lit(closed: NDArray[np.bool_], light: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Leave the shaded ones out of the closed cells, where enough others remain."""
    lit = closed & (light >= SHADED * np.quantile(light[closed], 0.9))
    return lit if lit.sum() >= LEAST_CELLS else closed


def _cells(values: NDArray[np.uint8], side: int) -> NDArray[np.uint8]:
    """Cut a map into whole square cells, shape (cells, points of a cell)."""
    rows, cols = (length // side for length in values.shape)
    blocks = values[: rows * side, : cols * side].reshape(rows, side, cols, side)
    return blocks.swapaxes(1, 2).reshape(rows * cols, side * side)
