"""Ground map, zone and scale to percent cover with its interval.

Cover is the share of ground that living canopy hides, seen straight down (point-intercept, each point by its leaf
share, noise averaging out within a cell). Value, error and area are summed over one mask of readable points. The photo
sees the lawn at a slant and so sees too much leaf: what it shows is `seen_pct`, and `cover_pct` is the estimate for
looking straight down.

The slant step is done in cells of 20 cm, each with its own view angle: within a cell leaves lie more or less at random,
between cells they do not. How upright the blades stand, the photos tell in part (canopy/blades.py); what they leave
open, and how tufted the blades grow, stays in the interval.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.canopy.blades import SLANT_POWER
from swardmark.canopy.index import FIRST_VALUE, NOT_SEEN, ByteMap, GroundMap
from swardmark.canopy.scale import LeafScale

CELL_M = 0.20
"""Side of the cells in which the slant step is done, meters; they lie on the lattice, the same on all dates."""
PHOTO_SD_PCT = 0.6
"""Points of cover by which a photo is off at the least, bare or full, one standard deviation."""
LEAF_SD = 0.035
"""Doubt about how much leaf the mixed pixels hold (light, soil and leaf color), as a share of cover times bare."""
COUNTED_LEAF_SD = 0.025
"""What is left of it from photo to photo where a count told the lawn's own share."""
HIDDEN_GAPS_SD = 0.03
"""In dense turf the small gaps are dark and tinted by the leaves around them, and read as leaf: the share of the seen
cover by which the truth may lie lower, one standard deviation."""
LEAST_SHARE, UNSEEN_SD = 1 / 3, 0.16
"""Share of a zone from which on what is seen speaks for it; and by how much, as a share of the ground, the cover of the
unseen rest differs from it, one standard deviation. Common practice, no source: parts of one lawn while it fills in."""
POINTS_PER_SAMPLE = 25.0
"""Neighboring points see the same leaves: this many count as one independent one (about 5 x 5 cm)."""


@dataclass(frozen=True)
class Cover:
    """Percent of a piece of ground that leaves cover.

    Attributes
    ----------
    cover_pct, low_pct, high_pct : float
        Estimate for looking straight down and its 95 % interval, percent; NaN where nothing was readable.
    seen_pct : float
        What the photo shows at its own slant, percent.
    readable_pct : float
        Share of the points seen that could be read, percent.
    view_deg : float
        Mean view zenith angle, degrees from the vertical.
    area_m2 : float
        Ground that was seen, square meters.
    points : int
        Readable points.
    """

    cover_pct: float
    low_pct: float
    high_pct: float
    seen_pct: float
    readable_pct: float
    view_deg: float
    area_m2: float
    points: int

    def _repr_html_(self) -> str:
        return f"<b>{self.cover_pct:.1f} %</b> covered ({self.low_pct:.1f} to {self.high_pct:.1f})"


NAN = float("nan")
UNSEEN = Cover(NAN, NAN, NAN, NAN, readable_pct=0.0, view_deg=NAN, area_m2=0.0, points=0)


def zone_cover(
    ground_map: GroundMap,
    inside: NDArray[np.bool_],
    *,
    scale: LeafScale,
    view_deg: NDArray[np.floating] | float,
) -> Cover:
    """Measure the cover of a zone.

    Parameters
    ----------
    ground_map : GroundMap
        The photo's map.
    inside : ndarray of bool, shape of the map
        Which points belong to the zone.
    scale : LeafScale
        The photo point's scale.
    view_deg : float or ndarray, shape of the map
        View zenith angle at each point.
    """
    cells = _cells(ground_map, np.where(inside, ground_map.values, NOT_SEEN), view_deg)
    return _cover(cells, scale=scale, point_m2=ground_map.spacing_m**2)


def speaking_for(cover: Cover, share: float) -> Cover:
    """Return the cover of a strip as that of a zone of which only a share was seen, with the interval it deserves.

    What was not seen may be covered otherwise: the interval widens toward bare and full by the unseen share of
    `UNSEEN_SD` at each end. From `LEAST_SHARE` of the zone on the strip is as good as the zone.

    Parameters
    ----------
    cover : Cover
        Cover of what was seen.
    share : float
        Seen share of the zone's area, 0..1.
    """
    if not cover.points or share >= LEAST_SHARE:
        return cover
    wider = 1.96 * 100 * UNSEEN_SD * (1 - max(share, 0.0))
    low = cover.cover_pct - float(np.hypot(cover.cover_pct - cover.low_pct, wider))
    high = cover.cover_pct + float(np.hypot(cover.high_pct - cover.cover_pct, wider))
    return replace(cover, low_pct=max(0.0, low), high_pct=min(100.0, high))


