"""The photo point's one threshold between leaf and ground, and how sure it is.

One histogram is pooled over all dates of a photo point and split once. A threshold per photo would follow the photo's
own contents: Otsu's method (Otsu 1979, IEEE Trans. SMC 9(1):62-66) splits a bare or a full lawn in two halves that do
not exist. So Otsu's value is used only where it falls in the range that leaves and sand leave free; otherwise the
fixed value stands.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.canopy.index import FIRST_VALUE, INDEX_LOW, INDEX_STEP, GroundMap

LOWEST, HIGHEST, FIXED = 0.06, 0.12, 0.10
"""Range in which Otsu's value is trusted, and the value used outside it (damped excess green)."""
DOUBT = 0.025
"""Half-width of the range in which the right threshold lies for nearly all lawns and cameras."""


@dataclass(frozen=True)
class Threshold:
    """The excess green above which a point counts as canopy.

    Attributes
    ----------
    value : float
        The threshold used.
    low, high : float
        The range in which the right one probably lies; it widens the interval of every cover.
    source : str
        "pooled histogram", "fixed" or "keeper".
    """

    value: float
    low: float
    high: float
    source: str


def pooled_counts(maps: Iterable[GroundMap]) -> NDArray[np.int64]:
    """Count the map values of all dates of a photo point, shape (256,)."""
    counts = np.zeros(256, np.int64)
    for ground_map in maps:
        counts += np.bincount(ground_map.values.ravel(), minlength=256)
    return counts


def choose_threshold(counts: ArrayLike, *, setting: float | str = "auto") -> Threshold:
    """Choose the photo point's threshold from its pooled counts.

    Parameters
    ----------
    counts : array_like of int, shape (256,)
        Counts of map values, as from `pooled_counts`; values 0 and 1 are left out.
    setting : float or "auto"
        The keeper's own value, if given.
    """
    if not isinstance(setting, str):
        return Threshold(float(setting), setting - DOUBT / 2, setting + DOUBT / 2, "keeper")
    histogram = np.asarray(counts)[FIRST_VALUE:]
    if np.count_nonzero(histogram) > 1:
        level, _ = otsu(histogram)
        value = round(INDEX_LOW + INDEX_STEP * level, 4)
        if LOWEST <= value <= HIGHEST:
            return Threshold(value, value - DOUBT, value + DOUBT, "pooled histogram")
    return Threshold(FIXED, FIXED - DOUBT, FIXED + DOUBT, "fixed")


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
        return int(round(mean)), 0.0
    best = np.flatnonzero(between >= between.max() * (1 - 1e-12))
    return int(best[(len(best) - 1) // 2]), float(between.max() / total)
