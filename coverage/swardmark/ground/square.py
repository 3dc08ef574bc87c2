"""Find the reference square in a photo: four corner marks, else a plain light frame; or the keeper's hand marks.

Corners are numbered as seen from the photo point: 0 near left, 1 near right, 2 far right, 3 far left.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.errors import PhotoRefused
from swardmark.ground.edges import FloatArray

HAND_ERROR_PX = 3.0
"""How well a hand sets a corner on a screen: common practice, no source."""
HAND_REACH = 0.03
"""A corner set by hand is moved to a mark's corner that lies nearer than this share of the square's shortest side."""


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
        How well it was seen, pixels (root mean square): for marks their misfit with squares, for a frame how straight
        its edges are, for hand marks a usual hand's error.
    notes : tuple of str
        What the keeper should know of it.
    """

    corners_px: FloatArray
    how: str
    error_px: float
    notes: tuple[str, ...] = ()


class NoSquare(PhotoRefused):
    """Nothing like a square is in the photo."""


def find_square(
    rgb: NDArray[np.uint8],
    *,
    side_m: float = 1.0,
    focal_px: float | None = None,
    near: FloatArray | None = None,
    name: str = "photo",
) -> Square:
    """Find the square by its corner marks, or where there is no mark at all by a plain light frame.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo, upright.
    side_m : float
        The square's side, metres.
    focal_px : float, optional
        Focal length from EXIF; a light frame is judged by it.
    near : ndarray, shape (4, 2), optional
        The square's corners in another photo of the point: searched first, and they tell which corner is which of a
        frame.
    name : str
        How error lines call the photo.

    Raises
    ------
    NoSquare
        There is neither a mark nor a frame.
    PhotoRefused
        What is found may not be a square.
    """
    from swardmark.ground.corner_marks import find_marks
    from swardmark.ground.light_frame import find_frame

    try:
        return find_marks(rgb, near=near, name=name)
    except NoSquare:
        return find_frame(rgb, side_m=side_m, focal_px=focal_px, near=near, name=name)


def hand_square(rgb: NDArray[np.uint8], corners_px: ArrayLike, *, name: str = "photo") -> Square:
    """Take the corners that the keeper set, in order; corners close to real marks' corners move onto them.

    Raises
    ------
    PhotoRefused
        The corners do not run round a four-sided figure in the order 0, 1, 2, 3.
    """
    from swardmark.ground.corner_marks import find_marks
    from swardmark.ground.trust import check_outline

    corners = np.asarray(corners_px, float)
    check_outline(corners, size=(rgb.shape[1], rgb.shape[0]), name=name)
    try:
        found = find_marks(rgb, near=corners, name=name)
    except PhotoRefused:
        return Square(corners, "hand marks", HAND_ERROR_PX)
    shortest = float(np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1).min())
    if np.linalg.norm(found.corners_px - corners, axis=1).max() > HAND_REACH * shortest:
        note = "the corners set by hand are not those of the marks in the photo; the hand's were used"
        return Square(corners, "hand marks", HAND_ERROR_PX, (note,))
    return replace(found, how="hand marks")
