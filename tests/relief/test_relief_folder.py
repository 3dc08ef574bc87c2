"""Relief photos in a lawn folder: the second sample lawn against its drawn heights, from folder to sentences."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from swardmark.cli.app import app
from swardmark.common.errors import UsageError
from swardmark.lawn.folder import add_photos
from swardmark.lawn.toml import read_lawn
from swardmark.relief.dips import find_hollows
from swardmark.relief.folder import ReliefReading, relief_of
from swardmark.relief.surface import off_quadratic
from swardmark.relief.telling import compared, relief_document, relief_sentences

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage_sand"


@pytest.fixture(scope="module")
def reading() -> ReliefReading:
    readings, refusals = relief_of(read_lawn(SAMPLE))
    assert not refusals
    (one,) = readings
    return one


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
    text = " ".join(relief_sentences([reading]))
    assert text.count("low under a straightedge of 1 m") == 2
    assert "left" in text and "Drag twice" in text and "Fall, crown and drainage cannot be read" in text


def test_leaf_gives_places_without_depth_or_sand(reading: ReliefReading) -> None:
    from dataclasses import replace

    green = replace(reading, relief=replace(reading.relief, leaf_pct=45.0))
    assert green.heights() is None
    (line,) = relief_sentences([green])
    assert "probe them" in line and "mm" not in line and " L " not in line
    (document,) = relief_document([green])
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
    assert "only 2 photos of the sand. Take five from an arc" in done.stderr
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
