"""Photos behind a URL, here in fsspec's own memory file system and on the disk."""

from __future__ import annotations

import shutil
from pathlib import Path

import fsspec
import pytest

from swardmark.common.errors import PhotoRefused, UsageError
from swardmark.measure.covers import measure_covers
from swardmark.record.inventory import look_at
from swardmark.scale.remote import remote_photos

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"


@pytest.fixture
def bucket():
    """Three files that are called photos, one of another kind, one too deep and one hidden."""
    system = fsspec.filesystem("memory")
    for name in ("b.JPG", "a.png", "gate/c.jpg", "notes.txt", "gate/deep/d.jpg", ".hidden.jpg"):
        system.pipe(f"/lawn-7/{name}", name.encode())
    yield system
    system.rm("/lawn-7", recursive=True)


def test_photos_and_photo_points_are_listed_as_in_a_folder(bucket):
    photos = remote_photos("memory://lawn-7")
    assert [(photo.point, photo.name) for photo in photos] == [
        ("gate", "gate/c.jpg"),
        ("main", "a.png"),
        ("main", "b.JPG"),
    ]
    assert [photo.read() for photo in photos] == [b"gate/c.jpg", b"a.png", b"b.JPG"]
    assert all(photo.size == len(photo.name) for photo in photos)


def test_what_changed_between_looking_and_measuring_is_refused(bucket):
    photo = remote_photos("memory://lawn-7")[1]
    pinned = photo.pinned(look_at(photo)[0])
    assert pinned.read() == b"a.png"
    bucket.pipe("/lawn-7/a.png", b"other")
    with pytest.raises(PhotoRefused, match="changed while it was being measured"):
        pinned.read()
    bucket.rm("/lawn-7/a.png")
    with pytest.raises(PhotoRefused, match="cannot be read"):
        photo.read()


@pytest.mark.parametrize(
    ("url", "words"),
    [
        ("/plain/path", "is not a URL"),
        ("nothing://there", "cannot be listed"),
        ("file:///nowhere/at/all", "no photos in file:///nowhere/at/all"),
    ],
)
def test_what_cannot_be_listed_is_one_line(tmp_path, url, words):
    shutil.copy(SAMPLE / "lawn.toml", tmp_path)
    with pytest.raises(UsageError, match=words) as told:
        measure_covers(tmp_path, files=remote_photos(url))
    assert "\n" not in str(told.value)


def test_a_report_is_the_same_with_photos_behind_a_url(run, sample, measured_sample, tmp_path):
    """The folder holds no photo; pictures, tables and plan are those of the lawn that holds them."""
    there = tmp_path / "bucket"
    shutil.move(sample / "photos", there)
    assert run("report", sample, "--quiet").code == 2
    assert run("report", sample, "--quiet", "--photos-url", there.as_uri()).code == 0
    for name in ("report.html", "cover.csv", "outlook.csv", "spots.csv"):
        assert (sample / "out" / name).read_bytes() == (measured_sample / "out" / name).read_bytes(), name
    for command in ("outlook", "relevel"):
        assert run(command, sample, "--json", "--photos-url", there.as_uri()).code == 0
