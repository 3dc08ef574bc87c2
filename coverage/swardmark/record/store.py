"""The record: what was measured, in one SQLite file that can be deleted and rebuilt from the photos.

A photo is known by its content (SHA-256), its photo point and the digest of the settings that it was measured with,
so a rerun is a no-op, a copy under another name adds nothing, and changed settings measure anew. Every photo is one
transaction, and every row carries a checksum of its cells, so that one that was edited or damaged is found out. A small
table of file sizes and times spares reading unchanged files again, and one of what was computed from the maps spares
computing it again.
"""

from __future__ import annotations

import datetime as dt
import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from swardmark.canopy.index import GroundMap
from swardmark.common.errors import UsageError
from swardmark.record.place import check_place
from swardmark.record.schema import make_ready
from swardmark.record.shelf import MapShelf, PackedMap, map_row, packed
from swardmark.record.sound import (
    MOST_LETTERS,
    crc_of,
    has_sound_cells,
    has_sound_facts,
    is_whole,
    moment_of,
)

LARGEST_INTEGER = 2**63 - 1


@dataclass(frozen=True)
class PhotoFacts:
    """What was found out about one photo, besides its map.

    Attributes
    ----------
    opencv : str
        Version of OpenCV that measured it.
    corners_px : tuple
        The square's corners 0..3, upright pixels.
    square : str
        How the square was found.
    error_px : float
        Misfit of the square, pixels.
    to_photo : tuple
        The homography from ground meters to pixels, row by row.
    camera_m : tuple of float
        Camera position x, y, height in meters.
    findings : tuple of (str, float)
        What was found wanting, the worst first: name and value, as in the tables of findings.py and check.py.
    moved_m : float
        How far the square lies from where it was in the point's reference photo; NaN if no square is seen.
    alignment_px, alignment_cm : float
        Error of laying the photo into the point's frame by its background: photo pixels, and centimeters 3 m ahead of
        the camera; NaN where the square itself did it.
    background : str
        Background points, packed, of a reference photo and of those whose ground was not seen to be the reference's;
        empty for all others.
    is_unplaced : bool
        Whether the background did not show that this is the reference photo's ground.
    sharpness, sand_light : float
        What later photos are compared with: variance of the Laplacian, and light of the sand over the square's white.
    map_counts : str
        How often the map holds each value, packed; with the two below what the photo point's scale is chosen by.
    full_index, leaf_light : float
        Index of full turf, and light of the leaves over that of the bare ground; NaN where the photo does not show it.
    leaf_edges : tuple of float
        Energy of the edges of leaves across and along the upward direction; 0 where the photo does not show any.
    closed : float
        Share of the ground seen that is closed turf, 0..1.
    footprint_mm : float
        How much ground a pixel sees, the median over the map.
    """

    opencv: str = ""
    size: tuple[int, int] = (0, 0)
    corners_px: tuple[tuple[float, float], ...] = ()
    square: str = ""
    error_px: float = float("nan")
    to_photo: tuple[float, ...] = ()
    camera_m: tuple[float, float, float] = (float("nan"),) * 3
    pitch_deg: float = float("nan")
    focal_px: float = float("nan")
    focal_from: str = ""
    notes: tuple[str, ...] = ()
    findings: tuple[tuple[str, float], ...] = ()
    moved_m: float = 0.0
    alignment_px: float = float("nan")
    alignment_cm: float = float("nan")
    background: str = ""
    is_unplaced: bool = False
    sharpness: float = float("nan")
    sand_light: float = float("nan")
    map_counts: str = ""
    full_index: float = float("nan")
    closed: float = float("nan")
    leaf_light: float = float("nan")
    leaf_edges: tuple[float, float] = (0.0, 0.0)
    footprint_mm: float = float("nan")


