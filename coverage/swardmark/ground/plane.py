"""Photo pixels to meters on the ground: the homography, the camera's pose, and which ground a photo shows.

Ground coordinates are meters on the plane of the reference square: origin at its corner 0, x toward corner 1, y toward
corner 3, z up. Pixel coordinates are upright (x right, y down) and an integer is a pixel's center.

The pose follows from the ground's homography for a pinhole with square pixels and the principal point in the middle
(Hartley and Zisserman 2004, Multiple View Geometry, chapter 8).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.ground.homography import FloatArray, GeometryError, apply, homography, projected, rescaled

USUAL_FOCAL_35MM = 26.0
"""Main camera of a common phone, 35 mm equivalent; used where neither EXIF nor the square gives the focal length."""
FARTHEST_M = 12.0
"""No ground farther than this from the camera's foot is measured, however high the camera stands."""
STRAIGHT_DOWN_DEG = 75.0
"""A photo that looks down more steeply than this has no side that is up."""
COARSE = 10
"""Points in each direction between the tests that find which part of the lattice a photo shows."""


@dataclass(frozen=True)
class Pose:
    """Where the camera stood over the ground.

    Attributes
    ----------
    position_m : tuple of float
        x, y and height above the ground, meters.
    pitch_deg : float
        Angle of the optical axis below the horizontal.
    focal_px : float
        Focal length used, pixels.
    focal_from : str
        "camera" (EXIF), "square" (estimated from the square's shape) or "assumed".
    distortion : float
        How far the square seen is from a square under this focal length: relative difference of its two sides
        and cosine of their angle, whichever is larger; 0 is perfect.
    """

    position_m: tuple[float, float, float]
    pitch_deg: float
    focal_px: float
    focal_from: str
    distortion: float

    @property
    def height_m(self) -> float:
        """Height of the camera above the ground, meters."""
        return self.position_m[2]


