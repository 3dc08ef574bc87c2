"""The time axis of the forecast: calendar days, or days weighed by warmth.

A "27 degC day" is a day on which warm-season grass grows as it does at a mean temperature of 27 degC: as many growing
degree-days (of the daily mean, capped at 33 degC) as 27 degC has above the base of 10 degC, and never less than 0.02 or
more than 1.3 of it. Cool-season grasses: 20 degC days, capped at 24 degC, base 0 degC, and from there growth declines
to next to nothing at 32 degC (the 90 degF at which their shoots stop). The bases and the ranges of best
growth follow the soil temperatures printed by the NC State turf council (warm-season shoots best at 27-32 degC and
dormant at about 10; cool-season shoots best at 16-24); the exact form is our judgment. Base temperatures measured for
warm-season turf run from 0 to 13 degC (Unruh, Gaussoin & Wiest 1996, Crop Sci. 36(4):997-999), so the base is a
setting.

Days to come: the mean of the same calendar days in the file's other years, where there are any; else the course of a
year, a cosine of the warmest day with the amplitude of the middle latitudes, through the mean of the last thirty days,
towards which the last three days decay within a week. Never the plain mean of the days before: in autumn that warms up
while the season cools. (The mean of the last week alone forecasts worse than plain calendar days.)

Without temperatures a day is a calendar day; where the keeper gives the usual first frost, days slow down from four
weeks before it to two weeks after it (five weeks later for cool-season grass), so that growth ends about then, and
bring next to nothing until spring. How fast, and how long winter is, is our judgment.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from swardmark.forecast import sentences
from swardmark.lawn.grasses import is_southern, next_frost
from swardmark.lawn.toml import Lawn
from swardmark.lawn.weather import Weather, growing_degree_days

LONGEST_DAYS = 400
LEAST_RATE, MOST_RATE = 0.02, 1.3
WARM, COOL = (27.0, 33.0, 10.0, None), (20.0, 24.0, 0.0, 32.0)
"""Of each season's grasses: mean temperature of a full model day, of best growth at most, base, and end by heat [C]."""
DECAY_DAYS = 5.0
CLIMATE_WINDOW_DAYS = 5
LONGEST_GAP_DAYS = 7
# Growth has ended where so many days bring less than this share of their best; our judgment.
REST_DAYS, REST_RATE = 28, 0.1
# Days over which growth fades around the first frost and comes back after the rest; the last of them after that frost,
# and the days of rest; cool-season grass stops so much later, and starts so much sooner.
FADE_DAYS, FADED_DAYS, WINTER_DAYS, COOL_LATER_DAYS = 42, 14, 140, 35
# Warmest at the end of July, and half the way from January to July, as in the middle latitudes (from memory).
WARMEST_DAY, DAYS_A_YEAR, SWING_C, MOST_SWING_C = 208.0, 365.25, 10.0, 18.0


@dataclass(frozen=True, eq=False)
class TimeAxis:
    """Calendar dates to model days since leveling, and back.

    Attributes
    ----------
    zero : date
        The leveling day; model day 0.
    method : str
        What a model day is, in words.
    reached : ndarray, shape (days,), or None
        Model day at each calendar day after `zero`; None where the two are the same.
    """

    zero: dt.date
    method: str = sentences.CALENDAR_DAYS
    reached: np.ndarray | None = None

    def model_day(self, day: dt.date) -> float:
        """Return the model day of a date; dates before `zero` are negative."""
        return float(self.model_days(np.array([(day - self.zero).days]))[0])

    def model_days(self, days: np.ndarray) -> np.ndarray:
        """Return the model days of calendar days since leveling."""
        days = np.asarray(days, dtype=float)
        if self.reached is None:
            return days
        inside = np.interp(days, np.arange(len(self.reached)), self.reached)
        return np.where(days < 0, days, inside)

    def calendar_day(self, model_day: float) -> float:
        """Return the calendar day since leveling on which a model day is reached; inf beyond the axis."""
        if self.reached is None:
            return float(model_day)
        if not model_day <= self.reached[-1]:
            return float("inf")
        return float(np.interp(model_day, self.reached, np.arange(len(self.reached))))

    def growth_ends(self, as_of: dt.date) -> dt.date | None:
        """Return the day on which growth has all but ended, from `as_of` on; None without weather or out of sight.

        From that day on four weeks together bring less than a tenth of the growth of as many good days.
        """
        if self.reached is None:
            return None
        first = max((as_of - self.zero).days, 0)
        ahead = self.reached[first:]
        grown = ahead[REST_DAYS:] - ahead[:-REST_DAYS]
        at_rest = np.flatnonzero(grown < REST_RATE * REST_DAYS)
        return as_of + dt.timedelta(days=int(at_rest[0])) if len(at_rest) else None

    def date_of(self, model_day: float) -> dt.date | None:
        """Return the date by which a model day is reached, or None if that is not in sight."""
        day = self.calendar_day(model_day)
        return self.zero + dt.timedelta(days=int(np.ceil(day - 1e-6))) if np.isfinite(day) else None


