"""A set of photos to heights, on one page: marks, cameras, surface, sweep, errors, dips."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from swardmark.bundle.camera import Floats
from swardmark.bundle.lattice import CELL_M, PER_CELL, STEP_M, Lattice
from swardmark.canopy.straight import cover_straight_down
from swardmark.photo.decode import Photo
from swardmark.relief.dips import STRAIGHTEDGE_M, Hollows, find_hollows
from swardmark.relief.errors import cell_errors_mm
from swardmark.relief.gather import check_set, spread_mm
from swardmark.relief.marks import see_marks
from swardmark.relief.refusals import refused
from swardmark.relief.sentences import NOTHING_SEEN, SPREAD
from swardmark.relief.solve import Solved, laid_again, solve
from swardmark.relief.surface import at_cells, known_area_m2, refined
from swardmark.relief.sweep import BLOCK, BLOCKS, sweep

FINER, FINER_M = 1, 0.012
"""The photos are laid on the heights found and compared again so many times, so far up and down: a box on ground that
bends under it sees the mean of its heights."""
PAPER_M = 0.02
"""White paper or board round a printed mark."""
MOST_SPREAD_MM = 0.8
"""Halves of the photos agree to so much on ground that keeps still: drawn sand 0.1, mown turf 1 and more."""
MOST_LEAF_PCT = 15.0
"""The leaf reading of scalped turf with a third of leaf in view is a fifth: half of the share that hides the ground."""
LEAST_AREA_M2 = 1.0


@dataclass(frozen=True, eq=False)
class Relief:
    """Heights of the ground round a marked square.

    Attributes
    ----------
    taken_at : datetime or None
        Time of the first photo.
    lattice : Lattice
        Where the cells lie.
    height_mm, se_mm : ndarray, shape (cells, cells)
        Heights above the square's marks and their standard errors in millimeters; NaN where unknown. Fall and crown are
        not in them: only what departs from a quadratic counts.
    hollows : Hollows
        Dips, with gap and litres.
    leaf_pct : float
        Leaf in view; above 15 % there are places, but no depth and no litres.
    photos : tuple of str
        Names of the photos.
    spread_mm : float
        How far the halves of the photos differ (median).
    marks_m : ndarray, shape (marks, 4, 2)
        Where the square's marks lie.
    solved : Solved or None
        Cameras and ties; not kept in the record.
    """

    taken_at: dt.datetime | None
    lattice: Lattice
    height_mm: Floats
    se_mm: Floats
    hollows: Hollows
    leaf_pct: float
    photos: tuple[str, ...]
    spread_mm: float
    marks_m: Floats
    solved: Solved | None = field(default=None, repr=False)

    @property
    def is_bare(self) -> bool:
        """Whether the ground itself is seen, so that depths and litres can be said."""
        return self.leaf_pct <= MOST_LEAF_PCT

    @property
    def area_m2(self) -> float:
        """Measured ground in square meters."""
        return known_area_m2(np.isfinite(self.height_mm))


def measure_relief(
    photos: Sequence[Photo], *, side_m: float = 1.0, straightedge_m: float = STRAIGHTEDGE_M
) -> Relief:
    """Measure the heights of bare ground from three to eight photos of the marked square.

    Parameters
    ----------
    photos : sequence of Photo
        Taken on an arc around the square within three minutes, in any order.
    side_m : float
        Side of the square in meters.
    straightedge_m : float
        Length of the straightedge in meters.

    Raises
    ------
    PhotoRefused
        The photos are not fit for it; with what to do.
    """
    chosen = check_set(photos)
    names = [photo.name for photo in chosen]
    solved = solve(chosen, [see_marks(photo) for photo in chosen], side_m=side_m)
    swept = sweep(solved.flats, solved.apart_deg)
    for _ in range(FINER):
        solved = laid_again(solved, refined(solved.surface_m, swept.up_m, solved.lattice))
        swept = sweep(solved.flats, solved.apart_deg, reach_m=FINER_M)
    spread = spread_mm(swept.halves_m)
    if not np.isfinite(swept.up_m).any():
        raise refused(NOTHING_SEEN, where=names[0])
    if spread > MOST_SPREAD_MM:
        raise refused(SPREAD, where=names[0], spread=spread)
    height = 1000 * (at_cells(solved.surface_m) + swept.up_m)
    height[covered(solved)] = np.nan
    if known_area_m2(np.isfinite(height)) < LEAST_AREA_M2:
        raise refused(NOTHING_SEEN, where=names[0])
    error = np.where(np.isfinite(height), cell_errors_mm(solved, swept), np.nan)
    hollows = find_hollows(height, error, solved.lattice, straightedge_m=straightedge_m)
    times = [photo.taken_at for photo in chosen if photo.taken_at is not None]
    return Relief(
        min(times) if times else None, solved.lattice, height, error, hollows, leaf_pct(chosen), tuple(names), spread,
        np.stack(list(solved.marks_m.values())), solved,
    )  # fmt: skip


def covered(solved: Solved) -> np.ndarray:
    """Return the cells whose boxes touch a mark, shape (cells, cells): boards are no ground."""
    corners = np.concatenate(list(solved.marks_m.values()))
    found = solved.lattice.near(corners, PAPER_M + BLOCK * BLOCKS * STEP_M / 2 + CELL_M / PER_CELL)
    middles = np.stack([quad.mean(axis=0) for quad in solved.marks_m.values()])
    half = max(float(np.ptp(quad, axis=0).max()) for quad in solved.marks_m.values()) / 2
    return found | solved.lattice.near(middles, half + PAPER_M + BLOCK * BLOCKS * STEP_M / 2)


def leaf_pct(photos: Sequence[Photo]) -> float:
    """Return the share of leaf in the middle of the photos, in percent: the median over them."""
    shares = []
    for photo in photos:
        rows, cols = photo.rgb.shape[:2]
        middle = photo.rgb[rows // 3 : -rows // 6, cols // 4 : -cols // 4]
        shares.append(cover_straight_down(np.ascontiguousarray(middle)).cover_pct)
    return float(np.median(shares))
