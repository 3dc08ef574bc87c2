"""What the page shows, as plain values."""

from __future__ import annotations

import asyncio
import datetime as dt
from types import SimpleNamespace

import pytest
from PIL import Image

import swardmark.page.places.answer as first_screen
from swardmark.lawn.edits.aside import set_aside
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.marks import PhotoMarks, write_marks
from swardmark.page import desk as page_desk
from swardmark.page import shown
from swardmark.page.begin import units_of
from swardmark.page.desk import Desk
from swardmark.page.places import counting
from swardmark.page.places.answer import answer, change
from swardmark.page.routes import ground_address, picture_address
from swardmark.page.shown import due_text, photo_points, photo_rows
from swardmark.page.work import Standing, measure_and_write


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


def test_photos_set_aside_keep_their_day(desk):
    """The camera's, or the keeper's, or that of the name; the newest first, the bin last."""
    folder = desk.folder
    cameras = {"a.jpg": "2026:06:09 08:00:00", "b.jpg": None, "2026-06-10.jpg": None, "c.jpg": None}
    for name, camera in cameras.items():
        exif, image = Image.Exif(), Image.new("RGB", (640, 480))
        if camera:
            exif.get_ifd(0x8769)[0x9003] = camera
        image.save(folder / "photos" / name, exif=exif)
    days = {"b.jpg": dt.datetime(2026, 6, 12, 12), "c.jpg": dt.datetime(2026, 6, 8, 12)}
    write_marks(folder, {name: PhotoMarks(taken_at=day) for name, day in days.items()})
    for name in ("a.jpg", "b.jpg"):
        set_aside(folder, name, "left_out")
    for name in ("2026-06-10.jpg", "c.jpg"):
        set_aside(folder, name, "bin")
    rows = photo_rows(desk)
    assert [(row["name"], row["iso"], row["from"], row["state"]) for row in rows] == [
        ("b.jpg", "2026-06-12", "as you said", "left"),
        ("a.jpg", "2026-06-09", "from the camera", "left"),
        ("2026-06-10.jpg", "2026-06-10", "from the file’s name", "binned"),
        ("c.jpg", "2026-06-08", "as you said", "binned"),
    ]


def test_a_part_on_the_newest_photo_has_all_its_corners(monkeypatch):
    """Its last corner was missing: a rectangle was a triangle."""
    monkeypatch.setattr(first_screen, "outlines_of", lambda *_: [])
    facts = SimpleNamespace(size=(400, 300), to_photo=(100, 0, 50, 0, 100, 50, 0, 0, 1))
    entry = SimpleNamespace(name="a.jpg", digest="0" * 8, facts=facts, taken_at=dt.datetime(2026, 6, 9))
    bed = SimpleNamespace(name="bed", outline_m=((0, 0), (1, 0), (1, 1), (0, 1)))
    place = SimpleNamespace(name="main", entries=[entry], zones=[bed])
    season = SimpleNamespace(points=[place], lawn=SimpleNamespace(date_form="day month"))
    (part,) = first_screen._photo(season, [(1, "bed", "main", "bed")])["parts"]
    assert part["path"] == "M50.0 50.0L150.0 50.0L150.0 150.0L50.0 150.0Z"


def test_a_link_that_leads_nowhere_is_a_photo_like_others(desk):
    (desk.folder / "photos" / "gone.jpg").symlink_to(desk.folder / "photos" / "nowhere.jpg")
    (row,) = photo_rows(desk)
    assert (row["name"], row["state"]) == ("gone.jpg", "waiting")


def test_addresses_hold_any_name():
    assert picture_address("thumb", 'a b/ü#?".jpg', "1") == "/picture/thumb/a%20b/%C3%BC%23%3F%22.jpg?1"
    assert ground_address("by/the gate", "x.jpg") == "/ground/by%2Fthe%20gate/x.jpg"


def test_two_photos_of_a_day_are_one_step_of_the_change():
    whole = SimpleNamespace(day=(0, 4, 4), observed_pct=(50.0, 60.0, 64.0), held_out=(False,) * 3)
    season = SimpleNamespace(outlook=SimpleNamespace(whole=whole))
    assert change(season)["words"] == "50 → 62 %, +12 in 4 days"
    whole.day = (4, 4, 4)
    assert change(season) is None


def test_photos_of_one_day_can_be_told_apart_in_the_wipe(desk, monkeypatch):
    monkeypatch.setattr(shown, "common_window", lambda maps: (0, 0, 1, 1))
    entries = [
        SimpleNamespace(taken_at=dt.datetime(2026, 6, day, hour), name=f"{day} {hour}.jpg", digest="0" * 64)
        for day, hour in ((3, 9), (9, 9), (9, 10))
    ]
    place = SimpleNamespace(name="main", entries=entries, maps=())
    desk.standing = Standing(season=SimpleNamespace(points=(place,), lawn=desk.lawn()))
    labels = [row["label"] for row in shown.wipe_days(desk, "main")]
    assert labels == ["3 June", "9 June (1)", "9 June (2)"]


def test_a_second_round_of_counting_draws_other_points(desk, monkeypatch):
    seeds = []
    monkeypatch.setattr(counting, "read_photo", lambda path: SimpleNamespace(rgb=None))
    monkeypatch.setattr(counting, "point_crops", lambda rgb, places: [])
    monkeypatch.setattr(counting, "places_px", lambda one: [])
    monkeypatch.setattr(
        counting,
        "begin_round",
        lambda season, **asked: seeds.append(asked["seed"]) or SimpleNamespace(photo="x.jpg"),
    )
    for already in (0, 60, 120):  # each time in a tab that was opened anew
        monkeypatch.setattr(counting, "read_counts", lambda folder, already=already: ["one"] * already)
        place = object.__new__(counting.CountPlace)
        place.desk, place.kept = desk, []
        place._drawn("")
    assert len(set(seeds)) == 3


def test_what_to_do_follows_the_day_of_a_page_that_is_left_open(desk, monkeypatch):
    asked = []
    monkeypatch.setattr(desk, "measure_soon", lambda: asked.append(desk.standing))
    today = dt.date(2026, 6, 10)
    desk.keep_up(today)
    assert not asked  # nothing was measured yet
    desk.standing = Standing(measured_at=dt.datetime(2026, 6, 9, 23, 50))
    desk.keep_up(dt.date(2026, 6, 9))
    assert not asked
    for _ in range(3):
        desk.keep_up(today)  # at every beat of every tab, and even where the run fails
    assert len(asked) == 1
    desk.keep_up(today + dt.timedelta(days=1))
    assert len(asked) == 2


def test_an_update_of_the_program_under_an_open_page_is_told_and_nothing_more_is_measured(desk, monkeypatch):
    """Modules that are loaded later would be of the new program, and the others of the old one."""
    monkeypatch.setattr(desk._worker, "do", lambda job, folder, told: job)
    assert desk.ask(measure_and_write) is measure_and_write
    monkeypatch.setattr(page_desk, "program_now", lambda: (("season.py", 1, 1),))
    desk._again = True
    asyncio.run(desk._measure())
    assert desk.trouble.startswith("swardmark was updated")


def test_a_lawn_without_photos_knows_its_day(desk):
    standing = measure_and_write(desk.folder, lambda *_: None)
    assert standing.known.as_of == standing.measured_at.date() == dt.date.today()


def test_a_new_lawn_is_said_plainly(desk):
    assert answer(desk)["sentence"] == "Take the first photo, with the square in view."
    assert due_text(desk) == "Start with a photo from your fixed spot."
