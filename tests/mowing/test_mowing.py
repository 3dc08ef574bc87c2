"""The way back up to the usual height: never more than a third of the leaf, never long without a mowing."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.common.units import format_cut
from swardmark.lawn.grasses import GRASSES
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.lawn.toml import Lawn, Leveling, Mowing
from swardmark.mowing.rows import FirstMow
from swardmark.mowing.third import Mower, share_taken
from swardmark.mowing.wayup import LEAST_CUT_MM, growth_from, lawn_way_up, way_up

DAY = dt.date(2026, 6, 12)
ZERO = DAY - dt.timedelta(days=11)
heights = st.floats(10, 120)


@given(
    leaf=heights,
    cut=heights,
    usual=heights,
    growth=st.floats(0.3, 8),
    notch=st.floats(3, 9),
    lowest=st.floats(5, 40),
)
def test_no_schedule_takes_over_a_third_or_rests_over_a_week_or_cuts_below_the_grass(
    leaf, cut, usual, growth, notch, lowest
):
    steps = way_up(
        DAY,
        leaf_mm=leaf,
        cut_mm=cut,
        usual_mm=usual,
        growth_mm_per_day=growth,
        mower=Mower(notch),
        lowest_mm=lowest,
    )
    for step in steps:
        assert share_taken(step.leaf_mm, step.cut_mm) <= 1 / 3 + 1e-9
        assert step.cut_mm >= lowest
    for before, after in pairwise(steps):
        gap = (after.on - before.on).days
        assert gap >= 1
        assert after.leaf_mm == pytest.approx(before.cut_mm + growth * gap)
        if 7 * growth > notch + LEAST_CUT_MM:
            assert gap <= 7


@given(
    leaf=heights,
    target=heights,
    usual=heights,
    grass=st.sampled_from(sorted(GRASSES)),
    notches=st.lists(st.floats(10, 100), max_size=9),
    mowed=st.lists(st.integers(1, 11), max_size=4),
)
def test_the_same_holds_for_a_lawn_with_its_diary_and_its_mowers_notches(
    leaf, target, usual, grass, notches, mowed
):
    lawn = Lawn(
        name="ours",
        grass=grass,
        leveling=(Leveling(date=ZERO),),
        mowing=Mowing(usual_height_mm=usual, target_height_mm=target, notches_mm=tuple(notches)),
    )
    diary = [DiaryEntry(date=ZERO + dt.timedelta(days=day), what="mowed") for day in mowed]
    rows = [Reading(date=DAY, height_mm=leaf)]
    steps = lawn_way_up(mow(DAY), lawn=lawn, zero=ZERO, as_of=DAY, readings=rows, diary=diary)
    for step in steps:
        assert step.on >= DAY
        assert share_taken(step.leaf_mm, step.cut_mm) <= 1 / 3 + 1e-9
        assert step.cut_mm >= min(usual, GRASSES[grass].lowest_mm.value) - 1e-9


def test_from_45_to_70_mm_at_two_and_a_half_a_day():
    # by hand: a mowing every 6 days, one notch of 6 mm up each time, the last one cut short by the usual height;
    # 12 to 14 % of the leaf come off (common practice, no source)
    steps = way_up(DAY, leaf_mm=67.5, cut_mm=45, usual_mm=70, growth_mm_per_day=2.5, mower=Mower(6.0))
    assert [(step.on - DAY).days for step in steps] == [0, 6, 12, 18, 24, 30]
    assert [step.cut_mm for step in steps] == pytest.approx([45, 51, 57, 63, 69, 70])
    assert all(0.10 < share_taken(s.leaf_mm, s.cut_mm) < 0.18 for s in steps[1:])


def test_the_mowers_own_notches():
    mower = Mower(notches_mm=(25, 32, 38, 44))
    steps = way_up(DAY, leaf_mm=40, cut_mm=25, usual_mm=44, growth_mm_per_day=2.5, mower=mower)
    assert [step.cut_mm for step in steps] == [32, 38, 44]


def test_coming_down_from_a_long_leaf():
    steps = way_up(DAY, leaf_mm=90, cut_mm=30, usual_mm=30, growth_mm_per_day=2.5)
    assert steps[0].cut_mm == pytest.approx(60.0)
    assert steps[-1].cut_mm == pytest.approx(30.0, abs=0.5)
    assert [step.cut_mm for step in steps] == sorted((step.cut_mm for step in steps), reverse=True)


def test_at_the_usual_height_at_once():
    assert len(way_up(DAY, leaf_mm=45, cut_mm=30, usual_mm=30, growth_mm_per_day=2.0)) == 1


def reading(day, mm):
    return Reading(date=DAY + dt.timedelta(days=day), height_mm=mm)


def mowed(day, amount=""):
    return DiaryEntry(date=DAY + dt.timedelta(days=day), what="mowed", amount=amount)


def test_growth_from_the_keepers_readings():
    rows = (reading(-9, 20), reading(-6, 30), reading(-6, 34), reading(-2, 40))
    assert growth_from(rows, since=DAY - dt.timedelta(days=9), until=DAY) == pytest.approx(2.0)
    assert growth_from(rows[-1:], since=DAY - dt.timedelta(days=9), until=DAY) is None
    assert growth_from((reading(-4, 40), reading(-2, 30)), since=ZERO, until=DAY) is None  # mown between
    shade, sun = (
        reading(day, mm).model_copy(update={"zone": zone})
        for day, mm, zone in ((-4, 30, "shade"), (-2, 60, "sun"))
    )
    assert growth_from((shade, sun), since=ZERO, until=DAY) is None  # two places, and not 8 mm a day


def mow(on):
    return FirstMow(False, "", on, on, on, 3, 0.9, (), (), "")


def lawn_of(grass="bermudagrass", **settings):
    heights = {"usual_height_mm": 40, "target_height_mm": 25} | settings
    return Lawn(name="ours", grass=grass, leveling=(Leveling(date=ZERO),), mowing=Mowing(**heights))


def test_a_lawns_way_up_needs_heights_and_a_date():
    as_of = DAY - dt.timedelta(days=3)
    steps = lawn_way_up(mow(DAY), lawn=lawn_of(), zero=ZERO, as_of=as_of)
    assert steps[0].on == DAY and steps[-1].cut_mm == 40
    assert lawn_way_up(mow(None), lawn=lawn_of(), zero=ZERO, as_of=as_of) == ()
    bare = lawn_of().model_copy(update={"mowing": Mowing()})
    assert lawn_way_up(mow(DAY), lawn=bare, zero=ZERO, as_of=as_of) == ()
    tall = lawn_way_up(mow(DAY), lawn=lawn_of(), zero=ZERO, as_of=as_of, readings=(reading(-4, 80),))
    assert tall[0].leaf_mm == pytest.approx(90.0) and tall[0].cut_mm == pytest.approx(60.0)


def test_the_way_up_begins_when_the_leaf_is_there_too():
    """A cut to 25 mm is due at 37.5 (one-third rule): 30 mm growing 2.5 a day stands there in three days."""
    short = (Reading(date=DAY, height_mm=30),)
    first = lawn_way_up(mow(DAY), lawn=lawn_of(), zero=ZERO, as_of=DAY, readings=short)[0]
    assert (first.on - DAY).days == 3 and first.leaf_mm == pytest.approx(37.5)
    tall = (Reading(date=DAY, height_mm=38),)
    assert lawn_way_up(mow(DAY), lawn=lawn_of(), zero=ZERO, as_of=DAY, readings=tall)[0].on == DAY


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_mowing_on_the_way_up_takes_something_that_a_ruler_shows(units):
    """Slow grass was once mown at 33 mm where its leaf stood near 33 mm."""
    for grass in GRASSES:
        steps = lawn_way_up(mow(DAY), lawn=lawn_of(grass), zero=ZERO, as_of=DAY, diary=(mowed(0),))
        for step in steps:
            leaf, cut = format_cut(step.leaf_mm, step.cut_mm, units=units)
            assert leaf != cut, (grass, step)


def test_mowings_in_the_diary_count_and_past_ones_go():
    first = lawn_way_up(mow(DAY), lawn=lawn_of(), zero=ZERO, as_of=DAY, diary=(mowed(0),))
    assert [(s.on - DAY).days for s in first] == [6, 12, 18]
    assert [s.cut_mm for s in first] == pytest.approx([31.35, 37.7, 40])
    later = DAY + dt.timedelta(days=6)
    second = lawn_way_up(mow(DAY), lawn=lawn_of(), zero=ZERO, as_of=later, diary=(mowed(0), mowed(6)))
    assert [s.cut_mm for s in second] == pytest.approx([37.7, 40])
    said = lawn_way_up(mow(DAY), lawn=lawn_of(), zero=ZERO, as_of=DAY, diary=(mowed(0, "35 mm"),))
    assert [s.cut_mm for s in said] == pytest.approx([40])  # 41.35 would be above the usual height
    done = lawn_way_up(mow(DAY), lawn=lawn_of(), zero=ZERO, as_of=DAY, diary=(mowed(0, "40 mm"),))
    assert done == ()


def test_a_mowing_that_was_missed_is_due_today_and_takes_no_more_than_a_third():
    late = DAY + dt.timedelta(days=12)
    steps = lawn_way_up(mow(DAY), lawn=lawn_of(), zero=ZERO, as_of=late, diary=(mowed(0),))
    assert steps[0].on == late
    assert steps[0].leaf_mm == pytest.approx(25 + 2.5 * 12)
    assert steps[0].cut_mm == pytest.approx(55 / 1.5)
    slow = lawn_of(
        "centipedegrass", notch_mm=12.7
    )  # 0.7 mm a day: 23 days for a notch of 1/2 in and 1/8 in to cut
    (first, *_) = lawn_way_up(mow(DAY), lawn=slow, zero=ZERO, as_of=DAY, diary=(mowed(0),))
    assert (first.on - DAY).days == 23
    due = lawn_way_up(mow(DAY), lawn=slow, zero=ZERO, as_of=first.on, diary=(mowed(0),))
    assert due[0].on == first.on, "it was once forgotten before it was due"
    forgotten = DAY + dt.timedelta(days=20)  # whoever notes nothing for so long mows without noting it
    assert lawn_way_up(mow(DAY), lawn=lawn_of(), zero=ZERO, as_of=forgotten, diary=(mowed(0),)) == ()
