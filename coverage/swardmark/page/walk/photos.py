"""Photos of a walk around the square: taking one in, what is still missing, and measuring the set.

A photo that cannot be used is not kept: it would spoil the whole set. One that comes more than three minutes after the
first begins a new set.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from swardmark.common.errors import PhotoRefused
from swardmark.common.files import move_new, own_folder
from swardmark.drawing.figures import figure_bytes
from swardmark.drawing.relief_map import relief_map
from swardmark.lawn.folder import copy_in
from swardmark.lawn.lock import files_lock, lawn_lock
from swardmark.lawn.photos import BIN_FOLDER, MAIN_POINT, RELIEF_FOLDER, PhotoFile, photo_files
from swardmark.lawn.toml import Lawn, read_lawn
from swardmark.page.walk import sentences
from swardmark.page.walk.answer import newest_map
from swardmark.page.work import Told
from swardmark.photo.decode import decode, digest_of, read_bytes
from swardmark.photo.header import read_header
from swardmark.record.place import RECORD_FILE
from swardmark.relief.arc import ArcPhoto, ArcSoFar, arc_photo, arc_so_far
from swardmark.relief.folder import kept_relief, relief_of
from swardmark.relief.gather import gather
from swardmark.relief.readings import ReliefReview
from swardmark.relief.refusals import refused
from swardmark.relief.sentences import NO_DAY

MOST_PHOTOS = 400
"""In a folder: eighty sets."""
MAP_IN = 3.4
"""A map so wide can still be read on a phone."""
READ_PX = 2000
"""The marks are found in photos of this many pixels, in a fifth of the time."""


@dataclass(frozen=True)
class Taken:
    """What became of a photo: the walk with it, and the name under which it is kept, empty if it cannot be used.

    `is_late` says that it begins a new set because the one before had run out of time.
    """

    walk: ArcSoFar
    kept: str
    is_late: bool = False


@dataclass(frozen=True)
class _Known:
    """A photo in the folder with its time."""

    path: Path
    size: int
    changed_ns: int
    taken_at: dt.datetime | None

    @property
    def name(self) -> str:
        return self.path.name


def walk_so_far(lawn: Lawn, *, point: str = MAIN_POINT) -> ArcSoFar:
    """Return what the newest set of a photo point has and what is missing; an empty one if that set was measured."""
    newest = _newest(lawn, point)
    if newest and {one.name for one in newest} <= _measured(lawn, point):
        newest = []
    side_m = lawn.side_of(point)
    return arc_so_far([_seen(one.path, one.size, one.changed_ns, side_m) for one in newest], side_m=side_m)


def take_photo(
    lawn: Lawn, data: bytes, name: str, *, point: str = MAIN_POINT, taken: dt.datetime | None = None
) -> Taken:
    """Add a photo to the set that it belongs to by its time.

    Parameters
    ----------
    lawn : Lawn
        The lawn.
    data : bytes
        The photo's file, whole.
    name : str
        What it is called.
    point : str
        The photo point whose square it shows.
    taken : datetime, optional
        When it was taken, for a photo that does not say so itself; its name then does.

    Raises
    ------
    PhotoRefused
        It cannot be read, says no time, or the folder is full.
    """
    if taken is not None and read_header(data, name=name).taken_from != "camera":
        name = f"{taken:%Y-%m-%d %H.%M.%S} {name}"
    side_m = lawn.side_of(point)
    new = arc_photo(decode(data, name=name, least_side=READ_PX), side_m=side_m)
    if new.taken_at is None:
        raise refused(NO_DAY, where=name)
    with files_lock(lawn.folder):
        known = _dated(_files(lawn, point))
        if len(known) >= MOST_PHOTOS:
            what = sentences.TOO_MANY.format(most=MOST_PHOTOS)
            raise PhotoRefused(what, where=name, remedy=sentences.TOO_MANY_REMEDY)
        same = next((one for one in known if one.size == len(data) and _is_same(one.path, data)), None)
        others = [one for one in known if one is not same]
        both: list[_Known | ArcPhoto] = [*others, new]
        group = next(group for group in gather(both) if any(one is new for one in group))
        earlier = [one for one in group if isinstance(one, _Known)]
        stands = [_seen(one.path, one.size, one.changed_ns, side_m) for one in earlier]
        walk = arc_so_far([*stands, new], side_m=side_m)
        if walk.photos[-1].fault:
            return Taken(walk, "")
        before = gather(others)[-1:] if len(group) == 1 else []
        is_late = (
            bool(before)
            and not arc_so_far(
                [_seen(one.path, one.size, one.changed_ns, side_m) for one in before[0]], side_m=side_m
            ).is_complete
        )
        if same is not None:
            return Taken(walk, same.name)
        place = RELIEF_FOLDER if point == MAIN_POINT else f"{point}/{RELIEF_FOLDER}"
        return Taken(walk, copy_in(data, name, own_folder(lawn.folder, "photos"), place), is_late)


def put_away(lawn: Lawn, *, point: str = MAIN_POINT) -> int:
    """Move the photos of the newest set into the lawn's bin; returns how many."""
    with files_lock(lawn.folder):
        place = Path(RELIEF_FOLDER) if point == MAIN_POINT else Path(point) / RELIEF_FOLDER
        bin_ = own_folder(lawn.folder, BIN_FOLDER)
        newest = _newest(lawn, point)
        for one in newest:
            move_new(one.path, bin_ / place / one.name)
        return len(newest)


