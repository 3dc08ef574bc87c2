from __future__ import annotations

import datetime as dt
import io

import numpy as np
import pytest
from PIL import Image

from swardmark.common.errors import UsageError
from swardmark.lawn import folder as lawn_folder
from swardmark.lawn import photos
from swardmark.lawn.counts import Count, add_counts
from swardmark.lawn.folder import add_photos, safe_name, start_lawn
from swardmark.lawn.marks import PhotoMarks, read_marks, write_marks
from swardmark.lawn.photos import remove_photo, removed_photos, restore_photo
from swardmark.lawn.toml import read_lawn


def jpeg(seed=0):
    rgb = np.random.default_rng(seed).integers(0, 255, (260, 320, 3), dtype=np.uint8)
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "JPEG")
    return out.getvalue()


@pytest.fixture
def lawn(tmp_path):
    return start_lawn(tmp_path / "lawn", grass="zoysia", leveled=dt.date(2026, 6, 3))


def test_a_lawn_that_was_begun_can_be_read(lawn):
    again = read_lawn(lawn.folder)
    assert again.grass == "zoysiagrass"
    assert again.leveling_dates == (dt.date(2026, 6, 3),)
    assert again.sand.pass_depth_mm == 6


def test_a_lawn_is_never_begun_over_another(lawn):
    before = (lawn.folder / "lawn.toml").read_bytes()
    with pytest.raises(UsageError, match="already"):
        start_lawn(lawn.folder)
    assert (lawn.folder / "lawn.toml").read_bytes() == before


@pytest.mark.parametrize("bad", [{"grass": "moss"}, {"square_side_m": 90}, {"units": "feet"}])
def test_a_lawn_with_a_bad_value_is_not_begun(tmp_path, bad):
    with pytest.raises(UsageError):
        start_lawn(tmp_path / "new", **bad)
    assert not (tmp_path / "new").exists()


def test_quotes_and_newlines_in_a_name_survive(tmp_path):
    name = 'the "old" lawn \\ 草坪'
    assert read_lawn(start_lawn(tmp_path / "q", name=name).folder).name == name


def test_photos_are_copied_once_whatever_their_name(lawn, tmp_path):
    for name, seed in (("2026-06-03.jpg", 0), ("2026-06-04.jpg", 0), ("2026-06-05.jpg", 1)):
        (tmp_path / name).write_bytes(jpeg(seed))
    result = add_photos(lawn, sorted(tmp_path.glob("*.jpg")))
    assert (result.added, result.known) == (("2026-06-03.jpg", "2026-06-05.jpg"), ("2026-06-03.jpg",))
    again = add_photos(lawn, [tmp_path])
    assert again.added == ()
    assert (lawn.folder / "photos/2026-06-03.jpg").read_bytes() == jpeg(0)


def test_two_photos_of_one_name_are_both_kept(lawn, tmp_path):
    for folder, seed in (("a", 0), ("b", 1)):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "2026-06-03.jpg").write_bytes(jpeg(seed))
    result = add_photos(lawn, [tmp_path / "a", tmp_path / "b"], point="porch")
    assert result.added == ("porch/2026-06-03.jpg", "porch/2026-06-03-2.jpg")


def test_a_new_photo_does_not_take_the_name_that_marks_or_counts_speak_of(lawn, tmp_path):
    """A phone names many photos image.jpg: the day and corners of one that was left out are not the next one's."""
    write_marks(lawn.folder, {"image.jpg": PhotoMarks(taken_at=dt.datetime(2026, 6, 5, 12))})
    add_counts(
        lawn.folder, [Count(photo="image-2.jpg", x_m=1, y_m=1, stratum="leaf", chance=0.5, said="leaf")]
    )
    (tmp_path / "image.jpg").write_bytes(jpeg())
    added = add_photos(lawn, [tmp_path / "image.jpg"], date=dt.datetime(2026, 6, 15))
    assert added.added == ("image-3.jpg",)
    assert read_marks(lawn.folder)["image.jpg"].taken_at == dt.datetime(2026, 6, 5, 12)


def full(*_, **__):
    raise UsageError("cannot be written (No space left on device)", where="marks.toml")


def test_photos_whose_day_cannot_be_kept_are_not_added(lawn, tmp_path, monkeypatch):
    """They would be measured on the day that the camera says, which the keeper just said is wrong."""
    (tmp_path / "2026-06-03.jpg").write_bytes(jpeg())
    monkeypatch.setattr(lawn_folder, "write_marks", full)
    with pytest.raises(UsageError):
        add_photos(lawn, [tmp_path / "2026-06-03.jpg"], date=dt.datetime(2026, 6, 15))
    assert lawn.photos() == []


