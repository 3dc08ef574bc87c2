"""Find the reference square in a photo: four corner marks, with corners refined on straight edges.

The marks are OpenCV's ArUco marks of DICT_4X4_50 with ids 0, 1, 2, 3, laid inside the square so that each mark's outer
black corner is the square's corner. Seen from the photo point, 0 is near left, 1 near right, 2 far right, 3 far left.
A mark may be turned in its place: the outer corner is the one farthest from the square's middle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from swardmark.errors import PhotoRefused
from swardmark.ground.plane import FloatArray, GeometryError, apply, homography

if TYPE_CHECKING:
    import cv2

MARK_IDS = (0, 1, 2, 3)
SEARCH_SIDES_PX = (1600, 3200, 6400)
"""Longer side to which the photo is reduced for the search, tried in turn until all four marks are found."""
MOST_ERROR_PX = 3.0
MOST_SIZE_SPREAD = 0.15
UNIT_SQUARE = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], float)
RETAKE = "Photograph the whole square, all four marks flat, dry and in view"


@dataclass(frozen=True, eq=False)
class Square:
    """The reference square as found in a photo.

    Attributes
    ----------
    corners_px : ndarray, shape (4, 2)
        Corners 0..3 in upright pixels.
    how : str
        "corner marks", "three corner marks", "light frame" or "hand marks".
    error_px : float
        Root mean square distance between the mark corners seen and those that square marks would show, pixels.
    """

    corners_px: FloatArray
    how: str
    error_px: float


def find_marks(rgb: NDArray[np.uint8], *, name: str = "photo") -> Square:
    """Find the square by its four corner marks.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo, upright.
    name : str
        How error lines call the photo.

    Raises
    ------
    PhotoRefused
        Fewer than four marks are visible, or they do not lie on a square.
    """
    import cv2

    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    marks = search_marks(grey)
    missing = [mark for mark in MARK_IDS if mark not in marks]
    if missing:
        seen = "no corner mark" if len(missing) == 4 else f"corner mark {', '.join(map(str, missing))} not"
        raise PhotoRefused(f"{seen} found", where=name, remedy=RETAKE)
    return square_of(np.stack([refine_corners(grey, marks[mark]) for mark in MARK_IDS]), name=name)


def square_of(marks_px: FloatArray, *, name: str = "photo") -> Square:
    """Turn the corners of the four marks, shape (4 marks, 4 corners, 2), into the square.

    Raises
    ------
    PhotoRefused
        The marks differ in size, are not square on the ground, or stand in the wrong order.
    """
    try:
        to_unit = homography(marks_px.mean(axis=1), UNIT_SQUARE)
    except GeometryError:
        raise PhotoRefused("the corner marks stand in a line", where=name, remedy=RETAKE) from None
    outward = np.abs(apply(to_unit, marks_px) - 0.5).sum(axis=2)
    outer = outward.argmax(axis=1)
    corners = marks_px[np.arange(4), outer]
    if not _is_convex(corners):
        remedy = "Seen from where you stand: 0 near left, 1 near right, 2 far right, 3 far left"
        raise PhotoRefused("the corner marks are in the wrong order", where=name, remedy=remedy)
    error, spread = _misfit(marks_px, corners, outer)
    if spread > MOST_SIZE_SPREAD or error > max(MOST_ERROR_PX, 0.004 * float(np.ptp(corners, axis=0).max())):
        what = f"the corner marks do not lie flat on a square (misfit {error:.1f} pixels, sizes differ {spread:.0%})"
        raise PhotoRefused(what, where=name, remedy="Lay them flat, in one plane, and check both diagonals")
    return Square(corners, "corner marks", error)


def search_marks(grey: NDArray[np.uint8]) -> dict[int, FloatArray]:
    """Look for the corner marks in a grey photo, coarse first; returns id -> corners, shape (4, 2), pixels."""
    import cv2

    found: dict[int, FloatArray] = {}
    longer = max(grey.shape)
    for side in SEARCH_SIDES_PX:
        scale = min(1.0, side / longer)
        small = grey if scale == 1 else cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        ratio = np.array([grey.shape[1] / small.shape[1], grey.shape[0] / small.shape[0]])
        quads, ids, _ = _detector().detectMarkers(small)
        for quad, mark in zip(quads, [] if ids is None else ids.ravel(), strict=True):
            if int(mark) in MARK_IDS and int(mark) not in found:
                found[int(mark)] = (quad.reshape(4, 2).astype(float) + 0.5) * ratio - 0.5
        if len(found) == len(MARK_IDS) or scale == 1:
            break
    return found


def refine_corners(grey: NDArray[np.uint8], quad: FloatArray) -> FloatArray:
    """Move a quad's corners, shape (4, 2), to the crossings of straight lines fitted to its four edges."""
    lines = [_edge_line(grey, quad[n], quad[(n + 1) % 4], quad.mean(axis=0)) for n in range(4)]
    refined = []
    for n in range(4):
        corner = _crossing(lines[n - 1], lines[n])
        edge = min(np.linalg.norm(quad[n] - quad[n - 1]), np.linalg.norm(quad[n] - quad[(n + 1) % 4]))
        refined.append(corner if np.linalg.norm(corner - quad[n]) < max(3.0, 0.2 * edge) else quad[n])
    return np.array(refined)


