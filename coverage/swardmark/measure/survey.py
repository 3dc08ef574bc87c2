"""Photos to ground maps to record: the whole measuring, in one readable page.

    photo bytes -> upright RGB -> the square's four corners -> ground plane -> the photo point's one ground frame
    -> one sample per square centimeter -> excess green, one byte a point -> the record

A photo point's ground frame is that of its reference: the earliest photo that can be measured. It is part of what a
map depends on, so that an earlier photo added later has the point measured anew, and the order of adding never counts.

What is stored is the map alone. Zones, thresholds, curves and reports are computed from the maps (see points.py), so
that a changed zone never needs a photo again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from swardmark.canopy.index import GroundMap
from swardmark.common.crew import ALONE, Crew, Source
from swardmark.common.deadline import Late, within
from swardmark.common.errors import NoDate, PhotoRefused, PhotoUnread, UsageError
from swardmark.common.memory import keep_freed_memory
from swardmark.ground.align import Reference
from swardmark.ground.trust import PRINTED_MARK_MM
from swardmark.lawn.marks import PhotoMarks, read_marks
from swardmark.lawn.photos import PhotoFile, names_spoken_of
from swardmark.lawn.toml import Lawn, MeasureSettings
from swardmark.measure import sentences
from swardmark.measure.one_photo import Unplaced, measure_photo
from swardmark.photo.day import day_here, usable_moment
from swardmark.photo.decode import WORKING_SIDE_PX, Photo, decode, opencv_version
from swardmark.record.frames import Places, by_day, places_of, reference_of
from swardmark.record.inventory import Found, Reader, find_photos, source_of, without_copies
from swardmark.record.place import RECORD_FILE
from swardmark.record.shelf import PackedMap, packed
from swardmark.record.store import Entry, PhotoFacts, Record
from swardmark.record.twins import without_twins

MAP_VERSION = 18
"""Raised when the same photo and settings would give another map, or other facts; older ones are measured again."""

LONGEST_S = 120.0
"""A photo takes a second, on a small computer some; what takes longer than this was made to hold us up."""

Progress = Callable[[int, int, str], None]


@dataclass(frozen=True)
class Task:
    """All that the map of a photo depends on, besides its bytes."""

    point: str
    side_m: float
    settings: MeasureSettings
    corners_px: tuple[tuple[float, float], ...] | None = None
    reference: Reference | None = None
    mark_mm: float = PRINTED_MARK_MM

    @property
    def digest(self) -> str:
        """Short hash of everything that shapes the map, OpenCV's version included; the threshold and the zones do not.

        Versions of OpenCV find corners and resize a little differently: covers differ by 0.2 points from 4.10 to 5.0.
        """
        shaping = self.settings.model_dump(exclude={"threshold"})
        frame = self.reference.key if self.reference else None
        parts = [MAP_VERSION, opencv_version(), self.side_m, self.mark_mm, shaping, self.corners_px, frame]
        text = json.dumps(parts, sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


@dataclass(frozen=True)
class Survey:
    """What a measuring run did: one entry per photo of the folder, and the copies that were left out."""

    entries: tuple[Entry, ...]
    newly_measured: int
    duplicates: tuple[tuple[str, str], ...]

    @property
    def measured(self) -> tuple[Entry, ...]:
        """Photos with a ground map, oldest first within their photo point."""
        return tuple(entry for entry in self.entries if entry.is_measured)

    @property
    def refused(self) -> tuple[Entry, ...]:
        """Photos without a ground map, each with the reason and the remedy."""
        return tuple(entry for entry in self.entries if not entry.is_measured)


def survey(
    lawn: Lawn,
    record: Record,
    *,
    files: Sequence[PhotoFile] | None = None,
    crew: Crew = ALONE,
    progress: Progress | None = None,
) -> Survey:
    """Measure every photo of a lawn that the record does not hold yet.

    Parameters
    ----------
    lawn : Lawn
        The lawn and its folder.
    record : Record
        Where maps are kept; what it holds already is not measured again.
    files : sequence of PhotoFile, optional
        The photos; by default those in the lawn's folder.
    crew : Crew
        Who measures; by default this thread alone.
    progress : callable, optional
        Called with photos done, photos to do, and the name of the photo just done.
    """
    marks, reader, spoken_of = read_marks(lawn.folder), Reader(), names_spoken_of(lawn.folder)
    found, duplicates = without_copies(
        find_photos(lawn.photos() if files is None else files, record, reader, crew), spoken_of
    )
    run = _Run(lawn, record, marks, crew, reader, progress)
    ordered, fresh, references = run.measured(found)
    places = {point: places_of(kept, record=record.path) for point, kept in _by_point(ordered).items()}
    instead = {point: place.instead for point, place in places.items() if place.instead}
    if instead:
        others = [one for one in found if one.file.point in instead]
        again, more, others_instead = run.measured(others, instead)
        ordered = [*(entry for entry in ordered if entry.point not in instead), *again]
        ordered, fresh = sorted(ordered, key=_in_order), fresh | more
        references |= others_instead
        places |= {point: places_of(kept, record=record.path) for point, kept in _by_point(again).items()}
    ordered = [_placed(entry, places[entry.point], marks.get(entry.name)) for entry in ordered]
    newly_measured = sum(entry.is_measured and entry.name in fresh for entry in ordered)
    rest, twins = without_twins(_blaming_marks(ordered, references, marks), record, spoken_of=spoken_of)
    return Survey(rest, newly_measured, (*duplicates, *twins))


def open_record(lawn: Lawn) -> Record:
    """Open the lawn's record, making it if there is none."""
    return Record(lawn.folder / RECORD_FILE)


