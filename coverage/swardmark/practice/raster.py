"""Paint many thousands of thin strips in painter's order, each with its exact area.

A strip is a leaf segment as one sees it: a center line with a half width at either end. It is filled by
sampling at pixel centers (an integer is a pixel's center), with nothing added along the edges, so that the
painted area is on average the strip's own area however thin it is. General polygon fillers that also draw
the outline make a blade of one or two pixels a third too wide, and the drawn cover wrong with it.

The ends of a strip are cut along the pixel rows (or columns, for a strip that lies more across than along),
not at right angles; its area is the same.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating]
Ids = NDArray[np.int32]

_CHUNK = 60_000


def paint_strips(
    start: Floats, end: Floats, half_start: Floats, half_end: Floats, *, size: tuple[int, int]
) -> Ids:
    """Paint strips one over the other and return which strip is on top of each pixel.

    Parameters
    ----------
    start, end : ndarray, shape (N, 2)
        Ends of the center lines as x, y [px].
    half_start, half_end : ndarray, shape (N,)
        Half widths at right angles to the center line, at either end [px].
    size : tuple of int
        Width and height of the picture [px].

    Returns
    -------
    ndarray of int32, shape (height, width)
        0 where there is no strip, else 1 + the index of the last strip that covers the pixel's center.
    """
    width, height = size
    upright = np.abs(end[:, 1] - start[:, 1]) >= np.abs(end[:, 0] - start[:, 0])
    tall = np.flatnonzero(upright)
    wide = np.flatnonzero(~upright)
    over = np.zeros((height, width), np.int32)
    across = np.zeros((width, height), np.int32)
    _paint_upright(over, start[tall], end[tall], half_start[tall], half_end[tall], tall)
    _paint_upright(across, start[wide, ::-1], end[wide, ::-1], half_start[wide], half_end[wide], wide)
    return np.maximum(over, across.T)


def _paint_upright(
    canvas: Ids, start: Floats, end: Floats, half_start: Floats, half_end: Floats, index: NDArray[np.intp]
) -> None:
    """Paint strips that run more along the rows' axis than across it."""
    height, width = canvas.shape
    flip = end[:, 1] < start[:, 1]
    top, bottom = np.where(flip[:, None], end, start), np.where(flip[:, None], start, end)
    half_top, half_bottom = np.where(flip, half_end, half_start), np.where(flip, half_start, half_end)
    run = bottom - top
    first = np.ceil(top[:, 1]).clip(0, height)
    count = np.ceil(bottom[:, 1]).clip(0, height) - first
    used = np.flatnonzero(count > 0)
    top, run, first, count = top[used], run[used], first[used], count[used]
    half_top, half_bottom, index = half_top[used], half_bottom[used], index[used]
    across = np.hypot(run[:, 0], run[:, 1]) / run[:, 1]
    slope = run[:, 0] / run[:, 1]
    widen = (half_bottom - half_top) * across / run[:, 1]
    ahead = first - top[:, 1]
    center, half = top[:, 0] + slope * ahead, half_top * across + widen * ahead
    values = [center - half, slope - widen, center + half, slope + widen]
    left0, left_step, right0, right_step = (value.astype(np.float32) for value in values)
    flat = canvas.reshape(-1)
    for low in range(0, len(used), _CHUNK):
        part = slice(low, low + _CHUNK)
        rows = count[part].astype(np.int32)
        step = _steps(rows)
        go = step.astype(np.float32)
        begin = np.ceil(np.repeat(left0[part], rows) + np.repeat(left_step[part], rows) * go)
        stop = np.ceil(np.repeat(right0[part], rows) + np.repeat(right_step[part], rows) * go)
        begin = begin.clip(0, width).astype(np.int32)
        length = np.maximum(stop.clip(0, width).astype(np.int32) - begin, 0)
        begin += (np.repeat(first[part].astype(np.int32), rows) + step) * np.int32(width)
        name = np.repeat(index[part].astype(np.int32) + 1, rows)
        pixel = np.repeat(begin, length) + _steps(length)
        flat[pixel] = np.repeat(name, length)


def _steps(count: NDArray[np.int32]) -> NDArray[np.int32]:
    """Return 0, 1, ..., n - 1 for each n in `count`, one after the other."""
    ends = np.cumsum(count, dtype=np.int32)
    total = int(ends[-1]) if len(ends) else 0
    return np.arange(total, dtype=np.int32) - np.repeat(ends - count, count)
