"""What would pass in silence is said, and each of it is undone by a command."""

from __future__ import annotations

import datetime as dt
import io

import numpy as np
import pytest
from kill_runs import small_lawn
from PIL import Image

from swardmark.common.errors import FileError, UsageError
from swardmark.ground.plane import apply
from swardmark.lawn.marks import PhotoMarks, read_marks, write_marks
from swardmark.lawn.photos import remove_photo, removed_photos, restore_photo
from swardmark.lawn.toml import parse_lawn
from swardmark.measure.covers import measure_covers
from swardmark.record import twins
from swardmark.season import season_of


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    folder = small_lawn(tmp_path_factory.mktemp("said") / "lawn")
    measure_covers(folder)
    return folder


@pytest.fixture
def lawn(measured, tmp_path):
    import shutil

    return shutil.copytree(measured, tmp_path / "lawn")


def photos_of(lawn):
    return sorted((lawn / "photos").iterdir())


def notes_of(lawn) -> str:
    return "\n".join(season_of(measure_covers(lawn)).outlook.notes)


def test_a_reading_of_no_zone_does_not_pass_the_leaf_height_gate(lawn):
    day = measure_covers(lawn).as_of.isoformat()
    (lawn / "readings.csv").write_text(f"date,zone,height_mm\n{day},old dpi,39\n")
    season = season_of(measure_covers(lawn))
    assert season.readings == ()
    assert "names the zone 'old dpi', which does not exist" in notes_of(lawn)
    assert "Did you mean 'old dip'?" in notes_of(lawn)
    (lawn / "readings.csv").write_text(f"date,zone,height_mm\n{day},old dip,39\n")
    assert len(season_of(measure_covers(lawn)).readings) == 1
    assert "does not exist" not in notes_of(lawn)
    for zone in ("", "whole lawn", "rest of the lawn"):
        (lawn / "readings.csv").write_text(f"date,zone,height_mm\n{day},{zone},39\n")
        assert len(season_of(measure_covers(lawn)).readings) == 1


def test_lines_of_days_to_come_are_said(lawn):
    (lawn / "readings.csv").write_text("date,height_mm\n2126-06-03,39\n")
    (lawn / "diary.csv").write_text("date,what\n2126-06-04,watered\n")
    said = notes_of(lawn)
    assert "readings.csv has a line dated 2126-06-03, in the future" in said
    assert "diary.csv has a line dated 2126-06-04, in the future" in said


@pytest.mark.parametrize(
    ("zone", "said"),
    [
        (
            'name = "far"\noutline_m = [[90, 90], [91, 90], [91, 91], [90, 91]]',
            "No photo shows the zone 'far'",
        ),
        ('name = "other"\npoint = "lft"\noutline_m = [[0, 0], [1, 0], [1, 1], [0, 1]]', "photo point 'lft'"),
    ],
)
def test_a_zone_that_no_photo_shows_is_said(lawn, zone, said):
    with (lawn / "lawn.toml").open("a") as file:
        file.write(f"\n[[zone]]\n{zone}\n")
    assert said in notes_of(lawn)


@pytest.mark.parametrize("name", ["\u200b", "dip\u200b", "\u2060", "\u3164", "\u00ad", "\ufeff"])
def test_a_name_that_cannot_be_seen_is_refused(name):
    zone = f'name = "a"\n[[zone]]\nname = "{name}"\noutline_m = [[0, 0], [1, 0], [1, 1]]'
    with pytest.raises(FileError, match=r"cannot be (seen|shown)|at least 1"):
        parse_lawn(zone)


def test_a_photo_point_in_a_hidden_folder_is_refused(run, lawn):
    outcome = run("add", lawn, photos_of(lawn)[0], "--point", ".hid")
    assert outcome.code == 2
    assert len(outcome.err.splitlines()) == 1
    assert not (lawn / "photos/.hid").exists()


def test_a_day_that_is_given_to_a_photo_that_is_there_is_said_and_taken_back(run, lawn):
    photo = photos_of(lawn)[0]
    outcome = run("add", lawn, photo, "--date", "2026-06-01")
    assert outcome.out.startswith("0 added, 1 already there.\n")
    assert "its day is now 2026-06-01" in outcome.out
    assert "mark PHOTO --clear" in outcome.out
    assert run("mark", photo, "--clear").code == 0
    assert photo.name not in read_marks(lawn)
    assert "nothing marked" in run("mark", photo, "--clear").out
    assert run("mark", photo, "1,1", "--clear").code == 2
    assert run("mark", photo).code == 2


