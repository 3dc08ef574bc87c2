"""readings.csv and diary.csv: what is accepted, and the exact line of what is not."""

from __future__ import annotations

import datetime as dt

import pytest

from swardmark.common.errors import FileError
from swardmark.lawn.readings import days_since_water, parse_diary, parse_readings, read_diary, read_readings

DAY = dt.date(2026, 6, 10)


def test_a_full_table_oldest_first():
    rows = parse_readings(
        "date,zone,height_mm,dip_mm,firm,note,spot,x_m,y_m\n"
        "2026-06-12,front,45,,yes,\n"
        '2026-06-10,"the ""back"", left",,12.5,no,"soft, after rain",3,0.5,-1.25\n'
    )
    assert [row.date for row in rows] == [DAY, dt.date(2026, 6, 12)]
    assert rows[0].zone == 'the "back", left' and rows[0].note == "soft, after rain"
    assert (rows[0].dip_mm, rows[0].firm, rows[0].spot, rows[0].x_m, rows[0].y_m) == (
        12.5,
        False,
        "3",
        0.5,
        -1.25,
    )
    assert (rows[1].height_mm, rows[1].dip_mm, rows[1].firm) == (45.0, None, True)


def test_inches_become_millimeters():
    # 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
    (row,) = parse_readings("date,zone,height_in,dip_in\n2026-06-10,front,1.5,0.25\n")
    assert row.height_mm == pytest.approx(38.1) and row.dip_mm == pytest.approx(6.35)


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_as_spreadsheets_save_it(tmp_path, end, mark):
    text = (
        mark + end.join(["Date, Zone ,height_mm", "2026-06-10,front,45", "", ",,", "2026-06-11,,46,,"]) + end
    )
    (tmp_path / "readings.csv").write_bytes(text.encode())
    assert [row.height_mm for row in read_readings(tmp_path)] == [45.0, 46.0]


def test_semicolons_with_decimal_commas():
    (row,) = parse_readings("date;zone;height_mm;note\n2026-06-10;front;45,5;a, b\n")
    assert row.height_mm == 45.5 and row.note == "a, b"


def test_a_missing_or_empty_file_is_an_empty_table(tmp_path):
    assert read_readings(tmp_path) == () and read_diary(tmp_path) == ()
    (tmp_path / "diary.csv").write_text("\n \n")
    assert read_diary(tmp_path) == ()
    assert parse_readings("date,zone\n") == ()


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("date,zone,height\n", 1, "unknown column 'height'"),
        ("zone,height_mm\nfront,3\n", 1, "no column 'date'"),
        ("date,zone,zone\n", 1, "two columns"),
        ("date,zone,height_mm\n2026-06-10,front,45\n2026-06-31,front,45\n", 3, "date"),
        ("date,zone,height_mm\n10/06/2026,front,45\n", 2, "2026-06-03"),
        ("date,zone,height_mm\n\n,front,45\n", 3, "no date"),
        ("date,zone,height_mm\n2026-06-10,front,tall\n", 2, "'tall' is not a number"),
        ("date,zone,height_mm\n2026-06-10,front,nan\n", 2, "not a number"),
        ("date,zone,height_mm\n2026-06-10,front,-3\n", 2, "height_mm"),
        ("date,zone,height_mm\n2026-06-10,front,9000\n", 2, "height_mm"),
        ("date,zone,firm\n2026-06-10,front,perhaps\n", 2, "yes or no"),
        ("date,height_mm,height_in\n2026-06-10,45,1.5\n", 2, "both"),
        ("date,zone,note\n2026-06-10,front,soft, wet\n", 2, "double quotes"),
        ('date,note\n2026-06-10,"one\ntwo"\n2026-06-11,x,y\n', 4, "cells"),
    ],
)
def test_a_fault_is_one_line_with_its_place(tmp_path, text, line, words):
    (tmp_path / "readings.csv").write_text(text)
    with pytest.raises(FileError) as caught:
        read_readings(tmp_path)
    message = str(caught.value)
    assert f"readings.csv:{line}:" in message and words in message and "\n" not in message
    assert caught.value.remedy


def test_a_file_that_is_no_text(tmp_path):
    (tmp_path / "readings.csv").write_bytes(b"\xff\xfe\x00\x01date")
    with pytest.raises(FileError, match="UTF-8"):
        read_readings(tmp_path)


def test_diary_words():
    text = "date,what,amount,note\n2026-06-09,Rain,12 mm,\n2026-06-02,watered,,\n2026-06-10,mowed,,first\n"
    rows = parse_diary(text)
    assert [row.what for row in rows] == ["watered", "rain", "mowed"]
    assert rows[1].amount == "12 mm"
    assert days_since_water(rows, DAY) == 1
    assert days_since_water(rows, dt.date(2026, 6, 5)) == 3
    assert days_since_water(rows, dt.date(2026, 6, 1)) is None


def test_an_unknown_diary_word_names_the_known_ones():
    with pytest.raises(FileError, match=r"diary\.csv:2: what: .*'watered'.*'danced'"):
        parse_diary("date,what\n2026-06-09,danced\n")
