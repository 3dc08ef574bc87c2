"""Sand, leaf and dew: the colors, marks and line styles of everything that swardmark shows.

The hues are those of the color-blind safe palette of Okabe and Ito 2008 (Color Universal Design,
https://jfly.uni-koeln.de/color/). The dark shades are the same hues darkened until text in them has a contrast of at
least 4.5 to 1 on the paper color (WCAG 2.2, success criterion 1.4.3). No meaning hangs on color alone: lines differ
in dash and marker too, and carry their names.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from swardmark.common.text import clean
from swardmark.common.units import FOOT_M
from swardmark.drawing import sentences

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SAND, LEAF, DEW = "#E69F00", "#009E73", "#56B4E9"
BLUE, VERMILLION = "#0072B2", "#D55E00"
SAND_DARK, LEAF_DARK, DEW_DARK, BARE_DARK, PURPLE_DARK = "#7A5200", "#00664A", "#00547F", "#A34700", "#8A4A6B"
INK, QUIET, PAPER, RULE = "#1F2A24", "#55605A", "#FFFEFA", "#D9D3C4"

LEAF_TONE, SAND_TONE = "#3A7157", "#EBD5A4"
"""Covered and bare ground on maps: over 3 to 1 in contrast, to differ in gray print and in any color vision."""

FONT = "DejaVu Sans"


Dash = str | tuple[float, tuple[float, ...]]


@dataclass(frozen=True)
class LineLook:
    """Color, dash and marker that set one line of a figure apart."""

    color: str
    dash: Dash
    marker: str


LOOKS = tuple(
    LineLook(color, dash, marker)
    for color, dash, marker in (
        (LEAF_DARK, "-", "o"),
        (BARE_DARK, "--", "s"),
        (DEW_DARK, "-.", "^"),
        (PURPLE_DARK, (0, (1, 1)), "D"),
        (SAND_DARK, (0, (5, 1, 1, 1, 1, 1)), "v"),
        (VERMILLION, (0, (8, 2)), "P"),
        (BLUE, (0, (3, 2)), "X"),
    )
)  # fmt: skip

WHOLE_LOOK = LineLook(INK, "-", "*")
"""The whole lawn among its zones."""


def look_of(number: int) -> LineLook:
    """Return the look of the n-th line; dashes and colors come round at different times, so 49 lines differ."""
    color = LOOKS[number % len(LOOKS)].color
    other = LOOKS[(number + number // len(LOOKS)) % len(LOOKS)]
    return LineLook(color, other.dash, other.marker)


def load_plotting() -> None:
    """Load what figures are made of, without the lists of properties that matplotlib writes into docstrings.

    They take two fifths of the time, and nobody reads them in a run that draws.
    """
    from matplotlib import artist

    told = vars(artist).get("kwdoc")
    if told is not None:
        vars(artist)["kwdoc"] = lambda _: ""
    try:
        import matplotlib.figure

        _ = matplotlib.figure
    finally:
        if told is not None:
            vars(artist)["kwdoc"] = told


def new_figure(width_in: float, height_in: float) -> Figure:
    """Return an empty figure without any pyplot state, on the paper color."""
    from matplotlib.figure import Figure

    return Figure(figsize=(width_in, height_in), layout="constrained", facecolor=PAPER)


def drawing_style() -> Any:
    """Return the context in which figures are drawn and saved: font, ink, and text as outlines in SVG."""
    from matplotlib import rc_context

    return rc_context({
        "font.family": FONT, "font.size": 9, "text.color": INK, "axes.labelcolor": INK, "axes.edgecolor": QUIET,
        "xtick.color": INK, "ytick.color": INK, "axes.facecolor": PAPER, "axes.grid": True, "grid.color": RULE,
        "grid.linewidth": 0.6, "axes.spines.top": False, "axes.spines.right": False, "text.parse_math": False,
        "svg.fonttype": "path", "svg.hashsalt": "swardmark", "path.simplify": True,
    })  # fmt: skip


def dress_map(axes: Axes, units: str, *, framed: bool = False) -> None:
    """Give a map of the ground its axes: meters or feet from mark 0, at most nine steps, no grid."""
    from matplotlib.ticker import FuncFormatter, MultipleLocator

    step, name = (FOOT_M, "ft") if units == "us" else (1.0, "m")
    span = max(np.ptp(axes.get_xlim()), np.ptp(axes.get_ylim())) / step
    every = next((n for n in (1, 2, 5, 10, 20, 50) if span / n <= 9), 100)
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_locator(MultipleLocator(every * step))
        axis.set_major_formatter(FuncFormatter(lambda value, _: f"{round(value / step)}"))
    axes.set(xlabel=sentences.MAP_RIGHT.format(unit=name), ylabel=sentences.MAP_AWAY.format(unit=name))
    axes.tick_params(labelsize=8)
    axes.grid(False)
    if framed:
        axes.spines[:].set_visible(True)
    axes.spines[:].set_color(QUIET)


def plain_label(text: str, *, most: int = 26) -> str:
    """Return a name that a figure can draw: at most `most` letters, and only glyphs of its font."""
    known = _font_signs()
    return "".join(sign if sign == "…" or ord(sign) in known else "?" for sign in clean(text, most=most))


@functools.cache
def _font_signs() -> frozenset[int]:
    from matplotlib.font_manager import FontProperties, findfont
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(findfont(FontProperties(family=FONT))).get_charmap())