def mark_wrongly(lawn) -> str:
    """Mark a square of 60 cm on the first photo's ground as the square of 1 m; returns the photo's name."""
    entry = measure_covers(lawn).points[0].entries[0]
    inner = np.array([[0.2, 0.2], [0.8, 0.2], [0.8, 0.8], [0.2, 0.8]])
    corners = apply(np.array(entry.facts.to_photo).reshape(3, 3), inner)
    write_marks(lawn, {entry.name: PhotoMarks(corners_px=tuple(map(tuple, corners.tolist())))})
    return entry.name


def test_a_wrong_hand_mark_on_the_first_of_two_photos_is_named_where_it_refuses_the_other(lawn):
    photos_of(lawn)[-1].unlink()
    first = mark_wrongly(lawn)
    covers = measure_covers(lawn)
    assert [e.name for p in covers.points for e in p.entries] == [first]
    (other,) = covers.refused
    assert f"swardmark mark {first} --clear" in other.remedy


def test_a_wrong_hand_mark_is_named_where_the_other_photos_outvote_it(run, lawn):
    names = [photo.name for photo in photos_of(lawn)]
    first = mark_wrongly(lawn)
    covers = measure_covers(lawn)
    assert [e.name for p in covers.points for e in p.entries] == names[1:]
    (refused,) = covers.refused
    assert refused.name == first
    assert f"swardmark mark {first} --clear" in refused.remedy
    assert run("mark", lawn / "photos" / first, "--clear").code == 0
    assert measure_covers(lawn).refused == ()


def test_the_blame_is_laid_on_hand_marks_alone():
    from swardmark.measure.survey import _blaming_marks
    from swardmark.record.store import Entry, PhotoFacts

    def entry(name, refusal=""):
        return Entry(
            "d", "s", "main", name, None, "camera", PhotoFacts(), refusal, "Retake it" if refusal else ""
        )

    rows = [entry("a.jpg"), entry("b.jpg", "no match"), entry("c.jpg", "no match")]
    marks = {"a.jpg": PhotoMarks(corners_px=((1, 1), (2, 1), (2, 2), (1, 2)))}
    blamed = _blaming_marks(rows, {"main": ("a.jpg", None)}, marks)
    assert [("--clear" in one.remedy) for one in blamed] == [False, True, True]
    lone = _blaming_marks([entry("a.jpg", "no match"), *rows[1:]], {"main": ("b.jpg", None)}, marks)
    assert [("--clear" in one.remedy) for one in lone] == [True, False, False]
    assert _blaming_marks(rows, {"main": ("a.jpg", None)}, {}) == rows
    assert _blaming_marks([*rows, entry("d.jpg")], {"main": ("a.jpg", None)}, marks) == [
        *rows,
        entry("d.jpg"),
    ]