def task_of(
    lawn: Lawn,
    file: PhotoFile,
    marks: PhotoMarks | None = None,
    *,
    reference: tuple[str, Reference] | None = None,
) -> Task:
    """Gather what a photo's map depends on; `reference` is name and frame of the point's reference photo."""
    frame = reference[1] if reference and reference[0] != file.name else None
    corners = marks.corners_px if marks else None
    return Task(file.point, lawn.side_of(file.point), lawn.measure, corners, frame, mark_mm=lawn.mark_side_mm)


def measure_source(source: Source, digest: str, task: Task) -> tuple[Entry, PackedMap | None]:
    """Measure one photo file; one that cannot be measured becomes an entry with its refusal and stops nothing."""
    keep_freed_memory()
    entry = _blank(source, digest, task)
    try:
        data = source.read()
        return within(LONGEST_S, lambda: _measured_bytes(data, entry, task))
    except Late:
        what = sentences.LATE.format(seconds=LONGEST_S)
        return replace(entry, refusal=what, remedy=sentences.LATE_REMEDY, is_passing=True), None
    except PhotoRefused as refusal:
        passing = isinstance(refusal, PhotoUnread)
        return replace(entry, refusal=refusal.what, remedy=refusal.remedy, is_passing=passing), None


@dataclass(frozen=True)
class _Run:
    """What a measuring run works with: the lawn and its record, the keeper's marks, and who measures."""

    lawn: Lawn
    record: Record
    marks: Mapping[str, PhotoMarks]
    crew: Crew
    reader: Reader
    progress: Progress | None

    def measured(
        self, found: Sequence[Found], instead: Mapping[str, str] | None = None
    ) -> tuple[list[Entry], set[str], dict[str, tuple[str, Reference]]]:
        """Return the entries of photos in order, the names of those measured now, and each point's reference.

        `instead` names, by photo point, the photo that is to be the reference in the place of the earliest.
        """
        entries: dict[str, Entry] = {}
        todo: list[tuple[Source, str, Task]] = []
        references, first = self._references(found, instead or {})
        for one in found:
            name, point = one.file.name, one.file.point
            task = task_of(self.lawn, one.file, self.marks.get(name), reference=references.get(point))
            known = self.record.entry(digest=one.digest, settings=task.digest, point=point)
            if known is None:
                todo.append((source_of(one, self.reader), one.digest, task))
            else:
                entries[name] = replace(known, name=name)
        fresh = first | {source.name for source, _, _ in todo}
        done_before = len(fresh) - len(todo)
        for done, entry in enumerate(_measured(todo, self.record, self.crew), start=done_before + 1):
            entries[entry.name] = entry
            if self.progress is not None:
                self.progress(done, len(fresh), entry.name)
        dated = (_dated(entry, self.marks.get(entry.name)) for entry in entries.values())
        return sorted(dated, key=_in_order), fresh, references

    def _references(
        self, found: Sequence[Found], instead: Mapping[str, str]
    ) -> tuple[dict[str, tuple[str, Reference]], set[str]]:
        """Find each photo point's reference, the earliest photo that can be measured, measuring where need be.

        Returns name and frame per point, and the names of the photos that were measured for it. Where no worker could
        finish such a photo the run ends with a UsageError: with another reference all maps would be others.
        """
        references: dict[str, tuple[str, Reference]] = {}
        fresh: set[str] = set()
        for one in by_day(found, self.record, self.marks):
            file = one.file
            if file.point in references or instead.get(file.point, file.name) != file.name:
                continue
            task = task_of(self.lawn, file, self.marks.get(file.name))
            entry = self.record.entry(digest=one.digest, settings=task.digest, point=file.point)
            if entry is None:
                job = (source_of(one, self.reader), one.digest, task)
                entry = next(_measured([job], self.record, self.crew, needed=True))
                fresh.add(file.name)
            if entry.is_measured:
                frame = reference_of(entry, side_m=task.side_m, record=self.record.path)
                references[file.point] = file.name, frame
        return references, fresh


def _in_order(entry: Entry) -> tuple[str, bool, str, str]:
    return entry.point, entry.taken_at is None, str(entry.taken_at), entry.name


