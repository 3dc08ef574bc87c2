"""Every plot as a function from SeasonReview to a matplotlib Figure, without any pyplot state.

Bands are the 80 and 95 % bands of the forecast; dots are measured covers with their 95 % intervals, hollow where the
forecast holds them out. Lines are named where they end and differ in dash and marker, so no figure needs its colours.
"""

from __future__ import annotations

import datetime as dt
import io
import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from swardmark.files import write_whole
from swardmark.report.maps import ground_map_figure, relevel_map
from swardmark.report.palette import (
    INK,
    QUIET,
    RULE,
    WHOLE_LOOK,
    LineLook,
    drawing_style,
    look_of,
    new_figure,
    plain_label,
)
from swardmark.report.words import clean

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from swardmark.outlook.verdict import ZoneOutlook
    from swardmark.review import SeasonReview

DIARY_SIGNS = {"watered": "W", "rain": "R", "fed": "F", "mowed": "M", "edged": "E", "sanded": "S", "note": "N"}
MOST_PANELS = 24
MOST_LINES = 12
TICK_STEPS = (1, 2, 3, 7, 14, 28, 56, 91, 182, 365)
LABEL_IN = 0.52
"""Room for one date label along the axis."""


def cover_curves(review: SeasonReview) -> Figure:
    """Draw all zones in one picture: measured cover, median forecast, and the line of the first mow.

    With more zones than can be told apart, the whole lawn and the flagged ones come first.
    """
    zones = _lines_of(review)
    with drawing_style():
        figure = new_figure(7.6, 4.2)
        axes = figure.add_subplot()
        looks = [WHOLE_LOOK if zone is review.outlook.whole else look_of(n) for n, zone in enumerate(zones)]
        for zone, look in zip(zones, looks, strict=True):
            _draw_line(axes, zone, review, look)
        _name_ends(axes, zones, looks, review)
        _dress(axes, review, zones)
        _mark_diary(axes, review)
        axes.set_ylabel("cover, percent")
    return figure


def zone_curve(review: SeasonReview, zone: ZoneOutlook) -> Figure:
    """Draw one zone with its 80 and 95 % bands; its name is left to the text around it."""
    with drawing_style():
        figure = new_figure(3.6, 2.7)
        axes = figure.add_subplot()
        _draw_bands(axes, zone, review, look_of(0))
        _dress(axes, review, [zone])
        _mark_diary(axes, review)
        axes.set_ylabel("cover, percent")
    return figure


def zone_panels(review: SeasonReview) -> Figure:
    """Draw a small picture for each zone, flagged ones first, on the same scales."""
    zones = ordered_zones(review)[:MOST_PANELS]
    columns = min(3, max(1, len(zones)))
    rows = math.ceil(len(zones) / columns)
    with drawing_style():
        figure = new_figure(3.1 * columns + 0.4, 2.5 * rows + 0.2)
        panels = figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
        for axes, zone in zip(panels.flat, zones, strict=False):
            _draw_bands(axes, zone, review, look_of(0))
            _dress(axes, review, zones)
            axes.set_title(f"{plain_label(zone.zone)}: {zone.status}", fontsize=9, loc="left")
        for axes in panels.flat[len(zones) :]:
            axes.axis("off")
        for n, axes in enumerate(panels.flat[: len(zones)]):
            axes.xaxis.set_tick_params(labelbottom=n + columns >= len(zones))
        figure.supylabel("cover, percent", fontsize=9)
    return figure


def season_comparison(review: SeasonReview) -> Figure:
    """Draw the lawn's mean cover of each season over the days since its levelling."""
    with drawing_style():
        figure = new_figure(7.0, 3.6)
        axes = figure.add_subplot()
        for n, (season, days, cover) in enumerate(season_means(review)):
            look = look_of(n)
            axes.plot(days, cover, color=look.colour, linestyle=look.dash, marker=look.marker, markersize=5)
            axes.annotate(season, (days[-1], cover[-1]), xytext=(6, 0), textcoords="offset points", va="center",
                          color=look.colour)  # fmt: skip
        _mow_line(axes, review)
        axes.set(xlabel="days since levelling", ylabel="cover, percent", ylim=(0, 102))
        axes.margins(x=0.12)
    return figure


def season_means(review: SeasonReview) -> list[tuple[str, list[int], list[float]]]:
    """Return (season, days, cover) with the area-weighted mean cover of each photo day, oldest season first."""
    seasons: dict[str, dict[int, list[tuple[float, float]]]] = {}
    for row in review.covers:
        zero = review.lawn.leveled_before(row.taken_at.date())
        if zero is not None and math.isfinite(row.cover.cover_pct):
            name = f"levelled {zero.isoformat()}"
            seasons.setdefault(name, {}).setdefault(row.day, []).append((row.cover.cover_pct, row.cover.area_m2))
    return [
        (name, sorted(days), [_mean(days[day]) for day in sorted(days)]) for name, days in sorted(seasons.items())
    ]