def measure_walks(folder: Path, told: Told, *, point: str = MAIN_POINT) -> tuple[str, ...]:
    """Measure the heights of the ground from all sets; returns why the newest of a photo point cannot be, if so."""
    lawn = read_lawn(folder)
    newest = {one.name for one in _newest(lawn, point)}
    with lawn_lock(folder, on_wait=lambda line: told(0, 0, line)):
        review = relief_of(lawn)
    own = [one for one in review.refusals if one.where in newest]
    return tuple(f"{one.what[:1].upper()}{one.what[1:]}. {one.remedy}." for one in own)


def draw_map(folder: Path, _told: Told, *, point: str) -> bytes:
    """Return the newest map of a photo point as PNG; empty if there is none."""
    lawn = read_lawn(folder)
    one = newest_map(kept_relief(lawn), point)
    return (
        b"" if one is None else figure_bytes(relief_map(one.relief, units=lawn.units, width_in=MAP_IN), "png")
    )


def review_of(lawn: Lawn) -> ReliefReview:
    """Return what is known of the lawn's relief photos; read again only when a photo or the record changed."""
    root = lawn.folder / "photos"
    files = [path for path in root.rglob("*") if RELIEF_FOLDER in path.relative_to(root).parts]
    files += list(lawn.folder.glob(f"{RECORD_FILE}*"))
    state = tuple((path, path.stat().st_size, path.stat().st_mtime_ns) for path in sorted(files))
    return _review(lawn.folder, (lawn.square_side_m, *(one.square_side_m for one in lawn.point)), state)


@lru_cache(maxsize=2)
def _review(
    folder: Path, _sides_m: tuple[float | None, ...], _state: tuple[tuple[Path, int, int], ...]
) -> ReliefReview:
    return kept_relief(read_lawn(folder))


def _measured(lawn: Lawn, point: str) -> set[str]:
    review = review_of(lawn)
    own = [one.relief.photos for one in review.sand if one.point == point]
    own += [one.pegs.photos for one in review.pegs if one.point == point]
    return {name for names in own for name in names}


def _newest(lawn: Lawn, point: str) -> list[_Known]:
    sets = gather(_dated(_files(lawn, point)))
    return sets[-1] if sets else []


def _files(lawn: Lawn, point: str) -> Iterator[PhotoFile]:
    root = lawn.folder / "photos"
    folder = (root if point == MAIN_POINT else root / point) / RELIEF_FOLDER
    if folder.is_dir() and folder.resolve().is_relative_to(root.resolve()):
        yield from (file for file in photo_files(folder) if file.point == MAIN_POINT and not file.fault)


def _dated(files: Iterable[PhotoFile]) -> list[_Known]:
    """Return the photos that say when they were taken."""
    known = []
    for file in files:
        size, changed = file.size_and_time()
        when = _time_of(file.path, size, changed)
        if when is not None:
            known.append(_Known(file.path, size, changed, when))
    return known


@lru_cache(maxsize=2000)
def _time_of(path: Path, _size: int, _changed_ns: int) -> dt.datetime | None:
    try:
        return read_header(read_bytes(path), name=path.name).taken_at
    except PhotoRefused:
        return None


@lru_cache(maxsize=64)
def _seen(path: Path, _size: int, _changed_ns: int, side_m: float) -> ArcPhoto:
    """Return from where a photo was taken; read again only when its file changed."""
    try:
        return arc_photo(decode(read_bytes(path), name=path.name, least_side=READ_PX), side_m=side_m)
    except PhotoRefused as refusal:
        return ArcPhoto(path.name, fault=f"{refusal.what}. {refusal.remedy}")


def _is_same(path: Path, data: bytes) -> bool:
    try:
        return digest_of(read_bytes(path)) == digest_of(data)
    except PhotoRefused:
        return False
