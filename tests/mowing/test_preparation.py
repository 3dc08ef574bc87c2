"""The calendar before the sand."""

import datetime as dt
import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.common.errors import UsageError
from swardmark.mowing.preparation import lowering_cuts, preparation_calendar
from swardmark.mowing.third import Mower

DAY = dt.date(2026, 6, 3)
HEIGHTS = st.floats(8, 120)


def leaf_after(height_mm, days):
    """Common practice, no source: 2.5 mm a day in season, and of short grass no more than a fifth of it."""
    return height_mm + days * min(2.5, 0.2 * height_mm)


@given(usual=HEIGHTS, scalp=HEIGHTS)
def test_no_cut_takes_more_than_a_third_of_the_leaf_as_it_has_grown(usual, scalp):
    # one-third rule: University of Florida IFAS, mowing tips for Clay County
    cuts = lowering_cuts(usual, scalp)
    if usual <= scalp:
        assert cuts == ()
        return
    assert (cuts[0].height_mm, cuts[-1].height_mm) == (usual, scalp)
    assert cuts[-1].days_before == 1
    for before, after in itertools.pairwise(cuts):
        leaf = leaf_after(before.height_mm, before.days_before - after.days_before)
        assert after.leaf_mm == pytest.approx(leaf)
        assert leaf * (2 / 3) * (1 - 1e-9) <= after.height_mm < before.height_mm


@pytest.mark.parametrize(("target_in", "leaf_in"), [(1, 1.5), (2, 3), (3, 4.5)])
def test_the_leaf_is_never_higher_than_the_table_of_mowing_heights_has_it(target_in, leaf_in):
    # J. Sorochan, University of Tennessee: the leaf height at which each height of cut is due;
    # greenindustrypros.com/mowing-maintenance/mowing/article/11305773/suggested-mowing-heights
    first, *_, last = lowering_cuts(1.8 * 25.4 * target_in, 25.4 * target_in)
    assert last.leaf_mm <= 25.4 * leaf_in
    assert first.leaf_mm / first.height_mm == pytest.approx(leaf_in / target_in)


def test_from_60_to_20_mm():
    # by hand, two days apart at 2.5 mm a day and a third at most: 60 -> 65 -> 43.3 -> 48.3 -> 32.2 -> 37.2 -> 24.8
    # -> 29.8 -> 19.9, so four cuts reach 20 mm; three days apart 60, 45, 35, 28.3, 23.9 do not
    cuts = lowering_cuts(60, 20)
    assert [cut.days_before for cut in cuts] == [9, 7, 5, 3, 1]
    assert [cut.height_mm for cut in cuts] == pytest.approx([60, 43.4, 32.3, 24.9, 20], abs=0.1)


@pytest.mark.parametrize(
    ("notches", "usual", "scalp", "days", "heights"),
    [
        # a third at most (as above) of a leaf that grows 2.5 mm a day. 51 -> 61 (40.7) -> 41 -> 48.5 (32.3) -> 33 -> 38
        # (25.3) -> 26 -> 28.5 (19) -> 20; with any longer gap the next height would be too low
        ((20, 26, 33, 41, 51), 51, 20, [11, 7, 4, 2, 1], [51, 41, 33, 26, 20]),
        # 64 -> 51 -> 38, whose leaf of the next day, 40.5, may be cut to 27: not to 25
        ((25, 38, 51, 64), 64, 20, None, [64, 51, 38]),
        ((25, 50), 50, 25, [1], [50]),
        ((40, 50), 40, 20, [1], [40]),  # nothing lower at all
        # none of the heights is as high as the scalp: it is the end itself; 60 -> 67.5 (45)
        ((20, 26), 60, 45, [4, 1], [60, 45]),
    ],
)
def test_a_mower_with_heights_of_its_own(notches, usual, scalp, days, heights):
    cuts = lowering_cuts(usual, scalp, mower=Mower(notches_mm=notches))
    assert [cut.height_mm for cut in cuts] == heights
    assert days is None or [cut.days_before for cut in cuts] == days


@given(usual=HEIGHTS, scalp=HEIGHTS, notches=st.lists(HEIGHTS, min_size=1, max_size=12))
def test_no_height_of_a_mower_takes_more_than_a_third(usual, scalp, notches):
    mower = Mower(notches_mm=tuple(sorted(notches)))
    cuts = lowering_cuts(usual, scalp, mower=mower)
    assert all(cut.height_mm in {*notches, mower.at_least(scalp)} for cut in cuts[1:])
    for before, after in itertools.pairwise(cuts):
        leaf = leaf_after(before.height_mm, before.days_before - after.days_before)
        assert after.leaf_mm == pytest.approx(leaf)
        assert leaf * (2 / 3) * (1 - 1e-6) <= after.height_mm < before.height_mm
    assert not cuts or (cuts[-1].days_before, cuts[0].days_before <= 14) == (1, True)


def test_a_mower_that_gets_no_lower_is_told():
    for notches in ((25, 38, 51, 64), (64, 70)):
        rows = preparation_calendar(DAY, usual_mm=64, scalp_mm=20, mower=Mower(notches_mm=notches))
        assert [row.why for row in rows if row.height_mm][-1].startswith("The mower has no lower height")


def test_two_cuts_a_day_apart_are_not_a_cut_every_day():
    mower = Mower(notches_mm=(20, 26, 33, 41, 51))
    rows = preparation_calendar(DAY, usual_mm=51, scalp_mm=20, mower=mower)
    assert not any(row.why.startswith("A cut every day") for row in rows)


@given(usual=HEIGHTS, scalp=HEIGHTS)
def test_cuts_are_evenly_spread_over_two_weeks_and_end_before_the_sand(usual, scalp):
    rows = preparation_calendar(DAY, usual_mm=usual, scalp_mm=scalp)
    assert list(rows) == sorted(rows, key=lambda row: row.date)
    assert (DAY - rows[0].date).days == 14
    cuts = [row.date for row in rows if row.height_mm is not None]
    assert len({(b - a).days for a, b in itertools.pairwise(cuts)}) <= 1
    assert all(day < DAY for day in cuts)


def test_every_row_has_its_caution_and_no_row_a_rate():
    rows = preparation_calendar(DAY, usual_mm=60, scalp_mm=20)
    assert all(row.caution for row in rows)
    feeding = next(row for row in rows if "feeding" in row.what)
    assert "label" in feeding.caution
    assert not any(char.isdigit() for char in feeding.what + feeding.caution)
    assert "811" in next(row for row in rows if "stakes" in row.what).caution
    marking = next(row for row in rows if "Mark the spots" in row.what)
    assert marking.date == max(row.date for row in rows if row.height_mm)  # no mark is mown over
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
        lowering_cuts(*heights)
