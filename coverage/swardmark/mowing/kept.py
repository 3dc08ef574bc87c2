"""The outlook of a lawn, kept in its record.

It follows from the measured series, the keeper's settings and tables, and the day.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from swardmark.forecast.past import PastSeason
from swardmark.forecast.rows import ZoneSeries
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.lawn.toml import Lawn
from swardmark.lawn.weather import Weather
from swardmark.mowing.outlook import outlook
from swardmark.mowing.rows import LawnOutlook
from swardmark.record.kept import kept_in

OF_THE_OUTLOOK = "/outlook"


def kept_outlook(
    series: Sequence[ZoneSeries],
    *,
    lawn: Lawn,
    as_of: dt.date,
    readings: Sequence[Reading],
    diary: Sequence[DiaryEntry],
    weather: Weather | None,
    past: Sequence[PastSeason],
) -> LawnOutlook:
    """Return what `outlook` gives, from the lawn's record where it stands there."""

    def made() -> LawnOutlook:
        return outlook(
            series, lawn=lawn, as_of=as_of, readings=readings, diary=diary, weather=weather, past=past
        )

    parts = (series, lawn, as_of, readings, diary, weather, past)
    return kept_in(lawn.folder, OF_THE_OUTLOOK, parts, made, kind=LawnOutlook)
