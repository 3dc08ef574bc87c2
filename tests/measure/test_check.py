from __future__ import annotations

import functools
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from swardmark.common.errors import PhotoRefused
from swardmark.ground.plane import plane_from_square
from swardmark.ground.square import FoundBy
from swardmark.ground.square import Square as FoundSquare
from swardmark.measure.check import check_ground, check_photo, ground_outline, kept_findings, white_of
from swardmark.photo import decode
from swardmark.photo.decode import Photo
from swardmark.photo.findings import FAIR, GOOD, UNFIT
from swardmark.practice.draw import DrawnPhoto, draw_photo
from swardmark.practice.scene import Camera, Ground, Scene, Square
from swardmark.practice.sward import Stand, sow, steady

CAMERA = Camera(size_px=(1040, 780))
SCENES = {
    "as it should be": Scene(camera=CAMERA),
    "wet": Scene(camera=CAMERA, ground=Ground(wet=1.0)),
    "flat": Scene(camera=replace(CAMERA, position_m=(0.5, -1.7, 1.5), pitch_deg=15)),
    "slant": Scene(camera=replace(CAMERA, position_m=(0.5, -1.8, 0.95), pitch_deg=21, focal35_mm=30.0)),
    "tiny": Scene(
        camera=replace(CAMERA, position_m=(0.12, -1.1, 1.6)),
        square=Square(side_m=0.24, mark_m=0.07, margin_m=0.012),
    ),
}


@functools.cache
def drawn(name: str) -> DrawnPhoto:
    scene = SCENES[name]
    blades = sow([Stand(steady(8.0))], camera=scene.camera, ground=scene.ground, seed=5).on_day(0)
    return draw_photo(blades, scene, seed=3)


def photo_of(rgb, focal35_mm=27.0) -> Photo:
    return Photo(
        np.ascontiguousarray(rgb), None, "unknown", decode.Camera(focal_35mm=focal35_mm), "", "drawn.jpg"
    )


def names_of(fitness):
    return tuple(fault.name for fault in fitness.faults)


def judged(name, *, rgb=None, **options):
    """The photo's fitness with its square known exactly, so that this file tests the judging and not the finding."""
    picture, side_m = drawn(name), SCENES[name].square.side_m
    photo = photo_of(picture.rgb if rgb is None else rgb, SCENES[name].camera.focal35_mm)
    square = FoundSquare(picture.corners_px, FoundBy.CORNER_MARKS, 0.3)
    plane = plane_from_square(square.corners_px, side_m=side_m, size=photo.size, focal_px=photo.focal_px)
    return check_ground(photo, square, plane, side_m=side_m, **options)


def warm():
    """The photo as a camera set to daylight takes it at sunset: linear gains of a light at some 4000 K."""
    linear = (drawn("as it should be").rgb / 255) ** 2.2 * np.array([1.25, 0.95, 0.55])
    return np.rint(255 * linear.clip(0, 1) ** (1 / 2.2)).astype(np.uint8)


def cut_below_the_square():
    """The photo cut off just below the near corners."""
    picture = drawn("as it should be")
    return picture.rgb[: int(picture.corners_px[:, 1].max()) + 8]


def without_square():
    """The photo with lawn from beside the square laid over it."""
    rgb = drawn("as it should be").rgb.copy()
    for x, y in np.rint(drawn("as it should be").corners_px).astype(int):
        strip = rgb[y - 50 : y + 50, 2:202] if x > 520 else rgb[y - 50 : y + 50, -202:-2]
        rgb[y - 50 : y + 50, x - 100 : x + 100] = strip
    return rgb


def value_of(fitness, name):
    return next(finding for finding in fitness.findings if finding.name == name)


def test_a_photo_as_it_should_be_has_nothing_to_say():
    fitness = judged("as it should be")
    assert (fitness.level, fitness.sentences, names_of(fitness)) == (GOOD, (), ())
    assert fitness.sharpness > 0
    assert 0.3 < fitness.sand_light < 0.9


@pytest.mark.parametrize(
    ("scene", "name", "remedy"),
    [
        ("flat", "flat camera", "Tilt the camera down"),
        ("slant", "slant", "higher"),
        ("tiny", "square too small", "closer"),
    ],
)
def test_each_fault_of_the_set_up_is_a_note_with_its_remedy(scene, name, remedy):
    fitness = judged(scene)
    assert fitness.level == FAIR
    assert name in names_of(fitness)
    assert remedy in value_of(fitness, name).retake


def test_light_as_warm_as_a_low_suns_is_a_note():
    fitness = judged("as it should be", rgb=warm())
    assert names_of(fitness) == ("low sun",)
    assert "noon" in fitness.sentences[0]


def test_a_square_at_the_photos_rim_is_a_note():
    fitness = judged("as it should be", rgb=cut_below_the_square())
    assert "square at the rim" in names_of(fitness)
    assert fitness.level == FAIR
    assert "middle" in value_of(fitness, "square at the rim").retake


def test_pitch_and_view_angle_are_those_of_the_drawn_camera():
    fitness = judged("flat")
    assert value_of(fitness, "flat camera").value == pytest.approx(15, abs=0.2)
    expected = np.degrees(np.arctan2(1.7 + 0.5, 1.5))
    assert value_of(fitness, "slant").value == pytest.approx(expected, abs=0.5)


