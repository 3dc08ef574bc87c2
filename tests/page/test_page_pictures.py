"""Pictures of photos that are moved while they are looked up."""

from __future__ import annotations

import asyncio
import io
from types import SimpleNamespace

import pytest
from PIL import Image

pytest.importorskip("nicegui")

from swardmark.page.pictures import Pictures


@pytest.fixture
def moving(tmp_path):
    """Return a lawn's pictures whose photo lies in the folder beside after the first look."""
    photo, aside = tmp_path / "photos" / "a.jpg", tmp_path / "left_out" / "a.jpg"
    for path in (photo, aside):
        path.parent.mkdir()
    Image.new("RGB", (640, 480), (90, 120, 60)).save(photo)
    looks = []

    def photos():
        looks.append(len(looks))
        found = [SimpleNamespace(name="a.jpg", path=photo)] if photo.exists() else []
        if len(looks) == 1:
            photo.rename(aside)
        return found

    pictures = Pictures(SimpleNamespace(folder=tmp_path, lawn=lambda: SimpleNamespace(photos=photos)))
    yield pictures, looks
    pictures.close()


def test_a_photo_that_is_moved_while_it_is_looked_up_is_looked_up_again(moving):
    pictures, looks = moving
    made = asyncio.run(pictures.photo("a.jpg", "thumb"))
    assert Image.open(io.BytesIO(made)).size == (360, 270)
    assert len(looks) == 2


def test_a_photo_that_is_not_there_ends_the_looks(moving):
    pictures, looks = moving
    assert asyncio.run(pictures.photo("b.jpg", "thumb")) is None
    assert asyncio.run(pictures.photo("a.jpg", "huge")) is None
    assert len(looks) <= 3
