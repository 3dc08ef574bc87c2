"""The printed marks of the pegs, 36 of 60 mm with the numbers 10 to 45, and a page that says how to make pegs of them.

Pegs of one length that stand on the soil carry their marks above the grass: photos of them give the height of the soil
in a lawn of any height.
"""

from __future__ import annotations

import io
import math
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING

from swardmark.common.cautions import PEGS_CAUTION
from swardmark.common.files import write_whole
from swardmark.drawing.palette import BARE_DARK, INK, LEAF, QUIET, SAND, drawing_style
from swardmark.sheets import sentences as say
from swardmark.sheets.paper import PAPER_MM, SCALE_BAR_MM, blank_page, draw_scale_bar, paper_size
from swardmark.sheets.target import draw_mark

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PEG_NUMBERS = range(10, 46)
MARK_MM, MARGIN_MM = 60.0, 8.0
ACROSS, DOWN = 2, 3
"""Marks on a page."""
STANDS_MM, NAIL_MM, WOOD_MM = 100.0, 30.0, 20.0


def write_pegs(path: Path | str, *, paper: str = "a4") -> Path:
    """Write the marks of the pegs as a PDF of seven pages, true to size: how to make them, and six marks a page.

    Raises
    ------
    UsageError
        The paper is unknown.
    """
    from matplotlib.backends.backend_pdf import PdfPages

    paper_size(paper)
    out = io.BytesIO()
    about = {"Title": "swardmark pegs", "CreationDate": None}
    with drawing_style(), PdfPages(out, metadata=about) as pages:
        figure, axes = blank_page(PAPER_MM[paper])
        _draw_making(axes)
        pages.savefig(figure)
        for first in range(0, len(PEG_NUMBERS), ACROSS * DOWN):
            figure, axes = blank_page(PAPER_MM[paper])
            _draw_marks(axes, PEG_NUMBERS[first : first + ACROSS * DOWN])
            pages.savefig(figure)
    return write_whole(Path(path), out.getvalue())


