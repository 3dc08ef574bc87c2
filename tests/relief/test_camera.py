"""The camera and the adjustment: against OpenCV, against differences, and on sightings without error."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.bundle.adjust import Priors, Sightings, adjust, triangulated
from swardmark.bundle.camera import SHARED, Lens, View, derivatives, first_view, moved, project
from swardmark.relief.surface import quadratic, robust_fit

LENS = Lens(1500.0, np.array([999.5, 749.5]), 0.05, -0.02)


def looking(position: tuple[float, float, float], at: tuple[float, float] = (0.5, 0.5)) -> View:
    forward = np.array([*at, 0.0]) - position
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0, 0, 1.0])
    right /= np.linalg.norm(right)
    return View(
        np.stack([right, np.cross(forward, right), forward]), np.array(position), np.array([3.0, -2.0])
    )


VIEWS = [
    looking((0.5 + 1.6 * np.sin(a), 0.5 - 1.6 * np.cos(a), 1.6)) for a in np.radians([-46, -23, 0, 23, 46])
]


def ground(rng: np.random.Generator, count: int = 200) -> np.ndarray:
    xy = rng.uniform(-0.8, 1.8, (count, 2))
    return np.column_stack([xy, 0.01 * np.sin(3 * xy[:, 0]) * np.cos(2 * xy[:, 1])])


def test_project_agrees_with_opencv() -> None:
    """cv2.projectPoints, radial terms k1 and k2 (OpenCV documentation, camera calibration)."""
    cv2 = pytest.importorskip("cv2")
    points = ground(np.random.default_rng(1))
    for view in VIEWS:
        matrix = np.array([[1500.0, 0, 999.5 + 3], [0, 1500, 749.5 - 2], [0, 0, 1]])
        turn, _ = cv2.Rodrigues(view.rotation)
        theirs, _ = cv2.projectPoints(
            points, turn, -view.rotation @ view.position_m, matrix, np.array([0.05, -0.02, 0, 0])
        )
        assert np.abs(project(points, LENS, view) - theirs[:, 0]).max() < 1e-6


def test_first_view_agrees_with_opencv_on_exact_pixels() -> None:
    """The pose from 16 corners (cv2.solvePnP) is the one that made the pixels."""
    xy = np.stack(np.meshgrid([0, 0.12, 0.88, 1.0], [0, 0.12, 0.88, 1.0]), axis=-1).reshape(-1, 2)
    corners = np.column_stack([xy, np.zeros(16)])
    plain = Lens(1500.0, LENS.center_px)
    for view in VIEWS:
        still = View(view.rotation, view.position_m, np.zeros(2))
        got = first_view(corners, project(corners, plain, still), plain)
        assert np.abs(got.position_m - view.position_m).max() < 1e-4
        assert np.abs(got.rotation - view.rotation).max() < 1e-4


def test_derivatives_agree_with_differences() -> None:
    points = ground(np.random.default_rng(2), 40)
    view = VIEWS[1]
    pixels, by_lens, by_view, by_point = derivatives(points, LENS, view)
    assert np.allclose(pixels, project(points, LENS, view))
    for k in range(SHARED + 8):
        step = np.zeros(SHARED + 8)
        step[k] = 1e-4 if k in (0, 1, 2, 11, 12) else 1e-6
        (high_lens, (high,)), (low_lens, (low,)) = moved(LENS, [view], step), moved(LENS, [view], -step)
        slope = (project(points, high_lens, high) - project(points, low_lens, low)) / (2 * step[k])
        mine = by_lens[:, :, k] if k < SHARED else by_view[:, :, k - SHARED]
        assert np.abs(slope - mine).max() < 1e-5 * max(1.0, np.abs(mine).max())
    for k in range(3):
        step = 1e-6 * np.eye(3)[k]
        slope = (project(points + step, LENS, view) - project(points - step, LENS, view)) / 2e-6
        assert np.abs(slope - by_point[:, :, k]).max() < 1e-5 * np.abs(by_point[:, :, k]).max()


def seen_exactly(points: np.ndarray, rng: np.random.Generator, noise: float = 0.0) -> Sightings:
    view = np.repeat(np.arange(len(VIEWS)), len(points))
    pixels = np.concatenate([project(points, LENS, one) for one in VIEWS])
    return Sightings(
        view, np.tile(np.arange(len(points)), len(VIEWS)), pixels + noise * rng.standard_normal(pixels.shape)
    )


def marks() -> np.ndarray:
    xy = np.stack(np.meshgrid([0, 0.12, 0.88, 1.0], [0, 0.12, 0.88, 1.0]), axis=-1).reshape(-1, 2)
    return np.column_stack([xy, np.zeros(16)])


@pytest.mark.parametrize("noise, most_mm", [(0.0, 0.5), (0.1, 0.5)])
def test_adjustment_finds_heights_though_lens_and_views_begin_wrong(noise: float, most_mm: float) -> None:
    """Heights after the quadratic is taken off, from a focal length 1.5 % and cameras 2 cm wrong."""
    rng = np.random.default_rng(3)
    points = np.concatenate([marks(), ground(rng)])
    seen = seen_exactly(points, rng, noise)
    begin = points * (1, 1, 0)
    wrong = [View(v.rotation, v.position_m + rng.normal(0, 0.02, 3), np.zeros(2)) for v in VIEWS]
    priors = Priors(1522.0, 0.02, 2000.0, np.array([999.5, 749.5]), marks())
    got = adjust(seen, Lens(1522.0, np.array([999.5, 749.5])), wrong, begin, priors, rounds=40)
    error = 1000 * (got.points_m - points)[:, 2]
    terms = quadratic(points[:, 0], points[:, 1])
    rest = error - terms @ robust_fit(terms, error)
    assert np.sqrt((rest**2).mean()) < most_mm
    assert abs(got.lens.focal_px / 1500 - 1) < 0.01


def test_far_off_sightings_do_not_pull() -> None:
    rng = np.random.default_rng(4)
    points = np.concatenate([marks(), ground(rng)])
    seen = seen_exactly(points, rng, 0.1)
    seen.pixels[100::40] += 30.0
    priors = Priors(1500.0, 0.02, 2000.0, np.array([999.5, 749.5]), marks())
    got = adjust(seen, LENS, VIEWS, points.copy(), priors)
    assert np.median(np.abs(1000 * (got.points_m - points)[:, 2])) < 0.6
    assert got.spread_px < 0.2


def test_triangulation_is_exact_under_exact_cameras() -> None:
    rng = np.random.default_rng(5)
    points = ground(rng)
    got = triangulated(seen_exactly(points, rng), LENS, VIEWS, points * (1, 1, 0), rounds=6)
    assert np.abs(got - points).max() < 1e-4
