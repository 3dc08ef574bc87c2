"""What a map depends on, and whose word on the day counts."""

from __future__ import annotations

import datetime as dt
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from swardmark.lawn.counts import Count, add_counts
from swardmark.lawn.marks import PhotoMarks, write_marks
from swardmark.lawn.photos import PhotoFile
from swardmark.lawn.toml import read_lawn
from swardmark.measure import covers, facts, sentences, survey
from swardmark.measure.covers import measure_covers
from swardmark.record import twins

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    folder = tmp_path_factory.mktemp("survey") / "lawn"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("record.sqlite*", "out", "2026-06-[02]*"))
    measure_covers(folder)
    return folder


@pytest.fixture
def lawn(measured, tmp_path):
    return Path(shutil.copytree(measured, tmp_path / "lawn"))


def test_no_files_are_none_and_not_those_of_the_folder(lawn):
    known = read_lawn(lawn)
    with survey.open_record(known) as record:
        assert survey.survey(known, record, files=[]).entries == ()


def test_the_keeper_s_date_beats_the_camera_s(lawn):
    before = {row.photo: row.taken_at for row in measure_covers(lawn).covers}
    name = max(before)
    assert before[name].date() != dt.date(2026, 7, 19)
    write_marks(lawn, {name: PhotoMarks(taken_at=dt.datetime(2026, 7, 19))})
    again = measure_covers(lawn)
    after = {row.photo: row.taken_at.date() for row in again.covers}
    assert after[name] == dt.date(2026, 7, 19)
    assert {photo: day for photo, day in after.items() if photo != name} == {
        photo: day.date() for photo, day in before.items() if photo != name
    }
    assert again.newly_measured == 0


def test_a_day_that_only_the_name_says_is_that_of_the_name_the_file_has_now(lawn):
    path = max((lawn / "photos").iterdir())
    Image.open(path).save(path, quality=95)  # without its camera's date
    measure_covers(lawn)
    named = path.rename(path.with_name("2026-07-05.jpg"))
    again = measure_covers(lawn)
    assert max(row.taken_at for row in again.covers) == dt.datetime(2026, 7, 5)
    assert again.newly_measured == 0
    nameless = named.rename(named.with_name("IMG_1.jpg"))
    assert [one.name for one in measure_covers(lawn).refused] == ["IMG_1.jpg"]
    nameless.rename(path)
    assert max(row.taken_at for row in measure_covers(lawn).covers) == dt.datetime(2026, 7, 1)


def test_a_copy_that_a_messenger_named_by_the_day_it_was_sent_is_left_out(lawn):
    first, *_ = sorted((lawn / "photos").iterdir())
    sent = Image.open(first).resize((1200, 900))  # without its camera's date
    sent.save(lawn / "photos" / "IMG-20260614-WA0001.jpg", quality=75)
    again = measure_covers(lawn)
    assert again.duplicates == (("IMG-20260614-WA0001.jpg", first.name),)
    assert max(row.taken_at for row in again.covers).date() == dt.date(2026, 7, 1)


def test_a_camera_that_stands_fast_is_no_messenger(measured):
    """Its photo of another day is in another light."""
    shot = measure_covers(measured).points[0].entries[0]
    lit = [
        replace(shot, facts=replace(shot.facts, sand_light=light))
        for light in (0.6, 0.603, 0.57, float("nan"))
    ]
    assert [twins._is_same_light(lit[0], other) for other in lit] == [True, True, False, False]
    assert twins._is_same_light(lit[3], lit[3])


def test_a_place_in_the_frame_on_more_days_than_two_is_of_a_camera_that_stands_fast(measured):
    """On dull days the light is the same as well: two of six drawn photos were taken for copies."""
    shot = measure_covers(measured).points[0].entries[0]

    def sent(days):
        every = [replace(shot, name="shot.jpg")]
        for day in days:
            when = shot.taken_at + dt.timedelta(days=day)
            every.append(replace(shot, name=f"{day}.jpg", taken_at=when, taken_from="file name"))
        with survey.open_record(read_lawn(measured)) as record:
            return twins.without_twins(every, record)[1]

    assert sent([7]) == (("7.jpg", "shot.jpg"),)
    assert sent([7, 9]) == ()


def test_of_two_forms_of_one_shot_the_counted_one_stays(lawn):
    """What was counted by eye is of its name."""
    first, *_ = sorted((lawn / "photos").iterdir())
    other = first.with_name("counted.jpg")
    shot = Image.open(first)
    shot.resize((1200, 900)).save(other, quality=90, exif=shot.getexif())
    assert measure_covers(lawn).duplicates == ((other.name, first.name),)
    add_counts(lawn, [Count(photo=other.name, x_m=1.0, y_m=1.0, stratum="leaf", chance=0.5, said="leaf")])
    assert measure_covers(lawn).duplicates == ((first.name, other.name),)


def test_of_files_with_one_content_the_marked_then_the_earliest_dated_is_the_photo(lawn):
    *_, last = sorted((lawn / "photos").iterdir())
    Image.open(last).save(lawn / "photos" / "IMG_1.jpg", quality=95)  # without its camera's date
    last.unlink()
    for name in ("IMG-20260705-WA0001.jpg", "2026-07-01.jpg"):
        shutil.copy(lawn / "photos" / "IMG_1.jpg", lawn / "photos" / name)
    assert max(row.taken_at for row in measure_covers(lawn).covers).date() == dt.date(2026, 7, 1)
    sent = Count(photo="IMG-20260705-WA0001.jpg", x_m=1.0, y_m=1.0, stratum="leaf", chance=0.5, said="leaf")
    add_counts(lawn, [sent])
    assert max(row.taken_at for row in measure_covers(lawn).covers).date() == dt.date(2026, 7, 5)
    (lawn / "counts.csv").unlink()
    write_marks(lawn, {"IMG_1.jpg": PhotoMarks(taken_at=dt.datetime(2026, 6, 30))})
    assert max(row.taken_at for row in measure_covers(lawn).covers).date() == dt.date(2026, 6, 30)


