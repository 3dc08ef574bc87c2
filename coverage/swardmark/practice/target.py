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
_PAPER, _INK, _WOOD = 1, 2, 3
_REFLECTANCE = {_PAPER: (0.80, 0.80, 0.79), _INK: (0.035, 0.035, 0.036), _WOOD: (0.84, 0.82, 0.77)}


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
    to_ground = np.linalg.inv(camera.ground_homography)
    offset = (np.arange(_SUB) + 0.5) / _SUB - 0.5
    layer = np.zeros((rows.stop - rows.start, cols.stop - cols.start, 4), np.float32)
    for dy in offset:
        row = np.arange(rows.start, rows.stop)[:, None] + dy
        for dx in offset:
            column = np.arange(cols.start, cols.stop)[None, :] + dx
            x, y, w = (h[0] * column + h[1] * row + h[2] for h in to_ground)
            print_on = _print_at(*square.from_ground_xy(x / w, y / w), square)
            for stuff, color in _REFLECTANCE.items():
                layer[print_on == stuff] += np.array([*color, 1.0], np.float32)
    return np.asarray(layer / _SUB**2, np.float32)


def _print_at(x: Floats, y: Floats, square: Square) -> NDArray[np.uint8]:
    """Return what is printed or built at places in the square's own frame, 0 for nothing."""
    side = square.side_m
    if square.kind == "frame":
        from_edge = np.minimum(np.minimum(x, side - x), np.minimum(y, side - y))
        return np.where((from_edge >= 0) & (from_edge < square.bar_m), _WOOD, 0).astype(np.uint8)
    stuff = np.zeros(x.shape, np.uint8)
    high = side - square.mark_m
    for number, (x0, y0) in enumerate(((0.0, 0.0), (high, 0.0), (high, high), (0.0, high))):
        right, up = x - x0, y - y0
        least, most = np.minimum(right, up), np.maximum(right, up)
        stuff[(least >= -square.margin_m) & (most < square.mark_m + square.margin_m)] = _PAPER
        black = np.nonzero((least >= 0) & (most < square.mark_m))
        cells = mark_cells(number)
        count = len(cells)
        column = (right[black] / square.mark_m * count).astype(int).clip(0, count - 1)
        line = count - 1 - (up[black] / square.mark_m * count).astype(int).clip(0, count - 1)
        stuff[black] = np.where(cells[line, column], _PAPER, _INK)
    return stuff


def mark_cells(number: int) -> NDArray[np.bool_]:
    """Return the mark's cells from its own top down, True for white, border included."""
    import cv2

    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    return cv2.aruco.generateImageMarker(book, number, book.markerSize + 2, borderBits=1) > 127
