"""A lawn that comes back from the zip file that Share made: checked whole before anything is written."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path, PurePosixPath

from swardmark.common.errors import UsageError
from swardmark.common.files import write_new
from swardmark.lawn.edits.aside import FOLDERS
from swardmark.lawn.lock import files_lock
from swardmark.lawn.photos import PHOTO_SUFFIXES
from swardmark.lawn.toml import LAWN_FILE, parse_lawn

MOST_FILES, MOST_BYTES = 10_000, 4_000_000_000
WHERE = "lawn.zip"


def bring_back(data: bytes, folder: Path) -> int:
    """Write the files of a backup into a folder that holds no lawn; returns how many they were.

    Raises
    ------
    UsageError
        There is a lawn already, or the file is no backup of one; nothing was written.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = _checked(archive)
            parse_lawn(archive.read(LAWN_FILE).decode("utf-8-sig"), folder=folder, where=LAWN_FILE)
            folder.mkdir(parents=True, exist_ok=True)
            with files_lock(folder):
                if (folder / LAWN_FILE).exists():
                    raise UsageError(
                        "there is a lawn here already", where=WHERE, remedy="Choose another folder"
                    )
                for name in names:  # lawn.toml is the last: without it there is no lawn yet
                    write_new(folder / name, archive.read(name))
    except (zipfile.BadZipFile, KeyError, UnicodeDecodeError, RuntimeError, NotImplementedError, EOFError):
        raise _no_backup() from None
    except FileExistsError as error:
        what = f"the folder holds {Path(str(error.filename or error)).name} already"
        raise UsageError(what, where=WHERE, remedy="Choose an empty folder") from None
    return len(names)


def _checked(archive: zipfile.ZipFile) -> list[str]:
    """Return the names of the files to write, the lawn's own file last."""
    files = [entry for entry in archive.infolist() if not entry.is_dir()]
    if len(files) > MOST_FILES or sum(entry.file_size for entry in files) > MOST_BYTES:
        raise UsageError("is larger than any lawn", where=WHERE, remedy="Unpack it by hand")
    names = sorted((entry.filename for entry in files), key=lambda name: name == LAWN_FILE)
    if LAWN_FILE not in names or len(set(names)) < len(names) or not all(map(_belongs, names)):
        raise _no_backup()
    return names


def _belongs(name: str) -> bool:
    path = PurePosixPath(name)
    plain = not path.is_absolute() and "\\" not in name and ":" not in name
    if not plain or any(part.startswith(".") for part in path.parts):
        return False
    if len(path.parts) == 1:
        return path.suffix in (".toml", ".csv", ".bak", ".md", ".txt")
    is_photo = path.suffix.lower() in PHOTO_SUFFIXES or path.name == "marks.toml"
    return path.parts[0] in ("photos", *FOLDERS.values()) and len(path.parts) <= 4 and is_photo


def _no_backup() -> UsageError:
    return UsageError("is no backup of a lawn", where=WHERE, remedy="Choose the file that Share made")
