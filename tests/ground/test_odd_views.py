"""Photos as keepers do take them: another lens, a crop, a mirror, a second square, from the other side of the lawn.

Each is measured rightly or refused with one line; quick scenes without blades, whose cameras are known exactly.
"""

from dataclasses import replace

import numpy as np
import pytest
from drawn_squares import camera, corners_in, four_sheets, photo_of

from swardmark.common.errors import PhotoRefused
from swardmark.ground.align import OtherGround, Reference, keep_frame
from swardmark.ground.background import background_of
from swardmark.ground.find import find_square
from swardmark.ground.trust import trusted_plane
from swardmark.practice.scene import Square

HOME = camera(position_m=(0.5, -1.1, 1.6), pitch_deg=34.0)
FOCAL = HOME.focal_px
AHEAD_M = np.array([[0.5, 1.5], [0.5, 2.5], [-0.8, 2.0], [1.8, 2.0], [-0.3, 0.5]])


def plane_of(rgb, focal_px=FOCAL, near=None):
    square = find_square(rgb, focal_px=focal_px, near=near)
    return trusted_plane(square, side_m=1.0, size=(rgb.shape[1], rgb.shape[0]), focal_px=focal_px)


def seen_by(view, ground_m=AHEAD_M):
    return view.project(np.column_stack([ground_m, np.zeros(len(ground_m))]))[0]


def off_cm(plane, pixels, ground_m=AHEAD_M):
    return 100 * np.linalg.norm(plane.meters(pixels) - ground_m, axis=1).max()


@pytest.fixture(scope="module")
def plain():
    return photo_of(HOME, [Square()])


@pytest.mark.parametrize("k1", [-0.05, 0.03])
def test_a_wide_lens_lays_ground_two_meters_away_some_centimeters_off(k1, plain):
    """One term of radial distortion (Brown 1971, Photogramm. Eng. 37(8):855-866), as of phones that do not undo it."""
    import cv2

    rows, cols = plain.shape[:2]
    middle = np.array([cols - 1, rows - 1]) / 2
    seen = (np.stack(np.meshgrid(np.arange(cols), np.arange(rows)), axis=-1) - middle) / FOCAL
    ideal = seen.copy()
    for _ in range(20):
        ideal = seen / (1 + k1 * (ideal**2).sum(axis=-1, keepdims=True))
    source = (ideal * FOCAL + middle).astype(np.float32)
    rgb = cv2.remap(plain, source[..., 0], source[..., 1], cv2.INTER_LINEAR)
    straight = (seen_by(HOME) - middle) / FOCAL
    bent = straight * (1 + k1 * (straight**2).sum(axis=-1, keepdims=True)) * FOCAL + middle
    assert off_cm(plane_of(rgb), bent) < 4.0


def test_of_two_squares_the_one_known_is_taken_and_otherwise_none():
    other = Square(side_m=0.5, shift_m=(1.1, 0.3))
    rgb = photo_of(HOME, [Square(), other])
    with pytest.raises(PhotoRefused, match="more than one set of corner marks"):
        find_square(rgb, focal_px=FOCAL)
    far = photo_of(HOME, [Square(), Square(shift_m=(-1.0, 1.4))])
    assert off_cm(plane_of(far, near=corners_in(HOME)), seen_by(HOME)) < 1.0


def test_a_square_that_the_picture_cuts_is_refused():
    close = replace(HOME, position_m=(0.5, -0.75, 1.6))
    with pytest.raises(PhotoRefused, match="marks 0, 1 not found"):
        find_square(photo_of(close, [Square()]), focal_px=FOCAL, near=corners_in(HOME))
    beside = replace(HOME, position_m=(1.25, -1.1, 1.6))
    with pytest.raises(PhotoRefused, match=r"cut off|not found"):
        plane_of(photo_of(beside, [Square()]))


def test_from_the_other_side_of_the_lawn_a_photo_is_right_by_itself_and_no_part_of_the_series(plain):
    across = replace(HOME, position_m=(0.5, 2.1, 1.6), yaw_deg=180.0)
    rgb = photo_of(across, [Square()], seed=1)
    ground = np.array([[0.5, -0.5], [0.5, -1.5], [1.8, -1.0]])
    own = plane_of(rgb)
    assert off_cm(own, seen_by(across, ground), ground) < 1.0
    corners = corners_in(HOME)
    first = Reference("first", plane_of(plain), corners, 1.0, background_of(plain, corners))
    with pytest.raises(OtherGround, match="does not show which"):
        keep_frame(rgb, first, plane=own, corners_px=corners_in(across), focal_px=FOCAL)


@pytest.mark.parametrize("how", ["photo", "flipped", "marks"])
def test_a_mirrored_photo_or_print_is_called_so(how, plain):
    """As a front camera saves it, as lost EXIF orientations 2, 4, 5 and 7 leave it, or as film printed face down."""
    if how == "marks":
        rgb = photo_of(HOME, sheets=[(texture[:, ::-1], corners) for texture, corners in four_sheets()])
    else:
        rgb = plain[:, ::-1] if how == "photo" else plain[::-1]
    with pytest.raises(PhotoRefused, match="mirrored"):
        find_square(np.ascontiguousarray(rgb), focal_px=FOCAL)


def test_a_square_laid_upside_down_has_its_origin_at_the_far_corner():
    """Sheets turned in their places change nothing; the square as a whole turned by half has its own frame."""
    turned = photo_of(HOME, sheets=four_sheets(changes={n: {"turn_deg": 180} for n in range(4)}))
    assert off_cm(plane_of(turned), seen_by(HOME)) < 1.0
    around = photo_of(HOME, sheets=four_sheets(ids=(2, 3, 0, 1)))
    assert off_cm(plane_of(around), seen_by(HOME), 1 - AHEAD_M) < 1.0


def test_a_messenger_may_make_a_photo_smaller_but_not_crop_it(plain):
    import cv2

    small = cv2.resize(plain, None, fx=0.6, fy=0.6, interpolation=cv2.INTER_AREA)
    assert off_cm(plane_of(small, None), (seen_by(HOME) + 0.5) * 0.6 - 0.5) < 1.5
    cut = np.ascontiguousarray(plain[110:, 75:975])
    with pytest.raises(PhotoRefused, match="of a cropped photo give the original"):
        plane_of(cut, FOCAL * cut.shape[1] / plain.shape[1])
