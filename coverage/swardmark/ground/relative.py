"""Where one photo's ground lies in another photo's ground frame, from the background that both show.

The background does not lie on the ground, so that no homography of it would do. Both photos have a camera pose over
the ground. A point of the reference photo lies somewhere on its line of sight, from the ground upward to the camera,
and is seen in the other photo along a short segment (the part of the epipolar line that is possible; Hartley and
Zisserman 2004, chapter 9). Two residuals per match are used: the distance to that segment, and to its end on the
ground, which holds for path, curb and fence foot. The unknowns are found by least squares with Geman and McClure's
robust weights, coarse to fine; a prior says that a hand holds the camera about where it was. The error is taken from
the whole valley of the fit (valley.py).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from swardmark.ground.background import MATCH_SIDE_PX
from swardmark.ground.edges import FloatArray
from swardmark.ground.plane import GroundPlane, Pose, camera_matrix, plane_of_camera
from swardmark.ground.valley import valley

COARSE_TO_FINE_PX = (24.0, 8.0, 3.0, 1.5)
"""Widths of the robust weights, in pixels of a copy whose longer side is MATCH_SIDE_PX."""
FINE_PX = COARSE_TO_FINE_PX[2:]
FITS_PX = 3.0
LEAST_MATCHES = 12
LEAST_SHARE = 0.12
MOST_ERROR_CM = 12.0
NEAREST_M = 2.0
"""Nothing of the background stands nearer to the camera, unless it lies on the ground."""
HAND_SHIFT_M = 0.12
"""Spread of where a hand holds the camera from one day to the next."""
GROUND_WEIGHT = 0.7
GROUND_TO_M = 4.5
"""What is seen farther away than this is a fence or a wall rather than ground: taken for ground, it drew the camera of
drawn yards aside by up to 19 cm."""
INDEPENDENT, INDEPENDENT_MOVE = 16, 32
"""Neighboring points err together: no more than this many count as independent. With all six numbers of the camera
unknown they err together more than where the square holds three: as drawn yards show (tests/benchmarks/frames.py)."""
REPORT_AT_M = ((0.0, 3.0), (-1.0, 2.5), (1.0, 3.5))
"""Where the frame's error is told: to the right and ahead of the camera's foot."""
MOST_OFF_M = 3.0
SQUARE_MOVES = 3
USUAL_SHARE = 0.3
"""Share of the pairs that agree in photos of one place, as a first guess."""
BESIDE_PX = np.array([[23.0, 0.0], [-23.0, 7.0], [0.0, 23.0], [7.0, -23.0], [31.0, 31.0], [-31.0, 31.0]])
"""Where the pairs are laid to see how many agree by chance, pixels of the reduced copy."""
_STEP = 1e-4

Camera = tuple[FloatArray, FloatArray]
"""Turn from the ground's axes to the camera's, 3 x 3, and place in meters."""


@dataclass(frozen=True, eq=False)
class Fit:
    """A robust fit.

    Attributes
    ----------
    values : ndarray
        The unknowns.
    support : float
        How much of the background speaks for it; for comparing fits of the same matches.
    matches, on_ground : int
        Matches that agree within FITS_PX, and those that agree with lying on the ground.
    share : float
        Share of all matches that agree.
    error_px : float
        Root mean square residual of those, photo pixels.
    error_cm : float
        Standard error of ground points about 3 m ahead of the camera, root mean square, centimeters.
    unlikely : float
        Minus the logarithm of the probability of the values, up to a constant of the pairs.
    """

    values: FloatArray
    support: float
    matches: int
    on_ground: int
    share: float
    error_px: float
    error_cm: float
    unlikely: float = np.inf

    @property
    def is_firm(self) -> bool:
        """Whether enough of the background agrees, and fixes the frame well enough."""
        return self.matches >= LEAST_MATCHES and self.share >= LEAST_SHARE and self.error_cm <= MOST_ERROR_CM


@dataclass(frozen=True, eq=False)
class Comparison:
    """Two photos of one place to be brought together.

    Attributes
    ----------
    pairs : ndarray, shape (N, 2, 2)
        Places of background points in the reference photo and in the other, pixels.
    reference : GroundPlane
        The ground in the reference photo.
    size : tuple of int
        Width and height of the other photo, pixels.
    """

    pairs: FloatArray
    reference: GroundPlane
    size: tuple[int, int]

    def square_move(
        self, plane: GroundPlane, start: FloatArray, *, scales: tuple[float, ...] = COARSE_TO_FINE_PX
    ) -> Fit:
        """Find how the square moved (x, y in meters, turn in radians) that `plane` was measured by."""
        rotation, place = plane.rotation, np.array(plane.pose.position_m)

        def camera(values: FloatArray) -> Camera:
            spin = spin_about_vertical(values[2])
            return rotation @ spin.T, spin @ place + np.array([values[0], values[1], 0])

        return self._solve(camera, plane.camera_matrix, start, scales)

    def camera_move(self, focal_px: float) -> Fit:
        """Find the camera's turn (three angles in radians) and shift (meters) against the reference's."""
        return self._solve(
            self._moved_camera, camera_matrix(self.size, focal_px), np.zeros(6), COARSE_TO_FINE_PX
        )

    def plane_after(self, values: FloatArray, like: Pose) -> GroundPlane:
        """Return the ground as seen after a camera move found by `camera_move`."""
        rotation, place = self._moved_camera(values)
        return plane_of_camera(rotation, place, size=self.size, like=like)

    def _moved_camera(self, values: FloatArray) -> Camera:
        import cv2

        spin = np.asarray(cv2.Rodrigues(np.asarray(values[:3], float))[0])
        return spin @ self.reference.rotation, np.array(self.reference.pose.position_m) + values[3:]

    def _solve(
        self,
        camera: Callable[[FloatArray], Camera],
        matrix: FloatArray,
        start: FloatArray,
        scales: tuple[float, ...],
    ) -> Fit:
        from scipy.optimize import least_squares

        values = np.asarray(start, float)
        if len(self.pairs) < LEAST_MATCHES:
            return Fit(values, 0.0, len(self.pairs), 0, 0.0, np.nan, np.inf)
        residuals, home = self._residuals(matrix), np.array(self.reference.pose.position_m)
        for scale in scales:
            segment, _ = residuals(*camera(values))
            agree = (np.linalg.norm(segment, axis=1) < FITS_PX).sum()
            held = np.sqrt(0.5 / independent_share(max(agree, USUAL_SHARE * len(segment)))) / HAND_SHIFT_M

            def weighed(values: FloatArray, scale: float = scale, held: float = held) -> FloatArray:
                segment, ground = residuals(*camera(values))
                rest = [
                    part / np.sqrt(1 + ((part / scale) ** 2).sum(axis=1, keepdims=True))
                    for part in (segment, ground)
                ]
                prior = held * (camera(values)[1] - home)
                return np.concatenate(
                    [rest[0].ravel() / scale, GROUND_WEIGHT * rest[1].ravel() / scale, prior]
                )

            values = least_squares(weighed, values, method="lm", xtol=1e-5, max_nfev=40 * len(values)).x
        return self._judged(camera, matrix, values)

    def _judged(self, camera: Callable[[FloatArray], Camera], matrix: FloatArray, values: FloatArray) -> Fit:
        residuals = self._residuals(matrix)
        segment, ground = residuals(*camera(values))
        off, off_ground = np.linalg.norm(segment, axis=1), np.linalg.norm(ground, axis=1)
        agree, near_ground = off < FITS_PX, off_ground < FITS_PX
        on_ground = off_ground * self._trust_as_ground()[:, 0] < FITS_PX
        count, share = int(agree.sum()), float(agree.mean())
        support = float(
            (1 / (1 + (off / FITS_PX) ** 2)).sum() + (1 / (1 + (off_ground / FITS_PX) ** 2)).sum()
        )
        if count < LEAST_MATCHES:
            return Fit(values, support, count, int(on_ground.sum()), share, np.nan, np.inf)
        rms = float(np.sqrt((off[agree] ** 2).mean()))

        def kept(values: FloatArray) -> FloatArray:
            segment, ground = residuals(*camera(values))
            return np.concatenate([segment[agree].ravel(), GROUND_WEIGHT * ground[near_ground].ravel()])

        most = INDEPENDENT if len(values) > SQUARE_MOVES else INDEPENDENT_MOVE
        share_told, fine = min(1.0, most / count), COARSE_TO_FINE_PX[-1]
        place = _slopes(lambda values: camera(values)[1], values) / HAND_SHIFT_M
        slopes = np.concatenate([_slopes(kept, values) * np.sqrt(2 * share_told) / fine, place])
        unlikely = self._unlikely(camera, matrix, share_told)
        draws, weights = valley(
            unlikely, values, np.linalg.pinv(slopes.T @ slopes + 1e-6 * np.eye(len(values)))
        )
        read = _ground_reader(camera, matrix, values)
        here = read(values)
        off = np.minimum([((read(draw) - here) ** 2).sum(axis=1) for draw in draws], MOST_OFF_M**2)
        error_m = float(np.sqrt(weights @ np.asarray(off).mean(axis=1)))
        unit, told = max(self.size) / MATCH_SIDE_PX, (count, int(on_ground.sum()), share)
        return Fit(
            values,
            support,
            *told,
            rms * unit,
            100 * error_m,
            self._unlikely(camera, matrix, independent_share(count))(values),
        )

    def _unlikely(
        self, camera: Callable[[FloatArray], Camera], matrix: FloatArray, share_told: float
    ) -> Callable[[FloatArray], float]:
        """Return what gives minus the log probability of values: robust residuals, and where the camera is held."""
        residuals, home = self._residuals(matrix), np.array(self.reference.pose.position_m)
        fine = COARSE_TO_FINE_PX[-1]

        def unlikely(values: FloatArray) -> float:
            rotation, place = camera(values)
            segment, ground = (((part / fine) ** 2).sum(axis=1) for part in residuals(rotation, place))
            total = (segment / (1 + segment)).sum() + GROUND_WEIGHT**2 * (ground / (1 + ground)).sum()
            return float(share_told * total + 0.5 * (((place - home) / HAND_SHIFT_M) ** 2).sum())

        return unlikely

    def unlikely_still(self, plane: GroundPlane, like: Fit) -> float:
        """Return `unlikely` of a square that has not moved, for comparison with a fit of its move."""
        rotation, place = plane.rotation, np.array(plane.pose.position_m)
        unlikely = self._unlikely(
            lambda _: (rotation, place), plane.camera_matrix, independent_share(like.matches)
        )
        return unlikely(np.zeros(3))

    def agreeing_still(self, plane: GroundPlane) -> tuple[int, float]:
        """Count pairs that agree with a square that has not moved, and those that would by chance (a mean)."""
        unit = max(self.size) / MATCH_SIDE_PX
        counts = []
        for shift in (np.zeros(2), *BESIDE_PX):
            moved = replace(self, pairs=self.pairs + unit * np.stack([np.zeros(2), shift]))
            segment, _ = moved._residuals(plane.camera_matrix)(
                plane.rotation, np.array(plane.pose.position_m)
            )
            counts.append(int((np.linalg.norm(segment, axis=1) < FITS_PX).sum()))
        return counts[0], float(np.mean(counts[1:]))

    def _trust_as_ground(self) -> FloatArray:
        """Return how far each pair may be taken to lie on the ground, 0.03 to 1, shape (N, 1): less, far away."""
        with np.errstate(invalid="ignore"):
            place = self.reference.meters(self.pairs[:, 0]) - self.reference.pose.position_m[:2]
        away = np.nan_to_num(np.linalg.norm(place, axis=1), nan=1e3)
        return np.asarray(np.sqrt(1e-3 + 1 / (1 + (away / GROUND_TO_M) ** 8))[:, None])

    def _residuals(
        self, matrix: FloatArray
    ) -> Callable[[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]:
        """Return what gives, for a camera, the residuals to segment and ground end, each (N, 2), reduced pixels."""
        unit = max(self.size) / MATCH_SIDE_PX
        segments, below = lines_of_sight(self.reference, self.pairs[:, 0])
        seen, trust = self.pairs[:, 1], self._trust_as_ground()

        def residuals(rotation: FloatArray, place: FloatArray) -> tuple[FloatArray, FloatArray]:
            low, high = segments(matrix, rotation, place)
            along = high - low
            share = ((seen - low) * along).sum(axis=1, keepdims=True) / np.maximum(
                (along**2).sum(axis=1, keepdims=True), 1e-9
            )
            segment = seen - low - np.clip(share, 0, 1) * along
            return segment / unit, np.where(below, seen - low, 1e4) / unit / trust

        return residuals


def independent_share(count: float) -> float:
    """Return what part of `count` agreeing pairs tells something of its own."""
    return min(1.0, INDEPENDENT / max(count, 1.0))


def lines_of_sight(
    reference: GroundPlane, points_px: FloatArray
) -> tuple[Callable[[FloatArray, FloatArray, FloatArray], tuple[FloatArray, FloatArray]], NDArray[np.bool_]]:
    """Follow the lines of sight of a reference photo's points, shape (N, 2), from the ground up to NEAREST_M.

    Returns
    -------
    segments : callable
        Takes a camera's matrix, rotation and place; gives the pixels, each (N, 2), where it sees the far and near ends.
    below : ndarray of bool, shape (N, 1)
        Which points lie below the horizon, so that the far end is on the ground.
    """
    home = np.array(reference.pose.position_m)
    back = np.linalg.inv(reference.camera_matrix @ reference.rotation)
    ray = np.column_stack([points_px, np.ones(len(points_px))]) @ back.T
    ray /= np.linalg.norm(ray, axis=1, keepdims=True)
    from_ground = np.maximum(-ray[:, 2:] / home[2], 0.0)
    nearest = np.maximum(from_ground, 1 / NEAREST_M)

    def segments(
        matrix: FloatArray, rotation: FloatArray, place: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        to_pixel = (matrix @ rotation).T
        return tuple(_flat((ray + inverse * (home - place)) @ to_pixel) for inverse in (from_ground, nearest))  # type: ignore[return-value]

    return segments, from_ground > 0


def spin_about_vertical(angle: float) -> FloatArray:
    """Return the turn by an angle in radians, counter-clockwise seen from above, shape (3, 3)."""
    cos, sin = np.cos(angle), np.sin(angle)
    return np.array([[cos, -sin, 0], [sin, cos, 0], [0, 0, 1.0]])


def heading(plane: GroundPlane) -> float:
    """Return the direction on the ground, radians from x toward y, in which the camera's right side points."""
    right = plane.rotation[0]
    return float(np.arctan2(right[1], right[0]))


