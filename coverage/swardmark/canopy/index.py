"""Excess green per ground point, kept as one byte: the GroundMap.

The excess green of Woebbecke, Meyer, Von Bargen and Mortensen 1995 (Trans. ASAE 38(1):259-269), 2g - r - b, weighs red
and blue alike, so yellow sand, straw and soil tinted by algae, which reflect little blue, come out as green as a dull
leaf. The index of the map takes the warmth, red above blue, out of it:

    (2G - R - B - WARMTH (R - B)) / (R + G + B + k)

on coded 8-bit camera values. With WARMTH = 0.31 its numerator runs along the green-magenta axis a* of CIELAB near
gray (sRGB primaries, IEC 61966-2-1). With WARMTH = 0 and k = 0 it is the excess green as published; k = 100 leaves it
nearly as it is in good light and pulls it to 0 in deep shade, where it is noise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.common.color import Colors, colors_of

NOT_SEEN = 0
"""Map value of a point outside the photo, outside the measured ground, or under the square."""
UNREADABLE = 1
"""Map value of a point that was seen but is too dark or clipped to tell leaf from sand."""
FIRST_VALUE = 2
INDEX_LOW = -0.30
INDEX_STEP = 0.004
DARKEST_READABLE = 30
BRIGHTEST_READABLE = 254
WARMTH = 0.31
"""Weight of red above blue. CIELAB: near mid gray a* falls by 0.284 (2G - 1.31R - 0.69B) per 8-bit step."""
DAMPING = 100.0
"""k of the index, in 8-bit steps."""

POINTS_AT_ONCE = 65_536
"""Colors that are computed together: so many stay in the processor's cache from step to step."""

ByteMap = NDArray[np.uint8]
Window = tuple[int, int, int, int]
"""First lattice row and column, rows, columns."""
Box = tuple[float, float, float, float]
"""Left, bottom, right and top of a piece of ground, meters."""


@dataclass(frozen=True, eq=False)
class GroundMap:
    """The excess green of one photo on the ground lattice.

    The lattice is the same for all dates of a photo point: the point in array row `i` and column `j` lies at
    x = (col0 + j) * spacing_m, y = (row0 + i) * spacing_m, in meters from the square's corner mark 0. An integer is a
    point itself, not the edge of a cell; it stands for the square of ground of side `spacing_m` around it.

    Attributes
    ----------
    values : ndarray of uint8, shape (rows, cols)
        0 not seen, 1 unreadable, 2..255 the index in steps of 0.004 from -0.300 to 0.712.
    row0, col0 : int
        Lattice row and column of values[0, 0]; may be negative.
    spacing_m : float
        Distance between neighboring points, in meters.
    """

    values: ByteMap
    row0: int
    col0: int
    spacing_m: float

    @property
    def x_m(self) -> NDArray[np.float64]:
        """Meters along the square's side from mark 0 to mark 1, shape (cols,)."""
        return np.asarray((self.col0 + np.arange(self.values.shape[1])) * self.spacing_m, np.float64)

    @property
    def y_m(self) -> NDArray[np.float64]:
        """Meters along the square's side from mark 0 to mark 3, shape (rows,)."""
        return np.asarray((self.row0 + np.arange(self.values.shape[0])) * self.spacing_m, np.float64)

    @property
    def is_readable(self) -> NDArray[np.bool_]:
        """Where the map holds an index value."""
        return self.values >= FIRST_VALUE

    @property
    def box_m(self) -> Box:
        """The ground that the map's points stand for."""
        return box_m((self.row0, self.col0, *self.values.shape), self.spacing_m)

    def trimmed(self) -> GroundMap:
        """Return the map without its outer rows and columns in which no point was seen."""
        seen = self.values != NOT_SEEN
        rows, cols = np.flatnonzero(seen.any(axis=1)), np.flatnonzero(seen.any(axis=0))
        if not len(rows):
            return GroundMap(self.values[:0, :0], self.row0, self.col0, self.spacing_m)
        values = self.values[rows[0] : rows[-1] + 1, cols[0] : cols[-1] + 1]
        return GroundMap(values, self.row0 + int(rows[0]), self.col0 + int(cols[0]), self.spacing_m)

    def canopy(self, threshold: float) -> NDArray[np.bool_]:
        """Return where the index lies above `threshold` (excess green, no unit)."""
        return self.values > max(byte_of(threshold), UNREADABLE)

    def window(self, row0: int, col0: int, rows: int, cols: int) -> ByteMap:
        """Return the values on another window of the same lattice; 0 (not seen) outside this map."""
        out = np.zeros((rows, cols), np.uint8)
        top, left = max(row0, self.row0), max(col0, self.col0)
        bottom = min(row0 + rows, self.row0 + self.values.shape[0])
        right = min(col0 + cols, self.col0 + self.values.shape[1])
        if top < bottom and left < right:
            part = self.values[top - self.row0 : bottom - self.row0, left - self.col0 : right - self.col0]
            out[top - row0 : bottom - row0, left - col0 : right - col0] = part
        return out


