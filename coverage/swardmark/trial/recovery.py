"""How a treatment recovers: area under each plot's recovery curve, and days until its mean curve reaches a cover.

The mean curve of a treatment is the mean of its plots' forecast curves, which run from the leveling through the photos
and on. Its variance is that of the plots about their mean plus that of each plot's own curve (from the 95 % bands),
over the number of plots; the interval is Student's t with Satterthwaite's degrees of freedom (Satterthwaite 1946,
Biometrics Bull. 2:110-114; from memory). The two overlap, so the interval is rather too wide than too narrow. Where a
curve does not reach the cover within the forecast, the day is censored.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from swardmark.forecast.rows import ForecastBand, ZoneOutlook
from swardmark.trial.plots import INTERVAL_SDS
from swardmark.trial.rows import LEVEL, DaysTo, Plot, TreatmentRecovery

COVERS_PCT = (50.0, 90.0)
HELD_DAYS = 3.0
"""A plot's first and last cover stand for so many days before and after, so that one hidden day costs no plot."""
LEAST_SHARE = 0.5
"""The area runs over the days on which at least this share of all plots was seen."""
LEAST_SD_PCT = 0.25


def area_span(days: Sequence[int], covers: np.ndarray) -> tuple[int, int]:
    """Return the first and last day of the area under the curve; both the same where there is none.

    Parameters
    ----------
    days : sequence of int
        Days since the leveling, ascending.
    covers : ndarray, shape (days, plots)
        Cover, NaN where a plot was not seen [%].
    """
    often = [day for day, row in zip(days, covers, strict=True) if np.isfinite(row).mean() >= LEAST_SHARE]
    return (often[0], often[-1]) if often else (0, 0)


def area_under_curve(days: Sequence[int], cover_pct: np.ndarray, span: tuple[int, int]) -> float:
    """Return the area under a plot's cover by trapezoids [percent times days]; NaN where it does not reach the ends.

    Days on which the plot was not seen are bridged by a straight line.
    """
    seen = np.isfinite(cover_pct)
    first, last = span
    own, cover = np.asarray(days, float)[seen], np.asarray(cover_pct, float)[seen]
    if last <= first or len(own) < 2 or own[0] > first + HELD_DAYS or own[-1] < last - HELD_DAYS:
        return math.nan
    at = np.unique([first, *own[(own > first) & (own < last)], last])
    return float(np.trapezoid(np.interp(at, own, cover), at))


def recovery_of(treatment: str, plots: Sequence[Plot], zones: Sequence[ZoneOutlook]) -> TreatmentRecovery:
    """Return the days to 50 and 90 % of a treatment.

    Parameters
    ----------
    treatment : str
    plots : sequence of Plot
        The treatment's plots.
    zones : sequence of ZoneOutlook
        The outlook of all zones.
    """
    curves = []
    for plot in plots:
        bands = [
            z.band for z in zones if z.zone == plot.name and z.point in plot.points and z.band is not None
        ]
        if bands:
            curves.append(_plot_curve(bands))
    if not curves:
        unknown = (DaysTo(level, None, None, None, math.inf, known=False) for level in COVERS_PCT)
        return TreatmentRecovery(treatment, 0, tuple(unknown))
    last = min(day[-1] for day, _, _ in curves)
    day = np.array([one for one in curves[0][0] if one <= last])
    mean = np.array([np.interp(day, own, curve) for own, curve, _ in curves])
    sd = np.array([np.interp(day, own, error) for own, _, error in curves])
    error = _half_width(mean, sd)
    middle = mean.mean(axis=0)
    days_to = tuple(
        DaysTo(
            level,
            first_day(day, middle, level),
            first_day(day, middle + error, level),
            first_day(day, middle - error, level),
            float(last),
        )
        for level in COVERS_PCT
    )
    return TreatmentRecovery(treatment, len(curves), days_to)


def first_day(day: np.ndarray, cover_pct: np.ndarray, level_pct: float) -> float | None:
    """Return the first day on which a curve reaches a cover, between its points by a straight line; None if never."""
    above = np.flatnonzero(cover_pct >= level_pct)
    if not len(above):
        return None
    at = int(above[0])
    if at == 0:
        return float(day[0])
    return float(np.interp(level_pct, cover_pct[at - 1 : at + 1], day[at - 1 : at + 1]))


def _plot_curve(bands: Sequence[ForecastBand]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return days, median and standard deviation of a plot's curve; those of two photo points by their precision."""
    day = np.array(min((band.day for band in bands), key=len))
    median = np.array([np.interp(day, band.day, band.median) for band in bands])
    width = np.array([np.interp(day, band.day, np.subtract(band.high95, band.low95)) for band in bands])
    weight = np.maximum(width / INTERVAL_SDS, LEAST_SD_PCT) ** -2
    return day, (weight * median).sum(axis=0) / weight.sum(axis=0), weight.sum(axis=0) ** -0.5


def _half_width(mean: np.ndarray, sd: np.ndarray) -> np.ndarray:
    """Return half the 95 % interval of the mean of curves, shape (days,); arguments have shape (plots, days)."""
    from scipy.stats import t as t_distribution

    count = len(mean)
    own = (sd**2).mean(axis=0) / count
    if count == 1:
        return np.asarray(INTERVAL_SDS / 2 * np.sqrt(own))
    among = mean.var(axis=0, ddof=1) / count
    freedom = (count - 1) * ((own + among) / np.maximum(among, 1e-9)) ** 2
    return np.asarray(t_distribution.ppf(1 - LEVEL / 2, freedom) * np.sqrt(own + among))
