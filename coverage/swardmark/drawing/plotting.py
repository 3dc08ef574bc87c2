"""What the curve figures are made of: lines, bands, names at line ends, day axis, mow line, diary letters.

The axis counts days since the leveling, in calendar days; each tick says the date and the day.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import fields
from typing import TYPE_CHECKING, Any

import numpy as np

from swardmark.common.phrases import date_words
from swardmark.drawing import sentences
from swardmark.drawing.palette import INK, PAPER, QUIET, RULE, Dash, LineLook, plain_label
from swardmark.forecast.rows import ForecastBand, ZoneOutlook
from swardmark.lawn.toml import WHOLE_LAWN
from swardmark.words.phrases import short_months

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from swardmark.canopy.cover import Cover
    from swardmark.season import Season

DIARY_SIGNS = {
    "watered": "W", "rain": "R", "fed": "F", "mowed": "M", "edged": "E", "sanded": "S", "note": "N",
}  # fmt: skip
TICK_STEPS = (1, 2, 3, 7, 14, 28, 56, 91, 182, 365)
LABEL_IN, MARGIN_IN = 0.52, 0.7
"""Room for one date label along the axis, and for all that stands beside the axis."""
TOP_PCT = 106
COVER_TICKS = (0, 25, 50, 75, 100)
NAME_IN, NAME_PCT = 0.9, 9.0
"""Room that the mow line's name takes: along the axis, and in points of cover."""
LINE_WEIGHS = 10.0
"""How much more the name hides of a line or a dot than of the edge of a band."""
STICKS, DOTS = "_sticks", "_dots"
"""What tells intervals and measured covers from the curves among a plot's lines."""
MOST_SHAPES = 150
"""More dots of a line than these become one picture inside an SVG file: a browser is slow with thousands of shapes."""
ALPHA_95, ALPHA_80 = 0.13, 0.24
Line = tuple[Sequence[float], Sequence[float]]
EASE_DAYS = 7.0
"""Over so many days the lines of a fork part from the one estimate that they come from."""


def draw_line(axes: Axes, zone: ZoneOutlook, season: Season, look: LineLook) -> None:
    """Draw one of several zones: its estimate, faint 80 % band, and measured covers with their 95 % intervals.

    The line is the estimate up to the last photo and the forecast from there on, one line without a step; it is thinner
    ahead. A zone with two courses ahead forks.
    """
    line: dict[str, Any] = {"color": look.color, "linestyle": look.dash}
    if zone.band is not None and zone.day:
        last = zone.day[-1]
        behind, ahead = _split(zone.band, last)
        axes.plot(*behind, lw=1.6, **line)
        for course_ahead, band in _ahead_of(zone, ahead):
            axes.fill_between(band.day, band.low80, band.high80, color=look.color, alpha=0.07, lw=0)
            axes.plot(*course_ahead, lw=0.9, **line)
    else:
        axes.plot(zone.day, zone.observed_pct, lw=1.6, **line)
    _draw_dots(axes, zone, season, marker=look.marker, color=look.color, size=16, stick=0.6)


def draw_bands(axes: Axes, zone: ZoneOutlook, season: Season, look: LineLook) -> None:
    """Draw a zone's 80 and 95 % bands, median, and measured covers with their intervals; a stalled zone's as a fork."""
    for band, line, dash in band_pieces(zone):
        axes.fill_between(band.day, band.low95, band.high95, color=look.color, alpha=ALPHA_95, lw=0)
        axes.fill_between(band.day, band.low80, band.high80, color=look.color, alpha=ALPHA_80, lw=0)
        axes.plot(*line, color=look.color, lw=1.4, linestyle=dash)
    for day, height, text in course_names(zone):
        axes.annotate(text, (day, height), xytext=(0, 5), textcoords="offset points", ha="right", va="bottom",
                      fontsize=7.5, color=look.color, bbox=_sheet(axes))  # fmt: skip
    _draw_dots(axes, zone, season, marker="o", color=INK, size=20, stick=1.0)


