"""Odd ground on photos: a person painted onto a photo of the sample lawn, and morning dew over another."""

from __future__ import annotations

import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from swardmark.measure.covers import measure_covers

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
ODD_WORDS = ("lay here", "may lie here", "all over")


def odd_rows(covers):
    return [row for row in covers.covers if any(word in note for note in row.notes for word in ODD_WORDS)]


def painted(folder: Path, number: int, paint) -> str:
    """Change one photo's pixels; its date stays."""
    path = sorted((folder / "photos").glob("*.jpg"))[number]
    with Image.open(path) as photo:
        exif, rgb = photo.getexif(), np.array(photo)
    Image.fromarray(paint(rgb)).save(path, "JPEG", quality=92, exif=exif)
    return path.name


def person(rgb):
    height, width = rgb.shape[:2]
    middle, half = (int(0.42 * width), int(0.55 * height)), (int(0.056 * width), int(0.167 * height))
    return cv2.ellipse(rgb, middle, half, 0, 0, 360, (130, 50, 60), -1)


def dew(rgb):
    rough = cv2.GaussianBlur(np.random.default_rng(0).random(rgb.shape[:2]).astype(np.float32), (0, 0), 6)
    share = 0.55 * np.clip(1.1 * (rough - rough.min()) / np.ptp(rough) - 0.1, 0, 1)[..., None]
    return (rgb * (1 - share) + share * np.array([226, 228, 225])).astype(np.uint8)


@pytest.fixture
def lawn(tmp_path):
    return Path(
        shutil.copytree(SAMPLE, tmp_path / "lawn", ignore=shutil.ignore_patterns("record.sqlite*", "out"))
    )


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    folder = tmp_path_factory.mktemp("odd") / "lawn"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record.sqlite*", "out"))
    return measure_covers(folder)


def test_a_season_without_anything_odd_has_no_such_note(plain):
    assert odd_rows(plain) == []


@pytest.mark.parametrize("number", [4, -1])
def test_a_person_on_the_lawn_is_noted_and_the_interval_allows_for_the_ground_behind(lawn, plain, number):
    name = painted(lawn, number, person)
    rows = odd_rows(measure_covers(lawn))
    assert {row.photo for row in rows} == {name}
    assert any(("lay here" if number != -1 else "may lie here") in note for note in rows[0].notes)
    truth = {(row.photo, row.zone): row.cover.cover_pct for row in plain.covers}
    for row in rows:
        assert row.cover.low_pct <= truth[row.photo, row.zone] <= row.cover.high_pct


def test_dew_is_noted_in_every_zone_with_grass_and_the_interval_allows_for_it(lawn, plain):
    name = painted(lawn, 4, dew)
    rows = odd_rows(measure_covers(lawn))
    assert {row.photo for row in rows} == {name}
    assert len(rows) >= 2
    covers = {(row.photo, row.zone): row.cover for row in plain.covers}
    for row in rows:
        assert row.cover.cover_pct < covers[row.photo, row.zone].cover_pct
        assert row.cover.high_pct >= covers[row.photo, row.zone].low_pct