def lawn_axis(lawn: Lawn, zero: dt.date, weather: Weather | None, *, as_of: dt.date) -> TimeAxis:
    """Return the time axis of a lawn's season, by its grass, base temperature and usual first frost."""
    return time_axis(
        zero,
        weather,
        as_of=as_of,
        warm_season=lawn.is_warm_season,
        base_c=lawn.outlook.base_temperature_c,
        first_frost=lawn.first_frost,
    )


def time_axis(
    zero: dt.date,
    weather: Weather | None = None,
    *,
    as_of: dt.date,
    warm_season: bool = True,
    base_c: float | None = None,
    first_frost: str | None = None,
) -> TimeAxis:
    """Return the axis of a lawn: by warmth where temperatures reach from `zero` to near `as_of`, else calendar.

    Only what was known on `as_of` is used. `first_frost` is its usual day, as `10-25`.
    """
    known = weather.until(as_of) if weather is not None else None
    if known is None or not _covers(known, zero, as_of):
        method = sentences.CALENDAR_DAYS if weather is None else sentences.CALENDAR_DAYS_WEATHER_SHORT
        if first_frost is None:
            return TimeAxis(zero, method)
        daily = _slowed_to_frost(zero, first_frost, warm_season=warm_season)
        method = sentences.SLOWED_TO_FROST.format(method=method, frost=first_frost)
        return TimeAxis(zero, method, np.concatenate([[0.0], np.cumsum(daily)]))
    best, cap, base, stop = WARM if warm_season else COOL
    base = base if base_c is None else base_c
    means = {day.date: (day.tmin_c + day.tmax_c) / 2.0 for day in known.days}
    rates = {
        day: float(growth_rate(mean, best=best, cap=cap, base=base, stop=stop)) for day, mean in means.items()
    }
    season = growth_rate(_season_ahead(means, zero, first_frost), best=best, cap=cap, base=base, stop=stop)
    daily, future = _filled(rates, zero, season)
    method = sentences.WARM_DAYS.format(
        best=best, base=base, cap=cap, span=best - base, future=future, source=known.source,
        heat="" if stop is None else sentences.HEAT_STOPS.format(cap=cap, stop=stop),
    )  # fmt: skip
    return TimeAxis(zero, method, np.concatenate([[0.0], np.cumsum(daily)]))


def growth_rate(
    mean_c: np.ndarray | float,
    *,
    best: float = 27.0,
    cap: float = 33.0,
    base: float = 10.0,
    stop: float | None = None,
) -> np.ndarray:
    """Return how much of a model day a day of this mean temperature is [-], between 0.02 and 1.3.

    Above `cap` growth stays as it is at `cap`, or declines in a straight line to nothing at `stop`.
    """
    rate = growing_degree_days(mean_c, mean_c, base=base, cap=cap) / (best - base)
    if stop is not None:
        rate = rate * np.clip((stop - np.asarray(mean_c, float)) / (stop - cap), 0.0, 1.0)
    return np.clip(rate, LEAST_RATE, MOST_RATE)


