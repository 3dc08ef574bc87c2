"""The command `level` on a lawn folder: text, tables, JSON, sheets; before and after; the other ways of measuring."""

from __future__ import annotations

import csv
import datetime as dt
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import swardmark
from swardmark.lawn.heights import Heights
from swardmark.lawn.toml import parse_lawn, read_lawn
from swardmark.level import sentences
from swardmark.level.review import laid_litres, level_review
from swardmark.level.rows import LEVEL_COLUMNS, LEVEL_SPOT_COLUMNS, level_document
from swardmark.level.telling import finer_spacing, level_sentences, spot_sentences
from swardmark.report.level_section import level_figures

FROZEN = ("fill_litres", "fill_low_litres", "fill_high_litres", "deviation_mm", "low_spots", "high_spots")
LAWN = 'name = "Tern Cottage"\ngrass = "zoysiagrass"\narea_m2 = 30\n'


def ground(x, y, deepest):
    bowl = -deepest * np.clip(1 - ((x - 2) ** 2 + (y - 3) ** 2) / 0.9**2, 0, None)
    mound = 18 * np.clip(1 - ((x - 4) ** 2 + (y - 1) ** 2) / 0.5**2, 0, None)
    return bowl + mound - 20 * y


def heights_csv(*days: tuple[str, float]) -> str:
    rng = np.random.default_rng(8)
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0, 5.01, 0.5), np.arange(0, 6.01, 0.5)))
    lines = ["date,x_m,y_m,drop_mm,how"]
    for day, deepest in days:
        z = ground(x, y, deepest) + rng.normal(0, 1, x.size)
        lines += [f"{day},{a},{b},{-c:.0f},string" for a, b, c in zip(x, y, z, strict=True)]
    return "\n".join(lines) + "\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    lawn = tmp_path / "lawn"
    lawn.mkdir()
    (lawn / "lawn.toml").write_text(LAWN + "[[leveling]]\ndate = 2026-06-03\nsand_m3 = 0.04\n")
    (lawn / "heights.csv").write_text(heights_csv(("2026-05-20", 30), ("2026-07-10", 8)))
    return lawn


def test_the_document_has_its_frozen_keys_and_the_tables_their_columns(run, folder):
    done = run("level", folder, "--json", "--as-of", "2026-06-01")
    assert done.code == 0, done.err
    document = json.loads(done.out)
    assert tuple(document)[1 : 1 + len(FROZEN)] == FROZEN
    assert document["fill_low_litres"] < np.pi * 0.9**2 * 15 < document["fill_high_litres"]
    assert (len(document["low_spots"]), len(document["high_spots"])) == (1, 1)
    assert document["high_spots"][0]["x_m"] == pytest.approx(4, abs=0.25)
    assert 5 < document["deviation_mm"] < 25
    tables = {
        name: list(csv.reader((folder / "out" / name).open())) for name in ("level.csv", "level_spots.csv")
    }
    assert tables["level.csv"][0] == list(LEVEL_COLUMNS)
    assert tables["level_spots.csv"][0] == list(LEVEL_SPOT_COLUMNS)
    assert len(tables["level_spots.csv"]) == 3
    lowest = min(tables["level.csv"][1:], key=lambda row: float(row[4]))
    assert (float(lowest[2]), float(lowest[3])) == pytest.approx((2, 3), abs=0.3)


def test_the_text_says_verdict_sand_and_what_the_leveling_did(run, folder):
    done = run("level", folder)
    assert done.code == 0, done.err
    lines = done.out.splitlines()
    assert lines[0].startswith(("Level enough", "Not level yet"))
    assert any(
        line.startswith("From 20 May 2026 to 10 July 2026 the deviation under 2.4 m went from")
        for line in lines
    )
    assert any(line.startswith("40 L of sand laid,") for line in lines)
    assert "A fall of 2.0 % toward the far side is taken out and kept." in lines


def test_no_heights_yet_is_no_fault(run, folder):
    (folder / "heights.csv").unlink()
    done = run("level", folder)
    assert done.code == 0
    assert done.out.startswith("No heights yet. Print a sheet with: swardmark level ")
    assert not (folder / "out").exists()
    document = json.loads(run("level", folder, "--json").out)
    assert [document[key] for key in FROZEN] == [None, None, None, None, [], []]


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--grid", "0.75m", "--size", "large"), "--size: 'large' is not a size"),
        (("--straightedge", "25ft"), "--straightedge: '25ft' is no straightedge"),
        (("--grid", "9m"), "--grid: places every 9 m do not fit 6 x 8 m"),
        (("--grid", "1m", "--paper", "a5"), "--paper: 'a5' is not a paper size"),
        (("--grid", "1m", "--layings", "12"), "--grid: two sheets at once"),
        (("--grid", "1m", "--at", "here"), "--at: 'here' is not a corner"),
        (("--straightedge", "20m"), "--straightedge: '20m' is no straightedge"),
    ],
)
def test_bad_usage_is_one_line(run, folder, args, said):
    done = run("level", folder, *args)
    assert done.code == 2
    assert said in done.err
    assert len(done.err.strip().splitlines()) == 1


