"""Maps in meters: the ground in view with its zones, and the spots to re-level with their numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from swardmark.canopy.index import NOT_SEEN
from swardmark.drawing import sentences
from swardmark.drawing.bare import local_cover
from swardmark.drawing.ground_view import common_window
from swardmark.drawing.labels import label_places
from swardmark.drawing.palette import (
    BARE_DARK,
    DEW_DARK,
    INK,
    LEAF_DARK,
    LEAF_TONE,
    PAPER,
    QUIET,
    SAND_TONE,
    drawing_style,
    dress_map,
    new_figure,
    plain_label,
)
from swardmark.measure.zonal import view_angles
from swardmark.relevel.outlines import BARE_COVER

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from swardmark.measure.points import PointReview
    from swardmark.relevel.plan import SpotPlan
    from swardmark.season import Season

MENDED_DASH = (0, (5, 2, 1, 2))
MAP_WIDTH_IN, AXES_SHARE = 4.6, 0.85
LABEL_PT = (18.0, 15.0)
"""Room that a number of up to two digits takes, in points."""


def ground_map_figure(season: Season, point: PointReview) -> Figure:
    """Draw a photo point's newest ground map: canopy and bare ground, the zones by name, the square."""
    with drawing_style():
        figure, axes = _map_figure(point)
        unread = _draw_cover(axes, season, point)
        _draw_zones(axes, point)
        _draw_square(axes, point.side_m)
        _dress_map(axes, season, unread=unread)
    return figure


def relevel_map(season: Season, point: PointReview | None = None) -> Figure:
    """Draw the spots to re-level at a photo point (the first that has one), outlined and numbered.

    Solid outlines get sand in the coming season, dashed ones wait, dotted ones were left out; what has mended
    since the season before is outlined in dash and dot.
    """
    plan = season.relevel
    assert plan is not None
    place = point or first_with_spots(season)
    with drawing_style():
        figure, axes = _map_figure(place)
        unread = _draw_cover(axes, season, place)
        _draw_square(axes, place.side_m)
        for ring in (
            ring for search in plan.searches if search.point == place.name for ring in search.left_out_m
        ):
            _draw_left_out(axes, np.array(ring))
        for old in plan.comparison.mended if plan.comparison else ():
            if old.point == place.name:
                _draw_outline(axes, np.array(old.outline_m), LEAF_DARK, MENDED_DASH)
        _draw_spots(
            axes,
            [item for item in plan.spots if item.spot.point == place.name],
            place.side_m,
        )
        _dress_map(axes, season, unread=unread)
    return figure


def first_with_spots(season: Season) -> PointReview:
    """Return the photo point of the plan's first spot; the first one where there is none."""
    points = {item.name: item for item in season.points}
    spots = season.relevel.spots if season.relevel is not None else ()
    return next((points[one.spot.point] for one in spots if one.spot.point in points), season.points[0])


def _map_figure(point: PointReview) -> tuple[Figure, Axes]:
    window = common_window(point.maps)
    wide, high = window.right - window.left, window.top - window.bottom
    figure = new_figure(MAP_WIDTH_IN, min(7.0, 4.0 * high / wide + 0.75))
    axes = figure.add_subplot()
    axes.set(xlim=(window.left, window.right), ylim=(window.bottom, window.top), aspect="equal")
    return figure, axes


def _draw_cover(axes: Axes, season: Season, point: PointReview) -> bool:
    """Draw what is covered, what is not and, hatched, what cannot be read; return whether there is any of the last.

    Covered means what it means on the photos: the border between leaf and bare is the outline that lies there.
    """
    newest, entry = point.maps[-1], point.entries[-1]
    cover = local_cover(newest, point.threshold, view_deg=view_angles(newest, entry))
    seen, known = newest.values != NOT_SEEN, np.isfinite(cover)
    kind = np.select([known & (cover >= BARE_COVER), known, seen], [2, 1, 3], 0)
    colors = np.array([_rgb(PAPER), _rgb(SAND_TONE), _rgb(LEAF_TONE), _rgb(PAPER)])
    half = newest.spacing_m / 2
    box = (newest.x_m[0] - half, newest.x_m[-1] + half, newest.y_m[0] - half, newest.y_m[-1] + half)
    axes.imshow(colors[kind], extent=box, origin="lower", interpolation="nearest", aspect="equal", zorder=0.5)
    unread = kind == 3
    if unread.any():
        axes.contourf(newest.x_m, newest.y_m, unread.astype(float), levels=[0.5, 1.5], colors="none",
                      hatches=["////"], zorder=0.6)  # fmt: skip
    return bool(unread.any())


