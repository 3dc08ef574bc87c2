"""The printed target, checked by printing it (rasterising at 300 dpi) and reading it with OpenCV's ArUco detector."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest

from swardmark.common.errors import UsageError
from swardmark.sheets.target import write_target

DPI = 300
PX_PER_MM = DPI / 25.4


@pytest.fixture(scope="module")
def a4(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_target(tmp_path_factory.mktemp("target") / "target.pdf", paper="a4")


def page_of(pdf: Path, number: int, *, dpi: int = DPI) -> np.ndarray:
    """Rasterise one page, counted from 1, as a printer would (poppler)."""
    program = shutil.which("pdftoppm")
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("pdftoppm is missing: apt-get install poppler-utils")
        pytest.skip("pdftoppm (poppler-utils) is not installed")
    args = [program, "-r", str(dpi), "-gray", "-f", str(number), "-l", str(number), str(pdf)]
    raw = subprocess.run(args, check=True, capture_output=True).stdout
    picture = cv2.imdecode(np.frombuffer(raw, np.uint8), cv2.IMREAD_GRAYSCALE)
    assert picture is not None
    return picture


def detect(picture: np.ndarray) -> tuple[list[int], np.ndarray]:
    """Return ids and corners (N, 4, 2) in pixels, refined on the edges; corner 0 is the mark's own top left."""
    options = cv2.aruco.DetectorParameters()
    options.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_CONTOUR
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, ids, _ = cv2.aruco.ArucoDetector(book, options).detectMarkers(picture)
    return ([] if ids is None else ids.ravel().tolist()), np.array(corners).reshape(-1, 4, 2)


@pytest.mark.parametrize("number", [0, 1, 2, 3])
def test_each_mark_is_true_to_size_and_the_right_way_up(a4: Path, number: int) -> None:
    ids, corners = detect(page_of(a4, 2 + number))
    assert ids == [number]
    ring = corners[0]
    sides_mm = np.linalg.norm(ring - np.roll(ring, -1, axis=0), axis=1) / PX_PER_MM
    assert sides_mm == pytest.approx([120.0] * 4, rel=0.005)
    assert np.argmin(ring.sum(axis=1)) == 0, "the mark's own top is the page's top"


def test_letter_paper_and_another_mark_size(tmp_path: Path) -> None:
    pdf = write_target(tmp_path / "t.pdf", paper="letter", mark_mm=100.0, side_m=0.9144)
    picture = page_of(pdf, 2)
    assert picture.shape == (round(11 * DPI), round(8.5 * DPI))  # US letter is 8.5 x 11 in
    ids, corners = detect(picture)
    assert ids == [0]
    assert np.ptp(corners[0][:, 0]) / PX_PER_MM == pytest.approx(100.0, rel=0.005)


def test_the_scale_bar_is_100_mm(a4: Path) -> None:
    """The bar is the only row of ten equal fields below the mark: its outline runs 100 mm without a gap."""
    dark = page_of(a4, 2)[2600:] < 128
    runs = [np.flatnonzero(row) for row in dark]
    longest = max(float(longest_run(run)) for run in runs if len(run))
    assert longest / PX_PER_MM == pytest.approx(100.0, abs=0.5)


def longest_run(columns: np.ndarray) -> int:
    breaks = np.flatnonzero(np.diff(columns) > 1)
    ends = np.concatenate([breaks, [len(columns) - 1]])
    starts = np.concatenate([[0], breaks + 1])
    return int((columns[ends] - columns[starts] + 1).max())


def test_the_quiet_zone_is_white_next_to_the_mark(a4: Path) -> None:
    picture = page_of(a4, 4)
    _, corners = detect(picture)
    left, top = corners[0].min(axis=0).round().astype(int)
    right, bottom = corners[0].max(axis=0).round().astype(int)
    five = round(5 * PX_PER_MM)
    around = picture[top - five : bottom + five, left - five : right + five].copy()
    around[five - 4 : -five + 4, five - 4 : -five + 4] = 255
    assert around.min() > 250


def test_the_plan_shows_each_mark_in_its_corner(a4: Path) -> None:
    """The layout page: 0 near left, 1 near right, 2 far right, 3 far left, all with their top to the far side."""
    ids, corners = detect(page_of(a4, 1))
    middle = dict(zip(ids, corners.mean(axis=1), strict=True))
    assert set(middle) == {0, 1, 2, 3}
    assert middle[0][0] < middle[1][0] and middle[3][0] < middle[2][0]
    assert middle[3][1] < middle[0][1] and middle[2][1] < middle[1][1]


def test_the_pages_say_lengths_and_diagonals(a4: Path) -> None:
    program = shutil.which("pdftotext")
    if program is None:
        pytest.skip("pdftotext (poppler-utils) is not installed")
    text = subprocess.run(
        [program, "-layout", str(a4), "-"], check=True, capture_output=True, text=True
    ).stdout
    assert text.count("\f") == 7
    assert "1414 mm" in text  # 1 m times the square root of two
    assert "55 11/16 in" in text  # 1414.2 mm / 25.4 = 55.68
    assert "Mark 3: far left" in text and "square's corner is the top left corner" in text


def test_the_same_target_gives_the_same_bytes(a4: Path, tmp_path: Path) -> None:
    assert write_target(tmp_path / "again.pdf").read_bytes() == a4.read_bytes()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"paper": "a3"}, "not a paper size"),
        ({"mark_mm": 300}, "does not fit a4"),
        ({"mark_mm": 20}, "too small"),
        ({"side_m": 0.25}, "do not fit a square"),
        ({"side_m": 9}, "do not fit a square"),
    ],
)
def test_impossible_targets_are_refused(tmp_path: Path, options: dict, words: str) -> None:
    with pytest.raises(UsageError, match=words):
        write_target(tmp_path / "t.pdf", **options)
    assert not list(tmp_path.iterdir())
