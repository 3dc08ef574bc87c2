"""A zone's curve as SVG text, for the report's small panels: as `zone_panels` draws it, in a fiftieth of the time.

Lengths are points of 1/72 inch. Text stays text: letters of the reader's own font, with a rim of paper where they stand
on curves.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

from swardmark.drawing import sentences
from swardmark.drawing.palette import INK, PAPER, QUIET, RULE, Dash, look_of
from swardmark.drawing.plotting import (
    ALPHA_80,
    ALPHA_95,
    COVER_TICKS,
    NAME_IN,
    TOP_PCT,
    band_pieces,
    course_names,
    day_axis,
    diary_marks,
    free_place,
    intervals,
    tick_label,
)

if TYPE_CHECKING:
    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.season import Season

LEFT, RIGHT, BOTTOM, TOP = 36.0, 13.0, 28.0, 7.0
"""Room round the plot: for covers, half a date, two lines of dates, and nothing."""
LETTER = 7.0
"""Height of a letter of the diary."""
DOT, STICK = 2.3, 1.0
FONTS = "'Avenir Next','Segoe UI','Noto Sans','DejaVu Sans',sans-serif"


@dataclass(frozen=True)
class _Plot:
    """A rectangle in which days and covers have their places."""

    limits: tuple[float, float]
    left: float
    right: float
    top: float
    bottom: float

    def x(self, day: float) -> float:
        first, last = self.limits
        return self.left + (self.right - self.left) * (day - first) / (last - first)

    def y(self, cover: float) -> float:
        return self.bottom - (self.bottom - self.top) * cover / TOP_PCT

    def path(self, days: Sequence[float], covers: Sequence[float]) -> str:
        return "M" + "L".join(f"{self.x(d):.1f} {self.y(c):.1f}" for d, c in zip(days, covers, strict=True))


def zone_panel(season: Season, zone: ZoneOutlook, *, width_in: float) -> str:
    """Return one zone with its 80 and 95 % bands as the text of an SVG file; its name is left to the text around it."""
    width, height = 72 * width_in, 54 * width_in
    limits, ticks = day_axis(season, [zone], width_in=width_in)
    letters = diary_marks(season, limits)
    top = TOP + LETTER * max((len(column) for column in letters.values()), default=0)
    plot = _Plot(limits, LEFT, width - RIGHT, top, height - BOTTOM)
    parts = [
        *_scales(plot, ticks, season),
        *_curve(plot, zone, season),
        *_mow_line(plot, zone, season, width_in),
        *_diary(plot, letters),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" width="{width:g}pt" '
        f'height="{height:g}pt" font-family="{FONTS}" font-size="8" fill="{INK}">'
        f'<rect width="100%" height="100%" fill="{PAPER}"/>{"".join(parts)}</svg>'
    )


def _scales(plot: _Plot, ticks: Sequence[int], season: Season) -> Iterator[str]:
    """Yield grid, axes, ticks and their labels."""
    grid = "".join(f"M{plot.left} {plot.y(c):.1f}H{plot.right:g}" for c in COVER_TICKS)
    grid += "".join(f"M{plot.x(day):.1f} {plot.top:g}V{plot.bottom:g}" for day in ticks)
    yield _line(grid, RULE, 0.6)
    marks = "".join(f"M{plot.left - 3.5} {plot.y(c):.1f}h3.5" for c in COVER_TICKS)
    marks += "".join(f"M{plot.x(day):.1f} {plot.bottom:g}v3.5" for day in ticks)
    yield _line(f"M{plot.left} {plot.top:g}V{plot.bottom:g}H{plot.right:g}{marks}", QUIET, 0.8)
    for cover in COVER_TICKS:
        yield _text(plot.left - 6, plot.y(cover) + 2.8, str(cover), anchor="end")
    for day in ticks:
        for n, line in enumerate(tick_label(day, season).split("\n")):
            yield _text(plot.x(day), plot.bottom + 12 + 9.5 * n, line, anchor="middle")
    middle = (plot.top + plot.bottom) / 2
    turned = f'transform="rotate(-90 9 {middle:g})"'
    yield _text(9, middle, sentences.AXIS_COVER, anchor="middle", size=9, more=turned)
    today = plot.x((season.as_of - season.day_zero).days)
    yield _line(f"M{today:.1f} {plot.top:g}V{plot.bottom:g}", QUIET, 0.9, dash=(0, (0.9, 1.8)))


def _curve(plot: _Plot, zone: ZoneOutlook, season: Season) -> Iterator[str]:
    """Yield bands, lines, names of courses, intervals and dots."""
    color = look_of(0).color
    for band, line, dash in band_pieces(zone):
        for low, high, alpha in ((band.low95, band.high95, ALPHA_95), (band.low80, band.high80, ALPHA_80)):
            area = plot.path([*band.day, *reversed(band.day)], [*low, *reversed(high)])
            yield f'<path d="{area}Z" fill="{color}" fill-opacity="{alpha}"/>'
        yield _line(plot.path(*line), color, 1.4, dash=dash)
    for day, cover, name in course_names(zone):
        yield _text(plot.x(day), plot.y(cover) - 6, name, anchor="end", size=7.5, color=color, rim=True)
    sticks = intervals(zone, season)
    yield _line("".join(plot.path((day, day), (low, high)) for day, low, high in sticks), INK, STICK)
    for day, cover, held in zip(zone.day, zone.observed_pct, zone.held_out, strict=True):
        if math.isfinite(cover):
            fill = PAPER if held else INK
            place = f'cx="{plot.x(day):.1f}" cy="{plot.y(cover):.1f}"'
            yield f'<circle {place} r="{DOT}" fill="{fill}" stroke="{INK}"/>'


def _mow_line(plot: _Plot, zone: ZoneOutlook, season: Season, width_in: float) -> Iterator[str]:
    """Yield the cover of the first mow, and its name where no curve runs."""
    gate = season.lawn.outlook.first_mow_cover_pct
    yield _line(f"M{plot.left} {plot.y(gate):.1f}H{plot.right:g}", INK, 1.0, dash=(0, (6, 3)))
    side, above = free_place(plot.limits, [zone], gate, 72 * NAME_IN / (plot.right - plot.left))
    x = plot.left + 2 + side * (plot.right - plot.left - 4)
    y = plot.y(gate) + (-3.5 if above else 8.5)
    name = sentences.MOW_LINE.format(gate=gate)
    yield _text(x, y, name, anchor="start" if side < 0.5 else "end", size=7, rim=True)


def _diary(plot: _Plot, letters: dict[int, str]) -> Iterator[str]:
    """Yield the diary's letters along the top; those of one day stand over each other."""
    for day, column in letters.items():
        yield _line(f"M{plot.x(day):.1f} {plot.top:g}v{plot.y(TOP_PCT - 4.5) - plot.top:.1f}", RULE, 1.0)
        for n, letter in enumerate(column):
            y = plot.top - 1.5 - LETTER * n
            yield _text(plot.x(day), y, letter, anchor="middle", size=LETTER, color=QUIET)


def _line(path: str, color: str, width: float, *, dash: Dash = "-") -> str:
    dashes = "" if isinstance(dash, str) else f' stroke-dasharray="{" ".join(f"{n:g}" for n in dash[1])}"'
    return f'<path d="{path}" fill="none" stroke="{color}" stroke-width="{width:g}"{dashes}/>' if path else ""


def _text(
    x: float,
    y: float,
    text: str,
    *,
    anchor: str,
    size: float = 8,
    color: str = INK,
    rim: bool = False,
    more: str = "",
) -> str:
    paper = (
        f' stroke="{PAPER}" stroke-width="2.5" stroke-linejoin="round" paint-order="stroke"' if rim else ""
    )
    look = f'text-anchor="{anchor}" font-size="{size:g}" fill="{color}"{paper} {more}'.rstrip()
    return f'<text x="{x:.1f}" y="{y:.1f}" {look}>{escape(text)}</text>'
