"""One ground frame per photo point, against drawn photos of one yard whose camera and square are known exactly."""

from dataclasses import replace

import numpy as np
import pytest

from swardmark.common.errors import PhotoRefused
from swardmark.ground.align import Reference, keep_frame
from swardmark.ground.background import Background, background_of, matched, reduced, seen_again
from swardmark.ground.homography import apply
from swardmark.ground.plane import plane_from_square
from swardmark.ground.relative import Comparison
from swardmark.practice.draw import draw_photo
from swardmark.practice.scene import LIGHTS, Camera, Ground, Scene, Square
from swardmark.practice.sward import Stand, sow, steady

SIZE = (1000, 750)
HOME = Camera(size_px=SIZE)
YARD = Ground(seed=4)
BY_HAND = {"position_m": (0.58, -1.17, 1.66), "pitch_deg": 35.8, "yaw_deg": -2.5, "roll_deg": 2.2}
"""A camera held again by hand: 10 cm and 3 degrees off."""


def shot(*, square=None, cover=8.0, light="sun", camera=HOME, ground=YARD, seed=1):
    """Draw a photo; grass of another cover is another day's grass."""
    scene = Scene(camera=camera, square=square or Square(), light=LIGHTS[light], ground=ground)
    sward = sow([Stand(steady(cover))], camera=camera, ground=ground, seed=int(cover))
    return draw_photo(sward.on_day(0), scene, seed=seed)


def plane_of(photo):
    cam = photo.scene.camera
    return plane_from_square(photo.corners_px, side_m=1.0, size=SIZE, focal_px=cam.focal_px)


def kept(photo, reference):
    plane = None if photo.corners_px is None else plane_of(photo)
    focal_px = photo.scene.camera.focal_px
    return keep_frame(photo.rgb, reference, plane=plane, corners_px=photo.corners_px, focal_px=focal_px)


def error_cm(result, photo):
    """How far ground points up to 3.5 m ahead are laid from where they truly are, root mean square."""
    x, y, _ = photo.scene.camera.position_m
    true = np.array([[x, y + 3.0], [x - 1.0, y + 2.5], [x + 1.0, y + 3.5], [0.5, 0.5], [-0.5, 1.5]])
    found = result.plane.meters(apply(photo.homography, true))
    return 100 * float(np.sqrt(((found - true) ** 2).sum(axis=1).mean()))


@pytest.fixture(scope="session")
def first():
    return shot()


@pytest.fixture(scope="session")
def reference(first):
    background = background_of(first.rgb, first.corners_px)
    return Reference("first", plane_of(first), first.corners_px, 1.0, background)


@pytest.fixture(scope="session")
def by_hand():
    """The camera shifted by hand, the grass grown, the light gone gray, the square where it was."""
    return shot(cover=45.0, light="overcast", camera=replace(HOME, **BY_HAND), seed=2)


def test_a_camera_held_by_hand_needs_nothing(by_hand, reference):
    result = kept(by_hand, reference)
    assert result.moved_m == 0 and result.turned_deg == 0 and result.notes == ()
    np.testing.assert_array_equal(result.plane.to_photo, plane_of(by_hand).to_photo)


@pytest.mark.parametrize(
    "shift, turn, moved, said",
    [((0.4, 0.1), 5.0, 0.38, "0.4 m and turned 5"), ((1.1, 0.1), 90.0, 0.141, "90")],
)
def test_a_moved_square_leaves_the_frame_where_it_was(shift, turn, moved, said, reference):
    photo = shot(
        square=Square(shift_m=shift, turn_deg=turn), cover=45.0, camera=replace(HOME, **BY_HAND), seed=3
    )
    result = kept(photo, reference)
    assert result.moved_m == pytest.approx(moved, abs=0.03)
    assert result.turned_deg == pytest.approx(turn, abs=0.7)
    assert said in result.notes[0] and "cm at 3 m" in result.notes[0]
    assert error_cm(result, photo) < 3.0
    assert result.error_cm < 3.0 and result.error_px < 3.0


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_a_photo_that_lies_on_its_side_is_laid_into_the_frame_all_the_same(quarters, by_hand, reference):
    """EXIF lost: descriptors of the background are upright ones, so that a turned photo matches nothing as it is."""
    rgb = np.ascontiguousarray(np.rot90(by_hand.rgb, quarters))
    corners = plane_of(by_hand).turned(quarters).pixels(plane_of(by_hand).meters(by_hand.corners_px))
    size = (rgb.shape[1], rgb.shape[0])
    focal_px = by_hand.scene.camera.focal_px
    own = plane_from_square(corners, side_m=1.0, size=size, focal_px=focal_px)
    shifted = own.moved(np.array([[1, 0, 0.3], [0, 1, -0.2], [0, 0, 1.0]]))
    for plane, moved in ((own, 0.0), (shifted, 0.36)):
        result = keep_frame(rgb, reference, plane=plane, corners_px=corners, focal_px=focal_px)
        assert result.moved_m == pytest.approx(moved, abs=0.04)
        assert result.plane.size == size
        np.testing.assert_allclose(result.plane.meters(corners), own.meters(corners), atol=0.06)


