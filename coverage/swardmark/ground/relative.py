"""Where one photo's ground lies in another photo's ground frame, from the background that both show.

The background does not lie on the ground, so that no homography of it would do. Both photos have a camera pose over
the ground. A point of the reference photo lies somewhere on its line of sight, from the ground upward to the camera,
and is seen in the other photo along a short segment (the part of the epipolar line that is possible; Hartley and
Zisserman 2004, chapter 9). Two residuals per match are used: the distance to that segment, and to its end on the
ground, which holds for path, curb and fence foot. The unknowns are found by robust least squares, coarse to fine and
from many starts (valley.py); a prior says that a hand holds the camera about where it was. The error is taken from the
whole valley of the fit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from swardmark.ground.background import MATCH_SIDE_PX, lines_of_sight
from swardmark.ground.edges import FloatArray
from swardmark.ground.plane import GroundPlane, Pose, camera_matrix, plane_of_camera, spin_about_vertical
from swardmark.ground.valley import Function, around, descended, slopes_of, valley

COARSE_TO_FINE_PX = (24.0, 8.0, 3.0, 1.0)
"""Widths of the robust weights, in pixels of a copy whose longer side is MATCH_SIDE_PX."""
FINE_PX = COARSE_TO_FINE_PX[2:]
FITS_PX = 3.0
LEAST_MATCHES = 12
LEAST_SHARE = 0.12
MOST_ERROR_CM = 12.0
HAND_SHIFT_M = 0.12
"""Spread of where a hand holds the camera from one day to the next."""
STEP_SHIFT_M = 0.3
"""The same where a move of the square is weighed against none: who stands half a meter aside moves no square."""
GROUND_WEIGHT = 0.7
GROUND_TO_M = 4.5
"""What is seen farther away than this is a fence or a wall rather than ground: taken for ground, it drew the camera of
drawn yards aside by up to 19 cm."""
INDEPENDENT, TOLD_BY_MOVE, TOLD_BY_CAMERA = 16, 24, 32
"""Neighboring points err together: no more than this many count as independent where a move is weighed against none,
where the error of a square's move is told, and where that of all six numbers of a camera is. The latter two fit the
error of drawn yards (tests/benchmarks/frames.py)."""
REPORT_AT_M = ((0.0, 3.0), (-1.0, 2.5), (1.0, 3.5))
"""Where the frame's error is told: to the right and ahead of the camera's foot."""
MOST_OFF_M = 3.0
SQUARE_MOVES = 3
USUAL_SHARE = 0.3
"""Share of the pairs that agree in photos of one place, as a first guess."""
SEARCHES, SEARCH_STARTS, TOLD_AT_FIRST = 2, 32, 2.0
"""The valley of the best fit so far is searched again, from so many places, drawn as if so few points were believed."""
TWO_PAIRS, TURNS, UNLIKE_RAD, MOST_TURN_RAD, NEAR_PX = 600, 8, 0.007, 0.21, 8.0
"""Turns of the camera by two pairs each: how many are tried and kept, how far apart, how large they may be, and how
near in the reduced copy a point must come to where a camera that only turned would see it."""
BESIDE_PX = np.array([[23.0, 0.0], [-23.0, 7.0], [0.0, 23.0], [7.0, -23.0], [31.0, 31.0], [-31.0, 31.0]])
"""Where the pairs are laid to see how many agree by chance, pixels of the reduced copy."""

Camera = tuple[FloatArray, FloatArray]
"""Turn from the ground's axes to the camera's, (..., 3, 3), and place in meters, (..., 3)."""
Cameras = Callable[[FloatArray], Camera]
"""What gives a camera for each of many sets of values, (..., n)."""


@dataclass(frozen=True, eq=False)
class Fit:
    """A robust fit.

    Attributes
    ----------
    values : ndarray
        The unknowns.
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

    def square_move(self, plane: GroundPlane, starts: FloatArray) -> Fit:
        """Find how the square moved (x, y in meters, turn in radians) that `plane` was measured by."""
        rotation, place = plane.rotation, np.array(plane.pose.position_m)

        def camera(values: FloatArray) -> Camera:
            spin = spin_about_vertical(values[..., 2])
            shift = np.stack([values[..., 0], values[..., 1], np.zeros_like(values[..., 0])], axis=-1)
            return rotation @ np.swapaxes(spin, -1, -2), spin @ place + shift

        return self._solve(camera, plane.camera_matrix, starts)

    def camera_move(self, focal_px: float) -> Fit:
        """Find the camera's turn (three angles in radians) and shift (meters) against the reference's."""
        matrix = camera_matrix(self.size, focal_px)
        turns = _turns_by_two_pairs(self.pairs, self.reference.camera_matrix, matrix)
        return self._solve(self._moved_camera, matrix, np.pad(turns, ((1, 0), (0, 3))))

    def plane_after(self, values: FloatArray, like: Pose) -> GroundPlane:
        """Return the ground as seen after a camera move found by `camera_move`."""
        rotation, place = self._moved_camera(values)
        return plane_of_camera(rotation, place, size=self.size, like=like)

    def _moved_camera(self, values: FloatArray) -> Camera:
        from scipy.spatial.transform import Rotation

        turns = Rotation.from_rotvec(values[..., :3].reshape(-1, 3)).as_matrix()
        turns = turns.reshape(*values.shape[:-1], 3, 3)
        return turns @ self.reference.rotation, np.array(self.reference.pose.position_m) + values[..., 3:]

    def _solve(self, camera: Cameras, matrix: FloatArray, starts: FloatArray) -> Fit:
        """Find the values that explain most of the background, from many starts and along the valley of the best."""
        if len(self.pairs) < LEAST_MATCHES:
            return Fit(np.asarray(starts[0], float), len(self.pairs), 0, 0.0, np.nan, np.inf)
        values, height = self._settled(camera, matrix, starts, COARSE_TO_FINE_PX)
        rng = np.random.default_rng(0)
        for _ in range(SEARCHES):
            best = values[height.argmin()]
            spread = self._spread(camera, matrix, best, TOLD_AT_FIRST)
            drawn, _ = around(best, spread, SEARCH_STARTS, rng)
            values, height = self._settled(camera, matrix, np.vstack([best, drawn]), FINE_PX)
        return self._judged(camera, matrix, values[height.argmin()])

    def _settled(
        self, camera: Cameras, matrix: FloatArray, values: FloatArray, scales: tuple[float, ...]
    ) -> tuple[FloatArray, FloatArray]:
        """Go down from many values at once, the robust weights ever narrower; returns values and what is left."""
        residuals, home = self._residuals(matrix), np.array(self.reference.pose.position_m)
        spread = HAND_SHIFT_M * np.sqrt(2 * independent_share(USUAL_SHARE * len(self.pairs)))
        weight, height = np.repeat([1, GROUND_WEIGHT**2], len(self.pairs)), np.zeros(len(values))
        for scale in scales:
            values, height = descended(
                lambda tried: np.concatenate(residuals(*camera(tried)), axis=-2),
                weight,
                lambda tried: (camera(tried)[1] - home) / spread,
                values,
                scale=scale,
            )
        return values, height

    def _judged(self, camera: Cameras, matrix: FloatArray, values: FloatArray) -> Fit:
        segment, ground = self._residuals(matrix)(*camera(values))
        off, off_ground = np.linalg.norm(segment, axis=1), np.linalg.norm(ground, axis=1)
        agree = off < FITS_PX
        on_ground = off_ground * self._trust_as_ground()[:, 0] < FITS_PX
        count, told = int(agree.sum()), (int(agree.sum()), int(on_ground.sum()), float(agree.mean()))
        if count < LEAST_MATCHES:
            return Fit(values, *told, np.nan, np.inf)
        rms = float(np.sqrt((off[agree] ** 2).mean()))
        most = TOLD_BY_CAMERA if len(values) > SQUARE_MOVES else TOLD_BY_MOVE
        unlikely = self._unlikely(camera, matrix, min(1.0, most / count))
        draws, weights = valley(unlikely, values, self._spread(camera, matrix, values, most))
        read = _ground_reader(camera, matrix, values)
        here = read(values)
        square = np.minimum([((read(draw) - here) ** 2).sum(axis=1) for draw in draws], MOST_OFF_M**2)
        error_m = float(np.sqrt(weights @ np.asarray(square).mean(axis=1)))
        unit, share_told = max(self.size) / MATCH_SIDE_PX, independent_share(count)
        left = float(self._unlikely(camera, matrix, share_told, hand_m=STEP_SHIFT_M)(values))
        return Fit(values, *told, rms * unit, 100 * error_m, left)

    def _spread(self, camera: Cameras, matrix: FloatArray, values: FloatArray, most: float) -> FloatArray:
        """Return the covariance of values by the slopes of what agrees there, at most so many points of it."""
        residuals = self._residuals(matrix)
        near = [np.linalg.norm(part, axis=1) < FITS_PX for part in residuals(*camera(values))]

        def kept(values: FloatArray) -> FloatArray:
            segment, ground = residuals(*camera(values))
            rows = np.concatenate([segment[:, near[0]], GROUND_WEIGHT * ground[:, near[1]]], axis=1)
            return rows.reshape(len(values), -1)

        place = slopes_of(lambda values: camera(values)[1], values) / HAND_SHIFT_M
        told = np.sqrt(2 * min(1.0, most / max(near[0].sum(), 1))) / COARSE_TO_FINE_PX[-1]
        slopes = np.concatenate([slopes_of(kept, values) * told, place])
        return np.asarray(np.linalg.pinv(slopes.T @ slopes + 1e-6 * np.eye(len(values))))

    def _unlikely(
        self, camera: Cameras, matrix: FloatArray, share_told: float, *, hand_m: float = HAND_SHIFT_M
    ) -> Function:
        """Return what gives minus the log probability of values, one set or many: residuals, and the hand's reach."""
        residuals, home = self._residuals(matrix), np.array(self.reference.pose.position_m)
        fine = COARSE_TO_FINE_PX[-1]

        def unlikely(values: FloatArray) -> FloatArray:
            rotation, place = camera(values)
            segment, ground = (((part / fine) ** 2).sum(axis=-1) for part in residuals(rotation, place))
            total = (segment / (1 + segment)).sum(-1) + GROUND_WEIGHT**2 * (ground / (1 + ground)).sum(-1)
            return np.asarray(share_told * total + 0.5 * (((place - home) / hand_m) ** 2).sum(-1))

        return unlikely

    def unlikely_still(self, plane: GroundPlane, like: Fit) -> float:
        """Return `unlikely` of a square that has not moved, for comparison with a fit of its move."""
        rotation, place = plane.rotation, np.array(plane.pose.position_m)
        share_told = independent_share(like.matches)
        unlikely = self._unlikely(
            lambda _: (rotation, place), plane.camera_matrix, share_told, hand_m=STEP_SHIFT_M
        )
        return float(unlikely(np.zeros(3)))

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
            length = np.maximum((along**2).sum(axis=-1, keepdims=True), 1e-9)
            share = ((seen - low) * along).sum(axis=-1, keepdims=True) / length
            segment = seen - low - np.clip(share, 0, 1) * along
            return segment / unit, np.where(below, seen - low, 1e4) / unit / trust

        return residuals


