"""Which points of a map lie in a zone: for tests and benchmarks that look at whole maps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.index import GroundMap
from swardmark.lawn.toml import Zone
from swardmark.measure.zone_points import zone_points


def zone_mask(zone: Zone, ground_map: GroundMap) -> NDArray[np.bool_]:
    """Tell which points of a map lie inside a zone's outline, shape of the map."""
    height, width = ground_map.values.shape
    mask, window = np.zeros((height, width), bool), (ground_map.row0, ground_map.col0, height, width)
    rows, cols, inside = zone_points(zone, spacing_m=ground_map.spacing_m, within=window).part_of(ground_map)
    mask[rows, cols] = inside
    return mask