def box_m(window: Window, spacing_m: float) -> Box:
    """Return the ground that the points of a window of the lattice stand for."""
    row0, col0, rows, cols = window
    left, bottom, right, top = (spacing_m * (n - 0.5) for n in (col0, row0, col0 + cols, row0 + rows))
    return left, bottom, right, top


def stack(maps: list[GroundMap]) -> tuple[ByteMap, int, int]:
    """Lay maps of one photo point over each other.

    Returns
    -------
    values : ndarray of uint8, shape (maps, rows, cols)
        The maps on the smallest common window; 0 where a map does not reach.
    row0, col0 : int
        Lattice row and column of values[:, 0, 0].
    """
    if not maps:
        return np.zeros((0, 0, 0), np.uint8), 0, 0
    if len({m.spacing_m for m in maps}) > 1:
        raise ValueError("maps of different point spacing cannot be stacked")
    row0, col0 = min(m.row0 for m in maps), min(m.col0 for m in maps)
    rows = max(m.row0 + m.values.shape[0] for m in maps) - row0
    cols = max(m.col0 + m.values.shape[1] for m in maps) - col0
    return np.stack([m.window(row0, col0, rows, cols) for m in maps]), row0, col0


def byte_of(index: float) -> int:
    """Return the map value of an excess-green value."""
    return int(np.clip(round((index - INDEX_LOW) / INDEX_STEP), 0, 255 - FIRST_VALUE)) + FIRST_VALUE


def excess_green(
    rgb: NDArray[np.uint8] | Colors, *, damping: float = DAMPING, warmth: float = 0.0
) -> NDArray[np.float32]:
    """Compute the excess green of colors.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (..., 3), or Colors of shape (...)
        Coded camera values (sRGB), red first.
    damping : float
        k in (2G - R - B) / (R + G + B + k), in 8-bit steps; 0 gives the plain ExG.
    warmth : float
        Weight of red above blue that is taken off besides: 0 for the index as published, WARMTH for that of the map.

    Returns
    -------
    ndarray of float32, shape (...)
        -1..2 for damping and warmth 0; NaN for black with damping 0, which has no chromaticity.
    """
    colors = rgb if isinstance(rgb, Colors) else colors_of(rgb)
    red, green, blue = (plane.astype(np.float32) for plane in colors)
    total = red + green
    total += blue
    total += np.float32(damping)
    green *= 2
    red *= np.float32(1 + warmth)
    blue *= np.float32(1 - warmth)
    green -= red
    green -= blue
    if damping <= 0:
        total = np.where(total > 0, total, np.float32(np.nan))
    green /= total
    return green


def index_bytes(
    colors: Colors,
    *,
    damping: float = DAMPING,
    darkest: int = DARKEST_READABLE,
    brightest: int = BRIGHTEST_READABLE,
) -> ByteMap:
    """Turn colors into map values: excess green with the warmth taken out, or UNREADABLE where too dark or clipped.

    Parameters
    ----------
    colors : Colors of shape (...)
        Coded camera values.
    damping : float
        k of the damped index, in 8-bit steps.
    darkest, brightest : int
        Below `darkest` in all channels a color is too dark, above `brightest` in all it is clipped.
    """
    values = np.empty(colors.red.shape, np.uint8)
    for first in range(0, len(values), POINTS_AT_ONCE):
        part = slice(first, first + POINTS_AT_ONCE)
        some = colors.at(part)
        steps = np.nan_to_num(excess_green(some, damping=damping, warmth=WARMTH), copy=False)
        steps -= np.float32(INDEX_LOW)
        steps *= np.float32(1 / INDEX_STEP)
        bytes_ = np.clip(np.rint(steps, out=steps), 0, 255 - FIRST_VALUE, out=steps).astype(np.uint8)
        bytes_ += FIRST_VALUE
        bytes_[(some.brightest < darkest) | (some.darkest > brightest)] = UNREADABLE
        values[part] = bytes_
    return values