def test_a_filled_in_sheet_is_heights_csv_and_is_never_overwritten(run, folder):
    done = run("level", folder, "--grid", "2ft", "--size", "10x12ft", "--paper", "letter")
    assert done.code == 0, done.err
    assert (folder / "out" / "level-grid.pdf").read_bytes().startswith(b"%PDF")
    table = folder / "out" / "heights-grid.csv"
    filled = table.read_text().replace(",string,", ",string,", 1).splitlines()
    names = filled[0].split(",")
    rows = [line.split(",") for line in filled[1:]]
    assert len(rows) == 6 * 7
    for number, row in enumerate(rows):
        row[names.index("date")], row[names.index("drop_in")] = "2026-06-03", f"1 {number % 3}/8"
    text = "\n".join([filled[0], *(",".join(row) for row in rows)]) + "\n"
    table.write_text(text)
    (folder / "heights.csv").write_text(text)
    assert run("level", folder).code == 0
    assert run("level", folder, "--grid", "2ft", "--size", "10ftx12").code == 0
    assert table.read_text() == text
    assert len((folder / "out" / "heights-grid-2.csv").read_text().splitlines()) == 1 + 6 * 7


def test_layings_hollows_and_puddles_speak_without_a_map(folder):
    (folder / "heights.csv").write_text(
        "date,place,x_m,y_m,drop_mm,how,width_m\n"
        + "".join(f"2026-06-03,{n},{n},{t},{(n * t) % 5},straightedge,\n" for n in range(6) for t in range(5))
        + "2026-06-03,,2,2,30,deepest,1.2\n"
    )
    (folder / "lawn.toml").write_text(
        LAWN + '[[puddle]]\ndate = 2026-06-03\nname = "by the gate"\noutline_m = [[0,0],[1,0],[1,1],[0,1]]\n'
        "deepest_mm = 20\n"
    )
    review = level_review(read_lawn(folder))
    said = level_sentences(review)
    assert any(line.startswith("Straightedge, 6 layings on 3 June 2026") for line in said)
    assert any(
        line.startswith("Puddle by the gate: x 0.5 m, y 0.5 m, 1 m², 20 mm at its deepest: 10 L")
        for line in said
    )
    assert sum(one.volume.litres for one in review.hollows) == pytest.approx(10 + np.pi * 0.6**2 * 15)


def test_a_hollow_beside_the_map_is_never_nothing_to_fill(folder):
    """A map without a low spot once said that there was nothing to fill, and the next line named 17 L."""
    flat = heights_csv(("2026-07-10", 0)).splitlines()
    lines = [f"{flat[0]},width_m", *(f"{line}," for line in flat[1:]), "2026-07-10,9,9,30,deepest,1.2"]
    (folder / "heights.csv").write_text("\n".join(lines) + "\n")
    said = " ".join(level_sentences(level_review(read_lawn(folder))))
    assert "nothing to fill" not in said and "30 mm at its deepest: 17 L" in said
    (folder / "heights.csv").write_text("\n".join(lines[:-1]) + "\n")
    assert "nothing to fill" in " ".join(level_sentences(level_review(read_lawn(folder))))


def test_sand_of_the_day_of_the_first_heights_counts_as_laid_after_them(folder):
    lawn = read_lawn(folder)
    sand, day = lawn.leveling[0], dt.timedelta(days=1)
    assert laid_litres(lawn, sand.date, sand.date + 30 * day, 30.0) == pytest.approx(40)
    assert laid_litres(lawn, sand.date + day, sand.date + 30 * day, 30.0) == 0


def test_heights_from_before_the_sand_are_said_to_be_so(folder):
    (folder / "heights.csv").write_text(heights_csv(("2026-05-20", 30)))
    days = [dt.date(2026, 6, 3), dt.date(2026, 6, 4)]
    on_the_day, after = (level_review(read_lawn(folder), as_of=day) for day in days)
    assert [len(level_figures(one)) for one in (on_the_day, after)] == [
        2,
        1,
    ]  # what to carry where is shown no more
    assert level_document(after)["outdated"] == [{"date": "2026-05-20", "sand": "2026-06-03"}]
    first, second = (level_sentences(one)[0] for one in (on_the_day, after))
    assert first.startswith("Not level yet")
    assert second.startswith("What was measured on 20 May 2026 is the ground before the sand of 3 June 2026")


def test_sand_that_fills_no_hollow_is_said_plainly(folder):
    (folder / "heights.csv").write_text(heights_csv(("2026-05-20", 20), ("2026-07-10", 30)))
    said = level_sentences(level_review(read_lawn(folder)))
    assert "40 L of sand laid, and the hollows take no less than before." in said
    assert not any("hollows gone" in line for line in said)


