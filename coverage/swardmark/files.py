"""Writing files so that nothing is ever half written or lost."""

from __future__ import annotations

import contextlib
import datetime as dt
import os
import shutil
import tempfile
from pathlib import Path

from swardmark.errors import UsageError


def write_whole(path: Path, data: bytes | str) -> Path:
    """Write a file in one step: a temporary file beside it, synced to disk, then renamed over it.

    Raises
    ------
    UsageError
        The folder cannot be written or the disk is full; the file that was there before is untouched.
    """
    raw = data.encode("utf-8") if isinstance(data, str) else data
    temporary: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".writing-", suffix=".part")
        temporary = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(0o666 & ~_umask())
        temporary.replace(path)
    except OSError as error:
        if temporary is not None:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
        reason = error.strerror or type(error).__name__
        raise UsageError(
            f"cannot be written ({reason})", where=str(path), remedy="Check the disk and its rights"
        ) from None
    return path


def back_up(path: Path) -> Path | None:
    """Copy a keeper's file to a dated name beside it before it is changed; None if there is no file yet."""
    if not path.exists():
        return None
    stamp = dt.datetime.now().strftime("%Y%m%d-%H%M%S")
    copy = path.with_name(f"{path.name}.{stamp}.bak")
    number = 1
    while copy.exists():
        number += 1
        copy = path.with_name(f"{path.name}.{stamp}-{number}.bak")
    shutil.copy2(path, copy)
    return copy


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
