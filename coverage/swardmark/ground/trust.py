"""Whether a square that was found may be believed: one set of checks for every kind of square.

A wrong square gives a wrong scale and a wrong place to every zone, so that anything odd is refused with its reason.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from swardmark.common.errors import PhotoRefused
from swardmark.ground import sentences
from swardmark.ground.edges import FloatArray, is_convex
from swardmark.ground.homography import GeometryError
from swardmark.ground.plane import GroundPlane, plane_from_square
from swardmark.ground.square import FoundBy, Square

LEAST_SIDE_PX = 48.0
"""The longest side of the square in the photo must be at least this long ..."""
LEAST_DEPTH_PX = 14.0
"""... and its area over that side at least this: flatter squares give no scale away from the camera."""
MOST_DISTORTION = {"camera": 0.06, "square": 0.06, "assumed": 0.25}
"""How unequal sides (or how far from right angles) may be, by where the focal length comes from. EXIF gives it to a
whole millimeter, by the picture's diagonal or its width, up to 4 % apart on 4:3 pictures: 0.04, as measured on drawn
cameras."""
DISTORTION_PX = 2.0
"""Corners are off by a pixel or so, which adds this over the square's depth in pixels, or twice a hand's error."""
CORNER_SD_PX, CLEARLY = 0.5, 4.0
"""A square near the horizon turns small errors of its corners into large ones of its shape: it is out of shape only if
that is clear of four standard deviations, with each corner's coordinates off by half a pixel (drawn scenes: 0.2)."""
POSE_SD_PX = 0.4
"""Error of a corner's coordinates where two photos' squares are compared: 0.2 to 0.3 each (benchmarks/squares.py)."""
PITCH_DEG = (10.0, 90.0)
HEIGHT_M = (0.4, 6.0)
MOST_TILT_DEG = 40.0
"""Horizon's tilt for squares whose corners are told apart only by where they stand in the photo."""
STEEPEST_FRAME_DEG = 80.0
PRINTED_MARK_MM = 120.0
"""Side of a black mark as `swardmark target` prints it."""
SIDE_NOTED, SIDE_REFUSED = 1.07, 1.25
"""How many times larger or smaller the side by the marks may be. A page printed to fit its paper comes out at 0.94 to
0.97; from 1.25 on areas are wrong by half. Drawn photos: the share of a mark is seen to 1 %."""
EQUAL_DIAGONALS = (
    "Check that the square's diagonals are equal and that it lies flat; of a cropped photo give the original"
)
Camera = tuple[FloatArray, FloatArray]
"""Turn from the ground's axes to the camera's, (..., 3, 3), and place in meters, (..., 3)."""
Cameras = Callable[[FloatArray], Camera]
"""What gives a camera for each of many sets of values, (..., n); the last two of each are the wall's."""
Known = Callable[[FloatArray, FloatArray, FloatArray], FloatArray]
"""What gives, for values and their camera, how far they are from what is known besides, over its spread, (..., K)."""


def trusted_plane(
    square: Square, *, side_m: float, size: tuple[int, int], focal_px: float | None, name: str = "photo"
) -> GroundPlane:
    """Lay the ground flat by the square, refusing a square that cannot be believed.

    Parameters
    ----------
    square : Square
        What was found.
    side_m : float
        The square's side, meters.
    size : tuple of int
        Photo width and height, pixels.
    focal_px : float, optional
        Focal length from EXIF, pixels.
    name : str
        How error lines call the photo.

    Raises
    ------
    PhotoRefused
        The square is too small, cut off, out of shape, or puts the camera where nobody holds one.
    """
    check_outline(square.corners_px, size=size, name=name)
    blur = max(DISTORTION_PX, 2 * square.error_px) / depth_px(square.corners_px)
    try:
        plane = plane_from_square(square.corners_px, side_m=side_m, size=size, focal_px=focal_px)
        if plane.pose.distortion > MOST_DISTORTION[plane.pose.focal_from] + blur:
            blur = max(blur, CLEARLY * _distortion_sd(square, plane, side_m, focal_px))
    except GeometryError as error:
        raise PhotoRefused(error.what, where=name, remedy=EQUAL_DIAGONALS) from None
    fault = _pose_fault(plane, blur, by_place=square.how is FoundBy.LIGHT_FRAME)
    if fault is not None:
        raise PhotoRefused(fault[0], where=name, remedy=fault[1])
    return plane


