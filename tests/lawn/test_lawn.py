from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.common.errors import FileError, UsageError
from swardmark.lawn.toml import parse_lawn, read_lawn

GOOD = """\
name = "Back lawn"
grass = "zoysia"

[[leveling]]
date = 2026-06-03

[[leveling]]
date = 2027-05-20

[[zone]]
name = "by the path"
outline_m = [[1.2, 0], [2.2, 0], [2.2, 1.5], [1.2, 1.5], [1.2, 0]]
"""


def test_a_good_file_is_read_with_defaults_and_short_grass_names():
    lawn = parse_lawn(GOOD)
    assert lawn.grass == "zoysiagrass"
    assert lawn.is_warm_season
    assert lawn.zone[0].area_m2 == pytest.approx(1.5)
    assert len(lawn.zone[0].outline_m) == 4  # the repeated first corner is dropped
    assert lawn.measure.point_spacing_mm == 10
    assert lawn.leveled_before(dt.date(2026, 6, 2)) is None
    assert lawn.leveled_before(dt.date(2027, 5, 19)) == dt.date(2026, 6, 3)
    assert lawn.leveled_before(dt.date(2027, 5, 20)) == dt.date(2027, 5, 20)


@pytest.mark.parametrize(
    ("change", "line", "words"),
    [
        (("2027-05-20", '"soon"'), 8, "leveling.2.date"),
        (("[2.2, 1.5], [1.2, 1.5], ", "[1.2, 1.5], [2.2, 1.5], "), 12, "crosses itself"),
        (
            (
                "outline_m = [[1.2, 0], [2.2, 0], [2.2, 1.5], [1.2, 1.5], [1.2, 0]]",
                "outline_m = [[0, 0], [1, 0]]",
            ),
            12,
            "three corners",
        ),
        (('name = "Back lawn"', 'name = ""'), 1, "name"),
        (('grass = "zoysia"', 'gras = "zoysia"'), 2, "'gras' is not a setting. Did you mean 'grass'?"),
        (('grass = "zoysia"', 'grass = "plastic"'), 2, "'plastic' is not known. Choose one of: bermudagrass"),
        (('grass = "zoysia"', 'grass = "zoisiagras"'), 2, "Did you mean 'zoysiagrass'?"),
        (('grass = "zoysia"', "square_side_m = 12"), 2, "square_side_m"),
        (('grass = "zoysia"', "grass = "), 2, "not valid TOML"),
        (('grass = "zoysia"', 'folder = "/etc"'), 2, "folder"),
        (('"by the path"', '"whole lawn"'), None, "name of the total"),
    ],
)
def test_every_fault_names_its_line(change, line, words):
    with pytest.raises(FileError) as error:
        parse_lawn(GOOD.replace(*change))
    text = str(error.value)
    assert words in text
    assert "\n" not in text
    assert error.value.where == (f"lawn.toml:{line}" if line else "lawn.toml")


def test_a_missing_folder_or_file_says_how_to_begin(tmp_path):
    with pytest.raises(UsageError, match=r"no such folder.*swardmark start"):
        read_lawn(tmp_path / "nowhere")
    with pytest.raises(FileError, match=r"no lawn\.toml in this folder.*swardmark start"):
        read_lawn(tmp_path)


@given(st.text(max_size=300))
def test_any_text_is_read_or_refused_in_one_line(text):
    try:
        parse_lawn(text)
    except FileError as error:
        assert "\n" not in str(error)


def test_photos_directly_in_photos_belong_to_the_main_point(tmp_path):
    (tmp_path / "lawn.toml").write_text('name = "a"')
    for name in ("b.jpg", "porch/a.JPG", ".hidden.jpg", "notes.txt", "porch/.x.jpg"):
        path = tmp_path / "photos" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"")
    photos = read_lawn(tmp_path).photos()
    assert [(p.point, p.name) for p in photos] == [("main", "b.jpg"), ("porch", "porch/a.JPG")]