def test_a_missing_square_is_made_up_for_by_the_background(reference):
    photo = shot(square=Square("none"), cover=45.0, light="overcast", camera=replace(HOME, **BY_HAND), seed=4)
    result = kept(photo, reference)
    assert np.isnan(result.moved_m)
    assert "no square found" in result.notes[0]
    assert error_cm(result, photo) < 3.0
    assert result.plane.pose.height_m == pytest.approx(1.66, abs=0.02)


def test_another_yard_is_refused(reference):
    other = Ground(seed=77, fence_y_m=3.4, path_x_m=None)
    photo = shot(square=Square("none"), ground=other, camera=replace(HOME, **BY_HAND))
    with pytest.raises(PhotoRefused, match="background"):
        kept(photo, reference)


@pytest.mark.parametrize("square", [Square(), Square(shift_m=(0.02, 0.03), turn_deg=1.0)])
def test_another_yard_with_the_same_fence_is_not_taken_for_this_one(square, reference):
    """Boards, cobbles and slabs of other colors in the same places: a yard is known by what it shows once."""
    other = replace(YARD, seed=10)
    photo = shot(square=square, cover=20.0, camera=replace(HOME, **BY_HAND), ground=other, seed=3)
    result = kept(photo, reference)
    assert not result.is_confirmed
    assert "too little background" in result.notes[0]


def test_points_that_a_fence_repeats_are_seen_aside_as_well():
    """Boards 16 pixels wide, one like the other, and then each of its own brightness."""
    rng = np.random.default_rng(1)
    across, down = np.arange(600) // 16, np.arange(300)[:, None] // 40
    gap = np.where((np.arange(600) % 16 < 2) | (np.arange(300)[:, None] % 40 < 3), 0.2, 1.0)
    for tone, repeats in ((np.ones(38), True), (rng.uniform(0.3, 1.0, (8, 38)), False)):
        shade = gap * (tone[across] if tone.ndim == 1 else tone[down, across])
        days = [(200 * shade + rng.normal(0, 8, shade.shape)).clip(0, 255).astype(np.uint8) for _ in range(2)]
        known = background_of(days[0], None)
        found = seen_again(reduced(days[1]), known, known.points[None].astype(float))
        assert found.seen > 50
        assert (found.here < 1.75 * found.aside) == repeats


def test_without_background_a_square_is_believed_only_near_its_place(by_hand, reference):
    bare = replace(
        reference, background=Background(np.zeros((0, 2), np.float32), np.zeros((0, 32), np.uint8))
    )
    assert "too little background" in kept(by_hand, bare).notes[0]
    far = replace(bare, plane=bare.plane.moved(np.array([[1, 0, 0.6], [0, 1, 0], [0, 0, 1.0]])))
    with pytest.raises(PhotoRefused, match="does not show which"):
        kept(by_hand, far)


def test_a_background_survives_the_record(reference):
    again = Background.unpacked(reference.background.packed())
    np.testing.assert_array_equal(again.bits, reference.background.bits)
    np.testing.assert_allclose(again.points, reference.background.points, atol=1 / 16)
    assert len(reference.background.packed()) < 60_000


def test_the_square_itself_is_no_background(first, reference):
    low, high = first.corners_px.min(axis=0), first.corners_px.max(axis=0)
    inside = (reference.background.points > low) & (reference.background.points < high)
    middle = first.corners_px.mean(axis=0)
    assert not (np.abs(reference.background.points - middle) < 0.3 * (high - low)).all(axis=1).any()
    assert inside.all(axis=1).mean() < 0.02


def test_matches_agree_with_the_true_cameras(by_hand, reference):
    """Epipolar geometry of the true cameras (Hartley and Zisserman 2004, chapter 9)."""
    background = background_of(by_hand.rgb, by_hand.corners_px)
    pairs = matched(reference.background, background, size=SIZE, other_size=SIZE)
    fit = Comparison(pairs, reference.plane, SIZE).square_move(
        plane_of(by_hand), 1.0, np.array([[0.02, -0.02, 0.01]])
    )
    assert fit.is_firm
    true = np.array(BY_HAND["position_m"]) - HOME.position_m
    np.testing.assert_allclose(fit.values[3:6], true, atol=0.01)
    assert fit.on_surface <= fit.matches


def test_a_photo_held_upright_is_compared_with_one_held_lengthwise():
    """One camera turned by a quarter: a direction lies elsewhere in the picture, as far from its middle as before."""
    rng = np.random.default_rng(4)
    bits = rng.integers(0, 256, (60, 32), np.uint8)
    off = rng.uniform((-370, -370), (370, 370), (60, 2))
    one, other = (Background((off + middle).astype(np.float32), bits) for middle in ((500, 375), (375, 500)))
    pairs = matched(one, other, size=SIZE, other_size=SIZE[::-1])
    assert len(pairs) == 60
    np.testing.assert_allclose(pairs[:, 1] - pairs[:, 0], np.broadcast_to((-125, 125), (60, 2)), atol=1e-3)
