"""One photo taken straight down, without a square: which pixels are leaf, and how much of the ground they cover.

At close range a pixel is smaller than a blade, so every pixel is leaf or ground. The photo stands alone: no marks tell
the color of its light, no other date shows what is ground here, and it may show only one of the two. So the index is
one whose zero hardly moves between soils, and the threshold hardly moves between photos.

Excess green weighs red and blue alike, so yellow sand and straw, which reflect little blue, come out as green as a dull
leaf. The index here takes more red away where a pixel is warm (red above blue):

    (2G - R - B - 0.4 max(R - B, 0)) / (R + G + B + k)

In warm pixels that is 2G - 1.4R - 0.6B. Two published measures of green against soil lie to either side of it:
ExG - ExR above zero (Meyer & Camargo Neto 2008, Comput. Electron. Agric. 63:282-293) is 2g - 1.45r - 0.55b above 0.085,
and CIELAB a* near gray falls with 2G - 1.31R - 0.69B. In cool pixels, such as sand in blue shade, it is the excess
green of Woebbecke et al. 1995 (Trans. ASAE 38(1):259-269). k = 100 leaves it as it is in good light and pulls it to 0
in the dark.

Between the blades of dense turf lie small dark gaps: leaves in the shade of leaves. They have hardly any color left,
and a person who draws a mask takes them with the turf. So does this module, where the turf around is dense.

Weight, thresholds and doubts were chosen on photographic grounds and turf of one source package and checked on others:
tests/benchmarks/field_photos.py prints both.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.canopy.cover import Cover, wilson
from swardmark.canopy.index import BRIGHTEST_READABLE, FIRST_VALUE, INDEX_LOW, INDEX_STEP
from swardmark.canopy.patches import bare_patches
from swardmark.canopy.threshold import LEVELS, Threshold, otsu

WARM_WEIGHT = 0.4
"""How much of red-above-blue is taken away besides."""
FIXED = 0.06
"""Threshold of a photo that does not clearly show both leaf and ground."""
GROUND_AT_MOST, LEAF_AT_LEAST = 0.03, 0.09
"""Otsu's two classes are ground and leaf only if their medians lie so far apart; else they are two halves of one."""
WAY_TO_LEAF = 0.4
"""The threshold lies so far on the way from the ground's median to the leaf's; under one half, since leaf is the darker
of the two and a pixel on its edge takes the brighter one's color."""
LOWEST, HIGHEST = 0.04, 0.10
DOUBT = 0.02
"""Half-width of the range in which the right threshold lies for nearly all cameras and soils."""
PHOTO_PCT = 2.0
"""Points of cover by which a photo may be off whatever it shows, 95 %."""
EDGE_SD = 0.10
"""Doubt about the pixels on leaf edges, as a share of four times cover times bare, one standard deviation: so large
that the 95 % interval holds 92 % of the turf laid on grounds that were not chosen on; with 0.05 it held 83 %."""
DARKEST = 15
"""Below this coded value in all channels a pixel is left out. Lower than on the ground map: with dark soil or dark turf
in shade, leaving out more takes away one of the two."""
UNREAD_SHARE = 1 / 3
"""Cover of the unreadable pixels may differ by so much from that of the others, one standard deviation."""
PIXELS_PER_SAMPLE = 400.0
"""Neighboring pixels see the same leaf: this many count as one independent sample."""
DENSE, DENSE_REACH = 0.85, 1 / 24
"""Where more than this share of the pixels around is canopy, a dark gap no redder than gray is a shaded leaf. Around: a
square of this part of the photo's shorter side."""
LEVEL_OF_GRAY = round(-INDEX_LOW / INDEX_STEP)
ROWS_AT_A_TIME = 256

Colors = NDArray[np.uint8]
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


def cover_straight_down(
    rgb: Colors, *, threshold: float | str = "auto", damping: float = 100.0
) -> StraightDownCover:
    """Measure the cover of a photo taken straight down, without a reference square.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        Coded camera values (sRGB), red first.
    threshold : float or "auto"
        Index above which a pixel is leaf.
    damping : float
        k of the index, in 8-bit steps.

    Returns
    -------
    StraightDownCover
        The cover with its 95 % interval, the number of points read and the outlines of the bare ground. `area_m2` is
        NaN because the photo has no scale.
    """
    if rgb.ndim != 3 or rgb.shape[2] != 3 or rgb.dtype != np.uint8:
        raise ValueError(f"rgb must be uint8 of shape (rows, cols, 3), not {rgb.dtype} of shape {rgb.shape}")
    levels, readable = _levels(rgb, damping=damping)
    counts = np.bincount(levels[readable], minlength=len(LEVELS))
    chosen = field_threshold(counts, setting=threshold)
    green = readable & (chosen.leaf_shares() > 0)[levels]
    mask = green | (_dense(green, readable) & readable & (levels >= LEVEL_OF_GRAY))
    clipped = int((rgb.min(axis=2) > BRIGHTEST_READABLE).sum())
    return _cover(counts, mask, readable, chosen, clipped=clipped)


