"""What a straightedge rests on: grayscale closing and opening of a height map under a straight line.

A level straight line of length L, slid over the ground along x or along y, cannot come down into hollows narrower than
itself. The heights that it can reach are the morphological closing of the map with the line as flat structuring
element; what lies between map and closing is to be filled, and the same upside down, the opening, is to be cut.
A line may hang over the rim of the measured ground and rests on nothing there, so that a slope down to the rim is no
hollow. The map must have its designed fall taken out: the line is level.

Source: J. Serra, Image Analysis and Mathematical Morphology, 1982, chapter XII (from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating]
Mask = NDArray[np.bool_]

FAR_MM = 1e6
"""Higher than any ground, in millimeters: stands for what is not measured."""


def line_cells(length_m: float, cell_m: float) -> int:
    """Return how many cells a line covers: odd, so that it has a middle cell."""
    return 2 * round(length_m / cell_m / 2) + 1


def close_under_line(height_mm: Floats, inside: Mask, *, cells: int) -> Floats:
    """Return the heights to which a level line fills the ground, laid along x and along y.

    Parameters
    ----------
    height_mm : ndarray, shape (..., rows, cols)
        Heights in millimeters, with the designed fall taken out; one map or a stack of them.
    inside : ndarray of bool, shape (rows, cols)
        Measured ground.
    cells : int
        Length of the line in cells, odd.

    Returns
    -------
    ndarray, shape (..., rows, cols)
        The higher of the two closings, in millimeters; outside, the heights as they are.
    """
    along_x = _close(height_mm, inside, cells, axis=-1)
    along_y = _close(height_mm, inside, cells, axis=-2)
    return np.where(inside, np.maximum(along_x, along_y), height_mm)


def open_under_line(height_mm: Floats, inside: Mask, *, cells: int) -> Floats:
    """Return the heights to which a level line cuts the ground; arguments as in `close_under_line`."""
    return -close_under_line(-height_mm, inside, cells=cells)


def _close(height_mm: Floats, inside: Mask, cells: int, *, axis: int) -> Floats:
    """Return the lowest of the highest points under all lines that cover a cell, also those that hang over the rim."""
    along = np.moveaxis(np.where(inside, height_mm, height_mm.dtype.type(-FAR_MM)), axis, 0)
    beyond = cells - 1
    padded = np.full((len(along) + 2 * beyond, *along.shape[1:]), -FAR_MM, height_mm.dtype)
    padded[beyond : beyond + len(along)] = along
    resting, other = _extreme_under(padded, np.empty_like(padded), cells, np.maximum)
    closed, _ = _extreme_under(resting, other, cells, np.minimum)
    return np.moveaxis(closed, 0, axis)


def _extreme_under(along: Floats, other: Floats, cells: int, extreme: np.ufunc) -> tuple[Floats, Floats]:
    """Return the extreme of each run of cells along the first axis, `cells - 1` fewer, and the room left over.

    Runs of twice the length are made of two that meet, the last ones of two that overlap. Both arrays are written
    in turns.
    """
    length = 1
    while length < cells:
        step = min(length, cells - length)
        count = len(along) - step
        along, other = extreme(along[:count], along[step:], out=other[:count]), along
        length += step
    return along, other
