"""A lawn folder to its covers: what was measured, zone by zone, and what could not be used."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from swardmark.common.crew import ALONE, Crew, Threads
from swardmark.common.errors import FileError, NothingMeasured, UsageError, check_argument
from swardmark.common.text import nearest
from swardmark.lawn.counts import read_counts
from swardmark.lawn.edits.aside import photos_aside
from swardmark.lawn.heights import HEIGHTS_FILE, read_heights
from swardmark.lawn.lock import lawn_lock
from swardmark.lawn.marks import read_marks
from swardmark.lawn.photos import PhotoFile
from swardmark.lawn.toml import LAWN_FILE, MAIN_POINT, REST_OF_LAWN, WHOLE_LAWN, Lawn, read_lawn
from swardmark.measure import sentences as say
from swardmark.measure.points import PointReview, ZoneCover, by_zone, read_point
from swardmark.measure.survey import Progress, Survey, open_record, survey
from swardmark.photo.day import date_in_name
from swardmark.photo.decode import opencv_version
from swardmark.record.store import Entry, Record

MOST_NOTES = 5
CLOCK_DAYS = 31
"""Days by which a name may differ from the camera's day: photos are also named by when they were copied."""
LONG_BEFORE_DAYS = 366


@dataclass(frozen=True, eq=False, kw_only=True, repr=False)
class LawnCovers:
    """A lawn's measured covers, and what could not be used: all that cover.csv needs.

    Attributes
    ----------
    lawn : Lawn
        What lawn.toml says.
    as_of : date
        Day that the covers stand for; photos taken later are left out.
    points : tuple of PointReview
        The photo points, with their zones, thresholds and ground maps.
    covers : tuple of ZoneCover
        One per photo and zone, oldest first.
    refused : tuple of Entry
        Photos that could not be measured, with reason and remedy.
    duplicates : tuple of (str, str)
        Copies that were left out.
    newly_measured : int
        Photos that this run measured.
    record_bytes : int
        Size of these photos' maps in the record.
    later : tuple of str
        Photos that were taken after that day.
    """

    lawn: Lawn
    as_of: dt.date
    points: tuple[PointReview, ...]
    covers: tuple[ZoneCover, ...]
    refused: tuple[Entry, ...]
    duplicates: tuple[tuple[str, str], ...]
    newly_measured: int = 0
    record_bytes: int = 0
    later: tuple[str, ...] = ()

    def __repr__(self) -> str:
        kind, photos = type(self).__name__, len({cover.photo for cover in self.covers})
        return f"{kind}({self.lawn.name!r}, as_of={self.as_of}, photos={photos}, refused={len(self.refused)})"

    def covers_of(self, point: str, zone: str) -> tuple[ZoneCover, ...]:
        """Return a zone's covers, oldest first."""
        return self._by_zone.get((point, zone), ())

    def check_folder(self) -> None:
        """Check that the lawn folder is there, for more is read from it and files that are missing count as empty.

        Raises
        ------
        UsageError
            It is not, as where a program changed its working folder meanwhile.
        """
        if not self.lawn.folder.is_dir():
            remedy = "Give measure_covers the whole path of the folder"
            raise UsageError("the lawn folder is not there", where=str(self.lawn.folder), remedy=remedy)

    @cached_property
    def _by_zone(self) -> dict[tuple[str, str], tuple[ZoneCover, ...]]:
        return by_zone(self.covers)


def measure_covers(
    folder: Path | str,
    *,
    as_of: dt.date | None = None,
    workers: int = 1,
    crew: Crew | None = None,
    files: Sequence[PhotoFile] | None = None,
    progress: Progress | None = None,
    on_wait: Callable[[str], None] | None = None,
) -> LawnCovers:
    """Measure what is new in a lawn folder and return its covers.

    Parameters
    ----------
    folder : path
        The lawn folder, with lawn.toml and photos/.
    as_of : date, optional
        Leave out photos taken after that day.
    workers : int
        Photos measured at the same time.
    crew : Crew, optional
        Who measures, where it is not threads of this process.
    files : sequence of PhotoFile, optional
        The photos, where they do not lie in photos/.
    progress : callable, optional
        Called with photos done, photos to do, and the name of the photo just done.
    on_wait : callable, optional
        Called with a sentence if another run holds the lawn and is waited for, or if every photo is measured anew.

    Raises
    ------
    UsageError
        There is no lawn, or no photo of it could be measured.
    """
    if as_of is not None and (isinstance(as_of, dt.datetime) or not isinstance(as_of, dt.date)):
        raise UsageError(
            f"as_of: {as_of!r} is not a date", where="measure_covers", remedy="Give a datetime.date"
        )
    check_argument(
        workers, int, name="workers", where="measure_covers", remedy="Give a whole number from 1 up"
    )
    if workers < 1:
        remedy = "Give a whole number from 1 up"
        raise UsageError(f"workers: {workers} is too few", where="measure_covers", remedy=remedy)
    lawn = read_lawn(folder)
    with lawn_lock(lawn.folder, on_wait=on_wait), Threads(workers) as threads:
        files = lawn.photos() if files is None else files
        if not files:
            remedy = f"Add some: swardmark add {folder} PHOTO..."
            raise NothingMeasured("no photos in photos/", where=str(folder), remedy=remedy)
        with open_record(lawn) as record:
            crew = crew or threads
            before, now = record.opencv(), opencv_version()
            if on_wait is not None and before not in ("", now):
                on_wait(say.OTHER_OPENCV.format(before=before, now=now))
            done = survey(lawn, record, files=files, crew=crew, progress=progress)
            return lawn_covers(lawn, record, done, as_of=as_of, crew=crew)


