"""What the curve figures are made of: lines, bands, names at line ends, day axis, mow line, diary letters.

The axis counts days since the leveling, in calendar days; each tick says the date and the day.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from swardmark.common.phrases import date_words
from swardmark.drawing import sentences
from swardmark.drawing.palette import INK, QUIET, RULE, LineLook, plain_label
from swardmark.words.phrases import short_months

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.season import Season

DIARY_SIGNS = {
    "watered": "W", "rain": "R", "fed": "F", "mowed": "M", "edged": "E", "sanded": "S", "note": "N",
}  # fmt: skip
TICK_STEPS = (1, 2, 3, 7, 14, 28, 56, 91, 182, 365)
LABEL_IN, MARGIN_IN = 0.52, 0.7
"""Room for one date label along the axis, and for all that stands beside the axis."""
TOP_PCT = 106


def draw_line(axes: Axes, zone: ZoneOutlook, look: LineLook) -> None:
    """Draw a zone's measured dots and, thin and only ahead of the last photo, its median forecast."""
    style: dict[str, Any] = {"color": look.color, "linestyle": look.dash}
    axes.plot(zone.day, zone.observed_pct, marker=look.marker, markersize=4.5, linewidth=1.6, **style)
    if zone.band is not None and zone.day:
        pairs = zip(zone.band.day, zone.band.median, strict=True)
        ahead = [(day, value) for day, value in pairs if day >= zone.day[-1]]
        axes.plot(
            [day for day, _ in ahead], [value for _, value in ahead], linewidth=0.8, alpha=0.75, **style
        )


def draw_bands(axes: Axes, zone: ZoneOutlook, season: Season, look: LineLook) -> None:
    """Draw a zone's 80 and 95 % bands, median, and measured covers with their intervals."""
    band = zone.band
    if band is not None:
        axes.fill_between(band.day, band.low95, band.high95, color=look.color, alpha=0.13, lw=0)
        axes.fill_between(band.day, band.low80, band.high80, color=look.color, alpha=0.24, lw=0)
        axes.plot(band.day, band.median, color=look.color, lw=1.4)
    seen = [row for row in season.covers_of(zone.point, zone.zone) if math.isfinite(row.cover.cover_pct)]
    sticks = [((row.taken_at.date() - season.day_zero).days, row.cover) for row in seen]
    sticks = [(day, cover) for day, cover in sticks if day >= 0]
    lows, highs = [cover.low_pct for _, cover in sticks], [cover.high_pct for _, cover in sticks]
    axes.vlines([day for day, _ in sticks], lows, highs, color=INK, lw=1)
    fills = ["none" if held else INK for held in zone.held_out]
    axes.scatter(zone.day, zone.observed_pct, s=20, facecolors=fills, edgecolors=INK, linewidths=1, zorder=3)


def name_ends(axes: Axes, zones: Sequence[ZoneOutlook], looks: Sequence[LineLook]) -> None:
    """Write each line's name to the right of the plot, moved apart so that names do not touch."""
    ends = []
    for n, zone in enumerate(zones):
        values = zone.band.median if zone.band is not None else zone.observed_pct
        if values and math.isfinite(values[-1]):
            ends.append((float(values[-1]), n, plain_label(zone.zone, most=22)))
    ends.sort()
    heights = spread_apart([level for level, _, _ in ends], gap=5.6, low=1.0, high=101.0)
    right = axes.get_yaxis_transform()
    for (level, n, name), height in zip(ends, heights, strict=True):
        color = looks[n].color
        axes.plot([1.005, 1.03], [level, height], transform=right, color=color, lw=0.8, clip_on=False)
        axes.text(1.035, height, name, transform=right, color=color, va="center", fontsize=8.5)


def spread_apart(values: Sequence[float], *, gap: float, low: float, high: float) -> list[float]:
    """Return sorted values moved `gap` apart between `low` and `high`, where they fit."""
    placed: list[float] = []
    for value in values:
        placed.append(max(value, placed[-1] + gap if placed else low))
    for n in reversed(range(len(placed))):
        limit = high if n == len(placed) - 1 else placed[n + 1] - gap
        placed[n] = min(placed[n], limit)
    return placed


def dress(axes: Axes, season: Season, zones: Sequence[ZoneOutlook], *, width_in: float) -> None:
    """Set scales, ticks that never touch, the mow line and the day of the season; `width_in` is the panel's."""
    today = float((season.as_of - season.day_zero).days)
    days = [day for zone in zones for day in (*zone.day, *(zone.band.day if zone.band else ()))] or [today]
    first, last = min(days), max(*days, today)
    pad = max(1.0, (last - first) / 40)
    axes.set_xlim(first - pad, last + pad)
    axes.set_ylim(0, TOP_PCT)
    axes.set_yticks([0, 25, 50, 75, 100])
    ticks = tick_days(first, last, most=max(2, int((width_in - MARGIN_IN) / LABEL_IN)))
    axes.set_xticks(ticks, [_tick_label(day, season) for day in ticks])
    axes.tick_params(labelsize=8)
    mow_line(axes, season)
    axes.axvline(today, color=QUIET, lw=0.9, linestyle=(0, (1, 2)))


def tick_days(first: float, last: float, *, most: int) -> list[int]:
    """Return at most `most` days from `first` to `last`, a round number of days apart, including day 0."""
    span = last - first
    step = next((n for n in TICK_STEPS if span // n + 1 <= most), max(TICK_STEPS[-1], math.ceil(span)))
    return [n * step for n in range(math.ceil(first / step), math.floor(last / step) + 1)]


def mow_line(axes: Axes, season: Season) -> None:
    """Draw the cover at which the lawn may be mown first, and say so beside the line."""
    gate = season.lawn.outlook.first_mow_cover_pct
    axes.axhline(gate, color=INK, lw=1, linestyle=(0, (6, 3)))
    sheet = {"facecolor": axes.get_facecolor(), "edgecolor": "none", "pad": 0.6, "alpha": 0.8}
    axes.annotate(
        sentences.MOW_LINE.format(gate=gate), (0.01, gate), xycoords=("axes fraction", "data"), xytext=(0, 2.5),
        textcoords="offset points", fontsize=7.5, color=INK, va="bottom", bbox=sheet,
    )  # fmt: skip


def mark_diary(axes: Axes, season: Season) -> None:
    """Write the diary's entries as letters along the top; those of one day stand over each other."""
    first, last = axes.get_xlim()
    marks: dict[int, str] = {}
    for entry in season.diary:
        day, sign = (entry.date - season.day_zero).days, DIARY_SIGNS[entry.what]
        if first <= day <= last and sign not in marks.get(day, ""):
            marks[day] = marks.get(day, "") + sign
    for day, letters in marks.items():
        axes.plot([day, day], [TOP_PCT - 4.5, TOP_PCT], color=RULE, lw=1, zorder=0.5)
        column = "\n".join(reversed(letters))
        axes.text(
            day, TOP_PCT + 0.5, column, ha="center", va="bottom", fontsize=7, color=QUIET, linespacing=0.95
        )


def diary_key(season: Season) -> str:
    """Return what the diary's letters on the curves mean, of those that occur: `W watered, R rain`."""
    used = {entry.what for entry in season.diary}
    return ", ".join(
        sentences.DIARY_SIGN.format(sign=sign, what=what)
        for what, sign in DIARY_SIGNS.items()
        if what in used
    )


def _tick_label(day: int, season: Season) -> str:
    date = date_words(season.day_zero + dt.timedelta(days=day), season.lawn.units)
    return sentences.TICK.format(date=short_months(date), day=day)
