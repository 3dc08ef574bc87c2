"""The record: damaged, old, moved, deleted, rebuilt. Whatever becomes of it, the photos give the same table again."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing

import numpy as np
import pytest
from kill_runs import left_wrong

from swardmark.common.errors import UsageError
from swardmark.measure.covers import measure_covers
from swardmark.record.schema import SCHEMA_VERSION
from swardmark.record.sound import crc_of
from swardmark.record.store import Record
from swardmark.season import season_of
from swardmark.words.tables import cover_text


@pytest.fixture(scope="module")
def done(tmp_path_factory, run):
    """A small lawn, measured; treat it as read-only."""
    from kill_runs import small_lawn

    folder = small_lawn(tmp_path_factory.mktemp("record") / "lawn")
    assert run("measure", folder, "--quiet").code == 0
    return folder


@pytest.fixture
def lawn(done, tmp_path):
    return shutil.copytree(done, tmp_path / "lawn")


def table(folder):
    return (folder / "out/cover.csv").read_bytes()


def test_doctor_rebuilds_a_damaged_record_and_the_table_is_the_same(run, lawn, done):
    path = lawn / "record.sqlite"
    raw = bytearray(path.read_bytes())
    raw[4096:20000] = np.random.default_rng(1).bytes(20000 - 4096)
    path.write_bytes(raw)
    (lawn / "out/cover.csv").unlink()
    outcome = run("measure", lawn)
    assert outcome.code == 2
    assert len(outcome.err.splitlines()) == 1
    assert "doctor --repair" in outcome.err
    assert run("doctor", "--repair", lawn, "--quiet").code == 0
    assert run("measure", lawn, "--quiet").code == 0
    assert table(lawn) == table(done)


@pytest.mark.parametrize("seed", range(12))
def test_pages_damaged_anywhere_are_one_line_or_measured_anew(lawn, seed):
    path, rng = lawn / "record.sqlite", np.random.default_rng(seed)
    raw = bytearray(path.read_bytes())
    at = int(rng.integers(100, len(raw)))
    raw[at : at + 600] = rng.bytes(min(600, len(raw) - at))
    path.write_bytes(raw)
    try:
        season_of(measure_covers(lawn))
    except UsageError as error:
        assert "\n" not in str(error)
        assert "record.sqlite" in error.where
        assert "doctor --repair" in error.remedy
    assert not (lawn / ".swardmark.lock").exists()


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("to_photo", [1, 2, 3]), ("to_photo", None), ("camera_m", ["a", 1, 2]), ("size", None), ("corners_px", None),
        ("focal_px", "x"), ("notes", 7), ("background", None), ("map_counts", 7), ("closed", 1e18), ("closed", True),
        ("full_index", -1e308), ("sand_light", 0.5),
    ],
)  # fmt: skip
def test_a_photo_whose_facts_are_no_facts_is_measured_anew(lawn, done, name, value):
    anew = name != "sand_light"  # which could be: the checksum alone tells
    set_fact(lawn, name, value, anew=anew)
    again = measure_covers(lawn)
    assert again.newly_measured == 1
    assert measure_covers(lawn).newly_measured == 0
    assert cover_text(again).encode() == table(done)


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("taken_at", None),
        ("taken_at", b"\x00\xff"),
        ("taken_at", -1),
        ("taken_at", "2026-06-05T10:00:00"),
        ("taken_from", "file name"),
        ("refusal", b"\x00\xff"),
    ],
)
def test_a_photo_whose_row_is_not_as_it_was_written_is_measured_anew(lawn, done, column, value):
    with closing(sqlite3.connect(lawn / "record.sqlite")) as db:
        db.execute(f"UPDATE photo SET {column}=? WHERE rowid=(SELECT min(rowid) FROM photo)", (value,))
        db.commit()
    again = measure_covers(lawn)
    assert again.newly_measured == 1
    assert cover_text(again).encode() == table(done)


@pytest.mark.parametrize("cells", [{"taken_at": "2026-06-03T00:00:00+02:00"}, {"facts": "[" * 3_000_000}])
def test_a_row_of_a_stranger_with_a_checksum_of_its_own_is_measured_anew(lawn, done, cells):
    """A moment with an offset cannot be compared with ours; facts of 60 MB took 26 s."""
    with closing(sqlite3.connect(lawn / "record.sqlite")) as db:
        db.row_factory = sqlite3.Row
        row = {**db.execute("SELECT * FROM photo WHERE rowid=1").fetchone(), **cells}
        db.execute("DELETE FROM photo WHERE rowid=1")
        row["crc"] = crc_of(*list(row.values())[:-1])
        db.execute(f"INSERT INTO photo VALUES ({','.join('?' * len(row))})", tuple(row.values()))
        db.commit()
    again = measure_covers(lawn)
    assert again.newly_measured == 1
    assert cover_text(again).encode() == table(done)


@pytest.mark.parametrize(
    "change",
    ["row0 = row0 + 1", "col0 = col0 - 1", "packed_crc = 0", "crc = NULL",
     "bytes = (SELECT bytes FROM ground_map WHERE rowid = 2)"],
)  # fmt: skip
def test_a_map_that_was_shifted_or_swapped_is_one_line(lawn, change):
    with closing(sqlite3.connect(lawn / "record.sqlite")) as db:
        db.execute(f"UPDATE ground_map SET {change} WHERE rowid = 1")
        db.execute("DELETE FROM derived")
        db.commit()
    with pytest.raises(UsageError, match="is damaged") as told:
        season_of(measure_covers(lawn))
    assert "doctor --repair" in told.value.remedy


def test_a_file_that_is_said_to_be_another_is_read_again(lawn):
    with closing(sqlite3.connect(lawn / "record.sqlite")) as db:
        db.execute("UPDATE file SET digest = (SELECT max(digest) FROM file)")
        db.commit()
    covers = measure_covers(lawn)
    assert (covers.newly_measured, covers.duplicates) == (0, ())


@pytest.mark.parametrize("text", ["!!", "abc", "c$" * 3000, "\u00e9"])
def test_a_background_that_is_damaged_is_one_line(run, lawn, text):
    set_fact(lawn, "background", text, anew=True)
    newest = sorted((lawn / "photos").iterdir())[-1]
    newest.write_bytes(newest.read_bytes() + b"other bytes, the same picture")
    outcome = run("measure", lawn)
    assert outcome.code == 2 and len(outcome.err.splitlines()) == 1
    assert "doctor --repair" in outcome.err and "unforeseen" not in outcome.err
    assert run("doctor", "--repair", lawn, "--quiet").code == 0
    assert run("measure", lawn, "--quiet").code == 0


def set_fact(lawn, name, value, *, anew=False):
    """Change a fact of the reference photo, as damage does, or `anew`, with its checksum, as a stranger can."""
    with closing(sqlite3.connect(lawn / "record.sqlite")) as db:
        row, facts = db.execute("SELECT rowid, facts FROM photo ORDER BY taken_at").fetchone()
        changed = json.dumps(json.loads(facts) | {name: value})
        db.execute("UPDATE photo SET facts=? WHERE rowid=?", (changed, row))
        if anew:
            *cells, _ = db.execute("SELECT * FROM photo WHERE rowid=?", (row,)).fetchone()
            db.execute("UPDATE photo SET crc=? WHERE rowid=?", (crc_of(*cells), row))
        db.commit()


def test_a_record_cut_off_or_empty_is_told_or_rebuilt(lawn, run):
    path = lawn / "record.sqlite"
    path.write_bytes(path.read_bytes()[:5000])
    assert run("measure", lawn).code == 2
    path.write_bytes(b"")
    assert season_of(measure_covers(lawn)).newly_measured == 3


def test_a_record_of_before_the_schema_had_a_number_is_built_anew(lawn):
    path = lawn / "record.sqlite"
    path.unlink()
    with closing(sqlite3.connect(path)) as db:
        db.executescript("CREATE TABLE photo (digest TEXT, cover REAL); INSERT INTO photo VALUES ('d', 1.0);")
    assert season_of(measure_covers(lawn)).newly_measured == 3
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (SCHEMA_VERSION,)
        assert db.execute("SELECT count(*) FROM photo").fetchone() == (3,)


@pytest.mark.parametrize("version", [1, 2])
def test_a_record_of_an_older_schema_is_carried_over_and_nothing_is_measured_anew(lawn, done, run, version):
    with closing(sqlite3.connect(lawn / "record.sqlite")) as db:
        db.executescript("ALTER TABLE photo DROP COLUMN crc; ALTER TABLE file DROP COLUMN crc;")
        db.executescript(
            "ALTER TABLE ground_map DROP COLUMN crc; ALTER TABLE ground_map DROP COLUMN packed_crc;"
        )
        db.executescript(f"{'DROP TABLE derived;' * (version == 1)} PRAGMA user_version={version};")
    (lawn / "out/cover.csv").unlink()
    outcome = run("measure", lawn)
    assert "0 measured now" in outcome.out
    assert table(lawn) == table(done)


def test_a_migration_that_fails_leaves_the_file_as_it_was(tmp_path, monkeypatch):
    from swardmark.record import schema

    path = tmp_path / "record.sqlite"
    with closing(sqlite3.connect(path)) as db:
        db.executescript("CREATE TABLE photo (digest TEXT); INSERT INTO photo VALUES ('d');")
    monkeypatch.setattr(schema, "_MIGRATIONS", ("DROP TABLE photo; SELECT no_such_function();",))
    with pytest.raises(UsageError, match="cannot be used"):
        Record(path)
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("SELECT * FROM photo").fetchall() == [("d",)]
        assert db.execute("PRAGMA user_version").fetchone() == (0,)


def test_a_lawn_moved_to_another_machine_measures_nothing_anew(lawn, tmp_path, done):
    """Nothing in the record says where the folder lies."""
    moved = tmp_path / "elsewhere" / "other name"
    shutil.move(lawn, moved)
    assert season_of(measure_covers(moved)).newly_measured == 0
    assert str(done).encode() not in (moved / "record.sqlite").read_bytes()


def test_times_that_a_copy_changed_are_looked_through(lawn):
    for photo in (lawn / "photos").iterdir():
        photo.touch()
    assert season_of(measure_covers(lawn)).newly_measured == 0


def test_a_record_that_is_deleted_comes_back_even_with_its_log_left_over(run, lawn, done):
    (lawn / "record.sqlite-wal").write_bytes(np.random.default_rng(0).bytes(9000))
    (lawn / "record.sqlite").unlink()
    assert run("measure", lawn, "--quiet").code == 0
    assert table(lawn) == table(done)


def test_every_photo_is_one_transaction(lawn):
    """A fault between a photo's row and its map leaves neither; the photos before it stay."""
    path = lawn / "record.sqlite"
    path.unlink()
    Record(path).close()
    full = "SELECT RAISE(ABORT, 'database or disk is full') WHERE (SELECT count(*) FROM ground_map) = 2"
    with closing(sqlite3.connect(path)) as db:
        db.execute(f"CREATE TRIGGER full BEFORE INSERT ON ground_map BEGIN {full}; END")
    with pytest.raises(UsageError, match="disk is full"):
        season_of(measure_covers(lawn))
    with closing(sqlite3.connect(path)) as db:
        db.execute("DROP TRIGGER full")
        assert db.execute("SELECT count(*) FROM photo").fetchone() == (2,)
        assert db.execute("SELECT count(*) FROM ground_map").fetchone() == (2,)
    assert season_of(measure_covers(lawn)).newly_measured == 1


def test_what_is_left_wrong_is_seen(lawn):
    assert left_wrong(lawn, table(lawn) + b"x", {}) == ["cover.csv differs", "a file of the keeper's differs"]