def _rgb(color: str) -> tuple[float, float, float]:
    from matplotlib.colors import to_rgb

    return to_rgb(color)


def _draw_zones(axes: Axes, point: PointReview) -> None:
    from shapely import Polygon, box

    window = common_window(point.maps)
    view = box(window.left, window.bottom, window.right, window.top)
    for zone in point.zones:
        ring = np.array([*zone.outline_m, zone.outline_m[0]])
        _draw_outline(axes, ring[:-1], DEW_DARK, "--" if point.zones_are_patches else "-")
        shape = Polygon(zone.outline_m).intersection(view)
        if not shape.is_empty:
            middle = shape.representative_point()
            _label(axes, middle.x, middle.y, plain_label(zone.name, most=18), DEW_DARK)


def _draw_square(axes: Axes, side_m: float) -> None:
    from matplotlib.patches import Rectangle

    axes.add_patch(
        Rectangle((0, 0), side_m, side_m, fill=False, edgecolor=INK, lw=1.2, linestyle=(0, (2, 2)))
    )
    _label(axes, side_m / 2, side_m / 2, sentences.MAP_SQUARE, INK)


def _draw_spots(axes: Axes, items: Sequence[SpotPlan], side_m: float) -> None:
    """Draw each outline, then each number where it is free, with a line to its spot if it stands outside."""
    from shapely import Point, box
    from shapely.ops import nearest_points

    for item in items:
        dash = "-" if item.passes_now else (0, (3, 2))
        if not item.is_green:
            axes.fill(*np.array(item.spot.outline_m).T, color=SAND_TONE, zorder=0.7)
        _draw_outline(axes, np.array(item.spot.outline_m), _spot_color(item), dash)
    (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    point_m = (right - left) / (MAP_WIDTH_IN * 72 * AXES_SHARE)
    shapes = [item.spot.polygon for item in items]
    places = label_places(
        shapes, width=LABEL_PT[0] * point_m, height=LABEL_PT[1] * point_m, view=(left, bottom, right, top),
        taken=[box(0, 0, side_m, side_m)],
    )  # fmt: skip
    for item, shape, (x, y) in zip(items, shapes, places, strict=True):
        if not shape.contains(Point(x, y)):
            foot, _ = nearest_points(shape, Point(x, y))
            axes.plot([foot.x, x], [foot.y, y], color=_spot_color(item), lw=1)
        _label(axes, x, y, str(item.spot.number), _spot_color(item), weight="bold", size=10)


def _spot_color(item: SpotPlan) -> str:
    """Return the color of bare ground, or of low ground where the turf above it is green."""
    return DEW_DARK if item.is_green else BARE_DARK


def _draw_left_out(axes: Axes, ring: np.ndarray) -> None:
    from shapely import Polygon, maximum_inscribed_circle

    _draw_outline(axes, ring, QUIET, (0, (1, 1.5)))
    x, y = maximum_inscribed_circle(Polygon(ring)).coords[0]
    _label(axes, x, y, sentences.MAP_LEFT_OUT, QUIET)


def _draw_outline(axes: Axes, outline: np.ndarray, color: str, style: str | tuple) -> None:
    ring = np.vstack([outline, outline[:1]])
    axes.plot(*ring.T, color=PAPER, lw=4)
    axes.plot(*ring.T, color=color, lw=2, linestyle=style)


def _label(
    axes: Axes, x: float, y: float, text: str, color: str, *, weight: str = "normal", size: int = 8
) -> None:
    axes.text(x, y, text, color=color, ha="center", va="center", fontsize=size, weight=weight,
              bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.5, "alpha": 0.85}, clip_on=True)  # fmt: skip


def _dress_map(axes: Axes, season: Season, *, unread: bool) -> None:
    from matplotlib.patches import Patch

    dress_map(axes, season.lawn.units)
    patches = [
        Patch(facecolor=LEAF_TONE, label=sentences.MAP_LEAF),
        Patch(facecolor=SAND_TONE, edgecolor=QUIET, lw=0.5, label=sentences.MAP_BARE),
    ]
    if unread:
        patches.append(
            Patch(facecolor=PAPER, edgecolor=INK, hatch="////", lw=0.5, label=sentences.MAP_UNREADABLE)
        )
    axes.legend(handles=patches, loc="upper left", bbox_to_anchor=(0, -0.14), ncols=3, fontsize=8, frameon=False,
                columnspacing=1.2, handlelength=1.6)  # fmt: skip
