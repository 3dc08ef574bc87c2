"""Where one photo's ground lies in another photo's ground frame, from the background that both show.

The background does not lie on the ground, so that no homography of it would do. Both photos have a camera pose over
the ground. A point of the reference photo lies somewhere on its line of sight, from the ground upward to the camera,
and is seen in the other photo along a short segment (the part of the epipolar line that is possible; Hartley and
Zisserman 2004, chapter 9). Two residuals per match are used: the distance to that segment, and to where it is seen if
it lies on the ground before an upright wall or on the wall, as most of a yard's background does: path, curb, fence,
hedge, house. Where the wall stands is found with the rest. What lies elsewhere has its segment all the same.
The unknowns are found by robust least squares, coarse to fine and from many starts (valley.py); a prior says that a
hand holds the camera about where it was. The error is that of the residuals, propagated, and that of the likeliest
other place where the search ended, by its odds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from swardmark.ground.background import MATCH_SIDE_PX, Background, lines_of_sight, matched
from swardmark.ground.edges import FloatArray
from swardmark.ground.homography import turns_by_two_pairs
from swardmark.ground.plane import GroundPlane, Pose, camera_matrix, plane_of_camera, spin_about_vertical
from swardmark.ground.trust import Camera, Cameras, Known, by_itself, camera_by_square, tilt_and_height
from swardmark.ground.valley import LEAST_MATCHES, Fit, Function, around, descended, slopes_of

COARSE_TO_FINE_PX = (24.0, 8.0, 3.0, 1.0)
"""Widths of the robust weights, in pixels of a copy whose longer side is MATCH_SIDE_PX."""
FINE_PX = COARSE_TO_FINE_PX[2:]
FITS_PX = 3.0
HAND_SHIFT_M = 0.12
"""Spread of where a hand holds the camera from one day to the next."""
STEP_SHIFT_M = 0.3
"""The same where a move of the square is weighed against none: who stands half a meter aside moves no square."""
FREEDOM = 3.0
"""Of that spread as Student's t: now and then one stands elsewhere."""
SURFACE_WEIGHT = 0.7
WALL_M, WALL_SPREAD = 6.0, 0.12
"""Usual distance of the wall, straight ahead, and the spread of its inverse, 1/m: from 3 m to none at all."""
INDEPENDENT, TOLD = 16, 4
"""Neighboring points err together: no more than this many count as independent where a move is weighed against none,
and where the error is told. The latter fits the error of 24 drawn yards and held on others (benchmarks/frames.py)."""
MOST_OFF_M = 3.0
REPORT_AT_M = ((0.0, 3.0), (-1.0, 2.5), (1.0, 3.5))
"""Where the frame's error is told: to the right and ahead of the camera's foot."""
USUAL_SHARE = 0.3
"""Share of the pairs that agree in photos of one place, as a first guess."""
SEARCHES, SEARCH_STARTS, TOLD_AT_FIRST = 2, 32, 2.0
"""The valley of the best fit so far is searched again, from so many places, drawn as if so few points were believed."""
NEAR_PX = 8.0
"""How near in the reduced copy a point comes to where a camera that only turned would see it."""
AGAIN_PX = (8.0, 4.0)
"""How near to where a weak fit foretells it a point of the background is looked for again, in turn."""
BESIDE_PX = np.array([[23.0, 0.0], [-23.0, 7.0], [0.0, 23.0], [7.0, -23.0], [31.0, 31.0], [-31.0, 31.0]])
"""Where the pairs are laid to see how many agree by chance, pixels of the reduced copy."""
NOTHING = Background(np.zeros((0, 2), np.float32), np.zeros((0, 32), np.uint8))


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
    backgrounds : tuple of Background, optional
        The two backgrounds, to be looked through again where a fit to the pairs is weak.
    """

    pairs: FloatArray
    reference: GroundPlane
    size: tuple[int, int]
    backgrounds: tuple[Background, Background] = (NOTHING, NOTHING)

    @property
    def _unit(self) -> float:
        """Photo pixels per pixel of the reduced copy."""
        return max(self.size) / MATCH_SIDE_PX

    def square_move(self, plane: GroundPlane, side_m: float, starts: FloatArray) -> Fit:
        """Find the camera's turn and shift where a square that may have moved tells its height and tilt.

        Parameters
        ----------
        plane : GroundPlane
            The ground by the square.
        side_m : float
            The square's side, meters.
        starts : ndarray, shape (S, 3)
            Moves of the square to begin with: x and y in meters, turn in radians.
        """
        from scipy.spatial.transform import Rotation

        home = self.reference.rotation.T
        turned = [plane.rotation @ spin_about_vertical(turn).T @ home for *_, turn in starts]
        shifts = [spin_about_vertical(turn) @ plane.pose.position_m + [x, y, 0] for x, y, turn in starts]
        shift = np.asarray(shifts) - self.reference.pose.position_m
        first = np.column_stack([Rotation.from_matrix(turned).as_rotvec(), shift])
        known = tilt_and_height(plane, side_m)
        return self._solve(self._moved_camera, plane.camera_matrix, first, known)

    def camera_move(self, focal_px: float) -> Fit:
        """Find the camera's turn (three angles in radians) and shift (meters) against the reference's."""
        matrix = camera_matrix(self.size, focal_px)
        turns = turns_by_two_pairs(
            self.pairs, self.reference.camera_matrix, matrix, near_px=NEAR_PX * self._unit
        )
        return self._solve(self._moved_camera, matrix, np.pad(turns, ((1, 0), (0, 3))))

    def looked_again(
        self, fit: Fit, matrix: FloatArray, known: Known | None = None
    ) -> tuple[Comparison, Fit]:
        """Look for more of the background where a weak fit foretells it, and fit to that.

        Parameters
        ----------
        fit : Fit
            What `square_move` or `camera_move` found.
        matrix : ndarray, shape (3, 3)
            The other photo's camera.
        known : callable, optional
            What a square in the photo tells of the camera.
        """
        found = self
        for reach in AGAIN_PX:
            found = replace(self, pairs=self._foretold(matrix, fit.values, reach))
            fit = found._solve(self._moved_camera, matrix, fit.values[None, :-2], known)
        by_chance = [len(self._foretold(matrix, fit.values, reach, beside)) for beside in BESIDE_PX]
        return found, replace(fit, by_chance=float(np.mean(by_chance)))

    def plane_after(self, values: FloatArray, like: Pose) -> GroundPlane:
        """Return the ground as seen after a camera move found by `camera_move`."""
        rotation, place = self._moved_camera(values)
        return plane_of_camera(rotation, place, size=self.size, like=like)

    def unlikely_still(self, plane: GroundPlane, side_m: float, like: Fit) -> float:
        """Return `unlikely` of a square that has not moved, for comparison with a fit of its move."""
        camera, matrix = camera_by_square(plane, side_m), plane.camera_matrix
        starts = np.pad([like.wall, self._usual_wall()], ((0, 0), (6, 0)))
        values, height = self._settled(camera, matrix, starts, FINE_PX, by_itself)
        share_told = independent_share(like.matches)
        unlikely = self._unlikely(camera, matrix, share_told, by_itself, STEP_SHIFT_M)
        return float(unlikely(values[height.argmin()]))

    def agreeing_still(self, plane: GroundPlane) -> tuple[int, float]:
        """Count pairs that agree with a square that has not moved, and those that would by chance (a mean)."""
        camera = camera_by_square(plane)
        counts = []
        for shift in (np.zeros(2), *BESIDE_PX):
            moved = replace(self, pairs=self.pairs + self._unit * np.stack([np.zeros(2), shift]))
            segment, _ = moved._residuals(camera, plane.camera_matrix)(np.zeros(8))
            counts.append(int((np.linalg.norm(segment, axis=1) < FITS_PX).sum()))
        return counts[0], float(np.mean(counts[1:]))

    def _moved_camera(self, values: FloatArray) -> Camera:
        from scipy.spatial.transform import Rotation

        turns = Rotation.from_rotvec(values[..., :3].reshape(-1, 3)).as_matrix()
        turns = turns.reshape(*values.shape[:-1], 3, 3)
        return turns @ self.reference.rotation, np.array(self.reference.pose.position_m) + values[..., 3:6]

    def _foretold(
        self, matrix: FloatArray, values: FloatArray, reach: float, beside: FloatArray | None = None
    ) -> FloatArray:
        """Pair the backgrounds' points that lie near where a camera move foretells them, or that far beside."""
        one, other = self.backgrounds
        sights = lines_of_sight(self.reference, one.points.astype(float))
        low, high = sights(matrix, *self._moved_camera(values))
        seen = other.points - self._unit * (np.zeros(2) if beside is None else beside)
        near = np.linalg.norm(to_segment(seen, low[:, None], high[:, None]), axis=-1) < reach * self._unit
        return matched(one, other, size=self.reference.size, other_size=self.size, near=near)

    def _solve(
        self, camera: Cameras, matrix: FloatArray, starts: FloatArray, known: Known | None = None
    ) -> Fit:
        """Find the values that explain most of the background, from many starts and along the valley of the best."""
        starts = np.column_stack([starts, np.tile(self._usual_wall(), (len(starts), 1))])
        if len(self.pairs) < LEAST_MATCHES:
            return Fit(np.asarray(starts[0], float), len(self.pairs), 0, 0.0, np.nan, np.inf)
        values, height = self._settled(camera, matrix, starts, COARSE_TO_FINE_PX, known)
        rng = np.random.default_rng(0)
        for _ in range(SEARCHES):
            best = values[height.argmin()]
            spread = self._spread(camera, matrix, best, TOLD_AT_FIRST, known)
            drawn = around(best, spread, SEARCH_STARTS, rng)
            values, height = self._settled(camera, matrix, np.vstack([best, drawn]), FINE_PX, known)
        return self._judged(camera, matrix, values[np.argsort(height)], known)

    def _settled(
        self,
        camera: Cameras,
        matrix: FloatArray,
        values: FloatArray,
        scales: tuple[float, ...],
        known: Known | None,
    ) -> tuple[FloatArray, FloatArray]:
        """Go down from many values at once, the robust weights ever narrower; returns values and what is left."""
        residuals, held = self._residuals(camera, matrix), self._held(camera, known)
        weight, height = np.repeat([1, SURFACE_WEIGHT**2], len(self.pairs)), np.zeros(len(values))
        firm = np.sqrt(2 * independent_share(USUAL_SHARE * len(self.pairs)))
        for scale in scales:
            values, height = descended(
                lambda tried: np.concatenate(residuals(tried), axis=-2),
                weight,
                lambda tried: held(tried) / firm,
                values,
                scale=scale,
            )
        return values, height

    def _judged(self, camera: Cameras, matrix: FloatArray, values: FloatArray, known: Known | None) -> Fit:
        """Judge the first of many values, lowest first; the others are places where the fit may as well have ended."""
        values, others = values[0], values[1:]
        segment, surface = self._residuals(camera, matrix)(values)
        off, off_surface = np.linalg.norm(segment, axis=1), np.linalg.norm(surface, axis=1)
        agree = off < FITS_PX
        count, told = (
            int(agree.sum()),
            (int(agree.sum()), int((off_surface < FITS_PX).sum()), float(agree.mean())),
        )
        if count < LEAST_MATCHES:
            return Fit(values, *told, np.nan, np.inf)
        rms = float(np.sqrt((off[agree] ** 2).mean()))
        read, share_told = _ground_reader(camera, matrix, values), independent_share(count)
        slopes, spread = slopes_of(read, values), self._spread(camera, matrix, values, TOLD, known)
        near = np.trace(slopes @ spread @ slopes.T) / len(REPORT_AT_M)
        unlikely = self._unlikely(camera, matrix, share_told, known)
        odds = np.minimum(np.exp(unlikely(values) - unlikely(others)), 1.0)
        far = ((read(others) - read(values)) ** 2).sum(axis=-1).mean(axis=-1)
        error_m = float(np.sqrt(near + (odds / (1 + odds) * np.minimum(far, MOST_OFF_M**2)).max()))
        left = float(self._unlikely(camera, matrix, share_told, known, STEP_SHIFT_M)(values))
        return Fit(values, *told, rms * self._unit, 100 * error_m, left)

    def _spread(
        self, camera: Cameras, matrix: FloatArray, values: FloatArray, most: float, known: Known | None
    ) -> FloatArray:
        """Return the covariance of values by the slopes of what agrees there, at most so many points of it."""
        residuals = self._residuals(camera, matrix)
        near = [np.linalg.norm(part, axis=1) < FITS_PX for part in residuals(values)]

        def kept(values: FloatArray) -> FloatArray:
            segment, surface = residuals(values)
            rows = np.concatenate([segment[:, near[0]], SURFACE_WEIGHT * surface[:, near[1]]], axis=1)
            return rows.reshape(len(values), -1)

        told = np.sqrt(2 * min(1.0, most / max(near[0].sum(), 1))) / COARSE_TO_FINE_PX[-1]
        slopes = np.concatenate(
            [slopes_of(kept, values) * told, slopes_of(self._held(camera, known), values)]
        )
        return np.asarray(np.linalg.pinv(slopes.T @ slopes + 1e-6 * np.eye(len(values))))

    def _unlikely(
        self,
        camera: Cameras,
        matrix: FloatArray,
        share_told: float,
        known: Known | None,
        hand_m: float = HAND_SHIFT_M,
    ) -> Function:
        """Return what gives minus the log probability of values, one set or many: residuals, and what is usual."""
        residuals, held = self._residuals(camera, matrix), self._held(camera, known, hand_m)
        fine = COARSE_TO_FINE_PX[-1]

        def unlikely(values: FloatArray) -> FloatArray:
            segment, surface = (((part / fine) ** 2).sum(axis=-1) for part in residuals(values))
            total = (segment / (1 + segment)).sum(-1) + SURFACE_WEIGHT**2 * (surface / (1 + surface)).sum(-1)
            return np.asarray(share_told * total + 0.5 * (held(values) ** 2).sum(-1))

        return unlikely

    def _held(self, camera: Cameras, known: Known | None, hand_m: float = HAND_SHIFT_M) -> Function:
        """Return what gives, for values, how far they are from what is usual and known, over the spread."""
        home, usual = np.array(self.reference.pose.position_m), self._usual_wall()

        def held(values: FloatArray) -> FloatArray:
            rotation, place = camera(values)
            shift = (place - home) / hand_m
            far = np.maximum((shift**2).sum(axis=-1, keepdims=True) / FREEDOM, 1e-12)
            shift = shift * np.sqrt((FREEDOM + 3) / FREEDOM * np.log1p(far) / far)
            parts = [shift, (values[..., -2:] - usual) / WALL_SPREAD]
            if known is not None:
                parts.append(known(values, rotation, place))
            return np.concatenate(parts, axis=-1)

        return held

    def _usual_wall(self) -> FloatArray:
        """Return where a wall usually is: straight ahead of the reference's camera, direction over distance."""
        ahead = self.reference.rotation[2, :2]
        return np.asarray(ahead / max(float(np.linalg.norm(ahead)), 1e-9) / WALL_M)

    def _residuals(
        self, camera: Cameras, matrix: FloatArray
    ) -> Callable[[FloatArray], tuple[FloatArray, FloatArray]]:
        """Return what gives, for values, the residuals to segment and surface, each (..., N, 2), reduced pixels."""
        unit = self._unit
        sights, seen = lines_of_sight(self.reference, self.pairs[:, 0]), self.pairs[:, 1]

        def residuals(values: FloatArray) -> tuple[FloatArray, FloatArray]:
            low, high, surface = sights(matrix, *camera(values), values[..., -2:])
            return to_segment(seen, low, high) / unit, (seen - surface) / unit

        return residuals