def band_pieces(zone: ZoneOutlook) -> list[tuple[ForecastBand, Line, Dash]]:
    """Return a zone's bands with the line and its dash in each: one, or that before a fork and those of its courses."""
    band = zone.band
    if band is None:
        return []
    if not zone.courses:
        return [(band, (band.day, band.median), "-")]
    fork = zone.courses[0].band.day[0]
    before, meet = _until(band, fork), _split(band, fork)[0][1][-1]
    dashes: tuple[Dash, ...] = ("-", (0, (4, 2)))
    ahead = zip(zone.courses, dashes, strict=True)
    return [(before, (before.day, before.median), "-"),
            *((course.band, _eased(course.band, meet), dash) for course, dash in ahead)]  # fmt: skip


def course_names(zone: ZoneOutlook) -> list[tuple[float, float, str]]:
    """Return where each course ends, moved apart, as day and cover, and its name and chance."""
    ends = [float(course.band.median[-1]) for course in zone.courses]
    order = sorted(range(len(ends)), key=lambda n: ends[n])
    heights = spread_apart([ends[n] for n in order], gap=11.0, low=5.0, high=99.0)
    named = ((zone.courses[n], height) for n, height in zip(order, heights, strict=True))
    return [
        (course.band.day[-1], height, sentences.COURSE.format(name=course.name, share=100 * course.share))
        for course, height in named
    ]


def _draw_dots(
    axes: Axes, zone: ZoneOutlook, season: Season, *, marker: str, color: str, size: float, stick: float
) -> None:
    """Draw measured covers with their 95 % intervals, all sticks as one line; hollow where one is held out."""
    sticks, gap = intervals(zone, season), math.nan
    ends = [end for day, low, high in sticks for end in ((day, low), (day, high), (gap, gap))]
    axes.plot(*_columns(ends), color=color, lw=stick, solid_capstyle="butt", label=STICKS)
    for held, fill in ((False, color), (True, PAPER)):
        dots = [
            (day, cover)
            for day, cover, out in zip(zone.day, zone.observed_pct, zone.held_out, strict=True)
            if out == held
        ]
        axes.plot(*_columns(dots), linestyle="", marker=marker, markersize=math.sqrt(size), markerfacecolor=fill,
                  markeredgecolor=color, markeredgewidth=1, zorder=3, label=DOTS,
                  rasterized=len(dots) > MOST_SHAPES)  # fmt: skip


def intervals(zone: ZoneOutlook, season: Season) -> list[tuple[float, float, float]]:
    """Return the day and the 95 % interval of each measured cover; the whole's is that of parts which err together.

    Photos that the forecast leaves out, as those from before the sand, have no dot and so no interval.
    """
    is_whole = zone.zone == WHOLE_LAWN
    seen = {(one.point, one.zone): _dots(one) for one in (season.outlook.zones if is_whole else (zone,))}
    known = [
        (day, row)
        for row in season.covers
        if (dots := seen.get((row.point, row.zone)))
        and (day := (row.taken_at.date() - season.day_zero).days) >= 0
        and (day, row.cover.cover_pct) in dots
    ]
    if not is_whole:
        return [(day, row.cover.low_pct, row.cover.high_pct) for day, row in known]
    sticks: list[tuple[float, float, float]] = []
    on_day: dict[float, list[Cover]] = {}
    for day, row in known:
        on_day.setdefault(day, []).append(row.cover)
    for shown, cover in zip(zone.day, zone.observed_pct, strict=True):
        rows = on_day.get(shown, [])
        area = sum(one.area_m2 for one in rows)
        if area > 0:
            down = sum((one.cover_pct - one.low_pct) * one.area_m2 for one in rows) / area
            up = sum((one.high_pct - one.cover_pct) * one.area_m2 for one in rows) / area
            sticks.append((shown, max(0.0, cover - down), min(100.0, cover + up)))
    return sticks


