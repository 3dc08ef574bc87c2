"""Keep one ground frame per photo point when the camera is held by hand and the square is moved or missing.

The frame is that of the point's reference photo. Every other photo is compared with it by the fixed background: where
the square lies as it did, nothing changes; where it moved, its move is taken back; where it is missing, the camera's
whole pose is worked out. A weak comparison is no comparison: the photo is then refused, or noted where the camera
stands as it did.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from swardmark.common.errors import PhotoRefused
from swardmark.ground import sentences
from swardmark.ground.background import (
    Background,
    Reduced,
    Seen,
    background_in,
    lines_of_sight,
    matched,
    reduced,
    seen_again,
)
from swardmark.ground.edges import FloatArray
from swardmark.ground.homography import apply
from swardmark.ground.plane import GroundPlane, heading, plane_of_camera, spin_about_vertical
from swardmark.ground.relative import Comparison, ground_ahead
from swardmark.ground.trust import tilt_and_height
from swardmark.ground.valley import MOST_ERROR_CM, Fit

LEAST_MOVE_CM, CLEAR_MOVE = 3.0, 2.0
"""A move of the square that shifts the ground 3 m ahead by less than this, or than so many times its error, is not
followed: the square's corners tell the frame better. The error that is said allows for it."""
LEAST_TOLD_M, LEAST_TOLD_DEG = 0.05, 1.5
"""Smaller shifts and turns of a square that moved are not spelled out."""
CHECKED = ((60, 12, 5.0), (240, 24, 2.5))
"""The cheap check: how many of the strongest background points must be seen again, more where few do not tell, and how
many times those that are more alike aside. Drawn yards: of 240, 20 were seen with a square that had moved 7 cm; of
another yard with the same fence 4.8 times of 60 and 2.4 of 240 at most. What fails is looked at in full."""
OVER_ASIDE, REPEATED = 1.75, 20
"""A yard is known by what it shows once. Points that are most alike where they are foretold must be so many times those
that are more alike a board or slab aside, where at least so many are. Drawn yards, all points: of one's own 2.6 times
at least, of another with the same fence, its boards in the same places, 1.6 at most."""
WALLS_PER_M = np.linspace(0.0, 0.4, 11)
"""In it most of the background lies on the ground or on one upright wall straight ahead, at one of these distances
(1/m): were each point free to lie anywhere on its line of sight, a square that moved 7 cm would pass."""
CLEARLY_BETTER = 8.0
"""By how much, in the logarithm of its probability, a move must explain the background better than none: a square lies
where it lay, and a flat valley of the fit must not override it. Drawn yards: unmoved 5 at most, moved 12 at least."""
LEAST_TOLD_CM = 1.0
"""Smaller errors are told as at most this: the ground is read at points that far apart."""
LEAST_STILL, LEAST_OVER_CHANCE = 4, 2
"""Pairs over those by chance that show that the camera stands by a square that has not moved. By chance are as well the
pairs that are found when a point is looked for beside its place: of another yard with the same fence 34 were found, 15
of them beside as well."""
HAND_OFF_CM = 20.0
"""How far a hand that stands where it stood shifts the ground 3 m ahead: 12 cm each way, and 3 degrees of turn."""
UNCHECKED_M, UNCHECKED_DEG = 0.30, 8.0
"""Without enough background, a square is believed unmoved if it puts the camera this near to its first place."""
Repeated = Callable[[GroundPlane, FloatArray], bool]
"""Whether of a photo, laid by a plane and with a wall, no more is seen than a fence repeats."""


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
    side_m : float
        The square's side, meters.
    background : Background
        Its background.
    """

    key: str
    plane: GroundPlane
    corners_px: FloatArray
    side_m: float
    background: Background


@dataclass(frozen=True, eq=False)
class Kept:
    """A photo laid into its point's ground frame.

    Attributes
    ----------
    plane : GroundPlane
        The photo's ground in the point's frame.
    moved_m, turned_deg : float
        How far the square's middle moved, and its turn; 0 if it did not, NaN if it is missing.
    error_px : float
        Root mean square residual of the background, photo pixels; NaN where it was not compared.
    error_cm : float
        Standard error of the frame on the ground 3 m ahead of the camera, centimeters; NaN where it was not compared.
    notes : tuple of str
        What the keeper should know.
    is_confirmed : bool
        Whether the background shows that this is the reference photo's ground.
    """

    plane: GroundPlane
    moved_m: float = 0.0
    turned_deg: float = 0.0
    error_px: float = np.nan
    error_cm: float = np.nan
    notes: tuple[str, ...] = ()
    is_confirmed: bool = True


class OtherGround(PhotoRefused):
    """The background does not show that a photo's square lies on the reference photo's ground."""


def keep_frame(
    picture: NDArray[np.uint8],
    reference: Reference,
    *,
    plane: GroundPlane | None,
    corners_px: FloatArray | None = None,
    focal_px: float | None = None,
    name: str = "photo",
) -> Kept:
    """Lay a photo into its point's ground frame.

    Parameters
    ----------
    picture : ndarray of uint8, shape (rows, cols, 3) or (rows, cols)
        The photo, upright, or the photo in gray.
    reference : Reference
        The point's reference photo.
    plane : GroundPlane or None
        The ground by the square as it lies in this photo; None if no square is seen.
    corners_px : ndarray, shape (4, 2), optional
        The square's corners in this photo.
    focal_px : float, optional
        Focal length from EXIF, for a photo without square.
    name : str
        How error lines call the photo.

    Raises
    ------
    PhotoRefused
        The background does not tell where the photo's ground lies in the point's frame.
    """
    turns = (plane.quarter_turns - reference.plane.quarter_turns) % 4 if plane is not None else 0
    if plane is not None and turns:
        picture, corners_px = (
            np.rot90(picture, -turns),
            None if corners_px is None else _turned(corners_px, plane, turns),
        )
        known: dict[str, Any] = {"corners_px": corners_px, "focal_px": focal_px, "name": name}
        kept = keep_frame(picture, reference, plane=plane.turned(-turns), **known)
        return replace(kept, plane=kept.plane.turned(turns))
    small = reduced(picture)
    if plane is not None and _lies_as_it_did(small, reference, plane):
        return Kept(plane)
    size = (picture.shape[1], picture.shape[0])
    background = background_in(small, corners_px)
    pairs = matched(reference.background, background, size=reference.plane.size, other_size=size)
    comparison = Comparison(pairs, reference.plane, size, (reference.background, background))
    if plane is None:
        return _without_square(comparison, focal_px, name)
    return _with_square(
        comparison, plane, reference.side_m, name, is_repeated=partial(_is_repeated, small, reference)
    )


def is_one_place(one: Reference, other: Reference) -> bool:
    """Whether two photos show one place by their backgrounds, wherever the square lies in each."""
    size = other.plane.size
    pairs = matched(one.background, other.background, size=one.plane.size, other_size=size)
    return _square_move(Comparison(pairs, one.plane, size), other.plane, other.side_m).is_firm


def _turned(corners_px: FloatArray, plane: GroundPlane, turns: int) -> FloatArray:
    """Return where corners lie once the photo is turned back by quarters."""
    there = plane.turned(-turns)
    return np.asarray(apply(there.to_photo @ plane.to_ground, corners_px))


def _lies_as_it_did(small: Reduced, reference: Reference, plane: GroundPlane) -> bool:
    """Cheap check that the square has not moved: the background is seen where it then must be, and not aside."""
    for most, least, times in CHECKED:
        known = Background(reference.background.points[:most], reference.background.bits[:most])
        found = _seen_in(small, reference, known, plane, least=least)
        if found.seen >= least and found.here >= times * found.aside:
            return True
    return False


def _seen_in(
    small: Reduced,
    reference: Reference,
    known: Background,
    plane: GroundPlane,
    wall: FloatArray | None = None,
    *,
    least: int = 0,
) -> Seen:
    """Look for points of the reference photo where a plane puts them, on the ground or one of the usual walls."""
    if not len(known.points):
        return Seen(0, 0, 0)
    ahead = reference.plane.rotation[2, :2]
    walls = np.outer(WALLS_PER_M, ahead / max(float(np.linalg.norm(ahead)), 1e-9))
    sights = lines_of_sight(reference.plane, known.points.astype(float))
    camera = (plane.camera_matrix, plane.rotation, np.array(plane.pose.position_m))
    places = sights(*camera, walls if wall is None else np.vstack([wall, walls]))[2]
    return seen_again(small, known, places, least=least)


def _is_repeated(small: Reduced, reference: Reference, plane: GroundPlane, wall: FloatArray) -> bool:
    """Whether what a photo shows of the background is only what a fence repeats, as that of another yard would."""
    found = _seen_in(small, reference, reference.background, plane, wall)
    return found.aside >= REPEATED and found.here < OVER_ASIDE * found.aside


def _with_square(
    comparison: Comparison, plane: GroundPlane, side_m: float, name: str, *, is_repeated: Repeated
) -> Kept:
    fit = _square_move(comparison, plane, side_m)
    if not fit.is_firm:
        known = tilt_and_height(plane, side_m)
        comparison, fit = comparison.looked_again(fit, plane.camera_matrix, known)
    camera = comparison.plane_after(fit.values, plane.pose)
    if fit.is_firm and not is_repeated(camera, fit.wall):
        laid = _laid(plane, camera)
        moved, turned = _size_of(plane, laid, side_m)
        better = comparison.unlikely_still(plane, side_m, fit) - fit.unlikely
        off_cm = _apart_cm(plane, laid)
        if better < CLEARLY_BETTER or off_cm < max(LEAST_MOVE_CM, CLEAR_MOVE * fit.error_cm):
            return _held_still(plane, fit, off_cm, 1 / (1 + np.exp(CLEARLY_BETTER - better)))
        note = f"{_how_moved(moved, turned)}; {_kept_by_background(fit)}"
        return Kept(laid, moved, turned, fit.error_px, fit.error_cm, (note,))
    start = _as_if_camera_stayed(comparison.reference, plane)
    away = float(np.hypot(*(np.array(plane.pose.position_m) - comparison.reference.pose.position_m)[:2]))
    if away <= UNCHECKED_M and abs(np.degrees(start[2])) <= UNCHECKED_DEG:
        agree, by_chance = comparison.agreeing_still(plane)
        is_clear = agree >= LEAST_STILL + LEAST_OVER_CHANCE * np.fmax(by_chance, fit.by_chance)
        if is_clear and not is_repeated(plane, fit.wall):
            return Kept(plane)
        return _unchecked(plane, comparison.reference)
    raise OtherGround(sentences.WHICH_MOVED, where=name, remedy=sentences.STAND_THERE)


def _laid(plane: GroundPlane, camera: GroundPlane) -> GroundPlane:
    """Lay the ground by a square as a camera sees it; what of its view is no pinhole's (lens, crop) stays."""
    own = plane_of_camera(plane.rotation, np.array(plane.pose.position_m), size=plane.size, like=plane.pose)
    return replace(camera, to_photo=plane.to_photo @ own.to_ground @ camera.to_photo)


