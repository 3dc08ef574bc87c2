"""The public functions: wrong types of arguments are one line, and a season is a table and one line of its own."""

from __future__ import annotations

import datetime as dt

import pytest

import swardmark


@pytest.mark.parametrize("as_of", ["2026-06-15", 20260615, dt.datetime(2026, 6, 15)])
def test_a_day_that_is_no_date_is_refused(sample, as_of):
    with pytest.raises(swardmark.SwardmarkError, match=r"as_of: .* is not a date\. Give a datetime\.date"):
        swardmark.measure_covers(sample, as_of=as_of)


def test_a_season_is_one_line_and_one_table(sample):
    season = swardmark.season_of(swardmark.measure_covers(sample))
    assert "\n" not in repr(season)
    assert len(repr(season)) < 120
    assert season.lawn.name in repr(season)
    table = season.to_frame()
    assert len(table) == len(season.covers)
    assert list(table.cover_pct) == pytest.approx([row.cover.cover_pct for row in season.covers], nan_ok=True)
    assert ((table.low_pct <= table.cover_pct) & (table.cover_pct <= table.high_pct)).all()