def with_side_checked(
    square: Square, *, side_m: float, mark_mm: float = PRINTED_MARK_MM, name: str = "photo"
) -> Square:
    """Check the square's side by the marks: how large they are printed is known, and their share of the side is seen.

    Parameters
    ----------
    square : Square
        What was found; one without marks, or with its corners set by hand, tells nothing.
    side_m : float
        The side as the keeper gave it, meters.
    mark_mm : float
        Side of a printed black mark, millimeters.
    name : str
        How error lines call the photo.

    Returns
    -------
    Square
        The same, with a note where the two readings differ by more than a printer's scale.

    Raises
    ------
    PhotoRefused
        The two readings contradict each other, so that all areas may be wrong.
    """
    differs = side_differs(square, side_m=side_m, mark_mm=mark_mm)
    if differs is None:
        return square
    times, what = differs
    if max(times, 1 / times) > SIDE_REFUSED:
        raise PhotoRefused(what, where=name, remedy=sentences.SIDE_REMEDY)
    return replace(square, notes=(*square.notes, what))


def side_differs(
    square: Square, *, side_m: float, mark_mm: float = PRINTED_MARK_MM
) -> tuple[float, str] | None:
    """Return the given side over that by the marks, and one line with both; None where they agree or none is seen."""
    if not square.mark_share > 0:
        return None
    by_marks = mark_mm / 1000 / square.mark_share
    times = side_m / by_marks
    if max(times, 1 / times) <= SIDE_NOTED:
        return None
    said = sentences.SIDE_DIFFERS.format(mark=mark_mm, by_marks=by_marks, side=side_m, times=times**2)
    return times, said


def check_outline(corners_px: FloatArray, *, size: tuple[int, int], name: str = "photo") -> None:
    """Refuse corners, shape (4, 2), that are not a whole, large enough four-sided figure in the right order."""
    corners = np.asarray(corners_px, float)
    if corners.shape != (4, 2) or not np.isfinite(corners).all():
        raise PhotoRefused("the square needs four corners", where=name, remedy="Mark all four corners")
    if (corners < -0.5).any() or (corners > np.array(size) - 0.5).any():
        raise PhotoRefused(
            "the square is cut off", where=name, remedy="Step back until the whole square is in the photo"
        )
    if not is_convex(corners):
        remedy = "Give near left, near right, far right, far left, in this order"
        raise PhotoRefused("the square's corners run the wrong way around", where=name, remedy=remedy)
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    if sides.max() < LEAST_SIDE_PX or depth_px(corners) < LEAST_DEPTH_PX:
        what = f"the square is too small in the photo ({sides.max():.0f} pixels)"
        raise PhotoRefused(
            what, where=name, remedy="Step closer, or hold the camera higher and tilt it further down"
        )


def depth_px(corners_px: FloatArray) -> float:
    """Return the area that corners, shape (4, 2), enclose over their longest side, pixels."""
    one, two = corners_px[2] - corners_px[0], corners_px[3] - corners_px[1]
    longest = np.linalg.norm(np.roll(corners_px, -1, axis=0) - corners_px, axis=1).max()
    return float(abs(one[0] * two[1] - one[1] * two[0]) / 2 / max(longest, 1e-9))


def tilt_deg(plane: GroundPlane) -> float:
    """Return how far the ground's horizon is turned from level in the photo, degrees; 180 is upside down."""
    return abs(plane.turn_deg)


def pose_errors(plane: GroundPlane, side_m: float) -> FloatArray:
    """Return what an error of each coordinate of the square's corners does to the camera's pose.

    Returns
    -------
    ndarray, shape (8, 6)
        Turns (three angles in radians, the camera's axes) and shifts (meters) by one standard deviation each.
    """
    from scipy.spatial.transform import Rotation

    corners = plane.pixels(side_m * np.array([[0, 0], [1, 0], [1, 1], [0, 1]], float))
    moved = corners + POSE_SD_PX * np.eye(8).reshape(8, 4, 2)
    known: dict[str, Any] = {"side_m": side_m, "size": plane.size, "focal_px": plane.pose.focal_px}
    planes = [plane_from_square(one, **known) for one in moved]
    turns = Rotation.from_matrix([one.rotation @ plane.rotation.T for one in planes]).as_rotvec()
    return np.column_stack([turns, np.array([one.pose.position_m for one in planes]) - plane.pose.position_m])