def independent_share(count: float) -> float:
    """Return what part of `count` agreeing pairs tells something of its own."""
    return min(1.0, INDEPENDENT / max(count, 1.0))


def _turns_by_two_pairs(pairs: FloatArray, matrix: FloatArray, other_matrix: FloatArray) -> FloatArray:
    """Return the turns of the camera, shape (N, 3), that two pairs each tell and that most pairs about agree with.

    Random sample consensus (Fischler and Bolles 1981, Commun. ACM 24(6):381-395), as if the camera stood where it did.
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
    near = NEAR_PX * 2 * other_matrix[0, 2] / MATCH_SIDE_PX
    kept: list[FloatArray] = []
    for turn in found[np.argsort(-(1 / (1 + (off / near) ** 2)).sum(axis=1), kind="stable")]:
        if len(kept) < TURNS and all(np.linalg.norm(turn - other) > UNLIKE_RAD for other in kept):
            kept.append(turn)
    return np.reshape(kept, (-1, 3))


def _axes(rays: FloatArray, two: FloatArray) -> FloatArray:
    """Return the axes that two rays each span, as columns, shape (N, 3, 3)."""
    unit = rays / np.linalg.norm(rays, axis=1, keepdims=True)
    along, across = unit[two[:, 0]] + unit[two[:, 1]], np.cross(unit[two[:, 0]], unit[two[:, 1]])
    along, across = (
        side / np.maximum(np.linalg.norm(side, axis=1, keepdims=True), 1e-9) for side in (along, across)
    )
    return np.stack([along, across, np.cross(along, across)], axis=-1)


def _ground_reader(
    camera: Cameras, matrix: FloatArray, values: FloatArray
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
