"""Writing files so that nothing is ever half written or lost, and reading the keeper's with care."""

from __future__ import annotations

import contextlib
import datetime as dt
import errno
import glob
import io
import itertools
import os
import re
import secrets
import shutil
import stat
import sys
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import IO

from swardmark.common.errors import FileError, UsageError

PART_PREFIX, PART_SUFFIX = ".writing-", ".part"
OLDEST_PART_S = 3600.0
"""A temporary file older than this was left by a run that was killed, whatever its number."""
FILE_MODE = 0o666
"""Rights of a new file; the system takes away what the user's mask says."""
MOST_TEXT_BYTES = 64_000_000
"""No lawn's tables come near it; the longest NOAA station files have about 12 MB."""
MOST_BACKUPS = 5
"""Dated copies of a keeper's file that are kept, the newest ones."""
PROGRAM = Path(__file__).parents[1]
NO_LINK = getattr(os, "O_NOFOLLOW", 0)


@cache
def program_state() -> tuple[tuple[str, int, int], ...]:
    """Return `program_now` as it was first asked for: what was computed by another program is not known."""
    return program_now()


def program_now() -> tuple[tuple[str, int, int], ...]:
    """Return name, size and time of each file of the program."""
    files = sorted(path for path in PROGRAM.rglob("*.*") if path.suffix != ".pyc" and path.is_file())
    status = ((path.relative_to(PROGRAM).as_posix(), path.stat()) for path in files)
    return tuple((name, one.st_size, one.st_mtime_ns) for name, one in status)


def write_whole(path: Path, data: bytes | str) -> Path:
    """Write a file in one step: a temporary file beside it, synced to disk, then renamed over it.

    Raises
    ------
    UsageError
        The folder cannot be written or the disk is full; the file that was there before is untouched.
    """
    raw = data.encode("utf-8") if isinstance(data, str) else data
    part: Path | None = None
    try:
        part = begin_part(path)
        part.write_bytes(raw)
        put_in_place(part, path)
    except OSError as error:
        _drop(part)
        raise unwritable(path, error) from None
    return path


def begin_part(path: Path) -> Path:
    """Make an empty temporary file beside the one that it is to become, and its folder where there is none."""
    _make_folder(path.parent)
    sweep(path.parent)
    part = path.with_name(f"{PART_PREFIX}{os.getpid()}-{secrets.token_hex(6)}{PART_SUFFIX}")
    os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, FILE_MODE))
    return part


def put_in_place(part: Path, path: Path, *, name: Callable[[Path, Path], object] = Path.replace) -> None:
    """Bring a written temporary file to the disk and rename it into its place."""
    with part.open("rb+") as file:
        os.fsync(file.fileno())
    name(part, path)
    _sync_folder(path.parent)


def write_new(path: Path, data: bytes | IO[bytes]) -> Path:
    """Write bytes, or what a file holds, in one step under a name that nothing has yet, not even a broken link.

    Raises
    ------
    FileExistsError
        Something has that name; it is untouched.
    UsageError
        The folder cannot be written or the disk is full.
    """
    part: Path | None = None
    try:
        part = begin_part(path)
        with part.open("wb") as file:
            shutil.copyfileobj(io.BytesIO(data) if isinstance(data, bytes) else data, file)
        put_in_place(part, path, name=_name_anew)
    except FileExistsError:
        raise
    except OSError as error:
        raise unwritable(path, error) from None
    finally:
        _drop(part)
    return path


def unwritable(path: Path, error: OSError) -> UsageError:
    """Return the error that says why a file cannot be written."""
    reason = error.strerror or type(error).__name__
    return UsageError(
        f"cannot be written ({reason})", where=str(path), remedy="Check the disk and its permissions"
    )


def back_up(path: Path) -> Path | None:
    """Copy a keeper's file to a dated name beside it before it is changed; None if there is no file yet.

    Raises
    ------
    UsageError
        The copy cannot be made; then nothing may be changed either.
    """
    if not path.exists():
        return None
    stamp = dt.datetime.now().strftime("%Y%m%d-%H%M%S")
    copy = path.with_name(f"{path.name}.{stamp}.bak")
    number = 1
    while copy.exists():
        number += 1
        copy = path.with_name(f"{path.name}.{stamp}-{number}.bak")
    copy = write_whole(copy, read_raw(path))
    _keep_newest(path)
    return copy


def read_text(path: Path, *, follow: bool = False) -> str:
    """Read a keeper's text file, with or without a byte order mark; a link is followed only if `follow`.

    Raises
    ------
    FileNotFoundError
        There is no such file: whether that matters, the caller knows.
    FileError
        It is no regular file, too large, not UTF-8, or cannot be read.
    """
    raw = read_raw(path, follow=follow)
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        what, remedy = f"cannot be read ({error})", "Save it as text in UTF-8"
        raise FileError(what, where=str(path), remedy=remedy) from None


