"""Bare ground on a photo taken straight down, as outlines: where most of what surrounds a pixel is not leaf.

The photo has no scale, so the neighborhood and the smallest patch are shares of its shorter side.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Ring = NDArray[np.float64]

WORKING_SIDE_PX = 480
"""Outlines are found on the photo reduced to this shorter side; finer ones could not be followed by eye."""
REACH = 1 / 60
"""Standard deviation of the neighborhood, share of the shorter side."""
LEAST_AREA = 1 / 1500
"""Smaller patches are not outlined, share of the photo."""
LEAST_READ = 0.25
COARSEN_PX = 1.0


def bare_patches(is_leaf: Mask, is_readable: Mask) -> tuple[Ring, ...]:
    """Outline the bare ground of a photo.

    Parameters
    ----------
    is_leaf, is_readable : ndarray of bool, shape (rows, cols)
        Which pixels are leaf, and which could be read at all.

    Returns
    -------
    tuple of ndarray, shape (N, 2)
        Closed rings of x and y in pixels of the photo, the largest first. Holes are rings of their own.
    """
    import cv2

    rows, cols = is_leaf.shape
    scale = max(1.0, min(rows, cols) / WORKING_SIDE_PX)
    size = (max(1, round(cols / scale)), max(1, round(rows / scale)))
    leaf, read = (
        cv2.resize(which.astype(np.float32), size, interpolation=cv2.INTER_AREA)
        for which in (is_leaf, is_readable)
    )
    sigma = max(0.5, REACH * min(size))
    weight = cv2.GaussianBlur(read, (0, 0), sigma)
    share = cv2.GaussianBlur(leaf * read, (0, 0), sigma) / np.maximum(weight, 1e-6)
    bare = ((share < 0.5) & (weight >= LEAST_READ)).astype(np.uint8)
    contours, _ = cv2.findContours(bare, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    least = LEAST_AREA * size[0] * size[1]
    large = [ring for ring in contours if len(ring) > 3 and cv2.contourArea(ring) >= least]
    large.sort(key=cv2.contourArea, reverse=True)
    to_photo = np.array([cols / size[0], rows / size[1]])
    return tuple(_closed(cv2.approxPolyDP(ring, COARSEN_PX, True)[:, 0], to_photo) for ring in large)


def _closed(ring: NDArray[Any], to_photo: Ring) -> Ring:
    corners = (ring + 0.5) * to_photo - 0.5
    return np.vstack([corners, corners[:1]])
