"""The values that go into a forecast and come out of it; no computing here.

Days count from the leveling; dates are the keeper's calendar days. Whatever is unknown is NaN or None, never 0.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

Status = Literal["filling in", "slow", "stalled", "losing ground", "full", "too early to say"]
FLAGGED: tuple[Status, ...] = ("slow", "stalled", "losing ground")
BY_LATEST, BY_MEDIAN = 0.9, 0.5
"""Of the recoveries that reach a cover, the share that does so by the end of the 80 % window, and by its median."""


@dataclass(frozen=True)
class ZoneSeries:
    """A zone's measured history, one entry per photo; NaN where the zone was not seen.

    `low_pct` and `high_pct` are the 95 % interval of `cover_pct`; `area_m2` is the zone's ground in view that no other
    zone has.
    """

    point: str
    zone: str
    area_m2: float
    taken_on: tuple[dt.date, ...]
    cover_pct: tuple[float, ...]
    low_pct: tuple[float, ...]
    high_pct: tuple[float, ...]


@dataclass(frozen=True)
class Period:
    """A day with its 80 % window; None where it is not in sight."""

    on: dt.date | None = None
    earliest: dt.date | None = None
    latest: dt.date | None = None


@dataclass(frozen=True)
class Ready:
    """When enough of the ground has the cover for the first mow: all zones together, as they share weather and care.

    Attributes
    ----------
    period : Period
        The day with its 80 % window, also where it has passed since the newest photo; empty where it is less likely
        than not, or too early to say.
    chance : float
        The chance that it comes this season.
    by_latest : float
        The chance that it has come by the end of the window, or by the next day where that has passed.
    """

    period: Period = Period()
    chance: float = float("nan")
    by_latest: float = float("nan")


@dataclass(frozen=True)
class ForecastBand:
    """The forecast cover on a grid of calendar days: median and the 80 % and 95 % bands [%]."""

    dates: tuple[dt.date, ...]
    day: tuple[float, ...]
    median: tuple[float, ...]
    low80: tuple[float, ...]
    high80: tuple[float, ...]
    low95: tuple[float, ...]
    high95: tuple[float, ...]


@dataclass(frozen=True)
class Course:
    """One of the two courses that a stalled zone may take, and how likely it is.

    Attributes
    ----------
    name : str
        "stays" where cover four weeks ahead is less than ten points above that of today, else "resumes".
    share : float
        The chance of this course, 0 to 1; the shares of a zone's courses sum to 1.
    band : ForecastBand
        The forecast given this course, from the day of the newest photo on.
    """

    name: Literal["stays", "resumes"]
    share: float
    band: ForecastBand


@dataclass(frozen=True)
class ZoneOutlook:
    """One row of outlook.csv, and what the figures need besides.

    `mow_*` is the first day of the cover for the first mow, `full_*` that of full cover: the median and the 80 % window
    of the recoveries that get there. `chance_mow` and `chance_full` say how likely it is that they do.

    Attributes
    ----------
    point, zone : str
        Photo point and zone.
    status : str
        How the zone does, as in outlook.csv.
    cover_pct, gain_pct_per_day : float
        Cover on the day of the forecast, and its gain in points of cover a day.
    mow_on, mow_earliest, mow_latest, full_on, full_earliest, full_latest : date or None
        None where no recovery gets there, or where it is too early to say.
    chance_full_by_day28, chance_mow, chance_full : float
        Chances, 0 to 1.
    why, look_for : str
        What speaks for the status, and what to look for on the ground.
    area_m2 : float
        Ground area, square meters.
    day, observed_pct, held_out : tuple
        Day of each photo since the leveling, the cover it showed, and whether the fit left it out.
    band : ForecastBand or None
        The forecast day by day.
    courses : tuple of Course
        Of a zone that is stalled or losing ground, where both courses are likely enough to show: "stays", then
        "resumes". `band` holds the two together, and its median lies between them, where the zone will hardly be.
        Empty for all other zones.
    ahead : str
        The two courses in a sentence, for beside `why`; empty where there are none.
    """

    point: str
    zone: str
    status: Status
    cover_pct: float
    gain_pct_per_day: float
    mow_on: dt.date | None
    mow_earliest: dt.date | None
    mow_latest: dt.date | None
    full_on: dt.date | None
    full_earliest: dt.date | None
    full_latest: dt.date | None
    chance_full_by_day28: float
    why: str
    look_for: str
    area_m2: float
    day: tuple[float, ...]
    observed_pct: tuple[float, ...]
    held_out: tuple[bool, ...]
    band: ForecastBand | None
    chance_mow: float = float("nan")
    chance_full: float = float("nan")
    courses: tuple[Course, ...] = ()
    ahead: str = ""

    @property
    def flagged(self) -> bool:
        """Whether the keeper should look at this zone: slow, stalled or losing ground."""
        return self.status in FLAGGED


@dataclass(frozen=True, kw_only=True)
class LawnForecast:
    """The forecast of a lawn: its zones, and the total with and without the flagged zones.

    `ready` says when enough of the ground has the cover for the first mow.
    """

    zones: tuple[ZoneOutlook, ...]
    whole: ZoneOutlook
    whole_without_flagged: ZoneOutlook | None
    notes: tuple[str, ...]
    axis_method: str
    day_zero: dt.date
    as_of: dt.date
    ready: Ready = Ready()