def test_marks_of_photos_that_lie_elsewhere_and_are_later_are_not_stray(lawn):
    (lawn / "photos").rename(lawn / "elsewhere")
    first, *_, last = sorted((lawn / "elsewhere").iterdir())
    files = [PhotoFile("main", path, path.name) for path in (first, last)]
    write_marks(lawn, {last.name: PhotoMarks(taken_at=dt.datetime(2026, 7, 1))})
    day = measure_covers(lawn, files=files).covers[0].taken_at.date()
    assert covers.unused_notes(measure_covers(lawn, files=files, as_of=day)) == ()


def test_words_about_photos_and_days_that_cannot_be_right_are_said_so(lawn):
    measured = measure_covers(lawn)
    first, *_, last = measured.points[0].entries
    write_marks(lawn, {"gone.jpg": PhotoMarks(taken_at=dt.datetime(2026, 6, 5))})
    told = {"point": "main", "x_m": 1.0, "y_m": 1.0, "stratum": "leaf", "chance": 0.5, "said": "leaf"}
    places = [("renamed.jpg", ""), ("renamed.jpg", "old dip"), (last.name, "old dip"), (last.name, "old bed")]
    add_counts(lawn, [Count(photo=photo, zone=zone, **told) for photo, zone in places])
    assert covers.unused_notes(measured) == (
        sentences.STRAY_COUNTS_ZONE.format(count=1, zone="old bed", photo=last.name),
        sentences.STRAY_COUNTS.format(count=2, photo="renamed.jpg"),
        sentences.STRAY_MARKS.format(photo="gone.jpg"),
    )
    (lawn / "left_out").mkdir()
    shutil.copy(SAMPLE / "photos" / last.name, lawn / "left_out" / "renamed.jpg")
    assert not any("renamed.jpg" in note for note in covers.unused_notes(measured))
    (lawn / "heights.csv").write_text(
        "date,point,x_m,y_m,drop_mm\n2026-06-20,mian,1,1,140\n2026-06-20,yard,1,1,9\n"
    )
    point = sentences.STRAY_POINT.format(file="heights.csv", point="mian", meant="main")
    assert [note for note in covers.unused_notes(measured) if "speaks of the photo point" in note] == [point]
    gate = replace(
        measured.points[0], name="gate", entries=(replace(first, name=f"gate/{first.name}", point="gate"),)
    )
    twice = sentences.AT_TWO_POINTS.format(photo=first.name, other=f"gate/{first.name}")
    assert twice in covers.unused_notes(replace(measured, points=(*measured.points, gate)))
    outlined = measured.lawn.model_copy(update={"lawn_outline_m": ((0, 0), (4, 0), (4, 4))})
    gate = replace(measured.points[0], name="gate")
    two = replace(measured, lawn=outlined, points=(*measured.points, gate))
    assert sentences.ONE_OUTLINE.format(points="main, gate") in covers.unused_notes(two)
    assert covers.clock_notes(measured) == ()
    early = dt.datetime(2015, 1, 1)
    shot = replace(first, taken_at=early)
    wrong = replace(measured, points=(replace(measured.points[0], entries=(shot, last)),))
    told = {"photo": first.name, "camera": "2015-01-01", "named": f"{first.taken_at:%Y-%m-%d}"}
    assert covers.clock_notes(wrong) == (sentences.OTHER_DAY.format(**told),)
    shot = replace(shot, name="IMG_1.jpg")
    wrong = replace(measured, points=(replace(measured.points[0], entries=(shot, last)),))
    assert covers.clock_notes(wrong) == (sentences.LONG_BEFORE.format(photo="IMG_1.jpg", day="2015-01-01"),)


def test_another_side_of_the_square_measures_every_photo_anew(lawn):
    before = measure_covers(lawn)
    path = lawn / "lawn.toml"
    text = path.read_text()
    assert "square_side_m = 1 " in text
    path.write_text(text.replace("square_side_m = 1 ", "square_side_m = 0.9 "))
    after = measure_covers(lawn)
    assert before.newly_measured == 0
    assert after.newly_measured == sum(len(point.entries) for point in after.points)
    seen = [
        one.points[0].maps[0].values.shape[1] * one.points[0].maps[0].spacing_m for one in (before, after)
    ]
    assert seen[1] == pytest.approx(0.9 * seen[0], rel=0.05)


def test_the_threshold_alone_measures_nothing_anew(lawn):
    path = lawn / "lawn.toml"
    path.write_text(f"{path.read_text()}\n[measure]\nthreshold = 0.2\n")
    assert measure_covers(lawn).newly_measured == 0


def test_another_version_of_opencv_measures_every_photo_anew_and_says_so_once(lawn, monkeypatch):
    said: list[str] = []
    assert measure_covers(lawn, on_wait=said.append).newly_measured == 0
    for room in (survey, covers, facts):
        monkeypatch.setattr(room, "opencv_version", lambda: "9.9.9")
    again = measure_covers(lawn, on_wait=said.append)
    assert again.newly_measured == sum(len(point.entries) for point in again.points)
    assert len(said) == 1
    assert "9.9.9" in said[0]
    assert measure_covers(lawn, on_wait=said.append).newly_measured == 0
    assert len(said) == 1
