"""A seam: from one block on, all the rest of a JPEG has another color, as where some of its data are lost.

Each block's mean color is coded as a difference to the block before (ITU-T T.81, F.1.1.5.1). Data that are lost or
doubled shift all that follow, and where the decoder falls back into step it says nothing. The shift begins somewhere in
a row of blocks: the seam is the row's upper border to the right of that place and its lower border to the left of it,
from rim to rim and sharp to the pixel. Nothing on a lawn looks like that in color; the foot of a fence does in
brightness, which is left out.
"""

from __future__ import annotations

from itertools import pairwise

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
    few = largest_step(rgb, block_rows, every_column=False)
    return few > LEAST_STEP - SPARSE_ERROR and largest_step(rgb, block_rows) > LEAST_STEP


def largest_step(rgb: NDArray[np.uint8], block_rows: int, *, every_column: bool = True) -> float:
    """Return the largest step of color along a seam between two rows of blocks.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The picture as it was decoded, not yet turned upright.
    block_rows : int
        Rows of pixels in a row of blocks: 8 or 16, less where the picture was reduced.
    every_column : bool
        Whether to read the means of eight columns each, or one of the eight.

    Returns
    -------
    float
        Step of red or blue over green, 8-bit levels, less what it is a pixel above or below; 0 where the blocks are too
        small to tell.
    """
    import cv2

    size = rgb.shape[1] // COLUMNS, len(range(block_rows, rgb.shape[0] - 2, block_rows))
    if block_rows < LEAST_ROWS or min(size) < 2:
        return 0.0
    way = cv2.INTER_AREA if every_column else cv2.INTER_NEAREST
    beside = (rgb[block_rows + off :: block_rows, : size[0] * COLUMNS][: size[1]] for off in range(-2, 2))
    lines = [cv2.split(cv2.resize(line, size, interpolation=way)) for line in beside]
    along = np.zeros((3, size[1] - 1))
    for channel in (0, 2):
        over_green = [line[channel].astype(np.int16) - line[1].astype(np.int16) for line in lines]
        steps = (below - above for above, below in pairwise(over_green))
        along = np.maximum(along, [_along(step) for step in steps])
    return max(0.0, float((along[1] - np.maximum(along[0], along[2])).max()))


def _along(step: NDArray[np.int16]) -> NDArray[np.float64]:
    """Return the largest mean step along a seam that leaves a border anywhere for the next one, shape (borders - 1,).

    `step`, of shape (borders, columns), is that of color from one line to the next at each border.
    """
    left = np.cumsum(step, axis=1, dtype=np.int32)
    whole = left[:-1, -1:]
    bent = whole - left[:-1] + left[1:]
    broken = np.maximum(bent.max(axis=1), -bent.min(axis=1))
    return np.asarray(np.maximum(broken, np.abs(whole[:, 0])) / step.shape[1])
