"""Plane-to-plane homographies: solving one from points, mapping points, and how much areas grow.

Solved by the direct linear transformation with normalized coordinates (Hartley and Zisserman 2004, Multiple View
Geometry, chapter 4).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.common.errors import SwardmarkError

FloatArray = NDArray[np.float64]


class GeometryError(SwardmarkError):
    """Points that cannot be the corners of a square on the ground."""


def homography(source: ArrayLike, target: ArrayLike) -> FloatArray:
    """Solve the 3 x 3 homography that takes `source` points to `target` points.

    Parameters
    ----------
    source, target : array_like, shape (N, 2)
        At least four pairs of points, no three on a line. More than four are fitted in the least-squares sense.

    Returns
    -------
    ndarray, shape (3, 3)
        Scaled so that its last element is 1 (or to unit norm where that element vanishes).

    Raises
    ------
    GeometryError
        Fewer than four pairs, or points that do not fix a homography.
    """
    src, dst = np.asarray(source, float).reshape(-1, 2), np.asarray(target, float).reshape(-1, 2)
    if len(src) < 4 or src.shape != dst.shape or not (np.isfinite(src).all() and np.isfinite(dst).all()):
        raise GeometryError("a homography needs at least four pairs of points")
    to_src, to_dst = _normalizer(src), _normalizer(dst)
    (x, y), (u, v) = apply(to_src, src).T, apply(to_dst, dst).T
    one, zero = np.ones_like(x), np.zeros_like(x)
    rows = np.concatenate([
        np.stack([x, y, one, zero, zero, zero, -u * x, -u * y, -u], axis=1),
        np.stack([zero, zero, zero, x, y, one, -v * x, -v * y, -v], axis=1),
    ])  # fmt: skip
    _, sizes, basis = np.linalg.svd(rows)
    if sizes[7] < 1e-9 * sizes[0]:
        raise GeometryError("the points lie on a line")
    matrix = np.linalg.inv(to_dst) @ basis[-1].reshape(3, 3) @ to_src
    last = matrix[2, 2]
    scale = last if abs(last) > 1e-12 * np.abs(matrix).max() else np.linalg.norm(matrix)
    return np.asarray(matrix / scale)


def apply(matrix: FloatArray, points: ArrayLike) -> FloatArray:
    """Map points, shape (..., 2), through a homography; infinite where a point lies on the horizon."""
    u, v, w = projected(matrix, points)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.stack([u / w, v / w], axis=-1)


def projected(matrix: FloatArray, points: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the homogeneous coordinates u, v, w, each of shape (...), of points, shape (..., 2), under a homography.

    Written out term by term: a matrix product of millions of points with so small a matrix is many times slower.
    """
    pts = np.asarray(points, float)
    x, y = pts[..., 0], pts[..., 1]
    u, v, w = (row[0] * x + row[1] * y + row[2] for row in matrix)
    return u, v, w


def rescaled(matrix: ArrayLike, along: float, down: float) -> FloatArray:
    """Return the homography, shape (3, 3), to a picture's pixels after scaling it by factors in x and y.

    Pixel centers are integers, so the picture's edge lies at -0.5 before and after.
    """
    scale = np.array([[along, 0, (along - 1) / 2], [0, down, (down - 1) / 2], [0, 0, 1.0]])
    return np.asarray(scale @ np.asarray(matrix, float).reshape(3, 3))


def _normalizer(points: FloatArray) -> FloatArray:
    """Similarity that moves points to their centroid and scales their mean distance to sqrt 2."""
    center = points.mean(axis=0)
    spread = np.hypot(*(points - center).T).mean()
    if not spread > 0:
        raise GeometryError("the points fall together")
    scale = np.sqrt(2) / spread
    return np.array([[scale, 0, -scale * center[0]], [0, scale, -scale * center[1]], [0, 0, 1]])
