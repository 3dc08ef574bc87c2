"""Lawn and record to SeasonReview: everything that tables, report and page read.

The stack of ground maps is enough: zones, threshold and covers are computed from it (see zonal.py) and handed on to the
outlook.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from pathlib import Path

from swardmark.crew import ALONE, Crew, Threads
from swardmark.errors import UsageError
from swardmark.lawn.lawn import Lawn, read_lawn
from swardmark.lawn.lock import lawn_lock
from swardmark.lawn.readings import DiaryEntry, Reading, read_diary, read_readings
from swardmark.lawn.record import Entry, Record
from swardmark.lawn.remote import remote_photos
from swardmark.lawn.weather import read_weather
from swardmark.outlook.budget import Budget
from swardmark.outlook.relevel import Dip, PointMaps, RelevelPlan, relevel_plan
from swardmark.outlook.verdict import LawnOutlook, outlook
from swardmark.points import PointReview, ZoneCover, by_zone, evenly, read_point, zone_series
from swardmark.survey import Progress, Survey, open_record, survey

MOST_PLAN_DAYS, NEWEST_PLAN_DAYS = 60, 10
"""Spots are found from one photo a day, of at most so many days, and the newest of them: more tell no more."""
FIRST_PLAN_DAY = 14
"""Before this day sand is still being grown through everywhere, and a bare place says little of the next levelling."""


@dataclass(frozen=True, eq=False, kw_only=True)
class LawnCovers:
    """A lawn's measured covers, and what could not be used: all that cover.csv needs."""

    lawn: Lawn
    as_of: dt.date
    points: tuple[PointReview, ...]
    covers: tuple[ZoneCover, ...]
    refused: tuple[Entry, ...]
    duplicates: tuple[tuple[str, str], ...]
    newly_measured: int = 0
    record_bytes: int = 0

    def covers_of(self, point: str, zone: str) -> tuple[ZoneCover, ...]:
        """Return a zone's covers, oldest first."""
        return self._by_zone.get((point, zone), ())

    @cached_property
    def _by_zone(self) -> dict[tuple[str, str], tuple[ZoneCover, ...]]:
        return by_zone(self.covers)


@dataclass(frozen=True, eq=False, kw_only=True)
class SeasonReview(LawnCovers):
    """A lawn's season as it stands: what was measured, what it means, and what could not be used."""

    outlook: LawnOutlook
    readings: tuple[Reading, ...]
    diary: tuple[DiaryEntry, ...]

    @cached_property
    def day_zero(self) -> dt.date:
        """The levelling day that the season counts from; the first photo's day where none is given."""
        return self.lawn.leveled_before(self.as_of) or self.covers[0].taken_at.date()

    @cached_property
    def relevel(self) -> RelevelPlan | None:
        """The re-level plan without a budget; None while it is too early in the season to speak of one."""
        return relevel_plan_of(self) if (self.as_of - self.day_zero).days >= FIRST_PLAN_DAY else None

    def _repr_html_(self) -> str:
        from html import escape

        rows = "".join(
            f"<tr><td>{escape(row.zone)}</td><td>{row.status}</td><td>{row.cover_pct:.0f} %</td></tr>"
            for row in (*self.outlook.zones, self.outlook.whole)
        )
        return f"<p><b>{escape(self.outlook.first_mow.sentence)}</b></p><table>{rows}</table>"


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
    return season_of_covers(
        measure_covers(folder, as_of=as_of, workers=workers, progress=progress, on_wait=on_wait)
    )


def measure_covers(
    folder: Path | str,
    *,
    as_of: dt.date | None = None,
    workers: int = 1,
    crew: Crew | None = None,
    photos_url: str | None = None,
    progress: Progress | None = None,
    on_wait: Callable[[str], None] | None = None,
) -> LawnCovers:
    """Measure what is new in a lawn folder and return its covers, without an outlook.

    Parameters are those of `measure_lawn`, and two more: `crew`, who measures, where it is not threads of this process;
    and `photos_url`, below which the photos lie, where they do not lie in photos/.

    Raises
    ------
    UsageError
        There is no lawn, or no photo of it could be measured.
    """
    lawn = read_lawn(folder)
    files = remote_photos(photos_url) if photos_url else lawn.photos()
    if not files:
        remedy = "Check the address" if photos_url else f"Add some: swardmark add {folder} PHOTO..."
        raise UsageError(f"no photos in {photos_url or 'photos/'}", where=str(folder), remedy=remedy)
    with lawn_lock(lawn.folder, on_wait=on_wait), open_record(lawn) as record, Threads(workers) as threads:
        crew = crew or threads
        done = survey(lawn, record, files=files, crew=crew, progress=progress)
        return lawn_covers(lawn, record, done, as_of=as_of, threads=crew.here)


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
    return season_of_covers(lawn_covers(lawn, record, done, as_of=as_of))


