"""White balance from drawn corner marks: a cast is taken out, and what cannot tell a color gives no gains."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.canopy.white import balance, white_gains
from swardmark.common.color import colors_of
from swardmark.ground.homography import homography
from swardmark.ground.plane import GroundPlane, pose_of

SIZE, SCALE = (600, 600), 400.0
CORNERS_PX = np.array([[100, 500], [500, 500], [500, 100], [100, 100]], float)


@pytest.fixture(scope="module")
def plane() -> GroundPlane:
    to_photo = homography([[0, 0], [1, 0], [1, 1], [0, 1]], CORNERS_PX)
    return GroundPlane(to_photo, SIZE, pose_of(to_photo, SIZE, 600.0))


def draw_marks(*, paper: float, cast=(1.0, 1.0, 1.0), ink: float = 30) -> np.ndarray:
    """Black marks with a white window in each, on sand, all under a color cast; edges are blurred over a pixel."""
    import cv2

    picture = np.full((SIZE[1], SIZE[0], 3), (170.0, 155, 128))
    side = int(0.12 * SCALE)
    for left, bottom in CORNERS_PX.astype(int):
        left = left if left == CORNERS_PX.min() else left - side
        top = bottom if bottom == CORNERS_PX.min() else bottom - side
        picture[top - 8 : top + side + 8, left - 8 : left + side + 8] = paper
        picture[top : top + side, left : left + side] = ink
        picture[top + 12 : top + side - 12, left + 12 : left + side - 12] = paper
    picture = cv2.GaussianBlur(picture * np.array(cast), (0, 0), 1.0)
    return np.rint(picture.clip(0, 255)).astype(np.uint8)


@pytest.mark.parametrize("cast", [(1.05, 1.0, 0.94), (0.95, 1.04, 1.0), (1.0, 1.0, 1.0)])
def test_a_cast_is_taken_out(plane, cast):
    gains = white_gains(draw_marks(paper=180, cast=cast), plane, side_m=1.0)
    left = np.array(gains) * cast
    np.testing.assert_allclose(left / left.mean(), 1.0, atol=0.01)


def test_clipped_paper_is_passed_over_for_the_edges(plane):
    """Paper at full white has lost its cast; the blurred edges have not."""
    cast = np.array((1.06, 1.0, 0.93))
    gains = white_gains(draw_marks(paper=290, cast=cast), plane, side_m=1.0)
    left = np.array(gains) * cast
    assert np.ptp(left / left.mean()) < 0.5 * np.ptp(cast / cast.mean())


def test_one_odd_mark_does_not_matter(plane):
    photo = draw_marks(paper=180)
    photo[440:510, 90:160] = (photo[440:510, 90:160] * np.array((1.0, 0.8, 0.7))).astype(np.uint8)
    np.testing.assert_allclose(white_gains(photo, plane, side_m=1.0), 1.0, atol=0.01)


def test_colored_paper_is_not_followed_all_the_way(plane):
    gains = white_gains(draw_marks(paper=180, cast=(1.2, 1.0, 0.5)), plane, side_m=1.0)
    assert (
        max(gains) <= 1.15 and min(gains) >= 1 / 1.15
    )  # a third in light, as coded values have a power of 2.2


def test_without_middle_tones_there_are_no_gains(plane):
    assert white_gains(np.full((600, 600, 3), 250, np.uint8), plane, side_m=1.0) is None


def test_balance_leaves_clipped_points_clipped():
    colors = colors_of(np.array([[255, 255, 255], [100, 100, 100]], np.uint8))
    np.testing.assert_array_equal(balance(colors, (0.9, 1.0, 1.1)), [[255, 90], [255, 100], [255, 110]])