def _dots(zone: ZoneOutlook) -> set[tuple[float, float]]:
    return set(zip(zone.day, zone.observed_pct, strict=True))


def _split(
    band: ForecastBand, day: float
) -> tuple[tuple[list[float], list[float]], tuple[list[float], list[float]]]:
    """Return the median of a band up to a day and from it on, both holding the point where they meet."""
    meet = float(np.interp(day, band.day, band.median))
    pairs = list(zip(band.day, band.median, strict=True))
    behind = [*(pair for pair in pairs if pair[0] < day), (day, meet)]
    ahead = [(day, meet), *(pair for pair in pairs if pair[0] > day)]
    return _columns(behind), _columns(ahead)


def _columns(pairs: Sequence[tuple[float, float]]) -> tuple[list[float], list[float]]:
    return [day for day, _ in pairs], [value for _, value in pairs]


def _ahead_of(
    zone: ZoneOutlook, ahead: tuple[list[float], list[float]]
) -> list[tuple[tuple[list[float], list[float]], ForecastBand]]:
    """Return the lines ahead with their bands: one, or those of a zone's courses, from the same point on."""
    assert zone.band is not None
    if not zone.courses:
        return [(ahead, zone.band)]
    return [(_eased(course.band, ahead[1][0]), course.band) for course in zone.courses]


def _eased(band: ForecastBand, cover: float) -> tuple[list[float], list[float]]:
    """Return the median of a course, parting over a week from the one estimate of its first day."""
    first, off = band.day[0], cover - band.median[0]
    return _columns(
        [
            (day, value + off * max(0.0, 1 - (day - first) / EASE_DAYS))
            for day, value in zip(band.day, band.median, strict=True)
        ]
    )


def _until(band: ForecastBand, day: float) -> ForecastBand:
    """Return a band up to a day."""
    count = sum(one <= day for one in band.day)
    return ForecastBand(*(getattr(band, part.name)[:count] for part in fields(band)))


def name_ends(axes: Axes, zones: Sequence[ZoneOutlook], looks: Sequence[LineLook]) -> None:
    """Write each line's name to the right of the plot, moved apart so that names do not touch."""
    ends = []
    for n, zone in enumerate(zones):
        likely = max(zone.courses, key=lambda course: course.share).band if zone.courses else zone.band
        values = likely.median if likely is not None else zone.observed_pct
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
    today = (season.as_of - season.day_zero).days
    limits, ticks = day_axis(season, zones, width_in=width_in)
    axes.set_xlim(limits)
    axes.set_ylim(0, TOP_PCT)
    axes.set_yticks(COVER_TICKS)
    axes.set_xticks(ticks, [tick_label(day, season) for day in ticks])
    axes.tick_params(labelsize=8)
    mow_line(axes, season, zones, width_in=width_in)
    axes.axvline(today, color=QUIET, lw=0.9, linestyle=(0, (1, 2)))


def day_axis(
    season: Season, zones: Sequence[ZoneOutlook], *, width_in: float
) -> tuple[tuple[float, float], list[int]]:
    """Return the first and the last day of a panel's axis, and its ticks."""
    today = float((season.as_of - season.day_zero).days)
    days = [day for zone in zones for day in (*zone.day, *(zone.band.day if zone.band else ()))] or [today]
    first, last = min(days), max(*days, today)
    pad = max(1.0, (last - first) / 40)
    ticks = tick_days(first, last, most=max(2, int((width_in - MARGIN_IN) / LABEL_IN)))
    return (first - pad, last + pad), ticks