@dataclass(frozen=True)
class Entry:
    """One photo in the record: measured, or refused with its reason."""

    digest: str
    settings: str
    point: str
    name: str
    taken_at: dt.datetime | None
    taken_from: str
    facts: PhotoFacts
    refusal: str = ""
    remedy: str = ""
    is_passing: bool = False
    """Whether the reason of the refusal may pass, as of a file that could not be read: never recorded."""

    @property
    def is_measured(self) -> bool:
        """Whether the photo has a ground map."""
        return not self.refusal


class Record:
    """The SQLite record of one lawn; use as a context manager."""

    def __init__(self, path: Path) -> None:
        self.path = path
        check_place(path.parent)
        try:
            self._db = sqlite3.connect(path, timeout=30, isolation_level=None)
        except sqlite3.Error as error:
            raise self._unusable(error) from None
        try:
            make_ready(self._db, path)
        except sqlite3.Error as error:
            self.close()
            raise self._unusable(error) from None
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> Record:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def put(self, entry: Entry, ground_map: GroundMap | PackedMap | None) -> None:
        """Keep one photo's result, replacing an earlier one of the same key, in one transaction."""
        key = (entry.digest, entry.settings, entry.point)
        when = entry.taken_at.isoformat(timespec="seconds") if entry.taken_at else None
        told = (entry.name, when, entry.taken_from, entry.refusal, entry.remedy)
        row = (*key, *told, json.dumps(vars(entry.facts)))
        kept = packed(ground_map) if isinstance(ground_map, GroundMap) else ground_map
        with self._transaction():
            self._db.execute(
                "INSERT OR REPLACE INTO photo VALUES (?,?,?,?,?,?,?,?,?,?)", (*row, crc_of(*row))
            )
            self._db.execute("DELETE FROM derived WHERE point=?", (entry.point,))
            if kept is not None:
                query = "INSERT OR REPLACE INTO ground_map VALUES (?,?,?,?,?,?,?,?,?,?,?)"
                self._db.execute(query, map_row(key, kept))

    def entry(self, *, digest: str, settings: str, point: str) -> Entry | None:
        """Return what is known of a photo under these settings, or None; a row that cannot be read is not known."""
        query = "SELECT * FROM photo WHERE digest=? AND settings=? AND point=?"
        return _entry(self._first_row(query, (digest, settings, point)))

    def opencv(self) -> str:
        """Return the version of OpenCV that the newest measured photo was measured with; "" where none is known."""
        query = "SELECT * FROM photo WHERE refusal='' OR refusal IS NULL ORDER BY rowid DESC LIMIT 1"
        entry = _entry(self._first_row(query, ()))
        return entry.facts.opencv if entry else ""

    def taken_at(self, *, digest: str) -> tuple[dt.datetime | None, str]:
        """Return when a photo was taken by what it says itself, None if that is not known, and where it is from."""
        row = self._first_row("SELECT * FROM photo WHERE digest=? AND taken_at NOT NULL", (digest,))
        return (moment_of(row[4]), row[5]) if row and is_whole(row) else (None, "unknown")

    def ground_map(self, entry: Entry) -> GroundMap:
        """Return the map of a measured photo."""
        return self.maps([entry])[0]

    def maps(self, entries: Sequence[Entry]) -> MapShelf:
        """Return the maps of measured photos, read when they are used, also after the record was closed."""
        keys = [(entry.digest, entry.settings, entry.point) for entry in entries]
        return MapShelf(self.path, keys, [entry.name for entry in entries])

    def record_bytes(self, entries: Iterable[Entry]) -> int:
        """Return the bytes that the maps and facts of photos take."""
        query = (
            "SELECT coalesce(length(bytes), 0) + length(facts) FROM photo LEFT JOIN ground_map"
            " USING (digest, settings, point) WHERE digest=? AND settings=? AND point=?"
        )
        rows = (self._first_row(query, (entry.digest, entry.settings, entry.point)) for entry in entries)
        return sum(int(row[0]) for row in rows if row)

    def derived(self, *, point: str, basis: str) -> bytes | None:
        """Return what was computed of a photo point's maps on this basis; None if it is not kept, or damaged."""
        row = self._first_row("SELECT bytes FROM derived WHERE point=? AND basis=?", (point, basis))
        kept = row[0] if row and isinstance(row[0], bytes) else b""
        return kept[4:] if len(kept) > 4 and kept[:4] == _mark(point, basis, kept[4:]) else None

    def keep_derived(self, point: str, values: Mapping[str, bytes]) -> None:
        """Keep what was computed of a photo point's maps, each under its basis, in the place of all that was kept."""
        rows = [(point, basis, _mark(point, basis, value) + value) for basis, value in values.items()]
        with self._transaction():
            self._db.execute("DELETE FROM derived WHERE point=?", (point,))
            self._db.executemany("INSERT INTO derived VALUES (?,?,?)", rows)

    def bases(self) -> list[tuple[str, str]]:
        """Return photo point and basis of all that was computed of maps; a name with a slash in front is no point's."""
        query = "SELECT point, basis FROM derived WHERE point NOT LIKE '/%' ORDER BY point, basis"
        try:
            return self._db.execute(query).fetchall()
        except sqlite3.Error as error:
            raise self._unusable(error) from None

    def known_digest(self, name: str, size: int, mtime_ns: int) -> str | None:
        """Return the content hash of a file that has not changed since it was last read."""
        query = "SELECT * FROM file WHERE name=? AND size=? AND mtime_ns=?"
        row = self._first_row(query, (name, size, min(mtime_ns, LARGEST_INTEGER)))
        return str(row[3]) if row and is_whole(row) else None

    def remember_files(self, files: Iterable[tuple[str, int, int, str]]) -> None:
        """Keep name, size, modification time and content hash of files."""
        rows = [
            (name, size, min(mtime_ns, LARGEST_INTEGER), digest) for name, size, mtime_ns, digest in files
        ]
        if not rows:
            return
        with self._transaction():
            self._db.executemany(
                "INSERT OR REPLACE INTO file VALUES (?,?,?,?,?)", [(*row, crc_of(*row)) for row in rows]
            )

    def _first_row(self, query: str, values: tuple[Any, ...]) -> tuple[Any, ...] | None:
        try:
            row: tuple[Any, ...] | None = self._db.execute(query, values).fetchone()
        except sqlite3.Error as error:
            raise self._unusable(error) from None
        return row

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        try:
            self._db.execute("BEGIN IMMEDIATE")
            yield
            self._db.execute("COMMIT")
        except sqlite3.Error as error:
            if self._db.in_transaction:
                self._db.execute("ROLLBACK")
            raise self._unusable(error) from None
        except BaseException:
            if self._db.in_transaction:
                self._db.execute("ROLLBACK")
            raise

    def _unusable(self, error: sqlite3.Error) -> UsageError:
        remedy = (
            "Check the disk and its permissions; if the file is damaged, delete it: it is rebuilt from the photos"
            f" (swardmark doctor --repair {self.path.parent} does both)"
        )
        return UsageError(f"the record cannot be used ({error})", where=str(self.path), remedy=remedy)


def _entry(row: tuple[Any, ...] | None) -> Entry | None:
    if row is None or not is_whole(row) or not isinstance(row[8], str) or len(row[8]) > MOST_LETTERS:
        return None
    digest, settings, point, name, taken_at, taken_from, refusal, remedy, facts, _ = row
    try:
        kept = _facts().validate_json(facts, strict=True)
    except ValueError:
        return None
    if not (has_sound_cells(taken_at, taken_from, refusal, remedy) and has_sound_facts(vars(kept))):
        return None
    return Entry(
        digest, settings, point, name, moment_of(taken_at), taken_from, kept, refusal or "", remedy or ""
    )


def _mark(point: str, basis: str, value: bytes) -> bytes:
    return crc_of(point, basis, value).to_bytes(4, "big")


@cache
def _facts() -> TypeAdapter[PhotoFacts]:
    return TypeAdapter(PhotoFacts)
