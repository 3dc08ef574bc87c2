"""A season of plots to a trial: means, analysis of variance by day, area under the curve, days to recover."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from swardmark.common.errors import UsageError, check_argument
from swardmark.common.phrases import DateForm, date_words, plural
from swardmark.season import Season
from swardmark.trial import sentences
from swardmark.trial.analysis import block_analysis
from swardmark.trial.plots import covers_by_day, plots_of
from swardmark.trial.recovery import area_span, area_under_curve, recovery_of
from swardmark.trial.rows import Plot, Trial, TrialDay

MOST_NAMED = 6
NEAR_NONE_PCT, NEAR_FULL_PCT = 20.0, 80.0


def trial_of(season: Season) -> Trial:
    """Analyze a season of trial plots.

    Parameters
    ----------
    season : Season
        Its lawn.toml gives zones a treatment and a block, by hand or with [plots].

    Raises
    ------
    UsageError
        No zone has a treatment, a plot is described twice, or no plot was seen since the leveling.
    """
    check_argument(season, Season, name="season", where="trial_of", remedy="Give what season_of returns")
    lawn = season.lawn
    plots = plots_of(lawn)
    seen = covers_by_day(season, plots)
    if not seen:
        raise UsageError(sentences.NO_COVERS, where=str(lawn.folder), remedy=sentences.NO_COVERS_REMEDY)
    treatments, blocks = [plot.treatment for plot in plots], [plot.block for plot in plots]
    order = tuple(dict.fromkeys(treatments))
    days = []
    for date, of_plot in seen.items():
        cover = tuple(of_plot[p.name].cover_pct if p.name in of_plot else math.nan for p in plots)
        sd = tuple(of_plot[p.name].sd_pct if p.name in of_plot else math.nan for p in plots)
        analysis = block_analysis(cover, treatments, blocks, order=order)
        days.append(TrialDay(date, (date - season.day_zero).days, cover, sd, analysis))
    numbers, covers = [day.day for day in days], np.array([day.cover_pct for day in days])
    span = area_span(numbers, covers)
    areas = tuple(area_under_curve(numbers, cover, span) for cover in covers.T)
    has_area = any(math.isfinite(area) for area in areas)
    zones = season.outlook.zones
    recovery = tuple(recovery_of(name, [p for p in plots if p.treatment == name], zones) for name in order)
    return Trial(
        lawn=lawn.name,
        units=lawn.units,
        date_form=lawn.date_form,
        as_of=season.as_of,
        day_zero=season.day_zero,
        treatments=order,
        plots=plots,
        days=tuple(days),
        area=block_analysis(areas, treatments, blocks, order=order) if has_area else None,
        area_pct_days=areas,
        area_span=span,
        recovery=recovery,
        notes=tuple(_notes(season, plots, days, sum(one.plots for one in recovery))),
    )


def _notes(season: Season, plots: Sequence[Plot], days: Sequence[TrialDay], forecast: int) -> list[str]:
    form, notes = season.lawn.date_form, []
    if len({plot.treatment for plot in plots}) == 1:
        notes.append(sentences.ONE_TREATMENT)
    if not any(plot.block for plot in plots):
        notes.append(sentences.NO_BLOCKS)
    missing = np.isnan(np.array([day.cover_pct for day in days]))
    hidden: list[bool] = missing.all(axis=0).tolist()
    never = [plot.name for plot, is_hidden in zip(plots, hidden, strict=True) if is_hidden]
    if never:
        notes.append(sentences.NEVER_SEEN.format(plots=_listed(never)))
    some = missing[:, ~missing.all(axis=0)]
    short = [
        sentences.DAY_MISSING.format(plots=row.sum(), all=len(row), day=date_words(day.date, form))
        for day, row in zip(days, some, strict=True)
        if row.any()
    ]
    if short:
        notes.append(sentences.NOT_SEEN_ON.format(days=_listed(short)))
    if missing.any():
        notes.append(sentences.ADJUSTED)
    several = sum(len(plot.points) > 1 and _points_seen(season, plot) > 1 for plot in plots)
    if several:
        notes.append(plural(several, sentences.TWO_POINTS_ONE, sentences.TWO_POINTS).format(plots=several))
    others = [zone.name for zone in season.lawn.zone if not zone.treatment]
    if others:
        notes.append(sentences.OTHER_ZONES.format(zones=_listed(others)))
    notes += _test_notes(days, form)
    if 0 < forecast < len(plots):
        notes.append(sentences.TOO_EARLY.format(plots=len(plots) - forecast, all=len(plots)))
    return notes


def _test_notes(days: Sequence[TrialDay], form: DateForm) -> list[str]:
    """Say on which days the treatments could not be tested, and on which the test is only a guide."""
    several = [day for day in days if len(day.analysis.means) > 1]
    apart = [day for day in several if not day.analysis.connected]
    untested = [day for day in several if day.analysis.connected and not day.analysis.error.mean_square > 0]
    unlike = [day for day in several if _unlike(day)]
    kinds = (
        (sentences.NOT_CONNECTED, apart),
        (sentences.NO_ERROR, untested),
        (sentences.UNLIKE_SPREAD, unlike),
    )
    return [
        template.format(days=_listed([date_words(day.date, form) for day in those]))
        for template, those in kinds
        if those
    ]


def _unlike(day: TrialDay) -> bool:
    means = [one.mean for one in day.analysis.means if math.isfinite(one.mean)]
    return bool(means) and min(means) < NEAR_NONE_PCT and max(means) > NEAR_FULL_PCT


def _points_seen(season: Season, plot: Plot) -> int:
    return sum(
        any(math.isfinite(row.cover.cover_pct) for row in season.covers_of(point, plot.name))
        for point in plot.points
    )


def _listed(names: Sequence[str]) -> str:
    if len(names) <= MOST_NAMED:
        return ", ".join(names)
    return sentences.AND_MORE.format(names=", ".join(names[:MOST_NAMED]), more=len(names) - MOST_NAMED)
