"""The way back to the usual height: never more than a third of the leaf."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from swardmark.lawn.readings import Reading
from swardmark.lawn.toml import Lawn, Leveling, Mowing
from swardmark.mowing.rows import FirstMow
from swardmark.mowing.wayback import growth_from, lawn_way_back, way_back

DAY = dt.date(2026, 6, 12)
heights = st.floats(10, 120)


@given(leaf=heights, cut=heights, usual=heights, growth=st.floats(0.5, 8))
def test_no_step_takes_more_than_a_third(leaf, cut, usual, growth):
    steps = way_back(DAY, leaf_mm=leaf, cut_mm=cut, usual_mm=usual, growth_mm_per_day=growth)
    for step in steps:
        assert step.cut_mm >= step.leaf_mm * 2 / 3 - 0.11  # both are rounded to a tenth
    assert all(b.on > a.on for a, b in pairwise(steps))


def test_rising_to_the_usual_height():
    # Tennessee table: mow at 1.5 times the height of cut; 20 mm is cut at 30 mm, 26.7 at 40, 35.6 at 53.3, 40 at 60.
    steps = way_back(DAY, leaf_mm=30, cut_mm=20, usual_mm=40, growth_mm_per_day=2.0)
    assert [step.cut_mm for step in steps] == pytest.approx([20, 26.7, 35.6, 40], abs=0.6)
    assert steps[0].on == DAY
    assert (steps[1].on - DAY).days == 10  # from 20 mm to 40 mm at 2 mm a day


def test_coming_down_from_a_long_leaf():
    steps = way_back(DAY, leaf_mm=90, cut_mm=30, usual_mm=30, growth_mm_per_day=2.5)
    assert steps[0].cut_mm == 60.0
    assert steps[-1].cut_mm == pytest.approx(30.0, abs=0.5)
    assert [step.cut_mm for step in steps] == sorted((step.cut_mm for step in steps), reverse=True)


def test_at_the_usual_height_at_once():
    assert len(way_back(DAY, leaf_mm=45, cut_mm=30, usual_mm=30)) == 1


def reading(day, mm):
    return Reading(date=DAY + dt.timedelta(days=day), height_mm=mm)


def test_growth_from_the_keepers_readings():
    rows = (reading(-9, 20), reading(-6, 30), reading(-6, 34), reading(-2, 40))
    assert growth_from(rows, since=DAY - dt.timedelta(days=9), until=DAY) == pytest.approx(2.0)
    assert growth_from(rows[-1:], since=DAY - dt.timedelta(days=9), until=DAY) is None


def mow(on):
    return FirstMow(False, "", on, on, on, 3, 0.9, (), (), "")


def test_a_lawns_way_back_needs_heights_and_a_date():
    lawn = Lawn(
        name="ours",
        leveling=(Leveling(date=DAY - dt.timedelta(days=11)),),
        mowing=Mowing(usual_height_mm=40, target_height_mm=25),
    )
    zero, as_of = lawn.leveling[0].date, DAY - dt.timedelta(days=3)
    steps = lawn_way_back(mow(DAY), lawn=lawn, zero=zero, as_of=as_of, readings=())
    assert steps[0].on == DAY and steps[-1].cut_mm == 40
    assert lawn_way_back(mow(None), lawn=lawn, zero=zero, as_of=as_of, readings=()) == ()
    bare = lawn.model_copy(update={"mowing": Mowing()})
    assert lawn_way_back(mow(DAY), lawn=bare, zero=zero, as_of=as_of, readings=()) == ()
    tall = lawn_way_back(mow(DAY), lawn=lawn, zero=zero, as_of=as_of, readings=(reading(-4, 80),))
    assert tall[0].leaf_mm == pytest.approx(90.0) and tall[0].cut_mm == pytest.approx(60.0)