def read_raw(path: Path, *, follow: bool = False) -> bytes:
    """Read a keeper's file as it is. A lawn folder may come from a stranger: a link in the file's place is refused.

    Raises
    ------
    FileNotFoundError
        There is no such file.
    FileError
        It is no regular file, a link, too large, or cannot be read.
    """
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        if not follow and path.is_symlink():
            raise FileError("is a link, not a file", where=str(path), remedy="Put the file itself there")
        with os.fdopen(os.open(path, flags | (0 if follow else NO_LINK)), "rb") as file:
            status = os.fstat(file.fileno())
            if not stat.S_ISREG(status.st_mode):
                raise FileError("is not a file", where=str(path), remedy="Move it away")
            if status.st_size > MOST_TEXT_BYTES:
                what = f"has {status.st_size / 1e6:.0f} MB, far more than such a file needs"
                raise FileError(what, where=str(path), remedy="Move it away")
            return file.read()
    except FileNotFoundError:
        raise
    except OSError as error:
        what = f"cannot be read ({error.strerror or type(error).__name__})"
        raise FileError(what, where=str(path), remedy="Check the file and its permissions") from None


def move_new(source: Path, target: Path) -> Path:
    """Move a file to a name that nothing has yet, with a number behind it where something has; returns where it is.

    Raises
    ------
    UsageError
        It cannot be moved; it is where it was.
    """
    try:
        _make_folder(target.parent)
    except OSError as error:
        raise unwritable(target.parent, error) from None
    for number in itertools.count(1):
        place = target if number == 1 else target.with_name(f"{target.stem}-{number}{target.suffix}")
        try:
            try:
                os.link(source, place, follow_symlinks=False)
            except FileExistsError:
                if place.is_symlink() or not place.samefile(source):  # else a move that was killed halfway
                    continue
            except OSError:  # another disk, or one without links
                write_new(place, source.read_bytes())
            _unlink_moved(source, place)
            _sync_folder(place.parent)
            return place
        except FileExistsError:
            continue
        except OSError as error:
            raise unwritable(place, error) from None
    raise AssertionError("there is always a next number")


def own_folder(folder: Path, name: str) -> Path:
    """Return the path of a folder that swardmark writes inside a lawn's; neither it nor one in it may be a link.

    Raises
    ------
    UsageError
        One is a link, which could lead anywhere.
    """
    path = folder / name
    inside = [entry for entry in path.iterdir() if entry.is_dir()] if path.is_dir() else []
    for one in (path, *inside):
        if one.is_symlink():
            raise UsageError("is a link, not a folder", where=str(one), remedy="Delete the link")
    return path


def sweep(folder: Path) -> None:
    """Delete temporary files whose run was killed; those of a run still at work stay."""
    for part in folder.glob(f"{PART_PREFIX}*{PART_SUFFIX}"):
        with contextlib.suppress(OSError):
            if time.time() - part.stat().st_mtime > OLDEST_PART_S or _writer_is_gone(part.name):
                part.unlink()


def _make_folder(folder: Path) -> None:
    """Make a folder where there is none; a file in its place is no name that is taken, and no other would be free."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise NotADirectoryError(errno.ENOTDIR, "a file has the folder's name") from None


def _unlink_moved(source: Path, place: Path) -> None:
    """Delete a file that stands in its new place; where it cannot be deleted, the new place is given up."""
    try:
        source.unlink()
    except OSError:
        if source.exists():
            _drop(place)
        raise


def _drop(part: Path | None) -> None:
    if part is not None:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def _name_anew(part: Path, path: Path) -> None:
    """Give a written temporary file its name, if nothing has it yet; a second link does both in one step."""
    try:
        os.link(part, path)
    except FileExistsError:
        raise
    except OSError:  # a disk without links: the name is taken first, then filled
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, FILE_MODE))
        part.replace(path)


def _keep_newest(path: Path) -> None:
    """Delete the dated copies of a file beyond the newest few."""
    copies = [copy for copy in path.parent.glob(f"{glob.escape(path.name)}.*.bak") if _is_backup(copy, path)]
    with contextlib.suppress(OSError):
        for copy in sorted(copies, key=lambda copy: (copy.stat().st_mtime_ns, copy.name))[:-MOST_BACKUPS]:
            copy.unlink()


def _is_backup(copy: Path, path: Path) -> bool:
    return re.fullmatch(rf"{re.escape(path.name)}\.\d{{8}}-\d{{6}}(-\d+)?\.bak", copy.name) is not None


def _writer_is_gone(name: str) -> bool:
    number = re.match(rf"{re.escape(PART_PREFIX)}(\d{{1,9}})-", name)
    if sys.platform == "win32" or number is None:
        return False
    try:
        os.kill(int(number[1]), 0)
    except ProcessLookupError:
        return True
    except OSError:
        return False
    return False


def _sync_folder(folder: Path) -> None:
    """Make the renaming itself last through a power cut, where the system can."""
    if sys.platform == "win32":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
