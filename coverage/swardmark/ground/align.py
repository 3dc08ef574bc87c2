"""Keep one ground frame per photo point when the camera is held by hand and the square is moved or missing.

Every photo is compared with the point's reference photo by its fixed background: fence, path, kerb, wall. Corners
(Shi and Tomasi 1994, CVPR 593-600) get upright binary descriptors (Calonder, Lepetit, Strecha and Fua 2010, BRIEF,
ECCV 778-792) and are matched; grass of another day finds no partner, and what disagrees counts for little.

The background does not lie on the ground, so that no homography of it would do. Both photos have a camera pose over
the ground; a point of the reference photo then lies somewhere on its line of sight, from the ground upward to the
camera, and may be seen in the other photo along a short segment. Two residuals per match are used: the distance to
that segment, and to its end on the ground (which holds for path and fence foot). The unknowns are the square's move on the
ground (x, y, turn) where a square is seen, else the camera's whole pose; they are found by robust least squares from coarse
to fine.
"""

from __future__ import annotations

import base64
import zlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.errors import PhotoRefused
from swardmark.ground.plane import FloatArray, GroundPlane, apply, camera_matrix, plane_of_camera, rotation_of

MATCH_SIDE_PX = 1000
"""Longer side of the reduced copies that are compared; residuals below are in their pixels."""
MOST_POINTS = 900
CELLS = (10, 8)
SQUARE_MARGIN = 0.25
"""Ground around the square, as share of its side, that gives no background points."""
SEARCH_REACH = 0.16
"""How far a background point may have shifted, as share of the photo's longer side."""
RATIO = 0.85
ROUGH_PX = 40.0
SCALES_PX = (24.0, 8.0, 3.0, 1.5)
"""Width of the robust weights, coarse to fine."""
FITS_PX = 3.0
LEAST_MATCHES = 16
LEAST_SHARE = 0.35
NEAREST_M = 2.0
"""Nothing of the background stands nearer to the camera, unless it lies on the ground."""
HAND_SHIFT_M = 0.15
"""Spread of where a hand holds the camera from one day to the next."""
MOVED_M, MOVED_DEG = 0.05, 2.0
"""Smaller moves of the square are not told from the error of the comparison."""
MOST_ERROR_CM = 12.0
REPORT_AT_M = 3.0
UNCHECKED_M, UNCHECKED_DEG = 0.30, 8.0
"""Without enough background, a square is believed unmoved if it puts the camera this near to its first place."""
REMEDY = "Stand where the first photo was taken, with the fence, a wall or a path in view, and lay the square back"


@dataclass(frozen=True, eq=False)
class Background:
    """What of a photo's background can be found again.

    Attributes
    ----------
    points : ndarray of float32, shape (N, 2)
        Places in upright photo pixels.
    bits : ndarray of uint8, shape (N, 32)
        Binary descriptors.
    """

    points: NDArray[np.float32]
    bits: NDArray[np.uint8]

    def packed(self) -> str:
        """Return it as text for the record, some 40 bytes a point."""
        places = np.rint(self.points * 8).astype("<u4").tobytes()
        return base64.b85encode(zlib.compress(places + self.bits.tobytes())).decode("ascii")

    @staticmethod
    def unpacked(text: str) -> Background:
        """Read back what `packed` wrote."""
        data = zlib.decompress(base64.b85decode(text))
        count = len(data) // 40
        points = np.frombuffer(data, "<u4", 2 * count).reshape(count, 2).astype(np.float32) / 8
        return Background(points, np.frombuffer(data, np.uint8, 32 * count, 8 * count).reshape(count, 32))


@dataclass(frozen=True, eq=False)
class Reference:
    """The photo that holds a photo point's ground frame.

    Attributes
    ----------
    key : str
        What the frame depends on: content and settings of the reference photo.
    plane : GroundPlane
        The ground in the reference photo; its frame is the point's.
    corners_px : ndarray, shape (4, 2)
        The square's corners in it.
    background : Background
        Its background.
    """

    key: str
    plane: GroundPlane
    corners_px: FloatArray
    background: Background


