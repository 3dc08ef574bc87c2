"""The measured ground as a raster: where readings reach, how dense they lie, and the designed fall in it.

x is a column and y a row; an integer is a cell's center, row 0 lies nearest to the square.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Outline = tuple[tuple[float, float], ...]

MOST_CELLS = 10_000
FINEST_M, CELLS_PER_STEP = 0.05, 6
"""A cell is a sixth of the readings' spacing, 5 cm at least, and larger where the lawn is large."""
DIRECTIONS = ("away", "right", "toward", "left")
"""Names of the directions of a fall, clockwise from y, as seen from the photo point."""


@dataclass(frozen=True, eq=False)
class Raster:
    """A lattice over the measured ground.

    Attributes
    ----------
    x0_m, y0_m : float
        Center of the first cell in meters.
    cell_m : float
        Side of a cell in meters.
    inside : ndarray of bool, shape (rows, cols)
        Measured ground.
    spacing_m : float
        Typical distance of the readings in meters.
    """

    x0_m: float
    y0_m: float
    cell_m: float
    inside: Mask
    spacing_m: float

    @property
    def cell_m2(self) -> float:
        """Area of a cell in square meters."""
        return self.cell_m**2

    @property
    def area_m2(self) -> float:
        """Measured ground in square meters."""
        return float(self.inside.sum()) * self.cell_m2

    @cached_property
    def x_m(self) -> Floats:
        """Centers of the columns in meters."""
        return self.x0_m + self.cell_m * np.arange(float(self.inside.shape[1]))

    @cached_property
    def y_m(self) -> Floats:
        """Centers of the rows in meters."""
        return self.y0_m + self.cell_m * np.arange(float(self.inside.shape[0]))

    @cached_property
    def places_m(self) -> Floats:
        """Centers of all cells, shape (rows x cols, 2), in meters."""
        x, y = np.meshgrid(self.x_m, self.y_m)
        return np.column_stack([x.ravel(), y.ravel()])

    def to_cells(self, places_m: Floats) -> Floats:
        """Return (row, column) as fractions of a lattice step, shape (2, N), of places in meters."""
        return np.stack([(places_m[:, 1] - self.y0_m), (places_m[:, 0] - self.x0_m)]) / self.cell_m

    def covers(self, outlines: Sequence[Outline]) -> Mask:
        """Return which cells lie inside any of the outlines."""
        from shapely import Polygon, contains_xy, union_all

        shape = union_all([Polygon(outline).buffer(0) for outline in outlines])
        x, y = np.meshgrid(self.x_m, self.y_m)
        covered: Mask = contains_xy(shape, x, y)
        return covered


@dataclass(frozen=True)
class Fall:
    """The fall of the ground: how steep, and which way it runs down.

    Attributes
    ----------
    percent : float
        Drop in percent of the distance.
    direction_deg : float
        Direction in which it falls, in degrees clockwise from y (away from the photo point).
    is_designed : bool
        Whether the keeper said so; else it is the plane fitted to the readings.
    """

    percent: float
    direction_deg: float
    is_designed: bool = False

    @property
    def slopes(self) -> tuple[float, float]:
        """Rise in mm per meter along x and y."""
        turn, drop = math.radians(self.direction_deg), 10 * self.percent
        return -drop * math.sin(turn), -drop * math.cos(turn)


def fall_of(slope_x: float, slope_y: float) -> Fall:
    """Return the fall of a plane that rises by so many mm per meter along x and y."""
    turn = math.degrees(math.atan2(-slope_x, -slope_y)) % 360
    return Fall(math.hypot(slope_x, slope_y) / 10, turn)


def raster_of(places_m: Floats, *, outline_m: Outline | None = None) -> Raster:
    """Return the lattice over the ground that readings at places, shape (N, 2), reach.

    The measured ground is the convex hull of the places, widened by a quarter of their spacing and cut at the lawn's
    outline.
    """
    from shapely import MultiPoint, Polygon, contains_xy

    spacing = typical_spacing(places_m)
    reach = MultiPoint(places_m).convex_hull.buffer(spacing / 4, join_style="mitre")
    if outline_m is not None:
        reach = reach.intersection(Polygon(outline_m).buffer(spacing / 4))
    left, bottom, right, top = reach.bounds if not reach.is_empty else (0.0, 0.0, 0.0, 0.0)
    cell = max(FINEST_M, spacing / CELLS_PER_STEP, math.sqrt((right - left) * (top - bottom) / MOST_CELLS))
    cols, rows = (max(1, round(side / cell)) for side in (right - left, top - bottom))
    x0, y0 = (left + right - cell * (cols - 1)) / 2, (bottom + top - cell * (rows - 1)) / 2
    x, y = np.meshgrid(x0 + cell * np.arange(cols), y0 + cell * np.arange(rows))
    return Raster(x0, y0, cell, contains_xy(reach, x, y), spacing)


def typical_spacing(places_m: Floats) -> float:
    """Return the median distance from a reading to its nearest neighbor, in meters."""
    distances = distances_between(places_m, places_m)
    np.fill_diagonal(distances, np.inf)
    return max(float(np.median(distances.min(axis=1))), FINEST_M)


def distances_between(one_m: Floats, other_m: Floats) -> Floats:
    """Return the distance from each of some places to each of others, shape (one, other), in meters."""
    x, y = (one_m[:, axis, None] - other_m[:, axis] for axis in (0, 1))
    distances: Floats = np.sqrt(x * x + y * y)
    return distances
