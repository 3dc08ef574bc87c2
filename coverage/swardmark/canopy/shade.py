"""Shaded ground, read in its own light.

The index is damped, so that it is not noise where hardly any light falls. In a photo whose exposure suits the sunny
ground, the damping takes a quarter of the index of leaves in hard shade, and full turf there reads a quarter thin.
Leaves tell the shade: where those of a cell get far less light than the lit leaves of the same photo, the cell's colors
are brought to the brightness of the lit ones before the index is taken. Leaves on dark soil are lit: it is no shade.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.index import UNREADABLE, GroundMap, byte_of, index_bytes
from swardmark.canopy.turf import CELL_M, EVERY, SURELY_LEAF
from swardmark.common.color import Colors

SHADED = 0.62
"""Coded brightness of a cell's leaves over that of lit ones below which it lies in shade: 0.35 of the light, as open
shade gets a fifth to a third of that of full sun (common practice, no source)."""
LEAST_SHADED = 0.25
"""Share of the cells in shade from which on it is made up for. Less is what the photo point's scale was tuned with."""
MOST_GAIN = 2.5
LIT_RANK = 0.8
LEAST_LEAF, LEAST_CELLS = 0.05, 10
"""Share of a cell's points that are surely leaf from which on they tell its light; and cells with so many."""


def in_own_light(
    ground_map: GroundMap, seen: NDArray[np.bool_], colors: Colors, *, damping: float
) -> GroundMap:
    """Read shaded ground anew in its own light.

    Parameters
    ----------
    ground_map : GroundMap
        The map as the colors gave it.
    seen : ndarray of bool, shape of the map
        The points that the colors are of.
    colors : Colors of shape (points,)
        Coded camera values of the ground points.
    damping : float
        k of the damped index, in 8-bit steps.

    Returns
    -------
    GroundMap
        The same map where nothing lies in shade.
    """
    brightness = np.zeros(seen.shape, np.uint8)
    brightness[seen] = colors.green
    gain = _gain(ground_map, brightness)
    if gain is None:
        return ground_map
    brighter = gain[seen]
    shaded = np.flatnonzero((brighter > 1) & (ground_map.values[seen] > UNREADABLE))
    lifted = (np.minimum(np.rint(channel * brighter[shaded]), 254) for channel in colors.at(shaded))
    values = ground_map.values.copy()
    inside = values[seen]
    inside[shaded] = index_bytes(Colors(*(channel.astype(np.uint8) for channel in lifted)), damping=damping)
    values[seen] = inside
    return GroundMap(values, ground_map.row0, ground_map.col0, ground_map.spacing_m)


def _gain(ground_map: GroundMap, brightness: NDArray[np.uint8]) -> NDArray[np.float32] | None:
    """Return by how much each point is to be brightened, shape of the map; None where nothing is."""
    import cv2

    side = EVERY * max(1, round(CELL_M / (EVERY * ground_map.spacing_m)))
    down, across = (length // side for length in brightness.shape)
    if not down or not across:
        return None
    some = slice(0, down * side, EVERY), slice(0, across * side, EVERY)
    is_leaf = (ground_map.values[some] > byte_of(SURELY_LEAF)).astype(np.float32)
    leaf, light = (
        cv2.resize(values, (across, down), interpolation=cv2.INTER_AREA)
        for values in (is_leaf, is_leaf * brightness[some])
    )
    known = leaf >= LEAST_LEAF
    if known.sum() < LEAST_CELLS:
        return None
    light = np.where(known, light / np.maximum(leaf, LEAST_LEAF), np.inf)
    ratio = light / np.quantile(light[known], LIT_RANK)
    if not (ratio[known] < SHADED).mean() >= LEAST_SHADED:
        return None
    gain = np.where(ratio < SHADED, np.minimum(1 / np.maximum(ratio, 1 / MOST_GAIN), MOST_GAIN), 1.0)
    size = (across * side, down * side)
    whole = cv2.resize(gain.astype(np.float32), size, interpolation=cv2.INTER_LINEAR)
    rest = (0, brightness.shape[0] - size[1], 0, brightness.shape[1] - size[0])
    return np.asarray(cv2.copyMakeBorder(whole, *rest, cv2.BORDER_REPLICATE), np.float32)