def test_one_shot_as_jpeg_png_and_messenger_copy_counts_once(lawn, monkeypatch):
    """The copies have no EXIF: their day is spelled by their names, as a messenger or an export leaves it."""
    photo = photos_of(lawn)[0]
    day = measure_covers(lawn).points[0].entries[0].taken_at.date().isoformat()
    picture = Image.open(photo).convert("RGB")
    width, height = picture.size
    picture.save(lawn / f"photos/{day} export.png")
    picture.resize((width * 2 // 3, height * 2 // 3)).save(lawn / f"photos/{day} sent.jpg", quality=60)
    covers = measure_covers(lawn)
    assert {copy for copy, _ in covers.duplicates} == {f"{day} export.png", f"{day} sent.jpg"}
    assert {original for _, original in covers.duplicates} == {photo.name}
    assert len({row.photo for row in covers.covers}) == len(photos_of(lawn)) - 2
    monkeypatch.setattr(twins, "_likeness", None)  # the pairs are not compared again
    assert measure_covers(lawn).duplicates == covers.duplicates


@pytest.mark.parametrize("shows_square", [True, False])
def test_a_blurred_photo_is_refused_in_every_run(lawn, shows_square):
    """Where the square is hidden, too, the background alone must not let it pass."""
    import cv2

    blurred, newest = photos_of(lawn)[1:]
    picture = Image.open(blurred)
    rgb = np.array(picture.convert("RGB"))
    corners = next(
        e for e in measure_covers(lawn).points[0].entries if e.name == blurred.name
    ).facts.corners_px
    if not shows_square:
        hidden = np.mean(corners, axis=0) + 1.3 * (np.array(corners) - np.mean(corners, axis=0))
        cv2.fillConvexPoly(rgb, np.rint(hidden).astype(np.int32), (170, 150, 120))
    soft = cv2.GaussianBlur(rgb, (0, 0), 5)
    Image.fromarray(soft).save(blurred, quality=92, exif=picture.info["exif"])
    apart = newest.rename(lawn / newest.name)
    for _ in range(2):
        assert [(e.name, e.refusal[:20]) for e in measure_covers(lawn).refused] == [
            (blurred.name, "The photo is blurred")
        ]
        if apart.exists():
            apart.rename(newest)  # the next run has one photo more
    (lawn / "record.sqlite").unlink()
    assert [e.name for e in measure_covers(lawn).refused] == [blurred.name]


def test_two_shots_of_one_day_count_twice(lawn):
    first, second = photos_of(lawn)[:2]
    day = measure_covers(lawn).points[0].entries[0].taken_at
    write_marks(lawn, {second.name: PhotoMarks(taken_at=day + dt.timedelta(minutes=1))})
    covers = measure_covers(lawn)
    assert covers.duplicates == ()
    assert {first.name, second.name} <= {row.photo for row in covers.covers}


def test_a_removed_photo_is_in_the_bin_with_its_marks_and_comes_back_with_them(run, lawn):
    photo = photos_of(lawn)[1]
    data, table = photo.read_bytes(), [vars(c) for c in measure_covers(lawn).covers]
    write_marks(lawn, {photo.name: PhotoMarks(taken_at=dt.datetime(2026, 6, 5))})
    outcome = run("remove", lawn, photo.name)
    assert outcome.code == 0
    assert f"swardmark restore {lawn} {photo.name}" in outcome.out
    assert (lawn / "removed" / photo.name).read_bytes() == data
    assert photo.name not in {row.photo for row in measure_covers(lawn).covers}
    assert photo.name not in read_marks(lawn), "another photo of that name must not inherit its day"
    assert run("restore", lawn).out.splitlines() == [photo.name]
    assert run("restore", lawn, photo.name).code == 0
    assert photo.read_bytes() == data
    assert read_marks(lawn)[photo.name].taken_at == dt.datetime(2026, 6, 5)
    assert run("restore", lawn).out.splitlines() == ["The bin is empty."]
    run("mark", photo, "--clear")
    assert len([vars(c) for c in measure_covers(lawn).covers]) == len(table)


def test_nothing_is_written_over_in_the_bin_or_on_the_way_back(lawn):
    photo = photos_of(lawn)[0]
    first = photo.read_bytes()
    assert remove_photo(lawn, photo.name) == photo.name
    photo.write_bytes(b"another")
    second = remove_photo(lawn, photo.name)
    assert second == f"{photo.stem}-2{photo.suffix}"
    photo.write_bytes(b"a third")
    assert restore_photo(lawn, photo.name) == second
    assert (lawn / "photos" / second).read_bytes() == first
    assert photo.read_bytes() == b"a third"
    assert removed_photos(lawn) == (second,)


@pytest.mark.parametrize(
    "name", ["no.jpg", "../lawn.toml", "/etc/passwd", "", "..", "photos/../../lawn.toml"]
)
def test_only_photos_of_the_lawn_are_moved(run, lawn, name):
    before = sorted(path.name for path in lawn.iterdir())
    for command in ("remove", "restore"):
        outcome = run(command, lawn, name)
        assert outcome.code == 2
        assert len(outcome.err.splitlines()) == 1
    with pytest.raises(UsageError):
        remove_photo(lawn, name)
    assert sorted(path.name for path in lawn.iterdir()) == before


def test_a_photo_is_copied_into_the_bin_where_it_lies_on_another_disk(lawn, monkeypatch):
    import errno
    import os

    def other_disk(*_, **__):
        raise OSError(errno.EXDEV, "Invalid cross-device link")

    monkeypatch.setattr(os, "link", other_disk)
    photo = photos_of(lawn)[0]
    data = photo.read_bytes()
    remove_photo(lawn, photo.name)
    assert not photo.exists()
    assert (lawn / "removed" / photo.name).read_bytes() == data
    assert np.array_equal(Image.open(io.BytesIO(data)), Image.open(lawn / "removed" / photo.name))
