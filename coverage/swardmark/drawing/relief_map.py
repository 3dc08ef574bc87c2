"""The map of measured sand: heights with contours, and the dips with their numbers and gaps."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from swardmark.common.units import Units, format_depth
from swardmark.drawing.level_map import height_label
from swardmark.drawing.palette import (
    BARE_DARK,
    DEW_DARK,
    INK,
    PAPER,
    QUIET,
    drawing_style,
    dress_map,
    new_figure,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from swardmark.relief.measure import Relief

STEP_MM, STEPS = {"metric": 4.0, "us": 25.4 / 8}, {"metric": 6, "us": 8}
WIDTH_IN, HEIGHT_SHARE = 4.8, 0.92


def relief_map(relief: Relief, *, units: Units = "metric", width_in: float = WIDTH_IN) -> Figure:
    """Draw the heights of measured sand: low is blue, high the color of sand, unmeasured ground plain paper.

    Where leaf hides the ground only the places of low spots are drawn, without heights.
    """
    from matplotlib.colors import LinearSegmentedColormap

    x, y = relief.lattice.cell_m
    known = np.isfinite(relief.height_mm)
    tones = LinearSegmentedColormap.from_list("ground", [DEW_DARK, "#D8EAF6", PAPER, "#F6E9C8", BARE_DARK])
    levels = STEP_MM[units] * np.arange(-STEPS[units], STEPS[units] + 1)
    with drawing_style():
        figure = new_figure(width_in, HEIGHT_SHARE * width_in)
        axes = figure.add_subplot()
        if relief.is_bare:
            heights = np.ma.masked_invalid(relief.hollows.off_mm)
            axes.contourf(x, y, heights, levels=levels, cmap=tones, extend="both")
            smooth = levels[levels != 0]
            lines = axes.contour(x, y, heights, levels=smooth, colors=QUIET, linewidths=0.4)
            labeled = levels[::2][levels[::2] != 0]
            axes.clabel(
                lines, levels=labeled, fmt=lambda value: height_label(value, units), fontsize=6, colors=INK
            )
        axes.contour(x, y, known.astype(float), levels=[0.5], colors=[QUIET], linewidths=0.8)
        for n, dip in enumerate(relief.hollows.dips, start=1):
            axes.plot(
                [dip.x_m], [dip.y_m], "o", markersize=13, markerfacecolor=PAPER, markeredgecolor=DEW_DARK
            )
            axes.text(dip.x_m, dip.y_m, str(n), ha="center", va="center", size=8, weight="bold", color=INK)
            if relief.is_bare:
                gap, paper = (
                    format_depth(dip.gap_mm, units=units),
                    {"facecolor": PAPER, "edgecolor": "none", "pad": 1.5},
                )
                axes.annotate(gap, (dip.x_m, dip.y_m), (13, 0), textcoords="offset points", va="center", size=8,
                              weight="bold", color=INK, bbox=paper)  # fmt: skip
        for quad in relief.marks_m:
            axes.fill(*quad.T, color=INK)
        rows, cols = np.nonzero(known)
        axes.set(xlim=(x[cols.min()] - 0.1, x[cols.max()] + 0.1), ylim=(y[rows.min()] - 0.1, y[rows.max()] + 0.1),
                 aspect="equal")  # fmt: skip
        dress_map(axes, units)
    return figure
