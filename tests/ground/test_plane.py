"""The ground plane: a pixel's footprint and which ground counts, against geometry done by hand."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.ground.homography import apply
from swardmark.ground.plane import camera_matrix, is_measurable, plane_from_square
from swardmark.ground.sampling import sample

SIZE = (1200, 900)
FOCAL = 1000.0


def plane_seen(height=1.6, pitch_deg=40.0, side_m=1.0, roll_deg=0.0):
    """The plane of a square seen by a camera that stands 1.2 m before it (pinhole formulas, by hand)."""
    pitch, roll = np.radians(pitch_deg), np.radians(roll_deg)
    forward, right = np.array([0, np.cos(pitch), -np.sin(pitch)]), np.array([1.0, 0, 0])
    down = np.cross(forward, right)
    right, down = right * np.cos(roll) + down * np.sin(roll), down * np.cos(roll) - right * np.sin(roll)
    rotation = np.stack([right, down, forward])
    corners = side_m * np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    seen = (corners - np.array([side_m / 2, -1.2, height])) @ rotation.T @ camera_matrix(SIZE, FOCAL).T
    return plane_from_square(seen[:, :2] / seen[:, 2:], side_m=side_m, size=SIZE, focal_px=FOCAL)


@pytest.mark.parametrize("point", [(0.5, 0.3), (0.5, 2.5), (1.4, 1.7), (-0.8, 3.5)])
def test_a_footprint_is_the_longest_way_that_a_pixel_covers_on_the_ground(point):
    """The ground around a pixel, walked in 360 directions by finite differences, gives the ellipse's longer axis."""
    plane = plane_seen()
    center = plane.pixels(point)
    turn = np.radians(np.arange(360))
    around = center + 1e-3 * np.column_stack([np.cos(turn), np.sin(turn)])
    away = np.linalg.norm(apply(plane.to_ground, around) - np.asarray(point), axis=1)
    assert plane.footprint_mm(point) == pytest.approx(1000 * away.max() / 1e-3, rel=1e-3)
    assert away.max() > 1.15 * away.min()


@pytest.mark.parametrize("most", [45.0, 60.0, 70.0])
def test_no_point_flatter_than_the_limit_is_read(most):
    plane = plane_seen()
    window, spacing = (-100, -200, 700, 500), 0.02
    rgb = np.full((SIZE[1], SIZE[0], 3), 120, np.uint8)
    limits = {"max_view_deg": most, "max_footprint_mm": 1e6}
    _, seen = sample(rgb, plane, window=window, spacing_m=spacing, **limits)
    rows, cols = np.nonzero(seen)
    ground = np.column_stack([(cols + window[1]) * spacing, (rows + window[0]) * spacing])
    view = np.degrees(np.arctan2(np.hypot(ground[:, 0] - 0.5, ground[:, 1] + 1.2), 1.6))
    assert view.max() <= most
    assert view.max() > most - 1


def test_no_pixel_coarser_than_the_limit_is_read():
    plane = plane_seen()
    window, spacing = (-100, -200, 700, 500), 0.02
    rgb = np.full((SIZE[1], SIZE[0], 3), 120, np.uint8)
    _, seen = sample(rgb, plane, window=window, spacing_m=spacing, max_view_deg=80.0, max_footprint_mm=8.0)
    rows, cols = np.nonzero(seen)
    ground = np.column_stack([(cols + window[1]) * spacing, (rows + window[0]) * spacing])
    assert 7.5 < plane.footprint_mm(ground).max() <= 8.0


@pytest.mark.parametrize("roll_deg", [0.0, 7.0, -90.0])
def test_each_point_in_view_has_the_pixel_nearest_to_it(roll_deg):
    """Point by point: what is seen by the limits' own formulas, and the pixel by mapping the point into the photo."""
    plane = plane_seen(roll_deg=roll_deg)
    (row0, col0, rows, cols), spacing = (-60, -150, 300, 300), 0.02
    limits = {"max_view_deg": 70.0, "max_footprint_mm": 8.0}
    down, right = np.mgrid[: SIZE[1], : SIZE[0]]
    rgb = np.stack([down // 256, down % 256, right % 256], axis=-1).astype(np.uint8)
    window = (row0, col0, rows, cols)
    colors, seen = sample(rgb, plane, window=window, spacing_m=spacing, **limits)
    x, y = spacing * (col0 + np.arange(cols)), spacing * (row0 + np.arange(rows))
    points = np.stack(np.meshgrid(x, y), axis=-1)
    np.testing.assert_array_equal(seen, is_measurable(plane, points, **limits))
    assert 0 < seen.sum() < seen.size
    nearest = np.rint(plane.pixels(points[seen])).astype(int)
    given = np.column_stack([colors.blue.astype(int), colors.red.astype(int) * 256 + colors.green])
    off = np.abs(given - np.column_stack([nearest[:, 0] % 256, nearest[:, 1]]))
    assert off.max() <= 1, "of two pixels at one distance either"
    assert (off > 0).mean() < 1e-3
