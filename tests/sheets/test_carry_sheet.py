"""The sheet for the day of the sand: its loads are the sand, and it prints whole on both papers."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from swardmark.cli.app import app
from swardmark.common.errors import UsageError
from swardmark.lawn.heights import Heights
from swardmark.lawn.toml import parse_lawn
from swardmark.level.review import LevelReview, level_review
from swardmark.relevel.sand import BULKING, LOAD_LIMIT_KG, WET_KG_M3
from swardmark.sheets.carry_sheet import (
    MOST_ROWS,
    _counted,
    carrier_of,
    carriers,
    pile_place,
    write_carry_sheet,
)
from swardmark.sheets.paper import PAPER_MM


def review(units: str = "metric", *, deep_mm: float = 30.0) -> LevelReview:
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0, 6.01, 0.5), np.arange(0, 8.01, 0.5)))
    z = -deep_mm * np.clip(1 - ((x - 1.6) ** 2 + (y - 3) ** 2) / 1.2**2, 0, None)
    heights = Heights(dt.date(2026, 6, 3), "main", x, y, z, np.ones(x.size), "string")
    return level_review(parse_lawn(f'name = "x"\nunits = "{units}"\n'), more=[heights])


def test_what_was_measured_before_the_sand_is_not_carried_out_again(tmp_path: Path) -> None:
    one = review()
    leveled = parse_lawn('name = "x"\n[[leveling]]\ndate = 2026-06-04\n')
    on_the_day, after = (replace(one, lawn=leveled, as_of=dt.date(2026, 6, day)) for day in (4, 5))
    assert write_carry_sheet(on_the_day, folder=tmp_path).exists()
    with pytest.raises(UsageError, match="before sand that was laid since"):
        write_carry_sheet(after, folder=tmp_path)


def text_of(pdf: Path) -> str:
    program = shutil.which("pdftotext")
    if program is None:
        pytest.skip("pdftotext (poppler-utils) is not installed")
    done = subprocess.run([program, "-layout", str(pdf), "-"], check=True, capture_output=True, text=True)
    return re.sub(r"\s+", " ", done.stdout)


@pytest.mark.parametrize(("units", "paper"), [("metric", "a4"), ("us", "letter")])
def test_one_page_with_loads_spots_and_cautions(tmp_path: Path, units: str, paper: str) -> None:
    one = review(units)
    pdf = write_carry_sheet(one, folder=tmp_path, paper=paper)
    said = text_of(pdf)
    assert "Sand: what to carry where" in said and "tip the pile here" in said
    loose = one.maps[0].fill.litres * BULKING
    assert f"{int(np.ceil(loose / one.lawn.sand.bucket_litres - 0.05))} buckets" in said
    assert "Dry sand dust" in said and "sprinkler heads" in said and "Leaf tips" in said
    size = re.search(rb"MediaBox \[ 0 0 ([0-9.]+) ([0-9.]+)", pdf.read_bytes())
    assert size is not None
    assert [float(v) * 25.4 / 72 for v in size.groups()] == pytest.approx(PAPER_MM[paper], abs=0.2)
    assert write_carry_sheet(one, folder=tmp_path, paper=paper).read_bytes() == pdf.read_bytes()


def many_lows(*, deep_mm: float = 30.0, every_m: float = 2.0) -> LevelReview:
    """Return ground with a hollow every two meters."""
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0, 12.01, 0.25), np.arange(0, 8.01, 0.25)))
    z = -deep_mm * np.clip(np.sin(np.pi * x / every_m) * np.sin(np.pi * y / every_m), 0, None) ** 2
    heights = Heights(dt.date(2026, 6, 3), "main", x, y, z, np.ones(x.size), "string")
    return level_review(parse_lawn('name = "x"\n'), more=[heights])


def test_spots_that_the_page_has_no_room_for_are_counted(tmp_path: Path) -> None:
    one = many_lows(every_m=1.0)
    (ground,) = one.maps
    others = len(ground.low) - MOST_ROWS
    assert others > 1
    said = text_of(write_carry_sheet(one, folder=tmp_path))
    assert f"and {others} smaller spots that take" in said and "out/level_spots.csv" in said


def test_a_little_sand_is_one_load_and_never_none() -> None:
    barrow, bucket = carriers(review().lawn)
    assert _counted(1.0, barrow) == "1 wheelbarrow load" and _counted(0.3, bucket) == "1 bucket"
    assert _counted(28.5, bucket) == "2 buckets"


def test_a_barrow_is_what_one_person_wheels_wet_and_few_loads_are_buckets() -> None:
    one = review()
    barrow, bucket = carriers(one.lawn)
    assert barrow.litres * WET_KG_M3 / 1000 <= LOAD_LIMIT_KG + 1e-6 and bucket.litres == 14
    assert carrier_of(one.maps[0], one.lawn) == bucket
    deep = review(deep_mm=300.0)
    assert carrier_of(deep.maps[0], deep.lawn) == barrow


def test_the_pile_lies_beside_the_lawn_next_to_the_sand() -> None:
    (one,) = review().maps
    x, y = pile_place(one)
    assert x < one.raster.x_m[0] and y == pytest.approx(3.0, abs=0.2)


def test_without_low_ground_there_is_nothing_to_carry(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"no low ground was measured.*--grid"):
        write_carry_sheet(review(deep_mm=0.0), folder=tmp_path)
    (tmp_path / "lawn.toml").write_text('name = "x"\n', encoding="utf-8")
    done = CliRunner().invoke(app, ["level", str(tmp_path), "--carry"])
    assert done.exit_code == 1 and isinstance(done.exception, UsageError | SystemExit)