def _draw_marks(axes: Axes, numbers: range) -> None:
    """Draw six marks with their cut lines and numbers."""
    from matplotlib.patches import Rectangle

    width, height = axes.get_xlim()[1], axes.get_ylim()[1]
    side = MARK_MM + 2 * MARGIN_MM
    left, gap = (width - ACROSS * side - 14) / 2, 14.0
    top = height - 12
    for n, number in enumerate(numbers):
        x, y = left + n % ACROSS * (side + gap), top - (n // ACROSS + 1) * side - n // ACROSS * 4
        axes.add_patch(
            Rectangle((x, y), side, side, fill=False, edgecolor=QUIET, lw=0.8, linestyle=(0, (6, 4)))
        )
        draw_mark(axes, number, x + MARGIN_MM, y + MARGIN_MM, MARK_MM)
        axes.text(
            x + side - 2, y + 3.8, say.PEG_NUMBER.format(number=number), size=8, ha="right", va="center"
        )
    draw_scale_bar(axes, (width - SCALE_BAR_MM) / 2, 12)


def _draw_making(axes: Axes) -> None:
    """Draw the page that says how to make, set and photograph them."""
    width, height = axes.get_xlim()[1], axes.get_ylim()[1]
    axes.text(18, height - 18, say.PEGS_TITLE, size=24, weight="bold", va="center")
    axes.text(18, height - 28, say.PEGS_WHY, size=11, va="center")
    _draw_peg(axes, 52, height - 148)
    _draw_plan(axes, width - 92, height - 142, 74)
    y = height - 166
    for n, (bold, plain) in enumerate(say.PEGS_MAKING, start=1):
        axes.text(18, y, f"{n}.", size=10, va="top", weight="bold")
        axes.text(25, y, bold, size=10, va="top", weight="bold")
        axes.text(25, y - 4.7, plain, size=9.5, va="top")
        y -= 11.2 + 4.4 * plain.count("\n")
    axes.text(18, y - 1, say.PEGS_TAKE_CARE, size=10, va="top", weight="bold", color=BARE_DARK)
    axes.text(18, y - 6, fill(PEGS_CAUTION, 108), size=9, va="top")


def _draw_peg(axes: Axes, x: float, ground: float) -> None:
    """Draw a peg from the side, true to size: board, block, nail, grass and soil."""
    from matplotlib.patches import Polygon, Rectangle

    axes.add_patch(Rectangle((x - 34, ground - 14), 76, 14, facecolor=SAND, edgecolor="none", alpha=0.5))
    axes.plot([x - 34, x + 42], [ground, ground], color=BARE_DARK, lw=1.2)
    for n in range(38):
        at, lean = x - 33 + 2 * n, 2.5 * ((n * 7) % 5 - 2) / 2
        if abs(at - x) > WOOD_MM / 2 + 1:
            axes.plot([at, at + lean], [ground, ground + 34 + 6 * ((n * 3) % 4) / 3], color=LEAF, lw=1.1)
    axes.add_patch(
        Rectangle((x - WOOD_MM / 2, ground), WOOD_MM, STANDS_MM - 4, facecolor=SAND, edgecolor=INK, lw=0.8)
    )
    axes.add_patch(
        Rectangle((x - 38, ground + STANDS_MM - 4), 76, 4, facecolor="white", edgecolor=INK, lw=0.8)
    )
    axes.plot([x - 30, x + 30], [ground + STANDS_MM] * 2, color="black", lw=2.4, solid_capstyle="butt")
    axes.add_patch(Polygon([(x - 1.2, ground), (x + 1.2, ground), (x, ground - 13)], facecolor=INK))
    both_ends = {"arrowstyle": "<->", "color": INK, "lw": 0.9, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", (x + 46, ground), (x + 46, ground + STANDS_MM), arrowprops=both_ends)
    axes.text(x + 48.5, ground + STANDS_MM / 2, say.PEG_LENGTH, size=9, va="center", rotation=90)
    axes.text(x, ground + STANDS_MM + 4, say.PEG_BOARD, size=9, ha="center", va="bottom")
    axes.text(x + 4, ground - 8, say.PEG_NAIL, size=9, va="center")


def _draw_plan(axes: Axes, left: float, bottom: float, size: float) -> None:
    """Draw the square with pegs around it, and the places of the photographer on the arc."""
    from matplotlib.patches import Circle, Rectangle

    axes.add_patch(Rectangle((left, bottom), size, size, facecolor="#EEF4EC", edgecolor="none"))
    side = size / 2.3
    x0, y0 = left + (size - side) / 2, bottom + (size - side) / 2 + 8
    axes.add_patch(
        Rectangle((x0, y0), side, side, fill=False, edgecolor=QUIET, lw=0.8, linestyle=(0, (2, 2)))
    )
    for dx in (0, side - 5):
        for dy in (0, side - 5):
            axes.add_patch(Rectangle((x0 + dx, y0 + dy), 5, 5, facecolor="black"))
    for n in range(25):
        px, py = x0 + side / 2 + (n % 5 - 2) * 13.5, y0 + side / 2 + (n // 5 - 2) * 12
        if (
            min(abs(px - x0 - 2.5), abs(px - x0 - side + 2.5))
            + min(abs(py - y0 - 2.5), abs(py - y0 - side + 2.5))
            > 8
        ):
            axes.add_patch(Rectangle((px - 1.5, py - 1.5), 3, 3, facecolor="white", edgecolor=INK, lw=1.2))
    middle = (x0 + side / 2, y0 + side / 2)
    for degrees in (-40, -20, 0, 20, 40):
        turn = math.radians(degrees)
        spot = middle[0] + 46 * math.sin(turn), middle[1] - 46 * math.cos(turn)
        axes.add_patch(Circle(spot, 1.8, facecolor=BARE_DARK, edgecolor="none"))
    axes.text(left + size / 2, bottom + size + 2, say.PEGS_PLAN, size=9, ha="center", va="bottom")
    axes.text(left + size / 2, bottom - 7, say.PEGS_STAND, size=9, ha="center", va="top", color=BARE_DARK)
