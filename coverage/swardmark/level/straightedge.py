"""The straightedge laid at places that were drawn by lot: an estimate of the sand with its interval, without a map.

The layings are a systematic sample with a random start, along and across by turns, so that every place of the lawn is
as likely to lie under a tick as any other; mean gap times area then estimates the fill without bias, whatever the
ground is like. The edge is slid a foot either way along its own line and the largest gap at each tick is noted: an
edge whose end hangs in a hollow reads too little. A tick that the ground touches is a gap of zero or less. It is
censored, not zero: a reading of zero stands for the mean of the errors below zero, as positive errors stand in the
others. The interval is Student's, of the layings as clusters; a systematic sample does no worse than these.

Sources: W. G. Cochran, Sampling Techniques, 3rd edition 1977, chapters 6 (ratio), 8 (systematic) and 9A (clusters),
from memory; mean of the lower half of a normal distribution, -sqrt(2/pi) standard deviations.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from swardmark.lawn.heights import GAP_HOWS, READING_SE_MM, HeightReading
from swardmark.level.remeasure import Volume

LEAST_LAYINGS = 4
HALF_NORMAL = math.sqrt(2 / math.pi)


@dataclass(frozen=True)
class StraightedgeEstimate:
    """What the layings of one day say of a photo point's ground.

    Attributes
    ----------
    layings, ticks : int
        How many there were.
    gap_mm, low_mm, high_mm : float
        Mean gap and its 95 % interval in millimeters; 1 mm is 1 litre on a square meter.
    deviation_mm : tuple of float
        Median and 95th percentile of the gaps.
    """

    date: dt.date
    point: str
    layings: int
    ticks: int
    gap_mm: float
    low_mm: float
    high_mm: float
    deviation_mm: tuple[float, float]

    def fill(self, area_m2: float) -> Volume:
        """Return the fill of so many square meters of such ground."""
        return Volume(area_m2 * self.gap_mm, area_m2 * self.low_mm, area_m2 * self.high_mm)


def straightedge_estimates(rows: Sequence[HeightReading]) -> tuple[StraightedgeEstimate, ...]:
    """Return an estimate for each day and photo point with enough layings, oldest first."""
    groups: dict[tuple[dt.date, str], dict[str, list[HeightReading]]] = {}
    for row in rows:
        if row.how in GAP_HOWS:
            laying = row.place or f"{row.x_m} {row.y_m}"
            groups.setdefault((row.date, row.point), {}).setdefault(laying, []).append(row)
    return tuple(
        _estimate(date, point, list(layings.values()))
        for (date, point), layings in sorted(groups.items())
        if len(layings) >= LEAST_LAYINGS
    )


def mean_gap(layings: Sequence[Sequence[float]], *, se_mm: float) -> tuple[float, float, float]:
    """Return the mean gap of layings with its 95 % interval, in millimeters.

    Parameters
    ----------
    layings : sequence of sequence of float
        Gaps at the ticks of each laying; zero or less where the ground touches the edge.
    se_mm : float
        Standard error of one reading.
    """
    from scipy.stats import t

    sums = np.array([sum(gap if gap > 0 else -HALF_NORMAL * se_mm for gap in gaps) for gaps in layings])
    ticks = np.array([len(gaps) for gaps in layings])
    count = len(sums)
    mean = float(sums.sum() / ticks.sum())
    rest = sums - mean * ticks
    se = math.sqrt(count / (count - 1) * float((rest**2).sum())) / float(ticks.sum())
    wide = float(t.ppf(0.975, count - 1)) * se
    return max(0.0, mean), max(0.0, mean - wide), max(0.0, mean + wide)


def _estimate(date: dt.date, point: str, layings: Sequence[Sequence[HeightReading]]) -> StraightedgeEstimate:
    gaps = [[-row.height_mm for row in laying] for laying in layings]
    every = [max(gap, 0.0) for laying in gaps for gap in laying]
    se = float(np.mean([READING_SE_MM[row.how] for laying in layings for row in laying]))
    median, high = np.percentile(every, [50, 95])
    return StraightedgeEstimate(
        date, point, len(gaps), len(every), *mean_gap(gaps, se_mm=se), (float(median), float(high))
    )
