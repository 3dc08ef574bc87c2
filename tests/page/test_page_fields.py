"""What is entered and said in words: decimals, thousands, fractions of an inch, emptied fields, days and spots.

1 inch = 25.4 mm, 1 sq ft = 0.09290304 m² and 1 cu yd = 0.764554857984 m³ exactly (NIST SP 811, 2008, appendix B).
"""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace

import pytest

from swardmark.common.errors import UsageError
from swardmark.lawn.readings import Reading
from swardmark.lawn.toml import parse_lawn
from swardmark.page.places.fields import (
    GROUPS,
    leveling_depth_text,
    read_leveling_depth,
    read_number,
    whole_number,
)
from swardmark.page.places.leveling import own_price_text, price_tried
from swardmark.page.places.notes import _reading_words
from swardmark.page.sharing.handing_out import day_words

SETTINGS = {setting.name: setting for group in GROUPS.values() for setting in group}
LAWNS = {units: parse_lawn(f'name = "x"\nunits = "{units}"\n') for units in ("metric", "us")}


@pytest.mark.parametrize(
    ("name", "units", "text", "value"),
    [
        ("area_m2", "us", "1,500", 1500 * 0.09290304),
        ("area_m2", "us", "1500 sq ft", 1500 * 0.09290304),
        ("area_m2", "metric", "62,5", 62.5),
        ("area_m2", "metric", "1,500", 1500.0),
        ("sand.price_per_m3", "us", "1,250", 1250 / 0.764554857984),
        ("mowing.target_height_mm", "us", "1 1/2", 38.1),
        ("mowing.target_height_mm", "us", "3/4 in", 19.05),
        ("mowing.target_height_mm", "metric", "12,5", 12.5),
        ("mowing.target_height_mm", "metric", "6,350", 6.35),
        ("mowing.notches_mm", "us", "1/2 3/4, 1, 1 1/4", [12.7, 19.05, 25.4, 31.75]),
        ("mowing.notches_mm", "us", "1,1.5", [25.4, 38.1]),
        ("mowing.notches_mm", "metric", "20, 26,5; 33", [20.0, 26.5, 33.0]),
        ("sand.passes_per_season", "metric", "", None),
        ("sand.passes_per_season", "metric", "3", 3),
    ],
)
def test_numbers_are_read_as_keepers_write_them(name, units, text, value):
    setting, lawn = SETTINGS[name], LAWNS[units]
    assert whole_number(setting, setting.read(text, lawn)) == pytest.approx(value, abs=6e-4)


@pytest.mark.parametrize("text", ["nan", "inf", "1e3", "1_0", "1/0", "1,2,3", "ten", "$40", "1" * 400])
def test_what_is_no_number_is_refused_with_its_field(text):
    with pytest.raises(UsageError, match=r"^Height: .* is not a number\. Write digits alone\.$"):
        read_number(text, where="Height", thousands=True)


def test_a_leveling_keeps_the_depth_that_nobody_changed():
    us = LAWNS["us"]
    assert leveling_depth_text(6.0, us) == "0.24" and read_leveling_depth("0.24", us, was_mm=6.0) == 6.0
    assert leveling_depth_text(3.175, us) == "0.125"
    assert read_leveling_depth("1/4", us, was_mm=6.0) == pytest.approx(6.35)
    assert read_leveling_depth(" ", us, was_mm=6.0) is None
    with pytest.raises(UsageError, match=r"^Mean depth, in: 'deep' is not a number"):
        read_leveling_depth("deep", us, was_mm=None)


def test_an_untouched_price_is_the_lawns_own_and_not_rounded():
    lawn = parse_lawn('name = "x"\nunits = "us"\n[sand]\nprice_per_m3 = 52.3216\n')
    assert own_price_text(lawn, us=True) == "40.00"
    assert price_tried("40.00", lawn, us=True) is None
    assert price_tried("45", lawn, us=True) == pytest.approx(45 / 0.764554857984)
    assert price_tried("1,250", lawn, us=False) == 1250.0
    assert price_tried("45", lawn, us=False) == 45.0 and price_tried("", lawn, us=True) is None


def test_depths_of_two_spots_can_be_told_apart():
    said = [
        _reading_words(Reading(date=dt.date(2026, 6, 9), dip_mm=12, spot=spot), LAWNS["metric"])
        for spot in ("3", "")
    ]
    assert said == ["9 June, spot 3 12 mm low", "9 June, 12 mm low"]


@pytest.mark.parametrize(
    ("leveled", "days", "words"),
    [
        (True, 1, "covered, 1 day after the sand"),
        (True, 9, "covered, 9 days after the sand"),
        (False, 9, "covered, 9 days after the first photo"),
    ],
)
def test_the_picture_says_since_when(leveled, days, words):
    zero = dt.date(2026, 6, 3)
    lawn = parse_lawn('name = "x"\n' + ("[[leveling]]\ndate = 2026-06-03\n" if leveled else ""))
    season = SimpleNamespace(lawn=lawn, day_zero=zero, as_of=zero + dt.timedelta(days=days))
    assert day_words(season) == words
