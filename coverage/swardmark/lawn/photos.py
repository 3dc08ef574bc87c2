"""The photos of a lawn folder: which files count, from which photo point, and which cannot be used as they lie there.

Photos lie directly in photos/ (the point "main") or one folder below, which is then the photo point's name. What lies
elsewhere is never read: a link that leads out of photos/ is refused, so that a folder from a stranger shows nothing
of the machine that it is opened on. photos/ itself may be a link, to another disk for example.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from swardmark.common.errors import PhotoRefused, SwardmarkError, UsageError
from swardmark.common.files import move_new, own_folder
from swardmark.common.text import nearest, showable
from swardmark.lawn.counts import read_counts
from swardmark.lawn.lock import files_lock
from swardmark.lawn.marks import clear_marks, read_marks, write_marks
from swardmark.photo.decode import read_bytes

PHOTO_SUFFIXES = frozenset({".jpg", ".jpeg", ".jpe", ".png", ".tif", ".tiff", ".heic", ".heif", ".webp"})
MAIN_POINT = "main"
BIN_FOLDER = "removed"
"""Where removed photos go, below the lawn folder, until they are restored or the keeper deletes them."""
RELIEF_FOLDER = "relief"
"""Photos in a folder of this name measure the ground's heights; they are no photos of a photo point."""


@dataclass(frozen=True)
class PhotoFile:
    """A photo in the lawn folder: its photo point, its path and the name it has in all tables.

    `fault` and `remedy` tell why it is not read where it lies; both are empty for a photo that is.
    """

    point: str
    path: Path
    name: str
    fault: str = ""
    remedy: str = ""

    def read(self) -> bytes:
        """Return the file's bytes; raises PhotoRefused where it has a fault or cannot be read."""
        if self.fault:
            raise PhotoRefused(self.fault, where=self.name, remedy=self.remedy)
        return read_bytes(self.path)

    @property
    def is_elsewhere(self) -> bool:
        """Whether the file lies behind a URL, so that whoever measures it reads it."""
        return False

    def pinned(self, digest: str) -> PhotoFile:
        """Return the photo as one that must have this content; a file of this machine stays as it is."""
        return self

    def size_and_time(self) -> tuple[int, int]:
        """Return size and modification time [ns], which identify an unchanged file; -1, -1 if it is gone."""
        try:
            status = self.path.stat()
        except OSError:
            return -1, -1
        return status.st_size, status.st_mtime_ns


def photo_files(root: Path) -> Iterator[PhotoFile]:
    """List the photos below a lawn's photos folder, folder by folder, each sorted by name.

    Raises
    ------
    UsageError
        The photos folder cannot be listed.
    """
    if not root.is_dir():
        return
    for path in _listed(root):
        if path.name.startswith("."):
            continue
        if path.is_dir() and path.name == RELIEF_FOLDER:
            continue
        if path.is_dir():
            yield from _of_point(path, root)
        elif _is_named_photo(path):
            yield _checked(PhotoFile(MAIN_POINT, path, path.name), root)


def remove_photo(folder: Path, name: str) -> str:
    """Move a photo of a lawn into its bin, with what is marked on it; returns the name that it has there.

    Parameters
    ----------
    folder : Path
        The lawn folder.
    name : str
        The photo's name in the tables.

    Raises
    ------
    UsageError
        There is no such photo, or it cannot be moved.
    """
    with files_lock(folder):
        bin_ = own_folder(folder, BIN_FOLDER)
        return _move(name, folder / "photos", bin_, marks=(folder, bin_))


def restore_photo(folder: Path, name: str) -> str:
    """Move a photo from a lawn's bin back, with what was marked on it; returns the name that it has again.

    Raises
    ------
    UsageError
        There is no such photo in the bin, or it cannot be moved.
    """
    with files_lock(folder):
        bin_ = own_folder(folder, BIN_FOLDER)
        return _move(name, bin_, folder / "photos", marks=(bin_, folder))


def removed_photos(folder: Path) -> tuple[str, ...]:
    """List the photos in a lawn's bin by name."""
    return tuple(sorted(file.name for file in photo_files(own_folder(folder, BIN_FOLDER))))


def names_spoken_of(folder: Path) -> frozenset[str]:
    """Return the photos that marks.toml and counts.csv speak of, there or not: no new one may pass for them."""
    return frozenset(read_marks(folder)) | {count.photo for count in read_counts(folder)}


def _move(name: str, here: Path, there: Path, *, marks: tuple[Path, Path]) -> str:
    """Move a photo with what is marked on it, from the first marks.toml to the second; both or neither."""
    files = {file.name: file for file in photo_files(here)}
    if name not in files:
        raise _no_photo(name, files, here)
    own, path = read_marks(marks[0]).get(name), files[name].path
    kept = move_new(path, there / name)
    told = kept.relative_to(there).as_posix()
    if own is not None:
        try:
            write_marks(marks[1], {told: own})
        except SwardmarkError:
            move_new(kept, path)
            raise
        with suppress(SwardmarkError):  # marks of a photo that is elsewhere do nothing
            clear_marks(marks[0], name)
    return told


def _no_photo(name: str, there: Iterable[str], where: Path) -> UsageError:
    meant = nearest(name, there)
    remedy = f"Did you mean '{meant}'?" if meant else "Give its name as cover.csv has it"
    return UsageError(f"no photo {name!r} here", where=str(where), remedy=remedy)


def _of_point(folder: Path, root: Path) -> Iterator[PhotoFile]:
    whole = _checked(PhotoFile(folder.name, folder, folder.name), root)
    if whole.fault:
        yield whole
        return
    for path in _listed(folder):
        if _is_named_photo(path) and not path.is_dir():
            yield _checked(PhotoFile(folder.name, path, f"{folder.name}/{path.name}"), root)


def _checked(file: PhotoFile, root: Path) -> PhotoFile:
    name = showable(file.name)
    if name != file.name:
        point, fault = showable(file.point), "its name contains characters that cannot be shown"
        return PhotoFile(point, file.path, name, fault, "Give it a plain name")
    if file.path.is_symlink():
        fault = _fault_of_link(file.path, root)
        remedy = "Put the photos themselves here: swardmark add DIR PHOTO" if fault else ""
        return PhotoFile(file.point, file.path, file.name, fault, remedy)
    return file


def _fault_of_link(path: Path, root: Path) -> str:
    try:
        target = path.resolve(strict=True)
        return (
            "" if target.is_relative_to(root.resolve()) else "is a link to outside the lawn's photos folder"
        )
    except (OSError, RuntimeError):
        return "is a broken link"


def _listed(folder: Path) -> list[Path]:
    try:
        return sorted(folder.iterdir())
    except OSError as error:
        what = f"the folder cannot be listed ({error.strerror or type(error).__name__})"
        raise UsageError(what, where=str(folder), remedy="Check its permissions") from None


def _is_named_photo(path: Path) -> bool:
    if path.suffix.lower() not in PHOTO_SUFFIXES or path.name.startswith("."):
        return False
    return path.is_symlink() or path.is_file()