def _slowed_to_frost(zero: dt.date, first_frost: str, *, warm_season: bool) -> np.ndarray:
    """Return the rate of each day from `zero` on where only the usual day of the first frost is known."""
    later = FADED_DAYS + (0 if warm_season else COOL_LATER_DAYS)
    rest = WINTER_DAYS - 2 * (later - FADED_DAYS)
    last = next_frost(zero - dt.timedelta(days=later + rest + FADE_DAYS), first_frost)
    begins = (last - zero).days + later
    day = np.arange(LONGEST_DAYS)
    rates = np.ones(LONGEST_DAYS)
    for begin in (begins, begins + 365):
        fading, returning = (begin - day) / FADE_DAYS, (day - begin - rest) / FADE_DAYS
        rates = np.minimum(rates, np.maximum(fading, returning))
    return np.clip(rates, LEAST_RATE, 1.0)


def _covers(weather: Weather, zero: dt.date, as_of: dt.date) -> bool:
    dates = [day.date for day in weather.days if zero <= day.date]
    wanted = max((min(as_of, zero + dt.timedelta(days=LONGEST_DAYS)) - zero).days, 1)
    if len(dates) < 0.7 * wanted:
        return False
    ends = [zero - dt.timedelta(days=1), *dates, as_of]
    return max((b - a).days for a, b in pairwise(ends)) <= LONGEST_GAP_DAYS


def _filled(rates: dict[dt.date, float], zero: dt.date, season: np.ndarray) -> tuple[np.ndarray, str]:
    """Return the daily rates from `zero` on, gaps interpolated and the days to come filled, and how."""
    last = max(rates)
    order = sorted(rates)
    place = np.array([(day - zero).days for day in order], dtype=float)
    values = np.array([rates[day] for day in order])
    ahead = np.arange(LONGEST_DAYS)
    daily = np.interp(ahead, place, values)
    climate = _climate(rates, zero)
    to_come = ahead > (last - zero).days
    if to_come.any() and np.isfinite(climate[to_come]).mean() > 0.9:
        mean = np.where(np.isfinite(climate), climate, values[-30:].mean())
        return np.where(to_come, mean, daily), sentences.FUTURE_OTHER_YEARS
    return np.where(to_come, season, daily), sentences.FUTURE_LAST_DAYS


def _season_ahead(means: dict[dt.date, float], zero: dt.date, first_frost: str | None) -> np.ndarray:
    """Return the mean temperature to expect on each day from `zero` on, by the course of a year [degC].

    Until the temperatures tell the hemisphere, the first frost does; without one it is the northern.
    """
    order = sorted(means)
    values = np.array([means[day] for day in order])
    of_year = np.array([day.timetuple().tm_yday for day in order], dtype=float)
    course = np.cos(2 * np.pi * (of_year - WARMEST_DAY) / DAYS_A_YEAR)
    swing = -SWING_C if is_southern(first_frost) else SWING_C
    if np.ptp(course) > 1.0:  # half of the way from winter to summer tells the swing, and the hemisphere
        swing = float(np.clip(np.polyfit(course, values, 1)[0], -MOST_SWING_C, MOST_SWING_C))
    ahead = np.arange(LONGEST_DAYS)
    coming = np.cos(2 * np.pi * (zero.timetuple().tm_yday + ahead - WARMEST_DAY) / DAYS_A_YEAR)
    level = values[-30:].mean() - swing * course[-30:].mean()
    since = np.maximum(ahead - (order[-1] - zero).days, 0)
    recent = values[-3:].mean() - level - swing * course[-3:].mean()
    return np.asarray(level + swing * coming + recent * np.exp(-since / DECAY_DAYS))


def _climate(rates: dict[dt.date, float], zero: dt.date) -> np.ndarray:
    """Return the mean rate of the same calendar days (within five) in other years; NaN where there are none."""
    total, count = np.zeros(366), np.zeros(366)
    for day, rate in rates.items():
        if day < zero - dt.timedelta(days=30):
            total[day.timetuple().tm_yday - 1] += rate
            count[day.timetuple().tm_yday - 1] += 1
    near = range(-CLIMATE_WINDOW_DAYS, CLIMATE_WINDOW_DAYS + 1)
    total = sum((np.roll(total, shift) for shift in near), np.zeros(366))
    count = sum((np.roll(count, shift) for shift in near), np.zeros(366))
    start = zero.timetuple().tm_yday - 1
    at = (start + np.arange(LONGEST_DAYS)) % 366
    return np.where(count[at] > 0, total[at] / np.maximum(count[at], 1), np.nan)
