"""Words that report, terminal and calendar share: dates, percents, windows, and when the next photo is due."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING

from swardmark.forecast.status import MONTHS, date_words

if TYPE_CHECKING:
    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.season import Season

UNKNOWN = "not known yet"
SURE_ENOUGH = 0.75
"""A day that comes at all with a lesser chance is said with it (our judgment)."""
EARLY_DAYS, EARLY_STEP, STEP, LATE_DAYS, LATE_STEP = 14, 3, 4, 28, 7


def next_photo_dates(season: Season, *, count: int = 4) -> tuple[dt.date, ...]:
    """Return the next days to take a photo on, none before the day of the season.

    Every 3 days in the first two weeks, when cover changes fastest and three photos over five days begin the
    forecast; every 4 days to day 28, when zones that stall show themselves; then, or once the lawn is full, every
    7 days. Published recovery trials photograph at such steps (twice a week to full cover: Gopinath et al. 2015,
    ASA-CSSA-SSSA meeting, bermudagrass divots).
    """
    days: list[dt.date] = []
    last = max(cover.taken_at.date() for cover in season.covers)
    full = season.outlook.whole.status == "full"
    while len(days) < count:
        last += dt.timedelta(days=_step((last - season.day_zero).days, full))
        if last >= season.as_of or not days:
            days.append(max(last, season.as_of))
            last = days[-1]
    return tuple(days)


def day_text(day: dt.date | None, units: str) -> str:
    """Say a day: `14 June`, `June 14`, or that it is not known yet."""
    return UNKNOWN if day is None else date_words(day, units)


def window_text(earliest: dt.date | None, latest: dt.date | None, units: str) -> str:
    """Say a window of days: `9 to 14 June`, `28 June to 3 July`, one day, or nothing where it is not known."""
    if earliest is None or latest is None:
        return ""
    first, last = date_words(earliest, units), date_words(latest, units)
    if earliest == latest:
        return first
    if (earliest.year, earliest.month) == (latest.year, latest.month):
        return f"{first} to {latest.day}" if units == "us" else f"{earliest.day} to {last}"
    return f"{first} to {last}"


def percent_text(value: float, *, digits: int = 0) -> str:
    """Say a percentage: `62 %`; `not known yet` for NaN."""
    return f"{value:.{digits}f} %" if math.isfinite(value) else UNKNOWN


def chance_text(chance: float) -> str:
    """Say a chance 0..1 in percent; never 0 or 100, which no forecast can promise."""
    if not math.isfinite(chance):
        return UNKNOWN
    if chance < 0.01:
        return "under 1 %"
    return "over 99 %" if chance > 0.99 else f"{100 * chance:.0f} %"


def gain_text(gain: float) -> str:
    """Say points of cover gained a day, with its sign."""
    return f"{gain:+.1f} points a day" if math.isfinite(gain) else UNKNOWN


def full_text(zone: ZoneOutlook, units: str) -> str:
    """Say when a zone is full: its day and window, or why there is none."""
    if zone.status == "full":
        return "full now"
    if zone.full_on is None:
        return UNKNOWN if zone.status == "too early to say" else "not in sight"
    day, window = date_words(zone.full_on, units), window_text(zone.full_earliest, zone.full_latest, units)
    return f"{day} ({window}{_doubt(zone.chance_full)})"


def mow_text(zone: ZoneOutlook, units: str) -> str:
    """Say when a zone has the cover for the first mow: its day and window, or why there is none."""
    if zone.mow_on is None:
        return UNKNOWN if zone.status == "too early to say" else "not in sight"
    day, window = date_words(zone.mow_on, units), window_text(zone.mow_earliest, zone.mow_latest, units)
    doubt = _doubt(zone.chance_mow)
    return day if day == window and not doubt else f"{day} ({window}{doubt})"


def _doubt(chance: float) -> str:
    """Say the chance that a day comes at all this season, where it is no matter of course."""
    return f", chance {chance_text(chance)}" if chance < SURE_ENOUGH else ""


def short_months(text: str) -> str:
    """Return text with the names of months cut to three letters, for narrow tables."""
    for month in MONTHS:
        text = text.replace(month, month[:3])
    return text


def _step(day: int, full: bool) -> int:
    if full or day >= LATE_DAYS:
        return LATE_STEP
    return EARLY_STEP if day < EARLY_DAYS else STEP
