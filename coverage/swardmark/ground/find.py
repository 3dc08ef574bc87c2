"""Find the reference square in a photo: four corner marks, else a plain light frame; or the keeper's hand marks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.common.errors import PhotoRefused
from swardmark.ground import sentences
from swardmark.ground.edges import FloatArray
from swardmark.ground.frame import find_frame
from swardmark.ground.marks import are_mirrored, find_marks
from swardmark.ground.ragged import find_ragged
from swardmark.ground.square import FoundBy, NoSquare, Square
from swardmark.ground.trust import PRINTED_MARK_MM, check_outline

HAND_ERROR_PX = 3.0
"""How well a hand sets a corner on a screen: common practice, no source."""
HAND_REACH = 0.03
"""A corner set by hand is moved to a mark's corner that lies nearer than this share of the square's shortest side."""


def find_square(
    rgb: NDArray[np.uint8],
    *,
    side_m: float = 1.0,
    focal_px: float | None = None,
    near: FloatArray | None = None,
    mark_mm: float = PRINTED_MARK_MM,
    gray: NDArray[np.uint8] | None = None,
    name: str = "photo",
) -> Square:
    """Find the square by its corner marks, or where there is no mark at all by a plain light frame.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo, upright.
    side_m : float
        The square's side, meters.
    focal_px : float, optional
        Focal length from EXIF; a light frame is judged by it.
    near : ndarray, shape (4, 2), optional
        The square's corners in another photo of the point: searched first, and they tell which corner is which of a
        frame. Where the first search fails, a tolerant one looks near there for marks that blades have bitten.
    mark_mm : float
        Side of a printed black mark, millimeters.
    gray : ndarray of uint8, shape (rows, cols), optional
        The photo in gray, where it is known already.
    name : str
        How error lines call the photo.

    Raises
    ------
    NoSquare
        There is neither a mark nor a frame.
    PhotoRefused
        What is found may not be a square, or is mirrored.
    """

    try:
        return find_marks(rgb if gray is None else gray, near=near, name=name)
    except PhotoRefused as refusal:
        ragged = None if near is None else find_ragged(rgb, near, mark_share=mark_mm / 1000 / side_m)
        if ragged is not None:
            return ragged
        if not isinstance(refusal, NoSquare):
            raise
    try:
        return find_frame(rgb, side_m=side_m, focal_px=focal_px, near=near, name=name)
    except NoSquare:
        if are_mirrored(rgb):
            raise PhotoRefused(sentences.MIRRORED, where=name, remedy=sentences.UNMIRROR) from None
        raise


def hand_square(rgb: NDArray[np.uint8], corners_px: ArrayLike, *, name: str = "photo") -> Square:
    """Take the corners that the keeper set, in order; corners close to real marks' corners move onto them.

    Raises
    ------
    PhotoRefused
        The corners do not run round a four-sided figure in the order 0, 1, 2, 3.
    """

    corners = np.asarray(corners_px, float)
    check_outline(corners, size=(rgb.shape[1], rgb.shape[0]), name=name)
    try:
        found = find_marks(rgb, near=corners, name=name)
    except PhotoRefused:
        return Square(corners, FoundBy.HAND_MARKS, HAND_ERROR_PX)
    shortest = float(np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1).min())
    if np.linalg.norm(found.corners_px - corners, axis=1).max() > HAND_REACH * shortest:
        note = "the corners set by hand differ from the marks in the photo; those set by hand were used"
        return Square(corners, FoundBy.HAND_MARKS, HAND_ERROR_PX, (note,))
    return replace(found, how=FoundBy.HAND_MARKS)