@dataclass(frozen=True, eq=False)
class Kept:
    """A photo laid into its point's ground frame.

    Attributes
    ----------
    plane : GroundPlane
        The photo's ground in the point's frame.
    moved_m, turned_deg : float
        How far the square was moved and turned; 0 if it was not, NaN if it is missing.
    error_px : float
        Root mean square residual of the background, photo pixels; NaN where it was not compared.
    error_cm : float
        Standard error of the frame on the ground 3 m from the camera, centimetres; NaN where it was not compared.
    matches : int
        Background points that agree.
    notes : tuple of str
        What the keeper should know.
    """

    plane: GroundPlane
    moved_m: float
    turned_deg: float
    error_px: float
    error_cm: float
    matches: int
    notes: tuple[str, ...] = ()


def background_of(rgb: NDArray[np.uint8], corners_px: FloatArray | None) -> Background:
    """Pick points of the background, spread over the photo, outside the square.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo.
    corners_px : ndarray, shape (4, 2), or None
        The square's corners, if it is in the photo.
    """
    import cv2

    scale = min(1.0, MATCH_SIDE_PX / max(rgb.shape))
    size = (round(rgb.shape[1] * scale), round(rgb.shape[0] * scale))
    small = cv2.resize(rgb, size, interpolation=cv2.INTER_LINEAR if scale > 0.3 else cv2.INTER_AREA)
    grey = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY)
    mask = np.full(grey.shape, 255, np.uint8)
    if corners_px is not None:
        centre = corners_px.mean(axis=0)
        around = (centre + (corners_px - centre) * (1 + 2 * SQUARE_MARGIN)) * scale
        cv2.fillConvexPoly(mask, np.rint(around).astype(np.int32), 0)
    places = _spread_corners(grey, mask)
    keypoints = [cv2.KeyPoint(float(x), float(y), 31.0, 0.0) for x, y in places]
    keypoints, bits = cv2.ORB_create(nlevels=1).compute(cv2.GaussianBlur(grey, (0, 0), 1.0), keypoints)
    if bits is None:
        return Background(np.zeros((0, 2), np.float32), np.zeros((0, 32), np.uint8))
    found = (np.array([k.pt for k in keypoints]) + 0.5) * (rgb.shape[1] / size[0], rgb.shape[0] / size[1]) - 0.5
    return Background(np.maximum(found, 0).astype(np.float32), bits)


def keep_frame(
    background: Background,
    reference: Reference,
    *,
    plane: GroundPlane | None,
    size: tuple[int, int],
    focal_px: float | None = None,
    name: str = "photo",
) -> Kept:
    """Lay a photo into its point's ground frame.

    Parameters
    ----------
    background : Background
        The photo's background.
    reference : Reference
        The point's reference photo.
    plane : GroundPlane or None
        The ground by the square as it lies in this photo; None if no square is seen.
    size : tuple of int
        Photo width and height, pixels.
    focal_px : float, optional
        Focal length from EXIF, for a photo without square.
    name : str
        How error lines call the photo.

    Raises
    ------
    PhotoRefused
        The background does not tell where the photo's ground lies in the point's frame.
    """
    unit = max(size) / MATCH_SIDE_PX
    pairs = _matched(background, reference.background, size=size, reference_size=reference.plane.size)
    if plane is None:
        return _without_square(_Problem(pairs, reference.plane, unit), size, focal_px, name)
    return _with_square(_Problem(pairs, reference.plane, unit), plane, name)


def _with_square(problem: _Problem, plane: GroundPlane, name: str) -> Kept:
    still = problem.solve_move(plane, np.zeros(3), scales=SCALES_PX[2:])
    best = still
    if not (still.is_firm and _is_still(still.values, plane)):
        starts = [_same_camera(problem.reference, plane), np.zeros(3)]
        best = max((problem.solve_move(plane, s, scales=SCALES_PX) for s in starts), key=lambda fit: fit.support)
    if best.is_firm:
        moved, turned = _move_of(best.values, plane)
        if moved <= max(MOVED_M, 0.02 * best.error_cm) and turned <= MOVED_DEG:
            return Kept(plane, 0.0, 0.0, best.error_px, best.error_cm, best.matches)
        note = f"the square moved {moved:.1f} m" + (f" and turned {turned:.0f} degrees" if turned > MOVED_DEG else "")
        note += f"; zones kept by the background (error {best.error_px:.1f} pixels, {best.error_cm:.1f} cm at 3 m)"
        frame = plane.moved(_rigid(best.values))
        return Kept(frame, moved, turned, best.error_px, best.error_cm, best.matches, (note,))
    start = _same_camera(problem.reference, plane)
    away = float(np.hypot(*(np.array(plane.pose.position_m) - problem.reference.pose.position_m)[:2]))
    if away <= UNCHECKED_M and abs(np.degrees(start[2])) <= UNCHECKED_DEG:
        note = "too little background in common with the first photo to check that the square has not moved"
        return Kept(plane, 0.0, 0.0, np.nan, np.nan, best.matches, (note,))
    what = "the camera or the square stands elsewhere than in the first photo, and the background does not tell which"
    raise PhotoRefused(what, where=name, remedy=REMEDY)


