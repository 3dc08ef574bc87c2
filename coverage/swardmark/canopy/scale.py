"""From color to leaf: a photo point's one scale between bare ground and full turf, and how sure it is.

One rule serves series, single photos, spots and outlines. What differs between them is the footprint of a pixel beside
the width of a blade:

- **Pure pixels.** Seen from close by, a pixel is leaf or ground. It is leaf above the midpoint of the two class means,
  found by repetition (Ridler & Calvard 1978, IEEE Trans. SMC 8(8):630-632). Each mean is pulled toward a usual value by
  a few percent of the pixels: where one class is absent, as on bare ground, the method would split the other in two.
- **Mixed pixels.** A pixel of a slanting photo sees 2 to 15 mm of ground, a blade is 2 or 3 mm wide. Its color is the
  mixture of both; it counts by its leaf share, 0 at bare ground and 1 at full turf and beyond both where noise takes
  it, so that noise averages out over a cell. The index leans toward the brighter part: how far, tells the light of
  leaves and ground in the photos.

In between the ramp from ground to leaf is as much steeper as the pixel is smaller. One scale serves all dates of a
photo point; a threshold per photo would follow the photo's own contents.

What counts as leaf, in every path: living leaf, moss and green weeds. Straw and dead leaf are ground; straws and dark
gaps among the leaves of closed turf count with the turf.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.canopy.blades import SLANT_POWER, SLANT_POWER_SD, Edges, slant_of
from swardmark.canopy.index import FIRST_VALUE, INDEX_LOW, INDEX_STEP, GroundMap

USUAL_GROUND, GROUND_REACH, GROUND_RANGE = -0.005, (0.15, 0.06), (-0.20, 0.06)
"""Index of sand and soil: usual value, how far below and above it a peak is taken readily, and where it is looked for.
Photos of grounds (tests/benchmarks/field_photos.py): -0.15 to 0.025, median -0.007. Below it nothing but ground lies,
red soil the farthest; above it pixels that are part leaf lie, too."""
USUAL_LEAF = 0.16
"""Index of a leaf, where a photo point shows none. Photographic turf: 0.11 to 0.4, median 0.25; field crops less."""
PULL = 0.15
"""Share of the pixels by which each class mean is pulled toward its usual value."""
LOWEST, HIGHEST = 0.05, 0.13
"""Limits of the midpoint: photographic grounds and turf do not overlap outside them."""
FIRST_SPLIT = 0.08
"""Where the two classes are told apart at first: the middle of the usual ones."""
USUAL_FULL, LEAST_FULL, FULL_SPREAD = 0.22, 0.10, 0.5
"""Index of full turf where no photo tells; below which a photo's estimate is not followed; and half-width of the range
of lawns about the usual one, as a share of it. Photographic turf: 0.11 to 0.4."""
FULL_RANK = 0.5
"""Rank among the photos' estimates of the one that is believed, each weighed by how sure it is: the middle, so that one
odd photo moves it by one place at most."""
USUAL_LIGHT, LIGHT_POWER, LEAN_RANGE = 0.24, 0.6, (0.2, 1.2)
"""Light of leaves over that of the bare ground where no photo shows both; its power by which mixed pixels lean toward
the ground, and within which range. The power would be 1 if every pixel were mixed; many are all leaf or all ground,
where light makes no difference, which is a power of 0. Measured together with the slant step on drawn lawns and on
yards of photographic turf (tests/benchmarks/accuracy.py)."""
BLADE_MM = 2.5
"""Width of a blade: a pixel that sees so much ground is mixed, a smaller one by that much less."""
BEYOND = (-0.2, 1.2)
"""How far beyond bare and full a mixed pixel may lie: noise, not more; the way from bare to full is 1."""
BARE_DOUBT, FULL_DOUBT, PURE_DOUBT = 0.006, 0.10, 0.025
"""Half-width of the range in which the right ends lie for nearly all lawns: bare as an index, full as a share of the
way from bare to full; and that of the midpoint of pure pixels, as an index."""
OPEN_DOUBT, DOUBT_FALL = 0.25, 0.5
"""Half-width for full where a photo shows no closed turf, so that it was extrapolated from thin turf; and how fast it
falls to `FULL_DOUBT` with the closed share of the ground: the few cells that close first are the greenest."""
THIN_PALE, CLOSED_ENOUGH = 0.20, 0.20
"""As long as no photo of a lawn shows closed turf, full turf is greener than its thin turf lets expect: by this share,
falling to nothing where this share of the ground has closed. Drawn lawns that grow in (tests/benchmarks/accuracy.py
--newest): 0.11 to 0.15 on the photos before, 0.16 to 0.21 once it has closed."""
SMOOTHING_LEVELS = 3.0
LEAN_DOUBT = 0.27
"""Half-width of the range in which `lean` lies for nearly all lawns, as a logarithm: in half-covered ground of mixed
pixels it moves the cover by 7 points either way (`cover.LEAF_SD`)."""
Turns = tuple[float, float, float]
"""How far bare, full and lean are moved, in half-widths of their ranges."""

LEVELS = INDEX_LOW + INDEX_STEP * np.arange(256 - FIRST_VALUE)


@dataclass(frozen=True)
class LeafScale:
    """How the index is read as leaf.

    Attributes
    ----------
    value : float
        The index of a pixel that is half leaf.
    low, high : float
        The range in which the right one probably lies; it widens the interval of every cover.
    source : str
        "photos", "usual values", "keeper" or "counts".
    bare, full : float
        Index of bare ground and of full turf.
    mixed : float
        How mixed the pixels are: 0 each is leaf or ground, 1 most are part leaf, part ground.
    lean : float
        How much darker leaves are than ground in mixed pixels; 1 is equally bright.
    full_doubt : float
        Half-width of the range of the right `full`, as a share of the way from bare to full.
    bare_doubt : float
        Half-width of the range of the right `bare`, as an index.
    counted : int
        Points counted by eye that it was held against; 0 where the photos alone gave it.
    left : tuple of Turns
        The doubt that the counts leave: independent moves of the scale, each half the width of a 95 % range. Empty
        where nothing was counted.
    slant, slant_sd : float
        Power of the cosine in the slant step, by how upright the blades stand, and its standard deviation.
    counted_down : int
        Points counted on photos taken straight down that this power was held against.
    """

    value: float
    low: float
    high: float
    source: str
    bare: float
    full: float
    mixed: float = 1.0
    lean: float = 1.0
    full_doubt: float = FULL_DOUBT
    bare_doubt: float = BARE_DOUBT
    counted: int = 0
    left: tuple[Turns, ...] = ()
    slant: float = SLANT_POWER
    slant_sd: float = SLANT_POWER_SD
    counted_down: int = 0

    def leaf_shares(self, turn: float = 0.0) -> NDArray[np.float64]:
        """Return the leaf share of map values 2..255, shape (254,): 0 bare, 1 full, and somewhat beyond both.

        `turn` from -1 to 1 moves the scale through the range in which the right one probably lies.
        """
        half_range = (self.high - self.low) / 2
        if self.mixed <= 0 or self.full - self.bare < INDEX_STEP:
            return np.asarray(self.value + turn * half_range + 1e-9 < LEVELS, float)
        bare = self.bare + turn * self.bare_doubt
        full = self.full + turn * self.full_doubt * (self.full - self.bare)
        half, value = self.lean / (1 + self.lean), self.value + turn * half_range
        below, above = (value - bare) / half, (full - value) / (1 - half)
        side = np.where(value > LEVELS, max(below, INDEX_STEP), max(above, INDEX_STEP))
        way = half + (LEVELS - value) / (side * self.mixed)
        low, high = BEYOND[0] * self.mixed, 1 + (BEYOND[1] - 1) * self.mixed
        way = np.clip(way, low, high)
        return np.asarray(way / (way + self.lean * (1 - way)))

    def shares_of_values(self) -> NDArray[np.float64]:
        """Return the leaf share of every map value, shape (256,): as `leaf_shares`, and 0 where nothing was read."""
        return np.concatenate([np.zeros(FIRST_VALUE), self.leaf_shares()])

    def moved(self, bare_turn: float, full_turn: float, lean_turn: float = 0.0) -> LeafScale:
        """Return the scale with its ends and its lean moved, 1 being the end of the range of each."""
        half = self.lean / (1 + self.lean)
        lean = self.lean * float(np.exp(lean_turn * LEAN_DOUBT))
        span = self.full - self.bare
        bare = self.bare + bare_turn * self.bare_doubt
        full = max(self.full + full_turn * self.full_doubt * span, bare + INDEX_STEP)
        shift = float(np.dot(self._ranges, (bare_turn, full_turn)))
        value = self.value + shift + self.mixed * (lean / (1 + lean) - half) * (full - bare)
        half_range = (self.high - self.low) / 2
        return replace(
            self,
            value=round(value, 4),
            low=value - half_range,
            high=value + half_range,
            bare=bare,
            full=full,
            lean=lean,
            full_doubt=self.full_doubt * span / (full - bare),
        )

    def told(self, left: Sequence[Turns], *, counted: int, source: str) -> LeafScale:
        """Return the scale with the doubt that so many counted points leave."""
        half_range = float(np.linalg.norm([np.dot(self._ranges, turns[:2]) for turns in left]))
        low, high = self.value - half_range, self.value + half_range
        return replace(self, low=low, high=high, left=tuple(left), counted=counted, source=source)

    @property
    def _ranges(self) -> NDArray[np.float64]:
        """How far a whole turn of bare and of full moves the half-leaf pixel."""
        half = self.lean / (1 + self.lean)
        of_full = self.full_doubt * (self.full - self.bare)
        ranges = np.array([(1 - half) * self.bare_doubt, half * of_full]) * self.mixed
        return np.asarray(ranges + (1 - self.mixed) * PURE_DOUBT / 2)


def value_counts(ground_map: GroundMap) -> NDArray[np.int64]:
    """Count how often a map holds each value, shape (256,); those of all dates of a photo point are added up."""
    import cv2

    if not ground_map.values.size:
        return np.zeros(256, np.int64)
    counts = cv2.calcHist([ground_map.values], [0], None, [256], [0, 256])
    return np.asarray(counts, np.int64).ravel()


def leaf_scale(
    counts: ArrayLike,
    *,
    full_index: Sequence[float] = (),
    closed: Sequence[float] = (),
    leaf_light: Sequence[float] = (),
    edges: Sequence[Edges] = (),
    footprint_mm: float = 0.0,
    setting: float | str = "auto",
) -> LeafScale:
    """Fit a photo point's scale to its photos.

    Parameters
    ----------
    counts : array_like of int, shape (256,)
        Counts of map values, as from `pooled_counts`; values 0 and 1 are left out.
    full_index : sequence of float
        Index of full turf in each photo, as from `turf.full_turf`; NaN is left out.
    closed : sequence of float
        Share of the ground that is closed turf in each photo, 0..1, as from there; where none is given, or NaN, all.
    leaf_light : sequence of float
        Light of the leaves over that of the bare ground in each photo, as from `turf.leaf_light`; NaN is left out.
    edges : sequence of Edges
        Edges of leaves in each photo, as from `blades.leaf_edges`.
    footprint_mm : float
        How much ground a pixel sees; 0 for a photo taken from close by.
    setting : float or "auto"
        The keeper's own value for the half-leaf pixel, if given; the scale is laid around it.
    """
    histogram = np.asarray(counts, float)[FIRST_VALUE:]
    mixed = float(np.clip(footprint_mm / BLADE_MM, 0, 1))
    ground = _ground_peak(histogram)
    peak = USUAL_GROUND if ground is None else ground
    middle, pure_bare, pure_full = class_middle(histogram)
    mixed_full, doubt_of_full = _full(full_index, closed)
    bare, full = (1 - mixed) * pure_bare + mixed * peak, (1 - mixed) * pure_full + mixed * mixed_full
    full = max(full, bare + INDEX_STEP)
    light = _known(leaf_light)
    lean = float(np.clip((np.median(light) if len(light) else USUAL_LIGHT) ** LIGHT_POWER, *LEAN_RANGE))
    half = lean / (1 + lean)
    value = (1 - mixed) * middle + mixed * (peak + half * (mixed_full - peak))
    source = "usual values" if ground is None and not len(_known(full_index)) else "photos"
    if not isinstance(setting, str):
        shift = float(setting) - value
        bare, full, value, source = bare + shift, full + shift, value + shift, "keeper"
    full_doubt = doubt_of_full * mixed_full / max(full - bare, INDEX_STEP)
    doubt = (1 - mixed) * PURE_DOUBT
    doubt += mixed * ((1 - half) * BARE_DOUBT + half * full_doubt * (mixed_full - peak))
    slant, slant_sd = slant_of(edges)
    return LeafScale(
        value=round(value, 4),
        low=value - doubt,
        high=value + doubt,
        source=source,
        bare=bare,
        full=full,
        mixed=mixed,
        lean=lean,
        full_doubt=full_doubt,
        slant=slant,
        slant_sd=slant_sd,
    )


def class_middle(histogram: ArrayLike) -> tuple[float, float, float]:
    """Find the midpoint between ground and leaf among pure pixels, by repetition.

    Parameters
    ----------
    histogram : array_like, shape (254,)
        Counts of the index levels `LEVELS`.

    Returns
    -------
    tuple of float
        The midpoint, and the index of ground and of leaf.

    References
    ----------
    Ridler, T. W., and S. Calvard (1978), Picture thresholding using an iterative selection method, IEEE Trans. SMC
    8(8):630-632. The pull toward usual values is our own.
    """
    counts = np.asarray(histogram, float)
    pull = PULL * max(counts.sum(), 1.0)
    number, moment = np.cumsum(counts), np.cumsum(counts * LEVELS)
    value = FIRST_SPLIT
    for _ in range(50):
        split = int(np.searchsorted(LEVELS, value))
        below, sum_below = (number[split - 1], moment[split - 1]) if split else (0.0, 0.0)
        ground = (sum_below + pull * USUAL_GROUND) / (below + pull)
        leaf = (moment[-1] - sum_below + pull * USUAL_LEAF) / (number[-1] - below + pull)
        middle = float(np.clip((ground + leaf) / 2, LOWEST, HIGHEST))
        if abs(middle - value) < INDEX_STEP / 8:
            break
        value = middle
    return middle, float(ground), float(leaf)


def _known(values: Sequence[float]) -> NDArray[np.float64]:
    known = np.asarray(values, float)
    return np.asarray(known[np.isfinite(known)])


def _full(full_index: Sequence[float], closed: Sequence[float]) -> tuple[float, float]:
    """Return the index of full turf and its doubt, the half-width of its range as a share of it.

    A robust rank over the photos, each weighed by how sure it is, drawn toward the usual value as far as it is unsure.
    """
    index = np.asarray(full_index, float)
    shares = np.asarray(closed, float) if len(closed) else np.ones(len(index))
    known = np.isfinite(index)
    if not known.any():
        return USUAL_FULL, OPEN_DOUBT
    index, shares = index[known], np.nan_to_num(shares[known], nan=1.0)
    if len(known) > 1:
        index = index * (1 + THIN_PALE * max(0.0, 1 - float(shares.max()) / CLOSED_ENOUGH))
    own = np.maximum(FULL_DOUBT, OPEN_DOUBT - DOUBT_FALL * shares)
    low, rank, high = _ranks(index, 1 / own**2, (0.25, FULL_RANK, 0.75))
    doubt = 1 / np.sqrt((1 / own**2).mean())
    toward_usual = doubt**2 / (doubt**2 + FULL_SPREAD**2)
    full = max(LEAST_FULL, float(rank + toward_usual * (USUAL_FULL - rank)))
    return full, float(np.hypot(doubt, (high - low) / np.sqrt(len(index)) / full))


def _ranks(
    values: NDArray[np.float64], weights: NDArray[np.float64], ranks: Sequence[float]
) -> NDArray[np.float64]:
    """Return weighted quantiles, those of `numpy.quantile` where all weights are equal."""
    order = np.argsort(values)
    weights = weights[order]
    before = np.cumsum(weights) - weights
    return np.asarray(np.interp(np.multiply(ranks, before[-1]), before, values[order]))


def _ground_peak(histogram: NDArray[np.float64]) -> float | None:
    """Return the index of the ground's peak, those far from the usual value counting less; None without a peak."""
    smooth = _smoothed(histogram)
    low, high = GROUND_RANGE
    inside = np.flatnonzero(np.abs(LEVELS - (low + high) / 2) <= (high - low) / 2)
    away = LEVELS[inside] - USUAL_GROUND
    weighed = smooth[inside] / (1 + (away / np.where(away < 0, *GROUND_REACH)) ** 2) ** 2
    best = int(weighed.argmax())
    if best in (0, len(inside) - 1) or weighed[best] <= 0:
        return None
    around = np.arange(max(inside[best] - 3, 0), min(inside[best] + 4, len(LEVELS)))
    return float(LEVELS[around] @ smooth[around] / smooth[around].sum())


def _smoothed(histogram: NDArray[np.float64]) -> NDArray[np.float64]:
    reach = np.arange(-15, 16)
    bell = np.exp(-0.5 * (reach / SMOOTHING_LEVELS) ** 2)
    return np.convolve(histogram, bell / bell.sum(), mode="same")
