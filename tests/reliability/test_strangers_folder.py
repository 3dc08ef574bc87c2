"""A lawn folder from a stranger stays inside itself: no link in it makes swardmark read or write anything elsewhere.

The header field application_id is that of SQLite's file format (sqlite.org/fileformat2.html, offset 68).
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing

import pytest
from kill_runs import small_lawn

from swardmark.common.errors import UsageError
from swardmark.lawn.lock import files_lock, lawn_lock
from swardmark.measure.covers import measure_covers
from swardmark.record.sound import crc_of
from swardmark.record.store import Record
from swardmark.season import relevel_plan_of, season_of

SECRET = "root:x:0:0:not for strangers:/root:/bin/sh\n"


@pytest.fixture
def lawn(tmp_path):
    return small_lawn(tmp_path / "lawn")


@pytest.fixture
def outside(tmp_path):
    path = tmp_path / "outside.txt"
    path.write_text(SECRET)
    return path


@pytest.mark.parametrize(
    "name", ["lawn.toml", "marks.toml", "readings.csv", "diary.csv", "weather.csv", "heights.csv"]
)
def test_a_link_in_the_place_of_a_keepers_file_shows_nothing(run, lawn, outside, name):
    (lawn / name).unlink(missing_ok=True)
    (lawn / name).symlink_to(outside)
    for command in (("report", lawn), ("measure", lawn), ("level", lawn), ("today", lawn)):
        outcome = run(*command)
        assert "not for strangers" not in outcome.out + outcome.err
        if outcome.code == 2 and "is a link" in outcome.err:
            break
    else:
        pytest.fail("the link was read")
    assert outside.read_text() == SECRET


@pytest.mark.parametrize("how", ["link", "second name", "pipe"])
@pytest.mark.parametrize("lock", [lawn_lock, files_lock])
def test_a_lock_that_is_another_file_is_refused_and_left_as_it_is(lawn, outside, lock, how):
    name = lawn / (".swardmark.lock" if lock is lawn_lock else ".swardmark-files.lock")
    if how == "link":
        name.symlink_to(outside)
    elif how == "pipe":
        os.mkfifo(name)
    else:
        name.hardlink_to(outside)
    with pytest.raises(UsageError), lock(lawn, wait_s=0):
        pass
    assert outside.read_text() == SECRET


@pytest.mark.parametrize("name", ["record.sqlite", "record.sqlite-wal", "record.sqlite-journal"])
@pytest.mark.parametrize("how", ["link", "second name"])
def test_a_record_that_lies_elsewhere_is_refused(lawn, outside, name, how):
    with closing(sqlite3.connect(outside.with_name("other.sqlite"))) as other:
        other.execute("CREATE TABLE photo (digest TEXT)")
    other_bytes = outside.with_name("other.sqlite").read_bytes()
    if how == "link":
        (lawn / name).symlink_to(outside.with_name("other.sqlite"))
    else:
        (lawn / name).hardlink_to(outside.with_name("other.sqlite"))
    with pytest.raises(UsageError, match="not swardmark's own file"):
        measure_covers(lawn)
    assert outside.with_name("other.sqlite").read_bytes() == other_bytes


@pytest.mark.parametrize(
    "statements",
    [
        "CREATE TABLE messages (text TEXT)",
        "CREATE TABLE photo (id INTEGER, path TEXT)",
        "CREATE TABLE file (name TEXT); CREATE TABLE letters (text TEXT)",
        "CREATE VIEW photo AS SELECT 1",
        "PRAGMA application_id=252006674",
    ],
)
def test_a_database_of_another_program_is_refused_and_left_as_it_is(run, lawn, statements):
    with closing(sqlite3.connect(lawn / "record.sqlite")) as other:
        other.executescript(statements)
    before = (lawn / "record.sqlite").read_bytes()
    outcome = run("measure", lawn)
    assert outcome.code == 2
    assert "is a database of another program" in outcome.err
    assert len(outcome.err.splitlines()) == 1
    assert (lawn / "record.sqlite").read_bytes() == before


def test_a_record_is_signed_and_one_from_before_is_signed_when_it_is_opened(tmp_path):
    path = tmp_path / "record.sqlite"
    Record(path).close()
    assert path.read_bytes()[68:72] == b"SWMK"
    with closing(sqlite3.connect(path, isolation_level=None)) as record:
        record.execute("PRAGMA application_id=0")
    Record(path).close()
    with closing(sqlite3.connect(path)) as record:
        assert record.execute("PRAGMA application_id").fetchone() == (0x53574D4B,)


@pytest.mark.parametrize("name", ["out", "out/figures"])
def test_tables_and_figures_are_not_written_through_a_link(run, lawn, tmp_path, name):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "cover.csv").write_text("mine")
    (lawn / name).parent.mkdir(exist_ok=True)
    (lawn / name).symlink_to(elsewhere)
    outcome = run("report", lawn)
    assert outcome.code == 2
    assert "is a link, not a folder" in outcome.err
    assert {path.name: path.read_text() for path in elsewhere.iterdir()} == {"cover.csv": "mine"}


def test_a_photo_point_that_is_a_link_takes_no_photo_in(run, lawn, tmp_path):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (lawn / "photos/left").symlink_to(elsewhere)
    outcome = run("add", lawn, next(iter((lawn / "photos").glob("*.jpg"))), "--point", "left")
    assert outcome.code == 2
    assert "is a link to outside" in outcome.err
    assert list(elsewhere.iterdir()) == []


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    folder = small_lawn(tmp_path_factory.mktemp("edited") / "lawn")
    measure_covers(folder)
    return folder


@pytest.mark.parametrize(
    "change",
    ["row0 = row0 - 30000", "col0 = 2000000000", "spacing_m = 0.0001", "spacing_m = 9e9", "row0 = 'a'",
     "col0 = 1.5", "rows = -1", "spacing_m = 0.02"],
)  # fmt: skip
def test_an_edited_row_does_not_make_a_field_of_the_lawn(measured, tmp_path, change):
    """The first of them made the plan take 18 GB: the common window of all maps grew with it. Its checksum is right."""
    import resource
    import shutil

    before_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    lawn = shutil.copytree(measured, tmp_path / "lawn")
    with closing(sqlite3.connect(lawn / "record.sqlite")) as record, record:
        record.execute("PRAGMA ignore_check_constraints=1")
        record.execute(f"UPDATE ground_map SET {change} WHERE rowid = 1")
        *cells, _ = record.execute("SELECT * FROM ground_map WHERE rowid = 1").fetchone()
        record.execute("UPDATE ground_map SET crc = ? WHERE rowid = 1", (crc_of(*cells[:-1]),))
        record.execute("DELETE FROM derived")
    with pytest.raises(UsageError, match="is damaged") as told:
        relevel_plan_of(season_of(measure_covers(lawn)))
    assert "doctor --repair" in told.value.remedy
    more_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before_kib
    assert more_kib < 2**20, "1 GB more than whatever ran before in this process"