def ordered_zones(review: SeasonReview) -> list[ZoneOutlook]:
    """Return the zones as they are shown: flagged first, then in their own order."""
    return sorted(review.outlook.zones, key=lambda zone: not zone.flagged)


def all_figures(review: SeasonReview) -> dict[str, Figure]:
    """Return every figure that the season has data for, by its file name."""
    figures = {"cover-curves": cover_curves(review), "zone-panels": zone_panels(review)}
    if len(season_means(review)) > 1:
        figures["seasons"] = season_comparison(review)
    for point in review.points:
        name = "ground" if len(review.points) == 1 else f"ground-{clean(point.name, most=60)}"
        figures[name] = ground_map_figure(review, point)
    if review.relevel is not None and review.relevel.spots:
        figures["relevel-map"] = relevel_map(review)
    return figures


def save_figures(review: SeasonReview, folder: Path | str) -> list[Path]:
    """Write every figure as SVG and PNG, such as out/figures/cover-curves.svg; returns their paths."""
    paths = []
    for name, figure in all_figures(review).items():
        for kind in ("svg", "png"):
            paths.append(write_whole(Path(folder) / f"{name}.{kind}", figure_bytes(figure, kind)))
    return paths


def figure_bytes(figure: Figure, kind: str) -> bytes:
    """Return a figure as the bytes of an "svg" or "png" file, without a date inside."""
    out = io.BytesIO()
    about: dict[str, Any] = {"Date": None} if kind == "svg" else {}
    with drawing_style():
        figure.savefig(out, format=kind, dpi=150, metadata=about)
    return out.getvalue()


def _lines_of(review: SeasonReview) -> list[ZoneOutlook]:
    zones = ordered_zones(review)[: MOST_LINES - 1]
    return [*zones, review.outlook.whole] if len(review.outlook.zones) > 1 else zones


def _draw_line(axes: Axes, zone: ZoneOutlook, review: SeasonReview, look: LineLook) -> None:
    """Draw measured dots and, thin and only ahead of the last photo, the median forecast."""
    dates, cover = _dots(zone, review)
    axes.plot(dates, cover, color=look.colour, linestyle=look.dash, marker=look.marker, markersize=4.5, linewidth=1.6)
    if zone.band is not None and dates:
        ahead = [(day, value) for day, value in zip(zone.band.dates, zone.band.median, strict=True) if day >= dates[-1]]
        if ahead:
            axes.plot(*zip(*ahead, strict=True), color=look.colour, linewidth=0.8, linestyle=look.dash, alpha=0.75)


def _draw_bands(axes: Axes, zone: ZoneOutlook, review: SeasonReview, look: LineLook) -> None:
    band = zone.band
    if band is not None:
        axes.fill_between(band.dates, band.low95, band.high95, color=look.colour, alpha=0.13, lw=0)
        axes.fill_between(band.dates, band.low80, band.high80, color=look.colour, alpha=0.24, lw=0)
        axes.plot(band.dates, band.median, color=look.colour, lw=1.4)
    rows = [c for c in review.covers_of(zone.point, zone.zone) if math.isfinite(c.cover.cover_pct)]
    for row in rows:
        axes.plot([row.taken_at.date()] * 2, [row.cover.low_pct, row.cover.high_pct], color=INK, lw=1)
    dates, cover = _dots(zone, review)
    fills = ["none" if held else INK for held in zone.held_out]
    axes.scatter(dates, cover, s=20, facecolors=fills, edgecolors=INK, linewidths=1, zorder=3)


def _dots(zone: ZoneOutlook, review: SeasonReview) -> tuple[list[dt.date], list[float]]:
    zero = review.day_zero
    return [zero + dt.timedelta(days=day) for day in zone.day], list(zone.observed_pct)


def _name_ends(
    axes: Axes, zones: Sequence[ZoneOutlook], looks: Sequence[LineLook], review: SeasonReview
) -> None:
    """Write each line's name to the right of the plot, moved apart so that names do not touch."""
    ends = []
    for n, zone in enumerate(zones):
        _, cover = _dots(zone, review)
        level = zone.band.median[-1] if zone.band is not None else (cover[-1] if cover else math.nan)
        if math.isfinite(level):
            ends.append((float(level), n, plain_label(zone.zone, most=22)))
    heights = spread_apart([level for level, _, _ in sorted(ends)], gap=5.6, low=1.0, high=101.0)
    right = axes.get_yaxis_transform()
    for (level, n, name), height in zip(sorted(ends), heights, strict=True):
        axes.plot([1.005, 1.03], [level, height], transform=right, color=looks[n].colour, lw=0.8, clip_on=False)
        axes.text(1.035, height, name, transform=right, color=looks[n].colour, va="center", fontsize=8.5)


