"""The printed marks of the pegs, rasterized as a printer would and read with OpenCV's ArUco detector."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from test_target import PX_PER_MM, detect, page_of

from swardmark.common.errors import UsageError
from swardmark.relief.marks import PEG_IDS
from swardmark.sheets.pegs import PEG_NUMBERS, write_pegs


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_all_36_marks_are_printed_once_and_true_to_size(tmp_path: Path, paper: str) -> None:
    pdf = write_pegs(tmp_path / "pegs.pdf", paper=paper)
    found: list[int] = []
    for page in range(2, 8):
        numbers, corners = detect(page_of(pdf, page))
        found += numbers
        sides_mm = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2) / PX_PER_MM
        assert np.allclose(sides_mm, 60.0, atol=0.3)
        low, high = corners.min(axis=(0, 1)) / PX_PER_MM, corners.max(axis=(0, 1)) / PX_PER_MM
        assert low.min() > 5 + 8 and high[1] < 279 - 22, "whole on the paper, above the scale bar"
    assert sorted(found) == list(PEG_IDS) == list(PEG_NUMBERS)


def test_an_unknown_paper_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="not a paper size"):
        write_pegs(tmp_path / "pegs.pdf", paper="a3")