def _without_square(problem: _Problem, size: tuple[int, int], focal_px: float | None, name: str) -> Kept:
    scale = max(size) / max(problem.reference.size)
    focal = focal_px if focal_px and problem.reference.pose.focal_from == "camera" else problem.reference.pose.focal_px * scale
    fit = problem.solve_pose(size, focal)
    if not fit.is_firm or fit.on_ground < LEAST_MATCHES / 2:
        what = f"no square found, and too little background in common with the first photo ({fit.matches} points)"
        raise PhotoRefused(what, where=name, remedy=REMEDY)
    note = (
        f"no square found; zones kept by the background (error {fit.error_px:.1f} pixels, {fit.error_cm:.1f} cm at 3 m)"
    )
    plane = problem.posed(fit.values, size, focal)
    return Kept(plane, np.nan, np.nan, fit.error_px, fit.error_cm, fit.matches, (note,))


@dataclass(frozen=True, eq=False)
class _Fit:
    """A robust fit: its unknowns, how many matches agree, and how exact it is."""

    values: FloatArray
    support: float
    matches: int
    on_ground: int
    share: float
    error_px: float
    error_cm: float

    @property
    def is_firm(self) -> bool:
        return self.matches >= LEAST_MATCHES and self.share >= LEAST_SHARE and self.error_cm <= MOST_ERROR_CM


