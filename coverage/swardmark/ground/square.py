"""The reference square as a photo shows it.

Corners are numbered as seen from the photo point: 0 near left, 1 near right, 2 far right, 3 far left.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from swardmark.common.errors import PhotoRefused
from swardmark.ground.edges import FloatArray


class FoundBy(StrEnum):
    """What a square's corners were found by, in the words that are kept and shown."""

    CORNER_MARKS = "corner marks"
    THREE_CORNER_MARKS = "three corner marks"
    LIGHT_FRAME = "light frame"
    HAND_MARKS = "hand marks"

    @property
    def has_white(self) -> bool:
        """Whether printed marks tell the color of the light."""
        return self in (FoundBy.CORNER_MARKS, FoundBy.THREE_CORNER_MARKS)


@dataclass(frozen=True, eq=False)
class Square:
    """The reference square as found in a photo.

    Attributes
    ----------
    corners_px : ndarray, shape (4, 2)
        Corners 0..3 in upright pixels.
    how : FoundBy
        What its corners were found by.
    error_px : float
        How well it was seen, pixels (root mean square): for marks their misfit with squares, for a frame how straight
        its edges are, for hand marks a usual hand's error.
    notes : tuple of str
        What the keeper should know of it.
    mark_share : float
        Side of a black mark as share of the square's side; NaN where no mark was seen.
    """

    corners_px: FloatArray
    how: FoundBy
    error_px: float
    notes: tuple[str, ...] = ()
    mark_share: float = float("nan")


class NoSquare(PhotoRefused):
    """Nothing like a square is in the photo."""
