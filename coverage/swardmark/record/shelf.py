"""A photo point's ground maps, read from the record when they are asked for.

A thousand maps unpacked take 400 MB; what most commands need of them is kept beside them in the record. So a season
holds a shelf and not the maps: a sequence like any other, which remembers the maps used last up to a fixed size and can
be sent to another process.
"""

from __future__ import annotations

import json
import sqlite3
import threading
import zlib
from collections import OrderedDict
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar, overload

import numpy as np

from swardmark.canopy.index import Box, GroundMap, Window, box_m
from swardmark.common.crew import ALONE, Threads
from swardmark.common.errors import UsageError
from swardmark.record.sound import crc_of, is_whole

MOST_POINTS = 100_000_000
FARTHEST_FROM_SQUARE_M, LEAST_SPACING_M = 40.0, 0.004
"""No point of a map lies farther from the square's corner 0: the camera sees the square, and the ground that is read
ends 12 m from the camera. The finest spacing of points that lawn.toml allows."""
PACKING = (1, zlib.DEFLATED, 15, 9, zlib.Z_RLE)
"""How zlib packs: runs of unseen points, and each value by how common it is. Twice as fast as plain level 1, and within
2 % of what the values' own entropy allows, to which higher levels and other packers come no nearer."""
HELD_BYTES = 24_000_000
"""Unpacked maps that one shelf remembers, at most."""
_PLACE = "digest, settings, point, row0, col0, rows, cols, spacing_m, packed_crc, crc"
_OF_ONE = "FROM ground_map WHERE digest=? AND settings=? AND point=?"

T = TypeVar("T")
MapKey = tuple[str, str, str]
"""Content hash, settings digest and photo point: the record's key of a photo."""


class MapShelf(Sequence[GroundMap]):
    """The maps of some photos, oldest first, each read from the record file at its first use.

    Parameters
    ----------
    path : Path
        The record file.
    keys : sequence of (digest, settings, point)
        The photos.
    names : sequence of str
        What error lines call them.

    Raises
    ------
    UsageError
        On use: the record or a map in it is gone or damaged.
    """

    def __init__(self, path: Path, keys: Sequence[MapKey], names: Sequence[str]) -> None:
        self._path, self.keys, self.names = Path(path).absolute(), tuple(keys), tuple(names)
        self._held: OrderedDict[int, GroundMap] = OrderedDict()
        self._turn = threading.Lock()

    def __len__(self) -> int:
        return len(self.keys)

    @overload
    def __getitem__(self, at: int) -> GroundMap: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[GroundMap, ...]: ...
    def __getitem__(self, at: int | slice) -> GroundMap | tuple[GroundMap, ...]:
        numbers = range(len(self))[at]
        if isinstance(numbers, range):
            return tuple(self._read(numbers))
        return next(self._read([numbers]))

    def __iter__(self) -> Iterator[GroundMap]:
        return self._read(range(len(self)))

    def __getstate__(self) -> dict[str, Any]:
        return {"path": self._path, "keys": self.keys, "names": self.names}

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__init__(**state)  # type: ignore[misc]

    def each(self, work: Callable[[int, GroundMap], T], threads: Threads = ALONE) -> Iterator[T]:
        """Do `work(number, map)` for every map, unpacked by whichever thread works on it; results in order."""

        def unpack_and_work(number: int, kept: GroundMap | tuple[Any, ...]) -> T:
            return work(number, self._unpacked(number, kept))

        with closing(self._kept(range(len(self)))) as jobs:
            yield from (result for _, result in threads.each(unpack_and_work, jobs))

    def together(self, numbers: Sequence[int]) -> bytes:
        """Return some maps as they are kept, in one piece; `unpacked_together` makes the maps of it."""
        with closing(self._opened()) as db:
            rows = [self._row(db, number, f"{_PLACE}, bytes") for number in numbers]
        names = [self.names[number] for number in numbers]
        head = [(name, len(row[-1]), row[:-1]) for name, row in zip(names, rows, strict=True)]
        return b"".join([json.dumps([str(self._path), head]).encode(), b"\n", *(row[-1] for row in rows)])

    def windows(self) -> list[Window]:
        """Return where each map lies on the lattice, without unpacking any."""
        return [window for window, _ in self._places]

    def boxes_m(self) -> list[Box]:
        """Return the ground that each map covers, without unpacking any: left, bottom, right and top, meters."""
        return [box_m(window, spacing_m) for window, spacing_m in self._places]

    @property
    def spacing_m(self) -> float:
        """The spacing of points, the same for all maps, without unpacking any."""
        return self._places[0][1]

    @cached_property
    def _places(self) -> list[tuple[Window, float]]:
        with closing(self._opened()) as db:
            rows = [self._row(db, number, _PLACE) for number in range(len(self))]
        places = [row[3:8] for row in rows]
        for number, (row, place) in enumerate(zip(rows, places, strict=True)):
            if not (is_whole(row) and is_likely_place(*place)) or place[4] != places[0][4]:
                raise damaged(self.names[number], self._path)
        return [((row0, col0, height, width), spacing_m) for row0, col0, height, width, spacing_m in places]

    def _read(self, numbers: Sequence[int]) -> Iterator[GroundMap]:
        with closing(self._kept(numbers)) as kept:
            yield from (self._unpacked(*one) for one in kept)

    def _kept(self, numbers: Sequence[int]) -> Generator[tuple[int, GroundMap | tuple[Any, ...]], None, None]:
        """Yield maps that are remembered, or the rows that they are packed in; the file is opened once, if at all."""
        db: sqlite3.Connection | None = None
        try:
            for number in numbers:
                with self._turn:
                    ground_map = self._held.get(number)
                if ground_map is not None:
                    yield number, ground_map
                    continue
                db = db or self._opened()
                yield number, self._row(db, number, f"{_PLACE}, bytes")
        finally:
            if db is not None:
                db.close()

    def _unpacked(self, number: int, kept: GroundMap | tuple[Any, ...]) -> GroundMap:
        if isinstance(kept, GroundMap):
            return kept
        ground_map = unpacked(kept, name=self.names[number], path=self._path)
        with self._turn:
            self._held[number] = ground_map
            while len(self._held) > 1 and sum(m.values.nbytes for m in self._held.values()) > HELD_BYTES:
                self._held.popitem(last=False)
        return ground_map

    def _row(self, db: sqlite3.Connection, number: int, columns: str) -> tuple[Any, ...]:
        try:
            row: tuple[Any, ...] | None = db.execute(
                f"SELECT {columns} {_OF_ONE}", self.keys[number]
            ).fetchone()
        except sqlite3.Error:
            row = None
        if row is None:
            raise damaged(self.names[number], self._path)
        return row

    def _opened(self) -> sqlite3.Connection:
        try:
            return sqlite3.connect(f"{self._path.as_uri()}?mode=rw", uri=True, timeout=30)
        except sqlite3.Error:
            remedy = f"Measure again: swardmark measure {self._path.parent}"
            raise UsageError("the record is gone", where=str(self._path), remedy=remedy) from None


