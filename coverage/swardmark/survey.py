"""Photos to ground maps to record: the whole measuring, in one readable page.

    photo bytes -> upright RGB -> the square's four corners -> ground plane -> one sample per square centimetre
    -> excess green, one byte a point -> the record

What is stored is the map alone. Zones, thresholds, curves and reports are computed from the maps (see review.py), so
that a changed zone never needs a photo again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

from swardmark.canopy.index import NOT_SEEN, GroundMap, index_bytes
from swardmark.canopy.white import balance, white_gains
from swardmark.errors import PhotoRefused
from swardmark.ground.plane import GeometryError, GroundPlane, plane_from_square, sample, seen_window
from swardmark.ground.square import Square, find_marks
from swardmark.lawn.lawn import Lawn, MeasureSettings, PhotoFile
from swardmark.lawn.marks import PhotoMarks, read_marks
from swardmark.lawn.record import RECORD_FILE, Entry, PhotoFacts, Record
from swardmark.photo.decode import Photo, decode, digest_of, read_bytes

MAP_VERSION = 2
"""Raised when the same photo and settings would give another map; older maps are then measured again."""
SQUARE_MARGIN_M = 0.05
"""Ground beside the square's outer edge that is left out with it: paper margins and trodden grass."""
NOT_BALANCED = "no white of the square to balance the colours by"

Progress = Callable[[int, int, str], None]


@dataclass(frozen=True)
class Task:
    """All that the map of a photo depends on, besides its bytes."""

    point: str
    side_m: float
    settings: MeasureSettings
    corners_px: tuple[tuple[float, float], ...] | None = None

    @property
    def digest(self) -> str:
        """Short hash of everything that shapes the map; the threshold and the zones do not."""
        shaping = self.settings.model_dump(exclude={"threshold"})
        text = json.dumps([MAP_VERSION, self.side_m, shaping, self.corners_px], sort_keys=True)
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


def survey(lawn: Lawn, record: Record, *, workers: int = 1, progress: Progress | None = None) -> Survey:
    """Measure every photo of a lawn that the record does not hold yet.

    Parameters
    ----------
    lawn : Lawn
        The lawn and its folder.
    record : Record
        Where maps are kept; what it holds already is not measured again.
    workers : int
        Photos measured at the same time.
    progress : callable, optional
        Called with photos done, photos to do, and the name of the photo just done.
    """
    marks = read_marks(lawn.folder)
    files, duplicates = _without_copies(_digests(lawn.photos(), record))
    entries: dict[str, Entry] = {}
    todo: list[tuple[PhotoFile, str, Task]] = []
    for file, digest in files:
        task = task_of(lawn, file, marks.get(file.name))
        known = record.entry(digest=digest, settings=task.digest, point=file.point)
        if known is None:
            todo.append((file, digest, task))
        else:
            entries[file.name] = replace(known, name=file.name)
    for done, (entry, ground_map) in enumerate(_measured(todo, workers), start=1):
        record.put(entry, ground_map)
        entries[entry.name] = entry
        if progress is not None:
            progress(done, len(todo), entry.name)
    dated = (_dated(entry, marks.get(entry.name)) for entry in entries.values())
    ordered = sorted(dated, key=lambda e: (e.point, e.taken_at is None, str(e.taken_at), e.name))
    return Survey(tuple(ordered), len(todo), duplicates)


def open_record(lawn: Lawn) -> Record:
    """Open the lawn's record, making it if there is none."""
    return Record(lawn.folder / RECORD_FILE)


def task_of(lawn: Lawn, file: PhotoFile, marks: PhotoMarks | None = None) -> Task:
    """Gather what a photo's map depends on."""
    return Task(file.point, lawn.side_of(file.point), lawn.measure, marks.corners_px if marks else None)


def measure_photo(photo: Photo, task: Task) -> tuple[GroundMap, PhotoFacts]:
    """Measure one photo: find the square, lay the ground flat, sample it, index it.

    Raises
    ------
    PhotoRefused
        The square cannot be found or trusted, or no ground is seen well enough.
    """
    square = find_square(photo, task)
    plane = ground_of(photo, square, task)
    settings = task.settings
    spacing_m = settings.point_spacing_mm / 1000
    limits = {"max_view_deg": settings.max_view_deg, "max_footprint_mm": settings.max_footprint_mm}
    window = seen_window(plane, spacing_m=spacing_m, **limits)
    colours, seen = sample(photo.rgb, plane, window=window, spacing_m=spacing_m, **limits)
    gains = white_gains(photo.rgb, plane, side_m=task.side_m) if "corner marks" in square.how else None
    values = index_bytes(balance(colours, gains) if gains else colours, damping=settings.damping)
    values[~seen] = NOT_SEEN
    ground_map = GroundMap(values, window[0], window[1], spacing_m)
    _leave_out_square(ground_map, task.side_m)
    if not ground_map.is_readable.any():
        remedy = "Step closer, hold the camera higher and tilt it further down"
        raise PhotoRefused("no ground is seen steeply enough to measure", where=photo.name, remedy=remedy)
    facts = _facts(photo, square, plane)
    return ground_map, facts if gains else replace(facts, notes=(*facts.notes, NOT_BALANCED))


