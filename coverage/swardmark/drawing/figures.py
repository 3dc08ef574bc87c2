"""Every plot as a function from Season to a matplotlib Figure, without any pyplot state.

Bands are the 80 and 95 % bands of the forecast; dots are measured covers with their 95 % intervals, hollow where the
forecast holds them out. Lines are named where they end and differ in dash and marker, so no figure needs its colors.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from swardmark.common.files import write_whole
from swardmark.common.text import clean
from swardmark.drawing import sentences
from swardmark.drawing.level_map import level_map
from swardmark.drawing.maps import ground_map_figure, relevel_map
from swardmark.drawing.palette import WHOLE_LOOK, drawing_style, look_of, new_figure, plain_label
from swardmark.drawing.plotting import (
    draw_bands,
    draw_line,
    dress,
    mark_diary,
    mow_line,
    name_ends,
    spread_apart,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.season import Season

MOST_PANELS = 24
MOST_LINES = 12


def cover_curves(season: Season) -> Figure:
    """Draw all zones in one picture: measured cover, median forecast, and the line of the first mow.

    With more zones than can be told apart, the flagged ones are shown first, and the whole lawn always.
    """
    zones = _lines_of(season)
    looks = [WHOLE_LOOK if zone is season.outlook.whole else look_of(n) for n, zone in enumerate(zones)]
    with drawing_style():
        figure = new_figure(7.6, 4.2)
        axes = figure.add_subplot()
        for zone, look in zip(zones, looks, strict=True):
            draw_line(axes, zone, season, look)
        name_ends(axes, zones, looks)
        dress(axes, season, zones, width_in=6.0)
        mark_diary(axes, season)
        axes.set_ylabel(sentences.AXIS_COVER)
    return figure


def zone_curve(season: Season, zone: ZoneOutlook, *, width_in: float = 3.6) -> Figure:
    """Draw one zone with its 80 and 95 % bands; its name is left to the text around it."""
    with drawing_style():
        figure = new_figure(width_in, 0.75 * width_in)
        axes = figure.add_subplot()
        draw_bands(axes, zone, season, look_of(0))
        dress(axes, season, [zone], width_in=width_in)
        mark_diary(axes, season)
        axes.set_ylabel(sentences.AXIS_COVER)
    return figure


def zone_panels(season: Season) -> Figure:
    """Draw a small picture for each zone, flagged ones first, on the same scales."""
    zones = ordered_zones(season)[:MOST_PANELS]
    columns = min(3, max(1, len(zones)))
    rows = math.ceil(len(zones) / columns)
    with drawing_style():
        figure = new_figure(3.1 * columns + 0.4, 2.5 * rows + 0.2)
        panels = figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
        for axes, zone in zip(panels.flat, zones, strict=False):
            draw_bands(axes, zone, season, look_of(0))
            dress(axes, season, zones, width_in=3.1)
            axes.set_title(f"{plain_label(zone.zone)}: {zone.status}", fontsize=9, loc="left")
        for axes in panels.flat[len(zones) :]:
            axes.axis("off")
        for n, axes in enumerate(panels.flat[: len(zones)]):
            axes.xaxis.set_tick_params(labelbottom=n + columns >= len(zones))
        figure.supylabel(sentences.AXIS_COVER, fontsize=9)
    return figure


def season_comparison(season: Season) -> Figure:
    """Draw the lawn's mean cover of each season over the days since its leveling."""
    with drawing_style():
        figure = new_figure(7.0, 3.6)
        axes = figure.add_subplot()
        seasons = sorted(season_means(season), key=lambda mean: mean[2][-1])
        heights = spread_apart([cover[-1] for _, _, cover in seasons], gap=6.5, low=2.0, high=100.0)
        for (name, days, cover), height in zip(seasons, heights, strict=True):
            look = look_of(sorted(other for other, _, _ in seasons).index(name))
            axes.plot(days, cover, color=look.color, linestyle=look.dash, marker=look.marker, markersize=5)
            axes.annotate(name, (days[-1], height), xytext=(6, 0), textcoords="offset points",
                          va="center", color=look.color)  # fmt: skip
        mow_line(axes, season)
        axes.set(xlabel=sentences.AXIS_DAYS, ylabel=sentences.AXIS_COVER, ylim=(0, 102))
        axes.margins(x=0.12)
    return figure


def season_means(season: Season) -> list[tuple[str, list[int], list[float]]]:
    """Return (season, days, cover) with the area-weighted mean cover of each photo day, oldest season first."""
    seasons: dict[str, dict[int, list[tuple[float, float]]]] = {}
    for row in season.covers:
        zero = season.lawn.leveled_before(row.taken_at.date())
        if zero is not None and math.isfinite(row.cover.cover_pct):
            name = sentences.LEVELED.format(day=zero.isoformat())
            seasons.setdefault(name, {}).setdefault(row.day, []).append(
                (row.cover.cover_pct, row.cover.area_m2)
            )
    return [
        (name, sorted(days), [_mean(days[day]) for day in sorted(days)])
        for name, days in sorted(seasons.items())
    ]


def ordered_zones(season: Season) -> list[ZoneOutlook]:
    """Return the zones as they are shown: flagged first, then in their own order."""
    return sorted(season.outlook.zones, key=lambda zone: not zone.flagged)


def all_figures(season: Season) -> dict[str, Figure]:
    """Return every figure that the season has data for, by its file name."""
    figures = {"cover-curves": cover_curves(season), "zone-panels": zone_panels(season)}
    if len(season_means(season)) > 1:
        figures["seasons"] = season_comparison(season)
    for point in season.points:
        name = "ground" if len(season.points) == 1 else f"ground-{clean(point.name, most=60)}"
        figures[name] = ground_map_figure(season, point)
    if season.relevel is not None and season.relevel.spots:
        figures["relevel-map"] = relevel_map(season)
    for one in season.level.maps:
        name = "level-map" if len(season.level.maps) == 1 else f"level-map-{clean(one.point, most=60)}"
        figures[name] = level_map(one, units=season.lawn.units)
    return figures


def save_figures(season: Season, folder: Path | str) -> list[Path]:
    """Write every figure as SVG and PNG, such as out/figures/cover-curves.svg; returns their paths."""
    paths = []
    for name, figure in all_figures(season).items():
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


def _lines_of(season: Season) -> list[ZoneOutlook]:
    zones = ordered_zones(season)[: MOST_LINES - 1]
    return [*zones, season.outlook.whole] if len(season.outlook.zones) > 1 else zones


def _mean(pairs: Sequence[tuple[float, float]]) -> float:
    values, areas = np.array(pairs).T
    return float(np.average(values, weights=np.maximum(areas, 1e-9)))