def to_segment(points: FloatArray, low: FloatArray, high: FloatArray) -> FloatArray:
    """Return the way from the nearest place of each segment, from low to high, to its point, shape (..., 2)."""
    along = high - low
    length = np.maximum((along**2).sum(axis=-1, keepdims=True), 1e-9)
    share = ((points - low) * along).sum(axis=-1, keepdims=True) / length
    return np.asarray(points - low - np.clip(share, 0, 1) * along)


def independent_share(count: float) -> float:
    """Return what part of `count` agreeing pairs tells something of its own."""
    return min(1.0, INDEPENDENT / max(count, 1.0))


def ground_ahead(rotation: FloatArray, place: FloatArray) -> FloatArray:
    """Return the ground places, shape (3, 2), about 3 m ahead of a camera at which the frame's error is told."""
    ahead = rotation[2, :2] / max(float(np.linalg.norm(rotation[2, :2])), 1e-9)
    right = np.array([ahead[1], -ahead[0]])
    return np.array([place[:2] + x * right + y * ahead for x, y in REPORT_AT_M])


def _ground_reader(camera: Cameras, matrix: FloatArray, values: FloatArray) -> Function:
    """Return what gives, for other values, the ground places, (..., 3, 2), of pixels that now show ground 3 m ahead."""
    rotation, place = camera(values)
    points = np.pad(ground_ahead(rotation, place), ((0, 0), (0, 1)))
    pixels = matrix @ rotation @ (points - place).T

    def read(values: FloatArray) -> FloatArray:
        rotation, place = camera(values)
        ray = np.linalg.solve(matrix @ rotation, np.broadcast_to(pixels, (*values.shape[:-1], 3, 3)))
        down = np.where(ray[..., 2, :] * place[..., 2:] < 0, ray[..., 2, :], -1e-6)
        reach = -place[..., 2:] / down
        return np.stack([place[..., n, None] + ray[..., n, :] * reach for n in (0, 1)], axis=-1)

    return read