def _how_moved(moved_m: float, turned_deg: float) -> str:
    how = sentences.MOVED if turned_deg < LEAST_TOLD_DEG else sentences.MOVED_AND_TURNED
    how = sentences.TURNED if moved_m < LEAST_TOLD_M else how
    return how.format(m=moved_m, degrees=turned_deg)


def _apart_cm(plane: GroundPlane, other: GroundPlane) -> float:
    """Return how far apart two planes lay the ground of a photo 3 m ahead of the camera, root mean square."""
    places = ground_ahead(other.rotation, np.array(other.pose.position_m))
    return 100 * float(np.sqrt(((plane.meters(other.pixels(places)) - places) ** 2).sum(axis=1).mean()))


def _held_still(plane: GroundPlane, fit: Fit, off_cm: float, chance: float) -> Kept:
    """Take the square to lie where it lay; that it moved all the same has a chance, which the error allows for."""
    error_cm = float(np.sqrt(chance * (fit.error_cm**2 + off_cm**2)))
    if error_cm > MOST_ERROR_CM:
        return Kept(plane, notes=(sentences.NOT_CHECKED.format(cm=off_cm),), is_confirmed=False)
    return Kept(plane, error_px=fit.error_px, error_cm=error_cm)


def _unchecked(plane: GroundPlane, reference: GroundPlane) -> Kept:
    """Take the square to lie where it lay, unchecked, and say how far off the ground is if it does not.

    Then the camera stands as it did, as well as a hand holds it.
    """
    turn = _as_if_camera_stayed(reference, plane)[2]
    place = np.array([*reference.pose.position_m[:2], plane.pose.height_m])
    rotation = plane.rotation @ spin_about_vertical(turn).T
    camera = plane_of_camera(rotation, place, size=plane.size, like=plane.pose)
    off_cm = float(np.hypot(_apart_cm(plane, _laid(plane, camera)), HAND_OFF_CM))
    return Kept(plane, notes=(sentences.NOT_CHECKED.format(cm=off_cm),), is_confirmed=False)


