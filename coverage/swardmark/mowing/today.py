"""What to do on a day: the phase of the season, and at most five lines, each what to do, why, and what to take care of.

It works without any photo: then the calendar, the readings and the diary decide. Nothing dated later than the day of
knowledge is used, so every day can be replayed. The order of the work and its days are common practice, no source; no
amount of water or feed is ever given (no authority's figure for sand over turf was found).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from swardmark.forecast.outlook import STALE_DAYS
from swardmark.lawn.grasses import grass_row
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.lawn.toml import Lawn
from swardmark.lawn.weather import Weather
from swardmark.mowing.rows import LawnOutlook
from swardmark.mowing.wayup import CLOSE_MM, last_cut, mower_of

Phase = Literal[
    "prepare", "sand day", "keep it moist", "grow in", "first mow", "raise the cut", "next leveling"
]
MOST_LINES = 5
MOIST_DAYS = 7
"""Days in which sand is kept moist on top (common practice, no source)."""
PREPARE_DAYS = 21
"""A leveling that is nearer than this ends the season before it."""
SEASON_DAYS = 60
"""After so many days without a noted mowing the list turns to the next leveling."""
UNSEEN_FACTOR = 1.1
"""Without photos the first mow is looked for from 1.1 times the grass's half-way day on: day 10 for bermudagrass."""
HOT_C = 32.0


@dataclass(frozen=True)
class Line:
    """One line of the list: its day, what to do, why, and what to take care of."""

    date: dt.date
    do: str
    why: str
    careful: str
    key: str = ""
    is_routine: bool = False


@dataclass(frozen=True)
class Today:
    """The phase of the season on a day, and the lines of that day."""

    phase: Phase
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Known:
    """What is known on a day, and all that the list is made from.

    Attributes
    ----------
    lawn : Lawn
        What the keeper says.
    as_of : date
        The day of knowledge; nothing later is used.
    readings, diary : tuple
        What was read and done up to then.
    outlook : LawnOutlook or None
        The forecast; None without a photo.
    last_photo : date or None
        The day of the newest photo.
    spots : str
        The spots whose depth is not measured yet, in words.
    weather : Weather or None
        Temperatures up to then.
    """

    lawn: Lawn
    as_of: dt.date
    readings: tuple[Reading, ...] = ()
    diary: tuple[DiaryEntry, ...] = ()
    outlook: LawnOutlook | None = None
    last_photo: dt.date | None = None
    spots: str = ""
    weather: Weather | None = None

    def zero(self, day: dt.date) -> dt.date | None:
        """Return the leveling that a day counts from; the first photo's day where no date is given."""
        leveled = self.lawn.leveled_before(day)
        return leveled or (self.outlook.day_zero if self.outlook is not None else None)

    def forecast_on(self, day: dt.date) -> LawnOutlook | None:
        """Return the forecast where a day lies in its season; None from a later leveling on."""
        return self.outlook if self.zero(day) == self.zero(self.as_of) else None

    def coming(self, day: dt.date) -> dt.date | None:
        """Return the next leveling after a day."""
        return min((date for date in self.lawn.leveling_dates if date > day), default=None)

    def mowed(self, zero: dt.date) -> tuple[dt.date, ...]:
        """Return the mowings noted since a leveling."""
        return tuple(
            sorted({e.date for e in self.diary if e.what == "mowed" and zero < e.date <= self.as_of})
        )

    def noted(self, day: dt.date, *whats: str) -> bool:
        """Whether the diary notes one of these on a day."""
        return any(entry.date == day and entry.what in whats for entry in self.diary)

    @property
    def is_stale(self) -> bool:
        """Whether the newest photo is too old to say how the lawn stands today."""
        return self.last_photo is not None and (self.as_of - self.last_photo).days > STALE_DAYS

    @property
    def is_hot(self) -> bool:
        """Whether the newest day of the weather file, no older than two days, was hot."""
        days = [day for day in (self.weather.days if self.weather else ()) if day.date <= self.as_of]
        return bool(days) and (self.as_of - days[-1].date).days <= 2 and days[-1].tmax_c >= HOT_C


def known_on(
    lawn: Lawn,
    day: dt.date,
    *,
    readings: Sequence[Reading] = (),
    diary: Sequence[DiaryEntry] = (),
    outlook: LawnOutlook | None = None,
    last_photo: dt.date | None = None,
    spots: str = "",
    weather: Weather | None = None,
) -> Known:
    """Gather what is known on a day: readings, diary and temperatures that are dated later are left out."""
    return Known(
        lawn,
        day,
        tuple(line for line in readings if line.date <= day),
        tuple(line for line in diary if line.date <= day),
        outlook,
        last_photo,
        spots,
        weather.until(day) if weather is not None else None,
    )


def urgency(known: Known, now: Today) -> int:
    """Return how much a lawn needs its keeper today: 0 is most."""
    if known.outlook is not None and known.outlook.first_mow.overdue and now.phase == "first mow":
        return 0
    dated = any(not line.is_routine for line in now.lines)
    order: tuple[Phase, ...] = ("sand day", "first mow", "keep it moist")
    if now.phase in order:
        return 1 + order.index(now.phase)
    return 4 if dated else 5


def phase_on(known: Known, day: dt.date) -> Phase:
    """Return the phase of the season on a day, as far as it can be told on the day of knowledge."""
    zero, coming = known.zero(day), known.coming(day)
    number = 0 if zero is None else (day - zero).days
    is_leveled = known.lawn.leveled_before(day) is not None
    if is_leveled and number == 0:
        return "sand day"
    is_fresh = is_leveled and number <= MOIST_DAYS
    if coming is not None and not is_fresh and (zero is None or (coming - day).days <= PREPARE_DAYS):
        return "prepare"
    if zero is None:
        return "next leveling"
    mowed, ahead = known.mowed(zero), known.forecast_on(day)
    back = ahead.way_back if ahead is not None else ()
    if not mowed and day > known.as_of and back and day > back[0].on:
        return "raise the cut" if day <= back[-1].on else "next leveling"
    if mowed:
        comes = any(step.on >= day for step in back)
        return (
            "raise the cut"
            if comes or (number < SEASON_DAYS and _on_the_way(known, zero, mowed))
            else "next leveling"
        )
    if number > SEASON_DAYS and not _must_mow(ahead):
        return "next leveling"
    if _may_mow_on(known, day, number):
        return "first mow"
    return "keep it moist" if number <= MOIST_DAYS else "grow in"


def _on_the_way(known: Known, zero: dt.date, mowed: tuple[dt.date, ...]) -> bool:
    """Whether the usual height is not reached yet, as far as the diary shows."""
    usual, target = known.lawn.mowing.usual_height_mm, known.lawn.mowing.target_height_mm
    if usual is None or target is None:
        return True
    cut = last_cut(mowed, known.diary, target_mm=target, usual_mm=usual, mower=mower_of(known.lawn))
    return abs(cut - usual) > CLOSE_MM


def _must_mow(ahead: LawnOutlook | None) -> bool:
    return ahead is not None and (ahead.first_mow.overdue or ahead.first_mow.checks[0].state == "met")


def _may_mow_on(known: Known, day: dt.date, number: int) -> bool:
    """Whether the first mow is the thing to think of: the cover is there, the leaf is overdue, or its day has come."""
    ahead = known.forecast_on(day)
    if ahead is not None and ahead.whole.day:
        come = ahead.first_mow.mow_on is not None and day >= ahead.first_mow.mow_on
        return come or _must_mow(ahead)
    return number >= round(UNSEEN_FACTOR * grass_row(known.lawn.grass).half_way_days.value)
