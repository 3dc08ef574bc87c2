"""A lawn folder whose square is moved and taken away: zones stay, whatever the order in which photos come."""

import datetime as dt
import shutil
from dataclasses import replace

import numpy as np
import pytest

from swardmark.lawn.marks import PhotoMarks, write_marks
from swardmark.lawn.toml import read_lawn
from swardmark.measure.survey import open_record, survey
from swardmark.practice.draw import draw_photo
from swardmark.practice.files import save_photo
from swardmark.practice.scene import LIGHTS, Camera, Ground, Scene, Square
from swardmark.practice.sward import Stand, sow, steady

HOME = Camera(size_px=(1000, 750))
PHOTOS = {
    "2026-06-03.jpg": (HOME, Square(), "sun"),
    "2026-06-06.jpg": (replace(HOME, position_m=(0.56, -1.05, 1.55), yaw_deg=2.0), Square(), "overcast"),
    "2026-06-09.jpg": (replace(HOME, pitch_deg=35.5), Square(shift_m=(0.4, 0.15), turn_deg=-8), "sun"),
    "2026-06-12.jpg": (replace(HOME, yaw_deg=-2.0), Square("none"), "sun"),
}


@pytest.fixture(scope="module")
def yard(tmp_path_factory):
    """One patchy lawn that does not grow, so that every photo shows the same cover at every place."""
    folder = tmp_path_factory.mktemp("yard")
    (folder / "photos").mkdir()
    text = 'name = "Test"\ngrass = "zoysia"\n\n[[leveling]]\ndate = 2026-06-03\n'
    (folder / "lawn.toml").write_text(text, encoding="utf-8")
    sward = sow([Stand(steady(35.0))], camera=HOME, ground=Ground(seed=9), seed=9, patchiness=0.9)
    for name, (camera, square, light) in PHOTOS.items():
        scene = Scene(camera=camera, square=square, light=LIGHTS[light], ground=Ground(seed=9))
        photo = draw_photo(sward.on_day(0), scene, seed=1)
        when = dt.datetime.fromisoformat(name[:10] + "T10:00:00")
        save_photo(folder / "photos" / name, photo.rgb, taken_at=when, focal35_mm=27)
    return folder


def measured(folder):
    lawn = read_lawn(folder)
    with open_record(lawn) as record:
        done = survey(lawn, record)
        maps = {entry.name.split("/")[-1]: record.ground_map(entry) for entry in done.measured}
    return done, maps


@pytest.fixture(scope="module")
def done(yard):
    return measured(yard)


def window(ground_map, x0, y0, x1, y1):
    step = ground_map.spacing_m
    return ground_map.window(
        round(y0 / step), round(x0 / step), round((y1 - y0) / step), round((x1 - x0) / step)
    )


def test_every_photo_is_measured_and_says_what_happened_to_the_square(done):
    survey_done, maps = done
    assert set(maps) == set(PHOTOS)
    moved = {entry.name.split("/")[-1]: entry.facts.moved_m for entry in survey_done.measured}
    assert moved["2026-06-03.jpg"] == moved["2026-06-06.jpg"] == 0
    assert moved["2026-06-09.jpg"] == pytest.approx(0.50, abs=0.1)
    assert np.isnan(moved["2026-06-12.jpg"])
    notes = {entry.name.split("/")[-1]: " ".join(entry.facts.notes) for entry in survey_done.measured}
    assert "the square moved 0." in notes["2026-06-09.jpg"]
    assert "no square found" in notes["2026-06-12.jpg"]


@pytest.mark.parametrize("name", list(PHOTOS)[1:])
def test_the_same_ground_lies_at_the_same_place(done, name):
    """Maps are smoothed to 5 cm and correlated: a frame 10 cm off would lose the patches."""
    import cv2

    _, maps = done
    place = (-0.9, 1.6, 1.9, 2.4)
    first, other = (
        cv2.blur(window(maps[n], *place).astype(np.float32), (5, 5)) for n in ("2026-06-03.jpg", name)
    )
    seen = (window(maps["2026-06-03.jpg"], *place) > 1) & (window(maps[name], *place) > 1)
    here = np.corrcoef(first[seen], other[seen])[0, 1]
    beside = np.corrcoef(first[:, 10:][seen[:, 10:]], other[:, :-10][seen[:, 10:]])[0, 1]
    assert here > 0.7
    assert here > beside + 0.15


def test_the_square_is_left_out_where_it_lies_now(done):
    _, maps = done
    assert (window(maps["2026-06-09.jpg"], 0.7, 0.4, 0.9, 0.6) == 0).all()
    assert (window(maps["2026-06-09.jpg"], 0.1, 0.1, 0.2, 0.3) > 0).mean() > 0.9
    assert (window(maps["2026-06-03.jpg"], 0.1, 0.1, 0.9, 0.9) == 0).all()


def test_a_rerun_measures_nothing(yard, done):
    again, maps = measured(yard)
    assert again.newly_measured == 0
    assert again.measured[0].facts.corners_px == done[0].measured[0].facts.corners_px
    np.testing.assert_array_equal(maps["2026-06-09.jpg"].values, done[1]["2026-06-09.jpg"].values)


def test_the_order_of_adding_does_not_count(yard, done, tmp_path):
    (tmp_path / "photos").mkdir()
    shutil.copy(yard / "lawn.toml", tmp_path)
    for name in sorted(PHOTOS)[1:3] + sorted(PHOTOS)[:1] + sorted(PHOTOS)[3:]:
        shutil.copy(yard / "photos" / name, tmp_path / "photos")
        _, maps = measured(tmp_path)
    for name, ground_map in done[1].items():
        np.testing.assert_array_equal(maps[name].values, ground_map.values)
        assert (maps[name].row0, maps[name].col0) == (ground_map.row0, ground_map.col0)


