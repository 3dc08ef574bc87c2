"""weather.csv and GHCN-Daily files, units and faults."""

from __future__ import annotations

import pytest

from swardmark.common.errors import FileError
from swardmark.lawn.weather import growing_degree_days, parse_weather, read_weather


@pytest.mark.parametrize(
    "text",
    [
        "date,tmin_c,tmax_c\n2026-06-01,15,25\n",
        "date,tmin_f,tmax_f\n2026-06-01,59,77\n",
        "date,tmin,tmax,unit\n2026-06-01,59,77,F\n",
        "date,tmin,tmax,unit\n2026-06-01,15,25,°C\n",
        "Date;TMin_C;TMax_C\n2026-06-01;15,0;25,0\n",
    ],
)
def test_every_way_of_stating_the_unit(text):
    (day,) = parse_weather(text).days
    assert (day.tmin_c, day.tmax_c) == pytest.approx((15.0, 25.0))


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("date,tmin,tmax\n2026-06-01,15,25\n", 2, "unit of tmin is not stated"),
        ("date,tmin,tmax,unit\n2026-06-01,15,25,K\n", 2, "not stated"),
        ("date,tmin_c,tmax_c\n2026-06-01,15,25\n2026-06-02,26,25\n", 3, "above the highest"),
        ("date,tmin_c,tmax_c\n2026-06-01,15,77\n", 2, "tmax_c"),
        ("date,tmin_c,tmax_c\n2026-06-01,43,59\n2026-06-02,50,59\n", 3, "name the columns tmin_f"),
        ("date,tmin_c,tmax_c,tmax_f\n2026-06-01,15,25,77\n", 2, "two units"),
        ("date,tmin_c,tmax_c\n2026-06-01,15,25\n2026-06-01,15,25\n", 3, "given twice"),
        ("date,tmin_c,tmax_c\nyesterday,15,25\n", 2, "2026-06-03"),
        ("STATION,DATE,TMIN,TMAX\nX,2026-06-01,15,25\n", 1, "unknown column 'station'"),
    ],
)
def test_a_fault_is_one_line_with_its_place(text, line, words):
    with pytest.raises(FileError) as caught:
        parse_weather(text)
    message = str(caught.value)
    assert f"weather.csv:{line}:" in message and words in message and "\n" not in message


def test_days_without_both_temperatures_are_left_out():
    weather = parse_weather("date,tmin_c,tmax_c\n2026-06-02,15,\n2026-06-01,15,25\n2026-06-03,14,24\n")
    assert [day.date.day for day in weather.days] == [1, 3]


def test_no_file_is_no_weather(tmp_path):
    assert read_weather(tmp_path) is None
    (tmp_path / "weather.csv").write_text("date,tmin_c,tmax_c\n2026-06-02,15,25\n")
    assert read_weather(tmp_path).source == "weather.csv"


def ghcn(station, day, low, high, flag=""):
    return f"{station},{day},TMIN,{low},,{flag},S,\n{station},{day},TMAX,{high},,{flag},S,\n"


def test_the_station_with_most_days_is_taken_and_named():
    text = ghcn("USW00012816", "20260601", 200, 310) + ghcn("USW00012816", "20260602", 210, 320)
    weather = parse_weather(ghcn("USC00084731", "20260601", 100, 200) + text)
    assert weather.source == "GHCN-Daily station USW00012816"
    assert [day.tmax_c for day in weather.days] == [31.0, 32.0]


def test_flagged_missing_and_half_days_are_left_out():
    text = (
        ghcn("USW00012816", "20260601", 200, 310)
        + ghcn("USW00012816", "20260602", 200, 310, flag="I")
        + ghcn("USW00012816", "20260603", -9999, 310)
        + "USW00012816,20260604,TMAX,310,,,S,\n"
    )
    assert [day.date.day for day in parse_weather(text).days] == [1]


def test_a_header_and_quotes_do_no_harm():
    text = '"ID","DATE","ELEMENT","DATA_VALUE","M_FLAG","Q_FLAG","S_FLAG","OBS_TIME"\n' + ghcn(
        "USW00012816", "20260601", 200, 310
    ).replace("USW00012816", '"USW00012816"')
    assert len(parse_weather(text).days) == 1


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (ghcn("USW00012816", "20260601", 200, 900), "tenths"),
        (ghcn("USW00012816", "20260601", 200, "x"), "whole number"),
        ("USW00012816,20260601,PRCP,3,,,S,\n", "no TMIN and TMAX"),
        (ghcn("USW00012816", "20260601", 200, 310) + "USW00012816,2026\n", "weather.csv:3"),
        (ghcn("USW00012816", "20261341", 200, 310), "2026-13-41"),
    ],
)
def test_a_broken_station_file(text, words):
    with pytest.raises(FileError, match=words):
        parse_weather(text)


def test_degree_days_are_never_negative():
    assert growing_degree_days([-9, 0], [2, 8], base=10).tolist() == [0.0, 0.0]
