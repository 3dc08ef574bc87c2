"""The practice lawn's folder: readable as any lawn, dated, deterministic, and never over a keeper's files."""

import csv
import datetime as dt

import numpy as np
import pytest
from PIL import Image

from swardmark.common.errors import UsageError
from swardmark.lawn.toml import read_lawn
from swardmark.practice.lawn import ZONES, Season, draw_practice_lawn
from swardmark.practice.scene import OVERCAST, Camera

TINY = Camera(size_px=(400, 300))


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    folder = tmp_path_factory.mktemp("practice") / "lawn"
    seasons = (
        Season(dt.date(2025, 6, 5), (0,), discs=((0.5, 1.7, 0.6),)),
        Season(dt.date(2026, 6, 3), (0, 10)),
    )
    seen = []
    photos = draw_practice_lawn(
        folder, seasons=seasons, seed=5, camera=TINY, progress=lambda *done: seen.append(done)
    )
    return folder, photos, seen


def test_the_folder_reads_as_a_lawn(drawn):
    folder, photos, seen = drawn
    lawn = read_lawn(folder)
    assert lawn.grass == "zoysiagrass"
    assert [zone.name for zone in lawn.zone] == list(ZONES)
    assert lawn.leveling_dates == (dt.date(2025, 6, 5), dt.date(2026, 6, 3))
    assert [photo.name for photo in lawn.photos()] == [photo.name for photo in photos]
    assert {photo.point for photo in lawn.photos()} == {"main"}
    assert seen == [(1, 3), (2, 3), (3, 3)]
    assert "drawn" in (folder / "README.md").read_text(encoding="utf-8")


def test_truth_has_a_row_for_each_photo_and_zone(drawn):
    folder, photos, _ = drawn
    with (folder / "truth.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == ["photo", "zone", "true_cover_pct"]
    assert [(row["photo"], row["zone"]) for row in rows] == [(p.name, zone) for p in photos for zone in ZONES]
    assert float(rows[0]["true_cover_pct"]) == pytest.approx(
        photos[0].true_cover_pct["open middle"], abs=0.005
    )
    assert b"\r" not in (folder / "truth.csv").read_bytes()


def test_photos_carry_their_date_and_focal_length(drawn):
    """Tags of the Exif standard: 0x9003 DateTimeOriginal, 0xA405 FocalLengthIn35mmFilm, 0x8825 the GPS block."""
    folder, photos, _ = drawn
    with Image.open(folder / "photos" / photos[1].name) as picture:
        exif = picture.getexif()
        inner = exif.get_ifd(0x8769)
        assert picture.size == (400, 300)
    assert inner[0x9003] == photos[1].taken_at.strftime("%Y:%m:%d %H:%M:%S")
    assert inner[0x9003].startswith("2026:06:03")
    assert inner[0xA405] == 27
    assert (exif[0x010F], exif[0x0110]) == ("Practice", "Drawn camera")
    assert not exif.get_ifd(0x8825)


def test_a_bare_disc_lowers_its_zone_in_its_season_only(drawn):
    _, photos, _ = drawn
    with_disc, without = (photo.true_cover_pct["open middle"] for photo in photos[:2])
    assert with_disc < without


def test_zones_are_in_view_and_clear_of_the_square():
    camera = Camera()
    for stand in ZONES.values():
        outline = np.array(stand.outline_m)
        pixel = camera.project(np.column_stack([outline, np.zeros(len(outline))]))[0]
        assert (pixel > 60).all()
        assert (pixel < np.array(camera.size_px) - 60).all()
        assert camera.view_deg(outline).max() <= 65
        x, y = outline.T
        assert (x <= 0).all() or (x >= 1).all() or (y >= 1).all()


def test_same_seed_same_bytes(tmp_path):
    light, narrow = [OVERCAST], Camera(size_px=(320, 240), focal35_mm=80)
    for name in ("first", "second"):
        draw_practice_lawn(tmp_path / name, days=(2,), seed=3, camera=narrow, lights=light)
    for path in sorted((tmp_path / "first").rglob("*.*")):
        assert path.read_bytes() == (tmp_path / "second" / path.relative_to(tmp_path / "first")).read_bytes()


def test_a_folder_with_files_is_left_alone(tmp_path):
    (tmp_path / "lawn.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(UsageError, match="not empty"):
        draw_practice_lawn(tmp_path, days=(0,))
    assert [path.name for path in tmp_path.iterdir()] == ["lawn.toml"]


@pytest.mark.parametrize(
    ("days", "seed", "what"),
    [
        ((), 1, "no days"),
        ((3, 3), 1, "twice"),
        ((-1,), 1, "outside"),
        ((200,), 1, "outside"),
        ((0,), -4, "seed"),
    ],
)
def test_unusable_days_and_seeds_are_refused(tmp_path, days, seed, what):
    with pytest.raises(UsageError, match=what):
        draw_practice_lawn(tmp_path / "lawn", days=days, seed=seed)
    assert not (tmp_path / "lawn").exists()
