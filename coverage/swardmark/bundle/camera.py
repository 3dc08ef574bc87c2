"""The camera of relief photos: a pinhole with radial distortion, and a shift for each photo.

A point P in the ground frame is seen at Q = R (P - C), x = Qx/Qz, y = Qy/Qz, and falls on the pixel
f d (x, y) + c + s, with d = 1 + k1 r^2 + k2 r^4 and r^2 = x^2 + y^2 (Brown 1966, Photogrammetric Engineering 32(3), the
first two radial terms; as in OpenCV). The shift s of each photo is what an optical stabilizer adds: without it the
heights of sand are twice as wrong (drawn scenes).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating]

SHARED, OWN = 5, 8
"""Numbers of the lens that all photos share (f, cx, cy, k1, k2), and of each photo (turn 3, place 3, shift 2)."""


@dataclass(frozen=True, eq=False)
class Lens:
    """What all photos of a set share.

    Attributes
    ----------
    focal_px : float
        Focal length in pixels.
    center_px : ndarray, shape (2,)
        Where the optical axis meets the photo.
    k1, k2 : float
        Radial distortion.
    """

    focal_px: float
    center_px: Floats
    k1: float = 0.0
    k2: float = 0.0


@dataclass(frozen=True, eq=False)
class View:
    """Where one photo was taken from.

    Attributes
    ----------
    rotation : ndarray, shape (3, 3)
        From the ground frame to the camera's (x right, y down, z forward).
    position_m : ndarray, shape (3,)
        The camera in the ground frame, in meters.
    shift_px : ndarray, shape (2,)
        Shift of this photo's picture.
    """

    rotation: Floats
    position_m: Floats
    shift_px: Floats


def project(points_m: Floats, lens: Lens, view: View) -> Floats:
    """Return the pixels, shape (..., 2), of ground points, shape (..., 3), in meters; NaN behind the camera."""
    q = (points_m - view.position_m) @ view.rotation.T
    depth = np.where(q[..., 2] > 0, q[..., 2], np.nan)
    x, y = q[..., 0] / depth, q[..., 1] / depth
    r2 = x * x + y * y
    scale = lens.focal_px * (1 + lens.k1 * r2 + lens.k2 * r2 * r2)
    origin = lens.center_px + view.shift_px
    return np.stack([scale * x + origin[0], scale * y + origin[1]], axis=-1)


def derivatives(points_m: Floats, lens: Lens, view: View) -> tuple[Floats, Floats, Floats, Floats]:
    """Return pixels and how they change with lens, view and point.

    Parameters
    ----------
    points_m : ndarray, shape (N, 3)
        Ground points in meters.
    lens, view : Lens, View
        The camera.

    Returns
    -------
    tuple of ndarray
        Pixels, shape (N, 2); derivatives by f, cx, cy, k1, k2, shape (N, 2, 5); by a small turn (radians, in the
        camera's frame), the place and the shift, shape (N, 2, 8); by the point, shape (N, 2, 3).
    """
    q = (points_m - view.position_m) @ view.rotation.T
    x, y, inverse = q[:, 0] / q[:, 2], q[:, 1] / q[:, 2], 1 / q[:, 2]
    r2 = x * x + y * y
    d = 1 + lens.k1 * r2 + lens.k2 * r2 * r2
    slope = 2 * (lens.k1 + 2 * lens.k2 * r2)
    f, n = lens.focal_px, len(x)
    xy = np.stack([x, y], axis=1)
    pixels = f * d[:, None] * xy + lens.center_px + view.shift_px
    by_lens = np.zeros((n, 2, SHARED))
    by_lens[:, :, 0] = d[:, None] * xy
    by_lens[:, 0, 1] = by_lens[:, 1, 2] = 1
    by_lens[:, :, 3] = f * r2[:, None] * xy
    by_lens[:, :, 4] = f * (r2 * r2)[:, None] * xy
    by_xy = f * (d[:, None, None] * np.eye(2) + slope[:, None, None] * xy[:, :, None] * xy[:, None, :])
    to_xy = np.zeros((n, 2, 3))
    to_xy[:, 0, 0] = to_xy[:, 1, 1] = inverse
    to_xy[:, :, 2] = -xy * inverse[:, None]
    by_q = by_xy @ to_xy
    by_view = np.zeros((n, 2, OWN))
    by_view[:, :, :3] = np.cross(q[:, None, :], by_q)
    by_point = by_q @ view.rotation
    by_view[:, :, 3:6] = -by_point
    by_view[:, 0, 6] = by_view[:, 1, 7] = 1
    return pixels, by_lens, by_view, by_point


def moved(lens: Lens, views: Sequence[View], step: Floats) -> tuple[Lens, tuple[View, ...]]:
    """Return lens and views after a step in all their numbers, shape (5 + 8 N,)."""
    new = Lens(lens.focal_px + step[0], lens.center_px + step[1:3], lens.k1 + step[3], lens.k2 + step[4])
    own = step[SHARED:].reshape(-1, OWN)
    return new, tuple(
        View(_turn(part[:3]) @ view.rotation, view.position_m + part[3:6], view.shift_px + part[6:])
        for view, part in zip(views, own, strict=True)
    )


def first_view(points_m: Floats, pixels: Floats, lens: Lens) -> View:
    """Return the view of a photo from points near one plane, shape (N, 3), and their pixels, shape (N, 2)."""
    import cv2

    matrix = np.array(
        [[lens.focal_px, 0, lens.center_px[0]], [0, lens.focal_px, lens.center_px[1]], [0, 0, 1.0]]
    )
    flat = points_m * (1, 1, 0)
    _, turn, shift = cv2.solvePnP(flat, pixels, matrix, None, flags=cv2.SOLVEPNP_IPPE)
    turn, shift = cv2.solvePnPRefineLM(flat, pixels, matrix, None, turn, shift)
    rotation = np.asarray(cv2.Rodrigues(turn)[0], float)
    return View(rotation, -rotation.T @ np.asarray(shift, float).ravel(), np.zeros(2))


def _turn(vector: Floats) -> Floats:
    """Return the rotation by a vector in radians (Rodrigues)."""
    import cv2

    return np.asarray(cv2.Rodrigues(np.asarray(vector, float))[0], float)
