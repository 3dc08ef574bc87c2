"""The forecast against published recoveries of bermudagrass.

NTEP bermudagrass test bg07, table 6C, Gainesville FL: percent living ground cover after traffic stopped,
https://ntep.org/data/bg07/bg07_10-4/bg0710t06c.txt. Least significant differences between plots are 10 to 15 points, so
one rating errs by about 4 (LSD = 2.8 standard errors of a three-plot mean).
"""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from swardmark.bank.bank import draw_bank
from swardmark.forecast.rows import FLAGGED, ZoneSeries
from swardmark.forecast.weigh import fit_recovery
from swardmark.lawn.toml import Lawn, Leveling
from swardmark.mowing.outlook import outlook

SPRING_DAYS = (0, 7, 14, 21, 28)  # from 10 April 2009
SPRING = {  # name: ratings, and the published series' half-way day and 90 % day by a logistic with ceiling 100 %
    "Midlawn": ((18.3, 21.3, 41.7, 57.3, 71.7), 18.13, 41.1),
    "OKC 1119": ((46.3, 56.3, 78.3, 87.3, 94.0), 2.54, 24.1),
    "OKC 1134": ((40.7, 51.3, 78.3, 88.0, 97.0), 4.49, 22.8),
    "Patriot": ((22.3, 26.3, 43.3, 63.3, 81.0), 15.62, 37.0),
    "Premier": ((30.7, 43.3, 66.7, 79.0, 88.7), 8.38, 29.0),
    "Tifway": ((45.7, 50.7, 74.0, 84.3, 94.0), 3.78, 26.8),
}
WINTER_DAYS = (0, 8, 15, 22, 29, 43, 51)  # from 24 November 2008
WINTER = {
    "Tifway": (2.3, 1.0, 1.3, 3.3, 13.7, 41.0, 45.0),
    "Midlawn": (1.0, 0.3, 1.3, 3.7, 6.3, 8.7, 7.0),
    "Patriot": (0.3, 0.3, 1.0, 2.7, 4.3, 16.7, 15.0),
}
BANK = draw_bank("bermudagrass")


def zone_series(days, covers, *, start: dt.date, zone: str) -> ZoneSeries:
    dates = tuple(start + dt.timedelta(days=d) for d in days)
    low, high = (tuple(np.clip(np.array(covers) + side, 0, 100)) for side in (-8, 8))
    return ZoneSeries("main", zone, 5.0, dates, tuple(covers), low, high)


@pytest.mark.parametrize("name", SPRING)
def test_four_ratings_foretell_the_fifth(name):
    covers, *_ = SPRING[name]
    recovery = fit_recovery(np.array(SPRING_DAYS[:4]), np.array(covers[:4]), bank=BANK)
    band = recovery.cover(28.0)
    assert band.low95[0] <= covers[4] <= band.high95[0]
    assert (
        abs(band.median[0] - covers[4]) <= 10.0
    )  # the least difference by which two plots can be told apart


@pytest.mark.parametrize("name", SPRING)
def test_five_ratings_give_the_published_days(name):
    covers, half, ninety = SPRING[name]
    recovery = fit_recovery(np.array(SPRING_DAYS), np.array(covers), bank=BANK)
    if half > 5:
        assert recovery.crossing(50.0).day == pytest.approx(half, abs=2.5)
    full = recovery.crossing(90.0)
    assert full.earliest <= ninety <= full.latest


@pytest.mark.parametrize("name", WINTER)
@pytest.mark.parametrize("photos", [5, 6, 7])
def test_winter_series_are_not_filling_in(name, photos):
    start = dt.date(2008, 11, 24)
    lawn = Lawn(name="Gainesville", grass="bermudagrass", leveling=(Leveling(date=start),))
    series = zone_series(WINTER_DAYS[:photos], WINTER[name][:photos], start=start, zone=name)
    row = outlook([series], lawn=lawn, as_of=series.taken_on[-1]).zones[0]
    assert row.status in FLAGGED
    assert row.chance_full_by_day28 < 0.05


def test_winter_midlawn_is_stalled_at_the_end():
    start = dt.date(2008, 11, 24)
    lawn = Lawn(name="Gainesville", grass="bermudagrass", leveling=(Leveling(date=start),))
    series = zone_series(WINTER_DAYS, WINTER["Midlawn"], start=start, zone="Midlawn")
    assert outlook([series], lawn=lawn, as_of=series.taken_on[-1]).zones[0].status == "stalled"


def test_common_practice_in_hot_weather():
    # Common practice, no source: a watered warm-season lawn in hot weather is ready for its first mow at about day 10,
    # close to full after two weeks and full after four. A series with those dates:
    days, covers = (0, 3, 6, 9, 12, 16, 21, 28), (10.0, 22.0, 44.0, 65.0, 82.0, 92.0, 96.0, 98.0)
    start = dt.date(2026, 6, 20)
    lawn = Lawn(name="hot", grass="bermudagrass", leveling=(Leveling(date=start),))
    tenth = start + dt.timedelta(days=10)
    for photos in (3, 4, 5):
        series = zone_series(days[:photos], covers[:photos], start=start, zone="all of it")
        row = outlook([series], lawn=lawn, as_of=series.taken_on[-1]).zones[0]
        assert row.mow_earliest <= tenth <= row.mow_latest
        assert row.full_on <= start + dt.timedelta(days=28)
    series = zone_series(days, covers, start=start, zone="all of it")
    said = outlook([series], lawn=lawn, as_of=series.taken_on[-1])
    assert said.zones[0].status == "full" and said.whole.status == "full"
    assert said.whole.chance_full_by_day28 > 0.95