def tilt_and_height(plane: GroundPlane, side_m: float) -> Known:
    """Return what gives how far a camera's tilt and height are from those by a square, over the errors of its pose."""
    errors = pose_errors(plane, side_m)
    up, height = plane.rotation[:, 2], plane.pose.height_m
    across = np.linalg.svd(up[None])[2][1:]
    told = np.column_stack([np.cross(errors[:, :3], up) @ across.T, errors[:, 5]])
    white = np.linalg.inv(np.linalg.cholesky(told.T @ told + 1e-10 * np.eye(3)))

    def known(_: FloatArray, rotation: FloatArray, place: FloatArray) -> FloatArray:
        tilt = (rotation[..., :, 2] - up) @ across.T
        return np.concatenate([tilt, place[..., 2:] - height], axis=-1) @ white.T

    return known


def camera_by_square(plane: GroundPlane, side_m: float | None = None) -> Cameras:
    """Return what gives a camera for errors of its square's corners in their own spread; none without a side."""
    from scipy.spatial.transform import Rotation

    errors = np.zeros((8, 6)) if side_m is None else pose_errors(plane, side_m)
    root = np.linalg.cholesky(errors.T @ errors + 1e-12 * np.eye(6))

    def camera(values: FloatArray) -> Camera:
        off = values[..., :6] @ root.T
        turns = Rotation.from_rotvec(off[..., :3].reshape(-1, 3)).as_matrix().reshape(*off.shape[:-1], 3, 3)
        return turns @ plane.rotation, np.array(plane.pose.position_m) + off[..., 3:]

    return camera


def by_itself(values: FloatArray, *_: FloatArray) -> FloatArray:
    """Return the errors of a square's corners, which are given in their own spread."""
    return values[..., :6]


def _distortion_sd(square: Square, plane: GroundPlane, side_m: float, focal_px: float | None) -> float:
    """Propagate the error of the corners to the distortion, one standard deviation.

    Raises
    ------
    GeometryError
        With that error the corners may lie beyond the horizon.
    """
    error, there = max(CORNER_SD_PX, square.error_px), plane.pose.distortion
    moved = square.corners_px + error * np.eye(8).reshape(8, 4, 2)
    known: dict[str, Any] = {"side_m": side_m, "size": plane.size, "focal_px": focal_px}
    changes = [plane_from_square(corners, **known).pose.distortion - there for corners in moved]
    return float(np.sqrt(np.sum(np.square(changes))))


def _pose_fault(plane: GroundPlane, blur: float, *, by_place: bool) -> tuple[str, str] | None:
    """Return what is wrong with where the camera would have stood, and the remedy; None if nothing is."""
    pose = plane.pose
    if pose.distortion > MOST_DISTORTION[pose.focal_from] + blur:
        return f"its sides and angles are not those of a square ({pose.distortion:.0%} off)", EQUAL_DIAGONALS
    if not HEIGHT_M[0] <= pose.height_m <= HEIGHT_M[1]:
        what = f"the square puts the camera {pose.height_m:.1f} m above the ground"
        return what, "Check the square's side in lawn.toml, and its corners"
    if not PITCH_DEG[0] <= pose.pitch_deg <= PITCH_DEG[1]:
        return f"the camera looks only {pose.pitch_deg:.0f} degrees down", "Tilt the camera further down"
    if by_place and pose.pitch_deg > STEEPEST_FRAME_DEG:
        return (
            "a frame seen this head-on may be standing upright",
            "Mark its corners by hand with swardmark mark",
        )
    if by_place and tilt_deg(plane) > MOST_TILT_DEG:
        return (
            "what looks like a frame does not lie on the ground",
            "Mark its corners by hand with swardmark mark",
        )
    return None
