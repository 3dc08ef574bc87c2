"""Odd ground on photos: things painted onto photos of the sample lawn are noted where they lie, and said everywhere."""

from __future__ import annotations

import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from swardmark.measure.covers import measure_covers
from swardmark.report.content import _sure_lines
from swardmark.season import season_of

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
NEWEST = "2026-07-01.jpg"


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


def dog(rgb):
    height, width = rgb.shape[:2]
    middle, half = (int(0.45 * width), int(0.47 * height)), (int(0.085 * width), int(0.05 * height))
    return cv2.ellipse(rgb, middle, half, 10, 0, 360, (96, 66, 40), -1)


def hose(rgb):
    height, width = rgb.shape[:2]
    middle = (int(0.47 * width), int(0.47 * height))
    for turn in range(6):
        half = int((0.05 + 0.009 * turn) * width), int((0.028 + 0.005 * turn) * width)
        rgb = cv2.ellipse(rgb, middle, half, 0, 0, 360, (40, 120, 50), int(0.006 * width))
    return rgb


def paper(rgb):
    """Where the square's sheets lie."""
    return cv2.dilate((rgb.min(axis=2) > 190).astype(np.uint8), np.ones((61, 61), np.uint8)) > 0


def rough(shape, reach, seed=0):
    """Smooth noise between 0 and 1."""
    noise = cv2.GaussianBlur(np.random.default_rng(seed).random(shape).astype(np.float32), (0, 0), reach)
    return (noise - noise.min()) / np.ptp(noise)


def dew(rgb, where=1.0):
    share = (0.55 * where * np.clip(1.1 * rough(rgb.shape[:2], 6) - 0.1, 0, 1))[..., None]
    return (rgb * (1 - share) + share * np.array([226, 228, 225])).astype(np.uint8)


def dew_on_the_left(rgb):
    return dew(rgb, 1.5 * (np.arange(rgb.shape[1]) < 0.42 * rgb.shape[1]))


def clippings(rgb):
    """Short green strokes on a part of the ground, none on the square's paper."""
    rng, (height, width) = np.random.default_rng(1), rgb.shape[:2]
    strewn = rgb.copy()
    for x, y, turn in rng.random((24000, 3)):
        at, size = np.array([x * width, (0.3 + 0.7 * y) * height]), 4 + 10 * y
        tip = at + size * np.array([np.cos(6.3 * turn), 0.5 * np.sin(6.3 * turn)])
        color = tuple(int(v) for v in rng.uniform((70, 105, 40), (100, 140, 60)))
        cv2.line(strewn, tuple(map(int, at)), tuple(map(int, tip)), color, 1 + int(2 * y))
    return np.where(paper(rgb)[..., None], rgb, strewn)


def soaked(rgb):
    """Sand at half its light, as water leaves it (coded values by 0.73); leaves and the square as they are."""
    sand = (rgb[..., 0] > rgb[..., 1]) & (rgb[..., 1] > rgb[..., 2]) & (rgb[..., 0] > 60) & ~paper(rgb)
    wet = cv2.GaussianBlur(sand.astype(np.float32), (0, 0), 1.5)[..., None]
    return (rgb * (1 - wet * (1 - np.array([0.75, 0.73, 0.68])))).astype(np.uint8)


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    """The sample lawn measured as it is, with the record of it."""
    folder = tmp_path_factory.mktemp("odd") / "lawn"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record.sqlite*", "out"))
    return measure_covers(folder)


@pytest.fixture
def lawn(plain, tmp_path):
    return Path(shutil.copytree(plain.lawn.folder, tmp_path / "lawn"))


def noted(covers):
    """Return what is said of each noted photo."""
    return {one.photo: one.sentence for point in covers.points for one in point.noted}


def covers_of(covers, photo):
    return {row.zone: row.cover for row in covers.covers if row.photo == photo}


def test_a_season_without_anything_odd_has_no_note(plain):
    assert noted(plain) == {}


