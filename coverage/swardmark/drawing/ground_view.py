"""The ground seen straight down, and outlines in meters laid on a picture."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.canopy.index import GroundMap
from swardmark.ground.homography import FloatArray, apply, rescaled
from swardmark.record.shelf import MapShelf

RGB = NDArray[np.uint8]
Outline = NDArray[np.float64]

LONGEST_PX = 720
EMPTY = (244, 241, 232)
"""Color of ground that no photo shows, outside the photo itself."""


@dataclass(frozen=True)
class Window:
    """A piece of ground to look down on.

    Attributes
    ----------
    left, bottom, right, top : float
        Meters on the ground; top is the far side.
    px_per_m : float
        Scale of pictures of it.
    """

    left: float
    bottom: float
    right: float
    top: float
    px_per_m: float

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of a picture, in pixels."""
        return (
            math.ceil((self.right - self.left) * self.px_per_m),
            math.ceil((self.top - self.bottom) * self.px_per_m),
        )

    @property
    def to_picture(self) -> FloatArray:
        """Homography from ground meters to picture pixels, the far side up, shape (3, 3)."""
        scale = self.px_per_m
        return np.array([[scale, 0, -self.left * scale], [0, -scale, self.top * scale], [0, 0, 1.0]])


def common_window(maps: Sequence[GroundMap], *, longest_px: int = LONGEST_PX) -> Window:
    """Return the smallest window that holds all maps; those in the record are not unpacked for it."""
    boxes = maps.boxes_m() if isinstance(maps, MapShelf) else [ground_map.box_m for ground_map in maps]
    if not len(boxes):
        return Window(0.0, 0.0, 1.0, 1.0, float(longest_px))
    left, bottom = (float(value) for value in np.min(boxes, axis=0)[:2])
    right, top = (float(value) for value in np.max(boxes, axis=0)[2:])
    return Window(left, bottom, right, top, longest_px / max(right - left, top - bottom))


def look_down(picture: RGB, to_photo: ArrayLike, photo_size: tuple[int, int], window: Window) -> RGB:
    """Lay a photo flat: what it shows of a window, as seen straight down, the far side up.

    Parameters
    ----------
    picture : ndarray of uint8, shape (rows, cols, 3)
        The photo, at its own or at a reduced size.
    to_photo : array_like of 9 values
        Homography from ground meters to pixels of the photo at its own size.
    photo_size : tuple of int
        Width and height of the photo at its own size.
    window : Window
        The ground to show.
    """
    import cv2

    to_reduced = reduced(to_photo, photo_size, (picture.shape[1], picture.shape[0]))
    to_window = window.to_picture @ np.linalg.inv(to_reduced)
    laid = cv2.warpPerspective(picture, to_window, window.size, flags=cv2.INTER_LINEAR, borderValue=EMPTY)
    laid[~_before_camera(to_reduced, window)] = EMPTY
    return np.asarray(laid, np.uint8)


def reduced(to_photo: ArrayLike, photo_size: tuple[int, int], size: tuple[int, int]) -> FloatArray:
    """Return the homography to a photo's pixels after it was scaled from `photo_size` to `size`, shape (3, 3)."""
    return rescaled(to_photo, size[0] / photo_size[0], size[1] / photo_size[1])


def on_picture(outlines: Sequence[ArrayLike], to_picture: FloatArray) -> list[Outline]:
    """Map outlines in meters to a picture's pixels through its homography; those behind the camera are left out."""
    placed = []
    for outline in outlines:
        points = np.asarray(outline, float)
        if ((points @ to_picture[2, :2] + to_picture[2, 2]) > 0).all():
            placed.append(apply(to_picture, points))
    return placed


def svg_path(outlines: Sequence[Outline]) -> str:
    """Return outlines as the data of one SVG path, in pixels to a tenth."""
    parts = []
    for outline in outlines:
        corners = "L".join(f"{x:.1f} {y:.1f}" for x, y in outline[:-1])
        parts.append(f"M{corners}Z")
    return "".join(parts)


def draw_outlines(picture: RGB, outlines: Sequence[Outline]) -> RGB:
    """Return a copy of a picture with outlines: a light line below a dark one, to be seen on sand and on leaf."""
    import cv2

    drawn = picture.copy()
    lines = [np.rint(outline).astype(np.int32) for outline in outlines]
    for color, width in (((255, 255, 255), 4), ((163, 71, 0), 2)):
        cv2.polylines(drawn, lines, True, color, width, cv2.LINE_AA)
    return drawn


def _before_camera(to_photo: FloatArray, window: Window) -> NDArray[np.bool_]:
    """Tell which pixels of a window's picture lie before the camera, shape (rows, cols)."""
    width, height = window.size
    x = window.left + (np.arange(width) + 0.5) / window.px_per_m
    y = window.top - (np.arange(height) + 0.5) / window.px_per_m
    return np.asarray(to_photo[2, 0] * x + (to_photo[2, 1] * y)[:, None] + to_photo[2, 2] > 0)
