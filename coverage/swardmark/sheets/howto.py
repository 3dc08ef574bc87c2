"""One page on how to take the photo, with a drawing from the side and one from above.

Standing on the north side of the plot so that no shadow falls on it, always at the same place, with a step for larger
plots: Interagency Technical Reference, Sampling Vegetation Attributes (Bureau of Land Management and partners),
close-up photographs. The same framing each time: Hall 2002, Photo Point Monitoring Handbook, USDA Forest Service
PNW-GTR-526. Height and tilt are what swardmark's own accuracy on drawn lawns asks for.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from swardmark.drawing.palette import BARE_DARK, BLUE, DEW, INK, LEAF, QUIET, SAND
from swardmark.sheets import sentences as say

if TYPE_CHECKING:
    from matplotlib.axes import Axes

CAMERA_M, PITCH_DEG, HALF_FIELD_DEG = 1.7, 38.0, 25.0


def draw_photo_page(axes: Axes, *, mark_mm: float, side_m: float) -> None:
    """Draw the page on axes in millimeters; the square in it has the side `side_m`, its marks `mark_mm`."""
    width, height = axes.get_xlim()[1], axes.get_ylim()[1]
    axes.text(18, height - 20, say.PHOTO_TITLE, size=24, weight="bold", va="center")
    _draw_side_view(axes, 24, height - 104, 37.0, side_m)
    _draw_from_above(axes, 24, height - 172, width - 48)
    y = height - 183
    for bold, plain in say.PHOTO_ADVICE:
        axes.text(18, y, "•", size=10, va="top")
        axes.text(24, y, bold, size=9.5, va="top", weight="bold")
        axes.text(24, y - 4.4, plain, size=9.5, va="top")
        y -= 11.0 if height > 290 else 10.0
    axes.text(18, 6, say.PHOTO_SOURCE, size=6.5, color=QUIET, va="bottom")


def _draw_side_view(axes: Axes, left: float, ground: float, mm_per_m: float, side_m: float) -> None:
    """Draw the photographer from the side, to scale: camera, rays, pitch, square."""
    from matplotlib.patches import Arc, Polygon, Rectangle

    eye_x, eye_y = left + 12, ground + CAMERA_M * mm_per_m
    reach = [CAMERA_M / math.tan(math.radians(PITCH_DEG + turn)) for turn in (HALF_FIELD_DEG, 0.0, -20.0)]
    near, middle, far = (eye_x + r * mm_per_m for r in reach)
    far = min(far, left + 152)
    axes.add_patch(Polygon([(eye_x, eye_y), (near, ground), (far, ground)], facecolor=DEW, alpha=0.22, lw=0))
    axes.add_patch(Rectangle((left - 6, ground - 3), 168, 3, facecolor="#F6EAD0", edgecolor="none"))
    axes.plot([left - 6, left + 162], [ground, ground], color=SAND, lw=1.5)
    _draw_person(axes, left + 3, ground, mm_per_m)
    axes.plot([eye_x, middle], [eye_y, ground], color=BLUE, lw=1.2, linestyle=(0, (5, 3)))
    axes.plot([eye_x, eye_x + 30], [eye_y, eye_y], color=QUIET, lw=0.8, linestyle=(0, (2, 2)))
    axes.add_patch(Arc((eye_x, eye_y), 44, 44, theta1=-PITCH_DEG, theta2=0, color=BLUE, lw=1))
    axes.text(eye_x + 24, eye_y - 7.5, say.PHOTO_PITCH, size=9, color=BLUE, va="center")
    both_ends = {"arrowstyle": "<->", "color": INK, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", (left - 3, ground), (left - 3, eye_y), arrowprops=both_ends)
    axes.text(left - 5, (ground + eye_y) / 2, say.PHOTO_HEIGHT, rotation=90, size=9, ha="right", va="center")
    start = near + 6
    axes.plot(
        [start, start + side_m * mm_per_m],
        [ground + 0.8, ground + 0.8],
        color="black",
        lw=3.5,
        solid_capstyle="butt",
    )
    axes.text(start + side_m * mm_per_m / 2, ground - 6.5, say.PHOTO_SQUARE, size=9, ha="center", va="center")
    axes.text(left + 124, ground - 6.5, say.PHOTO_MEASURED, size=9, ha="center", va="center",
              color=QUIET)  # fmt: skip


def _draw_person(axes: Axes, x: float, ground: float, mm_per_m: float) -> None:
    from matplotlib.patches import Circle, Rectangle

    hip, neck, head = (ground + part * mm_per_m for part in (0.9, 1.5, 1.66))
    style: dict[str, Any] = {"color": INK, "lw": 3, "solid_capstyle": "round"}
    axes.plot([x, x], [hip, neck], **style)
    axes.plot([x - 3.5, x, x + 3.5], [ground + 1, hip, ground + 1], **style)
    axes.plot([x, x + 4, x + 8], [neck - 3, neck - 7, ground + (CAMERA_M - 0.04) * mm_per_m], **style)
    axes.add_patch(Circle((x, head), 3.6, facecolor=INK, edgecolor="none"))
    axes.add_patch(
        Rectangle((x + 7.6, ground + (CAMERA_M - 0.06) * mm_per_m), 1.8, 5, angle=-PITCH_DEG, facecolor=INK)
    )


def _draw_from_above(axes: Axes, left: float, bottom: float, width: float) -> None:
    """Draw the plan: north on top where the photographer stands, the sun in the south, shadows away from the plot."""
    from matplotlib.patches import Circle, Rectangle

    axes.add_patch(Rectangle((left, bottom), width, 52, facecolor="#EEF4EC", edgecolor="none"))
    middle = left + width / 2
    axes.add_patch(Rectangle((middle - 11, bottom + 14), 22, 22, facecolor="none", edgecolor="black", lw=2.5))
    axes.text(middle, bottom + 25, say.PLAN_SQUARE, size=9, ha="center", va="center")
    axes.add_patch(Circle((middle, bottom + 44), 2.6, facecolor=INK, edgecolor="none"))
    axes.text(middle + 5, bottom + 44, say.PLAN_YOU, size=9, va="center")
    axes.annotate(
        "", (middle, bottom + 37), (middle, bottom + 41.5), arrowprops={"arrowstyle": "-|>", "color": BLUE}
    )
    axes.plot(
        [middle, middle - 9], [bottom + 44, bottom + 51], color=QUIET, lw=5, alpha=0.5, solid_capstyle="round"
    )
    axes.text(middle - 13, bottom + 48, say.PLAN_SHADOW, size=8, color=QUIET, ha="right", va="center")
    axes.add_patch(Circle((middle + 30, bottom + 7), 4, facecolor=SAND, edgecolor=BARE_DARK, lw=1))
    axes.text(middle + 37, bottom + 7, say.PLAN_SUN, size=9, va="center")
    x = left + 14
    axes.annotate(
        "", (x, bottom + 46), (x, bottom + 20), arrowprops={"arrowstyle": "-|>", "lw": 2, "color": LEAF}
    )
    axes.text(x, bottom + 48.5, say.PLAN_NORTH, size=11, weight="bold", ha="center", va="center")
    axes.text(
        left + 4,
        bottom + 12,
        say.PLAN_SOUTHERN,
        size=8,
        color=QUIET,
        va="center",
    )
