"""Kept covers are used again only while COVER_VERSION stands, so whatever changes them must raise it."""

from __future__ import annotations

import numpy as np

from swardmark.canopy.cover import zone_cover
from swardmark.canopy.index import GroundMap
from swardmark.canopy.scale import BLADE_MM, leaf_scale, value_counts
from swardmark.lawn.toml import Zone
from swardmark.lawn.zones import patch_zones
from swardmark.measure.zonal import COVER_VERSION
from swardmark.measure.zone_points import zone_points

STORED_VERSION = 5
STORED = (
    (34.6931, 25.9968, 43.3662, 36.8414, 4.0076),
    (31.4052, 22.3685, 40.5276, 35.3392, 3.3832),
    (37.7596, 28.7633, 46.7029, 39.532, 3.738),
    (47.6711, 36.9684, 58.2162, 48.5228, 1.758),
)


def covers() -> tuple[tuple[float, ...], ...]:
    """Cover, interval, seen cover and area of two outlines and a patch on a drawn map: sand, turf, shade, a gap."""
    rows, cols = np.mgrid[-100:200, -150:150]
    leaf = np.sin(rows / 7) * np.cos(cols / 9) + np.sin((rows + 2 * cols) / 31) > 0.35
    values = np.where(leaf, 150 + rows % 23, 70 + cols % 19).astype(np.uint8)
    values[(rows + cols) % 41 == 0] = 1
    values[(abs(rows - 30) < 25) & (abs(cols) < 25)] = 0
    ground_map = GroundMap(values, -100, -150, 0.02)
    scale = leaf_scale(value_counts(ground_map), full_index=[0.30], leaf_light=[0.8], footprint_mm=BLADE_MM)
    zones = [
        Zone(name="one", outline_m=((-2, -1), (0, -1), (0, 1.5), (-1.7, 1.4))),
        Zone(name="two", outline_m=((-1, 0), (2, 0.2), (1.5, 3))),
        *patch_zones("main", 1.0)[:2],
    ]
    found = []
    for zone in zones:
        window = (ground_map.row0, ground_map.col0, *values.shape)
        part, rows_, inside = zone_points(zone, spacing_m=0.02, within=window).part_of(ground_map)
        own = GroundMap(values[part, rows_], -100 + part.start, -150 + rows_.start, 0.02)
        view = np.hypot(own.x_m - 0.5, own.y_m[:, None] + 1.5) * 15 + 10
        cover = zone_cover(own, inside, scale=scale, view_deg=view)
        numbers = (cover.cover_pct, cover.low_pct, cover.high_pct, cover.seen_pct, cover.area_m2)
        found.append(tuple(round(float(number), 4) for number in numbers))
    return tuple(found)


def test_other_covers_of_the_same_maps_need_another_version():
    remedy = (
        "covers changed: raise COVER_VERSION in measure/zonal.py, and store its number and these covers here"
    )
    assert (COVER_VERSION, covers()) == (STORED_VERSION, STORED), remedy


if __name__ == "__main__":
    print(covers())
