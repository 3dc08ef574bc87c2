"""Homography, area scale and pose against published points and two reference libraries."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage.transform import ProjectiveTransform

from swardmark.ground.homography import GeometryError, apply, homography, projected
from swardmark.ground.plane import plane_from_square


def area_scale(matrix, points):
    """Return by how much a homography enlarges areas at points: |det H| / |w|^3, shape (...)."""
    _, _, w = projected(matrix, points)
    return np.asarray(np.abs(np.linalg.det(matrix)) / np.abs(w) ** 3)


# Points of the geometric-transform tests of scikit-image (skimage/transform/tests/test_geometric.py).
SOURCE = [(-12.3705, -10.5075), (-10.7865, 15.4305), (8.6985, 10.8675), (11.4975, -9.5715)]
TARGET = [(0, 0), (0, 5800), (4900, 5800), (4900, 0)]
MORE_SOURCE = [(7.8435, 7.4835), (-5.3325, 6.5025), (6.7905, -6.3765), (-6.1695, -0.8235)]
MORE_TARGET = [(4479, 4580), (1176, 3660), (3754, 790), (1024, 1931)]


def test_four_points_agree_with_scikit_image_and_opencv():
    own = homography(SOURCE, TARGET)
    reference = ProjectiveTransform.from_estimate(np.array(SOURCE), np.array(TARGET)).params
    opencv = cv2.getPerspectiveTransform(np.array(SOURCE, np.float32), np.array(TARGET, np.float32))
    np.testing.assert_allclose(own, reference / reference[2, 2], rtol=1e-9)
    np.testing.assert_allclose(own, opencv, rtol=1e-5)  # OpenCV takes float32 points
    expected = [
        [194.669012908, -11.888183994, 2283.237930855],
        [-8.691007754, 221.620697726, 2221.167369931],
        [-0.012695967, -0.009605362, 1],
    ]
    np.testing.assert_allclose(own, expected, rtol=1e-7)


def test_further_points_of_the_set_land_near_their_published_partners():
    landed = apply(homography(SOURCE, TARGET), MORE_SOURCE)
    np.testing.assert_allclose(
        landed,
        [(4491.2382, 4600.2723), (1161.7721, 3689.2603), (3775.1842, 768.1626), (1005.3207, 1926.1730)],
        atol=1e-3,
    )
    distance = np.linalg.norm(landed - np.array(MORE_TARGET), axis=1)
    assert ((distance > 15) & (distance < 35)).all()  # a 5800-unit frame of measured, not exact, points


def test_eight_points_fit_as_well_as_the_reference_library():
    src, dst = np.array(SOURCE + MORE_SOURCE), np.array(TARGET + MORE_TARGET, float)

    def misfit(matrix):
        return np.sqrt((np.linalg.norm(apply(matrix, src) - dst, axis=1) ** 2).mean())

    reference = ProjectiveTransform.from_estimate(src, dst).params
    assert misfit(homography(src, dst)) == pytest.approx(misfit(reference), rel=0.05)


def test_area_scale_is_the_jacobian():
    matrix = homography(SOURCE, TARGET)
    assert area_scale(matrix, (0, 0)) == pytest.approx(54142.82, rel=1e-6)
    np.testing.assert_allclose(
        area_scale(matrix, SOURCE), [27196.67, 56015.52, 111850.19, 63960.89], rtol=1e-6
    )


def test_a_square_seen_in_perspective_has_exact_rational_answers():
    """Worked by hand with exact fractions: the four pixels of a trapezium to the unit square."""
    matrix = homography([(400, 900), (800, 900), (700, 700), (500, 700)], [(0, 0), (1, 0), (1, 1), (0, 1)])
    exact = np.array([[-1 / 500, -1 / 1000, 17 / 10], [0, 1 / 500, -9 / 5], [0, -1 / 500, 1]])
    np.testing.assert_allclose(matrix, exact, atol=1e-12)
    np.testing.assert_allclose(apply(matrix, (600, 800)), (1 / 2, 1 / 3))
    np.testing.assert_allclose(apply(np.linalg.inv(matrix), (0.5, 0.5)), (600, 2300 / 3))
    at = area_scale(matrix, [(600, 900), (600, 800), (600, 700)])
    np.testing.assert_allclose(at, [6.25e-6, 1.481481e-5, 5.0e-5], rtol=1e-6)


def test_a_pure_shear_keeps_areas():
    """Points of the getPerspectiveTransform example in the Rvision manual."""
    matrix = homography([(1, 1), (2, 5), (6, 5), (5, 1)], [(1, 1), (1, 5), (5, 5), (5, 1)])
    np.testing.assert_allclose(matrix, [[1, -0.25, 0.25], [0, 1, 0], [0, 0, 1]], atol=1e-12)
    assert area_scale(matrix, (3, 3)) == pytest.approx(1)


@pytest.mark.parametrize(
    "points",
    [
        [(0, 0), (1, 1), (2, 2), (3, 3)],
        [(0, 0), (1, 0), (1, 1)],
        [(5, 5)] * 4,
        [(0, 0), (1, 0), (1, 1), (np.nan, 1)],
    ],
)
def test_points_that_fix_nothing_are_an_error(points):
    with pytest.raises(GeometryError):
        homography(points, [(0, 0), (1, 0), (1, 1), (0, 1)][: len(points)])


@settings(max_examples=60, deadline=None)
@given(
    height=st.floats(1.2, 2.2),
    pitch=st.floats(25, 70),
    yaw=st.floats(-20, 20),
    roll=st.floats(-5, 5),
    focal=st.floats(900, 2000),
    side=st.floats(0.4, 2.0),
)
def test_the_camera_is_found_again_where_opencv_projected_from(height, pitch, yaw, roll, focal, side):
    """cv2.projectPoints (an independent pinhole camera) draws the square; the pose must come back."""
    size = (1600, 1200)
    p, y, r = np.radians([pitch, yaw, roll])
    forward = np.array([np.sin(y) * np.cos(p), np.cos(y) * np.cos(p), -np.sin(p)])
    right = np.array([np.cos(y), -np.sin(y), 0])
    down = np.cross(forward, right)
    turned = np.stack([np.cos(r) * right + np.sin(r) * down, np.cos(r) * down - np.sin(r) * right, forward])
    position = np.array([side / 2 + 0.1, -1.0, height])
    intrinsic = np.array([[focal, 0, 799.5], [0, focal, 599.5], [0, 0, 1]])
    corners = side * np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], float)
    pixels, _ = cv2.projectPoints(corners, cv2.Rodrigues(turned)[0], -turned @ position, intrinsic, None)
    plane = plane_from_square(pixels.reshape(4, 2), side_m=side, size=size, focal_px=focal)
    np.testing.assert_allclose(plane.pose.position_m, position, atol=1e-5)
    assert plane.pose.pitch_deg == pytest.approx(pitch, abs=1e-3)
    assert plane.pose.distortion < 1e-6
    elsewhere = np.array([[1.5, 2.0], [-0.7, 1.1]])
    expected, _ = cv2.projectPoints(
        np.column_stack([elsewhere, np.zeros(2)]),
        cv2.Rodrigues(turned)[0],
        -turned @ position,
        intrinsic,
        None,
    )
    np.testing.assert_allclose(plane.pixels(elsewhere), expected.reshape(2, 2), atol=1e-3)
