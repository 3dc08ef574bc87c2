"""Taking a change back: the files as they were before it, put back only while nobody has changed them since."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from swardmark.common.errors import SwardmarkError
from swardmark.common.files import back_up, read_raw, write_whole
from swardmark.lawn.editing import ChangedMeanwhile, revision_of
from swardmark.lawn.lock import files_lock

Result = TypeVar("Result")


@dataclass(frozen=True)
class Change:
    """One file before a change, None where there was none, and the revision that the change gave it."""

    path: Path
    before: bytes | None
    after: str


def with_undo(
    folder: Path, names: Iterable[str], act: Callable[[], Result]
) -> tuple[Result, tuple[Change, ...]]:
    """Do something to files of a lawn folder, and return how they were before as well.

    Parameters
    ----------
    folder : Path
        The lawn folder.
    names : iterable of str
        The files that it may change, such as ``lawn.toml``.
    act : callable
        What is done; its errors go through, and then nothing was changed.

    Returns
    -------
    result, changes
        What `act` returned, and what `take_back` needs.
    """
    with files_lock(folder):
        paths = [folder / name for name in names]
        before = [_bytes_of(path) for path in paths]
        with _all_or_none(paths, before):
            result = act()
        changed = [
            Change(path, old, revision_of(path))
            for path, old in zip(paths, before, strict=True)
            if _bytes_of(path) != old
        ]
    return result, tuple(changed)


def take_back(folder: Path, changes: Iterable[Change]) -> None:
    """Put files back as they were before a change.

    Raises
    ------
    ChangedMeanwhile
        One of them was changed again since; then none is put back.
    """
    changes = tuple(changes)
    with files_lock(folder):
        for change in changes:
            if revision_of(change.path) != change.after:
                raise ChangedMeanwhile(
                    "was changed again since, so it stays as it is",
                    where=change.path.name,
                    remedy="Change the value itself",
                )
        paths = [change.path for change in changes]
        with _all_or_none(paths, [_bytes_of(path) for path in paths]):
            for change in changes:
                back_up(change.path)
                _put(change.path, change.before)


@contextmanager
def _all_or_none(paths: Sequence[Path], before: Sequence[bytes | None]) -> Iterator[None]:
    """Put files back as they were before a block that fails; what a full disk does not take stays as it is."""
    try:
        yield
    except BaseException:
        for path, old in zip(paths, before, strict=True):
            with suppress(SwardmarkError, OSError):
                if _bytes_of(path) != old:
                    with suppress(SwardmarkError):
                        back_up(path)
                    _put(path, old)
        raise


def _put(path: Path, data: bytes | None) -> None:
    if data is None:
        path.unlink(missing_ok=True)
    else:
        write_whole(path, data)


def _bytes_of(path: Path) -> bytes | None:
    try:
        return read_raw(path)
    except FileNotFoundError:
        return None