@dataclass(frozen=True, eq=False)
class GroundPlane:
    """The ground as one photo shows it.

    Attributes
    ----------
    to_photo : ndarray, shape (3, 3)
        Homography from ground meters to photo pixels.
    size : tuple of int
        Photo width and height, pixels.
    pose : Pose
        The camera's place over the ground.
    """

    to_photo: FloatArray
    size: tuple[int, int]
    pose: Pose

    @cached_property
    def to_ground(self) -> FloatArray:
        """Homography from photo pixels to ground meters, shape (3, 3)."""
        return np.asarray(np.linalg.inv(self.to_photo), float)

    def pixels(self, ground_m: ArrayLike) -> FloatArray:
        """Map ground points in meters, shape (..., 2), to pixels; NaN behind the camera."""
        u, v, depth = projected(self.to_photo, ground_m)
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = np.where(depth > 0, 1 / depth, np.nan)
        return np.stack([u * scale, v * scale], axis=-1)

    def meters(self, pixels: ArrayLike) -> FloatArray:
        """Map pixels, shape (..., 2), to ground meters; NaN above the horizon."""
        ground = apply(self.to_ground, pixels)
        back = self.pixels(ground)
        return np.where(np.isfinite(back), ground, np.nan)

    def view_deg(self, ground_m: ArrayLike) -> FloatArray:
        """Return the view zenith angle (0 = straight down) at ground points, degrees, shape (...)."""
        pts = np.asarray(ground_m, float)
        x, y, height = self.pose.position_m
        return np.asarray(np.degrees(np.arctan2(np.hypot(pts[..., 0] - x, pts[..., 1] - y), height)))

    def footprint_mm(self, ground_m: ArrayLike) -> FloatArray:
        """Return the longer side of a pixel's footprint (ground sample distance) at ground points, millimeters."""
        h = self.to_photo
        u, v, w = projected(h, ground_m)
        with np.errstate(divide="ignore", invalid="ignore"):
            u, v = u / w, v / w
            a, b, c, d = (
                h[0, 0] - u * h[2, 0],
                h[0, 1] - u * h[2, 1],
                h[1, 0] - v * h[2, 0],
                h[1, 1] - v * h[2, 1],
            )
            total = a * a + b * b + c * c + d * d
            gap = np.sqrt(np.maximum(total * total - 4 * (a * d - b * c) ** 2, 0))
            smallest = np.sqrt(np.maximum(total - gap, 0) / 2)
            return np.asarray(np.where(w > 0, 1000 * w / smallest, np.inf))

    def moved(self, ground_from_square: FloatArray) -> GroundPlane:
        """Return the plane in another ground frame; the rigid 3 x 3 motion takes its meters to the new ones."""
        x, y = apply(ground_from_square, self.pose.position_m[:2])
        pose = replace(self.pose, position_m=(float(x), float(y), self.pose.height_m))
        return GroundPlane(self.to_photo @ np.linalg.inv(ground_from_square), self.size, pose)

    @property
    def turn_deg(self) -> float:
        """How far the photo is turned counter-clockwise from upright, by where its ground lies, degrees (-180, 180]."""
        toward_ground = self.to_ground[2, :2]
        return float(np.degrees(np.arctan2(toward_ground[0], toward_ground[1])))

    @property
    def quarter_turns(self) -> int:
        """By how many quarters the photo is turned counter-clockwise, 0 to 3; 0 where it looks straight down."""
        return round(self.turn_deg / 90) % 4 if self.pose.pitch_deg < STRAIGHT_DOWN_DEG else 0

    def turned(self, quarters: int) -> GroundPlane:
        """Return the plane for the photo turned counter-clockwise by quarters, as `numpy.rot90` turns pixels."""
        to_photo, (width, height) = self.to_photo, self.size
        for _ in range(quarters % 4):
            to_photo = np.array([[0, 1, 0], [-1, 0, width - 1], [0, 0, 1.0]]) @ to_photo
            width, height = height, width
        return GroundPlane(to_photo, (width, height), self.pose)

    def enlarged(self, times: float) -> GroundPlane:
        """Return the plane for a picture of the same view with `times` the pixels along each side."""
        width, height = (round(times * length) for length in self.size)
        pose = replace(self.pose, focal_px=times * self.pose.focal_px)
        return GroundPlane(rescaled(self.to_photo, times, times), (width, height), pose)

    @property
    def camera_matrix(self) -> FloatArray:
        """The pinhole's matrix: focal length, and the principal point in the middle, shape (3, 3)."""
        return camera_matrix(self.size, self.pose.focal_px)

    @cached_property
    def rotation(self) -> FloatArray:
        """Turn from the ground's axes to the camera's (x right, y down, z forward), shape (3, 3)."""
        return _turned(np.linalg.inv(self.camera_matrix) @ self.to_photo)[0]


def camera_matrix(size: tuple[int, int], focal_px: float) -> FloatArray:
    """Return the matrix of a pinhole with square pixels and the principal point in the middle, shape (3, 3)."""
    return np.array([[focal_px, 0, (size[0] - 1) / 2], [0, focal_px, (size[1] - 1) / 2], [0, 0, 1.0]])


def plane_of_camera(
    rotation: FloatArray, position_m: FloatArray, *, size: tuple[int, int], like: Pose
) -> GroundPlane:
    """Return the ground as seen by a camera of known place, turn (3 x 3) and focal length (that of the pose `like`)."""
    shift = -rotation @ np.asarray(position_m, float)
    to_photo = camera_matrix(size, like.focal_px) @ np.column_stack([rotation[:, :2], shift])
    pitch = float(np.degrees(np.arcsin(np.clip(-rotation[2, 2], -1, 1))))
    x, y, height = (float(value) for value in position_m)
    return GroundPlane(
        to_photo, size, replace(like, position_m=(x, y, height), pitch_deg=pitch, distortion=0.0)
    )