def _detector() -> cv2.aruco.ArucoDetector:
    import cv2

    settings = cv2.aruco.DetectorParameters()
    settings.minMarkerPerimeterRate = 0.02
    settings.adaptiveThreshWinSizeMin, settings.adaptiveThreshWinSizeMax, settings.adaptiveThreshWinSizeStep = 7, 47, 20
    return cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50), settings)


def _edge_line(grey: NDArray[np.uint8], start: FloatArray, end: FloatArray, centre: FloatArray) -> FloatArray:
    """Fit the line a x + b y = c (a, b of unit length) to the dark-to-light edge between two corners."""
    import cv2

    along = end - start
    length = float(np.linalg.norm(along))
    along = along / length
    outward = np.array([along[1], -along[0]])
    if outward @ ((start + end) / 2 - centre) < 0:
        outward = -outward
    reach = float(np.clip(0.12 * length, 2.5, 12))
    places = np.linspace(0.12, 0.88, int(np.clip(length, 12, 120)))
    offsets = np.arange(-reach, reach + 0.25, 0.5)
    points = start + along * length * places[:, None, None] + outward * offsets[:, None]
    profiles = cv2.remap(
        grey, points[..., 0].astype(np.float32), points[..., 1].astype(np.float32), cv2.INTER_LINEAR
    ).astype(float)  # fmt: skip
    rise = np.maximum(np.diff(profiles, axis=1), 0)
    rise[rise < 0.3 * rise.max(axis=1, keepdims=True)] = 0
    strength = rise.sum(axis=1)
    keep = strength > max(0.3 * float(np.median(strength)), 1e-6)
    if keep.sum() < 4:
        return np.array([*outward, outward @ start])
    middle = (rise[keep] @ ((offsets[:-1] + offsets[1:]) / 2)) / strength[keep]
    where = places[keep] * length
    weight = np.ones_like(where)
    for _ in range(6):
        slope, offset = np.polyfit(where, middle, 1, w=np.sqrt(weight))
        rest = middle - slope * where - offset
        spread = max(1.4826 * float(np.median(np.abs(rest))), 0.05)
        weight = 1 / (1 + (rest / (2 * spread)) ** 2) ** 2
    near, far = start + outward * offset, start + along * length + outward * (slope * length + offset)
    normal = np.array([(far - near)[1], -(far - near)[0]]) / np.linalg.norm(far - near)
    return np.array([*normal, normal @ near])


def _crossing(one: FloatArray, two: FloatArray) -> FloatArray:
    matrix = np.stack([one[:2], two[:2]])
    if abs(np.linalg.det(matrix)) < 1e-6:
        return np.full(2, np.inf)
    return np.linalg.solve(matrix, np.array([one[2], two[2]]))


def _is_convex(corners: FloatArray) -> bool:
    """Whether corners 0..3 run round a convex quad the way a square seen from above does (y down: turning left)."""
    edges = np.roll(corners, -1, axis=0) - corners
    turns = edges[:, 0] * np.roll(edges[:, 1], -1) - edges[:, 1] * np.roll(edges[:, 0], -1)
    return bool((turns < 0).all())


def _misfit(marks_px: FloatArray, corners: FloatArray, outer: NDArray[np.intp]) -> tuple[float, float]:
    """Compare the marks with squares: rms distance in pixels, and the relative spread of the four sizes."""
    to_ground = homography(corners, UNIT_SQUARE)
    to_photo = np.linalg.inv(to_ground)
    marks = apply(to_ground, marks_px)
    turned = np.stack([np.roll(mark, -first, axis=0) for mark, first in zip(marks, outer, strict=True)])
    ideal = np.array([0, 1, 1 + 1j, 1j])
    seen = (turned - turned[:, :1]) @ np.array([1, 1j])
    flipped = np.where((seen[:, 1:2].conj() * seen[:, 3:4]).imag < 0, seen.conj(), seen)
    turn = (flipped @ ideal.conj()) / (ideal @ ideal.conj()).real
    fitted = turn[:, None] * ideal
    fitted = np.where(flipped == seen, fitted, fitted.conj())
    model = turned[:, :1] + np.stack([fitted.real, fitted.imag], axis=-1)
    distance = np.linalg.norm(apply(to_photo, model) - apply(to_photo, turned), axis=-1)
    sizes = np.abs(turn)
    return float(np.sqrt((distance**2).mean())), float(np.ptp(sizes) / sizes.mean())