def _square_move(comparison: Comparison, plane: GroundPlane, side_m: float) -> Fit:
    """Find the square's move, from where it lay and from where it lies if the camera stands as it did."""
    starts = np.stack([np.zeros(3), _as_if_camera_stayed(comparison.reference, plane)])
    return comparison.square_move(plane, side_m, starts)


def _without_square(comparison: Comparison, focal_px: float | None, name: str) -> Kept:
    first = comparison.reference
    if focal_px is None or first.pose.focal_from != "camera":
        focal_px = first.pose.focal_px * max(comparison.size) / max(first.size)
    fit = comparison.camera_move(focal_px)
    if not fit.is_firm:
        what = f"no square found, and too little background in common with the first photo ({fit.matches} points)"
        raise PhotoRefused(what, where=name, remedy=sentences.STAND_THERE)
    plane = comparison.plane_after(fit.values, replace(first.pose, focal_px=focal_px))
    note = f"no square found; {_kept_by_background(fit)}"
    return Kept(plane, np.nan, np.nan, fit.error_px, fit.error_cm, (note,))


def _kept_by_background(fit: Fit) -> str:
    error = f"{fit.error_cm:.1f}" if fit.error_cm > LEAST_TOLD_CM else f"at most {LEAST_TOLD_CM:.0f}"
    return f"zones kept by the background (error {fit.error_px:.1f} pixels, {error} cm at 3 m)"


def _as_if_camera_stayed(reference: GroundPlane, plane: GroundPlane) -> FloatArray:
    """The square's move if the camera stands and looks exactly as it did."""
    turn = heading(reference) - heading(plane)
    turn = (turn + np.pi) % (2 * np.pi) - np.pi
    place = spin_about_vertical(turn) @ np.array(plane.pose.position_m)
    shift = np.array(reference.pose.position_m) - place
    return np.array([shift[0], shift[1], turn])


def _size_of(plane: GroundPlane, laid: GroundPlane, side_m: float) -> tuple[float, float]:
    """How far the square's middle moves, meters, and its turn, degrees, where its ground is laid anew."""
    corners = side_m * np.array([[0, 0], [1, 0], [1, 1], [0, 1]], float)
    now = laid.meters(plane.pixels(corners))
    first, after = ((points - points.mean(axis=0)) @ np.array([1, 1j]) for points in (corners, now))
    moved = float(np.linalg.norm(now.mean(axis=0) - side_m / 2))
    return moved, float(abs(np.degrees(np.angle(np.vdot(first, after)))))