def lawn_covers(
    lawn: Lawn, record: Record, done: Survey, *, as_of: dt.date | None = None, crew: Crew = ALONE
) -> LawnCovers:
    """Gather the covers of a lawn from its measured photos.

    Parameters
    ----------
    lawn : Lawn
        The keeper's lawn.
    record : Record
        Where the ground maps are kept.
    done : Survey
        The photos, as `survey` returned them.
    as_of : date, optional
        Leave out photos taken after that day. The last photo's day if absent.
    crew : Crew
        Who works on the maps.

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
        raise _nothing_measured(lawn, done, as_of)
    by_point: dict[str, list[Entry]] = {}
    for entry in used:
        by_point.setdefault(entry.point, []).append(entry)
    whole = len(used) == len(done.measured)
    read = [read_point(lawn, record, by_point[name], keep=whole, crew=crew) for name in sorted(by_point)]
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
        later=tuple(sorted({entry.name for entry in done.measured} - {entry.name for entry in used})),
    )


def unused_notes(covers: LawnCovers) -> tuple[str, ...]:
    """Say which counts and marks are of photos or zones that are not there, and where one outline is of many frames."""
    lawn = covers.lawn
    parts = {
        entry.name: {part.name for part in place.parts} for place in covers.points for entry in place.entries
    }
    copies = {copy for copy, _ in covers.duplicates}
    there = {file.name for file in lawn.photos()} | parts.keys() | {*covers.later} | copies
    aside = {file.name for file in photos_aside(lawn.folder, "left_out")}
    told = {entry.name for entry in covers.refused} | aside
    usable = (there - copies) | told | parts.keys()
    counted = Counter((count.photo, count.zone) for count in read_counts(lawn.folder))
    photos = Counter({photo: 0 for photo, _ in counted if photo not in usable})
    notes = [*_at_two_points(covers), *_stray_points(covers)]
    if lawn.lawn_outline_m is not None and len(covers.points) > 1:
        notes.append(say.ONE_OUTLINE.format(points=", ".join(place.name for place in covers.points)))
    for (photo, zone), number in counted.items():
        if photo in photos:
            photos[photo] += number
        elif zone and photo in parts and zone not in (*parts[photo], WHOLE_LAWN, REST_OF_LAWN):
            notes.append(say.STRAY_COUNTS_ZONE.format(count=number, zone=zone, photo=photo))
    notes += [say.STRAY_COUNTS.format(count=number, photo=photo) for photo, number in photos.items()]
    gone = sorted(read_marks(lawn.folder).keys() - there - told)
    notes += [say.STRAY_MARKS.format(photo=photo) for photo in gone]
    return tuple(notes[:MOST_NOTES])


def _at_two_points(covers: LawnCovers) -> list[str]:
    """Say which photo lies at two photo points."""
    names: dict[str, str] = {}
    notes = []
    for entry in (entry for place in covers.points for entry in place.entries):
        other = names.setdefault(entry.digest, entry.name)
        if other != entry.name:
            notes.append(say.AT_TWO_POINTS.format(photo=other, other=entry.name))
    return notes[:1]


def _stray_points(covers: LawnCovers) -> list[str]:
    """Say which photo points heights, probes and puddles name that are like one of the lawn's, but none of them."""
    lawn, points = covers.lawn, {place.name for place in covers.points}
    named = [(LAWN_FILE, probe.point) for probe in lawn.probe]
    named += [(LAWN_FILE, puddle.point) for puddle in lawn.puddle]
    with suppress(FileError):  # said where heights are asked for
        named += [(HEIGHTS_FILE, row.point) for row in read_heights(lawn.folder)]
    known = points | {point.name for point in lawn.point} | {MAIN_POINT}
    strays = [(file, point) for file, point in dict.fromkeys(named) if point not in known]
    return [
        say.STRAY_POINT.format(file=file, point=point, meant=meant)
        for file, point in strays
        if (meant := nearest(point, sorted(known)))
    ]


def clock_notes(covers: LawnCovers) -> tuple[str, ...]:
    """Say which photos are of a day by their camera that its clock may have wrong."""
    taken = sorted(
        (entry.taken_at, entry.name, entry.taken_from)
        for place in covers.points
        for entry in place.entries
        if entry.taken_at
    )
    notes = []
    for when, photo, source in taken:
        named = date_in_name(photo) if source == "camera" else None
        if named is not None and abs((named - when).days) > CLOCK_DAYS:
            days = {"camera": when.date().isoformat(), "named": named.date().isoformat()}
            notes.append(say.OTHER_DAY.format(photo=photo, **days))
    if len(taken) > 1 and not notes:
        (when, photo, source), (then, _, _) = taken[:2]
        leveled = any(day <= when.date() for day in covers.lawn.leveling_dates)
        if source == "camera" and not leveled and (then - when).days > LONG_BEFORE_DAYS:
            notes.append(say.LONG_BEFORE.format(photo=photo, day=when.date().isoformat()))
    return tuple(notes[:MOST_NOTES])


def _nothing_measured(lawn: Lawn, done: Survey, as_of: dt.date | None) -> NothingMeasured:
    where = str(lawn.folder)
    if as_of is not None and done.measured:
        return NothingMeasured(
            f"no photo was taken up to {as_of}", where=where, remedy="Choose a later --as-of day"
        )
    first = done.refused[0]
    reason = f"{first.name}: {first.refusal}"
    number = len(done.refused)
    what = "the only photo could not" if number == 1 else f"none of the {number} photos could"
    return NothingMeasured(f"{what} be measured ({reason})", where=where, remedy=first.remedy)
