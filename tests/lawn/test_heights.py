"""heights.csv: what a keeper may write, and what is refused."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from swardmark.common.errors import FileError
from swardmark.lawn.heights import Heights, inches, parse_heights, surface_heights
from swardmark.lawn.toml import parse_lawn

HEAD = "date,x_m,y_m,"


@pytest.mark.parametrize(
    ("column", "cell", "height"),
    [
        ("height_mm", "-12", -12), ("drop_mm", "12.5", -12.5), ("drop_in", "1 3/8", -34.925),
        ("drop_in", "3/8", -9.525),
        ("height_in", "-0.5", -12.7), ("drop_in", "-1-1/8", 28.575), ("height_mm", "+4", 4),
    ],
)  # fmt: skip
def test_heights_are_read_up_or_down_in_either_unit(column, cell, height):
    (row,) = parse_heights(f"{HEAD}{column}\n2026-06-03,1,2,{cell}\n")
    assert row.height_mm == pytest.approx(height)
    assert (row.how, row.point) == ("string", "main")


def test_places_not_yet_read_are_left_out():
    assert parse_heights(f"{HEAD}drop_mm\n2026-06-03,1,2,\n,1,2,\n") == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("drop_mm\n2026-06-03,1,2,deep", ":2: drop_mm: 'deep' is not a number"),
        ("drop_in\n2026-06-03,1,2,1 3/0", ":2: drop_in: '1 3/0' is not a number of inches"),
        ("drop_mm\n2026-06-03,1,2,4000", ":2: height_mm"),
        ("drop_mm,drop_in\n2026-06-03,1,2,4,1", ":2: both drop_mm and drop_in are filled in"),
        ("drop_mm,how\n2026-06-03,1,2,4,guess", ":2: how"),
        ("drop_mm\n,1,2,4", ":2: no date"),
        ("depth\n2026-06-03,1,2,4", ":1: unknown column 'depth'"),
    ],
)
def test_a_fault_is_told_with_its_line(text, said):
    with pytest.raises(FileError) as error:
        parse_heights(HEAD + text + "\n", where="heights.csv")
    assert said in str(error.value)
    assert "\n" not in str(error.value)


def test_surfaces_are_gathered_by_day_and_way():
    rows = parse_heights(
        f"{HEAD}drop_mm,how,place\n2026-06-03,0,0,1,string,\n2026-06-03,1,0,2,laser,\n2026-06-03,1,1,9,straightedge,1\n"
        "2026-05-01,0,0,4,string,\n"
    )
    parts = surface_heights(rows)
    assert [(p.date.month, p.how, len(p.x_m)) for p in parts] == [
        (5, "string", 1),
        (6, "laser", 1),
        (6, "string", 1),
    ]


def test_inches_with_a_zero_below_the_line_are_no_number():
    assert inches("2 1/2") == 2.5 and inches("- 1,5") == -1.5 and inches("+3/8") == 0.375
    for text in ("1/0", "--1", "nan", "", "-"):
        with pytest.raises(ValueError, match="is not a number of inches"):
            inches(text)


def test_heights_without_an_error_are_refused():
    one = np.zeros(3)
    with pytest.raises(ValueError, match="errors positive"):
        Heights(dt.date(2026, 6, 3), "main", one, one, one, one, "pegs")


def test_lawn_toml_says_fall_probes_and_puddles():
    lawn = parse_lawn(
        'name = "x"\narea_m2 = 90\n[level]\nfall = [2, "toward"]\n[[probe]]\ndate = 2026-06-03\nx_m = 1\ny_m = 2\n'
        'ground = "low"\n[[puddle]]\ndate = 2026-06-03\noutline_m = [[0,0],[1,0],[1,1]]\ndeepest_mm = 12\n'
    )
    assert lawn.level.fall == (2, 180)
    assert lawn.level.straightedge_m == 2.4
    assert lawn.probe[0].ground == "low"
    assert lawn.ground_m2 == 90


@pytest.mark.parametrize(
    "text",
    [
        '[level]\nfall = [2, "uphill"]', "[level]\nfall = [90, 0]", "[level]\nfall = 2",
        "[[probe]]\ndate = 2026-06-03\nx_m = 1\ny_m = 2",
        '[[probe]]\ndate = 2026-06-03\nx_m = 1\ny_m = 2\nground = "odd"',
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_its_line(text):
    with pytest.raises(FileError, match=r"lawn\.toml:\d"):
        parse_lawn(f'name = "x"\n{text}\n')
