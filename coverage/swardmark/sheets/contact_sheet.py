"""The contact sheet for counting by eye: each point as a crop of the photo with a small ring, numbered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

RGB = NDArray[np.uint8]

COLUMNS, ROWS = 4, 5
TILE_PX, GAP_PX, LABEL_PX = 220, 12, 30
CROP_PX = 48
"""Side of a crop in pixels of the photo: enough around the point to tell a blade from sand."""
RING_PX = 11
PAPER, INK = (255, 255, 255), (34, 34, 34)


@dataclass(frozen=True)
class PointCrop:
    """The surroundings of one point as a JPEG file, and where the ring belongs on it.

    Attributes
    ----------
    jpeg : bytes
        A square picture without the ring.
    ring_x, ring_y, ring_radius : float
        Middle and radius of the ring as shares of the picture's side, from its upper left corner.
    """

    jpeg: bytes
    ring_x: float
    ring_y: float
    ring_radius: float


def point_crops(
    rgb: RGB, points_px: Sequence[tuple[float, float]], *, side_px: int = 440, crop_px: int = CROP_PX
) -> list[PointCrop]:
    """Return each point of a photo as a crop on which the caller draws the ring, for a screen.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo, upright.
    points_px : sequence of (float, float)
        x and y of the points, pixels.
    side_px : int
        Side of each picture.
    crop_px : int
        Side of the piece of the photo that it shows; larger shows more around the point.
    """
    import cv2

    crops = []
    for x, y in points_px:
        tile = _enlarged(rgb, x, y, side_px, crop_px)
        _, data = cv2.imencode(".jpg", np.ascontiguousarray(tile[..., ::-1]), [cv2.IMWRITE_JPEG_QUALITY, 90])
        middle = (side_px // 2 + 0.5) / side_px
        crops.append(PointCrop(bytes(data), middle, middle, RING_PX / TILE_PX))
    return crops


def crop_at(rgb: RGB, x_px: float, y_px: float, *, side_px: int = TILE_PX, crop_px: int = CROP_PX) -> RGB:
    """Return the surroundings of a pixel, enlarged, with a ring around the pixel itself.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo, upright.
    x_px, y_px : float
        The point, pixels.
    side_px : int
        Side of the picture that is returned.
    crop_px : int
        Side of the piece of the photo that it shows.
    """
    import cv2

    tile = _enlarged(rgb, x_px, y_px, side_px, crop_px)
    middle = (side_px // 2, side_px // 2)
    for color, width in ((INK, 4), (PAPER, 2)):
        cv2.circle(tile, middle, RING_PX, color, width, cv2.LINE_AA)
    return np.asarray(tile, np.uint8)


def _enlarged(rgb: RGB, x_px: float, y_px: float, side_px: int, crop_px: int) -> RGB:
    """Cut a square around a pixel, the photo's rim repeated where it reaches beyond, and enlarge it."""
    import cv2

    half = crop_px // 2
    rows = np.arange(round(y_px) - half, round(y_px) + half + 1).clip(0, rgb.shape[0] - 1)
    cols = np.arange(round(x_px) - half, round(x_px) + half + 1).clip(0, rgb.shape[1] - 1)
    crop = np.ascontiguousarray(rgb[np.ix_(rows, cols)])
    return np.asarray(cv2.resize(crop, (side_px, side_px), interpolation=cv2.INTER_CUBIC), np.uint8)


def contact_sheets(rgb: RGB, points_px: Sequence[tuple[float, float]]) -> list[bytes]:
    """Return the points of a photo as numbered pages, PNG files of 20 crops each."""
    import cv2

    pages, per_page = [], COLUMNS * ROWS
    for first in range(0, len(points_px), per_page):
        some = points_px[first : first + per_page]
        page = _page(rgb, some, first + 1)
        _, data = cv2.imencode(".png", np.ascontiguousarray(page[..., ::-1]))
        pages.append(bytes(data))
    return pages


def _page(rgb: RGB, points_px: Sequence[tuple[float, float]], first: int) -> RGB:
    import cv2

    rows = -(-len(points_px) // COLUMNS)
    width = COLUMNS * (TILE_PX + GAP_PX) + GAP_PX
    height = rows * (TILE_PX + LABEL_PX + GAP_PX) + GAP_PX
    page = np.full((height, width, 3), 255, np.uint8)
    for number, (x, y) in enumerate(points_px):
        left = GAP_PX + number % COLUMNS * (TILE_PX + GAP_PX)
        top = GAP_PX + number // COLUMNS * (TILE_PX + LABEL_PX + GAP_PX)
        at = (left, top + LABEL_PX - 9)
        cv2.putText(page, str(first + number), at, cv2.FONT_HERSHEY_SIMPLEX, 0.7, INK, 2, cv2.LINE_AA)
        tile = crop_at(rgb, x, y)
        page[top + LABEL_PX : top + LABEL_PX + TILE_PX, left : left + TILE_PX] = tile
    return page