def test_a_photo_goes_into_the_bin_and_back_with_its_marks_or_not_at_all(lawn, monkeypatch):
    (lawn.folder / "photos" / "a.jpg").write_bytes(jpeg())
    write_marks(lawn.folder, {"a.jpg": PhotoMarks(taken_at=dt.datetime(2026, 6, 5))})
    kept = photos.write_marks
    monkeypatch.setattr(photos, "write_marks", full)
    with pytest.raises(UsageError):
        remove_photo(lawn.folder, "a.jpg")
    assert [file.name for file in lawn.photos()] == ["a.jpg"]
    monkeypatch.setattr(photos, "write_marks", kept)
    remove_photo(lawn.folder, "a.jpg")
    monkeypatch.setattr(photos, "write_marks", full)
    with pytest.raises(UsageError):
        restore_photo(lawn.folder, "a.jpg")
    assert removed_photos(lawn.folder) == ("a.jpg",)
    monkeypatch.setattr(photos, "write_marks", kept)
    restore_photo(lawn.folder, "a.jpg")
    assert read_marks(lawn.folder)["a.jpg"].taken_at == dt.datetime(2026, 6, 5)
    (lawn.folder / "removed").rename(lawn.folder / "elsewhere")
    (lawn.folder / "removed").touch()
    with pytest.raises(UsageError, match="cannot be written"):
        remove_photo(lawn.folder, "a.jpg")


def test_a_file_in_the_place_of_a_photo_point_s_folder_is_told(lawn, tmp_path):
    """It was an endless search for a free name."""
    (lawn.folder / "photos" / "porch").touch()
    (tmp_path / "2026-06-03.jpg").write_bytes(jpeg())
    with pytest.raises(UsageError, match="a file has the folder's name"):
        add_photos(lawn, [tmp_path / "2026-06-03.jpg"], point="porch")


def test_the_same_photo_may_lie_at_two_points(lawn, tmp_path):
    """Each photo point is measured by itself; a photo added to the wrong one can be added to the right one."""
    (tmp_path / "2026-06-03.jpg").write_bytes(jpeg())
    add_photos(lawn, [tmp_path / "2026-06-03.jpg"])
    again = add_photos(lawn, [tmp_path / "2026-06-03.jpg"], point="porch")
    assert (again.added, again.known) == (("porch/2026-06-03.jpg",), ())


def test_a_day_is_asked_for_where_nothing_tells_it_and_kept_when_given(lawn, tmp_path):
    (tmp_path / "IMG_1.jpg").write_bytes(jpeg())
    refused = add_photos(lawn, [tmp_path / "IMG_1.jpg"]).refused
    assert "--date" in str(refused[0])
    assert lawn.photos() == []
    add_photos(lawn, [tmp_path / "IMG_1.jpg"], date=dt.datetime(2026, 6, 9))
    assert read_marks(lawn.folder)["IMG_1.jpg"].taken_at == dt.datetime(2026, 6, 9)
    add_photos(lawn, [tmp_path / "IMG_1.jpg"], date=dt.datetime(2026, 6, 10))
    assert read_marks(lawn.folder)["IMG_1.jpg"].taken_at == dt.datetime(2026, 6, 10)
    assert list(lawn.folder.glob("marks.toml.*.bak"))


def test_one_bad_file_does_not_stop_the_others(lawn, tmp_path):
    (tmp_path / "2026-06-03.jpg").write_bytes(jpeg())
    (tmp_path / "2026-06-04.jpg").write_bytes(jpeg(2)[:4000])
    (tmp_path / "2026-06-05.jpg").write_text("no photo")
    result = add_photos(lawn, [tmp_path])
    assert result.added == ("2026-06-03.jpg",)
    assert [r.where for r in result.refused] == ["2026-06-04.jpg", "2026-06-05.jpg"]


def test_a_folder_of_text_files_is_one_clear_line(lawn, tmp_path):
    (tmp_path / "notes.txt").write_text("no photo")
    with pytest.raises(UsageError, match="no photo among the files given"):
        add_photos(lawn, [tmp_path])


@pytest.mark.parametrize("point", ["../up", "a/b", "", ".", "a\x00b"])
def test_a_point_is_never_a_way_out_of_the_folder(lawn, tmp_path, point):
    (tmp_path / "2026-06-03.jpg").write_bytes(jpeg())
    with pytest.raises(UsageError):
        add_photos(lawn, [tmp_path], point=point)


@pytest.mark.parametrize(
    ("name", "kind", "expected"),
    [
        ("../../etc/passwd.jpg", "JPEG", "passwd.jpg"),
        ("C:\\lawn\\a.JPG", "JPEG", "a.jpg"),
        ("a.jpeg", "JPEG", "a.jpeg"),
        ("photo.HEIC", "JPEG", "photo.jpg"),
        ("...", "PNG", "photo.png"),
        ("草" * 100 + ".jpg", "JPEG", "草" * 40 + ".jpg"),
    ],
)
def test_names_that_every_system_can_hold(name, kind, expected):
    assert safe_name(name, kind) == expected
