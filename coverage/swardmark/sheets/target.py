"""The printable target: four corner marks true to size, how to lay them, and how to take the photo.

The marks are OpenCV's ArUco marks of DICT_4X4_50, ids 0 to 3. Laid with their own top away from the photographer,
mark 0 is near left, 1 near right, 2 far right, 3 far left, and the square's corner is each mark's outer black
corner: bottom left of mark 0, bottom right of 1, top right of 2, top left of 3. The diagonals of a square are its
side times the square root of two.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from swardmark.common.errors import UsageError
from swardmark.common.files import write_whole
from swardmark.common.units import format_depth
from swardmark.drawing.palette import BARE_DARK, INK, PAPER, QUIET, SAND, drawing_style
from swardmark.sheets import sentences as say
from swardmark.sheets.howto import draw_photo_page
from swardmark.sheets.paper import PAPER_MM, SCALE_BAR_MM, blank_page, draw_scale_bar, paper_size
from swardmark.sheets.wedge import draw_wedge_page

if TYPE_CHECKING:
    from matplotlib.axes import Axes

QUIET_MM = 20.0
"""White margin around each mark; the cut runs along its outer edge."""
EDGE_MM = 5.0
"""Printers cannot print closer than this to the paper's edge."""
LEAST_MARK_MM = 60.0
CELLS = 6
"""Cells across a 4 x 4 mark with its black border."""


@dataclass(frozen=True)
class Place:
    """Where a mark lies, as seen from the photo point, and which of its corners is the square's (x, y of 0 or 1)."""

    number: int
    name: str
    corner: tuple[int, int]
    corner_name: str


PLACES = (
    Place(0, "near left", (0, 0), "bottom left"),
    Place(1, "near right", (1, 0), "bottom right"),
    Place(2, "far right", (1, 1), "top right"),
    Place(3, "far left", (0, 1), "top left"),
)


def write_target(path: Path | str, *, paper: str = "a4", mark_mm: float = 120.0, side_m: float = 1.0) -> Path:
    """Write the target as a PDF of seven pages, true to size.

    Parameters
    ----------
    path : Path or str
        Where to write.
    paper : {"a4", "letter"}
        Paper size.
    mark_mm : float
        Side of each black mark [mm].
    side_m : float
        Side of the square that the marks are to span, outer corner to outer corner [m].

    Raises
    ------
    UsageError
        The paper is unknown, or marks of that size fit neither the paper nor the square.
    """
    from matplotlib.backends.backend_pdf import PdfPages

    _check(paper, mark_mm, side_m)
    out = io.BytesIO()
    about = {"Title": "swardmark target", "CreationDate": None}
    with drawing_style(), PdfPages(out, metadata=about) as pages:
        for draw in (
            _draw_layout,
            *(_mark_page(place) for place in PLACES),
            draw_photo_page,
            draw_wedge_page,
        ):
            figure, axes = blank_page(PAPER_MM[paper])
            draw(axes, mark_mm=mark_mm, side_m=side_m)
            pages.savefig(figure)
    return write_whole(Path(path), out.getvalue())


def draw_mark(axes: Axes, number: int, left: float, bottom: float, side: float) -> None:
    """Draw a black square and its white cells as one outline each: no seams between cells."""
    from matplotlib.patches import PathPatch, Rectangle

    axes.add_patch(Rectangle((left, bottom), side, side, facecolor="black", edgecolor="none", linewidth=0))
    cell = side / CELLS
    path = _white_path(number, left, bottom, cell)
    axes.add_patch(PathPatch(path, facecolor="white", edgecolor="none", linewidth=0))


def _check(paper: str, mark_mm: float, side_m: float) -> None:
    size = paper_size(paper)
    most = size[0] - 2 * (QUIET_MM + EDGE_MM)
    if not LEAST_MARK_MM <= mark_mm <= most:
        remedy = f"Choose {LEAST_MARK_MM:.0f} to {most:.0f} mm"
        raise UsageError(f"a mark of {mark_mm:g} mm does not fit {paper} paper or is too small to be found",
                         where="--mark", remedy=remedy)  # fmt: skip
    least_m = 2.5 * mark_mm / 1000
    if not max(0.2, least_m) <= side_m <= 5:
        remedy = f"Choose a side of {max(0.2, least_m):.2g} to 5 m"
        raise UsageError(
            f"marks of {mark_mm:g} mm do not fit a square of {side_m:g} m",
            where="--square-side",
            remedy=remedy,
        )


