from __future__ import annotations

import datetime as dt
import sqlite3

import numpy as np
import pytest

from swardmark.canopy.index import GroundMap
from swardmark.common.errors import UsageError
from swardmark.record.store import Entry, PhotoFacts, Record

ENTRY = Entry(
    "d" * 64, "s1", "main", "a.jpg", dt.datetime(2026, 6, 3, 9), "camera",
    PhotoFacts(size=(4, 3), corners_px=((1.0, 2.0),), to_photo=(1.0,) * 9, notes=("odd",)),
)  # fmt: skip


def a_map(seed=0):
    return GroundMap(np.random.default_rng(seed).integers(0, 256, (40, 30), dtype=np.uint8), -7, 12, 0.01)


def test_what_is_put_comes_back(tmp_path):
    with Record(tmp_path / "record.sqlite") as record:
        record.put(ENTRY, a_map())
    with Record(tmp_path / "record.sqlite") as record:
        known = record.entry(digest=ENTRY.digest, settings="s1", point="main")
        kept = record.ground_map(ENTRY)
        assert record.entry(digest=ENTRY.digest, settings="s2", point="main") is None
    assert known is not None
    assert (known.name, known.taken_at, known.facts.corners_px) == ("a.jpg", ENTRY.taken_at, ((1.0, 2.0),))
    np.testing.assert_array_equal(kept.values, a_map().values)
    assert (kept.row0, kept.col0, kept.spacing_m) == (-7, 12, 0.01)


def test_the_same_photo_twice_is_one_row(tmp_path):
    with Record(tmp_path / "record.sqlite") as record:
        record.put(ENTRY, a_map(0))
        record.put(ENTRY, a_map(1))
        np.testing.assert_array_equal(record.ground_map(ENTRY).values, a_map(1).values)
    with sqlite3.connect(tmp_path / "record.sqlite") as db:
        assert db.execute("SELECT count(*) FROM photo").fetchone() == (1,)
    db.close()


def test_a_file_is_known_until_its_size_or_time_changes(tmp_path):
    with Record(tmp_path / "record.sqlite") as record:
        record.remember_files([("a.jpg", 10, 99, "abc")])
        assert record.known_digest("a.jpg", 10, 99) == "abc"
        assert record.known_digest("a.jpg", 10, 98) is None
        assert record.known_digest("a.jpg", 11, 99) is None


@pytest.mark.parametrize("content", [b"this is no database, but a text that is long enough" * 9])
def test_a_damaged_record_says_that_it_can_be_deleted(tmp_path, content):
    path = tmp_path / "record.sqlite"
    path.write_bytes(content)
    with pytest.raises(UsageError, match="delete it: it is rebuilt"):
        Record(path)


def test_a_record_of_a_newer_version_is_left_alone(tmp_path):
    path = tmp_path / "record.sqlite"
    with sqlite3.connect(path) as db:
        db.execute("PRAGMA user_version=99")
    db.close()
    with pytest.raises(UsageError, match="newer swardmark"):
        Record(path)
