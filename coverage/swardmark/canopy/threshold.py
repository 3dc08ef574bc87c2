"""From excess green to leaf: the photo point's one scale between bare ground and leaf, and how sure it is.

One histogram is pooled over all dates of a photo point and read once. A threshold per photo would follow the photo's
own contents: Otsu's method (Otsu 1979, IEEE Trans. SMC 9(1):62-66) splits a bare or a full lawn in two halves that do
not exist.

A blade is 2 or 3 mm wide and a pixel of a slanting photo sees 2 to 15 mm of ground, so most points are part leaf, part
ground. Such a pixel's colour is the mixture of both colours, and its index tells how much leaf it holds. Each point is
therefore counted by its leaf share, from 0 at the ground's own index to 1 at the leaf's; the threshold is the index of
the half-leaf pixel. Measured on drawn lawns (tests/benchmarks/accuracy.py), counting whole points above the threshold
instead overstates dense turf by 10 to 18 points at 50 to 75 degrees from the vertical and understates thin turf.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.canopy.index import FIRST_VALUE, INDEX_LOW, INDEX_STEP, GroundMap

POOLED_DOUBT = 0.012
"""Half-width of the range in which the right threshold lies for nearly all lawns, read from the pooled histogram of
balanced photos."""
USUAL_GROUND, GROUND_REACH, GROUND_RANGE = 0.028, 0.05, (-0.15, 0.08)
"""Index of sand and soil: usual value, how far from it a peak is taken readily, and where it is looked for."""
USUAL_LEAF, LEAF_REACH, LEAF_RANGE = 0.215, 0.20, (0.12, 0.50)
"""Index of leaves, likewise. Both from drawn lawns in four lights and from the field rule: half leaf falls at 0.10."""
GROUND_SPREAD, LEAF_SPREAD = (0.006, 0.03), (0.01, 0.05)
"""Least and largest standard deviation of either, measured on the side away from the mixed pixels."""
GROUND_SPREADS, LEAF_SPREADS = 0.5, 1.0
"""Standard deviations from the peaks, inward, at which the leaf share begins and is complete."""
BRIGHTNESS_RATIO = 0.5
"""Brightness of leaves over that of sand, by which a mixed pixel's index leans toward the brighter part. Measured
together with the slant step, so that bare, thin and dense turf come out with the least error."""
LEAST_FULL = 0.15
"""No leaf is taken complete below this index: where the leaves are young and few their peak is broad, and its foot
would count half-leaf pixels whole."""
SMOOTHING_LEVELS = 3.0

LEVELS = INDEX_LOW + INDEX_STEP * np.arange(256 - FIRST_VALUE)


@dataclass(frozen=True)
class Threshold:
    """How excess green is read as leaf.

    Attributes
    ----------
    value : float
        The index of a pixel that is half leaf.
    low, high : float
        The range in which the right one probably lies; it widens the interval of every cover.
    source : str
        "pooled histogram", "usual values", "fixed" or "keeper".
    bare, full : float
        Index up to which a point holds no leaf, and from which it is all leaf; both equal to `value` where every
        point is one or the other.
    """

    value: float
    low: float
    high: float
    source: str
    bare: float
    full: float

    def leaf_shares(self, shift: float = 0.0) -> NDArray[np.float64]:
        """Return the leaf share 0..1 of map values 2..255, shape (254,), with the whole scale moved by `shift`."""
        bare, full = self.bare + shift, self.full + shift
        if full - bare < INDEX_STEP:
            return np.greater(LEVELS, self.value + shift + 1e-9).astype(float)
        way = np.clip((LEVELS - bare) / (full - bare), 0, 1)
        return np.asarray(way / (way + BRIGHTNESS_RATIO * (1 - way)))


def pooled_counts(maps: Iterable[GroundMap]) -> NDArray[np.int64]:
    """Count the map values of all dates of a photo point, shape (256,)."""
    counts = np.zeros(256, np.int64)
    for ground_map in maps:
        counts += np.bincount(ground_map.values.ravel(), minlength=256)
    return counts


def choose_threshold(counts: ArrayLike, *, setting: float | str = "auto") -> Threshold:
    """Choose a photo point's scale from its pooled counts.

    Parameters
    ----------
    counts : array_like of int, shape (256,)
        Counts of map values, as from `pooled_counts`; values 0 and 1 are left out.
    setting : float or "auto"
        The keeper's own value for the half-leaf pixel, if given; the scale is laid around it.
    """
    bare, full, found = _scale(np.asarray(counts, float)[FIRST_VALUE:])
    value = round(bare + _HALF_LEAF * (full - bare), 4)
    if isinstance(setting, str):
        source = "pooled histogram" if found else "usual values"
        return Threshold(value, value - POOLED_DOUBT, value + POOLED_DOUBT, source, bare, full)
    shift = float(setting) - value
    low, high = setting - POOLED_DOUBT, setting + POOLED_DOUBT
    return Threshold(float(setting), low, high, "keeper", bare + shift, full + shift)


def otsu(counts: ArrayLike) -> tuple[int, float]:
    """Split a histogram where the variance between its two classes is largest.

    Parameters
    ----------
    counts : array_like, shape (levels,)
        Count at each level; at least one must be positive.

    Returns
    -------
    level : int
        The last level of the lower class. Where several levels tie (an empty stretch), the middle one.
    separability : float
        Between-class variance over total variance, 0..1; 0 for a single level. It is no measure of quality: a plain
        Gaussian has 0.64.

    References
    ----------
    Otsu, N. (1979), A threshold selection method from gray-level histograms, IEEE Trans. SMC 9(1):62-66.
    """
    share = np.asarray(counts, float)
    if share.ndim != 1 or not share.sum() > 0:
        raise ValueError("a histogram with at least one count is needed")
    share = share / share.sum()
    level = np.arange(len(share))
    mean, below = float(share @ level), np.cumsum(share)
    moment = np.cumsum(share * level)
    total = float(share @ (level - mean) ** 2)
    with np.errstate(divide="ignore", invalid="ignore"):
        between = np.nan_to_num((mean * below - moment) ** 2 / (below * (1 - below)), nan=0.0, posinf=0.0)
    if total <= 0 or between.max() <= 0:
        return round(mean), 0.0
    best = np.flatnonzero(between >= between.max() * (1 - 1e-12))
    return int(best[(len(best) - 1) // 2]), float(between.max() / total)


_HALF_LEAF = BRIGHTNESS_RATIO / (1 + BRIGHTNESS_RATIO)
"""Where on the way from bare to full the leaf share is one half."""


def _scale(histogram: NDArray[np.float64]) -> tuple[float, float, bool]:
    """Return the index of bare ground and of full leaf, and whether either was found in the histogram."""
    smooth = _smoothed(histogram)
    ground = _peak(smooth, GROUND_RANGE, USUAL_GROUND, GROUND_REACH)
    leaf = _peak(smooth, LEAF_RANGE, USUAL_LEAF, LEAF_REACH)
    bare = (USUAL_GROUND if ground is None else ground) + GROUND_SPREADS * _spread(
        histogram, ground, -1, GROUND_SPREAD
    )
    full = (USUAL_LEAF if leaf is None else leaf) - LEAF_SPREADS * _spread(histogram, leaf, 1, LEAF_SPREAD)
    return bare, max(full, LEAST_FULL), ground is not None or leaf is not None


def _smoothed(histogram: NDArray[np.float64]) -> NDArray[np.float64]:
    reach = np.arange(-15, 16)
    bell = np.exp(-0.5 * (reach / SMOOTHING_LEVELS) ** 2)
    return np.convolve(histogram, bell / bell.sum(), mode="same")


def _peak(
    smooth: NDArray[np.float64], limits: tuple[float, float], usual: float, reach: float
) -> float | None:
    """Return the index of the highest level within the limits, those far from the usual value counting less."""
    inside = np.flatnonzero(np.abs(LEVELS - sum(limits) / 2) <= (limits[1] - limits[0]) / 2)
    weighed = smooth[inside] / (1 + ((LEVELS[inside] - usual) / reach) ** 2) ** 2
    best = int(weighed.argmax())
    if best in (0, len(inside) - 1) or weighed[best] <= 0:
        return None
    around = np.arange(max(inside[best] - 3, 0), min(inside[best] + 4, len(LEVELS)))
    return float(LEVELS[around] @ smooth[around] / smooth[around].sum())


def _spread(
    histogram: NDArray[np.float64], peak: float | None, side: int, limits: tuple[float, float]
) -> float:
    """Return the standard deviation of a kind from its outer side, where no mixed pixels lie."""
    if peak is None:
        return sum(limits) / 3
    outer = side * (LEVELS - peak) >= 0
    distance, weight = np.abs(LEVELS[outer] - peak)[::side], histogram[outer][::side]
    within = np.searchsorted(np.cumsum(weight), 0.683 * weight.sum())
    return float(np.clip(distance[min(within, len(distance) - 1)], *limits))