def _mark_page(place: Place) -> Any:
    def draw(axes: Axes, *, mark_mm: float, side_m: float) -> None:
        width, height = axes.get_xlim()[1], axes.get_ylim()[1]
        left, bottom = (width - mark_mm) / 2, (height - mark_mm) / 2 - 2
        title = say.MARK_TITLE.format(number=place.number, place=place.name)
        axes.text(width / 2, height - 14, title, ha="center", va="center", size=26, weight="bold")
        _arrow_away(axes, width / 2, height - 24, height - 48)
        draw_mark(axes, place.number, left, bottom, mark_mm)
        _draw_cut_line(axes, left - QUIET_MM, bottom - QUIET_MM, mark_mm + 2 * QUIET_MM)
        _point_out_corner(axes, place, left, bottom, mark_mm)
        below = bottom - QUIET_MM
        corner = say.MARK_CORNER_IS.format(corner=place.corner_name)
        axes.text(width / 2, below - 8, corner, ha="center", va="center", size=10)
        draw_scale_bar(axes, (width - SCALE_BAR_MM) / 2, max(14.0, below - 26))

    return draw


def _arrow_away(axes: Axes, x: float, text_y: float, tail_y: float) -> None:
    axes.annotate("", xy=(x - 52, text_y + 4), xytext=(x - 52, tail_y + 8),
                  arrowprops={"arrowstyle": "-|>", "lw": 3, "color": INK, "mutation_scale": 22})  # fmt: skip
    axes.text(x - 42, text_y - 3, say.MARK_AWAY[0], size=12, va="center")
    axes.text(x - 42, text_y - 9, say.MARK_AWAY[1], size=12, va="center")


def _white_path(number: int, left: float, bottom: float, cell: float) -> Any:
    import cv2
    from matplotlib.path import Path as Outline
    from shapely import box, union_all

    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    cells = cv2.aruco.generateImageMarker(book, number, CELLS, borderBits=1) > 127
    boxes = [
        box(left + col * cell, bottom + (CELLS - 1 - row) * cell,
            left + (col + 1) * cell, bottom + (CELLS - row) * cell)
        for row, col in zip(*cells.nonzero(), strict=True)
    ]  # fmt: skip
    shape = union_all(boxes)
    parts = list(getattr(shape, "geoms", [shape]))
    rings = [ring for part in parts for ring in (part.exterior, *part.interiors)]
    return Outline.make_compound_path(*(Outline(list(ring.coords), closed=True) for ring in rings))


def _draw_cut_line(axes: Axes, left: float, bottom: float, side: float) -> None:
    from matplotlib.patches import Rectangle

    axes.add_patch(Rectangle((left, bottom), side, side, fill=False, edgecolor=QUIET, linewidth=0.8,
                             linestyle=(0, (6, 4))))  # fmt: skip
    axes.text(left + 4, bottom + side + 3.2, say.MARK_CUT, size=8, color=QUIET,
              va="center")  # fmt: skip


def _point_out_corner(axes: Axes, place: Place, left: float, bottom: float, side: float) -> None:
    """Lengthen the two outer edges into the margin; they cross at the square's corner."""
    right, up = place.corner
    x, y = left + right * side, bottom + up * side
    out_x, out_y = (1 if right else -1), (1 if up else -1)
    start, end = 7.0, QUIET_MM
    axes.plot([x + out_x * start, x + out_x * end], [y, y], color=BARE_DARK, lw=0.8)
    axes.plot([x, x], [y + out_y * start, y + out_y * end], color=BARE_DARK, lw=0.8)
    axes.text(
        x + out_x * 10.5,
        y + out_y * 10.5,
        say.MARK_CORNER,
        size=6.5,
        color=BARE_DARK,
        ha="center",
        va="center",
    )


