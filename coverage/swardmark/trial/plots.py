"""Plots of a trial and their covers: which zones are plots, and one cover a plot and day from all its photos."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from swardmark.common.errors import UsageError
from swardmark.lawn.toml import LAWN_FILE, Lawn, Zone
from swardmark.season import Season
from swardmark.trial import sentences
from swardmark.trial.rows import Plot

INTERVAL_SDS = 3.92
"""A 95 % interval is as wide as this many standard deviations."""
LEAST_SD_PCT, UNKNOWN_SD_PCT = 0.5, 10.0
"""No cover is taken as surer than the first [points]; one without an interval counts as the second (our judgment)."""


class Seen(NamedTuple):
    """The cover of one plot on one day, and its standard deviation [%]."""

    cover_pct: float
    sd_pct: float


def plots_of(lawn: Lawn) -> tuple[Plot, ...]:
    """Return the lawn's plots: zones with a treatment; those of one name at several photo points are one plot.

    Raises
    ------
    UsageError
        There is none, or a plot has two treatments, two blocks, or none where others have one.
    """
    zones: dict[str, list[Zone]] = {}
    for zone in lawn.zone:
        if zone.treatment:
            zones.setdefault(zone.name, []).append(zone)
    where = str(lawn.folder / LAWN_FILE)
    if not zones:
        raise UsageError(sentences.NO_PLOTS, where=where, remedy=sentences.NO_PLOTS_REMEDY)
    plots = []
    for name, drawn in zones.items():
        if len({(zone.treatment, zone.block) for zone in drawn}) > 1:
            raise UsageError(
                sentences.TWO_KINDS.format(plot=name), where=where, remedy=sentences.TWO_KINDS_REMEDY
            )
        first = drawn[0]
        points = tuple(zone.point for zone in drawn)
        plots.append(Plot(name, first.treatment or "", first.block or "", points))
    without = next((plot.name for plot in plots if not plot.block), None)
    if without is not None and any(plot.block for plot in plots):
        raise UsageError(
            sentences.NO_BLOCK.format(plot=without), where=where, remedy=sentences.NO_BLOCK_REMEDY
        )
    return tuple(plots)


def covers_by_day(season: Season, plots: Sequence[Plot]) -> dict[dt.date, dict[str, Seen]]:
    """Return each plot's cover on each day since the leveling on which it was seen, oldest day first.

    Photos that the forecast takes for ones from before the sand are left out.
    """
    first = first_days(season)
    gathered: dict[dt.date, dict[str, dict[str, list[Seen]]]] = {}
    for plot in plots:
        for point in plot.points:
            begin = first.get((point, plot.name), season.day_zero)
            for row in season.covers_of(point, plot.name):
                day = row.taken_at.date()
                if day < begin or not math.isfinite(row.cover.cover_pct):
                    continue
                seen = Seen(row.cover.cover_pct, _sd(row.cover.low_pct, row.cover.high_pct))
                gathered.setdefault(day, {}).setdefault(plot.name, {}).setdefault(point, []).append(seen)
    return {
        day: {name: _of_points(by_point) for name, by_point in gathered[day].items()}
        for day in sorted(gathered)
    }


def first_days(season: Season) -> dict[tuple[str, str], dt.date]:
    """Return the first day that counts of each zone that has one: the leveling, or the first photo after the sand."""
    return {
        (zone.point, zone.zone): season.day_zero + dt.timedelta(days=int(zone.day[0]))
        for zone in season.outlook.zones
        if zone.day
    }


def combined(seen: Sequence[Seen]) -> Seen:
    """Return the mean of independent values by their precision, the inverse of their variance.

    Where they differ by more than their standard deviations allow, that of the mean grows by what is missing (Birge
    ratio: Birge 1932, Phys. Rev. 40:207; from memory).
    """
    weight = np.array([one.sd_pct**-2 for one in seen])
    cover = np.array([one.cover_pct for one in seen])
    mean = float(weight @ cover / weight.sum())
    chi_square = float(weight @ (cover - mean) ** 2)
    excess = math.sqrt(max(1.0, chi_square / (len(seen) - 1))) if len(seen) > 1 else 1.0
    return Seen(mean, excess * float(weight.sum()) ** -0.5)


def _of_points(by_point: Mapping[str, Sequence[Seen]]) -> Seen:
    """Combine photo points; photos of one point share most of their error, so that more of them are not surer."""
    return combined([
        Seen(combined(seen).cover_pct, float(np.mean([one.sd_pct for one in seen]))) for seen in by_point.values()
    ])  # fmt: skip


def _sd(low_pct: float, high_pct: float) -> float:
    width = high_pct - low_pct
    return max(LEAST_SD_PCT, width / INTERVAL_SDS) if math.isfinite(width) else UNKNOWN_SD_PCT
