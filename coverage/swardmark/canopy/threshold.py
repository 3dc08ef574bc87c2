"""From excess green to leaf: the photo point's one scale between bare ground and full turf, and how sure it is.

One scale serves all dates of a photo point. A threshold per photo would follow the photo's own contents: Otsu's method
(Otsu 1979, IEEE Trans. SMC 9(1):62-66) splits a bare or a full lawn in two halves that do not exist.

A blade is 2 or 3 mm wide and a pixel of a slanting photo sees 2 to 15 mm of ground, so most points are part leaf, part
ground. Such a pixel's color is a mixture of both, and its index shows how much leaf it holds, but leans
toward the brighter part. Each point is therefore counted by its leaf share: 0 at the ground's own index, 1 at that of
full turf, and beyond both where noise takes it, so that noise averages out over a cell. The threshold is the index of
the half-leaf pixel.

- Bare ground is the peak of the histogram pooled over all dates.
- Full turf is what closed cells of the photos show (canopy/turf.py), straw and dark gaps between the blades included,
  not the color of a single leaf.
- How far mixed pixels lean toward the ground follows from the light of leaves and ground in the photos: dark soil is
  about as dark as leaves, dry sand four times as bright.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.canopy.index import FIRST_VALUE, INDEX_LOW, INDEX_STEP, GroundMap

USUAL_GROUND, GROUND_REACH, GROUND_RANGE = 0.034, 0.06, (-0.15, 0.08)
"""Index of sand and soil: usual value, how far from it a peak is taken readily, and where it is looked for."""
USUAL_FULL, LEAST_FULL = 0.30, 0.22
"""Index of full turf where no photo shows it, and below which none is taken as full. Drawn lawns: 0.22 to 0.40, by the
greenness, age and straw of the blades and by the light."""
ALIKE = 0.8
"""Photos whose full turf reaches this share of the best photo's are believed; the others are thin as yet."""
USUAL_LIGHT, LIGHT_LEAN, LEAN_RANGE = 0.24, 2.0, (0.2, 1.2)
"""Light of leaves over that of the bare ground where no photo shows both; how much of it, and within which range, mixed
pixels lean toward the ground by. 1 would do if every pixel were mixed; many are all leaf or all ground. Measured
together with the slant step (tests/benchmarks/accuracy.py)."""
BEYOND = (-0.2, 1.2)
"""How far beyond bare and full a point may lie: noise, not more; the way from bare to full is 1."""
BARE_DOUBT, FULL_DOUBT = 0.006, 0.08
"""Half-width of the range in which the right ends lie for nearly all lawns: bare as an index, full as a share of the
way from bare to full."""
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
        "pooled histogram", "usual values" or "keeper"; of a single photo "leaf and ground", "fixed" or "keeper".
    bare, full : float
        Index of bare ground and of full turf; both equal to `value` where every point is one or the other.
    lean : float
        How much darker leaves are than ground in mixed pixels; 1 is equally bright.
    """

    value: float
    low: float
    high: float
    source: str
    bare: float
    full: float
    lean: float = 1.0

    def leaf_shares(self, turn: float = 0.0) -> NDArray[np.float64]:
        """Return the leaf share of map values 2..255, shape (254,): 0 bare, 1 full, and somewhat beyond both.

        `turn` from -1 to 1 moves the scale through the range in which the right one probably lies.
        """
        if self.full - self.bare < INDEX_STEP:
            limit = self.value + turn * (self.high - self.low) / 2 + 1e-9
            return np.asarray(limit < LEVELS, float)
        bare, full = self._ends(turn)
        way = np.clip((LEVELS - bare) / (full - bare), *BEYOND)
        return np.asarray(way / (way + self.lean * (1 - way)))

    def _ends(self, turn: float) -> tuple[float, float]:
        return self.bare + turn * BARE_DOUBT, self.full + turn * FULL_DOUBT * (self.full - self.bare)


def value_counts(ground_map: GroundMap) -> NDArray[np.int64]:
    """Count how often a map holds each value, shape (256,); those of all dates of a photo point are added up."""
    return np.bincount(ground_map.values.ravel(), minlength=256)


def choose_threshold(
    counts: ArrayLike,
    *,
    full_index: Sequence[float] = (),
    leaf_light: Sequence[float] = (),
    setting: float | str = "auto",
) -> Threshold:
    """Choose a photo point's scale.

    Parameters
    ----------
    counts : array_like of int, shape (256,)
        Counts of map values, as from `pooled_counts`; values 0 and 1 are left out.
    full_index : sequence of float
        Index of full turf in each photo, as from `turf.full_index`; NaN is left out.
    leaf_light : sequence of float
        Light of the leaves over that of the bare ground in each photo, as from `turf.leaf_light`; NaN is left out.
    setting : float or "auto"
        The keeper's own value for the half-leaf pixel, if given; the scale is laid around it.
    """
    ground = _ground_peak(np.asarray(counts, float)[FIRST_VALUE:])
    bare = USUAL_GROUND if ground is None else ground
    full = _full(full_index)
    light = _known(leaf_light)
    lean = float(np.clip(LIGHT_LEAN * (np.median(light) if len(light) else USUAL_LIGHT), *LEAN_RANGE))
    source = "usual values" if ground is None and not len(_known(full_index)) else "pooled histogram"
    half = lean / (1 + lean)
    if not isinstance(setting, str):
        shift = float(setting) - (bare + half * (full - bare))
        bare, full, source = bare + shift, full + shift, "keeper"
    value = bare + half * (full - bare)
    doubt = (1 - half) * BARE_DOUBT + half * FULL_DOUBT * (full - bare)
    return Threshold(round(value, 4), value - doubt, value + doubt, source, bare, full, lean)


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


def _known(values: Sequence[float]) -> NDArray[np.float64]:
    known = np.asarray(values, float)
    return np.asarray(known[np.isfinite(known)])


def _full(full_index: Sequence[float]) -> float:
    """Return the index of full turf: the median of the photos that show it, which one odd photo does not move."""
    known = _known(full_index)
    return (
        max(LEAST_FULL, float(np.median(known[known >= ALIKE * known.max()]))) if len(known) else USUAL_FULL
    )


def _ground_peak(histogram: NDArray[np.float64]) -> float | None:
    """Return the index of the ground's peak, those far from the usual value counting less; None without a peak."""
    smooth = _smoothed(histogram)
    low, high = GROUND_RANGE
    inside = np.flatnonzero(np.abs(LEVELS - (low + high) / 2) <= (high - low) / 2)
    weighed = smooth[inside] / (1 + ((LEVELS[inside] - USUAL_GROUND) / GROUND_REACH) ** 2) ** 2
    best = int(weighed.argmax())
    if best in (0, len(inside) - 1) or weighed[best] <= 0:
        return None
    around = np.arange(max(inside[best] - 3, 0), min(inside[best] + 4, len(LEVELS)))
    return float(LEVELS[around] @ smooth[around] / smooth[around].sum())


def _smoothed(histogram: NDArray[np.float64]) -> NDArray[np.float64]:
    reach = np.arange(-15, 16)
    bell = np.exp(-0.5 * (reach / SMOOTHING_LEVELS) ** 2)
    return np.convolve(histogram, bell / bell.sum(), mode="same")
