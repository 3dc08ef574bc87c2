"""When the next photos are due.

Every 3 days in the first two weeks, when cover changes fastest and three photos over five days begin the forecast;
every 4 days to day 28, when zones that stall show themselves; then, or once the lawn is full, every 7 days. Published
recovery trials photograph at such steps (twice a week to full cover: Gopinath et al. 2015, ASA-CSSA-SSSA meeting,
bermudagrass divots).
"""

from __future__ import annotations

import datetime as dt

EARLY_DAYS, EARLY_STEP, STEP, LATE_DAYS, LATE_STEP = 14, 3, 4, 28, 7


def next_photo_days(
    last: dt.date | None, *, zero: dt.date, as_of: dt.date, is_full: bool = False, count: int = 4
) -> tuple[dt.date, ...]:
    """Return the next days to take a photo on, none before `as_of`; the leveling day is the first of a season."""
    days: list[dt.date] = []
    if last is None or last < zero:
        last = zero
        if zero >= as_of:
            days.append(zero)
    while len(days) < count:
        last += dt.timedelta(days=_step((last - zero).days, is_full))
        if last >= as_of or not days:
            days.append(max(last, as_of))
            last = days[-1]
    return tuple(days)


def _step(day: int, is_full: bool) -> int:
    if is_full or day >= LATE_DAYS:
        return LATE_STEP
    return EARLY_STEP if day < EARLY_DAYS else STEP