def _draw_layout(axes: Axes, *, mark_mm: float, side_m: float) -> None:
    width, height = axes.get_xlim()[1], axes.get_ylim()[1]
    axes.text(18, height - 20, say.TARGET_TITLE, size=24, weight="bold", va="center")
    axes.text(18, height - 30, say.TARGET_WHY, size=11,
              va="center")  # fmt: skip
    size = 104.0
    left, bottom = (width - size) / 2, height - 56 - size
    _draw_square_plan(axes, left, bottom, size, mark_share=min(0.3, mark_mm / 1000 / side_m))
    _draw_lengths(axes, left, bottom, size, side_m)
    y = bottom - 32
    for n, line in enumerate(_laying(mark_mm, side_m), start=1):
        axes.text(18, y, f"{n}.", size=10, va="top", weight="bold")
        axes.text(25, y, line, size=10, va="top")
        y -= 6.2 + 4.6 * line.count("\n")
    axes.text(18, y - 5, say.LASTING_TITLE, size=12, weight="bold", va="top")
    y -= 13
    for line in say.LASTING:
        axes.text(18, y, "•", size=10, va="top")
        axes.text(25, y, line, size=9.5, va="top")
        y -= 5.6


def _laying(mark_mm: float, side_m: float) -> tuple[str, ...]:
    side, diagonal = _both(side_m * 1000), _both(side_m * 1000 * math.sqrt(2))
    return tuple(line.format(mark_mm=mark_mm, side=side, diagonal=diagonal) for line in say.TARGET_LAYING)


def _both(millimeters: float) -> str:
    return f"{millimeters:.0f} mm ({format_depth(millimeters, units='us')})"


def _draw_square_plan(axes: Axes, left: float, bottom: float, size: float, *, mark_share: float) -> None:
    from matplotlib.patches import Rectangle

    axes.add_patch(
        Rectangle((left - 14, bottom - 14), size + 28, size + 28, facecolor="#F6EAD0", edgecolor="none")
    )
    axes.add_patch(
        Rectangle((left, bottom), size, size, fill=False, edgecolor=QUIET, lw=0.8, linestyle=(0, (2, 2)))
    )
    for start, end in ((left, left + size), (left + size, left)):
        axes.plot([start, end], [bottom, bottom + size], color=SAND, lw=1.2, zorder=1)
    mark, edge = size * mark_share, size * mark_share / 6
    for place in PLACES:
        x, y = left + place.corner[0] * (size - mark), bottom + place.corner[1] * (size - mark)
        axes.add_patch(Rectangle((x - edge, y - edge), mark + 2 * edge, mark + 2 * edge, facecolor="white", lw=0.4,
                                 edgecolor=QUIET))  # fmt: skip
        draw_mark(axes, place.number, x, y, mark)
        inward = 1 if place.corner[0] == 0 else -1
        text_x = x + (mark + 3 * edge if inward > 0 else -3 * edge)
        axes.text(text_x, y + mark / 2, f"{place.number}  {place.name}", size=10, weight="bold", va="center",
                  ha="left" if inward > 0 else "right")  # fmt: skip
    axes.text(
        left + size / 2, bottom + size + 9, say.TARGET_FAR, ha="center", va="center", size=9, color=QUIET
    )
    axes.text(left + size / 2, bottom - 9, say.TARGET_NEAR, ha="center", va="center",
              size=9, color=QUIET)  # fmt: skip


def _draw_lengths(axes: Axes, left: float, bottom: float, size: float, side_m: float) -> None:
    both_ends = {"arrowstyle": "<->", "color": INK, "lw": 0.9, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", (left, bottom - 19), (left + size, bottom - 19), arrowprops=both_ends)
    middle = left + size / 2
    side = say.TARGET_SIDE.format(length=_both(side_m * 1000))
    axes.text(middle, bottom - 23, side, ha="center", va="center", size=10)
    diagonals = say.TARGET_DIAGONALS.format(length=_both(side_m * 1000 * math.sqrt(2)))
    axes.text(middle, bottom + size / 2, diagonals, ha="center", va="center", size=10,
              bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 3})  # fmt: skip
