"""The outlook of a lawn: its forecast, the verdict on the first mow, and the way back to the usual height.

It replays any day: nothing dated later is read.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from swardmark.forecast.outlook import forecast
from swardmark.forecast.past import PastSeason
from swardmark.forecast.rows import ZoneSeries
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.lawn.toml import Lawn
from swardmark.lawn.weather import Weather
from swardmark.mowing.firstmow import first_mow
from swardmark.mowing.rows import LawnOutlook
from swardmark.mowing.wayup import lawn_way_up


def outlook(
    series: Sequence[ZoneSeries],
    *,
    lawn: Lawn,
    as_of: dt.date,
    readings: Sequence[Reading] = (),
    diary: Sequence[DiaryEntry] = (),
    weather: Weather | None = None,
    past: Sequence[PastSeason] = (),
) -> LawnOutlook:
    """Forecast every zone and the lawn and judge the first mow, as it would have been said on a day.

    Parameters
    ----------
    series : sequence of ZoneSeries
        The measured cover of each zone.
    lawn : Lawn
        Grass, leveling dates and settings.
    as_of : date
        The day of the outlook; later photos, readings, diary lines and temperatures are not read.
    readings, diary, weather : optional
        From readings.csv, diary.csv and weather.csv.
    past : sequence of PastSeason, optional
        Past seasons from past.csv.
    """
    diary = tuple(entry for entry in diary if entry.date <= as_of)
    ahead = forecast(series, lawn=lawn, as_of=as_of, diary=diary, weather=weather, past=past)
    zero = ahead.day_zero
    mow = first_mow(
        ahead.whole,
        lawn=lawn,
        zero=zero,
        as_of=as_of,
        readings=readings,
        diary=diary,
        ahead=ahead.ready,
        zones=ahead.zones,
        series=series,
    )
    back = lawn_way_up(mow, lawn=lawn, zero=zero, as_of=as_of, readings=readings, diary=diary)
    return LawnOutlook(**vars(ahead), first_mow=mow, way_back=back)