def find_square(photo: Photo, task: Task) -> Square:
    """Find the reference square: by the keeper's hand marks where there are any, else by its corner marks."""
    if task.corners_px is not None:
        import numpy as np

        return Square(np.array(task.corners_px, float), "hand marks", float("nan"))
    return find_marks(photo.rgb, name=photo.name)


def ground_of(photo: Photo, square: Square, task: Task) -> GroundPlane:
    """Lay the ground flat by the square; refuse a shape that no square on the ground can have."""
    remedy = "Check that both diagonals of the square are equal and that it lies flat"
    try:
        plane = plane_from_square(
            square.corners_px, side_m=task.side_m, size=photo.size, focal_px=photo.focal_px
        )
    except GeometryError as error:
        raise PhotoRefused(error.what, where=photo.name, remedy=remedy) from None
    return plane


def _measured(
    todo: list[tuple[PhotoFile, str, Task]], workers: int
) -> Iterator[tuple[Entry, GroundMap | None]]:
    """Measure photos in order, a bounded number at a time."""
    if workers <= 1 or len(todo) <= 1:
        yield from (_measure_file(*job) for job in todo)
        return
    jobs = iter(todo)
    with ThreadPoolExecutor(workers) as pool:
        waiting: list[Future[tuple[Entry, GroundMap | None]]] = []
        waiting.extend(pool.submit(_measure_file, *job) for job in islice(jobs, workers + 1))
        while waiting:
            result = waiting.pop(0).result()
            waiting.extend(pool.submit(_measure_file, *job) for job in islice(jobs, 1))
            yield result


def _measure_file(file: PhotoFile, digest: str, task: Task) -> tuple[Entry, GroundMap | None]:
    """Measure one file; a photo that cannot be measured becomes an entry with its refusal and stops nothing."""
    entry = Entry(digest, task.digest, file.point, file.name, None, "unknown", PhotoFacts())
    try:
        photo = decode(read_bytes(file.path), name=file.name)
        entry = replace(entry, taken_at=photo.taken_at, taken_from=photo.taken_from)
        ground_map, facts = measure_photo(photo, task)
    except PhotoRefused as refusal:
        return replace(entry, refusal=refusal.what, remedy=refusal.remedy), None
    return replace(entry, facts=facts), ground_map


def _digests(files: list[PhotoFile], record: Record) -> list[tuple[PhotoFile, str]]:
    """Pair each file with its content hash, reading only files that are new or changed."""
    pairs, fresh = [], []
    for file in files:
        status = file.path.stat()
        digest = record.known_digest(file.name, status.st_size, status.st_mtime_ns)
        if digest is None:
            try:
                digest = digest_of(read_bytes(file.path))
                fresh.append((file.name, status.st_size, status.st_mtime_ns, digest))
            except PhotoRefused:
                digest = f"unread:{file.name}:{status.st_mtime_ns}"
        pairs.append((file, digest))
    if fresh:
        record.remember_files(fresh)
    return pairs


def _without_copies(
    pairs: list[tuple[PhotoFile, str]],
) -> tuple[list[tuple[PhotoFile, str]], tuple[tuple[str, str], ...]]:
    """Leave out files of one photo point with the same content; returns the rest and (copy, original) names."""
    first: dict[tuple[str, str], str] = {}
    kept, copies = [], []
    for file, digest in pairs:
        original = first.setdefault((file.point, digest), file.name)
        if original == file.name:
            kept.append((file, digest))
        else:
            copies.append((file.name, original))
    return kept, tuple(copies)


def _dated(entry: Entry, marks: PhotoMarks | None) -> Entry:
    """Give the entry the keeper's date where there is one; a measured photo without any date is refused."""
    if marks is not None and marks.taken_at is not None:
        return replace(entry, taken_at=marks.taken_at, taken_from="keeper")
    if entry.is_measured and entry.taken_at is None:
        remedy = f"Give it: swardmark add LAWN {Path(entry.name).name} --date 2026-06-09"
        return replace(entry, refusal="nothing tells the day it was taken", remedy=remedy)
    return entry


def _leave_out_square(ground_map: GroundMap, side_m: float) -> None:
    in_x = (ground_map.x_m >= -SQUARE_MARGIN_M) & (ground_map.x_m <= side_m + SQUARE_MARGIN_M)
    in_y = (ground_map.y_m >= -SQUARE_MARGIN_M) & (ground_map.y_m <= side_m + SQUARE_MARGIN_M)
    ground_map.values[in_y[:, None] & in_x] = NOT_SEEN


def _facts(photo: Photo, square: Square, plane: GroundPlane) -> PhotoFacts:
    pose = plane.pose
    return PhotoFacts(
        size=photo.size,
        corners_px=tuple((round(float(x), 3), round(float(y), 3)) for x, y in square.corners_px),
        square=square.how,
        error_px=round(square.error_px, 3),
        to_photo=tuple(float(value) for value in plane.to_photo.ravel()),
        camera_m=pose.position_m,
        pitch_deg=pose.pitch_deg,
        focal_px=pose.focal_px,
        focal_from=pose.focal_from,
        notes=photo.notes,
    )
