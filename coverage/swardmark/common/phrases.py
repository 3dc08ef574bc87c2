"""Dates and chances in words, the same in every room."""

from __future__ import annotations

import datetime as dt
import math
from typing import Literal

from swardmark.common import sentences

MONTHS = sentences.MONTHS


DateForm = Literal["day month", "month day", "iso"]
"""How dates are written: 14 June, June 14, or 2026-06-14."""


def date_words(day: dt.date, form: DateForm, *, year: bool = False) -> str:
    """Return a date as the keeper would say it: 14 June, June 14 or 2026-06-14; with its year where wanted."""
    if form == "iso":
        return day.isoformat()
    short, long = sentences.DATES[form]
    return (long if year else short).format(day=day.day, month=MONTHS[day.month - 1], year=day.year)


def percent(chance: float) -> str:
    """Return a chance 0..1 in percent, never 0 or 100, which no forecast can promise."""
    if not math.isfinite(chance):
        return sentences.CHANCE_UNKNOWN
    if chance < 0.01:
        return sentences.CHANCE_NEXT_TO_NONE
    return sentences.CHANCE_NEAR_CERTAIN if chance > 0.99 else sentences.CHANCE.format(chance=100 * chance)


def plural(count: int, one: str, many: str) -> str:
    """Return the template for one or for several, still with its fields."""
    return one if count == 1 else many
