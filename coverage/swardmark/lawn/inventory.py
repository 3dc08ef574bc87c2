"""Which photos a lawn folder holds: each file's content hash and day, and copies of one photo under several names."""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Sequence
from dataclasses import dataclass

from swardmark.errors import PhotoRefused
from swardmark.lawn.photos import PhotoFile
from swardmark.lawn.record import Record
from swardmark.photo.decode import digest_of
from swardmark.photo.header import read_header

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


def look_through(file: PhotoFile, data: bytes) -> Found:
    """Return a photo's content hash and the day that it tells itself."""
    try:
        taken_at = read_header(data, name=file.name).taken_at
    except PhotoRefused:
        taken_at = None
    return Found(file, digest_of(data), taken_at)


def find_photos(files: Sequence[PhotoFile], record: Record, reader: Reader) -> list[Found]:
    """Pair each file with its content hash, reading only files that are new or changed."""
    found, fresh = [], []
    for file in files:
        size, mtime_ns = file.size_and_time()
        digest = None if file.fault else record.known_digest(file.name, size, mtime_ns)
        if digest is not None:
            found.append(Found(file, digest))
            continue
        try:
            found.append(reader.look(file))
            fresh.append((file.name, size, mtime_ns, found[-1].digest))
        except PhotoRefused as refusal:
            found.append(Found(file, f"unread:{file.name}:{mtime_ns}:{refusal.what}"))
    if fresh:
        record.remember_files(fresh)
    return found


def without_copies(found: Sequence[Found]) -> tuple[list[Found], tuple[tuple[str, str], ...]]:
    """Leave out files of one photo point with the same content; returns the rest and (copy, original) names."""
    first: dict[tuple[str, str], str] = {}
    kept, copies = [], []
    for one in found:
        original = first.setdefault((one.file.point, one.digest), one.file.name)
        if original == one.file.name:
            kept.append(one)
        else:
            copies.append((one.file.name, original))
    return kept, tuple(copies)