@pytest.mark.parametrize("number", [4, -1])
@pytest.mark.parametrize("thing", [person, dog])
def test_what_lies_on_the_lawn_is_noted_and_the_ground_behind_filled_in(lawn, plain, thing, number):
    name = painted(lawn, number, thing)
    covers = measure_covers(lawn)
    assert list(noted(covers)) == [name]
    assert ("may lie here" in noted(covers)[name]) is (number == -1)
    assert ("take the photo again" in noted(covers)[name]) is (number == -1)
    assert "open middle" in noted(covers)[name]
    truth, found = covers_of(plain, name)["open middle"], covers_of(covers, name)["open middle"]
    assert found.low_pct <= truth.cover_pct <= found.high_pct
    assert found.cover_pct == pytest.approx(truth.cover_pct, abs=6)
    assert (
        found.low_pct == 0
        or found.high_pct == 100
        or np.ptp([found.low_pct, found.high_pct]) > np.ptp([truth.low_pct, truth.high_pct])
    )


def test_a_green_hose_on_sand_is_noted_once_it_is_gone(lawn, plain):
    name = painted(lawn, 1, hose)
    covers = measure_covers(lawn)
    assert list(noted(covers)) == [name]
    assert "something lay here" in noted(covers)[name]
    truth, found = covers_of(plain, name)["open middle"], covers_of(covers, name)["open middle"]
    assert found.low_pct <= truth.cover_pct <= found.high_pct


@pytest.mark.parametrize(
    ("number", "asks"), [(4, "next time wait"), (-1, "take another photo once it is dry")]
)
def test_dew_is_noted_and_the_interval_allows_for_it(lawn, plain, number, asks):
    name = painted(lawn, number, dew)
    covers = measure_covers(lawn)
    assert list(noted(covers)) == [name]
    assert "dew" in noted(covers)[name] and asks in noted(covers)[name]
    for zone, found in covers_of(covers, name).items():
        truth = covers_of(plain, name)[zone]
        assert found.cover_pct <= truth.cover_pct + 1
        assert found.high_pct >= truth.low_pct


def test_dew_on_a_part_of_the_lawn_is_noted_with_its_zones(lawn, plain):
    name = painted(lawn, 5, dew_on_the_left)
    covers = measure_covers(lawn)
    assert list(noted(covers)) == [name]
    assert "the grass read low" in noted(covers)[name]
    assert "under the tree" in noted(covers)[name] and "old dip" not in noted(covers)[name]


def test_clippings_on_sand_are_noted_once_they_are_gone(lawn, plain):
    name = painted(lawn, 1, clippings)
    covers = measure_covers(lawn)
    assert list(noted(covers)) == [name]
    for zone, found in covers_of(covers, name).items():
        assert found.low_pct <= covers_of(plain, name)[zone].cover_pct


@pytest.mark.parametrize("number", [0, 3])
def test_soaked_sand_is_noted_on_the_first_photo_too(lawn, number):
    name = painted(lawn, number, soaked)
    covers = measure_covers(lawn)
    assert list(noted(covers)) == [name]
    assert "it may be wet" in noted(covers)[name]


def test_a_noted_photo_is_said_at_the_terminal_and_in_the_report(lawn, run):
    painted(lawn, -1, person)
    line = f"{NEWEST}: something may lie here"
    out = run("measure", lawn).out
    assert sum(line in row for row in out.splitlines()) == 1
    season = season_of(measure_covers(lawn))
    assert sum(note.startswith(line) for note in season.outlook.notes) == 1
    assert sum(said.startswith(line) for said in _sure_lines(season)) == 1
    assert any("something may lie here" in note for row in season.covers for note in row.notes)


def test_a_noted_photo_is_said_on_the_page(lawn):
    pytest.importorskip("nicegui", reason="the page is an extra")
    from swardmark.page import shown
    from swardmark.page.desk import Desk
    from swardmark.page.work import Standing

    painted(lawn, -1, person)
    season = season_of(measure_covers(lawn))
    desk = Desk(lawn, Standing(entries=season.points[0].entries, season=season))
    rows = {row["name"]: row["notes"] for row in shown.photo_rows(desk)}
    assert any(note.startswith("Something may lie here") for note in rows[NEWEST])
