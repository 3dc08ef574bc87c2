"""Paper sizes, blank pages in millimeters, and the bar by which a print is checked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from swardmark.common.errors import UsageError
from swardmark.drawing.palette import INK, QUIET
from swardmark.sheets import sentences

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PAPER_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
SCALE_BAR_MM = 100.0
MM_PER_INCH = 25.4


def paper_size(paper: str) -> tuple[float, float]:
    """Return width and height of a paper in millimeters; raises UsageError where it is unknown."""
    if paper not in PAPER_MM:
        what = sentences.NOT_A_PAPER.format(paper=paper)
        raise UsageError(what, where="--paper", remedy=sentences.PAPERS)
    return PAPER_MM[paper]


def blank_page(size_mm: tuple[float, float]) -> tuple[Figure, Axes]:
    """Return a page with axes in millimeters from its lower left corner, true to size."""
    from matplotlib.figure import Figure

    width, height = size_mm
    figure = Figure(figsize=(width / MM_PER_INCH, height / MM_PER_INCH), facecolor="white")
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, width), ylim=(0, height), aspect="equal")
    axes.axis("off")
    return figure, axes


def draw_scale_bar(axes: Axes, x: float, y: float) -> None:
    """Draw the bar of 100 mm by which a print is checked."""
    from matplotlib.patches import Rectangle

    for n in range(10):
        tone = INK if n % 2 == 0 else "white"
        axes.add_patch(Rectangle((x + 10 * n, y), 10, 3, facecolor=tone, edgecolor=INK, linewidth=0.4))
    axes.text(x, y - 3, "0", ha="center", va="center", size=8)
    axes.text(x + SCALE_BAR_MM, y - 3, "100 mm", ha="center", va="center", size=8)
    axes.text(
        x + SCALE_BAR_MM / 2, y - 3.2, sentences.SCALE_ADVICE, ha="center", va="center", size=8, color=QUIET
    )
