"""Corner marks against exactly known corners of drawn photos, and against everything that is not a laid square."""

import numpy as np
import pytest
from drawn_squares import SMALL, camera, corners_in, four_sheets, mark_sheet, photo_of, rms, sheet_at
from hypothesis import given, settings
from hypothesis import strategies as st

from swardmark.common.errors import PhotoRefused
from swardmark.ground.edges import refine_corners
from swardmark.ground.find import find_square, hand_square
from swardmark.ground.marks import find_marks, square_of, square_of_three
from swardmark.ground.square import NoSquare, Square
from swardmark.ground.trust import trusted_plane
from swardmark.practice.scene import Square as Laid

CAMERA = camera()
TRUE = corners_in(CAMERA)
ALL_SEEN = four_sheets()


def measured(photo, *, focal_px=CAMERA.focal_px):
    square = find_square(photo, focal_px=focal_px)
    return square, trusted_plane(square, side_m=1.0, size=SMALL, focal_px=focal_px)


@pytest.fixture(scope="module")
def photo():
    return photo_of(CAMERA, [Laid()])


@pytest.mark.parametrize(
    "place, pitch",
    [((0.5, -1.2, 1.6), 38), ((0.9, -0.9, 1.3), 36), ((0.2, -0.6, 2.1), 58), ((0.5, 0.4, 2.2), 88)],
)
def test_corners_are_exact_to_a_quarter_pixel(place, pitch):
    seen_from = camera(position_m=place, pitch_deg=pitch, roll_deg=4)
    square = find_marks(photo_of(seen_from, [Laid()]))
    assert square.how == "corner marks"
    assert rms(square.corners_px, corners_in(seen_from)) < 0.25
    assert square.error_px < 0.25


def test_a_corner_that_the_search_cut_off_moves_back_where_both_its_edges_are_plain(photo):
    """Blades over the ink: one corner lies a fifth of the mark off. Left there, the whole photo was refused."""
    true = CAMERA.project(np.array([[0, 1, 0], [0.12, 1, 0], [0.12, 0.88, 0], [0, 0.88, 0.0]]))[0]
    start = true.copy()
    start[3] += (2.4, -5.2)
    assert rms(refine_corners(photo, start[None])[0], true) < 0.3


def test_looking_first_where_the_square_was_gives_the_same(photo):
    whole = find_marks(photo)
    for shift in ((35, -20), (0, 0), (400, 300)):
        assert rms(find_marks(photo, near=TRUE + shift).corners_px, whole.corners_px) < 0.1


@pytest.mark.parametrize("hidden", range(4))
def test_three_marks_are_enough_when_they_lie_square(hidden):
    square, _ = measured(photo_of(CAMERA, sheets=[s for n, s in enumerate(ALL_SEEN) if n != hidden]))
    assert square.how == "three corner marks"
    assert rms(square.corners_px, TRUE) < 0.5
    assert f"mark {hidden}" in square.notes[0]


@pytest.mark.parametrize("noise_px", [0.25, 0.35])
def test_a_hidden_corner_that_the_others_do_not_fix_is_refused(noise_px):
    """Small marks seen from afar, their corners off by a third of a pixel: the hidden corner would lie anywhere."""
    far = camera(position_m=(0.5, -4.5, 1.6), pitch_deg=18)
    rng, refused = np.random.default_rng(7), 0
    for _ in range(12):
        marks = {}
        for number, (x, y) in enumerate(((0, 0), (0.88, 0), (0.88, 0.88))):
            ground = np.array([[x, y + 0.12], [x + 0.12, y + 0.12], [x + 0.12, y], [x, y]])
            mapped = np.column_stack([ground, np.ones(4)]) @ far.ground_homography.T
            marks[number] = mapped[:, :2] / mapped[:, 2:] + rng.normal(0, noise_px, (4, 2))
        try:
            square = square_of_three(marks)
        except PhotoRefused:
            refused += 1
            continue
        sides = np.linalg.norm(np.roll(corners_in(far), -1, axis=0) - corners_in(far), axis=1)
        assert np.linalg.norm(square.corners_px[3] - corners_in(far)[3]) < 0.01 * sides.min()
    assert refused >= 10


