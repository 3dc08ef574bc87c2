"""The lattice on the ground that photos are laid on, and the cells whose heights are measured.

Fine points lie every 25/6 mm over a square of 4 m; a cell is 25 mm, six fine points each way, and its center the middle
of the first three of them. The lattice lies round the marked square, a little away from the cameras: they see far
ground, and none at their feet.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from swardmark.bundle.camera import Floats

CELL_M = 0.025
PER_CELL = 6
STEP_M = CELL_M / PER_CELL
CELLS = 160
"""Cells in each direction: 4 m."""
AHEAD_M, ASIDE_M = 0.6, 0.8
"""The lattice lies so far ahead of the marked square's middle, if the cameras' middle is so far from it or farther."""


@dataclass(frozen=True)
class Lattice:
    """Fine points and cells round a place.

    Attributes
    ----------
    x0_m, y0_m : float
        The first fine point.
    """

    x0_m: float
    y0_m: float

    @property
    def size(self) -> int:
        """Fine points in each direction."""
        return CELLS * PER_CELL

    @cached_property
    def fine_m(self) -> tuple[Floats, Floats]:
        """The x and the y of fine columns and rows in meters."""
        steps = STEP_M * np.arange(self.size)
        return self.x0_m + steps, self.y0_m + steps

    @cached_property
    def cell_m(self) -> tuple[Floats, Floats]:
        """The x of the cells' columns and the y of their rows in meters."""
        steps = CELL_M * np.arange(CELLS) + STEP_M
        return self.x0_m + steps, self.y0_m + steps

    @cached_property
    def places_m(self) -> Floats:
        """Centers of all cells in meters, shape (cells, cells, 2)."""
        return np.stack(np.meshgrid(*self.cell_m), axis=-1)

    def near(self, places_m: Floats, reach_m: float) -> NDArray[np.bool_]:
        """Return which cells lie within a box of so many meters round any of the places, shape (N, 2)."""
        x, y = self.cell_m
        found = np.zeros((CELLS, CELLS), bool)
        for at in places_m:
            found |= (np.abs(y - at[1]) <= reach_m)[:, None] & (np.abs(x - at[0]) <= reach_m)[None, :]
        return found

    def laid_on(self, other: Lattice, cells: Floats) -> Floats:
        """Return values of this lattice's cells on another's, NaN beyond; both lie whole cells apart."""
        laid = np.full((CELLS, CELLS), np.nan)
        right, down = round((other.x0_m - self.x0_m) / CELL_M), round((other.y0_m - self.y0_m) / CELL_M)
        rows, cols = (slice(max(0, n), min(CELLS, CELLS + n)) for n in (down, right))
        to_rows, to_cols = (slice(max(0, -n), min(CELLS, CELLS - n)) for n in (down, right))
        laid[to_rows, to_cols] = cells[rows, cols]
        return laid


def lattice_round(middle_m: Floats, cameras_m: Floats | None = None) -> Lattice:
    """Return the lattice for a marked square, by its middle in meters and where the cameras were, shape (V, 2)."""
    half = CELLS * CELL_M / 2
    x, y = np.asarray(middle_m, float)[:2] - half
    if cameras_m is not None:
        ahead = middle_m[:2] - cameras_m.mean(axis=0)
        ahead = AHEAD_M * ahead / max(float(np.hypot(*ahead)), ASIDE_M)
        x, y = np.array([x, y]) + CELL_M * np.round(ahead / CELL_M)
    return Lattice(float(x), float(y))
