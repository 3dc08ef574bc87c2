"""Photos of 12 and 48 megapixels: read reduced, they give the cover, the square and the frame of the whole photo."""

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from swardmark.lawn.toml import read_lawn
from swardmark.measure import survey
from swardmark.measure.survey import measure_photo, task_of
from swardmark.photo.decode import decode
from swardmark.record.place import forget_record

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
NAME = "2026-06-12.jpg"


def enlarged(times):
    """A photo of the sample lawn with so many times the pixels along each side, as JPEG bytes."""
    picture = cv2.imread(str(SAMPLE / "photos" / NAME))
    large = cv2.resize(picture, None, fx=times, fy=times, interpolation=cv2.INTER_CUBIC)
    noise = np.random.default_rng(3).normal(0, 3, large.shape).astype(np.int8)
    done, data = cv2.imencode(".jpg", cv2.add(large, noise, dtype=cv2.CV_8U), [cv2.IMWRITE_JPEG_QUALITY, 92])
    assert done
    return data.tobytes()


@pytest.fixture(scope="module")
def task():
    lawn = read_lawn(SAMPLE)
    return task_of(lawn, next(file for file in lawn.photos() if file.name == NAME))


def measured(data, task, *, least_side=survey.WORKING_SIDE_PX):
    return measure_photo(decode(data, name=NAME, least_side=least_side), task)


def canopy_share(ground_map):
    return float(ground_map.canopy(0.1)[ground_map.is_readable].mean())


@pytest.mark.parametrize(("times", "reduction"), [(2.5, 2), (5, 4)])
def test_a_large_photo_gives_what_the_whole_photo_gives(task, times, reduction):
    data = enlarged(times)
    assert decode(data, name=NAME, least_side=survey.WORKING_SIDE_PX).reduction == reduction
    reduced, whole = measured(data, task), measured(data, task, least_side=None)
    assert reduced[1].size == whole[1].size == (1600 * times, 1200 * times)
    # In pixels of the file; a pixel here is two or four times smaller than those the corners were found in.
    np.testing.assert_allclose(reduced[1].corners_px, whole[1].corners_px, atol=0.35 * reduction)
    np.testing.assert_allclose(reduced[1].camera_m, whole[1].camera_m, atol=0.02)
    assert reduced[1].focal_px == pytest.approx(whole[1].focal_px, rel=0.002)
    assert canopy_share(reduced[0]) == pytest.approx(canopy_share(whole[0]), abs=0.015)


def test_hand_marks_are_pixels_of_the_file(task):
    data = enlarged(2.5)
    _, facts = measured(data, task)
    by_hand = replace(task, corners_px=facts.corners_px)
    _, again = measured(data, by_hand)
    assert again.square == "hand marks"
    # The corners are refined from another start: a twentieth of a pixel as read, a tenth of one of the file.
    np.testing.assert_allclose(again.corners_px, facts.corners_px, atol=0.1)


def test_a_square_too_small_for_the_reduced_photo_is_found_in_the_whole(tmp_path, monkeypatch):
    """With a working side of 200 pixels a mark of the sample's photos covers some 5: nothing can be read in it."""
    folder = tmp_path / "lawn"
    (folder / "photos").mkdir(parents=True)
    (folder / "lawn.toml").write_bytes((SAMPLE / "lawn.toml").read_bytes())
    (folder / "photos" / NAME).write_bytes((SAMPLE / "photos" / NAME).read_bytes())
    lawn = read_lawn(folder)
    with survey.open_record(lawn) as record:
        plain = survey.survey(lawn, record).entries[0]
    forget_record(folder)
    monkeypatch.setattr(survey, "WORKING_SIDE_PX", 200)
    with survey.open_record(lawn) as record:
        from_whole = survey.survey(lawn, record).entries[0]
    assert from_whole.is_measured
    np.testing.assert_allclose(from_whole.facts.corners_px, plain.facts.corners_px, atol=1e-6)