def test_ground_of_one_color_is_not_measured_by_the_background_alone(yard, done, tmp_path):
    """The square is among what is lost of the picture; the fence is left, and would lay the gray flat."""
    from PIL import Image

    shutil.copytree(yard, tmp_path / "lawn")
    path = tmp_path / "lawn" / "photos" / "2026-06-12.jpg"
    with Image.open(path) as photo:
        exif, rgb = photo.getexif(), np.array(photo)
    rgb[560:] = 128
    Image.fromarray(rgb).save(path, "JPEG", quality=92, exif=exif)
    again, _ = measured(tmp_path / "lawn")
    (refused,) = again.refused
    assert "one and the same color" in refused.refusal and "Copy the original" in refused.remedy


def test_a_photo_on_its_side_is_measured_and_says_so(yard, done, tmp_path):
    from PIL import Image

    shutil.copytree(yard, tmp_path / "lawn")
    path = tmp_path / "lawn" / "photos" / "2026-06-06.jpg"
    with Image.open(path) as photo:
        exif, rgb = photo.getexif(), np.array(photo)
    Image.fromarray(np.rot90(rgb).copy()).save(path, "JPEG", quality=95, exif=exif)
    again, maps = measured(tmp_path / "lawn")
    (entry,) = (entry for entry in again.measured if entry.name.endswith("06-06.jpg"))
    assert ("photo turned", 90.0) in entry.facts.findings
    assert entry.facts.moved_m == 0 and entry.facts.notes == ()
    upright = done[1]["2026-06-06.jpg"]
    turned = maps["2026-06-06.jpg"]
    place = (-0.9, 1.3, 1.9, 2.4)
    one, other = window(upright, *place), window(turned, *place)
    seen = (one > 1) & (other > 1)
    assert seen.mean() > 0.8
    assert np.corrcoef(one[seen], other[seen])[0, 1] > 0.9


def test_a_side_that_the_marks_contradict_is_refused(yard, tmp_path):
    shutil.copytree(
        yard,
        tmp_path / "lawn",
        ignore=shutil.ignore_patterns("record*", "2026-06-06.jpg", "2026-06-09.jpg", "2026-06-12.jpg"),
    )
    text = (tmp_path / "lawn" / "lawn.toml").read_text()
    toml = tmp_path / "lawn" / "lawn.toml"
    toml.write_text(text.replace('"zoysia"\n', '"zoysia"\nsquare_side_m = 2\n'))
    done, _ = measured(tmp_path / "lawn")
    assert not done.measured and done.refused
    assert "1.00 m" in done.refused[0].refusal and "2.00 m" in done.refused[0].refusal
    toml.write_text(text.replace('"zoysia"\n', '"zoysia"\nsquare_side_m = 2\nmark_side_mm = 240\n'))
    done, _ = measured(tmp_path / "lawn")
    assert done.measured and not done.refused


@pytest.fixture(scope="module")
def elsewhere():
    """A photo of another yard, from the same place beside the same square."""
    ground = Ground(seed=77, fence_y_m=4.4, path_x_m=None)
    sward = sow([Stand(steady(60.0))], camera=HOME, ground=ground, seed=5, patchiness=0.9)
    scene = Scene(camera=replace(HOME, yaw_deg=1.0), light=LIGHTS["sun"], ground=ground)
    return draw_photo(sward.on_day(0), scene, seed=3).rgb


@pytest.mark.parametrize("day", ["2026-06-01", "2026-06-07", "2026-06-30"])
def test_a_photo_of_another_yard_is_refused_and_no_other(yard, done, elsewhere, day, tmp_path):
    """Dated first it would hold the frame, and the good ones would be blamed."""
    folder = shutil.copytree(yard, tmp_path / "lawn", ignore=shutil.ignore_patterns("record*"))
    when = dt.datetime.fromisoformat(f"{day}T10:00:00")
    save_photo(folder / "photos" / f"{day}.jpg", elsewhere, taken_at=when, focal35_mm=27)
    again, maps = measured(folder)
    (refused,) = again.refused
    assert refused.name == f"{day}.jpg" and refused.taken_at.date() == when.date()
    assert "another place" in refused.refusal or "does not show which" in refused.refusal
    assert "photo" in refused.remedy
    for name, ground_map in done[1].items():
        np.testing.assert_array_equal(maps[name].values, ground_map.values)
    third, _ = measured(folder)
    assert third.newly_measured == 0 and [entry.name for entry in third.refused] == [refused.name]


def test_a_mark_by_hand_overrules_that_a_photo_shows_another_place(yard, elsewhere, tmp_path):
    folder = shutil.copytree(yard, tmp_path / "lawn", ignore=shutil.ignore_patterns("record*"))
    save_photo(
        folder / "photos" / "2026-06-30.jpg", elsewhere, taken_at=dt.datetime(2026, 6, 30), focal35_mm=27
    )
    camera = replace(HOME, yaw_deg=1.0)
    corners = camera.project(np.column_stack([Square().corners_m, np.zeros(4)]))[0]
    one, two, three, four = ((float(x), float(y)) for x, y in corners)
    write_marks(folder, {"2026-06-30.jpg": PhotoMarks(corners_px=(one, two, three, four))})
    again, maps = measured(folder)
    assert "2026-06-30.jpg" in maps and not again.refused
