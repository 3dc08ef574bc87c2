"""Dragged sand with known heights: the long waves that dragging leaves, dips and rises, drag lines, shoe prints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.practice.fields import Bounds, Raster, empty_raster, random_field

Floats = NDArray[np.floating]
Plane = NDArray[np.float32]
BOUNDS: Bounds = (-4.0, -4.0, 5.0, 5.0)
CELL_M = 0.01
"""Lattice of the heights; between them they are linear."""


@dataclass(frozen=True)
class Dip:
    """A hollow, or with a negative depth a rise: a flattened bell on the sand.

    Attributes
    ----------
    x_m, y_m : float
        Its middle.
    width_m, length_m : float
        Across at half its depth, and along.
    turn_deg : float
        Direction of its length from x.
    depth_mm : float
        At its middle.
    """

    x_m: float
    y_m: float
    width_m: float
    length_m: float
    turn_deg: float
    depth_mm: float

    def lowers_mm(self, x: Floats, y: Floats) -> Floats:
        """Return by how much it lowers the ground at places in meters."""
        turn = np.radians(self.turn_deg)
        along = (x - self.x_m) * np.cos(turn) + (y - self.y_m) * np.sin(turn)
        across = (y - self.y_m) * np.cos(turn) - (x - self.x_m) * np.sin(turn)
        r2 = (2 * along / self.length_m) ** 2 + (2 * across / self.width_m) ** 2
        return np.asarray(self.depth_mm * np.exp2(-(r2**1.5)))


def dragged_sand(
    rng: np.random.Generator,
    *,
    dips: Sequence[Dip] = (),
    wave_mm: float = 1.2,
    crown_mm: float = 6.0,
    fall_pct: float = 1.0,
    prints: int = 4,
) -> Raster:
    """Return the heights of dragged sand in millimeters over `BOUNDS`.

    Parameters
    ----------
    rng : numpy.random.Generator
        Where everything lies.
    dips : sequence of Dip
        Hollows and rises on it.
    wave_mm : float
        Spread of the waves between 0.3 and 1.5 m that dragging leaves.
    crown_mm : float
        Rise of the middle over ground 2 m away.
    fall_pct : float
        Fall of the whole ground.
    prints : int
        Shoe prints.
    """
    heights = empty_raster(BOUNDS, CELL_M)
    rows, cols = heights.values.shape
    x, y = np.meshgrid(heights.x0 + CELL_M * np.arange(cols), heights.y0 + CELL_M * np.arange(rows))
    waves = random_field(rng, BOUNDS, CELL_M, {0.35: 0.6, 0.15: 0.3, 0.06: 0.1}).values[:rows, :cols]
    turn, drag = rng.uniform(0, 2 * np.pi), rng.uniform(0, np.pi)
    z = wave_mm * waves + 10 * fall_pct * (x * np.cos(turn) + y * np.sin(turn))
    z = z - crown_mm * ((x - 0.5) ** 2 + (y - 0.5) ** 2) / 4
    across = x * np.cos(drag) + y * np.sin(drag)
    lines = rng.standard_normal(600).astype(np.float32)
    z = z + 0.5 * np.interp(across, np.linspace(-9, 9, 600), lines)
    for dip in dips:
        z = z - dip.lowers_mm(x, y)
    for _ in range(prints):
        z = z - _shoe(rng).lowers_mm(x, y)
    return Raster(z.astype(np.float32), heights.x0, heights.y0, CELL_M)


def scattered_dips(rng: np.random.Generator, count: int) -> tuple[Dip, ...]:
    """Return hollows and a rise or two that do not overlap, within 1.4 m of the square's middle."""
    found: list[Dip] = []
    for _ in range(400):
        if len(found) == count:
            break
        turn, away = rng.uniform(0, 2 * np.pi), 1.25 * np.sqrt(rng.uniform(0, 1))
        width = float(rng.uniform(0.35, 0.6))
        depth = float(rng.uniform(10, 24)) * (-0.7 if rng.random() < 0.2 else 1.0)
        dip = Dip(float(0.5 + away * np.cos(turn)), float(0.5 + away * np.sin(turn)), width,
                  width * float(rng.uniform(1.0, 1.6)), float(rng.uniform(0, 180)), depth)  # fmt: skip
        if all(np.hypot(dip.x_m - d.x_m, dip.y_m - d.y_m) > 0.6 * (dip.length_m + d.length_m) for d in found):
            found.append(dip)
    return tuple(found)


def _shoe(rng: np.random.Generator) -> Dip:
    x, y = rng.uniform(-1.0, 2.0, 2)
    return Dip(float(x), float(y), 0.09, 0.27, float(rng.uniform(0, 180)), float(rng.uniform(2, 5)))
