"""What a grid of readings makes of known ground: the bias of a measured volume, and its interval.

Reading errors raise the line that a straightedge rests on, and hollows between the places go unseen; the one adds
sand, the other hides it. Both are found by measuring again: the spots that were found are moved by a part of a mesh,
scaled in depth by s, read at the same places with the same errors, and evaluated in the same way. The estimate is the
volume of the lawn that would on average be measured as this one was, its 95 % interval the lawns that would not
surprise (indirect inference: C. Gourieroux, A. Monfort and E. Renault, Journal of Applied Econometrics 8, 1993,
S85-S118; from memory).
What the readings hide is not known from the readings alone: a third of the correction counts as its standard error.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from swardmark.level.closing import close_under_line
from swardmark.level.ground import Raster

Floats = NDArray[np.floating]
Labels = NDArray[np.intp]

DRAWS = 40
SCALES = (0.75, 1.0, 1.3, 1.7, 2.2)
"""Depths that are tried, times those found."""
Z95 = 1.959964
HIDDEN_SHARE_ERROR = 1 / 3
SHAPE_ERROR = 0.1
"""Relative standard error of one hollow's volume from the shape between its readings (measured on drawn bowls)."""
SEED = 20260603

Find = Callable[[Floats], tuple[Floats, Labels]]
"""Turn an undulation map into depths and numbered spots."""


@dataclass(frozen=True)
class Volume:
    """A volume in litres with its 95 % interval."""

    litres: float
    low_litres: float
    high_litres: float

    def __add__(self, other: Volume) -> Volume:
        """Return the sum of two independent volumes."""
        total = self.litres + other.litres
        down = np.hypot(self.litres - self.low_litres, other.litres - other.low_litres)
        up = np.hypot(self.high_litres - self.litres, other.high_litres - other.litres)
        return Volume(total, max(0.0, total - float(down)), total + float(up))


