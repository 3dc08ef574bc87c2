"""How often a photo file is read: once, as far as memory reaches, and not at all when nothing is new."""

from __future__ import annotations

import shutil
from collections import Counter
from pathlib import Path

import pytest

from swardmark.common.errors import PhotoRefused
from swardmark.lawn import photos
from swardmark.lawn.photos import PhotoFile
from swardmark.measure.covers import measure_covers
from swardmark.record import inventory
from swardmark.record.inventory import HeldPhoto, Reader

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"


@pytest.fixture
def lawn(tmp_path):
    (tmp_path / "photos").mkdir()
    shutil.copy(SAMPLE / "lawn.toml", tmp_path)
    for photo in sorted((SAMPLE / "photos").iterdir())[:2]:
        shutil.copy(photo, tmp_path / "photos")
    return tmp_path


@pytest.fixture
def reads(monkeypatch):
    counted = Counter()
    plain = photos.read_bytes

    def counting(path):
        counted[path.name] += 1
        return plain(path)

    monkeypatch.setattr(photos, "read_bytes", counting)
    return counted


def test_a_new_photo_is_read_once_and_a_known_one_never(lawn, reads):
    assert measure_covers(lawn).newly_measured == 2
    assert set(reads.values()) == {1}
    reads.clear()
    assert measure_covers(lawn).newly_measured == 0
    assert not reads


def test_what_memory_does_not_hold_is_read_again(lawn, reads, monkeypatch):
    table = [row.cover for row in measure_covers(lawn).covers]
    (lawn / "record.sqlite").unlink()
    reads.clear()
    monkeypatch.setattr(inventory.Reader.__init__, "__kwdefaults__", {"most_bytes": 700_000})
    assert [row.cover for row in measure_covers(lawn).covers] == table
    assert sorted(reads.values()) == [1, 2]


def test_what_is_held_is_given_once_and_makes_room(tmp_path):
    (tmp_path / "a.jpg").write_bytes(b"aaaa")
    (tmp_path / "b.jpg").write_bytes(b"bbbb")
    reader = Reader(most_bytes=5)
    first, second = (PhotoFile("main", tmp_path / name, name) for name in ("a.jpg", "b.jpg"))
    assert reader.look(first).digest != reader.look(second).digest
    for name in ("a.jpg", "b.jpg"):
        (tmp_path / name).unlink()
    assert HeldPhoto(first, reader).read() == b"aaaa"
    for photo in (first, second):
        with pytest.raises(PhotoRefused):
            reader.take(photo)
