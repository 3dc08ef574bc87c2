"""One photo point drawn together: its maps, its one threshold, its zones, and every zone's cover in every photo."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.cover import Cover, zone_cover
from swardmark.canopy.index import GroundMap
from swardmark.canopy.threshold import Threshold, choose_threshold, pooled_counts
from swardmark.check import against_history
from swardmark.lawn.lawn import Lawn, Zone
from swardmark.lawn.record import Entry, Record
from swardmark.lawn.zones import named_patches, zone_mask
from swardmark.outlook.verdict import ZoneSeries


@dataclass(frozen=True)
class ZoneCover:
    """The cover of one zone in one photo: a row of cover.csv."""

    taken_at: dt.datetime
    photo: str
    point: str
    zone: str
    day: int
    cover: Cover
    threshold: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class PointReview:
    """One photo point: its photos, maps and zones.

    Attributes
    ----------
    entries, maps : tuple
        The measured photos and their ground maps, oldest first.
    zones : tuple of Zone
        The keeper's zones, or the named patches.
    zones_are_patches : bool
        Whether the zones are the tool's own named patches.
    """

    name: str
    side_m: float
    entries: tuple[Entry, ...]
    maps: tuple[GroundMap, ...]
    threshold: Threshold
    zones: tuple[Zone, ...]
    zones_are_patches: bool


def point_review(lawn: Lawn, record: Record, entries: Sequence[Entry]) -> PointReview:
    """Load one photo point's maps, choose its threshold and settle its zones."""
    maps = tuple(record.ground_map(entry) for entry in entries)
    threshold = choose_threshold(
        pooled_counts(maps),
        full_index=[entry.facts.full_index for entry in entries],
        leaf_light=[entry.facts.leaf_light for entry in entries],
        setting=lawn.measure.threshold,
    )
    point = entries[0].point
    side_m = lawn.side_of(point)
    zones = lawn.zones_of(point)
    patches = () if zones else named_patches(point, side_m, maps)
    return PointReview(point, side_m, tuple(entries), maps, threshold, zones or patches, not zones)


def point_covers(lawn: Lawn, point: PointReview) -> list[ZoneCover]:
    """Measure every zone of a photo point in every photo."""
    covers = []
    for number, (entry, ground_map) in enumerate(zip(point.entries, point.maps, strict=True)):
        view = view_angles(ground_map, entry)
        assert entry.taken_at is not None
        day = day_number(lawn, entry.taken_at.date(), point)
        patches = ("zones are named patches",) if point.zones_are_patches else ()
        notes = (*entry.facts.notes, *_notes_by_history(point.entries[: number + 1]), *patches)
        for zone in point.zones:
            measured = zone_cover(
                ground_map, zone_mask(zone, ground_map), threshold=point.threshold, view_deg=view
            )
            seen = notes if measured.points else (*notes, "zone not in view")
            covers.append(
                ZoneCover(
                    entry.taken_at,
                    entry.name,
                    point.name,
                    zone.name,
                    day,
                    measured,
                    point.threshold.value,
                    seen,
                )
            )
    return covers


def _notes_by_history(entries: Sequence[Entry]) -> tuple[str, ...]:
    """Note what is odd of the last photo against those before it."""
    *before, last = (entry.facts for entry in entries)
    found = against_history(
        last.sharpness,
        last.sand_light,
        history=[facts.sharpness for facts in before],
        sand_history=[facts.sand_light for facts in before],
    )
    return tuple(finding.name for finding in found)


def view_angles(ground_map: GroundMap, entry: Entry) -> NDArray[np.float64]:
    """Return the view zenith angle at each point of a photo's map, degrees."""
    x, y, height = entry.facts.camera_m
    reach = np.hypot(ground_map.x_m - x, (ground_map.y_m - y)[:, None])
    return np.degrees(np.arctan2(reach, height))


def day_number(lawn: Lawn, day: dt.date, point: PointReview) -> int:
    """Count days since the levelling before `day`; before the first levelling the count is negative."""
    dates = lawn.leveling_dates
    first_photo = min(entry.taken_at.date() for entry in point.entries if entry.taken_at)
    zero = lawn.leveled_before(day) or (dates[0] if dates else first_photo)
    return (day - zero).days


def zone_series(points: Sequence[PointReview], covers: Sequence[ZoneCover]) -> list[ZoneSeries]:
    """Gather each zone's covers into the series that the outlook reads."""
    series = []
    for point in points:
        for zone in point.zones:
            own = [c for c in covers if (c.point, c.zone) == (point.name, zone.name)]
            series.append(
                ZoneSeries(
                    point=point.name,
                    zone=zone.name,
                    area_m2=zone.area_m2,
                    taken_on=tuple(c.taken_at.date() for c in own),
                    cover_pct=tuple(c.cover.cover_pct for c in own),
                    low_pct=tuple(c.cover.low_pct for c in own),
                    high_pct=tuple(c.cover.high_pct for c in own),
                )
            )
    return series
