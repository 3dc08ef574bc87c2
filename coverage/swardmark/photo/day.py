"""The day of a photo: which day a file name spells, and which days can be.

A camera's day belongs to the photo; a day that only the name says is that of the name that the file has now.
"""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

FIRST_YEAR = 1990
"""No phone and no consumer digital camera wrote EXIF dates before; earlier ones are a clock that was never set."""


def date_in_name(name: str) -> dt.datetime | None:
    """Return the day (and time, where it follows) that a file name such as 2026-06-03.jpg spells, or None."""
    date = r"(?<!\d)((?:19|20)\d\d)[-_.]?([01]\d)[-_.]?([0-3]\d)"
    clock = r"(?:[-_ T.]*([0-2]\d)[-_.:h]?([0-5]\d)[-_.:]?([0-5]\d)?)?"
    found = re.search(date + clock, Path(name).stem)
    if not found:
        return None
    year, month, day, hour, minute, second = (int(part) if part else 0 for part in found.groups())
    if year < FIRST_YEAR:
        return None
    try:
        return dt.datetime(year, month, day, hour, minute, second)
    except ValueError:
        try:
            return dt.datetime(year, month, day)
        except ValueError:
            return None


def named_day(name: str) -> tuple[dt.datetime | None, str]:
    """Return the day that a file name spells and "file name", or None and "unknown"."""
    when = date_in_name(name)
    return when, "unknown" if when is None else "file name"


def day_here(when: dt.datetime | None, source: str, name: str) -> tuple[dt.datetime | None, str]:
    """Return a photo's day and where it is from as they are under its present name: only the camera's day stays."""
    return (when, source) if when is not None and source == "camera" else named_day(name)


def is_to_come(when: dt.datetime) -> bool:
    """Tell whether a moment lies in the future, with two days' grace for time zones and clocks set by hand.

    Asked whenever a photo's day is used, and never recorded: the clock that is wrong may be this machine's.
    """
    return when > dt.datetime.now() + dt.timedelta(days=2)


def usable_moment(when: dt.datetime, source: str, name: str) -> tuple[dt.datetime, str] | None:
    """Return when a photo was taken and where that is from: as its file says, or its name where that says a future day.

    None where both are in the future, or the name spells no day.
    """
    if not is_to_come(when):
        return when, source
    spelled = date_in_name(name)
    if spelled is None or is_to_come(spelled):
        return None
    return spelled, "file name"
