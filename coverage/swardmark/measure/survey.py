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
from typing import Any

from swardmark.canopy.index import GroundMap
from swardmark.common.crew import ALONE, Crew, Source
from swardmark.common.errors import NoDate, PhotoRefused, UsageError
from swardmark.ground.align import Kept, Reference, keep_frame
from swardmark.ground.find import find_square, hand_square
from swardmark.ground.plane import GroundPlane
from swardmark.ground.square import NoSquare, Square
from swardmark.ground.trust import trusted_plane
from swardmark.lawn.marks import PhotoMarks, read_marks
from swardmark.lawn.photos import PhotoFile
from swardmark.lawn.toml import Lawn, MeasureSettings
from swardmark.measure.check import Fitness, check_ground
from swardmark.measure.facts import facts_of
from swardmark.measure.indexing import index_ground, sample_ground
from swardmark.photo.decode import WORKING_SIDE_PX, Photo, decode, opencv_version
from swardmark.photo.findings import UNFIT
from swardmark.record.frames import by_day, reference_of
from swardmark.record.inventory import Found, Reader, find_photos, source_of, without_copies
from swardmark.record.shelf import PackedMap, packed
from swardmark.record.store import RECORD_FILE, Entry, PhotoFacts, Record

MAP_VERSION = 11
"""Raised when the same photo and settings would give another map, or other facts; older ones are measured again."""

Progress = Callable[[int, int, str], None]


@dataclass(frozen=True)
class Task:
    """All that the map of a photo depends on, besides its bytes."""

    point: str
    side_m: float
    settings: MeasureSettings
    corners_px: tuple[tuple[float, float], ...] | None = None
    reference: Reference | None = None

    @property
    def digest(self) -> str:
        """Short hash of everything that shapes the map, OpenCV's version included; the threshold and the zones do not.

        Versions of OpenCV find corners and resize a little differently: covers differ by 0.2 points from 4.10 to 5.0.
        """
        shaping = self.settings.model_dump(exclude={"threshold"})
        frame = self.reference.key if self.reference else None
        parts = [MAP_VERSION, opencv_version(), self.side_m, shaping, self.corners_px, frame]
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
    marks, reader = read_marks(lawn.folder), Reader()
    found, duplicates = without_copies(find_photos(files or lawn.photos(), record, reader, crew))
    entries: dict[str, Entry] = {}
    todo: list[tuple[Source, str, Task]] = []
    references, first = _references(lawn, record, found, marks, crew, reader)
    for one in found:
        name, point = one.file.name, one.file.point
        task = task_of(lawn, one.file, marks.get(name), reference=references.get(point))
        known = record.entry(digest=one.digest, settings=task.digest, point=point)
        if known is None:
            todo.append((source_of(one, reader), one.digest, task))
        else:
            entries[name] = replace(known, name=name)
    fresh = first | {source.name for source, _, _ in todo}
    done_before = len(fresh) - len(todo)
    for done, entry in enumerate(_measured(todo, record, crew), start=done_before + 1):
        entries[entry.name] = entry
        if progress is not None:
            progress(done, len(fresh), entry.name)
    dated = (_dated(entry, marks.get(entry.name)) for entry in entries.values())
    ordered = sorted(dated, key=lambda e: (e.point, e.taken_at is None, str(e.taken_at), e.name))
    newly_measured = sum(entry.is_measured and entry.name in fresh for entry in ordered)
    return Survey(tuple(ordered), newly_measured, duplicates)


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
    return Task(
        file.point, lawn.side_of(file.point), lawn.measure, marks.corners_px if marks else None, frame
    )


def measure_source(source: Source, digest: str, task: Task) -> tuple[Entry, PackedMap | None]:
    """Measure one photo file; one that cannot be measured becomes an entry with its refusal and stops nothing."""
    entry = _blank(source, digest, task)
    try:
        data = source.read()
        photo = decode(data, name=source.name, digest=digest, least_side=WORKING_SIDE_PX)
        entry = replace(entry, taken_at=photo.taken_at, taken_from=photo.taken_from)
        ground_map, facts = _measured_reduced_or_whole(photo, data, task)
    except PhotoRefused as refusal:
        return replace(entry, refusal=refusal.what, remedy=refusal.remedy), None
    return replace(entry, facts=facts), packed(ground_map)


def measure_photo(photo: Photo, task: Task) -> tuple[GroundMap, PhotoFacts]:
    """Measure one photo: find the square, judge the photo, lay the ground in the point's frame, sample and index it.

    Raises
    ------
    PhotoRefused
        The square cannot be found or trusted, or no ground is seen well enough.
    """
    square, own = locate_square(photo, task)
    fitness = judge_fitness(photo, square, own, task)
    frame = lay_in_frame(photo, square, own, task)
    sampled = sample_ground(photo, frame.plane, task.settings)
    indexed = index_ground(
        sampled, photo, square=square, own=own, plane=frame.plane, side_m=task.side_m, settings=task.settings
    )
    facts = facts_of(photo, square, fitness, frame, indexed, is_reference=task.reference is None)
    return indexed.ground_map, facts


