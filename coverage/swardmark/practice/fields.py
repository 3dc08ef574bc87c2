"""Smooth random fields over the ground: where blades come first, how sand and soil are mottled."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating]
Plane = NDArray[np.float32]
Bounds = tuple[float, float, float, float]


@dataclass(frozen=True, eq=False)
class Raster:
    """Values over the ground: values[i, j] belongs to x = x0 + j * cell_m, y = y0 + i * cell_m."""

    values: NDArray
    x0: float
    y0: float
    cell_m: float

    def at(self, points: Floats) -> NDArray:
        """Return the value of the nearest lattice point for ground points (N, 2) [m], held at the rim."""
        rows, cols = self.values.shape[:2]
        column = np.rint((points[:, 0] - self.x0) / self.cell_m).clip(0, cols - 1).astype(np.intp)
        row = np.rint((points[:, 1] - self.y0) / self.cell_m).clip(0, rows - 1).astype(np.intp)
        return self.values[row, column]

    def smooth_at(self, x: NDArray, y: NDArray) -> Plane:
        """Return bilinear values for arrays of x and y [m] of one shape (H, W)."""
        import cv2

        column = ((x - self.x0) / self.cell_m).astype(np.float32)
        row = ((y - self.y0) / self.cell_m).astype(np.float32)
        values = cv2.remap(self.values, column, row, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT_101)
        return np.asarray(values, np.float32)


def empty_raster(bounds: Bounds, cell_m: float) -> Raster:
    """Return zeros over x0, y0, x1, y1 [m]."""
    x0, y0, x1, y1 = bounds
    shape = (int(np.ceil((y1 - y0) / cell_m)) + 1, int(np.ceil((x1 - x0) / cell_m)) + 1)
    return Raster(np.zeros(shape, np.float32), x0, y0, cell_m)


def random_field(
    rng: np.random.Generator, bounds: Bounds, cell_m: float, scales: dict[float, float]
) -> Raster:
    """Mix smooth noise of several sizes into a field of mean 0 and variance 1.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of the noise.
    bounds : tuple of float
        x0, y0, x1, y1 of the ground it covers [m].
    cell_m : float
        Lattice spacing [m].
    scales : dict
        Size of the patches (spread of the smoothing) [m] -> share of the variance.
    """
    blank = empty_raster(bounds, cell_m)
    rows, cols = blank.values.shape
    total = np.zeros((rows, cols), np.float32)
    for scale_m, share in scales.items():
        total += np.float32(np.sqrt(share)) * _smooth_noise(rng, (rows, cols), scale_m / cell_m)
    return Raster(total, blank.x0, blank.y0, cell_m)


def _smooth_noise(rng: np.random.Generator, shape: tuple[int, int], spread: float) -> Plane:
    """Smooth white noise, made coarse first where the patches are large."""
    import cv2

    step = max(1, int(spread / 3))
    small = (shape[0] // step + 8, shape[1] // step + 8)
    noise: Plane = rng.standard_normal(small, np.float32)
    if spread / step > 0.3:
        noise = np.asarray(cv2.GaussianBlur(noise, (0, 0), spread / step), np.float32)
    noise = (noise - noise.mean()) / noise.std()
    large = cv2.resize(noise, (small[1] * step, small[0] * step), interpolation=cv2.INTER_CUBIC)
    return np.asarray(large[: shape[0], : shape[1]], np.float32)
