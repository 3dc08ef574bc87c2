"""A lawn's recovery as a small picture: dots with intervals, the expected course with its band, drawn as SVG paths.

All lawns share one time scale and one scale of cover, so that curves can be compared by eye. A plotting library takes
fifty times as long for two hundred of them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from swardmark.forecast.rows import ZoneOutlook

WIDTH, HEIGHT = 240.0, 90.0
MARGIN = 4.0
MOST_DAYS = 120.0


@dataclass(frozen=True)
class Course:
    """A lawn's course before it is drawn: days since the leveling, cover [%], and the expected band."""

    days: tuple[float, ...]
    cover: tuple[float, ...]
    ahead: tuple[float, ...] = ()
    median: tuple[float, ...] = ()
    low: tuple[float, ...] = ()
    high: tuple[float, ...] = ()

    @property
    def last_day(self) -> float:
        """The last day that is drawn."""
        return min(MOST_DAYS, max((*self.days, *self.ahead), default=0.0))


@dataclass(frozen=True)
class Curve:
    """Paths of an SVG picture of WIDTH x HEIGHT: the band, the expected course, and the dots as (x, y)."""

    band: str
    line: str
    dots: tuple[tuple[float, float], ...]


def course_of(whole: ZoneOutlook) -> Course:
    """Return the course of a lawn: its photos that counted, and what is expected from the last of them on."""
    seen = [
        (day, cover)
        for day, cover, held in zip(whole.day, whole.observed_pct, whole.held_out, strict=True)
        if not held and math.isfinite(cover)
    ]
    days, cover = tuple(day for day, _ in seen), tuple(value for _, value in seen)
    band = whole.band
    if band is None:
        return Course(days, cover)
    return Course(days, cover, band.day, band.median, band.low80, band.high80)


def curve_of(course: Course, *, last_day: float) -> Curve:
    """Draw a course on a time scale that ends on `last_day`."""
    span = max(last_day, 1.0)

    def place(day: float, cover: float) -> tuple[float, float]:
        x = MARGIN + (WIDTH - 2 * MARGIN) * day / span
        return round(x, 1), round(HEIGHT - MARGIN - (HEIGHT - 2 * MARGIN) * cover / 100, 1)

    kept = [n for n, day in enumerate(course.ahead) if day <= last_day]
    upper = [place(course.ahead[n], course.high[n]) for n in kept]
    lower = [place(course.ahead[n], course.low[n]) for n in reversed(kept)]
    middle = [place(course.ahead[n], course.median[n]) for n in kept]
    dots = tuple(place(d, c) for d, c in zip(course.days, course.cover, strict=True) if 0 <= d <= last_day)
    return Curve(_path([*upper, *lower], close=True), _path(middle), dots)


def _path(points: Sequence[tuple[float, float]], *, close: bool = False) -> str:
    if not points:
        return ""
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in points) + ("Z" if close else "")