NOTHING = Volume(0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Remeasured:
    """A measured volume set right.

    Attributes
    ----------
    total : Volume
        All spots together.
    factor : float
        True volume over measured volume.
    seen_share : float
        Share of the true volume that such a grid shows.
    spread : dict of int to float
        Spot number -> relative standard error of its volume.
    """

    total: Volume
    factor: float
    seen_share: float
    spread: dict[int, float]


def noise_maps(weights: Floats, error_mm: Floats, shape: tuple[int, int], *, draws: int = DRAWS) -> Floats:
    """Return undulation maps, shape (draws, rows, cols), that reading errors alone make of level ground."""
    rng = np.random.default_rng(SEED)
    errors = rng.normal(0.0, 1.0, (draws, len(error_mm))) * error_mm
    return (errors @ weights.T).reshape(draws, *shape).astype(np.float32)


def remeasure(
    depth_mm: Floats,
    spots: Labels,
    raster: Raster,
    *,
    places_m: NDArray[np.float64],
    weights: Floats,
    noise: Floats,
    find: Find,
    cells: int,
) -> Remeasured:
    """Set right the volume of the spots that were found.

    Parameters
    ----------
    depth_mm : ndarray, shape (rows, cols)
        Depths as measured.
    spots : ndarray of int, shape (rows, cols)
        Numbers of the spots, 0 outside.
    raster : Raster
        The measured ground.
    places_m : ndarray, shape (N, 2)
        Places of the readings.
    weights : ndarray, shape (rows x cols, N)
        Undulation per reading.
    noise : ndarray, shape (draws, rows, cols)
        Undulation maps of the reading errors alone.
    find : callable
        Evaluates a stack of undulation maps.
    cells : int
        Length of the straightedge in cells.
    """
    found: Floats = np.where(spots > 0, depth_mm, 0.0)
    measured = _litres(found, raster)
    if measured == 0:
        return Remeasured(NOTHING, 1.0, 1.0, {})
    true = _litres(np.asarray(close_under_line(-found, raster.inside, cells=cells) + found), raster)
    moves = _moves(raster.spacing_m / raster.cell_m, len(noise))
    moved = np.stack([_moved(found, move) for move in moves])
    shown = _read(moved, raster, places_m, weights)
    laid = np.array([_litres(np.where(raster.inside, one, 0.0), raster) for one in moved]).mean() / measured
    means, errors = [], []
    shares: list[Floats] = []
    count = int(spots.max())
    for scale in SCALES:
        depths, numbers = find(noise - scale * shown)
        depths = np.where(numbers > 0, depths, 0.0)
        seen = [_litres(depth, raster) for depth in depths]
        if scale == SCALES[1]:
            there = (_moved(spots, move) for move in moves)
            shares = [_per_spot(depth, place, count) for depth, place in zip(depths, there, strict=True)]
        means.append(float(np.mean(seen)) / laid)
        errors.append(float(np.std(seen, ddof=1)) / laid)
    middle = _scale_at(measured, np.array(means))
    noise_l = float(np.interp(middle, SCALES, errors))
    low = _scale_at(measured - Z95 * noise_l, np.array(means))
    high = _scale_at(measured + Z95 * noise_l, np.array(means))
    litres = middle * true
    parts = _per_spot(found, spots, count) / found.sum()
    hidden = Z95 * math.hypot(
        HIDDEN_SHARE_ERROR * abs(litres - measured), SHAPE_ERROR * litres * float(np.sqrt(np.sum(parts**2)))
    )
    total = Volume(
        litres,
        max(0.0, litres - float(np.hypot(litres - low * true, hidden))),
        litres + float(np.hypot(high * true - litres, hidden)),
    )
    return Remeasured(total, litres / measured, min(1.0, measured / litres), _spreads(shares))


def _moves(spacing_cells: float, draws: int) -> list[tuple[int, int]]:
    """Return shifts in cells that cover one mesh of the readings evenly (a rank-1 lattice of Fibonacci type)."""
    golden = (math.sqrt(5) - 1) / 2
    fractions = (((n + 0.5) / draws - 0.5, (n * golden) % 1 - 0.5) for n in range(draws))
    return [(round(a * spacing_cells), round(b * spacing_cells)) for a, b in fractions]


def _moved(values: NDArray[Any], move: tuple[int, int]) -> NDArray[Any]:
    """Return a map moved by whole cells; what comes in over the rim is as the rim was."""
    rows, cols = values.shape
    row = np.clip(np.arange(rows) - move[0], 0, rows - 1)
    col = np.clip(np.arange(cols) - move[1], 0, cols - 1)
    return values[np.ix_(row, col)]


def _read(maps: Floats, raster: Raster, places_m: NDArray[np.float64], weights: Floats) -> Floats:
    """Return what readings without error at the places make of each map."""
    from scipy.ndimage import map_coordinates

    at = raster.to_cells(places_m)
    readings = np.stack([map_coordinates(one, at, order=1, mode="nearest") for one in maps])
    return (readings @ weights.T).reshape(maps.shape).astype(np.float32)


def _scale_at(measured: float, means: Floats) -> float:
    """Return the depth factor at which so much is measured on average; straight on beyond what was tried."""
    scales, means = np.array([0.0, *SCALES]), np.maximum.accumulate([0.0, *means])
    if measured >= means[-1]:
        slope = max((means[-1] - means[-2]) / (scales[-1] - scales[-2]), 1e-9)
        return float(min(scales[-1] + (measured - means[-1]) / slope, 2 * scales[-1]))
    return float(np.interp(measured, means, scales))


def _per_spot(depth_mm: Floats, spots: Labels, count: int) -> Floats:
    sums: Floats = np.bincount(spots.ravel(), weights=depth_mm.ravel(), minlength=count + 1).astype(float)
    return sums


def _spreads(shares: Sequence[Floats]) -> dict[int, float]:
    """Return the relative standard error of each spot's volume: its spread over the draws, and that of its shape."""
    table = np.stack(shares)
    mean, deviation = table.mean(axis=0), table.std(axis=0, ddof=1)
    return {
        n: math.hypot(float(deviation[n] / max(mean[n], 1e-9)), SHAPE_ERROR) for n in range(1, table.shape[1])
    }


def _litres(depth_mm: NDArray[Any], raster: Raster) -> float:
    return float(depth_mm.sum()) * raster.cell_m2
