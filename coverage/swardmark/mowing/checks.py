"""What the keeper looks at before the first mow: the height of the leaf, and the state of the ground."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Literal

import numpy as np

from swardmark.common.phrases import date_words
from swardmark.lawn.readings import Reading
from swardmark.lawn.toml import Lawn
from swardmark.mowing import sentences as say
from swardmark.mowing.rows import Check

READING_DAYS = 7
"""A leaf height older than this says little of today."""
LOOKS_LAST_DAYS = {"dry": 2, "firm": 14, "tug_test_passed": 60, "no_loose_ridges": 60}
"""For how many days each look holds (our judgment)."""


def leaf_height(readings: Sequence[Reading], *, since: dt.date, as_of: dt.date) -> float | None:
    """Return the mean leaf height of the last week [mm]: in each zone that of its newest day; None without any."""
    days: dict[tuple[str, str], dict[dt.date, list[float]]] = {}
    for one in readings:
        is_recent = since <= one.date <= as_of and (as_of - one.date).days <= READING_DAYS
        if one.height_mm is not None and is_recent:
            days.setdefault((one.point, one.zone), {}).setdefault(one.date, []).append(one.height_mm)
    zones = [float(np.mean(heights[max(heights)])) for heights in days.values()]
    return float(np.mean(zones)) if zones else None


def keepers_looks(
    lawn: Lawn, *, zero: dt.date | None, as_of: dt.date, readings: Sequence[Reading] = ()
) -> tuple[Check, ...]:
    """Return the four looks at the ground, each met, not met, or unknown where it is missing or too long ago."""
    return tuple(_look(name, lawn, zero, as_of, readings) for name in LOOKS_LAST_DAYS)


def _look(name: str, lawn: Lawn, zero: dt.date | None, as_of: dt.date, readings: Sequence[Reading]) -> Check:
    seen_on, good = getattr(lawn.confirmed, name), True
    felt = [r for r in readings if r.firm is not None and r.date <= as_of] if name == "firm" else []
    if felt and (seen_on is None or felt[-1].date >= seen_on):
        seen_on = felt[-1].date
        good = all(r.firm for r in felt if r.date == seen_on)
    state, detail = _state(name, seen_on, good, lawn, zero, as_of)
    return Check(say.LOOKS[name].removeprefix("the "), state, detail, name)


def _state(
    name: str, seen_on: dt.date | None, good: bool, lawn: Lawn, zero: dt.date | None, as_of: dt.date
) -> tuple[Literal["met", "not met", "unknown"], str]:
    note = say.NOTE_IT.format(name=name)
    if seen_on is None or seen_on > as_of or (zero and seen_on < zero):
        return "unknown", say.NOT_CONFIRMED.format(note=note)
    day = date_words(seen_on, lawn.date_form)
    if (as_of - seen_on).days > LOOKS_LAST_DAYS[name]:
        return "unknown", say.CONFIRMED_LONG_AGO.format(day=day, note=note)
    return ("met", say.CONFIRMED.format(day=day)) if good else ("not met", say.SOFT.format(day=day))
