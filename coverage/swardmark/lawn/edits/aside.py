"""Photos that are left out of the measuring, or in the bin: moved beside photos/, whole, and back again.

A photo of a photo point keeps its folder there too, so that it goes back to where it was.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from swardmark.common.errors import UsageError
from swardmark.common.files import own_folder
from swardmark.lawn.lock import files_lock
from swardmark.lawn.photos import PhotoFile, photo_files

Where = Literal["left_out", "bin"]


def set_aside(folder: Path, name: str, where: Where) -> str:
    """Move a photo of the lawn out of photos/; returns its name there.

    Raises
    ------
    UsageError
        There is no such photo, or it cannot be moved.
    """
    return _move(folder, "photos", name, where)


def put_back(folder: Path, name: str, where: Where) -> str:
    """Move a photo that was set aside back into photos/; returns its name there. Raises as `set_aside`."""
    return _move(folder, where, name, "photos")


def photos_aside(folder: Path, where: Where) -> list[PhotoFile]:
    """List the photos that were set aside, by name."""
    root = folder / where
    return [] if root.is_symlink() else sorted(photo_files(root), key=lambda photo: photo.name)


def _move(folder: Path, here: str, name: str, there: str) -> str:
    with files_lock(folder):
        file = next((file for file in photo_files(folder / here) if file.name == name), None)
        if file is None or file.fault:
            raise UsageError("there is no such photo", where=name, remedy="Reload the page")
        target = _free((folder / there if there == "photos" else own_folder(folder, there)) / Path(name))
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            file.path.rename(target)
        except OSError as error:
            remedy = "Check the folder's permissions"
            raise UsageError(
                f"cannot be moved ({error.strerror or error})", where=name, remedy=remedy
            ) from None
    return target.relative_to(folder / there).as_posix()


def _free(path: Path) -> Path:
    number, free = 1, path
    while free.exists() or free.is_symlink():
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free
