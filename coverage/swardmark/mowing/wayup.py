"""The way back up to the usual height of cut after the first mow.

A mowing every four to six days, and one notch higher each time (common practice, no source): often enough that grass in
its season is not left for more than a week (unless one notch is more than it grows in one), and high enough that the
leaf gains on the cut. No mowing takes more than a third of the leaf, and none cuts below what the grass stands. Mowings
that the diary notes count.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from statistics import fmean

from swardmark.common.errors import UsageError
from swardmark.common.units import parse_length
from swardmark.lawn.grasses import grass_row
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.lawn.toml import Lawn
from swardmark.mowing.rows import FirstMow, MowStep
from swardmark.mowing.third import Mower, highest_leaf, lowest_cut

GROWTH_LIMITS_MM_PER_DAY = (0.3, 8.0)
LONGEST_GAP_DAYS, SHORTEST_GAP_DAYS = 6, 4
LEAST_CUT_MM = 3.2
"""A mowing that would take less, 1/8 in, does not show on a ruler and is not worth starting the mower for."""
MOST_STEPS = 14
FORGOTTEN_DAYS = 14
LATE_DAYS = 7
"""After so many days without a noted mowing, a week of them after it was due, the keeper mows without noting it, or not
at all: nothing is planned."""
CLOSE_MM = 0.5


def way_up(
    first_on: dt.date,
    *,
    leaf_mm: float,
    cut_mm: float,
    usual_mm: float,
    growth_mm_per_day: float,
    mower: Mower | None = None,
    lowest_mm: float = 0.0,
) -> tuple[MowStep, ...]:
    """Return the mowings from a first one to the first at the usual height of cut.

    Parameters
    ----------
    first_on : date
        Day of the first mowing.
    leaf_mm : float
        Leaf height on that day [mm].
    cut_mm : float
        Height of cut wanted on that day [mm]; it is raised where it would take over a third of the leaf.
    usual_mm : float
        The usual height of cut [mm].
    growth_mm_per_day : float
        Growth of the leaf, for the dates [mm a day].
    mower : Mower, optional
        The heights that the mower has.
    lowest_mm : float
        Height below which the grass is not cut [mm].
    """
    mower = mower or Mower()
    usual = max(usual_mm, lowest_mm)
    cut = mower.at_least(max(cut_mm, lowest_cut(leaf_mm), lowest_mm))
    day, steps = first_on, [MowStep(first_on, leaf_mm, cut)]
    while abs(cut - usual) > CLOSE_MM and len(steps) < MOST_STEPS:
        gap, leaf, cut = _next(cut, usual, growth_mm_per_day, mower)
        day += dt.timedelta(days=gap)
        steps.append(MowStep(day, leaf, cut))
    return tuple(steps)


def growth_from(readings: Sequence[Reading], *, since: dt.date, until: dt.date) -> float | None:
    """Return the growth between the two newest days of height readings [mm a day], or None without two that rise.

    Each zone is compared with itself, and the mean is taken over those that were read on two days.
    """
    zones: dict[tuple[str, str], dict[dt.date, list[float]]] = {}
    for reading in readings:
        if reading.height_mm is not None and since <= reading.date <= until:
            days = zones.setdefault((reading.point, reading.zone), {})
            days.setdefault(reading.date, []).append(reading.height_mm)
    rates = []
    for days in zones.values():
        if len(days) > 1:
            before, after = sorted(days)[-2:]
            rates.append((fmean(days[after]) - fmean(days[before])) / (after - before).days)
    if not rates or fmean(rates) <= 0:
        return None
    low, high = GROWTH_LIMITS_MM_PER_DAY
    return min(max(fmean(rates), low), high)


def lawn_way_up(
    mow: FirstMow,
    *,
    lawn: Lawn,
    zero: dt.date,
    as_of: dt.date,
    readings: Sequence[Reading] = (),
    diary: Sequence[DiaryEntry] = (),
) -> tuple[MowStep, ...]:
    """Return the mowings that lie ahead, the first one with them while it is not made: once cover and leaf are there.

    None without the heights in lawn.toml, without a date for the first mow, or once the usual height is reached.
    """
    usual, target = lawn.mowing.usual_height_mm, lawn.mowing.target_height_mm
    if usual is None or target is None:
        return ()
    grass = grass_row(lawn.grass)
    mower = mower_of(lawn)
    lowest = min(grass.lowest_mm.value, usual)
    mowed = sorted({e.date for e in diary if e.what == "mowed" and zero < e.date <= as_of})
    since = mowed[-1] + dt.timedelta(days=1) if mowed else zero
    growth = lawn_growth(lawn, readings, since=since, until=as_of)
    if not mowed:
        if mow.mow_on is None:
            return ()
        due = target * lawn.outlook.mow_at_times_target
        leaf = leaf_on(mow.mow_on, readings, growth, since=zero, until=as_of) or highest_leaf(target)
        wait = max(0, math.ceil((due - leaf) / growth))
        leaf += growth * wait
        return way_up(
            mow.mow_on + dt.timedelta(days=wait),
            leaf_mm=leaf,
            cut_mm=target,
            usual_mm=usual,
            growth_mm_per_day=growth,
            mower=mower,
            lowest_mm=lowest,
        )
    cut = last_cut(mowed, diary, target_mm=target, usual_mm=usual, mower=mower)
    if abs(cut - usual) <= CLOSE_MM:
        return ()
    gap, leaf, _ = _next(cut, usual, growth, mower)
    if (as_of - mowed[-1]).days > max(FORGOTTEN_DAYS, gap + LATE_DAYS):
        return ()
    due = max(mowed[-1] + dt.timedelta(days=gap), as_of)
    leaf = (
        leaf_on(due, readings, growth, since=since, until=as_of)
        or leaf + growth * (due - mowed[-1] - dt.timedelta(days=gap)).days
    )
    wanted = min(usual, mower.up(cut)) if cut < usual else usual
    return way_up(
        due,
        leaf_mm=leaf,
        cut_mm=wanted,
        usual_mm=usual,
        growth_mm_per_day=growth,
        mower=mower,
        lowest_mm=lowest,
    )


def last_cut(
    mowed: Sequence[dt.date],
    diary: Sequence[DiaryEntry],
    *,
    target_mm: float,
    usual_mm: float,
    mower: Mower,
) -> float:
    """Return the height of the newest mowing [mm]: as the diary gives it, else one notch a mowing from the first."""
    noted = {e.date: height for e in diary if e.what == "mowed" and (height := _height_in(e.amount))}
    cut = target_mm
    for number, day in enumerate(mowed):
        cut = noted.get(day, cut if number == 0 else min(max(usual_mm, cut), mower.up(cut)))
    return cut


def mower_of(lawn: Lawn) -> Mower:
    """Return the mower of a lawn: its notches, as far as the keeper gave them."""
    return Mower(lawn.mowing.notch_mm, tuple(sorted(lawn.mowing.notches_mm)))


def lawn_growth(lawn: Lawn, readings: Sequence[Reading], *, since: dt.date, until: dt.date) -> float:
    """Return the growth of the leaf [mm a day]: from two readings, else as the table of the grasses has it."""
    return growth_from(readings, since=since, until=until) or grass_row(lawn.grass).growth_mm.value


def leaf_on(
    day: dt.date, readings: Sequence[Reading], growth: float, *, since: dt.date, until: dt.date
) -> float | None:
    """Carry the newest height readings before a day on to it [mm]; None where there are none."""
    known = [r for r in readings if r.height_mm is not None and since <= r.date <= min(day, until)]
    if not known:
        return None
    newest = max(reading.date for reading in known)
    heights = [r.height_mm for r in known if r.date == newest and r.height_mm is not None]
    return sum(heights) / len(heights) + growth * (day - newest).days


def _next(cut: float, usual: float, growth: float, mower: Mower) -> tuple[int, float, float]:
    """Return the days to the next mowing, the leaf that it meets and its height of cut."""
    if cut > usual:
        gap = max(1, min(SHORTEST_GAP_DAYS, int(0.25 * cut / growth)))
        leaf = cut + growth * gap
        return gap, leaf, mower.at_least(max(usual, lowest_cut(leaf)))
    wanted = min(usual, mower.up(cut))
    slow = math.ceil((wanted + LEAST_CUT_MM - cut) / growth)
    longest = max(slow, LONGEST_GAP_DAYS)
    for gap in range(longest, SHORTEST_GAP_DAYS - 1, -1):
        leaf = cut + growth * gap
        if lowest_cut(leaf) <= wanted:
            return gap, leaf, wanted
    leaf = cut + growth * SHORTEST_GAP_DAYS
    return SHORTEST_GAP_DAYS, leaf, mower.at_least(lowest_cut(leaf))


def _height_in(amount: str) -> float | None:
    """Read a height of cut from a diary's amount, such as `45 mm`; None where it is none."""
    try:
        return 1000 * parse_length(amount) or None
    except UsageError:
        return None