def lawn_covers(
    lawn: Lawn, record: Record, done: Survey, *, as_of: dt.date | None = None, threads: Threads = ALONE
) -> LawnCovers:
    """Draw the covers of a lawn together on some threads, without an outlook; else as `review`."""
    used = [
        entry
        for entry in done.measured
        if entry.taken_at and (as_of is None or entry.taken_at.date() <= as_of)
    ]
    if not used:
        raise _nothing_to_review(lawn, done, as_of)
    by_point: dict[str, list[Entry]] = {}
    for entry in used:
        by_point.setdefault(entry.point, []).append(entry)
    whole = len(used) == len(done.measured)
    read = [
        read_point(lawn, record, by_point[name], keep=whole, threads=threads) for name in sorted(by_point)
    ]
    covers = [cover for _, rows in read for cover in rows]
    if not covers:
        remedy = "Move the zones into the ground that the photos show (see report.html)"
        raise UsageError(
            "no zone lies in the ground that the photos show", where=str(lawn.folder), remedy=remedy
        )
    return LawnCovers(
        lawn=lawn,
        as_of=as_of or max(entry.taken_at.date() for entry in used if entry.taken_at),
        points=tuple(point for point, _ in read),
        covers=tuple(sorted(covers, key=lambda c: (c.taken_at, c.point, c.photo))),
        refused=done.refused,
        duplicates=done.duplicates,
        newly_measured=done.newly_measured,
        record_bytes=record.record_bytes(used),
    )


def season_of_covers(measured: LawnCovers) -> SeasonReview:
    """Add to a lawn's covers what the keeper wrote and what both say of the weeks to come."""
    lawn, day = measured.lawn, measured.as_of
    readings = tuple(line for line in read_readings(lawn.folder) if line.date <= day)
    diary = tuple(line for line in read_diary(lawn.folder) if line.date <= day)
    forecast = outlook(
        zone_series(measured.points, measured.covers),
        lawn=lawn,
        as_of=day,
        readings=readings,
        diary=diary,
        weather=read_weather(lawn.folder),
    )
    known = {part.name: getattr(measured, part.name) for part in fields(measured)}
    return SeasonReview(**known, outlook=forecast, readings=readings, diary=diary)


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


def _season_maps(lawn: Lawn, point: PointReview, zero: dt.date, first: dt.date) -> PointMaps | None:
    """Gather one photo point's maps of the season that began at `zero`."""
    by_day: dict[int, int] = {}
    for number, entry in enumerate(point.entries):
        if entry.taken_at and (lawn.leveled_before(entry.taken_at.date()) or first) == zero:
            by_day[(entry.taken_at.date() - zero).days] = number
    if not by_day:
        return None
    days = _thinned(sorted(by_day))
    entries = [point.entries[by_day[day]] for day in days]
    maps = tuple(point.maps[by_day[day]] for day in days)
    camera = entries[-1].facts.camera_m
    return PointMaps(point.name, maps, tuple(float(day) for day in days), point.threshold.value, camera)


def _thinned(days: list[int]) -> list[int]:
    """Return at most MOST_PLAN_DAYS days: the newest ones that the outcome is read from, the others evenly spread."""
    before, newest = days[:-NEWEST_PLAN_DAYS], days[-NEWEST_PLAN_DAYS:]
    return [*evenly(before, MOST_PLAN_DAYS - NEWEST_PLAN_DAYS), *newest]


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
    number = len(done.refused)
    what = "the only photo could not" if number == 1 else f"none of the {number} photos could"
    return UsageError(f"{what} be measured ({reason})", where=where, remedy=first.remedy)
