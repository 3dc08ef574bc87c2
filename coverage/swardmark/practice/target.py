"""The reference square as it lies on the lawn: printed corner marks or a plain light frame.

Each pixel is the mean over many lines of sight inside it, so that edges and corners fall where the geometry
puts them to a small fraction of a pixel.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from swardmark.practice.scene import Camera, Square

Floats = NDArray[np.floating]
Plane = NDArray[np.float32]
_SUB = 6
_PAPER = np.array([0.80, 0.80, 0.79, 1.0], np.float32)
_INK = np.array([0.035, 0.035, 0.036, 1.0], np.float32)
_WOOD = np.array([0.74, 0.69, 0.58, 1.0], np.float32)
_NOTHING = np.zeros(4, np.float32)


def lay_square(picture: Plane, square: Square, camera: Camera, light: Plane) -> None:
    """Lay the square into a picture of linear light, in place.

    Parameters
    ----------
    picture : ndarray of float32, shape (H, W, 3)
        Linear light; changed where the square's printed parts are.
    square : Square
        What lies where.
    camera : Camera
        The camera of the picture.
    light : ndarray of float32, shape (H, W, 3)
        Light on level ground at each pixel.
    """
    for part in _parts(square):
        window = _window(part, square, camera)
        if window is None:
            continue
        layer = _sampled(window, square, camera)
        rows, cols = window
        share = layer[..., 3:]
        picture[rows, cols] = picture[rows, cols] * (1 - share) + layer[..., :3] * light[rows, cols]


def _parts(square: Square) -> list[Floats]:
    """Return outlines in the square's own frame that hold all printed parts and do not overlap."""
    side, edge = square.side_m, square.mark_m + square.margin_m
    if square.kind == "none":
        return []
    if square.kind == "frame":
        return [_box(0, 0, side, side)]
    low, high = -square.margin_m, side - square.mark_m - square.margin_m
    reach = edge + square.margin_m
    return [_box(x, y, x + reach, y + reach) for x, y in ((low, low), (high, low), (high, high), (low, high))]


def _box(x0: float, y0: float, x1: float, y1: float) -> Floats:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], np.float64)


def _window(part: Floats, square: Square, camera: Camera) -> tuple[slice, slice] | None:
    ground = square.to_ground(part)
    pixel, depth = camera.project(np.column_stack([ground, np.zeros(len(ground))]))
    if (depth <= 0.05).any():
        return None
    limit = np.array(camera.size_px)
    low = np.floor(pixel.min(axis=0) - 1).clip(0, limit).astype(int)
    high = np.ceil(pixel.max(axis=0) + 2).clip(0, limit).astype(int)
    if (high <= low).any():
        return None
    return slice(low[1], high[1]), slice(low[0], high[0])


def _sampled(window: tuple[slice, slice], square: Square, camera: Camera) -> Plane:
    """Return reflectance times share, and share, per pixel of the window, shape (rows, cols, 4)."""
    rows, cols = window
    offset = (np.arange(_SUB) + 0.5) / _SUB - 0.5
    total = np.zeros((rows.stop - rows.start, cols.stop - cols.start, 4), np.float32)
    column, row = np.meshgrid(np.arange(cols.start, cols.stop), np.arange(rows.start, rows.stop))
    for dy in offset:
        for dx in offset:
            pixels = np.column_stack([column.ravel() + dx, row.ravel() + dy])
            local = square.from_ground(camera.to_ground(pixels))
            total += _print_at(local, square).reshape(total.shape)
    return total / np.float32(_SUB**2)


def _print_at(local: Floats, square: Square) -> Plane:
    """Return red, green, blue reflectance and 1, or zeros, at places in the square's own frame."""
    x, y = local.T
    side = square.side_m
    if square.kind == "frame":
        inside = (x >= 0) & (x < side) & (y >= 0) & (y < side)
        bar = square.bar_m
        hole = (x >= bar) & (x < side - bar) & (y >= bar) & (y < side - bar)
        return np.where((inside & ~hole)[:, None], _WOOD, _NOTHING).astype(np.float32)
    colour = np.zeros((len(local), 4), np.float32)
    high = side - square.mark_m
    for number, (x0, y0) in enumerate(((0.0, 0.0), (high, 0.0), (high, high), (0.0, high))):
        right, up = x - x0, y - y0
        least, most = np.minimum(right, up), np.maximum(right, up)
        colour[(least >= -square.margin_m) & (most < square.mark_m + square.margin_m)] = _PAPER
        black = (least >= 0) & (most < square.mark_m)
        cells = _mark_cells(number)
        count = len(cells)
        column = (right[black] / square.mark_m * count).astype(int).clip(0, count - 1)
        line = count - 1 - (up[black] / square.mark_m * count).astype(int).clip(0, count - 1)
        colour[np.flatnonzero(black)[~cells[line, column]]] = _INK
    return colour


def _mark_cells(number: int) -> NDArray[np.bool_]:
    """Return the mark's cells from its own top down, True for white, border included."""
    import cv2

    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    return cv2.aruco.generateImageMarker(book, number, book.markerSize + 2, borderBits=1) > 127
