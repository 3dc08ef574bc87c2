"""Which photos a lawn folder holds: each file's content hash and day, and copies of one photo under several names."""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

from swardmark.common.crew import Crew, Source
from swardmark.common.errors import PhotoRefused, UsageError
from swardmark.lawn.photos import PhotoFile
from swardmark.photo.day import date_in_name
from swardmark.photo.decode import digest_of
from swardmark.photo.header import read_header
from swardmark.record.store import Record

UNREAD = "unread:"
"""Begins what stands for the content hash of a file that cannot be read."""
HELD_BYTES = 32_000_000
"""Photo files kept in memory between being looked through and being measured, at most."""


@dataclass(frozen=True)
class Found:
    """A photo of the folder: its file, its content hash, and its own day where it was read for the hash."""

    file: PhotoFile
    digest: str
    taken_at: dt.datetime | None = None


class Reader:
    """Reads photo files, and keeps those it has just read for their hash until they are measured."""

    def __init__(self, *, most_bytes: int = HELD_BYTES) -> None:
        self._room, self._held = most_bytes, dict[str, bytes]()
        self._turn = threading.Lock()

    def look(self, file: PhotoFile) -> Found:
        """Read a file for its content hash and its day; raises PhotoRefused where it cannot be read."""
        data = file.read()
        with self._turn:
            if len(data) <= self._room and file.name not in self._held:
                self._held[file.name] = data
                self._room -= len(data)
        return look_through(file, data)

    def take(self, file: PhotoFile) -> bytes:
        """Return a file's bytes, from memory where they are held, and hold them no longer."""
        with self._turn:
            data = self._held.pop(file.name, None)
            self._room += len(data or b"")
        return file.read() if data is None else data


@dataclass(frozen=True)
class HeldPhoto:
    """A photo file as the source of a job: what its reader holds of it, else the file."""

    file: PhotoFile
    reader: Reader

    @property
    def point(self) -> str:
        """The photo point."""
        return self.file.point

    @property
    def name(self) -> str:
        """The photo's name in all tables."""
        return self.file.name

    def read(self) -> bytes:
        """Return the photo file's bytes; raises PhotoRefused where they cannot be had."""
        return self.reader.take(self.file)


def source_of(one: Found, reader: Reader) -> Source:
    """Return where a photo's bytes come from when it is measured; those behind a URL must be what was looked at."""
    if one.file.is_elsewhere:
        return one.file if one.digest.startswith(UNREAD) else one.file.pinned(one.digest)
    return HeldPhoto(one.file, reader)


def look_through(file: PhotoFile, data: bytes) -> Found:
    """Return a photo's content hash and the date in its own file."""
    try:
        taken_at = read_header(data, name=file.name).taken_at
    except PhotoRefused:
        taken_at = None
    return Found(file, digest_of(data), taken_at)


def find_photos(files: Sequence[PhotoFile], record: Record, reader: Reader, crew: Crew) -> list[Found]:
    """Pair each file with its content hash, reading only files that are new or changed.

    Files of this machine are read by threads here, those behind a URL by the crew.
    """
    found: dict[str, Found] = {}
    remote: list[tuple[PhotoFile]] = []
    local: list[tuple[PhotoFile, Callable[[PhotoFile], Found]]] = []
    for file in files:
        digest = None if file.fault else record.known_digest(file.name, *file.size_and_time())
        if digest is not None:
            found[file.name] = Found(file, digest)
        elif file.is_elsewhere:
            remote.append((file,))
        else:
            local.append((file, reader.look))
    fresh = [looked for _, looked in crew.here.each(_looked, local)]
    for (file,), result in crew.each(look_at, remote):
        if isinstance(result, PhotoRefused):
            raise UsageError(result.what, where=file.name, remedy=result.remedy)
        fresh.append(Found(file, *result))
    record.remember_files((*_mark(one), one.digest) for one in fresh if not one.digest.startswith(UNREAD))
    found.update({one.file.name: one for one in fresh})
    return [found[file.name] for file in files]


def look_at(file: PhotoFile) -> tuple[str, dt.datetime | None]:
    """Read a photo for its content hash and its day, wherever that is done."""
    found = _looked(file, lambda file: look_through(file, file.read()))
    return found.digest, found.taken_at


def _looked(file: PhotoFile, look: Callable[[PhotoFile], Found]) -> Found:
    try:
        return look(file)
    except PhotoRefused as refusal:
        return Found(file, f"{UNREAD}{file.name}:{file.size_and_time()[1]}:{refusal.what}")


def _mark(one: Found) -> tuple[str, int, int]:
    return one.file.name, *one.file.size_and_time()


def without_copies(
    found: Sequence[Found], spoken_of: Collection[str] = ()
) -> tuple[list[Found], tuple[tuple[str, str], ...]]:
    """Leave out files of one photo point with the same content; returns the rest and (copy, original) names.

    The original is the one in `spoken_of`, the photos that were marked or counted; else the one whose name spells the
    earliest day, for copies are named later; else the first.
    """
    originals: dict[tuple[str, str], str] = {}
    for one in sorted(found, key=lambda one: _as_original(one.file.name, spoken_of)):
        originals.setdefault((one.file.point, one.digest), one.file.name)
    named = [(one, originals[one.file.point, one.digest]) for one in found]
    kept = [one for one, original in named if original == one.file.name]
    return kept, tuple((one.file.name, name) for one, name in named if name != one.file.name)


def _as_original(name: str, spoken_of: Collection[str]) -> tuple[bool, dt.datetime]:
    return name not in spoken_of, date_in_name(name) or dt.datetime.max
