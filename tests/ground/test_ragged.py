"""Marks bitten by blades: found near their known place, never where there are none, and never a wrong square."""

from dataclasses import replace

import numpy as np
import pytest
from drawn_squares import camera, corners_in, four_sheets, photo_of
from overgrown import overgrown

from swardmark.common.errors import PhotoRefused
from swardmark.ground.find import find_square
from swardmark.ground.ragged import find_ragged
from swardmark.practice.scene import LIGHTS, Camera, Ground, Scene, Square

SHARE = 0.12
HOME = Camera(size_px=(1600, 1200), position_m=(0.62, -1.2, 1.55), pitch_deg=34)
BY_HAND = replace(HOME, position_m=(0.57, -1.26, 1.6), pitch_deg=35.2, yaw_deg=-1.5, roll_deg=1.4)
NEAR = corners_in(HOME)


@pytest.fixture(scope="module")
def bitten():
    """Grown turf of 40 mm around the marks, and the camera held anew: photo, and the square's true corners."""
    scene = Scene(camera=BY_HAND, light=LIGHTS["overcast"], ground=Ground(seed=5))
    return overgrown(scene, cover_pct=65.0, length_mm=40.0, seed=5)


def off(corners, true):
    """The farthest corner, as share of the square's near side."""
    return np.linalg.norm(corners - true, axis=1).max() / np.linalg.norm(true[1] - true[0])


def test_marks_plain_to_the_eye_are_found_near_their_known_place(bitten):
    rgb, true = bitten
    with pytest.raises(PhotoRefused):
        find_square(rgb, focal_px=BY_HAND.focal_px)
    square = find_square(rgb, focal_px=BY_HAND.focal_px, near=NEAR)
    assert off(square.corners_px, true) < 0.01
    assert "trim" in square.notes[0]


def test_the_place_may_be_off_by_a_seventh_of_the_square(bitten):
    rgb, true = bitten
    for shift in ((70, -40), (-60, 50)):
        square = find_ragged(rgb, NEAR + shift, mark_share=SHARE)
        assert square is not None and off(square.corners_px, true) < 0.01


def test_where_no_marks_are_there_is_no_square(bitten):
    rgb, _ = bitten
    assert find_ragged(rgb[:, ::-1].copy(), NEAR, mark_share=SHARE) is None
    seen_from = camera(size_px=(1600, 1200))
    near = corners_in(seen_from)
    for photo in (
        photo_of(seen_from),
        photo_of(seen_from, [Square("frame")]),
        photo_of(seen_from, sheets=four_sheets(ids=(1, 2, 3, 0))),
        photo_of(seen_from, sheets=four_sheets(ids=(4, 5, 6, 7))),
        photo_of(seen_from, sheets=four_sheets()[:3]),
    ):
        assert find_ragged(photo, near, mark_share=SHARE) is None
