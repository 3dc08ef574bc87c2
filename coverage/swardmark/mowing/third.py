"""The one-third rule, in one place: no mowing takes more than a third of the leaf.

So a lawn is mown before its leaf stands at 1.5 times the height of cut (UF/IFAS Extension, Clay County, "Mowing tips",
2018; University of Tennessee mowing heights, as printed at
https://www.greenindustrypros.com/mowing-maintenance/mowing/article/11305773/suggested-mowing-heights: 1 -> 1.5 in,
2 -> 3, 3 -> 4.5). Some print 1.33 times (a Georgia turf specialist's 0.5 -> 0.67 in, 1.5 -> 2.0): the tidy reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

ONE_THIRD = 1.0 / 3.0
TRIGGER, TIDY_TRIGGER = 1.5, 1.33
RULER_MM = 1.0
"""A ruler pushed into the turf is read to the millimeter."""


def lowest_cut(leaf_mm: float) -> float:
    """Return the lowest height of cut that takes no more than a third of a leaf [mm]."""
    return leaf_mm * (1.0 - ONE_THIRD)


def highest_leaf(cut_mm: float) -> float:
    """Return the highest leaf that may be cut to a height [mm]."""
    return cut_mm * TRIGGER


def share_taken(leaf_mm: float, cut_mm: float) -> float:
    """Return the share of the leaf that a cut takes, 0 where the leaf stands below it."""
    return max(0.0, 1.0 - cut_mm / leaf_mm) if leaf_mm > 0 else 0.0


def is_overdue(leaf_mm: float, cut_mm: float) -> bool:
    """Whether the leaf stands too high for a height of cut, by more than a ruler shows."""
    return leaf_mm > highest_leaf(cut_mm) + RULER_MM


@dataclass(frozen=True)
class Mower:
    """The heights that a mower can be set to: its own notches, or steps of one notch from any height.

    Attributes
    ----------
    notch_mm : float
        One step of the height of cut [mm]; 1/4 in on most mowers (common practice, no source).
    notches_mm : sequence of float
        The heights that it has, where the keeper gave them.
    """

    notch_mm: float = 6.35
    notches_mm: Sequence[float] = ()

    def up(self, cut_mm: float) -> float:
        """Return the next height above a cut: its next notch, or one step more."""
        higher = [height for height in self.notches_mm if height > cut_mm + 0.5]
        return min(higher, default=cut_mm + self.notch_mm)

    def at_least(self, height_mm: float) -> float:
        """Return the lowest setting that is no lower than a height; the height itself where there is none."""
        enough = [height for height in self.notches_mm if height >= height_mm - 1e-6]
        return min(enough, default=height_mm)
