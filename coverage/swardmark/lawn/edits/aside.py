"""Photos that are left out of the measuring, or in the bin: moved beside photos/, whole, and back again.

A photo of a photo point keeps its folder there too, so that it goes back to where it was.
"""

from __future__ import annotations

import contextlib
import datetime as dt
from functools import lru_cache
from pathlib import Path
from typing import Literal

from swardmark.common.errors import FileError, PhotoRefused, UsageError
from swardmark.common.files import move_new, own_folder
from swardmark.lawn.lock import files_lock
from swardmark.lawn.marks import PhotoMarks, read_marks
from swardmark.lawn.photos import BIN_FOLDER, PhotoFile, photo_files, remove_photo, restore_photo
from swardmark.photo.day import day_here, usable_moment
from swardmark.photo.decode import read_bytes
from swardmark.photo.header import read_header

Where = Literal["left_out", "bin"]
FOLDERS: dict[Where, str] = {"left_out": "left_out", "bin": BIN_FOLDER}


def set_aside(folder: Path, name: str, where: Where) -> str:
    """Move a photo of the lawn out of photos/; returns its name there.

    Raises
    ------
    UsageError
        There is no such photo, or it cannot be moved.
    """
    if where == "bin":
        return remove_photo(folder, name)
    with files_lock(folder):
        return _move(folder / "photos", name, own_folder(folder, FOLDERS[where]))


def put_back(folder: Path, name: str, where: Where) -> str:
    """Move a photo that was set aside back into photos/; returns its name there. Raises as `set_aside`."""
    if where == "bin":
        return restore_photo(folder, name)
    with files_lock(folder):
        return _move(own_folder(folder, FOLDERS[where]), name, folder / "photos")


def photos_aside(folder: Path, where: Where) -> list[PhotoFile]:
    """List the photos that were set aside, by name; none where a link stands in place of their folder."""
    root = folder / FOLDERS[where]
    return [] if root.is_symlink() else sorted(photo_files(root), key=lambda photo: photo.name)


def marks_aside(folder: Path, where: Where) -> dict[str, PhotoMarks]:
    """Return what is marked on photos that were set aside: it goes into the bin with them, else it stays.

    Nothing where the file cannot be read: that is said where the photos are measured.
    """
    with contextlib.suppress(FileError):
        return read_marks(folder / BIN_FOLDER if where == "bin" else folder)
    return {}


def moment_of(file: PhotoFile, marks: PhotoMarks | None) -> tuple[dt.datetime | None, str]:
    """Return when a photo that is not measured was taken, and where that is from, as measuring it would."""
    if marks is not None and marks.taken_at is not None:
        return marks.taken_at, "keeper"
    when, source = day_here(*_in_header(file.path, file.size_and_time()), file.name)
    return (when and usable_moment(when, source, file.name)) or (None, "unknown")


@lru_cache(maxsize=4096)
def _in_header(path: Path, _state: tuple[int, int]) -> tuple[dt.datetime | None, str]:
    try:
        header = read_header(read_bytes(path), name=path.name)
    except PhotoRefused:
        return None, "unknown"
    return header.taken_at, header.taken_from


def _move(here: Path, name: str, there: Path) -> str:
    file = next((file for file in photo_files(here) if file.name == name), None)
    if file is None or file.fault:
        raise UsageError("there is no such photo", where=name, remedy="Reload the page")
    return move_new(file.path, there / name).relative_to(there).as_posix()
