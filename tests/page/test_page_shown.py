"""What the page shows, as plain values."""

from __future__ import annotations

import pytest

from swardmark.lawn.folder import start_lawn
from swardmark.page.begin import units_of
from swardmark.page.desk import Desk
from swardmark.page.places.answer import answer
from swardmark.page.routes import ground_address, picture_address
from swardmark.page.shown import due_text, photo_points, photo_rows


@pytest.fixture
def desk(tmp_path):
    start_lawn(tmp_path / "lawn")
    return Desk(tmp_path / "lawn")


@pytest.mark.parametrize(
    ("languages", "units"),
    [
        ("en-US,en;q=0.9", "us"),
        ("en-GB,en-US;q=0.8", "metric"),
        ("de", "metric"),
        ("", "metric"),
        ("my-MM", "us"),
    ],
)
def test_units_follow_the_first_language(languages, units):
    """US customary units are in everyday use in the United States, Liberia and Myanmar (CIA World Factbook)."""
    assert units_of(languages) == units


def test_photo_points_are_those_named_and_those_with_photos(desk):
    assert photo_points(desk) == ["main"]
    with (desk.folder / "lawn.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[point]]\nname = "gate"\n')
    assert photo_points(desk) == ["gate"]
    (desk.folder / "photos" / "porch").mkdir()
    (desk.folder / "photos" / "porch" / "2026-06-09.jpg").write_bytes(b"x")
    assert photo_points(desk) == ["gate", "porch"]


def test_a_photo_that_was_not_measured_yet_waits(desk):
    (desk.folder / "photos" / "2026-06-09 <b>.jpg").write_bytes(b"x")
    (row,) = photo_rows(desk)
    assert (row["name"], row["state"], row["corners"]) == ("2026-06-09 <b>.jpg", "waiting", None)
    assert "<" not in row["thumb"]


def test_addresses_hold_any_name():
    assert picture_address("thumb", 'a b/ü#?".jpg', "1") == "/picture/thumb/a%20b/%C3%BC%23%3F%22.jpg?1"
    assert ground_address("by/the gate", "x.jpg") == "/ground/by%2Fthe%20gate/x.jpg"


def test_a_new_lawn_is_said_plainly(desk):
    assert answer(desk)["sentence"] == "Take the first photo, with the square in view."
    assert due_text(desk) == "Start with a photo from your fixed spot."
