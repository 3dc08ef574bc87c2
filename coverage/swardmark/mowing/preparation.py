"""The two weeks before the sand: the height of cut lowered in steps, with reminders and their cautions.

No cut takes more than a third of the leaf as it stands, with what has grown since the cut before (third.py). The
shorter the grass, the more of the third regrowth uses up, so the cuts come at even gaps short enough to gain on it. A
mower whose heights are given cuts at those alone, and the way ends where the next one takes more than a third. No cut
goes below what the grass stands: only grasses with rhizomes are scalped. About two weeks and the order of the steps are
common practice, no source. Feeding and watering are reminders only: the label and the local rules come first, and no
rate is ever given here.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

from swardmark.common.cautions import (
    DIG_CAUTION,
    DORMANT_CAUTION,
    DUST_CAUTION,
    FEEDING_CAUTION,
    LIDS_CAUTION,
    MARKS_CAUTION,
    MOWER_CAUTION,
)
from swardmark.common.errors import UsageError
from swardmark.common.units import Units, format_cut
from swardmark.lawn.toml import Lawn
from swardmark.mowing import sentences as say
from swardmark.mowing.suitability import scalp_height
from swardmark.mowing.third import ONE_THIRD, Mower, highest_leaf, lowest_cut
from swardmark.mowing.wayup import mower_of

LEAD_DAYS = 14
LONGEST_GAP_DAYS = 4
USUAL_GROWTH_MM_PER_DAY = 2.5
"""For the way down, which must gain on the growth: that of a fed lawn in its season (our judgment)."""
SHORT_GROWTH_PER_DAY = 0.2
"""Short grass grows by no more than this share of its height a day (our judgment)."""


@dataclass(frozen=True)
class PreparationStep:
    """One row of the calendar: the day, what is done, why, and the caution beside it."""

    date: dt.date
    what: str
    caution: str
    height_mm: float | None = None
    why: str = ""
    name: str = ""


@dataclass(frozen=True)
class LoweringCut:
    """A cut before the sand: how many days before it, the height of cut and of the leaf it meets [mm]."""

    days_before: int
    height_mm: float
    leaf_mm: float


def lowering_cuts(
    usual_mm: float,
    scalp_mm: float,
    *,
    mower: Mower | None = None,
    growth_mm_per_day: float = USUAL_GROWTH_MM_PER_DAY,
) -> tuple[LoweringCut, ...]:
    """Return the last cut at the usual height and those that bring it down to the height for the sand.

    The gap between cuts is the longest, up to four days, with which the way fits two weeks. Each cut on the
    way takes the same share of the leaf, the least that gets there: never more than a third. A mower with heights of
    its own keeps to them, down to the lowest that is no lower than the height for the sand, as far as the rule allows.

    Parameters
    ----------
    usual_mm, scalp_mm : float
        The usual height of cut, and the height for the sand, in millimeters.
    mower : Mower, optional
        The mower; by default one that can be set to any height.
    growth_mm_per_day : float
        Growth of the leaf, in millimeters a day.

    Returns
    -------
    tuple of LoweringCut
        The last one on the eve of the sand; none where the grass is kept that short already. The leaf that
        the first cut meets is the highest that it may meet by the rule. A mower without a height that takes a third at
        most ends higher.
    """
    if not (0 < scalp_mm < math.inf and 0 < usual_mm < math.inf):
        raise UsageError(
            "heights of cut are above zero", where="mowing", remedy="Give them in mm under [mowing]"
        )
    if usual_mm <= scalp_mm:
        return ()
    if mower and mower.notches_mm:
        return _over_notches(usual_mm, mower.at_least(scalp_mm), mower, growth_mm_per_day)
    for gap in range(LONGEST_GAP_DAYS, 1, -1):
        for cuts in range(1, (LEAD_DAYS - 1) // gap + 1):
            if _lowest(usual_mm, cuts, gap, growth_mm_per_day) <= scalp_mm:
                return _evened_out(usual_mm, scalp_mm, cuts, gap, growth_mm_per_day)
    cuts = next(n for n in itertools.count(1) if _lowest(usual_mm, n, 1, growth_mm_per_day) <= scalp_mm)
    return _evened_out(usual_mm, scalp_mm, cuts, 1, growth_mm_per_day)


def lawn_preparation(lawn: Lawn, leveling_on: dt.date) -> tuple[PreparationStep, ...]:
    """Lay out the steps before a leveling of a lawn; its scalp is raised to what the grass stands."""
    usual, scalp = lawn.mowing.usual_height_mm, scalp_height(lawn)
    return preparation_calendar(
        leveling_on, usual_mm=usual, scalp_mm=scalp, mower=mower_of(lawn), units=lawn.units
    )


def preparation_calendar(
    leveling_on: dt.date,
    *,
    usual_mm: float | None,
    scalp_mm: float | None,
    mower: Mower | None = None,
    units: Units = "metric",
) -> tuple[PreparationStep, ...]:
    """Lay out the steps before a leveling.

    Parameters
    ----------
    leveling_on : date
        The day on which the sand is to be spread.
    usual_mm, scalp_mm : float or None
        Heights of cut in millimeters; where one is missing the cuts are left out.
    mower : Mower, optional
        The mower; by default one that can be set to any height.
    units : {"metric", "us"}
        Units of the printed heights.

    Returns
    -------
    tuple of PreparationStep
        In the order of their days.
    """
    way = lowering_cuts(usual_mm, scalp_mm, mower=mower) if usual_mm and scalp_mm else ()
    daily = all(before.days_before - after.days_before == 1 for before, after in itertools.pairwise(way))
    cuts = [_mowing(leveling_on, cut, units, number=n, daily=daily) for n, cut in enumerate(way)]
    if mower and scalp_mm and way and (len(way) == 1 or way[-1].height_mm > mower.at_least(scalp_mm)):
        cuts[-1] = replace(cuts[-1], why=say.NO_NOTCH)
    lead = max([LEAD_DAYS, *(cut.days_before for cut in way)])

    def step(name: str, days_before: int, caution: str) -> PreparationStep:
        what, why = say.PREPARE[name]
        return PreparationStep(
            leveling_on - dt.timedelta(days=days_before), what, caution, why=why, name=name
        )

    rows = [
        step("look", lead, DORMANT_CAUTION),
        step("feed", lead, FEEDING_CAUTION),
        step("lines", 5, DIG_CAUTION),
        step("heads", 3, LIDS_CAUTION),
        step("moist", 2, say.LOCAL_WATER),
        *cuts,
        step("mark", 1, MARKS_CAUTION),
        step("sand", 0, DUST_CAUTION),
    ]
    return tuple(sorted(rows, key=lambda row: row.date))


def _way_down(usual_mm: float, share: float, cuts: int, gap: int, growth: float) -> tuple[LoweringCut, ...]:
    """Return the cut at the usual height, then those that each take `share` of the leaf, `gap` days apart."""
    way, height = [LoweringCut(1 + gap * cuts, usual_mm, highest_leaf(usual_mm))], usual_mm
    for left in reversed(range(cuts)):
        leaf = _leaf_after(height, gap, growth)
        height = (1 - share) * leaf
        way.append(LoweringCut(1 + gap * left, height, leaf))
    return tuple(way)


def _lowest(usual_mm: float, cuts: int, gap: int, growth: float) -> float:
    return _way_down(usual_mm, ONE_THIRD, cuts, gap, growth)[-1].height_mm


def _evened_out(
    usual_mm: float, scalp_mm: float, cuts: int, gap: int, growth: float
) -> tuple[LoweringCut, ...]:
    """Return the way with the smallest share that ends at the scalp height, found by halving."""
    low, high = 0.0, ONE_THIRD
    for _ in range(50):
        middle = (low + high) / 2
        if _way_down(usual_mm, middle, cuts, gap, growth)[-1].height_mm > scalp_mm:
            low = middle
        else:
            high = middle
    way = _way_down(usual_mm, high, cuts, gap, growth)
    return (*way[:-1], replace(way[-1], height_mm=float(scalp_mm)))


def _over_notches(usual_mm: float, end_mm: float, mower: Mower, growth: float) -> tuple[LoweringCut, ...]:
    """Return the way down over the mower's own heights: as low as two weeks and the rule allow.

    Of the ways that get there, the one with the fewest cuts on the day after another, then with the fewest cuts, then
    with the longest gaps.
    """
    lower = [height for height in {end_mm, *mower.notches_mm} if height >= end_mm]

    @cache
    def onward(height: float, days: int) -> tuple[tuple[int, float, float], ...]:
        """Return the best (gap, height, leaf) of the cuts from a height on, with so many days left."""
        ways: list[tuple[tuple[int, float, float], ...]] = [()]
        for gap in range(1, min(LONGEST_GAP_DAYS, days) + 1):
            leaf = _leaf_after(height, gap, growth)
            cuts = [cut for cut in lower if lowest_cut(leaf) <= cut + 1e-6 and cut < height]
            ways += [((gap, cut, leaf), *onward(cut, days - gap)) for cut in cuts]
        return min(ways, key=lambda way: _how_hard(way, height))

    way = onward(usual_mm, LEAD_DAYS - 1)
    day = 1 + sum(gap for gap, _, _ in way)
    cuts = [LoweringCut(day, usual_mm, highest_leaf(usual_mm))]
    for gap, height, leaf in way:
        day -= gap
        cuts.append(LoweringCut(day, height, leaf))
    return tuple(cuts)


def _how_hard(way: Sequence[tuple[int, float, float]], height_mm: float) -> tuple[float, int, int, int]:
    gaps = [gap for gap, _, _ in way]
    return way[-1][1] if way else height_mm, gaps.count(1), len(gaps), -sum(gaps)


def _leaf_after(height_mm: float, days: int, growth: float) -> float:
    return height_mm + days * min(growth, SHORT_GROWTH_PER_DAY * height_mm)


def _mowing(
    leveling_on: dt.date, cut: LoweringCut, units: Units, *, number: int, daily: bool
) -> PreparationStep:
    leaf, height = format_cut(cut.leaf_mm, cut.height_mm, units=units)
    first = number == 0
    what = say.MOW_USUAL.format(height=height) if first else say.MOW_DOWN.format(height=height, leaf=leaf)
    why = (say.DAILY if daily else say.THIRD) if first else say.WHY_DOWN
    day = leveling_on - dt.timedelta(days=cut.days_before)
    caution = MOWER_CAUTION if first else say.MOWER_AGAIN
    return PreparationStep(day, what, caution, cut.height_mm, why, f"cut {number}")
