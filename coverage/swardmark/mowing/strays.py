"""What the keeper wrote that counts for nothing: readings of no zone, days to come, zones out of view."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Sequence

from swardmark.common.text import nearest
from swardmark.lawn.readings import DIARY_FILE, READINGS_FILE, DiaryEntry, Reading
from swardmark.lawn.toml import OWN_NAMES, Lawn
from swardmark.mowing import sentences as say

GRACE = dt.timedelta(days=2)
"""A day ahead may be another time zone."""
MOST_NOTES = 5


def placed_readings(
    readings: Iterable[Reading], zones: Collection[tuple[str, str]]
) -> tuple[tuple[Reading, ...], tuple[Reading, ...]]:
    """Part readings into those of a zone that exists, or of the whole lawn, and those that are of none.

    Parameters
    ----------
    readings : iterable of Reading
        Lines of readings.csv.
    zones : collection of (str, str)
        Photo point and name of every zone; with none, no reading can be judged.
    """
    placed: list[Reading] = []
    strays: list[Reading] = []
    for line in readings:
        (placed if not zones or _is_placed(line, zones) else strays).append(line)
    return tuple(placed), tuple(strays)


def stray_notes(strays: Sequence[Reading], zones: Collection[tuple[str, str]]) -> tuple[str, ...]:
    """Say of each zone that readings name and that does not exist that they do not count."""
    names = dict.fromkeys((line.point, line.zone) for line in strays)
    notes = []
    for point, zone in list(names)[:MOST_NOTES]:
        meant = nearest(zone, sorted({name for _, name in zones}))
        where = say.STRAY_AT.format(zone=zone, point=point) if point else say.STRAY.format(zone=zone)
        notes.append(f"{where} {say.STRAY_MEANT.format(meant=meant)}" if meant and meant != zone else where)
    return tuple(notes)


def future_notes(
    readings: Iterable[Reading], diary: Iterable[DiaryEntry], *, today: dt.date
) -> tuple[str, ...]:
    """Say which lines are dated in the future and do not count yet."""
    lines = [(READINGS_FILE, line.date) for line in readings] + [(DIARY_FILE, line.date) for line in diary]
    late = dict.fromkeys((file, day) for file, day in lines if day > today + GRACE)
    return tuple(say.IN_THE_FUTURE.format(file=file, day=day) for file, day in list(late)[:MOST_NOTES])


def hidden_zone_notes(
    lawn: Lawn, points: Collection[str], seen: Collection[tuple[str, str]]
) -> tuple[str, ...]:
    """Say which drawn zones belong to a photo point without photos, and which no photo shows.

    Parameters
    ----------
    lawn : Lawn
        The keeper's lawn.
    points : collection of str
        Photo points with measured photos.
    seen : collection of (str, str)
        Photo point and name of the zones of which some photo shows ground.
    """
    lone = [z for z in lawn.zone if z.point not in points]
    hidden = [z for z in lawn.zone if z.point in points and (z.point, z.name) not in seen]
    return (
        *(say.ZONE_WITHOUT_POINT.format(zone=z.name, point=z.point) for z in lone[:MOST_NOTES]),
        *(say.ZONE_OUT_OF_VIEW.format(zone=z.name) for z in hidden[:MOST_NOTES]),
    )


def _is_placed(line: Reading, zones: Collection[tuple[str, str]]) -> bool:
    points = {point for point, _ in zones}
    if line.point and line.point not in points:
        return False
    if line.zone in ("", *OWN_NAMES):
        return True
    return any(name == line.zone and line.point in ("", point) for point, name in zones)
