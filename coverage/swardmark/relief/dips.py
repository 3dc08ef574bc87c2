"""Dips in measured heights: the gap under a straightedge, where the ground lies low, and litres to fill.

Heights are read against the robust quadratic through them: fall and crown are not in the photos. The straightedge is
laid in four directions over every place, resting on the highest ground to both sides, as a keeper lays and turns it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from swardmark.bundle.camera import Floats
from swardmark.bundle.lattice import CELL_M, Lattice
from swardmark.relief.surface import off_quadratic, smoothed_over

Mask = NDArray[np.bool_]

STRAIGHTEDGE_M = 1.0
SMOOTH_CELLS = 1.5
"""Heights are smoothed so before an edge is laid on them: it would rest on the peaks of the noise."""
LOW_MM, DEEP_MM, LEAST_M2 = -5.0, -10.0, 0.03
"""A dip is ground below the first, at its lowest below the second, and so large at least."""
RIM_MM, RIM_CELLS = -1.0, 6
"""Sand is also laid on the dip's rim, down from this and so far out."""
BOTTOM_PERCENTILE = 3
DRAWS = 200
CORRELATED_M, DOMING_MM = 0.12, 0.3
"""Errors are alike over the first; the second stands for what a lens bends beyond a quadratic."""
DIRECTIONS = ((0, 1), (1, 0), (1, 1), (1, -1))
GAP_TIMES = 1.22
"""Standard error of a gap over that of a height: root of 1 + 1/2, for the two places that the edge rests on."""
SEED = 20260603


@dataclass(frozen=True)
class Dip:
    """A dip.

    Attributes
    ----------
    x_m, y_m : float
        Its lowest place in meters.
    area_m2 : float
        Ground below the reference by 5 mm.
    depth_mm : float
        Its bottom (3rd percentile) below the reference.
    gap_mm : float
        Largest gap under the straightedge in it.
    gap_se_mm : float
        Its standard error.
    litres : float
        To fill it to the reference.
    low_litres, high_litres : float
        Its 95 % interval.
    """

    x_m: float
    y_m: float
    area_m2: float
    depth_mm: float
    gap_mm: float
    gap_se_mm: float
    litres: float
    low_litres: float
    high_litres: float


@dataclass(frozen=True, eq=False)
class Hollows:
    """What lies low.

    Attributes
    ----------
    off_mm : ndarray, shape (cells, cells)
        Heights above the reference in millimeters.
    gap_mm : ndarray, shape (cells, cells)
        Gap under the straightedge in millimeters.
    dips : tuple of Dip
        Deepest gap first.
    labels : ndarray of int, shape (cells, cells)
        Number of the dip from 1, in their order; 0 elsewhere.
    """

    off_mm: Floats
    gap_mm: Floats
    dips: tuple[Dip, ...]
    labels: NDArray[np.intp]

    @cached_property
    def worst_gap_mm(self) -> float:
        """Largest gap anywhere, in millimeters."""
        return float(np.nanmax(self.gap_mm))


def find_hollows(
    height_mm: Floats, se_mm: Floats, lattice: Lattice, *, straightedge_m: float = STRAIGHTEDGE_M
) -> Hollows:
    """Find dips in heights.

    Parameters
    ----------
    height_mm, se_mm : ndarray, shape (cells, cells)
        Heights and their standard errors in millimeters; NaN where unknown.
    lattice : Lattice
        Where the cells lie.
    straightedge_m : float
        Length of the straightedge in meters.
    """
    from scipy.ndimage import binary_dilation, label

    off = off_quadratic(height_mm, lattice)
    smooth = smoothed_over(off, SMOOTH_CELLS)
    gap = straightedge_gap(smooth, length_m=straightedge_m)
    pieces, count = label(np.nan_to_num(smooth, nan=0.0) < LOW_MM)
    found = []
    draws = _fill_draws(off, se_mm)
    for n in range(1, count + 1):
        own = pieces == n
        bottom = float(np.percentile(smooth[own], BOTTOM_PERCENTILE))
        if bottom <= DEEP_MM and own.sum() * CELL_M**2 >= LEAST_M2:
            filled = binary_dilation(own, iterations=RIM_CELLS, mask=np.nan_to_num(smooth, nan=0.0) < RIM_MM)
            found.append((_dip(own, filled, smooth, gap, se_mm, draws, lattice, bottom), own))
    found.sort(key=lambda pair: -pair[0].gap_mm)
    labels = np.zeros(off.shape, np.intp)
    for n, (_, own) in enumerate(found, start=1):
        labels[own] = n
    return Hollows(off, gap, tuple(dip for dip, _ in found), labels)


