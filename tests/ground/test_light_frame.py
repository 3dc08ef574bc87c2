"""Plain light frames against known corners, and things in yards that look like frames."""

import numpy as np
import pytest
from drawn_squares import SMALL, camera, corners_in, frame_texture, on_ground, photo_of, rms, upright

from swardmark.common.errors import PhotoRefused
from swardmark.ground.find import find_square
from swardmark.ground.frame import find_frame
from swardmark.practice.scene import Square as Laid

CAMERA = camera()
TRUE = corners_in(CAMERA)


@pytest.mark.parametrize(
    "place, pitch, roll",
    [
        ((0.5, -1.2, 1.6), 38, 0),
        ((0.8, -1.0, 1.4), 36, -5),
        ((0.2, -0.6, 2.0), 56, 6),
        ((0.5, -1.6, 1.8), 34, 2),
    ],
)
def test_corners_are_exact_to_half_a_pixel(place, pitch, roll):
    seen_from = camera(position_m=place, pitch_deg=pitch, roll_deg=roll)
    square = find_square(photo_of(seen_from, [Laid("frame")], seed=pitch), focal_px=seen_from.focal_px)
    assert square.how == "light frame"
    assert rms(square.corners_px, corners_in(seen_from)) < 0.5


def test_other_sides_and_bars():
    laid = Laid("frame", side_m=0.6, bar_m=0.025, shift_m=(0.2, 0.1))
    square = find_frame(photo_of(CAMERA, [laid]), side_m=0.6, focal_px=CAMERA.focal_px)
    assert rms(square.corners_px, corners_in(CAMERA, laid)) < 0.5


def test_corners_are_numbered_like_those_of_the_reference_photo():
    photo = photo_of(CAMERA, [Laid("frame")])
    for turn in range(4):
        near = np.roll(TRUE, turn, axis=0) + 6
        assert (
            rms(
                find_frame(photo, focal_px=CAMERA.focal_px, near=near).corners_px, np.roll(TRUE, turn, axis=0)
            )
            < 0.5
        )


SLAB = frame_texture(bar=0.02, light=0.05, inside=0.5)
DECOYS = {
    "bare lawn": [],
    "light paving slab": [(np.full((90, 90, 3), 0.6, np.float32), on_ground(0, 0, 1, 1))],
    "paving": [(SLAB, on_ground(x, y, 0.5, 0.5)) for x in (-0.5, 0, 0.5, 1) for y in (0, 0.5, 1)],
    "white-edged bed, 2 m x 1 m": [(frame_texture(), on_ground(-0.5, 0, 2, 1))],
    "white-edged bed, 1.1 m deep": [(frame_texture(), on_ground(0, 0, 1, 1.1))],
    "white-edged bed, 0.9 m wide": [(frame_texture(), on_ground(0, 0, 0.9, 1))],
    "window": [(frame_texture(inside=0.1), upright(0, 3, 1, 0.1, 1.1))],
    "empty window frame": [(frame_texture(), upright(0, 2.5, 1, 0, 1))],
    "window aside": [(frame_texture(), upright(-1.5, 2, 1, 0, 1))],
    "fence panels": [(frame_texture(), upright(x, 3.5, 1, 0, 1)) for x in (-1, 0.02, 1.04)],
    "garden table": [(frame_texture(inside=0.45), on_ground(0, 0.3, 0.8, 0.8, height=0.7))],
    "white panel": [(frame_texture(inside=0.7), on_ground(0, 0, 1, 1))],
    "board with a light rim": [(frame_texture(inside=0.3), on_ground(0, 0, 1, 1))],
    "path edging": [(np.full((9, 200, 3), 0.7, np.float32), on_ground(-2, y, 5, 0.05)) for y in (0.2, 1.2)],
}


@pytest.mark.parametrize("decoy", DECOYS)
def test_decoys_never_give_a_frame(decoy):
    with pytest.raises(PhotoRefused) as refusal:
        find_square(photo_of(CAMERA, sheets=DECOYS[decoy]), focal_px=CAMERA.focal_px)
    assert refusal.value.remedy


def test_two_frames_are_refused():
    back = camera(position_m=(0.5, -2.2, 1.9), pitch_deg=32)
    frames = [Laid("frame", side_m=0.8), Laid("frame", side_m=0.8, shift_m=(1.0, 0.0))]
    with pytest.raises(PhotoRefused, match="more than one"):
        find_frame(photo_of(back, frames), side_m=0.8, focal_px=back.focal_px)


def test_a_frame_that_is_cut_off_is_refused():
    near = camera(position_m=(1.7, -1.0, 1.6))
    assert corners_in(near)[0, 0] < 0
    with pytest.raises(PhotoRefused):
        find_frame(photo_of(near, [Laid("frame")]), focal_px=near.focal_px)
    assert near.size_px == SMALL
