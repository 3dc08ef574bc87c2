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
LEAST_ROWS = 4
COLUMNS = 8


def largest_step(rgb: NDArray[np.uint8], block_rows: int) -> float:
    """Return the largest step of color along a seam between two rows of blocks.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The picture as it was decoded, not yet turned upright.
    block_rows : int
        Rows of pixels in a row of blocks: 8 or 16, less where the picture was reduced.

    Returns
    -------
    float
        Step of red or blue over green, 8-bit levels, less what it is a pixel above or below; 0 where the blocks are too
        small to tell.
    """
    import cv2

    rows, cols = rgb.shape[0], rgb.shape[1] // COLUMNS * COLUMNS
    borders = np.arange(block_rows, rows - 2, block_rows)
    if block_rows < LEAST_ROWS or len(borders) < 2 or not cols:
        return 0.0
    near = rgb[(borders[:, None] + np.arange(-2, 2)).ravel(), :cols]
    size = cols // COLUMNS, len(near)
    means = cv2.resize(near, size, interpolation=cv2.INTER_AREA)
    green = means[..., 1].astype(np.int16)
    along = np.zeros((len(borders) - 1, 3))
    for channel in (0, 2):
        over_green = (means[..., channel] - green).reshape(len(borders), 4, size[0])
        left = np.cumsum(np.diff(over_green, axis=1), axis=2, dtype=np.int32)
        whole = left[:-1, :, -1:]
        bent = whole - left[:-1] + left[1:]
        broken = np.maximum(bent.max(axis=2), -bent.min(axis=2))
        along = np.maximum(along, np.maximum(broken, np.abs(whole[..., 0])) / size[0])
    return max(0.0, float((along[:, 1] - np.maximum(along[:, 0], along[:, 2])).max()))
