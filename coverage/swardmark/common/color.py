"""Coded sRGB and linear light (IEC 61966-2-1), and a picture's channels."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray


class Colors(NamedTuple):
    """Red, green and blue of points, each of shape (...), as arrays of their own."""

    red: NDArray[np.uint8]
    green: NDArray[np.uint8]
    blue: NDArray[np.uint8]

    @property
    def brightest(self) -> NDArray[np.uint8]:
        """The brightest channel of each point."""
        return np.maximum(np.maximum(self.red, self.green), self.blue)

    @property
    def darkest(self) -> NDArray[np.uint8]:
        """The darkest channel of each point."""
        return np.minimum(np.minimum(self.red, self.green), self.blue)

    def at(self, which: NDArray[Any] | slice) -> Colors:
        """Return the colors of some of the points, by a mask, their numbers or a slice."""
        return Colors(self.red[which], self.green[which], self.blue[which])


def linear_of(coded: ArrayLike) -> NDArray[np.float64]:
    """Turn coded sRGB 0..255 into linear light 0..1."""
    c = np.asarray(coded, np.float64) / 255
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def coded_of(linear: NDArray[np.floating[Any]]) -> NDArray[np.float32]:
    """Turn linear light 0..1 into coded sRGB 0..255, both clipped."""
    c = linear.clip(0, 1).astype(np.float32)
    return np.float32(255) * np.where(c <= 0.0031308, 12.92 * c, 1.055 * c ** np.float32(1 / 2.4) - 0.055)


def gray_of(rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return a picture in gray, shape (rows, cols): its luma (ITU-R BT.601); one that is gray already as it is."""
    import cv2

    return rgb if rgb.ndim == 2 else np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), np.uint8)


def colors_of(rgb: NDArray[np.uint8]) -> Colors:
    """Take points or a picture, shape (..., 3), apart into their channels."""
    import cv2

    if not rgb.size:
        return Colors(rgb[..., 0], rgb[..., 1], rgb[..., 2])
    planes = cv2.split(rgb if rgb.ndim == 3 else rgb.reshape(1, -1, 3))
    return Colors(*(np.asarray(plane, np.uint8).reshape(rgb.shape[:-1]) for plane in planes))


def colors_at(picture: NDArray[np.uint8], mask: NDArray[np.bool_]) -> Colors:
    """Return the colors of a picture, shape (rows, cols, 3), where a mask says so; a pixel is taken as a whole."""
    taken = picture.view("V3")[..., 0][mask]
    return colors_of(taken.view(np.uint8).reshape(-1, 3))