def locate_square(photo: Photo, task: Task) -> tuple[Square | None, GroundPlane | None]:
    """Find the square, by the keeper's hand marks where there are any, and the ground plane it fixes.

    Both are None where a photo shows no square at all, but its photo point has a reference photo.

    Raises
    ------
    PhotoRefused
        There is no square, or one that cannot be trusted.
    """
    known: dict[str, Any] = {"side_m": task.side_m, "focal_px": photo.focal_px, "name": photo.name}
    near = None
    if task.reference is not None:
        near = task.reference.corners_px * (max(photo.size) / max(task.reference.plane.size))
    try:
        if task.corners_px is not None:
            square = hand_square(photo.rgb, photo.here(task.corners_px), name=photo.name)
        else:
            square = find_square(photo.rgb, near=near, **known)
    except NoSquare:
        if task.reference is None:
            raise
        return None, None
    return square, trusted_plane(square, size=photo.size, **known)


def lay_in_frame(photo: Photo, square: Square | None, own: GroundPlane | None, task: Task) -> Kept:
    """Lay the ground into the photo point's frame; the reference photo's own ground is that frame."""
    if task.reference is None and own is not None:
        return Kept(own)
    assert task.reference is not None
    corners = square.corners_px if square else None
    return keep_frame(
        photo.rgb,
        task.reference,
        plane=own,
        corners_px=corners,
        focal_px=photo.focal_px,
        name=photo.name,
    )


def judge_fitness(photo: Photo, square: Square | None, own: GroundPlane | None, task: Task) -> Fitness | None:
    """Judge the photo's fitness where its square shows; one whose number would mislead is refused."""
    if square is None or own is None:
        return None
    fitness = check_ground(
        photo, square, own, side_m=task.side_m, max_view_deg=task.settings.max_view_deg,
        max_footprint_mm=task.settings.max_footprint_mm,
    )  # fmt: skip
    if fitness.level == UNFIT:
        worst = fitness.faults[0]
        raise PhotoRefused(worst.sentence.rstrip("."), where=photo.name, remedy=worst.retake.rstrip("."))
    return fitness


def _references(
    lawn: Lawn,
    record: Record,
    found: list[Found],
    marks: Mapping[str, PhotoMarks],
    crew: Crew,
    reader: Reader,
) -> tuple[dict[str, tuple[str, Reference]], set[str]]:
    """Find each photo point's reference, the earliest photo that can be measured, measuring where need be.

    Returns name and frame per point, and the names of the photos that were measured for it. Where no worker could
    finish such a photo the run ends with a UsageError: with another reference all maps would be others.
    """
    references: dict[str, tuple[str, Reference]] = {}
    fresh: set[str] = set()
    for one in by_day(found, record, marks):
        file = one.file
        if file.point in references:
            continue
        task = task_of(lawn, file, marks.get(file.name))
        entry = record.entry(digest=one.digest, settings=task.digest, point=file.point)
        if entry is None:
            job = (source_of(one, reader), one.digest, task)
            entry = next(_measured([job], record, crew, needed=True))
            fresh.add(file.name)
        if entry.is_measured:
            references[file.point] = file.name, reference_of(entry, side_m=task.side_m, record=record.path)
    return references, fresh


def _measured(
    jobs: Iterable[tuple[Source, str, Task]], record: Record, crew: Crew, *, needed: bool = False
) -> Iterator[Entry]:
    """Measure photos and keep what came of each; one that no worker could finish is refused, and not kept."""
    for (source, digest, task), result in crew.each(measure_source, jobs):
        if isinstance(result, PhotoRefused):
            if needed:
                raise UsageError(result.what, where=source.name, remedy=result.remedy)
            entry = _blank(source, digest, task)
            yield replace(entry, refusal=result.what, remedy=result.remedy)
        else:
            record.put(*result)
            yield result[0]


def _blank(source: Source, digest: str, task: Task) -> Entry:
    return Entry(digest, task.digest, source.point, source.name, None, "unknown", PhotoFacts())


def _dated(entry: Entry, marks: PhotoMarks | None) -> Entry:
    """Give the entry the keeper's date where there is one; a measured photo without any date is refused."""
    if marks is not None and marks.taken_at is not None:
        return replace(entry, taken_at=marks.taken_at, taken_from="keeper")
    if entry.is_measured and entry.taken_at is None:
        refusal = NoDate(Path(entry.name).name)
        return replace(entry, refusal=refusal.what, remedy=refusal.remedy)
    return entry


def _measured_reduced_or_whole(photo: Photo, data: bytes, task: Task) -> tuple[GroundMap, PhotoFacts]:
    """Measure a photo as it was read; if that fails and it was reduced, measure it at its full size."""
    try:
        return measure_photo(photo, task)
    except PhotoRefused:
        if photo.reduction == 1:
            raise
    return measure_photo(decode(data, name=photo.name, digest=photo.digest), task)
