"""Surfaces through heights: the smooth one that photos are laid on, and the quadratic that dips are measured from."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from swardmark.bundle.camera import Floats
from swardmark.bundle.lattice import CELL_M, PER_CELL, Lattice

KERNEL_M = 0.2
COARSE = 4
"""The smooth surface is worked out on every fourth cell."""
REFINED_CELLS = 1.5
HUBER = 1.0
ROUNDS = 20


def quadratic(x_m: Floats, y_m: Floats) -> Floats:
    """Return the terms 1, x, y, x^2, xy, y^2 of places, shape (..., 6)."""
    return np.stack([np.ones_like(x_m), x_m, y_m, x_m**2, x_m * y_m, y_m**2], axis=-1)


def robust_fit(terms: Floats, values: Floats, *, huber: float = HUBER) -> Floats:
    """Fit values by terms, shape (N, K), with Huber's weights; spread is the median absolute rest.

    Source: P. Huber 1964, Annals of Mathematical Statistics 35(1):73-101.
    """
    weight = np.ones(len(values))
    fit: Floats = np.zeros(terms.shape[1])
    for _ in range(ROUNDS):
        root = np.sqrt(weight)
        new = np.linalg.lstsq(terms * root[:, None], values * root, rcond=None)[0]
        rest = np.abs(values - terms @ new)
        spread = max(1.4826 * float(np.median(rest)), 1e-12)
        weight = np.minimum(1, huber * spread / np.maximum(rest, 1e-15))
        if np.abs(terms @ (new - fit)).max() < 1e-3 * spread:
            return new
        fit = new
    return fit


def smooth_surface(points_m: Floats, lattice: Lattice) -> Floats:
    """Return heights of the fine points, shape (N, N) in meters: a robust quadratic and the smoothed rest."""
    import cv2

    x, y, z = points_m.T
    fit = robust_fit(quadratic(x, y), z)
    rest = z - quadratic(x, y) @ fit
    spread = 1.4826 * np.median(np.abs(rest)) + 1e-6
    sure = np.abs(rest) < 8 * spread
    gx, gy = lattice.cell_m
    gx, gy = gx[::COARSE], gy[::COARSE]
    wx = np.exp(-0.5 * ((gx[:, None] - x[sure]) / KERNEL_M) ** 2)
    wy = np.exp(-0.5 * ((gy[:, None] - y[sure]) / KERNEL_M) ** 2)
    total = wy @ wx.T
    part = (wy * rest[sure]) @ wx.T
    smooth = (part / (total + 0.5)).astype(np.float32)
    fine_x, fine_y = lattice.fine_m
    column = ((fine_x - gx[0]) / (gx[1] - gx[0])).astype(np.float32)
    row = ((fine_y - gy[0]) / (gy[1] - gy[0])).astype(np.float32)
    maps = np.meshgrid(column, row)
    rest_fine = cv2.remap(smooth, maps[0], maps[1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    sx, sy = np.meshgrid(fine_x, fine_y)
    low, high = points_m[:, :2].min(axis=0), points_m[:, :2].max(axis=0)
    inner = quadratic(sx.clip(low[0], high[0]), sy.clip(low[1], high[1]))
    return np.asarray(inner @ fit + rest_fine)


def refined(surface_m: Floats, up_m: Floats, lattice: Lattice) -> Floats:
    """Return the surface, shape (N, N), raised by the measured heights above it, smoothed; unknown cells stay."""
    import cv2

    spread = smoothed_over(up_m, REFINED_CELLS)
    at = ((np.arange(lattice.size) - 1) / PER_CELL).astype(np.float32)
    column, row = np.meshgrid(at, at)
    up = np.nan_to_num(spread, nan=0.0).astype(np.float32)
    fine = cv2.remap(up, column, row, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(surface_m + cv2.GaussianBlur(fine, (0, 0), PER_CELL / 2))


def at_cells(fine: NDArray) -> NDArray:
    """Return the values at the cells' centers of values at the fine points."""
    return fine[1::PER_CELL, 1::PER_CELL]


def off_quadratic(heights: Floats, lattice: Lattice) -> Floats:
    """Return heights, shape (cells, cells), less the robust quadratic through those that are known."""
    known = np.isfinite(heights)
    places = lattice.places_m
    terms = quadratic(places[..., 0] - places[..., 0].mean(), places[..., 1] - places[..., 1].mean())
    return np.asarray(heights - terms @ robust_fit(terms[known], heights[known]))


def smoothed_over(heights: Floats, spread_cells: float) -> Floats:
    """Return heights smoothed over known cells, NaN where they are not known."""
    import cv2

    known = np.isfinite(heights)
    filled = cv2.GaussianBlur(np.where(known, heights, 0.0), (0, 0), spread_cells)
    share = cv2.GaussianBlur(known.astype(float), (0, 0), spread_cells)
    return np.where(known, filled / np.maximum(share, 1e-9), np.nan)


def known_area_m2(known: NDArray[np.bool_]) -> float:
    """Return the area of cells in square meters."""
    return float(known.sum()) * CELL_M**2