def diary_key(review: SeasonReview) -> str:
    """Say what the diary's letters on the curves mean, of those that occur: `W watered, R rain`."""
    used = {entry.what for entry in review.diary}
    return ", ".join(f"{sign} {what}" for what, sign in DIARY_SIGNS.items() if what in used)


def spread_apart(values: Sequence[float], *, gap: float, low: float, high: float) -> list[float]:
    """Return sorted values moved as little as needed to lie `gap` apart between `low` and `high` where they fit."""
    placed: list[float] = []
    for value in values:
        placed.append(max(value, placed[-1] + gap if placed else low))
    for n in reversed(range(len(placed))):
        limit = high if n == len(placed) - 1 else placed[n + 1] - gap
        placed[n] = min(placed[n], limit)
    return placed


def _dress(axes: Axes, review: SeasonReview, zones: Sequence[ZoneOutlook]) -> None:
    """Set scales, date ticks that never touch, the mow line and the day of the review."""
    days = [day for zone in zones for day in (*_dots(zone, review)[0], *(zone.band.dates if zone.band else ()))]
    first, last = min(days, default=review.as_of), max(days, default=review.as_of)
    pad = dt.timedelta(days=max(1, (last - first).days // 40))
    axes.set_xlim(first - pad, last + pad)
    axes.set_ylim(0, 106)
    axes.set_yticks([0, 25, 50, 75, 100])
    width_in = axes.figure.get_size_inches()[0] / max(1, axes.get_gridspec().ncols)
    ticks = tick_days(review.day_zero, first, last, most=max(2, int((width_in - 0.7) / LABEL_IN)))
    axes.set_xticks(ticks, [_tick_label(day, review) for day in ticks])
    axes.tick_params(labelsize=8)
    _mow_line(axes, review)
    axes.axvline(review.as_of, color=QUIET, lw=0.9, linestyle=(0, (1, 2)))


def tick_days(zero: dt.date, first: dt.date, last: dt.date, *, most: int) -> list[dt.date]:
    """Return at most so many days from `first` to `last`, a round number of days since levelling apart."""
    span = (last - first).days
    step = next((n for n in TICK_STEPS if span // n + 1 <= most), max(TICK_STEPS[-1], span))
    start = -((zero - first).days // step) * step
    days = [zero + dt.timedelta(days=n) for n in range(start, start + span + step + 1, step)]
    return [day for day in days if first <= day <= last]


def _tick_label(day: dt.date, review: SeasonReview) -> str:
    month = f"{day:%b}"
    date = f"{month} {day.day}" if review.lawn.units == "us" else f"{day.day} {month}"
    return f"{date}\nday {(day - review.day_zero).days}"


def _mow_line(axes: Axes, review: SeasonReview) -> None:
    gate = review.lawn.outlook.first_mow_cover_pct
    axes.axhline(gate, color=INK, lw=1, linestyle=(0, (6, 3)))
    axes.annotate(f"first mow {gate:.0f} %", (0.01, gate), xycoords=("axes fraction", "data"), xytext=(0, 2.5),
                  textcoords="offset points", fontsize=7.5, color=INK, va="bottom",
                  bbox={"facecolor": axes.get_facecolor(), "edgecolor": "none", "pad": 0.6, "alpha": 0.8})  # fmt: skip


def _mark_diary(axes: Axes, review: SeasonReview) -> None:
    """Write the diary's entries as letters along the top, each with a tick; those of one day share one place."""
    first, last = (dt.date(1970, 1, 1) + dt.timedelta(days=float(day)) for day in axes.get_xlim())
    marks: dict[dt.date, str] = {}
    for entry in review.diary:
        if first <= entry.date <= last and DIARY_SIGNS[entry.what] not in marks.get(entry.date, ""):
            marks[entry.date] = marks.get(entry.date, "") + DIARY_SIGNS[entry.what]
    for day, letters in marks.items():
        axes.plot([day, day], [101.5, 106], color=RULE, lw=1, zorder=0.5)
        axes.text(np.datetime64(day), 106.5, "\n".join(reversed(letters)), ha="center", va="bottom", fontsize=7, color=QUIET,
                  linespacing=0.95)  # fmt: skip


def _mean(pairs: Sequence[tuple[float, float]]) -> float:
    values, areas = np.array(pairs).T
    return float(np.average(values, weights=np.maximum(areas, 1e-9)))
