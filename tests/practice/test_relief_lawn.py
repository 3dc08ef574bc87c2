"""The drawn sand: its camera against OpenCV, its files, and the same seed the same picture."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from swardmark.common.errors import UsageError
from swardmark.photo.decode import read_photo
from swardmark.practice.relief.lawn import draw_relief_lawn
from swardmark.practice.relief.phone import Phone, View, held_at, walk


def test_project_agrees_with_opencv_without_roll() -> None:
    """cv2.projectPoints with k1 and k2 (OpenCV documentation, camera calibration)."""
    import cv2

    phone = Phone((2000, 1500), 26.0, 1510.0, (4.0, -3.0), 0.04, -0.02)
    view = View(phone, (0.4, -1.1, 1.6), held_at((0.4, -1.1, 1.6), (0.5, 0.5), roll_deg=2.0), (6.0, -5.0))
    points = np.random.default_rng(1).uniform((-1, -0.5, -0.02), (2, 2, 0.02), (50, 3))
    matrix = np.array([[1510.0, 0, 999.5 + 10], [0, 1510.0, 749.5 - 8], [0, 0, 1]])
    turn, _ = cv2.Rodrigues(view.rotation)
    theirs, _ = cv2.projectPoints(
        points, turn, -view.rotation @ np.array(view.position_m), matrix, np.array([0.04, -0.02, 0, 0])
    )
    assert np.abs(view.project(points) - theirs[:, 0]).max() < 1e-6


def test_rays_undo_project_also_under_a_rolling_shutter() -> None:
    (view,) = walk(np.random.default_rng(2), photos=1)
    points = np.random.default_rng(3).uniform((-0.5, -0.2, 0), (1.5, 1.5, 0), (50, 3))
    rays = view.rays(view.project(points))
    reach = -view.position_m[2] / rays[:, 2:]
    assert np.abs(np.array(view.position_m) + reach * rays - points).max() < 2e-4


def test_the_lawn_has_dated_photos_and_true_heights(tmp_path: Path) -> None:
    written = draw_relief_lawn(tmp_path / "sand", photos=2, width_px=800)
    photo = read_photo(written[0])
    assert photo.taken_at is not None and photo.taken_at.date().isoformat() == "2026-06-03"
    assert photo.camera.focal_35mm == 26.0
    assert (tmp_path / "sand" / "heights_truth.csv").read_text().startswith("x_m,y_m,height_mm\n-1.50,-1.50,")
    again = draw_relief_lawn(tmp_path / "again", photos=2, width_px=800)
    assert [a.read_bytes() for a in written] == [b.read_bytes() for b in again]
    with pytest.raises(UsageError, match="not empty"):
        draw_relief_lawn(tmp_path / "sand")