@dataclass(frozen=True, eq=False)
class _Problem:
    """Matches, shape (N, 2 photos, 2), reference first, and the reference's ground; `unit` is photo pixels per pixel."""

    pairs: FloatArray
    reference: GroundPlane
    unit: float

    def solve_move(self, plane: GroundPlane, start: FloatArray, *, scales: tuple[float, ...]) -> _Fit:
        """Find the square's move (x, y in metres, turn in radians) from one start."""
        matrix, turn, place = camera_matrix(plane), rotation_of(plane), np.array(plane.pose.position_m)

        def camera(values: FloatArray) -> tuple[FloatArray, FloatArray]:
            spin = _spin(values[2])
            return matrix @ turn @ spin.T, spin @ place + (values[0], values[1], 0)

        return self._solve(camera, start, scales, plane.size)

    def solve_pose(self, size: tuple[int, int], focal_px: float) -> _Fit:
        """Find the camera's turn (three angles in radians) and shift (metres) against the reference's."""
        return self._solve(lambda v: self._posed(v, size, focal_px), np.zeros(6), SCALES_PX, size)

    def posed(self, values: FloatArray, size: tuple[int, int], focal_px: float) -> GroundPlane:
        """The ground as a camera sees it that is turned and shifted against the reference's."""
        to_pixel, place = self._posed(values, size, focal_px)
        return plane_of_camera(to_pixel, place, size=size, focal_px=focal_px, focal_from=self.reference.pose.focal_from)

    def _posed(self, values: FloatArray, size: tuple[int, int], focal_px: float) -> tuple[FloatArray, FloatArray]:
        import cv2

        spin = cv2.Rodrigues(np.asarray(values[:3], float))[0]
        matrix = camera_matrix(size, focal_px)
        return matrix @ spin @ rotation_of(self.reference), np.array(self.reference.pose.position_m) + values[3:]

    def _solve(self, camera, start: FloatArray, scales: tuple[float, ...], size: tuple[int, int]) -> _Fit:  # type: ignore[no-untyped-def]
        from scipy.optimize import least_squares

        if len(self.pairs) < LEAST_MATCHES:
            return _Fit(start, 0.0, len(self.pairs), 0, 0.0, np.nan, np.inf)
        home = np.array(self.reference.pose.position_m)

        def rest(values: FloatArray) -> FloatArray:
            segment, ground = self._residuals(*camera(values))
            return np.concatenate([segment, 0.7 * ground])

        values = start
        for scale in scales:

            def weighed(values: FloatArray, scale: float = scale) -> FloatArray:
                scaled = rest(values) / scale
                prior = (camera(values)[1] - home) / HAND_SHIFT_M
                return np.concatenate([scaled / np.sqrt(1 + scaled**2), 0.5 * prior])

            solution = least_squares(weighed, values, method="lm", x_scale=0.05, max_nfev=60 * len(start), xtol=1e-5)
            values = solution.x
        return self._fit(camera, values, rest, size)

    def _fit(self, camera, values: FloatArray, rest, size: tuple[int, int]) -> _Fit:  # type: ignore[no-untyped-def]
        segment, ground = self._residuals(*camera(values))
        e_seg, e_ground = np.hypot(*segment.reshape(2, -1)), np.hypot(*ground.reshape(2, -1))
        agree, on_ground = e_seg < FITS_PX, e_ground < FITS_PX
        count = int(agree.sum())
        if count < LEAST_MATCHES:
            return _Fit(values, 0.0, count, int(on_ground.sum()), 0.0, np.nan, np.inf)
        rms = float(np.sqrt((e_seg[agree] ** 2).mean()))
        keep = np.concatenate([agree, agree, on_ground, on_ground])
        slopes = np.stack([(rest(values + h) - rest(values - h))[keep] / 2e-4 for h in 1e-4 * np.eye(len(values))], axis=1)
        spread = np.linalg.pinv(slopes.T @ slopes / max(rms, 0.3) ** 2 + np.eye(len(values)) * 1e-6)
        support = float((1 / (1 + (e_seg / FITS_PX) ** 2)).sum() + (1 / (1 + (e_ground / FITS_PX) ** 2)).sum())
        error_cm = 100 * self._error_at(camera, values, spread)
        return _Fit(values, support, count, int(on_ground.sum()), float(agree.mean()), rms * self.unit, error_cm)

    def _error_at(self, camera, values: FloatArray, spread: FloatArray) -> float:  # type: ignore[no-untyped-def]
        """Standard error, metres, of the ground place that a fixed photo pixel 3 m ahead is given."""
        to_pixel, place = camera(values)
        ahead = -np.linalg.inv(to_pixel)[:, 2][:2]
        ahead = place[:2] + REPORT_AT_M * _ahead(to_pixel)

        def ground(values: FloatArray) -> FloatArray:
            to_pixel_now, place_now = camera(values)
            ray = np.linalg.solve(to_pixel_now, pixel)
            return place_now[:2] - ray[:2] * place_now[2] / ray[2]

        pixel = to_pixel @ (np.array([*ahead, 0]) - place)
        slope = np.stack([(ground(values + h) - ground(values - h)) / 2e-4 for h in 1e-4 * np.eye(len(values))], axis=1)
        return float(np.sqrt(np.trace(slope @ spread @ slope.T)))

    def _residuals(self, to_pixel: FloatArray, place: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Signed residuals in reduced pixels, x then y: to the segment, and to the ground (far off above the horizon)."""
        home = np.array(self.reference.pose.position_m)
        seen = np.column_stack([self.pairs[:, 0], np.ones(len(self.pairs))])
        ray = seen @ np.linalg.inv(camera_matrix(self.reference) @ rotation_of(self.reference)).T
        ray /= np.linalg.norm(ray, axis=1, keepdims=True)
        near_ground = np.maximum(-ray[:, 2] / home[2], 0.0)
        highest = np.maximum(near_ground, 1 / NEAREST_M)
        low = _project(to_pixel, ray, near_ground, home - place)
        high = _project(to_pixel, ray, highest, home - place)
        along = high - low
        long = np.maximum((along**2).sum(axis=1), 1e-12)
        share = np.clip(((self.pairs[:, 1] - low) * along).sum(axis=1) / long, 0, 1)
        segment = self.pairs[:, 1] - low - share[:, None] * along
        ground = np.where((near_ground > 0)[:, None], self.pairs[:, 1] - low, 1e4)
        return segment.T.ravel() / self.unit, ground.T.ravel() / self.unit
