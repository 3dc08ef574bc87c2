"""Where the record lies, and whether what lies there is ours: a lawn folder may come from a stranger.

A link in the record's place would lead SQLite to a file elsewhere, and a database of another program would lose its
tables. Both are refused and left as they are.
"""

from __future__ import annotations

import sqlite3
import stat
from contextlib import suppress
from pathlib import Path

from swardmark.common.errors import UsageError

RECORD_FILE = "record.sqlite"
APPLICATION_ID = 0x53574D4B
"""Signs the file as ours ("SWMK"), as SQLite's file format provides (offset 68 of its header)."""
KNOWN_TABLES = frozenset({"photo", "ground_map", "file", "derived"})
"""All tables that a record of any version has had, signed or not."""
REMEDY = "Move it away: the record is rebuilt from the photos"


def record_files(folder: Path) -> list[Path]:
    """Return where a lawn's record lies, and what SQLite puts beside it."""
    return [folder / f"{RECORD_FILE}{part}" for part in ("", "-wal", "-shm", "-journal")]


def forget_record(folder: Path) -> bool:
    """Delete a lawn's record, so that every photo is measured anew; returns whether there was one."""
    files = record_files(folder)
    was_there = files[0].exists()
    for file in files:
        file.unlink(missing_ok=True)
    return was_there


def check_place(folder: Path) -> None:
    """Refuse anything else than plain files in the place of a lawn's record.

    Raises
    ------
    UsageError
        One is a link, a folder, or has a second name elsewhere.
    """
    for path in record_files(folder):
        with suppress(FileNotFoundError):
            status = path.lstat()
            if not stat.S_ISREG(status.st_mode) or status.st_nlink > 1:
                raise UsageError("is not swardmark's own file", where=str(path), remedy=REMEDY)


def check_owner(db: sqlite3.Connection, path: Path) -> bool:
    """Return whether a database is signed as ours; a new one and a record from before there was a signature are not.

    Raises
    ------
    UsageError
        Another program wrote it.
    """
    owner = db.execute("PRAGMA application_id").fetchone()[0]
    if owner == APPLICATION_ID:
        return True
    rows = db.execute(
        "SELECT name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"
    ).fetchall()
    foreign = any(
        name not in KNOWN_TABLES or (name == "photo" and "digest" not in (sql or "")) for name, sql in rows
    )
    if owner != 0 or foreign:
        raise UsageError("is a database of another program", where=str(path), remedy=REMEDY)
    return False