def leaf_index(rgb: Colors, *, damping: float = 100.0) -> NDArray[np.float32]:
    """Compute the index of this module for colors of shape (..., 3): above about 0.06 is leaf; 0 for any gray."""
    red, green, blue = (np.asarray(rgb[..., channel], np.float32) for channel in range(3))
    warm = np.float32(WARM_WEIGHT) * np.maximum(red - blue, 0)
    total = np.maximum(red + green + blue + np.float32(damping), 1)
    return np.asarray((2 * green - red - blue - warm) / total, np.float32)


def field_threshold(counts: ArrayLike, *, setting: float | str = "auto") -> Threshold:
    """Choose the threshold of a single photo taken straight down.

    Otsu's method (Otsu 1979, IEEE Trans. SMC 9(1):62-66) always finds two classes, on bare ground and in full turf too.
    Only where one of them is as little green as ground and the other as green as leaf does the threshold follow them,
    within narrow limits; else it is the fixed one.

    Parameters
    ----------
    counts : array_like of int, shape (254,)
        Counts of the index levels `swardmark.canopy.threshold.LEVELS`.
    setting : float or "auto"
        The keeper's own value, if given.
    """
    if not isinstance(setting, str):
        return _sharp(float(setting), DOUBT / 2, "keeper")
    histogram = np.asarray(counts)
    if np.count_nonzero(histogram) > 1:
        split = otsu(histogram)[0] + 1
        ground, leaf = _median_level(histogram[:split]), split + _median_level(histogram[split:])
        low, high = float(LEVELS[ground]), float(LEVELS[leaf])
        if low <= GROUND_AT_MOST and high >= LEAF_AT_LEAST:
            value = float(np.clip(low + WAY_TO_LEAF * (high - low), LOWEST, HIGHEST))
            return _sharp(round(value, 4), DOUBT, "leaf and ground")
    return _sharp(FIXED, DOUBT, "fixed")


def _levels(rgb: Colors, *, damping: float) -> tuple[NDArray[np.uint8], Mask]:
    """Return each pixel's index level, 0..253, and where it is bright enough to have one; a few rows at a time."""
    levels = np.empty(rgb.shape[:2], np.uint8)
    for top in range(0, len(rgb), ROWS_AT_A_TIME):
        rows = slice(top, top + ROWS_AT_A_TIME)
        steps = (leaf_index(rgb[rows], damping=damping) - np.float32(INDEX_LOW)) * np.float32(1 / INDEX_STEP)
        levels[rows] = np.clip(np.rint(steps), 0, 255 - FIRST_VALUE)
    return levels, rgb.max(axis=2) >= DARKEST


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
    counts: NDArray[np.int64], mask: Mask, readable: Mask, threshold: Threshold, *, clipped: int
) -> StraightDownCover:
    read, pixels, nothing = int(counts.sum()), max(mask.size, 1), float("nan")
    share = float(mask.sum()) / read if read else nothing
    low, high = _interval(counts, share, threshold, unread=(pixels - read + clipped) / pixels)
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
        threshold=threshold.value,
    )


def _interval(
    counts: NDArray[np.int64], share: float, threshold: Threshold, *, unread: float
) -> tuple[float, float]:
    """Add up the doubts: threshold, gaps taken for leaf, sampling, leaf edges, unread pixels, the photo itself."""
    read = int(counts.sum())
    if read == 0:
        return float("nan"), float("nan")
    more, green, fewer = (float(counts @ threshold.leaf_shares(turn) / read) for turn in (-1, 0, 1))
    sample_low, sample_high = wilson(share * read / PIXELS_PER_SAMPLE, read / PIXELS_PER_SAMPLE)
    edges = 1.96 * EDGE_SD * 4 * share * (1 - share)
    common = (PHOTO_PCT / 100, edges, 1.96 * UNREAD_SHARE * unread)
    down = float(np.linalg.norm((green - fewer, share - green, share - sample_low, *common)))
    up = float(np.linalg.norm((more - green, sample_high - share, *common)))
    return max(0.0, share - down), min(1.0, share + up)


def _median_level(histogram: NDArray[np.int64]) -> int:
    return int(np.searchsorted(np.cumsum(histogram), histogram.sum() / 2))


def _sharp(value: float, doubt: float, source: str) -> Threshold:
    return Threshold(value, value - doubt, value + doubt, source, value, value)
