"""The drawn photo: geometry against OpenCV's own, marks that can be read, colors as on a lawn."""

import cv2
import numpy as np
import pytest

from swardmark.practice.blades import Habit
from swardmark.practice.draw import draw_photo
from swardmark.practice.scene import LIGHTS, Camera, Ground, Light, Scene, Square
from swardmark.practice.sward import Stand, sow, steady

SMALL = Camera(size_px=(320, 240))
BARE = Ground(soil_share=0.0)
COARSE = Habit(length_mm=45, width_mm=6)


def sown(cover, camera, seed=1):
    """Sow few, wide blades, which is quick; their area for a cover is the same."""
    return sow([Stand(steady(cover), habit=COARSE)], camera=camera, ground=BARE, seed=seed).on_day(0)


@pytest.fixture(scope="module")
def grass():
    camera = Camera(size_px=(400, 300), pitch_deg=50, position_m=(0.5, -0.6, 1.6))
    return camera, sown(97, camera), sown(45, camera)


@pytest.fixture(scope="module")
def no_blades(grass):
    return grass[1].only(slice(0, 0))


@pytest.mark.parametrize("camera", [Camera(), Camera((0.3, -0.7, 1.8), 52, -8, 4, 26, (640, 480))])
def test_projection_agrees_with_opencv(camera):
    """cv2.projectPoints without distortion is the reference."""
    points = np.random.default_rng(1).uniform([-1, 0, 0], [2, 3, 0.5], (60, 3))
    turn = cv2.Rodrigues(camera.rotation)[0]
    shift = -camera.rotation @ np.array(camera.position_m)
    expected = cv2.projectPoints(points, turn, shift, camera.matrix, None)[0].reshape(-1, 2)
    np.testing.assert_allclose(camera.project(points)[0], expected, atol=1e-6)


def test_ground_homography_goes_both_ways():
    camera = Camera(yaw_deg=5, roll_deg=-3)
    ground = np.random.default_rng(2).uniform([-1, 0], [2, 3], (40, 2))
    pixels = camera.project(np.column_stack([ground, np.zeros(40)]))[0]
    by_opencv = cv2.perspectiveTransform(ground[None], camera.ground_homography)[0]
    np.testing.assert_allclose(pixels, by_opencv, atol=1e-8)
    np.testing.assert_allclose(camera.to_ground(pixels), ground, atol=1e-9)


def test_focal_length_and_view_angle_by_hand():
    """27 mm by the diagonal: half the diagonal field is atan(21.63 / 27); 65 deg from 1.6 m lies 3.431 m away."""
    camera = Camera()
    assert 1000 / camera.focal_px == pytest.approx(21.633 / 27, rel=1e-4)
    away = np.array([[camera.position_m[0], camera.position_m[1] + 1.6 * np.tan(np.radians(65))]])
    assert camera.view_deg(away)[0] == pytest.approx(65)
    level = Camera(pitch_deg=0).project(np.array([[0.5, 10.0, 1.6]]))[0][0]
    np.testing.assert_allclose(level, [799.5, 599.5], atol=1e-9)


def test_shaken_camera_stays_within_twice_the_spread():
    rng = np.random.default_rng(3)
    for _ in range(50):
        held = Camera().shaken(rng, shift_m=0.05, turn_deg=1.5)
        assert np.abs(np.subtract(held.position_m, Camera().position_m)).max() <= 0.1 + 1e-9
        assert (
            max(abs(held.roll_deg), abs(held.yaw_deg), abs(held.pitch_deg - Camera().pitch_deg)) <= 3 + 1e-9
        )


def marks_in(rgb):
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    settings.cornerRefinementWinSize = 3
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    found = cv2.aruco.ArucoDetector(book, settings).detectMarkers(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY))
    return (
        {}
        if found[1] is None
        else dict(zip(found[1].ravel().tolist(), (q[0] for q in found[0]), strict=True))
    )


def test_marks_are_found_where_the_square_is():
    """OpenCV's detector reads the marks; it lists corners from the mark's own top left, clockwise.

    A mark's outer corner is its lower left, lower right, upper right, upper left for marks 0 to 3. Tolerance 0.9 px:
    the lens blur moves each black edge inward by about 0.3 px, as in any photo.
    """
    scene = Scene(square=Square(shift_m=(0.05, 0.1), turn_deg=3), ground=BARE)
    photo = draw_photo(sown(20, scene.camera), scene, seed=4)
    found = marks_in(photo.rgb)
    assert {0, 1, 2, 3} <= set(found)
    assert photo.corners_px is not None
    for number, outer in enumerate((3, 2, 1, 0)):
        assert np.hypot(*(found[number][outer] - photo.corners_px[number])) < 0.9
    flat = np.array([[*corner, 0.0] for corner in scene.square.corners_m])
    np.testing.assert_allclose(photo.corners_px, scene.camera.project(flat)[0])


