"""One photo taken straight down, without a square: which pixels are canopy, and how much of the ground they hide.

At close range a pixel is smaller than a blade, so every pixel is leaf or ground: the scale of pure pixels
(`swardmark.canopy.scale`), fitted to this one photo. No marks tell the color of its light and it may show only leaf or
only ground; the pull toward usual values is made for that.

Before the index is taken the photo is smoothed a little, and a noisy one more: chroma noise is as strong as the color
of a dull leaf. Between the blades of dense turf lie straws and small dark gaps, leaves in the shade of leaves. They
have hardly any color, and a person who draws a mask takes them with the turf. So does this module, where the turf
around is dense.

Constants were chosen on photographic grounds and turf of one source package and checked on others:
tests/benchmarks/field_photos.py prints both, and scores any folder of photos with masks.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.cover import Cover, wilson
from swardmark.canopy.index import (
    BRIGHTEST_READABLE,
    FIRST_VALUE,
    INDEX_LOW,
    INDEX_STEP,
    UNREADABLE,
    index_bytes,
)
from swardmark.canopy.patches import bare_patches
from swardmark.canopy.scale import LeafScale, leaf_scale
from swardmark.common.color import colors_of
from swardmark.common.errors import UsageError, check_argument

SMOOTHED_PX, NOISY_SMOOTHED_PX, NOISY = 1.0, 2.0, 3.0
"""Standard deviation of the smoothing, in pixels; that of a noisy photo; and the noise from which it is one, the median
difference of green less red and blue from its neighbors' median, in 8-bit steps."""
PHOTO_PCT = 2.0
"""Points of cover by which a photo may be off whatever it shows, 95 %."""
EDGE_SD = 0.07
"""Doubt about the pixels on leaf edges, as a share of four times cover times bare, one standard deviation: so large
that the 95 % interval holds 92 % of the turf laid on grounds that were not chosen on."""
DARKEST = 15
"""Below this coded value in all channels a pixel is left out. Lower than on the ground map: with dark soil or dark turf
in shade, leaving out more takes away one of the two."""
UNREAD_SHARE = 1 / 3
"""Cover of the unreadable pixels may differ by so much from that of the others, one standard deviation."""
PIXELS_PER_SAMPLE = 400.0
"""Neighboring pixels see the same leaf: this many count as one independent sample."""
DENSE, DENSE_REACH = 0.85, 1 / 24
"""Where more than this share of the pixels around is canopy, a gap no redder than gray belongs to the turf. Around: a
square of this part of the photo's shorter side."""
VALUE_OF_GRAY = round(-INDEX_LOW / INDEX_STEP) + FIRST_VALUE
ROWS_AT_A_TIME = 256

Picture = NDArray[np.uint8]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class StraightDownCover(Cover):
    """Percent cover of a photo taken straight down: the points read, the interval, and the bare ground outlined.

    Attributes
    ----------
    is_leaf, is_readable : ndarray of bool, shape (rows, cols)
        Which pixels were counted as leaf, and which were bright enough to be read.
    threshold : float
        Index above which a pixel was counted as leaf.
    """

    is_leaf: Mask = field(repr=False)
    is_readable: Mask = field(repr=False)
    threshold: float

    @cached_property
    def outlines(self) -> tuple[NDArray[np.float64], ...]:
        """Bare ground on the photo: closed rings of x and y in pixels, shape (N, 2), the largest first."""
        return bare_patches(self.is_leaf, self.is_readable)


def cover_straight_down(rgb: Picture, *, threshold: float | str = "auto") -> StraightDownCover:
    """Measure the cover of a photo taken straight down, without a reference square.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        Coded camera values (sRGB), red first.
    threshold : float or "auto"
        Index above which a pixel is leaf.

    Returns
    -------
    StraightDownCover
        The cover with its 95 % interval, the number of points read and the outlines of the bare ground. `area_m2` is
        NaN because the photo has no scale.

    Raises
    ------
    UsageError
        The array is no photo.
    """
    where, remedy = "cover_straight_down", "Give the rgb of read_photo: uint8, shape (rows, cols, 3)"
    check_argument(rgb, np.ndarray, name="rgb", where=where, remedy=remedy)
    if rgb.ndim != 3 or rgb.shape[2] != 3 or rgb.dtype != np.uint8:
        raise UsageError(f"rgb: {rgb.dtype} of shape {rgb.shape} is no photo", where=where, remedy=remedy)
    values = straight_values(rgb)
    scale = leaf_scale(np.bincount(values.ravel(), minlength=256), setting=threshold)
    is_leaf = scale.shares_of_values() > 0
    readable, green = values >= FIRST_VALUE, is_leaf[values]
    mask = green | (_dense(green, readable) & readable & (values >= VALUE_OF_GRAY))
    clipped = int((rgb.min(axis=2) > BRIGHTEST_READABLE).sum())
    return _cover(values, mask, readable, scale, clipped=clipped)


