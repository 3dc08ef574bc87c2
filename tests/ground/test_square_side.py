"""The square's side checked by its marks, squares of other sides, and photos that lie on their side."""

from dataclasses import replace

import numpy as np
import pytest
from drawn_squares import SMALL, camera, corners_in, photo_of, rms

from swardmark.common.errors import PhotoRefused
from swardmark.ground.find import find_square
from swardmark.ground.marks import find_marks
from swardmark.ground.plane import plane_from_square
from swardmark.ground.trust import trusted_plane, with_side_checked
from swardmark.practice.scene import Square as Laid

SIZE = (2016, 1512)
"""Twelve megapixels as they are measured, at half their size."""


def shown(side_m, *, far_m=0.0, mark_m=0.12):
    """A square seen from 1.75 m above, its near side 1.1 m ahead and `far_m`."""
    place = (side_m / 2 + 0.1, -1.1 - far_m, 1.75)
    seen_from = camera(position_m=place, pitch_deg=38, yaw_deg=-2, roll_deg=2, size_px=SIZE)
    laid = Laid(side_m=side_m, mark_m=mark_m)
    return seen_from, photo_of(seen_from, [laid]), corners_in(seen_from, laid)


@pytest.mark.parametrize("side_m, far_m", [(0.5, 0.0), (1.0, 0.0), (1.0, 0.5), (2.0, 0.4), (2.0, 0.8)])
def test_squares_of_half_a_meter_to_two_are_found(side_m, far_m):
    """Far marks of a large square are flat: 0.12 of their width reaches over their inner cells."""
    seen_from, photo, true = shown(side_m, far_m=far_m)
    square = find_square(photo, side_m=side_m, focal_px=seen_from.focal_px)
    trusted_plane(square, side_m=side_m, size=SIZE, focal_px=seen_from.focal_px)
    assert square.how == "corner marks"
    assert rms(square.corners_px, true) < 0.5
    assert square.mark_share == pytest.approx(0.12 / side_m, rel=0.02)
    assert with_side_checked(square, side_m=side_m).notes == ()


@pytest.mark.parametrize("laid, given, times", [(0.5, 1.0, "4"), (1.0, 0.5, "0.25"), (2.0, 1.0, "0.25")])
def test_another_side_than_the_marks_tell_is_refused_with_both_readings(laid, given, times):
    """Half a meter laid, a meter in lawn.toml: areas four times too large. The printed marks tell."""
    square = find_marks(shown(laid, far_m=0.3)[1])
    with pytest.raises(PhotoRefused) as refusal:
        with_side_checked(square, side_m=given, name="lawn.jpg")
    said = str(refusal.value)
    assert said.count("\n") == 0 and said.startswith("lawn.jpg: ")
    assert f"{laid:.2f} m" in said and f"{given:.2f} m" in said and f"{times} times" in said
    assert "square_side_m" in said and "mark_side_mm" in said


def test_a_slightly_different_side_is_noted():
    square = find_marks(shown(1.0)[1])
    assert with_side_checked(square, side_m=1.03).notes == ()
    (note,) = with_side_checked(square, side_m=1.15).notes
    assert "1.15 m" in note and ("1.00 m" in note or "0.99 m" in note or "1.01 m" in note)


def test_marks_printed_at_another_size_fit_once_their_size_is_given():
    square = find_marks(shown(1.0, mark_m=0.2)[1])
    with pytest.raises(PhotoRefused, match=r"0\.60 m"):
        with_side_checked(square, side_m=1.0)
    assert with_side_checked(square, side_m=1.0, mark_mm=200.0).notes == ()


def test_a_square_without_marks_tells_nothing_of_its_side():
    square = find_marks(shown(1.0)[1])
    bare = replace(square, mark_share=float("nan"))
    assert with_side_checked(bare, side_m=3.0) is bare


@pytest.mark.parametrize("quarters", range(4))
def test_a_plane_turns_with_its_photo(quarters):
    seen_from = camera()
    corners = corners_in(seen_from)
    plane = plane_from_square(corners, side_m=1.0, size=SMALL, focal_px=seen_from.focal_px)
    turned = plane.turned(quarters)
    width, height = SMALL
    marked = np.zeros((height, width), bool)
    x, y = np.rint(corners[0]).astype(int)
    marked[y, x] = True
    (row,), (col,) = np.nonzero(np.rot90(marked, quarters))
    np.testing.assert_allclose(turned.pixels([0.0, 0.0]), [col, row], atol=0.71)
    assert turned.quarter_turns == quarters
    np.testing.assert_allclose(turned.turned(-quarters).to_photo, plane.to_photo, atol=1e-9)
    sideways = trusted_plane(
        replace(find_marks(photo_of(seen_from, [Laid()])), corners_px=turned.pixels(plane.meters(corners))),
        side_m=1.0, size=turned.size, focal_px=seen_from.focal_px,
    )  # fmt: skip
    np.testing.assert_allclose(sideways.pose.position_m, seen_from.position_m, atol=0.02)