def _flat(points: FloatArray) -> FloatArray:
    return points[:, :2] / np.maximum(points[:, 2:], 1e-6)


def _slopes(function: Callable[[FloatArray], FloatArray], values: FloatArray) -> FloatArray:
    """Numerical derivative, shape (outputs, values)."""
    steps = _STEP * np.eye(len(values))
    return np.stack(
        [(function(values + step) - function(values - step)) / (2 * _STEP) for step in steps], axis=1
    )


def _ground_reader(
    camera: Callable[[FloatArray], Camera], matrix: FloatArray, values: FloatArray
) -> Callable[[FloatArray], FloatArray]:
    """Return what gives, for other values, the ground places, (3, 2), of the pixels that now show ground 3 m ahead."""
    rotation, place = camera(values)
    ahead = rotation[2, :2] / max(float(np.linalg.norm(rotation[2, :2])), 1e-9)
    right = np.array([ahead[1], -ahead[0]])
    points = np.array([[*(place[:2] + x * right + y * ahead), 0] for x, y in REPORT_AT_M])
    pixels = matrix @ rotation @ (points - place).T

    def read(values: FloatArray) -> FloatArray:
        rotation, place = camera(values)
        ray = np.linalg.solve(matrix @ rotation, pixels)
        down = np.where(ray[2] * place[2] < 0, ray[2], -1e-6)
        return np.asarray((place[:2, None] - ray[:2] * place[2] / down).T)

    return read
