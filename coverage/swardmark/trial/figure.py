"""The picture of a trial: each treatment's mean cover over the days, with standard errors, LSD bars and letters."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

from swardmark.common.files import write_whole
from swardmark.drawing.figures import figure_bytes
from swardmark.drawing.palette import INK, QUIET, drawing_style, look_of, new_figure, plain_label
from swardmark.drawing.plotting import spread_apart
from swardmark.trial import sentences
from swardmark.trial.rows import Trial

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

HEIGHT_IN, LEAST_LABEL_IN = 4.6, 0.2
TOP_PCT = 104.0
LEAST_RISE_PCT = 4.0


def trial_figure(trial: Trial) -> Figure:
    """Draw the means of all treatments over the days; below them, one LSD bar a day where there is a test."""
    count = len(trial.treatments)
    height = max(HEIGHT_IN, 1.4 + LEAST_LABEL_IN * count)
    with drawing_style():
        figure = new_figure(7.6, height)
        axes, below = figure.subplots(2, 1, sharex=True, height_ratios=(4, 1))
        for number in range(count):
            _draw_means(axes, trial, number)
        _name_ends(axes, trial, gap=min(6.0, 130 * LEAST_LABEL_IN / height))
        axes.set_ylim(0, TOP_PCT)
        axes.set_yticks([0, 25, 50, 75, 100])
        axes.set_ylabel(sentences.AXIS_COVER)
        _draw_lsd(below, trial)
        below.set_xlabel(sentences.AXIS_DAYS)
        days = [day.day for day in trial.days]
        pad = max(1.0, (days[-1] - days[0]) / 30)
        below.set_xlim(days[0] - pad, days[-1] + pad)
        axes.set_title(sentences.FIGURE_NOTE, fontsize=8, loc="left", color=QUIET)
    return figure


def save_trial_figure(trial: Trial, folder: Path) -> list[Path]:
    """Write trial.svg and trial.png; returns their paths."""
    figure = trial_figure(trial)
    return [write_whole(folder / f"trial.{kind}", figure_bytes(figure, kind)) for kind in ("svg", "png")]


def _draw_means(axes: Axes, trial: Trial, number: int) -> None:
    look = look_of(number)
    means = [(day.day, day.analysis.means[number]) for day in trial.days]
    known = [(day, one) for day, one in means if math.isfinite(one.mean)]
    errors = [one.se if math.isfinite(one.se) else 0.0 for _, one in known]
    axes.errorbar(
        [day for day, _ in known], [one.mean for _, one in known], yerr=errors, color=look.color, linestyle=look.dash,
        marker=look.marker, markersize=4.5, linewidth=1.5, elinewidth=0.9, capsize=2,
    )  # fmt: skip


def _name_ends(axes: Axes, trial: Trial, *, gap: float) -> None:
    """Write each treatment's name and its letters of the last day to the right, moved apart so that none touch."""
    last = trial.days[-1].analysis.means
    ends = sorted((one.mean, n) for n, one in enumerate(last) if math.isfinite(one.mean))
    heights = spread_apart([mean for mean, _ in ends], gap=gap, low=1.0, high=101.0)
    right = axes.get_yaxis_transform()
    for (mean, number), height in zip(ends, heights, strict=True):
        color = look_of(number).color
        treatment = plain_label(last[number].treatment, most=24)
        text = sentences.LINE_END.format(treatment=treatment, letters=last[number].letters).rstrip()
        axes.plot([1.005, 1.03], [mean, height], transform=right, color=color, lw=0.8, clip_on=False)
        axes.text(1.035, height, text, transform=right, color=color, va="center", fontsize=8.5)


def _draw_lsd(axes: Axes, trial: Trial) -> None:
    """Draw the least significant difference of each day as a bar; hollow where the treatments do not differ."""
    tested = [day for day in trial.days if math.isfinite(day.analysis.lsd)]
    fills = [INK if day.analysis.treatments.p < 0.05 else "none" for day in tested]
    width = max(0.4, min(1.6, (trial.days[-1].day - trial.days[0].day) / 40))
    axes.bar(
        [day.day for day in tested], [day.analysis.lsd for day in tested], width=width, color=fills, edgecolor=INK,
        linewidth=0.9,
    )  # fmt: skip
    axes.set_axisbelow(True)
    axes.set_ylabel(sentences.LSD_BARS, fontsize=8)
    axes.set_ylim(0, max([LEAST_RISE_PCT, *(1.15 * day.analysis.lsd for day in tested)]))
