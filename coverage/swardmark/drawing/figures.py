"""Every plot as a function from Season to a matplotlib Figure, without any pyplot state.

Bands are the 80 and 95 % bands of the forecast; dots are measured covers with their 95 % intervals, hollow where the
forecast holds them out. Lines are named where they end and differ in dash and marker, so no figure needs its colors.
"""

from __future__ import annotations

import io
import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from swardmark.common.text import clean
from swardmark.common.writing import write_files
from swardmark.drawing import sentences
from swardmark.drawing.bare import outlines_of
from swardmark.drawing.ground_view import Outline
from swardmark.drawing.level_map import level_map
from swardmark.drawing.maps import first_with_spots, ground_map_figure, relevel_map
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
from swardmark.forecast.total import LEAST_AREA

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.level.review import LevelReview
    from swardmark.measure.points import PointReview, ZoneCover
    from swardmark.season import Season

CURVES, SEASONS = "cover-curves", "seasons"
"""Files of figures that the report shows too."""
KINDS = ("svg", "png")
PNG_DPI, PNG_EFFORT = 150, 3
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
    """Return (season, days, cover) with the area-weighted mean cover of the same ground on each day, oldest first.

    A zone that a day's photos do not show lies on the straight line between its own photos. A day counts where nine
    tenths of the ground are known, so photo points of different days give one curve; a season without such a day is
    left out.
    """
    seasons: dict[str, dict[tuple[str, str], list[ZoneCover]]] = {}
    for row in season.covers:
        zero = season.lawn.leveled_before(row.taken_at.date())
        if zero is not None and math.isfinite(row.cover.cover_pct):
            name = sentences.LEVELED.format(day=zero.isoformat())
            seasons.setdefault(name, {}).setdefault((row.point, row.zone), []).append(row)
    means = ((name, *_mean_curve(list(zones.values()))) for name, zones in sorted(seasons.items()))
    return [(name, days, cover) for name, days, cover in means if days]


def ordered_zones(season: Season) -> list[ZoneOutlook]:
    """Return the zones as they are shown: flagged first, then in their own order."""
    return sorted(season.outlook.zones, key=lambda zone: not zone.flagged)


def all_figures(season: Season) -> dict[str, Callable[[], Figure]]:
    """Return how to draw every figure that the season has data for, by its file name."""
    figures = curve_figures(season)
    for point in season.points:
        figures[ground_name(season, point.name)] = partial(ground_map_figure, season, point)
    if season.relevel is not None and season.relevel.spots:
        figures[spots_name(season)] = partial(relevel_map, season)
    for one in season.level.maps:
        figures[level_name(season.level, one.point)] = partial(level_map, one, units=season.lawn.units)
    return figures


def curve_figures(season: Season) -> dict[str, Callable[[], Figure]]:
    """Return how to draw the figures over time, which need no plan, by their file names."""
    figures: dict[str, Callable[[], Figure]] = {
        CURVES: partial(cover_curves, season),
        "zone-panels": partial(zone_panels, season),
    }
    if len(season_means(season)) > 1:
        figures[SEASONS] = partial(season_comparison, season)
    return figures


def ground_name(season: Season, point: str) -> str:
    """Return the name of the file that shows the ground of a photo point."""
    return _name_of("ground", point, [one.name for one in season.points])


def spots_name(season: Season, point: str | None = None) -> str:
    """Return the name of the map of spots of a photo point; by default of the one that the folder of figures shows."""
    if point is None or point == first_with_spots(season).name:
        return "relevel-map"
    return _name_of("relevel-map", point, [one.name for one in season.points])


def level_name(review: LevelReview, point: str) -> str:
    """Return the name of the file that shows how level the ground of a photo point is."""
    return _name_of("level-map", point, [one.point for one in review.maps])


def _name_of(figure: str, point: str, points: Sequence[str]) -> str:
    """Return the name of a photo point's figure; points whose names begin alike for long are numbered."""
    if len(points) == 1:
        return figure
    name = clean(point, most=60)
    alike = [other for other in points if clean(other, most=60) == name]
    return f"{figure}-{name}" if len(alike) == 1 else f"{figure}-{name}-{alike.index(point) + 1}"