def test_wet_sand_is_suspected_only_against_the_points_own_history():
    dry, wet = judged("as it should be").sand_light, judged("wet").sand_light
    assert wet < 0.8 * dry
    assert "wet sand" not in names_of(judged("wet"))
    assert names_of(judged("wet", sand_history=[dry, 1.05 * dry])) == ("wet sand",)
    assert names_of(judged("as it should be", sand_history=[dry, 1.05 * dry])) == ()


def test_the_small_squares_error_is_that_of_a_simulation():
    """The propagated error against 500 draws of 0.6 pixel corner noise."""
    picture, rng = drawn("tiny"), np.random.default_rng(0)
    side = SCENES["tiny"].square.side_m
    ideal = side * np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    ground = np.array([side / 2, side + 2.0])
    there = cv2.perspectiveTransform(ground.reshape(1, 1, 2), cv2.getPerspectiveTransform(
        ideal.astype(np.float32), picture.corners_px.astype(np.float32)))  # fmt: skip
    errors = []
    for _ in range(500):
        corners = (picture.corners_px + rng.normal(0, 0.6, (4, 2))).astype(np.float32)
        back = cv2.getPerspectiveTransform(corners, ideal.astype(np.float32))
        errors.append(np.sum((cv2.perspectiveTransform(there, back).ravel() - ground) ** 2))
    # First-order propagation against draws with their own scatter and curvature.
    expected = 100 * np.sqrt(np.mean(errors))
    assert value_of(judged("tiny"), "square too small").value == pytest.approx(expected, rel=0.15)


def test_the_white_of_the_marks_is_the_drawn_papers_color():
    picture = drawn("as it should be")
    plane = plane_from_square(picture.corners_px, side_m=1.0, size=CAMERA.size_px)
    white = white_of(picture.rgb, plane, side_m=1.0, how=FoundBy.CORNER_MARKS)
    assert white[1] > 0.4
    assert white[0] / white[2] == pytest.approx(1, abs=0.15)


def test_the_outline_is_the_part_that_is_measured():
    picture = drawn("flat")
    plane = plane_from_square(picture.corners_px, side_m=1.0, size=CAMERA.size_px)
    outline = ground_outline(plane)
    assert (plane.view_deg(plane.meters(outline)) <= 75.01).all()
    assert outline[:, 1].min() > CAMERA.size_px[1] * 0.3, "sky and fence stay out"


def test_the_square_is_found_by_itself():
    fitness = check_photo(photo_of(drawn("as it should be").rgb))
    assert fitness.level == GOOD


@pytest.mark.parametrize("how", ["no square", "cut off"])
def test_a_square_that_is_not_whole_makes_the_photo_unfit_and_says_how_to_retake_it(how):
    picture = drawn("as it should be")
    through = int(picture.corners_px[:, 1].max()) - 12
    fitness = check_photo(photo_of(without_square() if how == "no square" else picture.rgb[:through]))
    assert fitness.level == UNFIT
    assert names_of(fitness) == ("square",)
    assert value_of(fitness, "square").sentence[0].isupper()
    assert value_of(fitness, "square").retake
    (line,) = fitness.sentences
    assert line.count(". ") >= 1
    assert line.endswith(".")
    assert ".." not in line


def test_a_blurred_photo_says_blur_even_where_the_square_is_lost():
    fitness = check_photo(photo_of(cv2.GaussianBlur(drawn("as it should be").rgb, (0, 0), 6)))
    assert "blur" in names_of(fitness)
    assert any("focus" in sentence for sentence in fitness.sentences)


def test_corners_by_hand_serve_where_no_mark_is_seen():
    corners = drawn("as it should be").corners_px
    fitness = check_photo(photo_of(without_square()), marks=corners.tolist())
    assert value_of(fitness, "square").level == GOOD
    assert fitness.level != UNFIT


def test_a_file_is_read_and_a_text_file_refused(tmp_path):
    path = tmp_path / "2026-06-03.png"
    cv2.imwrite(str(path), drawn("as it should be").rgb[:, :, ::-1])
    assert check_photo(path).level == GOOD
    path.write_text("not a photo")
    with pytest.raises(PhotoRefused, match="not a photo"):
        check_photo(path)


def test_no_photo_of_the_sample_lawn_is_nagged():
    """Eight good photos from bare sand to turf, each against the history of those before it."""
    photos = sorted((Path(__file__).parents[2] / "sample_images" / "tern_cottage" / "photos").glob("*.jpg"))
    assert len(photos) == 8
    sharp: list[float] = []
    sand: list[float] = []
    for path in photos:
        fitness = check_photo(path, history=sharp, sand_history=sand)
        assert names_of(fitness) == (), path.name
        sharp.append(fitness.sharpness)
        sand.append(fitness.sand_light)


def test_the_keeper_s_view_limit_is_the_one_that_refuses():
    """The square of the slanting scene is seen at some 70 degrees: fit under 75, unfit where 65 is the limit."""
    slant = value_of(judged("slant"), "slant")
    assert 65 < slant.value < 75 and slant.level == FAIR
    assert value_of(judged("slant", max_view_deg=65.0), "slant").level == UNFIT
    assert value_of(judged("slant", max_view_deg=80.0), "slant").level == FAIR


def test_what_was_found_is_told_again_from_what_is_kept():
    fitness = judged("slant")
    kept = [(fault.name, fault.value) for fault in fitness.faults]
    assert kept and tuple(f.words for f in kept_findings(kept)) == fitness.sentences
