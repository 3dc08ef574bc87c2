"""Lawn and record to SeasonReview: everything that tables, report and page read.

The stack of ground maps is enough: zones, threshold and covers are computed here anew each time, in milliseconds, and
handed on to the outlook.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.cover import Cover, zone_cover
from swardmark.canopy.index import GroundMap
from swardmark.canopy.threshold import Threshold, choose_threshold, pooled_counts
from swardmark.check import against_history
from swardmark.errors import UsageError
from swardmark.lawn.lawn import Lawn, Zone, read_lawn
from swardmark.lawn.lock import lawn_lock
from swardmark.lawn.readings import DiaryEntry, Reading, read_diary, read_readings
from swardmark.lawn.record import Entry, Record
from swardmark.lawn.weather import read_weather
from swardmark.lawn.zones import named_patches, zone_mask
from swardmark.outlook.budget import Budget
from swardmark.outlook.relevel import Dip, PointMaps, RelevelPlan, relevel_plan
from swardmark.outlook.verdict import LawnOutlook, ZoneSeries, outlook
from swardmark.survey import Progress, Survey, open_record, survey

FIRST_PLAN_DAY = 14
"""Before this day sand is still being grown through everywhere, and a bare place says little of the next levelling."""


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


@dataclass(frozen=True, eq=False)
class SeasonReview:
    """A lawn's season as it stands: what was measured, what it means, and what could not be used."""

    lawn: Lawn
    as_of: dt.date
    points: tuple[PointReview, ...]
    covers: tuple[ZoneCover, ...]
    outlook: LawnOutlook
    readings: tuple[Reading, ...]
    diary: tuple[DiaryEntry, ...]
    refused: tuple[Entry, ...]
    duplicates: tuple[tuple[str, str], ...]
    newly_measured: int = 0

    @cached_property
    def day_zero(self) -> dt.date:
        """The levelling day that the season counts from; the first photo's day where none is given."""
        return self.lawn.leveled_before(self.as_of) or self.covers[0].taken_at.date()

    @cached_property
    def relevel(self) -> RelevelPlan | None:
        """The re-level plan without a budget; None while it is too early in the season to speak of one."""
        return relevel_plan_of(self) if (self.as_of - self.day_zero).days >= FIRST_PLAN_DAY else None

    def covers_of(self, point: str, zone: str) -> tuple[ZoneCover, ...]:
        """Return a zone's covers, oldest first."""
        return tuple(c for c in self.covers if (c.point, c.zone) == (point, zone))


def measure_lawn(
    folder: Path | str,
    *,
    as_of: dt.date | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    on_wait: Callable[[str], None] | None = None,
) -> SeasonReview:
    """Measure what is new in a lawn folder and draw its season together.

    Parameters
    ----------
    folder : path
        The lawn folder, with lawn.toml and photos/.
    as_of : date, optional
        Speak as on that day.
    workers : int
        Photos measured at the same time.
    progress : callable, optional
        Called with photos done, photos to do, and the name of the photo just done.
    on_wait : callable, optional
        Called with a sentence if another run holds the lawn and is waited for.

    Raises
    ------
    UsageError
        There is no lawn, or no photo of it could be measured.
    """
    lawn = read_lawn(folder)
    if not lawn.photos():
        remedy = f"Add some: swardmark add {folder} PHOTO..."
        raise UsageError("no photos in photos/", where=str(folder), remedy=remedy)
    with lawn_lock(lawn.folder, on_wait=on_wait), open_record(lawn) as record:
        done = survey(lawn, record, workers=workers, progress=progress)
        return review(lawn, record, done, as_of=as_of)


