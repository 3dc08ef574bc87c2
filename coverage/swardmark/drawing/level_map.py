"""Maps of level ground: heights with contours and lettered spots, and what to carry to each square of the lawn.

Low ground is blue, high ground the color of sand, level ground paper; contours every 5 mm carry their height, low spots
have a solid and high spots a dashed outline, so that the maps read in gray too. Ground not measured is hatched.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from swardmark.common.units import FOOT_M
from swardmark.drawing import sentences
from swardmark.drawing.palette import (
    BARE_DARK,
    DEW_DARK,
    INK,
    PAPER,
    QUIET,
    RULE,
    drawing_style,
    dress_map,
    new_figure,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from swardmark.level.cutfill import CutFill
    from swardmark.level.lows import LevelSpot

CONTOUR_MM = {"metric": 5.0, "us": 25.4 / 4}
MOST_STEPS = 8
LOW_TONES, HIGH_TONES = ("#D8EAF6", "#2A78AE"), ("#F6E9C8", "#B8862B")
CIRCLE_PT, LETTER_PT = 13.0, 8.0
MAP_WIDTH_IN, MOST_HEIGHT_IN = 4.8, 6.6
LOAD_STEP_M = {"metric": 1.0, "us": 4 * FOOT_M}
LEAST_BUCKETS = 0.25


def level_map(one: CutFill, *, units: str = "metric") -> Figure:
    """Draw the heights of a photo point's ground with contours, and its low and high spots with their letters."""
    with drawing_style():
        figure = new_figure(MAP_WIDTH_IN, _height_in(one))
        axes = figure.add_subplot()
        draw_heights(axes, one, units=units)
        draw_spots(axes, one)
        dress_map(axes, units, framed=True)
        _key(figure, axes, one, units)
    return figure


def draw_heights(axes: Axes, one: CutFill, *, units: str) -> None:
    """Draw heights above the fall as tones and labeled contours on axes in meters."""
    step = CONTOUR_MM[units]
    heights = np.where(
        one.raster.inside, one.height_mm - float(np.median(one.height_mm[one.raster.inside])), np.nan
    )
    levels = _levels(heights, step)
    axes.set_facecolor(PAPER)
    _hatch(axes, one)
    axes.contourf(
        one.raster.x_m, one.raster.y_m, heights, levels=levels, colors=_tones(levels), extend="both"
    )
    lines = [level for level in levels if abs(level) > step / 4]
    drawn = axes.contour(one.raster.x_m, one.raster.y_m, heights, levels=lines, colors=QUIET, linewidths=0.5)
    axes.clabel(drawn, fmt=lambda value: height_label(value, units), fontsize=6, colors=INK, inline_spacing=2)
    axes.set(xlim=_limits(one.raster.x_m, one.raster.cell_m), ylim=_limits(one.raster.y_m, one.raster.cell_m),
             aspect="equal")  # fmt: skip


def draw_spots(axes: Axes, one: CutFill) -> None:
    """Draw the outline of each spot, and its letter in a circle at its deepest point."""
    for spots, color, dash in ((one.low, DEW_DARK, "-"), (one.high, BARE_DARK, (0, (4, 2)))):
        for spot in spots:
            ring = np.array([*spot.outline_m, spot.outline_m[0]])
            axes.plot(*ring.T, color=PAPER, lw=2.6)
            axes.plot(*ring.T, color=color, lw=1.4, linestyle=dash)
            letter(axes, spot, color)


def letter(axes: Axes, spot: LevelSpot, color: str) -> None:
    """Write a spot's letter in a circle of one size."""
    axes.plot([spot.x_m], [spot.y_m], "o", markersize=CIRCLE_PT, markerfacecolor=PAPER, markeredgecolor=color,
              markeredgewidth=1.2, zorder=5)  # fmt: skip
    axes.annotate(spot.letter, (spot.x_m, spot.y_m), ha="center", va="center_baseline", fontsize=LETTER_PT,
                  weight="bold", color=color, zorder=6)  # fmt: skip


def load_map(one: CutFill, *, bucket_litres: float, bulking: float, units: str = "metric") -> Figure:
    """Draw how many buckets of sand go into each square of the lawn."""
    with drawing_style():
        figure = new_figure(MAP_WIDTH_IN, _height_in(one))
        axes = figure.add_subplot()
        draw_loads(axes, one, bucket_litres=bucket_litres, bulking=bulking, units=units)
        dress_map(axes, units, framed=True)
    return figure


def draw_loads(axes: Axes, one: CutFill, *, bucket_litres: float, bulking: float, units: str) -> None:
    """Draw a square mesh with the buckets for each square, over the outlines of the low spots."""
    step = LOAD_STEP_M[units]
    _hatch(axes, one)
    axes.set(xlim=_limits(one.raster.x_m, one.raster.cell_m), ylim=_limits(one.raster.y_m, one.raster.cell_m),
             aspect="equal")  # fmt: skip
    for spot in one.low:
        ring = np.array([*spot.outline_m, spot.outline_m[0]])
        axes.fill(*ring.T, color=LOW_TONES[0], lw=0)
        axes.plot(*ring.T, color=DEW_DARK, lw=1.0)
    buckets, x0, y0 = loads(one, step_m=step, bucket_litres=bucket_litres, bulking=bulking)
    for n in range(buckets.shape[1] + 1):
        axes.plot([x0 + n * step] * 2, [y0, y0 + buckets.shape[0] * step], color=RULE, lw=0.6, zorder=0)
    for n in range(buckets.shape[0] + 1):
        axes.plot([x0, x0 + buckets.shape[1] * step], [y0 + n * step] * 2, color=RULE, lw=0.6, zorder=0)
    for (row, col), count in np.ndenumerate(buckets):
        if count >= LEAST_BUCKETS:
            axes.text(x0 + (col + 0.5) * step, y0 + (row + 0.5) * step, bucket_text(float(count)), ha="center",
                      va="center", fontsize=9, weight="bold", color=INK)  # fmt: skip


