"""One page of the printed target: a stepped wedge of 1 : 10 and a ruler strip, to read the gap under a straightedge.

Pushed into the gap, the wedge stops at the step that is as high as the gap: ten millimeters along are one millimeter
up, so that a gap is read to half a millimeter without bending down to a ruler. Two wedges reach from 0 to 36 mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from swardmark.drawing.palette import INK, QUIET
from swardmark.sheets import sentences as say
from swardmark.sheets.paper import SCALE_BAR_MM, draw_scale_bar

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SLOPE = 10.0
"""Millimeters along for one up."""
STEPS = 18
"""Steps of 1 mm on each wedge."""
RULER_MM = 180.0
EIGHTH_MM = 25.4 / 8


def draw_wedge_page(axes: Axes, *, mark_mm: float, side_m: float) -> None:
    """Draw the page on axes in millimeters, true to size; it depends neither on the marks nor on the square."""
    width, height = axes.get_xlim()[1], axes.get_ylim()[1]
    axes.text(18, height - 20, say.WEDGE_TITLE, size=24, weight="bold", va="center")
    y = height - 34
    for n, line in enumerate(say.WEDGE_HOW, start=1):
        axes.text(18, y, f"{n}.", size=10, va="top", weight="bold")
        axes.text(25, y, line, size=9.5, va="top")
        y -= 6.2
    left = (width - STEPS * SLOPE) / 2
    _draw_wedge(axes, left, height - 112, first_mm=0)
    _draw_wedge(axes, left, height - 176, first_mm=STEPS)
    _draw_ruler(axes, (width - RULER_MM) / 2, height - 216)
    draw_scale_bar(axes, (width - SCALE_BAR_MM) / 2, 20)


def step_outline(left: float, bottom: float, first_mm: int) -> list[tuple[float, float]]:
    """Return the wedge's outline in millimeters: steps of 1 mm, each 10 mm long, from `first_mm` up."""
    points = [(left, bottom)]
    for n in range(STEPS):
        top = bottom + first_mm + n + 1
        points += [(left + n * SLOPE, top), (left + (n + 1) * SLOPE, top)]
    return [*points, (left + STEPS * SLOPE, bottom)]


def _draw_wedge(axes: Axes, left: float, bottom: float, *, first_mm: int) -> None:
    from matplotlib.patches import Polygon

    axes.add_patch(
        Polygon(step_outline(left, bottom, first_mm), closed=True, fill=False, edgecolor=INK, lw=0.6)
    )
    for n in range(STEPS):
        step = first_mm + n + 1
        axes.text(
            left + (n + 0.5) * SLOPE, bottom + step + 1.2, str(step), size=9, weight="bold", ha="center"
        )
    eighths = range(int(first_mm / EIGHTH_MM) + 1, int((first_mm + STEPS) / EIGHTH_MM + 1e-9) + 1)
    for eighth in eighths:
        x = left + (eighth * EIGHTH_MM - first_mm) * SLOPE
        axes.plot([x, x], [bottom, bottom - 3], color=INK, lw=0.6)
        axes.text(x, bottom - 4, _inches(eighth), size=7.5, ha="center", va="top")
    axes.text(left, bottom - 12, say.WEDGE_RANGE.format(first=first_mm + 1, last=first_mm + STEPS),
              size=8, color=QUIET, va="top")  # fmt: skip


def _inches(eighths: int) -> str:
    whole, part = divmod(eighths, 8)
    names = ("", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8")
    return " ".join(word for word in (str(whole) if whole else "", names[part]) if word) + " in"


def _draw_ruler(axes: Axes, left: float, bottom: float) -> None:
    """Draw a strip with millimeters along the top and sixteenths of an inch along the bottom."""
    from matplotlib.patches import Rectangle

    high = 16.0
    axes.add_patch(Rectangle((left, bottom), RULER_MM, high, fill=False, edgecolor=INK, lw=0.6))
    for mm in range(int(RULER_MM) + 1):
        long = 5.5 if mm % 10 == 0 else 4.0 if mm % 5 == 0 else 2.5
        axes.plot([left + mm] * 2, [bottom + high, bottom + high - long], color=INK, lw=0.35)
        if mm % 10 == 0 and 0 < mm < RULER_MM:
            axes.text(left + mm, bottom + high - 6.2, str(mm), size=6, ha="center", va="top")
    for sixteenth in range(int(RULER_MM / 25.4 * 16) + 1):
        long = (
            5.5 if sixteenth % 16 == 0 else 4.0 if sixteenth % 8 == 0 else 3.0 if sixteenth % 4 == 0 else 2.0
        )
        axes.plot([left + sixteenth * 25.4 / 16] * 2, [bottom, bottom + long], color=INK, lw=0.35)
        if sixteenth % 16 == 0 and sixteenth:
            axes.text(
                left + sixteenth * 25.4 / 16 + 0.6, bottom + 4.2, f"{sixteenth // 16} in", size=6, va="bottom"
            )
    axes.text(left, bottom - 2, say.WEDGE_RULER, size=8, color=QUIET, va="top")