def review(lawn: Lawn, record: Record, done: Survey, *, as_of: dt.date | None = None) -> SeasonReview:
    """Draw everything together that is known of a lawn.

    Parameters
    ----------
    lawn : Lawn
        The keeper's lawn.
    record : Record
        Where the ground maps are kept.
    done : Survey
        The photos, as `survey.survey` returned them.
    as_of : date, optional
        Speak as on that day: later photos, readings and diary lines are not looked at. The last photo's day if absent.

    Raises
    ------
    UsageError
        No photo could be measured (up to that day).
    """
    used = [
        entry
        for entry in done.measured
        if entry.taken_at and (as_of is None or entry.taken_at.date() <= as_of)
    ]
    if not used:
        raise _nothing_to_review(lawn, done, as_of)
    day = as_of or max(entry.taken_at.date() for entry in used if entry.taken_at)
    names = sorted({entry.point for entry in used})
    points = tuple(point_review(lawn, record, [e for e in used if e.point == name]) for name in names)
    covers = tuple(cover for point in points for cover in point_covers(lawn, point))
    if not covers:
        remedy = "Move the zones into the ground that the photos show (see report.html)"
        raise UsageError(
            "no zone lies in the ground that the photos show", where=str(lawn.folder), remedy=remedy
        )
    readings = tuple(line for line in read_readings(lawn.folder) if line.date <= day)
    diary = tuple(line for line in read_diary(lawn.folder) if line.date <= day)
    series = zone_series(points, covers)
    forecast = outlook(
        series, lawn=lawn, as_of=day, readings=readings, diary=diary, weather=read_weather(lawn.folder)
    )
    ordered = tuple(sorted(covers, key=lambda c: (c.taken_at, c.point, c.photo)))
    return SeasonReview(
        lawn=lawn,
        as_of=day,
        points=points,
        covers=ordered,
        outlook=forecast,
        readings=readings,
        diary=diary,
        refused=done.refused,
        duplicates=done.duplicates,
        newly_measured=done.newly_measured,
    )


def relevel_plan_of(
    season: SeasonReview,
    *,
    more_readings: Sequence[Reading] = (),
    budget: Budget | None = None,
    whole_only: bool = False,
) -> RelevelPlan:
    """Plan the next levelling from a season's maps, the seasons before it and the dips that were measured.

    Parameters
    ----------
    season : SeasonReview
        The lawn as it stands.
    more_readings : sequence of Reading
        Dips beyond those of readings.csv.
    budget : Budget, optional
        What a season may take; no limit if absent.
    whole_only : bool
        Begin a spot only where all its passes fit the coming season.
    """
    lawn = season.lawn
    zeros = sorted({d for d in lawn.leveling_dates if d <= season.as_of}) or [season.day_zero]
    seasons = [
        [m for p in season.points if (m := _season_maps(lawn, p, zero, season.day_zero))] for zero in zeros
    ]
    *earlier, now = seasons
    readings = [line for line in season.readings if line.date >= zeros[-1]]
    dips = [dip for line in (*readings, *more_readings) if (dip := _dip(line))]
    return relevel_plan(
        now, lawn, dips=dips, earlier=[s for s in earlier if s], budget=budget, whole_only=whole_only
    )


def point_review(lawn: Lawn, record: Record, entries: Sequence[Entry]) -> PointReview:
    """Load one photo point's maps, choose its threshold and settle its zones."""
    maps = tuple(record.ground_map(entry) for entry in entries)
    threshold = choose_threshold(pooled_counts(maps), setting=lawn.measure.threshold)
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


def _season_maps(lawn: Lawn, point: PointReview, zero: dt.date, first: dt.date) -> PointMaps | None:
    """Gather one photo point's maps of the season that began at `zero`."""
    chosen = [
        (entry, ground_map, (entry.taken_at.date() - zero).days)
        for entry, ground_map in zip(point.entries, point.maps, strict=True)
        if entry.taken_at and (lawn.leveled_before(entry.taken_at.date()) or first) == zero
    ]
    if not chosen:
        return None
    entries, maps, days = zip(*chosen, strict=True)
    camera = entries[-1].facts.camera_m
    return PointMaps(point.name, maps, tuple(float(d) for d in days), point.threshold.value, camera)


def _dip(line: Reading) -> Dip | None:
    if line.dip_mm is None:
        return None
    spot = int(line.spot) if line.spot.strip().isdigit() else None
    return Dip(line.dip_mm, line.x_m, line.y_m, spot)


def _nothing_to_review(lawn: Lawn, done: Survey, as_of: dt.date | None) -> UsageError:
    where = str(lawn.folder)
    if as_of is not None and done.measured:
        return UsageError(
            f"no photo was taken up to {as_of}", where=where, remedy="Choose a later --as-of day"
        )
    first = done.refused[0]
    reason = f"{first.name}: {first.refusal}"
    return UsageError(
        f"none of the {len(done.refused)} photos could be measured ({reason})",
        where=where,
        remedy=first.remedy,
    )
