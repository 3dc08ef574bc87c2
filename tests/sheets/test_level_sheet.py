"""The sheets for heights and the wedge gauge, printed at 300 dpi and measured."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest

from swardmark.common.errors import UsageError
from swardmark.lawn.toml import parse_lawn
from swardmark.level.places import grid_places, straightedge_layings
from swardmark.sheets.level_sheet import write_grid_sheet, write_layings_sheet
from swardmark.sheets.paper import PAPER_MM
from swardmark.sheets.pegs import write_pegs
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


def test_a_straightedge_that_does_not_reach_over_the_ticks_is_refused(tmp_path):
    short, layings = (
        parse_lawn('name = "x"\n[level]\nstraightedge_m = 1.2\n'),
        straightedge_layings(6, 8, seed=1),
    )
    with pytest.raises(
        UsageError, match=r"a straightedge of 1.2 m does not reach .* Use one of 2.2 m or more"
    ):
        write_layings_sheet(layings, short, folder=tmp_path, size_m=(6, 8))


LONG = "The long back lawn behind the greenhouse at the end of the lane, north side"


def test_no_word_stands_where_printers_cannot_print(tmp_path):
    """A4 is the narrower paper; printers leave 5 mm of it white (common practice, no source)."""
    program = shutil.which("pdftotext")
    if program is None:
        pytest.skip("pdftotext (poppler-utils) is not installed")
    lawn, foot = parse_lawn(f'name = "{LONG}"\nunits = "us"\n'), 0.3048
    size = 30 * foot, 24 * foot
    layings = straightedge_layings(*size, seed=1)
    sheets = [
        write_grid_sheet(grid_places(*size, 3 * foot), lawn, folder=tmp_path, paper="a4")[0],
        write_layings_sheet(layings, lawn, folder=tmp_path, paper="a4", size_m=size)[0],
        write_target(tmp_path / "target.pdf", paper="a4"),
        write_pegs(tmp_path / "pegs.pdf", paper="a4"),
    ]
    wide, high = (side * 72 / 25.4 for side in PAPER_MM["a4"])
    for pdf in sheets:
        args = [program, "-bbox", str(pdf), "-"]
        told = subprocess.run(args, check=True, capture_output=True, text=True).stdout
        words = re.findall(
            r'xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)<', told
        )
        assert len(words) > 20
        left, top, right, bottom = np.array([word[:4] for word in words], float).T
        least = 5 * 72 / 25.4
        middle = (top + bottom) / 2  # the boxes reach over the letters by the line's own white
        out = (left < least) | (right > wide - least) | (middle < least) | (middle > high - least)
        assert not out.any(), (pdf.name, [word for word, is_out in zip(words, out, strict=True) if is_out])


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
