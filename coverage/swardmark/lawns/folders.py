"""Which lawns are meant: lawn folders, and folders that hold them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from swardmark.common.errors import UsageError
from swardmark.lawn.toml import LAWN_FILE


def lawns_in(folders: Sequence[Path]) -> tuple[Path, ...]:
    """List the lawns that are meant by several folders, or by one that holds lawns; none if one lawn is meant.

    Parameters
    ----------
    folders : sequence of Path
        Lawn folders, and folders of them.

    Raises
    ------
    UsageError
        One of several is no lawn and holds none, or cannot be listed.
    """
    if len(folders) == 1:
        return lawn_folders(folders[0])
    found: dict[Path, Path] = {}
    for folder in folders:
        own = (folder,) if (folder / LAWN_FILE).is_file() else lawn_folders(folder)
        if not own:
            raise UsageError(
                f"no {LAWN_FILE} in it or right below it",
                where=str(folder),
                remedy="Give lawn folders, or folders of them",
            )
        for lawn in own:
            found.setdefault(lawn.resolve(), lawn)
    return tuple(found.values())


def lawn_folders(folder: Path) -> tuple[Path, ...]:
    """List the lawns right below a folder, by name; none if the folder is a lawn itself.

    Raises
    ------
    UsageError
        The folder cannot be listed.
    """
    if not folder.is_dir() or (folder / LAWN_FILE).is_file():
        return ()
    try:
        return tuple(sorted(path for path in folder.iterdir() if (path / LAWN_FILE).is_file()))
    except OSError as error:
        what = f"the folder cannot be listed ({error.strerror or type(error).__name__})"
        raise UsageError(what, where=str(folder), remedy="Check its permissions") from None
