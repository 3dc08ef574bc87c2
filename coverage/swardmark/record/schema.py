"""The tables of the record, and how an older record is brought to them: in one transaction, keeping what it holds."""

from __future__ import annotations

import sqlite3
from contextlib import suppress
from pathlib import Path

from swardmark.common.errors import UsageError
from swardmark.record.place import APPLICATION_ID, check_owner
from swardmark.record.sound import crc_of

SCHEMA_VERSION = 3
PAGE_BYTES = 16384
"""Of a new file; with SQLite's usual 4096 a map lies in four times as many pieces and takes twice as long to keep."""
_TABLES = ("photo", "ground_map", "file")
_SCHEMA = """
CREATE TABLE photo (
    digest TEXT NOT NULL, settings TEXT NOT NULL, point TEXT NOT NULL, name TEXT NOT NULL,
    taken_at TEXT, taken_from TEXT NOT NULL, refusal TEXT, remedy TEXT, facts TEXT NOT NULL,
    PRIMARY KEY (digest, settings, point));
CREATE TABLE ground_map (
    digest TEXT NOT NULL, settings TEXT NOT NULL, point TEXT NOT NULL,
    row0 INTEGER NOT NULL, col0 INTEGER NOT NULL, rows INTEGER NOT NULL, cols INTEGER NOT NULL,
    spacing_m REAL NOT NULL, bytes BLOB NOT NULL,
    PRIMARY KEY (digest, settings, point));
CREATE TABLE file (name TEXT PRIMARY KEY, size INTEGER, mtime_ns INTEGER, digest TEXT NOT NULL);
"""
_DERIVED = """
CREATE TABLE derived (point TEXT NOT NULL, basis TEXT NOT NULL, bytes BLOB NOT NULL, PRIMARY KEY (point, basis));
"""
_PLACE = "digest, settings, point, row0, col0, rows, cols, spacing_m"
_CHECKSUMS = f"""
ALTER TABLE photo ADD COLUMN crc INTEGER;
UPDATE photo SET crc = crc_of(digest, settings, point, name, taken_at, taken_from, refusal, remedy, facts);
ALTER TABLE file ADD COLUMN crc INTEGER;
UPDATE file SET crc = crc_of(name, size, mtime_ns, digest);
ALTER TABLE ground_map RENAME TO old_map;
CREATE TABLE ground_map (
    digest TEXT NOT NULL, settings TEXT NOT NULL, point TEXT NOT NULL,
    row0 INTEGER NOT NULL, col0 INTEGER NOT NULL, rows INTEGER NOT NULL, cols INTEGER NOT NULL,
    spacing_m REAL NOT NULL, packed_crc INTEGER, crc INTEGER, bytes BLOB NOT NULL,
    PRIMARY KEY (digest, settings, point));
INSERT INTO ground_map SELECT {_PLACE}, crc_of(bytes), crc_of({_PLACE}, crc_of(bytes)), bytes FROM old_map;
DROP TABLE old_map;
DELETE FROM derived;
"""
_MIGRATIONS: tuple[str, ...] = (
    "".join(f"DROP TABLE IF EXISTS {name};" for name in _TABLES) + _SCHEMA,
    "DROP TABLE IF EXISTS derived;" + _DERIVED,
    _CHECKSUMS,
)
"""The step from each schema version to the next. What version 0 held, before the schema had a number, is dropped: the
photos are measured anew. A later step says what becomes of the rows, by ALTER TABLE or by dropping a table. Version 2
adds a table and keeps all others as they are; version 3 gives every row a checksum, those of a map before its bytes,
and computes again what was computed from the maps."""


def make_ready(db: sqlite3.Connection, path: Path) -> None:
    """Bring a record to the present schema, in one transaction; what another program wrote is left as it is.

    Raises
    ------
    UsageError
        Another program wrote it, or a newer swardmark.
    """
    is_signed = check_owner(db, path)
    db.execute(f"PRAGMA page_size={PAGE_BYTES}")
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("PRAGMA synchronous=NORMAL")
    if _version(db) > SCHEMA_VERSION:
        remedy = "Update swardmark, or delete the file: it is rebuilt from the photos"
        raise UsageError("written by a newer swardmark", where=str(path), remedy=remedy)
    if (older := _version(db)) < SCHEMA_VERSION:
        _carry_over(db)
        if older > 0:
            with suppress(sqlite3.Error):  # another run has it open, or the disk is full: it stays large
                db.execute("VACUUM")
    if not is_signed:
        db.execute(f"PRAGMA application_id={APPLICATION_ID}")


def _carry_over(db: sqlite3.Connection) -> None:
    """Take the steps that are missing, unless another run has just taken them."""
    db.create_function("crc_of", -1, crc_of, deterministic=True)
    db.execute("BEGIN IMMEDIATE")
    try:
        for step in _MIGRATIONS[max(_version(db), 0) : SCHEMA_VERSION]:
            for statement in step.split(";"):
                db.execute(statement)
        db.execute(f"PRAGMA user_version={SCHEMA_VERSION}")
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise


def _version(db: sqlite3.Connection) -> int:
    return int(db.execute("PRAGMA user_version").fetchone()[0])
