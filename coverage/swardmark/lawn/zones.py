"""Zones of the lawn: which of them share ground, and named patches where the keeper drew none."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from swardmark.lawn.toml import Zone

LEAST_PATCH_M2 = 0.2
"""Named patches of which less is seen, in the mean of all photos, are left out."""
LEAST_OVERLAP_M2 = 0.05
"""Zones that share less ground than this, about a shovel's, are drawn side by side by hand."""


def overlaps(zones: Sequence[Zone]) -> list[tuple[str, str, float]]:
    """Return the pairs of zones of one photo point that share ground: both names and square meters, most first."""
    boxes = [(*np.min(zone.outline_m, axis=0), *np.max(zone.outline_m, axis=0)) for zone in zones]
    order = sorted(range(len(zones)), key=lambda n: boxes[n][0])
    near: list[tuple[int, int]] = []
    for at, one in enumerate(order):
        _, bottom, right, top = boxes[one]
        for other in order[at + 1 :]:
            if boxes[other][0] >= right:
                break
            apart = boxes[other][1] >= top or boxes[other][3] <= bottom
            if not apart and zones[one].point == zones[other].point:
                near.append((min(one, other), max(one, other)))
    return _shared_ground(zones, near) if near else []


def _shared_ground(zones: Sequence[Zone], pairs: Sequence[tuple[int, int]]) -> list[tuple[str, str, float]]:
    import shapely

    shapes = {n: shapely.Polygon(zones[n].outline_m) for pair in pairs for n in pair}
    found = [(zones[a].name, zones[b].name, float(shapes[a].intersection(shapes[b]).area)) for a, b in pairs]
    return sorted((one for one in found if one[2] >= LEAST_OVERLAP_M2), key=lambda one: -one[2])


def patch_zones(point: str, side_m: float) -> tuple[Zone, ...]:
    """Divide the ground around the square into patches named from where the photographer stands."""
    columns = {"left": (-2.0, 0.0), "middle": (0.0, side_m), "right": (side_m, side_m + 2.0)}
    rows = {"near": (-1.5, side_m / 2), "far": (side_m / 2, side_m + 2.5)}
    return tuple(
        Zone(
            name=f"{depth} {place}",
            outline_m=((left, front), (right, front), (right, back), (left, back)),
            point=point,
        )
        for depth, (front, back) in rows.items()
        for place, (left, right) in columns.items()
    )