def loads(
    one: CutFill, *, step_m: float, bucket_litres: float, bulking: float
) -> tuple[np.ndarray, float, float]:
    """Return buckets for each square, shape (rows, cols), and the lower left corner of the mesh in meters.

    The sand of each low spot is shared out as its depth is; all squares together hold the fill of the map, loosened by
    `bulking` (1.2 for a fifth).
    """
    x0, y0 = (
        math.floor(float(at[0] - one.raster.cell_m / 2) / step_m) * step_m
        for at in (one.raster.x_m, one.raster.y_m)
    )
    cols = np.floor((one.raster.x_m - x0) / step_m).astype(int)
    rows = np.floor((one.raster.y_m - y0) / step_m).astype(int)
    total = np.zeros((rows.max() + 1, cols.max() + 1))
    np.add.at(total, (rows[:, None], cols[None, :]), one.fill_mm * one.raster.cell_m2)
    shown = float(total.sum())
    scale = one.fill.litres / shown if shown else 0.0
    return total * scale * bulking / bucket_litres, x0, y0


def bucket_text(count: float) -> str:
    """Print buckets to the half: `1/2`, `2`, `3 1/2`."""
    halves = max(1, round(2 * count))
    whole, half = divmod(halves, 2)
    return " ".join(part for part in (str(whole) if whole else "", "1/2" if half else "") if part)


def height_label(value: float, units: str) -> str:
    """Print a height on a contour, with its sign: whole millimeters, or inches to the quarter."""
    if units == "metric":
        return f"{value:+.0f}"
    quarters = round(value / 25.4 * 4)
    whole, part = divmod(abs(quarters), 4)
    words = " ".join(w for w in (str(whole) if whole else "", ("", "1/4", "1/2", "3/4")[part]) if w)
    return f"{'+' if quarters > 0 else '-'}{words}"


def _levels(heights: np.ndarray, step: float) -> list[float]:
    """Return contour heights about zero, which itself lies in the middle of a band."""
    low, high = np.nanpercentile(heights, [0.5, 99.5])
    below = min(MOST_STEPS, max(1, math.ceil(-low / step)))
    above = min(MOST_STEPS, max(1, math.ceil(high / step)))
    return [step * n for n in range(-below, above + 1) if n != 0]


def _tones(levels: Sequence[float]) -> list[Any]:
    """Return a color for each band: blue below, paper about zero, sand above."""
    from matplotlib.colors import LinearSegmentedColormap

    low, high = (LinearSegmentedColormap.from_list("tone", tones) for tones in (LOW_TONES, HIGH_TONES))
    below, above = sum(level < 0 for level in levels), sum(level > 0 for level in levels)
    lows = [low(n / max(MOST_STEPS, 1)) for n in range(below, 0, -1)]
    return [*lows, PAPER, *(high(n / max(MOST_STEPS, 1)) for n in range(1, above + 1))]


def _hatch(axes: Axes, one: CutFill) -> None:
    """Hatch what was not measured."""
    outside = (~one.raster.inside).astype(float)
    if outside.any():
        axes.contourf(
            one.raster.x_m, one.raster.y_m, outside, levels=[0.5, 1.5], colors="none", hatches=["////"]
        )


def _height_in(one: CutFill) -> float:
    rows, cols = one.raster.inside.shape
    return float(np.clip((MAP_WIDTH_IN - 0.7) * rows / cols + 0.9, 2.4, MOST_HEIGHT_IN))


def _limits(at: np.ndarray, cell_m: float) -> tuple[float, float]:
    return float(at[0] - cell_m / 2), float(at[-1] + cell_m / 2)


def _key(figure: Figure, axes: Axes, one: CutFill, units: str) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles: list[Any] = [Patch(facecolor=LOW_TONES[1], label=sentences.LEVEL_KEY_LOW)]
    handles.append(Patch(facecolor=HIGH_TONES[1], label=sentences.LEVEL_KEY_HIGH))
    if one.low:
        handles.append(Line2D([], [], color=DEW_DARK, lw=1.4, label=sentences.LEVEL_KEY_FILL))
    if one.high:
        handles.append(
            Line2D([], [], color=BARE_DARK, lw=1.4, linestyle=(0, (4, 2)), label=sentences.LEVEL_KEY_CUT)
        )
    figure.legend(handles=handles, loc="outside lower center", ncols=len(handles), fontsize=7.5, frameon=False,
                  handlelength=1.6, columnspacing=1.2)  # fmt: skip
