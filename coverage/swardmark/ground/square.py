"""The reference square as a photo shows it.

Corners are numbered as seen from the photo point: 0 near left, 1 near right, 2 far right, 3 far left.
"""

from __future__ import annotations

from dataclasses import dataclass

from swardmark.common.errors import PhotoRefused
from swardmark.ground.edges import FloatArray


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
