"""The sheets for heights and the wedge gauge, printed at 300 dpi and measured."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest

from swardmark.lawn.toml import parse_lawn
from swardmark.level.places import grid_places
from swardmark.sheets.level_sheet import write_grid_sheet
from swardmark.sheets.target import write_target
from swardmark.sheets.wedge import SLOPE, STEPS, step_outline

DPI = 300


def printed(pdf: Path, number: int) -> np.ndarray:
    program = shutil.which("pdftoppm")
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("pdftoppm is missing: apt-get install poppler-utils")
        pytest.skip("pdftoppm (poppler-utils) is not installed")
    args = [program, "-r", str(DPI), "-gray", "-f", str(number), "-l", str(number), str(pdf)]
    raw = subprocess.run(args, check=True, capture_output=True).stdout
    picture = cv2.imdecode(np.frombuffer(raw, np.uint8), cv2.IMREAD_GRAYSCALE)
    assert picture is not None
    return picture


def test_the_wedge_rises_one_in_ten():
    outline = np.array(step_outline(0.0, 0.0, 0))
    tops = outline[1:-1:2]
    assert np.diff(tops[:, 0]) == pytest.approx(SLOPE)
    assert tops[:, 1] == pytest.approx(np.arange(1, STEPS + 1))


def test_the_wedge_is_printed_true_to_size(tmp_path):
    """The last riser stands 180 mm from the tip and is 18 mm high; a pixel is 0.085 mm, a line 0.2 mm."""
    page = printed(write_target(tmp_path / "t.pdf", paper="a4"), 7) < 128
    px_per_mm = DPI / 25.4
    base = round((297 - (297 - 112)) * px_per_mm)
    band = page[base - 3 : base + 4].any(axis=0)
    run = np.flatnonzero(band)
    assert (run[-1] - run[0]) / px_per_mm == pytest.approx(180, abs=0.4)
    right = page[:, run[-1] - 3 : run[-1] + 4].any(axis=1)
    riser = np.flatnonzero(right[base - 260 : base + 4])
    assert (riser[-1] - riser[0]) / px_per_mm == pytest.approx(18, abs=0.5)


@pytest.mark.parametrize(("width", "pages"), [(6.0, 1), (20.0, 2)])
def test_a_wide_grid_goes_on_more_pages(tmp_path, width, pages):
    lawn = parse_lawn('name = "Tern Cottage"\n')
    sheet, table = write_grid_sheet(grid_places(width, 8, 1.0), lawn, folder=tmp_path)
    assert sheet.read_bytes().count(b"/Type /Page\n") + sheet.read_bytes().count(b"/Type /Page ") == pages
    assert len(table.read_text().splitlines()) == 1 + (int(width) + 1) * 9
