"""The public functions: wrong types of arguments are one line, and a season is a table and one line of its own."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

import swardmark


@pytest.mark.parametrize("as_of", ["2026-06-15", 20260615, dt.datetime(2026, 6, 15)])
def test_a_day_that_is_no_date_is_refused(sample, as_of):
    with pytest.raises(swardmark.SwardmarkError, match=r"as_of: .* is not a date\. Give a datetime\.date"):
        swardmark.measure_covers(sample, as_of=as_of)


@pytest.fixture(scope="module")
def season(measured_sample):
    return swardmark.season_of(swardmark.measure_covers(measured_sample))


WRONG = {
    "a folder": lambda _: swardmark.measure_covers(3),
    "no folder": lambda _: swardmark.read_lawn(None),
    "workers": lambda s: swardmark.measure_covers(s.lawn.folder, workers="2"),
    "no workers": lambda s: swardmark.measure_covers(s.lawn.folder, workers=0),
    "a folder for covers": lambda s: swardmark.season_of(s.lawn.folder),
    "a path for pixels": lambda _: swardmark.cover_straight_down("photo.jpg"),
    "gray pixels": lambda _: swardmark.cover_straight_down(np.zeros((4, 4), np.uint8)),
    "floats": lambda _: swardmark.cover_straight_down(np.zeros((4, 4, 3))),
    "a number for a photo": lambda _: swardmark.read_photo(3),
    "a number to check": lambda _: swardmark.check_photo(3),
    "a practice folder": lambda _: swardmark.draw_practice_lawn(3),
    "a folder to plan": lambda s: swardmark.relevel_plan_of(s.lawn.folder),
    "a number for a budget": lambda s: swardmark.relevel_plan_of(s, budget=300),
    "text for money": lambda _: swardmark.Budget(money="300"),
    "text for an area": lambda _: swardmark.sand_order(area_m2="60", depth_mm=6.0),
    "a folder for a trial": lambda s: swardmark.trial_of(s.lawn.folder),
    "a folder to report": lambda s: swardmark.write_report(s.lawn.folder, folder="."),
    "a report's folder": lambda s: swardmark.write_report(s, folder=3),
}


@pytest.mark.parametrize("wrong", WRONG.values(), ids=WRONG)
def test_wrong_types_end_in_one_line_that_says_what_to_give(season, wrong):
    with pytest.raises(swardmark.SwardmarkError, match=r"\. (Give|Draw) ") as caught:
        wrong(season)
    assert "\n" not in str(caught.value)


def test_what_is_read_later_is_not_taken_for_missing_where_the_working_folder_changed(
    measured_sample, monkeypatch, tmp_path
):
    """Heights that are not found would count as none, and the plan would be another one, without a word."""
    monkeypatch.chdir(measured_sample.parent)
    covers = swardmark.measure_covers(measured_sample.name)
    season = swardmark.season_of(covers)
    monkeypatch.chdir(tmp_path)
    for late in (lambda: season.level, lambda: season.relevel, lambda: swardmark.season_of(covers)):
        with pytest.raises(swardmark.SwardmarkError, match="the lawn folder is not there"):
            late()
    monkeypatch.chdir(measured_sample.parent)
    assert not season.level.is_empty


def test_a_season_is_one_line_and_one_table(sample):
    season = swardmark.season_of(swardmark.measure_covers(sample))
    assert "\n" not in repr(season)
    assert len(repr(season)) < 120
    assert season.lawn.name in repr(season)
    table = season.to_frame()
    assert len(table) == len(season.covers)
    assert list(table.cover_pct) == pytest.approx([row.cover.cover_pct for row in season.covers], nan_ok=True)
    assert ((table.low_pct <= table.cover_pct) & (table.cover_pct <= table.high_pct)).all()