@dataclass(frozen=True)
class PackedMap:
    """A ground map as the record keeps it, made where the photo was measured."""

    row0: int
    col0: int
    rows: int
    cols: int
    spacing_m: float
    data: bytes


def packed(ground_map: GroundMap) -> PackedMap:
    """Pack a map for the record."""
    rows, cols = ground_map.values.shape
    place = (ground_map.row0, ground_map.col0, rows, cols, float(ground_map.spacing_m))
    packer = zlib.compressobj(*PACKING)
    return PackedMap(*place, packer.compress(ground_map.values.tobytes()) + packer.flush())


def map_row(key: MapKey, kept: PackedMap) -> tuple[Any, ...]:
    """Return a map's row: its key, its place with the checksum of both, and its bytes with theirs before all.

    The place is read without the bytes, so that its checksum stands before them and takes in theirs.
    """
    *place, data = vars(kept).values()
    row = (*key, *place, crc_of(data))
    return (*row, crc_of(*row), data)


def unpacked(row: Sequence[Any], *, name: str, path: Path) -> GroundMap:
    """Make the map of its row of the record.

    Raises
    ------
    UsageError
        It is damaged.
    """
    try:
        *_, row0, col0, rows, cols, spacing_m, packed_crc, _, data = row
        if not (is_whole(row[:-1]) and packed_crc == crc_of(data)):
            raise ValueError("not as it was written")
        if not is_likely_place(row0, col0, rows, cols, spacing_m):
            raise ValueError("nowhere near the camera")
        raw = zlib.decompressobj().decompress(data, min(rows * cols, MOST_POINTS) + 1)
        return GroundMap(np.frombuffer(raw, np.uint8).reshape(rows, cols), row0, col0, spacing_m)
    except (TypeError, ValueError, OverflowError, zlib.error):
        raise damaged(name, path) from None


def unpacked_together(data: bytes) -> Iterator[GroundMap]:
    """Make the maps of what `MapShelf.together` returned, one at a time; raises UsageError for a damaged one."""
    at = data.index(b"\n") + 1
    path, head = json.loads(data[:at])
    for name, size, row in head:
        yield unpacked((*row, data[at : at + size]), name=name, path=Path(path))
        at += size


def is_likely_place(row0: Any, col0: Any, rows: Any, cols: Any, spacing_m: Any) -> bool:
    """Tell whether a map can lie there: an edited row must not make the common window of all maps a field."""
    whole = all(isinstance(value, int) for value in (row0, col0, rows, cols))
    if not (
        whole and isinstance(spacing_m, float) and LEAST_SPACING_M <= spacing_m <= 1 and rows >= 0 <= cols
    ):
        return False
    ends = (row0, col0, row0 + rows, col0 + cols)
    return all(abs(end) * spacing_m <= FARTHEST_FROM_SQUARE_M for end in ends)


def damaged(name: str, path: Path) -> UsageError:
    """Return the error that says so of a photo's map."""
    remedy = f"Rebuild it from the photos: swardmark doctor --repair {path.parent}"
    return UsageError(f"the map of {name} is damaged", where=str(path), remedy=remedy)
