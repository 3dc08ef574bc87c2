"""Relief photos in a lawn folder: the second sample lawn against its drawn heights, from folder to sentences."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

from swardmark.cli.app import app
from swardmark.common.errors import UsageError
from swardmark.lawn.folder import add_photos
from swardmark.lawn.toml import Lawn, PhotoPoint, read_lawn
from swardmark.relief import folder
from swardmark.relief.dips import find_hollows
from swardmark.relief.folder import kept_relief, relief_of
from swardmark.relief.readings import ReliefReading, ReliefReview, packed_review, unpacked_review
from swardmark.relief.surface import off_quadratic
from swardmark.relief.telling import compared, relief_document, relief_sentences

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage_sand"


@pytest.fixture(scope="module")
def lawn(tmp_path_factory: pytest.TempPathFactory) -> Lawn:
    place = tmp_path_factory.mktemp("sand") / "lawn"
    shutil.copytree(SAMPLE, place)
    return read_lawn(place)


@pytest.fixture(scope="module")
def reading(lawn: Lawn) -> ReliefReading:
    assert kept_relief(lawn).is_empty, "nothing is measured for a report"
    review = relief_of(lawn)
    assert not review.refusals and not review.pegs
    (one,) = review.sand
    return one


def test_what_is_kept_and_damaged_is_nothing() -> None:
    assert unpacked_review(b"PK damaged") is None
    again = unpacked_review(packed_review(ReliefReview()))
    assert again is not None and again.is_empty


def test_each_photo_point_is_measured_by_the_side_of_its_own_square(tmp_path, monkeypatch) -> None:
    """Heights, places and sand go with the side: a square of 0.6 m was once taken for one of 1 m."""
    for place in ("relief", "hedge/relief"):
        (tmp_path / "photos" / place).mkdir(parents=True)
        shutil.copy(next(SAMPLE.glob("photos/relief/*.jpg")), tmp_path / "photos" / place)
    lawn = Lawn(name="x", folder=tmp_path, point=(PhotoPoint(name="hedge", square_side_m=0.6),))
    sides = {}
    monkeypatch.setattr(
        folder, "_measured", lambda name, data, side_m, *rest: sides.update({name: side_m}) or ReliefReview()
    )
    relief_of(lawn)
    assert sides == {"main": 1.0, "hedge": 0.6}


def test_a_day_that_only_the_name_says_follows_the_name(tmp_path, monkeypatch) -> None:
    place, days = tmp_path / "photos" / "relief", []
    place.mkdir(parents=True)
    Image.new("RGB", (300, 260), (200, 180, 140)).save(place / "2026-06-03.jpg")
    lawn = Lawn(name="x", folder=tmp_path)
    monkeypatch.setattr(
        folder, "_measured", lambda name, data, *rest: days.append(data[0][0]) or ReliefReview()
    )
    relief_of(lawn)
    relief_of(lawn)
    (place / "2026-06-03.jpg").rename(place / "2026-06-04.jpg")
    relief_of(lawn)
    assert days == ["2026-06-03.jpg", "2026-06-04.jpg"]


def test_the_sample_agrees_with_its_drawn_heights(reading: ReliefReading) -> None:
    """Dense heights against heights_truth.csv, a quadratic taken off both."""
    from scipy.interpolate import RegularGridInterpolator

    rows = list(csv.DictReader((SAMPLE / "heights_truth.csv").open(encoding="utf-8")))
    x, y = (np.unique([float(row[name]) for row in rows]) for name in ("x_m", "y_m"))
    z = np.array([float(row["height_mm"]) for row in rows]).reshape(len(y), len(x))
    relief = reading.relief
    places = relief.lattice.places_m
    inside = np.isfinite(relief.height_mm) & (np.abs(places - 0.5) < 1.95).all(axis=-1)
    true = np.full(inside.shape, np.nan)
    true[inside] = RegularGridInterpolator((y, x), z)(places[inside][:, ::-1])
    error = off_quadratic(np.where(inside, relief.height_mm - true, np.nan), relief.lattice)[inside]
    assert np.sqrt((error**2).mean()) < 1.5


def test_heights_handed_on_are_one_source_of_level(reading: ReliefReading) -> None:
    heights = reading.heights()
    assert heights is not None
    assert (heights.how, heights.point, heights.date.isoformat()) == ("photos", "main", "2026-06-03")
    assert len(heights.height_mm) > 500
    assert 0.3 < np.median(heights.se_mm) < 1.5


def test_sentences_name_both_dips_and_say_what_is_not_in_the_photos(reading: ReliefReading) -> None:
    text = " ".join(relief_sentences(ReliefReview((reading,))))
    assert text.count("low under a straightedge of 1 m") == 2
    assert "left" in text and "Drag twice" in text and "Fall, crown and drainage cannot be read" in text


def test_leaf_gives_places_without_depth_or_sand(reading: ReliefReading) -> None:
    from dataclasses import replace

    green = replace(reading, relief=replace(reading.relief, leaf_pct=45.0))
    assert green.heights() is None
    (line,) = relief_sentences(ReliefReview((green,)))
    assert "probe them" in line and "mm" not in line and " L " not in line
    (document,) = relief_document(ReliefReview((green,)))
    assert all(set(dip) == {"x_m", "y_m"} for dip in document["dips"])


def test_dragged_again_is_compared_dip_by_dip(reading: ReliefReading) -> None:
    """The same ground with the first dip filled to a third of its depth, seen under another tilt."""
    from dataclasses import replace

    relief = reading.relief
    places, first = relief.lattice.places_m, relief.hollows.labels == 1
    height = np.where(first, relief.height_mm - 0.67 * relief.hollows.off_mm, relief.height_mm)
    height = height + 12 * places[..., 0] - 5 * places[..., 1] + 3
    hollows = find_hollows(height, relief.se_mm, relief.lattice)
    after = replace(reading, relief=replace(relief, height_mm=height, hollows=hollows))
    (dip, now), (other, same) = compared(reading, after)
    assert now < 0.6 * dip.gap_mm
    assert same == pytest.approx(other.gap_mm, abs=1.5)


def test_relief_photos_are_no_photos_of_a_point(tmp_path: Path) -> None:
    lawn = tmp_path / "lawn"
    shutil.copytree(SAMPLE, lawn)
    (lawn / "photos" / "gate" / "relief").mkdir(parents=True)
    photo = lawn / "photos" / "relief" / "sand-1.jpg"
    shutil.copy(photo, lawn / "photos" / "gate" / "relief" / "a.jpg")
    shutil.copy(photo, lawn / "photos" / "gate" / "2026-06-03.jpg")
    assert [file.name for file in read_lawn(lawn).photos()] == ["gate/2026-06-03.jpg"]
    with pytest.raises(UsageError, match="cannot be the name of a photo point"):
        add_photos(read_lawn(lawn), [photo], point="relief")


def test_a_set_that_cannot_be_measured_ends_with_its_line_and_exit_code_1(tmp_path: Path) -> None:
    lawn = tmp_path / "lawn"
    shutil.copytree(SAMPLE, lawn)
    for n in (3, 4, 5):
        (lawn / "photos" / "relief" / f"sand-{n}.jpg").unlink()
    done = CliRunner().invoke(app, ["level", str(lawn), "--json"])
    assert done.exit_code == 1
    assert "too few photos of the sand (2). Take five from an arc" in done.stderr
    assert json.loads(done.stdout)["relief"] == []


def test_level_measures_the_sample(tmp_path: Path) -> None:
    lawn = tmp_path / "lawn"
    shutil.copytree(SAMPLE, lawn)
    done = CliRunner().invoke(app, ["level", str(lawn), "--straightedge", "1m", "--json"])
    assert done.exit_code == 0, done.stderr
    found = json.loads(done.stdout)
    assert len(found["relief"][0]["dips"]) == 2
    assert (lawn / "out" / "level.csv").read_text(encoding="utf-8").count("photos") > 50
    assert not (lawn / "heights.csv").exists()
    (picture,) = (lawn / "out").glob("relief-main-2026-06-03-*.png")
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_a_set_is_measured_once_and_kept(
    lawn: Lawn, reading: ReliefReading, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("measured again")

    monkeypatch.setattr(folder, "measure_relief", never)
    for review in (kept_relief(lawn), relief_of(lawn)):
        (kept,) = review.sand
        assert kept.relief.hollows.dips == reading.relief.hollows.dips
        assert kept.relief.taken_at == reading.relief.taken_at and kept.relief.photos == reading.relief.photos
        for name in ("height_mm", "se_mm", "marks_m"):
            assert np.allclose(
                getattr(kept.relief, name), getattr(reading.relief, name), atol=1e-3, equal_nan=True
            )
        assert relief_sentences(review) == relief_sentences(ReliefReview((reading,)))
    assert relief_of(lawn, straightedge_m=2.0, measure=False).is_empty, (
        "another straightedge is measured anew"
    )
    relief_photo = next((lawn.folder / "photos" / "relief").glob("*.jpg"))
    relief_photo.rename(relief_photo.with_name("again.jpg"))
    assert not kept_relief(lawn).is_empty, "a photo's name does not matter"
    shutil.copy(SAMPLE / "photos" / "relief" / "sand-1.jpg", lawn.folder / "photos" / "relief" / "more.jpg")
    assert kept_relief(lawn).is_empty, "another photo: measured anew"
