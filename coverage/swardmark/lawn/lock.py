"""One writer at a time in a lawn folder: locks that say who holds them and die with their holder.

There are two. The one of the record is held as long as photos are measured; the one of the keeper's files (photos,
lawn.toml, marks.toml, the tables) for the moment in which one of them is read, changed and written, so that a note can
be kept while a thousand photos are measured. The operating system holds them (flock, or its Windows counterpart), so a
killed run leaves no stale lock behind; the files only show who is at work, and are removed when the work is done.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import errno
import json
import os
import platform
import stat
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from swardmark.common.errors import UsageError
from swardmark.common.files import NO_LINK, PART_PREFIX, sweep

LOCK_FILE, FILES_LOCK_FILE = ".swardmark.lock", ".swardmark-files.lock"
LONGEST_WAIT_S = 600.0
POLL_S = 0.1
SHORT_POLL_S = 0.01
_held = threading.local()


@contextmanager
def lawn_lock(
    folder: Path, *, wait_s: float = LONGEST_WAIT_S, on_wait: Callable[[str], None] | None = None
) -> Iterator[None]:
    """Hold the lock of the lawn's record for the length of a with block, waiting for another holder to finish.

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
    with _locked(folder / LOCK_FILE, POLL_S, wait_s, on_wait):
        sweep_all(folder)
        _drop_stale(folder / FILES_LOCK_FILE)
        yield


def sweep_all(folder: Path) -> None:
    """Delete what killed runs left half written, wherever in a lawn folder; links are not followed."""
    for place, _, files in os.walk(folder):
        if any(name.startswith(PART_PREFIX) for name in files):
            sweep(Path(place))


@contextmanager
def files_lock(folder: Path, *, wait_s: float = LONGEST_WAIT_S) -> Iterator[None]:
    """Hold the lock of the keeper's files for the length of a with block; who holds it may take it again.

    Raises
    ------
    UsageError
        The folder cannot be written, or the other holder did not finish in time.
    """
    own: set[Path] = _held.__dict__.setdefault("folders", set())
    place = folder.resolve()
    if place in own:
        yield
        return
    with _locked(place / FILES_LOCK_FILE, SHORT_POLL_S, wait_s, None):
        own.add(place)
        try:
            yield
        finally:
            own.discard(place)


@contextmanager
def _locked(
    path: Path, poll_s: float, wait_s: float, on_wait: Callable[[str], None] | None
) -> Iterator[None]:
    handle, told = None, False
    until = time.monotonic() + wait_s
    while (handle := _try_lock(path)) is None:
        if time.monotonic() >= until:
            remedy = "Wait until it has finished, or stop it"
            raise UsageError(f"in use by {_holder(path)}", where=str(path.parent), remedy=remedy)
        if on_wait is not None and not told:
            on_wait(f"{path.parent} is in use by {_holder(path)}; waiting for it to finish")
            told = True
        time.sleep(poll_s)
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            path.unlink()
        os.close(handle)


def _try_lock(path: Path) -> int | None:
    """Open and lock the file without waiting; None if another holds it."""
    try:
        handle = os.open(path, os.O_CREAT | os.O_RDWR | NO_LINK | getattr(os, "O_NONBLOCK", 0), 0o644)
    except PermissionError as error:
        if sys.platform == "win32" and path.exists():
            return None
        raise _unwritable(path, error) from None
    except OSError as error:
        raise _unwritable(path, error) from None
    status = os.fstat(handle)
    if path.is_symlink() or not stat.S_ISREG(status.st_mode) or status.st_nlink > 1:
        os.close(handle)
        raise UsageError("is not swardmark's own file", where=str(path), remedy="Delete it")
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


def _drop_stale(path: Path) -> None:
    """Remove a lock file whose holder was killed; one that is held, or is not ours, stays."""
    with contextlib.suppress(UsageError, OSError):
        if path.exists() and (handle := _try_lock(path)) is not None:
            path.unlink()
            os.close(handle)


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
    reason = "its lock is a link" if error.errno == errno.ELOOP else error.strerror or type(error).__name__
    remedy = "Check the folder's permissions and the disk"
    return UsageError(f"the folder cannot be written ({reason})", where=str(path.parent), remedy=remedy)
