"""The checks every square must pass: true squares always do, shapes and poses that cannot be never do."""

import numpy as np
import pytest
from drawn_squares import camera
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from swardmark.common.errors import PhotoRefused
from swardmark.ground.square import FoundBy, Square
from swardmark.ground.trust import tilt_deg, trusted_plane

SIZE = (4000, 3000)


def seen(cam, ground):
    pixels, depth = cam.project(np.column_stack([ground, np.zeros(len(ground))]))
    assert (depth > 0.2).all()
    return pixels


def believed(corners, cam, *, how=FoundBy.CORNER_MARKS, side_m=1.0, focal_px=None):
    return trusted_plane(
        Square(corners, how, 0.3), side_m=side_m, size=SIZE, focal_px=focal_px or cam.focal_px
    )


def rectangle(width, depth, turn_deg=0.0):
    angle = np.radians(turn_deg)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    return (np.array([[0, 0], [width, 0], [width, depth], [0, depth]]) - 0.5) @ turn + 0.5


cameras = st.builds(
    lambda height, pitch, aside, reach, yaw, roll, lens: camera(
        position_m=(0.5 + aside, 0.5 - reach * height / np.tan(np.radians(pitch)), height),
        pitch_deg=pitch,
        yaw_deg=yaw,
        roll_deg=roll,
        focal35_mm=lens,
        size_px=SIZE,
    ),
    st.floats(1.2, 2.2),
    st.floats(20, 70),
    st.floats(-0.5, 0.5),
    st.floats(0.7, 1.1),
    st.floats(-10, 10),
    st.floats(-8, 8),
    st.floats(22, 30),
)


@settings(max_examples=200, deadline=None)
@given(cameras, st.floats(0, 360), st.integers(0, 2**31), st.floats(0.96, 1.04))
def test_a_true_square_is_never_refused(cam, turn, seed, focal_error):
    corners = seen(cam, rectangle(1, 1, turn)) + np.random.default_rng(seed).normal(0, 0.5, (4, 2))
    assume((corners > 0).all() and (corners < np.array(SIZE) - 1).all())
    plane = believed(corners, cam, focal_px=cam.focal_px * focal_error)
    assert plane.pose.height_m == pytest.approx(cam.position_m[2], rel=0.2)


@settings(max_examples=150, deadline=None)
@given(cameras, st.sampled_from([0.75, 0.8, 0.85, 1.18, 1.25, 1.35]), st.floats(-4, 4))
def test_a_rectangle_is_always_refused(cam, ratio, turn):
    corners = seen(cam, rectangle(1, ratio, turn))
    assume((corners > 0).all() and (corners < np.array(SIZE) - 1).all())
    with pytest.raises(PhotoRefused, match="not those of a square"):
        believed(corners, cam)


@settings(max_examples=60, deadline=None)
@given(cameras, st.integers(1, 3))
def test_the_numbering_turns_the_ground_and_nothing_else(cam, turn):
    corners = seen(cam, rectangle(1, 1))
    assume((corners > 0).all() and (corners < np.array(SIZE) - 1).all())
    one, other = believed(corners, cam).pose, believed(np.roll(corners, turn, axis=0), cam).pose
    assert one.height_m == pytest.approx(other.height_m, rel=1e-6)
    assert one.pitch_deg == pytest.approx(other.pitch_deg, abs=1e-6)
    with pytest.raises(PhotoRefused, match="wrong way around"):
        believed(corners[::-1], cam)


def test_the_horizons_tilt_is_the_cameras_roll():
    for roll in (0.0, 25.0):
        cam = camera(roll_deg=roll, size_px=SIZE)
        assert tilt_deg(believed(seen(cam, rectangle(1, 1)), cam)) == pytest.approx(roll, abs=1e-6)


@pytest.mark.parametrize(
    "place, pitch, side_m, reason",
    [
        ((0.5, -1.2, 1.6), 38, 0.1, "0.2 m above"),
        ((0.5, -1.2, 1.6), 38, 9.0, "14.4 m above"),
        ((0.5, -8.0, 1.6), 9, 1.0, "degrees down|too small"),
        ((0.5, -40.0, 5.0), 9, 1.0, "too small"),
        ((1.9, -1.0, 1.6), 38, 1.0, "cut off"),
    ],
)
def test_impossible_places_are_refused_with_reason_and_remedy(place, pitch, side_m, reason):
    cam = camera(position_m=place, pitch_deg=pitch, size_px=SIZE)
    with pytest.raises(PhotoRefused, match=reason) as refusal:
        believed(seen(cam, rectangle(1, 1)), cam, side_m=side_m)
    assert refusal.value.remedy


def test_a_frame_that_stands_upright_is_refused():
    cam = camera(size_px=SIZE)
    wall = np.array([[0, 2.5, 0.2], [1, 2.5, 0.2], [1, 2.5, 1.2], [0, 2.5, 1.2]])
    corners = cam.project(wall)[0]
    with pytest.raises(PhotoRefused):
        believed(corners, cam, how=FoundBy.LIGHT_FRAME)


@pytest.mark.parametrize("corners", [np.full((4, 2), np.nan), np.zeros((4, 2)), np.ones((3, 2))])
def test_what_is_no_outline_is_refused(corners):
    with pytest.raises(PhotoRefused):
        believed(corners, camera(size_px=SIZE))


def test_corners_whose_error_reaches_the_horizon_are_refused():
    """Marked by hand: moved by their own error, one of them lies beyond it."""
    corners = np.array([[480.0, 678.0], [1165.0, 1075.0], [1046.0, 685.0], [598.0, 678.0]])
    with pytest.raises(PhotoRefused, match="horizon"):
        trusted_plane(Square(corners, FoundBy.HAND_MARKS, 3.0), side_m=1.0, size=(1600, 1200), focal_px=None)