def straight_down(seen: ArrayLike, view_deg: ArrayLike, *, power: float = SLANT_POWER) -> NDArray[Any]:
    """Turn the cover seen at a slant into the cover seen from straight above, both as shares 0..1.

    With leaves placed at random, a gap of share 1 - c seen at the angle v from the vertical is a gap of share
    (1 - c)^cos(v) seen from above (Poisson gap fraction, leaf projection equal at both angles). Grass blades lean over
    and grow in tufts, so the true step is smaller: the exponent here is cos(v)^power. Single precision is kept.
    """
    share = np.clip(np.asarray(seen), 0, 1)
    return np.asarray(1 - (1 - share) ** (np.cos(np.radians(view_deg)) ** power))


def wilson(hits: float, points: float, *, z: float = 1.96) -> tuple[float, float]:
    """Return the Wilson score interval of a share (Wilson 1927, J. Am. Stat. Assoc. 22:209-212), as shares 0..1."""
    if points <= 0:
        return 0.0, 1.0
    share = hits / points
    middle = (share + z * z / (2 * points)) / (1 + z * z / points)
    half = z / (1 + z * z / points) * float(np.sqrt(share * (1 - share) / points + z * z / (4 * points**2)))
    return max(0.0, middle - half), min(1.0, middle + half)


def total_cover(covers: Sequence[Cover], areas_m2: Sequence[float]) -> float:
    """Return the area-weighted mean cover in percent, of those that were seen; NaN if none."""
    pairs = [
        (c.cover_pct, area) for c, area in zip(covers, areas_m2, strict=True) if np.isfinite(c.cover_pct)
    ]
    weight = sum(area for _, area in pairs)
    return sum(cover * area for cover, area in pairs) / weight if weight > 0 else float("nan")


def _cover(cells: _Cells, *, scale: LeafScale, point_m2: float) -> Cover:
    readable, count = int(cells.points.sum()), int(cells.seen.sum())
    if readable == 0:
        return UNSEEN
    shown = cells.shown(_leaf_shares(scale))
    seen, estimates = float(cells.mean(shown)[0]), cells.straight_down(shown, power=scale.slant)
    low, high = _interval(cells, 1 - readable / count, shown[:, :1], seen, estimates, scale)
    return Cover(
        cover_pct=100 * float(estimates[0]),
        low_pct=100 * low,
        high_pct=100 * high,
        seen_pct=100 * seen,
        readable_pct=100 * readable / count,
        view_deg=float(np.average(cells.view_deg, weights=cells.seen)),
        area_m2=count * point_m2,
        points=readable,
    )


