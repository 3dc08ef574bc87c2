"""Cells of 10 cm: when was each one covered, and how far is it behind the lawn's median cell?

The cover of each cell is followed over the dates with the least-squares fit that never falls (isotonic
regression; Barlow, Bartholomew, Bremner and Brunk 1972, Statistical Inference under Order Restrictions): it
takes the noise out and assumes no shape. The limits are our judgment, tried on drawn lawns; each is a
named constant.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

LEAST_DROP = 0.10
"""A place is never told from the lawn on less than 10 points of cover."""
NOISE_TIMES = 3.0
"""And on a patchy lawn only beyond three times the lawn's own spread from cell to cell."""
COVERED_SHARE = 0.5
"""A cell counts as covered at half of the lawn's own late cover."""
LATE_DAYS = 7.0
"""A cell lags when it was covered a week or more after the lawn's median cell."""
LAST_PHOTOS, LAST_SPAN_DAYS = 3, 14.0
"""The outcome is the best cover of the last three photos, if they lie within two weeks: a shadow hides
leaves, but nothing on a lawn shows leaves where there are none."""
GREEN_SHARE = 0.9
"""Photos after the lawn has lost a tenth of its best cover (dormancy, drought) do not count as last."""
LEAST_SEEN = 0.3
"""A cell is read on a date when this share of its points is readable."""


@dataclass(frozen=True, eq=False)
class CellHistory:
    """How the cells of one photo point were covered.

    Attributes
    ----------
    late : ndarray of int, shape (1..3,)
        Indices of the last dates, whose best cover is the outcome.
    lawn_cover : float
        The median cell's outcome, 0..1; NaN where nothing was seen.
    lawn_day : float
        The day on which the median cell was covered; infinite if it was not.
    lag_days : ndarray, shape (rows, cols)
        Days behind the median cell; up to the last date for a cell that was not covered; NaN where not seen.
    is_covered : ndarray of bool, shape (rows, cols)
        Whether the cell was covered by the last date.
    low_limit : float
        Cover below which a place is clearly below the lawn.
    """

    late: NDArray[np.intp]
    lawn_cover: float
    lawn_day: float
    lag_days: Floats
    is_covered: Mask
    low_limit: float

    @property
    def bare_limit(self) -> float:
        """Cover below which a place is not covered."""
        return COVERED_SHARE * self.lawn_cover


def cell_history(cover: Floats, days: Floats) -> CellHistory:
    """Follow the cells over the dates.

    Parameters
    ----------
    cover : ndarray, shape (dates, rows, cols)
        Cover 0..1 of each cell, NaN where it was not seen; dates in order.
    days : ndarray, shape (dates,)
        Days since the leveling.
    """
    lawn = np.array([_median(date) for date in cover])
    green = np.flatnonzero(np.nan_to_num(lawn) >= GREEN_SHARE * np.nan_to_num(lawn).max())
    last = int(green[-1])
    late = np.flatnonzero(days[: last + 1] >= days[last] - LAST_SPAN_DAYS)[-LAST_PHOTOS:]
    outcome = over_dates(cover[late], "max")
    typical = _median(outcome)
    first = first_day_at(isotonic(cover[: last + 1]), days[: last + 1], COVERED_SHARE * typical)
    is_seen = np.isfinite(outcome)
    lawn_day = float(np.median(first[is_seen])) if is_seen.any() else np.inf
    spread = 1.4826 * _median(np.abs(outcome - typical))
    lag = np.where(is_seen, np.minimum(first, days[last]) - min(lawn_day, float(days[last])), np.nan)
    return CellHistory(
        late, typical, lawn_day, lag, np.isfinite(first), typical - max(LEAST_DROP, NOISE_TIMES * spread)
    )


def cell_cover(leaf: NDArray[np.float32], readable: NDArray[np.float32], side: int) -> Floats:
    """Sum counts of leaf and readable points over square cells and return the cover of each cell.

    Parameters
    ----------
    leaf, readable : ndarray, shape (dates, rows, cols)
        Counts of points.
    side : int
        Side of a cell in rows; the last cells may be cut off by the edge.

    Returns
    -------
    ndarray, shape (dates, ceil(rows / side), ceil(cols / side))
        Leaf over readable points; NaN where fewer than `LEAST_SEEN` of the fullest cell's points are
        readable.
    """
    leaves, points = blocks(leaf, side), blocks(readable, side)
    is_seen = points >= max(1.0, LEAST_SEEN * float(points.max(initial=0)))
    return np.where(is_seen, leaves / np.maximum(points, 1), np.nan)


def blocks(values: NDArray[np.float32], side: int) -> NDArray[np.float32]:
    """Sum over square blocks of the last two axes, filled up with zeros at the far edges."""
    rows, cols = (-(-length // side) for length in values.shape[-2:])
    total = np.zeros((*values.shape[:-2], rows, cols), np.float32)
    for row in range(side):
        for col in range(side):
            part = values[..., row::side, col::side]
            total[..., : part.shape[-2], : part.shape[-1]] += part
    return total


def isotonic(series: Floats) -> Floats:
    """Fit the never-falling series nearest in least squares along the first axis; NaN takes its neighbor.

    fit[t] = max over s <= t of min over u >= t of mean(series[s..u]), the min-max formula.
    """
    filled = _fill_in_time(series)
    sums = np.concatenate([np.zeros_like(filled[:1]), np.cumsum(filled, axis=0)])
    dates = len(filled)
    fit = np.full_like(filled, -np.inf)
    for start in range(dates):
        lengths = np.arange(1, dates - start + 1).reshape(-1, *[1] * (filled.ndim - 1))
        means = (sums[start + 1 :] - sums[start]) / lengths
        lowest = np.minimum.accumulate(means[::-1], axis=0)[::-1]
        np.maximum(fit[start:], lowest, out=fit[start:])
    return fit


def first_day_at(fit: Floats, days: Floats, level: float) -> Floats:
    """Return the day on which a never-falling series first reaches `level`, straight between dates.

    Infinite where it never does; the first date's day where it begins there.
    """
    reached = fit >= level
    after = np.argmax(reached, axis=0)
    before = np.maximum(after - 1, 0)
    high = np.take_along_axis(fit, after[None], axis=0)[0]
    low = np.take_along_axis(fit, before[None], axis=0)[0]
    rise = np.where(high > low, high - low, 1.0)
    share = np.clip(np.where(after > 0, (level - low) / rise, 1.0), 0, 1)
    day = days[before] + share * (days[after] - days[before])
    return np.where(reached.any(axis=0), day, np.inf)


def over_dates(values: Floats, reduce: Literal["median", "max"]) -> Floats:
    """Return the median or the highest value over the first axis; NaN where no date was seen."""
    nothing = np.isnan(values).all(axis=0)
    safe = np.where(nothing, 0.0, values)
    return np.where(
        nothing, np.nan, np.nanmedian(safe, axis=0) if reduce == "median" else np.nanmax(safe, axis=0)
    )


def _median(values: Floats) -> float:
    seen = values[np.isfinite(values)]
    return float(np.median(seen)) if seen.size else float("nan")


def _fill_in_time(series: Floats) -> Floats:
    """Carry the last seen value forward, and the first seen one back; all-NaN stays NaN."""
    filled = np.array(series, float)
    for date in range(1, len(filled)):
        filled[date] = np.where(np.isnan(filled[date]), filled[date - 1], filled[date])
    for date in range(len(filled) - 2, -1, -1):
        filled[date] = np.where(np.isnan(filled[date]), filled[date + 1], filled[date])
    return filled