def straight_values(rgb: Picture) -> NDArray[np.uint8]:
    """Return the map values of a photo taken straight down, shape (rows, cols): smoothed, then indexed."""
    import cv2

    if not rgb.size:
        return np.zeros(rgb.shape[:2], np.uint8)
    width = NOISY_SMOOTHED_PX if chroma_noise(rgb) >= NOISY else SMOOTHED_PX
    smooth = np.asarray(cv2.GaussianBlur(rgb, (0, 0), width), np.uint8)
    values = np.empty(rgb.shape[:2], np.uint8)
    for top in range(0, len(rgb), ROWS_AT_A_TIME):
        rows = slice(top, top + ROWS_AT_A_TIME)
        values[rows] = index_bytes(colors_of(smooth[rows]), darkest=0, brightest=255)
    values[rgb.max(axis=2) < DARKEST] = UNREADABLE
    return values


def chroma_noise(rgb: Picture) -> float:
    """Return how far green less red and blue lies from its neighbors' median, in 8-bit steps, in the photo's middle."""
    import cv2

    (height, width), half = rgb.shape[:2], 256
    top, left = max(0, height // 2 - half), max(0, width // 2 - half)
    part = rgb[top : top + 2 * half, left : left + 2 * half].astype(np.float32)
    above = part[..., 1] - (part[..., 0] + part[..., 2]) / 2
    return float(np.median(np.abs(above - cv2.medianBlur(above, 3))))


def _dense(green: Mask, readable: Mask) -> Mask:
    """Return where nearly all readable pixels around are canopy."""
    from cv2 import BORDER_REFLECT, boxFilter

    side = max(3, round(min(green.shape) * DENSE_REACH)) | 1
    leaf, all_read = (
        boxFilter(which.view(np.uint8) * np.uint8(255), -1, (side, side), borderType=BORDER_REFLECT)
        for which in (green, readable)
    )
    enough = (DENSE * np.arange(256)).astype(np.uint8)
    return np.asarray(leaf > enough[all_read], bool)


def _cover(
    values: NDArray[np.uint8], mask: Mask, readable: Mask, scale: LeafScale, *, clipped: int
) -> StraightDownCover:
    counts = np.bincount(values.ravel(), minlength=256)[FIRST_VALUE:]
    read, pixels, nothing = int(counts.sum()), max(mask.size, 1), float("nan")
    share = float(mask.sum()) / read if read else nothing
    low, high = _interval(counts, share, scale, unread=(pixels - read + clipped) / pixels)
    return StraightDownCover(
        cover_pct=100 * share,
        low_pct=100 * low,
        high_pct=100 * high,
        seen_pct=100 * share,
        readable_pct=100 * max(read - clipped, 0) / pixels,
        view_deg=0.0 if read else nothing,
        area_m2=nothing,
        points=read,
        is_leaf=mask,
        is_readable=readable,
        threshold=scale.value,
    )


def _interval(
    counts: NDArray[np.int64], share: float, scale: LeafScale, *, unread: float
) -> tuple[float, float]:
    """Add up the doubts: scale, gaps taken for leaf, sampling, leaf edges, unread pixels, the photo itself."""
    read = int(counts.sum())
    if read == 0:
        return float("nan"), float("nan")
    more, green, fewer = (float(counts @ scale.leaf_shares(turn) / read) for turn in (-1, 0, 1))
    sample_low, sample_high = wilson(share * read / PIXELS_PER_SAMPLE, read / PIXELS_PER_SAMPLE)
    edges = 1.96 * EDGE_SD * 4 * share * (1 - share)
    common = (PHOTO_PCT / 100, edges, 1.96 * UNREAD_SHARE * unread)
    down = float(np.linalg.norm((green - fewer, share - green, share - sample_low, *common)))
    up = float(np.linalg.norm((more - green, sample_high - share, *common)))
    return max(0.0, share - down), min(1.0, share + up)
