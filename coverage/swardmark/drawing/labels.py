"""Where the number of each spot goes on a map, so that no two numbers and no number and outline overlap."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

Place = tuple[float, float]
DIRECTIONS, RINGS = 16, 6


def label_places(
    shapes: Sequence[Polygon],
    *,
    width: float,
    height: float,
    view: tuple[float, float, float, float],
    taken: Sequence[BaseGeometry] = (),
) -> list[Place]:
    """Return the middle of each shape's label: inside the shape if it fits there, else near by.

    Parameters
    ----------
    shapes : sequence of Polygon
        The outlines, in meters.
    width, height : float
        Size of a label, in meters on the map.
    view : tuple of float
        Left, bottom, right and top of the map, in meters.
    taken : sequence of geometry
        What no label should cover besides the shapes.

    Returns
    -------
    list of (x, y)
        In the order of `shapes`. Where nothing is free, the place that covers least.
    """
    from shapely import box

    frame = box(*view)
    shapes, taken = [_sound(shape) for shape in shapes], [_sound(one) for one in taken]
    placed: list[BaseGeometry] = []
    places: dict[int, Place] = {}
    for n in sorted(range(len(shapes)), key=lambda n: -shapes[n].area):
        best, least = (shapes[n].centroid.x, shapes[n].centroid.y), math.inf
        for x, y in _candidates(shapes[n], width, height):
            label = box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
            others = [shape for m, shape in enumerate(shapes) if m != n or not shape.contains(label)]
            covered = sum(label.intersection(other).area for other in (*others, *placed, *taken))
            covered += label.difference(frame).area
            if covered < least - 1e-12:
                best, least = (x, y), covered
            if least <= 0:
                break
        places[n] = best
        x, y = best
        placed.append(box(x - width / 2, y - height / 2, x + width / 2, y + height / 2))
    return [places[n] for n in range(len(shapes))]


def _sound(shape: BaseGeometry) -> BaseGeometry:
    """Return a shape whose outline does not touch itself; outlines that follow cells may."""
    if shape.is_valid:
        return shape
    mended = shape.buffer(0)
    return shape.convex_hull if mended.is_empty else mended


def _candidates(shape: BaseGeometry, width: float, height: float) -> Iterator[Place]:
    """Yield places for a label: inside, then round about in growing distance."""
    from shapely import maximum_inscribed_circle

    inside = maximum_inscribed_circle(shape).coords[0]
    yield inside
    left, bottom, right, top = shape.bounds
    across, up = (right - left + width) / 2, (top - bottom + height) / 2
    for ring in range(RINGS):
        for step in range(DIRECTIONS):
            turn = 2 * math.pi * (0.125 + step / DIRECTIONS)
            yield (
                (left + right) / 2 + (across + (ring + 0.3) * width) * math.cos(turn),
                (bottom + top) / 2 + (up + (ring + 0.3) * height) * math.sin(turn),
            )
