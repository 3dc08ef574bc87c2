"""One writer at a time in a lawn folder: a lock that says who holds it and dies with its holder.

The operating system holds the lock (flock, or its Windows counterpart), so a killed run leaves no stale lock behind;
the file only shows others who is at work, and is removed when the work is done.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import os
import platform
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from swardmark.common.errors import UsageError

LOCK_FILE = ".swardmark.lock"
LONGEST_WAIT_S = 600.0
POLL_S = 0.1


@contextmanager
def lawn_lock(
    folder: Path, *, wait_s: float = LONGEST_WAIT_S, on_wait: Callable[[str], None] | None = None
) -> Iterator[None]:
    """Hold the lawn's lock for the length of a with block, waiting for another holder to finish.

    Parameters
    ----------
    folder : Path
        The lawn folder.
    wait_s : float
        How long to wait, seconds.
    on_wait : callable, optional
        Called once with a sentence that says who holds the lock, before waiting.

    Raises
    ------
    UsageError
        The folder cannot be written, or the other holder did not finish in time.
    """
    path, handle, told = folder / LOCK_FILE, None, False
    until = time.monotonic() + wait_s
    while (handle := _try_lock(path)) is None:
        if time.monotonic() >= until:
            remedy = "Wait until it has finished, or stop it"
            raise UsageError(f"in use by {_holder(path)}", where=str(folder), remedy=remedy)
        if on_wait is not None and not told:
            on_wait(f"{folder} is in use by {_holder(path)}; waiting for it to finish")
            told = True
        time.sleep(POLL_S)
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            path.unlink()
        os.close(handle)


def _try_lock(path: Path) -> int | None:
    """Open and lock the file without waiting; None if another holds it."""
    try:
        handle = os.open(path, os.O_CREAT | os.O_RDWR, 0o644)
    except PermissionError as error:
        if sys.platform == "win32" and path.exists():
            return None
        raise _unwritable(path, error) from None
    except OSError as error:
        raise _unwritable(path, error) from None
    try:
        _lock_now(handle)
        if os.fstat(handle).st_ino != path.stat().st_ino:
            raise BlockingIOError
        with contextlib.suppress(OSError):  # a full disk: a lock without words is a lock all the same
            os.truncate(handle, 0)
            os.write(handle, json.dumps(_own_name()).encode())
    except (BlockingIOError, PermissionError, FileNotFoundError):
        os.close(handle)
        return None
    except OSError as error:
        os.close(handle)
        raise _unwritable(path, error) from None
    return handle


def _lock_now(handle: int) -> None:
    if sys.platform == "win32":
        import msvcrt

        os.lseek(handle, 4096, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        os.lseek(handle, 0, os.SEEK_SET)
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _holder(path: Path) -> str:
    try:
        who = json.loads(path.read_text())
        return f"process {who['pid']} on {who['host']} since {who['since']}"
    except (OSError, ValueError, KeyError, TypeError):
        return "another run"


def _own_name() -> dict[str, object]:
    since = dt.datetime.now().isoformat(timespec="seconds")
    return {"pid": os.getpid(), "host": _host(), "since": since}


def _host() -> str:
    return platform.node() or "this machine"


def _unwritable(path: Path, error: OSError) -> UsageError:
    reason = error.strerror or type(error).__name__
    remedy = "Check the folder's permissions and the disk"
    return UsageError(f"the folder cannot be written ({reason})", where=str(path.parent), remedy=remedy)
