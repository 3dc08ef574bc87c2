"""The calendar before the sand."""

import datetime as dt
import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.errors import UsageError
from swardmark.outlook.preparation import lowering_heights, preparation_calendar

DAY = dt.date(2026, 6, 3)
HEIGHTS = st.floats(8, 120)


@given(usual=HEIGHTS, scalp=HEIGHTS)
def test_no_cut_takes_more_than_a_third(usual, scalp):
    # one-third rule: University of Florida IFAS, mowing tips for Clay County
    heights = lowering_heights(usual, scalp)
    if usual <= scalp:
        assert heights == ()
        return
    assert heights[-1] == scalp
    for before, after in itertools.pairwise((usual, *heights)):
        assert before * (2 / 3) * (1 - 1e-6) <= after < before


def test_from_60_to_20_mm_takes_three_cuts():
    # 60 -> 41.6 -> 28.8 -> 20: two cuts of a third would only reach 26.7
    assert lowering_heights(60, 20) == pytest.approx((41.6, 28.8, 20.0), abs=0.05)


@given(usual=HEIGHTS, scalp=HEIGHTS)
def test_cuts_are_days_apart_and_end_before_the_sand(usual, scalp):
    rows = preparation_calendar(DAY, usual_mm=usual, scalp_mm=scalp)
    assert list(rows) == sorted(rows, key=lambda row: row.date)
    cuts = [row.date for row in rows if row.height_mm is not None]
    assert all((b - a).days >= 3 for a, b in itertools.pairwise(cuts))
    assert all(day < DAY for day in cuts)
    if len(cuts) > 1:
        assert (DAY - cuts[0]).days >= 14


def test_every_row_has_its_caution_and_no_row_a_rate():
    rows = preparation_calendar(DAY, usual_mm=60, scalp_mm=20)
    assert all(row.caution for row in rows)
    feeding = next(row for row in rows if "feeding" in row.what)
    assert "label" in feeding.caution
    assert not any(char.isdigit() for char in feeding.what + feeding.caution)
    assert "811" in next(row for row in rows if "Mark" in row.what).caution
    assert rows[-1].date == DAY
    assert "damp" in rows[-1].caution


def test_heights_are_printed_in_the_keepers_units():
    rows = preparation_calendar(DAY, usual_mm=50.8, scalp_mm=25.4, units="us")
    assert [row.what for row in rows if row.height_mm][-1].startswith("Mow at 1 in")


def test_without_heights_the_reminders_remain():
    rows = preparation_calendar(DAY, usual_mm=None, scalp_mm=20)
    assert rows
    assert all(row.height_mm is None for row in rows)


@pytest.mark.parametrize("heights", [(0, 20), (60, -1), (float("nan"), 20)])
def test_heights_that_cannot_be_are_refused(heights):
    with pytest.raises(UsageError):
        lowering_heights(*heights)