def _by_point(entries: Sequence[Entry]) -> dict[str, list[Entry]]:
    points: dict[str, list[Entry]] = {}
    for entry in entries:
        points.setdefault(entry.point, []).append(entry)
    return points


def _placed(entry: Entry, places: Places, marks: PhotoMarks | None) -> Entry:
    """Refuse a photo that shows another place than most of its photo point, unless the keeper marked its square."""
    if entry.name not in places.elsewhere or (marks is not None and marks.corners_px is not None):
        return entry
    what = sentences.ELSEWHERE.format(agree=places.agree, photos=places.photos)
    return replace(entry, refusal=what, remedy=sentences.ELSEWHERE_REMEDY)


def _measured(
    jobs: Iterable[tuple[Source, str, Task]], record: Record, crew: Crew, *, needed: bool = False
) -> Iterator[Entry]:
    """Measure photos and keep what came of each, but not what may pass: an unread file, a worker that was lost."""
    for (source, digest, task), result in crew.each(measure_source, jobs):
        if isinstance(result, PhotoRefused):
            if needed:
                raise UsageError(result.what, where=source.name, remedy=result.remedy)
            entry = _blank(source, digest, task)
            yield replace(entry, refusal=result.what, remedy=result.remedy)
        else:
            if not result[0].is_passing:
                record.put(*result)
            yield result[0]


def _blank(source: Source, digest: str, task: Task) -> Entry:
    return Entry(digest, task.digest, source.point, source.name, None, "unknown", PhotoFacts())


def _blaming_marks(
    entries: Sequence[Entry],
    references: Mapping[str, tuple[str, Reference]],
    marks: Mapping[str, PhotoMarks],
) -> list[Entry]:
    """Say where corners given by hand may be why their photo, or all photos after a first one, are refused."""
    named = {point: name for point, (name, _) in references.items()}
    by_hand = {point for point, name in named.items() if name in marks and marks[name].corners_px}
    others = [e for e in entries if e.point in by_hand and e.name != named[e.point]]
    failed = {e.point for e in others} - {e.point for e in others if e.is_measured}
    blamed = {e.name: named[e.point] for e in entries if e.point in failed}
    blamed |= {name: name for name, given in marks.items() if given.corners_px}
    return [
        entry
        if entry.is_measured or entry.name not in blamed
        else replace(entry, remedy=sentences.OR_CLEAR.format(remedy=entry.remedy, photo=blamed[entry.name]))
        for entry in entries
    ]


def _dated(entry: Entry, marks: PhotoMarks | None) -> Entry:
    """Give the entry the keeper's date where there is one, else the camera's, else that of the name that it has now.

    A measured photo without any date is refused.
    """
    if marks is not None and marks.taken_at is not None:
        return replace(entry, taken_at=marks.taken_at, taken_from="keeper")
    if entry.is_measured or entry.taken_at is not None:
        when, source = day_here(entry.taken_at, entry.taken_from, entry.name)
        entry = replace(entry, taken_at=when, taken_from=source)
    if entry.is_measured and entry.taken_at is None:
        refusal = NoDate(Path(entry.name).name)
        return replace(entry, refusal=refusal.what, remedy=refusal.remedy)
    if entry.taken_at is None:
        return entry
    if usable := usable_moment(entry.taken_at, entry.taken_from, entry.name):
        return replace(entry, taken_at=usable[0], taken_from=usable[1])
    if not entry.is_measured:
        return replace(entry, taken_at=None, taken_from="unknown")
    refusal = NoDate(Path(entry.name).name, f"{entry.taken_at:%Y-%m-%d}")
    return replace(entry, taken_at=None, taken_from="unknown", refusal=refusal.what, remedy=refusal.remedy)


def _measured_bytes(data: bytes, entry: Entry, task: Task) -> tuple[Entry, PackedMap | None]:
    """Measure a photo that was read."""
    try:
        photo = decode(data, name=entry.name, digest=entry.digest, least_side=WORKING_SIDE_PX)
        entry = replace(entry, taken_at=photo.taken_at, taken_from=photo.taken_from)
        ground_map, facts = _measured_reduced_or_whole(photo, data, task)
    except Unplaced as refusal:
        return replace(entry, refusal=refusal.what, remedy=refusal.remedy, facts=refusal.facts), None
    except PhotoRefused as refusal:
        return replace(entry, refusal=refusal.what, remedy=refusal.remedy), None
    return replace(entry, facts=facts), packed(ground_map)


def _measured_reduced_or_whole(photo: Photo, data: bytes, task: Task) -> tuple[GroundMap, PhotoFacts]:
    """Measure a photo as it was read; if that fails and it was reduced, measure it at its full size."""
    try:
        return measure_photo(photo, task)
    except PhotoRefused:
        if photo.reduction == 1:
            raise
    return measure_photo(decode(data, name=photo.name, digest=photo.digest), task)