def test_no_blade_lies_on_the_marks(grass):
    camera, dense, _ = grass
    photo = draw_photo(dense, Scene(camera, ground=BARE))
    local = np.array([[x, y] for x in np.linspace(-0.015, 0.135, 31) for y in (-0.012, 0.132)])
    pixel = np.rint(camera.project(np.column_stack([local, np.zeros(len(local))]))[0]).astype(int)
    color = photo.rgb[pixel[:, 1], pixel[:, 0]].astype(float)
    assert np.abs(color - color.mean(axis=1, keepdims=True)).max() < 20
    assert color.min() > 120


def test_a_moved_square_moves_its_corners_and_not_the_lawn(no_blades):
    ground, camera = Ground(seed=3), SMALL
    here = draw_photo(no_blades, Scene(camera, Square("frame"), ground=ground))
    there = draw_photo(no_blades, Scene(camera, Square("frame", shift_m=(0.4, 0.0)), ground=ground))
    none = draw_photo(no_blades, Scene(camera, Square("none"), ground=ground))
    assert none.corners_px is None
    np.testing.assert_allclose(here.homography, there.homography)
    moved = camera.to_ground(there.corners_px) - camera.to_ground(here.corners_px)
    np.testing.assert_allclose(moved, [[0.4, 0.0]] * 4, atol=1e-9)
    fence = slice(0, 30)
    assert np.abs(here.rgb[fence].astype(int) - there.rgb[fence]).mean() < 3


def excess_green(rgb):
    color = rgb.reshape(-1, 3).astype(float)
    return (2 * color[:, 1] - color[:, 0] - color[:, 2]) / color.sum(axis=1)


@pytest.mark.parametrize("light", list(LIGHTS))
def test_colors_are_those_of_a_lawn(grass, no_blades, light):
    """Excess green 2g - r - b of coded values (Woebbecke et al. 1995): sand near 0.04, leaves 0.15 to 0.45.

    The sand's figure is that of the sRGB color 210, 190, 150; the leaves' range is common for field photos.
    """
    camera, dense, _ = grass
    scene = Scene(camera, Square("none"), LIGHTS[light], BARE)
    sand = excess_green(draw_photo(no_blades, scene).rgb[100:])
    leaves = excess_green(draw_photo(dense, scene).rgb[100:])
    assert -0.01 < np.median(sand) < 0.06
    assert 0.15 < np.median(leaves) < 0.45


def test_sand_among_blades_takes_on_green(grass, no_blades):
    """Light from leaves tints the sand between them: its median lies above that of open sand, below a leaf's."""
    camera, _, half = grass
    scene = Scene(camera, Square("none"), ground=BARE)
    among = excess_green(draw_photo(half, scene).rgb[150:])
    alone = excess_green(draw_photo(no_blades, scene).rgb[150:])
    assert np.median(alone) + 0.005 < np.quantile(among, 0.35) < 0.2


def test_a_hard_shadow_darkens_its_place_only(no_blades):
    camera = SMALL
    shadow = Light(shadow="tree", shadow_at_m=(0.5, 1.9), shadow_size_m=0.5, exposure=1.0)
    dark, lit = (
        draw_photo(no_blades, Scene(camera, light=light, ground=BARE)).rgb.astype(float)
        for light in (shadow, Light())
    )
    ratio = []
    for place in ([0.45, 1.95, 0.0], [0.5, 0.4, 0.0]):
        x, y = np.rint(camera.project(np.array([place]))[0][0]).astype(int)
        around = slice(y - 4, y + 5), slice(x - 4, x + 5)
        ratio.append(dark[around].mean() / lit[around].mean())
    assert ratio[0] < 0.75
    assert 0.95 < ratio[1] < 1.3


def test_same_seed_same_photo(grass):
    camera, _, half = grass
    first, again, other = (draw_photo(half, Scene(camera), seed=seed).rgb for seed in (1, 1, 2))
    np.testing.assert_array_equal(first, again)
    assert (first != other).any()
