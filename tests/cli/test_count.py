"""`swardmark count`, from the sheet to the estimate."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import numpy as np
import pytest

from swardmark.lawn.counts import read_counts
from swardmark.measure.counting import counted_covers
from swardmark.measure.covers import measure_covers
from swardmark.sheets.contact_sheet import crop_at

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    folder = tmp_path_factory.mktemp("count") / "lawn"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record.sqlite*", "out", "2026-06-[01]*"))
    measure_covers(folder)
    return folder


@pytest.fixture
def lawn(measured, tmp_path):
    return shutil.copytree(measured, tmp_path / "lawn")


def fill(table: Path, said) -> None:
    with table.open(newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row["said"] = said(row)
    with table.open("w", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)


def by_stratum(row):
    """An eye that agrees with the tool where the tool is sure, and says ground where it is not."""
    return "l" if row["stratum"] == "leaf" else "g"


def test_a_sheet_is_written_filled_in_and_counted(run, lawn):
    done = run("count", lawn, "--points", "60", "--json")
    assert done.code == 0, done.err
    first = json.loads(done.out)
    assert len(first["sheets"]) == 3
    assert all(Path(name).read_bytes().startswith(b"\x89PNG") for name in first["sheets"])
    assert first["counted"] == []
    fill(Path(first["table"]), by_stratum)
    (one,) = json.loads(run("count", lawn, "--filled", first["table"], "--json").out)["counted"]
    assert (one["points"], one["cannot_tell"], one["zone"]) == (60, 0, "whole lawn")
    assert one["low_pct"] < one["cover_pct"] < one["high_pct"]
    assert len(read_counts(lawn)) == 60


def test_a_filled_table_is_never_written_over(run, lawn):
    first = json.loads(run("count", lawn, "--points", "20", "--json").out)["table"]
    fill(Path(first), by_stratum)
    before = Path(first).read_bytes()
    second = json.loads(run("count", lawn, "--points", "20", "--json").out)["table"]
    assert second != first
    assert Path(first).read_bytes() == before


def test_points_shown_again_tell_the_eye_s_own_error(run, lawn):
    first = json.loads(run("count", lawn, "--points", "40", "--json").out)["table"]
    fill(Path(first), by_stratum)
    run("count", lawn, "--filled", first)
    again = json.loads(run("count", lawn, "--again", "--json").out)["table"]
    fill(Path(again), by_stratum)
    (one,) = json.loads(run("count", lawn, "--filled", again, "--json").out)["counted"]
    assert (one["points"], one["eye_error_pct"]) == (40, 0.0)


def test_an_eye_that_sees_more_leaf_raises_the_count(lawn, run):
    """The answers decide, not the tool: all leaf is full cover, whatever was measured."""
    table = json.loads(run("count", lawn, "--points", "40", "--json").out)["table"]
    fill(Path(table), lambda row: "leaf")
    run("count", lawn, "--filled", table)
    (one,) = counted_covers(measure_covers(lawn), read_counts(lawn))
    assert one.cover.cover_pct > 97
    assert one.cover.differs


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--photo", "none.jpg"), "no measured photo 'none.jpg'"),
        (("--zone", "the moon"), "no zone 'the moon'"),
        (("--again",), "no point was counted yet"),
    ],
)
def test_what_cannot_be_counted_is_one_line(run, lawn, words, line):
    done = run("count", lawn, *words)
    assert (done.code, done.out) == (2, "")
    assert line in done.err
    assert len(done.err.splitlines()) == 1


def test_the_ring_is_around_the_point_itself():
    rgb = np.zeros((200, 300, 3), np.uint8)
    rgb[80, 120] = 255, 0, 0
    tile = crop_at(rgb, 120, 80, side_px=245, crop_px=48)
    middle = tile[116:129, 116:129].reshape(-1, 3).astype(int)
    assert (middle[:, 0] - middle[:, 1]).max() > 150
    assert tile[:100].max() == 0