class Drawn:
    """Figures as bytes and outlines of bare ground, drawn once for the folder of figures and the report."""

    def __init__(self) -> None:
        self._figures: dict[str, Figure] = {}
        self._bytes: dict[tuple[str, str], Future[bytes]] = {}
        self._outlines: dict[tuple[str, int], list[Outline]] = {}
        self._locks: defaultdict[tuple[str, int], Lock] = defaultdict(Lock)
        self._encoder = ThreadPoolExecutor(1)

    def outlines(self, season: Season, point: PointReview, number: int) -> list[Outline]:
        """Return the bare ground of one of a photo point's photos, as `outlines_of` does."""
        key = point.name, number
        with self._locks[key]:
            if key not in self._outlines:
                self._outlines[key] = outlines_of(season, point, number)
            return self._outlines[key]

    def bytes_of(self, name: str, kind: str, draw: Callable[[], Figure]) -> bytes:
        """Return the figure of that name as "svg" or "png"; `draw` makes it where nobody has asked for it yet."""
        return self._begun(name, kind, draw).result()

    def draw(self, figures: Mapping[str, Callable[[], Figure]]) -> None:
        """Draw figures for whoever asks for their bytes later; PNG is encoded on a thread meanwhile."""
        for name, draw in figures.items():
            for kind in KINDS:
                self._begun(name, kind, draw)

    def _begun(self, name: str, kind: str, draw: Callable[[], Figure]) -> Future[bytes]:
        if (name, kind) not in self._bytes:
            if name not in self._figures:
                self._figures[name] = draw()
            encoded = _drawn(self._figures[name], kind)
            self._bytes[name, kind] = self._encoder.submit(encoded)
        return self._bytes[name, kind]


def save_figures(season: Season, folder: Path | str, *, drawn: Drawn | None = None) -> list[Path]:
    """Write every figure as SVG and PNG, such as out/figures/cover-curves.svg; returns their paths."""
    figures, drawn = all_figures(season), drawn or Drawn()
    drawn.draw(figures)
    files = {
        Path(folder) / f"{n}.{kind}": drawn.bytes_of(n, kind, draw)
        for n, draw in figures.items()
        for kind in KINDS
    }
    return write_files(files)


def figure_bytes(figure: Figure, kind: str) -> bytes:
    """Return a figure as the bytes of an "svg" or "png" file, without a date inside."""
    return _drawn(figure, kind)()


def _drawn(figure: Figure, kind: str) -> Callable[[], bytes]:
    """Draw a figure; return what makes its bytes."""
    with drawing_style():
        _lay_out(figure)
        if kind == "png":
            return partial(_png, _pixels(figure))
        out = io.BytesIO()
        figure.savefig(out, format=kind, dpi=PNG_DPI, metadata={"Date": None})
    return out.getvalue


def _pixels(figure: Figure) -> NDArray[np.uint8]:
    """Return a figure on its paper color, so that it needs no transparency: a quarter less time, no more bytes."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    figure.set_dpi(PNG_DPI)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    return np.ascontiguousarray(np.asarray(canvas.buffer_rgba())[..., :3])


def _png(pixels: NDArray[np.uint8]) -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG", compress_level=PNG_EFFORT, dpi=(PNG_DPI, PNG_DPI))
    return out.getvalue()


def _lay_out(figure: Figure) -> None:
    """Lay a figure out once; matplotlib would do it again, and draw all of it twice, for each file."""
    engine = figure.get_layout_engine()
    if engine is not None:
        engine.execute(figure)
        figure.set_layout_engine("none")


def _lines_of(season: Season) -> list[ZoneOutlook]:
    zones = ordered_zones(season)[: MOST_LINES - 1]
    return [*zones, season.outlook.whole] if len(season.outlook.zones) > 1 else zones


def _mean_curve(zones: Sequence[Sequence[ZoneCover]]) -> tuple[list[int], list[float]]:
    """Return the days on which nearly all ground is known, and its area-weighted mean cover there [%]."""
    days = np.unique([row.day for rows in zones for row in rows])
    area = np.array([max(np.mean([row.cover.area_m2 for row in rows]), 1e-9) for rows in zones])
    cover = np.full((len(zones), len(days)), np.nan)
    for known, rows in zip(cover, zones, strict=True):
        own, day_of = np.unique([row.day for row in rows], return_inverse=True)
        sums = np.bincount(day_of, weights=[row.cover.cover_pct for row in rows])
        known[:] = np.interp(days, own, sums / np.bincount(day_of), left=np.nan, right=np.nan)
    weight = area[:, None] * np.isfinite(cover)
    counts = weight.sum(axis=0) >= LEAST_AREA * area.sum()
    mean = (weight * np.nan_to_num(cover)).sum(axis=0)[counts] / weight.sum(axis=0)[counts]
    return [int(day) for day in days[counts]], [float(value) for value in mean]
