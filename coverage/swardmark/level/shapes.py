"""Hollows without a map: what area and deepest point, or the outlines of a drying puddle, say of the volume.

The mean depth of a hollow is a share of its deepest: a half for a bowl (paraboloid), a third for a cone, about 0.77 for
a flat bottom with short sides. A single reading is taken for a bowl, and the other two shapes are the ends of its
interval. The water's edge is a level line: between two outlines of a puddle lies a layer of known height, whose volume
is that of a frustum.

Source: solid geometry; the frustum's volume is h (A + B + sqrt(A B)) / 3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from swardmark.level.remeasure import Volume

BOWL, CONE, FLAT = 0.5, 1 / 3, 0.77
"""Mean depth over deepest: a paraboloid, a cone, a flat bottom with short sides (a frustum, 0.75 of the width)."""


def bowl_volume(area_m2: float, deepest_mm: float) -> Volume:
    """Return the volume of a hollow of which area and deepest point are known.

    Examples
    --------
    >>> bowl_volume(2.0, 30.0)
    Volume(litres=30.0, low_litres=20.0, high_litres=46.2)
    """
    block = area_m2 * deepest_mm
    return Volume(*(round(share * block, 9) for share in (BOWL, CONE, FLAT)))


def frustum_litres(top_m2: float, bottom_m2: float, height_mm: float) -> float:
    """Return the litres between two level outlines, so many millimeters apart."""
    return height_mm * (top_m2 + bottom_m2 + math.sqrt(top_m2 * bottom_m2)) / 3


def puddle_volume(areas_m2: Sequence[float], deepest_mm: Sequence[float | None]) -> Volume:
    """Return the volume of a hollow from the outlines of its puddle as it dries.

    Parameters
    ----------
    areas_m2 : sequence of float
        Areas inside the outlines, in square meters.
    deepest_mm : sequence of float or None
        Depth of the water at its deepest for each outline; one at least must be known.

    Returns
    -------
    Volume
        With one known depth a bowl is taken, whose depth goes with its area; with several, layers between them.

    Raises
    ------
    ValueError
        No depth is known.
    """
    known = sorted(
        ((area, depth) for area, depth in zip(areas_m2, deepest_mm, strict=True) if depth is not None),
        reverse=True,
    )
    if not known:
        raise ValueError("a puddle needs one depth at least")
    widest, (area, depth) = max(areas_m2), known[0]
    whole = bowl_volume(widest, depth * widest / area)
    if len(known) == 1:
        return whole
    layers = sum(
        frustum_litres(upper, lower, max(0.0, high - low)) for (upper, high), (lower, low) in pairwise(known)
    )
    rest = bowl_volume(*known[-1])
    above = frustum_litres(widest, area, depth * (widest / area - 1)) if widest > area else 0.0
    litres = above + layers
    return Volume(litres + rest.litres, litres + rest.low_litres, litres + rest.high_litres)