def straightedge_gap(height_mm: Floats, *, length_m: float, cell_m: float = CELL_M) -> Floats:
    """Return the gap under a straightedge laid in four directions, the most of them, shape as the heights.

    The edge rests on two places of its line that are no farther apart than it is long: over a place it lies as high
    as the highest straight line between two such places, which is the concave hull of the profile in all its windows.
    """
    floor = -1e6
    known = np.isfinite(height_mm)
    z = np.where(known, height_mm, floor).astype(np.float32)
    rest = z.copy()
    for down, right in DIRECTIONS:
        reach = max(2, round(length_m / (cell_m * float(np.hypot(down, right)))))
        padded = np.pad(z, reach, constant_values=floor)
        shifted = {
            k: _shifted(padded, k * down, k * right, reach, z.shape) for k in range(-reach, reach + 1) if k
        }
        for k in range(1, reach):
            for m in range(1, reach - k + 1):
                np.maximum(rest, (m * shifted[-k] + k * shifted[m]) / np.float32(k + m), out=rest)
    return np.where(known, np.maximum(rest - z, 0), np.nan).astype(float)


def _shifted(padded: Floats, down: int, right: int, reach: int, shape: tuple[int, ...]) -> Floats:
    rows, cols = shape
    return padded[reach + down : reach + down + rows, reach + right : reach + right + cols]


def _fill_draws(off_mm: Floats, se_mm: Floats) -> Floats:
    """Return errors of the heights, shape (draws, cells, cells), alike over 0.12 m, with doming."""
    import cv2

    rng = np.random.default_rng(SEED)
    se = np.nan_to_num(se_mm, nan=0.0)
    spread = CORRELATED_M / CELL_M
    draws = np.empty((DRAWS, *off_mm.shape), np.float32)
    rows, cols = (np.linspace(-1, 1, n) for n in off_mm.shape)
    r2 = rows[:, None] ** 2 + cols[None, :] ** 2
    dome = r2**2 - r2
    for n in range(DRAWS):
        noise = cv2.GaussianBlur(
            rng.standard_normal(off_mm.shape).astype(np.float32), (0, 0), spread / np.sqrt(2)
        )
        draws[n] = noise / noise.std() * se + DOMING_MM * rng.standard_normal() * dome / 0.25
    return draws


def _dip(
    own: Mask,
    filled: Mask,
    smooth: Floats,
    gap: Floats,
    se: Floats,
    draws: Floats,
    lattice: Lattice,
    bottom: float,
) -> Dip:
    area = CELL_M**2
    litres = float(np.maximum(-smooth[filled], 0).sum()) * area
    changed = np.maximum(-(smooth[filled] + draws[:, filled]), 0).sum(axis=1) * area
    wide = 1.96 * float(changed.std())
    rows, cols = np.nonzero(own)
    deepest = int(smooth[own].argmin())
    at = lattice.places_m[rows[deepest], cols[deepest]]
    return Dip(
        float(at[0]), float(at[1]), float(own.sum()) * area, -bottom, float(np.nanmax(gap[own])),
        GAP_TIMES * float(np.median(se[own])), litres, max(0.0, litres - wide), litres + wide,
    )  # fmt: skip
