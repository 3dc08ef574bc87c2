"""A lawn folder whose square is moved and taken away: zones stay, whatever the order in which photos come."""

import datetime as dt
import shutil
from dataclasses import replace

import numpy as np
import pytest

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