def test_photos_of_the_sand_show_the_sand_of_their_day(folder):
    """Two years of photos on the days of the sand: the first year's sand is in the first heights already."""
    first, second = dt.date(2025, 6, 1), dt.date(2026, 6, 3)
    levelings = "".join(f"[[leveling]]\ndate = {day}\nsand_m3 = 0.04\n" for day in (first, second))
    lawn = parse_lawn(LAWN + levelings)
    shows = {"hows": (("photos",), ("photos",))}
    assert laid_litres(lawn, first, second, 30.0, **shows) == pytest.approx(40)
    assert laid_litres(lawn, first, second, 30.0) == pytest.approx(40)
    assert laid_litres(lawn, first, second + dt.timedelta(days=9), 30.0, **shows) == pytest.approx(40)


def test_hollows_read_on_two_days_are_two_and_one_read_again_is_one(folder):
    """A second hollow, noted a week later, once took the first one off the list."""
    rows = (
        "2026-06-03,2,2,30,deepest,1.2",
        "2026-06-10,5,5,20,deepest,1.2",
        "2026-06-10,2.1,2,24,deepest,1.2",
    )
    (folder / "heights.csv").write_text("\n".join(("date,x_m,y_m,drop_mm,how,width_m", *rows)) + "\n")
    found = level_review(read_lawn(folder)).hollows
    assert [(one.x_m, one.deepest_mm) for one in found] == [(5.0, 20.0), (2.1, 24.0)]
    (folder / "heights.csv").write_text("\n".join(("date,x_m,y_m,drop_mm,how,width_m", *rows[:2])) + "\n")
    assert [one.deepest_mm for one in level_review(read_lawn(folder)).hollows] == [30.0, 20.0]


def test_a_short_straightedge_calls_no_rough_lawn_level(folder):
    """6 mm is good under 2.4 m; an edge of 1 m shows less of the same hollows."""
    review = level_review(read_lawn(folder))
    short = replace(review.maps[0], deviation_mm=(1.0, 4.0), straightedge_m=1.0)
    review = replace(review, maps=(short,), before=())
    assert "(2 mm is good)" in level_sentences(review)[0]
    assert level_sentences(review)[0].startswith("Not level yet")


def test_a_puddle_of_another_year_is_another_puddle(folder):
    puddle = '[[puddle]]\ndate = {}\nname = "gate"\noutline_m = [[0,0],[{s},0],[{s},{s}],[0,{s}]]\ndeepest_mm = 20\n'
    text = LAWN + puddle.format("2025-06-03", s=2) + puddle.format("2026-06-03", s=1)
    (hollow,) = level_review(parse_lawn(text)).hollows
    assert (hollow.area_m2, hollow.volume.litres) == (1.0, pytest.approx(10))


def test_another_source_comes_in_by_the_seam(folder):
    (folder / "heights.csv").unlink()
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0, 5.01, 0.1), np.arange(0, 6.01, 0.1)))
    photos = Heights(dt.date(2026, 6, 4), "main", x, y, ground(x, y, 30), np.full(x.size, 0.8), "photos")
    document = level_document(level_review(read_lawn(folder), more=[photos]))
    assert document["maps"][0]["how"] == ["photos"]
    assert document["fill_litres"] == pytest.approx(np.pi * 0.9**2 * 15, rel=0.15)


def test_us_units_read_as_the_trade_writes_them(folder):
    (folder / "lawn.toml").write_text(LAWN + 'units = "us"\n')
    review = level_review(read_lawn(folder))
    said = " ".join((*level_sentences(review), *spot_sentences(review)))
    assert "under a straightedge of 8 ft (1/4 in is good)" in said
    assert " mm" not in said
    assert "cu ft" in said
    assert finer_spacing(1.5, "metric") == "0.75 m"
    assert finer_spacing(1.2192, "us") == "2 ft"


def test_no_sentence_is_left_that_nobody_says():
    rooms = Path(swardmark.__file__).parent
    said = "".join(path.read_text() for path in rooms.rglob("*.py"))
    names = [name for name in vars(sentences) if name.isupper()]
    assert names
    assert not [name for name in names if f"sentences.{name}" not in said]


def test_heights_that_make_no_map_yet_are_said_and_stop_nothing(tmp_path):
    """Half a grid, or one line of it, typed on the page: the season goes on, and the earlier map stays."""
    (tmp_path / "lawn.toml").write_text(LAWN)
    whole = "".join(f"2026-05-01,main,{x},{y},{-(x * y)},string,\n" for x in range(4) for y in range(4))
    begun = "".join(f"2026-06-01,main,{x},0,{-x},string,\n" for x in range(12))
    head = "date,point,x_m,y_m,height_mm,how,note\n"
    (tmp_path / "heights.csv").write_text(head + begun)
    review = level_review(read_lawn(tmp_path))
    assert review.is_empty and "12 heights of 2026-06-01 make no map yet" in level_sentences(review)[0]
    (tmp_path / "heights.csv").write_text(head + whole + begun)
    review = level_review(read_lawn(tmp_path))
    assert [one.date.isoformat() for one in review.maps] == ["2026-05-01"]
    assert "make no map yet" in level_sentences(review)[-1]
