"""`swardmark count`, from the sheet to the estimate."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import numpy as np
import pytest

from swardmark.common.errors import UsageError
from swardmark.lawn.counts import read_counts
from swardmark.measure.count_round import begin_repeat, begin_round, estimate_so_far, keep_answer
from swardmark.measure.counting import counted_covers
from swardmark.measure.covers import measure_covers
from swardmark.photo.decode import decode
from swardmark.practice.files import save_photo
from swardmark.sheets.contact_sheet import crop_at, point_crops

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
    assert json.loads(run("count", lawn, "--filled", first["table"], "--json").out)["added"] == 0
    assert len(read_counts(lawn)) == 60, "a table that is taken in again counts once"


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
    covers = measure_covers(lawn)
    (one,) = counted_covers(covers, read_counts(lawn))
    assert one.cover.cover_pct > 97
    assert covers.points[0].threshold.counted == 40, "and the covers follow them"


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


def test_a_round_on_the_page_keeps_each_answer_and_says_what_they_say_so_far(lawn):
    covers = measure_covers(lawn)
    counting = begin_round(covers, points=60)
    said = ["leaf" if point.stratum == "leaf" else "ground" for point in counting.points]
    for number, word in enumerate(said):
        keep_answer(lawn, counting, number, word, is_first=number == 0)
        so_far = estimate_so_far(counting, said[: number + 1])
        assert (so_far is None) == (number < 19)
    assert len(read_counts(lawn)) == 60
    (one,) = counted_covers(covers, read_counts(lawn))
    assert one.cover.cover_pct == pytest.approx(so_far.cover_pct, abs=0.05)
    assert one.cover.high_pct - one.cover.low_pct == pytest.approx(so_far.high_pct - so_far.low_pct, abs=0.1)


def test_a_round_again_shows_the_same_points_in_another_order(lawn):
    covers = measure_covers(lawn)
    counting = begin_round(covers, points=30)
    for number in range(30):
        keep_answer(lawn, counting, number, "leaf")
    again = begin_repeat(covers, read_counts(lawn))
    assert again.is_repeat
    assert [p.x_px for p in again.points] != [p.x_px for p in counting.points]
    for shown, known in zip(
        sorted((p.x_px, p.y_px) for p in again.points),
        sorted((p.x_px, p.y_px) for p in counting.points),
        strict=True,
    ):
        assert shown == pytest.approx(known, abs=0.5)
    for number in range(30):
        keep_answer(lawn, again, number, "leaf")
    (one,) = counted_covers(covers, read_counts(lawn))
    assert (one.cover.points, one.cover.eye_error_pct) == (30, 0.0)


@pytest.mark.parametrize(("number", "said"), [(30, "leaf"), (-1, "leaf"), (0, "perhaps")])
def test_a_wrong_answer_writes_nothing(lawn, number, said):
    counting = begin_round(measure_covers(lawn), points=30)
    with pytest.raises(UsageError):
        keep_answer(lawn, counting, number, said)
    assert read_counts(lawn) == ()


def test_a_crop_for_the_screen_shows_the_point_where_the_ring_goes():
    rgb = np.zeros((200, 300, 3), np.uint8)
    rgb[78:83, 118:123] = 255, 0, 0
    (crop,) = point_crops(rgb, [(120, 80)], side_px=440)
    picture = decode(crop.jpeg, name="crop.jpg").rgb
    assert picture.shape == (440, 440, 3)
    y, x = (int(share * 440) for share in (crop.ring_y, crop.ring_x))
    assert picture[y, x, 0] > 200 > 60 > picture[y, x, 1]
    assert 0.02 < crop.ring_radius < 0.1


def test_counts_that_differ_beyond_chance_set_the_covers_right_and_everything_says_so(run, lawn):
    """An eye that sees leaf in every second point that the tool is unsure of, and in a fifth of its ground."""
    before = measure_covers(lawn)
    counting = begin_round(before, points=100)
    rng = np.random.default_rng(1)
    for number, point in enumerate(counting.points):
        chance = {"leaf": 1.0, "unsure": 0.95, "ground": 0.3}[point.stratum]
        keep_answer(lawn, counting, number, "leaf" if rng.random() < chance else "ground")
    after = measure_covers(lawn)
    assert (before.points[0].threshold.counted, after.points[0].threshold.counted) == (0, 100)
    moved = [
        new.cover.cover_pct - old.cover.cover_pct
        for old, new in zip(before.covers, after.covers, strict=True)
    ]
    assert np.mean(moved) > 0.5
    wider = [
        (new.cover.high_pct - new.cover.low_pct) / (old.cover.high_pct - old.cover.low_pct)
        for old, new in zip(before.covers, after.covers, strict=True)
        if 20 < old.cover.cover_pct < 80
    ]
    assert np.mean(wider) < 1.3, "the photos were surer than the count bears out"
    line = "fitted to 100 points counted by eye"
    assert line in run("measure", lawn).out
    assert line in run("count", lawn, "--again").out
    run("report", lawn)
    assert line in (lawn / "out" / "report.html").read_text()


def test_a_photo_taken_straight_down_is_counted_beside_the_zone_of_that_day(run, lawn, tmp_path):
    covers = measure_covers(lawn)
    row = covers.covers[-1]
    rgb = np.full((300, 400, 3), (196, 180, 150), np.uint8)
    rgb[:, :200] = 70, 130, 40
    picture = tmp_path / "down.jpg"
    save_photo(picture, rgb, taken_at=row.taken_at, focal35_mm=26.0)
    table = json.loads(
        run("count", lawn, "--straight-down", picture, "--zone", row.zone, "--points", "60", "--json").out
    )["table"]
    fill(Path(table), lambda point: "leaf" if float(point["x_px"]) < 200 else "ground")
    counted = json.loads(run("count", lawn, "--filled", table, "--json").out)["counted"]
    (one,) = counted
    assert one["is_straight_down"] and one["photo"] == row.photo and one["zone"] == row.zone
    assert one["low_pct"] <= 50 <= one["high_pct"]
    after = measure_covers(lawn).covers[-1].cover
    assert one["tool_pct"] == pytest.approx(after.cover_pct, abs=0.01)
    assert abs(after.cover_pct - 50) < abs(row.cover.cover_pct - 50), "the slant step is fitted to the count"
    out = run("count", lawn, "--filled", table).out
    assert "at a slant was fitted to 60 points counted on photos taken straight down" in out
    done = run("count", lawn, "--straight-down", picture, "--zone", "the moon")
    assert done.code == 2 and "the moon" in done.err and len(done.err.splitlines()) == 1
