"""Plane-to-plane homographies: solving one from points, and mapping points; and turns of a camera.

Solved by the direct linear transformation with normalized coordinates (Hartley and Zisserman 2004, Multiple View
Geometry, chapter 4).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.common.errors import SwardmarkError

FloatArray = NDArray[np.float64]

TWO_PAIRS, TURNS, UNLIKE_RAD, MOST_TURN_RAD = 600, 8, 0.007, 0.21
"""Turns of a camera by two pairs each: how many are tried and kept, how far apart, and how large they may be."""


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


def turns_by_two_pairs(
    pairs: FloatArray, matrix: FloatArray, other_matrix: FloatArray, *, near_px: float
) -> FloatArray:
    """Return the turns of the camera, shape (N, 3), that two pairs each tell and that most pairs about agree with.

    Random sample consensus (Fischler and Bolles 1981, Commun. ACM 24(6):381-395), as if the camera stood where it did.

    Parameters
    ----------
    pairs : ndarray, shape (P, 2, 2)
        Places of points in the one photo and in the other, pixels.
    matrix, other_matrix : ndarray, shape (3, 3)
        The two cameras' matrices.
    near_px : float
        How near a point comes to where a camera that only turned would see it.
    """
    from scipy.spatial.transform import Rotation

    rays, other_rays = (
        np.column_stack([pairs[:, n], np.ones(len(pairs))]) @ np.linalg.inv(camera).T
        for n, camera in enumerate((matrix, other_matrix))
    )
    rng, count = np.random.default_rng(0), len(pairs)
    one = rng.integers(0, max(count, 1), TWO_PAIRS if count > 1 else 0)
    two = np.stack([one, (one + rng.integers(1, max(count, 2), len(one))) % max(count, 1)], axis=1)
    turns = _axes(other_rays, two) @ np.swapaxes(_axes(rays, two), -1, -2)
    found = Rotation.from_matrix(turns).as_rotvec() if len(turns) else np.zeros((0, 3))
    small = np.linalg.norm(found, axis=1) < MOST_TURN_RAD
    found, turns = found[small], turns[small]
    seen = rays @ np.swapaxes(other_matrix @ turns, -1, -2)
    off = np.linalg.norm(seen[..., :2] / np.maximum(seen[..., 2:], 1e-6) - pairs[:, 1], axis=-1)
    kept: list[FloatArray] = []
    for turn in found[np.argsort(-(1 / (1 + (off / near_px) ** 2)).sum(axis=1), kind="stable")]:
        if len(kept) < TURNS and all(np.linalg.norm(turn - other) > UNLIKE_RAD for other in kept):
            kept.append(turn)
    return np.reshape(kept, (-1, 3))


def _normalizer(points: FloatArray) -> FloatArray:
    """Similarity that moves points to their centroid and scales their mean distance to sqrt 2."""
    center = points.mean(axis=0)
    spread = np.hypot(*(points - center).T).mean()
    if not spread > 0:
        raise GeometryError("the points fall together")
    scale = np.sqrt(2) / spread
    return np.array([[scale, 0, -scale * center[0]], [0, scale, -scale * center[1]], [0, 0, 1]])


def _axes(rays: FloatArray, two: FloatArray) -> FloatArray:
    """Return the axes that two rays each span, as columns, shape (N, 3, 3)."""
    unit = rays / np.linalg.norm(rays, axis=1, keepdims=True)
    along, across = unit[two[:, 0]] + unit[two[:, 1]], np.cross(unit[two[:, 0]], unit[two[:, 1]])
    along, across = (
        side / np.maximum(np.linalg.norm(side, axis=1, keepdims=True), 1e-9) for side in (along, across)
    )
    return np.stack([along, across, np.cross(along, across)], axis=-1)


def narrowed(
    first: FloatArray, last: FloatArray, sides: Iterable[ArrayLike], rows: NDArray[Any]
) -> tuple[FloatArray, FloatArray]:
    """Return where the span of each row, from first to last, begins and ends within straight sides.

    Parameters
    ----------
    first, last : ndarray, shape (rows,)
        Where the spans begin and end before.
    sides : iterable of array_like, shape (3,)
        A point (u, v) lies within a side (a, b, c) where a u + b v + c is positive.
    rows : ndarray, shape (rows,)
        v of each row.
    """
    for side in sides:
        slope, per_row, offset = np.asarray(side, float)
        rest = per_row * rows + offset
        if abs(slope) > 1e-12 * abs(rest).max():
            end = -rest / slope
            first, last = (np.maximum(first, end), last) if slope > 0 else (first, np.minimum(last, end))
        else:
            first = np.where(rest >= 0, first, np.inf)
    return first, last
