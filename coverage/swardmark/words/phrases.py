"""Phrases that report, terminal and calendar share: dates, percents, windows, and when the next photo is due."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING

from swardmark.common.phrases import MONTHS, DateForm, date_words, percent
from swardmark.forecast.rows import BY_LATEST
from swardmark.mowing.photo_days import next_photo_days
from swardmark.words import sentences

if TYPE_CHECKING:
    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.season import Season

SURE_ENOUGH = 0.75
"""Where the chance by the end of a window is less than this, it is given with the window (our judgment)."""


def next_photo_dates(season: Season, *, count: int = 4) -> tuple[dt.date, ...]:
    """Return the next days to take a photo on, none before the day of the season."""
    last = max(cover.taken_at.date() for cover in season.covers)
    full = season.outlook.whole.status == "full"
    return next_photo_days(last, zero=season.day_zero, as_of=season.as_of, is_full=full, count=count)


def day_text(day: dt.date | None, form: DateForm, *, year: bool = False) -> str:
    """Return a day in words, `14 June`, `June 14` or `2026-06-14`, or that it is not known yet."""
    return sentences.UNKNOWN if day is None else date_words(day, form, year=year)


def window_text(
    earliest: dt.date | None, latest: dt.date | None, form: DateForm, *, as_of: dt.date | None = None
) -> str:
    """Return a window of days, such as `9 to 14 June` or `28 June to 3 July`; one day alone; or "" if unknown.

    One that has begun by `as_of`, of a day that is still to come, is `now to 14 June`.
    """
    if earliest is None or latest is None:
        return ""
    if as_of is not None and earliest <= as_of < latest:
        return sentences.DAYS_FROM_TO.format(first=sentences.NOW, last=date_words(latest, form))
    first, last = date_words(earliest, form), date_words(latest, form)
    if earliest == latest:
        return first
    if form != "iso" and (earliest.year, earliest.month) == (latest.year, latest.month):
        first, last = (first, str(latest.day)) if form == "month day" else (str(earliest.day), last)
    return sentences.DAYS_FROM_TO.format(first=first, last=last)


def percent_text(value: float) -> str:
    """Return a percentage such as `62 %`, or that it is not known yet."""
    return sentences.PERCENT.format(value=value) if math.isfinite(value) else sentences.UNKNOWN


def gain_text(gain: float) -> str:
    """Return points of cover gained a day, with their sign."""
    return sentences.GAIN.format(gain=gain) if math.isfinite(gain) else sentences.UNKNOWN


def full_text(zone: ZoneOutlook, form: DateForm, *, as_of: dt.date | None = None) -> str:
    """Return the day and window on which a zone is full, or why there is none."""
    if zone.status == "full":
        return sentences.NOW
    return _dated(zone, zone.full_on, zone.full_earliest, zone.full_latest, zone.chance_full, form, as_of)


def mow_text(zone: ZoneOutlook, form: DateForm, *, as_of: dt.date | None = None) -> str:
    """Return the day and window on which a zone has the cover for the first mow, or why there is none."""
    return _dated(zone, zone.mow_on, zone.mow_earliest, zone.mow_latest, zone.chance_mow, form, as_of)


def _dated(
    zone: ZoneOutlook,
    on: dt.date | None,
    earliest: dt.date | None,
    latest: dt.date | None,
    chance: float,
    form: DateForm,
    as_of: dt.date | None,
) -> str:
    if on is None:
        return sentences.UNKNOWN if zone.status == "too early to say" else sentences.NOT_IN_SIGHT
    to_come = as_of if as_of is not None and on > as_of else None
    day, window = date_words(on, form), window_text(earliest, latest, form, as_of=to_come)
    by_latest = BY_LATEST * chance
    if by_latest < SURE_ENOUGH:
        return sentences.DAY_WITH_CHANCE.format(day=day, window=window, chance=percent(by_latest))
    return day if day == window else sentences.DAY_WITH_WINDOW.format(day=day, window=window)


def short_months(text: str) -> str:
    """Return text with the names of months cut to three letters, for narrow tables."""
    for month in MONTHS:
        text = text.replace(month, month[:3])
    return text
