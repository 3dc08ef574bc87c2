"""Invented lawns with known heights, to be read with a string grid or a straightedge.

A lawn is 10 x 14 m with a fall of 2 % in any direction and 25 hollows of 8 to 35 mm: bowls (paraboloids), soft bowls
without a rim (Gaussian) and flat bottoms with short sides, 0.5 to 2.5 m wide, round to longish (1 : 1.8), laid at
random and over each other. Its true fill is that of its own heights on a lattice of 5 cm, by sums that share no code
with swardmark. A true spot is ground more than 5 mm below the straightedge; its width is that of a disk of its area.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

WIDTH_M, LENGTH_M, HOLLOWS, FALL_MM_PER_M = 10.0, 14.0, 25, 20.0
CELL_M = 0.05
STRAIGHTEDGE_M = 2.4
SPOT_EDGE_MM = 5.0


@dataclass(frozen=True)
class Hollow:
    x_m: float
    y_m: float
    deepest_mm: float
    width_m: float
    longish: float
    turn: float
    shape: str

    def depth_mm(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        along = (x - self.x_m) * np.cos(self.turn) + (y - self.y_m) * np.sin(self.turn)
        across = (y - self.y_m) * np.cos(self.turn) - (x - self.x_m) * np.sin(self.turn)
        stretch = np.sqrt(self.longish)
        r2 = (2 * along / (self.width_m * stretch)) ** 2 + (2 * across * stretch / self.width_m) ** 2
        if self.shape == "bowl":
            return self.deepest_mm * np.clip(1 - r2, 0, None)
        if self.shape == "soft":
            return self.deepest_mm * np.exp(-2 * r2)
        return self.deepest_mm * np.clip(2 * (1 - r2), 0, 1)


class InventedLawn:
    """One lawn: heights anywhere, true fill, true spots."""

    def __init__(self, seed: int, *, hollows: int = HOLLOWS) -> None:
        self.rng = np.random.default_rng(seed)
        draw = self.rng.uniform
        self.turn = draw(0, 2 * np.pi)
        self.hollows = [
            Hollow(
                draw(0, WIDTH_M), draw(0, LENGTH_M), draw(8, 35), draw(0.5, 2.5), draw(1, 1.8), draw(0, np.pi),
                ("bowl", "soft", "flat")[self.rng.integers(3)],
            )
            for _ in range(hollows)
        ]  # fmt: skip
        self.x = np.arange(CELL_M / 2, WIDTH_M, CELL_M)
        self.y = np.arange(CELL_M / 2, LENGTH_M, CELL_M)
        self.flat_mm = -self.depth(*np.meshgrid(self.x, self.y))
        self.fill_mm = true_fill(self.flat_mm)

    def depth(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return sum((hollow.depth_mm(x, y) for hollow in self.hollows), np.zeros(np.shape(x)))

    def height_mm(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        fall = FALL_MM_PER_M * (np.sin(self.turn) * x + np.cos(self.turn) * y)
        return fall - self.depth(x, y)

    @property
    def fill_litres(self) -> float:
        return float(self.fill_mm.sum()) * CELL_M**2

    def spots(self, *, deepest_mm: float = 10.0, width_m: float = 0.6) -> list[np.ndarray]:
        """Return the cells of each true spot of that size."""
        from scipy.ndimage import label

        numbers, count = label(self.fill_mm > SPOT_EDGE_MM, structure=np.ones((3, 3)))
        masks = [numbers == n for n in range(1, count + 1)]
        return [
            mask
            for mask in masks
            if self.fill_mm[mask].max() >= deepest_mm
            and 2 * np.sqrt(mask.sum() * CELL_M**2 / np.pi) >= width_m
        ]

    def grid(self, spacing_m: float, sd_mm: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return x, y and heights of a string grid, each reading with its own error."""
        x, y = (g.ravel() for g in np.meshgrid(np.arange(0, WIDTH_M + 1e-9, spacing_m),
                                               np.arange(0, LENGTH_M + 1e-9, spacing_m)))  # fmt: skip
        return x, y, self.height_mm(x, y) + self.rng.normal(0, sd_mm, x.size)


def true_fill(flat_mm: np.ndarray) -> np.ndarray:
    """Fill under a level line laid along x and along y, by plain windows: the lowest of the highest."""
    cells = 2 * round(STRAIGHTEDGE_M / CELL_M / 2) + 1
    lines = [_reached(flat_mm, cells), _reached(flat_mm.T, cells).T]
    return np.maximum(*lines) - flat_mm


def _reached(rows: np.ndarray, cells: int) -> np.ndarray:
    """Return, at each cell, the lowest of the highest points of all windows that cover it, also over the rim."""
    half = cells // 2
    padded = np.pad(rows, ((0, 0), (2 * half, 2 * half)), constant_values=-np.inf)
    highest = np.lib.stride_tricks.sliding_window_view(padded, cells, axis=1).max(axis=-1)
    return np.lib.stride_tricks.sliding_window_view(highest, cells, axis=1).min(axis=-1)
