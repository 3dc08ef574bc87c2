"""A lawn that comes back from the zip file that Share made: checked before anything is written.

Share packs all that lies in a lawn folder. What is neither a photo nor the keeper's text, such as a video among the
photos, does not come back, and stops nothing.
What was written is taken away again where the rest cannot be; files that an earlier try left are taken as they are.
"""

from __future__ import annotations

import shutil
import sys
import zipfile
import zlib
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path, PurePosixPath
from typing import IO

from swardmark.common.errors import SwardmarkError, UsageError
from swardmark.common.files import MOST_TEXT_BYTES, write_new
from swardmark.lawn.edits.aside import FOLDERS
from swardmark.lawn.lock import files_lock
from swardmark.lawn.photos import PHOTO_SUFFIXES
from swardmark.lawn.toml import LAWN_FILE, parse_lawn

MOST_FILES, MOST_BYTES = 10_000, 4_000_000_000
WHERE = "lawn.zip"
SPARE_BYTES = 20_000_000
DAMAGED = (
    zipfile.BadZipFile, zlib.error, KeyError, UnicodeDecodeError, RuntimeError, NotImplementedError, EOFError,
    ValueError,
)  # fmt: skip
"""What zipfile raises at a file that is none, is damaged, or is locked with a password."""


def check_room(folder: Path, size: int) -> None:
    """Refuse a backup for which the disk has no room, itself and the files in it."""
    there = next(path for path in (folder, *folder.parents) if path.exists())
    free = shutil.disk_usage(there).free
    if 2 * size + SPARE_BYTES > free:
        what = f"needs {2 * size / 1e9:.1f} GB of the disk, which has {free / 1e9:.1f}"
        raise UsageError(what, where=WHERE, remedy="Make room on the disk")


def bring_back(backup: IO[bytes], folder: Path) -> int:
    """Write the files of a backup into a folder that holds no lawn; returns how many they were.

    Raises
    ------
    UsageError
        There is a lawn already, the file is no backup of one or is damaged, or the disk is full; then nothing is left.
    """
    try:
        with zipfile.ZipFile(backup) as archive:
            names = _checked(archive)
            if archive.getinfo(LAWN_FILE).file_size > MOST_TEXT_BYTES:
                raise _no_backup()
            parse_lawn(archive.read(LAWN_FILE).decode("utf-8-sig"), folder=folder, where=LAWN_FILE)
            folder.mkdir(parents=True, exist_ok=True)
            with files_lock(folder):
                if (folder / LAWN_FILE).exists():
                    raise UsageError(
                        "there is a lawn here already", where=WHERE, remedy="Choose another folder"
                    )
                _write_all(archive, names, folder)
    except SwardmarkError:
        raise
    except DAMAGED:
        raise _no_backup() from None
    return len(names)


def _write_all(archive: zipfile.ZipFile, names: Iterable[str], folder: Path) -> None:
    """Write the files, all or none; lawn.toml must be the last of the names: without it there is no lawn yet."""
    written: list[Path] = []
    try:
        for name in names:
            path = folder / name
            with archive.open(name) as file:
                try:
                    written.append(write_new(path, file))
                except FileExistsError:
                    if not _is_same(path, archive, name):
                        what = f"the folder holds {path.name} already"
                        raise UsageError(what, where=WHERE, remedy="Choose an empty folder") from None
    except BaseException:
        for path in written:
            with suppress(OSError):
                path.unlink()
        raise


def _is_same(path: Path, archive: zipfile.ZipFile, name: str) -> bool:
    """Tell whether a file holds what the backup has under its name."""
    if path.is_symlink() or not path.is_file() or path.stat().st_size != archive.getinfo(name).file_size:
        return False
    with path.open("rb") as mine, archive.open(name) as other:
        while part := other.read(1 << 20):
            if mine.read(len(part)) != part:
                return False
    return True


def _checked(archive: zipfile.ZipFile) -> list[str]:
    """Return the names of the files to write, the lawn's own file last; none of them leads elsewhere."""
    files = [entry for entry in archive.infolist() if not entry.is_dir()]
    if len(files) > MOST_FILES or sum(entry.file_size for entry in files) > MOST_BYTES:
        raise UsageError(
            f"holds more than {MOST_BYTES / 1e9:.0f} GB or {MOST_FILES:,} files",
            where=WHERE,
            remedy="Unpack it by hand",
        )
    names = sorted((entry.filename for entry in files), key=lambda name: name == LAWN_FILE)
    if any(entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED) for entry in files):
        raise _no_backup()
    if LAWN_FILE not in names or len(set(names)) < len(names) or not all(map(_stays_inside, names)):
        raise _no_backup()
    return [name for name in names if _belongs(name)]


def _stays_inside(name: str) -> bool:
    path, drives = PurePosixPath(name), sys.platform == "win32"
    plain = not path.is_absolute() and "\\" not in name and not (drives and ":" in name)
    return plain and not any(part.startswith(".") for part in path.parts)


def _belongs(name: str) -> bool:
    path = PurePosixPath(name)
    if len(path.parts) == 1:
        return path.suffix in (".toml", ".csv", ".bak", ".md", ".txt")
    is_photo = path.suffix.lower() in PHOTO_SUFFIXES or path.name == "marks.toml"
    return path.parts[0] in ("photos", *FOLDERS.values()) and len(path.parts) <= 4 and is_photo


def _no_backup() -> UsageError:
    return UsageError("is no backup of a lawn", where=WHERE, remedy="Choose the file that Share made")