@dataclass(frozen=True, eq=False)
class _Cells:
    """A zone by cells of which some point was seen.

    Attributes
    ----------
    counts : ndarray, shape (cells, 254)
        How many points hold each of the map values 2..255.
    points, seen : ndarray, shape (cells,)
        How many points could be read, and were seen.
    view_deg : ndarray, shape (cells,)
        Mean view angle of the points seen, degrees.
    """

    counts: NDArray[np.float64]
    points: NDArray[np.float64]
    seen: NDArray[np.float64]
    view_deg: NDArray[np.float64]

    def shown(self, shares: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the cover that each cell shows, 0..1, for several columns of leaf shares, shape (cells, columns)."""
        return np.clip(self.counts @ shares / np.maximum(self.points, 1)[:, None], 0, 1)

    def straight_down(self, shown: NDArray[np.float64], *, power: float) -> NDArray[np.float64]:
        """Return the zone's cover from above, 0..1, for each column of what its cells show."""
        return self.mean(straight_down(shown, self.view_deg[:, None], power=power))

    def mean(self, of_cells: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the mean over the readable points of what holds for the cells."""
        return np.asarray(self.points @ of_cells / self.points.sum())


@lru_cache(maxsize=64)
def _leaf_shares(scale: LeafScale) -> NDArray[np.float64]:
    """Return leaf shares of map values 2..255 by the scale, then in pairs by the scales that it may be, in columns."""
    if scale.left:
        moved = [
            scale.moved(*(way * turn for turn in turns)).leaf_shares()
            for turns in scale.left
            for way in (-1, 1)
        ]
    else:
        moved = [scale.leaf_shares(turn) for turn in (-1, 1)]
    return np.column_stack([scale.leaf_shares(), *moved])


def _cells(ground_map: GroundMap, values: ByteMap, view_deg: NDArray[np.floating] | float) -> _Cells:
    """Count the values of a map, NOT_SEEN where they do not belong to the zone, in the cells of the lattice.

    The map is read strip by strip of cells, so that all it takes stays in the processor's cache.
    """
    if not values.size:
        none = np.zeros(0)
        return _Cells(np.zeros((0, 256 - FIRST_VALUE)), none, none, none)
    per_cell = max(1, round(CELL_M / ground_map.spacing_m))
    tops = _begins(ground_map.row0, len(values), per_cell)
    lefts = _begins(ground_map.col0, values.shape[1], per_cell)
    view = np.broadcast_to(np.asarray(view_deg), values.shape)
    first = np.repeat(256 * np.arange(len(lefts)), np.diff([*lefts, values.shape[1]]))
    found = np.empty((len(tops), len(lefts) * 256), np.int32)
    turned = np.empty((len(tops), len(lefts)))
    for strip, (top, bottom) in enumerate(pairwise([*tops, len(values)])):
        part = values[top:bottom]
        found[strip] = np.bincount((first + part).ravel(), minlength=256 * len(lefts))
        along = (view[top:bottom] * (part != NOT_SEEN)).sum(axis=0, dtype=float)
        turned[strip] = np.add.reduceat(along, lefts)
    counts = found.reshape(-1, 256)
    seen = counts.sum(axis=1) - counts[:, NOT_SEEN]
    some = np.flatnonzero(seen)
    known = counts[some, FIRST_VALUE:].astype(float)
    return _Cells(known, known.sum(axis=1), seen[some].astype(float), turned.ravel()[some] / seen[some])


def _begins(first: int, length: int, per_cell: int) -> NDArray[np.intp]:
    """Return the rows or columns of a map at which cells begin, the first of all among them."""
    return np.array([0, *range(per_cell - first % per_cell, length, per_cell)], np.intp)


def _interval(
    cells: _Cells,
    unread: float,
    shown: NDArray[np.float64],
    seen: float,
    estimates: NDArray[np.float64],
    scale: LeafScale,
) -> tuple[float, float]:
    """Add up what is uncertain: sampling, scale, slant, unreadable points and the photo itself."""
    samples = cells.points.sum() / POINTS_PER_SAMPLE
    sample_low, sample_high = wilson(seen * samples, samples)
    steep, flat = (
        float(cells.straight_down(shown, power=max(0.0, scale.slant + turn * scale.slant_sd))[0])
        for turn in (-1, 1)
    )
    leaf_sd = COUNTED_LEAF_SD if scale.left else LEAF_SD
    spread = 1.96 * np.hypot(np.hypot(PHOTO_SD_PCT / 100, leaf_sd * 4 * seen * (1 - seen)), unread / 3)
    hidden = 1.96 * HIDDEN_GAPS_SD * seen**2
    estimate, *moved = (float(one) for one in estimates)
    fewer, more = _by_scale(estimate, moved, scale)
    parts_down = (hidden, seen - sample_low, fewer, 1.96 * (estimate - flat), spread)
    parts_up = (sample_high - seen, more, 1.96 * (steep - estimate), spread)
    down, up = float(np.linalg.norm(parts_down)), float(np.linalg.norm(parts_up))
    return max(0.0, estimate - down), min(1.0, estimate + up)


def _by_scale(estimate: float, moved: Sequence[float], scale: LeafScale) -> tuple[float, float]:
    """Return how far the cover may lie below and above by the doubt about the scale."""
    if not scale.left:
        more, fewer = moved
        return estimate - fewer, more - estimate
    half = float(
        np.linalg.norm([(one - other) / 2 for one, other in zip(moved[::2], moved[1::2], strict=True)])
    )
    return half, half
