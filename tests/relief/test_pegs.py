"""Pegs in drawn grass that moves: their heights against the drawn soil, from photo to level map."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from relief_scenes import PegScene, draw_pegs
from typer.testing import CliRunner

from swardmark.cli.app import app
from swardmark.common.errors import PhotoRefused
from swardmark.lawn.heights import READING_SE_MM
from swardmark.lawn.toml import Lawn
from swardmark.level.review import level_review
from swardmark.practice.files import save_photo
from swardmark.relief.marks import PEG_IDS, see_marks
from swardmark.relief.pegs import LEAST_PEGS, measure_pegs, shows_pegs
from swardmark.relief.readings import PegReading, ReliefReview, packed_review, unpacked_review
from swardmark.relief.telling import relief_document, relief_sentences


@pytest.fixture(scope="module")
def scene() -> PegScene:
    return draw_pegs(4, photos=4, count=22)


def error_mm(scene: PegScene, found: object) -> np.ndarray:
    """Measured less true heights, a plane taken off: tilt is not in the photos."""
    error = found.height_mm - np.array([scene.feet_mm[n] for n in found.numbers])
    plane = np.column_stack([np.ones(len(error)), found.places_m])
    return error - plane @ np.linalg.lstsq(plane, error, rcond=None)[0]


def test_heights_of_the_soil_under_each_peg(scene: PegScene) -> None:
    """Drawn grass with other leaf in each photo, leaning pegs, lens, stabilizer and rolling shutter; 0.6 mm allowed."""
    found = measure_pegs(scene.photos)
    error = error_mm(scene, found)
    assert len(found.numbers) >= 14
    assert np.sqrt((error**2).mean()) < 0.3
    assert (np.abs(error) < 1.96 * found.se_mm).mean() >= 0.85
    assert np.median(found.se_mm) < 0.5
    for number, place in zip(found.numbers, found.places_m, strict=True):
        assert np.hypot(*(place - scene.places_m[number])) < 0.03


def test_pegs_are_told_from_sand(scene: PegScene) -> None:
    marks = [see_marks(one, more=PEG_IDS) for one in scene.photos]
    assert shows_pegs(marks)
    square = [{n: quad for n, quad in one.items() if n < 4} for one in marks]
    assert not shows_pegs(square)
    assert set(see_marks(scene.photos[0])) == {0, 1, 2, 3}, "pegs are asked for"


def test_a_peg_that_moved_is_left_out(scene: PegScene) -> None:
    marks = [see_marks(one, more=PEG_IDS) for one in scene.photos]
    steady = measure_pegs(scene.photos, marks=marks)
    number = steady.numbers[3]
    marks[1] = marks[1] | {number: marks[1][number] + np.array([30.0, 10.0])}
    found = measure_pegs(scene.photos, marks=marks)
    assert number in found.left_out and number not in found.numbers
    assert set(found.numbers) == set(steady.numbers) - {number}


def test_too_few_pegs_are_refused(scene: PegScene) -> None:
    marks = [
        {n: quad for n, quad in see_marks(one, more=PEG_IDS).items() if n < 10 + LEAST_PEGS - 2}
        for one in scene.photos
    ]
    with pytest.raises(
        PhotoRefused, match=r"only \d pegs are seen whole in three photos; 9 are needed\. Set 9 pegs"
    ):
        measure_pegs(scene.photos, marks=marks)


def test_all_photos_from_one_place_are_refused(scene: PegScene) -> None:
    one = scene.photos[0]
    alike = [replace(one, digest=f"{n:064d}", name=f"p{n}.jpg") for n in range(3)]
    with pytest.raises(PhotoRefused, match=r"taken from nearly one place"):
        measure_pegs(alike)


def test_from_folder_to_level_map(scene: PegScene, tmp_path: Path) -> None:
    """Saved as photos, measured by the command: rows of level.csv say pegs, and nothing of the keeper's is written."""
    lawn = tmp_path / "lawn"
    (lawn / "photos" / "gate" / "relief").mkdir(parents=True)
    (lawn / "lawn.toml").write_text('name = "Pegs"\nsquare_side_m = 1\n', encoding="utf-8")
    for n, photo in enumerate(scene.photos):
        when = dt.datetime(2026, 7, 1, 9, 0, 10 * n)
        path = lawn / "photos" / "gate" / "relief" / f"p{n}.jpg"
        save_photo(path, photo.rgb, taken_at=when, focal35_mm=26.0, quality=92)
    done = CliRunner().invoke(app, ["level", str(lawn)])
    assert done.exit_code == 0, done.stderr
    assert "4 photos of 1 July at gate give the heights of" in done.stdout
    assert "Fall, crown and drainage cannot be read from these photos" in done.stdout
    assert "The ground falls" not in done.stdout, "no fall from photos"
    assert ",pegs" in (lawn / "out" / "level.csv").read_text(encoding="utf-8")
    assert not (lawn / "heights.csv").exists()


def test_a_source_of_level_with_the_seating_in_its_errors(scene: PegScene) -> None:
    reading = PegReading("main", dt.date(2026, 7, 1), measure_pegs(scene.photos))
    heights = reading.heights()
    assert heights.how == "pegs" and (heights.se_mm > 1).all()
    assert heights.se_mm.max() < READING_SE_MM["string"]
    (found,) = level_review(Lawn(folder=Path(), name="Pegs"), more=[heights]).maps
    assert found.hows == ("pegs",)
    review = ReliefReview(pegs=(reading,))
    again = unpacked_review(packed_review(review))
    assert again is not None and relief_sentences(again) == relief_sentences(review)
    (row,) = relief_document(again)
    assert [peg["number"] for peg in row["pegs"]] == list(reading.pegs.numbers)