def plane_from_square(
    corners_px: ArrayLike, *, side_m: float, size: tuple[int, int], focal_px: float | None = None
) -> GroundPlane:
    """Build the ground plane from the square's four corners in the photo.

    Parameters
    ----------
    corners_px : array_like, shape (4, 2)
        Corners 0, 1, 2, 3 in upright pixels, in order around the square.
    side_m : float
        The square's side, meters.
    size : tuple of int
        Photo width and height, pixels.
    focal_px : float, optional
        Focal length from EXIF; estimated from the square where absent.

    Raises
    ------
    GeometryError
        The corners cannot be those of a square lying on the ground.
    """
    corners = np.asarray(corners_px, float)
    square = side_m * np.array([[0, 0], [1, 0], [1, 1], [0, 1]], float)
    to_photo = homography(square, corners)
    w = square @ to_photo[2, :2] + to_photo[2, 2]
    if not (w > 0).all() and not (w < 0).all():
        raise GeometryError("the square's corners lie on both sides of the horizon")
    if np.linalg.det(_facing(to_photo, size, square)) > 0:
        raise GeometryError("the square's corners run the wrong way around")
    to_photo = _facing(to_photo, size, square)
    return GroundPlane(to_photo, size, pose_of(to_photo, size, focal_px))


def pose_of(to_photo: FloatArray, size: tuple[int, int], focal_px: float | None = None) -> Pose:
    """Work out where the camera stood from the ground-to-photo homography.

    Parameters
    ----------
    to_photo : ndarray, shape (3, 3)
        Homography from ground meters to pixels, positive depth before the camera.
    size : tuple of int
        Photo width and height, pixels; the principal point is taken in the middle.
    focal_px : float, optional
        Known focal length; else estimated from the homography, else that of a common phone.
    """
    center = np.array([[1, 0, -(size[0] - 1) / 2], [0, 1, -(size[1] - 1) / 2], [0, 0, 1]])
    h = center @ to_photo
    source = "camera"
    if focal_px is None:
        focal_px, source = _focal_of(h, size)
    columns = h / np.array([[focal_px], [focal_px], [1.0]])
    one, two = np.linalg.norm(columns[:, 0]), np.linalg.norm(columns[:, 1])
    skew = float(columns[:, 0] @ columns[:, 1] / (one * two))
    ratio = float(abs(one - two) / ((one + two) / 2))
    turn, columns = _turned(columns)
    position = -turn.T @ columns[:, 2]
    axis = turn[2]
    if position[2] < 0:
        position[2], axis = -position[2], axis * np.array([1, 1, -1])
    pitch = float(np.degrees(np.arcsin(np.clip(-axis[2], -1, 1))))
    place = (float(position[0]), float(position[1]), float(position[2]))
    return Pose(place, pitch, float(focal_px), source, max(abs(skew), ratio))


def seen_window(
    plane: GroundPlane, *, spacing_m: float, max_view_deg: float, max_footprint_mm: float
) -> tuple[int, int, int, int]:
    """Find the window of the ground lattice that a photo shows well enough to measure.

    Returns
    -------
    tuple of int
        First row, first column, rows and columns; zero rows and columns if nothing is in view.
    """
    x, y, height = plane.pose.position_m
    reach = min(height * np.tan(np.radians(max_view_deg)), FARTHEST_M)
    step = spacing_m * COARSE
    rows = np.arange(np.floor((y - reach) / step), np.ceil((y + reach) / step) + 1)
    cols = np.arange(np.floor((x - reach) / step), np.ceil((x + reach) / step) + 1)
    points = np.stack(np.meshgrid(cols * step, rows * step), axis=-1)
    margin = step * plane.pose.focal_px / max(height, 0.3)
    seen = is_measurable(
        plane, points, max_view_deg=max_view_deg, max_footprint_mm=1.3 * max_footprint_mm, margin_px=margin
    )
    if not seen.any():
        return 0, 0, 0, 0
    in_rows, in_cols = np.flatnonzero(seen.any(axis=1)), np.flatnonzero(seen.any(axis=0))
    row0, row1 = int(rows[in_rows[0]] - 1) * COARSE, int(rows[in_rows[-1]] + 1) * COARSE
    col0, col1 = int(cols[in_cols[0]] - 1) * COARSE, int(cols[in_cols[-1]] + 1) * COARSE
    return row0, col0, row1 - row0 + 1, col1 - col0 + 1