def test_a_quarter_turned_sheet_changes_nothing():
    square, _ = measured(
        photo_of(CAMERA, sheets=four_sheets(changes={1: {"turn_deg": 90}, 3: {"turn_deg": 180}}))
    )
    assert rms(square.corners_px, TRUE) < 0.25


DECOYS = {
    "a mark moved right": four_sheets(changes={0: {"move": (0.1, 0)}}),
    "a mark moved away": four_sheets(changes={2: {"move": (0, 0.1)}}),
    "a mark moved askew": four_sheets(changes={3: {"move": (-0.07, 0.07)}}),
    "a bent mark": four_sheets(changes={0: {"lift": 0.05}}),
    "another order": four_sheets(ids=(1, 0, 2, 3)),
    "crossed marks": four_sheets(ids=(0, 2, 1, 3)),
    "other numbers": four_sheets(ids=(4, 5, 6, 7)),
    "another dictionary": four_sheets(dictionary=4),
    "two marks": ALL_SEEN[:2],
    "three marks, one moved": four_sheets(changes={1: {"move": (0.1, 0)}})[:3],
    "three marks, one turned": four_sheets(changes={1: {"turn_deg": 6}})[:3],
    "smaller marks on one side": [*ALL_SEEN[:3], (mark_sheet(3), sheet_at(0, 0.88, side=0.12))],
}


@pytest.mark.parametrize("decoy", DECOYS)
def test_decoys_never_give_a_square(decoy):
    with pytest.raises(PhotoRefused) as refusal:
        measured(photo_of(CAMERA, sheets=DECOYS[decoy]))
    assert refusal.value.what and refusal.value.remedy


def test_two_whole_sets_are_refused_even_if_both_are_square():
    high = camera(position_m=(0.9, -2.0, 2.2), pitch_deg=38)
    with pytest.raises(PhotoRefused, match="more than one"):
        find_marks(photo_of(high, sheets=four_sheets() + four_sheets(at=(1.2, 0.1))))


def test_a_mirrored_photo_is_refused():
    with pytest.raises(PhotoRefused):
        find_square(np.ascontiguousarray(photo_of(CAMERA, sheets=ALL_SEEN)[:, ::-1]))


def test_an_empty_lawn_has_no_square():
    with pytest.raises(NoSquare):
        find_square(photo_of(CAMERA))


@settings(max_examples=30, deadline=None)
@given(st.permutations(range(4)), st.integers(0, 3))
def test_the_square_does_not_depend_on_each_marks_own_first_corner(order, turn):
    to_photo = CAMERA.ground_homography
    marks = []
    for x, y in ((0, 0), (0.88, 0), (0.88, 0.88), (0, 0.88)):
        ground = np.array([[x, y + 0.12], [x + 0.12, y + 0.12], [x + 0.12, y], [x, y]])
        mapped = np.column_stack([ground, np.ones(4)]) @ to_photo.T
        marks.append(mapped[:, :2] / mapped[:, 2:])
    turned = np.stack([np.roll(mark, turn * n, axis=0) for n, mark in zip(order, marks, strict=True)])
    np.testing.assert_allclose(square_of(turned).corners_px, TRUE, atol=1e-6)


def test_hand_marks_near_the_real_corners_move_onto_them(photo):
    square = hand_square(photo, (TRUE + np.array([[4, -3], [-3, 4], [2, 2], [-2, 3]])).tolist())
    assert square.how == "hand marks"
    assert rms(square.corners_px, TRUE) < 0.25


def test_hand_marks_far_from_the_marks_are_kept_and_said(photo):
    inner = TRUE + 0.2 * (TRUE.mean(axis=0) - TRUE)
    square = hand_square(photo, inner.tolist())
    np.testing.assert_allclose(square.corners_px, inner)
    assert square.error_px >= 2 and "by hand" in square.notes[0]


@pytest.mark.parametrize("order", [(1, 0, 3, 2), (0, 2, 1, 3), (3, 2, 1, 0)])
def test_hand_marks_out_of_order_are_refused(photo, order):
    with pytest.raises(PhotoRefused, match="wrong way around"):
        hand_square(photo, TRUE[list(order)].tolist())


def test_a_square_is_a_value():
    assert Square(TRUE, "hand marks", 3.0).notes == ()