def tick_days(first: float, last: float, *, most: int) -> list[int]:
    """Return at most `most` days from `first` to `last`, a round number of days apart, including day 0."""
    span = last - first
    step = next((n for n in TICK_STEPS if span // n + 1 <= most), max(TICK_STEPS[-1], math.ceil(span)))
    return [n * step for n in range(math.ceil(first / step), math.floor(last / step) + 1)]


def mow_line(axes: Axes, season: Season, zones: Sequence[ZoneOutlook] = (), *, width_in: float = 6.0) -> None:
    """Draw the cover at which the lawn may be mown first, and say so beside the line where no curve runs."""
    gate = season.lawn.outlook.first_mow_cover_pct
    axes.axhline(gate, color=INK, lw=1, linestyle=(0, (6, 3)))
    x, above = free_place(axes.get_xlim(), zones, gate, NAME_IN / (width_in - MARGIN_IN))
    axes.annotate(
        sentences.MOW_LINE.format(gate=gate), (x, gate), xycoords=("axes fraction", "data"),
        xytext=(0, 2.5 if above else -3), textcoords="offset points", fontsize=7, color=INK,
        ha="left" if x < 0.5 else "right", va="bottom" if above else "top", bbox=_sheet(axes),
    )  # fmt: skip


def free_place(
    limits: tuple[float, float], zones: Sequence[ZoneOutlook], gate: float, share: float
) -> tuple[float, bool]:
    """Return at which end of the mow line and on which side of it the least data lie: x as a share, and above."""
    left, right = limits
    drawn: list[tuple[Sequence[float], Sequence[float], float]] = []
    for zone in zones:
        drawn.append((zone.day, zone.observed_pct, LINE_WEIGHS))
        for band in (zone.band, *(course.band for course in zone.courses)):
            if band is not None:
                drawn.append((band.day, band.median, LINE_WEIGHS))
                drawn += [(band.day, edge, 1.0) for edge in (band.low95, band.high95)]
    if not drawn:
        return 0.01, True
    across = (np.concatenate([days for days, *_ in drawn]) - left) / (right - left)
    over = np.concatenate([covers for _, covers, _ in drawn]) - gate
    weight = np.concatenate([np.full(len(days), weighs) for days, _, weighs in drawn])
    best, least = (0.01, True), math.inf
    for x in (0.01, 0.99):
        for above in (True, False):
            beside = over if above else -over
            near = (abs(across - x) < share) & (beside >= 0) & (beside < NAME_PCT)
            if weight[near].sum() < least:
                best, least = (x, above), float(weight[near].sum())
    return best


def _sheet(axes: Axes) -> dict[str, Any]:
    return {"facecolor": axes.get_facecolor(), "edgecolor": "none", "pad": 0.6, "alpha": 0.8}


def mark_diary(axes: Axes, season: Season) -> None:
    """Write the diary's entries as letters along the top; those of one day stand over each other."""
    for day, letters in diary_marks(season, axes.get_xlim()).items():
        axes.plot([day, day], [TOP_PCT - 4.5, TOP_PCT], color=RULE, lw=1, zorder=0.5)
        column = "\n".join(reversed(letters))
        axes.text(
            day, TOP_PCT + 0.5, column, ha="center", va="bottom", fontsize=7, color=QUIET, linespacing=0.95
        )


def diary_marks(season: Season, limits: tuple[float, float]) -> dict[int, str]:
    """Return the letters of the diary's entries by their days."""
    marks: dict[int, str] = {}
    for entry in season.diary:
        day, sign = (entry.date - season.day_zero).days, DIARY_SIGNS[entry.what]
        if limits[0] <= day <= limits[1] and sign not in marks.get(day, ""):
            marks[day] = marks.get(day, "") + sign
    return marks


def diary_key(season: Season) -> str:
    """Return what the diary's letters on the curves mean, of those that occur: `W watered, R rain`."""
    used = {entry.what for entry in season.diary}
    return ", ".join(
        sentences.DIARY_SIGN.format(sign=sign, what=what)
        for what, sign in DIARY_SIGNS.items()
        if what in used
    )


def tick_label(day: int, season: Season) -> str:
    """Return a tick's two lines: the date, and the day since the leveling."""
    date = date_words(season.day_zero + dt.timedelta(days=day), season.lawn.date_form)
    return sentences.TICK.format(date=short_months(date), day=day)
