"""A photo as its fitness is judged by: in gray and small, and every so many of its pixels in color."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.common.color import Colors, colors_of, gray_of

Mask = NDArray[np.uint8]
"""1 where there is ground."""
REDUCED_PX = 800
"""Longer side of the picture on which sharpness and texture are judged: a pixel is then about 3-8 mm of ground."""
SPARSE_PX = 200
"""Points along the longer side at which colors are read."""


@dataclass(frozen=True, eq=False)
class Look:
    """A photo as its fitness is judged by: reduced, and where the ground lies in it.

    Attributes
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo, upright, red first.
    outline_px : array_like, shape (N, 2), or None
        Convex outline of the measured ground, pixels; None for the lower two thirds of the photo.
    gray, ground : ndarray of uint8
        The part of the reduced gray picture that holds the ground, and the ground in it.
    sparse, sparse_ground : ndarray of uint8
        Every so many pixels of the photo, and the ground among them.
    colors : Colors
        Those of the sparse points on the ground.
    """

    rgb: NDArray[np.uint8]
    outline_px: ArrayLike | None
    gray: NDArray[np.uint8]
    ground: Mask
    sparse: NDArray[np.uint8]
    sparse_ground: Mask
    colors: Colors


def look_at(
    rgb: NDArray[np.uint8],
    *,
    outline_px: ArrayLike | None = None,
    gray: NDArray[np.uint8] | None = None,
) -> Look:
    """Reduce a photo to what its fitness is judged by.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo, upright, red first.
    outline_px : array_like, shape (N, 2), optional
        Convex outline of the measured ground, pixels. Without it the lower two thirds of the photo are looked at.
    gray : ndarray of uint8, shape (rows, cols), optional
        The photo in gray, where it is known already.
    """
    small = _reduced(gray_of(rgb) if gray is None else gray)
    box, ground = _boxed(region_of(small.shape, rgb.shape, outline_px))
    sparse = every(rgb, max(1, max(rgb.shape[:2]) // SPARSE_PX))
    sparse_ground = region_of(sparse.shape, rgb.shape, outline_px)
    colors = colors_of(sparse).at(sparse_ground > 0)
    return Look(rgb, outline_px, small[box], ground, sparse, sparse_ground, colors)


def every(rgb: NDArray[np.uint8], step: int) -> NDArray[np.uint8]:
    """Return every `step`-th pixel along rows and columns, as a picture of its own."""
    import cv2

    rows, cols = (length // step for length in rgb.shape[:2])
    whole = rgb[: rows * step, : cols * step]
    return np.asarray(cv2.resize(whole, (cols, rows), interpolation=cv2.INTER_NEAREST), np.uint8)


def region_of(shape: tuple[int, ...], full: tuple[int, ...], outline_px: ArrayLike | None) -> Mask:
    """Return the ground, 1, on a reduced lattice of the photo."""
    import cv2

    mask = np.zeros(shape[:2], np.uint8)
    if outline_px is None:
        mask[shape[0] // 3 :] = 1
    else:
        scale = np.array([shape[1] / full[1], shape[0] / full[0]])
        outline = (np.asarray(outline_px, float) + 0.5) * scale - 0.5
        cv2.fillConvexPoly(mask, np.rint(outline).astype(np.int32), 1)
    return mask


def _reduced(gray: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return a gray picture with a longer side of 800 pixels, each of at least two by two photo pixels."""
    import cv2

    scale = REDUCED_PX / max(gray.shape)
    if scale >= 1:
        return gray
    size = tuple(max(1, round(length * scale)) for length in gray.shape[::-1])
    way = cv2.INTER_LINEAR if scale <= 0.5 else cv2.INTER_AREA
    return np.asarray(cv2.resize(gray, size, interpolation=way), np.uint8)


def _boxed(ground: Mask) -> tuple[tuple[slice, slice], Mask]:
    """Return the rows and columns in which the ground lies, and the mask on them."""
    rows, cols = np.flatnonzero(ground.any(axis=1)), np.flatnonzero(ground.any(axis=0))
    if not len(rows):
        return (slice(0), slice(0)), ground[:0, :0]
    box = slice(rows[0], rows[-1] + 1), slice(cols[0], cols[-1] + 1)
    return box, ground[box]