def is_measurable(
    plane: GroundPlane,
    ground_m: FloatArray,
    *,
    max_view_deg: float,
    max_footprint_mm: float,
    margin_px: float = 0.0,
) -> NDArray[np.bool_]:
    """Tell which ground points, shape (..., 2), lie in the photo, steep enough and with pixels small enough."""
    points = ground_m.reshape(-1, 2)
    x, y, height = plane.pose.position_m
    reach = min(height * float(np.tan(np.radians(max_view_deg))), FARTHEST_M)
    near = np.flatnonzero((points[:, 0] - x) ** 2 + (points[:, 1] - y) ** 2 <= reach**2)
    u, v, depth = projected(plane.to_photo, points[near])
    low, (width, height_px) = -0.5 - margin_px, plane.size
    inside = (depth > 0) & (u >= low * depth) & (u < (width - 0.5 + margin_px) * depth)
    inside &= (v >= low * depth) & (v < (height_px - 0.5 + margin_px) * depth)
    near = near[inside]
    seen = np.zeros(len(points), bool)
    seen[near[plane.footprint_mm(points[near]) <= max_footprint_mm]] = True
    return seen.reshape(ground_m.shape[:-1])


def _turned(columns: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the rotation nearest to a homography in camera units, and the homography scaled to it."""
    columns = columns * 2 / (np.linalg.norm(columns[:, 0]) + np.linalg.norm(columns[:, 1]))
    first, second = columns[:, 0], columns[:, 1]
    left, _, right = np.linalg.svd(np.stack([first, second, np.cross(first, second)], axis=1))
    return left @ np.diag([1, 1, np.linalg.det(left @ right)]) @ right, columns


def _facing(to_photo: FloatArray, size: tuple[int, int], ground: Any = None) -> FloatArray:
    """Give the homography the sign with which the ground in the photo's lower middle has positive depth."""
    if ground is None:
        ground = apply(np.asarray(np.linalg.inv(to_photo), float), [[size[0] / 2, size[1] - 1]])
    depth = np.asarray(ground) @ to_photo[2, :2] + to_photo[2, 2]
    return to_photo if depth.mean() > 0 else -to_photo


def _focal_of(h: FloatArray, size: tuple[int, int]) -> tuple[float, str]:
    """Estimate the focal length from the square's two sides being equal and at right angles; else assume a phone's."""
    usual = USUAL_FOCAL_35MM / 43.2666 * float(np.hypot(*size))
    (a, b, c), (d, e, f) = h[:, 0], h[:, 1]
    norm = float(np.linalg.norm(h[:2, :2])) ** 2
    left = np.array([c * f, c * c - f * f]) / norm * usual**2
    right = np.array([-(a * d + b * e), d * d + e * e - a * a - b * b]) / norm
    if float(left @ left) < 1e-3:
        return usual, "assumed"
    squared = float(left @ right / (left @ left)) * usual**2
    if not (0.5 * usual) ** 2 < squared < (4 * usual) ** 2:
        return usual, "assumed"
    return float(np.sqrt(squared)), "square"


def spin_about_vertical(angle: ArrayLike) -> FloatArray:
    """Return the turn by an angle in radians, counter-clockwise seen from above, shape (..., 3, 3)."""
    cos, sin, zero = np.cos(angle), np.sin(angle), np.zeros_like(angle, float)
    rows = [[cos, -sin, zero], [sin, cos, zero], [zero, zero, zero + 1]]
    return np.moveaxis(np.array(rows), (0, 1), (-2, -1))


def heading(plane: GroundPlane) -> float:
    """Return the direction on the ground, radians from x toward y, in which the camera's right side points."""
    right = plane.rotation[0]
    return float(np.arctan2(right[1], right[0]))
