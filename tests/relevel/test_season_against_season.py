"""This season against the last on the same day, and what cannot be compared."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from types import SimpleNamespace

import pytest

from swardmark.lawn.toml import Lawn, Leveling
from swardmark.relevel.advice import plan_sentences
from swardmark.relevel.planning import plan_from_searches
from swardmark.relevel.seasons import SeasonsOnADay, against_last_season, is_second_sand
from swardmark.relevel.spots import SpotSearch

THEN, NOW = dt.date(2025, 6, 3), dt.date(2026, 6, 3)
LAWN = Lawn(name="Tern Cottage", grass="zoysiagrass", leveling=(Leveling(date=THEN), Leveling(date=NOW)))
GROUND = ((-3.0, -1.0), (4.0, -1.0), (4.0, 5.0), (-3.0, 5.0))


def covers(zero, *rows):
    """Rows are (day, cover, area, zone)."""
    return [
        SimpleNamespace(
            taken_at=dt.datetime.combine(zero, dt.time(10)) + dt.timedelta(days=day),
            day=day,
            point="main",
            zone=zone,
            cover=SimpleNamespace(cover_pct=cover, area_m2=area),
        )
        for day, cover, area, zone in rows
    ]


def season(*parts):
    return SimpleNamespace(lawn=LAWN, covers=[row for part in parts for row in part])


def test_covers_of_one_day_weighed_by_area():
    then = covers(
        THEN, (21, 40.0, 1.0, "a"), (27, 70.0, 3.0, "a"), (27, 30.0, 1.0, "b"), (40, 99.0, 4.0, "a")
    )
    now = covers(NOW, (14, 20.0, 4.0, "a"), (28, 80.0, 1.0, "b"), (28, 64.0, 3.0, "a"))
    found = against_last_season(season(then, now))
    # by hand: (80 + 3 * 64) / 4 = 68; (3 * 70 + 30) / 4 = 60, from day 27, one day off
    assert (found.day, found.now_pct, found.then_pct) == (28, pytest.approx(68), pytest.approx(60))


def test_only_zones_that_both_seasons_show_are_compared():
    then = covers(THEN, (28, 40.0, 1.0, "front"), (27, 80.0, 2.0, "back"))
    found = against_last_season(season(then, covers(NOW, (28, 85.0, 2.0, "back"), (28, 20.0, 1.0, "new"))))
    assert (found.now_pct, found.then_pct) == (85.0, 80.0)
    assert against_last_season(season(then, covers(NOW, (28, 20.0, 1.0, "new")))).then_pct is None


def test_a_day_that_last_season_has_no_photo_near_is_not_compared():
    now = covers(NOW, (28, 80.0, 1.0, "a"))
    found = against_last_season(season(covers(THEN, (10, 40.0, 1.0, "a")), now))
    assert found.then_pct is None
    assert against_last_season(season(now)) is None


def test_two_photos_of_a_zone_on_a_day_weigh_as_one():
    then = covers(THEN, (28, 40.0, 1.0, "a"), (28, 80.0, 1.0, "b"))
    now = covers(NOW, (28, 40.0, 1.0, "a"), (28, 40.0, 1.0, "a"), (28, 80.0, 1.0, "b"))
    found = against_last_season(season(then, now))
    assert (found.now_pct, found.then_pct) == (60.0, 60.0)


def told(against, note="", **known):
    searches = [SpotSearch("main", (), (GROUND,), 42.0, 95.0, 9.0, note=note)]
    plan = replace(plan_from_searches(searches, LAWN, earlier=[searches]), **known)
    return " ".join(plan_sentences(plan.__class__(**{**vars(plan), "against": against})))


def test_two_passes_of_one_summer_are_no_two_seasons():
    """June and mid-August (C. Waltz, University of Georgia); the first pass was once called last season."""
    said = told(SeasonsOnADay(21, 48.0, 61.0, 3), is_second_sand=True)
    assert (
        "On day 21: 48 % after this sand, 61 % after the sand before; there were no spots after the sand before"
        in said
    )
    assert "season," not in said
    assert is_second_sand([THEN, NOW, NOW + dt.timedelta(days=72)])
    assert not is_second_sand([THEN, NOW]) and not is_second_sand([NOW])


def test_it_is_one_sentence_and_says_what_cannot_be_compared():
    assert (
        "On day 28: 68 % this season, 61 % last season; there were no spots last season, and 0 are new."
        in told(SeasonsOnADay(28, 68.0, 61.0, 3))
    )
    assert "no photo within 3 days of day 28" in told(SeasonsOnADay(28, 68.0, None, 3))
    early = told(SeasonsOnADay(28, 40.0, 61.0, 3), note="the lawn itself is only 40 % covered")
    assert "On day 28: 40 % this season, 61 % last season." in early and "spots last season" not in early
