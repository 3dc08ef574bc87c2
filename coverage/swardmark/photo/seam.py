"""A seam: from one block on, all the rest of a JPEG has another color, as where some of its data are lost.

Each block's mean color is coded as a difference to the block before (ITU-T T.81, F.1.1.5.1). Data that are lost or
doubled shift all that follow, and where the decoder falls back into step it says nothing. The shift begins somewhere in
a row of blocks: the seam is the row's upper border to the right of that place and its lower border to the left of it,
from rim to rim and sharp to the pixel. Nothing on a lawn looks like that in color; the foot of a fence does in
brightness, which is left out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

LEAST_STEP = 5.0
"""Step of red or blue over green along a seam, 8-bit levels. Photographs (scikit-image's, cut at all heights): 2.8 at
most, drawn lawns 4.0; data lost that put a cover outside its interval: 7 and more (damaged_photos.py)."""
SPARSE_ERROR = 1.5
"""How far the step of every eighth column may lie below that of all; drawn lawns: 0.1 at most."""
LEAST_ROWS = 4
COLUMNS = 8


def has_seam(rgb: NDArray[np.uint8], block_rows: int) -> bool:
    """Tell whether a picture has a seam; `rgb` and `block_rows` as in `largest_step`.

    A few columns tell of nearly every photo that it has none.
    """
    few = largest_step(rgb, block_rows, every_column=False, least=LEAST_STEP - SPARSE_ERROR)
    return few > 0 and largest_step(rgb, block_rows) > LEAST_STEP


def largest_step(
    rgb: NDArray[np.uint8], block_rows: int, *, every_column: bool = True, least: float = 0.0
) -> float:
    """Return the largest step of color along a seam between two rows of blocks.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The picture as it was decoded, not yet turned upright.
    block_rows : int
        Rows of pixels in a row of blocks: 8 or 16, less where the picture was reduced.
    every_column : bool
        Whether to read the means of eight columns each, or one of the eight.
    least : float
        Smaller steps count as none.

    Returns
    -------
    float
        Step of red or blue over green, 8-bit levels, less what it is a pixel above or below; 0 where the blocks are too
        small to tell.
    """
    import cv2

    borders, width = np.arange(block_rows, rgb.shape[0] - 2, block_rows), rgb.shape[1] // COLUMNS
    if block_rows < LEAST_ROWS or min(width, len(borders)) < 2:
        return 0.0
    way = cv2.INTER_AREA if every_column else cv2.INTER_NEAREST

    def over_green(rows: NDArray[np.intp]) -> NDArray[np.int16]:
        lines = cv2.resize(rgb[rows, : width * COLUMNS], (width, len(rows)), interpolation=way)
        red, green, blue = cv2.split(lines)
        return np.stack([cv2.subtract(channel, green, dtype=cv2.CV_16S) for channel in (red, blue)])

    def steps_to(rows: NDArray[np.intp]) -> NDArray[np.int16]:
        return over_green(rows) - over_green(rows - 1)

    step = steps_to(borders)
    along = _along(step[:, :-1], step[:, 1:])
    large = np.flatnonzero(along > least)
    if not len(large):
        return 0.0
    both = (borders[large, None] + [0, block_rows]).ravel()
    before, after = (_along(step[:, ::2], step[:, 1::2]) for step in (steps_to(both - 1), steps_to(both + 1)))
    largest = float((along[large] - np.maximum(before, after)).max())
    return largest if largest > least else 0.0


def _along(step: NDArray[np.int16], below: NDArray[np.int16]) -> NDArray[np.float64]:
    """Return the largest mean step along a seam that leaves a border anywhere for the next one, shape (borders,).

    `step` and `below`, of shape (2, borders, columns), are those of red and blue from one line to the next at each
    border and at the next one.
    """
    left, left_below = (np.cumsum(one, axis=2, dtype=np.int32) for one in (step, below))
    whole = left[..., -1:]
    bent = whole - left + left_below
    broken = np.maximum(bent.max(axis=2), -bent.min(axis=2))
    return np.asarray(np.maximum(broken, np.abs(whole[..., 0])).max(axis=0) / step.shape[2])
