"""Pictures for the page: photos encoded anew without EXIF, and the ground seen straight down; kept in memory.

Pictures are made in threads of their own, and those that take seconds in one beside them, so that neither uploads nor
other pictures wait for them. Only photos that lawn.toml's folder lists are looked up, by their exact name, so that no
address can lead elsewhere.
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from concurrent.futures import Executor, ThreadPoolExecutor
from functools import partial
from typing import Any, TypeVar

from swardmark.common.errors import PhotoRefused
from swardmark.drawing.ground_view import Window, common_window, look_down
from swardmark.drawing.pictures import encode, shrink
from swardmark.lawn.edits.aside import FOLDERS, photos_aside
from swardmark.lawn.toml import PhotoFile
from swardmark.page.desk import Desk
from swardmark.photo.decode import read_bytes, read_photo
from swardmark.photo.header import read_header
from swardmark.record.store import Entry

SIZES = {"thumb": (360, 40_000), "first": (1000, 75_000), "view": (2000, 900_000)}
"""Longer side in pixels and the most bytes of each kind of picture."""
GROUND_BYTES = 250_000
LOOKS = 3
"""A photo that is moved while it is looked up, to or from those left out, is looked up again."""
MOST_KEPT = 300
T = TypeVar("T")


class Pictures:
    """Encoded pictures of one lawn, the last ones kept in memory."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._kept: OrderedDict[tuple, bytes] = OrderedDict()
        self._quick = ThreadPoolExecutor(2, "swardmark-picture")
        self._slow = ThreadPoolExecutor(1, "swardmark-slow-picture")

    def close(self) -> None:
        """End the threads; pictures that are asked for are not made any more."""
        for threads in (self._quick, self._slow):
            threads.shutdown(wait=False, cancel_futures=True)

    async def photo(self, name: str, size: str) -> bytes | None:
        """Return a photo of the lawn as WebP; None if there is no such photo or size."""
        for _ in range(LOOKS if size in SIZES else 0):
            file = await self._in_turn(self._quick, self._file, name)
            longest, most = SIZES[size]
            try:
                status = file.path.stat() if file is not None else None
            except FileNotFoundError:
                continue
            if file is not None and status is not None:
                key = ("photo", name, size, status.st_size, status.st_mtime_ns)
                made = await self._made(key, file, partial(_seen, file, longest, most))
                if made is not None or file.path.exists():
                    return made
        return None

    async def ground(self, point: str, name: str) -> bytes | None:
        """Return the ground of a measured photo seen straight down; None if it is not known."""
        season = self._desk.season
        places = [p for p in season.points if p.name == point] if season else []
        file = await self._in_turn(self._quick, self._file, name)
        entry = next((e for p in places for e in p.entries if e.name == name), None)
        if entry is None or file is None:
            return None
        window = common_window(places[0].maps)
        key = ("ground", entry.digest, entry.settings, window)
        return await self._made(key, file, lambda: _ground(file, entry, window))

    def _file(self, name: str) -> PhotoFile | None:
        """Find a photo by its name; one that was moved since its address was written is found where it is now."""
        folder, prefixes = self._desk.folder, {f"{where}/": where for where in FOLDERS}
        prefix = next((prefix for prefix in prefixes if name.startswith(prefix)), "")
        bare = name.removeprefix(prefix)
        places = {folder / "photos": self._desk.lawn().photos()}
        places |= {folder / FOLDERS[where]: photos_aside(folder, where) for where in FOLDERS}
        asked = folder / (FOLDERS[prefixes[prefix]] if prefix else "photos")
        for root, files in sorted(places.items(), key=lambda place: place[0] != asked):
            for file in files:
                if file.name == bare and file.path.resolve().is_relative_to(root.resolve()):
                    return file
        return None

    async def _made(self, key: tuple, file: PhotoFile, make: Callable[[], bytes]) -> bytes | None:
        """Return a picture that is kept, or make it; the event loop alone touches what is kept."""
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key]
        try:
            slow = await self._in_turn(self._quick, _is_laborious, file)
            made = await self._in_turn(self._slow if slow else self._quick, make)
        except PhotoRefused:
            return None
        self._kept[key] = made
        while len(self._kept) > MOST_KEPT:
            self._kept.popitem(last=False)
        return made

    @staticmethod
    def _in_turn(threads: Executor, work: Callable[..., T], *given: Any) -> Awaitable[T]:
        return asyncio.get_running_loop().run_in_executor(threads, work, *given)


def _is_laborious(file: PhotoFile) -> bool:
    return read_header(read_bytes(file.path), name=file.name).is_laborious


def _seen(file: PhotoFile, longest: int, most_bytes: int) -> bytes:
    return encode(shrink(read_photo(file.path, least_side=longest).rgb, longest), most_bytes=most_bytes)


def _ground(file: PhotoFile, entry: Entry, window: Window) -> bytes:
    rgb = shrink(read_photo(file.path, least_side=2400).rgb, 2400)
    return encode(look_down(rgb, entry.facts.to_photo, entry.facts.size, window), most_bytes=GROUND_BYTES)
