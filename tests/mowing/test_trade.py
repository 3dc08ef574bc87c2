"""Thirty lawns, each with what the trade would say of it, checked by rule and not by text.

The rules are those of a turf specialist (common practice, no source, but for the one-third rule: UF/IFAS Clay County
and the University of Tennessee's table of mowing heights): height decides where it was read; above 1.5 times the height
of cut the leaf is overdue whatever the cover; most of the ground may be mown and the rest steered round; soft ground
waits; a date waits for three photos; nothing under three chances in four is called likely.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

import numpy as np
import pytest

from swardmark.forecast.rows import ZoneSeries
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.lawn.toml import Confirmed, Lawn, Leveling, Mowing, OutlookSettings
from swardmark.mowing.firstmow import LIKELY
from swardmark.mowing.outlook import outlook
from swardmark.mowing.third import share_taken

ZERO = dt.date(2026, 6, 1)
LOOKS = ("dry", "firm", "tug_test_passed", "no_loose_ridges")


@dataclass(frozen=True)
class Case:
    """A lawn on a day: parts as (name, m2, half-way day, ceiling), and what the trade would do."""

    day: int
    parts: tuple[tuple[str, float, float, float], ...]
    does: str
    round: tuple[str, ...] = ()
    every: int = 3
    leaf: float | None = None
    target: float | None = 25
    looks: bool = True
    soft: bool = False
    mowed: int | None = None
    ground: float = 60
    tidy: bool = False


EVEN = (("front", 10.0, 9.0, 98.0),)
THREE = (("middle", 17.0, 8.0, 98.0), ("dip", 1.0, 30.0, 45.0), ("tree", 1.0, 25.0, 70.0))
HALVES = (("sunny", 5.0, 8.0, 98.0), ("shady", 5.0, 40.0, 60.0))
POOR = (("front", 10.0, 60.0, 25.0),)
TABLE = (
    Case(21, EVEN, "mow", leaf=37.5),
    Case(21, EVEN, "mow", leaf=38),
    Case(21, EVEN, "mow"),  # no height read: mow, but measure the leaf first
    Case(21, EVEN, "look", looks=False),
    Case(21, EVEN, "look", leaf=38, looks=False),
    Case(21, EVEN, "leaf", leaf=30),
    Case(21, EVEN, "leaf", leaf=36.9),
    Case(21, EVEN, "mow", leaf=34, tidy=True),
    Case(21, EVEN, "overdue", leaf=60),
    Case(21, EVEN, "overdue", leaf=45),
    Case(21, EVEN, "overdue", leaf=60, looks=False),  # height is an alarm whatever the looks
    Case(21, EVEN, "firm", leaf=38, soft=True),
    Case(21, EVEN, "firm", leaf=60, soft=True),  # never on soft ground
    Case(21, EVEN, "mowed", mowed=18),
    Case(5, EVEN, "early", every=5),
    Case(3, EVEN, "early", every=3),
    Case(6, EVEN, "date"),
    Case(8, EVEN, "date", every=2),
    Case(6, EVEN, "overdue", leaf=62),  # bare sand, but the leaf is overdue
    Case(6, EVEN, "date", leaf=30),
    Case(24, THREE, "mow", ("dip", "tree"), leaf=38),
    Case(24, THREE, "look", ("dip", "tree"), looks=False),
    Case(24, THREE, "overdue", ("dip", "tree"), leaf=70),
    Case(9, THREE, "date"),
    Case(24, THREE, "firm", ("dip", "tree"), soft=True),
    Case(24, HALVES, "none"),  # half of the ground is not most of it, and the shade has no date
    Case(24, HALVES, "mow", ("shady",), ground=50, leaf=38),
    Case(30, POOR, "none"),
    Case(30, POOR, "overdue", leaf=50),
    Case(21, EVEN, "mow", target=None),
)  # fmt: skip


def judged(case: Case):
    days = np.arange(0, case.day + 1, case.every, dtype=float)
    as_of = ZERO + dt.timedelta(days=case.day)
    series = []
    for name, area, t50, ceiling in case.parts:
        cover = ceiling / (1 + np.exp(-2.4 * (days / t50 - 1)))
        dates = tuple(ZERO + dt.timedelta(days=int(day)) for day in days)
        series.append(ZoneSeries("main", name, area, dates, tuple(cover), tuple(cover - 5), tuple(cover + 5)))
    lawn = Lawn(
        name="ours",
        grass="bermudagrass",
        leveling=(Leveling(date=ZERO),),
        mowing=Mowing(target_height_mm=case.target, usual_height_mm=40),
        confirmed=Confirmed(**(dict.fromkeys(LOOKS, as_of) if case.looks else {})),
        outlook=OutlookSettings(ready_ground_pct=case.ground, mow_at_times_target=1.33 if case.tidy else 1.5),
    )
    readings = [Reading(date=as_of, height_mm=case.leaf)] if case.leaf else []
    readings += [Reading(date=as_of, firm=False)] if case.soft else []
    diary = (
        [] if case.mowed is None else [DiaryEntry(date=ZERO + dt.timedelta(days=case.mowed), what="mowed")]
    )
    return outlook(series, lawn=lawn, as_of=as_of, readings=readings, diary=diary)


STARTS = {
    "mow": "Mow now",
    "look": "Mow once ",
    "leaf": "Wait for the leaf",
    "overdue": "Overdue at",
    "date": "Wait with the first mow",
    "none": "No date for the first mow",
    "mowed": "The first mow was on",
}


@pytest.mark.parametrize("case", TABLE, ids=lambda case: f"{case.does}-day{case.day}-{case.leaf}")
def test_what_the_trade_would_do(case):
    mow = judged(case).first_mow
    said = mow.sentence
    assert mow.ready == (case.does in ("mow", "overdue", "mowed") and not case.soft)
    if case.does in STARTS:
        assert said.startswith(STARTS[case.does])
    if case.does == "firm":
        assert "soft" in said and "firm" in said and not said.startswith("Mow now")
    if case.does == "early":
        assert "in view is covered" in said and mow.mow_on is None and "likely" not in said
    if case.does == "date":
        assert case.day < (mow.mow_on - ZERO).days
        assert ("likely" in said) == (mow.chance >= LIKELY)
        assert re.search(r"\(chance (over )?\d+ % by ", said)
    assert {part.name for part in mow.steer_round} >= set(case.round)
    for name in case.round:
        assert f"“{name}”" in said
    if case.does in ("mow", "look", "firm") and not case.round:
        assert "steer" not in said
    if case.leaf and mow.set_mower_mm:
        assert share_taken(case.leaf, mow.set_mower_mm) <= 1 / 3 + 1e-9
        assert mow.set_mower_mm >= (case.target or 0)
    if case.does == "overdue" and case.parts in (POOR, EVEN) and case.day in (6, 30):
        assert "wheels off bare sand" in said


def test_the_table_holds_thirty_lawns_and_every_verdict():
    assert len(TABLE) == 30
    assert {case.does for case in TABLE} == {*STARTS, "firm", "early"}
