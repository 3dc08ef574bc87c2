"""Lawns that are odd and not wrong: they are measured, and what is odd is told."""

from __future__ import annotations

import csv
import datetime as dt

import pytest
from kill_runs import small_lawn

from swardmark.lawn.marks import PhotoMarks, write_marks
from swardmark.measure.covers import measure_covers
from swardmark.season import season_of
from swardmark.words.tables import cover_rows

ZONE = '\n[[zone]]\nname = "{}"\noutline_m = {}\n'
FAR = "[[80, 80], [82, 80], [82, 82], [80, 82]]"


@pytest.fixture
def lawn(tmp_path):
    return small_lawn(tmp_path / "lawn")


def add_zones(lawn, *zones):
    path = lawn / "lawn.toml"
    path.write_text(path.read_text() + "".join(ZONE.format(name, outline) for name, outline in zones))


def test_a_zone_outside_the_view_is_unknown_and_never_zero(run, lawn):
    add_zones(lawn, ("far away", FAR))
    assert run("measure", lawn, "--quiet").code == 0
    rows = [row for row in csv.DictReader((lawn / "out/cover.csv").open()) if row["zone"] == "far away"]
    assert len(rows) == 3
    for row in rows:
        assert (row["cover_pct"], row["cover_low_pct"], row["seen_cover_pct"]) == ("", "", "")
        assert "zone not in view" in row["notes"]


def test_zones_that_overlap_are_each_measured_alone(lawn):
    before = {
        (row["photo"], row["zone"]): row["cover_pct"] for row in cover_rows(season_of(measure_covers(lawn)))
    }
    add_zones(lawn, ("over the middle", "[[-0.10, 1.20], [1.10, 1.20], [1.10, 2.15], [-0.10, 2.15]]"))
    after = {
        (row["photo"], row["zone"]): row["cover_pct"] for row in cover_rows(season_of(measure_covers(lawn)))
    }
    assert {key: after[key] for key in before} == before
    for photo, _ in before:
        assert after[photo, "over the middle"] == after[photo, "open middle"]


def test_two_photos_of_one_minute_are_both_kept_in_one_order(lawn):
    first, second, _ = sorted(path.name for path in (lawn / "photos").iterdir())
    noon = dt.datetime(2026, 6, 4, 12)
    write_marks(lawn, {second: PhotoMarks(taken_at=noon), first: PhotoMarks(taken_at=noon)})
    season = season_of(measure_covers(lawn))
    assert [row.photo for row in season.covers if row.zone == "old dip"][:2] == [first, second]
    assert season.duplicates == ()


def test_the_hour_that_a_clock_change_repeats_or_leaves_out_is_no_fault(lawn):
    """Camera times are local and have no zone: 02:30 is a time like another, on the days of the change too (EU rules of
    2026: 29 March and 25 October)."""
    names = sorted(path.name for path in (lawn / "photos").iterdir())
    times = [
        dt.datetime(2026, 3, 29, 2, 30),
        dt.datetime(2026, 10, 25, 2, 30),
        dt.datetime(2026, 10, 25, 2, 30),
    ]
    write_marks(lawn, {name: PhotoMarks(taken_at=time) for name, time in zip(names, times, strict=True)})
    rows = [row for row in season_of(measure_covers(lawn)).covers if row.zone == "old dip"]
    assert [row.taken_at for row in rows] == times
    assert rows[1].day == rows[2].day
