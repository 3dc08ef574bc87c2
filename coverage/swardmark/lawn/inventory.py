"""Which photos a lawn folder holds: each file's content hash, and copies of one photo under several names."""

from __future__ import annotations

from swardmark.errors import PhotoRefused
from swardmark.lawn.lawn import PhotoFile
from swardmark.lawn.record import Record
from swardmark.photo.decode import digest_of


def digests(files: list[PhotoFile], record: Record) -> list[tuple[PhotoFile, str]]:
    """Pair each file with its content hash, reading only files that are new or changed."""
    pairs, fresh = [], []
    for file in files:
        size, mtime_ns = file.size_and_time()
        digest = None if file.fault else record.known_digest(file.name, size, mtime_ns)
        if digest is None:
            try:
                digest = digest_of(file.read())
                fresh.append((file.name, size, mtime_ns, digest))
            except PhotoRefused as refusal:
                digest = f"unread:{file.name}:{mtime_ns}:{refusal.what}"
        pairs.append((file, digest))
    if fresh:
        record.remember_files(fresh)
    return pairs


def without_copies(
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
