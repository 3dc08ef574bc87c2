"""The way back to the usual height of cut after the first mow, by the one-third rule.

At most a third of the leaf is cut off at one mowing, so a leaf is mown when it is 1.5 times as high as the cut leaves
it (UF/IFAS Extension, Clay County, "Mowing tips", 2018; University of Tennessee mowing heights, as printed at
https://www.greenindustrypros.com/mowing-maintenance/mowing/article/11305773/suggested-mowing-heights). A cut that is
still above the usual height comes down by at most a third of the leaf at a time; one that is below it rises by a third.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence

from swardmark.lawn.readings import Reading
from swardmark.lawn.toml import Lawn
from swardmark.mowing.rows import FirstMow, MowStep

TRIGGER = 1.5
RAISE = 4.0 / 3.0
# Our judgment for a watered lawn in its season; two height readings of the keeper's own replace it.
USUAL_GROWTH_MM_PER_DAY = 2.5
GROWTH_LIMITS_MM_PER_DAY = (0.5, 8.0)
REST_DAYS = 4
MOST_STEPS = 10
CLOSE_MM = 0.5


def way_back(
    first_on: dt.date,
    *,
    leaf_mm: float,
    cut_mm: float,
    usual_mm: float,
    growth_mm_per_day: float = USUAL_GROWTH_MM_PER_DAY,
) -> tuple[MowStep, ...]:
    """Return the mowings from the first one to the first at the usual height of cut.

    Parameters
    ----------
    first_on : date
        Day of the first mow.
    leaf_mm : float
        Leaf height on that day [mm].
    cut_mm : float
        Height of cut that is wanted at the first mow [mm]; it is raised where it would take over a third of the leaf.
    usual_mm : float
        The usual height of cut [mm].
    growth_mm_per_day : float
        Growth of the leaf, for the dates [mm per day].
    """
    cut = max(cut_mm, leaf_mm / TRIGGER)
    steps = [MowStep(first_on, round(leaf_mm, 1), round(cut, 1))]
    day = first_on
    while abs(cut - usual_mm) > CLOSE_MM and len(steps) < MOST_STEPS:
        if cut < usual_mm:
            wanted = min(usual_mm, cut * RAISE)
            wait = max(REST_DAYS, math.floor((wanted * TRIGGER - cut) / growth_mm_per_day))
            leaf = cut + growth_mm_per_day * wait
            cut = max(wanted, leaf / TRIGGER)
        else:
            wait = max(1, min(REST_DAYS, int(0.25 * cut / growth_mm_per_day)))
            leaf = cut + growth_mm_per_day * wait
            cut = max(usual_mm, leaf / TRIGGER)
        day += dt.timedelta(days=wait)
        steps.append(MowStep(day, round(leaf, 1), round(cut, 1)))
    return tuple(steps)


def growth_from(readings: Sequence[Reading], *, since: dt.date, until: dt.date) -> float | None:
    """Return the growth between the two newest days of height readings [mm per day], or None if there are not two."""
    days: dict[dt.date, list[float]] = {}
    for reading in readings:
        if reading.height_mm is not None and since <= reading.date <= until:
            days.setdefault(reading.date, []).append(reading.height_mm)
    if len(days) < 2:
        return None
    before, after = sorted(days)[-2:]
    rise = sum(days[after]) / len(days[after]) - sum(days[before]) / len(days[before])
    low, high = GROWTH_LIMITS_MM_PER_DAY
    return min(max(rise / (after - before).days, low), high)


def lawn_way_back(
    mow: FirstMow, *, lawn: Lawn, zero: dt.date, as_of: dt.date, readings: Sequence[Reading]
) -> tuple[MowStep, ...]:
    """Return a lawn's way back from its first mow, made or forecast; empty without heights in lawn.toml or a date."""
    usual, target = lawn.mowing.usual_height_mm, lawn.mowing.target_height_mm
    first_on = mow.mowed_on or mow.mow_on
    if usual is None or target is None or first_on is None:
        return ()
    growth = growth_from(readings, since=zero, until=min(as_of, first_on)) or USUAL_GROWTH_MM_PER_DAY
    leaf = _leaf_on(first_on, readings, growth, since=zero, until=as_of) or target * TRIGGER
    return way_back(first_on, leaf_mm=leaf, cut_mm=target, usual_mm=usual, growth_mm_per_day=growth)


def _leaf_on(
    day: dt.date, readings: Sequence[Reading], growth: float, *, since: dt.date, until: dt.date
) -> float | None:
    """Carry the newest height readings before a day on to it."""
    known = [r for r in readings if r.height_mm is not None and since <= r.date <= min(day, until)]
    if not known:
        return None
    newest = max(reading.date for reading in known)
    heights = [r.height_mm for r in known if r.date == newest and r.height_mm is not None]
    return sum(heights) / len(heights) + growth * (day - newest).days
