from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from made_season import renamed
from rich.console import Console

from swardmark.common.units import format_area, format_temperature, format_volume
from swardmark.relevel.planning import PointMaps, plan_from_searches, search_seasons
from swardmark.season import Season
from swardmark.words.phrases import gain_text
from swardmark.words.terminal import ASCII_SIGNS, course, show_covers, show_outlook, show_plan


def printed(show, what, *, encoding: str = "utf-8", width: int = 80, **options) -> str:
    raw = io.BytesIO()
    file = io.TextIOWrapper(raw, encoding=encoding, newline="\n", write_through=True)
    show(what, Console(file=file, width=width, **options))
    return raw.getvalue().decode(encoding)


def test_piped_output_is_plain_whole_and_aligned(season: Season) -> None:
    text = printed(show_outlook, season)
    assert "\x1b" not in text and not re.search("[\u2500-\u257f]", text)
    assert text.splitlines()[0] == season.outlook.first_mow.sentence
    lines = [
        line for line in text.splitlines() if line.startswith(("by the gate", "low corner  ", "whole lawn"))
    ]
    assert len(lines) == 3
    assert len({line.index(" %") for line in lines}) <= 2  # one place for one or two digits
    assert "16 Jun (now to 20 Jun)" in lines[0] and "not in sight" in lines[1]
    assert season.outlook.first_mow.caution in text
    assert "Next photo: 18 June." in text


def test_no_color_is_plain_on_a_terminal_too(season: Season, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    text = printed(show_outlook, season, force_terminal=True, width=200)
    assert "\x1b[3" not in text and not re.search("[\u2500-\u257f]", text)


def test_a_terminal_gets_color_and_a_table(season: Season, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    text = printed(show_outlook, season, force_terminal=True, color_system="standard", width=160)
    assert "\x1b[" in text and "─" in text


@pytest.mark.parametrize("width", [60, 80, 99, 100, 120])
@pytest.mark.parametrize("show", [show_outlook, show_covers])
def test_no_table_wraps_on_a_narrow_terminal(season: Season, show, width: int) -> None:
    text = printed(show, season, force_terminal=True, color_system=None, width=width)
    lines = text.splitlines()
    assert max(map(len, lines)) <= width
    gate = next(line for line in lines if line.strip().startswith("by the gate"))
    assert "66 %" in gate and "▁▂▃▆" in gate, "status, cover and course stand on the zone's own line"
    if show is show_outlook:
        assert lines[0].startswith("The first mow is likely"), "the answer comes first"
        assert any(line.startswith("  ") and "cover to mow: 16 Jun (now to 20 Jun)" in line for line in lines)


def test_an_ascii_console_gets_ascii(season: Season) -> None:
    odd = renamed(season, zone="gate 🌱")
    for show in (show_outlook, show_covers):
        text = printed(show, odd, encoding="ascii")
        assert "gate ?" in text
        assert "0136" in text  # 6, 14, 37 and 66 %, as tens


def test_every_sign_of_a_unit_has_its_letters_on_an_ascii_console() -> None:
    printed_units = format_area(60) + format_volume(2) + format_temperature(18)
    assert {sign for sign in printed_units if not sign.isascii()} == {"²", "³", "°"} <= set(ASCII_SIGNS)


def test_a_gain_of_nothing_has_no_minus() -> None:
    assert gain_text(-0.02) == "+0.0 points a day"


def test_covers_are_shown_with_interval_and_view(season: Season) -> None:
    text = printed(show_covers, season)
    assert re.search(r"by the gate +66 % +▁▂▃▆ +61 to 72 % +15 June +58° +1\.7 m²", text)


def test_us_units_in_covers(season: Season) -> None:
    us = replace(season, lawn=season.lawn.model_copy(update={"units": "us"}))
    text = printed(show_covers, us)
    assert "June 15" in text and "sq ft" in text


def test_names_cannot_steer_the_terminal(season: Season) -> None:
    odd = renamed(season, zone="a\x1b[2Jb [red]c[/red]\r\n" + "y" * 150)
    for show in (show_outlook, show_covers):
        for options in ({}, {"force_terminal": True, "color_system": None, "width": 150}):
            text = printed(show, odd, **options)
            assert "\x1b[2J" not in text and "[2Jb [red]c[/red]" in text


def test_the_plan_says_that_nothing_is_to_do(season: Season) -> None:
    point = season.points[0]
    maps = PointMaps("main", point.maps[:1], (0.0,), point.threshold)
    (found,) = search_seasons([[maps]], season.lawn)
    plan = plan_from_searches(found, season.lawn)
    assert "too early to name spots" in printed(show_plan, plan)


@pytest.mark.parametrize(
    ("values", "blocks", "digits"),
    [([0, 50, 100], "▁▅█", "059"), ([float("nan"), 12.4], "▁", "1"), ([], "", ""), ([-3, 120], "▁█", "09")],
)
def test_course(values: list[float], blocks: str, digits: str) -> None:
    assert course(values) == blocks
    assert course(values, unicode=False) == digits
